"""Line balancing by hand: priority rules that fill station after station, and loads made more alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from cellsim.theory.balancing import Seats, Work, holds, loads, people_for, reachable
from cellsim.theory.chains import FloatArray

SHUFFLES = 60  # orders drawn at random beside those of the rules


def positional_weights(work: Work) -> FloatArray:
    """Time of each element and of all that follow it, shape (n,) (Helgeson and Birnie 1961, from memory)."""
    times = np.array(work.times, dtype=float)
    weights: FloatArray = reachable(work.count, work.before) @ times + times
    return weights


def rules(work: Work) -> dict[str, FloatArray]:
    """Weights by which elements are taken, the highest first, shape (n,) each.

    `ranked positional weight` (Helgeson and Birnie 1961), `longest time` and `most followers` (Tonge 1961),
    `fewest before it` (by columns of the precedence diagram, after Kilbridge and Wester 1961); from memory.
    """
    reach = reachable(work.count, work.before)
    times = np.array(work.times, dtype=float)
    depth = np.zeros(work.count)
    for i in np.argsort(reach.sum(axis=0), kind="stable"):
        depth[i] = max((depth[a] + 1 for a, b in work.before if b == i), default=0)
    tie = times / (times.max() * 2 + 1)
    return {
        "ranked positional weight": positional_weights(work),
        "longest time": times,
        "most followers": reach.sum(axis=1) + tie,
        "fewest before it": -depth + tie,
    }


def assigned(work: Work, cycle: int, weights: FloatArray, most: int | None = None) -> Seats | None:
    """Fill station after station with what fits and has the highest weight; None where that leads nowhere.

    At most `most` stations are opened.  Ties go to the element that stands first.
    """
    n = work.count
    ahead = [{i for i, j in work.before if j == k} for k in range(n)]
    fixed = dict(work.fixed)
    ranked = sorted(range(n), key=lambda k: (-weights[k], k))
    seats, station, here = [-1] * n, 0, list[int]()
    left, room = set(range(n)), cycle
    rows: list[list[int]] = []
    while left:
        fits = (
            k
            for k in ranked
            if k in left
            and work.times[k] <= room
            and not ahead[k] & left
            and fixed.get(k, station) == station
            and _goes_with(work, k, here, rows)
        )
        found = next(fits, None)
        if found is not None:
            seats[found] = station
            here.append(found)
            left.discard(found)
            room -= work.times[found]
        elif not here or station + 1 == most:
            return None
        else:
            rows.append(here)
            station, here, room = station + 1, [], cycle
    return tuple(seats)


def _goes_with(work: Work, k: int, here: Sequence[int], rows: Sequence[Sequence[int]]) -> bool:
    """Whether an element may join those of the present station, seen what stands at the stations before."""
    if any((min(k, i), max(k, i)) in work.apart for i in here):
        return False
    for users, count in work.tools:
        new_here = k in users and not any(i in users for i in here)
        if new_here and sum(any(i in users for i in row) for row in rows) >= count:
            return False
    return work.can is None or people_for(work, [*rows, [*here, k]]) is not None


def by_rules(work: Work, cycle: int, most: int | None = None) -> Iterator[Seats]:
    """Balances by all rules from both ends of the line, then by ranked positional weights shaken at random.

    The random weights are always the same.
    """
    turned = replace(work, before=tuple((j, i) for i, j in work.before), fixed=())
    for one, backwards in ((work, False), (turned, True)):
        if backwards and work.fixed:
            continue
        base = positional_weights(one)
        shaken = (
            base * factors for factors in np.random.default_rng(1).uniform(0.4, 1.0, (SHUFFLES, one.count))
        )
        for weights in (*rules(one).values(), *shaken):
            found = assigned(one, cycle, weights, most)
            if found is not None:
                seats = tuple(max(found) - s for s in found) if backwards else found
                if holds(work, seats, cycle):
                    yield seats


def smoothed(work: Work, seats: Seats) -> Seats:
    """As many stations, none longer than the longest now, with loads as alike as moves and swaps make them.

    What falls is the sum of squares; it need not be the smoothest of all.
    """
    cycle = max(*loads(work, seats), work.least_cycle)
    current = list(seats)
    filled = loads(work, seats)
    better = True
    while better:
        better = False
        for change in _changes(work, current):
            gain = _squares_less(work, current, filled, change)
            if gain > 0:
                trial = list(current)
                for i, station in change:
                    trial[i] = station
                if holds(work, tuple(trial), cycle):
                    current, filled, better = trial, loads(work, tuple(trial)), True
    return tuple(current)


def _changes(work: Work, seats: Sequence[int]) -> Iterator[tuple[tuple[int, int], ...]]:
    """All moves of one element and swaps of two, as (element, station)."""
    stations = max(seats) + 1
    for i in range(work.count):
        for station in range(stations):
            yield ((i, station),)
    for i in range(work.count):
        for j in range(i):
            yield ((i, seats[j]), (j, seats[i]))


def _squares_less(
    work: Work, seats: Sequence[int], filled: Sequence[int], change: Sequence[tuple[int, int]]
) -> int:
    """By how much the sum of the squared loads falls."""
    moved: dict[int, int] = {}
    for i, station in change:
        moved[seats[i]] = moved.get(seats[i], 0) - work.times[i]
        moved[station] = moved.get(station, 0) + work.times[i]
    return sum(filled[s] ** 2 - (filled[s] + by) ** 2 for s, by in moved.items())
