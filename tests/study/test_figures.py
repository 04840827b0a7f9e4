"""Figures of hand-made records: every number is worked out beside it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell
from cellsim.engine.record import _STATION_FIELDS, Record
from cellsim.engine.tables import FlatCell
from cellsim.study.audit import law_names
from cellsim.study.figures import figures
from cellsim.study.folder import as_json
from cellsim.study.output import distribution
from cellsim.study.plan import Plan, make_plan
from cellsim.study.result import figures_of
from cellsim.study.study import run

SECOND = 1_000_000
MINUTE = 60 * SECOND
HOUR = 60 * MINUTE
T1 = 12.7062  # Student's t, 1 degree of freedom, 97.5 % (table value)

# Two shifts a day of two hours, 40 minutes of break in the second hour of the early one.
HOURS = """
cell: hours
question: How many an hour?
target: 60 per h
shifts:
  early: {from: 06:00, to: 08:00, breaks: [{at: 07:00, for: 40 min}]}
  late: {from: 14:00, to: 16:00}
crew: {op: {people: 2}, helper: {shift: early}}
route: [S]
stations: {S: {cycle: 1 min, by: op}}
study: {shifts: 4}
"""
LABELS = ["06:00-07:00", "07:00-08:00", "14:00-15:00", "15:00-16:00"]
ONE = [60, 20, 50, 62, 62, 19, 60, 60]  # 393 in all
TWO = [66, 24, 54, 58, 60, 16, 70, 52]  # 400 in all

FLOOR = """
cell: floor
crew: {op: {people: 2}, technician: {}}
robots: {R1: {}}
route: [press, tray, fit, rack, test]
lines: {hooks: [stamp, heap]}
stations:
  press:
    machines: 2
    cycle: 1 min
    visit: {by: R1, load: 5 s, unload: 5 s}
    stops: {jam: {every: 1 h of running, lasts: 5 min, cleared_by: technician}}
  fit: {cycle: 1 min, by: op, scrap: 5 %, takes: {tray: 1, heap: 1}}
  test: {cycle: 1 min, scrap: 10 %}
  stamp: {cycle: 1 min}
stores: {tray: 4, rack: 300, heap: unlimited}
study: {run: 100 min}
"""
CLOCK = 100


def blank(flat: FlatCell, plan: Plan, replication: int = 0) -> Record:
    """A record in which nothing happened: right shapes, every machine starved and everybody free."""
    c = flat.state
    clock = plan.horizon - plan.counted_from
    return Record(
        replication,
        ended_at=plan.horizon,
        hourly=[0] * len(plan.hours),
        wip_by_hour=[0] * len(plan.ends),
        levels_by_hour=[[0] * len(plan.ends) for _ in c.stores],
        machines=[spell(L.MACHINE_STATES, clock, starved=clock) for _ in c.machines],
        cycles=[0] * len(c.machines),
        actors=[spell(L.ACTOR_STATES, clock, free=clock) for _ in c.actors],
        visits=[0] * len(c.actors),
        stations={key: [0] * len(c.stations) for key in _STATION_FIELDS},
        stores={key: [0] * len(c.stores) for key in ("entered", "left", "area", "stays", "late_units")},
        time_at=[[clock] + [0] * (L.LEVEL_BINS - 1) for _ in c.stores],
        highest=[0] * len(c.stores),
        stops={key: [0] * len(c.stops) for key in ("count", "repair_time", "waiting_time", "spoilt")},
        cell=dict.fromkeys(("created", "good", "scrapped", "consumed", "wip_area", "escapes"), 0),
        path=[0] * len(flat.names.causes),
        path_plans=[0] * len(flat.names.causes),
    )


def spell(states: tuple[str, ...], clock: int, **times: int) -> list[int]:
    """Times in state in the order of `states`; `_` in a name stands for a blank."""
    row = [times.pop(state.replace(" ", "_"), 0) for state in states]
    assert not times and sum(row) == clock
    return row


def machine(**minutes: int) -> list[int]:
    """Times of a machine that fill the 100 minutes."""
    return spell(L.MACHINE_STATES, CLOCK * MINUTE, **{k: v * MINUTE for k, v in minutes.items()})


def person(**minutes: int) -> list[int]:
    """Times of a person or robot that fill the 100 minutes."""
    return spell(L.ACTOR_STATES, CLOCK * MINUTE, **{k: v * MINUTE for k, v in minutes.items()})


class Shop:
    """A cell with two blank records that a test fills in by name."""

    def __init__(self, text: str = FLOOR, replications: int = 2) -> None:
        cell = load_text(text)
        self.flat, self.plan = compile_cell(cell), make_plan(cell)
        self.records = [blank(self.flat, self.plan, k) for k in range(replications)]

    def machine(self, name: str) -> int:
        return self.flat.names.machines.index(name)

    def station(self, name: str) -> int:
        return self.flat.names.stations.index(name)

    def store(self, name: str) -> int:
        return self.flat.names.stores.index(name)

    def actor(self, name: str) -> int:
        return self.flat.names.actors.index(name)

    def figures(self) -> dict[str, Any]:
        return figures(self.flat, self.plan, self.records)


@pytest.fixture
def hours() -> dict[str, Any]:
    """Figures of two replications of four shifts."""
    shop = Shop(HOURS)
    shop.records[0].hourly, shop.records[1].hourly = list(ONE), list(TWO)
    return shop.figures()


def check(entry: dict[str, Any], first: float, second: float) -> None:
    """Mean and interval of two replications: half width t(1) |difference| / 2, cut at 0."""
    mean, half = (first + second) / 2, T1 * abs(first - second) / 2
    assert entry["mean"] == pytest.approx(mean, rel=1e-9)
    assert entry["interval"] == pytest.approx([max(0.0, mean - half), mean + half], rel=1e-5, abs=1e-9)


def test_output_per_working_hour(hours: dict[str, Any]) -> None:
    """Four shifts have 2 (60 + 20 + 120) = 400 working minutes: 393 and 400 units, 58.95 and 60 an hour."""
    output = hours["output_per_hour"]
    check(output, 58.95, 60.0)
    assert output["interval"] == pytest.approx([52.804245, 66.145755], abs=1e-5)
    assert (output["level"], output["unit"], output["target"]) == (0.95, "good units per working hour", 60.0)
    assert hours["study"] == {
        "replications": 2,
        "counted_from_s": 0.0,
        "horizon_s": 34 * 3600.0,
        "working_h": 400 / 60,
        "shifts": 4,
        "remarks": [],
    }


def test_percentiles_over_hours(hours: dict[str, Any]) -> None:
    """Hours of 20 working minutes say nothing of a rate.

    The 12 others in order: 50 52 54 58 60 60 60 60 62 62 66 70.  Of 12, at least 5 % is 1, 50 % 6, 95 % 12.
    """
    output = hours["output_per_hour"]
    assert output["hours_counted"] == 12
    assert (output["p05"], output["p50"], output["p95"]) == (50, 60, 70)


def test_rates_of_hours_with_a_break() -> None:
    """30 units in an hour of 40 working minutes are 45 an hour, and 40 of them meet a target of 60."""
    shop = Shop(HOURS.replace("for: 40 min", "for: 20 min").replace("shifts: 4", "shifts: 1"), 1)
    shop.records[0].hourly = [50, 30]
    output = shop.figures()["output_per_hour"]
    assert (output["p05"], output["p95"], output["hours_counted"]) == (45, 50, 2)
    shop.records[0].hourly = [59, 40]
    assert shop.figures()["output_per_hour"]["chance_of_target_in_an_hour"]["mean"] == 0.5


def test_chance_of_the_target_in_an_hour(hours: dict[str, Any]) -> None:
    """60 or more in 5 of 6 full hours and in 3 of 6: shares 0.8333 and 0.5, not twelve independent hours."""
    chance = hours["output_per_hour"]["chance_of_target_in_an_hour"]
    assert chance["mean"] == pytest.approx(2 / 3, rel=1e-12)
    assert chance["interval"] == [0.0, 1.0]  # 0.6667 +- 2.118


def test_each_clock_hour_over_days_and_replications(hours: dict[str, Any]) -> None:
    """Monday's and Tuesday's hour of one label are taken together, in the order of the day."""
    rows = hours["output_per_hour"]["by_clock_hour"]
    assert [row["hour"] for row in rows] == LABELS
    check(rows[0], 61.0, 63.0)  # 60 62 and 66 60
    check(rows[1], 19.5, 20.0)  # 20 19 and 24 16
    check(rows[2], 55.0, 62.0)  # 50 60 and 54 70
    check(rows[3], 61.0, 55.0)  # 62 60 and 58 52
    assert [[row[key] for key in ("p05", "p50", "p95")] for row in rows] == [
        [60, 60, 66],
        [16, 19, 24],
        [50, 54, 70],
        [52, 58, 62],
    ]
    assert [row["working_min"] for row in rows] == [60, 20, 60, 60]
    assert [row["length_min"] for row in rows] == [60, 60, 60, 60]
    assert [row["target"] for row in rows] == [60, 20, 60, 60]
    assert [row["chance_of_target"] for row in rows] == [1.0, 0.5, 0.5, 0.5]


def test_output_per_shift(hours: dict[str, Any]) -> None:
    """Shifts of 80 112 81 120 and 90 112 76 122 units; early ones must reach 80, late ones 120."""
    shift = hours["output_per_hour"]["per_shift"]
    check(shift, 98.25, 100.0)
    assert (shift["p05"], shift["p50"], shift["p95"]) == (76, 90, 122)
    assert shift["chance_of_target"]["mean"] == 0.625  # 3 of 4 and 2 of 4
    assert "p05_interval" not in shift  # eight shifts of two replications are not independent


def test_one_shift_per_replication_is_an_independent_trial() -> None:
    """Two working hours less 40 min, target 80: units 79, 80, 81, 90 are 3 of 4 (19.41 % to 99.37 %)."""
    shop = Shop(HOURS.replace("shifts: 4", "shifts: 1"), 4)
    for record, count in zip(shop.records, (79, 80, 81, 90), strict=True):
        record.hourly = [count - 20, 20]
    shift = shop.figures()["output_per_hour"]["per_shift"]
    assert (shift["target"], shift["working_h"]) == (80.0, 80 / 60)
    assert shift["chance_of_target"]["mean"] == 0.75
    # Clopper and Pearson's limits for 3 of 4, as tabulated (from memory)
    assert shift["chance_of_target"]["interval"] == pytest.approx([0.1941, 0.9937], abs=5e-5)
    assert shift["p05_interval"] == [None, 80]  # second: P(B >= 2) = 1.4 % for B binomial (4, 5 %)


def test_a_target_met_exactly_is_met() -> None:
    """10.8 an hour over 50 minutes is 9, but 9.000000000000002 in floating point: 9 units meet it, 8 do not.

    So do 18 in a shift of twice that.
    """
    breaks = "[{at: 06:20, for: 10 min}, {at: 07:20, for: 10 min}]"
    text = HOURS.replace("[{at: 07:00, for: 40 min}]", breaks).replace("60 per h", "10.8 per h")
    shop = Shop(text.replace("shifts: 4", "shifts: 1"), 1)
    shop.records[0].hourly = [9, 9]
    output = shop.figures()["output_per_hour"]
    assert output["by_clock_hour"][0]["target"] > 9 and output["per_shift"]["target"] > 18
    assert [row["chance_of_target"] for row in output["by_clock_hour"]] == [1.0, 1.0]
    assert output["per_shift"]["chance_of_target"]["mean"] == 1.0
    assert output["chance_of_target_in_an_hour"]["mean"] == 1.0
    shop.records[0].hourly = [9, 8]
    output = shop.figures()["output_per_hour"]
    assert [row["chance_of_target"] for row in output["by_clock_hour"]] == [1.0, 0.0]
    assert output["per_shift"]["chance_of_target"]["mean"] == 0.0
    assert output["chance_of_target_in_an_hour"]["mean"] == 0.5


def test_without_a_target_there_is_no_chance() -> None:
    """Nothing is compared with a target that nobody set."""
    output = Shop(HOURS.replace("target: 60 per h\n", "")).figures()["output_per_hour"]
    assert output["target"] is None
    assert "chance_of_target_in_an_hour" not in output
    assert "chance_of_target" not in output["per_shift"]
    assert not {"target", "chance_of_target"} & output["by_clock_hour"][0].keys()


def test_units_per_labour_hour() -> None:
    """Two persons on both shifts, one on the early ones: (2 + 0.5) 8 h = 20 paid hours, breaks included."""
    shop = Shop(HOURS)
    shop.records[0].hourly, shop.records[1].hourly = list(ONE), list(TWO)
    check(shop.figures()["units_per_labour_hour"], 393 / 20, 400 / 20)
    nobody = Shop("cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\nstudy: {run: 2 h}\n")
    assert nobody.figures()["units_per_labour_hour"] is None


def test_labour_without_shifts() -> None:
    """Three persons for 100 minutes are 5 paid hours: 50 and 60 units are 10 and 12 an hour."""
    shop = Shop()
    shop.records[0].hourly, shop.records[1].hourly = [30, 20], [60, 0]
    check(shop.figures()["units_per_labour_hour"], 10.0, 12.0)


def test_state_shares_of_equal_machines_are_taken_together() -> None:
    """Two presses of 100 min: (40 + 60) / 200 and (70 + 70) / 200 working; all shares add up to 1."""
    shop = Shop()
    one, two = shop.records
    first, second = shop.machine("press.1"), shop.machine("press.2")
    one.machines[first] = machine(working=40, handled=10, starved=30, down=20)
    one.machines[second] = machine(working=60, handled=10, blocked=30)
    two.machines[first] = machine(working=70, handled=20, waiting_for_robot=10)
    two.machines[second] = machine(working=70, handled=20, waiting_for_repair=10)
    one.cycles[first], one.cycles[second], two.cycles[first] = 40, 55, 105
    one.stations["scrapped"][shop.station("test")] = 4
    press = shop.figures()["stations"]["press"]
    shares = press["shares"]
    assert set(shares) == {
        "working",
        "handled",
        "starved",
        "blocked",
        "waiting for robot",
        "down",
        "waiting for repair",
    }
    check(shares["working"], 0.5, 0.7)
    check(shares["handled"], 0.1, 0.2)
    check(shares["starved"], 0.15, 0.0)
    check(shares["waiting for repair"], 0.0, 0.05)
    assert sum(entry["mean"] for entry in shares.values()) == pytest.approx(1.0, rel=1e-12)
    assert press["machines"] == 2
    check(press["cycles"], 95, 105)
    check(shop.figures()["stations"]["test"]["scrapped"], 4, 0)
    assert "rejected_share" not in press


def test_yield_of_the_tests() -> None:
    """Fit: 90 of 100 and 95 of 100 pass at first; test: 80 of 100 in both: rolled 0.925 * 0.8 = 0.74."""
    shop = Shop()
    fit, test = shop.station("fit"), shop.station("test")
    for record, passed, good, scrapped in zip(shop.records, (90, 95), (70, 72), (30, 28), strict=True):
        for k, first in ((fit, passed), (test, 80)):
            record.stations["first_tests"][k], record.stations["first_pass"][k] = 100, first
            record.stations["judged"][k], record.stations["rejected"][k] = 125, 110 - first
        record.cell["good"], record.cell["scrapped"] = good, scrapped
    result = shop.figures()
    quality = result["quality"]
    check(quality["first_pass_yield"]["fit"], 0.90, 0.95)
    check(quality["first_pass_yield"]["test"], 0.80, 0.80)
    assert set(quality["first_pass_yield"]) == {"fit", "test"}
    assert quality["rolled_yield"] == pytest.approx(0.74, rel=1e-12)
    check(quality["good_share"], 0.70, 0.72)
    check(quality["scrapped"], 30, 28)
    check(result["stations"]["fit"]["rejected_share"], 20 / 125, 15 / 125)


def test_yield_of_nothing_is_not_defined() -> None:
    """Nothing was tested and nothing left: no yield, and no zero made up; without tests none is told."""
    quality = Shop().figures()["quality"]
    assert quality["first_pass_yield"]["fit"]["mean"] is None
    assert quality["good_share"]["mean"] is None
    assert Shop(HOURS).figures()["quality"]["rolled_yield"] is None


def test_stores() -> None:
    """Levels 0 to 3 for 50 40 5 5 and 50 40 10 0 min: mean 0.65 and 0.6; at most 2 in 95 % of 200 min."""
    shop = Shop()
    tray = shop.store("tray")
    for record, levels, left, highest in zip(
        shop.records, ((50, 40, 5, 5), (50, 40, 10, 0)), (13, 12), (3, 2), strict=True
    ):
        record.time_at[tray][:4] = [minutes * MINUTE for minutes in levels]
        record.stores["area"][tray] = sum(k * minutes for k, minutes in enumerate(levels)) * MINUTE
        record.stores["stays"][tray], record.stores["left"][tray] = left * 5 * MINUTE, left
        record.highest[tray] = highest
    stores = shop.figures()["stores"]
    check(stores["tray"], 0.65, 0.60)
    assert (stores["tray"]["p95"], stores["tray"]["max"], stores["tray"]["capacity"]) == (2, 3, 4)
    check(stores["tray"]["stay_s"], 300, 300)
    assert set(stores) == {"tray", "rack", "heap"}
    assert (stores["rack"]["p95"], stores["rack"]["stay_s"]["mean"]) == (0, None)


def test_levels_of_large_stores() -> None:
    """300 places in bins of 3: the 95 % level is the top of its bin, at most what was ever there.

    A store without limit has single levels up to 126; beyond, the 95 % level is not known, and not made up.
    """
    shop = Shop(replications=1)
    (record,) = shop.records
    rack, heap = shop.store("rack"), shop.store("heap")
    record.time_at[rack][:3] = [10 * MINUTE, 80 * MINUTE, 10 * MINUTE]
    record.highest[rack] = 100
    record.time_at[heap][0], record.time_at[heap][-1] = 90 * MINUTE, 10 * MINUTE
    record.highest[heap] = 5000
    stores = shop.figures()["stores"]
    assert (stores["rack"]["p95"], stores["rack"]["capacity"]) == (8, 300)
    assert (stores["heap"]["p95"], stores["heap"]["max"], stores["heap"]["capacity"]) == (None, 5000, None)
    record.highest[rack] = 7
    record.time_at[heap][0], record.time_at[heap][-1] = 95 * MINUTE, 5 * MINUTE
    stores = shop.figures()["stores"]
    assert (stores["rack"]["p95"], stores["heap"]["p95"]) == (7, 0)


def test_loads_of_people_and_robots() -> None:
    """Busy of the time on duty: op (60 + 80) / (90 + 100), then 1; a break is no duty, to be held is busy."""
    shop = Shop()
    one, two = shop.records
    a, b, r = shop.actor("op 1"), shop.actor("op 2"), shop.actor("R1")
    one.actors[a] = person(working=40, travelling=10, held=10, free=30, **{"break": 10})
    one.actors[b] = person(working=60, repairing=20, free=20)
    two.actors[a] = two.actors[b] = person(working=95, off=5)
    one.actors[r] = person(working=30, down=30, waiting_for_repair=20, free=20)
    result = shop.figures()
    op, robot = result["people"]["op"], result["robots"]["R1"]
    assert op["count"] == 2
    # both sums 140 / 190 and 190 / 190: the jackknife of two equal denominators is the mean
    check(op["load"], 140 / 190, 1.0)
    check(op["shares"]["working"], 0.5, 0.95)
    check(op["shares"]["off"], 0.0, 0.05)
    assert sum(entry["mean"] for entry in op["shares"].values()) == pytest.approx(1.0, rel=1e-12)
    check(robot["load"], 0.3, 0.0)
    assert (set(result["people"]), set(result["robots"])) == ({"op", "technician"}, {"R1"})
    assert result["people"]["technician"]["load"]["mean"] == 0.0


def test_hours_at_stations() -> None:
    """Two people change places every 2 h in 8 h of 1 min cycles: 4 h of each at each, 8 h in all."""
    text = """
cell: change
shifts: {day: {from: 06:00, to: 14:00}}
crew: {op: {people: 2, rotates: {every: 2 h, among: [press, rivet]}}, other: {}}
route: [press]
lines: {beside: [rivet]}
stations: {press: {cycle: 1 min}, rivet: {cycle: 1 min}}
study: {replications: 1}
"""
    result = run(load_text(text))
    hours = result["people"]["op"]["hours_at"]
    assert {name: (row["mean"], row["unit"]) for name, row in hours.items()} == {
        "press": (8.0, "hours of work"),
        "rivet": (8.0, "hours of work"),
    }
    assert result["people"]["other"]["hours_at"] == {}
    assert result["people"]["op"]["shares"]["working"]["mean"] == 1.0


def test_load_of_nobody_on_duty() -> None:
    """Never on duty in the counted time: the load is not defined, and said in words."""
    shop = Shop()
    for record in shop.records:
        record.actors[shop.actor("technician")] = person(off=60, **{"break": 40})
    load = shop.figures()["people"]["technician"]["load"]
    assert load == {
        "mean": None,
        "interval": [None, None],
        "unit": "share of the time on duty",
        "remark": "not defined (0 min on duty)",
    }


def test_stops_of_equal_machines_are_added() -> None:
    """Press 1 and 2 jam 2 + 3 and 1 + 0 times, repairs 20 + 30 and 10 min, waits 4 + 6 and 0 min."""
    shop = Shop()
    one, two = shop.records
    one.stops = {
        "count": [2, 3],
        "repair_time": [20 * MINUTE, 30 * MINUTE],
        "waiting_time": [4 * MINUTE, 6 * MINUTE],
        "spoilt": [0, 0],
    }
    two.stops = {"count": [1, 0], "repair_time": [10 * MINUTE, 0], "waiting_time": [0, 0], "spoilt": [0, 0]}
    (row,) = shop.figures()["stops"]
    assert (row["who"], row["cause"]) == ("press", "jam")
    check(row["stops"], 5, 1)
    check(row["repair_min"], 50, 10)
    check(row["waiting_min"], 10, 0)


def test_lead_time_and_work_inside() -> None:
    """Times 60 120 240 and 100 s: means 140 and 100; in order 60 100 120 240, half of them is the second."""
    shop = Shop()
    one, two = shop.records
    one.lead_times, two.lead_times = [60 * SECOND, 240 * SECOND, 120 * SECOND], [100 * SECOND]
    one.cell["wip_area"], two.cell["wip_area"] = 250 * MINUTE, 350 * MINUTE
    one.wip_highest, two.wip_highest, one.inside, two.inside = 5, 7, 2, 4
    result = shop.figures()
    lead = result["lead_time"]
    half = T1 * 40 / 2
    assert lead["mean_s"] == 120.0
    assert lead["interval_s"] == pytest.approx([120 - half, 120 + half], rel=1e-5)
    assert (lead["p50_s"], lead["p90_s"], lead["p95_s"]) == (100, 240, 240)
    check(result["wip"], 2.5, 3.5)
    assert result["wip"]["max"] == 7
    check(result["wip"]["inside_at_end"], 2, 4)


def test_lead_time_of_nothing() -> None:
    """Nothing left the cell: no lead time."""
    assert Shop().figures()["lead_time"] == {"mean_s": None, "p50_s": None, "p90_s": None, "p95_s": None}


def test_outlets() -> None:
    """Units by outlet: the finished ones, and nothing for stores inside."""
    shop = Shop()
    shop.records[0].stores["entered"][shop.store("finished")] = 90
    outlets = shop.figures()["outlets"]
    assert set(outlets) == {"finished"}
    check(outlets["finished"], 90, 0)


def test_cautions_that_follow_from_the_figures() -> None:
    """A person loaded over 90 % and a station busy over 95 % of its time on shift; below, none."""
    shop = Shop(replications=1)
    (record,) = shop.records
    first, second, fit = shop.machine("press.1"), shop.machine("press.2"), shop.machine("fit")
    pair = shop.actor("op 1"), shop.actor("op 2")

    def said() -> list[str]:
        return [caution for caution in shop.figures()["cautions"] if caution not in shop.flat.cell.cautions]

    record.actors[pair[0]] = record.actors[pair[1]] = person(working=89, free=11)
    record.machines[fit] = machine(attended=89, working=5, starved=6)
    assert said() == []
    record.actors[pair[0]] = person(working=92, free=8)
    assert said() == [
        "op is loaded over 90%: high pace or repetitive work, have an ergonomist assess it (ISO 11228-3)."
    ]
    record.actors[pair[0]] = person(free=100)
    record.machines[fit] = machine(attended=90, working=6, starved=4)
    words = "works over 95% of the time: no reserve, output will fall below plan in part of the shifts."
    assert said() == [f"fit {words}"]
    # with 50 minutes off, 48 of the other 50 are over 95 % too; two presses are judged together
    record.machines[fit] = machine(attended=48, starved=2, off=40, **{"break": 10})
    record.machines[first], record.machines[second] = (
        machine(working=100),
        machine(working=90, handled=2, down=8),
    )
    assert said() == [f"press {words}", f"fit {words}"]


def test_locked_and_broken_replications_are_told() -> None:
    """Which replication, when and why; an audit that failed says which law of which replication."""
    shop = Shop()
    result = shop.figures()
    assert (result["locked"], result["audit"]["passed"], result["audit"]["violations"]) == ([], True, [])
    one, two = shop.records
    one.violations = ["states fill the clock: the states of fit add up to 1 of 2 us"]
    two.reason, two.ended_at, two.circle = "locked", 90 * SECOND, ["fit holds a unit for test"]
    result = shop.figures()
    assert result["locked"] == [
        {"replication": 1, "at_s": 90.0, "circle": ["fit holds a unit for test"], "full": [], "remedy": ""}
    ]
    assert result["audit"]["passed"] is False
    assert result["audit"]["violations"] == [
        "replication 0: states fill the clock: the states of fit add up to 1 of 2 us"
    ]
    assert result["audit"]["laws"] == law_names()


def intervals(part: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """(path, value) of every key of a result that holds an interval."""
    if isinstance(part, dict):
        for key, value in part.items():
            if "interval" in key:
                yield f"{path}.{key}", value
            yield from intervals(value, f"{path}.{key}")
    elif isinstance(part, list):
        for value in part:
            yield from intervals(value, path)


def test_one_replication_has_no_intervals() -> None:
    """A single run says nothing about the spread: every interval is empty.

    But for a chance met always or never, which is one trial: it lies anywhere above 2.5 %, or below 97.5 %.
    """
    result = run(load_text(FLOOR + "target: 20 per h\n"), replications=1)
    found = dict(intervals(result))
    assert len(found) > 30
    for of in ("chance_of_target_in_an_hour", "per_shift.chance_of_target"):
        assert found.pop(f".output_per_hour.{of}.interval") == pytest.approx([0.025, 1.0])
    assert set(map(str, found.values())) == {"[None, None]"}


def test_the_result_has_every_key_and_is_plain_json() -> None:
    """The keys that are promised, all of them; no number is NaN or endless, also where nothing happened."""
    cell = load_text(HOURS + "release: {at: [100 h]}\n")
    empty = figures(compile_cell(cell), make_plan(cell), [Shop(HOURS).records[0]])
    for result in (empty, run(load_text(FLOOR), replications=2), run(cell, replications=2)):
        assert json.loads(as_json(result)) == result
        assert {
            "version",
            "cell",
            "output_per_hour",
            "paper",
            "stations",
            "stores",
            "people",
            "robots",
            "wip",
            "lead_time",
            "quality",
            "losses",
            "waterfall",
            "audit",
            "assumptions",
            "units_per_labour_hour",
            "stops",
            "parts",
            "finished_goods",
            "carriers",
            "energy",
            "attainment",
            "outlets",
            "locked",
            "cautions",
            "study",
            "zones",
            "shared",
        } == set(result) - {"provenance"}
        assert {"mean", "interval", "p05", "p50", "p95", "unit"} <= set(result["output_per_hour"])
        assert {"passed", "laws"} <= set(result["audit"])
        for row in result["stations"].values():
            assert {"shares", "cycles"} <= set(row)
        for row in result["stores"].values():
            assert {"mean", "p95", "max", "capacity"} <= set(row)
        for entry in (result["wip"], *result["stations"].values()):
            assert entry
    assert empty["output_per_hour"]["mean"] == 0.0


def test_where_a_result_comes_from() -> None:
    """Version, seed, replications, clock, horizon in seconds, hash of the resolved description."""
    shop = Shop()
    provenance = figures_of(shop.flat.cell, 7, shop.records, "simpy")["provenance"]
    assert {key: provenance[key] for key in ("seed", "replications", "clock", "horizon_s")} == {
        "seed": 7,
        "replications": 2,
        "clock": "simpy",
        "horizon_s": 6000.0,
    }
    assert len(provenance["sha256"]) == 64
    other = load_text(FLOOR.replace("cycle: 1 min, scrap: 10 %", "cycle: 61 s, scrap: 10 %"))
    assert figures_of(other, 7, shop.records, "simpy")["provenance"]["sha256"] != provenance["sha256"]
    assert provenance["version"]


def test_how_often_which_rate_occurs() -> None:
    """By hand; a value on an edge belongs to the interval that begins there."""
    found = distribution([0, 9.999, 10, 19, 20, 300], "hours")
    assert found is not None
    assert (found["from"], found["width"], found["unit"]) == (0, 20, "hours")
    assert found["counts"] == [4, 1, *[0] * 13, 1]
    assert distribution([], "hours") is None
    assert distribution([7.0], "hours") == {"from": 7, "width": 1, "counts": [1], "unit": "hours"}
    assert distribution([132 - 1e-10], "hours")["from"] == 132  # 110 units in 50 min, rounded


@pytest.mark.parametrize(("most", "width"), [(29, 1), (30, 2), (59, 2), (60, 5), (149, 5), (150, 10)])
def test_the_width_is_the_smallest_round_one(most: int, width: int) -> None:
    """At most thirty intervals: 0 to 29 by ones, to 59 by twos, to 149 by fives."""
    found = distribution([0, most], "hours")
    assert found is not None and found["width"] == width


def test_the_distribution_holds_every_hour_and_shift(hours: dict[str, Any]) -> None:
    """The counts add up to the hours that say something and to the shifts."""
    output = hours["output_per_hour"]
    assert sum(output["distribution"]["counts"]) == output["hours_counted"] == 12
    assert sum(output["per_shift"]["distribution"]["counts"]) == 8
    assert output["per_shift"]["distribution"]["from"] == 76  # 76 to 122 by twos
