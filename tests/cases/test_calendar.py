"""Shifts and breaks by hand: who stops when, what becomes of the work in hand, who comes back.

All figures are hand-computed traces, in minutes; a run begins with the first shift, here at midnight.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, exactly, known, minutes, run_text

from cellsim.engine import layout as L
from cellsim.published.traces_people import attended


def alone(more: str = "") -> str:
    """One station that works alone, a break from 30 to 40."""
    return f"""
cell: break
shifts: {{day: {{from: 00:00, to: 08:00, breaks: [{{at: 00:30, for: 10 min}}]}}}}
route: [S1]
stations:
  S1: {{cycle: 12 min{more}}}
"""


BREAKS = [
    known(
        "trace-break-suspend-short",
        70,
        5,
        {"S1": {"attended": 60, "break": 10}},
        {"op": {"working": 60, "break": 10}},
    ),
    # only 4 of the 10 minutes are taken
    known(
        "trace-break-finish-element-short",
        70,
        5,
        {"S1": {"attended": 66, "break": 4}},
        {"op": {"working": 66, "break": 4}},
    ),
    # the break begins at 36 and is taken in full; from 40 on only the operator is away
    known(
        "trace-break-full-length-short",
        70,
        5,
        {"S1": {"attended": 60, "break": 4, "waiting for operator": 6}},
        {"op": {"working": 60, "break": 10}},
    ),
    # what begins at 24 would end at 36, so nothing begins before the break
    known(
        "trace-break-do-not-start-short",
        70,
        4,
        {"S1": {"attended": 54, "waiting for operator": 6, "break": 10}},
        {"op": {"working": 54, "free": 6, "break": 10}},
    ),
    # 15 + 15 ends at the very beginning of the break and may start
    Trace(
        "do not start, cycle 15",
        attended(15, "do not start"),
        70,
        (15, 30, 55, 70),
        4,
        {"S1": {"attended": 60, "break": 10}},
        {"op": {"working": 60, "break": 10}},
    ),
    known(
        "trace-break-suspend-long",
        90,
        3,
        {"S1": {"attended": 80, "break": 10}},
        {"op": {"working": 80, "break": 10}},
    ),
    # the element ends at 50, after the end of the break: the break is lost
    known("trace-break-finish-element-long", 90, 3, {"S1": {"attended": 90}}, {"op": {"working": 90}}),
    known(
        "trace-break-of-who-tends-machines",
        70,
        8,
        {
            "M.1": {"handled": 19, "working": 50, "waiting for operator": 1},
            "M.2": {"handled": 18, "working": 41, "waiting for operator": 11},
        },
        {"op": {"working": 37, "free": 26, "break": 7}},
        made_on=("M.1", "M.2") * 4,
    ),
    # what runs when the break begins is finished, nothing begins in the break
    Trace(
        "a machine alone stands still in breaks",
        alone(),
        60,
        (12, 24, 36, 52, 64),
        4,
        {"S1": {"working": 56, "break": 4}},
    ),
    Trace(
        "a machine alone runs through breaks where told",
        alone(", runs_through_breaks: yes"),
        60,
        (12, 24, 36, 48, 60),
        5,
        {"S1": {"working": 60}},
    ),
]


@pytest.mark.parametrize("trace", BREAKS, ids=lambda trace: trace.name)
def test_breaks(trace: Trace) -> None:
    """At the instant at which a break begins nothing new starts; the rule says what becomes of the rest."""
    check(trace)


# A unit needs 4 on S1 alone, then 3 and 4 on S2 by hand.  At 20, the end of the shift, S2 is 2 minutes into
# the first element of the third unit, the fourth waits in the tray, S1 is 2 minutes into the fifth.
def closing(rule: str) -> str:
    """A line of two whose shift ends at 20 and begins again a day later."""
    return f"""
cell: end of shift
shifts: {{day: {{from: 00:00, to: 00:20, days: daily, at_end: {rule}}}}}
crew: {{op: {{}}}}
route: [S1, tray, S2]
stations:
  S1: {{cycle: 4 min}}
  S2: {{work: [{{do: fit, time: 3 min, by: op}}, {{do: close, time: 4 min, by: op}}]}}
stores: {{tray: 1}}
"""


DAY = 1440
ENDS = [
    # the first element is finished at 21; the fifth unit is done at 22 and hangs
    Trace(
        "finish element",
        closing("finish element"),
        DAY + 11,
        (11, 18, DAY + 4, DAY + 11),
        4,
        {
            "S1": {"working": 24, "blocked": 9, "off": 1418},
            "S2": {"starved": 4, "attended": 28, "off": 1419},
        },
        {"op": {"free": 4, "working": 28, "off": 1419}},
    ),
    # the third unit is finished at 25
    Trace(
        "finish unit",
        closing("finish unit"),
        DAY + 7,
        (11, 18, 25, DAY + 7),
        4,
        {
            "S1": {"working": 24, "blocked": 5, "off": 1418},
            "S2": {"starved": 4, "attended": 28, "off": 1415},
        },
        {"op": {"free": 4, "working": 28, "off": 1415}},
    ),
    # all that is inside is finished by 39 and nothing new begins; next morning the cell starts empty
    Trace(
        "run out",
        closing("run out"),
        DAY + 11,
        (11, 18, 25, 32, 39, DAY + 11),
        6,
        {
            "S1": {"working": 31, "blocked": 5, "starved": 14, "off": 1401},
            "S2": {"starved": 8, "attended": 42, "off": 1401},
        },
        {"op": {"free": 8, "working": 42, "off": 1401}},
    ),
    # everything stops at 20 and goes on next morning where it stood
    Trace(
        "stop",
        closing("stop"),
        DAY + 12,
        (11, 18, DAY + 5, DAY + 12),
        4,
        {
            "S1": {"working": 24, "blocked": 8, "off": 1420},
            "S2": {"starved": 4, "attended": 28, "off": 1420},
        },
        {"op": {"free": 4, "working": 28, "off": 1420}},
    ),
    # work from 5 to 25; what begins at 21 is finished at 29
    Trace(
        "start up and clean up",
        """
cell: start up
shifts: {day: {from: 00:00, to: 00:30, start_up: 5 min, clean_up: 5 min}}
route: [S1]
stations:
  S1: {cycle: 8 min}
""",
        60,
        (13, 21, 29),
        3,
        {"S1": {"working": 24, "off": 36}},
    ),
]


# A and B make parts for C, four and six minutes each.  At 20 the fifth A is done, the fourth B in work: it is
# joined to the fourth A from 24 to 27.  No B is left for the fifth A, so nothing moves any more at 27.
JOIN = """
cell: a part is left over
shifts: {day: {from: 00:00, to: 00:20, days: daily, at_end: run out}}
crew: {op: {}}
route: [A, box a, C]
lines: {b: [B, box b]}
stations:
  A: {cycle: 4 min}
  B: {cycle: 6 min}
  C: {cycle: 3 min, by: op, takes: {box a: 1, box b: 1}}
stores: {box a: 2, box b: 2}
"""
# The unit that would begin at 12 ends at 24, after the end of the shift.
CAREFUL = """
cell: nobody leaves before the cell is empty
shifts: {day: {from: 00:00, to: 00:20, days: daily, at_end: run out}}
crew: {op: {at_break: do not start}}
route: [S1]
stations:
  S1: {cycle: 12 min, by: op}
"""
# The full break from 15 on begins when the second unit is done, at 18, and ends at 22, after the shift.
AWAY = """
cell: somebody is still to come back
shifts: {day: {from: 00:00, to: 00:20, days: daily, breaks: [{at: 00:15, for: 4 min}], at_end: run out}}
crew: {op: {at_break: full length}}
route: [stock, S1]
stations:
  S1: {cycle: 9 min, by: op}
stores: {stock: {places: 3, starts_with: 3}}
"""
RELIEF = """
cell: one shift after the other
shifts:
  early: {from: 00:00, to: 00:20, days: daily, at_end: run out}
  late: {from: 00:20, to: 00:40, days: daily, at_end: run out}
crew: {op 1: {skills: [fit], shift: early}, op 2: {skills: [fit], shift: late}}
route: [S1]
stations:
  S1: {cycle: 8 min, by: fit}
"""
ENDS += [
    Trace(
        "run out, with a part left over",
        JOIN,
        DAY + 9,
        (9, 15, 21, 27, DAY + 9),
        5,
        {
            "A": {"working": 29, "starved": 7, "off": 1413},
            "B": {"working": 33, "starved": 3, "off": 1413},
            "C": {"starved": 21, "attended": 15, "off": 1413},
        },
        {"op": {"free": 21, "working": 15, "off": 1413}},
    ),
    Trace(
        "run out, by who starts nothing that he cannot finish",
        CAREFUL,
        DAY + 12,
        (12, 24, DAY + 12),
        3,
        {"S1": {"attended": 36, "off": 1416}},
        {"op": {"working": 36, "off": 1416}},
    ),
    # one unit is left: the cell waits for whoever comes back at 22
    Trace(
        "run out, after a late break",
        AWAY,
        40,
        (9, 18, 31),
        3,
        {"S1": {"attended": 27, "break": 1, "waiting for operator": 3, "off": 9}},
        {"op": {"working": 27, "break": 4, "off": 9}},
    ),
    # op 1 finishes his element at 24 and goes; the cell runs out at 40
    Trace(
        "run out, while the next shift works on",
        RELIEF,
        45,
        (8, 16, 24, 32, 40),
        5,
        {"S1": {"attended": 40, "off": 5}},
        {"op 1": {"working": 24, "off": 21}, "op 2": {"off": 25, "free": 4, "working": 16}},
    ),
]


@pytest.mark.parametrize("trace", ENDS, ids=lambda trace: trace.name)
def test_end_of_shift(trace: Trace) -> None:
    """At the end of a shift the rule decides what is finished; the next shift begins with the rest."""
    check(trace)


def test_nobody_on_duty_and_then_somebody() -> None:
    """An operator on duty 5-10 and from 15 does three waiting tasks of 5: nobody there only means waiting."""
    text = """
cell: gaps
shifts:
  cell: {from: 00:00, to: 08:00}
  first: {from: 00:05, to: 00:10}
  second: {from: 00:15, to: 08:00}
crew: {op: {shift: [first, second]}}
route: [stock, S]
stations:
  S: {cycle: 5 min, by: op}
stores: {stock: {places: 3, starts_with: 3}}
"""
    traced = run_text(text, 30)
    assert traced.left() == minutes(10, 20, 25)
    assert traced.actors() == {"op": {"off": exactly(10), "working": exactly(15), "free": exactly(5)}}
    assert traced.states() == {
        "S": {"waiting for operator": exactly(10), "attended": exactly(15), "starved": exactly(5)}
    }


FEWER = """
cell: fewer hands
shifts:
  day: {from: 00:00, to: 08:00}
  short: {from: 00:00, to: 00:04}
crew:
  op 1: {skills: [fit], shift: day}
  op 2: {skills: [fit], shift: short}
route: [stock, S]
stations:
  S: {machines: 3, cycle: 6 min, by: fit}
stores: {stock: {places: 3, starts_with: 3}}
"""


def test_fewer_hands_while_all_are_busy() -> None:
    """Two of three jobs of 6 are in hand when one person leaves at 4: both are finished, then the third."""
    traced = run_text(FEWER, 20)
    assert traced.left() == minutes(6, 6, 12)
    assert traced.actors() == {
        "op 1": {"working": exactly(12), "free": exactly(8)},
        "op 2": {"working": exactly(6), "off": exactly(14)},
    }
    instants = [at for at, _, _, _ in traced.run.notes]
    assert instants == sorted(instants)
    assert traced.said(L.N_STARTS, "S.3") == minutes(6)
    assert (traced.run.state.wip_highest, traced.run.state.wip) == (3, 0)
