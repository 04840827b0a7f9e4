"""When a cell works, on the time axis of a record: planned time between two moments of the calendar.

Moments are whole microseconds after a Monday 00:00 that lies before the record begins.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cellsim.describe.cell import Cell
from cellsim.engine.calendars import WEEK, Pattern, week_pattern
from cellsim.engine.layout import OFF, ON
from cellsim.errors import UsageError
from cellsim.units import SECOND, quoted

IntArray = NDArray[np.int64]
MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Axis:
    """The Monday 00:00, local time, after which moments are counted."""

    zero: datetime

    def moment(self, at: datetime) -> int:
        """Microseconds of a local date and time."""
        return (at - self.zero) // MICROSECOND

    def text(self, at: int) -> str:
        """A moment as people write it, with seconds only where it has some."""
        local = self.zero + timedelta(microseconds=at)
        return local.strftime("%Y-%m-%d %H:%M" + (":%S" if local.second else ""))


def length_text(microseconds: int) -> str:
    """A length of time as people write it: `40 s`, `2 min 30 s`, `12 h 5 min`."""
    seconds = round(microseconds / SECOND)
    hours, minutes, rest = seconds // 3600, seconds // 60 % 60, seconds % 60
    parts = [f"{hours} h" if hours else "", f"{minutes} min" if minutes else ""]
    parts.append(f"{rest} s" if (rest and not hours) or not seconds else "")
    return " ".join(part for part in parts if part)


def axis_before(first: datetime) -> Axis:
    """The axis of a record that begins then: from the Monday of the week before."""
    day = datetime(first.year, first.month, first.day)
    return Axis(day - timedelta(days=day.weekday() + 7))


@dataclass(frozen=True, slots=True)
class WorkTime:
    """Spans of time in order, and how much lies before each of them."""

    starts: IntArray
    ends: IntArray
    before: IntArray

    def without(self, closed: Iterable[tuple[int, int]]) -> WorkTime:
        """The same without what lies in some times, from and to."""
        spans = list(zip(map(int, self.starts), map(int, self.ends), strict=True))
        for begin, end in closed:
            halves = [((s, min(e, begin)), (max(s, end), e)) for s, e in spans]
            spans = [(s, e) for pair in halves for s, e in pair if s < e]
        return work_time(spans)

    def elapsed(self, at: int) -> int:
        """Time within the spans up to a moment."""
        k = int(np.searchsorted(self.starts, at, side="right")) - 1
        if k < 0:
            return 0
        return int(self.before[k] + min(at, self.ends[k]) - self.starts[k])

    def between(self, start: int, end: int) -> int:
        """Time within the spans from one moment to another."""
        return self.elapsed(end) - self.elapsed(start)

    def holds(self, at: int) -> bool:
        """Whether a moment lies within a span, its beginning included."""
        k = int(np.searchsorted(self.starts, at, side="right")) - 1
        return k >= 0 and at < int(self.ends[k])

    def next_start(self, at: int) -> int:
        """The moment itself where it lies within a span, else the beginning of the next one."""
        if self.holds(at):
            return at
        k = int(np.searchsorted(self.starts, at, side="left"))
        return int(self.starts[k]) if k < len(self.starts) else at

    def last_end(self, at: int) -> int:
        """The moment itself where it lies within a span or at its end, else the end of the one before."""
        k = int(np.searchsorted(self.starts, at, side="left")) - 1
        return min(at, int(self.ends[k])) if k >= 0 else at

    def end_from(self, at: int) -> int:
        """The end of the span that holds a moment, or of the next one; the moment itself after them all."""
        k = int(np.searchsorted(self.ends, at, side="right"))
        return int(self.ends[k]) if k < len(self.ends) else at


def work_time(spans: list[tuple[int, int]]) -> WorkTime:
    """Spans that do not overlap; those that touch are joined."""
    joined: list[list[int]] = []
    for start, end in sorted(spans):
        if joined and start == joined[-1][1]:
            joined[-1][1] = end
        else:
            joined.append([start, end])
    starts = np.array([start for start, _ in joined], dtype=np.int64)
    ends = np.array([end for _, end in joined], dtype=np.int64)
    return WorkTime(starts, ends, np.concatenate([[0], np.cumsum(ends - starts)[:-1]]).astype(np.int64))


def shift_time(cell: Cell, last: int) -> WorkTime:
    """When the cell is on, breaks included, up to a moment: what the clock `on time` of a stop counts."""
    return _repeated(week_pattern(cell.shifts, 0), last, breaks=True)


def shift_length(cell: Cell) -> int:
    """Mean time in which the cell is on in a shift, breaks included, microseconds; 0 without shifts."""
    count = sum(len(shift.days) for shift in cell.shifts)
    return shift_time(cell, 0).between(0, WEEK) // count if count else 0


def planned_time(cell: Cell, last: int, through_breaks: bool = False) -> WorkTime:
    """When a station is to work, up to a moment: shifts without start up, clean up and breaks.

    `through_breaks`: of a station that works on in breaks.
    """
    return _repeated(week_pattern(cell.shifts, 0, breaks_count=not through_breaks), last, breaks=False)


def _repeated(pattern: Pattern, last: int, breaks: bool) -> WorkTime:
    """The spans of a pattern that begins on Monday 00:00, to the end of the week after a moment."""
    weeks = last // WEEK + 2
    if not pattern.edges:
        return work_time([(0, weeks * WEEK)])
    spans, state, since = [], pattern.state, 0
    for week in range(weeks):
        for edge in pattern.edges:
            at = week * WEEK + edge.at
            if state == ON or (breaks and state != OFF):
                spans.append((since, at))
            state, since = edge.state, at
    return work_time([(start, end) for start, end in spans if end > start])


def running_share(result: Mapping[str, Any], station: str) -> float:
    """Share of its on time that a station works, from the figures of a run (`result.json`).

    Raises:
        UsageError: the run has no such station.
    """
    row = result.get("stations", {}).get(station)
    if row is None:
        raise UsageError(f"--result: the run has no station {quoted(station)}")
    shares = {name: entry["mean"] for name, entry in row["shares"].items()}
    return float((shares.get("working", 0.0) + shares.get("attended", 0.0)) / (1 - shares.get("off", 0.0)))
