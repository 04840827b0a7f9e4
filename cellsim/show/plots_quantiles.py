"""Measured times against the laws that were fitted: on the line where the law is right."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from matplotlib.figure import Figure

from cellsim.show import Result, count_of, plain
from cellsim.show.palette import INK_DARK, LINE, QUIET
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import WIDTH, add_axes, new_figure, write_heading

COLUMNS, PANEL, MOST = 3, 2.7, 12  # panels in a row, inches of a row, panels at most
LETTERS = 40  # of a title over a panel
SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}


@dataclass(frozen=True, slots=True)
class Panel:
    """Times in seconds, each with the one that the law has at its place, shown in `unit`."""

    title: str
    pairs: Sequence[Sequence[float]]
    unit: str


def draw_quantiles(answer: Result) -> Figure:
    """A panel for each element of a time study, or each stop of a stop log, for which a law was fitted."""
    of_stops = "causes" in answer
    panels = list(_of_stops(answer) if of_stops else _of_elements(answer))
    shown = panels[:MOST]
    rows = max(1, math.ceil(len(shown) / COLUMNS))
    figure = new_figure(1.5 + rows * PANEL)
    point = "stop" if of_stops else "cycle"
    lines = [
        f"Each point is a {point}. Points on the line: the law is right; a bend at the end: its tail is not."
    ]
    left_out = len(panels) - len(shown) if of_stops else len(answer["elements"]) - len(shown)
    if left_out:
        what = "stop" if of_stops else "element"
        lines.append(f"{count_of(left_out, what)} without a law or beyond {MOST} are not shown.")
    name = "Stops" if of_stops else "Measured times"
    of_times = "Seconds at normal pace." if answer.get("rated") else "Seconds as observed, unrated."
    foot = "Lengths and times between stops." if of_stops else of_times
    top = write_heading(figure, [f"{name} and laws, {plain(answer['file'])}"], lines, foot)
    wide = (WIDTH - 0.4) / COLUMNS
    for k, panel in enumerate(shown):
        row, column = divmod(k, COLUMNS)
        left = 0.2 + column * wide + 0.45
        above = top + 0.35 + row * PANEL
        axes = add_axes(
            figure, left, above, WIDTH - left - wide + 0.6, figure.get_figheight() - above - PANEL + 0.75
        )
        size = SECONDS[panel.unit]
        observed, law = ([value / size for value in side] for side in zip(*panel.pairs, strict=True))
        ends = [min(*observed, *law), max(*observed, *law)]
        axes.plot(ends, ends, color=QUIET, linewidth=1)
        axes.plot(law, observed, "o", color=LINE, markersize=3.2, markeredgewidth=0)
        axes.set_title(shortened(panel.title), fontsize=9.5, color=INK_DARK, loc="left")
        if column == 0:
            axes.set_ylabel(f"measured, {panel.unit}", fontsize=8.5)
        axes.set_xlabel(f"by the law, {panel.unit}", fontsize=8.5)
    return figure


def shortened(title: str) -> str:
    """A title that fits over its panel; its end, the law, is kept."""
    return title if len(title) <= LETTERS else f"{title[: LETTERS - 22]}…{title[-21:]}"


def _of_elements(answer: Result) -> Iterator[Panel]:
    for element in answer["elements"]:
        if element["quantiles"]:
            law = next(row["law"] for row in element["fits"] if row["chance"] is not None)
            yield Panel(f"{plain(element['name'])}: {law}", element["quantiles"], "s")


def _of_stops(answer: Result) -> Iterator[Panel]:
    for cause in answer["causes"]:
        for key in ("lasts", "every"):
            found = cause[key]
            if found is not None and found["quantiles"]:
                longest = max(value for value, _ in found["quantiles"])
                unit = "h" if longest >= 7200 else "min" if longest >= 120 else "s"
                title = f"{plain(cause['station'])}, {plain(cause['cause'])} {key}: {found['law']}"
                yield Panel(title, found["quantiles"], unit)


def save_quantiles(answer: Result, path: Path) -> None:
    """Write the picture, whose format is that of the ending."""
    save_picture(draw_quantiles, answer, path)
