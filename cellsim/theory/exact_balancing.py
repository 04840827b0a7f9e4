"""Line balancing exactly: fewest stations for a cycle, smallest cycle for stations, with a proven bound.

Integer programmes over which element stands at which station (Bowman 1960 and White 1961 wrote the first,
from memory), solved by HiGHS.  Where time runs out, the best balance found stays, with the proven bound.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds as Limits
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import csr_matrix

from cellsim.theory.balancing import Seats, Work, bounds, holds, loads, merged, windows
from cellsim.theory.balancing_rules import by_rules, smoothed

INFEASIBLE, OUT_OF_TIME, OPTIMAL = 2, 1, 0  # status codes of scipy's milp
LEAST_SECONDS = 0.05


class NoBalance(ValueError):
    """It is proven that no balance keeps all conditions."""


@dataclass(frozen=True, slots=True)
class Balance:
    """The best balance found, None where time ran out first.

    `bound` is what is proven: no balance has fewer stations (of `fewest_stations`), or a shorter cycle (of
    `smallest_cycle`).  `proved`: the balance found reaches it.
    """

    seats: Seats | None
    bound: int
    proved: bool


def _spread(seats: Seats, blocks: tuple[tuple[int, ...], ...]) -> Seats:
    """The stations of the elements from those of the blocks that they are in."""
    of = {i: seats[b] for b, block in enumerate(blocks) for i in block}
    return tuple(of[i] for i in range(len(of)))


def fewest_stations(work: Work, cycle: int, *, most: int | None = None, seconds: float = 20.0) -> Balance:
    """Fewest stations so that none takes longer than the cycle.

    Args:
        cycle: in the unit of the times.
        most: stations that there may be; without it one for each element, or each person.
        seconds: about how long it may be searched.

    Raises:
        ValueError: the cycle is shorter than an element, or as `merged`.
        NoBalance: no number of stations up to the most will do.
        Contradiction: as `merged`.
    """
    small, blocks = merged(work)
    end = time.monotonic() + seconds
    most = min(x for x in (most, small.people, small.count) if x is not None)
    bound = bounds(small, cycle).best
    best = min(by_rules(small, cycle, most), key=max, default=None)
    top = most + 1 if best is None else max(best) + 1
    tried = bound
    while tried < top and end - time.monotonic() > LEAST_SECONDS:
        last = best is not None and tried == top - 1
        status, found = _placed(small, tried, cycle, end if last else _half(end))
        if found is not None:
            best, top = found, tried
        elif status == INFEASIBLE and bound == tried:
            bound += 1
        tried += 1
    if best is None and bound > most:
        raise NoBalance(f"no balance with up to {most} stations keeps all conditions")
    if best is not None and not holds(small, best, cycle):
        raise AssertionError("the search broke a condition")
    seats = None if best is None else _spread(best, blocks)
    return Balance(seats, bound, best is not None and bound == max(best) + 1)


def smallest_cycle(
    work: Work, stations: int, *, start: Seats | None = None, seconds: float = 20.0
) -> Balance:
    """Smallest cycle for so many stations, each with work; `start` is a balance to begin with.

    Raises:
        ValueError: stations are below 1 or more than there are elements that can be apart, or people; or as
            `merged`.
        NoBalance: no cycle will do.
        Contradiction: as `merged`.
    """
    small, blocks = merged(work)
    most = min(x for x in (small.people, small.count) if x is not None)
    if not 1 <= stations <= most:
        raise ValueError(f"1 to {most} stations can have work of their own, got {stations}")
    end = time.monotonic() + seconds
    bound = max(*small.times, small.least_cycle, -(-sum(small.times) // stations))
    best = None if start is None else tuple(start[block[0]] for block in blocks)
    if best is not None and not (max(best) + 1 == stations and holds(small, best, sum(work.times) + bound)):
        raise ValueError("the balance to begin with keeps not all conditions, or has other stations")
    top = sum(small.times) + small.least_cycle if best is None else _cycle(small, best)
    tried = bound  # no shorter cycle need be tried: excluded, or not settled in its share of the time
    while best is None or tried < top:
        middle = (tried + top) // 2 if tried < top else top
        rule = next((s for s in by_rules(small, middle, stations) if max(s) + 1 == stations), None)
        status, found = (OPTIMAL, rule) if rule is not None else _placed(small, stations, middle, _half(end))
        if found is not None:
            best, top = found, _cycle(small, found)
        elif status == OUT_OF_TIME and middle < top and end - time.monotonic() > LEAST_SECONDS:
            tried = middle + 1
        elif status == OUT_OF_TIME:
            break
        elif middle >= top:
            raise NoBalance(f"no balance with {stations} stations keeps all conditions")
        else:
            bound = max(bound, middle + 1)
            tried = middle + 1
    return Balance(None if best is None else _spread(best, blocks), bound, best is not None and bound == top)


def _half(end: float) -> float:
    """A moment halfway to the end."""
    return (time.monotonic() + end) / 2


def smooth(work: Work, seats: Seats) -> Seats:
    """The balance with loads made alike by single moves and swaps of what may move; see `smoothed`."""
    small, blocks = merged(work)
    return _spread(smoothed(small, tuple(seats[block[0]] for block in blocks)), blocks)


def _cycle(work: Work, seats: Seats) -> int:
    return max(*loads(work, seats), work.least_cycle)


def _placed(work: Work, stations: int, cycle: int, end: float) -> tuple[int, Seats | None]:
    """A balance with so many stations within the cycle, if there is one, and the status of the solver."""
    left = end - time.monotonic()
    if left < LEAST_SECONDS:
        return OUT_OF_TIME, None
    if cycle < max(*work.times, work.least_cycle):
        return INFEASIBLE, None
    heads, tails = windows(work, cycle)
    fixed = dict(work.fixed)
    early = [max(head - 1, fixed.get(i, 0)) for i, head in enumerate(heads)]
    late = [min(stations - tail, fixed.get(i, stations)) for i, tail in enumerate(tails)]
    if any(a > b for a, b in zip(early, late, strict=True)):
        return INFEASIBLE, None
    programme = _Programme(work, stations, cycle, early, late)
    found = programme.solve(left)
    if found.status not in (OPTIMAL, OUT_OF_TIME, INFEASIBLE):
        raise AssertionError(f"the solver stopped: {found.message}")
    if found.x is None:
        return int(found.status), None
    return OPTIMAL, programme.seats(found.x)


class _Programme:
    """The integer programme: columns for (element, station), (tool, station) and (station, person)."""

    def __init__(self, work: Work, stations: int, cycle: int, early: list[int], late: list[int]) -> None:
        self.work, self.stations = work, stations
        self.column: dict[tuple[str, int, int], int] = {}
        for i in range(work.count):
            for s in range(early[i], late[i] + 1):
                self.column["element", i, s] = len(self.column)
        self.rows: list[tuple[dict[int, float], float, float]] = []
        scale = math.gcd(cycle, *work.times)
        for i in range(work.count):
            self._row([("element", i, s, 1) for s in range(stations)], 1, 1)
        for s in range(stations):
            self._row(
                [("element", i, s, work.times[i] // scale) for i in range(work.count)], 0, cycle // scale
            )
            self._row([("element", i, s, 1) for i in range(work.count)], 1, work.count)
        for i, j in work.before:
            for s in range(stations - 1):
                if s >= early[j]:  # j up to s only where i is up to s
                    terms = [("element", i, t, 1) for t in range(s + 1)]
                    self._row([*terms, *(("element", j, t, -1) for t in range(s + 1))], 0, 1)
        for i, j in work.apart:
            for s in range(stations):
                self._row([("element", i, s, 1), ("element", j, s, 1)], 0, 1)
        self._add_tools()
        self._add_people()

    def _row(self, terms: list[tuple[str, int, int, int]], low: float, high: float) -> None:
        found: dict[int, float] = {}
        for kind, a, b, factor in terms:
            column = self.column.get((kind, a, b))
            if column is not None:
                found[column] = found.get(column, 0.0) + factor
        self.rows.append((found, low, high))

    def _add_tools(self) -> None:
        for k, (users, count) in enumerate(self.work.tools):
            for s in range(self.stations):
                self.column["tool", k, s] = len(self.column)
            for i in users:
                for s in range(self.stations):
                    self._row([("tool", k, s, 1), ("element", i, s, -1)], 0, 1)
            self._row([("tool", k, s, 1) for s in range(self.stations)], 0, count)

    def _add_people(self) -> None:
        if self.work.can is None:
            return
        people = range(len(self.work.can[0]))
        for s in range(self.stations):
            for p in people:
                self.column["person", s, p] = len(self.column)
        for s in range(self.stations):
            self._row([("person", s, p, 1) for p in people], 1, 1)
        for p in people:
            self._row([("person", s, p, 1) for s in range(self.stations)], 0, 1)
        for i, able in enumerate(self.work.can):
            if not all(able):
                for s in range(self.stations):
                    terms = [("person", s, p, 1) for p in people if able[p]]
                    self._row([*terms, ("element", i, s, -1)], 0, 1)

    def solve(self, seconds: float) -> Any:
        """What the solver says within so many seconds."""
        count = len(self.column)
        places = [(r, c, f) for r, (terms, _, _) in enumerate(self.rows) for c, f in terms.items()]
        r, c, f = zip(*places, strict=True)
        matrix = csr_matrix((f, (r, c)), shape=(len(self.rows), count))
        low, high = ([row[k] for row in self.rows] for k in (1, 2))
        return milp(
            np.zeros(count),
            integrality=np.ones(count),
            bounds=Limits(0, 1),
            constraints=LinearConstraint(matrix, low, high),
            options={"time_limit": seconds},
        )

    def seats(self, values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Seats:
        """The stations from the columns of a solution."""
        seats = [-1] * self.work.count
        for (kind, i, s), column in self.column.items():
            if kind == "element" and values[column] > 0.5:
                seats[i] = s
        return tuple(seats)
