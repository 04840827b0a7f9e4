"""The lines that are timed: the ten stations in SimPy, in C and under both clocks; rows of any length."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from timing import Counts, NotMeasured, Side

if TYPE_CHECKING:
    from cellsim.describe.cell import Cell

HERE = Path(__file__).resolve().parent
TEN_STATIONS = HERE / "ten_stations.yaml"
C_LINE = HERE / "ten_stations.c"
SECOND = 1_000_000  # microseconds
SHIFT = 8 * 3600 * SECOND
SEED = 1
PURPOSES = ("element 1 work", "stop jam every", "stop jam lasts")  # of the random numbers of a station


def row_of_stations(count: int, shifts: str, study: str) -> str:
    """The text of a cell: the line of ten_stations.yaml with another number of stations, hours and study."""
    station = (
        "cycle: {law: lognormal, mean: 36 s, spread: 15 %}, "
        "stops: {jam: {every: 40 min of running, lasts: 3 min, law: exponential}}"
    )
    route = [name for k in range(1, count) for name in (f"m{k}", f"s{k}")] + [f"m{count}"]
    return "\n".join(
        [
            f"cell: {count} stations in a row",
            *([f"shifts: {shifts}"] if shifts else []),
            f"route: [{', '.join(route)}]",
            "stations:",
            *(f"  m{k}: {{{station}}}" for k in range(1, count + 1)),
            "stores:",
            *(f"  s{k}: {{places: 4}}" for k in range(1, count)),
            f"study: {study}",
            "",
        ]
    )


def of_a_shift(count: int) -> str:
    """The text of a row of stations that begins half full and works one shift."""
    return row_of_stations(count, "{day: {from: 06:00, to: 14:00}}", "{shifts: 1, start: primed}")


def round_the_clock(count: int, hours: int) -> str:
    """The text of a row of stations that works for so many hours without a break."""
    return row_of_stations(count, "", f"{{run: {hours} h, start: empty}}")


def handwritten_side(name: str, run: Callable[[int], dict[str, Any]]) -> Side:
    """A hand-written SimPy line, built and run as its script does it."""

    def count(answer: dict[str, Any]) -> Counts:
        return Counts(answer["units"], sum(each["cycles"] for each in answer["stations"].values()), 0)

    return Side(name, run, count)


def clock_side(cell: Cell, clock: str, runs: int = 1, until: int = SHIFT) -> Side:
    """A cell under one of the clocks up to a time (microseconds); its flat model is made once, here.

    Each run reuses the memory of the one before, as a study does.
    """
    from cellsim.engine.clocks import COMPILED, clock_named
    from cellsim.engine.compiled_code import is_available
    from cellsim.engine.model import compile_cell

    if clock == COMPILED and not is_available():
        raise NotMeasured("numba is not installed")
    run_class, flat = clock_named(clock), compile_cell(cell)
    leftover = None

    def run(first: int) -> Any:
        nonlocal leftover
        for replication in range(first, first + runs):
            one = run_class(flat, SEED, replication, scratch=leftover)
            one.advance(until)
            leftover = one.leftover
        return one

    def count(one: Any) -> Counts:
        state = one.state
        return Counts(state.good, sum(machine.cycles for machine in state.machines), state.events)

    return Side(f"cellsim, {'SimPy' if clock == 'simpy' else clock} clock", run, count, runs)


def compiled_c(folder: Path) -> Path:
    """The C line as a program in a folder; NotMeasured where there is no C compiler."""
    compiler, program = shutil.which("cc"), folder / "ten_stations"
    if compiler is None:
        raise NotMeasured("there is no C compiler (cc)")
    options = ["-std=c11", "-D_POSIX_C_SOURCE=200809L", "-O2", "-ffp-contract=off"]
    made = subprocess.run(
        [compiler, *options, "-o", str(program), str(C_LINE), "-lm"], capture_output=True, text=True
    )
    if made.returncode != 0:
        raise NotMeasured(f"cc does not compile {C_LINE.name}: {made.stderr.strip()}")
    return program


@contextmanager
def c_side(runs: int) -> Iterator[Side]:
    """The C line in a process of its own that waits for orders; with the random numbers of cellsim."""
    from cellsim.engine.draws import stream_key

    keys = [str(stream_key(f"m{k}", purpose)) for k in range(1, 11) for purpose in PURPOSES]
    with (
        TemporaryDirectory() as folder,
        subprocess.Popen(
            [compiled_c(Path(folder)), str(SEED), *keys],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        ) as process,
    ):
        orders, answers = process.stdin, process.stdout
        assert orders is not None and answers is not None

        def run(first: int) -> list[int]:
            orders.write(f"{first} {runs}\n")
            return [int(number) for number in answers.readline().split()]

        yield Side("C", run, lambda answer: Counts(*answer[-3:]), runs, lambda answer: 1e-9 * answer[0])
