"""The command report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import new_file
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markupsafe import Markup

    from cellsim.study.opened import Opened


@click.command(short_help="a page to read, print and pass on")
@click.argument("results", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="RESULT...")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The file to write.  [default: report.html in the first folder, with a number if that exists]",
)
@click.option("--no-replay", is_flag=True, help="Leave out the replay and the lanes of one shift.")
def report(results: tuple[Path, ...], out: Path | None, no_replay: bool) -> None:
    """Make a page of a result to read, print and pass on: one HTML file that needs nothing else.

    RESULT is a result folder of `cellsim run`; several are shown as alternatives, the first is the base.
    What compare, buffers, limits, sensitivity, payback, load, balance and crew write with --json may be given
    too, or alone.  One shift of the first result, in the run nearest to the median, is played back on the
    plan of the cell.

    \b
    Examples:
      cellsim report tape_measure_result --out tape_measure.html
      cellsim report payback.json --out robot_for_finance.html
    """
    from cellsim.study.folder import free_name

    first = results[0]
    file = out or free_name(first if first.is_dir() else first.parent, "report", ".html")
    new_file(file, "--out")
    write_report(results, file, replay=not no_replay)
    click.echo(f"Report: {file}")


def write_report(results: Sequence[Path], file: Path, *, replay: bool = True) -> None:
    """Write the page of some results, with the replay and the lanes of one shift of the first folder.

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
    shown = folders[0] if replay and folders and folders[0].path.is_dir() else None
    extra, styles, scripts = _one_shift(shown) if shown is not None else ([], [], [])
    page = report_page(
        answers, names_of(folders), pairs=pairs, why=why, extra=extra, styles=styles, scripts=scripts
    )
    try:
        write_whole(file, page)
    except OSError as error:
        raise UsageError(f"{file} cannot be written: {error.strerror}") from None


def _one_shift(folder: Opened) -> tuple[list[Markup], list[str], list[str]]:
    """The sections of one shift, and the files that they need."""
    from cellsim.show import replay, timelines
    from cellsim.show.floor_plan import floor_plan
    from cellsim.study.opened import typical_shift

    try:
        cell, told = typical_shift(folder)
    except UsageError as reason:
        click.echo(f"No replay: {reason}", err=True)
        return [], [], []
    sections = [replay.replay_section(told, floor_plan(cell)), timelines.timelines_section(told)]
    assets = list(dict.fromkeys((*replay.ASSETS, *timelines.ASSETS)))
    styles = [name for name in assets if name.endswith(".css")]
    return sections, styles, [name for name in assets if name.endswith(".js")]
