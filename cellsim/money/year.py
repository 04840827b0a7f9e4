"""What a proposal brings and costs in each year, from the numbers of a case and the means of the runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from cellsim.describe.investment import NONE, Investment, value_of_scrap
from cellsim.describe.spec_investment import MONTHS, Stated
from cellsim.errors import UsageError
from cellsim.money.flows import FloatArray
from cellsim.money.measured import BASE, PROPOSAL, Means, Shifts

NEARLY = 1e-9  # years: what is bought again at the very end is not


@dataclass(frozen=True, slots=True)
class Drawn:
    """Values of the stated numbers by path, one for each draw; a number that is not there has its middle."""

    values: Mapping[str, FloatArray]
    means: Means

    def of(self, stated: Stated | None) -> FloatArray:
        """The values of a number, (draws,)."""
        stated = stated or NONE
        there = self.values.get(stated.path)
        return np.full(self.means.good.shape[1], stated.middle) if there is None else there


@dataclass(frozen=True, slots=True)
class Hours:
    """Working and paid hours of a shift, of base and proposal."""

    worked: tuple[float, float]
    paid: float


def hours_of(case: Investment, shifts: Shifts) -> Hours:
    """Hours of a shift by the cells, the paid ones by the case if it says them.

    Raises:
        UsageError: the cells have no shifts and the case does not say how long a paid shift is.
    """
    base, proposal = shifts
    if base is None or proposal is None:
        if case.paid_per_shift is None:
            raise UsageError("the cells have no shifts; say how long one is, with paid_per_shift in the case")
        return Hours((case.paid_per_shift, case.paid_per_shift), case.paid_per_shift)
    return Hours((base[0], proposal[0]), base[1] if case.paid_per_shift is None else case.paid_per_shift)


class Years:
    """Flows of money of a case; every amount has one value for each draw.

    What is not sold is not made: output beyond what can be sold earns nothing, draws no energy and makes no
    scrap.
    """

    def __init__(self, case: Investment, hours: Hours, drawn: Drawn) -> None:
        self.case, self.hours, self.drawn = case, hours, drawn
        self.shifts = drawn.of(case.shifts_per_year)
        self.worked = [self.shifts * h for h in hours.worked]  # hours in a year

    @property
    def rate(self) -> FloatArray:
        """The real discount rate: (1 + rate) / (1 + inflation) - 1 (Fisher 1930, from memory)."""
        real: FloatArray = (1 + self.drawn.of(self.case.rate)) / (1 + self.drawn.of(self.case.inflation)) - 1
        return real

    def sold(self, which: int) -> FloatArray:
        """Good units that are made and sold per working hour; over a year stocks even out the shifts."""
        good: FloatArray = self.drawn.means.good[which]
        limit = self.case.can_sell
        if limit is None:
            return good
        most = self.drawn.of(limit)
        each = most / self.hours.worked[which] if limit.unit == "per shift" else most
        return np.asarray(np.minimum(good, each))

    def made(self, which: int) -> FloatArray:
        """Share of the output of the runs that is sold, and so made."""
        good: FloatArray = self.drawn.means.good[which]
        return np.divide(self.sold(which), good, out=np.ones_like(good), where=good > 0)

    def scrap(self, which: int) -> FloatArray:
        """Money of scrapped units per working hour."""
        rows = self.drawn.means.scrap.items()
        total = sum(
            (self.drawn.of(value_of_scrap(self.case, name)) * row[which] for name, row in rows),
            self._nothing(),
        )
        return np.asarray(total * self.made(which))

    def energy(self, which: int) -> FloatArray:
        """Money of energy per working hour."""
        kwh = sum((row[which] for row in self.drawn.means.energy.values()), self._nothing())
        return np.asarray(kwh * self.drawn.of(self.case.energy) * self.made(which))

    def capital(self) -> FloatArray:
        """What is paid at the order."""
        of = self.drawn.of
        return sum((of(item.price) + of(item.integration) for item in self.case.items), self._nothing())

    def lost(self) -> FloatArray:
        """What the output is worth that is lost while the proposal is put in."""
        of, case = self.drawn.of, self.case
        return of(case.lost_output) * self.hours.worked[BASE] * self.sold(BASE) * of(case.margin)

    def unit_gain(self) -> FloatArray:
        """Money of a year for one more unit sold in each working hour."""
        return self.worked[PROPOSAL] * self.drawn.of(self.case.margin)

    def person_gain(self) -> FloatArray:
        """Money of a year for one more person freed in each shift."""
        return self.shifts * self.hours.paid * self.drawn.of(self.case.wage)

    def gains(self) -> dict[str, FloatArray]:
        """What a full year brings: more units, people freed, less scrap, less energy."""
        units = self.worked[PROPOSAL] * self.sold(PROPOSAL) - self.worked[BASE] * self.sold(BASE)
        return {
            "units": units * self.drawn.of(self.case.margin),
            "people": self.drawn.of(self.case.freed) * self.person_gain(),
            "scrap": self.worked[BASE] * self.scrap(BASE) - self.worked[PROPOSAL] * self.scrap(PROPOSAL),
            "energy": self.worked[BASE] * self.energy(BASE) - self.worked[PROPOSAL] * self.energy(PROPOSAL),
        }

    def running(self) -> FloatArray:
        """What the proposal costs more in a year."""
        return sum((self.drawn.of(each) for each in self.case.running.values()), self._nothing())

    def gain_share(self, year: int) -> FloatArray:
        """Share of a full year's gain in a year (from 1): after delivery the rows of the ramp, then all."""
        delay = self.drawn.of(self.case.delivery)
        start, end = float(MONTHS * (year - 1)), float(MONTHS * year)
        total, done = self._nothing(), 0
        for first, last, share in self.case.ramp_up:
            total = total + self.drawn.of(share) * _overlap(start, end, delay + first - 1, delay + last)
            done = last
        return (total + _overlap(start, end, delay + done, np.inf)) / MONTHS

    def running_share(self, year: int) -> FloatArray:
        """Share of a year in which the proposal runs."""
        delay = self.drawn.of(self.case.delivery)
        return _overlap(float(MONTHS * (year - 1)), float(MONTHS * year), delay, np.inf) / MONTHS

    def fixed(self) -> FloatArray:
        """Flows that no gain changes, (years from 0, draws): bought, bought again, resold, lost output."""
        horizon = self.case.horizon
        found = np.zeros((horizon + 1, len(self.shifts)))
        found[0] -= self.capital() + self.lost()
        columns = np.arange(len(self.shifts))
        for item in self.case.items:
            found[horizon] += self.drawn.of(item.residual)
            if item.life is None:
                continue
            for again in range(1, horizon + 1):
                when = np.ceil(again * self.drawn.of(item.life) - NEARLY).astype(int)
                due = when < horizon
                net = self.drawn.of(item.residual) - self.drawn.of(item.price)
                np.add.at(found, (when[due], columns[due]), net[due])
        return found

    def flows(self) -> FloatArray:
        """Flows of money, (years from 0, draws)."""
        gains = self.gains()
        return self.fixed() + sum((self.by_year(gains[name]) for name in gains if name != "people"),
                                  self.people_by_year(gains["people"]) - self.running_by_year())  # fmt: skip

    def by_year(self, gain: FloatArray) -> FloatArray:
        """A gain of a full year as flows, (years from 0, draws): it grows as the ramp says."""
        return self._over_years(lambda year: self.gain_share(year) * gain)

    def people_by_year(self, gain: FloatArray) -> FloatArray:
        """People freed as flows; those that the proposal needs more are paid in full as soon as it runs."""
        more = self._over_years(lambda year: self.running_share(year) * np.minimum(gain, 0.0))
        return self.by_year(np.maximum(gain, 0.0)) + more

    def running_by_year(self) -> FloatArray:
        """The running costs as flows, (years from 0, draws)."""
        return self._over_years(lambda year: self.running_share(year) * self.running())

    def _over_years(self, of_year: Callable[[int], FloatArray]) -> FloatArray:
        return np.vstack([self._nothing(), *(of_year(year) for year in range(1, self.case.horizon + 1))])

    def _nothing(self) -> FloatArray:
        return np.zeros(self.drawn.means.good.shape[1])


def _overlap(start: float, end: float, first: FloatArray, last: FloatArray | float) -> FloatArray:
    """How much of [first, last] lies in [start, end]."""
    length: FloatArray = np.maximum(0.0, np.minimum(end, last) - np.maximum(start, first))
    return length
