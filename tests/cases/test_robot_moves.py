"""Robots that move units from place to place: fixed sequences, targets that are not checked, locks."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from tracing import SECOND, Trace, check, exactly, in_units, known, run_text

from cellsim.cli import main
from cellsim.engine.record import standstill
from cellsim.published.traces_robots import on_a_line

# Cycle times as in Sethi, Sriskandarajah, Sorger, Blazewicz & Kubiak 1992, Int. J. of Flexible Manufacturing
# Systems 4 (formulas from memory, confirmed by the traces): pick or place e = 1, neighbours d = 2 apart.
# An empty M1 waits for the robot, since raw units are always there; M2 is starved until M1 has finished.
FIXED = [
    # 6 e + 6 d + a + b = 40; M1 finishes the first unit at 14, its pick, way and place begin M2 at 18.
    known(
        "trace-robot-follows-the-part",
        120,
        3,
        {
            "M1": {"handled": 6, "working": 30, "waiting for robot, empty": 84},
            "M2": {"handled": 6, "working": 36, "starved": 69, "waiting for robot, empty": 9},
        },
        {"R": {"working": 18, "travelling": 36, "free": 66}},
    ),
    # max(6 e + 8 d, 4 e + 4 d + b) = 24.  From 31 on M2 is empty for 10 of 24, 5 of them before M1 finishes.
    known(
        "trace-robot-unloads-the-second-first",
        120,
        4,
        {
            "M1": {"handled": 10, "working": 50, "waiting for robot": 8, "waiting for robot, empty": 52},
            "M2": {"handled": 9, "working": 54, "starved": 34, "waiting for robot, empty": 23},
        },
        {"R": {"working": 29, "travelling": 29 + 44, "free": 18}},
    ),
    # The robot is the limit: 6 e + 8 d = 22.  M2 is empty for 10 of 22, 1 of them before M1 finishes.
    known(
        "trace-robot-is-the-limit",
        120,
        5,
        {
            "M1": {"handled": 12, "working": 24, "waiting for robot": 30, "waiting for robot, empty": 54},
            "M2": {
                "handled": 10,
                "working": 25,
                "waiting for robot": 25,
                "starved": 13,
                "waiting for robot, empty": 47,
            },
        },
        {"R": {"working": 33, "travelling": 33 + 50, "free": 4}},
    ),
]


@pytest.mark.parametrize("trace", FIXED, ids=lambda trace: trace.name)
def test_a_fixed_sequence(trace: Trace) -> None:
    """The robot goes to the place of its next move, waits for the unit, picks, travels, places."""
    check(trace)


def exercise(moves: str, more: str = "serves: fixed sequence", rest: str = "") -> str:
    """Input, M1, M2, output in a row, 1.5 s apart; pick or place 2 s, M1 14 s, M2 10 s."""
    return f"""
cell: exercise
robots: {{R1: {{moves: [{moves}], pick: 2 s, place: 2 s, starts_at: in, {more}}}}}
route: [M1, M2]
stations: {{M1: {{cycle: 14 s}}, M2: {{cycle: 10 s}}}}
travel: {on_a_line({"in": 0, "M1": 1.5, "M2": 3, "out": 4.5}, "s")}
{rest}
"""


@pytest.mark.parametrize(
    ("moves", "cycle"),
    [("in > M1, M1 > M2, M2 > out", 45), ("in > M1, M2 > out, M1 > M2", 28)],
)
def test_the_order_of_the_moves_decides(moves: str, cycle: int) -> None:
    """Follow the part: 6 e + 6 d + a + b = 12 + 9 + 24 = 45 s; unload M2 first: 4 e + 4 d + ... = 28 s.

    Cycles by the formulas of the two-machine cell above with d = 1.5, e = 2; the first unit leaves after
    pick, way, place, 14, pick, way, place, 10, pick, way, place = 40.5 s in both.
    """
    traced = run_text(exercise(moves), 40.5 + 9 * cycle, SECOND)
    assert traced.left() == [exactly(40.5 + k * cycle, SECOND) for k in range(10)]


def test_a_robot_that_is_called_goes_only_then() -> None:
    """Without a sequence the last of the route is served first, and the ways begin with the calls: 31 s.

    M2 starts at s.  The robot fetches a unit for M1 (3, 2, 1.5, 2): M1 runs from s + 8.5 to s + 22.5.
    M2 calls at s + 10: way, pick, way, place to s + 17.  M1 calls at s + 22.5: way 3, pick ... to s + 31.
    """
    traced = run_text(exercise("in > M1, M1 > M2, M2 > out", "serves: downstream first"), 1000, SECOND)
    gaps = {after - before for before, after in zip(traced.left()[5:], traced.left()[6:], strict=False)}
    assert gaps == {exactly(31, SECOND)}
    assert "held" not in traced.actors()["R1"]


UNCHECKED = "checks_target: no, serves: longest waiting"
ROUND = "in > M1, M1 > M2, M2 > out"


def test_a_robot_that_does_not_check_its_target_locks_the_cell() -> None:
    """It takes the next raw unit while M1 works on the first: at 5.5 + 14 = 19.5 s each waits for the other.

    It has been back at M1 since 5.5 + 1.5 + 2 + 1.5 = 10.5 s.
    """
    traced = run_text(exercise(ROUND, UNCHECKED), 60, SECOND)
    assert traced.run.stalled_at == exactly(19.5, SECOND)
    assert standstill(traced.run.state, traced.run.flat.names) == [
        "M1 has finished and waits for R1",
        "R1 holds a unit for M1",
    ]
    assert traced.actors()["R1"]["held"] == exactly(60 - 10.5, SECOND)


def test_the_circle_may_lie_further_down() -> None:
    """The second of two raw units is taken to M2 while M2 works on the first: M2 and the robot wait.

    M2 takes 30 s here: from 25 (5.5, 14, 5.5) to 55.  The second unit comes at 26: to M1 by 26 + 3 + 2 + 1.5
    + 2 = 34.5, finished at 48.5, before M2 by 52, where the robot waits for ever.
    """
    text = exercise(ROUND, UNCHECKED, "release: {at: [0 s, 26 s]}").replace("cycle: 10 s", "cycle: 30 s")
    traced = run_text(text, 120, SECOND)
    assert traced.run.stalled_at == exactly(55, SECOND)
    assert set(standstill(traced.run.state, traced.run.flat.names)) == {
        "M2 has finished and waits for R1",
        "R1 holds a unit for M2",
    }
    assert traced.actors()["R1"]["held"] == exactly(120 - 52, SECOND)


def test_the_command_ends_with_the_exit_code_of_a_lock(tmp_path) -> None:
    """`run` names the robot and the machine in the circle and ends with exit code 3."""
    file = tmp_path / "row.yaml"
    file.write_text(exercise(ROUND, UNCHECKED, "study: {run: 10 min, replications: 1}"))
    done = CliRunner().invoke(main, ["run", str(file), "--quiet", "--out", str(tmp_path / "out")])
    assert done.exit_code == 3
    assert "M1 has finished and waits for R1; R1 holds a unit for M1" in done.output


def test_a_second_robot_frees_the_target() -> None:
    """R1 waits at M2 with the next unit; R2 unloads M2, and nobody locks up.

    R1 takes each unit as it is ready: M2 (10 s) is emptied at 12 + 1 by R2, and R1 places at once.
    """
    text = """
cell: two robots
robots:
  R1: {moves: [M1 > M2], pick: 1 s, place: 1 s, checks_target: no}
  R2: {moves: [M2 > out], pick: 1 s, place: 1 s}
route: [M1, M2]
stations: {M1: {cycle: 4 s}, M2: {cycle: 10 s}}
"""
    traced = run_text(text, 66, SECOND)
    # M1 ends at 4, R1 picks and places by 6, M2 ends at 16, R2 picks by 17, R1 places by 18; cycle 12.
    assert traced.left() == [exactly(18 + 12 * k, SECOND) for k in range(5)]
    assert traced.run.stalled_at == -1
    # R1 stands at M2 from 10 (M1 ends at 9, pick to 10) to 17, then from 19 + 12 k to 29 + 12 k, four times.
    assert traced.actors()["R1"]["held"] == exactly(7 + 4 * 10, SECOND)


BEFORE_A_TRAY = """
cell: before a tray
robots: {{R: {{moves: [in > M1, M1 > tray], pick: 1 s, place: 1 s, checks_target: {checks}}}}}
route: [M1, tray, S2]
stations: {{M1: {{cycle: 2 s}}, S2: {{cycle: 30 s}}}}
stores: {{tray: 1}}
release: {{at: [0 s, 10 s, 20 s]}}
"""


def test_a_robot_holds_its_unit_before_a_full_tray() -> None:
    """Unchecked: S2 works from 6 to 36, the tray is full from 16: the robot stands from 25 to 36."""
    traced = run_text(BEFORE_A_TRAY.format(checks="no"), 40, SECOND)
    expected = {"R": {"working": 12, "held": 11, "free": 17}}
    assert traced.actors() == in_units(expected, SECOND)
    assert (
        traced.states()["M1"]
        == in_units(
            {"M1": {"working": 6, "handled": 6, "starved": 25, "waiting for robot, empty": 3}}, SECOND
        )["M1"]
    )


def test_a_robot_that_checks_never_stands_with_a_unit() -> None:
    """Checked (default): unit 3 stays on M1, which is blocked from 24 to 36; the robot is free for others."""
    traced = run_text(BEFORE_A_TRAY.format(checks="yes"), 40, SECOND)
    assert traced.actors() == in_units({"R": {"working": 12, "free": 28}}, SECOND)
    assert traced.states()["M1"]["blocked"] == exactly(12, SECOND)


def test_a_move_from_an_empty_place_is_left_out() -> None:
    """Raw units at 0 and 20 s: with nothing to take anywhere the robot stands where it is, and goes on then.

    First unit: 1, 1, 4 at M1, 1, 1: leaves at 8.  The second comes at 20 and leaves at 28.
    """
    text = """
cell: now and then
robots: {R: {moves: [M1 > out, in > M1], pick: 1 s, place: 1 s, serves: fixed sequence}}
route: [M1]
stations: {M1: {cycle: 4 s}}
release: {at: [0 s, 20 s]}
"""
    traced = run_text(text, 30, SECOND)
    assert traced.left() == [exactly(8, SECOND), exactly(28, SECOND)]
    assert traced.actors() == in_units({"R": {"working": 8, "free": 22}}, SECOND)


def test_a_unit_on_a_stopped_machine_is_not_on_its_way() -> None:
    """The busy robot works at B.1 from 5 to 13; A is finished at 7 and is down from 10 to 12.

    First unit: A to 3, pick to 4, place to 5.  B.2 waits for the robot from 7 to 10 and from 12 to 13; while
    A is down nothing can be brought to it, so it is starved, as it is before 7.
    """
    check(
        Trace(
            "stopped while its unit waits for the robot",
            """
cell: stopped
robots: {R: {moves: [A > B], pick: 1 min, place: 1 min}}
route: [A, B]
stations:
  A: {cycle: 3 min, stops: {jam: {every: 10 min of on time, lasts: 2 min, exact: yes}}}
  B: {machines: 2, cycle: 8 min, by: R}
""",
            13,
            (13,),
            1,
            {
                "A": {"working": 6, "handled": 1, "waiting for robot": 4, "down": 2},
                "B.1": {"starved": 3, "waiting for robot, empty": 1, "handled": 1, "attended": 8},
                "B.2": {"starved": 9, "waiting for robot, empty": 4},
            },
            {"R": {"working": 10, "free": 3}},
        )
    )
