"""Grippers, failed picks, speed setting, recovery, shared things, fetching ahead, robots as tools: by hand.

All figures are hand-computed traces, in seconds.
"""

from __future__ import annotations

import math

import pytest
from tracing import SECOND, Traced, exactly, in_units, run_text


def seconds(*amounts: float) -> list[int]:
    """Seconds as microseconds."""
    return [exactly(amount, SECOND) for amount in amounts]


def robot(traced: Traced, name: str = "R"):
    """The row of a robot."""
    return traced.run.state.actors[traced.run.flat.names.actors.index(name)]


TOOL = """
cell: one robot drives the screws of two stations
robots: {R: {serves: downstream first}}
route: [A, B]
stations: {A: {cycle: 4 s, by: R}, B: {cycle: 6 s, by: R}}
"""


def test_a_robot_as_tool_is_busy_for_the_whole_element() -> None:
    """Two stations of 4 and 6 s share the robot: one unit each 10 s, no more, and the robot is never free."""
    traced = run_text(TOOL, 60, SECOND)
    assert traced.left() == seconds(10, 20, 30, 40, 50, 60)
    assert traced.actors() == in_units({"R": {"working": 60}}, SECOND)


GRIPPERS = """
cell: two grippers
robots: {R: {serves: downstream first, grippers: {A: jaw, B: cup}, gripper_change: 4 s}}
route: [A, B]
stations: {A: {cycle: 5 s, by: R}, B: {cycle: 3 s, by: R}}
"""


def test_a_change_of_family_costs_a_change_of_gripper() -> None:
    """A 5, change 4, B 3, change 4: a cycle of 16.  Changes end at 9, 16, 25, 32, 41, 48, 57: 7 in 60 s.

    The first gripper is on from the start.
    """
    traced = run_text(GRIPPERS, 60, SECOND)
    assert traced.left() == seconds(12, 28, 44, 60)
    assert robot(traced).changes == 7
    assert traced.actors() == in_units({"R": {"working": 60}}, SECOND)
    assert traced.states()["B"]["attended"] == exactly(12, SECOND)
    assert traced.states()["B"]["waiting for robot"] == exactly(4 * 4, SECOND)


def test_equal_grippers_need_no_change() -> None:
    """With one gripper for both stations the cycle is 8."""
    traced = run_text(GRIPPERS.replace("B: cup", "B: jaw").replace(", gripper_change: 4 s", ""), 40, SECOND)
    assert traced.left() == seconds(8, 16, 24, 32, 40)
    assert robot(traced).changes == 0


CHANGES_BETWEEN_MACHINES = """
cell: tending with two grippers
robots: {R: {serves: longest waiting, grippers: {A: jaw, B: cup}, gripper_change: 4 s}}
route: [A]
lines: {other: [B]}
stations:
  A: {cycle: 10 s, visit: {by: R, load: 1 s, unload: 1 s}}
  B: {cycle: 10 s, visit: {by: R, load: 1 s, unload: 1 s}}
"""


def test_a_visit_begins_with_the_change() -> None:
    """B, further down, is loaded 0-1; change to 5, A is loaded 5-6.  B calls at 11: change to 15, then to 17.

    A, finished at 16: change to 21, exchange to 23; B calls again at 27: a cycle of 16.
    """
    traced = run_text(CHANGES_BETWEEN_MACHINES, 40, SECOND)
    assert traced.left("out:other") == seconds(16, 32)
    assert traced.left() == seconds(22, 38)
    assert robot(traced).changes == 5
    # 2 loads, 4 exchanges (the last load ends at 39), 5 changes.
    assert traced.actors() == in_units({"R": {"working": 2 + 4 * 2 + 5 * 4, "free": 10}}, SECOND)


MISSES = """
cell: picks that fail
crew: {A: {}}
robots: {R: {mispicks: {share: 99.999999 %%, retry: 1 s, works: %s, retries: %d, then: {by: A, time: 5 s}}}}
route: [place]
stations: {place: {work: [{do: place gears, time: 4 s, by: R, picks: %d}]}}
"""


def test_retries_that_work_take_their_time() -> None:
    """Three picks that all fail and all work at the first retry: 4 + 3 = 7 s a unit, nobody is called."""
    traced = run_text(MISSES % ("100 %", 1, 3), 21, SECOND)
    assert traced.left() == seconds(7, 14, 21)
    assert traced.actors() == in_units({"A": {"free": 21}, "R": {"working": 21}}, SECOND)
    assert (robot(traced).picks, robot(traced).missed) == (12, 12)  # with those of the unit begun at 21


def test_after_the_last_retry_somebody_is_called() -> None:
    """Two retries fail (2 s), A clears for 5 s, the rest takes 4 s: 11 s a unit; the robot stands for 5."""
    traced = run_text(MISSES % ("0 %", 2, 1), 33, SECOND)
    assert traced.left() == seconds(11, 22, 33)
    assert traced.actors() == in_units(
        {"A": {"repairing": 15, "free": 18}, "R": {"working": 18, "down": 15}}, SECOND
    )
    assert traced.states() == in_units({"place": {"attended": 18, "waiting for robot": 15}}, SECOND)


def test_somebody_is_called_when_the_retries_are_over() -> None:
    """Two retries of 1 s fail: A is called at 2, and has cleared for 1 s by 3."""
    traced = run_text(MISSES % ("0 %", 2, 1), 3, SECOND)
    assert traced.actors() == in_units(
        {"A": {"repairing": 1, "free": 2}, "R": {"working": 2, "down": 1}}, SECOND
    )


def test_each_pick_that_fails_calls_anew() -> None:
    """Two picks, each with one retry that fails: 4 + 2 x 1 + 2 x 5 = 16 s a unit."""
    traced = run_text(MISSES % ("0 %", 1, 2), 32, SECOND)
    assert traced.left() == seconds(16, 32)
    assert traced.actors()["R"] == in_units({"R": {"working": 12, "down": 20}}, SECOND)["R"]


def test_without_retries_somebody_is_called_at_once() -> None:
    """No retry: 5 s for A, then 4 s, but for the microsecond after which the robot asks."""
    traced = run_text(MISSES % ("0 %", 0, 1), 18, SECOND)
    assert traced.left() == seconds(9, 18)


GEARS = """
cell: five gears
crew: {A: {}}
robots: {R: {mispicks: {share: 4 per 1000, retry: 2.5 s, works: 80 %, retries: 1, then: {by: A, time: 45 s}}}}
route: [gears]
stations: {gears: {work: [{do: place gears, time: 13.5 s, by: R, picks: 5}]}}
"""


def test_the_mean_time_with_failed_picks() -> None:
    """13.5 + 5 x 0.004 x (2.5 + 0.2 x 45) = 13.73 s.

    The extra time of a pick has mean 0.046 and second moment 0.004 (0.8 x 2.5^2 + 0.2 x 47.5^2) = 1.825 s^2,
    so that of a unit has standard deviation 3.01 s.  Bound 3.9 standard errors: false alarm 1 in 10 000.
    """
    traced = run_text(GEARS, 13.73 * 20_000, SECOND, seed=3)
    count = len(traced.left())
    mean = traced.left()[-1] / count / SECOND
    assert abs(mean - 13.73) < 3.9 * math.sqrt(5 * (1.825 - 0.046**2)) / math.sqrt(count)
    row = robot(traced)
    calls = traced.run.state.stops[row.miss_stop].count
    states = traced.actors()["R"]
    # The share of failed picks, and of those the share that calls, within 3.9 standard errors each.
    assert abs(row.missed / row.picks - 0.004) < 3.9 * math.sqrt(0.004 * 0.996 / row.picks)
    assert abs(calls / row.missed - 0.2) < 3.9 * math.sqrt(0.2 * 0.8 / row.missed)
    assert exactly(45 * (calls - 1), SECOND) <= states["down"] <= exactly(45 * calls, SECOND)


TENDED = """
cell: at half speed
robots: {R: {starts_at: M, speed_setting: %s}}
route: [M]
stations:
  M:
    one_visit: yes
    work:
      - {do: pick, time: 2 s, by: R, at: rack, phase: fetch}
      - {do: load, time: 1 s, by: R, phase: load}
      - {do: run, time: 10 s}
      - {do: unload, time: 1 s, by: R, phase: unload}
      - {do: put down, time: 1 s, by: R, at: out, phase: deliver}
travel: {M > rack: 3 s, M > out: 2 s, out > rack: 4 s}
"""


def test_half_speed_doubles_motion_and_not_process() -> None:
    """Full: way 3, fetch 2, way 3, load 1, run 10, unload 1, way 2, deliver 1: leaves at 23.

    Then way 4, fetch 2, way 3, load 1: the next run ends at 43, and the unit leaves at 47: a cycle of 24.
    Half speed doubles all but the run: first 2 x 13 + 10 = 36, cycle 2 x 14 + 10 = 38.
    """
    assert run_text(TENDED % "100 %", 71, SECOND).left() == seconds(23, 47, 71)
    traced = run_text(TENDED % "50 %", 112, SECOND)
    assert traced.left() == seconds(36, 74, 112)
    assert traced.states()["M"]["working"] == exactly(30, SECOND)


def test_half_speed_leaves_work_elements_alone() -> None:
    """A robot as tool drives its screws no slower at half speed, and moves twice as long."""
    assert run_text(TOOL.replace("serves", "speed_setting: 50 %, serves"), 60, SECOND).left()[-1] == exactly(
        60, SECOND
    )
    text = """
cell: half speed
robots: {R: {moves: [in > M, M > out], pick: 1 s, place: 2 s, speed_setting: 50 %, starts_at: in}}
route: [M]
stations: {M: {cycle: 5 s}}
travel: {in > M: 1 s, M > out: 1.5 s}
"""
    # 2 x (1 + 1 + 2) + 5 + 2 x (1 + 1.5 + 2) = 22.
    assert run_text(text, 22, SECOND).left() == seconds(22)


RECOVERY = """
cell: recovery
crew: {op: {}, tech: {}}
robots:
  R:
    recovery: {time: 2 s, by: op}
    stops:
      drop: {every: {listed: [7 s, 10 s, 1000 s], of: running}, lasts: {listed: [3 s]}, cleared_by: tech}
route: [M]
stations: {M: {cycle: 4 s, by: R}}
"""


def test_a_recovery_follows_each_repair() -> None:
    """Stops after 7 and 17 s of running: down 3 + 2 each, so the second unit ends at 13, the fifth at 30.

    Stops x recovery = lost time: 2 x 2 s of the operator.
    """
    traced = run_text(RECOVERY, 30, SECOND)
    assert traced.left() == seconds(4, 13, 17, 21, 30)
    assert traced.actors() == in_units(
        {
            "R": {"working": 20, "down": 10},
            "tech": {"repairing": 6, "free": 24},
            "op": {"repairing": 4, "free": 26},
        },
        SECOND,
    )


def test_the_recovery_waits_for_who_does_it() -> None:
    """The operator is busy with a unit of 10 s from 0 to 10: the robot, repaired at 10, is reset at once."""
    text = RECOVERY.replace("route: [M]", "route: [M]\nlines: {other: [hand]}").replace(
        "M: {cycle: 4 s, by: R}", "M: {cycle: 4 s, by: R}, hand: {cycle: 6 s, by: op}"
    )
    traced = run_text(text, 15, SECOND)
    # Repaired at 10, the operator's element ends at 12, recovery 12-14, the rest of the unit (1 s) to 15.
    assert traced.left() == seconds(4, 15)
    assert (
        traced.actors()["R"]
        == in_units({"R": {"working": 8, "down": 5, "waiting for repair": 2}}, SECOND)["R"]
    )


FEEDER = """
cell: one feeder for two robots
robots: {R1: {}, R2: {}}
shared: {feeder: %d}
route: [A]
lines: {other: [B]}
stations:
  A: {work: [{do: pick, time: 3 s, by: R1, uses: feeder}, {do: place, time: 2 s, by: R1}], goes_to: finished}
  B: {work: [{do: pick, time: 3 s, by: R2, uses: feeder}, {do: place, time: 2 s, by: R2}], goes_to: finished}
"""


def test_two_robots_get_no_more_than_the_feeder_gives() -> None:
    """One feeder, 3 s a pick: a unit each 3 s from 5 on, though the robots alone would make two in 5 s."""
    traced = run_text(FEEDER % 1, 30, SECOND)
    assert traced.left() == seconds(*range(5, 31, 3))
    assert traced.actors()["feeder"] == in_units({"feeder": {"working": 30}}, SECOND)["feeder"]
    assert traced.states()["A"]["waiting for robot"] + traced.states()["B"]["waiting for robot"] > 0


def test_with_two_feeders_nobody_waits() -> None:
    """Two feeders: both robots make a unit each 5 s."""
    traced = run_text(FEEDER % 2, 20, SECOND)
    assert traced.left() == seconds(5, 5, 10, 10, 15, 15, 20, 20)


def test_a_station_without_anybody_shares_a_camera() -> None:
    """Two unattended stations look at each unit for 2 s with one camera, and work 2 s without it.

    B, further down, 0-2 camera, 2-4 alone; A 2-4 camera, 4-6 alone; B 4-6 ...: each one unit in 4 s.
    """
    text = """
cell: one camera
shared: {camera: 1}
route: [A]
lines: {other: [B]}
stations:
  A: {work: [{do: look, time: 2 s, uses: camera}, {do: mark, time: 2 s}]}
  B: {work: [{do: look, time: 2 s, uses: camera}, {do: mark, time: 2 s}]}
"""
    traced = run_text(text, 16, SECOND)
    assert traced.left("out:other") == seconds(4, 8, 12, 16)
    assert traced.left() == seconds(6, 10, 14)
    expected = {"A": {"waiting for robot": 2, "working": 14}, "B": {"working": 16}}
    assert traced.states() == in_units(expected, SECOND)


WINDERS = """
cell: three winders
robots: {R1: {gripper: double, serves: longest waiting, fetches_ahead: %s}}
route: [wind]
stations:
  wind:
    machines: 3
    cycle: 72 s
    visit: {by: R1, fetch: 5.5 s, unload: 3 s, load: 3.5 s, deliver: 4 s, return: 1 s}
"""


@pytest.mark.parametrize(("ahead", "interval"), [("yes", 72 + 6.5), ("no", 72 + 5.5 + 6.5)])
def test_fetching_ahead_leaves_the_exchange_only(ahead: str, interval: float) -> None:
    """With the next unit in the gripper a machine stands for unload and load only: 72 + 6.5 s, else + 5.5 s.

    Three winders: one unit per 26.17 s, 137.6 an hour gross, against 28 s.  The robot needs 17 s a unit.
    """
    traced = run_text(WINDERS % ahead, 2000, SECOND)
    left = traced.left()
    gaps = {after - before for before, after in zip(left[6:], left[9:], strict=False)}
    assert gaps == {exactly(interval, SECOND)}


def test_fetching_ahead_step_by_step() -> None:
    """One machine of 10 s: fetch 2, load 1: runs 3-13.  The next is fetched 3-5; unload 13-14, load 14-15.

    It runs again 15-25 while the first is delivered to 16, and the third is fetched 16-18: a cycle of 12.
    """
    text = """
cell: ahead
robots: {R: {gripper: double, fetches_ahead: yes}}
route: [M]
stations: {M: {cycle: 10 s, visit: {by: R, fetch: 2 s, unload: 1 s, load: 1 s, deliver: 1 s}}}
"""
    traced = run_text(text, 40, SECOND)
    assert traced.left() == seconds(16, 28, 40)
    expected = {"M": {"waiting for robot, empty": 2, "handled": 1 + 3 * 2, "working": 31}}
    assert traced.states() == in_units(expected, SECOND)
    # 3 to load, 2 fetched; then unload, load, deliver, fetch: 5 of each 12; at 40 the third delivery ends.
    assert traced.actors() == in_units({"R": {"working": 3 + 2 + 5 + 5 + 3, "free": 22}}, SECOND)


def test_a_shared_thing_slows_nobody_down() -> None:
    """P, practised in welding (time factor 0.5), takes 2 s for an element of 4 s, torch or no torch."""
    text = """
cell: shared torch
crew: {P: {skills: {weld: 0.5}}}
shared: {torch: 1}
route: [A]
stations: {A: {work: [{do: weld, time: 4 s, by: weld, uses: torch}, {do: look, time: 1 s, by: P}]}}
"""
    traced = run_text(text, 9, SECOND)
    assert traced.left() == seconds(3, 6, 9)
    assert traced.states()["A"] == in_units({"A": {"attended": 9}}, SECOND)["A"]
