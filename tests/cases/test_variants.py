"""Variants by hand: order of release, times, changeovers, what fits what.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, exactly, known, minutes, run_text

from cellsim.engine import layout as L

LOTS = [
    known("trace-lots-of-three", 80, 12, {"S1": {"working": 56, "changeover": 24}}),
    known("trace-lots-of-two", 80, 12, {"S1": {"working": 54, "changeover": 26}}),
]


@pytest.mark.parametrize("trace", LOTS, ids=lambda trace: trace.name)
def test_lots(trace):
    """No changeover before the first unit; each begins as soon as the last unit has left."""
    check(trace)


def four_machines(begins: str) -> str:
    """Machines of 2, 3, 1 and 2 min; five of A, then five of B; 4 min of changeover each."""
    change = f"changeover: {{time: 4 min, begins: {begins}}}"
    return f"""
cell: four machines
variants: [A, B]
sequence: [{{A: 5}}, {{B: 5}}]
route: [M1, b1, M2, b2, M3, b3, M4]
stations:
  M1: {{cycle: 2 min, {change}}}
  M2: {{cycle: 3 min, {change}}}
  M3: {{cycle: 1 min, {change}}}
  M4: {{cycle: 2 min, {change}}}
stores: {{b1: unlimited, b2: unlimited, b3: unlimited}}
"""


@pytest.mark.parametrize(("begins", "makespan"), [("after the last unit", 39), ("with the next unit", 43)])
def test_variants_overlap_along_the_line(begins, makespan):
    """The last of five A is out at 20; the tenth unit at 39, or at 43 if machines wait for the first B."""
    run = run_text(four_machines(begins), makespan)
    assert run.left()[4] == exactly(20)
    assert run.left()[9] == exactly(makespan)
    if makespan == 39:
        starts = [run.said(L.N_STARTS, f"M{k}") for k in (1, 2, 3, 4)]
        # five A, one changeover, then the first B
        assert [times[6] for times in starts] == minutes(14, 21, 24, 25)


def test_line_empties_between_campaigns():
    """Two machines of 2 and 3 min, two of A then two of B: B enters only when the last A has left at 8.

    A leaves 5 and 8; B enters 8, leaves 13 and 16; then A again from 16.
    """
    text = """
cell: empties
variants: [A, B]
sequence: {campaigns: [{A: 2}, {B: 2}], line: empties}
route: [M1, b, M2]
stations: {M1: {cycle: 2 min}, M2: {cycle: 3 min}}
stores: {b: 4}
"""
    run = run_text(text, 30)
    assert run.left() == minutes(5, 8, 13, 16, 21, 24, 29)


def test_ratio_spreads_variants_evenly():
    """Shares 1/2, 1/4, 1/4: the variant that is furthest behind its share is next, the first one of equals.

    Behind for unit 1: A 1/2; unit 2: A 0, B 1/2, C 1/2, so B; unit 3: A 1/2, B -1/4, C 3/4, so C; unit 4: A
    1, so A; then all are even and it begins again.  Times of 1, 10 and 100 min tell them apart.
    """
    text = """
cell: ratio
variants: {A: 50 %, B: 25 %, C: 25 %}
sequence: in ratio
route: [M]
stations: {M: {cycle: {A: 1 min, B: 10 min, C: 100 min}}}
"""
    run = run_text(text, 224)
    assert run.left() == minutes(1, 11, 111, 112, 113, 123, 223, 224)


def test_random_mix_keeps_its_shares():
    """10 000 units at 30 % B: B is drawn within 4 standard errors of 3000 (false alarm 1 in 16 000)."""
    text = """
cell: random
variants: {A: 70 %, B: 30 %}
sequence: at random
route: [M]
stations: {M: {cycle: {A: 1 min, B: 2 min}}}
"""
    run = run_text(text, 13_000)
    gaps = [b - a for a, b in zip(run.left(), run.left()[1:], strict=False)][:9_900]
    share = sum(gap == exactly(2) for gap in gaps) / len(gaps)
    assert abs(share - 0.3) < 4 * (0.3 * 0.7 / len(gaps)) ** 0.5


def test_parts_of_the_right_variant_meet():
    """Bodies A A B B every 2 min; shackles of the other line A B A B every 2 min: each waits for its own.

    Bodies in `b` at 2 A, 4 A, 6 B, 8 B; shackles in `r` at 2 A, 4 B, 6 A, 8 B.  Fit 1 min: A at 2-3, the
    second A must wait for the shackle of 6: 6-7, B at 7-8 (shackle of 4), B at 8-9.
    """
    text = """
cell: right
variants: [A, B]
sequence: [{A: 2}, {B: 2}]
route: [body, b, fit]
lines: {shackles: [bend, r]}
varied_lines: [shackles]
stations:
  body: {cycle: 2 min}
  bend: {cycle: {A: 2 min, B: 2 min}}
  fit: {cycle: 1 min, takes: {r: 1}}
stores: {b: unlimited, r: unlimited}
"""
    run = run_text(text, 9)
    assert run.left() == minutes(3, 5, 7, 9)


def test_station_takes_its_variants_only():
    """A goes to M1 (3 min), B to M2 (5 min), out of one store that the press fills in 1 min each, A B A B.

    A at 1-4, B at 2-7, A at 4-7 (came at 3), B at 7-12 (came at 4), A 7-10 (came at 5).
    """
    text = """
cell: only
variants: [A, B]
sequence: in ratio
route: [press, b, M1]
lines: {second: [b, M2]}
stations:
  press: {cycle: 1 min}
  M1: {cycle: 3 min, only: [A]}
  M2: {cycle: 5 min, only: [B], goes_to: finished}
stores: {b: unlimited}
"""
    run = run_text(text, 12)
    assert run.said(L.N_LEAVES, "M1") == minutes(4, 7, 10)
    assert run.said(L.N_LEAVES, "M2") == minutes(7, 12)


def test_outlets_by_variant():
    """A goes to the left store and B to the right one; each has its own bench of 1 min."""
    text = """
cell: ways
variants: [A, B]
sequence: in ratio
route: [press, left, M1]
lines: {second: [right, M2]}
stations:
  press: {cycle: 2 min, goes_to: {left: {variants: A}, right: {variants: B}}}
  M1: {cycle: 1 min}
  M2: {cycle: 1 min, goes_to: finished}
stores: {left: 2, right: 2}
"""
    run = run_text(text, 9)
    assert run.said(L.N_LEAVES, "M1") == minutes(3, 7)
    assert run.said(L.N_LEAVES, "M2") == minutes(5, 9)


def test_setter_changes_machines_over_one_after_the_other():
    """Two machines, one setter, 5 min each; the first unit is approved by the inspector for 2 min.

    A at 0-3 on both (rank: the first machine first), campaigns of two.  At 3 both are to go over: machine
    1 is changed 3-8, approved 8-10; machine 2 changed 8-13, approved 13-15.  B (4 min): 10-14 and 15-19.
    """
    text = """
cell: setter
variants: [A, B]
sequence: [{A: 2}, {B: 2}]
crew: {setter: {}, inspector: {}}
route: [M]
stations:
  M:
    machines: 2
    cycle: {A: 3 min, B: 4 min}
    changeover: {time: 5 min, by: setter, approval: 2 min, approved_by: inspector}
"""
    run = run_text(text, 14)
    assert run.left() == minutes(3, 3, 14)
    assert run.states()["M.1"] == {"working": exactly(7), "changeover": exactly(7)}
    assert run.states()["M.2"] == {
        "working": exactly(3), "waiting for operator": exactly(5), "changeover": exactly(6),
    }  # fmt: skip


def test_batches_of_one_variant():
    """Units A B A B ... every minute; an oven of 2 for one variant each, 3 min.

    A at 0 2, B at 1 3, A at 4 6, B at 5 7: A full at 2 (2-5), B full at 3, starts 5-8; A at 6, starts
    8-11; B full at 7, starts 11-14.
    """
    text = """
cell: kinds
variants: [A, B]
sequence: in ratio
release: every 1 min
route: [oven]
stations: {oven: {cycle: 3 min, batch: {size: 2}}}
"""
    run = run_text(text, 14)
    assert run.left() == minutes(5, 5, 8, 8, 11, 11, 14, 14)
    assert run.stays()[:4] == minutes(5, 3, 7, 5)


def test_a_machine_beside_takes_the_last_unit_of_a_variant():
    """Released A A B A, again and again; one operator, 4 min a unit, and one setter, 5 min a changeover.

    At 4 both machines call for the operator, who goes to M.2, since it has waited longer.  It takes the
    second A, so M.1 finds a B next and is changed over from 4 to 9, though nothing else happens to it at 4;
    B from 9 to 13.  M.2, finished at 8, finds the same B next and waits for the setter until 9, then it is
    changed until 14.  At 13 M.1 is to go back to A: setter from 14 to 19, the fourth unit until 23, the
    fifth until 27.
    """
    text = """
cell: beside
variants: {A: 75 %, B: 25 %}
sequence: in ratio
crew: {op: {skills: [tend]}, setter: {skills: [change]}}
route: [M]
stations:
  M: {machines: 2, cycle: 4 min, by: tend, changeover: {time: 5 min, by: change}}
"""
    check(
        Trace(
            "beside",
            text,
            14,
            (4, 8, 13, 23, 27),
            3,
            {
                "M.1": {"attended": 8, "changeover": 5, "waiting for operator": 1},
                "M.2": {"waiting for operator": 4 + 1, "attended": 4, "changeover": 5},
            },
            {"op": {"working": 12, "free": 2}, "setter": {"free": 4, "working": 10}},
        )
    )
