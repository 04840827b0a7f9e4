"""Several ways on by hand: the first free, the shortest wait, one after the other.

All figures are hand-computed traces, in minutes: bench A finishes a unit every 2 min, B1 needs 7, B2 needs 3.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, minutes, run_text

from cellsim.describe.resolve import load_text

BENCHES = """
cell: two ways
route: [A]
lines: {{one: [B1], two: [B2]}}
stations:
  A: {{cycle: 2 min, goes_to: [B1, B2], chooses: {rule}}}
  B1: {{cycle: 7 min, goes_to: finished}}
  B2: {{cycle: 3 min, goes_to: finished}}
"""


def test_first_free_way():
    """At 2 to B1, at 4 to B2, at 6 neither is free: the unit stays on A until B2 is free at 7, and so on."""
    check(
        Trace(
            "first free",
            BENCHES.format(rule="first free"),
            25,
            (7, 9, 10, 14, 16, 17, 21, 23, 24),
            9,
            {
                "A": {"working": 22, "blocked": 3},
                "B1": {"starved": 2, "working": 23},
                "B2": {"starved": 7, "working": 18},
            },
            made_on=("B2", "B1", "B2", "B2", "B1", "B2", "B2", "B1", "B2"),
        )
    )


def test_shortest_wait():
    """Units before and on B1 and B2 when A finishes: 0:0, 1:0, 1:1, 2:0, 1:1, 2:0, 2:1, 1:1, 2:0, ...

    At 16 both A and B1 end: what ends at an instant has ended before a way is chosen.
    """
    check(
        Trace(
            "shortest wait",
            BENCHES.format(rule="shortest wait"),
            25,
            (7, 9, 11, 15, 16, 18, 21, 23, 24, 27, 30),
            9,
            {
                "A": {"working": 25},
                "B1": {"starved": 2, "working": 23},
                "B2": {"starved": 6, "working": 19},
            },
            made_on=("B2", "B1", "B2", "B2", "B1", "B2", "B2", "B1", "B2", "B2", "B1"),
        )
    )


def test_in_turn():
    """Every second unit to B1, however long it is busy: it gets those of 2, 6, 10, ..., B2 the others."""
    check(
        Trace(
            "in turn",
            BENCHES.format(rule="in turn"),
            25,
            (7, 9, 11, 15, 16, 19, 23, 23, 27, 30),
            8,
            {
                "A": {"working": 25},
                "B1": {"starved": 2, "working": 23},
                "B2": {"starved": 9, "working": 16},
            },
        )
    )


@pytest.mark.parametrize("rule", ["first free", "shortest wait", "in turn"])
def test_ties_go_by_name_in_natural_order(rule):
    """M2 comes before M10, wherever the file names them and whatever stands between."""
    text = f"""
cell: ties
release: {{at: [0 s, 0 s]}}
route: [saw, M10]
lines: {{other: [M2]}}
stations:
  saw: {{cycle: 1 min, goes_to: [M10, M2], chooses: {rule}}}
  M10: {{cycle: 5 min}}
  M2: {{cycle: 5 min, goes_to: finished}}
"""
    run = run_text(text, 20)
    assert run.left() == minutes(6, 7)
    assert run.made_on() == ["M2", "M10"]


def test_first_free_place_of_stores():
    """Racks of 1 and 2 places: the unit that finds both full goes where a place comes first.

    A ends at 1, 2, 3, ...; rack a: unit of 1 taken at once by Ba (10 min), unit of 2 stays in it; rack b:
    unit of 3 taken by Bb (4 min, until 7), units of 4 and 5 stay; the unit of 6 waits until Bb takes at 7;
    the next is finished at 8 and waits until Ba and Bb take at 11: a comes first; that of 12 finds a full.
    """
    text = """
cell: racks
route: [A]
lines: {one: [a, Ba], two: [b, Bb]}
stations:
  A: {cycle: 1 min, goes_to: [a, b], chooses: first free}
  Ba: {cycle: 10 min, goes_to: finished}
  Bb: {cycle: 4 min, goes_to: finished}
stores: {a: 1, b: 2}
"""
    run = run_text(text, 11)
    assert run.left() == minutes(7, 11, 11)
    assert run.states()["A"] == {"working": minutes(7)[0], "blocked": minutes(4)[0]}
    assert (run.level("a"), run.level("b")) == (1, 1)
    run.advance(minutes(12)[0])
    assert (run.level("a"), run.level("b")) == (1, 2)


def test_broken_bench_is_not_free():
    """B1 stops when its first cycle ends at 9 (with the hand-over), for 20 min: all goes to B2 meanwhile."""
    text = BENCHES.format(rule="first free").replace(
        "{cycle: 7 min,", "{cycle: 7 min, stops: {s: {every: 1 cycle, lasts: 20 min, exact: yes}},"
    )
    run = run_text(text, 29)
    assert [who for who in run.made_on()[:8]] == ["B2", "B1", "B2", "B2", "B2", "B2", "B2", "B2"]
    assert run.left()[:8] == minutes(7, 9, 10, 13, 16, 19, 22, 25)


def test_list_of_ways_is_the_first_free_by_default():
    """A list alone says the first free, which is listed as assumed."""
    cell = load_text(BENCHES.format(rule="x").replace(", chooses: x", ""))
    assert cell.stations[0].chooses == "first free"
    assert ("stations.A.chooses", "first free") in {(a.path, a.value) for a in cell.assumptions}
