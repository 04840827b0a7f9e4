"""How often each hint names the station that limits a line, and what is given up where it does not.

    python tests/benchmarks/hints.py [--lines 80 60] [--seed 1]

Random lines of four stations, two kinds.  Exponential times and uneven buffers: the truth is the exact
elasticity of the rate from the Markov chain.  Constant cycles and long stops: the truth is measured, each
station 3 % faster with the same luck.  Every hint sees the same runs.  The truth of the second kind takes a
minute or two.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import COMPILED
from cellsim.engine.record import Record
from cellsim.study.hints import WATCHED_EVENTS, active_periods, hints
from cellsim.study.losses import loss_account
from cellsim.study.worker import Worker
from cellsim.theory.saturated import elasticities

STATIONS = 4
RUNS, MINUTES = 10, 2500  # what the hints see
TRUE_RUNS, TRUE_MINUTES = 10, 8000  # what the truth of lines with stops is measured in
FASTER = 0.03
HINTS = ("path", "at work", "blocking and starving", "mean active period", "active periods")


@dataclass(frozen=True)
class Line:
    """Mean times in minutes and places between; with stops times are constant, without them exponential.

    `runs` and `repairs` are the mean running time to a stop and the mean length of a stop of each station.
    """

    means: tuple[float, ...]
    places: tuple[int, ...]
    runs: tuple[float, ...] = ()
    repairs: tuple[float, ...] = ()
    exponential_with_stops: bool = False

    def cell(self, minutes: int, settle: int = 200) -> Cell:
        """The line as a cell with stations S1, S2, ... and stores T1, T2, ...; counted so many minutes."""
        law = "exponential" if not self.runs or self.exponential_with_stops else "fixed"
        stations = []
        for k, mean in enumerate(self.means):
            key = "time" if law == "fixed" else "mean"
            text = f"cycle: {{law: {law}, {key}: {round(60e6 * mean)} us}}"
            if self.runs:
                every = f"{{law: exponential, mean: {self.runs[k]} min, of: running}}"
                lasts = f"{{law: exponential, mean: {self.repairs[k]} min}}"
                text += f", stops: {{stop: {{every: {every}, lasts: {lasts}}}}}"
            stations.append(f"  S{k + 1}: {{{text}}}")
        stores = ", ".join(f"T{k + 1}: {count}" for k, count in enumerate(self.places))
        route = ", ".join(f"S{k + 1}, T{k + 1}" for k in range(len(self.places)))
        return load_text(
            f"cell: line\nroute: [{route}, S{len(self.means)}]\nstations:\n"
            + "\n".join(stations)
            + f"\nstores: {{{stores}}}\nstudy: {{settle: {settle} min, run: {minutes} min}}\n"
        )


def exponential_lines(count: int, seed: int) -> list[Line]:
    """Means 0.85 to 1.15 minutes, 0 to 6 places."""
    chance = random.Random(seed)
    return [
        Line(
            tuple(round(chance.uniform(0.85, 1.15), 4) for _ in range(STATIONS)),
            tuple(chance.randint(0, 6) for _ in range(STATIONS - 1)),
        )
        for _ in range(count)
    ]


def lines_with_stops(count: int, seed: int) -> list[Line]:
    """Constant cycles 0.9 to 1.1 minutes, stops of 3 to 10 after 40 to 120 minutes of work, 2 to 9 places."""
    chance = random.Random(seed)

    def four(low: float, high: float) -> tuple[float, ...]:
        return tuple(round(chance.uniform(low, high), 4) for _ in range(STATIONS))

    return [
        Line(
            four(0.9, 1.1),
            tuple(chance.randint(2, 9) for _ in range(STATIONS - 1)),
            four(40, 120),
            four(3, 10),
        )
        for _ in range(count)
    ]


def records_of(cell: Cell, seed: int, runs: int) -> tuple[Worker, list[Record]]:
    """Replications under the compiled clock."""
    worker = Worker(cell, COMPILED)
    return worker, [worker.replicate(seed, k) for k in range(runs)]


def output(cell: Cell, seed: int, runs: int) -> int:
    """Good units of all replications."""
    return sum(record.cell["good"] for record in records_of(cell, seed, runs)[1])


def faster(line: Line, station: int, share: float) -> Line:
    """The line with the work of one station shorter by a share."""
    means = [mean * (1 - share) if k == station else mean for k, mean in enumerate(line.means)]
    return replace(line, means=tuple(means))


def measured(line: Line, seed: int) -> list[float]:
    """Relative gain of output per relative cut of the work of each station, with the same luck."""
    before = output(line.cell(TRUE_MINUTES), seed, TRUE_RUNS)
    after = [
        output(faster(line, k, FASTER).cell(TRUE_MINUTES), seed, TRUE_RUNS) for k in range(len(line.means))
    ]
    return [(each - before) / before / FASTER for each in after]


def exact(line: Line, seed: int) -> list[float]:
    """The exact elasticities of a line of exponential stations."""
    return [float(value) for value in elasticities(line.means, line.places)]


def picks(line: Line, seed: int, events: int = WATCHED_EVENTS) -> dict[str, int | None]:
    """The station that each hint names, None where it names none; active periods from so many events."""
    worker, records = records_of(line.cell(MINUTES), seed, RUNS)
    active = active_periods(worker.flat, seed, RUNS, events)
    found = hints(worker.flat, records, loss_account(worker.flat, records), active)
    names = worker.flat.names.stations
    longest = max(active["stations"], key=lambda row: row["mean_s"] or 0.0)["station"]
    chosen: dict[str, Any] = {
        "path": found["path"],
        "at work": found["at_work"],
        "blocking and starving": found["blocking_and_starving"],
        "mean active period": longest,
        "active periods": found["active_periods"],
    }
    return {hint: None if name is None else names.index(name) for hint, name in chosen.items()}


@dataclass
class Score:
    """Of how many lines a hint was right, and the elasticity given up over all of them."""

    lines: int = 0
    right: int = 0
    given_up: float = 0.0


def scores(
    lines: Sequence[Line],
    truth: Callable[[Line, int], list[float]],
    seed: int,
    events: int = WATCHED_EVENTS,
) -> dict[str, Score]:
    """How each hint does; one that names no station gives up all that the best one has."""
    found = {hint: Score() for hint in HINTS}
    for k, line in enumerate(lines):
        gains = truth(line, seed + k)
        for hint, pick in picks(line, seed + k, events).items():
            score = found[hint]
            score.lines += 1
            score.right += pick is not None and gains[pick] == max(gains)
            score.given_up += max(gains) - (gains[pick] if pick is not None else 0.0)
    return found


def print_table(title: str, found: dict[str, Score]) -> None:
    """A row for each hint."""
    count = found["path"].lines
    print(f"\n{title}, {count} lines\n{'hint':<24}{'right':>8}{'elasticity given up':>22}")
    for hint, score in found.items():
        print(f"{hint:<24}{100 * score.right / count:>6.0f} %{score.given_up / count:>22.3f}")


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--lines", type=int, nargs=2, default=(80, 60), help="of each kind")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    exponential, stopping = given.lines
    print_table(
        "Exponential times, uneven buffers",
        scores(exponential_lines(exponential, given.seed), exact, given.seed),
    )
    print_table(
        "Constant cycles, long stops", scores(lines_with_stops(stopping, given.seed), measured, given.seed)
    )


if __name__ == "__main__":
    main()
