"""The picture of output: good units in each hour, with band, mean and target."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.patheffects import withStroke

from cellsim.show import Result, answer, count_of, extent, number, plain, target_words
from cellsim.show.palette import BAND, INK_DARK, LINE, QUIET, SHADE, TARGET
from cellsim.show.plots_sheet import DPI, add_axes, foot_of, new_figure, title_lines, write_heading

MANY_HOURS = 14  # beyond this many hours labels are thinned and numbers left out
NUMBER_HEIGHT = 0.18  # inches of a number in the picture with its margins


def draw_output(result: Result) -> Figure:
    """Good units in each hour of the shift: band, median, mean with interval, target."""
    hours = result["output_per_hour"]["by_clock_hour"]
    figure = new_figure(5.6)
    title = title_lines(plain(result["cell"]["name"]), answer(result))
    top = write_heading(figure, title, _output_lines(result), foot_of(result))
    positions, labels = _hour_labels(hours)
    deepest = max((label.count("\n") for label in labels), default=0)
    axes = add_axes(figure, 0.75, top + 0.42, 0.25, 0.65 + 0.16 * deepest)
    axes.set_xticks(positions, labels)
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
    x = k - 0.22 if numbers else k
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
        _write_numbers(axes, k, row)


def _write_numbers(axes: Axes, k: int, row: Mapping[str, Any]) -> None:
    """The ends of the band, and the median where the band is tall enough; the target line cuts no number."""
    low, middle, high, target = row["p05"], row["p50"], row["p95"], row.get("target")
    tall = _number_height(axes)
    halo = [withStroke(linewidth=2, foreground="white")]
    style: dict[str, Any] = {"ha": "center", "textcoords": "offset points", "fontsize": 8, "zorder": 8}
    quiet = {**style, "color": QUIET, "path_effects": halo}
    axes.annotate(number(high), (k, _above(high, target, tall)), (0, 3), va="bottom", **quiet)
    below = _below(low, target, tall)
    if below > tall and high > low:
        axes.annotate(number(low), (k, below), (0, -3), va="top", **quiet)
    style |= {"color": LINE, "fontweight": "bold"}
    above = _above(middle, target, tall)
    if high - above > tall:
        axes.annotate(number(middle), (k + 0.16, above), (0, 2), va="bottom", **style)
    elif above > middle and middle - low > tall:
        axes.annotate(number(middle), (k + 0.16, middle), (0, -2), va="top", **style)


def _number_height(axes: Axes) -> float:
    """The height of a number with its margins, in units of the axis."""
    return float(NUMBER_HEIGHT * DPI / axes.bbox.height * axes.get_ylim()[1])


def _above(value: float, target: float | None, tall: float) -> float:
    """Where a number stands that is written above a value: on it, or on a target that would cut it."""
    return target if target is not None and value <= target < value + tall else value


def _below(value: float, target: float | None, tall: float) -> float:
    """Where a number hangs that is written below a value: from it, or from a target that would cut it."""
    return target if target is not None and value - tall < target <= value else value


def _hour_labels(hours: Sequence[Mapping[str, Any]]) -> tuple[range, list[str]]:
    """Positions and texts of the labels below the hours."""
    count = len(hours)
    labels = [row["hour"] for row in hours]
    if count > MANY_HOURS:
        step = next(s for s in (2, 3, 4, 6, 8, 12, 24, 48, 24 * -(-count // (24 * 14))) if count / s <= 14)
        return range(0, count, step), [label.split("-")[0] for label in labels[::step]]
    if count > 9:
        labels = [label.replace("-", "-\n") for label in labels]
    gap = "\n" if count > 9 else " "
    notes = [_note(row, gap) for row in hours]
    if any(notes):
        labels = [f"{label}\n{note or ' '}" for label, note in zip(labels, notes, strict=True)]
    return range(count), labels


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
