"""The command compare."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cellsim.commands.common import (
    INTERRUPTED,
    JSON,
    PRECISION,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    next_step,
    precision_of,
    progress_bar,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import DescriptionError, Mistake, UsageError

if TYPE_CHECKING:
    from cellsim.describe.cell import Cell
    from cellsim.study.compare import Alternative


@click.command(short_help="how many units an hour a proposal gives more or less")
@click.argument("base", type=click.Path(path_type=Path))
@click.argument("proposals", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help="A proposal as a change of the base, 'stores.tray.places: 8', or as several, "
    "'{stores.tray.places: 8, stations.press.machines: 2}'; repeat for more proposals.",
)
@click.option(
    "--proposals",
    "file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A file of proposals: a name, below it its changes.",
)
@REPLICATIONS
@PRECISION
@SEED
@with_means
@JSON
@QUIET
def compare(
    base: Path,
    proposals: tuple[Path, ...],
    changes: tuple[str, ...],
    file: Path | None,
    replications: int | None,
    precision: str | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Compare proposals with a cell as it is: how many units an hour more or less, and how sure that is.

    All are run with the same luck, so that a small difference shows in few runs.  A proposal is another cell
    file or a change of the base.

    \b
    Example:
      cellsim compare scenarios/spinning_top.yaml \\
        --change "stores.tray.places: 16"
    """
    from cellsim.describe.resolve import load
    from cellsim.study.compare import comparison, run_pairs
    from cellsim.study.provenance import versions

    described = load(base)
    alternatives = [_alternative(base.stem, described), *_proposed(base, proposals, changes, file)]
    if len(alternatives) < 2:
        raise UsageError("there is nothing to compare with; name a cell file, --change or --proposals")
    count, number = study_of(described, replications, seed)
    if count < 2:
        raise UsageError("a comparison takes at least two replications")
    wanted = precision_of(precision, replications) or count
    silent = quiet or str(json_file) == "-"
    total = (wanted if isinstance(wanted, int) else wanted.least) * len(alternatives)
    with means.open(silent) as runner:
        with progress_bar(total, silent) as progress:
            found = run_pairs(alternatives, number, wanted, runner, progress)
        found.stop_if_broken(number)
        if len(found.records[0]) < 2:
            click.echo("stopped before two replications of all alternatives were finished", err=True)
            sys.exit(INTERRUPTED)
        answer = comparison(found)
        answer["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    if found.interrupted:
        answer["interrupted"] = True
    write_answer(answer, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.compared import print_comparison

        print_comparison(answer, Console())
        if not found.interrupted:
            next_step("sensitivity", base)
    if found.interrupted:
        sys.exit(INTERRUPTED)


def _alternative(name: str, cell: Cell) -> Alternative:
    from cellsim.study.compare import Alternative

    return Alternative(name, cell)


def _proposed(base: Path, files: tuple[Path, ...], changes: tuple[str, ...], file: Path | None) -> list[Any]:
    """The proposals in the order of the call; all mistakes of all of them at once."""
    from cellsim.describe import reader
    from cellsim.describe.changes import read_changes, read_proposals
    from cellsim.describe.resolve import load

    found: list[Alternative] = []
    mistakes: list[Mistake] = []
    wanted: list[tuple[str, Path, tuple[Any, ...]]] = [(path.stem, path, ()) for path in files]
    try:
        wanted += [(text, base, read_changes([text])) for text in changes]
        if file is not None:
            wanted += [(p.name, base, p.changes) for p in read_proposals(reader.read_file(file), file.name)]
    except DescriptionError as error:
        mistakes += error.mistakes
    for name, path, own in wanted:
        try:
            found.append(_alternative(name, load(path, own)))
        except DescriptionError as error:
            mistakes += error.mistakes
    if mistakes:
        raise DescriptionError(mistakes)
    return found
