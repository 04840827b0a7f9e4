"""The command report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence


@click.command()
@click.argument("results", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="RESULT...")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The file to write.  [default: report.html in the first folder, with a number if that exists]",
)
def report(results: tuple[Path, ...], out: Path | None) -> None:
    """Make a page of a result to read, print and pass on: one HTML file that needs nothing else.

    RESULT is a result folder of `cellsim run`; several are shown as alternatives, the first is the base.
    What compare, buffers, limits and sensitivity write with --json may be given too.

    \b
    Example:
      cellsim report tape_measure_result --out tape_measure.html
    """
    file = out if out is not None else _free_file(results[0])
    check_free(file)
    write_report(results, file)
    click.echo(f"Report: {file}")


def check_free(file: Path) -> None:
    """Make sure that a report can be written, before anything is worked out.

    Raises:
        UsageError: there is something with this name, or no folder for it.
    """
    if file.exists():
        raise UsageError(f"{file} exists and is not overwritten; name another file")
    if not file.parent.is_dir():
        raise UsageError(f"{file} cannot be written: there is no folder {file.parent}")


def write_report(results: Sequence[Path], file: Path) -> None:
    """Write the page of some results.

    Raises:
        UsageError: one of them is no result, or the file cannot be written.
    """
    from cellsim.show.report import report_page
    from cellsim.study.folder import write_whole
    from cellsim.study.opened import names_of, opened, paired_comparison

    found = [opened(path) for path in results]
    folders = [each for each in found if each.kind == "result"]
    pairs, why = paired_comparison(folders) if len(folders) > 1 else (None, "")
    answers = [(each.kind, each.answer) for each in found]
    page = report_page(answers, names_of(folders), pairs=pairs, why=why)
    try:
        write_whole(file, page)
    except OSError as error:
        raise UsageError(f"{file} cannot be written: {error.strerror}") from None


def _free_file(result: Path) -> Path:
    """`report.html` in a folder, or beside a file, with a number if that exists."""
    folder = result if result.is_dir() else result.parent
    k = 1
    while True:
        file = folder / ("report.html" if k == 1 else f"report_{k}.html")
        if not file.exists():
            return file
        k += 1
