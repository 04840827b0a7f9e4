"""The pattern in which a cell repeats itself, and the intervals of it over which its behaviour is looked at.

Breaks, nights and unlike shifts make a series go up and down for ever, and no rule can say where it settles.
So an interval is a whole round of what repeats: without shifts one hour, or a day or week where something
comes at times of day or week; with shifts as many shifts as it takes until they are the same again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cellsim.describe.cell import Cell
from cellsim.engine.calendars import DAY, WEEK, start_of_run
from cellsim.engine.record import Record
from cellsim.study.plan import Plan, occurrences, without_overlap
from cellsim.units import HOUR

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Round:
    """What repeats: so many hours of the run, or so many shifts.

    `spans` is how many counted shifts (`Hour.shift`) these are, less where shifts overlap; 0 = hours.
    """

    count: int
    spans: int = 0

    def words(self, rounds: int) -> str:
        """So many rounds as the cell file says them: `5 h`, `5 shifts`."""
        total = self.count * rounds
        if not self.spans:
            return f"{total} h"
        return "1 shift" if total == 1 else f"{total} shifts"


def _moments(cell: Cell) -> list[int]:
    """Moments of the week, from the start of the run, at which something happens that is no shift."""
    stops = [stop for station in cell.stations for stop in station.stops]
    stops += (stop for robot in cell.robots for stop in robot.stops)
    starts = [station.batch.starts_at for station in cell.stations if station.batch]
    zero = start_of_run(cell)
    clock = {at % DAY for at, _ in cell.release.plan} | {at % DAY for times in starts for at in times}
    daily = {day * DAY + at for day in range(7) for at in clock}
    return sorted((at - zero) % WEEK for at in {at for stop in stops for at in stop.at} | daily)


def hours_that_repeat(cell: Cell) -> Round:
    """The round in hours: a week with shifts, else the shortest of hour, day and week that fits."""
    moments = _moments(cell)
    if cell.shifts or {at % WEEK for at in moments} != {(at + DAY) % WEEK for at in moments}:
        return Round(WEEK // HOUR)
    return Round(DAY // HOUR if moments else 1)


def shifts_that_repeat(cell: Cell) -> Round:
    """The round in shifts: the fewest that follow each other again and again, with what happens in them."""
    shifts: dict[int, list[str]] = {}
    for shift in cell.shifts:
        for day in shift.days:
            shifts.setdefault((day * DAY + shift.start - start_of_run(cell)) % WEEK, []).append(shift.name)
    spans = without_overlap(occurrences(cell, WEEK))
    moments = _moments(cell)
    each = []
    for (start, end), (following, _) in zip(spans, [*spans[1:], (WEEK, 0)], strict=True):
        names = [(at - start, sorted(shifts[at])) for at in sorted(shifts) if start <= at < min(end, WEEK)]
        each.append((names, [at - start for at in moments if start <= at < following]))
    size = next(
        n for n in range(1, len(each) + 1) if len(each) % n == 0 and each == each[:n] * (len(each) // n)
    )
    return Round(sum(len(named) for names, _ in each[:size] for _, named in names), size)


def rounds_of(cell: Cell) -> Round:
    """What a study of the cell repeats: whole shifts where it counts them, else hours."""
    return shifts_that_repeat(cell) if cell.shifts and cell.study.shifts else hours_that_repeat(cell)


def intervals(rounds: Round, plan: Plan, together: int = 1) -> list[Sequence[int]]:
    """The counted hours (indices of `plan.hours`) of each whole interval of `together` rounds."""
    if not rounds.spans:
        size = rounds.count * together
        return [range(k, k + size) for k in range(0, len(plan.hours) - size + 1, size)]
    size = rounds.spans * together
    found: list[list[int]] = [[] for _ in range(plan.shifts // size)]
    for k, hour in enumerate(plan.hours):
        if hour.shift < size * len(found):
            found[hour.shift // size].append(k)
    return list(found)


@dataclass(frozen=True, slots=True)
class Series:
    """What replications did in each interval: arrays of shape (replications, intervals).

    `output` are good units per working hour, `wip` the mean number of units inside while hours are counted.
    """

    output: FloatArray
    wip: FloatArray

    def each(self) -> Iterator[tuple[str, FloatArray]]:
        """Both with their names."""
        yield from (("output", self.output), ("wip", self.wip))


def series(plan: Plan, groups: Sequence[Sequence[int]], records: Sequence[Record]) -> Series:
    """Output and work in progress in each of these groups of counted hours."""
    worked = np.array([sum(plan.hours[k].worked for k in group) for group in groups]) / HOUR
    length = np.array([sum(plan.hours[k].end - plan.hours[k].start for k in group) for group in groups])

    def sums(rows: Any) -> FloatArray:
        return np.array([[sum(row[k] for k in group) for group in groups] for row in rows], dtype=float)

    inside = ([r.wip_by_hour[k] for k in plan.counted] for r in records)
    return Series(sums(r.hourly for r in records) / worked, sums(inside) / length)
