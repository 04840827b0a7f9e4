"""Stores by hand: order, transit, stays, windows, trays.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import PUBLISHED, check, exactly, known, listed, minutes, run_text

from cellsim.engine import layout as L


def test_unit_cools_before_it_is_taken():
    """A unit may be taken 10 min after it entered and holds its place; who waits is starved."""
    check(known("trace-cooling", 60, 11, {"S1": {"working": 60}, "S2": {"starved": 25, "working": 35}}))


def test_each_unit_cools_to_the_microsecond():
    """Two units enter a microsecond apart: the second may be taken a microsecond after the first."""
    text = """
cell: one after the other
release: {at: [0 s, 1 us]}
route: [S1, rack, S2]
stations: {S1: {cycle: 0 s}, S2: {machines: 2, cycle: 1 min}}
stores: {rack: {places: 3, stays: at least 10 min}}
"""
    assert run_text(text, 12).left() == [exactly(11), exactly(11) + 1]


def test_unit_too_late_is_scrapped():
    """Taken at exactly the limit still counts; later ones are thrown away at that instant."""
    run = check(
        known("trace-used-within", 40, 7, {"S1": {"working": 40}, "S2": {"working": 38, "starved": 2}})
    )
    assert run.stays() == listed(PUBLISHED["trace-used-within-time-inside"])
    late = [at for at in run.said(L.N_LATE) if at <= exactly(40)]
    assert late == minutes(14, 16, 20, 24, 26, 30, 34, 36, 40)


@pytest.mark.parametrize(
    ("order", "stays"),
    [("first in first out", (8, 12, 16)), ("last in first out", (6, 12, 18))],
)
def test_order_of_a_store(order, stays):
    """Units at 1, 2, 3 minutes; the bench is free from 4 on and needs 5: out at 9, 14, 19 either way."""
    text = f"""
cell: order
shifts: {{early: {{from: 00:00, to: 08:00}}, late: {{from: 00:04, to: 08:00}}}}
crew: {{ann: {{shift: late}}}}
release: {{at: [1 min, 2 min, 3 min]}}
route: [S1, b, S2]
stations: {{S1: {{cycle: 0 s}}, S2: {{cycle: 5 min, by: ann}}}}
stores: {{b: {{places: 9, order: {order}}}}}
"""
    run = run_text(text, 30)
    assert run.left() == minutes(9, 14, 19)
    assert run.stays() == minutes(*stays)


@pytest.mark.parametrize("way", ["transit: 3 min", "belt: {length: 6 m, speed: 2 m/min}"])
def test_transit_is_length_over_speed(way):
    """One unit every 2 min, 3 min on the way, 1 min of work: out at 6, 8, 10."""
    text = f"""
cell: belt
route: [S1, belt, S2]
stations: {{S1: {{cycle: 2 min}}, S2: {{cycle: 1 min}}}}
stores: {{belt: {{places: 4, {way}}}}}
"""
    run = run_text(text, 11)
    assert run.left() == minutes(6, 8, 10)


def test_full_belt_accumulates():
    """Two places, 3 min on the way, the bench needs 5: S1 makes one every 1 min and is blocked.

    Units enter at 1, 2; the first is taken at 4: the third (made at 3) enters at 4, ready at 7; the bench
    takes the second at 9, the third at 14.  The fourth enters at 9, ready at 12.
    """
    text = """
cell: full belt
route: [S1, belt, S2]
stations: {S1: {cycle: 1 min}, S2: {cycle: 5 min}}
stores: {belt: {places: 2, transit: 3 min}}
"""
    run = run_text(text, 20)
    assert run.left() == minutes(9, 14, 19)
    # works 0-3, blocked to 4, works 4-5, blocked to 9, 9-10, to 14, 14-15, to 19, 19-20
    assert run.states()["S1"] == {"working": exactly(7), "blocked": exactly(13)}


def test_trays_move_when_full_and_come_back():
    """Trays of 3, two of them; S1 makes one unit a minute, the bench needs 2 min.

    The first tray is full at 3: the bench takes at 3, 5, 7; the second fills 4 5 6; a third unit has no
    tray at 7: the first tray is empty at 7, so the unit of 7 enters at once.  Then 7 8 9 fill it.
    The bench takes 9, 11, 13 out of the second, which comes back at 13: S1 is blocked from 10 to 13.
    """
    text = """
cell: trays
route: [S1, tray, S2]
stations: {S1: {cycle: 1 min}, S2: {cycle: 2 min}}
stores: {tray: {places: 6, tray: 3}}
"""
    run = run_text(text, 15)
    assert run.left() == minutes(5, 7, 9, 11, 13, 15)
    assert run.states()["S1"] == {"working": exactly(12), "blocked": exactly(3)}


def test_mean_wait_for_a_tray():
    """A unit waits (k - 1) / 2 intervals for its tray to fill: 5 of 6 x 2 min, on average 5 min."""
    text = """
cell: forming
release: every 2 min
route: [S1, tray, S2]
stations: {S1: {cycle: 0 s}, S2: {cycle: 1 s, machines: 6}}
stores: {tray: {places: unlimited, tray: 6}}
"""
    run = run_text(text, 12 * 60)
    stays = run.stays()
    assert len(stays) == 360
    assert sum(stays) // len(stays) == exactly(5) + 1_000_000


def test_unfilled_tray_goes_after_its_wait():
    """Trays of 3 wait at most 4 min: units at 1 and 2 move at 5; units at 9, 10, 11 at 11."""
    text = """
cell: tray waits
release: {at: [1 min, 2 min, 9 min, 10 min, 11 min]}
route: [S1, tray, S2]
stations: {S1: {cycle: 0 s}, S2: {cycle: 1 min, machines: 3}}
stores: {tray: {places: 6, tray: 3, tray_waits: 4 min}}
"""
    run = run_text(text, 20)
    assert run.left() == minutes(6, 6, 12, 12, 12)


TRAY_TOO_FEW = """
cell: a tray whose place is kept
route: [S1, trays, S2]
stations:
  S1: {cycle: 1 min, hands_on: only into a free place%s}
  S2: {cycle: %s}
stores: {trays: {places: %d, tray: 2, tray_waits: 30 s}}
"""


def test_tray_waits_for_the_unit_whose_place_in_it_is_kept():
    """One tray of 2: at 1.5 min it should go with one unit, but the other place is kept for what S1 works on.

    So it goes full at 2, and comes back when S2 takes the second unit, at 12, 32 and 52.  Then S1 fills it
    again, 12-14, and S2 never waits after 2: units leave at 12, 22, 32, ...
    """
    run = run_text(TRAY_TOO_FEW % ("", "10 min", 2), 60)
    assert run.left() == minutes(12, 22, 32, 42, 52)
    assert run.states()["S1"] == {"working": exactly(8), "blocked": exactly(52)}
    assert run.states()["S2"] == {"starved": exactly(2), "working": exactly(58)}


def test_tray_goes_when_the_unit_it_waits_for_will_not_come():
    """The second unit is rejected at 2 min: nothing is coming any more, and the first goes alone at 2."""
    rejects = ", rejects: {verdicts: [good, reject, good, good, good, good]}"
    run = run_text(TRAY_TOO_FEW % (rejects, "10 min", 2), 25)
    assert run.left() == minutes(12, 22)
    assert run.states()["S2"] == {"starved": exactly(2), "working": exactly(23)}


def test_tray_goes_when_another_tray_has_come_back():
    """Two trays of 2, S2 needs 2.25 min.  The first unit goes alone at 1.5: a tray is left for the next.

    S2 takes it at once.  The second goes alone at 2.5; the third comes at 3 and should go at 3.5, but the
    fourth has no other tray.  At 3.75 S2 takes the second, its tray comes back, and the third goes alone.
    """
    run = run_text(TRAY_TOO_FEW % ("", "2.25 min", 4), 3.7)
    trays = run.run.state.stores[run.run.flat.names.stores.index("trays")]
    assert (trays.level, trays.gathering, trays.trays_out) == (2, 1, 1)
    run.advance(exactly(3.75))
    assert (trays.level, trays.gathering, trays.trays_out) == (1, 0, 1)
    run.advance(exactly(9))
    assert run.left() == minutes(3.75, 6, 8.25)


def test_late_units_go_back():
    """Dried too long: the unit goes back to the wash, in front of nobody, and comes again.

    Wash 1 min each at 1, 2; the coat (by ann, who begins at 10) may use a unit for 5 min.  Units late at 6
    and 7 are washed again 6-7 and 7-8, late again at 12 and 13: ann takes the first at 10 (10-13), the
    second is late at exactly 13 and is taken at that instant.
    """
    text = """
cell: late
shifts: {early: {from: 00:00, to: 08:00}, late: {from: 00:10, to: 08:00}}
crew: {ann: {shift: late}}
release: {at: [0 s, 1 min]}
route: [wash, dry, coat]
stations: {wash: {cycle: 1 min}, coat: {cycle: 3 min, by: ann}}
stores: {dry: {places: unlimited, use_within: 5 min, late: wash}}
"""
    run = run_text(text, 20)
    assert run.left() == minutes(13, 16)
    assert run.said(L.N_LATE) == minutes(6, 7)


def test_cure_goes_on_in_a_break():
    """Curing counts the wall clock: in at 1, out of the rack at 11, in the middle of a break until 20."""
    text = """
cell: cure
shifts: {day: {from: 00:00, to: 08:00, breaks: [{at: 00:10, for: 10 min}]}}
release: {at: [0 s]}
route: [S1, rack, S2]
stations: {S1: {cycle: 1 min}, S2: {cycle: 1 min}}
stores: {rack: {places: 3, stays: at least 10 min}}
"""
    run = run_text(text, 30)
    assert run.left() == minutes(21)


def test_trays_count_what_goes_in_front():
    """A unit that returns in front stands in the tray that is being filled; no tray takes more than it holds.

    Two trays of two before a bench of 4 min, one unit a minute into them: 1 2 | 3 4 fill both, the bench
    takes at 2, 6 and empties the first at 6.  Then 5 and 6 fill it again, and so on: the store never holds
    more than four units, whatever comes back from the test.
    """
    text = """
cell: trays and rework
crew: {ann: {}}
route: [S1, trays, S2, done, test]
stations:
  S1: {cycle: 1 min}
  S2: {cycle: 4 min}
  test: {cycle: 1 min, rejects: {verdicts: [good, reject], to: bench, returns_to: S2, enters: in front}}
  bench: {cycle: 1 min, by: ann}
stores: {trays: {places: 4, tray: 2}, done: 2}
"""
    run = run_text(text, 600)
    trays = run.run.state.stores[run.run.flat.names.stores.index("trays")]
    assert trays.highest == 4
    assert run.run.state.good > 50
