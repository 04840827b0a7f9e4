"""Shifts of a week as edges, against a count of minutes written the obvious way."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cellsim.describe.cell import Cell, Shift
from cellsim.describe.resolve import load_text
from cellsim.engine.calendars import ALWAYS, DAY, WEEK, Edge, Pattern, start_of_run, week_pattern
from cellsim.engine.layout import BREAK, FINISH_ELEMENT, FINISH_UNIT, OFF, ON, RUN_OUT, SUSPEND
from cellsim.study.plan import on_time

MINUTE = 60_000_000
HOUR = 60 * MINUTE
MINUTES_A_DAY = 24 * 60
MINUTES_A_WEEK = 7 * MINUTES_A_DAY
MON, SUN = 0, 6

quick = settings(max_examples=60, deadline=None, derandomize=True, database=None)


def cell_with(shifts: str) -> Cell:
    """A cell of one station with these shifts."""
    return load_text(f"cell: c\nroute: [S]\nstations: {{S: {{cycle: 1 min}}}}\nshifts: {shifts}\n")


def pattern_of(shifts: str, breaks_count: bool = True) -> Pattern:
    """The pattern of those who follow all shifts of a cell."""
    cell = cell_with(shifts)
    return week_pattern(cell.shifts, start_of_run(cell), breaks_count)


def test_one_shift_turns_on_and_off_once_a_week() -> None:
    """Mondays 06:00-14:00, break 08:00-08:10, 5 min of start up, 20 of clean up: off, on, break, on, off."""
    pattern = pattern_of(
        "{day: {from: 06:00, to: 14:00, days: Mon, breaks: [{at: 08:00, for: 10 min}], start_up: 5 min,"
        " clean_up: 20 min, at_end: finish unit}}"
    )
    assert pattern == Pattern(
        OFF,
        (
            Edge(5 * MINUTE, ON),
            Edge(120 * MINUTE, BREAK, FINISH_ELEMENT, 10 * MINUTE),
            Edge(130 * MINUTE, ON),
            Edge(460 * MINUTE, OFF, FINISH_UNIT),
        ),
        WEEK,
    )


def test_those_who_work_through_breaks_have_none() -> None:
    """Robots follow the shifts, not the breaks; an edge at the very start stands at the end of the week."""
    pattern = pattern_of(
        "{day: {from: 06:00, to: 14:00, days: Mon, breaks: [{at: 08:00, for: 10 min}]}}", False
    )
    assert pattern == Pattern(ON, (Edge(480 * MINUTE, OFF), Edge(WEEK, ON)), WEEK)


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("finish element", FINISH_ELEMENT),
        ("finish unit", FINISH_UNIT),
        ("run out", RUN_OUT),
        ("stop", SUSPEND),
    ],
)
def test_the_end_of_a_shift_carries_its_rule(words: str, rule: int) -> None:
    """What happens to work in hand is that of the shift that ends last."""
    pattern = pattern_of(
        f"{{day: {{from: 06:00, to: 14:00, days: Mon, at_end: {words}}},"
        " part: {from: 06:00, to: 10:00, days: Mon, at_end: finish element}}"
    )
    assert [edge for edge in pattern.edges if edge.state == OFF] == [Edge(480 * MINUTE, OFF, rule)]


def test_nobody_without_shifts_ever_goes() -> None:
    """Without shifts the cell works without a pause, and a run begins at Monday 00:00."""
    cell = load_text("cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\n")
    assert week_pattern((), 0) == ALWAYS == Pattern(ON, (), WEEK)
    assert start_of_run(cell) == 0
    assert on_time(ALWAYS, 3 * MINUTE, 20 * WEEK) == 20 * WEEK - 3 * MINUTE


def test_a_run_begins_with_the_first_shift_of_the_week() -> None:
    """The earliest shift counts, whatever the order in the file."""
    assert (
        start_of_run(cell_with("{n: {from: 22:00, to: 06:00}, d: {from: 07:15, to: 14:00}}")) == 435 * MINUTE
    )
    later = cell_with("{d: {from: 07:15, to: 14:00, days: Tue-Wed}, e: {from: 22:00, to: 23:00, days: Wed}}")
    assert start_of_run(later) == DAY + 435 * MINUTE


def test_the_night_before_monday_reaches_into_the_week() -> None:
    """Sunday 22:00 to Monday 06:00 is on at Monday 00:00; with a run from Monday 02:00 it ends after 4 h."""
    night = (Shift("night", 22 * HOUR, 30 * HOUR, (SUN,)),)
    assert week_pattern(night, 0).state == ON
    assert week_pattern(night, 2 * HOUR) == Pattern(
        ON, (Edge(4 * HOUR, OFF), Edge(6 * DAY + 20 * HOUR, ON)), WEEK
    )


def test_shifts_that_follow_each_other_without_a_gap_leave_no_edge() -> None:
    """Early to 14:00 and late from 14:00: nobody goes off in between."""
    pattern = pattern_of(
        "{early: {from: 06:00, to: 14:00, days: Mon}, late: {from: 14:00, to: 22:00, days: Mon}}"
    )
    assert pattern == Pattern(ON, (Edge(16 * HOUR, OFF), Edge(WEEK, ON)), WEEK)


def test_a_break_in_common_is_a_break_and_one_of_two_is_not() -> None:
    """Two shifts at once, breaks 08:00-08:20 and 08:10-08:30: all rest from 08:10 to 08:20."""
    pattern = pattern_of(
        "{a: {from: 06:00, to: 14:00, days: Mon, breaks: [{at: 08:00, for: 20 min}]},"
        " b: {from: 06:00, to: 14:00, days: Mon, breaks: [{at: 08:10, for: 20 min}]}}"
    )
    assert pattern.edges[:2] == (
        Edge(130 * MINUTE, BREAK, FINISH_ELEMENT, 10 * MINUTE),
        Edge(140 * MINUTE, ON),
    )
    assert on_time(pattern, 0, DAY) == 470 * MINUTE


@st.composite
def shifts_of_a_week(draw: st.DrawFn) -> tuple[Shift, ...]:
    """One to three shifts in whole minutes, some over midnight, with breaks inside them."""
    made = []
    for name in draw(st.sampled_from(("a", "ab", "abc"))):
        start = draw(st.integers(0, 23 * 60 + 59))
        length = draw(st.integers(30, 24 * 60))
        start_up, clean_up = draw(st.integers(0, 14)), draw(st.integers(0, 15))
        days = tuple(sorted(draw(st.sets(st.integers(0, 6), min_size=1, max_size=7))))
        breaks, at = [], start
        for gap, lasts in draw(st.lists(st.tuples(st.integers(0, 200), st.integers(1, 45)), max_size=3)):
            if at + gap + lasts <= start + length:
                breaks.append(((at + gap) * MINUTE, lasts * MINUTE))
                at += gap + lasts
        made.append(
            Shift(
                name,
                start * MINUTE,
                (start + length) * MINUTE,
                days,
                tuple(breaks),
                start_up * MINUTE,
                clean_up * MINUTE,
            )
        )
    return tuple(made)


def minute_by_minute(shifts: tuple[Shift, ...]) -> list[int]:
    """State in each minute of a week: every shift of every day is walked through, minute after minute."""
    works, rests = [False] * MINUTES_A_WEEK, [False] * MINUTES_A_WEEK
    for shift in shifts:
        at_rest = {
            minute
            for start, length in shift.breaks
            for minute in range(start // MINUTE, (start + length) // MINUTE)
        }
        for day in shift.days:
            first = (shift.start + shift.start_up) // MINUTE
            last = (shift.end - shift.clean_up) // MINUTE
            for minute in range(first, last):
                k = (day * MINUTES_A_DAY + minute) % MINUTES_A_WEEK
                if minute in at_rest:
                    rests[k] = True
                else:
                    works[k] = True
    return [ON if w else BREAK if r else OFF for w, r in zip(works, rests, strict=True)]


@quick
@given(
    shifts_of_a_week(),
    st.integers(0, MINUTES_A_WEEK - 1),
    st.integers(0, 2 * MINUTES_A_WEEK),
    st.integers(0, 3 * MINUTES_A_DAY),
)
def test_time_on_against_counted_minutes(
    shifts: tuple[Shift, ...], zero: int, start: int, length: int
) -> None:
    """Time on of any stretch, over the end of the week too, is the number of minutes that are on."""
    states = minute_by_minute(shifts)
    pattern = week_pattern(shifts, zero * MINUTE)
    counted = sum(states[(zero + minute) % MINUTES_A_WEEK] == ON for minute in range(start, start + length))
    assert on_time(pattern, start * MINUTE, (start + length) * MINUTE) == counted * MINUTE


@quick
@given(shifts_of_a_week(), st.integers(0, MINUTES_A_WEEK - 1))
def test_every_edge_is_a_change_of_state_and_every_change_an_edge(
    shifts: tuple[Shift, ...], zero: int
) -> None:
    """Edges in order of time, each to the state of that minute, none without a change."""
    states = minute_by_minute(shifts)
    pattern = week_pattern(shifts, zero * MINUTE)
    assert pattern.state == states[zero]
    changes = []
    for minute in range(1, MINUTES_A_WEEK + 1):
        k = (zero + minute) % MINUTES_A_WEEK
        if states[k] != states[k - 1]:
            changes.append((minute * MINUTE, states[k]))
    assert [(edge.at, edge.state) for edge in pattern.edges] == changes


@quick
@given(shifts_of_a_week(), st.lists(st.integers(0, 2 * MINUTES_A_WEEK), min_size=2, max_size=6).map(sorted))
def test_time_on_adds_up_over_stretches(shifts: tuple[Shift, ...], cuts: list[int]) -> None:
    """The time on of a stretch is the sum over its parts, wherever it is cut, down to odd microseconds."""
    pattern = week_pattern(shifts, 0)
    moments = [cut * MINUTE + 7 * k for k, cut in enumerate(cuts)]
    parts = [on_time(pattern, a, b) for a, b in pairwise(moments)]
    assert sum(parts) == on_time(pattern, moments[0], moments[-1])
