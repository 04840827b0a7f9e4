"""Traces of people: tended machines, walking, tasks for two, breaks."""

from __future__ import annotations

from cellsim.published.traces import traced

TENDED = (
    "one person answers calls first come first served, at the same instant the lower machine first; a "
    "machine waits for him, his way included, and needs him only to load and to unload"
)
VISIT = TENDED + "; unloading and the next loading are one visit"
BREAK = "at the instant at which a break begins nothing new starts; what is begun is {}"


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


FROM_M1 = "{serves: [longest waiting, upstream first], starts_at: M1}"


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


MACHINES = [
    traced(
        "trace-two-tended-machines",
        "one person, two machines: load 2, run 10, unload 1 min, called for separately",
        equal_machines(2, 2, 10, 1),
        (13, 16, 26, 29, 39, 42, 52, 55),
        TENDED,
    ),
    # Machine 3 is unloaded at 20 before machine 2 is loaded again: the older call first.
    traced(
        "trace-three-tended-machines",
        "one person, three machines: load 3, run 8, unload 2 min, called for separately: he is the limit",
        equal_machines(3, 3, 8, 2),
        (13, 18, 20, 28, 33, 38, 43, 48, 53, 58, 63, 68),
        TENDED,
    ),
    traced(
        "trace-tended-in-a-listed-order",
        "one person, three machines: load 3, run 4, unload 2 min; the first two are served first, for ever",
        row_of_machines(3, 3, 4, 2, "{serves: listed order, order: [M1, M2, M3]}"),
        (11, 16, 21, 26, 31, 36, 41, 46, 51, 56, 61, 66),
        "a person who serves in a listed order takes the first on the list that calls and interrupts nothing",
    ),
    traced(
        "trace-two-machines-and-a-walk",
        "one person, two machines 2 min apart: load 2, run 10, unload 1 min",
        row_of_machines(2, 2, 10, 1, FROM_M1, walk=2),
        (15, 20, 30, 35, 45, 50, 60, 65),
        VISIT,
    ),
    traced(
        "trace-three-machines-and-a-walk",
        "one person, three machines in a row 1 min apart: load 2, run 9, unload 1 min",
        row_of_machines(3, 2, 9, 1, FROM_M1, walk=1),
        (14, 18, 22, 28, 32, 36, 42, 46, 50, 56, 60, 64),
        VISIT,
    ),
]

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
IN_ORDER = [
    traced(
        f"trace-task-for-two-station-{station}",
        "two people; A needs both for 6 min and 3 min alone, B one for 4 + 1, C 5 + 1, D 6 + 1 min, nobody "
        f"overtakes: {station.upper()}",
        FOUR_STATIONS,
        left,
        "the oldest call waits for all its people and holds none meanwhile; nobody passes it",
        of="" if station == "a" else f"out:{station}",
        run=60,
    )
    for station, left in (
        ("a", (9, 25, 41, 57)),
        ("b", (11, 27, 43, 59)),
        ("c", (12, 28, 44, 60)),
        ("d", (17, 33, 49)),
    )
]


def attended(cycle: int, rule: str) -> str:
    """One station that a person attends, with a break from 30 to 40 min."""
    return f"""
cell: break
shifts: {{day: {{from: 00:00, to: 08:00, breaks: [{{at: 00:30, for: 10 min}}]}}}}
crew: {{op: {{at_break: {rule}}}}}
route: [S1]
stations:
  S1: {{cycle: {cycle} min, by: op}}
"""


TENDED_THROUGH_THE_BREAK = """
cell: tended through the break
shifts: {day: {from: 00:00, to: 08:00, breaks: [{at: 00:27, for: 10 min}]}}
crew: {op: {serves: [longest waiting, upstream first]}}
route: [M]
stations:
  M: {machines: 2, cycle: 10 min, visit: {by: op, load: 2 min, unload: 2 min}, runs_through_breaks: yes}
"""


BREAKS = [
    traced(
        f"trace-break-{rule.replace(' ', '-')}-{length}",
        f"{cycle} min by hand, a break from 30 to 40 min: {what}",
        attended(cycle, rule),
        left,
        BREAK.format(shows),
    )
    for rule, length, cycle, what, left, shows in (
        (
            "suspend",
            "short",
            12,
            "the work stops at 30 and goes on at 40",
            (12, 24, 46, 58, 70, 82),
            "suspended",
        ),
        ("suspend", "long", 25, "the work stops at 30 and goes on at 40", (25, 60, 85, 110), "suspended"),
        (
            "finish element",
            "short",
            12,
            "the unit in hand is finished, the break is over at 40 (only 4 of 10 min are taken)",
            (12, 24, 36, 52, 64, 76),
            "finished, and the break ends on the clock",
        ),
        (
            "finish element",
            "long",
            25,
            "the unit in hand is finished at 50, the break is lost",
            (25, 50, 75, 100),
            "finished, and the break ends on the clock",
        ),
        (
            "full length",
            "short",
            12,
            "the unit in hand is finished, then the break is taken in full",
            (12, 24, 36, 58, 70, 82),
            "finished, and the break is taken in full",
        ),
        (
            "do not start",
            "short",
            12,
            "what would not be done by 30 is not begun",
            (12, 24, 52, 64, 76),
            "finished, and what would reach into the break is not begun",
        ),
    )
]
# Unload to 28 and load to 30 are one visit and are finished; the rest of the break, up to 37, is taken.
BREAKS.append(
    traced(
        "trace-break-of-who-tends-machines",
        "two machines run 10 min, load 2, unload 2 min by one person with a break from 27 to 37 min",
        TENDED_THROUGH_THE_BREAK,
        (14, 18, 28, 39, 43, 53, 57, 67),
        BREAK.format("finished, and machines run on"),
    )
)

ENTRIES = [*MACHINES, *IN_ORDER, *BREAKS]
