"""The command payback."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import (
    INTERRUPTED,
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    Whole,
    new_files,
    next_step,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from cellsim.study.compare import Alternative


@click.command(short_help="whether a proposal pays, how sure, and what to settle first")
@click.argument("base", type=click.Path(path_type=Path), required=False)
@click.argument("proposal", type=click.Path(path_type=Path), required=False)
@click.option(
    "--case",
    "case_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The file of the investment: prices, wage, people freed, what can be sold, rate.  (required)",
)
@click.option(
    "--change",
    "changes",
    multiple=True,
    metavar="CHANGE",
    help="The proposal as a change of the base, 'stations.wind.machines: 4'; repeat for more changes of it.",
)
@click.option("--keys", is_flag=True, help="Print all keys of the file of an investment, and nothing else.")
@click.option(
    "--inputs",
    metavar="COUNT",
    type=Whole(20),
    help="Also draw what is not known about the cells, so often (at least 20): measured times as their"
    " samples allow, stated numbers 10 % to each side.  [default: not]",
)
@click.option(
    "--draws",
    metavar="COUNT",
    type=Whole(100, 1_000_000),
    default=2000,
    show_default=True,
    help="Draws of the numbers of the case.",
)
@click.option(
    "--picture",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Draw what is needed to break even, the payback and what changes it (.png, .svg, .pdf).",
)
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def payback(
    base: Path | None,
    proposal: Path | None,
    case_file: Path | None,
    changes: tuple[str, ...],
    keys: bool,
    inputs: int | None,
    draws: int,
    picture: Path | None,
    replications: int | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say whether a proposal pays: payback, net present value, cost of a unit, each with its chance.

    BASE and PROPOSAL are run with the same luck.  Money stands in a file of its own, in which any number may
    be a range: '0.5 to 1.0'.

    \b
    Example:
      cellsim payback scenarios/choices/tape_measure_hands.yaml \\
        scenarios/tape_measure.yaml \\
        --case scenarios/choices/tape_measure_robot.yaml
    """
    if keys:
        from cellsim.describe.reference import case_reference

        click.echo(case_reference(), nl=False)
        return
    if base is None or case_file is None:
        raise UsageError("name the cell as it is, the proposal, and the case: BASE PROPOSAL --case FILE")
    from cellsim.describe.investment import load_investment
    from cellsim.money.payback import payback_study

    new_files({"--picture": picture}, json_file)
    case = load_investment(case_file)
    one, other = _alternatives(base, proposal, changes)
    count, number = study_of(one.cell, replications, seed)
    if count < 2:
        raise UsageError("paired differences take at least two replications")
    silent = quiet or str(json_file) == "-"
    with (
        stopped_in_words(lambda: "Stopped too early for an answer"),
        means.open(silent) as runner,
        progress_bar(2 * count, silent) as progress,
    ):
        answer = payback_study(
            one, other, case, number, count, runner,
            inputs=inputs or 0, draws=draws, progress=progress, file=case_file.name,
        )  # fmt: skip
    write_answer(answer, json_file)
    if picture is not None:
        from cellsim.show.plots_payback import save_payback

        save_payback(answer, picture)
    if not silent:
        from rich.console import Console

        from cellsim.show.paid_back import print_payback

        print_payback(answer, Console())
        if not answer.get("interrupted"):
            next_step("sensitivity", base if proposal is None else proposal)
    if answer.get("interrupted"):
        sys.exit(INTERRUPTED)


def _alternatives(
    base: Path, proposal: Path | None, changes: tuple[str, ...]
) -> tuple[Alternative, Alternative]:
    """Base and proposal: another file, changes of the base, or changes of that other file."""
    from cellsim.describe.changes import read_changes
    from cellsim.describe.resolve import load
    from cellsim.study.compare import Alternative

    if proposal is None and not changes:
        raise UsageError("there is nothing to compare with; name a cell file or --change")
    file = base if proposal is None else proposal
    name = file.stem if proposal is not None and not changes else "; ".join(changes)
    if proposal is not None and changes:
        name = f"{file.stem}, {name}"
    return Alternative(base.stem, load(base)), Alternative(name, load(file, read_changes(changes)))
