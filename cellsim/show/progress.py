"""How far long work is: a line of the terminal with a bar, what is known so far, and the time remaining."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

BETWEEN_UPDATES = 0.1  # seconds from one picture of the progress to the next
BAR = 20  # letters of the bar, so that the rest fits a terminal of 80


class Progress:
    """Told `(done, of)` as work goes on; a new stage begins where less is done than before, or by name.

    The time remaining is that of the stage, from the pace of the stage.  Without `bar` nothing is shown.
    """

    def __init__(self, so_far: Callable[[], str], bar: Any = None, task: Any = None) -> None:
        self.so_far, self._bar, self._task = so_far, bar, task
        self._done, self._of = 0, 0
        self._shown_at = -BETWEEN_UPDATES

    def __call__(self, done: int, of: int) -> None:
        """So much of so much is done."""
        if self._bar is None:
            return
        if done < self._done:
            self._bar.reset(self._task, total=of)
            self._shown_at = -BETWEEN_UPDATES
        self._done = done
        if done == of or time.monotonic() - self._shown_at > BETWEEN_UPDATES:
            self._bar.update(self._task, completed=done, total=of, so_far=self.so_far(), refresh=True)
            self._shown_at = time.monotonic()

    def begin(self, what: str, of: int) -> None:
        """Another stage of the work, counted in something else."""
        if self._bar is not None:
            self._done, self._shown_at = 0, -BETWEEN_UPDATES
            self._bar.reset(self._task, total=of, description=what, so_far=self.so_far())
            self._bar.refresh()


@contextmanager
def progress(
    console: Console, total: int, so_far: Callable[[], str] = str, what: str = "runs"
) -> Iterator[Progress]:
    """Show how much is done, what it says so far, and the time remaining; nothing where not a terminal."""
    if not console.is_terminal:
        yield Progress(so_far)
        return
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar
    from rich.table import Column

    columns = (
        TextColumn("{task.description}"),
        BarColumn(BAR, complete_style="bold", finished_style="bold", style="dim"),
        MofNCompleteColumn(),
        TimeRemainingColumn(elapsed_when_finished=False),
        TextColumn("{task.fields[so_far]}", table_column=Column(no_wrap=True, overflow="ellipsis")),
    )
    # Without a thread that refreshes, so that worker processes can be made as copies of this one.
    with Bar(*columns, console=console, transient=True, auto_refresh=False) as bar:
        task = bar.add_task(what, total=total, so_far=so_far())
        yield Progress(so_far, bar, task)
