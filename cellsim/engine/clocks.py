"""The two clocks under which the same rules run: which there are, and which suits an amount of work."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from cellsim.engine import compiled_code
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.errors import UsageError
from cellsim.units import HOUR

if TYPE_CHECKING:
    from cellsim.engine.tables import FlatCell

SIMPY, COMPILED, AUTO = "simpy", "compiled", "auto"

LONGEST_PROBE = 0.25  # seconds for which the SimPy clock is tried
CLEAR = 3  # a forecast of so many times what reading or compiling costs needs no longer trial
SHORTEST_PROBE = 0.02  # seconds below which a trial says nothing
TIMES_FASTER = 20  # how many times faster the compiled clock is at least, with what is read off each run
READING = 1.0  # seconds until the compiled code has been read from disk
WORKER_PAYS = 1.0  # seconds of work from which a second process pays
NO_NUMBA = "the compiled clock needs numba, which is not installed; --clock simpy gives the same figures"


def clock_named(name: str) -> Any:
    """The class of runs of a clock; UsageError where it needs what is not installed."""
    if name == SIMPY:
        return SimpyRun
    if not compiled_code.is_available():
        raise UsageError(NO_NUMBA)
    from cellsim.engine.clock_compiled import CompiledRun

    return CompiledRun


def seconds_under_simpy(flat: FlatCell, horizon: int, replications: int, clearly: float) -> float:
    """How long so many replications up to `horizon` (microseconds) take under SimPy, by a short trial.

    The trial is over sooner when the answer is above `clearly` seconds.
    """
    start = time.perf_counter()
    run = SimpyRun(flat, 1, 0)
    at = 0
    while True:
        at = min(horizon, at + HOUR)
        run.advance(at)
        spent = time.perf_counter() - start
        forecast = spent * replications * horizon / max(1, at)
        if at >= horizon or spent > LONGEST_PROBE or (spent > SHORTEST_PROBE and forecast > clearly):
            return forecast


def choose_means(
    flat: FlatCell, horizon: int, replications: int, clock: str, workers: int | None
) -> tuple[str, int]:
    """The clock and the number of processes with which a study is done first; what is given stands.

    SimPy for a short look, the compiled clock for volume: when the time that it saves is more than the time
    to read its code from disk, or to compile it.  One process a core, at most 4, where the work is worth it.
    """
    if clock != AUTO and workers is not None:
        return clock, workers
    many = most_workers(replications)
    clear = CLEAR * max(_ready_in() * many, WORKER_PAYS * TIMES_FASTER)
    seconds = seconds_under_simpy(flat, horizon, replications, clear)
    if clock == AUTO:
        clock = COMPILED if compiling_pays(seconds, workers or many) else SIMPY
    if workers is None:
        alone = seconds / TIMES_FASTER if clock == COMPILED else seconds
        workers = many if alone > WORKER_PAYS else 1
    return clock, workers


def most_workers(replications: int) -> int:
    """How many processes at most are chosen for so many replications."""
    return min(4, os.cpu_count() or 1, replications)


def compiling_pays(seconds: float, workers: int) -> bool:
    """Whether the compiled clock saves more of so many seconds of SimPy runs than its code takes to come."""
    saved = seconds * (1 - 1 / TIMES_FASTER) / workers
    return compiled_code.is_available() and saved > _ready_in()


def _ready_in() -> float:
    """Seconds until the compiled code can run."""
    return READING if compiled_code.is_on_disk() else READING + compiled_code.USUAL_SECONDS


def prepare(clock: str, announce: Callable[[str], None] | None = None, *, load: bool = False) -> None:
    """See to it that the code of a clock is on disk before several processes ask for it.

    `load`: and in this process, for its own runs or those of its copies.
    """
    if clock == COMPILED and (load or not compiled_code.is_on_disk()):
        clock_named(clock).prepare(announce)
