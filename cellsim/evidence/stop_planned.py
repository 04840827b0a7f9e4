"""Planned stops of a log: how many, how long, in which rhythm, and where they belong in a cell file."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from cellsim.describe.cell import Cell
from cellsim.describe.kinds import DAYS
from cellsim.engine.calendars import WEEK, start_of_run
from cellsim.errors import UsageError
from cellsim.evidence.stop_cleaning import CleanLog
from cellsim.evidence.stop_helpers import cleared_by
from cellsim.evidence.stop_records import Logged
from cellsim.evidence.stop_words import PlannedKind
from cellsim.evidence.worktime import length_text
from cellsim.study.plan import make_plan
from cellsim.units import DAY, HOUR, MINUTE, SECOND, count_of

SAME_TIME = 15 * MINUTE  # times of day that differ by less from their median are the same
OTHER_TIME = 45 * MINUTE  # times of day that are further apart are two
SAME_GAP = 0.1  # share by which times between services may differ and be the same


@dataclass
class PlannedInput:
    """Planned stops of one cause of a station or robot.

    `planned_s` is the planned time they took, `lasts_s` the mean of those whose length is known (None: none),
    between `shortest_s` and `longest_s`.  `at` are the moments of the week at which they come (`Wed 06:00`,
    `06:00` where daily), `every_h` hours of on time from the end of one to the next; both empty where no
    rhythm is plain.  `first` is when the first one began, in the form of `at`.
    """

    station: str
    cause: str
    belongs: PlannedKind
    count: int
    planned_s: float
    lasts_s: float | None
    shortest_s: float
    longest_s: float
    at: list[str]
    every_h: float | None
    first: str
    by: str


def planned_inputs(log: CleanLog, cell: Cell) -> list[PlannedInput]:
    """The planned stops of a log by station and cause."""
    groups: dict[tuple[str, str], list[tuple[Logged, PlannedKind]]] = {}
    for stop, kind in log.apart:
        groups.setdefault((stop.owner, stop.cause), []).append((stop, kind))
    return [
        _planned_input(log, cell, [stop for stop, _ in rows], rows[0][1])
        for _, rows in sorted(groups.items())
    ]


def unseen_services(planned: Sequence[PlannedInput], cell: Cell) -> list[str]:
    """What to say where a run of the cell ends before the weekday of a service; one text at most."""
    if not cell.shifts:
        return []
    try:
        run, zero = make_plan(cell).horizon, start_of_run(cell)
    except UsageError:  # no run of it is possible, which `check` says
        return []
    unseen = {
        moment
        for service in planned
        if service.belongs == "service"
        for moment in service.at
        if " " in moment and (_moment_of(moment) - zero) % WEEK >= run
    }
    if not unseen:
        return []
    covers = count_of(cell.study.shifts, "shift") if cell.study.shifts else length_text(cell.study.run)
    week = sum(len(shift.days) for shift in cell.shifts)
    return [
        f"A study of {covers}, as this cell has it, does not see the service of"
        f" {', '.join(sorted(unseen, key=_moment_of))}; study: {{shifts: {week}}} does, for a week."
    ]


def _moment_of(text: str) -> int:
    """`Wed 06:00` in microseconds of the week."""
    day, clock = text.split()
    hours, minutes = clock.split(":")
    return DAYS.index(day) * DAY + int(hours) * HOUR + int(minutes) * MINUTE


def _planned_input(log: CleanLog, cell: Cell, stops: list[Logged], kind: PlannedKind) -> PlannedInput:
    lengths = [log.length(stop) / SECOND for stop in stops if stop.known and log.length(stop) > 0]
    at = _moments(log, stops)
    every_h = None if at else _hours_between(log, stops)
    if kind == "changeover" and len(cell.variants) < 2 and (at or every_h):
        kind = "service"  # one variant is never changed over, so its rhythm is the only way to have it
    return PlannedInput(
        station=stops[0].owner,
        cause=stops[0].cause,
        belongs=kind,
        count=len(stops),
        planned_s=sum(lengths),
        lasts_s=statistics.fmean(lengths) if lengths else None,
        shortest_s=min(lengths, default=0.0),
        longest_s=max(lengths, default=0.0),
        at=at,
        every_h=every_h,
        first=_moment_text([_local(log, stops[0]).weekday()], stops[0].begin % DAY)[0],
        by=cleared_by(stops, cell, []),
    )


def _local(log: CleanLog, stop: Logged) -> datetime:
    return log.axis.zero + timedelta(microseconds=stop.begin)


def _moments(log: CleanLog, stops: Sequence[Logged]) -> list[str]:
    """The moments of the week at which the stops come; empty where they come otherwise or were too few.

    At each time of day they come on the same weekdays, on all of them that were worked in the period, and on
    each weekday twice at least; or on every day worked, three at least.
    """
    found: list[str] = []
    for group in _by_time_of_day(stops):
        clock = round(statistics.median(stop.begin % DAY for stop in group) / MINUTE) * MINUTE
        if any(abs(stop.begin % DAY - clock) > SAME_TIME for stop in group):
            return []
        days = sorted({stop.begin // DAY for stop in group})
        all_days = range(log.begin // DAY, -(-log.end // DAY))
        moments = [day * DAY + clock for day in all_days]
        worked = [at // DAY for at in moments if log.begin <= at < log.end and log.shift.holds(at)]
        weekdays = sorted({day % 7 for day in days})  # the axis begins on a Monday
        daily = days == worked and len(days) >= 3
        twice = all(sum(day % 7 == weekday for day in days) >= 2 for weekday in weekdays)
        if not daily and not (twice and days == [day for day in worked if day % 7 in weekdays]):
            return []
        found += _moment_text([] if days == worked else weekdays, clock)
    return found


def _by_time_of_day(stops: Sequence[Logged]) -> list[list[Logged]]:
    """The stops in groups of times of day that are clearly apart."""
    rows = sorted(stops, key=lambda stop: stop.begin % DAY)
    groups = [rows[:1]]
    for before, stop in pairwise(rows):
        if stop.begin % DAY - before.begin % DAY > OTHER_TIME:
            groups.append([])
        groups[-1].append(stop)
    return groups


def _moment_text(weekdays: Sequence[int], clock: int) -> list[str]:
    """Moments as in a cell file: `06:00` for every day, else one for each weekday."""
    time = f"{clock // HOUR:02d}:{clock % HOUR // MINUTE:02d}"
    return [f"{DAYS[day]} {time}" for day in weekdays] or [time]


def _hours_between(log: CleanLog, stops: Sequence[Logged]) -> float | None:
    """Mean hours of on time from the end of one stop to the next, of three at least that are alike."""
    if len(stops) < 3 or len({stop.machine for stop in stops}) > 1:
        return None
    gaps = [log.shift.between(before.end or before.begin, stop.begin) for before, stop in pairwise(stops)]
    mean = statistics.fmean(gaps)
    if mean <= 0 or any(abs(gap - mean) > SAME_GAP * mean for gap in gaps):
        return None
    return mean / HOUR
