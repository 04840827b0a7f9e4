"""The operator balance chart: what each person and robot does, stacked against takt and planned cycle."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from cellsim.show import Result, number, percent, plain
from cellsim.show.palette import CREW_STATES, INK_DARK, QUIET, STATION_STATES, TARGET, ink_on

BAR = 0.8  # width of a bar in places
LETTERS, FULL = 12, 90  # letters in each line of a name below at least, and in all names together
WIDE = 16  # letters in a bar
LEAST_SHARE = 0.026  # of the height of the chart: a lower part carries no words
TINTS = (CREW_STATES["working"].colour, STATION_STATES["attended"].colour)  # works, in turn
LOOKS = {
    "walking": CREW_STATES["travelling"],
    "changeover": STATION_STATES["changeover"],
    "stops": CREW_STATES["repairing"],
    "down": CREW_STATES["down"],
}
WORDS = {
    "walking": "walking",
    "changeover": "changeovers",
    "stops": "clearing stops",
    "down": "robot stands still",
}


@dataclass(frozen=True, slots=True)
class _Segment:
    """A part of a bar in seconds for a good unit, with the words that it may carry."""

    at: str
    what: str
    kind: str
    seconds: float
    words: str


def draw_balance(axes: Axes, answer: Result) -> None:
    """Bars of people and robots in seconds of one of them for a good unit.

    Parts carry gid `who/at/what/kind`; the lines `takt` and `planned cycle`.
    """
    rows = [*answer["posts"], *answer["robots"]]
    takt = answer["takt"]
    top = max([takt["takt_s"], *(_height(row, takt["takt_s"]) for row in rows)]) * 1.12
    for k, row in enumerate(rows):
        _bar(axes, k, row, takt["takt_s"], top)
    axes.axhline(takt["takt_s"], color=TARGET, linewidth=1.4, gid="takt", zorder=4)
    _name_line(axes, takt["takt_s"] + 0.012 * top, f"takt {number(takt['takt_s'])} s", "bottom")
    if takt["planned_cycle_s"] is not None:
        planned = takt["planned_cycle_s"]
        axes.axhline(planned, color=TARGET, linewidth=1, linestyle="--", gid="planned cycle", zorder=4)
        _name_line(axes, planned - 0.012 * top, f"planned {number(planned)} s", "top")
    axes.set_xlim(-0.6, max(len(rows), 4) - 0.4)
    axes.set_ylim(0, top)
    letters = max(LETTERS, FULL // max(len(rows), 4))
    axes.set_xticks(range(len(rows)), [_label(row, letters) for row in rows])
    for tick in axes.get_xticklabels():
        tick.set_parse_math(False)
        tick.set_fontsize(8 if len(rows) <= 9 else 7)
    axes.tick_params(axis="y", labelcolor=QUIET, labelsize=8)
    axes.set_ylabel("seconds for a good unit", fontsize=8, color=QUIET)


def _name_line(axes: Axes, at: float, words: str, side: str) -> None:
    """The name of a line at its right end, above it or below."""
    axes.text(
        0.998,
        at,
        words,
        transform=axes.get_yaxis_transform(),
        fontsize=8,
        color=TARGET,
        va=side,
        ha="right",
        zorder=5,
        parse_math=False,
    )


def _there(row: Mapping[str, Any], takt: float) -> float:
    """How many of them are there on average."""
    return float(row["available_s"] / takt)


def _height(row: Mapping[str, Any], takt: float) -> float:
    there = _there(row, takt)
    return float(row["required_with_stops_s"] / there) if there else 0.0


def _label(row: Mapping[str, Any], letters: int) -> str:
    name = "\n".join(textwrap.wrap(short(row["name"], 2 * letters), letters)[:2])
    each = f"each of {row['count']}: " if row["count"] > 1 else ""
    return f"{name}\n{each}{percent(row['load_with_stops'])}"


def _bar(axes: Axes, place: int, row: Mapping[str, Any], takt: float, top: float) -> None:
    """One bar from below, and words in the highest part of each station if that is high enough."""
    there = _there(row, takt)
    if not there:
        return
    at, tint, before = 0.0, 1, ""
    spans: list[tuple[str, float, float, str]] = []
    for part in _segments(row):
        height = part.seconds / there
        if part.kind == "work":
            tint = tint if part.at == before else 1 - tint
            colour, hatch, before = TINTS[tint], "", part.at
        else:
            colour, hatch = LOOKS[part.kind].colour, LOOKS[part.kind].hatch
        axes.add_patch(
            Rectangle(
                (place - BAR / 2, at),
                BAR,
                height,
                facecolor=colour,
                edgecolor="white",
                hatch=hatch,
                linewidth=0.7,
                zorder=2,
                gid=f"{plain(row['name'])}/{plain(part.at)}/{plain(part.what)}/{part.kind}",
            )
        )
        if spans and part.words and spans[-1][0] == part.words:
            if height > spans[-1][2] - spans[-1][1]:
                spans[-1] = (part.words, at, at + height, colour)
        elif part.words:
            spans.append((part.words, at, at + height, colour))
        at += height
    for words, low, high, colour in spans:
        if high - low >= LEAST_SHARE * top:
            axes.text(
                place,
                (low + high) / 2,
                words,
                fontsize=6.5,
                ha="center",
                va="center",
                color=ink_on(colour),
                zorder=3,
                clip_on=True,
                parse_math=False,
            )


def _segments(row: Mapping[str, Any]) -> Sequence[_Segment]:
    """The parts of a bar: work by station, then walking, changeovers, stops.

    Whoever works at one station only has the names of elements in it, others the names of stations.
    """
    work = [duty for duty in row["duties"] if duty["kind"] == "work"]
    stations = list(dict.fromkeys(duty["at"] for duty in work))
    alone = len(stations) == 1 and len(work) > 1
    found = [
        _Segment(at, duty["what"], "work", duty["seconds"], short(duty["what"] if alone else at, WIDE))
        for at in stations
        for duty in work
        if duty["at"] == at
    ]
    for kind in LOOKS:
        found += [
            _Segment(duty["at"], duty["what"], kind, duty["seconds"], "")
            for duty in row["duties"]
            if duty["kind"] == kind
        ]
    return found


def short(text: str, most: int) -> str:
    """A name of so many letters at most, its end kept, since numbers of machines stand there."""
    text = plain(text)
    return text if len(text) <= most else text[: most - 4].rstrip() + "…" + text[-3:]


def legend(axes: Axes, answer: Result) -> None:
    """The kinds of parts that occur, besides work, above the chart on the right."""
    kinds = {duty["kind"] for row in (*answer["posts"], *answer["robots"]) for duty in row["duties"]}
    patches = [Rectangle((0, 0), 1, 1, facecolor=TINTS[0], label="work, in turn dark and light")]
    patches += [
        Rectangle((0, 0), 1, 1, facecolor=look.colour, hatch=look.hatch, edgecolor="white", label=WORDS[kind])
        for kind, look in LOOKS.items()
        if kind in kinds
    ]
    axes.legend(
        handles=patches,
        loc="lower right",
        bbox_to_anchor=(1.0, 1.0),
        ncols=len(patches),
        fontsize=7.5,
        frameon=False,
        labelcolor=INK_DARK,
        handlelength=1.4,
    )
