"""Robots by hand: machine tending with single and double gripper, travel, one robot beside one operator.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, exactly, minutes, run_text

POINTS = {
    "double": {"IN": 0, "M1": 3, "M2": 5, "M3": 7, "OUT": 10},
    "single": {"IN": 0, "M1": 2, "M2": 4, "OUT": 6},
}


def travel(points: dict[str, int]) -> str:
    """Travel times between points on a line, one minute per unit of distance."""
    names = list(points)
    ways = [f"{a} > {b}: {points[b] - points[a]} min" for k, a in enumerate(names) for b in names[k + 1 :]]
    return "{" + ", ".join(ways) + "}"


def tended(run: list[int], gripper: str) -> str:
    """Machines side by side that a robot feeds from IN and empties to OUT, pick and place 1 minute each."""
    stations = "".join(
        f"""
  M{k + 1}:
    goes_to: finished
    one_visit: yes
    work:
      - {{do: pick, time: 1 min, by: R, at: IN, phase: fetch}}
      - {{do: place, time: 1 min, by: R, phase: load}}
      - {{do: run, time: {time} min}}
      - {{do: take off, time: 1 min, by: R, phase: unload}}
      - {{do: put down, time: 1 min, by: R, at: OUT, phase: deliver}}"""
        for k, time in enumerate(run)
    )
    lines = ", ".join(f"line {k + 1}: [M{k + 1}]" for k in range(1, len(run)))
    return f"""
cell: tended by a robot
robots: {{R: {{gripper: {gripper}, serves: [longest waiting, upstream first], starts_at: IN}}}}
route: [M1]
lines: {{{lines}}}
stations: {stations}
travel: {travel(POINTS[gripper])}
"""


BESIDE_AN_OPERATOR = """
cell: operator and robot
crew: {op: {serves: [longest waiting, upstream first]}}
robots: {R: {serves: [longest waiting, upstream first], starts_at: home}}
route: [M]
stations:
  M:
    machines: 2
    work:
      - {do: load, time: 3 min, by: op}
      - {do: run, time: 7 min}
      - {do: unload, time: 1 min, by: R, phase: unload}
      - {do: go home, time: 0 min, by: R, at: home, phase: return}
travel: {home > M: 2 min}
"""

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
travel: {travel(POINTS["single"])}
"""

TRACES = [
    # A unit takes the robot 24: 10 back to IN, 1 pick, 10 out in all, 2 at the machine, 1 place.
    Trace(
        "double gripper, three machines, the robot is the limit",
        tended([30, 30, 30], "double"),
        180,
        (56, 80, 104, 128, 152, 176, 200, 224, 248, 272),
        6,
        {
            "M1": {"waiting for robot, empty": 4, "handled": 5, "working": 90, "waiting for robot": 81},
            "M2": {"waiting for robot, empty": 14, "handled": 5, "working": 90, "waiting for robot": 71},
            "M3": {"waiting for robot, empty": 28, "handled": 5, "working": 68, "waiting for robot": 79},
        },
        {"R": {"working": 30, "travelling": 144, "free": 6}},
        made_on=("M1", "M2", "M3", "M1", "M2", "M3", "M1", "M2", "M3", "M1"),
    ),
    Trace(
        "single gripper, two machines",
        tended([20, 26], "single"),
        150,
        (32, 48, 70, 92, 112, 136, 156, 180),
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
    Trace(
        "loaded by an operator, unloaded by a robot",
        BESIDE_AN_OPERATOR,
        80,
        (13, 18, 26, 31, 39, 44, 52, 57, 65),
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
    assert traced.left() == minutes(34, 74, 114, 154, 194, 234, 274, 314)


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
