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

    described = load(cell)
    if out is not None:
        new_file(out, "--out", PICTURE_ENDINGS)
    picture = out or _free_picture(cell)
    save_plan(described, floor_plan(described), picture)
    click.echo(f"Picture: {picture}")


def _free_picture(cell: Path) -> Path:
    """The first of CELL_plan.png, CELL_plan_2.png ... that does not exist."""
    k = 1
    while (path := Path(f"{cell.stem}_plan{'' if k == 1 else f'_{k}'}.png")).exists():
        k += 1
    return path
