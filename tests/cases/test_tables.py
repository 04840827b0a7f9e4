"""Indexing tables by hand, and against the theory of lines without stores.

Hand-computed traces are in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.study.replicate import run_replications

DIAL = """
cell: dial
route: [load, press, test, unload]
stations:
  load: {{cycle: 5 min}}
  press: {{cycle: 7 min{stops}}}
  test: {{cycle: 4 min}}
  unload: {{cycle: 3 min}}
tables: {{dial: {{stations: [load, press, test, unload], index: 1 min}}}}
"""
SHORT = """
cell: short
release: {{at: [{times}]}}
route: [load, press, unload]
stations: {{load: {{cycle: 2 min}}, press: {{cycle: 3 min{more}}}, unload: {{cycle: 1 min}}}}
tables: {{dial: {{stations: [load, press, unload], index: 1 min}}}}
"""


def test_all_move_when_the_slowest_is_done():
    """Turns at 5, 13, 21, 29, ...: 1 min, then 7 min of pressing; the first unit is off at 25, then every 8.

    A finished position is blocked, an empty one starved; while the table turns all are handled.
    """
    check(
        Trace(
            "dial",
            DIAL.format(stops=""),
            30,
            (25, 33, 41, 49),
            1,
            {
                "load": {"working": 20, "handled": 4, "blocked": 6},
                "press": {"working": 21, "handled": 4, "starved": 5},
                "test": {"working": 8, "handled": 4, "blocked": 6, "starved": 12},
                "unload": {"working": 3, "handled": 4, "starved": 23},
            },
        )
    )


def test_one_stop_stops_all():
    """The press stops after 10 min of running, at 17 and at 33, for 5 min each.

    Until 22 load (2 min left) and test (1 min left) stand too; turns at 5, 13, 26, 39; out at 30 and 43.
    """
    check(
        Trace(
            "stop",
            DIAL.format(stops=", stops: {jam: {every: 10 min of running, lasts: 5 min, exact: yes}}"),
            40,
            (30, 43),
            1,
            {
                "load": {"working": 20, "handled": 4, "blocked": 16},
                "press": {"working": 21, "handled": 4, "starved": 5, "down": 10},
                "test": {"working": 8, "handled": 4, "blocked": 16, "starved": 12},
                "unload": {"working": 3, "handled": 4, "starved": 33},
            },
        )
    )


@pytest.mark.parametrize(
    ("times", "left"),
    [
        ("0 s, 20 min", (8, 28)),  # alone on the table each time: turns at 2 and 6, at 22 and 26
        ("0 s, 6.5 min", (8, 15)),  # comes while the table turns: loaded 7-9, turns at 9 and 13
        ("0 s, 3 min", (8, 12)),  # loaded 3-5 while the press works until 6: turns at 6 and 10
    ],
)
def test_empty_position_moves_along(times, left):
    """Where no unit is to be had the table does not wait: the position moves along empty."""
    run = run_text(SHORT.format(times=times, more=""), 60)
    assert run.left() == minutes(*left)


def test_scrapped_unit_leaves_its_position_empty():
    """The press throws the first unit out at 6: the table turns with the others, nothing comes off at 8."""
    run = run_text(SHORT.format(times="0 s, 3 min", more=", rejects: {verdicts: [reject, good]}"), 60)
    assert run.left() == minutes(12)
    assert run.run.state.scrapped == 1


def test_table_waits_for_who_loads():
    """Ann loads for 2 min and packs for 4 min, who has waited longest first: the table stands meanwhile.

    She loads 0-2, 3-5, 7-9, packs 9-13, loads 13-15, packs 15-19, loads 19-21, packs from 21 on; the table
    turns at 2, 6, 10, 15 and 21, the last two times when she has loaded and packing has cleared its end.
    """
    text = """
cell: loading
crew: {ann: [load, pack]}
route: [load, press, unload, pack]
stations: {load: {cycle: 2 min}, press: {cycle: 3 min}, unload: {cycle: 1 min}, pack: {cycle: 4 min}}
tables: {dial: {stations: [load, press, unload], index: 1 min}}
"""
    check(
        Trace(
            "loading",
            text,
            22,
            (13, 19, 25),
            2,
            {
                "load": {"attended": 10, "handled": 5, "waiting for operator": 5, "blocked": 2},
                "press": {"starved": 2, "handled": 5, "working": 12, "blocked": 3},
                "unload": {"starved": 6, "handled": 5, "working": 3, "blocked": 8},
                "pack": {"starved": 8, "waiting for operator": 5, "attended": 9},
            },
            {"ann": {"working": 19, "free": 3}},
        )
    )


def test_full_outlet_holds_the_table():
    """The unit on the last position finds the rack full (taken at 3, 23, 43): nothing moves until then.

    Turns at 1, 3, 5, 23 and 43.
    """
    text = """
cell: full
route: [load, unload, rack, pack]
stations: {load: {cycle: 1 min}, unload: {cycle: 1 min}, pack: {cycle: 20 min}}
stores: {rack: 1}
tables: {dial: {stations: [load, unload], index: 1 min}}
"""
    check(
        Trace(
            "full",
            text,
            43,
            (23, 43),
            2,
            {
                "load": {"working": 5, "handled": 4, "blocked": 34},
                "unload": {"starved": 1, "handled": 4, "working": 4, "blocked": 34},
                "pack": {"starved": 3, "working": 40},
            },
        )
    )


def test_availability_of_a_table():
    """Availability 1 / (1 + sum of MTTR / MTTF): one stop stops all, and a standing station does not wear.

    Buzacott 1968, Prediction of the efficiency of production systems without internal storage (from
    memory).  0.1 + 0.1 + 0.1 gives 1 / 1.3.  20 runs of 60 h, fixed seed; 4.5 standard errors of Student's
    t with 19 degrees of freedom: a right program fails with a chance of about 0.0002.
    """
    stop = "{{cycle: 30 s, stops: {{s: {{every: {} min of running, lasts: {} min, law: exponential}}}}}}"
    stops = [stop.format(every, lasts) for every, lasts in ((10, 1), (20, 2), (30, 3))]
    text = f"""
cell: available
route: [a, b, c]
stations: {{a: {stops[0]}, b: {stops[1]}, c: {stops[2]}}}
tables: {{dial: {{stations: [a, b, c], index: 0 s}}}}
study: {{run: 60 h, settle: 1 h}}
"""
    mean, error = _mean([sum(r.hourly) / 60 for r in run_replications(load_text(text), 3, range(20)).records])
    assert abs(mean - 120 / 1.3) < 4.5 * error < 0.04 * mean


def test_ten_position_table_with_jams():
    """Ten positions of 6 s, each unit jams each with 0.5 %, 2 min to clear: 300 an hour, uptime 50 %.

    Of a unit that is faulty at a position (1 %) half jam it, the other half are built in: 0.995 ^ 10 of the
    units are good, 285.3 an hour (after Groover, Automation, Production Systems, chapter on assembly
    machines; from memory).  One operator clears one jam after the other, so that stops add up.  Jams come
    after exponential numbers of cycles of mean 200.  24 runs of 10 h, fixed seed; 4.5 standard errors of
    Student's t with 23 degrees of freedom: fails with a chance of about 0.0002 for each of the two figures.
    """
    jam = "stops: {jam: {every: {law: exponential, mean: 200, of: cycles}, lasts: 2 min, cleared_by: op}}"
    names = [f"p{k}" for k in range(1, 11)]
    stations = "".join(f"  {name}: {{cycle: 6 s, {jam}}}\n" for name in names)
    stations = stations.replace("p10: {", f"p10: {{scrap: {100 * (1 - 0.995**10):.10f} %, ")
    text = f"""
cell: ten positions
crew: {{op: {{}}}}
route: [{", ".join(names)}]
stations:
{stations}
tables: {{dial: {{stations: [{", ".join(names)}], index: 0 s}}}}
study: {{run: 10 h, settle: 10 min}}
"""
    records = run_replications(load_text(text), 11, range(24)).records
    assert not any(record.violations for record in records)
    mean, error = _mean([(sum(r.hourly) + r.cell["scrapped"]) / 10 for r in records])
    assert abs(mean - 300) < 4.5 * error < 20
    good, error = _mean([sum(r.hourly) / (sum(r.hourly) + r.cell["scrapped"]) for r in records])
    assert abs(300 * good - 285.3) < 300 * 4.5 * error + 0.05 < 2


def _mean(values):
    mean = sum(values) / len(values)
    return mean, (sum((v - mean) ** 2 for v in values) / (len(values) - 1) / len(values)) ** 0.5
