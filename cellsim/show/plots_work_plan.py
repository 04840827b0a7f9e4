"""The operator balance chart: a bar of elements for each station against takt and planned cycle."""

from __future__ import annotations

import textwrap
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from cellsim.show import Result, number, percent, plain
from cellsim.show.balanced import decision, rate_words, seconds
from cellsim.show.palette import INK_DARK, QUIET, TARGET, ink_on
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import add_axes, foot_of, new_figure, title_lines, write_heading

SHADES = ("#29495D", "#C9D3E0")  # elements in turn
ALONE, HELD = "#FAFAFA", "#DCDCE0"  # a machine that runs alone, one that somebody loads or unloads
HAND, MACHINE, APART = 0.56, 0.12, 0.05  # widths and gaps in stations
LEFT, RIGHT = 0.75, 1.35  # inches of the margins
SIZES = (8.0, 7.0, 6.0, 5.0)  # points of the names in the bars
LETTER, LEADING, EDGE = (
    0.0085,
    0.0165,
    0.06,
)  # inches of a letter and of a line by point of size; of the edges
APIECE = 0.32  # inches that the name of a line takes


def draw_work_plan(answer: Result) -> Figure:
    """A bar of the elements by hand for each station, slim bars of its machines beside it, and the lines.

    An element carries its name as gid, `station/name`, a machine `machine/name`; the lines `takt` and
    `planned cycle`.
    """
    title = title_lines(plain(answer["plan"]), decision(answer))
    figure = new_figure(5.6 + 0.27 * len(title))
    lines = [
        rate_words(answer),
        "Bars: elements by hand in order. Slim bars: the unit on a machine, hatched where it runs alone.",
        f"Balance efficiency {percent(answer['balance_efficiency'], 1)}"
        f" at {seconds(answer['efficiency_cycle_s'])}.",
    ]
    top = write_heading(figure, title, lines, foot_of(answer)) + 0.2
    axes = add_axes(figure, LEFT, top, RIGHT, 0.95)
    stations = answer["stations"]
    marks = {"takt": answer["takt_of_starts_s"], "planned cycle": answer["planned_cycle_s"]}
    if marks["takt"] == marks["planned cycle"]:
        marks.pop("planned cycle")
    highest = max(answer["cycle_s"], *(value for value in marks.values() if value is not None), 0.0)
    axes.set_xlim(-0.5, len(stations) - 0.5)
    axes.set_ylim(0, 1.06 * highest)
    inches = (10 - LEFT - RIGHT) / len(stations)
    tall = axes.get_position().height * figure.get_figheight() / (1.06 * highest)
    for k, row in enumerate(stations):
        _station(axes, k, row, inches, tall)
    _lines(axes, marks, tall)
    axes.set_xticks(
        range(len(stations)),
        [
            f"{row['station']}  {plain(row['person'])[: int(inches * 9)]}\n{seconds(row['load_s'])}"
            for row in stations
        ],
    )
    for tick in axes.get_xticklabels():
        tick.set_parse_math(False)
    axes.tick_params(axis="y", labelcolor=QUIET, labelsize=8)
    axes.set_ylabel("seconds per unit", fontsize=8.5, color=QUIET)
    return figure


def _station(axes: Axes, k: int, row: Result, inches: float, tall: float) -> None:
    """The bars of one station; `inches` is its width, `tall` the inches of a second."""
    at = 0.0
    hand = [e for e in row["elements"] if not e["runs_alone"]]
    wide = HAND if row["machines"] else HAND + 2 * MACHINE
    left = k - 0.5 + (1 - HAND - 2 * (MACHINE + APART)) / 2 if row["machines"] else k - wide / 2
    for j, element in enumerate(hand):
        colour = SHADES[j % 2]
        axes.add_patch(
            Rectangle((left, at), wide, element["time_s"], facecolor=colour, edgecolor="white", linewidth=0.8,
                      gid=f"{row['station']}/{plain(element['name'])}")
        )  # fmt: skip
        name, time = plain(element["name"]), number(element["time_s"], 1)
        size, text = _fitted(name, time, wide * inches, element["time_s"] * tall)
        if text:
            middle = at + element["time_s"] / 2
            axes.text(left + wide / 2, middle, text, ha="center", va="center", fontsize=size,
                      linespacing=1.05, color=ink_on(colour), parse_math=False)  # fmt: skip
        at += element["time_s"]
    slim = MACHINE if len(row["machines"]) <= 2 else 2 * MACHINE / len(row["machines"])
    for m, machine in enumerate(row["machines"]):
        x, low = left + wide + APART + m * (slim + APART / 2), 0.0
        for element in (e for e in row["elements"] if e["machine"] == machine["machine"]):
            alone = element["runs_alone"]
            axes.add_patch(
                Rectangle((x, low), slim, element["time_s"], facecolor=ALONE if alone else HELD,
                          edgecolor=QUIET, linewidth=0.6, hatch="////" if alone else "",
                          gid=f"machine/{plain(machine['machine'])}")
            )  # fmt: skip
            low += element["time_s"]
        axes.text(x + slim / 2, low + 0.06 / tall, plain(machine["machine"])[:24], rotation=90, ha="center",
                  va="bottom", fontsize=7, color=QUIET, parse_math=False)  # fmt: skip


def _fitted(name: str, time: str, width: float, height: float) -> tuple[float, str]:
    """A name, with its time where there is room, in the largest letters that fit; else its beginning."""
    for size in SIZES:
        letters, rows = int((width - EDGE) / (LETTER * size)), int((height - EDGE) / (LEADING * size))
        for text in (f"{name}  {time}", name):
            lines = textwrap.wrap(text, max(letters, 1), break_long_words=False, drop_whitespace=True)
            if len(lines) <= rows and max(map(len, lines)) <= letters:
                return size, "\n".join(lines)
    lines = textwrap.wrap(name, max(letters, 1))[:rows]
    if letters < 4 or not lines:
        return size, ""
    return size, "\n".join([*lines[:-1], lines[-1][: letters - 1] + "."])


def _lines(axes: Axes, marks: dict[str, float | None], tall: float) -> None:
    """Takt and planned cycle across all stations, with their names at the right, one above the other."""
    written: list[float] = []
    styles = {"takt": (TARGET, "-"), "planned cycle": (INK_DARK, "--")}
    for name, value in marks.items():
        if value is None:
            continue
        colour, style = styles[name]
        axes.axhline(value, color=colour, linestyle=style, linewidth=1.4, zorder=3, gid=name)
        y = value
        for other in written:
            if abs(other - y) < APIECE / tall:
                y = other - APIECE / tall
        written.append(y)
        axes.text(1.01, y, f"{name}\n{seconds(value)}", transform=axes.get_yaxis_transform(), fontsize=8.5,
                  color=colour, va="center", parse_math=False)  # fmt: skip


def save_work_plan(answer: Result, path: Path) -> None:
    """Write the picture."""
    save_picture(draw_work_plan, answer, path)
