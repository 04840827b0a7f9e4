"""Quality by hand: rejects, rework behind and in front, a limit of attempts, scrap.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import PUBLISHED, exactly, listed, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.errors import DescriptionError


def test_every_fourth_is_scrapped() -> None:
    """A rejected unit uses the time of the inspection and leaves as scrap, not as output."""
    entry = PUBLISHED["trace-every-fourth-is-scrapped"]
    traced = run_text(entry.cell, 60)
    assert traced.states() == {
        "S1": {"working": exactly(60)},
        "S2": {"starved": exactly(27), "working": exactly(33)},
    }
    station = traced.run.state.stations[1]
    assert (len(traced.left()), station.judged, station.scrapped) == (9, 11, 2)
    traced.advance(exactly(68))
    assert traced.left() == listed(entry)
    assert traced.said(L.N_REJECTS) == traced.said(L.N_SCRAPPED) == minutes(23, 43, 63)


def test_rework_at_most_once_behind_the_others() -> None:
    """A unit that fails joins the end of the queue; the second failure scraps it."""
    entry = PUBLISHED["trace-rework-behind-the-others"]
    traced = run_text(entry.cell, 80)
    assert traced.left() == listed(entry)
    assert traced.said(L.N_SCRAPPED) == minutes(57)
    assert traced.said(L.N_REJECTS) == minutes(17, 32, 47, 57)
    assert traced.states() == {
        "work": {"working": exactly(60), "starved": exactly(20)},
        "test": {"working": exactly(24), "starved": exactly(56)},
    }
    station = traced.run.state.stations[1]
    assert (station.first_tests, station.first_pass, station.judged, station.rejected) == (9, 6, 12, 4)


# Raw material is always there; of all units only the second fails, once.
RETURN = """
cell: rework at the start
route: [S1, S2]
stations:
  S1: {cycle: 5 min}
  S2:
    cycle: 1 min
    rejects:
      verdicts: [good, reject, good, good, good, good, good, good, good, good, good, good, good, good]
      to: S1
      enters: %s
"""


@pytest.mark.parametrize(
    ("enters", "stays"),
    [
        # at 11 the second unit fails while S1 works on the third; it is taken at 15 and leaves at 21
        ("in front", [6, 6, 21 - 5, 6, 6]),
        ("behind", [6, 6, 6, 6, 6]),
    ],
)
def test_rework_in_front_of_new_units(enters: str, stays: list[int]) -> None:
    """In front, the unit that failed is taken next; behind raw units that never end it waits for ever."""
    traced = run_text(RETURN % enters, 31)
    assert traced.left() == minutes(6, 16, 21, 26, 31)
    assert traced.stays() == minutes(*stays)
    assert traced.level("release") == (0 if enters == "in front" else 1)


def test_new_first_keeps_the_failed_unit_inside() -> None:
    """A unit that never leaves is no silent loss: it is inside, and the level of its store says so."""
    traced = run_text(RETURN % "behind", 66)
    c = traced.run.state
    # S2 has tested the 13 units that S1 had done by 65, and one of them failed
    assert (c.good, c.scrapped, traced.level("release")) == (12, 0, 1)
    assert c.created == c.good + c.wip


def test_rework_without_time_or_end_is_refused() -> None:
    """A station whose cycle is 0 and whose units all come back to it would never let the clock move."""
    text = """
cell: zero
route: [stock, S]
stations:
  S: {cycle: 0 min, rejects: {share: 100 %, to: stock}}
stores: {stock: {places: unlimited, starts_with: 1}}
"""
    with pytest.raises(DescriptionError) as caught:
        load_text(text)
    assert "a rejected unit is rejected again every time and never gets out" in str(caught.value)
    with pytest.raises(DescriptionError) as caught:
        load_text(text.replace("100 %", "50 %"))
    assert "stations.S: units can come back to it for ever without any time passing" in str(caught.value)


def test_a_bench_beside_the_route() -> None:
    """The second unit is rejected at 10, is on the bench until 15 and passes the test at 17."""
    text = """
cell: bench
route: [S1, tray, test]
stations:
  S1: {cycle: 4 min}
  test:
    cycle: 2 min
    rejects: {verdicts: [good, reject, good, good, good, good, good, good], to: bench, returns_to: test}
  bench: {cycle: 5 min}
stores: {tray: unlimited}
"""
    traced = run_text(text, 22)
    assert traced.left() == minutes(6, 14, 17, 19, 22)
    assert traced.stays() == minutes(6, 6, 17 - 4, 19 - 12, 6)
    assert traced.states() == {
        "S1": {"working": exactly(22)},
        "test": {"working": exactly(12), "starved": exactly(10)},
        "bench": {"working": exactly(5), "starved": exactly(17)},
    }
