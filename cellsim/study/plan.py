"""What a replication covers: when counting starts and ends, and the hours into which output is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cellsim.describe.cell import Cell
from cellsim.engine.calendars import DAY, WEEK, Pattern, start_of_run, week_pattern
from cellsim.engine.layout import ON
from cellsim.errors import UsageError
from cellsim.units import HOUR

ONE_SHIFT = 8 * HOUR  # what is looked at together where a cell has no shifts
LEAST_WORKED = HOUR // 2  # an hour with less working time than this says nothing about a rate


@dataclass(frozen=True, slots=True)
class Hour:
    """One counted interval: from `start` (exclusive) to `end` (inclusive), in microseconds of the run."""

    start: int
    end: int
    label: str  # clock time, as "06:00-07:00", or hours since the start where there are no shifts
    number: int  # position within its shift, from 0
    shift: int  # number of the counted shift, from 0
    worked: int  # microseconds in which the cell is on and not in a break


@dataclass(frozen=True, slots=True)
class Plan:
    """Counting starts at `counted_from` and ends at `horizon`, both in microseconds of the run.

    The whole run, settling included, is cut into intervals that end at `ends`: the counted hours, and hours
    from the start of whatever lies before or between them.  `counted` are the counted hours among them.
    """

    counted_from: int
    horizon: int
    hours: tuple[Hour, ...]
    shifts: int
    ends: tuple[int, ...]
    counted: tuple[int, ...]

    @property
    def worked(self) -> int:
        """Working time that is counted, in microseconds."""
        return sum(hour.worked for hour in self.hours)


def clock_text(microseconds: int) -> str:
    """Time of day of a moment given in microseconds after some midnight."""
    minutes = microseconds % DAY // 60_000_000
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def on_time(pattern: Pattern, start: int, end: int) -> int:
    """How long a pattern is on between two moments of the run."""
    if not pattern.edges:
        return end - start
    total = 0
    at = start // pattern.period * pattern.period  # where the pattern begins anew
    state = pattern.state if at == 0 else pattern.edges[-1].state
    while at < end:
        base = at // pattern.period * pattern.period
        for edge in pattern.edges:
            following = min(base + edge.at, end)
            if following > at:
                if state == ON:
                    total += max(0, following - max(at, start))
                at = following
            if base + edge.at <= end:
                state = edge.state
        if at < base + pattern.period and at < end:
            following = min(base + pattern.period, end)
            if state == ON:
                total += max(0, following - max(at, start))
            at = following
    return total


def occurrences(cell: Cell, until: int, names: tuple[str, ...] | None = None) -> list[tuple[int, int]]:
    """Every shift that starts before `until` as (start, end) in microseconds of the run, in order.

    `names` limits it to some of the shifts.
    """
    zero = start_of_run(cell)
    spans = []
    for week in range(-1, until // WEEK + 2):
        for shift in cell.shifts:
            for day in shift.days if names is None or shift.name in names else ():
                start = week * WEEK + day * DAY + shift.start - zero
                spans.append((start, start + shift.end - shift.start))
    return sorted(span for span in spans if 0 <= span[0] < until)


def without_overlap(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans in order, those that overlap joined into one."""
    joined: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if joined and start < joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def shift_spans(cell: Cell, count: int) -> list[tuple[int, int]]:
    """The first `count` shifts of the run as (start, end) in microseconds."""
    until = WEEK
    while len(occurrences(cell, until)) < count:
        until += WEEK
    return occurrences(cell, until)[:count]


def _counted_spans(cell: Cell) -> list[tuple[int, int]]:
    """The spans of time that a study counts, settling taken off."""
    study = cell.study
    if (study.shifts or study.settle_shifts) and not cell.shifts:
        raise UsageError("study.shifts counts shifts, but the cell has none; say how long: run: 8 h")
    settle = study.settle
    if study.settle_shifts:
        settle = shift_spans(cell, study.settle_shifts + 1)[-1][0]
    if not study.shifts:
        return [(settle, settle + study.run)]
    count = study.shifts
    while len(spans := [span for span in shift_spans(cell, count) if span[1] > settle]) < study.shifts:
        count += study.shifts - len(spans)
    return without_overlap([(max(start, settle), end) for start, end in spans])


def whole_run(hours: Sequence[Hour]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The ends of the intervals of a whole run, and which of them are these hours."""
    ends: list[int] = []
    counted = []
    at = 0
    for hour in hours:
        ends += (min(start + HOUR, hour.start) for start in range(at, hour.start, HOUR))
        counted.append(len(ends))
        ends.append(hour.end)
        at = hour.end
    return tuple(ends), tuple(counted)


def hours_of(cell: Cell, spans: Sequence[tuple[int, int]]) -> list[Hour]:
    """Spans of a run, in microseconds, cut into hours from the start of each; the last may be shorter."""
    pattern = week_pattern(cell.shifts, start_of_run(cell))
    hours = []
    for number, (start, end) in enumerate(spans):
        for k, at in enumerate(range(start, end, HOUR)):
            until = min(at + HOUR, end)
            if cell.shifts:
                zero = start_of_run(cell)
                label = f"{clock_text(zero + at)}-{clock_text(zero + until)}"
            else:
                label = f"hour {(at - start) // HOUR + 1}"
            hours.append(Hour(at, until, label, k, number, on_time(pattern, at, until)))
    return hours


def counted_shifts(cell: Cell) -> list[tuple[int, int]]:
    """The shifts that a study counts as (start, end) in microseconds of the run.

    Where it counts a stretch of time instead, these are the parts of shifts in it; without any shifts, pieces
    of 8 h.
    """
    spans = _counted_spans(cell)
    if cell.study.shifts:
        return spans
    start, end = spans[0]
    if not cell.shifts:
        return [(at, min(at + ONE_SHIFT, end)) for at in range(start, end, ONE_SHIFT)]
    found = without_overlap(occurrences(cell, end))
    return [(max(a, start), min(b, end)) for a, b in found if b > start]


def make_plan(cell: Cell) -> Plan:
    """The plan of one replication of a cell's study.

    Raises:
        UsageError: the study counts shifts and the cell has none, or it counts no working time.
    """
    spans = _counted_spans(cell)
    hours = hours_of(cell, spans)
    plan = Plan(spans[0][0], spans[-1][1], tuple(hours), len(spans), *whole_run(hours))
    if plan.worked == 0:
        raise UsageError("the study counts no working time: nobody is on between its start and its end")
    return plan


def uncounted_services(cell: Cell, plan: Plan) -> list[str]:
    """A caution where planned service at times of the week lies outside the counted time in every run."""
    zero = start_of_run(cell)
    missed = []
    owners = [(each.name, each.stops) for each in cell.stations]
    owners += [(each.name, each.stops) for each in cell.robots]
    for name, stops in owners:
        for stop in stops:
            first = [(moment - zero - plan.counted_from) % WEEK for moment in stop.at]
            if first and plan.counted_from + min(first) >= plan.horizon:
                missed.append(f"{stop.name} of {name}")
    if not missed:
        return []
    shifts = sum(len(shift.days) for shift in cell.shifts)
    week = f"shifts: {shifts}" if shifts else "run: 7 d"
    return [
        f"Not in any figure, since it comes at a time of the week that is not counted: {', '.join(missed)}."
        f" A whole week has it, study: {{{week}}}."
    ]
