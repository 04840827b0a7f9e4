"""The command sensitivity."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import (
    CELL,
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    new_files,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import DescriptionError, Mistake, UsageError

if TYPE_CHECKING:
    from cellsim.describe.ranges import Range


@click.command(short_help="which number to measure better")
@CELL
@click.option(
    "--range",
    "ranges",
    multiple=True,
    metavar="RANGE",
    help="Between which limits a value of the file lies, every value between alike likely: "
    "'stations.press.cycle: 20 s to 26 s'; repeat for more.",
)
@click.option(
    "--ranges",
    "file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A file of ranges, one such line each.",
)
@click.option("--only", is_flag=True, help="Vary nothing but the ranges that are given.")
@click.option("--shares", is_flag=True, help="Also find the share of each input that matters, more exactly.")
@click.option(
    "--ways",
    metavar="COUNT",
    type=click.IntRange(4),
    default=10,
    show_default=True,
    help="Ways through the ranges, one input at a time.",
)
@click.option(
    "--each",
    metavar="COUNT",
    type=click.IntRange(2),
    default=5,
    show_default=True,
    help="Runs at each point of the study.",
)
@click.option(
    "--draws",
    metavar="COUNT",
    type=click.IntRange(20),
    default=100,
    show_default=True,
    help="Draws of all inputs together.",
)
@click.option(
    "--picture",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Also draw the effects into this file, whose name ends in .png, .svg or .pdf.",
)
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def sensitivity(
    cell: Path,
    ranges: tuple[str, ...],
    file: Path | None,
    only: bool,
    shares: bool,
    ways: int,
    each: int,
    draws: int,
    picture: Path | None,
    replications: int | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say which number to measure better: what each input does to output, and what not knowing it costs.

    Times that were measured may be what other samples of the same values would give.  Every other mean time,
    spread, time between stops, their length and every share of rejects may be 10 % less or more, and 50 %
    where the tool assumed it, unless a range says otherwise.

    \b
    Examples:
      cellsim sensitivity scenarios/spinning_top.yaml
      cellsim sensitivity scenarios/spinning_top.yaml --shares \\
        --range "stations.press.cycle: 20 s to 26 s"
    """
    from cellsim.describe.resolve import load
    from cellsim.study.provenance import versions
    from cellsim.study.sensitivity import Effort
    from cellsim.study.sensitivity import sensitivity as found_sensitivity
    from cellsim.study.unknowns import unknowns

    described = load(cell)
    if only and not ranges and file is None:
        raise UsageError("--only takes ranges; give --range or --ranges")
    new_files({"--picture": picture}, json_file)
    unknown = unknowns(partial(load, cell), _given(cell, ranges, file), only)
    if not unknown.inputs:
        raise UsageError("nothing about this cell is uncertain; give ranges with --range")
    count, number = study_of(described, replications, seed)
    if count < 2:
        raise UsageError("an interval takes at least two replications")
    effort = Effort(count, each, ways, draws, shares)
    total = effort.runs(len(unknown.inputs))
    silent = quiet or str(json_file) == "-"
    with stopped_in_words(), means.open(silent) as runner, progress_bar(total, silent) as progress:
        runner.settle_means(described, total)
        answer = found_sensitivity(unknown, number, effort, runner, progress)
        answer["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(answer, json_file)
    if picture is not None:
        from cellsim.show.plots_tornado import save_tornado

        save_tornado(answer, picture)
    if not silent:
        from rich.console import Console

        from cellsim.show.sensed import print_sensitivity

        print_sensitivity(answer, Console())


def _given(cell: Path, lines: tuple[str, ...], file: Path | None) -> list[tuple[Range, str]]:
    """The ranges of the call and of the file; all mistakes of both at once."""
    from cellsim.describe import reader
    from cellsim.describe.ranges import aimed, read_range_file, read_ranges

    found: list[Range] = []
    mistakes: list[Mistake] = []
    try:
        found += read_ranges(lines)
    except DescriptionError as error:
        mistakes += error.mistakes
    try:
        if file is not None:
            found += read_range_file(reader.read_file(file), file.name)
    except DescriptionError as error:
        mistakes += error.mistakes
    if mistakes:
        raise DescriptionError(mistakes)
    return aimed(found, reader.read_text(reader.read_file(cell), cell.name)) if found else []
