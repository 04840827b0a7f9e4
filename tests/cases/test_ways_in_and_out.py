"""Bars, strokes, lots, an hourly plan and places behind the cell by hand.

All figures are hand-computed traces in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, exactly, in_units, minutes, run_text

from cellsim.describe.resolve import load, load_text
from cellsim.engine import layout as L
from cellsim.engine.record import standstill
from cellsim.study.supply import attainment_figures, finished_goods_figures
from cellsim.study.worker import Worker

# One bar, many units -----------------------------------------------------------------------------------

BARS = """
cell: bars
crew: {{setter: {{}}}}
route: [S1]
stations: {{S1: {{cycle: 2 min, {more}yields: {{units: 3 per bar, change: 4 min, by: setter}}}}}}
"""


def test_two_machines_share_one_setter():
    """Three units of 2 min from a bar, a change of 4 min: S1.1 changes 0-4 and 10-14, S1.2 4-8 and 14-18."""
    check(
        Trace(
            "bars",
            BARS.format(more="machines: 2, "),
            horizon=20,
            left=[6, 8, 10, 10, 12, 14, 16, 18, 20, 20, 22],
            count=10,
            states={
                "S1.1": {"attended": 8, "working": 12},
                "S1.2": {"waiting for operator": 4, "attended": 8, "working": 8},
            },
            actors={"setter": {"working": 16, "free": 4}},
        )
    )


def test_changes_are_units_divided_by_the_units_of_a_bar():
    """In 10 h of 3 x 2 + 4 min a bar: 180 units from exactly 60 bars; the next begins at that instant."""
    traced = run_text(BARS.format(more=""), 600)
    assert len(traced.left()) == 180
    assert traced.run.state.stations[0].bars == 180 // 3 + 1


def test_bars_that_come_from_a_store():
    """A bar every 10 min; change of 1 by the setter, three units of 2: starved 0-10, 17-20, 27-30."""
    text = """
cell: sawn bars
crew: {setter: {}}
route: [saw, rack, turn]
stations:
  saw: {cycle: 10 min}
  turn: {cycle: 2 min, yields: {units: 3 per bar, change: 1 min, by: setter}}
stores: {rack: 2}
"""
    check(
        Trace(
            "sawn",
            text,
            horizon=30,
            left=[13, 15, 17, 23, 25, 27],
            count=6,
            states={
                "saw": {"working": 30},
                "turn": {"starved": 16, "attended": 2, "working": 12},
            },
            actors={"setter": {"working": 2, "free": 28}},
        )
    )


@pytest.mark.parametrize(
    ("at", "part", "left"),
    [
        (1, "is scrapped", [12, 14, 16, 22]),
        (1, "restarts", [12, 14, 16, 22]),
        (1, "continues", [11, 13, 15, 21]),
        (5, "is scrapped", [12, 14, 20]),
        (5, "restarts", [12, 14, 16, 22]),
        (5, "continues", [11, 13, 15, 21]),
    ],
)
def test_a_stop_during_the_change_or_during_a_unit(at, part, left):
    """A stop of 5 min at 1, in the change (0-4), or at 5, in the first unit (4-6).

    What is lost in the change is done again and costs no unit; a lost unit costs one of the three of the bar.
    """
    every = f"{{listed: [{at} min, 1000 min], of: on time}}"
    stop = f"stops: {{halt: {{every: {every}, lasts: 5 min, law: exponential, part: {part}}}}}, "
    text = BARS.format(more=stop.replace("lasts: 5 min, law: exponential", "lasts: {listed: [5 min]}"))
    assert run_text(text, left[-1]).left() == minutes(*left)


def test_a_coil_counts_strokes():
    """A coil of 8 parts at 2 a stroke of 1 min: 4 strokes, then a change of 2 by nobody: 6 min a coil."""
    text = """
cell: coil
route: [press]
stations: {press: {strokes: 1 per min, per_stroke: 2, yields: {units: 8 per coil, change: 2 min}}}
"""
    traced = run_text(text, 12)
    assert traced.left() == minutes(3, 3, 4, 4, 5, 5, 6, 6, 9, 9, 10, 10, 11, 11, 12, 12)
    assert traced.run.state.stations[0].bars == 3


# Strokes and lots --------------------------------------------------------------------------------------


def test_a_press_feeds_a_cell_with_a_few_per_cent_of_its_time():
    """80 strokes of 2 parts a minute for 100 products of 2 parts an hour: 75 s of each hour.

    In the first hour it fills the 40 places and holds two more: 21 strokes on top of 100.
    """
    text = """
cell: press
route: [bend]
lines: {plates: [press, bin]}
stations:
  press: {strokes: 80 per min, per_stroke: 2}
  bend: {cycle: 36 s, takes: {bin: 2}}
stores: {bin: 40}
"""
    traced = run_text(text, 60)
    first = traced.states()["press"]["working"]
    assert (traced.cycles()["press"], first) == (121, 121 * 750_000)
    traced.advance(exactly(120))
    assert traced.states()["press"]["working"] - first == 75_000_000


def test_a_press_that_makes_lots():
    """Lots of 4 at 1 min, begun at 1 or fewer; one is used each 3 min: lots begin at 0, 7, 19, 31.

    The bin holds 2 at 4, falls to 1 at 7; holds 4 at 11, falls to 1 at 19.
    """
    text = """
cell: lots
route: [press, bin, bend]
stations:
  press: {cycle: 1 min, lots: {of: 4, starts_at: 1}}
  bend: {cycle: 3 min}
stores: {bin: 10}
"""
    traced = check(
        Trace(
            "lots",
            text,
            horizon=24,
            left=[4, 7, 10, 13, 16, 19, 22, 25, 28, 31],
            count=7,
            states={"press": {"working": 12, "no lot due": 12}, "bend": {"starved": 1, "working": 23}},
        )
    )
    traced.advance(exactly(31))
    starts = traced.said(L.N_STARTS, "press")
    assert starts == minutes(0, 1, 2, 3, 7, 8, 9, 10, 19, 20, 21, 22, 31)
    assert traced.run.state.stations[0].lots == 4


def test_two_presses_share_a_lot():
    """Two presses of 2 min make a lot of 3: the third unit at 4; no lot more before it is in the bin at 4.

    At 3 the bin holds 1 again (2 came at 2, one is used each 3 min from 2 on): the lot in hand is waited for.
    """
    text = """
cell: shared lot
route: [press, bin, bend]
stations:
  press: {machines: 2, cycle: 2 min, lots: {of: 3, starts_at: 1}}
  bend: {cycle: 3 min}
stores: {bin: 10}
"""
    traced = run_text(text, 10)
    assert sorted(traced.said(L.N_STARTS, "press.1") + traced.said(L.N_STARTS, "press.2")) == minutes(
        0, 0, 2, 5, 5, 7
    )


# The hourly plan ---------------------------------------------------------------------------------------

PLAN = """
cell: plan
shifts: {day: {from: 06:00, to: 10:00}}
route: [S1]
stations: {S1: {cycle: 30 min}}
release: {plan: {06:00: 1, 07:00: 3, 08:00: 1}}
"""


def test_an_hourly_plan():
    """One unit at 06:00, three at 07:00, one at 08:00, 30 min each: out at 30, 90, 120, 150, 180.

    The third of 07:00 is carried over to 08:00.  The next day begins with one unit again.
    """
    traced = check(
        Trace(
            "plan",
            PLAN,
            horizon=240,
            left=[30, 90, 120, 150, 180, 1440 + 30, 1440 + 90],
            count=5,
            states={"S1": {"working": 150, "starved": 90}},
        )
    )
    assert traced.stays()[:5] == minutes(*[30] * 5)


def test_attainment_of_the_plan():
    """Made 1, 2, 2, 0 of 1, 3, 1, 0: four of five in their hour; two days are counted alike."""
    worker = Worker(load_text(PLAN + "study: {shifts: 2}\n"))
    record = worker.replicate(1, 0)
    assert record.hourly == [1, 2, 2, 0] * 2
    found = attainment_figures(worker.flat, worker.plan, [record])
    assert (found["mean"], found["planned"]) == (0.8, 10)
    assert [(row["planned"], row.get("mean")) for row in found["by_clock_hour"]] == [
        (1, 1.0),
        (3, pytest.approx(2 / 3)),
        (1, 1.0),
        (0, None),
    ]


def test_output_is_never_above_the_plan():
    """Whatever the times: by every hour no more good units than were planned before it."""
    planned = (70, 120, 90, 110)
    plan = ", ".join(f"{6 + k:02d}:00: {units}" for k, units in enumerate(planned))
    text = (
        "cell: varied\nshifts: {day: {from: 06:00, to: 10:00}}\nroute: [a, tray, b]\nstores: {tray: 3}\n"
        f"release: {{plan: {{{plan}}}}}\nstations:\n"
        "  a: {cycle: {mean: 30 s, spread: 60 %}, scrap: 2 %}\n  b: {cycle: {mean: 30 s, spread: 60 %}}\n"
    )
    worker = Worker(load_text(text))
    sums = []
    for replication in range(10):
        made = worker.replicate(1, replication).hourly
        sums.append(sum(made))
        assert all(sum(made[: k + 1]) <= sum(planned[: k + 1]) for k in range(4))
    assert 340 < min(sums) <= max(sums) < sum(planned)


def test_a_plan_from_a_file(tmp_path):
    """The same plan from a file with a column of times and one of units, in any order."""
    (tmp_path / "plan.csv").write_text("time;units\n07:00;3\n08:00;1\n06:00;1\n\n", encoding="utf-8")
    cell = tmp_path / "cell.yaml"
    cell.write_text(PLAN.replace("{06:00: 1, 07:00: 3, 08:00: 1}", "plan.csv"), encoding="utf-8")
    assert load(cell).release == load_text(PLAN).release


def test_a_plan_of_the_night_shift():
    """Monday 22:00 to 02:00, 2 units planned at 01:00: begun 180 min after the start, out at 210 and 240."""
    text = PLAN.replace("06:00, to: 10:00", "22:00, to: 02:00, days: Mon").replace(
        "{06:00: 1, 07:00: 3, 08:00: 1}", "{01:00: 2}"
    )
    assert run_text(text, 240).left() == minutes(210, 240)


@pytest.mark.parametrize(("enters", "stays"), [("in front", [20, 10]), ("behind", [10, 30])])
def test_a_rejected_unit_of_the_plan_comes_back(enters, stays):
    """Two units are planned, the first is rejected at 10: it goes before or after the second."""
    rejects = f"rejects: {{verdicts: [reject, good, good], to: S1, enters: {enters}}}"
    text = PLAN.replace("cycle: 30 min", f"cycle: 10 min, {rejects}").replace("06:00: 1", "06:00: 2")
    traced = run_text(text, 40)
    assert (traced.left(), traced.stays()) == (minutes(20, 30), minutes(*stays))


# Finished goods ----------------------------------------------------------------------------------------


def goods(text: str, cycle: str = "cycle: 2 min", more: str = "") -> str:
    """A cell of one station with places behind it."""
    return f"cell: goods\n{more}route: [S1]\nstations: {{S1: {{{cycle}}}}}\nfinished_goods: {{{text}}}\n"


def test_full_places_behind_the_cell_stop_it():
    """Five places, three units taken every 15: full at 10, the sixth waits 12-15, the ninth 21-30."""
    traced = check(
        Trace(
            "full",
            goods("places: 5, collected: {every: 15 min, takes: 3}"),
            horizon=45,
            left=[2, 4, 6, 8, 10, 15, 17, 19, 30, 32, 34, 45],
            count=12,
            states={"S1": {"working": 24, "blocked": 21}},
        )
    )
    assert traced.said(L.N_COLLECTED) == minutes(15, 30, 45)


def test_no_more_is_collected_than_stands_there():
    """Two may be taken every 3, a unit comes every 2; what comes at that instant is left for the next time.

    At 3 there is that of 2, at 6 that of 4, at 9 those of 6 and 8, at 12 that of 10.
    """
    traced = run_text(goods("places: 5, collected: {every: 3 min, takes: 2}"), 12)
    taken = [other for _, what, _, other in traced.run.notes if what == L.N_COLLECTED]
    assert taken == [1, 1, 2, 1]


def test_a_closed_way_out_stops_the_cell_and_says_so():
    """Nothing is collected: five units leave, the sixth stays at 12, and nobody can end that."""
    traced = run_text(goods("places: 5"), 60)
    assert traced.left() == minutes(2, 4, 6, 8, 10)
    assert traced.states() == in_units({"S1": {"working": 12, "blocked": 48}})
    assert traced.run.stalled_at == exactly(12)
    assert standstill(traced.run.state, traced.run.flat.names) == ["S1 holds a unit for finished"]


def test_somebody_takes_the_finished_units_away():
    """Called at 15 and 30 for 2 min: all five places are free at 17 and 32."""
    check(
        Trace(
            "by hand",
            goods("places: 5, collected: {every: 15 min, by: H, trip: 2 min}", more="crew: {H: {}}\n"),
            horizon=34,
            left=[2, 4, 6, 8, 10, 17, 19, 21, 23, 25, 32, 34],
            count=12,
            states={"S1": {"working": 24, "blocked": 10}},
            actors={"H": {"bringing": 4, "free": 30}},
        )
    )


def test_nobody_unloads_where_no_place_is_free():
    """One place, emptied every 10; a robot unloads for 1 min: it is called at 2, 10 and 20, not before."""
    check(
        Trace(
            "robot",
            goods(
                "places: 1, collected: {every: 10 min}",
                "cycle: 2 min, visit: {by: R1, unload: 1 min}",
                "robots: {R1: {}}\n",
            ),
            horizon=21,
            left=[3, 11, 21],
            count=3,
            states={"S1": {"working": 6, "handled": 3, "blocked": 12}},
            actors={"R1": {"working": 3, "free": 18}},
        )
    )


def test_a_place_is_kept_before_the_cycle_begins():
    """Only into a free place: the sixth cycle begins when places are free, at 15, and is done at 17."""
    cycle = "cycle: 2 min, hands_on: only into a free place"
    traced = run_text(goods("places: 5, collected: {every: 15 min, takes: 3}", cycle), 45)
    assert traced.left() == minutes(2, 4, 6, 8, 10, 17, 19, 21, 32, 34, 36)
    assert traced.states() == in_units({"S1": {"working": 22, "blocked": 23}})


def test_figures_of_finished_goods():
    """Five places, all taken every 10, a unit each 2 min; what is collected at 10 leaves before the fifth
    comes.

    Level 0, 1, 2, 3, 4 for 2 min each up to 10, then 1 to 5 in every 10: (20 + 9 x 30) / 100; 4 + 9 x 5
    collected.
    """
    worker = Worker(load_text(goods("places: 5, collected: {every: 10 min}") + "study: {run: 100 min}\n"))
    found = finished_goods_figures(worker.flat, worker.plan, [worker.replicate(1, 0)])
    assert (found["mean"], found["max"], found["capacity"], found["collected"]["mean"]) == (2.9, 5, 5, 49)
