"""Flow by hand: assembly, quantities, cards, arrivals, shared material, locked cells.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

from itertools import permutations

import pytest
from tracing import MINUTE, PUBLISHED, Trace, check, exactly, known, listed, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.record import find_circle
from cellsim.study.worker import Worker

KITS = [
    known(
        "trace-kit-limited-by-one-part",
        60,
        8,
        {"A": {"working": 60}, "B": {"working": 60}, "C": {"starved": 28, "working": 32}},
    ),
    known(
        "trace-kit-limited-by-two-parts",
        60,
        5,
        {
            "A": {"working": 60},
            "B": {"working": 56, "blocked": 4},
            "C": {"starved": 40, "working": 20},
        },
    ),
]


@pytest.mark.parametrize("trace", KITS, ids=lambda trace: trace.name)
def test_a_kit_is_taken_complete(trace: Trace) -> None:
    """Assembly takes a whole kit at one instant, when all of it is there; until then it keeps its places."""
    check(trace)


TWO_PARTS = {
    "A": "  A: {cycle: 4 min}",
    "B": "  B: {cycle: 6 min}",
    "C": "  C: {cycle: 3 min, takes: {box a: 1, box b: 1}}",
}


@pytest.mark.parametrize("order", list(permutations("ABC")), ids="".join)
def test_two_parts_meet_in_every_order_of_declaration(order: tuple[str, ...]) -> None:
    """One A and one B are joined: nine assemblies in an hour, whatever the order in the file."""
    stations = "\n".join(TWO_PARTS[name] for name in order)
    text = f"""
cell: join
route: [A, box a, C]
lines: {{b: [B, box b]}}
stations:
{stations}
stores: {{box b: 2, box a: 2}}
"""
    traced = run_text(text, 60)
    assert traced.left() == minutes(9, 15, 21, 27, 33, 39, 45, 51, 57)
    assert traced.cycles() == {"A": 12, "B": 10, "C": 9}
    assert traced.states() == {
        "A": {"working": exactly(48), "blocked": exactly(12)},
        "B": {"working": exactly(60)},
        "C": {"starved": exactly(33), "working": exactly(27)},
    }


def test_the_part_that_comes_last_releases_the_assembly() -> None:
    """Two A of 3 min, one B of 7: the fifth assembly, out at 39, followed five B, whatever A did."""
    traced = run_text(PUBLISHED["trace-kit-limited-by-one-part"].cell, 39)
    assert traced.path() == {("B", "work"): exactly(35), ("C", "work"): exactly(4)}


def test_two_of_one_part_per_assembly() -> None:
    """Quantities count: of the 30 units of A that were made in an hour, 22 are built into 11 assemblies."""
    text = """
cell: quantities
route: [A, box a, C]
lines: {b: [B, box b]}
stations:
  A: {cycle: 2 min}
  B: {cycle: 5 min}
  C: {cycle: 1 min, takes: {box a: 2, box b: 1}}
stores: {box a: unlimited, box b: unlimited}
"""
    traced = run_text(text, 60)
    assert traced.left() == minutes(6, 11, 16, 21, 26, 31, 36, 41, 46, 51, 56)
    assert traced.cycles() == {"A": 30, "B": 12, "C": 11}
    # the twelfth assembly began at 60 with two more of A
    assert traced.level("box a") == 30 - 22 - 2
    assert len(traced.said(L.N_STARTS, "C")) == 12


CARDS = [
    # 15 minutes inside, two at a time: completions 9 and 6 apart in turn
    (
        2,
        known(
            "trace-two-cards",
            60,
            7,
            {
                "S1": {"working": 32, "starved": 28},
                "S2": {"starved": 13, "working": 47},
                "S3": {"starved": 25, "working": 35},
            },
        ),
    ),
    (
        3,
        known(
            "trace-three-cards",
            60,
            8,
            {
                "S1": {"working": 43, "starved": 17},
                "S2": {"starved": 4, "working": 56},
                "S3": {"starved": 18, "working": 42},
            },
        ),
    ),
]


@pytest.mark.parametrize(("count", "trace"), CARDS, ids=["2", "3"])
def test_cards_keep_the_work_inside_constant(count: int, trace: Trace) -> None:
    """Every completion releases one unit at the same instant, so the work inside never changes."""
    traced = check(trace)
    assert traced.stays() == listed(PUBLISHED[f"{trace.name}-time-inside"])
    released = [at - stay for at, stay in zip(traced.left(), traced.stays(), strict=True)]
    expected = [0] * count + list(trace.left)[:-count]
    assert released == minutes(*expected)
    assert traced.run.state.wip_area == count * traced.run.state.now


def test_a_small_want_is_met_before_a_large_one_that_must_wait() -> None:
    """A bin gets a piece at 0, 10, ...; A wants 5 from 0 on, B wants 1 at 1: B has it at 1, A all at 50."""
    text = """
cell: bin
route: [A]
release: {at: [0 min]}
lines:
  pieces: [make, bin]
  b: [raw b, bring, b, B]
stations:
  make: {cycle: 10 min}
  A: {cycle: 1 min, takes: {bin: 5}}
  bring: {cycle: 1 min}
  B: {cycle: 1 min, takes: {bin: 1}}
stores:
  bin: {places: unlimited, starts_with: 1}
  raw b: {places: 1, starts_with: 1}
  b: unlimited
"""
    traced = run_text(text, 60)
    assert traced.said(L.N_STARTS, "B") == minutes(1)
    assert traced.said(L.N_STARTS, "A") == minutes(50)


def test_arrivals_as_fast_as_the_station() -> None:
    """Arrivals every hour from the first hour on, an hour of work each: 24 come in a day, 23 are finished."""
    at = ", ".join(f"{60 * k} min" for k in range(1, 31))
    text = f"cell: clockwork\nroute: [S]\nrelease: {{at: [{at}]}}\nstations:\n  S: {{cycle: 60 min}}\n"
    traced = run_text(text, 1440)
    c = traced.run.state
    assert (c.created, c.good, c.wip) == (24, 23, 1)
    assert traced.run.state.machines[0].progress == L.IN_CYCLE
    assert traced.stays() == minutes(*[60] * 23)


# Every unit must go through S1 and S2 twice.  Without `gate` S1 could take raw units only; with it a returned
# unit waits in front of the next raw one, which the feeder holds ready.
LOOP = """
cell: rework loop
route: [feed, gate, S1, tray, S2]
stations:
  feed: {cycle: 1 s}
  S1: {cycle: 1 min}
  S2: {cycle: 1.5 min, rejects: {share: 100 %, after_rework: 0 %, to: gate}}
stores: {gate: 0, tray: 1}
study: {run: 60 min}
"""


def test_a_rework_loop_that_locks_up() -> None:
    """A circular wait is found, with its instant and the names in the circle, instead of a silent zero.

    At 3 min (and the second of the feeder) S1 has finished its third unit for the full tray, and S2 has held
    the first, which wants S1, since 2.5 min.
    """
    traced = run_text(LOOP, 60)
    assert traced.left() == []
    assert traced.run.stalled_at == exactly(3) + 1_000_000
    assert find_circle(traced.run.state, traced.run.flat.names) == [
        "S1 holds a unit for tray",
        "S2 holds a unit for gate",
    ]
    record = Worker(load_text(LOOP)).replicate(1, 0)
    assert (record.reason, record.ended_at, record.violations) == ("locked", 3 * MINUTE + 1_000_000, [])
    assert record.circle == ["S1 holds a unit for tray", "S2 holds a unit for gate"]
    assert record.inside == 4


DIRECT = """
cell: rework loop with no place to come back to
route: [S1, tray, S2]
stations:
  S1: {cycle: 1 min}
  S2: {cycle: 1.5 min, rejects: {share: 100 %, after_rework: 0 %, to: S1, waits: on the station}}
stores: {tray: 1}
"""


def test_units_that_come_straight_back_lock_up() -> None:
    """S1 takes raw units whenever it is free, and each unit must come back to it once (hand-computed).

    S1 ends its units at 1, 2 and 3; S2 ends the first at 2.5, when S1 has the third in work.  At 3 the third
    cannot leave, since the tray holds the second, so S1 never takes the first back: locked at 3, no output.
    """
    record = Worker(load_text(DIRECT + "study: {run: 1 h}\n")).replicate(1, 0)
    assert (record.reason, record.ended_at, record.violations) == ("locked", 3 * MINUTE, [])
    assert record.circle == ["S1 holds a unit for tray", "S2 holds a unit for release"]
    assert (record.cell["good"], record.inside) == (0, 3)


def test_one_place_more_does_not_lock() -> None:
    """The same loop with room for all that returns runs on: no circle is claimed where there is none."""
    free = LOOP.replace("gate: 0, tray: 1", "gate: unlimited, tray: unlimited").replace("1 s", "10 min")
    traced = run_text(free, 60)
    assert traced.run.stalled_at == -1
    # a unit takes 1 + 1.5 twice: fed at 10, 20, ..., out 5 minutes later
    assert traced.left() == minutes(15, 25, 35, 45, 55)
    assert Worker(load_text(free)).replicate(1, 0).reason == "horizon"


def test_shares_of_two_ways() -> None:
    """Of 4000 units 70 % go left, within 4 standard errors (false alarm 1 in 16 000, fixed seed)."""
    text = """
cell: two ways
route: [S, left tray, left]
lines: {other: [right tray, right]}
stations:
  S: {cycle: 1 min, goes_to: {left tray: 70 %, right tray: 30 %}}
  left: {cycle: 1 s}
  right: {cycle: 1 s}
stores: {left tray: unlimited, right tray: unlimited}
"""
    traced = run_text(text, 4001)
    left, right = len(traced.left()), len(traced.left("out:other"))
    assert left + right == 4000
    assert abs(left - 2800) <= 4 * (4000 * 0.7 * 0.3) ** 0.5
