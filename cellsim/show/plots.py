"""The pictures of studies: output hour by hour, what everybody did, and how a cell settles.

Drawn with matplotlib's object interface on its Agg canvas: no global state, no window, no date inside.
All numbers are those of the dictionary of `result.json`.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.figure import Figure

from cellsim.show import Result
from cellsim.show.plots_output import draw_output
from cellsim.show.plots_shares import draw_shares
from cellsim.show.plots_sheet import DPI
from cellsim.show.plots_warmup import draw_warmup

STYLE: Any = {"font.family": "DejaVu Sans", "hatch.linewidth": 0.5, "axes.unicode_minus": False}


def save_pictures(result: Result, folder: Path) -> list[Path]:
    """Write `output_per_hour.png` and `state_shares.png` (1600 px wide) into an existing folder.

    Returns:
        The paths of the files, in this order.
    """
    paths = []
    for name, draw in (("output_per_hour.png", draw_output), ("state_shares.png", draw_shares)):
        path = Path(folder) / name
        _save(draw, result, path)
        paths.append(path)
    return paths


def save_warmup(answer: Result, path: Path) -> None:
    """Write the picture of how a cell settles (1600 px wide); `answer` is that of `cellsim warmup --json`."""
    _save(draw_warmup, answer, path)


def _save(draw: Callable[[Result], Figure], result: Result, path: Path) -> None:
    with rc_context(STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # a name in a script the font lacks
        options: Any = {"metadata": {"Software": None}, "pil_kwargs": {"compress_level": 3}}
        draw(result).savefig(path, dpi=DPI, format="png", **options)
