"""Many replications of any cells, here, in processes or on any executor: the same numbers either way."""

from __future__ import annotations

import pickle
import signal
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import Protocol

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import resolved_sha256
from cellsim.engine.clocks import (
    AUTO,
    COMPILED,
    SIMPY,
    WORKER_PAYS,
    choose_means,
    compiling_pays,
    most_workers,
    prepare,
)
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.errors import WorkersLost
from cellsim.study.kept import Kept
from cellsim.study.plan import make_plan
from cellsim.study.processes import are_copies, worker_processes
from cellsim.study.worker import Worker

PIECE = 0.5  # seconds that a piece of work for a worker process takes
LARGEST_PIECE = 50  # replications in a piece, so that the last pieces end at about the same time
AHEAD = 2  # pieces for each worker that are handed out before the first comes back
WORKERS_KEPT = 8  # cells that a process has ready to run
NAMES_KEPT = 64  # cells whose names a runner has ready
TRIES = 2  # how often a piece whose worker was lost is handed out
LOOK = 1.0  # seconds after which a pool is asked again how much it can do

Progress = Callable[[int, int], None]
Done = tuple[list[Record], float]


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


@dataclass(slots=True)
class Task:
    """A piece with the index of its request, and how often it has been handed out."""

    index: int
    piece: Piece
    tries: int = 0


class Pool(Protocol):
    """Workers elsewhere, such as those of a cluster, which may come and go during a study."""

    def submit(self, work: Callable[[Piece], Done], piece: Piece) -> Future[Done]:
        """Have a piece done."""

    def places(self) -> int:
        """How many pieces can be done at once just now; raises WorkersLost where none can for good."""

    def is_lost(self, error: Exception) -> bool:
        """Whether a piece was not done since its worker was lost, so that another may do it."""


_ready: OrderedDict[tuple[str, str], Worker] = OrderedDict()  # the cells that this process ran last
_taking = threading.Lock()


@contextmanager
def ready_worker(name: str, clock: str, cell: Cell | bytes) -> Iterator[Worker]:
    """The worker of a cell, for one thread at a time; the cells that this process ran last are ready.

    One that was interrupted is not used again.
    """
    with _taking:
        worker = _ready.pop((name, clock), None)
    if worker is None:
        worker = Worker(pickle.loads(cell) if isinstance(cell, bytes) else cell, clock)
    yield worker
    with _taking:
        _ready[name, clock] = worker
        while len(_ready) > WORKERS_KEPT:
            _ready.popitem(last=False)


def slimmed(record: Record, slim: bool) -> Record:
    """A record without its lead times and hours, which are most of it, where nobody wants them."""
    if slim:
        record.lead_times, record.levels_by_hour = [], []
        del record.wip_by_hour[:]
    return record


def do_piece(piece: Piece) -> Done:
    """The records of a piece of work, and the seconds that each took; in whichever process."""
    start = time.perf_counter()
    with ready_worker(piece.name, piece.clock, piece.cell) as worker:
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

    With `executor` work goes there (any of `concurrent.futures`, with `parallel` pieces under way at once),
    with `pool` to workers elsewhere; else to `workers` processes, or for 1 it is done in this process; None
    has the number chosen by the first request, as `auto` has the clock.  Where more work comes than that
    request foretold, better means take over once as much time is spent as they cost, so that no study takes
    more than about twice what it might.  `kept` holds finished replications of earlier studies, and takes
    those of this one.  `announce(text)` is called before and after what takes long.

    Use it as a context: worker processes live until its end.

    Raises:
        WorkersLost: a piece of work was not done because worker processes ended, or those of the pool did.
    """

    def __init__(
        self,
        *,
        clock: str = AUTO,
        workers: int | None = 1,
        executor: Executor | None = None,
        parallel: int = 4,
        pool: Pool | None = None,
        kept: Kept | None = None,
        announce: Callable[[str], None] | None = None,
    ) -> None:
        self.clock, self.workers = clock, workers if executor is None else parallel
        self._given = executor is not None or pool is not None
        self._clock_is_open = clock == AUTO
        self._workers_are_open = workers is None and not self._given
        self._spent = 0.0  # seconds of runs since the clock was chosen
        self._executor, self._pool, self._kept, self._announce = executor, pool, kept, announce
        self._stack = ExitStack()
        self._names: OrderedDict[int, tuple[Cell, str]] = OrderedDict()

    def __enter__(self) -> Runner:
        return self

    def __exit__(self, *error: object) -> None:
        self._stack.close()

    def settle_means(self, cell: Cell, replications: int) -> None:
        """Choose the clock and the number of processes for about so many replications, where that is open."""
        if self._pool is not None:
            self.workers = self._at_once()
        if self.clock == AUTO or self.workers is None:
            horizon = make_plan(cell).horizon
            self.clock, self.workers = choose_means(
                compile_cell(cell), horizon, replications, self.clock, self.workers
            )
        elif self._workers_are_open and self.workers == 1 and self._spent > WORKER_PAYS:
            self.workers = most_workers(replications)
        self._prepare()

    def _prepare(self) -> None:
        if not self._given:
            prepare(self.clock, self._announce, load=(self.workers or 1) <= 1 or are_copies())

    def _count(self, seconds: float) -> None:
        """Take down what a run took; from now on the compiled clock where the other was chosen too soon."""
        self._spent += seconds
        if self._clock_is_open and self.clock == SIMPY and compiling_pays(self._spent, self._at_once()):
            self.clock, self._spent = COMPILED, 0.0
            self._prepare()

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

    def records(self, requests: Sequence[Wanted], progress: Progress | None = None) -> list[list[Record]]:
        """The records of each request in order of number."""
        found: list[list[Record]] = [[] for _ in requests]
        of = sum(len(wanted.numbers) for wanted in requests)
        for done, (index, record) in enumerate(self.each(requests), 1):
            found[index].append(record)
            if progress is not None:
                progress(done, of)
        for records in found:
            records.sort(key=lambda record: record.replication)
        return found

    def _in_this_process(self, pieces: deque[tuple[int, Wanted, list[int]]]) -> bool:
        alone = len(pieces) == 1 and len(pieces[0][2]) < 2
        return not self._given and ((self.workers or 1) <= 1 or (alone and self._executor is None))

    def _name(self, cell: Cell) -> str:
        """The hash of the resolved text of a cell, made once for the cells asked for last."""
        held = self._names.pop(id(cell), None)
        if held is None:
            held = (cell, resolved_sha256(cell))
        self._names[id(cell)] = held  # with the cell, so that its id stays its own
        while len(self._names) > NAMES_KEPT:
            self._names.popitem(last=False)
        return held[1]

    def _kept_name(self, wanted: Wanted) -> str:
        """Under which name replications are kept: slim ones apart."""
        return self._name(wanted.cell) + ("-slim" if wanted.slim else "")

    def _local(self, pieces: deque[tuple[int, Wanted, list[int]]]) -> Iterator[tuple[int, Record]]:
        for index, wanted, numbers in pieces:
            for k in numbers:
                start = time.perf_counter()
                with ready_worker(self._name(wanted.cell), self.clock, wanted.cell) as worker:
                    record = slimmed(worker.replicate(wanted.seed, k), wanted.slim)
                spent = time.perf_counter() - start
                yield index, record
                self._count(spent)

    def _at_once(self) -> int:
        """How many pieces are done at once."""
        return max(1, self._pool.places() if self._pool is not None else self.workers or 1)

    def _submit(self, piece: Piece) -> Future[Done]:
        if self._pool is not None:
            return self._pool.submit(do_piece, piece)
        if self._executor is None:
            self._executor = self._stack.enter_context(worker_processes(self.workers or 1))
        return self._executor.submit(do_piece, piece)

    def _spread(self, waiting: deque[tuple[int, Wanted, list[int]]]) -> Iterator[tuple[int, Record]]:
        """Hand out pieces of about PIECE seconds, first single replications, and take what comes back.

        So there is something to show soon, and a stop never waits long for what is under way.  Where a piece
        fails, what came back with it is handed on first.
        """
        size = 1
        under_way: dict[Future[Done], Task] = {}
        again: deque[Task] = deque()
        travelling: dict[str, bytes] = {}
        try:
            while waiting or again or under_way:
                while (waiting or again) and len(under_way) < AHEAD * self._at_once():
                    task = again.popleft() if again else self._next(waiting, size, travelling)
                    task.tries += 1
                    under_way[self._submit(task.piece)] = task
                timeout = LOOK if self._pool is not None else None
                done, _ = wait(under_way, timeout, FIRST_COMPLETED)
                if not done:
                    self._at_once()  # ends the study where nobody is left
                failed: list[tuple[Task, Exception]] = []
                for future in done:
                    task = under_way.pop(future)
                    try:
                        records, seconds = future.result()
                    except Exception as error:
                        failed.append((task, error))
                        continue
                    size = max(1, min(LARGEST_PIECE, int(PIECE / max(seconds, 1e-6))))
                    yield from ((task.index, record) for record in records)
                    self._count(seconds * len(records))
                again.extend(self._once_more(task, error) for task, error in failed)
        finally:
            for future in under_way:
                future.cancel()

    def _next(
        self, waiting: deque[tuple[int, Wanted, list[int]]], size: int, travelling: dict[str, bytes]
    ) -> Task:
        """The next piece of so many replications."""
        index, wanted, numbers = waiting[0]
        some, numbers[:] = tuple(numbers[:size]), numbers[size:]
        if not numbers:
            waiting.popleft()
        name = self._name(wanted.cell)
        if name not in travelling:
            travelling[name] = pickle.dumps(wanted.cell)
        return Task(index, Piece(name, travelling[name], self.clock, wanted.seed, some, wanted.slim))

    def _once_more(self, task: Task, error: Exception) -> Task:
        """A task that may be done by another worker; any other error goes on to the caller."""
        if isinstance(error, BrokenExecutor):
            raise WorkersLost("a worker process ended before its work was done, perhaps for want of memory")
        if self._pool is None or not self._pool.is_lost(error):
            raise error
        if task.tries >= TRIES:
            first, last = task.piece.numbers[0], task.piece.numbers[-1]
            which = f"replication {first}" if first == last else f"replications {first} to {last}"
            raise WorkersLost(
                f"{which} of seed {task.piece.seed} cannot be run: every worker that ran them was lost, "
                "perhaps for want of memory"
            )
        return task
