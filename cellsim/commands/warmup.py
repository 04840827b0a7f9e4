"""The command warmup."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import (
    CELL,
    FORMAT,
    JSON,
    PICTURE_ENDINGS,
    PICTURES,
    QUIET,
    SEED,
    Means,
    Whole,
    all_different,
    new_file,
    next_step,
    progress_bar,
    renewed_file,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import NotSettled, UsageError

if TYPE_CHECKING:
    pass


@click.command(short_help="how long a cell takes to settle after its start")
@CELL
@click.option(
    "--length",
    metavar="LENGTH",
    help="How long the first run is: '200 h', or '60 shifts' for a cell with shifts; up to three times it is "
    "made twice as long where it does not show it.  [default: 100 h, or 60 rounds of the shifts]",
)
@click.option(
    "--replications",
    "-n",
    metavar="COUNT",
    type=Whole(1),
    default=20,
    show_default=True,
    help="How many runs are averaged.",
)
@SEED
@with_means
@click.option(
    "--out",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The picture to make; its name ends in .png, .svg or .pdf.  "
    "[default: CELL_warmup.png, with a number if that exists]",
)
@FORMAT
@JSON
@QUIET
def warmup(
    cell: Path,
    length: str | None,
    replications: int,
    seed: int | None,
    means: Means,
    out: Path | None,
    picture_format: str | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say how long a cell takes to settle after its start, and what it makes in the long run.

    Runs the cell from its start, averages output and work in progress over the replications, and says how
    much at the beginning should not be counted (MSER-5), with a picture and the line for the cell file.  A
    cell that never settles is refused with exit code 4.

    \b
    Example:
      cellsim warmup scenarios/spinning_top.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.study.provenance import versions
    from cellsim.study.settling import study_of_settling

    described = load(cell)
    _, number = study_of(described, replications, seed)
    first = _length(length)
    silent = quiet or str(json_file) == "-"
    picture = _picture(cell, out, picture_format, silent)
    if json_file is not None and str(json_file) != "-":
        renewed_file(json_file, "--json")
        all_different({"--out": picture, "--json": json_file})
    with stopped_in_words(), means.open(silent) as runner, progress_bar(replications, silent) as progress:
        answer = study_of_settling(described, number, replications, runner, first, progress)
        answer["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(answer, json_file)
    if picture is not None:
        from cellsim.show.plots import save_warmup

        save_warmup(answer, picture)
    if not silent:
        from rich.console import Console

        from cellsim.show.settled import print_settling

        print_settling(answer, Console())
        click.echo(f"Picture: {picture}")
        if answer["settles"]:
            next_step("run", cell)
    if not answer["settles"]:
        raise NotSettled(f"no steady state found: {answer['reason']}")


def _length(text: str | None) -> tuple[str, int] | None:
    """The length of an option, as (`shifts` or `time`, count or microseconds).

    Raises:
        UsageError: it is neither a time nor a number of shifts.
    """
    from cellsim.describe.kinds import parse_settle
    from cellsim.units import UnitError

    if text is None:
        return None
    try:
        return parse_settle(text)
    except UnitError as error:
        raise UsageError(f"--length: {str(error).split(';')[0]}; for example 200 h or 60 shifts") from None


def _picture(cell: Path, out: Path | None, kind: str | None, silent: bool) -> Path | None:
    """Where the picture goes; none is made where nothing is shown, unless it is asked for.

    Raises:
        UsageError: there is something with this name already, or its ending is not that of a picture.
    """
    if out is not None:
        new_file(out, "--out", [f".{kind}"] if kind else PICTURE_ENDINGS)
        return out
    if silent and kind is None:
        return None
    from cellsim.study.folder import free_name

    found = free_name(Path(), f"{cell.stem}_warmup", f".{kind or PICTURES[0]}")
    new_file(found, "picture")
    return found
