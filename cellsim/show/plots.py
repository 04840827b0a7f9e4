"""The pictures of a study: output hour by hour, and what stations, people and robots did.

Drawn with matplotlib's object interface on its Agg canvas: no global state, no window, no date inside.
All numbers are those of the dictionary of `result.json`.
"""

from __future__ import annotations

import textwrap
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.patheffects import withStroke

from cellsim.show import Result, answer, count_of, extent, number, origin, percent, plain, target_words
from cellsim.show.palette import (
    BAND,
    CREW_STATES,
    INK_DARK,
    LINE,
    QUIET,
    SHADE,
    STATION_STATES,
    TARGET,
    State,
    look,
)

WIDTH, DPI = 10.0, 160  # inches, dots per inch: 1600 px
STYLE: Any = {"font.family": "DejaVu Sans", "hatch.linewidth": 0.5, "axes.unicode_minus": False}
TITLE_WIDTH = 78  # characters in a line of the title
MANY_HOURS = 14  # beyond this many hours labels are thinned and numbers left out
LETTER_SHARE, NUMBER_SHARE = 0.016, 0.055  # the least share with a letter, and with a number too
BAR = 0.72  # height of a bar, in rows


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
            figure.savefig(path, dpi=DPI, metadata={"Software": None})
        paths.append(path)
    return paths


def _figure(height: float) -> Figure:
    figure = Figure(figsize=(WIDTH, height), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def _title(name: str, words: str) -> list[str]:
    """The lines of a title: name and words on one line where that fits, else on lines of their own."""
    if len(name) + len(words) + 2 <= TITLE_WIDTH:
        return [f"{name}: {words}"]
    return [*textwrap.wrap(name + ":", TITLE_WIDTH, max_lines=2), *textwrap.wrap(words, TITLE_WIDTH)]


def _heading(figure: Figure, title: Sequence[str], lines: Sequence[str], foot: str) -> float:
    """Write title, subtitle and foot; return the inches that title and subtitle take."""
    height = figure.get_figheight()
    at = 0.18
    for text in title:
        _write(figure, 0.2, height - at, text, fontsize=14, fontweight="bold", color=INK_DARK)
        at += 0.27
    for text in (part for line in lines for part in textwrap.wrap(line, 132)):
        _write(figure, 0.2, height - at - 0.03, text, fontsize=9.5, color=QUIET)
        at += 0.19
    _write(figure, 0.2, 0.24, foot, fontsize=7.5, color=QUIET)
    return at + 0.05


def _write(figure: Figure, x: float, y: float, text: str, **style: Any) -> None:
    """Text with its upper left corner at inches from the lower left corner of the figure."""
    height = figure.get_figheight()
    figure.text(x / WIDTH, y / height, text, va="top", ha="left", parse_math=False, **style)


def _axes(figure: Figure, left: float, top: float, right: float, bottom: float) -> Axes:
    """Axes between these margins, in inches from the edges of the figure (`bottom` from below)."""
    height = figure.get_figheight()
    box = (left / WIDTH, bottom / height, (WIDTH - left - right) / WIDTH, (height - top - bottom) / height)
    axes = figure.add_axes(box)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
    axes.tick_params(length=0, labelsize=9, labelcolor=INK_DARK)
    return axes


def _foot(result: Result) -> str:
    parts = ["Planning study: it does not show that the cell is safe or lawful.", origin(result)]
    return "   ".join(part for part in parts if part)


# Output hour by hour -----------------------------------------------------------------------------------


def draw_output(result: Result) -> Figure:
    """Good units in each hour of the shift: band, median, mean with interval, target."""
    hours = result["output_per_hour"]["by_clock_hour"]
    figure = _figure(5.6)
    title = _title(plain(result["cell"]["name"]), answer(result))
    top = _heading(figure, title, _output_lines(result), _foot(result))
    axes = _axes(figure, 0.75, top + 0.42, 0.25, 0.95)
    axes.set_ylabel("good units in the hour", fontsize=9, color=QUIET)
    axes.grid(axis="y", color="#E4E4E2", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.set_xlim(-0.5, max(len(hours), 1) - 0.5)
    axes.set_ylim(0, 1.1 * max((_highest(row) for row in hours), default=0.0) or 1.0)
    for k, row in enumerate(hours):
        _draw_hour(axes, k, row, numbers=len(hours) <= MANY_HOURS)
    targets = [row.get("target") for row in hours]
    if hours and None not in targets:
        axes.stairs(
            targets,
            [k - 0.5 for k in range(len(hours) + 1)],
            baseline=None,
            color=TARGET,
            linewidth=2,
            linestyle=(0, (5, 2)),
            zorder=5,
            label="target",
        )
    _hour_labels(axes, hours)
    _output_legend(axes, hours, bool(hours) and None not in targets)
    return figure


def _output_lines(result: Result) -> list[str]:
    out = result["output_per_hour"]
    lines = [f"Studied: {extent(result)}."]
    low, high = out["interval"]
    if out["mean"] and low is not None and high is not None:
        lines[0] += f" 95 % interval of the mean {number(low, 1)} to {number(high, 1)}."
    if result["locked"]:
        runs = count_of(result["study"]["replications"], "run")
        count = len(result["locked"])
        text = f"The cell or a part of it LOCKED in {count} of {runs}; the time after is included."
        lines.insert(0, text)
    words = target_words(result)
    return lines + ([words] if words else [])


def _highest(row: Mapping[str, Any]) -> float:
    """The highest value that is drawn for an hour."""
    return float(
        max(v for v in (row["p95"], row["mean"], row["interval"][1], row.get("target")) if v is not None)
    )


def _is_short(row: Mapping[str, Any]) -> bool:
    """Whether an hour has less than 60 minutes of work in it."""
    return bool(row["working_min"] < 60)


def _draw_hour(axes: Axes, k: int, row: Mapping[str, Any], numbers: bool) -> None:
    """One hour at position `k`; artists carry `band`, `median`, `mean` and `interval` as their gid."""
    if _is_short(row):
        axes.axvspan(k - 0.5, k + 0.5, color=SHADE, linewidth=0, zorder=0)
    low, middle, high = row["p05"], row["p50"], row["p95"]
    half = 0.32 if numbers else 0.42
    band = Rectangle((k - half, low), 2 * half, high - low, facecolor=BAND, linewidth=0, zorder=2, gid="band")
    axes.add_patch(band)
    axes.plot(
        [k - half, k + half],
        [middle, middle],
        color=LINE,
        linewidth=2.2,
        zorder=4,
        gid="median",
        solid_capstyle="butt",
    )
    x = k - 0.15 if numbers else k
    ends = row["interval"]
    if None not in ends:
        axes.plot(
            [x, x], ends, color=INK_DARK, linewidth=1.3, zorder=6, gid="interval", solid_capstyle="butt"
        )
    axes.plot(
        [x],
        [row["mean"]],
        "o",
        color=INK_DARK,
        markeredgecolor="white",
        markeredgewidth=0.7,
        markersize=6 if numbers else 4,
        zorder=7,
        gid="mean",
    )
    if numbers and row["working_min"] > 0:
        _write_numbers(axes, k, low, middle, high)


def _write_numbers(axes: Axes, k: int, low: float, middle: float, high: float) -> None:
    """The ends of the band, and the median where the band is tall enough for it."""
    room = 0.06 * axes.get_ylim()[1]
    halo = [withStroke(linewidth=2, foreground="white")]
    style: dict[str, Any] = {"ha": "center", "textcoords": "offset points", "fontsize": 8, "zorder": 8}
    quiet = {**style, "color": QUIET, "path_effects": halo}
    axes.annotate(number(high), (k, high), (0, 3), va="bottom", **quiet)
    if low > room and high > low:
        axes.annotate(number(low), (k, low), (0, -3), va="top", **quiet)
    if high - middle > room:
        style |= {"color": LINE, "fontweight": "bold"}
        axes.annotate(number(middle), (k + 0.16, middle), (0, 2), va="bottom", **style)


def _hour_labels(axes: Axes, hours: Sequence[Mapping[str, Any]]) -> None:
    count = len(hours)
    labels = [row["hour"] for row in hours]
    if count > MANY_HOURS:
        step = next(s for s in (2, 3, 4, 6, 8, 12, 24, 48, 24 * -(-count // (24 * 14))) if count / s <= 14)
        axes.set_xticks(range(0, count, step), [label.split("-")[0] for label in labels[::step]])
        return
    if count > 9:
        labels = [label.replace("-", "-\n") for label in labels]
    gap = "\n" if count > 9 else " "
    notes = [_note(row, gap) for row in hours]
    if any(notes):
        labels = [f"{label}\n{note or ' '}" for label, note in zip(labels, notes, strict=True)]
    axes.set_xticks(range(count), labels)


def _note(row: Mapping[str, Any], gap: str) -> str:
    """What is said below a short hour, in the words of the shift: the minutes that are worked."""
    if not _is_short(row):
        return ""
    return f"{number(row['working_min'])} min{gap}worked" if row["working_min"] else f"not{gap}worked"


def _output_legend(axes: Axes, hours: Sequence[Mapping[str, Any]], target: bool) -> None:
    entries: list[tuple[Any, str]] = [
        (Patch(facecolor=BAND), "P5 to P95 (9 of 10 hours)"),
        (Line2D([], [], color=LINE, linewidth=2.2), "median"),
    ]
    dot = Line2D([], [], color=INK_DARK, marker="o", markersize=6, markeredgecolor="white", linewidth=1.3)
    known = any(None not in row["interval"] for row in hours)
    entries.append((dot, "mean with 95 % interval" if known else "mean"))
    if target:
        entries.append((Line2D([], [], color=TARGET, linewidth=2, linestyle=(0, (5, 2))), "target"))
    if any(_is_short(row) for row in hours):
        entries.append((Patch(facecolor=SHADE, edgecolor="#D0D0CC"), "less than 60 min worked"))
    axes.legend(
        [handle for handle, _ in entries],
        [label for _, label in entries],
        loc="lower left",
        ncol=len(entries),
        bbox_to_anchor=(-0.01, 1.0),
        frameon=False,
        fontsize=8.5,
        handlelength=1.8,
        columnspacing=1.6,
    )


# State shares ------------------------------------------------------------------------------------------


def draw_shares(result: Result) -> Figure:
    """A stacked bar for each station in route order, and below one for each post and robot."""
    stations = result["stations"]
    crew = {**result["people"], **result["robots"]}
    row, gap = (0.4, 0.62) if len(stations) + len(crew) <= 16 else (0.31, 0.62)
    legends = [_used(stations, STATION_STATES)] + ([_used(crew, CREW_STATES)] if crew else [])
    heights = [_legend_height(used) for used in legends]
    body = row * len(stations) + gap + heights[0] + (row * len(crew) + gap + heights[1] + 0.3 if crew else 0)
    title = _shares_title(result)
    figure = _figure(body + 1.2 + 0.27 * len(title))
    lines = [f"Share of the counted time in %. Studied: {extent(result)}."]
    top = _heading(figure, title, lines, _foot(result)) + 0.4
    left = _label_width([*stations, *crew])
    panels = [("Stations, in the order of the route", stations, STATION_STATES)]
    if crew:
        head = " and ".join(word for word, key in (("People", "people"), ("robots", "robots")) if result[key])
        panels.append((head[0].upper() + head[1:], crew, CREW_STATES))
    for (head, table, looks), used, height in zip(panels, legends, heights, strict=True):
        size = row * len(table)
        bottom = figure.get_figheight() - top - size
        axes = _axes(figure, left, top, 0.35, bottom)
        _draw_bars(axes, table, looks)
        at = figure.get_figheight() - top + 0.24
        _write(figure, 0.2, at, head, fontsize=10, fontweight="bold", color=INK_DARK)
        _draw_legend(figure, left, bottom - 0.42, used)
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
    return _title(plain(result["cell"]["name"]), words)


def _label(name: str, row: Mapping[str, Any]) -> str:
    """A name of at most two lines with the number of equal machines or people."""
    count = row.get("machines", row.get("count", 1))
    lines = textwrap.wrap(plain(name) + (f" ({count})" if count > 1 else ""), 26)
    return "\n".join(lines if len(lines) <= 2 else [lines[0], lines[1][:23] + "..."])


def _label_width(names: Sequence[str]) -> float:
    """Inches to the left of the bars."""
    longest = max(len(line) for name in names for line in (textwrap.wrap(plain(name), 26) or [""]))
    return 0.5 + 0.075 * min(longest + 4, 26)


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
                    gid=f"{name}/{state}",
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
        tick.set_fontsize(9 if tick.get_text().count("\n") == 0 else 7.5)
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
    """The looks of all states that occur in a panel, in stack order."""
    occurring = {state: None for row in table.values() for state in row["shares"]}
    return [look(looks, state) for state in _ordered(occurring, looks)]


LEGEND_COLUMNS, LEGEND_ROW = 4, 0.25


def _legend_height(used: Sequence[State]) -> float:
    return LEGEND_ROW * -(-len(used) // LEGEND_COLUMNS)


def _draw_legend(figure: Figure, left: float, top: float, used: Sequence[State]) -> None:
    """Swatches with letter and hatch as in the bars; a swatch is a Rectangle whose gid is `legend/letter`."""
    height = figure.get_figheight()
    start = min(left, 1.6)
    step = (WIDTH - start - 0.2) / LEGEND_COLUMNS
    for k, style in enumerate(used):
        x, y = start + step * (k % LEGEND_COLUMNS), top - LEGEND_ROW * (k // LEGEND_COLUMNS)
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
        figure.text(
            (x + 0.15) / WIDTH,
            (y - 0.09) / height,
            style.letter,
            ha="center",
            va="center",
            fontsize=7.5,
            color=style.ink,
            fontweight="bold",
            bbox={"boxstyle": "square,pad=0.1", "facecolor": style.colour, "edgecolor": "none"},
        )
        figure.text(
            (x + 0.37) / WIDTH,
            (y - 0.09) / height,
            style.label,
            ha="left",
            va="center",
            fontsize=8.5,
            color=INK_DARK,
            parse_math=False,
        )
