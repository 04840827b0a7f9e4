"""Working times: the shifts of a cell, and when people can meet."""

from __future__ import annotations

from itertools import pairwise

from cellsim import units
from cellsim.describe.cell import Shift
from cellsim.describe.fields import Entry, Record
from cellsim.describe.kinds import DAYS
from cellsim.describe.making import Making, natural
from cellsim.describe.spec_people import SHIFT
from cellsim.units import DAY, format_clock, format_time


def to_shifts(making: Making, given: dict[str, Entry] | None) -> tuple[Shift, ...]:
    """The shifts by name."""
    return tuple(
        shift
        for name in sorted(given or {}, key=natural)
        if (shift := _to_shift(making, name, (given or {})[name].value)) is not None
    )


def _to_shift(making: Making, name: str, record: Record) -> Shift | None:
    if "from" not in record or "to" not in record:
        return None
    start, end = record.get("from").value, record.get("to").value
    if start == DAY:
        making.wrong_key(record, "from", '"24:00" ends a day; a shift begins at "00:00"')
        return None
    if end == start:
        making.wrong_key(
            record, "to", "the shift ends when it begins", 'round the clock is "from: 00:00, to: 24:00"'
        )
        return None
    end += DAY if end < start else 0
    start_up, clean_up = making.take(SHIFT, record, "start_up"), making.take(SHIFT, record, "clean_up")
    breaks = _breaks(making, record, start, end)
    hand_over = making.take(SHIFT, record, "hand_over")
    if start_up + clean_up + hand_over + sum(length for _, length in breaks) >= end - start:
        making.wrong(
            record, record.path, f"no working time is left of the {format_time(end - start)} of this shift"
        )
    if "breaks" not in record.places:
        making.assume(f"{record.path}.breaks", "none", "no breaks are given")
    return Shift(
        name=name,
        start=start,
        end=end,
        days=_days(making, record),
        breaks=breaks,
        start_up=start_up,
        clean_up=clean_up,
        at_end=making.take(SHIFT, record, "at_end"),
        hand_over=hand_over,
    )


def _days(making: Making, record: Record) -> tuple[int, ...]:
    given = record.get("days")
    if isinstance(given, list):
        return tuple(sorted({DAYS.index(item.value) for item in given}))
    days: tuple[int, ...] = making.take(SHIFT, record, "days")
    return days


def _breaks(making: Making, record: Record, start: int, end: int) -> tuple[tuple[int, int], ...]:
    found: list[tuple[int, int, Record]] = []
    for given in record.get("breaks") or []:
        if "at" not in given or "for" not in given:
            continue
        at, length = given.get("at").value, given.get("for").value
        at += DAY if at < start else 0
        if length <= 0:
            making.wrong_key(given, "for", "a break of no length", "take it out")
        elif at + length > end:
            times = f"{format_clock(start)} to {format_clock(end)}"
            making.wrong_key(given, "at", f"the break does not lie inside the shift, which goes from {times}")
        else:
            found.append((at, length, given))
    found.sort(key=lambda one: one[:2])
    for (at, length, _), (following, _, later) in pairwise(found):
        if at + length > following:
            making.wrong_key(later, "at", f"this break begins before the one at {format_clock(at)} is over")
    return tuple((at, length) for at, length, _ in found)


def working_time(shift: Shift) -> int:
    """Microseconds of a shift without its breaks, start up and clean up."""
    return (
        shift.end - shift.start - shift.start_up - shift.clean_up - sum(length for _, length in shift.breaks)
    )


def mean_working_time(shifts: tuple[Shift, ...]) -> float:
    """Mean working time of the shifts in a week, in microseconds."""
    return sum(working_time(s) * len(s.days) for s in shifts) / sum(len(s.days) for s in shifts)


def together(shifts: tuple[Shift, ...]) -> list[frozenset[str]]:
    """The sets of shifts that are on at the same time, every largest set among them.

    Such a set is complete at the moment when the last of its shifts begins.
    """
    week = 7 * DAY
    spans = [(day * DAY + s.start, day * DAY + s.end, s.name) for s in shifts for day in s.days]
    spans += [(start + week, end + week, name) for start, end, name in spans]
    found = {frozenset(name for start, end, name in spans if start <= moment < end) for moment, _, _ in spans}
    return sorted(found, key=sorted)


def length_text(shifts: tuple[Shift, ...]) -> str:
    """The mean working time of a shift in words."""
    return format_time(round(mean_working_time(shifts) / units.SECOND) * units.SECOND)
