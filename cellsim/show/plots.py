"""The pictures of studies: output hour by hour, what everybody did, and how a cell settles.

Drawn with matplotlib's object interface on its Agg canvas: no global state, no window, no date inside.
All numbers are those of the dictionary of `result.json`.
"""

from __future__ import annotations

from pathlib import Path

from cellsim.show import Result
from cellsim.show.picture_files import PNG, save_picture
from cellsim.show.plots_output import draw_output
from cellsim.show.plots_shares import draw_shares
from cellsim.show.plots_warmup import draw_warmup


def save_pictures(result: Result, folder: Path, kind: str = PNG) -> list[Path]:
    """Write the pictures `output_per_hour` and `state_shares` into an existing folder, as png, svg or pdf.

    Returns:
        The paths of the files, in this order.
    """
    paths = []
    for name, draw in (("output_per_hour", draw_output), ("state_shares", draw_shares)):
        path = Path(folder) / f"{name}.{kind}"
        save_picture(draw, result, path)
        paths.append(path)
    return paths


def save_warmup(answer: Result, path: Path) -> None:
    """Write the picture of how a cell settles; `answer` is that of `cellsim warmup --json`."""
    save_picture(draw_warmup, answer, path)
