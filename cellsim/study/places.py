"""Where places do most good: a search over allocations of places that says how sure each of its steps was.

The search moves one place at a time from one store to another, under common random numbers, and stops when no
such move is better by a difference worth caring about.  Each comparison has its share of the chance to be
wrong, so that all moves made are improvements, and none that is left out is better by that difference, with
the confidence asked for.  At the end it may take small steps: to a neighbour that is better by less than
matters, where the replications that are there anyway say so with that confidence, taken alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from cellsim.study.statistics import t_quantile
from cellsim.study.trust import values_needed

Places = tuple[int, ...]
FIRST_LOOK = 10  # replications before the first comparison
MANY_STORES = 12  # beyond it a place is moved only to stores near by, and to the ends
NEAR = 3
MOST_ALONE = 8  # times as many replications where only one allocation is run
LIKELY = 8  # neighbours that are looked at before all others


class Lab(Protocol):
    """Whoever can run allocations of places under common random numbers."""

    @property
    def least(self) -> int:
        """From how many replications on it may be said that a target is surely made."""

    def run(self, allocations: Sequence[Places], count: int) -> None:
        """Have the first `count` replications of all these ready."""

    def rates(self, allocation: Places, count: int) -> Sequence[float]:
        """Good units per hour in the first `count` replications of an allocation."""

    def pressure(self, allocation: Places, count: int) -> Sequence[float]:
        """How much each store is short of places: a hint where one more may help, from the same runs."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """How few and how many places each store may have, and how much room all may take.

    `area` is the room of one place of each store, `most_area` what there is in all; None: not limited.
    """

    least: Places
    most: tuple[int | None, ...]
    area: tuple[float, ...] = ()
    most_area: float | None = None

    def allow(self, places: Sequence[int]) -> bool:
        """Whether an allocation keeps to them."""
        within = all(
            low <= count and (high is None or count <= high)
            for low, count, high in zip(self.least, places, self.most, strict=True)
        )
        if not within or self.most_area is None:
            return within
        return math.fsum(a * n for a, n in zip(self.area, places, strict=True)) <= self.most_area * (
            1 + 1e-12
        )


@dataclass(frozen=True, slots=True)
class Look:
    """How sharply the search looks.

    Attributes:
        difference: the smallest difference of output per hour that matters
        level: confidence of all that is said together
        most: replications of one allocation after which a comparison is left open
    """

    difference: float
    level: float = 0.95
    most: int = 320


@dataclass
class Found:
    """An allocation that no single move betters by the difference that matters.

    `moves` are the allocations on the way, `open` the neighbours about which nothing can be said.
    """

    places: Places
    moves: list[Places] = field(default_factory=list)
    open: list[Places] = field(default_factory=list)


def swaps(places: Places, bounds: Bounds) -> list[Places]:
    """All allocations that have one place somewhere else."""
    return list(_swaps(places, bounds))


def _swaps(places: Places, bounds: Bounds) -> Iterator[Places]:
    count = len(places)
    for giver in range(count):
        for taker in range(count):
            near = count <= MANY_STORES or abs(giver - taker) <= NEAR or taker in (0, count - 1)
            if giver != taker and near:
                moved = list(places)
                moved[giver] -= 1
                moved[taker] += 1
                if bounds.allow(moved):
                    yield tuple(moved)


def more(places: Places, bounds: Bounds, by: int = 1) -> list[Places]:
    """All allocations with some places more at one store."""
    found = [tuple(n + by * (k == store) for k, n in enumerate(places)) for store in range(len(places))]
    return [each for each in found if bounds.allow(each)]


def fewer(places: Places, bounds: Bounds, by: int = 1) -> list[Places]:
    """All allocations with some places fewer at one store."""
    return more(places, bounds, -by)


@dataclass(frozen=True, slots=True)
class Reach:
    """Whether an allocation makes the target, and whether that is sure or only so on average.

    `missing` is by how much it surely misses it at least.
    """

    yes: bool
    sure: bool
    missing: float = field(default=0.0, compare=False)


def reaches(lab: Lab, places: Places, target: float, look: Look) -> Reach:
    """Whether an allocation makes the target.

    Replications are doubled until the interval leaves out the target, or is narrower than the difference that
    matters to both sides; look m has the share 2^-m of the chance to be wrong.  That it surely makes the
    target is said only where rare long stops do not weigh too heavily in so many replications: a few shifts
    without any show neither their cost nor that they are missing.
    """
    count, share = FIRST_LOOK, 1 - look.level
    while True:
        share /= 2
        lab.run([places], count)
        rates = lab.rates(places, count)
        found = gap([target] * count, rates, share / 2)
        last = 2 * count > MOST_ALONE * look.most
        if found.mean + found.half < 0:
            return Reach(False, True, -found.mean - found.half)
        if found.mean - found.half >= 0 and count >= lab.least and values_needed(rates) is None:
            return Reach(True, True)
        if last or (found.half <= look.difference and abs(found.mean) < found.half):
            return Reach(found.mean >= 0, False)
        count *= 2


@dataclass(frozen=True, slots=True)
class Gap:
    """Mean of other minus base over paired replications, with its one-sided half width."""

    mean: float
    half: float


def gap(base: Sequence[float], other: Sequence[float], chance: float) -> Gap:
    """The difference of paired values; `chance` is that of an error to one side."""
    differences = [b - a for a, b in zip(base, other, strict=True)]
    n = len(differences)
    mean = math.fsum(differences) / n
    variance = math.fsum((d - mean) ** 2 for d in differences) / (n - 1)
    return Gap(mean, t_quantile(1 - chance, n - 1) * math.sqrt(variance / n))


def hinted(lab: Lab, here: Places, candidates: Sequence[Places], most: int = 3) -> list[Places]:
    """The candidates that give most to stores under pressure and take least from them."""
    lab.run([here], FIRST_LOOK)
    pressure = lab.pressure(here, FIRST_LOOK)

    def hope(candidate: Places) -> float:
        return math.fsum((a - b) * p for a, b, p in zip(candidate, here, pressure, strict=True))

    return sorted(candidates, key=hope, reverse=True)[:most]


def best_of(lab: Lab, allocations: Sequence[Places], count: int = FIRST_LOOK) -> Places:
    """The allocation with the largest mean rate in some replications; a hint, no promise."""
    lab.run(allocations, count)
    return max(allocations, key=lambda each: math.fsum(lab.rates(each, count)))


def improve(
    lab: Lab,
    start: Places,
    neighbours: Callable[[Places], Sequence[Places]],
    look: Look,
    *,
    small_steps: bool = False,
) -> Found:
    """Go from an allocation to better neighbours until none is better by the difference that matters.

    The neighbours that promise most are looked at first, then all.  Move i has the share 2^-i of the chance
    to be wrong, half of it for each of the two, look m of that 2^-m, each of its k comparisons 1/k: the bound
    of Bonferroni over a search of unknown length.

    With `small_steps` it then goes to a neighbour that is better by less than matters, and looks around it.
    """
    found = Found(start)
    for move in range(1, 1000):
        around = neighbours(found.places)
        chance = (1 - look.level) * 0.5**move / 2
        likely = hinted(lab, found.places, around, LIKELY)
        better = _look_around(lab, found.places, likely, replace(look, most=FIRST_LOOK), chance).better
        if better is None:
            seen = _look_around(lab, found.places, around, look, chance)
            better, found.open = seen.better, seen.open
            if better is None and small_steps and seen.slightly not in found.moves:
                better = seen.slightly
        if better is None:
            return found
        found.moves.append(found.places)
        found.places = better
    raise AssertionError("each move betters the last, so a search ends")


@dataclass(frozen=True, slots=True)
class _Seen:
    """What was seen of the neighbours of an allocation.

    `better` is one that surely is, `slightly` one that is with the confidence of this comparison alone,
    where none surely is; `open` are those that may be better by what matters.
    """

    better: Places | None
    slightly: Places | None = None
    open: list[Places] = field(default_factory=list)


def _look_around(lab: Lab, here: Places, around: Sequence[Places], look: Look, chance: float) -> _Seen:
    """Run neighbours until one is surely better, or no more need be known of any; see `improve`."""
    alive = list(around)
    last: dict[Places, Gap] = {}  # with the confidence of one comparison
    count, share = FIRST_LOOK, chance
    while alive:
        share /= 2
        lab.run([here, *alive], count)
        base = lab.rates(here, count)
        gaps = {each: gap(base, lab.rates(each, count), share / len(around)) for each in alive}
        sure = [each for each in alive if gaps[each].mean - gaps[each].half > 0]
        if sure:
            return _Seen(max(sure, key=lambda each: gaps[each].mean))
        last |= {each: gap(base, lab.rates(each, count), 1 - look.level) for each in alive}
        alive = [each for each in alive if gaps[each].mean + gaps[each].half >= look.difference]
        if 2 * count > look.most:
            break
        count *= 2
    slightly = [each for each, found in last.items() if found.mean - found.half > 0]
    return _Seen(None, max(slightly, key=lambda each: last[each].mean, default=None), alive)
