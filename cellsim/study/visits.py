"""The visits that people and robots pay to stations on paper, with mean times, for man-machine charts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cellsim.describe.cell import Cell
from cellsim.study.loads import Loading, TimedElement
from cellsim.study.passages import OCCUPIES

# The order of a visit that takes one unit off and puts the next one on.
SINGLE = ("end work", "unload", "deliver", "fetch", "load", "begin work", "inside", "return")
DOUBLE = ("end work", "fetch", "unload", "load", "begin work", "inside", "deliver", "return")
AHEAD = ("end work", "unload", "load", "begin work", "inside", "deliver", "fetch", "return")
BENCH = ("fetch", "load", "begin work", "inside", "unload", "deliver", "return")

Able = tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One work element of a visit: who can do it, and whether the station stands meanwhile."""

    name: str
    phase: str
    seconds: float
    able: Able
    at: str
    stands: bool


@dataclass(frozen=True, slots=True)
class Visit:
    """What is done at a station in one go; then it works alone for `alone_s`."""

    parts: tuple[Part, ...]
    alone_s: float

    @property
    def attended_s(self) -> float:
        """Seconds in which the station stands, or is worked at, with somebody there."""
        return sum(part.seconds for part in self.parts if part.stands)

    @property
    def waits_s(self) -> float:
        """Seconds in which the station waits while a unit is fetched or carried away."""
        last = max((k for k, part in enumerate(self.parts) if part.stands), default=0)
        return sum(part.seconds for part in self.parts[:last] if not part.stands)

    @property
    def person_s(self) -> float:
        """Seconds of whoever pays the visit."""
        return sum(part.seconds for part in self.parts)


@dataclass(frozen=True, slots=True)
class Attended:
    """A station that is attended, or a move of a robot: one cycle each `interval_s` at the demanded rate.

    The interval is that of all its `machines` together.  The visits follow each other in every cycle, the
    first of them takes the last unit off and puts the next one on.  `varies`: some time of it does.
    """

    station: str
    machines: int
    interval_s: float
    visits: tuple[Visit, ...]
    varies: bool

    @property
    def alone_s(self) -> float:
        """Seconds of each cycle in which it works alone."""
        return sum(visit.alone_s for visit in self.visits)

    @property
    def attended_s(self) -> float:
        """Seconds of each cycle in which it is attended."""
        return sum(visit.attended_s for visit in self.visits)

    @property
    def waits_s(self) -> float:
        """Seconds of each cycle in which it waits while units are fetched or carried away."""
        return sum(visit.waits_s for visit in self.visits)

    @property
    def person_s(self) -> float:
        """Seconds of people or robots in each cycle, one at a time."""
        return sum(visit.person_s for visit in self.visits)

    @property
    def who(self) -> set[str]:
        """All posts and robots that can do a part of it."""
        return {
            name for visit in self.visits for part in visit.parts for _, names in part.able for name in names
        }


def attended_stations(cell: Cell, loads: Loading) -> list[Attended]:
    """What is attended, in the order of the route, then the moves of robots."""
    orders = {robot.name: DOUBLE for robot in cell.robots if robot.double_gripper}
    orders |= {robot.name: AHEAD for robot in cell.robots if robot.fetches_ahead}
    apart = {station.name for station in cell.stations if station.batch and not station.one_visit}
    found = []
    for load in loads.stations:
        elements = [e for e in loads.elements if e.station == load.name and e.seconds > 0 and e.times > 0]
        own = [element for element in elements if not element.extra]
        if load.cycles > 0 and any(element.able for element in own):
            visits = _visits(own, orders, load.name in apart)
            varies = any(element.varies for element in own)
            found.append(Attended(load.name, load.count, loads.takt_s / load.cycles, visits, varies))
    for robot in cell.robots:
        moves = {f"{move.start} to {move.end}" for move in robot.moves}
        for duty in loads.duties_of(robot.name):
            if duty.kind == "work" and duty.what in moves and duty.times > 0:
                part = Part(
                    duty.what, "work", duty.seconds / duty.times, ((1, (robot.name,)),), duty.at, True
                )
                visit = Visit((part,), 0.0)
                found.append(Attended(duty.what, 1, loads.takt_s / duty.times, (visit,), False))
    return found


def _visits(
    elements: Sequence[TimedElement], orders: Mapping[str, Sequence[str]], apart: bool
) -> tuple[Visit, ...]:
    """The visits of a cycle from its elements in their order.

    The end of one cycle is joined to the beginning of the next, unless they are `apart`, as where a batch has
    to gather first.
    """
    runs: list[list[TimedElement]] = [[]]  # attended elements before, between and after work alone
    alone: list[float] = []
    for element in elements:
        if element.able or element.phase not in OCCUPIES:
            runs[-1].append(element)
        elif alone and not runs[-1]:
            alone[-1] += element.seconds
        else:
            alone.append(element.seconds)
            runs.append([])
    if not alone:
        return (Visit(_ordered(runs[0], [], BENCH), 0.0),)
    who = [name for e in elements for _, names in e.able for name in names]
    order = next((orders[name] for name in who if name in orders), SINGLE)
    between = [Visit(_ordered(run, [], BENCH), rest) for run, rest in zip(runs[1:-1], alone[1:], strict=True)]
    if apart:
        first, last = _ordered(runs[0], [], order), _ordered([], runs[-1], order)
        return (Visit(first, alone[0]), *between, *([Visit(last, 0.0)] if last else []))
    return (Visit(_ordered(runs[0], runs[-1], order), alone[0]), *between)


def _ordered(
    begin: Iterable[TimedElement], end: Iterable[TimedElement], order: Sequence[str]
) -> tuple[Part, ...]:
    """The parts of a visit in the order in which they are done."""

    def place(element: TimedElement, last: bool) -> int:
        if element.inside:
            return order.index("inside")
        if element.phase == "work":
            return order.index("end work" if last else "begin work")
        return order.index(element.phase)

    chosen = sorted(
        [(place(e, False), e) for e in begin] + [(place(e, True), e) for e in end], key=lambda c: c[0]
    )
    return tuple(
        Part(e.name, e.phase, e.seconds, e.able, e.at, e.phase in OCCUPIES and not e.inside)
        for _, e in chosen
        if e.able
    )


def teams(found: Sequence[Attended]) -> list[tuple[list[str], list[Attended]]]:
    """Posts and robots that attend the same things, each with these things; names in their first order."""
    groups: list[tuple[list[str], list[Attended]]] = []
    for one in found:
        joined = [group for group in groups if one.who & set(group[0])]
        names = [name for group in joined for name in group[0]]
        names += sorted(one.who - set(names))
        things = [thing for group in joined for thing in group[1]] + [one]
        groups = [group for group in groups if group not in joined] + [(names, things)]
    return [(names, sorted(things, key=found.index)) for names, things in groups]
