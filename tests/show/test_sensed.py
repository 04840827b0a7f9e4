"""Words and picture of a sensitivity study from an answer small enough to check every number by hand."""

from __future__ import annotations

import copy
import io
from typing import Any

import pytest
from matplotlib.patches import Rectangle
from rich.console import Console

from cellsim.show.plots_tornado import draw_tornado, save_tornado
from cellsim.show.sensed import first_words, interval_words, next_words, print_sensitivity, range_words


def row(
    name: str, low: float, high: float, effect: float, known: str = "stated", bend: float = 0.0
) -> dict[str, Any]:
    """An input with an effect of half width 1, a third of it below and two thirds above."""
    return {
        "input": name, "known": known, "why": "", "unit": "s", "low": low, "high": high, "now": None,
        "effect": {
            "mean": effect, "interval": [effect - 1, effect + 1], "size": abs(effect), "bend": bend,
        },
        "alone": {
            "low": {"mean": -effect / 3, "interval": [-effect / 3 - 0.5, -effect / 3 + 0.5]},
            "high": {"mean": 2 * effect / 3, "interval": [2 * effect / 3 - 0.5, 2 * effect / 3 + 0.5]},
        },
        "share": {"mean": 0.5, "interval": [0.4, 0.6], "unit": ""},
    }  # fmt: skip


ANSWER: dict[str, Any] = {
    "cell": "Tin whistle",
    "output_per_hour": {"mean": 104.4, "interval": [102.8, 106.0], "unit": ""},
    "inputs": [
        row("press: work", 21.6, 26.4, -12.0, bend=7.0),
        row("stations.fit.cycle", 20, 22, -6.0, "given range"),
        row("fit: jam: how long", 216, 264, -1.5, "measured"),
        row("pack: work", 3, 4, 0.1),
    ],
    "not_knowing": {
        "mean": 103.0, "interval": [90.0, 116.0], "half_width": 13.0, "half_width_of_runs": 1.6,
        "variance_of_inputs": 40.0, "variance_of_one_run": 20.0, "share_of_inputs": 0.96,
        "share_interval": [0.94, 0.97],
        "straight_lines_explain": 0.83, "unit": "",
    },
    "shares": None,
    "level": 0.95,
    "replications": 40,
    "runs_each": 5,
    "ways": 10,
    "draws": 100,
    "runs": 1234,
    "locked_runs": 0,
    "verdict": {
        "tells": True, "first": "press: work", "chance_to_lead": 0.99, "others": 1, "share_of_others": 0.004,
        "matter": [
            {"input": "press: work", "share": 0.6, "interval": [0.5, 0.7]},
            {"input": "stations.fit.cycle", "share": 0.3, "interval": [0.2, 0.4]},
            {"input": "fit: jam: how long", "share": 0.1, "interval": [0.05, 0.15]},
        ],
    },
    "provenance": {"version": "9.9"},
}  # fmt: skip


@pytest.fixture
def answer():
    """An answer of its own for each test."""
    return copy.deepcopy(ANSWER)


def screen(answer: dict[str, Any]) -> str:
    """What a terminal of 80 columns shows."""
    console = Console(file=io.StringIO(), width=80)
    print_sensitivity(answer, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_what_to_measure_first_and_next(answer):
    """The first with its share and interval, the next by shares, and that the rest needs none."""
    assert first_words(answer) == (
        "Measure press: work better first: it carries 60 % (50 to 70 %) of what is not known."
    )
    assert next_words(answer) == (
        "Next: stations.fit.cycle (30 %), fit: jam: how long (10 %)."
        "  The other input carries <1 %: no need to measure."
    )
    answer["verdict"] |= {"others": 7, "share_of_others": 0.2}
    assert next_words(answer).endswith("The other 7 together carry 20 %.")


def test_two_that_cannot_be_told_apart(answer):
    """Both are named, and what follows begins with the third."""
    answer["verdict"]["first"] = None
    assert first_words(answer) == (
        "Measure press: work or stations.fit.cycle better first; which of them carries more of what is not"
        " known cannot be told yet (60 % and 30 %)."
    )
    assert next_words(answer).startswith("Next: fit: jam: how long (10 %).")


def test_nothing_can_be_told(answer):
    """It says so and what would help."""
    answer["verdict"] = {
        "tells": False, "first": None, "chance_to_lead": None, "matter": [], "others": 4,
        "share_of_others": None,
    }  # fmt: skip
    assert first_words(answer).startswith("Cannot tell: no input changes output by more than chance")
    assert next_words(answer) == ""
    assert "straight lines" not in screen(answer)


def test_the_interval_and_its_two_reasons(answer):
    """Which share is not knowing, which is chance, and when more runs help more."""
    assert interval_words(answer) == (
        "Not knowing the inputs exactly, the mean is between 90 and 116 (95 %): 96 % (94 to 97 %) of that"
        " uncertainty is not knowing the inputs, the rest is chance of 40 runs."
    )
    answer["not_knowing"] |= {"share_of_inputs": 0.3, "share_interval": [0.2, 0.4]}
    assert interval_words(answer).endswith("More runs narrow it more than better numbers.")
    answer["not_knowing"] |= {"share_of_inputs": 0.0, "share_interval": [0.0, 0.7]}
    assert interval_words(answer).endswith("More draws (--draws) would tell these two better apart.")
    answer["not_knowing"] |= {"share_of_inputs": 1.0, "share_interval": None}
    assert "100 % of that uncertainty" in interval_words(answer)
    answer["not_knowing"]["share_of_inputs"] = None
    assert interval_words(answer).endswith("nothing varies.")


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        (21.6, 26.4, "s", "21.6 to 26.4 s"),
        (216, 264, "s", "3.6 to 4.4 min"),
        (5400, 7300, "s", "1.5 to 2.03 h"),
        (388800, 475200, "s", "4.5 to 5.5 d"),
        (0.036, 0.044, "share", "3.6 to 4.4 %"),
        (4, 12, "", "4 to 12"),
        (180, 220, "cycles", "180 to 220 cycles"),
    ],
)
def test_ranges_in_words(low, high, unit, said):
    """In one unit that suits the high end."""
    assert range_words({"low": low, "high": high, "unit": unit}) == said


def test_the_screen(answer):
    """Effects with half widths and bars whose lengths are in proportion; what bends; what was assumed."""
    said = screen(answer)
    assert max(map(len, said.splitlines())) <= 80
    lines = {line.split("  ")[0].strip(): line for line in said.splitlines()}
    assert "-12.00  ± 1.00  " + 10 * "█" in lines["press: work"]
    assert "-6.00  ± 1.00  " + 5 * "█" in lines["stations.fit.cycle"]
    assert lines["fit: jam: how long"].count("█") == 1 and lines["pack: work"].count("█") == 0
    whole = " ".join(said.split())
    assert "These shares take effects for straight lines, which explain 83 %" in whole
    assert "depends on other inputs: press: work." in whole
    assert "2 of 4 ranges are assumptions" in whole
    assert "LOCKED" not in whole and "Share of what is not known" not in whole
    answer["locked_runs"] = 3
    assert "The cell LOCKED UP in 3 runs" in screen(answer)


def test_shares_one_by_one(answer):
    """Alone and with others, cut to 0..100 %, and by what they were found."""
    answer["shares"] = {
        "by": "a quadratic", "explained_at_points_left_out": 0.97, "noise": 0.02, "points": 80, "beside": 0.0,
        "inputs": [{
            "input": "press: work",
            "first": {"mean": -0.01, "interval": [-0.1, 0.2]},
            "total": {"mean": 0.62, "interval": [0.5, 1.2]},
        }],
    }  # fmt: skip
    said = " ".join(screen(answer).split())
    assert "press: work 0 % 0 to 20 % 62 % 50 to 100 %" in said
    assert (
        "By a quadratic through 80 points, which explains 97 % at points to which it was not fitted" in said
    )
    assert "straight lines" not in said and "only together" not in said
    answer["shares"]["inputs"][0]["total"]["mean"] = 1.1
    assert "What inputs do only together counts for each of them." in " ".join(screen(answer).split())
    answer["shares"] |= {"by": "runs alone", "explained_at_points_left_out": -0.4}
    assert "By 80 points alone, since a quadratic explains only 0 %" in " ".join(screen(answer).split())


def test_the_picture_shows_the_numbers(answer, tmp_path):
    """A bar from the output as it is to that at each end, the widest on top, with the interval."""
    answer["inputs"].append(row("not put to its ends", 1, 2, 0.01) | {"alone": None})
    figure = draw_tornado(answer)
    answer["inputs"].pop()
    axes = figure.axes[0]
    bars = {p.get_gid(): p for p in axes.patches if isinstance(p, Rectangle) and p.get_gid()}
    assert set(bars) == {f"{each['input']}/{end}" for each in answer["inputs"] for end in ("low", "high")}
    high, low = bars["press: work/high"], bars["press: work/low"]
    assert (high.get_x(), high.get_width()) == pytest.approx((104.4 - 8, 8))
    assert (low.get_x(), low.get_width()) == pytest.approx((104.4, 4))
    assert low.get_hatch() and not high.get_hatch()
    assert high.get_y() < bars["stations.fit.cycle/high"].get_y()  # the axis points down
    assert len({bars[f"{each['input']}/low"].get_facecolor() for each in answer["inputs"]}) == 3
    (line,) = [c for c in axes.lines if c.get_gid() == "interval/press: work/high"]
    assert list(line.get_xdata()) == pytest.approx([104.4 - 8.5, 104.4 - 7.5])
    assert axes.get_yticklabels()[0].get_text() == "press: work\n21.6 to 26.4 s"
    words = " ".join(text.get_text() for text in figure.texts)
    assert "Measure press: work better first" in words and "cellsim 9.9" in words
    save_tornado(answer, tmp_path / "a.png")
    save_tornado(answer, tmp_path / "b.png")
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    assert int.from_bytes((tmp_path / "a.png").read_bytes()[16:20], "big") == 1600
