"""Robots by hand: machine tending with single and double gripper, travel, one robot beside one operator.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import PUBLISHED, Trace, check, exactly, known, listed, minutes, run_text

from cellsim.published.traces_robots import SINGLE, on_a_line

# One card: the next unit is released when the one inside has been put down.
ONE_AT_A_TIME = f"""
cell: one unit through two machines
robots: {{R: {{starts_at: IN}}}}
route: [M1, at M2, M2]
release: cards 1
stations:
  M1:
    work:
      - {{do: pick, time: 1 min, by: R, at: IN, phase: fetch}}
      - {{do: place, time: 1 min, by: R, phase: load}}
      - {{do: run, time: 10 min}}
      - {{do: take off, time: 1 min, by: R, phase: unload}}
      - {{do: carry, time: 0 min, by: R, at: M2, phase: deliver}}
  M2:
    work:
      - {{do: place, time: 1 min, by: R, phase: load}}
      - {{do: run, time: 12 min}}
      - {{do: take off, time: 1 min, by: R, phase: unload}}
      - {{do: put down, time: 1 min, by: R, at: OUT, phase: deliver}}
stores: {{at M2: 1}}
travel: {on_a_line(SINGLE)}
"""

TRACES = [
    known(
        "trace-double-gripper",
        180,
        6,
        {
            "M1": {"waiting for robot, empty": 4, "handled": 5, "working": 90, "waiting for robot": 81},
            "M2": {"waiting for robot, empty": 14, "handled": 5, "working": 90, "waiting for robot": 71},
            "M3": {"waiting for robot, empty": 28, "handled": 5, "working": 68, "waiting for robot": 79},
        },
        {"R": {"working": 30, "travelling": 144, "free": 6}},
        made_on=("M1", "M2", "M3", "M1", "M2", "M3", "M1", "M2", "M3", "M1"),
    ),
    known(
        "trace-single-gripper",
        150,
        6,
        {
            "M1": {"handled": 7, "working": 80, "waiting for robot": 18, "waiting for robot, empty": 45},
            "M2": {"handled": 7, "working": 80, "waiting for robot": 10, "waiting for robot, empty": 53},
        },
        {"R": {"working": 28, "travelling": 94, "free": 28}},
        made_on=("M1", "M2") * 4,
    ),
    # The tray is full from 23 on and again from 32 on: the robot stays away until S2 takes the unit in it.
    Trace(
        "no place, no visit",
        """
cell: robot before a slow station
robots: {R: {}}
route: [M, tray, S2]
stations:
  M: {cycle: 4 min, visit: {by: R, load: 1 min, unload: 1 min}}
  S2: {cycle: 10 min}
stores: {tray: 1}
""",
        36,
        (16, 26, 36, 46),
        3,
        {"M": {"handled": 9, "working": 20, "blocked": 7}, "S2": {"starved": 6, "working": 30}},
        {"R": {"working": 9, "free": 27}},
    ),
    # Loaded by the operator in 3, unloaded by the robot in 1, travel 2 there and 2 home.
    known(
        "trace-person-loads-robot-unloads",
        80,
        11,
        {
            "M.1": {"attended": 20, "working": 42, "waiting for robot": 12, "handled": 6},
            "M.2": {
                "waiting for operator": 3,
                "attended": 18,
                "working": 42,
                "waiting for robot": 12,
                "handled": 5,
            },
        },
        {"op": {"working": 38, "free": 42}, "R": {"travelling": 44, "working": 11, "free": 25}},
        made_on=("M.1", "M.2", "M.1", "M.2", "M.1", "M.2", "M.1", "M.2", "M.1"),
    ),
]


@pytest.mark.parametrize("trace", TRACES, ids=lambda trace: trace.name)
def test_robots(trace: Trace) -> None:
    """A robot goes only where it is called, handles, and stays where its visit ends."""
    check(trace)


def test_one_unit_at_a_time_through_two_machines() -> None:
    """With one unit inside, every move and both processes follow each other: a cycle of 40.

    Steady cycle 6 e + 6 d + a + b with pick or place e = 1, neighbours d = 2 apart, a = 10, b = 12 (Sethi,
    Sriskandarajah, Sorger, Blazewicz & Kubiak 1992, Int. J. of Flexible Manufacturing Systems 4; formula from
    memory).  A machine without a unit is starved or waits for the robot; both are taken together here.
    """
    traced = run_text(ONE_AT_A_TIME, 120)
    for machine, working, empty in (("M1", 30, 84), ("M2", 36, 78)):
        row = traced.states()[machine]
        assert row.pop("starved", 0) + row.pop("waiting for robot, empty", 0) == exactly(empty)
        assert row == {"handled": exactly(6), "working": exactly(working)}
    assert traced.actors() == {"R": {"working": exactly(18), "travelling": exactly(36), "free": exactly(66)}}
    traced.advance(exactly(320))
    assert traced.left() == listed(PUBLISHED["trace-robot-follows-the-part"])


def test_a_robot_that_stops_keeps_what_it_holds() -> None:
    """A robot that stops at 7, one minute into an unload of two, finishes it after the repair, at 11."""
    text = """
cell: robot stops
robots: {R: {stops: {drop: {every: {listed: [7 min, 1000 min], of: on time}, lasts: {listed: [3 min]}}}}}
route: [M]
stations:
  M: {cycle: 4 min, visit: {by: R, load: 2 min, unload: 2 min}}
"""
    traced = run_text(text, 19)
    assert traced.left() == minutes(11, 19)
    assert traced.states()["M"]["working"] == exactly(8)
    assert traced.actors() == {"R": {"working": exactly(8), "down": exactly(3), "free": exactly(8)}}
