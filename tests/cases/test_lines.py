"""Serial lines by hand: blocked after service, hand-over, stores of some places, equal machines.

All figures are hand-computed traces, in minutes unless they say otherwise.
"""

from __future__ import annotations

import pytest
from tracing import SECOND, Trace, check, exactly, known, minutes, run_text

from cellsim.describe.cell import FINISHED
from cellsim.engine import layout as L
from cellsim.published.cells import in_a_row

LINES = [
    known(
        "trace-4-and-6-without-a-place",
        58,
        9,
        {"S1": {"working": 40, "blocked": 18}, "S2": {"starved": 4, "working": 54}},
    ),
    known(
        "trace-uneven-times-no-place",
        64,
        11,
        {"S1": {"working": 40, "blocked": 24}, "S2": {"starved": 20, "working": 44}},
    ),
    known(
        "trace-uneven-times-one-place",
        64,
        12,
        {"S1": {"working": 50, "blocked": 14}, "S2": {"starved": 16, "working": 48}},
    ),
    known(
        "trace-uneven-times-two-places",
        64,
        14,
        {"S1": {"working": 61, "blocked": 3}, "S2": {"starved": 6, "working": 58}},
    ),
    known(
        "trace-bottleneck-in-the-middle",
        60,
        6,
        {
            "S1": {"working": 40, "blocked": 20},
            "S2": {"starved": 5, "working": 55},
            "S3": {"starved": 42, "working": 18},
        },
    ),
    known(
        "trace-alternating-times-one-and-two-places",
        60,
        12,
        {"S1": {"working": 60}, "S2": {"starved": 4, "working": 56}, "S3": {"starved": 10, "working": 50}},
    ),
    known(
        "trace-four-stations",
        60,
        9,
        {
            "S1": {"working": 25, "blocked": 35},
            "S2": {"starved": 2, "working": 31, "blocked": 27},
            "S3": {"starved": 5, "working": 55},
            "S4": {"starved": 51, "working": 9},
        },
    ),
    known(
        "trace-three-equal-stations",
        60,
        10,
        {"S1": {"working": 60}, "S2": {"starved": 5, "working": 55}, "S3": {"starved": 10, "working": 50}},
    ),
    known(
        "trace-alternating-times-one-place-and-none",
        60,
        7,
        {
            "S1": {"working": 56, "blocked": 4},
            "S2": {"starved": 9, "working": 36, "blocked": 15},
            "S3": {"starved": 19, "working": 41},
        },
    ),
]


@pytest.mark.parametrize("trace", LINES, ids=lambda trace: trace.name)
def test_serial_lines(trace: Trace) -> None:
    """A serial line blocks after service, and a completion at the very horizon counts."""
    check(trace)


EQUAL = [
    known(
        "trace-two-equal-machines",
        50,
        12,
        {
            "S1": {"working": 44, "blocked": 6},
            "S2.1": {"working": 47, "starved": 3},
            "S2.2": {"working": 44, "starved": 6},
        },
        made_on=("S2.1", "S2.2") * 6,
    ),
    known(
        "trace-three-equal-machines",
        60,
        15,
        {
            "S1": {"working": 58, "blocked": 2},
            "S2.1": {"working": 57, "starved": 3},
            "S2.2": {"working": 54, "starved": 6},
            "S2.3": {"working": 51, "starved": 9},
        },
        made_on=("S2.1", "S2.2", "S2.3") * 4,
    ),
]


@pytest.mark.parametrize("trace", EQUAL, ids=lambda trace: trace.name)
def test_equal_machines(trace: Trace) -> None:
    """A unit goes to the machine with the lowest number that is empty."""
    check(trace)


BOUNDED = in_a_row(["cycle: 1 min", "cycle: 3 min"], [2])


def test_a_limit_of_places_limits() -> None:
    """A store of two places never holds more, and the station before it is blocked meanwhile.

    Units finish at 4, 7, ..., 58; of the 23 that came in, one is on each station and two are in the store.
    """
    traced = run_text(BOUNDED, 60)
    assert traced.left() == minutes(*range(4, 59, 3))
    assert traced.states() == {
        "S1": {"working": exactly(23), "blocked": exactly(37)},
        "S2": {"working": exactly(59), "starved": exactly(1)},
    }
    c = traced.run.state
    assert len(traced.said(L.N_HANDS_OVER, "S1")) == 22
    tray = c.stores[traced.run.flat.names.stores.index("after S1")]
    assert (tray.highest, tray.level, tray.entered, tray.left) == (2, 2, 22, 20)
    assert (c.created, c.good, c.wip) == (23, 19, 1 + 2 + 1)
    assert [m.progress for m in c.machines] == [L.DONE, L.IN_CYCLE]


def test_a_freed_place_is_noticed_by_whoever_waits() -> None:
    """Two feeders into one place: whoever is blocked hands over at once, so the drain never starves again."""
    text = """
cell: two feeders
route: [F1, tray, S]
lines: {second: [F2, tray]}
stations:
  F1: {cycle: 2 min}
  F2: {cycle: 2 min}
  S: {cycle: 3 min}
stores: {tray: 1}
"""
    traced = run_text(text, 30)
    assert traced.left() == minutes(5, 8, 11, 14, 17, 20, 23, 26, 29)
    assert traced.states()["S"] == {"starved": exactly(2), "working": exactly(28)}


def test_a_press_that_fills_containers() -> None:
    """A press of 20 strokes a minute and 4 parts a stroke, a container of 20 that takes 12 s to change.

    In seconds: stroke k ends at 27 * ((k - 1) // 5) + 3 * ((k - 1) % 5 + 1); stroke 24 ends at the horizon.
    """
    press = known("trace-press-that-fills-containers", 120, 96, {"press": {"working": 72, "down": 48}})
    traced = check(press)
    assert list(press.left[:48:4]) == [3, 6, 9, 12, 15, 30, 33, 36, 39, 42, 57, 60]
    assert traced.cycles() == {"press": 24}


def test_a_press_before_a_store_of_eight() -> None:
    """All four parts of a stroke need a place at once; with fewer the press stays blocked (in seconds)."""
    states = {"S1": {"working": 54, "blocked": 6}, "S2": {"starved": 6, "working": 54}}
    traced = check(known("trace-press-before-eight-places", 60, 27, states))
    traced.advance(68 * SECOND)
    relieved = [at // SECOND for at in traced.said(L.N_HANDS_OVER, "S1")]
    assert relieved == [6, 12, 18, 24, 30, 36, 44, 52, 60, 68]


def test_first_in_first_out() -> None:
    """Units leave a store in the order in which they entered it.

    The station is busy until 4 with the unit that came at 0; those that came at 1, 2, 3 follow in order.
    """
    text = """
cell: first in first out
route: [S]
release: {at: [0 min, 1 min, 2 min, 3 min]}
stations:
  S: {cycle: {listed: [4 min, 5 min, 5 min, 5 min]}}
"""
    traced = run_text(text, 30)
    assert traced.left(FINISHED) == minutes(4, 9, 14, 19)
    assert traced.stays(FINISHED) == minutes(4, 8, 12, 16)


def test_only_into_a_free_place() -> None:
    """A station that keeps a place before it begins never holds a finished unit: it waits empty instead.

    S1 begins at 0 and 4, then whenever S2 takes the unit from the one place: at 10, 16, 22, 28.
    """
    text = in_a_row(["cycle: 4 min, hands_on: only into a free place", "cycle: 6 min"], [1])
    traced = check(
        Trace(
            "reserved",
            text,
            28,
            (10, 16, 22, 28, 34),
            4,
            {"S1": {"working": 20, "blocked": 8}, "S2": {"starved": 4, "working": 24}},
        )
    )
    assert traced.said(L.N_STARTS, "S1") == minutes(0, 4, 10, 16, 22, 28, 34)
    assert traced.said(L.N_HANDS_OVER, "S1") == minutes(4, 8, 14, 20, 26, 32)
