"""The pictures of a study: output hour by hour, and what stations, people and robots did.

Drawn with matplotlib's object interface on its Agg canvas: no global state, no window, no date inside.
All numbers are those of the dictionary of `result.json`.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

from matplotlib import rc_context

from cellsim.show import Result
from cellsim.show.plots_output import draw_output
from cellsim.show.plots_shares import draw_shares
from cellsim.show.plots_sheet import DPI

STYLE: Any = {"font.family": "DejaVu Sans", "hatch.linewidth": 0.5, "axes.unicode_minus": False}


def save_pictures(result: Result, folder: Path) -> list[Path]:
    """Write `output_per_hour.png` and `state_shares.png` (1600 px wide) into an existing folder.

    Returns:
        The paths of the files, in this order.
    """
    paths = []
    for name, draw in (("output_per_hour.png", draw_output), ("state_shares.png", draw_shares)):
        with rc_context(STYLE), warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="Glyph .* missing")  # a name in a script the font lacks
            figure = draw(result)
            path = Path(folder) / name
            figure.savefig(path, dpi=DPI, metadata={"Software": None}, pil_kwargs={"compress_level": 3})
        paths.append(path)
    return paths
