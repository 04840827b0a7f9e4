"""Pieces of work on the workers of a Dask cluster; imports nothing of dask until one is used."""

from __future__ import annotations

import asyncio
import logging
import math
import signal
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from contextlib import contextmanager
from types import FrameType
from typing import Any

from cellsim.errors import UsageError, WorkersLost
from cellsim.study.marks import Marks, marks, unlike
from cellsim.study.runner import LOOK, Done, Piece

ANSWERS_WITHIN = 3.0  # seconds in which a scheduler answers
PATIENCE = 20.0  # seconds that a study waits for a worker while there is none


def done_alike(here: Marks, work: Callable[[Piece], Done], piece: Piece) -> Done:
    """A piece of work on a worker that is as the process that wants it.

    Raises:
        UsageError: it is not.
    """
    if told := unlike(here, marks()):
        raise UsageError(f"a worker that came to the cluster has {told}")
    return work(piece)


class ClusterPool:
    """The workers of a cluster as the place where a runner has pieces done."""

    def __init__(self, client: Any, address: str, presses: list[int]) -> None:
        self._client, self._address, self._presses = client, address, presses
        self._executor = client.get_executor(pure=False)
        self._asked_at, self._there_at, self._threads = -math.inf, time.monotonic(), 0

    def submit(self, work: Callable[[Piece], Done], piece: Piece) -> Future[Done]:
        """Have a piece done by some worker; one whose worker dies is given to another by the scheduler."""
        found: Future[Done] = self._executor.submit(done_alike, marks(), work, piece)
        return found

    def places(self) -> int:
        """The threads of all workers, asked for at most every LOOK seconds.

        Raises:
            WorkersLost: the scheduler does not answer, or has had no worker for PATIENCE seconds.
            KeyboardInterrupt: Ctrl-C was pressed, and the library swallowed it.
        """
        if self._presses:
            raise KeyboardInterrupt
        now = time.monotonic()
        if now < self._asked_at + LOOK:
            return self._threads
        self._asked_at = now
        try:
            self._threads = sum(self._client.nthreads().values())
        except Exception as error:
            raise WorkersLost(f"the scheduler at {self._address} does not answer any more") from error
        if self._threads:
            self._there_at = now
        elif now > self._there_at + PATIENCE:
            raise WorkersLost(
                f"the cluster at {self._address} has lost its last worker, and none came within "
                f"{PATIENCE:.0f} s"
            )
        return self._threads

    def is_lost(self, error: Exception) -> bool:
        """Whether a piece ended because its workers died or the scheduler dropped it."""
        from distributed import KilledWorker

        lost = isinstance(error, (KilledWorker, CancelledError))
        if lost:
            self._asked_at = -math.inf  # ask at once who is left
        return lost

    def close(self) -> None:
        """Cancel what is under way."""
        self._executor.shutdown(wait=False)


@contextmanager
def cluster(address: str, announce: Callable[[str], None] | None = None) -> Iterator[ClusterPool]:
    """The cluster whose scheduler has this address; it outlives the study, whose work is cancelled.

    Raises:
        UsageError: `distributed` is not installed, no scheduler answers there, or a worker is not as this
            process is.
    """
    try:
        import distributed
    except ImportError:
        raise UsageError(
            "--scheduler needs the library distributed, which is not installed: pip install distributed"
        ) from None
    with _quiet(), _remembered_presses() as presses, ThreadPoolExecutor(1) as thread:
        # On a thread of its own: a notebook has a loop of events in this one.
        thread.submit(asyncio.run, _ask(address)).result()
        client = distributed.Client(address, timeout=ANSWERS_WITHIN, set_as_default=False)
        try:
            _compare(client, address, announce)
            pool = ClusterPool(client, address, presses)
            try:
                yield pool
            finally:
                pool.close()
        finally:
            client.close(timeout=ANSWERS_WITHIN)


async def _ask(address: str) -> None:
    """See whether a scheduler answers at an address."""
    from distributed import rpc
    from distributed.security import Security

    secrets = Security().get_connection_args("client")
    try:
        async with rpc(address, timeout=ANSWERS_WITHIN, connection_args=secrets) as there:
            found = await asyncio.wait_for(there.identity(), ANSWERS_WITHIN)
    except ValueError as error:
        raise UsageError(
            f"--scheduler {address}: {error}; an address looks like tcp://192.168.0.5:8786"
        ) from None
    except Exception as error:
        why = str(error) or type(error).__name__
        raise UsageError(f"--scheduler {address}: no Dask scheduler answers there ({why})") from None
    if found.get("type") != "Scheduler":
        raise UsageError(f"--scheduler {address}: that is no scheduler but a {found.get('type', 'stranger')}")


def _compare(client: Any, address: str, announce: Callable[[str], None] | None) -> None:
    """See whether all workers that are there are as this process; wait for the first where there is none."""
    if not client.nthreads():
        if announce is not None:
            announce(f"The cluster at {address} has no worker yet; waiting {PATIENCE:.0f} s for one ...")
        try:
            client.wait_for_workers(1, timeout=PATIENCE)
        except Exception:
            raise UsageError(f"--scheduler {address}: the cluster has no worker") from None
    found = client.run(marks, on_error="return")
    for worker, there in found.items():
        if isinstance(there, BaseException):
            raise UsageError(f"worker {worker} cannot run this version of cellsim ({there})")
        if told := unlike(marks(), there):
            raise UsageError(f"worker {worker} has {told}")


@contextmanager
def _remembered_presses() -> Iterator[list[int]]:
    """Each Ctrl-C leaves a mark: one that strikes while the library cleans up is swallowed there."""
    presses: list[int] = []
    before = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or not callable(before):
        yield presses  # here Ctrl-C does not strike, or is ignored
        return
    handler: Callable[[int, FrameType | None], Any] = before

    def press(number: int, frame: FrameType | None) -> None:
        presses.append(number)
        handler(number, frame)

    signal.signal(signal.SIGINT, press)
    try:
        yield presses
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _quiet() -> Iterator[None]:
    """Errors are told in our own words, not in those of the library's log."""
    names = ["distributed", *(f"distributed.{part}" for part in ("client", "core", "comm", "utils"))]
    before = {name: logging.getLogger(name).level for name in names}
    for name in names:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", category=UserWarning, module="distributed")
            yield
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)
