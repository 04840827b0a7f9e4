"""The command balance."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import (
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    Whole,
    announce,
    new_files,
    next_step,
    progress_bar,
    stopped_in_words,
    with_means,
    write_answer,
    write_new,
)
from cellsim.errors import UsageError

RUNS = 300  # of a usual study: three cells


@click.command(short_help="share out the work of a plan among people, against the takt")
@click.argument("plan", required=False, type=click.Path(path_type=Path))
@click.option(
    "--people",
    metavar="COUNT",
    type=Whole(1),
    help="Find the smallest cycle for so many people.  [default: the plan's, else the fewest for the takt]",
)
@click.option(
    "--seconds",
    metavar="SECONDS",
    type=click.FloatRange(0, min_open=True),
    default=20.0,
    show_default=True,
    help="About how long each search may take; what is not proven by then is told.",
)
@click.option(
    "--cell",
    "cell_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the balance as a cell file, which check and run take.",
)
@click.option(
    "--picture",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Draw the operator balance chart into this file, whose name ends in .png, .svg or .pdf.",
)
@click.option("--on-paper", is_flag=True, help="No runs: only who does what.")
@click.option(
    "--shifts",
    metavar="COUNT",
    type=Whole(1),
    default=1,
    show_default=True,
    help="Shifts that a run covers, of 8 h where the plan has none.",
)
@click.option("--keys", is_flag=True, help="Print all keys of a work plan with help and example, and end.")
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def balance(
    plan: Path | None,
    people: int | None,
    seconds: float,
    cell_file: Path | None,
    picture: Path | None,
    on_paper: bool,
    shifts: int,
    keys: bool,
    replications: int | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say who does which elements of a work plan, so that nobody exceeds the planned cycle.

    The plan is a YAML file of elements with their times and what each comes after.  The answer says how sure
    it is, and what the line makes when it runs: less than its longest station promises.

    \b
    Examples:
      cellsim balance scenarios/plans/bell_plan.yaml --cell bell_line.yaml
      cellsim balance scenarios/plans/bell_plan.yaml --people 5 --on-paper
    """
    if keys:
        from cellsim.describe.reference import plan_reference

        click.echo(plan_reference(), nl=False)
        return
    if plan is None:
        raise UsageError("which work plan? name its file, for example: cellsim balance bell_plan.yaml")
    from cellsim.describe.work_plan import load_plan
    from cellsim.study.balance import balance as balanced

    read = load_plan(plan)
    new_files({"--cell": cell_file, "--picture": picture}, json_file)
    silent = quiet or str(json_file) == "-"
    with stopped_in_words(), progress_bar(RUNS, silent) as progress:
        answer = balanced(
            read, people=people, seconds=seconds, on_paper=on_paper, replications=replications,
            shifts=shifts, seed=seed, progress=progress, announce=None if silent else announce,
            **means.arguments(),
        )  # fmt: skip
    write_answer(answer, json_file)
    if cell_file is not None:
        write_new(cell_file, answer["cell_file"])
    if picture is not None:
        from cellsim.show.plots_work_plan import save_work_plan

        save_work_plan(answer, picture)
    if silent:
        return
    from rich.console import Console

    from cellsim.show.balanced import print_balanced

    print_balanced(answer, Console())
    if cell_file is not None:
        next_step("check", cell_file)
