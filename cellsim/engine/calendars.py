"""Shifts and breaks of a cell as repeating lists of edges, one for each set of shifts that people follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from cellsim.describe.cell import Cell, Post, Shift
from cellsim.engine.layout import (
    BREAK,
    FINISH_ELEMENT,
    FINISH_UNIT,
    HANDING_OVER,
    OFF,
    ON,
    PUT_DOWN,
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
    "hand over": PUT_DOWN,
}


@dataclass(frozen=True, slots=True)
class Edge:
    """At `at` microseconds after the start of the run, and every period, the calendar turns to `state`.

    An edge that changes no state may begin a shift (`fresh`) or move people on to their `turn`-th place.
    """

    at: int
    state: int
    rule: int = FINISH_ELEMENT
    length: int = 0
    changes: bool = True
    fresh: bool = False
    turn: int = -1


@dataclass(frozen=True, slots=True)
class Pattern:
    """State at the start of the run, and the edges of one period in order of time."""

    state: int
    edges: tuple[Edge, ...]
    period: int


@dataclass(frozen=True, slots=True)
class Span:
    """One shift of a week: `start` and `end` of work, and breaks; its people begin when they are `ready`."""

    start: int
    ready: int
    end: int
    shift: Shift
    breaks: tuple[tuple[int, int], ...]


ALWAYS = Pattern(ON, (), WEEK)


def start_of_run(cell: Cell) -> int:
    """Microseconds after Monday 00:00 at which time 0 of a run lies: the first shift of the week."""
    return min((min(shift.days) * DAY + shift.start for shift in cell.shifts), default=0)


def _presence(shifts: tuple[Shift, ...], people: bool) -> list[Span]:
    """Each shift of a week in microseconds after Monday 00:00; only `people` need time to take over."""
    out = []
    for week in (-1, 0):
        for shift in shifts:
            for day in shift.days:
                zero = week * WEEK + day * DAY
                start = zero + shift.start + shift.start_up
                ready = start + (shift.hand_over if people else 0)
                breaks = tuple((zero + at, zero + at + length) for at, length in shift.breaks)
                out.append(Span(start, ready, zero + shift.end - shift.clean_up, shift, breaks))
    return out


def week_pattern(shifts: tuple[Shift, ...], zero: int, breaks_count: bool = True) -> Pattern:
    """The pattern of those who follow all of `shifts`; without `breaks_count` they work through breaks.

    Somebody is on while any of the shifts is on and not in a break, in a break while all that are on are in
    one.  `zero` is the start of the run in microseconds after Monday 00:00.
    """
    if not shifts:
        return ALWAYS
    spans = _presence(shifts, people=False)
    if not breaks_count:
        spans = [replace(span, breaks=()) for span in spans]
    return _pattern(spans, zero, {}, frozenset())


def post_pattern(post: Post, shifts: tuple[Shift, ...], zero: int) -> Pattern:
    """The pattern of the people of a post, with what only people have.

    These are breaks of their own, hand-over at the beginning of a shift, and, though their state does not
    change, the beginning of each shift for which somebody may be absent and each change of places.
    """
    if not shifts:
        return _endless_turns(post)
    spans = _presence(tuple(post.working_in(shift) for shift in shifts), people=True)
    turns: dict[int, int] = {}
    if post.rotates:
        for span in spans:
            first = span.start - span.shift.start_up
            for turn, at in enumerate(range(first, span.end, post.rotates.every)):
                turns[max(at, span.start) % WEEK] = turn % len(post.rotates.among)
    fresh = frozenset(span.start % WEEK for span in spans) if post.absent else frozenset()
    return _pattern(spans, zero, turns, fresh)


def _endless_turns(post: Post) -> Pattern:
    """People who change places without a pause."""
    if not post.rotates:
        return ALWAYS
    count, every = len(post.rotates.among), post.rotates.every
    edges = (Edge((k + 1) * every, ON, changes=False, turn=(k + 1) % count) for k in range(count))
    return Pattern(ON, tuple(edges), count * every)


def _pattern(spans: list[Span], zero: int, turns: Mapping[int, int], fresh: frozenset[int]) -> Pattern:
    """The pattern of those spans; at `turns` and `fresh`, moments of the week, something more happens."""
    times = {0, *turns, *fresh}
    for span in spans:
        for at in (span.start, span.ready, span.end, *(t for pause in span.breaks for t in pause)):
            if 0 <= at < WEEK:
                times.add(at)
    ordered = sorted(times)
    states = [_state_at(spans, at) for at in ordered]
    edges = []
    for k, at in enumerate(ordered):
        before = states[k - 1]
        changes = states[k] != before
        if changes or at in turns or at in fresh:
            rule = FINISH_ELEMENT
            if changes and states[k] in (OFF, HANDING_OVER):
                ending = [span.shift for span in spans if span.end == at]
                rule = END_RULES[ending[0].at_end] if ending else FINISH_ELEMENT
            at_run = (at - zero) % WEEK or WEEK
            edges.append(Edge(at_run, states[k], rule, 0, changes, fresh=at in fresh, turn=turns.get(at, -1)))
    edges.sort(key=lambda edge: edge.at)
    return Pattern(_state_at(spans, zero), tuple(_with_lengths(edges)), WEEK)


def _with_lengths(edges: list[Edge]) -> list[Edge]:
    """The edges, each beginning of a break with how long it is: up to the next change."""
    changes = [edge for edge in edges if edge.changes]
    following = dict(zip(changes, changes[1:] + changes[:1], strict=True))
    return [
        replace(edge, length=(following[edge].at - edge.at) % WEEK)
        if edge.state == BREAK and edge.changes
        else edge
        for edge in edges
    ]


def as_the_cell_closes(pattern: Pattern, cell: Pattern) -> Pattern:
    """The pattern of some of the people: who goes while the cell works on does not stay until it is empty."""
    closing = {edge.at for edge in cell.edges if edge.state == OFF}
    edges = tuple(
        replace(edge, rule=FINISH_ELEMENT) if edge.rule == RUN_OUT and edge.at not in closing else edge
        for edge in pattern.edges
    )
    return replace(pattern, edges=edges)


def _state_at(spans: list[Span], at: int) -> int:
    on = [span for span in spans if span.start <= at < span.end]
    if not on:
        return OFF
    resting = [any(a <= at < b for a, b in span.breaks) for span in on]
    if any(at >= span.ready and not rests for span, rests in zip(on, resting, strict=True)):
        return ON
    return HANDING_OVER if any(at < span.ready for span in on) else BREAK
