"""Traces of robots: a fixed sequence of moves, machine tending on call, a robot beside a person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cellsim.published.traces import traced

SEQUENCE = (
    "the robot goes to the place of its next move, waits there for the unit, picks, travels and places; the "
    "cycle times are those of Sethi, Sriskandarajah, Sorger, Blazewicz and Kubiak (1992), Int. J. of "
    "Flexible Manufacturing Systems 4 (formulas from memory)"
)
CALLED = "the robot answers calls first come first served and stays where its last visit ended"

SINGLE = {"IN": 0, "M1": 2, "M2": 4, "OUT": 6}
DOUBLE = {"IN": 0, "M1": 3, "M2": 5, "M3": 7, "OUT": 10}


def on_a_line(points: Mapping[str, float], unit: str = "min") -> str:
    """Travel times between points on a line, one unit of time per unit of distance."""
    names = list(points)
    ways = [f"{a} > {b}: {points[b] - points[a]} {unit}" for k, a in enumerate(names) for b in names[k + 1 :]]
    return "{" + ", ".join(ways) + "}"


def two_in_a_row(first: int, second: int, moves: str) -> str:
    """Two machines in series that one robot serves in a fixed sequence, times in minutes."""
    return f"""
cell: two machines in a row
robots: {{R: {{moves: [{moves}], pick: 1 min, place: 1 min, serves: fixed sequence, starts_at: IN}}}}
route: [M1, M2]
stations: {{M1: {{cycle: {first} min}}, M2: {{cycle: {second} min}}}}
travel: {on_a_line(SINGLE)}
"""


ROBOT = "a robot, pick or place 1 min, 2 min between neighbours, feeds"
FOLLOW, UNLOAD_FIRST = "IN > M1, M1 > M2, M2 > OUT", "IN > M1, M2 > OUT, M1 > M2"
FIXED = [
    # 6 e + 6 d + a + b = 40; M1 finishes the first unit at 14, its pick, way and place begin M2 at 18.
    traced(
        "trace-robot-follows-the-part",
        f"{ROBOT} two machines of 10 and 12 min in a row one unit at a time: one unit per 40 min",
        two_in_a_row(10, 12, FOLLOW),
        (34, 74, 114, 154, 194, 234, 274, 314),
        SEQUENCE,
    ),
    # max(6 e + 8 d, 4 e + 4 d + b) = 24
    traced(
        "trace-robot-unloads-the-second-first",
        f"{ROBOT} two machines of 10 and 12 min in a row, the second is emptied first: one unit per 24 min",
        two_in_a_row(10, 12, UNLOAD_FIRST),
        (34, 58, 82, 106, 130, 154, 178, 202),
        SEQUENCE,
    ),
    # 6 e + 8 d = 22
    traced(
        "trace-robot-is-the-limit",
        f"{ROBOT} two machines of 4 and 5 min in a row, the second is emptied first: one unit per 22 min",
        two_in_a_row(4, 5, UNLOAD_FIRST),
        (26, 48, 70, 92, 114, 136, 158, 180),
        SEQUENCE,
    ),
]


def tended(run: Sequence[int], gripper: str, points: Mapping[str, float]) -> str:
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
travel: {on_a_line(points)}
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
ON_CALL = [
    # A unit takes the robot 24: 10 back to IN, 1 pick, 10 out in all, 2 at the machine, 1 place.
    traced(
        "trace-double-gripper",
        "a robot with a double gripper tends three machines of 30 min: it takes 24 min a unit, the limit",
        tended([30, 30, 30], "double", DOUBLE),
        (56, 80, 104, 128, 152, 176, 200, 224, 248, 272),
        CALLED,
    ),
    traced(
        "trace-single-gripper",
        "a robot with a single gripper tends two machines of 20 and 26 min, 2 min between neighbours",
        tended([20, 26], "single", SINGLE),
        (32, 48, 70, 92, 112, 136, 156, 180),
        CALLED,
    ),
    traced(
        "trace-person-loads-robot-unloads",
        "two machines of 7 min, loaded in 3 min by a person, unloaded in 1 min by a robot 2 min away",
        BESIDE_AN_OPERATOR,
        (13, 18, 26, 31, 39, 44, 52, 57, 65),
        CALLED,
    ),
]

ENTRIES = [*FIXED, *ON_CALL]
