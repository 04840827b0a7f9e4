"""What a study is run with, closed at its end: processes or a cluster, the file of finished replications."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path

from cellsim.engine.clocks import AUTO
from cellsim.errors import UsageError, WorkersLost
from cellsim.study.kept import Kept
from cellsim.study.runner import Runner


@contextmanager
def means(
    *,
    clock: str = AUTO,
    workers: int | None = 1,
    scheduler: str | None = None,
    kept_in: str | os.PathLike[str] | None = None,
    announce: Callable[[str], None] | None = None,
) -> Iterator[Runner]:
    """A runner on `workers` processes, or on the cluster whose `scheduler` has this address.

    `kept_in` names a file in which finished replications are kept and looked for.

    Raises:
        UsageError: processes and a cluster are asked for at once, the cluster cannot be used, or the file.
        WorkersLost: processes or the cluster were lost in the middle of the study.
    """
    if scheduler is not None and workers not in (None, 1):
        raise UsageError("--workers counts processes of this machine; with --scheduler the cluster works")
    with ExitStack() as stack:
        pool = None
        if scheduler is not None:
            from cellsim.study.cluster import cluster

            pool = stack.enter_context(cluster(scheduler, announce))
        kept = None if kept_in is None else stack.enter_context(closing(Kept(Path(kept_in))))
        runner = Runner(clock=clock, workers=workers, pool=pool, kept=kept, announce=announce)
        try:
            yield stack.enter_context(runner)
        except WorkersLost as error:
            if kept_in is None:
                raise
            raise WorkersLost(f"{error}; what was finished is in {kept_in}") from error
