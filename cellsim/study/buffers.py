"""How many places each store needs: for a target rate, for a number of places, or for the best profit."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cellsim.describe.cell import Cell
from cellsim.engine.model import compile_cell
from cellsim.errors import UsageError
from cellsim.study.broken import stop_if_broken
from cellsim.study.places import (
    FIRST_LOOK,
    LIKELY,
    Bounds,
    Lab,
    Look,
    Places,
    Reach,
    best_of,
    fewer,
    hinted,
    improve,
    more,
    reaches,
    swaps,
)
from cellsim.study.plan import make_plan
from cellsim.study.precision import Precision, needed
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.standing import pressure, sides
from cellsim.study.statistics import t_interval
from cellsim.study.trust import rare_stops
from cellsim.study.watched import values_of

LEAST = 40  # replications before a target is surely made
STRIDE = 6  # far from the target places are added by a sixth of those there are
MOST_TOTAL = 10_000  # places in all after which a target is given up
STEADY, MOST_STEADY = 0.01, 160  # how well the mean rate is known while places are added
LOOK_FURTHER = 6  # totals beyond the best profit that are tried, at least


class CellLab:
    """Runs a cell with other numbers of places, each allocation and replication once."""

    def __init__(self, cell: Cell, stores: Sequence[str], seed: int, runner: Runner) -> None:
        self.cell, self.stores, self.seed, self.runner = cell, tuple(stores), seed, runner
        self._values: dict[Places, list[float]] = {}
        self._pressure: dict[Places, list[list[float]]] = {}
        self.least = max([LEAST, *(stop.runs for stop in rare_stops(cell, make_plan(cell)))])
        self._sides = [sides(compile_cell(cell), name) for name in self.stores]
        self.heard: Callable[[int, int], None] = lambda allocations, replications: None
        self.progress: Progress | None = None

    def with_places(self, places: Places) -> Cell:
        """The cell with so many places in the stores of the search."""
        wanted = dict(zip(self.stores, places, strict=True))
        stores = tuple(
            replace(store, places=wanted[store.name]) if store.name in wanted else store
            for store in self.cell.stores
        )
        return replace(self.cell, stores=stores)

    def run(self, allocations: Sequence[Places], count: int) -> None:
        """Have the first `count` replications of all these ready."""
        asked = dict.fromkeys(allocations)
        missing = [each for each in asked if len(self._values.get(each, ())) < count]
        if not missing:
            return
        cells = [self.with_places(each) for each in missing]
        requests = [
            Wanted(cell, self.seed, tuple(range(len(self._values.get(each, ())), count)), slim=True)
            for each, cell in zip(missing, cells, strict=True)
        ]
        found = self.runner.records(requests, self.progress)
        for each, cell, records in zip(missing, cells, found, strict=True):
            stop_if_broken(records, self.seed, cell.name)
            self._values.setdefault(each, []).extend(values_of("output_per_hour", cell, records) or [])
            self._pressure.setdefault(each, []).extend(
                [pressure([record], beside) for beside in self._sides] for record in records
            )
        self.heard(len(self._values), self.replications)

    def rates(self, allocation: Places, count: int) -> Sequence[float]:
        """Good units per hour in the first `count` replications of an allocation."""
        return self._values[allocation][:count]

    def pressure(self, allocation: Places, count: int) -> Sequence[float]:
        """For each store the product of two shares of time: blocked before it, starved behind it."""
        rows = self._pressure[allocation][:count]
        return [math.fsum(column) / len(rows) for column in zip(*rows, strict=True)]

    @property
    def tried(self) -> dict[Places, list[float]]:
        """All rates of all allocations that were run."""
        return self._values

    @property
    def replications(self) -> int:
        """How many replications were run."""
        return sum(map(len, self._values.values()))


@dataclass(frozen=True, slots=True)
class Profit:
    """What a good unit earns and what a place of each store costs, both per working hour."""

    unit: float
    places: tuple[float, ...]

    def cost(self, places: Places) -> float:
        """What an allocation costs per working hour."""
        return math.fsum(c * n for c, n in zip(self.places, places, strict=True))


@dataclass(frozen=True, slots=True)
class ProfitLab:
    """A lab whose figure is the profit per working hour."""

    lab: Lab
    profit: Profit

    @property
    def least(self) -> int:
        """That of the lab."""
        return self.lab.least

    def pressure(self, allocation: Places, count: int) -> Sequence[float]:
        """How much each store is short of places."""
        return self.lab.pressure(allocation, count)

    def run(self, allocations: Sequence[Places], count: int) -> None:
        """Have the first `count` replications of all these ready."""
        self.lab.run(allocations, count)

    def rates(self, allocation: Places, count: int) -> Sequence[float]:
        """Profit per working hour in the first `count` replications of an allocation."""
        cost = self.profit.cost(allocation)
        return [self.profit.unit * rate - cost for rate in self.lab.rates(allocation, count)]


@dataclass
class Sized:
    """The places found, how sure they are, and why the search stopped.

    `enough`: whether the target is reached, where there is one; `one_less`: the best allocation found with
    one place fewer, and whether it reaches the target; `open`: neighbours about which nothing can be said.
    """

    places: Places
    why: str
    moves: list[Places]
    open: list[Places]
    enough: Reach | None = None
    one_less: Places | None = None
    one_less_enough: Reach | None = None


def mean_rate(lab: Lab, places: Places, count: int = FIRST_LOOK) -> float:
    """Mean rate of an allocation in some replications."""
    lab.run([places], count)
    return t_interval(lab.rates(places, count)).mean


def for_total(lab: Lab, start: Places, bounds: Bounds, look: Look) -> Sized:
    """The best use of as many places as `start` has."""
    found = improve(lab, start, lambda places: swaps(places, bounds), look, small_steps=True)
    return Sized(found.places, "no place does more good anywhere else", found.moves, found.open)


def for_target(
    lab: Lab, path: Sequence[Places], bounds: Bounds, target: float, look: Look, now: Places | None = None
) -> Sized:
    """The fewest places that make the target rate.

    `path` are allocations from few places to many, the first with the fewest: the search begins where their
    mean rate reaches the target, found by halving.  Places are added where they do most good until the mean
    rate is there, then taken away one by one as long as it stays there.  Of the best use found of one place
    fewer all neighbours are held against the target; none makes it, or the search goes on from the one that
    does.

    More places can also give less, where people look after full stores first.  Where adding leads nowhere
    the search begins with the places `now`, if they make the target.

    Raises:
        UsageError: the target is not reached with as many places as the bounds allow.
    """
    count = _steady(lab, path[0])
    first = bisect_left(path, True, key=lambda places: mean_rate(lab, places, count) >= target)
    try:
        places = _grow(lab, path[min(first, len(path) - 1)], bounds, target, count)
    except UsageError:
        if now is None or not bounds.allow(now) or mean_rate(lab, now, count) < target:
            raise
        places = _shrink_in_strides(lab, now, bounds, target, count)
    places = _shrink(lab, places, bounds, target, count)
    moves: list[Places] = []

    def polished(places: Places) -> Places:
        found = improve(
            lab,
            places,
            lambda here: hinted(lab, here, swaps(here, bounds), LIKELY),
            replace(look, most=FIRST_LOOK),
        )
        moves.extend(found.moves)
        return found.places

    places = polished(places)
    while not (enough := reaches(lab, places, target, look)).yes:
        above = more(places, bounds)
        if not above:
            raise _out_of_reach(lab, places, target)
        moves.append(places)
        places = polished(best_of(lab, above))
    while below := fewer(places, bounds):
        less, less_enough, left_open = _best_below(lab, polished(best_of(lab, below)), bounds, target, look)
        if not less_enough.yes:
            why = "with one place fewer the target is missed"
            return Sized(places, why, moves, left_open, enough, less, less_enough)
        moves.append(places)
        places, enough = less, less_enough
    return Sized(places, "no store can have fewer places", moves, [], enough)


def _best_below(
    lab: Lab, places: Places, bounds: Bounds, target: float, look: Look
) -> tuple[Places, Reach, list[Places]]:
    """An allocation that makes the target, or one that misses it and has no neighbour that makes it.

    A neighbour matters where it is better by what is missing, or by the difference that matters if that is
    more.  Also whether it makes the target, and the neighbours of which nobody can tell.
    """
    left_open: list[Places] = []
    while not (enough := reaches(lab, places, target, look)).yes:
        matters = replace(look, difference=max(look.difference, enough.missing))
        found = improve(lab, places, lambda here: swaps(here, bounds), matters)
        left_open = found.open
        if found.places == places:
            break
        places = found.places
    return places, enough, left_open


def _steady(lab: Lab, places: Places) -> int:
    """How many replications show the mean rate to 1 %, within reason."""
    lab.run([places], FIRST_LOOK)
    return min(MOST_STEADY, needed(lab.rates(places, FIRST_LOOK), Precision(STEADY)))


def for_profit(lab: Lab, path: Sequence[Places], bounds: Bounds, profit: Profit, look: Look) -> Sized:
    """The places with the best profit per working hour; `look.difference` is in money here.

    `path` are allocations from few places to many, the first with the fewest.  Along it the search goes in
    strides as long as the mean profit rises, and begins one stride before the last.  Places complement each
    other, so that one more may not pay where two do: totals beyond the best are tried as far as there are
    stores before the search turns to moving, adding and taking away single places.
    """
    money = ProfitLab(lab, profit)
    further = max(LOOK_FURTHER, len(path[0]) - 1)
    strides = path[::further]
    rising = (mean_rate(money, after) > mean_rate(money, before) for before, after in pairwise(strides))
    top = next((k for k, rises in enumerate(rising) if not rises), len(strides) - 1)
    here = strides[max(0, top - 1)]
    best, best_value, beyond = here, mean_rate(money, here), 0
    while beyond < further and (above := more(here, bounds)):
        here = best_of(money, hinted(money, here, above))
        value = mean_rate(money, here)
        beyond += 1
        if value > best_value:
            best, best_value, beyond = here, value, 0

    def around(places: Places) -> list[Places]:
        return [*swaps(places, bounds), *more(places, bounds), *fewer(places, bounds)]

    found = improve(money, best, around, look)
    why = "no place more, fewer or somewhere else pays"
    return Sized(found.places, why, found.moves, found.open)


def _grow(lab: Lab, start: Places, bounds: Bounds, target: float, count: int) -> Places:
    """Add places where they do most good until the mean rate is the target."""
    places = start
    while mean_rate(lab, places, count) < target:
        stride = max(1, sum(places) // STRIDE)
        above = more(places, bounds, stride) or more(places, bounds)
        if not above or sum(places) > MOST_TOTAL:
            raise _out_of_reach(lab, places, target)
        best = best_of(lab, hinted(lab, places, above))
        if stride > 1 and mean_rate(lab, best, count) >= target:
            best = best_of(lab, hinted(lab, places, more(places, bounds) or above))  # slowly at the end
        places = best
    return places


def _out_of_reach(lab: Lab, places: Places, target: float) -> UsageError:
    rate = mean_rate(lab, places)
    return UsageError(
        f"{target:.6g} per hour is out of reach for stores alone: even with {sum(places)} places the cell"
        f" makes {rate:.4g} per hour; cellsim limits says what else limits it"
    )


def _shrink_in_strides(lab: Lab, places: Places, bounds: Bounds, target: float, count: int) -> Places:
    """Take many places away at once, then fewer, as long as the mean rate stays the target."""
    stride = max(1, sum(places) // 2)
    while stride > 1:
        below = fewer(places, bounds, stride)
        best = best_of(lab, hinted(lab, places, below)) if below else places
        if below and mean_rate(lab, best, count) >= target:
            places = best
        else:
            stride //= 2
    return places


def _shrink(lab: Lab, places: Places, bounds: Bounds, target: float, count: int) -> Places:
    """Take places away where they do least good as long as the mean rate stays the target."""
    while below := fewer(places, bounds):
        best = best_of(lab, hinted(lab, places, below))
        if mean_rate(lab, best, count) < target:
            break
        places = best
    return places
