"""Whole processes, timed on the wall clock: commands of cellsim, single replications, workers."""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from lines import HERE, SEED
from timing import NotMeasured

if TYPE_CHECKING:
    from cellsim.describe.cell import Cell

ROOT = HERE.parents[1]
SCENARIOS = ROOT / "scenarios"
FIGURE = b" good units "  # what stands behind the first figure that a study shows


@dataclass(frozen=True, slots=True)
class Finished:
    """A process that ended by itself, or was cut off after `seconds`; what it printed.

    `cpu_seconds` holds those of the processes that it started too; the system may not tell them (0).
    """

    seconds: float
    cpu_seconds: float
    cut_off: bool
    printed: str


def run_process(
    arguments: Sequence[str], limit: float, folder: str, surroundings: Mapping[str, str]
) -> Finished:
    """Run Python with the package of this folder; NotMeasured where that fails.

    After `limit` seconds it is ended, with all processes that it has started.
    """
    cpu_before = cpu_of_children()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **surroundings}
    start = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, *arguments],
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        cut_off, printed, complaints = False, "", ""
        try:
            printed, complaints = process.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            if hasattr(os, "killpg"):
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
            cut_off = True
    seconds = time.perf_counter() - start
    if process.returncode != 0 and not cut_off:
        last = complaints.strip().splitlines()[-1:]
        raise NotMeasured(f"{' '.join(arguments)} ended with code {process.returncode}: {''.join(last)}")
    return Finished(seconds, cpu_of_children() - cpu_before, cut_off, printed)


def cpu_of_children() -> float:
    """CPU seconds of all processes that this one has started and that have ended, and of theirs."""
    times = os.times()
    return times.children_user + times.children_system


def cellsim_seconds(arguments: Sequence[str], repeats: int, limit: float) -> dict[str, Any]:
    """Seconds of a whole `cellsim` command: the median of some times, and whether the last was cut off."""
    each: list[float] = []
    cpu: list[float] = []
    cut_off = False
    while len(each) < repeats and not cut_off:
        with TemporaryDirectory() as folder:
            done = run_process(["-m", "cellsim", *arguments], limit, folder, {})
        each.append(done.seconds)
        cpu.append(done.cpu_seconds)
        cut_off = done.cut_off
    return {"seconds": median(each), "each": each, "cpu_seconds": median(cpu), "cut_off": cut_off}


def until_first_figure(arguments: Sequence[str], limit: float) -> dict[str, Any]:
    """Seconds from the start of a `cellsim` command in a terminal to its first figure, and to its end.

    With an empty cache, so that nothing has been compiled.  NotMeasured where there is no terminal to be had.
    """
    try:
        import pty
    except ImportError as reason:
        raise NotMeasured("this system has no terminals that a program can open") from reason
    screen, terminal = pty.openpty()
    shown = b""
    first: float | None = None
    with TemporaryDirectory() as folder:
        surroundings = {
            "PYTHONPATH": str(ROOT),
            "CELLSIM_CACHE": str(Path(folder) / "cache"),
            "TERM": "xterm",
        }
        start = time.perf_counter()
        with subprocess.Popen(
            [sys.executable, "-m", "cellsim", *arguments],
            cwd=folder,
            env={**os.environ, **surroundings},
            stdin=subprocess.DEVNULL,
            stdout=terminal,
            stderr=terminal,
            start_new_session=True,
        ) as process:
            os.close(terminal)
            while select.select([screen], [], [], max(0.0, start + limit - time.perf_counter()))[0]:
                try:
                    piece = os.read(screen, 65536)
                except OSError:  # the other side is closed
                    break
                if not piece:
                    break
                shown += piece
                if first is None and FIGURE in shown:
                    first = time.perf_counter() - start
            cut_off = time.perf_counter() - start >= limit
            if cut_off:
                os.killpg(process.pid, signal.SIGKILL)
        os.close(screen)
    if first is None:
        raise NotMeasured(f"{' '.join(arguments)} showed no figure within {limit:.0f} s")
    return {"seconds": first, "whole_s": time.perf_counter() - start, "cut_off": cut_off}


def one_run(text: str, empty_cache: bool = False) -> dict[str, Any]:
    """What `one_run.py` says of a cell with this text."""
    with TemporaryDirectory() as folder:
        cell = Path(folder) / "cell.yaml"
        cell.write_text(text, encoding="utf-8")
        cache = {"CELLSIM_CACHE": str(Path(folder) / "cache")} if empty_cache else {}
        done = run_process([str(HERE / "one_run.py"), str(cell)], 600.0, folder, cache)
    answer: dict[str, Any] = json.loads(done.printed)
    return answer


def workers_gain(cell: Cell, seconds: float) -> dict[str, Any]:
    """Wall and CPU seconds of one study with one worker and with two; about `seconds` with one.

    The one works in this process, which has started already.  The two are started anew: the seconds of a
    study of two replications tell what that costs.  `ratio_of_cpu` is what the CPU seconds allow where two
    cores have nothing else to do.
    """
    from cellsim.engine.clocks import COMPILED
    from cellsim.study.replicate import run_replications

    def timed(replications: int, workers: int) -> tuple[float, float]:
        start, cpu_start = time.perf_counter(), time.process_time() + cpu_of_children()
        run_replications(cell, SEED, range(replications), clock=COMPILED, workers=workers)
        return time.perf_counter() - start, time.process_time() + cpu_of_children() - cpu_start

    timed(2, 1)
    count = max(40, round(40 * seconds / timed(40, 1)[0]))
    starting, _ = timed(2, 2)
    (one, cpu_of_one), (two, cpu_of_two) = timed(count, 1), timed(count, 2)
    return {
        "ratio": one / two,
        "ratio_of_cpu": 2 * cpu_of_one / cpu_of_two,
        "replications": count,
        "one_worker_s": one,
        "two_workers_s": two,
        "starting_two_workers_s": starting,
        "cpu_of_one_worker_s": cpu_of_one,
        "cpu_of_two_workers_s": cpu_of_two,
    }
