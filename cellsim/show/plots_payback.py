"""The picture of an investment: what breaks even, when the money is back, and what changes it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from cellsim.show import Result, plain
from cellsim.show.paid_back import (
    first_words,
    money,
    name_of,
    range_words,
    rate_words,
    rounded,
    shown_needs,
    verdict_words,
    years_words,
)
from cellsim.show.palette import BAND, INK_DARK, LINE, QUIET, TARGET
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import WIDTH, add_axes, foot_of, new_figure, title_lines, write, write_heading

PANEL, ROW, MOST_ROWS = 2.75, 0.34, 8  # inches of the upper panels, of a row of the tornado; rows
LEGEND = (
    "Violet: what brings the money back in a time, all else at its middle. Line with band: what there is, and"
    " its range or 95 % interval. Dashed: the limit."
)
AXIS = {
    "units_per_hour": "More units per hour",
    "people": "People freed per shift",
}


def draw_payback(answer: Result) -> Figure:
    """Above what is needed for each payback time and how often each comes, below what changes the value.

    The curve has the gid `needed/KEY`, what the case has `now/KEY`, a bar of the histogram `back/k`, half a
    bar of the tornado `PATH/low` or `PATH/high`.
    """
    rows = [row for row in answer["tornado"] if row["swing"] > 0][:MOST_ROWS]
    title = title_lines(plain(answer["case"]), verdict_words(answer))
    keys = shown_needs(answer)
    below = 0.95 + ROW * len(rows) if rows else 0.0
    figure = new_figure(1.35 + 0.27 * len(title) + PANEL + 0.75 + below)
    top = write_heading(figure, title, [first_words(answer), LEGEND], foot_of(answer)) + 0.15
    height = figure.get_figheight()
    panels = len(keys) + 1
    wide = (WIDTH - 0.4) / panels
    for k, key in enumerate([*keys, "histogram"]):
        left = 0.2 + k * wide + 0.55
        axes = add_axes(figure, left, top + 0.42, WIDTH - left - wide + 0.75, height - top - PANEL - 0.1)
        if key == "histogram":
            _histogram(axes, answer)
        else:
            _needed(axes, answer, key)
    if rows:
        write(figure, 0.2, height - top - PANEL - 0.62,
              f"What changes the net present value, {plain(answer['currency'])}: each number alone at its"
              " ends (hatched: low end)",
              fontsize=10, color=INK_DARK)  # fmt: skip
        _tornado(add_axes(figure, 3.6, top + PANEL + 0.95, 0.6, 0.75), answer, rows)
    return figure


def _needed(axes: Axes, answer: Result, key: str) -> None:
    """What is needed, and what there is: of units the gain by the runs, and what of it is sold."""
    found, limit, horizon = answer["break_even"][key], answer["payback_limit"], answer["horizon"]
    points = [(row["years"], row["needed"]) for row in found["curve"] if row["needed"] is not None]
    mean, (low, high) = found["now"], found["now_interval"]
    if key == "units_per_hour":
        mean, (low, high) = answer["gain"]["mean"], answer["gain"]["interval"]
    reach = max(high, mean, found["now"], found["at_limit"] or 0.0, 1e-9)
    _panel(axes, f"{AXIS[key]} needed to be back")
    axes.axhspan(max(0.0, low), max(0.0, high), color=BAND, linewidth=0, zorder=1, gid=f"range/{key}")
    axes.axhline(max(0.0, mean), color=LINE, linewidth=1.6, zorder=3, gid=f"now/{key}")
    axes.plot(*zip(*points, strict=True), color=TARGET, linewidth=2, zorder=4, gid=f"needed/{key}")
    axes.axvline(limit, color=QUIET, linewidth=0.9, linestyle=(0, (4, 3)), zorder=2)
    axes.set_xlim(0, horizon)
    axes.set_ylim(0, 2.0 * reach)
    axes.set_xlabel("payback, years", fontsize=8.5, color=QUIET)
    style: dict[str, Any] = {"ha": "left", "va": "bottom", "fontsize": 7.5, "zorder": 5}
    said = "in the case" if key == "people" else "by the runs"
    axes.text(0.05, max(0.0, mean), said, color=LINE, **style)
    if mean - found["now"] > 0.02 * reach:
        axes.axhline(max(0.0, found["now"]), color=LINE, linewidth=1.2, linestyle=":", zorder=3, gid="sold")
        axes.text(0.05, max(0.0, found["now"]), "of it can be sold", color=LINE, **style)


def _histogram(axes: Axes, answer: Result) -> None:
    found = answer["drawn"]["histogram"]
    total, width, limit = answer["draws"], found["width"], answer["payback_limit"]
    _panel(axes, "When the money is back, % of draws")
    for k, count in enumerate(found["counts"]):
        colour = LINE if (k + 1) * width <= limit + 1e-9 else BAND
        bar = Rectangle((k * width, 0), width * 0.92, 100 * count / total, facecolor=colour, linewidth=0,
                        gid=f"back/{k}")  # fmt: skip
        axes.add_patch(bar)
    horizon, never = answer["horizon"], found["never"]
    highest = max([never, *found["counts"]]) / total * 100
    end = float(horizon)
    if never:
        end = horizon + 0.9
        axes.add_patch(
            Rectangle((horizon + 0.25, 0), 0.5, 100 * never / total, facecolor=QUIET, gid="back/never")
        )
    axes.axvline(limit, color=QUIET, linewidth=0.9, linestyle=(0, (4, 3)))
    axes.text(limit, 1.16 * highest, f" limit: {years_words(limit)}", fontsize=7.5, color=QUIET, va="top")
    axes.set_xlim(0, end)
    axes.set_ylim(0, 1.18 * highest or 1.0)
    ticks = list(range(horizon + 1))
    labels = [str(t) for t in ticks]
    axes.set_xticks([*ticks, horizon + 0.5] if never else ticks, [*labels, "later"] if never else labels)
    if never:
        axes.get_xticklabels()[-2].set_visible(False)
    axes.set_xlabel("payback, years", fontsize=8.5, color=QUIET)


def _panel(axes: Axes, title: str) -> None:
    axes.set_title(title, fontsize=9, color=INK_DARK, loc="left")
    axes.grid(axis="y", color="#E4E4E2", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=8)


def _tornado(axes: Axes, answer: Result, rows: list[Mapping[str, Any]]) -> None:
    middle = answer["point"]["npv"]
    reach = [0.0]
    for k, row in enumerate(rows):
        for end in ("low", "high"):
            change = row[f"at_{end}"]["npv"] - middle
            axes.add_patch(
                Rectangle((middle + min(0.0, change), k - 0.31), abs(change), 0.62, facecolor=BAND,
                          edgecolor="#77777D", hatch="//" if end == "low" else "", linewidth=0, zorder=2,
                          gid=f"{row['what']}/{end}")
            )  # fmt: skip
            reach.append(change)
    room = 0.06 * ((max(reach) - min(reach)) or 1.0)
    axes.set_xlim(middle + min(reach) - room, middle + max(reach) + room)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.axvline(middle, color=QUIET, linewidth=0.8, zorder=1)
    if middle + min(reach) - room < 0 < middle + max(reach) + room:
        axes.axvline(0, color=TARGET, linewidth=1.2, zorder=3)
    axes.set_yticks(range(len(rows)), [f"{name_of(row['what'])}\n{range_words(row)}" for row in rows])
    for tick in axes.get_yticklabels():
        tick.set_parse_math(False)
        tick.set_fontsize(7.5)
    axes.xaxis.set_major_formatter(lambda value, _: money(value))
    axes.tick_params(axis="x", labelcolor=QUIET, labelsize=8)
    axes.set_xlabel(
        f"net present value over {answer['horizon']} years at {rate_words(answer['point']['rate'])}; middle"
        f" {rounded(middle)}",
        fontsize=8.5,
        color=QUIET,
    )


def save_payback(answer: Result, path: Path) -> None:
    """Write the picture, whose format is that of the ending."""
    save_picture(draw_payback, answer, path)
