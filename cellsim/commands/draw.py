"""The command draw."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import CELL, PICTURE_ENDINGS, new_file


@click.command(short_help="the plan of a cell as a picture")
@CELL
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The picture to make: .png, .svg or .pdf.  [default: CELL_plan.png, with a number if that exists]",
)
def draw(cell: Path, out: Path | None) -> None:
    """Draw the plan of a cell: stations, stores, the ways between them, and who attends what.

    Positions are those of the file where it gives all stations in metres, else chosen so that the route is
    easy to follow.

    \b
    Example:
      cellsim draw scenarios/padlock.yaml --out padlock.svg
    """
    from cellsim.describe.resolve import load
    from cellsim.show.floor_plan import floor_plan
    from cellsim.show.plan_picture import save_plan
    from cellsim.study.folder import free_name

    described = load(cell)
    if out is not None:
        new_file(out, "--out", PICTURE_ENDINGS)
    picture = out or free_name(Path(), f"{cell.stem}_plan", ".png")
    save_plan(described, floor_plan(described), picture)
    click.echo(f"Picture: {picture}")
