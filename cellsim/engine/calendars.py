"""Shifts and breaks of a cell as repeating lists of edges, one for each set of shifts that people follow."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cellsim.describe.cell import Cell, Shift
from cellsim.engine.layout import (
    BREAK,
    FINISH_ELEMENT,
    FINISH_UNIT,
    OFF,
    ON,
    RUN_OUT,
    SUSPEND,
)

DAY = 24 * 3600 * 1_000_000
WEEK = 7 * DAY

END_RULES = {
    "finish element": FINISH_ELEMENT,
    "finish unit": FINISH_UNIT,
    "run out": RUN_OUT,
    "stop": SUSPEND,
}


@dataclass(frozen=True, slots=True)
class Edge:
    """At `at` microseconds after the start of the run, and every period, the calendar turns to `state`."""

    at: int
    state: int
    rule: int = FINISH_ELEMENT
    length: int = 0


@dataclass(frozen=True, slots=True)
class Pattern:
    """State at the start of the run, and the edges of one period in order of time."""

    state: int
    edges: tuple[Edge, ...]
    period: int


ALWAYS = Pattern(ON, (), WEEK)


def start_of_run(cell: Cell) -> int:
    """Microseconds after Monday 00:00 at which time 0 of a run lies: the first shift of the week."""
    return min((min(shift.days) * DAY + shift.start for shift in cell.shifts), default=0)


def _presence(shifts: tuple[Shift, ...]) -> list[tuple[int, int, Shift, list[tuple[int, int]]]]:
    """Each shift of a week: start and end of work, shift, breaks; in microseconds after Monday 00:00."""
    out = []
    for week in (-1, 0):
        for shift in shifts:
            for day in shift.days:
                zero = week * WEEK + day * DAY
                breaks = [(zero + at, zero + at + length) for at, length in shift.breaks]
                out.append(
                    (zero + shift.start + shift.start_up, zero + shift.end - shift.clean_up, shift, breaks)
                )
    return out


def week_pattern(shifts: tuple[Shift, ...], zero: int, breaks_count: bool = True) -> Pattern:
    """The pattern of those who follow all of `shifts`; without `breaks_count` they work through breaks.

    Somebody is on while any of the shifts is on and not in a break, in a break while all that are on are in
    one.  `zero` is the start of the run in microseconds after Monday 00:00.
    """
    if not shifts:
        return ALWAYS
    spans = _presence(shifts)
    if not breaks_count:
        spans = [(start, end, shift, []) for start, end, shift, _ in spans]
    times = {0}
    for start, end, _, breaks in spans:
        for at in (start, end, *(t for span in breaks for t in span)):
            if 0 <= at < WEEK:
                times.add(at)
    ordered = sorted(times)
    states = [_state_at(spans, at) for at in ordered]
    edges = []
    for k, at in enumerate(ordered):
        before = states[k - 1]
        if states[k] != before:
            rule = FINISH_ELEMENT
            if states[k] == OFF:
                ending = [shift for _, end, shift, _ in spans if end == at]
                rule = END_RULES[ending[0].at_end] if ending else FINISH_ELEMENT
            edges.append(Edge((at - zero) % WEEK or WEEK, states[k], rule))
    edges.sort(key=lambda edge: edge.at)
    following = edges[1:] + edges[:1]
    timed = [
        replace(edge, length=(after.at - edge.at) % WEEK) if edge.state == BREAK else edge
        for edge, after in zip(edges, following, strict=True)
    ]
    return Pattern(_state_at(spans, zero), tuple(timed), WEEK)


def as_the_cell_closes(pattern: Pattern, cell: Pattern) -> Pattern:
    """The pattern of some of the people: who goes while the cell works on does not stay until it is empty."""
    closing = {edge.at for edge in cell.edges if edge.state == OFF}
    edges = tuple(
        replace(edge, rule=FINISH_ELEMENT) if edge.rule == RUN_OUT and edge.at not in closing else edge
        for edge in pattern.edges
    )
    return replace(pattern, edges=edges)


def _state_at(spans: list[tuple[int, int, Shift, list[tuple[int, int]]]], at: int) -> int:
    on = [breaks for start, end, _, breaks in spans if start <= at < end]
    if not on:
        return OFF
    return BREAK if all(any(a <= at < b for a, b in breaks) for breaks in on) else ON
