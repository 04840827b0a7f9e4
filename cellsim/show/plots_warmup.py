"""The picture of a start: output and work in progress as they settle, and what is not counted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.patheffects import withStroke
from matplotlib.ticker import MaxNLocator

from cellsim.show import Result, number, plain
from cellsim.show.palette import INK_DARK, LINE, QUIET, TARGET
from cellsim.show.plots_sheet import add_axes, foot_of, new_figure, title_lines, write_heading
from cellsim.show.settled import headline, length_words, rate_words, run_words

LABELS = {"output": "good units\nper working hour", "wip": "units inside\n(work in progress)"}
FAINT = "#9FB2C8"  # the averaged series behind its moving average
LEFT_OUT = "#ECE3EB"  # the time that is not counted
PANEL, GAP, BELOW = 1.95, 0.5, 0.85  # inches: height of a panel, between two, and below the last


def draw_warmup(answer: Result) -> Figure:
    """Output above, work in progress below, over the time since the start of the run."""
    name = plain(answer["cell"]["name"])
    words = headline(answer).removeprefix(name).lstrip(": ")
    lines = [run_words(answer)]
    lines.insert(0, f"{rate_words(answer)} {length_words(answer)}" if answer["settles"] else _because(answer))
    title = title_lines(name, words)
    heading = 0.55 + 0.27 * len(title) + 0.19 * 3
    figure = new_figure(heading + 2 * PANEL + GAP + BELOW)
    top = write_heading(figure, title, lines, foot_of(answer)) + 0.42
    height = figure.get_figheight()
    panel = (height - top - GAP - BELOW) / 2
    for k, key in enumerate(("output", "wip")):
        above = top + k * (panel + GAP)
        axes = add_axes(figure, 0.95, above, 0.25, height - above - panel)
        _draw_series(axes, answer, key)
        if k == 0:
            _legend(axes, answer)
        else:
            axes.set_xlabel(_time_label(answer), fontsize=9, color=QUIET)
    return figure


def _because(answer: Result) -> str:
    reason = plain(answer["reason"])
    return reason[:1].upper() + reason[1:] + "."


def _step(answer: Result) -> tuple[int, str]:
    """Hours or shifts in an interval, and which of the two."""
    count, _, unit = answer["run"]["interval"].partition(" ")
    return int(count), "hours" if unit == "h" else "shifts"


def _time_label(answer: Result) -> str:
    count, unit = _step(answer)
    each = f", averaged over {count} each" if count > 1 else ""
    return f"{unit} since the start{each}"


def _draw_series(axes: Axes, answer: Result, key: str) -> None:
    """One series; artists carry `series`, `average`, `dropped`, `rule`, `long run` as their gid."""
    row: Mapping[str, Any] = answer["series"][key]
    step, _ = _step(answer)
    ends = [step * (k + 0.5) for k in range(len(row["mean"]))]
    axes.set_xlim(0, step * len(row["mean"]))
    axes.grid(axis="y", color="#E4E4E2", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.set_ylabel(LABELS[key], fontsize=9, color=QUIET)
    axes.xaxis.set_major_locator(MaxNLocator(10, integer=True))
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.plot(ends, row["mean"], color=FAINT, linewidth=1.1, zorder=3, gid="series")
    smooth = row["moving_average"]
    axes.plot(ends[: len(smooth)], smooth, color=LINE, linewidth=2.2, zorder=4, gid="average")
    axes.set_ylim(0, 1.18 * max(row["mean"]) or 1.0)
    if not answer["settles"]:
        return
    dropped = step * answer["drop"]["intervals"]
    if dropped:
        axes.axvspan(0, dropped, facecolor=LEFT_OUT, linewidth=0, zorder=0, gid="dropped")
        axes.axvline(dropped, color=TARGET, linewidth=2, linestyle=(0, (5, 2)), zorder=5)
    rule = step * row["dropped"]
    if rule not in (0, dropped):
        axes.axvline(rule, color=TARGET, linewidth=1.5, linestyle=(0, (1, 2)), zorder=5, gid="rule")
    mean = answer["long_run"][key]["mean"]
    right = axes.get_xlim()[1]
    axes.plot([dropped, right], [mean, mean], color=INK_DARK, linewidth=1.3, zorder=6, gid="long run")
    axes.annotate(
        number(mean), (right, mean), (-4, 7), textcoords="offset points", ha="right", va="bottom",
        fontsize=9, fontweight="bold", color=INK_DARK, zorder=7,
        path_effects=[withStroke(linewidth=3, foreground="white")],
    )  # fmt: skip


def _legend(axes: Axes, answer: Result) -> None:
    step, unit = _step(answer)
    window = 2 * answer["series"]["output"]["window"] + 1
    runs = answer["run"]["replications"]
    entries: list[tuple[Any, str]] = [
        (Line2D([], [], color=FAINT, linewidth=1.1), f"mean of {runs} runs" if runs > 1 else "one run"),
        (Line2D([], [], color=LINE, linewidth=2.2), f"moving average (Welch) over {step * window} {unit}"),
    ]
    if answer["settles"]:
        if answer["drop"]["intervals"]:
            entries.append((Patch(facecolor=LEFT_OUT, edgecolor=TARGET), "left out"))
        rule = {row["dropped"] for row in answer["series"].values()}
        if rule - {0, answer["drop"]["intervals"]}:
            dots = Line2D([], [], color=TARGET, linewidth=1.5, linestyle=(0, (1, 2)))
            entries.append((dots, "MSER-5 alone"))
        entries.append((Line2D([], [], color=INK_DARK, linewidth=1.3), "mean of the rest"))
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
