"""The man-machine chart: who attends several things, laid end to end against their times, on paper.

Mean times, no stops, no changeovers, never short of units or places: each thing calls at the rhythm of the
demanded rate, all of them together at the beginning, and calls are answered in their order.  Some rounds
are followed, and the one with the longest wait is shown: whether the work fits, and who waits for whom.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cellsim.describe.cell import Cell, Post, Robot
from cellsim.study.visits import Able, Attended, Visit
from cellsim.units import SECOND

LEAST_TAKTS = 3  # the chart covers no less
MOST_CALLS = 240  # of all things in what is drawn; beyond that the chart would be black
ROUNDING = 1e-6  # seconds
FALLS_BEHIND = 0.02  # of the length of the chart, from one length to the next
SETTLING, FOLLOWED = 2, 6  # lengths of the chart that go by, and that are looked at after that


@dataclass(slots=True)
class _Person:
    """One person or robot on his line of the chart."""

    post: str
    line: str
    free: float = 0.0
    at: str = ""


@dataclass(slots=True)
class _Machine:
    """One machine of a station: the call that it makes next."""

    thing: Attended
    line: str
    order: tuple[int, int]
    due: float
    visit: int = 0
    cycle: int = 0

    @property
    def rhythm(self) -> float:
        """When the cycle of the next call is due at the demanded rate."""
        return (self.order[1] + self.cycle * self.thing.machines) * self.thing.interval_s

    def next_call(self, ready: float) -> None:
        """Be `ready` for the next visit: at once within a cycle, else not before the next cycle is due."""
        self.visit = (self.visit + 1) % len(self.thing.visits)
        self.cycle += self.visit == 0
        self.due = ready if self.visit else max(ready, self.rhythm)


def man_machine(
    cell: Cell, names: Sequence[str], things: Sequence[Attended], takt: float, most_s: float
) -> dict[str, Any]:
    """The chart of some posts and robots and what they attend.

    Args:
        names: posts and robots that do it, all of them together.
        takt: in seconds; `most_s` is the longest time that is drawn.

    Returns:
        `length_s`; `lines` of people, robots and what works alone for a time, each with bars of `from_s`,
        `to_s`, `what`, `at` and `kind`: work, walking, attended or alone; `longest_wait_s` between a call and
        its answer in all that was followed; `keeps_up`: calls are not answered later from round to round.
    """
    length = _length(things, takt, most_s)
    end_s = (SETTLING + FOLLOWED) * length
    persons = _persons(cell, names)
    owners: list[Post | Robot] = [*cell.posts, *cell.robots]
    ways = {(owner.name, a, b): t / SECOND for owner in owners for a, b, t in owner.travel}
    machines = [
        _Machine(
            thing,
            thing.station if thing.machines == 1 else f"{thing.station} {k + 1}",
            (number, k),
            k * thing.interval_s,
        )
        for number, thing in enumerate(things)
        for k in range(thing.machines)
    ]
    bars: dict[str, list[dict[str, Any]]] = {line: [] for line in _lines(persons, machines)}
    waits: list[
        tuple[float, float, float]
    ] = []  # (when called, how long it waited, how late it was answered)
    while (machine := min(machines, key=lambda m: (m.due, m.order))).due < end_s:
        visit = machine.thing.visits[machine.visit]
        start, freed, end = _answer(machine, visit, persons, ways, bars)
        waits.append((machine.due, start - machine.due, start - machine.rhythm))
        if visit.alone_s:
            bars[machine.line].append(_bar(freed, freed + visit.alone_s, machine.thing.station, "", "alone"))
            end = freed + visit.alone_s
        machine.next_call(end)
    rounds = [
        [wait for wait in waits if k * length <= wait[0] < (k + 1) * length]
        for k in range(SETTLING, SETTLING + FOLLOWED)
    ]
    longest = [max((wait for _, wait, _ in calls), default=0.0) for calls in rounds]
    begin = (SETTLING + longest.index(max(longest))) * length
    later = (_mean_late(rounds[-1]) - _mean_late(rounds[0])) / (FOLLOWED - 1)
    return {
        "who": list(names),
        "length_s": length,
        "takt_s": takt,
        "lines": [
            {
                "name": line,
                "kind": "who" if k < len(persons) else "machine",
                "bars": [_cut(bar, begin, length) for bar in found if _shows(bar, begin, length)],
            }
            for k, (line, found) in enumerate(bars.items())
        ],
        "longest_wait_s": max(longest),
        "keeps_up": later <= FALLS_BEHIND * length,
    }


def _mean_late(waits: Sequence[tuple[float, float, float]]) -> float:
    return sum(late for _, _, late in waits) / len(waits) if waits else 0.0


def _length(things: Sequence[Attended], takt: float, most_s: float) -> float:
    """Seconds to be drawn: a round of every machine, so long as its calls can still be told apart."""
    whole = max(LEAST_TAKTS * takt, *(thing.interval_s * thing.machines for thing in things))
    calls = sum(len(thing.visits) / thing.interval_s for thing in things)
    return min(whole, max(most_s, LEAST_TAKTS * takt), MOST_CALLS / calls)


def _persons(cell: Cell, names: Sequence[str]) -> list[_Person]:
    """A line for each person of these posts and each robot."""
    people = {post.name: post.people for post in cell.posts}
    found = []
    for name in names:
        count = people.get(name, 1)
        found += [_Person(name, name if count == 1 else f"{name} {k + 1}") for k in range(count)]
    return found


def _lines(persons: Sequence[_Person], machines: Sequence[_Machine]) -> list[str]:
    """The names of all lines: of people, then of what works alone for a time."""
    alone = [machine.line for machine in machines if machine.thing.alone_s > 0]
    return [*(person.line for person in persons), *alone]


def _answer(
    machine: _Machine,
    visit: Visit,
    persons: Sequence[_Person],
    ways: Mapping[tuple[str, str, str], float],
    bars: dict[str, list[dict[str, Any]]],
) -> tuple[float, float, float]:
    """Pay a visit: when it begins, when the machine is free to work alone, and when all of it is done."""
    now = freed = machine.due
    begin = math.inf
    chosen: list[_Person] = []
    for part in visit.parts:
        chosen = _choose(part.able, part.at, persons, ways, chosen)
        for person in chosen:
            way = ways.get((person.post, person.at, part.at), 0.0)
            if way:
                gone = max(now, person.free)
                bars[person.line].append(_bar(gone, gone + way, machine.thing.station, "", "walking"))
                person.free = gone + way
            person.at = part.at
        start = max([now, *(person.free for person in chosen)])
        now = start + part.seconds
        begin = min(begin, start)
        for person in chosen:
            person.free = now
            bars[person.line].append(_bar(start, now, machine.thing.station, part.name, "work"))
        if part.stands:
            bars.get(machine.line, []).append(_bar(start, now, machine.thing.station, part.name, "attended"))
            freed = now
    return begin, freed, now


def _choose(
    able: Able,
    at: str,
    persons: Sequence[_Person],
    ways: Mapping[tuple[str, str, str], float],
    last: Sequence[_Person],
) -> list[_Person]:
    """Who does an element: whoever did the one before, else those who can be there first."""
    found: list[_Person] = []
    for count, names in able:
        can = [person for person in persons if person.post in names and person not in found]
        can.sort(key=lambda p: (p not in last, p.free + ways.get((p.post, p.at, at), 0.0)))
        found += can[:count]
    return found


def _bar(start: float, end: float, at: str, what: str, kind: str) -> dict[str, Any]:
    return {"from_s": start, "to_s": end, "at": at, "what": what, "kind": kind}


def _shows(bar: Mapping[str, Any], begin: float, length: float) -> bool:
    return bool(bar["to_s"] > begin + ROUNDING and bar["from_s"] < begin + length - ROUNDING)


def _cut(bar: Mapping[str, Any], begin: float, length: float) -> dict[str, Any]:
    """A bar in seconds after the beginning of the chart, cut where the chart begins and ends."""
    return {
        **bar,
        "from_s": max(0.0, bar["from_s"] - begin),
        "to_s": min(length, bar["to_s"] - begin),
    }
