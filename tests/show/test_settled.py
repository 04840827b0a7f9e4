"""How a cell settles, in words and as a picture: every number is that of the answer."""

from __future__ import annotations

import io
import struct
from copy import deepcopy
from typing import Any

import pytest
from matplotlib.axes import Axes
from rich.console import Console

from cellsim.show.plots import save_warmup
from cellsim.show.plots_warmup import draw_warmup
from cellsim.show.settled import print_settling


def found(mean: float, low: float, high: float) -> dict[str, Any]:
    return {"mean": mean, "interval": [low, high], "unit": ""}


def row(mean: list[float], average: list[float], dropped: int, told: int) -> dict[str, Any]:
    return {
        "mean": mean, "moving_average": average, "window": 1, "dropped": dropped, "told_apart": told,
        "too_short": False, "unit": "",
    }  # fmt: skip


@pytest.fixture
def answer() -> dict[str, Any]:
    """Twelve intervals of two hours; the rule drops 10 of output and 5 of wip, 5 are left out."""
    return {
        "cell": {"name": "Tin whistle"},
        "settles": True,
        "run": {
            "length": "24 h", "working_h": 24.0, "intervals": 12, "interval": "2 h", "replications": 20,
        },
        "series": {
            "output": row([70.0] + [90.0] * 11, [70.0, 83.0] + [90.0] * 9, 10, 5),
            "wip": row([4.0] + [6.0] * 11, [4.0, 5.3] + [6.0] * 9, 5, 5),
        },
        "drop": {"intervals": 5, "by_rule": 10, "amount": "10 h", "working_h": 10.0},
        "line": "settle: 10 h",
        "study": "study: {settle: 10 h, run: 100 h}",
        "count_at_least": "100 h",
        "ten_times": False,
        "long_run": {"output": found(90.25, 89.5, 91.0), "wip": found(6.5, 6.0, 7.0)},
        "whole_run": {"output": 88.33, "wip": 5.8},
        "first": [
            {"what": "hour", **found(68.0, 66.0, 70.0), "difference": found(-22.25, -24.3, -20.2),
             "difference_share": -0.2465},
            {"what": "shift", **found(89.0, 86.0, 92.0), "difference": found(-1.25, -4.25, 1.75),
             "difference_share": -0.0139},
        ],
        "provenance": {"version": "0.1.0", "seed": 7},
    }  # fmt: skip


@pytest.fixture
def refused(answer: dict[str, Any]) -> dict[str, Any]:
    """A cell that does not settle has no more than its series and the reason."""
    keys = ("cell", "run", "series", "provenance")
    return {key: answer[key] for key in keys} | {"settles": False, "reason": "work in progress keeps growing"}


def words(answer: dict[str, Any]) -> str:
    """What is printed, as one line."""
    out = io.StringIO()
    print_settling(answer, Console(file=out, width=80))
    assert max(map(len, out.getvalue().splitlines())) <= 80
    return " ".join(out.getvalue().split())


def test_the_words_say_every_number(answer: dict[str, Any]) -> None:
    said = words(answer)
    for text in (
        "Tin whistle has settled after 10 h; leave them out of the count.",
        "In the long run 90.2 good units leave per working hour (95 % interval 89.5 to 91).",
        "The first hour makes 68 an hour, 22.2 (25 %) less than in the long run (interval 20.2 to 24.3"
        " less).",
        "The first shift makes 89 an hour, which cannot be told from the long run (-4.2 to +1.8 an hour).",
        "The rule MSER-5, in steps of 10 h, says: output 20 h, work in progress 10 h. "
        "After 10 h nothing of that can be told from the rest, or it is too little to matter.",
        "Counted from its start, this run would be off by -2.1 %.",
        "This run was not ten times as long as what is left out, so take it as a first estimate: "
        "look again with --length '100 h'.",
        "Studied: 20 runs of 24 h from the start, looked at in intervals of 2 h, seed 7.",
        "settle: 10 h",
    ):
        assert text in said


def test_a_cell_that_need_not_settle(answer: dict[str, Any]) -> None:
    answer["drop"] = {"intervals": 0, "by_rule": 0, "amount": "0 s", "working_h": 0.0}
    answer |= {"count_at_least": "", "line": "settle: 0 s"}
    answer["run"]["replications"] = 1
    answer["long_run"]["output"]["interval"] = [None, None]
    answer["first"][0]["difference"]["interval"] = [None, None]
    said = words(answer)
    assert "Tin whistle need not settle: it can be counted from its start." in said
    assert "MSER-5" not in said
    assert "(no interval: one run, and its parts depend on each other)" in said
    assert "-22.2 from the long run (one run: no interval)" in said
    assert "So few runs hardly show a start; average 5 or more." in said


def test_what_is_off_by_little_and_a_run_that_was_long_enough(answer: dict[str, Any]) -> None:
    answer["whole_run"]["output"], answer["ten_times"] = 90.2, True
    said = words(answer)
    assert "this run would be off by 0.06 %" in said
    assert "This run was at least ten times as long; a study should count 100 h or more." in said


def test_a_refusal_has_no_rate_and_no_line(refused: dict[str, Any]) -> None:
    said = words(refused)
    assert said.startswith("Tin whistle: no steady state found.")
    assert "settle:" not in said and "long run" not in said


def named(axes: Axes, gid: str) -> list[Any]:
    return [artist for artist in axes.get_children() if artist.get_gid() == gid]


def test_the_picture_carries_the_series(answer: dict[str, Any]) -> None:
    """Series, moving average, what is left out or the rule alone drops, and the mean of the rest."""
    output, wip = draw_warmup(answer).axes
    for axes, key in ((output, "output"), (wip, "wip")):
        (line,), (average,) = named(axes, "series"), named(axes, "average")
        assert list(line.get_ydata()) == answer["series"][key]["mean"]
        assert list(line.get_xdata())[:2] == [1.0, 3.0]
        assert list(average.get_ydata()) == answer["series"][key]["moving_average"]
        (area,) = named(axes, "dropped")
        assert (area.get_x(), area.get_width()) == (0, 10)
        (rest,) = named(axes, "long run")
        assert list(rest.get_xdata()) == [10, 24]
        assert list(rest.get_ydata()) == [answer["long_run"][key]["mean"]] * 2
        assert axes.get_ylim()[0] == 0
        assert axes.get_xlim() == (0, 24)
    assert [line.get_xdata()[0] for line in named(output, "rule")] == [20]
    assert named(wip, "rule") == []
    labels = [text.get_text() for text in output.get_legend().get_texts()]
    assert labels == [
        "mean of 20 runs",
        "moving average (Welch) over 6 hours",
        "left out",
        "MSER-5 alone",
        "mean of the rest",
    ]
    assert wip.get_xlabel() == "hours since the start, averaged over 2 each"


def test_the_legend_fits_into_the_picture(answer: dict[str, Any]) -> None:
    """In its longest form, and no text leaves the sheet."""
    answer["series"]["output"]["window"] = 80
    figure = draw_warmup(answer)
    figure.canvas.draw()
    legend = figure.axes[0].get_legend().get_window_extent()
    assert legend.x0 >= 0 and legend.x1 <= figure.bbox.x1
    for text in figure.texts:
        assert text.get_window_extent().x1 <= figure.bbox.x1


def test_a_refusal_is_drawn_without_marks(refused: dict[str, Any]) -> None:
    figure = draw_warmup(refused)
    assert figure.texts[0].get_text() == "Tin whistle: no steady state found."
    assert figure.texts[1].get_text() == "Work in progress keeps growing."
    for axes in figure.axes:
        assert named(axes, "series") and not named(axes, "dropped") and not named(axes, "long run")


def test_the_file_is_1600_pixels_wide_and_the_same_each_time(answer: dict[str, Any], tmp_path: Any) -> None:
    save_warmup(answer, tmp_path / "a.png")
    save_warmup(deepcopy(answer), tmp_path / "b.png")
    data = (tmp_path / "a.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">I", data[16:20]) == (1600,)
    assert data == (tmp_path / "b.png").read_bytes()
