"""Many replications, in this process or in workers: the same numbers either way, progress, a clean stop."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures import as_completed as completed
from dataclasses import dataclass, field
from typing import Any

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine.clock_simpy import SimpyRun
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
    start_path,
)
from cellsim.engine.tables import FlatCell, natural
from cellsim.study.audit import audit
from cellsim.study.plan import HOUR, Plan, make_plan

CHUNK_TIME = 24 * HOUR  # how far a run goes before what it logged is counted
DEFAULT_REPLICATIONS = 100

Progress = Callable[[int, int], None]


class Worker:
    """Runs replications of one cell one after the other, in whichever process it lives."""

    def __init__(self, cell: Cell) -> None:
        self.flat: FlatCell = compile_cell(cell)
        self.plan: Plan = make_plan(cell)
        self._scratch: Any = None

    def replicate(self, seed: int, replication: int) -> Record:
        """One replication from the start of the run to the end of the counted time."""
        flat, plan = self.flat, self.plan
        run = SimpyRun(flat, seed, replication, scratch=self._scratch)
        c = run.state
        record = Record(replication, hourly=[0] * len(plan.hours), ended_at=plan.horizon)
        outlet = flat.names.stores.index(FINISHED)
        starts, ends = [hour.start for hour in plan.hours], [hour.end for hour in plan.hours]
        if plan.counted_from:
            run.advance(plan.counted_from)
            run.exits.clear()
        before, path_start = read(c), start_path(c)
        counter = ExitCounter(record, starts, ends, outlet)
        for store in c.stores:
            store.highest = store.level
        c.wip_highest = c.wip
        while c.now < plan.horizon:
            run.advance(min(plan.horizon, c.now + CHUNK_TIME))
            counter.take(run)
            if run.stalled_at >= 0 and record.reason == "horizon":
                record.circle = standstill(c, flat.names)
                record.full = sorted({flat.names.stores[s] for _, s in dead_ends(c)}, key=natural)
                if record.circle:
                    record.reason, record.ended_at = "locked", run.stalled_at
            if record.reason == "horizon" and (part := locked_part(c, flat.names)) is not None:
                record.reason, record.ended_at = "locked", part.since
                record.circle, record.full = part.words, part.full
        fill(record, before, read(c))
        record.highest = [store.highest for store in c.stores]
        record.wip_highest, record.inside, record.events = c.wip_highest, c.wip, c.events
        record.path, record.path_plans, record.path_elapsed = counted_path(c, path_start)
        record.path_forced = c.path_forced
        record.violations = audit(run)
        if sum(record.path) != record.path_elapsed:
            record.violations.append(
                f"the counted path adds up to {sum(record.path)} of {record.path_elapsed} us"
            )
        self._scratch = c
        return record


_worker: Worker | None = None


def _start_worker(cell: Cell) -> None:
    """In a new process: build the model once; leave Ctrl-C to the parent."""
    global _worker
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _worker = Worker(cell)


def _work(seed: int, replications: list[int]) -> list[Record]:
    assert _worker is not None
    return [_worker.replicate(seed, replication) for replication in replications]


@dataclass
class Study:
    """The replications of a study, finished ones first; `interrupted` when somebody stopped it."""

    records: list[Record] = field(default_factory=list)
    interrupted: bool = False


def _chunks(wanted: list[int], workers: int) -> Iterator[list[int]]:
    size = max(1, min(20, len(wanted) // (workers * 8)))
    for k in range(0, len(wanted), size):
        yield wanted[k : k + size]


def run_replications(
    cell: Cell,
    seed: int,
    replications: Iterable[int],
    *,
    workers: int = 1,
    progress: Progress | None = None,
    keep: Callable[[Record], None] | None = None,
) -> Study:
    """Run the replications with these numbers; the records come back in order of number.

    `progress(done, of)` is called in this process after each chunk, `keep(record)` for each finished record,
    in order of completion.  Ctrl-C ends the study cleanly with what is finished.
    """
    wanted = list(replications)
    study = Study()

    def take(records: list[Record]) -> None:
        for record in records:
            if keep is not None:
                keep(record)
            study.records.append(record)
        if progress is not None:
            progress(len(study.records), len(wanted))

    try:
        if workers <= 1 or len(wanted) < 2:
            worker = Worker(cell)
            for replication in wanted:
                take([worker.replicate(seed, replication)])
        else:
            with ProcessPoolExecutor(
                workers, multiprocessing.get_context("spawn"), _start_worker, (cell,)
            ) as executor:
                _collect(executor, seed, wanted, workers, take)
    except KeyboardInterrupt:
        study.interrupted = True
    study.records.sort(key=lambda record: record.replication)
    return study


def _collect(
    executor: Executor, seed: int, wanted: list[int], workers: int, take: Callable[[list[Record]], None]
) -> None:
    futures: list[Future[list[Record]]] = [
        executor.submit(_work, seed, chunk) for chunk in _chunks(wanted, workers)
    ]
    try:
        for future in completed(futures):
            take(future.result())
    except KeyboardInterrupt:
        for future in futures:
            future.cancel()
        raise
