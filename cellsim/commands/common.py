"""What the commands share: options, how errors end a command, progress."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cellsim.errors import AuditFailure, CellsimError, DescriptionError, LockedCell

if TYPE_CHECKING:
    from collections.abc import Callable

    from cellsim.describe.cell import Cell

LOCKED, AUDIT, INTERRUPTED = LockedCell.exit_code, AuditFailure.exit_code, 130

CELL = click.argument("cell", type=click.Path(path_type=Path))
SEED = click.option(
    "--seed",
    type=click.IntRange(0, 2**64 - 1),
    help="Number that fixes all random times.  [default: the file's, else 1]",
)
REPLICATIONS = click.option(
    "--replications",
    "-n",
    type=click.IntRange(1),
    help="How many times the study is run.  [default: the file's, else 100]",
)
WORKERS = click.option(
    "--workers",
    "-w",
    type=click.IntRange(1),
    help="Processes that work at once.  [default: one per core, at most 4, where the work is worth it]",
)
CLOCK = click.option(
    "--clock",
    type=click.Choice(["simpy", "compiled", "auto"]),
    default="auto",
    show_default=True,
    help="What advances time: readable Python, the same rules compiled, or whichever is done first.  "
    "The figures are the same.",
)
JSON = click.option(
    "--json",
    "json_file",
    type=click.Path(path_type=Path, allow_dash=True),
    help="Also write the figures to this file; - = standard output, and nothing else there.",
)
QUIET = click.option("--quiet", "-q", is_flag=True, help="Print no table and no progress.")


class Commands(click.Group):
    """A group whose commands end with the exit code of the error, and its text on stderr."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except DescriptionError as error:
            click.echo(error.report(), err=True)
            ctx.exit(error.exit_code)
        except CellsimError as error:
            click.echo(f"cellsim: {error}", err=True)
            ctx.exit(error.exit_code)


def study_of(cell: Cell, replications: int | None, seed: int | None) -> tuple[int, int]:
    from cellsim.study.runner import DEFAULT_REPLICATIONS

    count = replications or cell.study.replications or DEFAULT_REPLICATIONS
    return count, cell.study.seed if seed is None else seed


def announce(text: str) -> None:
    click.echo(text, err=True)


def progress_bar(total: int, silent: bool, so_far: Callable[[], str], what: str = "runs") -> Any:
    if silent:
        return nullcontext(None)
    from rich.console import Console

    from cellsim.show.screen import progress

    return progress(Console(stderr=True), total, so_far, what)
