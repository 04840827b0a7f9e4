"""People by hand: machines tended by one operator, walking, crews of several, skills, repairs.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, exactly, known, minutes, run_text

TENDED = [
    known(
        "trace-two-tended-machines",
        60,
        8,
        {
            "M.1": {"handled": 14, "working": 46},
            "M.2": {"handled": 14, "working": 43, "waiting for operator": 3},
        },
        {"op": {"working": 28, "free": 32}},
        made_on=("M.1", "M.2") * 4,
    ),
    known(
        "trace-three-tended-machines",
        72,
        12,
        {
            "M.1": {"handled": 24, "working": 40, "waiting for operator": 8},
            "M.2": {"handled": 23, "working": 38, "waiting for operator": 11},
            "M.3": {"handled": 23, "working": 33, "waiting for operator": 16},
        },
        {"op": {"working": 70, "free": 2}},
        made_on=("M.1", "M.2", "M.3") * 4,
    ),
    # Machine 3 is loaded once and never unloaded.
    known(
        "trace-tended-in-a-listed-order",
        72,
        13,
        {
            "M1": {"handled": 36, "working": 28, "waiting for operator": 8},
            "M2": {"handled": 33, "working": 27, "waiting for operator": 12},
            "M3": {"handled": 3, "working": 4, "waiting for operator": 65},
        },
        {"op": {"working": 72}},
        made_on=("M1", "M2") * 6,
    ),
    known(
        "trace-two-machines-and-a-walk",
        70,
        8,
        {
            "M1": {"handled": 14, "working": 48, "waiting for operator": 8},
            "M2": {"handled": 14, "working": 43, "waiting for operator": 13},
        },
        {"op": {"working": 28, "travelling": 18, "free": 24}},
        made_on=("M1", "M2") * 4,
    ),
    known(
        "trace-three-machines-and-a-walk",
        72,
        13,
        {
            "M1": {"handled": 17, "working": 45, "waiting for operator": 10},
            "M2": {"handled": 14, "working": 45, "waiting for operator": 13},
            "M3": {"handled": 14, "working": 42, "waiting for operator": 16},
        },
        {"op": {"working": 45, "travelling": 20, "free": 7}},
        made_on=("M1", "M2", "M3") * 4,
    ),
]


@pytest.mark.parametrize("trace", TENDED, ids=lambda trace: trace.name)
def test_tended_machines(trace: Trace) -> None:
    """A machine waits for the operator, walking included; handling costs his time, running does not."""
    check(trace)


def test_operator_and_robot_named_in_opposite_order() -> None:
    """Two stations that both need operator and robot never wait for each other: one task every 10."""
    text = """
cell: both needed
crew: {operator: {}}
robots: {robot: {}}
route: [X]
lines: {y: [Y]}
stations:
  X: {cycle: 10 min, by: [operator, robot]}
  Y: {cycle: 10 min, by: [robot, operator], goes_to: finished}
"""
    traced = run_text(text, 100)
    assert traced.left() == minutes(*range(10, 101, 10))
    assert traced.actors() == {"operator": {"working": exactly(100)}, "robot": {"working": exactly(100)}}
    assert traced.run.stalled_at == -1


def test_work_for_two_is_released_by_who_comes_last() -> None:
    """C calls for both at 1; ann waits for bob from 3 to 5: the path to 7 is what bob did, then C."""
    text = """
cell: pair
crew: {ann: {overtaking: no}, bob: {overtaking: no}}
release: {at: [1 min]}
route: [C]
lines: {one: [A], two: [B]}
stations:
  A: {cycle: 3 min, by: ann}
  B: {cycle: 5 min, by: bob}
  C: {cycle: 2 min, by: [ann, bob]}
"""
    traced = run_text(text, 7)
    assert traced.left() == minutes(7)
    assert traced.path() == {("B", "work"): exactly(5), ("C", "work"): exactly(2)}


def test_a_call_answered_by_one_of_several_is_forgotten_by_the_others() -> None:
    """Either may do a job: A is free at 5, B at 3; the job of 0 goes to B (3-8), that of 4 to A (5-10)."""
    text = """
cell: either
crew: {A: {skills: [either]}, B: {skills: [either]}}
route: [job 2]
release: {at: [4 min]}
lines: {job: [raw 1, job 1], a: [raw a, busy A], b: [raw b, busy B]}
stations:
  job 1: {cycle: 5 min, by: either, priority: 2}
  job 2: {cycle: 5 min, by: either, priority: 2}
  busy A: {cycle: 5 min, by: A}
  busy B: {cycle: 3 min, by: B}
stores:
  raw 1: {places: 1, starts_with: 1}
  raw a: {places: 1, starts_with: 1}
  raw b: {places: 1, starts_with: 1}
"""
    traced = run_text(text, 20)
    assert traced.left("out:job") == minutes(8)
    assert traced.left() == minutes(10)
    assert traced.actors() == {
        "A": {"working": exactly(10), "free": exactly(10)},
        "B": {"working": exactly(8), "free": exactly(12)},
    }


def test_a_slower_person_needs_longer() -> None:
    """A time factor of 1.2 makes 12 of 10: the learner welds 10-22 and 22-34, the trainer works beside."""
    text = """
cell: learners
crew: {learner: {skills: {weld: 1.2}}, trainer: {skills: [weld]}}
route: [other, weld]
stations:
  other: {cycle: 10 min, by: trainer}
  weld: {cycle: 10 min, by: weld}
"""
    traced = run_text(text, 40)
    assert traced.left() == minutes(22, 34)
    assert traced.actors() == {
        "learner": {"working": exactly(30), "free": exactly(10)},
        # done at 10 and 20, then blocked until 22; done at 32, blocked until 34
        "trainer": {"working": exactly(10 + 10 + 10 + 6), "free": exactly(2 + 2)},
    }


def test_the_repairer_walks() -> None:
    """The walk of 2 to the first stop, at 10, is waiting for repair; at the second, at 24, he is there."""
    text = """
cell: walk to the repair
crew: {technician: {starts_at: bench}}
route: [S1]
stations:
  S1:
    cycle: 4 min
    stops:
      halt:
        every: {listed: [10 min, 9 min, 1000 min], of: on time}
        lasts: {listed: [3 min]}
        cleared_by: technician
travel: {bench > S1: 2 min}
"""
    traced = run_text(text, 30)
    assert traced.left() == minutes(4, 8, 17, 21, 28)
    assert traced.states() == {
        "S1": {"working": exactly(22), "waiting for repair": exactly(2), "down": exactly(6)}
    }
    assert traced.actors() == {
        "technician": {"travelling": exactly(2), "repairing": exactly(6), "free": exactly(22)}
    }
