"""Batches by hand: when they start, with how many units, and what waits on.

All figures are hand-computed traces, in minutes unless said.
"""

from __future__ import annotations

import pytest
from tracing import SECOND, Trace, check, exactly, known, minutes, run_text

from cellsim.engine import layout as L
from cellsim.published.traces_material import oven

OVENS = [
    # batches start at 5, 15 and 30 with three units each
    known("trace-oven-full-batches", 60, 9, {"oven": {"working": 24, "starved": 36}}),
    # at 12 the wait of the fourth unit is over while the oven is busy: two units start at 13
    known("trace-oven-waits-6", 60, 9, {"oven": {"working": 32, "starved": 28}}),
    known("trace-oven-waits-3", 60, 9, {"oven": {"working": 32, "starved": 28}}),
    # at 3 and at 9 the first unit has waited 3, but two are wanted: 0 2 | 5 6 9 -> at 11 | 15 16 17 at 19
    # | 30 alone is never enough
    Trace(
        "longest wait 3, at least two",
        oven("{size: 3, waits: 3 min, at_least: 2}"),
        60,
        (11, 11, 19, 19, 19, 27, 27, 27),
        8,
        {"oven": {"working": 24, "starved": 36}},
    ),
]


@pytest.mark.parametrize("trace", OVENS, ids=lambda trace: trace.name)
def test_oven(trace):
    """A batch starts when it is full, or when its first unit has waited long enough."""
    check(trace)


def test_last_incomplete_batch_waits_and_is_counted():
    """Ten units at 0..9, four a batch, 5 min: four leave at 8, four at 13, two still wait at 60."""
    times = ", ".join(f"{k} min" for k in range(10))
    text = f"""
cell: leftover
release: {{at: [{times}]}}
route: [wash]
stations:
  wash: {{cycle: 5 min, batch: {{size: 4}}}}
"""
    run = run_text(text, 60)
    assert run.left() == minutes(8, 8, 8, 8, 13, 13, 13, 13)
    assert run.level("release") == 2
    assert run.run.state.wip == 2


def test_clock_times_start_what_is_there():
    """At 0:20 two units wait and start; at 0:40 the oven is busy until 0:45 and starts with one then.

    Arrivals 1 5 | 30 36 | 41: at 0:30 and 0:36 nothing starts (size 3); 20 + 25 = 45, then the two at
    30 36 and the one at 41 are three: a full batch at 45, ends 70.
    """
    text = """
cell: clock
shifts: {day: {from: 00:00, to: 08:00}}
release: {at: [1 min, 5 min, 30 min, 36 min, 41 min, 71 min]}
route: [oven]
stations:
  oven: {cycle: 25 min, batch: {size: 3, starts_at: [00:20, 01:20]}}
"""
    run = run_text(text, 110)
    assert run.left() == minutes(45, 45, 70, 70, 70, 105)
    assert run.said(L.N_STARTS) == minutes(20, 45, 80)


@pytest.mark.parametrize("order", ["{A: 1}, {B: 1}", "{B: 1}, {A: 1}"])
def test_a_mixed_batch_waits_for_its_first_unit_of_any_variant(order):
    """Units of A and B in turn at 0, 2 and 4: the first has waited 6 min at 6, whichever variant it is."""
    text = f"""
cell: mixed
variants: [A, B]
sequence: [{order}]
release: {{at: [0 min, 2 min, 4 min]}}
route: [oven]
stations:
  oven: {{cycle: 5 min, batch: {{size: 4, waits: 6 min, mixed: yes}}}}
"""
    run = run_text(text, 11)
    assert run.said(L.N_STARTS) == minutes(6)
    assert run.left() == minutes(11, 11, 11)


def test_batch_of_one_is_no_batch():
    """A batch of one changes no event: completion times and state totals are those without it."""
    text = """
cell: one
route: [S1, b, S2]
stations:
  S1: {{cycle: {{law: exponential, mean: 3 min}}}}
  S2: {{cycle: {{law: exponential, mean: 4 min}}{batch}}}
stores: {{b: 3}}
"""
    plain = run_text(text.format(batch=""), 600)
    batched = run_text(text.format(batch=", batch: {size: 1}, hands_on: holds finished part"), 600)
    assert plain.left() == batched.left()
    assert plain.states() == batched.states()


def test_two_bowls_by_little():
    """120 an hour, bowls of 60 for 50 min: the first of a batch stays 79.5 min, the last 50, mean 64.75.

    Exercise with constant arrivals every 30 s: the first unit of a batch waits 59 x 30 s for the last.
    """
    text = """
cell: bowls
release: every 30 s
route: [polish]
stations:
  polish: {machines: 2, cycle: 50 min, batch: {size: 60}}
"""
    run = run_text(text, 60 * 24)
    stays = run.stays()[:600]
    assert len(run.stays()) >= 600
    assert stays[:60] == [exactly(79.5) - k * exactly(30, SECOND) for k in range(60)]
    assert sum(stays) / len(stays) == exactly(64.75)


def test_batch_is_loaded_and_unloaded_by_hand():
    """Load 2, run 10, unload 3 for four units every 5 min: load at 15, run 17-27, unload 27-30, next at 35.

    The second batch is full at 35 (units at 20 25 30 35).
    """
    text = """
cell: basket
crew: {ann: {}}
release: every 5 min
route: [wash]
stations:
  wash: {cycle: 10 min, visit: {by: ann, load: 2 min, unload: 3 min}, batch: {size: 4}}
"""
    run = run_text(text, 51)
    assert run.left() == minutes(30, 30, 30, 30, 50, 50, 50, 50)
    assert run.actors() == {"ann": {"working": exactly(10), "free": exactly(41)}}


def test_batch_waits_for_room_behind():
    """Three units need three places behind before they begin.

    Batches 0-4 into a rack of 4; the press takes one every 5: at 4 three stand there, one goes at once, at
    4 there are 2 left, so one place is missing until 9: the next batch runs 9-13, the press goes on 14, 19.
    """
    text = """
cell: room
route: [bake, rack, press]
stations:
  bake: {cycle: 4 min, batch: {size: 3}}
  press: {cycle: 5 min}
stores: {rack: 4}
"""
    run = run_text(text, 31)
    assert run.said(L.N_STARTS, "bake") == minutes(0, 9, 24)
    assert run.left() == minutes(9, 14, 19, 24, 29)


def test_batch_handed_over_one_by_one():
    """With no places between, the batch stays until its last unit is taken over.

    Bake 0-4 with three; the press takes one at 4, 9, 14; bake is empty at 14 and runs 14-18, blocked again
    until the press is free at 19, 24, 29.
    """
    text = """
cell: direct
route: [bake, press]
stations:
  bake: {cycle: 4 min, batch: {size: 3}, hands_on: holds finished part}
  press: {cycle: 5 min}
"""
    run = run_text(text, 31)
    assert run.said(L.N_STARTS, "bake") == minutes(0, 14, 29)
    assert run.left() == minutes(9, 14, 19, 24, 29)
    assert run.states()["bake"] == {"working": exactly(10), "blocked": exactly(21)}


def test_batch_runs_unattended_into_the_night():
    """Loaded 441-446 in a shift that ends at 480, it runs alone to 566 and is unloaded when ann is back.

    The next shift begins at 1440: out at 1443.
    """
    text = """
cell: night
shifts: {day: {from: 00:00, to: 08:00, days: daily}}
crew: {ann: {}}
release: {at: [440 min, 441 min]}
route: [oven]
stations:
  oven: {cycle: 2 h, visit: {by: ann, load: 5 min, unload: 3 min}, batch: {size: 2}}
"""
    run = run_text(text, 1500)
    assert run.left() == minutes(1443, 1443)
    assert run.states()["oven"]["working"] == exactly(120)


def test_campaigns_of_one_shift_follow_the_target():
    """750 a shift, 70 % and 30 %: campaigns of 525 and 225; one changeover of each kind a shift."""
    text = """
cell: campaigns
target: 750 per shift
shifts: {day: {from: 00:00, to: 08:00, days: daily}}
variants: {small: 70 %, large: 30 %}
route: [drill]
stations:
  drill: {cycle: 30 s, changeover: {time: 10 min}}
"""
    run = run_text(text, 480)
    # 525 x 0.5 = 262.5, changeover to 272.5, 225 x 0.5 = 112.5 to 385, changeover to 395, then small again
    assert run.states()["drill"]["changeover"] == exactly(20)
    assert run.left()[525] == exactly(273)
    assert run.left()[750] == exactly(395.5)
