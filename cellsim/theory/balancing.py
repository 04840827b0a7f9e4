"""Line balancing: work elements to be shared out among stations in a row, bounds, and what a balance keeps.

A unit meets the stations in order, so an element stands at no earlier station than those it comes after.
Times are whole numbers of any unit, so that sums are exact.  Stations, elements and people count from 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Seats = tuple[int, ...]  # the station of each element


class Contradiction(ValueError):
    """Conditions that no balance can keep; `members` are the elements they are about.

    `kind`: `apart` (the two that must be apart must be together), `fixed` (elements that must be together are
    fixed to different stations), `order` (one is fixed to a station behind one that comes after it), `nobody`
    (no single person may do all that must be together).
    """

    def __init__(self, kind: str, members: Sequence[int]) -> None:
        super().__init__(f"{kind}: {', '.join(map(str, members))}")
        self.kind, self.members = kind, tuple(members)


@dataclass(frozen=True, slots=True)
class Work:
    """Elements to be shared out.

    Attributes:
        times: of each element, what it takes of the station's person; shape (n,)
        before: pairs (i, j): i is done before j
        together: groups that must stand at one station
        apart: pairs that must not
        fixed: pairs (element, station)
        tools: pairs (elements that use a tool, at how many stations it is there)
        can: for each element whether each person may do it; shape (n, people); None: anybody does anything
        least_cycle: no cycle is shorter, as when a machine takes so long for a unit
    """

    times: tuple[int, ...]
    before: tuple[tuple[int, int], ...] = ()
    together: tuple[tuple[int, ...], ...] = ()
    apart: tuple[tuple[int, int], ...] = ()
    fixed: tuple[tuple[int, int], ...] = ()
    tools: tuple[tuple[tuple[int, ...], int], ...] = ()
    can: tuple[tuple[bool, ...], ...] | None = None
    least_cycle: int = 0

    @property
    def count(self) -> int:
        """How many elements there are."""
        return len(self.times)

    @property
    def people(self) -> int | None:
        """How many people there are, None for as many as it takes."""
        return None if self.can is None else len(self.can[0])


def merged(work: Work) -> tuple[Work, tuple[tuple[int, ...], ...]]:
    """The same work with what must stand together as one element, and the elements that each stands for.

    Together are the members of a group, elements fixed to the same station, and whatever must be done between
    two that are together.

    Raises:
        ValueError: there is no element, a time is negative, or the order runs in a circle.
        Contradiction: conditions exclude each other.
    """
    n = work.count
    if n == 0 or min(work.times) < 0:
        raise ValueError(f"a balance takes at least one element and no negative time, got {work.times}")
    reach = reachable(n, work.before)
    if any(reach[i, i] for i in range(n)):
        raise ValueError("the order of the elements runs in a circle")
    places: dict[int, list[int]] = {}
    for i, station in work.fixed:
        places.setdefault(station, []).append(i)
    groups = [*work.together, *(tuple(group) for group in places.values())]
    both = [*work.before, *((a, b) for g in groups for a in g for b in g if a != b)]
    linked = reachable(n, both)
    blocks: list[tuple[int, ...]] = []
    of = [-1] * n
    for i in range(n):
        if of[i] < 0:
            block = tuple(j for j in range(n) if j == i or (linked[i, j] and linked[j, i]))
            for j in block:
                of[j] = len(blocks)
            blocks.append(block)
    small = Work(
        times=tuple(sum(work.times[j] for j in block) for block in blocks),
        before=tuple(sorted({(of[i], of[j]) for i, j in work.before if of[i] != of[j]})),
        apart=tuple(sorted({(min(of[i], of[j]), max(of[i], of[j])) for i, j in work.apart})),
        fixed=tuple(sorted({(of[i], station) for i, station in work.fixed})),
        tools=tuple((tuple(sorted({of[i] for i in users})), count) for users, count in work.tools),
        can=None
        if work.can is None
        else tuple(tuple(map(all, zip(*(work.can[j] for j in block), strict=True))) for block in blocks),
        least_cycle=work.least_cycle,
    )
    _stop_at_contradictions(work, small, blocks, of)
    return small, tuple(blocks)


def _stop_at_contradictions(
    work: Work, small: Work, blocks: Sequence[tuple[int, ...]], of: list[int]
) -> None:
    for i, j in work.apart:
        if of[i] == of[j]:
            raise Contradiction("apart", (i, j, *(k for k in blocks[of[i]] if k not in (i, j))))
    station_of: dict[int, tuple[int, int]] = {}
    for i, station in work.fixed:
        other, where = station_of.setdefault(of[i], (i, station))
        if where != station:
            raise Contradiction("fixed", (other, i, *(k for k in blocks[of[i]] if k not in (other, i))))
    reach = reachable(small.count, small.before)
    for a, (i, early) in station_of.items():
        for b, (j, late) in station_of.items():
            if reach[a, b] and early > late:
                raise Contradiction("order", (i, j))
    for block, row in zip(blocks, small.can or (), strict=small.can is not None):
        if not any(row):
            raise Contradiction("nobody", block)


def reachable(
    count: int, pairs: Sequence[tuple[int, int]]
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Which element is reached from which along the pairs, shape (count, count)."""
    found = np.zeros((count, count), dtype=bool)
    for i, j in pairs:
        found[i, j] = True
    for k in range(count):
        found |= np.outer(found[:, k], found[k, :])
    return found


@dataclass(frozen=True, slots=True)
class Bounds:
    """Numbers of stations below which no balance can go.

    `content`: all work by the cycle, rounded up.  `large`: elements longer than half the cycle each need a
    station, two of just half share one (Martello and Toth 1990 for packing; Scholl 1999 for lines; from
    memory).  `order`: what must stand before and behind an element leaves that many (after Patterson and
    Albracht 1975, from memory).  `fixed`: the last station to which something is fixed.
    """

    content: int
    large: int
    order: int
    fixed: int

    @property
    def best(self) -> int:
        """The largest of them."""
        return max(self.content, self.large, self.order, self.fixed)


def bounds(work: Work, cycle: int) -> Bounds:
    """Lower bounds of the number of stations for a cycle.

    Raises:
        ValueError: the cycle is shorter than an element or what it must at least be.
    """
    if cycle < max(*work.times, work.least_cycle, 1):
        longest = max(*work.times, work.least_cycle)
        raise ValueError(f"the cycle must not be shorter than the longest element, {longest}; got {cycle}")
    halves = sum(2 * t == cycle for t in work.times)
    large = sum(2 * t > cycle for t in work.times) + -(-halves // 2)
    heads, tails = windows(work, cycle)
    return Bounds(
        content=max(1, -(-sum(work.times) // cycle)),
        large=large,
        order=max(head + tail - 1 for head, tail in zip(heads, tails, strict=True)),
        fixed=max((station + 1 for _, station in work.fixed), default=1),
    )


def windows(work: Work, cycle: int) -> tuple[list[int], list[int]]:
    """For each element, how many stations the work up to it needs at least, and that from it on (with it)."""
    reach = reachable(work.count, work.before)
    times = np.array(work.times, dtype=np.int64)
    up_to, from_on = reach.T @ times + times, reach @ times + times
    heads = [max(1, -(-int(t) // cycle)) for t in up_to]
    tails = [max(1, -(-int(t) // cycle)) for t in from_on]
    return heads, tails


def people_for(work: Work, rows: Sequence[Sequence[int]]) -> tuple[int, ...] | None:
    """A person for each station who may do all that stands there, nobody twice; None where there is no way.

    Found by augmenting paths (Kuhn 1955, from memory).
    """
    if work.can is None:
        return tuple(range(len(rows)))
    able = [[p for p in range(len(work.can[0])) if all(work.can[i][p] for i in row)] for row in rows]
    station_of: dict[int, int] = {}

    def seat(s: int, tried: set[int]) -> bool:
        for p in able[s]:
            if p not in tried:
                tried.add(p)
                if p not in station_of or seat(station_of[p], tried):
                    station_of[p] = s
                    return True
        return False

    if not all(seat(s, set()) for s in range(len(rows))):
        return None
    person_of = {s: p for p, s in station_of.items()}
    return tuple(person_of[s] for s in range(len(rows)))


def rows_of(seats: Seats) -> list[list[int]]:
    """The elements of each station."""
    rows: list[list[int]] = [[] for _ in range(max(seats) + 1)]
    for i, station in enumerate(seats):
        rows[station].append(i)
    return rows


def loads(work: Work, seats: Seats) -> list[int]:
    """The time of each station."""
    return [sum(work.times[i] for i in row) for row in rows_of(seats)]


def holds(work: Work, seats: Seats, cycle: int) -> bool:
    """Whether a balance keeps all conditions and the cycle, and leaves no station without work."""
    rows = rows_of(seats)
    return (
        all(rows)
        and max(*loads(work, seats), work.least_cycle) <= cycle
        and all(seats[i] <= seats[j] for i, j in work.before)
        and all(len({seats[i] for i in group}) == 1 for group in work.together)
        and all(seats[i] != seats[j] for i, j in work.apart)
        and all(seats[i] == station for i, station in work.fixed)
        and all(len({seats[i] for i in users}) <= count for users, count in work.tools)
        and people_for(work, rows) is not None
    )


def smoothness_index(station_times: Sequence[float]) -> float:
    """Root of the summed squares of what each station is short of the longest.

    Source: Moodie and Young 1965 (from memory).

    Raises:
        ValueError: there is no station.
    """
    if not station_times:
        raise ValueError("a smoothness index takes at least one station")
    longest = max(station_times)
    return math.sqrt(sum((longest - t) ** 2 for t in station_times))


def balance_efficiency(content: float, stations: int, cycle: float) -> float:
    """All work by stations times cycle; the rest to 1 is the balance delay.

    Source: Kilbridge and Wester 1961 (from memory).

    Raises:
        ValueError: stations or cycle are not above 0, or the work is negative or more than they can do.
    """
    if stations < 1 or cycle <= 0 or not 0 <= content <= stations * cycle * (1 + 1e-9):
        raise ValueError(
            f"work of 0 to {stations} x {cycle:g} is wanted for {stations} stations and a cycle of {cycle:g},"
            f" got {content:g}"
        )
    return content / (stations * cycle)
