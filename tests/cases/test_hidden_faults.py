"""Hidden faults by hand: where they arise, who finds them, what rework puts right, what escapes.

Exact traces in minutes; the statistical checks have a fixed seed, and each bound is 4.5 standard deviations
wide (a false alarm of 7 in a million per figure).
"""

from __future__ import annotations

from math import sqrt

import pytest
from tracing import Traced, exactly, minutes, run_text

from cellsim.engine import layout as L

SECOND = 1_000_000
WIDTH = 4.5  # standard deviations


def station(traced: Traced, name: str) -> object:
    """The row of a station."""
    return traced.run.state.stations[traced.run.flat.names.stations.index(name)]


# Every fourth unit becomes faulty at S1, where nobody sees it.
FOURTH = """
cell: every fourth
route: [S1, tray, S2]
stations:
  S1: {cycle: 5 min, faults: {listed: [good, good, good, faulty]}}
  S2: {cycle: 3 min, inspects: {finds: %s, false_rejects: 0 %%}}
stores: {tray: 1}
"""


def test_a_fault_is_found_where_it_is_looked_for() -> None:
    """An inspection that finds everything scraps units 4, 8, 12: done at 20, 40, 60, found 3 min later."""
    traced = run_text(FOURTH % "100 %", 60)
    assert traced.states() == {
        "S1": {"working": exactly(60)},
        "S2": {"starved": exactly(27), "working": exactly(33)},
    }
    traced.advance(exactly(68))
    assert traced.left() == minutes(8, 13, 18, 28, 33, 38, 48, 53, 58, 68)
    assert traced.said(L.N_FAULT, "S1") == minutes(20, 40, 60)
    assert traced.said(L.N_REJECTS, "S2") == traced.said(L.N_SCRAPPED, "S2") == minutes(23, 43, 63)
    row = station(traced, "S2")
    assert (row.judged, row.rejected, row.false_rejects, row.missed) == (13, 3, 0, 0)
    assert traced.run.state.escapes == 0


def test_what_no_inspection_finds_escapes() -> None:
    """An inspection that finds nothing lets everything pass; 12 units leave by 63, of these 3 are faulty."""
    traced = run_text(FOURTH % "0 %", 63)
    c = traced.run.state
    assert traced.left() == minutes(*range(8, 64, 5))
    assert (c.good, c.escapes, c.scrapped) == (12, 3, 0)
    assert station(traced, "S2").missed == 3
    assert (c.turned_faulty, c.faulty_gone, c.put_right) == (3, 3, 0)


def test_false_rejects_are_good_units() -> None:
    """An inspection that rejects all it takes for good, and finds nothing, passes the faulty ones only."""
    text = (FOURTH % "0 %").replace("false_rejects: 0 %", "false_rejects: 100 %")
    traced = run_text(text, 63)
    c = traced.run.state
    assert traced.left() == minutes(23, 43, 63)
    assert (c.good, c.escapes, c.scrapped) == (3, 3, 9)
    row = station(traced, "S2")
    assert (row.rejected, row.false_rejects, row.missed) == (9, 9, 3)


BENCH = """
cell: bench
route: [S1, tray, test]
stations:
  S1: {cycle: 4 min, faults: {listed: [good, faulty, good, good, good, good, good, good]}}
  test:
    cycle: 2 min
    inspects: {finds: 100 %%, false_rejects: 0 %%}
    rejects: {to: bench, returns_to: test, attempts: 2}
  bench: {cycle: 5 min%s}
stores: {tray: unlimited}
"""


def test_a_bench_puts_the_fault_right() -> None:
    """The second unit is rejected at 10, is on the bench until 15 and passes the test at 17."""
    traced = run_text(BENCH % "", 22)
    assert traced.left() == minutes(6, 14, 17, 19, 22)
    assert traced.said(L.N_PUT_RIGHT, "bench") == minutes(15)
    assert (traced.run.state.put_right, traced.run.state.escapes) == (1, 0)


def test_a_bench_that_mends_nothing() -> None:
    """At 17 the fault is still there: the second rejection scraps the unit."""
    traced = run_text(BENCH % ", mends: 0 %", 22)
    assert traced.left() == minutes(6, 14, 19, 22)
    assert traced.said(L.N_REJECTS, "test") == minutes(10, 17)
    assert traced.said(L.N_SCRAPPED, "test") == minutes(17)


def test_work_that_is_done_again_is_done_anew() -> None:
    """Every unit is faulty at first and good when S1 does it again, in front of new ones.

    S1 works 0-5 on unit 1, from 5 on unit 2.  S2 rejects unit 1 at 6, S1 takes it at 10 (unit 2 waits no
    longer than that: S2 rejects it at 11), has it at 15, and it leaves at 16; unit 2 is done again 15-20.
    """
    text = """
cell: again
route: [S1, S2]
stations:
  S1: {cycle: 5 min, faults: {share: 100 %, after_rework: 0 %}}
  S2: {cycle: 1 min, inspects: {finds: 100 %, false_rejects: 0 %}, rejects: {to: S1}}
"""
    traced = run_text(text, 46)
    assert traced.left() == minutes(16, 21, 36, 41)
    assert traced.stays()[:2] == minutes(16, 21 - 5)
    c = traced.run.state
    assert (c.good, c.escapes, c.put_right) == (4, 0, 4)


def test_an_inspection_finds_only_what_it_looks_for() -> None:
    """Unit 2 has a fault of S1, unit 3 one of S2: who looks for faults of S2 rejects unit 3 only."""
    text = """
cell: of
route: [S1, S2, test]
stations:
  S1: {cycle: 1 min, faults: {listed: [good, faulty, good, good]}}
  S2: {cycle: 1 min, faults: {listed: [good, good, faulty, good]}}
  test: {cycle: 1 min, inspects: {finds: 100 %, false_rejects: 0 %, of: S2}}
"""
    traced = run_text(text, 6)
    assert traced.left() == minutes(3, 4, 6)
    assert traced.said(L.N_REJECTS, "test") == minutes(5)
    row = station(traced, "test")
    assert (row.rejected, row.false_rejects, row.missed, traced.run.state.escapes) == (1, 0, 0, 1)


def test_a_faulty_part_makes_the_whole_faulty() -> None:
    """Every second handle is faulty; with it the unit is, and the test at the end finds that."""
    text = """
cell: built in
route: [join, test]
lines: {handles: [cast, bin]}
stations:
  cast: {cycle: 2 min, faults: {listed: [good, faulty]}}
  join: {cycle: 1 min, takes: {bin: 1}}
  test: {cycle: 1 min, inspects: {finds: 100 %, false_rejects: 0 %, of: cast}}
stores: {bin: 4}
"""
    traced = run_text(text, 12)
    # handles at 2, 4, 6, ...; joined at 3, 5, 7, ...; tested at 4, 6, 8, ...: those at 6, 10 are rejected
    assert traced.left() == minutes(4, 8, 12)
    assert traced.said(L.N_REJECTS, "test") == minutes(6, 10)


def test_pieces_of_one_faulty_blank_are_faulty() -> None:
    """The second blank is faulty: the three pieces that are cut from it leave as escapes."""
    text = """
cell: pieces
route: [roll, cut]
stations:
  roll: {cycle: 2 min, faults: {listed: [good, faulty, good]}}
  cut: {cycle: 1 min, gives: 3}
"""
    traced = run_text(text, 7)
    assert traced.left() == minutes(3, 3, 3, 5, 5, 5, 7, 7, 7)
    assert traced.run.state.escapes == 3


def test_lot_faults_are_clumped() -> None:
    """All 20 units of a cycle are faulty together: in every cycle none or 20, in about 10 % of the cycles.

    Of 2000 cycles 200 are expected with standard deviation sqrt(2000 x 0.1 x 0.9) = 13.4.
    """
    text = "cell: lots\nroute: [bath]\nstations: {bath: {cycle: 1 min, gives: 20, lot_faults: 10 %}}"
    traced = run_text(text)
    before = 0
    for cycle in range(1, 101):
        traced.advance(exactly(cycle))
        assert traced.run.state.escapes - before in (0, 20)
        before = traced.run.state.escapes
    traced.advance(exactly(2000))
    assert traced.run.state.escapes % 20 == 0
    assert abs(traced.run.state.escapes / 20 - 200) < WIDTH * 13.42


def test_units_of_one_cycle_are_judged_together() -> None:
    """One faulty unit among the two of a cycle sends both back to be washed again; counted as one of each."""
    text = """
cell: pair
route: [S1, tray, bath]
stations:
  S1: {cycle: 1 min, faults: {listed: [good, faulty, good, good]}}
  bath: {cycle: 2 min, gives: 2, inspects: {finds: 100 %, false_rejects: 0 %}}
stores: {tray: unlimited}
"""
    traced = run_text(text, 7)
    # unit 2 doubles to two faulty ones at 5; units 1 and 3 leave as pairs
    assert traced.left() == minutes(3, 3, 7, 7)
    row = station(traced, "bath")
    assert (row.judged, row.rejected, row.false_rejects, traced.run.state.scrapped) == (6, 2, 0, 2)


def near(found: int, of: int, share: float) -> bool:
    """Whether a count agrees with a share of `of` independent cases."""
    return abs(found - of * share) < WIDTH * sqrt(of * share * (1 - share))


INSPECTORS = """
cell: inspectors
route: [make, first, second]
stations:
  make: {cycle: 1 s, faults: 3 %}
  first: {cycle: 1 s, inspects: {finds: 80 %, false_rejects: 2 %}}
  second: {cycle: 1 s, inspects: {finds: 80 %, false_rejects: 2 %}}
"""


def test_imperfect_inspection() -> None:
    """3 % faulty, 80 % found, 2 % of good ones rejected.

    Rejected 0.03 x 0.8 + 0.97 x 0.02 = 4.34 %; good among them 1.94 / 4.34 = 44.7 %; faulty among accepted
    0.6 / 95.66 = 0.627 %.  A second inspector of the same kind: rejected by one of them 0.03 x (1 - 0.2^2) +
    0.97 x (1 - 0.98^2) = 6.72 %, faulty among what both accept 0.0012 / 0.9328 = 0.129 %.
    """
    traced = run_text(INSPECTORS, 50_000, SECOND)
    one, two = station(traced, "first"), station(traced, "second")
    n = one.judged
    assert n > 45_000
    assert near(one.rejected, n, 0.0434)
    assert near(one.false_rejects, one.rejected, 0.0194 / 0.0434)
    assert near(one.missed, n - one.rejected, 0.006 / 0.9566)
    whole = two.judged + one.rejected
    assert near(one.rejected + two.rejected, whole, 0.067212)
    c = traced.run.state
    assert near(c.escapes, c.good, 0.0012 / (1 - 0.067212))


def test_rejects_only_by_false_alarm_where_nothing_is_faulty() -> None:
    """Without faults an inspection rejects its false share: 2 % of the units by hand, by default."""
    text = """
cell: nothing to find
crew: {ann: [look]}
route: [look]
stations: {look: {cycle: 1 s, inspects: yes}}
"""
    traced = run_text(text, 20_000, SECOND)
    row = station(traced, "look")
    assert row.judged == 20_000 and row.rejected == row.false_rejects
    assert near(row.rejected, row.judged, 0.02)


@pytest.mark.parametrize(("mends", "share"), [("90 %", 0.1), ("25 %", 0.75)])
def test_rework_that_puts_a_share_right(mends: str, share: float) -> None:
    """All units are faulty and found; a bench mends a share of them, the rest is found again and scrapped."""
    text = f"""
cell: mends
route: [make, test]
stations:
  make: {{cycle: 10 s, faults: 100 %}}
  test:
    cycle: 1 s
    inspects: {{finds: 100 %, false_rejects: 0 %}}
    rejects: {{to: bench, returns_to: test, attempts: 2}}
  bench: {{cycle: 1 s, mends: {mends}}}
"""
    traced = run_text(text, 50_003, SECOND)
    c = traced.run.state
    assert c.good + c.scrapped >= 4_998 and c.escapes == 0
    assert near(c.scrapped, c.good + c.scrapped, share)
