"""Pictures as files: PNG for screens, SVG and PDF for papers and slides; equal pictures give equal files."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.figure import Figure

from cellsim.errors import UsageError
from cellsim.show import Result
from cellsim.show.plots_sheet import DPI

PNG, FORMATS = "png", ("png", "svg", "pdf")

# Letters: in a PDF the font goes along (as TrueType, so that text can be found and publishers take it); in an
# SVG they are outlines, since programs for slides show no font that they do not have.
STYLE: Any = {
    "font.family": "DejaVu Sans",
    "hatch.linewidth": 0.5,
    "axes.unicode_minus": False,
    "pdf.fonttype": 42,
    "svg.fonttype": "path",
    "svg.hashsalt": "cellsim",
}
# What else would stand in a file: dates, and the library that wrote it.
OPTIONS: dict[str, dict[str, Any]] = {
    "png": {"metadata": {"Software": None}, "pil_kwargs": {"compress_level": 3}},
    "svg": {"metadata": {"Date": None, "Creator": None}},
    "pdf": {"metadata": {"CreationDate": None, "Creator": None, "Producer": None}},
}


def save_picture(draw: Callable[[Result], Figure], result: Result, path: Path) -> None:
    """Draw a picture, 1600 px or 254 mm wide, into a file whose ending says the format (PNG without one).

    Raises:
        UsageError: the file cannot be written.
    """
    kind = path.suffix.lower().lstrip(".")
    kind = kind if kind in FORMATS else PNG
    with rc_context(STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # a name in a script the font lacks
        figure = draw(result)
        try:
            figure.savefig(path, dpi=DPI, format=kind, **OPTIONS[kind])
        except OSError as error:
            raise UsageError(f"{path} cannot be written: {error.strerror}") from None
