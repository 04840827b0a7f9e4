"""The picture of states: what stations, people and robots did, as stacked bars."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from cellsim.show import Result, extent, percent, plain
from cellsim.show.palette import CREW_STATES, INK_DARK, QUIET, STATION_STATES, State, look
from cellsim.show.plots_sheet import WIDTH, add_axes, foot_of, new_figure, title_lines, write, write_heading

LETTER_SHARE, NUMBER_SHARE = 0.016, 0.055  # the least share with a letter, and with a number too
VISIBLE = 0.002  # the least share that can be seen, between the white lines around it
BAR = 0.72  # height of a bar, in rows
LEGEND_COLUMNS, LEGEND_ROW = 4, 0.25  # columns, inches from row to row
ONE_LINE, TWO_LINES = 26, 32  # the most letters in a name on one line, and in each of two


def draw_shares(result: Result) -> Figure:
    """A stacked bar for each station in route order, and below one for each post and robot."""
    stations = result["stations"]
    crew = {**result["people"], **result["robots"]}
    row, gap = (0.4, 0.62) if len(stations) + len(crew) <= 16 else (0.31, 0.62)
    legends = [_used(stations, STATION_STATES)] + ([_used(crew, CREW_STATES)] if crew else [])
    heights = [_legend_height(used) for used in legends]
    body = row * len(stations) + gap + heights[0] + (row * len(crew) + gap + heights[1] + 0.3 if crew else 0)
    title = _shares_title(result)
    figure = new_figure(body + 1.2 + 0.27 * len(title))
    lines = [f"Share of the counted time in %. Studied: {extent(result)}."]
    top = write_heading(figure, title, lines, foot_of(result)) + 0.4
    left = _label_width(_label(name, of) for name, of in [*stations.items(), *crew.items()])
    panels = [("Stations, in the order of the route", stations, STATION_STATES)]
    if crew:
        head = " and ".join(word for word, key in (("People", "people"), ("robots", "robots")) if result[key])
        panels.append((head[0].upper() + head[1:], crew, CREW_STATES))
    for (head, table, looks), used, height in zip(panels, legends, heights, strict=True):
        size = row * len(table)
        bottom = figure.get_figheight() - top - size
        axes = add_axes(figure, left, top, 0.35, bottom)
        _draw_bars(axes, table, looks)
        at = figure.get_figheight() - top + 0.24
        write(figure, 0.2, at, head, fontsize=10, fontweight="bold", color=INK_DARK)
        _draw_legend(figure, bottom - 0.42, used)
        top += size + gap + height + 0.3
    return figure


def _shares_title(result: Result) -> list[str]:
    """The title: which station works most."""
    busy = ("working", "attended", "handled")
    name, share = max(
        (
            (name, sum(row["shares"][s]["mean"] for s in busy if s in row["shares"]))
            for name, row in result["stations"].items()
        ),
        key=lambda pair: pair[1],
    )
    words = f"{plain(name)} works most, {percent(share)} of the time" if share else "no station works"
    return title_lines(plain(result["cell"]["name"]), words)


def _label(name: str, row: Mapping[str, Any]) -> str:
    """A name with the number of equal machines or people, on two lines of about one length if it is long."""
    count = row.get("machines", row.get("count", 1))
    text = plain(name) + (f" ({count})" if count > 1 else "")
    if len(text) <= ONE_LINE:
        return text
    for width in range(len(text) // 2, TWO_LINES + 1):
        lines = textwrap.wrap(text, width, break_long_words=False)
        if len(lines) <= 2 and max(map(len, lines)) <= TWO_LINES:
            return "\n".join(lines)
    return "\n".join(textwrap.wrap(text, TWO_LINES, max_lines=2, placeholder=" ..."))


def _label_size(label: str) -> float:
    """Points of the letters of a label."""
    return 7.5 if "\n" in label else 9


def _label_width(labels: Iterable[str]) -> float:
    """Inches to the left of the bars; a letter is about 0.6 of its size wide."""
    widest = max(0.6 / 72 * _label_size(label) * len(line) for label in labels for line in label.split("\n"))
    return 0.35 + widest


def _draw_bars(axes: Axes, table: Mapping[str, Any], looks: Mapping[str, State]) -> None:
    """Stacked bars, the first row on top; each segment is a Rectangle whose gid is `row/state`."""
    for k, (name, row) in enumerate(table.items()):
        at = 0.0
        for state in _ordered(row["shares"], looks):
            share = row["shares"][state]["mean"]
            style = look(looks, state)
            if at:
                axes.plot([100 * at] * 2, [k - BAR / 2, k + BAR / 2], color="white", linewidth=0.9, zorder=3)
            axes.add_patch(
                Rectangle(
                    (100 * at, k - BAR / 2),
                    100 * share,
                    BAR,
                    facecolor=style.colour,
                    edgecolor=_hatch_ink(style),
                    hatch=style.hatch,
                    linewidth=0,
                    gid=f"{plain(name)}/{plain(state)}",
                )
            )
            _letter(axes, 100 * (at + share / 2), k, style, share)
            at += share
        frame = Rectangle(
            (0, k - BAR / 2), 100 * at, BAR, fill=False, edgecolor=QUIET, linewidth=0.6, zorder=4
        )
        axes.add_patch(frame)
        frame.set_clip_on(False)
    axes.set_xlim(0, 100)
    axes.set_ylim(len(table) - 0.5, -0.5)
    axes.set_yticks(range(len(table)), [_label(name, row) for name, row in table.items()])
    axes.set_xticks(range(0, 101, 20), [f"{k} %" for k in range(0, 101, 20)])
    for tick in axes.get_yticklabels():
        tick.set_parse_math(False)
        tick.set_fontsize(_label_size(tick.get_text()))
    axes.spines["bottom"].set_visible(False)
    axes.tick_params(axis="x", labelcolor=QUIET, labelsize=8)


def _ordered(shares: Mapping[str, Any], looks: Mapping[str, State]) -> list[str]:
    """The states of one bar in stack order; states that the table does not know come last."""
    return [s for s in looks if s in shares] + [s for s in shares if s not in looks]


def _hatch_ink(style: State) -> str:
    return "#FFFFFF" if style.ink == "#FFFFFF" else "#77777D"


def _letter(axes: Axes, x: float, y: float, style: State, share: float) -> None:
    if share < LETTER_SHARE:
        return
    text = style.letter if share < NUMBER_SHARE else f"{style.letter} {100 * share:.0f}"
    axes.text(
        x,
        y,
        text,
        ha="center",
        va="center",
        fontsize=8,
        color=style.ink,
        fontweight="bold",
        zorder=5,
        bbox={"boxstyle": "square,pad=0.12", "facecolor": style.colour, "edgecolor": "none"}
        if style.hatch
        else None,
    )


def _used(table: Mapping[str, Any], looks: Mapping[str, State]) -> list[State]:
    """The looks of all states that can be seen in a panel, in stack order."""
    occurring = {
        state: None
        for row in table.values()
        for state, share in row["shares"].items()
        if share["mean"] >= VISIBLE
    }
    return [look(looks, state) for state in _ordered(occurring, looks)]


def _legend_height(used: Sequence[State]) -> float:
    return LEGEND_ROW * -(-len(used) // LEGEND_COLUMNS)


def _draw_legend(figure: Figure, top: float, used: Sequence[State]) -> None:
    """Swatches with letter and hatch as in the bars; a swatch is a Rectangle whose gid is `legend/letter`."""
    height = figure.get_figheight()
    step = (WIDTH - 0.4) / LEGEND_COLUMNS
    for k, style in enumerate(used):
        x, y = 0.2 + step * (k % LEGEND_COLUMNS), top - LEGEND_ROW * (k // LEGEND_COLUMNS)
        figure.add_artist(
            Rectangle(
                (x / WIDTH, (y - 0.17) / height),
                0.3 / WIDTH,
                0.17 / height,
                facecolor=style.colour,
                edgecolor=_hatch_ink(style),
                hatch=style.hatch,
                linewidth=0.6,
                gid=f"legend/{style.letter}",
            )
        )
        common: dict[str, Any] = {"va": "center", "parse_math": False}
        middle = (y - 0.09) / height
        figure.text(
            (x + 0.15) / WIDTH,
            middle,
            style.letter,
            ha="center",
            fontsize=7.5,
            color=style.ink,
            fontweight="bold",
            bbox={"boxstyle": "square,pad=0.1", "facecolor": style.colour, "edgecolor": "none"},
            **common,
        )
        figure.text((x + 0.37) / WIDTH, middle, style.label, fontsize=8.5, color=INK_DARK, **common)
