"""Programs that do one job, timed in turn; ratios of such times, and whether they did the same job."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import fmean, median, quantiles, stdev
from typing import Any

WARM_UP = 3  # rounds run before the timing begins
ROUNDS = 5  # the fewest rounds that are timed


class NotMeasured(Exception):
    """A figure cannot be measured here; the text says why."""


@dataclass(frozen=True, slots=True)
class Counts:
    """What one run did: units out, station cycles completed, events handled (0: not counted)."""

    units: int
    cycles: int
    events: int


@dataclass(frozen=True, slots=True)
class Side:
    """One of several programs that do one job.

    `run(first)` does `runs` runs, numbered from `first` on, and is timed; `count` reads afterwards what the
    last of them did.  Where the work is done in another process, `seconds` reads its CPU seconds.
    """

    name: str
    run: Callable[[int], Any]
    count: Callable[[Any], Counts]
    runs: int = 1
    seconds: Callable[[Any], float] | None = None


@dataclass(frozen=True, slots=True)
class Timing:
    """CPU seconds of a run of one side in each round, and what the last run of each round did."""

    name: str
    seconds: list[float]
    counts: list[Counts]

    def typical(self) -> float:
        """Median CPU seconds of a run."""
        return median(self.seconds)

    def per_second(self, counts: Callable[[Counts], int]) -> float:
        """Mean of a count per run over the median CPU seconds of a run."""
        return fmean(map(counts, self.counts)) / self.typical()

    def events_per_second(self) -> float:
        """Events handled in a CPU second."""
        return self.per_second(lambda count: count.events)

    def summary(self) -> dict[str, Any]:
        """The details that go into the JSON file."""
        low, _, high = quantiles(self.seconds, n=4)
        return {
            "rounds": len(self.seconds),
            "cpu_ms": {
                "median": 1e3 * self.typical(),
                "p25": 1e3 * low,
                "p75": 1e3 * high,
                "min": 1e3 * min(self.seconds),
            },
            "units_mean": fmean(count.units for count in self.counts),
            "station_cycles_mean": fmean(count.cycles for count in self.counts),
            "station_cycles_per_second": self.per_second(lambda count: count.cycles),
            "events_mean": fmean(count.events for count in self.counts),
        }


def take_turns(sides: Sequence[Side], budget: float) -> list[Timing]:
    """Time the sides in turn, A B C A B C ..., for about `budget` seconds and at least ROUNDS rounds.

    Round k gives every side its k-th runs.  Garbage is collected before each turn, outside its time; the
    collector stays on during it, as in use.
    """
    timings = [Timing(side.name, [], []) for side in sides]
    stop = time.monotonic() + budget
    turn = -WARM_UP
    while turn < ROUNDS or time.monotonic() < stop:
        for side, timing in zip(sides, timings, strict=True):
            gc.collect()
            start = time.process_time()
            answer = side.run((turn + WARM_UP) * side.runs)
            seconds = time.process_time() - start
            if turn >= 0:
                spent = seconds if side.seconds is None else side.seconds(answer)
                timing.seconds.append(spent / side.runs)
                timing.counts.append(side.count(answer))
        turn += 1
    return timings


def ratio_summary(above: Timing, below: Timing) -> dict[str, float]:
    """Ratio of the median times, and the quartiles of the ratios within each round."""
    low, _, high = quantiles([a / b for a, b in zip(above.seconds, below.seconds, strict=True)], n=4)
    return {"ratio": above.typical() / below.typical(), "rounds_p25": low, "rounds_p75": high}


def output_gap(first: Timing, second: Timing) -> float:
    """How many standard errors lie between the mean units out of the two sides; beyond 4, two lines."""
    units = [[count.units for count in timing.counts] for timing in (first, second)]
    error = sum(stdev(values) ** 2 / len(values) for values in units) ** 0.5
    gap = abs(fmean(units[0]) - fmean(units[1]))
    return gap / error if error else float(gap > 0) * 1e9
