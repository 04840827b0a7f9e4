"""The command verify."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import AUDIT, JSON, QUIET, WORKERS, announce, progress_bar, stopped_in_words
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from cellsim.published.suite import Check


@click.command(short_help="compare the program with known results")
@click.option(
    "--full", is_flag=True, help="Until every interval is within 0.3 %; minutes instead of seconds."
)
@click.option(
    "--only", multiple=True, metavar="TEXT", help="Entries whose id or topic contains this; repeat."
)
@WORKERS
@JSON
@QUIET
def verify(
    full: bool, only: tuple[str, ...], workers: int | None, json_file: Path | None, quiet: bool
) -> None:
    """Compare the program with known results: statement, published value, ours with interval, source.

    Ends with code 70 where one differs.

    \b
    Example:
      cellsim verify --json checks.json
    """
    from rich.console import Console

    from cellsim.published.answer import answer
    from cellsim.published.suite import level_for, run_table
    from cellsim.published.table import TABLE, choose
    from cellsim.show.verified import print_answer
    from cellsim.study.folder import as_json, write_whole

    chosen = choose(TABLE, only, full)
    to_stdout = json_file is not None and str(json_file) == "-"
    if json_file is not None and not to_stdout and not json_file.absolute().parent.is_dir():
        raise UsageError(f"{json_file}: the folder {json_file.parent} does not exist")
    silent = quiet or to_stdout
    done: list[Check] = []
    with (
        stopped_in_words(lambda: f"Stopped after {len(done)} of {len(chosen)} checks"),
        progress_bar(
            len(chosen), silent, lambda: f"{sum(check.agrees for check in done)} agree", "checks"
        ) as progress,
    ):

        def show(check: Check) -> None:
            done.append(check)
            progress(len(done), len(chosen))

        checks = run_table(
            TABLE,
            chosen,
            full=full,
            workers=workers or min(4, os.cpu_count() or 1),
            show=show,
            announce=None if silent else announce,
        )
    found = answer(checks, level_for(TABLE), full)
    if to_stdout:
        click.echo(as_json(found), nl=False)
    elif json_file is not None:
        write_whole(json_file, as_json(found))
    if not silent:
        print_answer(found, Console())
    if found["agree"] < found["of"]:
        sys.exit(AUDIT)
