"""What paired runs of two cells say that is worth money: units, scrap and energy per working hour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.describe.cell import Cell
from cellsim.engine.calendars import WEEK, start_of_run, week_pattern
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.money.flows import FloatArray
from cellsim.study.energy import energy_figures
from cellsim.study.output import away, paid_hours_of
from cellsim.study.plan import Plan, make_plan, on_time
from cellsim.study.trust import rare_stops, runs_to_trust_difference, unlike_stops
from cellsim.units import HOUR

BASE, PROPOSAL = 0, 1


Shifts = tuple[tuple[float, float] | None, tuple[float, float] | None]


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known about the two cells before and after runs; amounts per working hour.

    Attributes:
        shifts: (working hours, hours from start to end) of a shift, of base and proposal; None where a cell
            has no shifts.
        paid: people paid in each post per working hour, breaks included, of base and proposal.
        away: posts that come from other cells, with a response time, and are paid there.
        good: good units, (2, replications); column k of both has the same luck.
        scrap: scrapped units by station, each (2, replications).
        energy: kWh by group of states, each (2, replications); empty where no cell says what it draws.
        counted: working hours that a run of the proposal counts.
        more: variance of the difference of good units by not knowing the inputs of the cells.
        unseen: by how much the gain may be lower, and higher, than the runs say, by rare long stops that only
            one of the cells has and that came too seldom in so few runs; good units per working hour.
        trusted_from: from how many runs on the error of the gain can be trusted; None: from these.
    """

    shifts: Shifts
    paid: tuple[dict[str, float], dict[str, float]]
    away: frozenset[str]
    good: FloatArray
    scrap: dict[str, FloatArray]
    energy: dict[str, FloatArray]
    counted: float
    more: float = 0.0
    unseen: tuple[float, float] = (0.0, 0.0)
    trusted_from: int | None = None


@dataclass(frozen=True, slots=True)
class Means:
    """Means per working hour, one column for each draw: good units, scrap by station, kWh by group."""

    good: FloatArray
    scrap: dict[str, FloatArray]
    energy: dict[str, FloatArray]


def means_of(facts: Facts, luck: FloatArray | None = None, more: FloatArray | float = 0.0) -> Means:
    """The means of the runs, or what they may be, with the covariance of means of paired values.

    With independent numbers `luck` of deviation 1, (draws, replications), the mean of each figure is moved by
    the sum of luck times deviation over sqrt(n (n - 1)); all figures by the same luck, so they keep belonging
    together.
    `more` times the deviation by not knowing the inputs is added to the good units of the proposal.
    """

    def mean(values: FloatArray) -> FloatArray:
        middle: FloatArray = values.mean(axis=1, keepdims=True)
        if luck is None:
            return middle
        n = values.shape[1]
        moved: FloatArray = middle + (values - middle) @ luck.T / math.sqrt(n * (n - 1))
        return moved

    good = mean(facts.good)
    good = np.vstack([good[BASE], good[PROPOSAL] + more * math.sqrt(facts.more)])
    return Means(
        np.maximum(good, 0.0),
        {name: np.maximum(mean(values), 0.0) for name, values in facts.scrap.items()},
        {name: np.maximum(mean(values), 0.0) for name, values in facts.energy.items()},
    )


def facts_of(cells: Sequence[Cell], records: Sequence[Sequence[Record]], more: float = 0.0) -> Facts:
    """What the runs of a base and a proposal say; replications stand in the same order.

    Raises:
        UsageError: one cell has shifts and the other none.
    """
    plans = [make_plan(cell) for cell in cells]
    hours = [plan.worked / HOUR for plan in plans]
    paid = [paid_hours_of(cell, plan) for cell, plan in zip(cells, plans, strict=True)]
    good = np.array(
        [[sum(r.hourly) / h for r in runs] for runs, h in zip(records, hours, strict=True)], dtype=float
    )
    gaps: list[float] = (good[PROPOSAL] - good[BASE]).tolist()
    with_plan = list(zip(cells, plans, strict=True))
    return Facts(
        shifts=shifts_of(cells),
        paid=(
            {name: each / hours[BASE] for name, each in paid[BASE].items()},
            {name: each / hours[PROPOSAL] for name, each in paid[PROPOSAL].items()},
        ),
        away=frozenset().union(*map(away, cells)),
        good=good,
        scrap=_scrap(cells, records, hours),
        energy=_energy(cells, records, hours),
        counted=hours[PROPOSAL],
        more=more,
        unseen=_unseen(with_plan, good),
        trusted_from=runs_to_trust_difference(with_plan[BASE], with_plan[PROPOSAL], gaps),
    )


def _unseen(with_plan: Sequence[tuple[Cell, Plan]], good: FloatArray) -> tuple[float, float]:
    """How much less and more the gain may be, were none of the stops in the runs that are too rare for them.

    What a stop of the proposal costs at most lowers the gain, what one of the base costs raises it.
    """
    rare = [rare_stops(*each) for each in with_plan]
    unlike = unlike_stops(*rare)
    few = [stop for stop in unlike if stop.runs > good.shape[1]]
    base, proposal = (
        float(row.mean()) * min(1.0, math.fsum(stop.share for stop in few if stop in own))
        for row, own in zip(good, rare, strict=True)
    )
    return proposal, base


def shifts_of(cells: Sequence[Cell]) -> Shifts:
    """(working hours, hours from start to end) of a shift, of base and proposal; None without shifts.

    Raises:
        UsageError: one cell has shifts and the other none.
    """
    if bool(cells[BASE].shifts) != bool(cells[PROPOSAL].shifts):
        raise UsageError("one of the two cells has shifts and the other none")
    return _shift_of(cells[BASE]), _shift_of(cells[PROPOSAL])


def people_per_shift(cell: Cell) -> float:
    """People of the crew in a shift, mean over a week, without those who come from other cells."""
    own = [post for post in cell.posts if post.response is None]
    days = {shift.name: len(shift.days) for shift in cell.shifts}
    if not days:
        return float(sum(post.people for post in own))
    return sum(post.people * sum(days[name] for name in post.shifts) for post in own) / sum(days.values())


def _shift_of(cell: Cell) -> tuple[float, float] | None:
    """Working and whole hours of a shift, mean over a week; None where there are no shifts."""
    if not cell.shifts:
        return None
    count = sum(len(shift.days) for shift in cell.shifts)
    whole = sum(len(shift.days) * (shift.end - shift.start) for shift in cell.shifts)
    worked = on_time(week_pattern(cell.shifts, start_of_run(cell)), 0, WEEK)
    return worked / count / HOUR, whole / count / HOUR


def _scrap(
    cells: Sequence[Cell], records: Sequence[Sequence[Record]], hours: Sequence[float]
) -> dict[str, FloatArray]:
    found: dict[str, FloatArray] = {}
    for which, (cell, runs, h) in enumerate(zip(cells, records, hours, strict=True)):
        for k, name in enumerate(compile_cell(cell).names.stations):
            values = [r.stations["scrapped"][k] / h for r in runs]
            if any(values):
                found.setdefault(name, np.zeros((2, len(runs))))[which] = values
    return found


def _energy(
    cells: Sequence[Cell], records: Sequence[Sequence[Record]], hours: Sequence[float]
) -> dict[str, FloatArray]:
    found: dict[str, FloatArray] = {}
    for which, (cell, runs, h) in enumerate(zip(cells, records, hours, strict=True)):
        flat = compile_cell(cell)
        for column, record in enumerate(runs):
            figures = energy_figures(flat, [record])
            for section in ("stations", "robots"):
                for member in (figures or {}).get(section, {}).values():
                    for group, kwh in member["kwh_by_state"].items():
                        found.setdefault(group, np.zeros((2, len(runs))))[which, column] += kwh / h
    return found
