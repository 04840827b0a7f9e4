"""The command load."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import (
    CELL,
    JSON,
    QUIET,
    new_files,
    next_step,
    write_answer,
)


@click.command(short_help="takt, loads and balance on paper, before any run")
@CELL
@click.option("--rate", metavar="RATE", help="Good units, as '120 per h'.  [default: the target of the cell]")
@click.option("--planned", metavar="SHARE", help="Planned cycle as a share of the takt, as '90 %'.")
@click.option("--without-losses", is_flag=True, help="Count every unit as good, as a first balance does.")
@click.option(
    "--picture",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Draw the balance chart and the man-machine charts: .png, .svg or .pdf.",
)
@JSON
@QUIET
def load(
    cell: Path,
    rate: str | None,
    planned: str | None,
    without_losses: bool,
    picture: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say before any run what the takt is, how loaded everybody is, and what cannot hold.

    Mean times with changeovers, stops, scrap, repeated tests and rework, against the net available time.
    Waiting is not in it: a load under 100 % is needed, not enough.

    \b
    Examples:
      cellsim load scenarios/padlock.yaml
      cellsim load scenarios/bicycle_bell.yaml --rate "130 per h" --planned "90 %"
    """
    from cellsim.describe.resolve import load as described
    from cellsim.study.workload import workload

    new_files({"--picture": picture}, json_file)
    answer = workload(described(cell), rate=rate, planned=planned, with_losses=not without_losses)
    write_answer(answer, json_file)
    if picture is not None:
        from cellsim.show.plots_load import save_load

        save_load(answer, picture)
    if quiet or str(json_file) == "-":
        return
    from rich.console import Console

    from cellsim.show.loaded import print_workload

    print_workload(answer, Console())
    if picture is not None:
        click.echo(f"Picture: {picture}")
    next_step("run", cell)
