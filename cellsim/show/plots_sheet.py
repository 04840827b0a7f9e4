"""The sheet of a picture: its size, title, lines below the title, axes and foot."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from cellsim.show import Result, origin
from cellsim.show.palette import INK_DARK, QUIET

WIDTH, DPI = 10.0, 160  # inches, dots per inch: 1600 px
TITLE_WIDTH = 78  # characters in a line of the title


def new_figure(height: float) -> Figure:
    """A white sheet of full width and a height in inches."""
    figure = Figure(figsize=(WIDTH, height), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def title_lines(name: str, words: str) -> list[str]:
    """The lines of a title: name and words on one line where that fits, else on lines of their own."""
    if len(name) + len(words) + 2 <= TITLE_WIDTH:
        return [f"{name}: {words}"]
    return [*textwrap.wrap(name + ":", TITLE_WIDTH, max_lines=2), *textwrap.wrap(words, TITLE_WIDTH)]


def write_heading(figure: Figure, title: Sequence[str], lines: Sequence[str], foot: str) -> float:
    """Write title, subtitle and foot; return the inches that title and subtitle take."""
    height = figure.get_figheight()
    at = 0.18
    for text in title:
        write(figure, 0.2, height - at, text, fontsize=14, fontweight="bold", color=INK_DARK)
        at += 0.27
    for text in (part for line in lines for part in textwrap.wrap(line, 132)):
        write(figure, 0.2, height - at - 0.03, text, fontsize=9.5, color=QUIET)
        at += 0.19
    write(figure, 0.2, 0.24, foot, fontsize=7.5, color=QUIET)
    return at + 0.05


def write(figure: Figure, x: float, y: float, text: str, **style: Any) -> None:
    """Text with its upper left corner at inches from the lower left corner of the figure."""
    height = figure.get_figheight()
    figure.text(x / WIDTH, y / height, text, va="top", ha="left", parse_math=False, **style)


def add_axes(figure: Figure, left: float, top: float, right: float, bottom: float) -> Axes:
    """Axes between these margins, in inches from the edges of the figure (`bottom` from below)."""
    height = figure.get_figheight()
    box = (left / WIDTH, bottom / height, (WIDTH - left - right) / WIDTH, (height - top - bottom) / height)
    axes = figure.add_axes(box)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
    axes.tick_params(length=0, labelsize=9, labelcolor=INK_DARK)
    return axes


def foot_of(result: Result) -> str:
    """The line at the foot: what the study is not, and what made it."""
    parts = ["Planning study: it does not show that the cell is safe or lawful.", origin(result)]
    return "   ".join(part for part in parts if part)
