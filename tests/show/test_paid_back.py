"""Words and picture of an investment from a case small enough to check every number by hand."""

from __future__ import annotations

import copy
import os
from typing import Any

import pytest
from planning import nothing_open, paid_back
from rich.console import Console

from cellsim.show.paid_back import (
    first_words,
    money,
    name_of,
    needed_words,
    print_payback,
    rounded,
    verdict_words,
)
from cellsim.show.plots_payback import draw_payback


def shown(answer: dict[str, Any], width: int = 80) -> str:
    """The screen as text."""
    console = Console(width=width, record=True, file=open(os.devnull, "w"))  # noqa: SIM115
    print_payback(answer, console)
    console.file.close()
    return console.export_text()


def test_amounts_are_grouped_and_rounded():
    """A blank at the thousands, three digits that count, no minus before nothing."""
    assert [money(x) for x in (1234567.4, -12600, -0.2, None)] == ["1 234 567", "-12 600", "0", "-"]
    assert money(1.42183, 3) == "1.422" and money(-0.0001, 2) == "0.00"
    assert [rounded(x) for x in (238_486, -1308.2, 66, 0, None)] == ["238 000", "-1 310", "66", "0", "-"]


def test_names_of_numbers():
    """Every first part of a path has words."""
    names = [
        name_of(path) for path in ("freed", "running.upkeep", "ramp_up.month 3", "investment.robot.price")
    ]
    assert names == [
        "people really freed per shift",
        "running costs: upkeep",
        "ramp-up, month 3",
        "robot, price",
    ]


@pytest.mark.parametrize(
    ("says", "words"),
    [
        ("pays", "it pays: with a chance of 44 % (40 to 50 %) the money is back within 2 years."),
        ("does not pay", "it does not pay: the chance that the money is back within 2 years is 44 % (40 to 50"
         " %)."),
        ("cannot tell", "cannot tell: the chance that the money is back within 2 years is 44 % (40 to 50 %),"
         " which is neither 80 %, to say that it pays, nor 20 %, that it does not."),
    ],
)  # fmt: skip
def test_the_verdict_in_words(says, words):
    """Each of the three."""
    answer = paid_back(
        verdict={"says": says, "chance": 0.44, "interval": [0.4, 0.5], "first": [], "turning": []}
    )
    assert verdict_words(answer) == words
    assert first_words(answer) == "Nothing that is left open changes the result."
    answer["verdict"] |= {"chance": 1.0, "interval": [0.998, 1.0]}
    assert "above 99 %" in verdict_words(answer)
    answer["verdict"] |= {"chance": 0.0, "interval": [0.0, 0.002]}
    assert "below 1 %" in verdict_words(answer)


def test_what_to_settle_first():
    """The largest swings with what to do about each, and what turns the answer alone."""
    answer = paid_back()
    order = [row["what"] for row in answer["tornado"]]
    assert order == ["can_sell", "freed", "investment.bench", "gain"]
    assert first_words(answer) == "No number alone, at either end of its range, changes that."
    answer["verdict"]["says"] = "cannot tell"
    assert first_words(answer) == (
        "First ask sales what can surely be sold (units that can be sold); then settle who is freed for which"
        " other work (people really freed per shift); then negotiate a fixed price: bench.  None of them"
        " alone moves the payback across the limit."
    )
    answer["verdict"] |= {"first": ["gain"], "turning": ["gain"]}
    gain = "gain in good units per hour, by the runs"
    assert first_words(answer) == (
        f"First run more replications ({gain}).  Alone across the limit, others at their middle: {gain}."
    )
    answer["gain"]["share_of_inputs"] = 0.9
    assert first_words(answer).startswith("First measure the times and stops of the cells better")


def test_what_it_takes():
    """30 000 in 2 years are 15 000 a year: 3400 x 5 = 17 000 a unit, 3400 x 30 = 102 000 a person."""
    answer = paid_back()
    people, units = (15_000 - 1.5 * 17_000) / 102_000, (15_000 - 0.05 * 102_000) / 17_000
    assert people < 0
    assert needed_words(answer) == (
        "Back in 2 years, all else at its middle, takes 0 people freed per shift (the case says 0 to 0.1), or"
        f" {units:.1f} more units sold per hour (now 1.5)."
    )
    answer["break_even"]["units_per_hour"] |= {"at_limit": 3.0, "most": 1.5}
    assert "3 more units sold per hour (now 1.5; no more than 1.5 can be)" in needed_words(answer)
    told = {0.0314: "takes 0.03 more", 0.00004: "takes less than 0.0001 more", 0.97: "takes 1 more"}
    for need, words in told.items():
        answer["break_even"] = {"units_per_hour": {"at_limit": need, "now": 0.021, "most": None}}
        assert f"all else at its middle, {words} units sold per hour (now 0.02)." in needed_words(answer)
    answer["break_even"] = {}
    assert needed_words(answer) == ""


@pytest.mark.parametrize("width", [80, 100])
def test_the_screen_says_it_all_and_fits(width):
    """Verdict first; money, tornado, cost of a unit, what was stated, cautions."""
    text = shown(paid_back(), width)
    assert max(map(len, text.splitlines())) <= width
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert lines[1].startswith("second bench: ")
    whole = " ".join(lines)
    assert (
        "more units sold 25 500" in whole and "people freed 5 100" in whole and "a full year 30 600" in whole
    )
    assert "Payback 0.98 years" in whole and "0 -30 000 1 30 600" in whole
    assert "The crew by the cell files: +1 B; the money counts 0 to 0.1 freed per shift." in whole
    assert "Mind this." in whole and "assumed: sure: 80 %, agree it" in whole and "none given" in whole
    assert "1.5 more can be sold (51 to 52 per h)" in whole
    drawn = paid_back(cell_inputs={"share_interval": [0.2, 0.6]})
    drawn["gain"]["share_of_inputs"] = 0.44
    assert "44 % (20 to 60 %) of what is not known of it is not knowing" in " ".join(shown(drawn).split())


def test_the_screen_of_odd_cases():
    """Never back, several internal rates or none, no cost of a unit: each is said."""
    answer = copy.deepcopy(paid_back())
    answer["point"] |= {"payback": None, "discounted_payback": None, "internal_rates": [0.1, 0.2]}
    answer["drawn"]["payback"] |= {"median": None, "p10": 4.0, "p90": None}
    answer["drawn"]["internal_rate"] = {"median": None, "p10": None, "p90": None, "none_or_several": 1.0}
    answer["unit_cost"] = {"base": None, "proposal": None, "reason": "the case says no wage"}
    whole = " ".join(shown(answer).split())
    assert "Payback not in 5 years" in whole and "no single internal rate: 10.0 %, 20.0 %" in whole
    assert "The money is back not within 5 years in the median (4.0 to later than 5" in whole
    assert "No internal rate of return." in whole and "Not told: the case says no wage." in whole


def artists(figure, start: str) -> dict[str, Any]:
    """The artists whose gid begins so."""
    found = [artist for axes in figure.axes for artist in axes.get_children()]
    return {a.get_gid(): a for a in found if (a.get_gid() or "").startswith(start)}


def test_the_picture_has_the_numbers():
    """Curve, gain with its interval, limit, histogram and tornado, read back from what is drawn."""
    answer = paid_back()
    figure = draw_payback(answer)
    curve = artists(figure, "needed/")
    assert set(curve) == {"needed/people", "needed/units_per_hour"}
    points = dict(zip(*curve["needed/units_per_hour"].get_data(), strict=True))
    for years in (1.0, 2.0, 5.0):
        assert points[years] == pytest.approx((30_000 / years - 0.05 * 102_000) / 17_000)
    assert artists(figure, "now/")["now/units_per_hour"].get_ydata()[0] == pytest.approx(2.0)
    band = artists(figure, "range/")["range/units_per_hour"]
    assert [band.get_y(), band.get_y() + band.get_height()] == pytest.approx(answer["gain"]["interval"])
    bars = artists(figure, "back/")
    assert sum(bar.get_height() for bar in bars.values()) == pytest.approx(100)
    low = artists(figure, "investment.bench/")["investment.bench/low"]
    row = next(r for r in answer["tornado"] if r["what"] == "investment.bench")
    assert low.get_width() == pytest.approx(abs(row["at_low"]["npv"] - answer["point"]["npv"]))
    assert low.get_hatch() == "//"


def test_the_picture_of_a_case_without_anything_open():
    """No range, no gain, never back: still a picture."""
    figure = draw_payback(nothing_open())
    assert len(figure.axes) == 1 and artists(figure, "back/")["back/never"].get_height() == 100
