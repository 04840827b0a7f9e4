"""The man-machine chart: people and robots on top, what they attend below, over some takts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from cellsim.show import duration, plain
from cellsim.show.palette import CREW_STATES, QUIET, SHADE, STATION_STATES, TARGET, ink_on
from cellsim.show.plots_balance import TINTS, short

LANE = 0.24  # inches of a line
BAR = 0.74  # height of a bar in lines
LABEL = 20  # letters of a name on the left
LONG_S = 1200.0  # from here on the axis counts minutes
MOST_TAKTS = 16  # beyond that lines of the takt would be a fence
TOGETHER_S = 1e-6  # bars that follow one another at once
LEAST_WORDS = 0.0086  # of the width for each letter: a shorter bar carries no words
LOOKS = {
    "work": CREW_STATES["working"],
    "walking": CREW_STATES["travelling"],
    "attended": STATION_STATES["handled"],
    "alone": CREW_STATES["helping out"],
}
WORDS = {
    "work": "busy, by station dark and light",
    "walking": "walking or travelling",
    "attended": "machine attended",
    "alone": "machine works alone",
}


def height_of(chart: Mapping[str, Any]) -> float:
    """Inches of the lines of a chart."""
    return LANE * len(chart["lines"])


def draw_man_machine(axes: Axes, chart: Mapping[str, Any]) -> None:
    """A line for each; a bar carries gid `line/at/what/kind` of what it is, the lines of the takt `takt`."""
    length, lines = chart["length_s"], chart["lines"]
    scale = 60.0 if length >= LONG_S else 1.0
    order = sorted({bar["at"] for line in lines for bar in line["bars"]})
    for k, line in enumerate(lines):
        axes.add_patch(
            Rectangle((0, k - BAR / 2), length / scale, BAR, facecolor=SHADE, linewidth=0, zorder=0)
        )
        for bar in line["bars"]:
            _bar(axes, k, line["name"], bar, scale, order)
        for bar in _named(line["bars"]):
            _write(axes, k, bar, scale, length, order)
    if length / chart["takt_s"] <= MOST_TAKTS:
        for number in range(1, int(length / chart["takt_s"] + 1e-6) + 1):
            at = number * chart["takt_s"] / scale
            axes.axvline(at, color=TARGET, linewidth=1, linestyle="--", zorder=1.5, gid="takt")
    axes.set_xlim(0, length / scale)
    axes.set_ylim(len(lines) - 0.5, -0.5)
    axes.set_yticks(range(len(lines)), [short(line["name"], LABEL) for line in lines])
    for tick, line in zip(axes.get_yticklabels(), lines, strict=True):
        tick.set_parse_math(False)
        tick.set_fontsize(8)
        tick.set_fontweight("bold" if line["kind"] == "who" else "normal")
    axes.tick_params(axis="x", labelcolor=QUIET, labelsize=7.5)
    axes.set_xlabel("minutes" if scale > 1 else "seconds", fontsize=7.5, color=QUIET, labelpad=1)


def _bar(
    axes: Axes,
    place: int,
    line: str,
    bar: Mapping[str, Any],
    scale: float,
    order: Sequence[str],
) -> None:
    """One bar; work at neighbours in `order`, the stations of the chart, is dark and light in turn."""
    look = LOOKS[bar["kind"]]
    start, width = bar["from_s"] / scale, (bar["to_s"] - bar["from_s"]) / scale
    axes.add_patch(
        Rectangle(
            (start, place - BAR / 2),
            width,
            BAR,
            facecolor=_colour(bar, order),
            edgecolor="white",
            hatch=look.hatch if bar["kind"] == "walking" else "",
            linewidth=0.4,
            zorder=1,
            gid=f"{plain(line)}/{plain(bar['at'])}/{plain(bar['what'])}/{bar['kind']}",
        )
    )


def _colour(bar: Mapping[str, Any], order: Sequence[str]) -> str:
    if bar["kind"] == "work":
        return TINTS[order.index(bar["at"]) % 2]
    return LOOKS[bar["kind"]].colour


def _named(bars: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Of attended bars that follow one another at one station, the longest."""
    found: list[Mapping[str, Any]] = []
    end, at = -1.0, ""
    for bar in (bar for bar in bars if bar["kind"] in ("work", "attended")):
        if found and bar["at"] == at and bar["from_s"] - end < TOGETHER_S:
            if bar["to_s"] - bar["from_s"] > found[-1]["to_s"] - found[-1]["from_s"]:
                found[-1] = bar
        else:
            found.append(bar)
        end, at = bar["to_s"], bar["at"]
    return found


def _write(
    axes: Axes, place: int, bar: Mapping[str, Any], scale: float, length: float, order: Sequence[str]
) -> None:
    """The name of the station in a bar of whoever attends it, where there is room."""
    words, width = plain(bar["at"]), bar["to_s"] - bar["from_s"]
    if bar["kind"] == "work" and width / length > LEAST_WORDS * len(words):
        axes.text(
            (bar["from_s"] + width / 2) / scale,
            place,
            words,
            fontsize=6.5,
            ha="center",
            va="center_baseline",
            color=ink_on(_colour(bar, order)),
            zorder=2,
            parse_math=False,
        )


def title_of(chart: Mapping[str, Any]) -> str:
    """Who it is about, and how long calls wait."""
    who = " and ".join(plain(name) for name in chart["who"])
    if not chart["keeps_up"]:
        return f"{who}: falls behind, calls wait longer and longer"
    if chart["longest_wait_s"] < 1e-6:
        return f"{who}: no call waits"
    return f"{who}: a call waits {duration(chart['longest_wait_s'])} at most"


def legend(axes: Axes) -> None:
    """What the colours mean, above the first chart."""
    axes.legend(
        handles=[
            Rectangle(
                (0, 0),
                1,
                1,
                facecolor=look.colour,
                edgecolor="white",
                hatch=look.hatch if kind == "walking" else "",
                label=WORDS[kind],
            )
            for kind, look in LOOKS.items()
        ],
        loc="lower right",
        bbox_to_anchor=(1.0, 1.0),
        ncols=len(LOOKS),
        fontsize=7.5,
        frameon=False,
        handlelength=1.4,
    )
