"""The picture of the paper work: loads of stations, operator balance chart and man-machine charts."""

from __future__ import annotations

import textwrap
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from cellsim.show import Result, percent, plain
from cellsim.show.loaded_words import headline, people_words, rate_words
from cellsim.show.palette import BAND, INK_DARK, LINE, QUIET, TARGET
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_balance import draw_balance, short
from cellsim.show.plots_balance import legend as balance_legend
from cellsim.show.plots_man_machine import LABEL, draw_man_machine, height_of, title_of
from cellsim.show.plots_man_machine import legend as chart_legend
from cellsim.show.plots_sheet import add_axes, foot_of, new_figure, title_lines, write, write_heading

BALANCE, ROW = 3.9, 0.21  # inches of the balance chart, and of a station
HEAD, TAIL = 0.42, 0.42  # inches above and below the axes of a part
LEFT, RIGHT, GAP, FOOT = 1.5, 0.75, 0.1, 0.35  # inches
HEADING = 132  # letters in a line of the heading


def draw_load(answer: Result) -> Figure:
    """The whole sheet: stations, then people and robots where there are any, then a chart for each team."""
    title = title_lines(plain(answer["cell"]), f"loads on paper at {rate_words(answer)}")
    lines = [headline(answer), *people_words(answer)]
    parts = [len(answer["stations"]) * ROW] if answer["stations"] else []
    somebody = bool(answer["posts"] or answer["robots"])
    parts += [BALANCE] if somebody else []
    parts += [height_of(chart) for chart in answer["charts"]]
    head_lines = sum(len(textwrap.wrap(line, HEADING)) for line in lines)
    heading = 0.33 + 0.27 * len(title) + 0.19 * head_lines
    figure = new_figure(heading + sum(parts) + len(parts) * (HEAD + TAIL + GAP) + FOOT)
    top = write_heading(figure, title, lines, foot_of(answer)) + 0.1
    heads = [] if not answer["stations"] else ["Stations: share of the time there is, light with stops"]
    heads += ["People and robots: balance chart"] if somebody else []
    heads += [title_of(chart) for chart in answer["charts"]]
    axes = []
    for head, height in zip(heads, parts, strict=True):
        write(figure, 0.2, figure.get_figheight() - top, head, fontsize=10, fontweight="bold", color=INK_DARK)
        top += HEAD
        axes.append(add_axes(figure, LEFT, top, RIGHT, figure.get_figheight() - top - height))
        top += height + TAIL + GAP
    rest = iter(axes)
    if answer["stations"]:
        _draw_stations(next(rest), answer)
    if somebody:
        balance = next(rest)
        draw_balance(balance, answer)
        balance_legend(balance, answer)
    for k, (chart, place) in enumerate(zip(answer["charts"], rest, strict=True)):
        draw_man_machine(place, chart)
        if k == 0:
            chart_legend(place)
    return figure


def _draw_stations(axes: Axes, answer: Result) -> None:
    """A bar for each station, gid `station/load`, and in a lighter tint what stops add, `station/stops`."""
    rows = answer["stations"]
    for k, row in enumerate(rows):
        name = plain(row["name"])
        least, most = 100 * row["load"], 100 * row["load_with_stops"]
        for start, width, colour, what in ((0, least, LINE, "load"), (least, most - least, BAND, "stops")):
            axes.add_patch(
                Rectangle((start, k - 0.36), width, 0.72, facecolor=colour, linewidth=0, gid=f"{name}/{what}")
            )
        more = " *" if row["more_time"] else ""
        axes.text(
            most + 0.6,
            k,
            percent(row["load_with_stops"]) + more,
            va="center",
            fontsize=7.5,
            color=INK_DARK,
            zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
        )
    axes.axvline(100, color=TARGET, linewidth=1.4, gid="takt", zorder=3)
    planned = answer["takt"]["planned_efficiency"]
    if planned is not None:
        axes.axvline(100 * planned, color=TARGET, linewidth=1, linestyle="--", gid="planned cycle", zorder=3)
    axes.set_xlim(0, max(108.0, *(100 * row["load_with_stops"] + 8 for row in rows)))
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks(range(len(rows)), [short(row["name"], LABEL) for row in rows])
    for tick in axes.get_yticklabels():
        tick.set_parse_math(False)
        tick.set_fontsize(8)
    axes.tick_params(axis="x", labelcolor=QUIET, labelsize=7.5)
    starred = any(row["more_time"] for row in rows)
    note = "% of the net available time" + ("; * works in breaks or at night too" if starred else "")
    axes.set_xlabel(note, fontsize=7.5, color=QUIET, labelpad=1)


def save_load(answer: Result, path: Path) -> None:
    """Write the picture."""
    save_picture(draw_load, answer, path)
