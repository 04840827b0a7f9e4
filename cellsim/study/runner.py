"""Many replications of any cells, here, in processes or on any executor: the same numbers either way."""

from __future__ import annotations

import pickle
import signal
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import resolved_sha256
from cellsim.engine.clocks import AUTO, choose_means, prepare
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.kept import Kept
from cellsim.study.plan import make_plan
from cellsim.study.processes import are_copies, worker_processes
from cellsim.study.worker import Worker

PIECE = 0.5  # seconds that a piece of work for a worker process takes
LARGEST_PIECE = 50  # replications in a piece, so that the last pieces end at about the same time
AHEAD = 2  # pieces for each worker that are handed out before the first comes back
WORKERS_KEPT = 8  # cells that a process has ready to run

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Replications of a cell that somebody wants, by number; slim ones keep no lead times and no hours."""

    cell: Cell
    seed: int
    numbers: tuple[int, ...]
    slim: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """Work that can travel: some replications of a cell; `name` is the hash of its resolved text."""

    name: str
    cell: bytes
    clock: str
    seed: int
    numbers: tuple[int, ...]
    slim: bool


_ready: OrderedDict[tuple[str, str], Worker] = OrderedDict()  # the cells that this process ran last


def ready_worker(name: str, clock: str, cell: Cell | bytes) -> Worker:
    """The worker of a cell in this process; the cells that were run last are ready."""
    worker = _ready.pop((name, clock), None)
    if worker is None:
        worker = Worker(pickle.loads(cell) if isinstance(cell, bytes) else cell, clock)
    _ready[name, clock] = worker
    while len(_ready) > WORKERS_KEPT:
        _ready.popitem(last=False)
    return worker


def slimmed(record: Record, slim: bool) -> Record:
    """A record without its lead times and hours, which are most of it, where nobody wants them."""
    if slim:
        record.lead_times, record.levels_by_hour = [], []
        del record.wip_by_hour[:]
    return record


def do_piece(piece: Piece) -> tuple[list[Record], float]:
    """The records of a piece of work, and the seconds that each took; in whichever process."""
    start = time.perf_counter()
    worker = ready_worker(piece.name, piece.clock, piece.cell)
    records = [slimmed(worker.replicate(piece.seed, k), piece.slim) for k in piece.numbers]
    return records, (time.perf_counter() - start) / max(1, len(records))


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


class Runner:
    """Runs replications of any cells, one request after the other, with the same means.

    With `executor` work goes there (any of `concurrent.futures`, with `parallel` pieces under way at once);
    else to `workers` processes, or for 1 it is done in this process; None has the number chosen by the first
    request, as `auto` has the clock.  `kept` holds finished replications of earlier studies, and takes those
    of this one.  `announce(text)` is called before and after what takes long.

    Use it as a context: worker processes live until its end.
    """

    def __init__(
        self,
        *,
        clock: str = AUTO,
        workers: int | None = 1,
        executor: Executor | None = None,
        parallel: int = 4,
        kept: Kept | None = None,
        announce: Callable[[str], None] | None = None,
    ) -> None:
        self.clock, self.workers = clock, workers if executor is None else parallel
        self._given, self._kept, self._announce = executor, kept, announce
        self._executor = executor
        self._stack = ExitStack()
        self._names: dict[int, tuple[Cell, str]] = {}

    def __enter__(self) -> Runner:
        return self

    def __exit__(self, *error: object) -> None:
        self._stack.close()

    def settle_means(self, cell: Cell, replications: int) -> None:
        """Choose the clock and the number of processes for about so many replications, where that is open."""
        if self.clock == AUTO or self.workers is None:
            horizon = make_plan(cell).horizon
            self.clock, self.workers = choose_means(
                compile_cell(cell), horizon, replications, self.clock, self.workers
            )
        if self._given is None:
            prepare(self.clock, self._announce, load=self.workers <= 1 or are_copies())

    def each(self, requests: Sequence[Wanted]) -> Iterator[tuple[int, Record]]:
        """The records of all requests, each with the index of its request, as soon as they are there.

        Those that are kept come first, without a run.
        """
        pieces: deque[tuple[int, Wanted, list[int]]] = deque()
        for index, wanted in enumerate(requests):
            missing = list(wanted.numbers)
            if self._kept is not None:
                name = self._kept_name(wanted)
                there = self._kept.get(name, wanted.seed, wanted.numbers)
                missing = [k for k in missing if k not in there]
                yield from ((index, there[k]) for k in wanted.numbers if k in there)
            if missing:
                pieces.append((index, wanted, missing))
        if not pieces:
            return
        self.settle_means(pieces[0][1].cell, sum(len(missing) for _, _, missing in pieces))
        source = self._local(pieces) if self._in_this_process(pieces) else self._spread(pieces)
        for index, record in source:
            if self._kept is not None:
                self._kept.put(self._kept_name(requests[index]), requests[index].seed, record)
            yield index, record

    def records(self, requests: Sequence[Wanted]) -> list[list[Record]]:
        """The records of each request in order of number."""
        found: list[list[Record]] = [[] for _ in requests]
        for index, record in self.each(requests):
            found[index].append(record)
        for records in found:
            records.sort(key=lambda record: record.replication)
        return found

    def _in_this_process(self, pieces: deque[tuple[int, Wanted, list[int]]]) -> bool:
        alone = len(pieces) == 1 and len(pieces[0][2]) < 2
        return self._given is None and ((self.workers or 1) <= 1 or (alone and self._executor is None))

    def _name(self, cell: Cell) -> str:
        """The hash of the resolved text of a cell, made once."""
        if id(cell) not in self._names:
            self._names[id(cell)] = (
                cell,
                resolved_sha256(cell),
            )  # the cell is held, so that its id stays its own
        return self._names[id(cell)][1]

    def _kept_name(self, wanted: Wanted) -> str:
        """Under which name replications are kept: slim ones apart."""
        return self._name(wanted.cell) + ("-slim" if wanted.slim else "")

    def _local(self, pieces: deque[tuple[int, Wanted, list[int]]]) -> Iterator[tuple[int, Record]]:
        for index, wanted, numbers in pieces:
            worker = ready_worker(self._name(wanted.cell), self.clock, wanted.cell)
            for k in numbers:
                yield index, slimmed(worker.replicate(wanted.seed, k), wanted.slim)

    def _spread(self, waiting: deque[tuple[int, Wanted, list[int]]]) -> Iterator[tuple[int, Record]]:
        """Hand out pieces of about PIECE seconds, first single replications, and take what comes back.

        So there is something to show soon, and a stop never waits long for what is under way.
        """
        workers = self.workers or 1
        if self._executor is None:
            self._executor = self._stack.enter_context(worker_processes(workers))
        size = 1
        under_way: dict[Future[tuple[list[Record], float]], int] = {}
        travelling: dict[str, bytes] = {}
        try:
            while waiting or under_way:
                while waiting and len(under_way) < AHEAD * workers:
                    index, wanted, numbers = waiting[0]
                    some, numbers[:] = tuple(numbers[:size]), numbers[size:]
                    if not numbers:
                        waiting.popleft()
                    name = self._name(wanted.cell)
                    if name not in travelling:
                        travelling[name] = pickle.dumps(wanted.cell)
                    piece = Piece(name, travelling[name], self.clock, wanted.seed, some, wanted.slim)
                    under_way[self._executor.submit(do_piece, piece)] = index
                done, _ = wait(under_way, return_when=FIRST_COMPLETED)
                for future in done:
                    index = under_way.pop(future)
                    records, seconds = future.result()
                    size = max(1, min(LARGEST_PIECE, int(PIECE / max(seconds, 1e-6))))
                    yield from ((index, record) for record in records)
        finally:
            for future in under_way:
                future.cancel()
