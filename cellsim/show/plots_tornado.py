"""The picture of a sensitivity study: what each input does to output, the largest first."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from cellsim.show import Result, between, number, plain
from cellsim.show.palette import BAND, INK_DARK, LINE, QUIET, TARGET
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import add_axes, foot_of, new_figure, title_lines, write_heading
from cellsim.show.sensed import first_words, interval_words, range_words

ROW, BAR = 0.36, 0.62  # inches of a row, height of a bar in rows
KNOWN = {"measured": LINE, "given range": TARGET, "stated": BAND, "assumed": BAND}
LEFT = 3.6  # inches of the labels


def draw_tornado(answer: Result) -> Figure:
    """A bar for each of the largest inputs: output with it alone at an end, around that of the cell as it is.

    Half a bar carries the name of its input and `low` or `high` as gid, `name/low`; its interval, a line,
    carries `interval/name/low`.
    """
    rows = sorted((row for row in answer["inputs"] if row["alone"]), key=_width, reverse=True)
    title = title_lines(plain(answer["cell"]), first_words(answer))
    figure = new_figure(2.1 + 0.27 * len(title) + ROW * len(rows))
    out = answer["output_per_hour"]
    lines = [
        f"Good units per hour with one input alone at an end of its range; as it is {number(out['mean'])}"
        + (f" ({between(out)})." if between(out) else "."),
        interval_words(answer),
        "Dark blue: measured. Violet: range given. Light: range assumed. Hatched: low end. Lines: 95 %"
        " intervals of the difference.",
    ]
    top = write_heading(figure, title, lines, foot_of(answer)) + 0.15
    axes = add_axes(figure, LEFT, top, 0.5, 0.7)
    reach = [0.0]
    for k, row in enumerate(rows):
        for end in ("low", "high"):
            mean, ends = row["alone"][end]["mean"], row["alone"][end]["interval"]
            patch = Rectangle(
                (out["mean"] + min(0.0, mean), k - BAR / 2),
                abs(mean),
                BAR,
                facecolor=KNOWN[row["known"]],
                edgecolor="#77777D",
                hatch="//" if end == "low" else "",
                linewidth=0,
                zorder=2,
                gid=f"{plain(row['input'])}/{end}",
            )
            axes.add_patch(patch)
            at = k - BAR / 6 if end == "low" else k + BAR / 6
            places = [out["mean"] + x for x in ends]
            name = f"interval/{plain(row['input'])}/{end}"
            axes.plot(places, [at, at], color=INK_DARK, linewidth=1.2, zorder=3, gid=name)
            reach += [mean, *ends]
    room = 0.05 * ((max(reach) - min(reach)) or 1.0)
    axes.set_xlim(out["mean"] + min(reach) - room, out["mean"] + max(reach) + room)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.axvline(out["mean"], color=QUIET, linewidth=0.8, zorder=1)
    axes.set_yticks(range(len(rows)), [f"{plain(row['input'])}\n{range_words(row)}" for row in rows])
    for tick in axes.get_yticklabels():
        tick.set_parse_math(False)
        tick.set_fontsize(7.5)
    axes.tick_params(axis="x", labelcolor=QUIET, labelsize=8)
    return figure


def _width(row: Mapping[str, Any]) -> float:
    """How far apart the two ends are."""
    return abs(float(row["alone"]["high"]["mean"] - row["alone"]["low"]["mean"]))


def save_tornado(answer: Result, path: Path) -> None:
    """Write the picture."""
    save_picture(draw_tornado, answer, path)
