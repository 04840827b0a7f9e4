"""Benchmarks of the engine against fixed yardsticks: each figure is printed beside its goal.

    python tests/benchmarks/run.py [--quick] [--json FILE]

Nothing here passes or fails: times depend on the machine, ratios of runs taken in turn much less so.
"""

from __future__ import annotations

import argparse
import functools
import gc
import json
import os
import platform
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from statistics import fmean, median, quantiles, stdev
from typing import Any

import handwritten
import handwritten_lean

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))  # the package of this folder, not an installed one

TEN_STATIONS = HERE / "ten_stations.yaml"
WARM_UP = 3  # rounds run before the timing begins
SHIFT = 8 * 3600 * 1_000_000  # microseconds


@dataclass(frozen=True, slots=True)
class Counts:
    """What one run did: units out, station cycles completed, events handled (0: not counted)."""

    units: int
    cycles: int
    events: int


@dataclass(frozen=True, slots=True)
class Side:
    """One of several programs that do one job: `run(k)` is timed, `count` reads its answer afterwards."""

    name: str
    run: Callable[[int], Any]
    count: Callable[[Any], Counts]


@dataclass(frozen=True, slots=True)
class Timing:
    """CPU seconds and counts of every run of one side, in the order run."""

    name: str
    seconds: list[float]
    counts: list[Counts]

    def typical(self) -> float:
        """Median CPU seconds of a run."""
        return median(self.seconds)

    def per_second(self, counts: Callable[[Counts], int]) -> float:
        """Mean of a count per run over the median CPU seconds of a run."""
        return fmean(map(counts, self.counts)) / self.typical()

    def summary(self) -> dict[str, Any]:
        """The details that go into the JSON file."""
        low, _, high = quantiles(self.seconds, n=4)
        return {
            "runs": len(self.seconds),
            "cpu_ms": {
                "median": 1e3 * self.typical(),
                "p25": 1e3 * low,
                "p75": 1e3 * high,
                "min": 1e3 * min(self.seconds),
            },
            "units_mean": fmean(count.units for count in self.counts),
            "station_cycles_mean": fmean(count.cycles for count in self.counts),
            "station_cycles_per_second": self.per_second(lambda count: count.cycles),
        }


@dataclass(frozen=True, slots=True)
class Measurement:
    """One figure: its key in the JSON file, what it says, its goal (if any) and how it is measured.

    `how(budget)` takes the CPU seconds it may spend and returns the value and the details behind it.
    """

    key: str
    what: str
    how: Callable[[float], tuple[float, Mapping[str, Any]]]
    goal: float | None = None
    at_least: bool = True  # the goal is a floor; otherwise a ceiling

    def verdict(self, value: float) -> str:
        """`reached`, `missed`, or nothing where there is no goal."""
        if self.goal is None:
            return ""
        return "reached" if (value >= self.goal) == self.at_least or value == self.goal else "missed"

    def goal_text(self) -> str:
        """The goal as it stands in the table."""
        return "" if self.goal is None else f"{'>=' if self.at_least else '<='} {self.goal:g}"


def take_turns(sides: Sequence[Side], budget: float) -> list[Timing]:
    """Time the sides in turn, A B C A B C ..., for about `budget` CPU seconds and at least 5 rounds.

    Round k gives every side the number k.  Garbage is collected before each run, outside its time; the
    collector stays on during it, as in use.
    """
    timings = [Timing(side.name, [], []) for side in sides]
    stop = time.process_time() + budget
    turn = -WARM_UP
    while turn < 5 or time.process_time() < stop:
        for side, timing in zip(sides, timings, strict=True):
            gc.collect()
            start = time.process_time()
            answer = side.run(turn + WARM_UP)
            seconds = time.process_time() - start
            if turn >= 0:
                timing.seconds.append(seconds)
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


def handwritten_runner(name: str, run: Callable[[int], dict[str, Any]]) -> Side:
    """A hand-written SimPy line, built and run as its script does it."""

    def count(answer: dict[str, Any]) -> Counts:
        return Counts(answer["units"], sum(each["cycles"] for each in answer["stations"].values()), 0)

    return Side(name, run, count)


def cellsim_runner() -> Side:
    """The same line from its cell file on the SimPy clock; read and compiled once, here.

    Each run reuses the state of the one before, as a study does.
    """
    from cellsim.describe.resolve import load
    from cellsim.engine.clock_simpy import SimpyRun
    from cellsim.engine.model import compile_cell

    flat = compile_cell(load(TEN_STATIONS))
    scratch = None

    def run(replication: int) -> Any:
        nonlocal scratch
        one = SimpyRun(flat, 1, replication, scratch=scratch)
        one.advance(SHIFT)
        scratch = one.state
        return scratch

    def count(state: Any) -> Counts:
        return Counts(state.good, sum(machine.cycles for machine in state.machines), state.events)

    return Side("cellsim, SimPy clock", run, count)


@functools.cache
def ten_stations(budget: float) -> dict[str, Timing]:
    """Both hand-written lines and the SimPy clock, taken in turn once for all figures that need them."""
    sides = {
        "interrupted": handwritten_runner("hand-written, interrupted", handwritten.run),
        "lean": handwritten_runner("hand-written, lean", handwritten_lean.run),
        "cellsim": cellsim_runner(),
    }
    return dict(zip(sides, take_turns(list(sides.values()), budget), strict=True))


def against_cellsim(form: str, budget: float) -> tuple[float, Mapping[str, Any]]:
    """Time of a hand-written form over that of the SimPy clock, and what both did."""
    timings = ten_stations(budget)
    by_hand, ours = timings[form], timings["cellsim"]
    summary = ratio_summary(by_hand, ours)
    return summary["ratio"], {
        **summary,
        "output_gap_standard_errors": output_gap(by_hand, ours),
        by_hand.name: by_hand.summary(),
        ours.name: ours.summary(),
    }


def simpy_vs_handwritten(budget: float) -> tuple[float, Mapping[str, Any]]:
    """Time of the hand-written model whose machines are interrupted over that of the SimPy clock."""
    return against_cellsim("interrupted", budget)


def simpy_vs_handwritten_lean(budget: float) -> tuple[float, Mapping[str, Any]]:
    """Time of the hand-written model without interrupts over that of the SimPy clock."""
    return against_cellsim("lean", budget)


def events_per_second(budget: float) -> tuple[float, Mapping[str, Any]]:
    """Events that the SimPy clock handles in a CPU second on the ten-station line."""
    ours = ten_stations(budget)["cellsim"]
    return ours.per_second(lambda count: count.events), {
        "events_mean": fmean(count.events for count in ours.counts)
    }


MEASUREMENTS = (
    Measurement(
        "simpy_vs_handwritten",
        "ten stations, one shift: time of a hand-written SimPy model (interrupts) / of the SimPy clock",
        simpy_vs_handwritten,
        goal=1.0,
    ),
    Measurement(
        "simpy_vs_handwritten_lean",
        "the same against the leanest hand-written form (the station splits its work at the stops)",
        simpy_vs_handwritten_lean,
    ),
    Measurement(
        "events_per_second", "ten stations, one shift: events per second, SimPy clock", events_per_second
    ),
)


def calibration_ms() -> float:
    """CPU milliseconds of a fixed loop in plain Python, best of 5: how fast this machine is."""

    def once() -> float:
        start = time.process_time()
        total = 0
        for number in range(500_000):
            total += number & 7
        return 1e3 * (time.process_time() - start)

    return min(once() for _ in range(5))


def machine() -> dict[str, Any]:
    """What the figures were measured on."""
    return {
        "machine": platform.machine(),
        "system": platform.system(),
        "cores": os.cpu_count(),
        "load_1_min": os.getloadavg()[0] if hasattr(os, "getloadavg") else None,
        "calibration_ms": calibration_ms(),
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "versions": {name: metadata.version(name) for name in ("simpy", "numpy")},
    }


def table(values: Mapping[str, float], details: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """The lines that are printed: one a figure, below it what it was made of."""
    for measurement in MEASUREMENTS:
        value = values[measurement.key]
        shown = f"{value:.2f}" if value < 1000 else f"{value:,.0f}".replace(",", " ")
        line = f"{measurement.key:<28}{shown:>12}  {measurement.goal_text():<8}{measurement.verdict(value)}"
        yield line.rstrip()
        yield f"    {measurement.what}"
        for name, part in details[measurement.key].items():
            if isinstance(part, Mapping) and "cpu_ms" in part:
                cpu = part["cpu_ms"]
                yield (
                    f"    {name:<28}{cpu['median']:8.2f} ms a run "
                    f"(middle half {cpu['p25']:.2f} to {cpu['p75']:.2f}, {part['runs']} runs), "
                    f"{part['units_mean']:.1f} units, {part['station_cycles_mean']:.0f} station cycles"
                )
        gap = details[measurement.key].get("output_gap_standard_errors", 0.0)
        if gap > 4:
            yield f"    NOT COMPARABLE: the two outputs lie {gap:.1f} standard errors apart"


def main(arguments: list[str] | None = None) -> int:
    """Measure, print the table, write the JSON file; 0, or 2 where the file cannot be written."""
    parser = argparse.ArgumentParser(description="Time the engine against its yardsticks.")
    parser.add_argument("--quick", action="store_true", help="a first impression within 20 s")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write figures and details to FILE")
    options = parser.parse_args(arguments)
    if options.json and not options.json.parent.is_dir():
        print(f"{options.json}: the folder {options.json.parent} does not exist", file=sys.stderr)
        return 2
    budget = 10.0 if options.quick else 60.0
    values: dict[str, float] = {}
    details: dict[str, Mapping[str, Any]] = {}
    for measurement in MEASUREMENTS:
        values[measurement.key], details[measurement.key] = measurement.how(budget)
    print("\n".join(table(values, details)))
    if options.json:
        goals = {each.key: each.goal_text() for each in MEASUREMENTS if each.goal is not None}
        content = {**values, "goals": goals, "details": {**details, "machine": machine()}}
        try:
            options.json.write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
        except OSError as error:
            print(f"{options.json}: cannot be written: {error.strerror}", file=sys.stderr)
            return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
