"""The parts of drawings: escaped elements, scales, round ticks, state bars at the right place."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup
from page import read_page

from cellsim.show.palette import CREW_STATES, STATION_STATES
from cellsim.show.svg import Scale, in_both_widths, rect, shortened, table, tag, ticks
from cellsim.show.svg_states import BAR, bars, legend, pattern_id, patterns, used


def test_texts_and_attributes_are_escaped() -> None:
    """What a user wrote never becomes markup; what is markup stays so."""
    made = tag("p", "<b>&", tag("i", "x"), title='"><script>', data_row=None, class_="a")
    assert made == '<p title="&#34;&gt;&lt;script&gt;" class="a">&lt;b&gt;&amp;<i>x</i></p>'


def test_numbers_of_attributes_are_short() -> None:
    """Two decimals, no trailing nought, no negative zero."""
    assert tag("c", x=1.0, y=2.345678, z=-0.001, n=7) == '<c x="1" y="2.35" z="0" n="7"></c>'


def test_a_rectangle_is_never_inside_out() -> None:
    """A negative width is none."""
    assert 'width="0"' in rect(1, 2, -3, 4)


def test_a_scale_is_a_straight_line() -> None:
    """Ends go to ends, the middle to the middle, downward too; a scale of one value gives the middle."""
    up = Scale(0, 40, 200, 100)
    assert (up(0), up(40), up(10)) == (200, 100, 175)
    assert Scale(5, 5, 0, 10)(5) == 5


def test_ticks_by_hand() -> None:
    """Round values within the ends."""
    assert ticks(0, 100, 6) == [0, 20, 40, 60, 80, 100]
    assert ticks(83, 141, 7) == [90, 100, 110, 120, 130, 140]
    assert ticks(-0.3, 0.4, 4) == [-0.2, 0, 0.2, 0.4]
    assert ticks(3, 3, 5) == [3]


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(2, 12))
def test_ticks_are_within_even_and_not_too_many(low: float, span: float, most: int) -> None:
    """From the low to the high end, evenly spaced, at most as many as wanted."""
    found = ticks(low, low + span, most)
    slack = 1e-6 * (abs(low) + span)
    assert 0 < len(found) <= most or not found
    assert all(low - slack <= value <= low + span + slack for value in found)
    gaps = [b - a for a, b in pairwise(found)]
    assert not gaps or max(gaps) - min(gaps) <= slack


def test_ticks_that_make_no_sense_are_refused() -> None:
    """Words say what was given and what is wanted."""
    with pytest.raises(ValueError, match="ticks from 5 to 3, at most 4; wanted are low <= high"):
        ticks(5, 3, 4)


def test_long_names_are_cut_with_a_sign() -> None:
    """A name that has no room ends in three dots; one that has room stays."""
    assert shortened("press", 100, 13) == "press"
    cut = shortened("x" * 500, 100, 13)
    assert cut.endswith("…") and len(cut) * 0.56 * 13 <= 100


def test_both_widths_say_what_they_show() -> None:
    """A drawing for desks and one for phones, each an image with a text."""
    page = read_page(in_both_widths(lambda width: (50.0, [rect(0, 0, width, 9)]), 'a "b"'))
    drawings = page.named("svg")
    assert [d.attributes["class"] for d in drawings] == ["wide", "narrow"]
    assert {d.attributes["aria-label"] for d in drawings} == {'a "b"'}
    assert [d.attributes["viewbox"] for d in drawings] == ["0 0 880 50", "0 0 350 50"]


def test_a_table_has_headings() -> None:
    """Columns and rows have headings; rows carry their name."""
    page = read_page(table(("A", "B"), [("one", ("x", Markup("<i>1</i>")))]))
    assert [(th.attributes["scope"], th.text()) for th in page.named("th")] == [
        ("col", "A"), ("col", "B"), ("row", "x"),
    ]  # fmt: skip
    assert [tr.attributes.get("data-row") for tr in page.named("tr")] == [None, "one"]


SHARES = {
    "press": {
        "machines": 2,
        "shares": {"blocked": {"mean": 0.25}, "working": {"mean": 0.5}, "off": {"mean": 0.25}},
    },
    "test": {"machines": 1, "shares": {"working": {"mean": 0.999}, "down": {"mean": 0.001}}},
}  # fmt: skip


def no_marks(name: str, state: str) -> dict[str, str]:
    return {"data_key": f"{name}/{state}"}


def test_a_bar_is_as_wide_as_its_shares() -> None:
    """Half, a quarter, a quarter of what is left beside the name, in stack order, without a gap."""
    height, parts = bars(SHARES, STATION_STATES, "stations", 880, no_marks)
    page = read_page(Markup("").join(parts))
    segments = [r for r in page.named("rect") if r.attributes.get("data-row") == "stations-0"]
    assert [s.attributes["data-state"] for s in segments] == ["working", "blocked", "off"]
    wide = [float(s.attributes["width"]) for s in segments]
    left = [float(s.attributes["x"]) for s in segments]
    assert wide == pytest.approx([sum(wide) / 2, sum(wide) / 4, sum(wide) / 4], abs=0.01)
    assert left[0] + sum(wide) == pytest.approx(879, abs=0.02)
    assert left[1:] == pytest.approx([left[0] + wide[0], left[0] + wide[0] + wide[1]], abs=0.02)
    assert all(float(s.attributes["y"]) + BAR < height for s in segments)


def test_a_segment_with_room_says_letter_and_number() -> None:
    """W 50 for a half; a segment of a thousandth says nothing."""
    page = read_page(Markup("").join(bars(SHARES, STATION_STATES, "stations", 880, no_marks)[1]))
    letters = [t for t in page.named("text") if t.attributes.get("class") == "letter"]
    assert [t.text() for t in letters] == ["W 50", "B 25", "N 25", "W 100"]
    keys = [t.attributes["data-key"] for t in page.named("tspan")]
    assert keys == ["press/working", "press/blocked", "press/off", "test/working"]


def test_every_state_has_its_own_fill() -> None:
    """A pattern for each look of the palette, of its colour; used fills are all there."""
    page = read_page(patterns())
    found = {p.attributes["id"]: p for p in page.named("pattern")}
    for style in (*STATION_STATES.values(), *CREW_STATES.values()):
        assert found[pattern_id(style)].named("rect")[0].attributes["fill"] == style.colour
    looks = {(s.colour, s.hatch) for s in (*STATION_STATES.values(), *CREW_STATES.values())}
    assert len(found) == len(looks) + 1  # and that of a state without a description


def test_the_legend_names_what_can_be_seen() -> None:
    """States below what the eye can see are left out."""
    styles = used([SHARES], STATION_STATES)
    assert [style.letter for style in styles] == ["W", "B", "N"]
    items = read_page(legend(styles)).named("li")
    assert [item.named("span")[0].text() for item in items] == ["working alone", "blocked", "not on shift"]
    assert [item.named("text")[0].text() for item in items] == ["W", "B", "N"]
