"""The figures of the benchmark: what each says, its goal, and how it is measured."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from typing import Any

import handwritten
import handwritten_lean
import processes
from lines import TEN_STATIONS, c_side, clock_side, handwritten_side, of_a_shift, round_the_clock
from timing import NotMeasured, Side, Timing, output_gap, ratio_summary, take_turns

DEMO, LARGEST = "tape_measure", "padlock"
DAY, YEAR = 24, 365 * 24  # hours
LOOK = 4 * 3_600_000_000  # microseconds of the largest demo cell
START_SHARE = 0.05  # of the time of two workers that their start may take


@dataclass(frozen=True, slots=True)
class Budget:
    """What may be spent: seconds on each kind of figure, repeats of whole commands, when they are cut off."""

    turns: float  # seconds of the ten stations, all sides together
    rows: float  # seconds of rows of 10, 50 and 200 stations; of padlock
    workers: float  # seconds of the study with one worker
    repeats: int
    cut_off: float  # seconds after which a command is ended
    thorough: bool  # times more than the figures: the other demo cells, compiling


FULL = Budget(turns=45.0, rows=10.0, workers=40.0, repeats=3, cut_off=120.0, thorough=True)
QUICK = Budget(turns=8.0, rows=2.0, workers=6.0, repeats=1, cut_off=10.0, thorough=False)

Answer = tuple[float, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Measurement:
    """One figure: its key in the JSON file, what it says, how it is measured, and its goal if it has one.

    `how(budget)` returns the value and the details behind it; it raises NotMeasured where that is impossible.
    """

    key: str
    what: str
    how: Callable[[Budget], Answer]
    goal: float | None = None
    at_least: bool = True  # the goal is a floor; otherwise a ceiling

    def verdict(self, value: float | None) -> str:
        """`reached`, `missed`, or nothing where there is no goal or no value."""
        if self.goal is None or value is None:
            return ""
        return "reached" if (value >= self.goal) == self.at_least or value == self.goal else "missed"

    def goal_text(self) -> str:
        """The goal as it stands in the table."""
        return "" if self.goal is None else f"{'>=' if self.at_least else '<='} {self.goal:g}"


# --- single runs, CPU time --------------------------------------------------------------------------------


@functools.cache
def ten_stations(seconds: float) -> tuple[dict[str, Timing], dict[str, str]]:
    """The ten-station line in every form, taken in turn once for all figures that need it.

    Also why a form is not there.  The fast forms do several runs a turn, so that a turn takes milliseconds.
    """
    from cellsim.describe.resolve import load

    cell = load(TEN_STATIONS)
    sides: dict[str, Side] = {
        "interrupted": handwritten_side("hand-written, interrupted", handwritten.run),
        "lean": handwritten_side("hand-written, lean", handwritten_lean.run),
        "simpy": clock_side(cell, "simpy"),
    }
    missing: dict[str, str] = {}
    with ExitStack() as opened:
        for name, make in (
            ("compiled", lambda: clock_side(cell, "compiled", runs=10)),
            ("C", lambda: opened.enter_context(c_side(runs=10))),
        ):
            try:
                sides[name] = make()
            except NotMeasured as reason:
                missing[name] = str(reason)
        return dict(zip(sides, take_turns(list(sides.values()), seconds), strict=True)), missing


def compared(above: str, below: str) -> Callable[[Budget], Answer]:
    """Time of one form of the ten-station line over that of another, and what both did."""

    def how(budget: Budget) -> Answer:
        timings, missing = ten_stations(budget.turns)
        for name in (above, below):
            if name in missing:
                raise NotMeasured(missing[name])
        first, second = timings[above], timings[below]
        summary = ratio_summary(first, second)
        return summary["ratio"], {
            **summary,
            "output_gap_standard_errors": output_gap(first, second),
            first.name: first.summary(),
            second.name: second.summary(),
        }

    return how


def events_per_second(budget: Budget) -> Answer:
    """Events that the SimPy clock handles in a CPU second on the ten-station line."""
    timing = ten_stations(budget.turns)[0]["simpy"]
    return timing.events_per_second(), {"events_mean": timing.summary()["events_mean"]}


def compiled_events_per_second(budget: Budget) -> Answer:
    """Events that the compiled clock handles in a CPU second on the ten-station line."""
    timings, missing = ten_stations(budget.turns)
    if "compiled" in missing:
        raise NotMeasured(missing["compiled"])
    timing = timings["compiled"]
    return timing.events_per_second(), {"events_mean": timing.summary()["events_mean"]}


def events_200_vs_10(budget: Budget) -> Answer:
    """Events per second of rows of 10, 50 and 200 equal stations in one shift, half full at the start."""
    from cellsim.describe.resolve import load_text

    sizes = {10: 20, 50: 4, 200: 1}  # stations: runs a turn
    sides = [clock_side(load_text(of_a_shift(count)), "compiled", runs) for count, runs in sizes.items()]
    rows = dict(zip(sizes, take_turns(sides, budget.rows), strict=True))
    rates = {count: timing.events_per_second() for count, timing in rows.items()}
    return rates[200] / rates[10], {
        "events_per_second": rates,
        **{f"{count} stations": timing.summary() for count, timing in rows.items()},
    }


def padlock_events_per_second(budget: Budget) -> Answer:
    """Events per second of the largest demo cell under the compiled clock, and under SimPy; first hours."""
    from cellsim.describe.resolve import load

    cell = load(processes.SCENARIOS / f"{LARGEST}.yaml")
    sides = [clock_side(cell, "compiled", 5, LOOK), clock_side(cell, "simpy", 1, LOOK)]
    compiled, simpy = take_turns(sides, budget.rows)
    return compiled.events_per_second(), {
        "simpy_events_per_second": simpy.events_per_second(),
        **ratio_summary(simpy, compiled),
        compiled.name: compiled.summary(),
        simpy.name: simpy.summary(),
    }


# --- whole studies and processes, wall time ---------------------------------------------------------------


def workers_2_vs_1(budget: Budget) -> Answer:
    """Wall time of a study with one worker over that with two, whose start is counted."""
    from cellsim.describe.resolve import load
    from cellsim.engine.compiled_code import is_available

    if not is_available():
        raise NotMeasured("numba is not installed")
    gain = processes.workers_gain(load(processes.SCENARIOS / f"{DEMO}.yaml"), budget.workers)
    share = gain["starting_two_workers_s"] / gain["two_workers_s"]
    remark = (
        f"{gain['replications']} replications: {gain['one_worker_s']:.1f} s, "
        f"and {gain['two_workers_s']:.1f} s of which {gain['starting_two_workers_s']:.1f} s start the two; "
        f"by CPU seconds {gain['ratio_of_cpu']:.2f}"
    )
    if share > START_SHARE:
        remark += f"; starting takes more than {START_SHARE:.0%}: too short a study for the goal"
    return gain.pop("ratio"), {**gain, "remark": remark}


def one_run(hours: int, empty_cache: bool = False) -> dict[str, Any]:
    """One replication of ten stations that work so many hours, in a process of its own."""
    from cellsim.engine.compiled_code import is_available

    if not is_available():
        raise NotMeasured("numba is not installed")
    return processes.one_run(round_the_clock(10, hours), empty_cache)


def memory_year_vs_day(budget: Budget) -> Answer:
    """Peak memory of a process that runs one replication of a year over that of a day."""
    day, year = one_run(DAY), one_run(YEAR)
    remark = (
        f"day {day['peak_bytes'] / 2**20:.1f} MiB, {day['run_s']:.2f} s; "
        f"year {year['peak_bytes'] / 2**20:.1f} MiB, {year['run_s']:.2f} s; "
        f"{year['peak_bytes_before_the_run'] / 2**20:.1f} MiB before the first event"
    )
    return year["peak_bytes"] / day["peak_bytes"], {"day": day, "year": year, "remark": remark}


def code_load_s(budget: Budget) -> Answer:
    """Seconds until the compiled code is read from disk; the full benchmark also compiles it anew."""
    times = [one_run(1)["code_s"] for _ in range(budget.repeats)]
    details: dict[str, Any] = {"each": times}
    if budget.thorough:
        details["compile_s"] = one_run(1, empty_cache=True)["code_s"]
        details["remark"] = f"compiling takes {details['compile_s']:.1f} s"
    return min(times), details


def scenario_run(name: str, *more: str) -> list[str]:
    """The words of `cellsim run` on a demo cell."""
    return ["run", str(processes.SCENARIOS / f"{name}.yaml"), *more]


def demo_200_shifts_s(budget: Budget) -> Answer:
    """Seconds of `cellsim run` with 200 replications of the demo cell; of all demo cells when thorough."""
    own = processes.cellsim_seconds(
        scenario_run(DEMO, "--replications", "200"), budget.repeats, budget.cut_off
    )
    details: dict[str, Any] = {**own}
    if budget.thorough:
        names = sorted(file.stem for file in processes.SCENARIOS.glob("*.yaml") if file.stem != DEMO)
        for name in names:
            details[name] = processes.cellsim_seconds(
                scenario_run(name, "--replications", "200"), 1, budget.cut_off
            )
        details["remark"] = "; ".join(f"{name} {details[name]['seconds']:.1f} s" for name in names)
    return own["seconds"], details


def first_result_s(budget: Budget) -> Answer:
    """Seconds until `cellsim run` of the demo cell shows its first figure, with no compiled code on disk."""
    details = processes.until_first_figure(scenario_run(DEMO), budget.cut_off)
    details["remark"] = f"the whole process takes {details['whole_s']:.1f} s"
    return details["seconds"], details


def check_s(budget: Budget) -> Answer:
    """Seconds of `cellsim check` on the largest demo cell, median of some."""
    largest = max(processes.SCENARIOS.glob("*.yaml"), key=lambda file: file.stat().st_size)
    details = processes.cellsim_seconds(["check", str(largest)], 2 * budget.repeats + 1, budget.cut_off)
    return details["seconds"], {**details, "scenario": largest.stem}


MEASUREMENTS = (
    Measurement(
        "compiled_vs_handwritten",
        "ten stations, one shift: time of a hand-written SimPy model (interrupts) / of the compiled clock",
        compared("interrupted", "compiled"),
        goal=80.0,
    ),
    Measurement(
        "compiled_vs_c",
        "the same line: time of the compiled clock / of a bare C loop",
        compared("compiled", "C"),
        goal=4.0,
        at_least=False,
    ),
    Measurement(
        "simpy_vs_handwritten",
        "the same line: time of a hand-written SimPy model (interrupts) / of the SimPy clock",
        compared("interrupted", "simpy"),
        goal=1.0,
    ),
    Measurement(
        "simpy_vs_handwritten_lean",
        "the same against the leanest hand-written form (the station splits its work at the stops)",
        compared("lean", "simpy"),
    ),
    Measurement(
        "events_per_second", "ten stations, one shift: events per second, SimPy clock", events_per_second
    ),
    Measurement("compiled_events_per_second", "the same, compiled clock", compiled_events_per_second),
    Measurement(
        "events_200_vs_10",
        "compiled clock: events per second of 200 stations in a row / of 10",
        events_200_vs_10,
        goal=0.6,
    ),
    Measurement(
        "padlock_events_per_second",
        f"{LARGEST}, 4 hours: events per second, compiled clock",
        padlock_events_per_second,
    ),
    Measurement(
        "workers_2_vs_1",
        f"{DEMO}, compiled clock, whole study, wall time: one worker / two, their start counted",
        workers_2_vs_1,
        goal=1.8,
    ),
    Measurement(
        "memory_year_vs_day",
        "ten stations, one replication: peak memory of a process that runs a year / a day",
        memory_year_vs_day,
        goal=1.2,
        at_least=False,
    ),
    Measurement("code_load_s", "seconds until the compiled code is read from disk", code_load_s),
    Measurement(
        "demo_200_shifts_s",
        f"cellsim run {DEMO}, 200 replications, seconds of the whole process",
        demo_200_shifts_s,
        goal=3.0,
        at_least=False,
    ),
    Measurement(
        "first_result_s",
        f"cellsim run {DEMO}, nothing compiled yet, seconds until the screen says good units per hour",
        first_result_s,
        goal=5.0,
        at_least=False,
    ),
    Measurement(
        "check_s",
        "cellsim check on the largest scenario, seconds of the whole process",
        check_s,
        goal=0.5,
        at_least=False,
    ),
)
