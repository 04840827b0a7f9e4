"""The search for places on lines whose best use of places is known exactly, beside two plain ways.

    python tests/benchmarks/best_places.py [--seeds N]

Each line is sized with several seeds: the best use of a number of places, and the fewest places for a target.
The plain ways (all allocations run alike, and one place at a time where the mean gains most) may run as many
replications as the search did.  Everything but the time it takes is the same on every machine.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder

import numpy as np
from goals import Figure, share, show
from known_lines import LINES, KnownLine

from cellsim.engine.clocks import COMPILED
from cellsim.study.buffers import CellLab, for_total
from cellsim.study.places import Look, Places, best_of, more, swaps
from cellsim.study.runner import Runner
from cellsim.study.size_buffers import MATTERS, size_buffers
from cellsim.study.sizing import ONE_MORE
from cellsim.theory.allocation import allocations

GOOD = 95.0  # per cent of seeds
CLOSE = 100 * MATTERS  # per cent of the best rate
TEN = KnownLine("4 equal, 3 places", (60.0,) * 4, 3, study="settle: 2 h, run: 21 h")  # about 800 units
TEN_MATTERS = 0.3  # units per hour
TARGETS = {  # line: the fewest places that make its target
    "5 near equal": 5,
    "4 drawn": 5,
    "3 that stop, drawn": 6,
    "4 that stop, drawn": 5,
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a search for the best use of places found.

    `difference` is what mattered, units per hour; `replications` are those of the search alone.
    """

    line: KnownLine
    places: Places
    moves: tuple[Places, ...]
    open: frozenset[Places]
    difference: float
    replications: int

    @property
    def promise_held(self) -> bool:
        """No move of one place is better by what matters, but for those that the answer leaves open."""
        limit = self.line.rate(self.places) + self.difference
        around = set(swaps(self.places, self.line.free)) - self.open
        return all(self.line.rate(each) < limit for each in around)

    @property
    def moves_gained(self) -> bool:
        """Each allocation on the way was better than the one before."""
        rates = [self.line.rate(each) for each in (*self.moves, self.places)]
        return all(before < after for before, after in itertools.pairwise(rates))

    @property
    def is_best(self) -> bool:
        """Whether there is no better use of the places at all."""
        return self.places in self.line.best().places


def loss(line: KnownLine, places: Places) -> float:
    """By how many per cent the exact rate of an allocation lies below the best."""
    return 100 * (1 - line.rate(places) / line.best(sum(places)).rate)


def searched(line: KnownLine, seed: int, runner: Runner) -> Outcome:
    """The best use of a line's places as the tool finds it."""
    answer = size_buffers(line.cell(), runner, seed, total=line.total)

    def places_of(by_store: dict[str, int]) -> Places:
        return tuple(by_store[store] for store in line.stores)

    for_one_more = len(answer["one_more"]) * min(ONE_MORE, answer["rate"]["replications"])
    return Outcome(
        line,
        places_of(answer["places"]),
        tuple(places_of(each) for each in answer["moves"]),
        frozenset(places_of(each) for each in answer["open"]),
        answer["difference"],
        answer["replications"] - for_one_more,
    )


def searched_from(line: KnownLine, start: Places, difference: float, seed: int, runner: Runner) -> Outcome:
    """The same from an allocation that may be far from good."""
    lab = CellLab(line.cell(), line.stores, seed, runner)
    found = for_total(lab, start, line.free, Look(difference))
    moves, left_open = tuple(found.moves), frozenset(found.open)
    return Outcome(line, found.places, moves, left_open, difference, lab.replications)


def all_alike(lab: CellLab, line: KnownLine, effort: int) -> Places:
    """The allocation with the best mean when all have an equal part of the replications."""
    tried = list(allocations(len(line.stores), line.total))
    return best_of(lab, tried, max(1, effort // len(tried)))


def one_at_a_time(lab: CellLab, line: KnownLine, effort: int) -> Places:
    """Each place goes where the mean rate gains most; all steps have an equal part of the replications."""
    places = line.free.least
    count = max(1, effort // (line.total * len(line.stores)))
    for _ in range(line.total):
        places = best_of(lab, more(places, line.free), count)
    return places


PLAIN = {"all alike": all_alike, "one at a time": one_at_a_time}


@dataclass(frozen=True, slots=True)
class Compared:
    """A search, and what each plain way found with as many replications; losses are per cent of the best."""

    search: Outcome
    plain: dict[str, Places]

    def loss(self, way: str) -> float:
        """How far the exact rate of what a way found lies below the best."""
        return loss(self.search.line, self.plain.get(way, self.search.places))


def compared(line: KnownLine, seed: int, runner: Runner) -> Compared:
    """One seed of a line."""
    found = searched(line, seed, runner)
    lab = CellLab(line.cell(), line.stores, seed, runner)
    return Compared(found, {name: way(lab, line, found.replications) for name, way in PLAIN.items()})


def mean(values: Iterable[float]) -> float:
    """The mean."""
    return float(np.mean(list(values)))


def totals(lines: Sequence[KnownLine], seeds: Sequence[int], runner: Runner) -> list[Compared]:
    """Every line with every seed; a row of the table is printed for each line."""
    found: list[Compared] = []
    print(f"{'line':<20}{'best':>14}{'exact':>7}{'within':>8}{'runs':>7}{'most':>7}   mean loss, %")
    print(f"{'':<20}{'':>14}{'':>7}{'0.3 %':>8}{'':>7}{'':>7}   search  all alike  one at a time")
    for line in lines:
        rows = [compared(line, seed, runner) for seed in seeds]
        found += rows
        runs = [row.search.replications for row in rows]
        best, close = (
            sum(row.search.is_best for row in rows),
            sum(row.loss("search") <= CLOSE for row in rows),
        )
        print(
            f"{line.name:<20}{' '.join(map(str, line.best().places[0])):>14}{best:>7}{close:>8}"
            f"{mean(runs):>7.0f}{max(runs):>7}   "
            + "  ".join(f"{mean(row.loss(way) for row in rows):{len(way)}.3f}" for way in ("search", *PLAIN)),
            flush=True,
        )
    return found


def figures_of(found: Sequence[Compared]) -> Iterator[Figure]:
    """The figures of all lines and seeds together."""
    n, searches = len(found), [row.search for row in found]
    best = sum(each.is_best for each in searches)
    yield share("exact_optimum", best, n, "per cent of searches that found the very best use of the places")
    runs = [each.replications for each in searches]
    yield Figure("replications", mean(runs), f"replications of a search, mean; at most {max(runs)}")
    held = sum(each.promise_held for each in searches)
    what = "no single move is better by what matters, as the answer says, by exact rates"
    left_open = sum(bool(each.open) for each in searches)
    yield share("promise_held", held, n, what, GOOD, note=f"{left_open} answers leave some moves open")
    gained = sum(each.moves_gained for each in searches)
    yield share("moves_gained", gained, n, "every move on the way was truly better", GOOD)
    losses = {way: [row.loss(way) for row in found] for way in ("search", *PLAIN)}
    for way, values in losses.items():
        what = f"{way}: exact rate within {CLOSE:g} % of the best"
        goal = GOOD if way == "search" else -math.inf
        yield share(f"within, {way}", sum(x <= CLOSE for x in values), n, what, goal)
    for way, values in losses.items():
        goal = min(mean(losses[plain]) for plain in PLAIN) if way == "search" else math.inf
        what = f"{way}: mean loss against the best, %; at most {max(values):.3f}"
        yield Figure(f"mean_loss, {way}", mean(values), what, high=goal)


def targets(seeds: Sequence[int], runner: Runner) -> Iterator[Figure]:
    """The fewest places for a target half way between the best of that many places and of one fewer."""
    beyond: list[int] = []
    runs: list[int] = []
    for line in LINES:
        if (fewest := TARGETS.get(line.name)) is not None:
            target = (line.best(fewest).rate + line.best(fewest - 1).rate) / 2
            for seed in seeds:
                answer = size_buffers(line.cell(), runner, seed, target=target)
                beyond.append(answer["total"] - fewest)
                runs.append(answer["replications"])
    n, names = len(beyond), ", ".join(TARGETS)
    what = f"fewest places for a target, right or one more ({names})"
    counted = ", ".join(f"{k:+d}: {beyond.count(k)}" for k in sorted(set(beyond)))
    yield share("target", sum(k in (0, 1) for k in beyond), n, what, GOOD, note=f"places beyond: {counted}")
    yield Figure(
        "target_replications", mean(runs), f"replications of such a search, mean; at most {max(runs)}"
    )


def ten_allocations(seeds: Sequence[int], runner: Runner) -> Iterator[Figure]:
    """Three places on four equal stations, one allocation best by 2.8 %: right from wherever it begins."""
    starts = list(allocations(len(TEN.stores), TEN.total))
    found = [searched_from(TEN, starts[k % len(starts)], TEN_MATTERS, k, runner) for k in seeds]
    what = "best of ten allocations of 3 places on 4 equal stations, from each of them in turn"
    best, runs = TEN.best(), mean(each.replications for each in found)
    note = f"exact best {best.places[0]}, {best.rate:.6f} per hour; {runs:.0f} replications; promised: 95 %"
    yield share("ten_allocations", sum(each.is_best for each in found), len(found), what, GOOD, note=note)


def main(arguments: list[str] | None = None) -> int:
    """Size all lines with so many seeds and print the tables."""
    parser = argparse.ArgumentParser(description="Hold the search for places against exact optima.")
    parser.add_argument("--seeds", type=int, default=10, metavar="N", help="seeds of each line (10)")
    seeds = range(parser.parse_args(arguments).seeds)
    with Runner(clock=COMPILED) as runner:
        found = totals(LINES, seeds, runner)
        rest = targets(seeds, runner), ten_allocations(range(5 * len(seeds)), runner)
        for figure in itertools.chain(figures_of(found), *rest):
            show(figure)
    return 0


if __name__ == "__main__":
    sys.exit(main())
