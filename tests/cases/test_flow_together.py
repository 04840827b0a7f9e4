"""Tables, carriers and ways where they meet repairs in place, samples, parts, bars, service and moves.

Everything is worked out by hand, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, minutes, run_text

from cellsim.engine import layout as L

TABLE = """
cell: dial
release: {{{release}}}
route: [load, press, unload]
stations: {{load: {{cycle: 2 min{load}}}, press: {{cycle: 3 min{press}}}, unload: {{cycle: 1 min}}}}
tables: {{dial: {{stations: [load, press, unload], index: 1 min}}}}
"""
TWO_UNITS = "at: [0 s, 3 min]"


# Indexing tables ---------------------------------------------------------------------------------------


def test_table_waits_for_a_repair_in_place():
    """The press rejects the first unit at 6 and repairs it until 8: turns at 2, 8 and 12."""
    press = ", rejects: {verdicts: [reject, good, good], to: here, repair: 2 min}"
    check(
        Trace(
            "repair on the table",
            TABLE.format(release=TWO_UNITS, load="", press=press),
            14,
            (10, 14),
            2,
            {
                "load": {"working": 4, "handled": 3, "blocked": 3, "starved": 4},
                "press": {"working": 8, "handled": 3, "starved": 3},
                "unload": {"working": 2, "handled": 3, "starved": 9},
            },
        )
    )


def test_destroyed_sample_leaves_its_position_empty():
    """Every second good unit is tested on the press for 2 min and destroyed: the second one, 10-12.

    Units come at 0, 3 and 6; turns at 2, 6, 12 and 16; the first is off at 8, the third at 18.
    """
    text = TABLE.format(
        release="at: [0 s, 3 min, 6 min]",
        load="",
        press=", samples: {every: 2, time: 2 min, destroys: yes}",
    )
    run = run_text(text, 30)
    assert (run.left(), run.said(L.N_SCRAPPED)) == (minutes(8, 18), minutes(12))


def test_table_turns_without_a_unit_while_a_part_is_short():
    """One pin at 0 and one every 10 min: loaded 0-2, 10-12; turns at 2, 6, 12 and 16; off at 8, 18, 28."""
    text = TABLE.format(release="", load="", press="").replace("release: {}\n", "")
    check(
        Trace(
            "parts on the table",
            text + "parts: {pin: {used_at: {load: 1}, box: 1, every: 10 min, starts_with: 1}}\n",
            18,
            (8, 18, 28),
            2,
            {
                "load": {"working": 4, "handled": 4, "waiting for material": 10},
                "press": {"working": 6, "handled": 4, "starved": 8},
                "unload": {"working": 2, "handled": 4, "starved": 12},
            },
        )
    )


def test_table_waits_for_the_change_of_a_bar():
    """Two units a bar, changed in 4 min: loaded 0-6, 7-9, 11-17, 18-20; turns at 6, 10, 17, 21."""
    text = TABLE.format(release="", load=", yields: {units: 2 per bar, change: 4 min}", press="")
    assert run_text(text.replace("release: {}\n", ""), 23).left() == minutes(12, 19, 23)


def test_service_of_a_position_waits_for_its_cycle():
    """Due at 4, the service of the press begins when its cycle ends, at 6; the table stands until 11."""
    check(
        Trace(
            "service on the table",
            TABLE.format(release=TWO_UNITS, load="", press=", service: {care: {at: 00:04, lasts: 5 min}}"),
            17,
            (13, 17),
            2,
            {
                "load": {"working": 4, "handled": 3, "blocked": 6, "starved": 4},
                "press": {"working": 6, "handled": 3, "planned service": 5, "starved": 3},
                "unload": {"working": 2, "handled": 3, "starved": 12},
            },
        )
    )


def test_two_services_of_one_table():
    """Both due at 4: load is free at 5, is serviced until 6, and only then the press ends its cycle, at 7.

    It is serviced until 12; turns at 12 and 16.
    """
    press = ", service: {care: {at: 00:04, lasts: 5 min}}"
    text = TABLE.format(release=TWO_UNITS, load=press.replace("5 min", "1 min"), press=press)
    run = run_text(text, 30)
    assert run.left() == minutes(14, 18)
    assert run.states()["press"]["planned service"] == minutes(5)[0]


# Ways --------------------------------------------------------------------------------------------------

MOVED = """
cell: moved
robots: {{R: {{moves: [A > {first}, A > s2], pick: 1 min, place: 3 min}}}}
route: [A, {route}]
lines: {{second: [s2, B2]}}
stations:
  A: {{cycle: 2 min, goes_to: [{first}, s2], chooses: shortest wait}}
  B1: {{cycle: 10 min}}
  B2: {{cycle: 10 min, goes_to: finished}}
stores: {{{stores}s2: 3}}
"""


@pytest.mark.parametrize(
    ("first", "route", "stores", "left"),
    [("s1", "s1, B1", "s1: 3, ", (16, 20, 26, 30)), ("B1", "B1", "", (16, 20, 30))],
)
def test_unit_that_a_robot_brings_counts_as_waiting(first, route, stores, left):
    """A ends at 2, 5, 9; the first unit is in the robot's hand until 6, so that the second goes to s2.

    B1 works 6-16, B2 10-20.  At 9 one unit is on either way, the first is taken: with places before B1 it is
    there at 14, at 13 the next goes to s2 (there at 18): out at 26 and 30.  Without places the robot takes it
    when B1 is free, at 16, and brings it at 20: out at 30; A ends again at 19, with one on either way.
    """
    text = MOVED.format(first=first, route=route, stores=stores)
    assert run_text(text, 30).left() == minutes(*left)


def test_bench_without_parts_is_not_free():
    """B1 has a pin at 0 and one at 20; so it works 1-6 and 20-25, B2 2-9, 9-16 and 16-23."""
    text = """
cell: pins
route: [A, B1]
lines: {second: [B2]}
stations:
  A: {cycle: 1 min, goes_to: [B1, B2], chooses: first free}
  B1: {cycle: 5 min}
  B2: {cycle: 7 min, goes_to: finished}
parts: {pin: {used_at: {B1: 1}, box: 1, every: 20 min, starts_with: 1}}
"""
    run = run_text(text, 25)
    assert run.left() == minutes(6, 9, 16, 23, 25)
    assert run.made_on() == ["B1", "B2", "B2", "B2", "B1"]


def test_way_that_closes_is_given_up():
    """op is busy until 20, so the unit waits for the empty B1 from 1 on; B1 stops at 4: B2 works 4-11."""
    text = """
cell: closing
crew: {op: {}}
release: {at: [0 s]}
route: [A, B1]
lines: {second: [rack, B2], other: [X]}
stations:
  A: {cycle: 1 min, goes_to: [B1, rack], chooses: first free}
  B1: {cycle: 5 min, by: op, service: {care: {at: 00:04, lasts: 10 min}}}
  B2: {cycle: 7 min, goes_to: finished}
  X: {cycle: 20 min, by: op}
stores: {rack: 5}
"""
    run = run_text(text, 20)
    assert (run.left(), run.made_on()[:1]) == (minutes(11), ["B2"])
    assert run.states()["A"]["blocked"] == minutes(3)[0]


def test_destroyed_sample_takes_no_turn():
    """Every second unit is destroyed, at 3 and 6: those of 1, 4 and 7 go to a, b and a."""
    text = """
cell: turns
route: [A]
lines: {one: [a, Ba], two: [b, Bb]}
stations:
  A: {cycle: 1 min, goes_to: [a, b], chooses: in turn, samples: {every: 2, time: 1 min, destroys: yes}}
  Ba: {cycle: 100 min, goes_to: finished}
  Bb: {cycle: 100 min, goes_to: finished}
stores: {a: 9, b: 9}
"""
    run = run_text(text, 7)
    assert (run.level("a"), run.level("b"), run.said(L.N_SCRAPPED)) == (1, 0, minutes(3, 6))
    assert run.said(L.N_STARTS, "Bb") == minutes(4)


# Carriers ----------------------------------------------------------------------------------------------


def test_unit_is_off_its_pallet_before_it_is_repaired_in_place():
    """One pallet: off at 5 and 12; the first unit is repaired 5-9, the second stands on its pallet 7-9."""
    text = """
cell: repair
route: [load, unload]
stations:
  load: {cycle: 2 min}
  unload: {cycle: 3 min, rejects: {verdicts: [reject, good, good], to: here, repair: 4 min}}
carriers: {pallets: {count: 1, from: load, to: unload}}
"""
    check(
        Trace(
            "off before the repair",
            text,
            12,
            (9, 12),
            2,
            {
                "load": {"working": 4, "waiting for carrier": 6, "blocked": 2},
                "unload": {"starved": 2, "working": 10},
            },
        )
    )


def test_pallet_of_a_destroyed_sample_comes_back():
    """The second unit is destroyed at 16; like that of 6, its pallet is back 4 min later."""
    text = """
cell: samples
route: [load, check, unload]
stations:
  load: {cycle: 2 min}
  check: {cycle: 3 min, samples: {every: 2, time: 1 min, destroys: yes}}
  unload: {cycle: 1 min}
carriers: {pallets: {count: 1, from: load, to: unload, returns: 4 min}}
"""
    run = run_text(text, 25)
    assert (run.left(), run.said(L.N_SCRAPPED)) == (minutes(6), minutes(16))
    assert run.said(L.N_STARTS, "load") == minutes(0, 10, 20)


def test_robot_moves_a_unit_on_its_pallet():
    """Loaded 0-2, moved 2-4, pressed 4-7, moved 7-9 out of the cell: the pallet is off at 7, back at 11."""
    text = """
cell: moved on pallets
robots: {R: {moves: [load > press, press > out], pick: 1 min, place: 1 min}}
route: [load, press]
stations: {load: {cycle: 2 min}, press: {cycle: 3 min}}
carriers: {pallets: {count: 1, from: load, to: press, returns: 4 min}}
"""
    run = run_text(text, 25)
    assert (run.left(), run.said(L.N_STARTS, "load")) == (minutes(9, 20), minutes(0, 11, 22))


def test_who_waits_for_a_pallet_holds_no_part_up():
    """Kits come at 0, 10, ...; A takes that of 0 and lacks a pallet from 5 on; B asks at 7, has it at 10."""
    text = """
cell: kits
route: [A]
lines: {gate: [G, door], second: [door, B]}
stations:
  A: {cycle: 5 min}
  G: {cycle: 7 min}
  B: {cycle: 100 min, goes_to: finished}
stores: {door: 1}
parts: {kit: {used_at: {A: 1, B: 1}, box: 1, every: 10 min, starts_with: 1, overtaking: no}}
carriers: {pallets: {count: 1, from: A, to: A, returns: 100 min}}
"""
    run = run_text(text, 30)
    assert run.said(L.N_STARTS, "B") == minutes(10)
