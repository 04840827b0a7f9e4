"""Worker processes: how they are made, and that Ctrl-C is left to the process that made them."""

from __future__ import annotations

import multiprocessing
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any


def are_copies() -> bool:
    """Whether worker processes are made as copies of this one, so that they import nothing.

    A copy of a process takes over every lock that another thread holds just then, so it is safe only while
    there is one thread; and only Linux promises that its libraries survive it.
    """
    return sys.platform == "linux" and threading.active_count() == 1


def _start(start: Callable[..., None], arguments: tuple[Any, ...]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    start(*arguments)


def _nothing() -> None:
    """Nothing needs to be done when a worker process starts."""


@contextmanager
def worker_processes(
    workers: int, start: Callable[..., None] = _nothing, arguments: tuple[Any, ...] = ()
) -> Iterator[Executor]:
    """So many worker processes, in each of which `start(*arguments)` is called first."""
    context = multiprocessing.get_context("fork" if are_copies() else "spawn")
    with warnings.catch_warnings():
        # The waiting threads of a library for linear algebra are its own affair: it is told of the copy.
        warnings.filterwarnings("ignore", message=".*use of fork", category=DeprecationWarning)
        with ProcessPoolExecutor(workers, context, _start, (start, arguments)) as executor:
            yield executor
