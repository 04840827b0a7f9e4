"""People by hand: machines tended by one operator, walking, crews of several, skills, priorities.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

from itertools import permutations

import pytest
from tracing import Trace, check, exactly, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.errors import DescriptionError


def equal_machines(machines: int, load: int, run: int, unload: int) -> str:
    """Equal machines that one operator loads and unloads in separate calls."""
    return f"""
cell: tended machines
crew: {{op: {{serves: [longest waiting, upstream first]}}}}
route: [M]
stations:
  M:
    machines: {machines}
    work:
      - {{do: load, time: {load} min, by: op, phase: load}}
      - {{do: run, time: {run} min}}
      - {{do: unload, time: {unload} min, by: op, phase: unload}}
"""


def row_of_machines(machines: int, load: int, run: int, unload: int, post: str, walk: int = 0) -> str:
    """Machines M1, M2, ... side by side; the unload and the next load are one visit of the operator."""
    names = [f"M{k + 1}" for k in range(machines)]
    stations = "".join(
        f"""
  {name}:
    cycle: {run} min
    visit: {{by: op, load: {load} min, unload: {unload} min}}
    goes_to: finished"""
        for name in names
    )
    lines = ", ".join(f"line {name}: [{name}]" for name in names[1:])
    ways = ", ".join(
        f"{a} > {b}: {walk * (names.index(b) - names.index(a))} min" for a in names for b in names if a < b
    )
    travel = f"travel: {{{ways}}}" if walk else ""
    return f"""
cell: row of machines
crew: {{op: {post}}}
route: [M1]
lines: {{{lines}}}
stations: {stations}
{travel}
"""


FIRST_COME = "{serves: [longest waiting, upstream first]}"
FROM_M1 = "{serves: [longest waiting, upstream first], starts_at: M1}"

TENDED = [
    Trace(
        "two machines, load and unload called for separately",
        equal_machines(2, 2, 10, 1),
        60,
        (13, 16, 26, 29, 39, 42, 52, 55),
        8,
        {
            "M.1": {"handled": 14, "working": 46},
            "M.2": {"handled": 14, "working": 43, "waiting for operator": 3},
        },
        {"op": {"working": 28, "free": 32}},
        made_on=("M.1", "M.2") * 4,
    ),
    # Machine 3 is unloaded at 20 before machine 2 is loaded again: the older call first.
    Trace(
        "three machines, the operator is the limit",
        equal_machines(3, 3, 8, 2),
        72,
        (13, 18, 20, 28, 33, 38, 43, 48, 53, 58, 63, 68),
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
    Trace(
        "three machines in a listed order, one visit",
        row_of_machines(3, 3, 4, 2, "{serves: listed order, order: [M1, M2, M3]}"),
        72,
        (11, 16, 21, 26, 31, 36, 41, 46, 51, 56, 61, 66),
        13,
        {
            "M1": {"handled": 36, "working": 28, "waiting for operator": 8},
            "M2": {"handled": 33, "working": 27, "waiting for operator": 12},
            "M3": {"handled": 3, "working": 4, "waiting for operator": 65},
        },
        {"op": {"working": 72}},
        made_on=("M1", "M2") * 6,
    ),
    Trace(
        "two machines, 2 minutes to walk",
        row_of_machines(2, 2, 10, 1, FROM_M1, walk=2),
        70,
        (15, 20, 30, 35, 45, 50, 60, 65),
        8,
        {
            "M1": {"handled": 14, "working": 48, "waiting for operator": 8},
            "M2": {"handled": 14, "working": 43, "waiting for operator": 13},
        },
        {"op": {"working": 28, "travelling": 18, "free": 24}},
        made_on=("M1", "M2") * 4,
    ),
    Trace(
        "three machines in a row, 1 minute between neighbours",
        row_of_machines(3, 2, 9, 1, FROM_M1, walk=1),
        72,
        (14, 18, 22, 28, 32, 36, 42, 46, 50, 56, 60, 64),
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


FOUR_STATIONS = """
cell: two workers
crew: {worker: {people: 2, overtaking: no, serves: [longest waiting, upstream first]}}
route: [A]
lines: {b: [B], c: [C], d: [D]}
stations:
  A: {work: [{do: by hand, time: 6 min, by: {worker: 2}}, {do: alone, time: 3 min}]}
  B: {work: [{do: by hand, time: 4 min, by: worker}, {do: alone, time: 1 min}]}
  C: {work: [{do: by hand, time: 5 min, by: worker}, {do: alone, time: 1 min}]}
  D: {work: [{do: by hand, time: 6 min, by: worker}, {do: alone, time: 1 min}]}
"""


def test_a_task_for_two_in_strict_order() -> None:
    """The oldest call waits for all its people and holds none meanwhile; without overtaking nobody passes.

    104 of 120 worker minutes are used although calls wait.
    """
    traced = run_text(FOUR_STATIONS, 60)
    assert traced.left() == minutes(9, 25, 41, 57)
    assert traced.left("out:b") == minutes(11, 27, 43, 59)
    assert traced.left("out:c") == minutes(12, 28, 44, 60)
    assert traced.left("out:d") == minutes(17, 33, 49)
    assert traced.states() == {
        "A": {"attended": exactly(24), "working": exactly(12), "waiting for operator": exactly(24)},
        "B": {"attended": exactly(16), "working": exactly(4), "waiting for operator": exactly(40)},
        "C": {"attended": exactly(20), "working": exactly(4), "waiting for operator": exactly(36)},
        "D": {"attended": exactly(20), "working": exactly(3), "waiting for operator": exactly(37)},
    }
    assert sum(row["working"] for row in traced.actors().values()) == exactly(104)


OVERTAKING = """
cell: big call
crew: {operator: {people: 3%s}}
route: [A]
release: {at: [0 min]}
lines:
  b: [raw b, bring b, b, B]
  c: [raw c, bring c, c, C]
stations:
  A: {cycle: 10 min, by: {operator: 2}}
  bring b: {cycle: 1 min}
  B: {cycle: 10 min, by: {operator: 2}}
  bring c: {cycle: 2 min}
  C: {cycle: 20 min, by: operator}
stores:
  raw b: {places: unlimited, starts_with: 1}
  raw c: {places: unlimited, starts_with: 1}
  b: unlimited
  c: unlimited
"""


@pytest.mark.parametrize(("rule", "c_done"), [(", overtaking: no", 30), ("", 22), (", overtaking: yes", 22)])
def test_a_small_call_overtakes_a_big_one_unless_told_otherwise(rule: str, c_done: int) -> None:
    """Three operators; two work until 10, a call for two comes at 1, one for a single operator at 2.

    In strict order both start at 10 (end 20, 30); with overtaking, the default, the small one works 2 to 22.
    """
    traced = run_text(OVERTAKING % rule, 40)
    assert traced.left() == minutes(10)
    assert traced.left("out:b") == minutes(20)
    assert traced.left("out:c") == minutes(c_done)


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


def test_a_job_that_waits_for_a_skill_blocks_nobody() -> None:
    """The welder comes at 50; the assembler's job that stands behind the welding job is done at once."""
    text = """
cell: skills
shifts:
  day: {from: 00:00, to: 08:00}
  later: {from: 00:50, to: 08:00}
crew: {fitter: {skills: [assemble], shift: day}, welder: {skills: [weld], shift: later}}
route: [weld]
release: {at: [0 min]}
lines: {other: [raw, assemble]}
stations:
  weld: {cycle: 10 min, by: weld}
  assemble: {cycle: 10 min, by: assemble}
stores: {raw: {places: 1, starts_with: 1}}
"""
    for overtaking in ("", ", overtaking: no"):
        traced = run_text(text.replace(", shift: day", f", shift: day{overtaking}"), 70)
        assert traced.left("out:other") == minutes(10)
        assert traced.left() == minutes(60)


def _rush(first: str, second: str) -> str:
    names = {"rush": ("line r", 1), "normal": ("line n", 2)}
    lines = ", ".join(f"{names[name][0]}: [raw {name}, {name}]" for name in (first, second))
    stations = "".join(
        f"\n  {name}: {{cycle: 5 min, by: op, priority: {names[name][1]}}}" for name in (first, second)
    )
    return f"""
cell: priorities
crew: {{op: {{}}}}
route: [busy]
release: {{at: [0 min]}}
lines: {{{lines}}}
stations:
  busy: {{cycle: 5 min, by: op}} {stations}
stores:
  raw rush: {{places: 1, starts_with: 1}}
  raw normal: {{places: 1, starts_with: 1}}
"""


@pytest.mark.parametrize("order", list(permutations(["rush", "normal"])), ids=" then ".join)
def test_priority_1_is_the_most_urgent(order: tuple[str, str]) -> None:
    """The operator frees at 5 and serves priority 1 (5-10) before 2 (10-15), however they are declared."""
    text = _rush(*order).replace("busy: {cycle: 5 min, by: op}", "busy: {cycle: 5 min, by: op, priority: 1}")
    traced = run_text(text, 20)
    starts = sorted(traced.left() + traced.left("out:line r") + traced.left("out:line n"))
    assert starts == minutes(5, 10, 15)
    assert traced.left("out:line n") == minutes(15)


def test_a_priority_of_zero_is_refused() -> None:
    """A priority that has no sense is refused: 1 is the first."""
    text = "cell: c\ncrew: {op: {}}\nroute: [S]\nstations:\n  S: {cycle: 5 min, by: op, priority: 0}\n"
    with pytest.raises(DescriptionError) as caught:
        load_text(text)
    assert str(caught.value).startswith("cell.yaml:5:39: stations.S.priority: ")
    assert '"0": at least 1 is wanted' in str(caught.value)


@pytest.mark.parametrize("order", list(permutations([3, 1, 2])), ids=str)
def test_priority_counts_at_time_zero_too(order: tuple[int, int, int]) -> None:
    """Three stations call for one operator at 0; priority decides who starts at 0, 5 and 10, not the file."""
    lines = ", ".join(f"line {p}: [raw {p}, P{p}]" for p in order)
    stations = "".join(f"\n  P{p}: {{cycle: 5 min, by: op, priority: {p}}}" for p in order)
    stores = "".join(f"\n  raw {p}: {{places: 1, starts_with: 1}}" for p in order)
    text = f"""
cell: time zero
crew: {{op: {{}}}}
route: [never]
release: {{at: [1000 min]}}
lines: {{{lines}}}
stations:
  never: {{cycle: 1 min}} {stations}
stores: {stores}
"""
    traced = run_text(text, 20)
    for priority in (1, 2, 3):
        assert traced.said(L.N_STARTS, f"P{priority}") == minutes(5 * (priority - 1))
        assert traced.left(f"out:line {priority}") == minutes(5 * priority)


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


CALLS = """
cell: two calls
crew: {op: {serves: %s}}
route: [busy]
release: {at: [0 min]}
lines:
  a: [raw a, bring a, a, A]
  b: [raw b, bring b, b, B]
stations:
  busy: {cycle: 5 min, by: op}
  bring a: {cycle: 1 min}
  A: {cycle: 5 min, by: op}
  bring b: {cycle: 2 min}
  B: {cycle: 5 min, by: op}
stores:
  raw a: {places: 1, starts_with: 1}
  raw b: {places: 1, starts_with: 1}
  a: 1
  b: 1
"""


@pytest.mark.parametrize(
    ("serves", "first"),
    [
        ("longest waiting", "A"),
        ("downstream first", "B"),
        ("upstream first", "A"),
        ("listed order, order: [A, B]", "A"),
        ("listed order, order: [B, A]", "B"),
        ("[listed order, longest waiting], order: [busy]", "A"),
        ("[listed order, downstream first], order: [busy]", "B"),
    ],
)
def test_which_call_is_served_first(serves: str, first: str) -> None:
    """Two calls wait at 5, A's since 1 and B's, further down, since 2: the serving rule decides."""
    traced = run_text(CALLS % serves, 20)
    assert traced.left() == minutes(5)
    assert traced.said(L.N_STARTS, "A") == minutes(5 if first == "A" else 10)
    assert traced.said(L.N_STARTS, "B") == minutes(5 if first == "B" else 10)
