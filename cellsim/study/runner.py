"""Many replications, in this process or in workers: the same numbers either way, progress, a clean stop."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine.clocks import AUTO, SIMPY, choose_means, clock_named, prepare
from cellsim.engine.locked_part import locked_part
from cellsim.engine.model import compile_cell
from cellsim.engine.record import (
    ExitCounter,
    Record,
    counted_path,
    dead_ends,
    fill,
    read,
    standstill,
)
from cellsim.engine.tables import FlatCell, natural
from cellsim.study.audit import audit
from cellsim.study.plan import Plan, make_plan
from cellsim.study.processes import are_copies, worker_processes
from cellsim.units import HOUR

CHUNK_TIME = 24 * HOUR  # how far a run goes before what it logged is counted
DEFAULT_REPLICATIONS = 100
PIECE = 0.5  # seconds that a piece of work for a worker process takes
LARGEST_PIECE = 50  # replications in a piece, so that the last pieces end at about the same time

Progress = Callable[[int, int], None]


class Worker:
    """Runs replications of one cell one after the other, in whichever process it lives."""

    def __init__(self, cell: Cell, clock: str = SIMPY) -> None:
        self.clock = clock_named(clock)
        self.flat: FlatCell = compile_cell(cell)
        self.plan: Plan = make_plan(cell)
        self._scratch: Any = None

    def replicate(self, seed: int, replication: int) -> Record:
        """One replication from the start of the run to the end of the counted time."""
        flat, plan = self.flat, self.plan
        run = self.clock(flat, seed, replication, scratch=self._scratch)
        record = Record(replication, hourly=[0] * len(plan.hours), ended_at=plan.horizon)
        outlet = flat.names.stores.index(FINISHED)
        starts, ends = [hour.start for hour in plan.hours], [hour.end for hour in plan.hours]
        if plan.counted_from:
            run.advance(plan.counted_from)
        before = read(run.state)
        counter = ExitCounter(record, starts, ends, outlet)
        run.count_from_now()
        at = plan.counted_from
        while at < plan.horizon:
            at = min(plan.horizon, at + CHUNK_TIME)
            run.advance(at)
            counter.take(run)
            if run.stalled_at >= 0 and record.reason == "horizon":
                record.circle = standstill(run.state, flat.names)
                record.full = sorted({flat.names.stores[s] for _, s in dead_ends(run.state)}, key=natural)
                if record.circle:
                    record.reason, record.ended_at = "locked", run.stalled_at
            if record.reason == "horizon" and (part := locked_part(run.state, flat.names)) is not None:
                record.reason, record.ended_at = "locked", part.since
                record.circle, record.full = part.words, part.full
        c = run.state
        fill(record, before, read(c))
        record.highest = [store.highest for store in c.stores]
        record.wip_highest, record.inside, record.events = c.wip_highest, c.wip, c.events
        record.path, record.path_plans, record.path_elapsed = counted_path(run)
        record.path_forced = c.path_forced
        record.violations = audit(run)
        if sum(record.path) != record.path_elapsed:
            record.violations.append(
                f"the counted path adds up to {sum(record.path)} of {record.path_elapsed} us"
            )
        self._scratch = run.leftover
        return record


_worker: Worker | None = None


def _start_worker(cell: Cell, clock: str) -> None:
    """In a new process: build the model once."""
    global _worker
    _worker = Worker(cell, clock)


def _work(seed: int, replications: list[int]) -> tuple[list[Record], float]:
    """The records, and the seconds that they took."""
    assert _worker is not None
    start = time.perf_counter()
    return [_worker.replicate(seed, k) for k in replications], time.perf_counter() - start


@dataclass
class Study:
    """The replications of a study in order; under which clock; `interrupted` when somebody stopped it."""

    clock: str = SIMPY
    records: list[Record] = field(default_factory=list)
    interrupted: bool = False


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Ctrl-C counts only after what is within is done, so that a record is kept and counted or neither."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, frame: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if asked:
        raise KeyboardInterrupt


def run_replications(
    cell: Cell,
    seed: int,
    replications: Iterable[int],
    *,
    clock: str = AUTO,
    workers: int | None = 1,
    progress: Progress | None = None,
    keep: Callable[[Record], None] | None = None,
    announce: Callable[[str], None] | None = None,
) -> Study:
    """Run the replications with these numbers; the records come back in order of number.

    The clock changes no figure, and neither does the number of processes; `auto` and None
    have them chosen by the amount of work.  `announce(text)` is called before and after what takes long.

    `progress(done, of)` is called in this process after each chunk, `keep(record)` for each finished record,
    in order of completion.  Ctrl-C ends the study cleanly with what is finished.
    """
    wanted = list(replications)
    if not wanted:
        return Study(SIMPY if clock == AUTO else clock)
    clock, workers = choose_means(compile_cell(cell), make_plan(cell).horizon, len(wanted), clock, workers)
    study = Study(clock)

    def take(records: list[Record]) -> None:
        for record in records:
            with uninterrupted():
                if keep is not None:
                    keep(record)
                study.records.append(record)
        if progress is not None:
            progress(len(study.records), len(wanted))

    try:
        prepare(clock, announce, load=workers <= 1 or are_copies())
        if workers <= 1 or len(wanted) < 2:
            worker = Worker(cell, clock)
            for replication in wanted:
                take([worker.replicate(seed, replication)])
        else:
            with worker_processes(workers, _start_worker, (cell, clock)) as executor:
                _collect(executor, seed, wanted, workers, take)
    except KeyboardInterrupt:
        study.interrupted = True
    study.records.sort(key=lambda record: record.replication)
    return study


def _collect(
    executor: Executor, seed: int, wanted: list[int], workers: int, take: Callable[[list[Record]], None]
) -> None:
    """Hand out pieces of work of about PIECE seconds, first single replications, and take what comes back.

    So there is something to show soon, and a stop never waits long for what is under way.
    """
    waiting = list(reversed(wanted))
    size = 1
    under_way: set[Future[tuple[list[Record], float]]] = set()
    try:
        while waiting or under_way:
            while waiting and len(under_way) < 2 * workers:
                piece = [waiting.pop() for _ in range(min(size, len(waiting)))]
                under_way.add(executor.submit(_work, seed, piece))
            done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
            for future in done:
                records, seconds = future.result()
                take(records)
                size = max(1, min(LARGEST_PIECE, int(PIECE * len(records) / max(seconds, 1e-6))))
    except KeyboardInterrupt:
        for future in under_way:
            future.cancel()
        raise
