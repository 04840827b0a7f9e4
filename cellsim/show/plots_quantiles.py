"""Measured times against the law that fits them best: on the line where the law is right."""

from __future__ import annotations

import math
from pathlib import Path

from matplotlib.figure import Figure

from cellsim.show import Result, count_of, plain
from cellsim.show.palette import INK_DARK, LINE, QUIET
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import WIDTH, add_axes, new_figure, write_heading

COLUMNS, PANEL, MOST = 3, 2.7, 12  # panels in a row, inches of a row, panels at most


def draw_quantiles(answer: Result) -> Figure:
    """A panel for each element with a law: its times in order, and what the law has at the same places."""
    shown = [element for element in answer["elements"] if element["quantiles"]][:MOST]
    rows = max(1, math.ceil(len(shown) / COLUMNS))
    figure = new_figure(1.5 + rows * PANEL)
    left_out = len(answer["elements"]) - len(shown)
    lines = [
        "Each point is a cycle. Points on the line: the law is right; a bend at the end: its tail is not."
    ]
    if left_out:
        lines.append(f"{count_of(left_out, 'element')} without a law or beyond {MOST} are not shown.")
    top = write_heading(
        figure, [f"Measured times and laws, {plain(answer['file'])}"], lines, "Seconds at normal pace."
    )
    wide = (WIDTH - 0.4) / COLUMNS
    for k, element in enumerate(shown):
        row, column = divmod(k, COLUMNS)
        left = 0.2 + column * wide + 0.45
        above = top + 0.35 + row * PANEL
        axes = add_axes(
            figure, left, above, WIDTH - left - wide + 0.6, figure.get_figheight() - above - PANEL + 0.75
        )
        name = next(row["law"] for row in element["fits"] if row["chance"] is not None)
        observed, law = zip(*element["quantiles"], strict=True)
        ends = [min(*observed, *law), max(*observed, *law)]
        axes.plot(ends, ends, color=QUIET, linewidth=1)
        axes.plot(law, observed, "o", color=LINE, markersize=3.2, markeredgewidth=0)
        axes.set_title(f"{plain(element['name'])}: {name}", fontsize=9.5, color=INK_DARK, loc="left")
        if column == 0:
            axes.set_ylabel("measured, s", fontsize=8.5)
        axes.set_xlabel("by the law, s", fontsize=8.5)
    return figure


def save_quantiles(answer: Result, path: Path) -> None:
    """Write the picture, whose format is that of the ending."""
    save_picture(draw_quantiles, answer, path)
