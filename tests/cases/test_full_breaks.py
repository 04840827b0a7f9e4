"""Breaks of full length by hand: counted from leaving, owed only to whoever is there when they begin.

One station by hand, all figures in minutes; a run begins with the first shift, here at midnight.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check


def in_shifts(cycle: int, shifts: str) -> str:
    """One attended station whose operator takes every break in full."""
    return f"""
cell: full breaks
shifts: {{{shifts}}}
crew: {{op: {{at_break: full length}}}}
route: [S1]
stations:
  S1: {{cycle: {cycle} min, by: op}}
"""


FULL = [
    # The break is from 30 to 40; the element begun at 25 ends at 50: away from 50 to 60, then 85 and 110.
    Trace(
        "the element ends after the break",
        in_shifts(25, "day: {from: 00:00, to: 08:00, breaks: [{at: 00:30, for: 10 min}]}"),
        120,
        (25, 50, 85, 110),
        4,
        {"S1": {"attended": 110, "waiting for operator": 10}},
        {"op": {"working": 110, "break": 10}},
    ),
    # The element begun at 56 ends at 63.  The late shift begins with a break, from 120 to 130: nobody was
    # there to leave, so nothing is owed after the first element, from 130 to 137.
    Trace(
        "the shift begins with a break",
        in_shifts(
            7,
            "early: {from: 00:00, to: 01:00},"
            " late: {from: 02:00, to: 04:00, breaks: [{at: 02:00, for: 10 min}]}",
        ),
        150,
        (7, 14, 21, 28, 35, 42, 49, 56, 63, 137, 144, 151),
        11,
        {"S1": {"attended": 63 + 20, "off": 57, "break": 10}},
        {"op": {"working": 63 + 20, "off": 57, "break": 10}},
    ),
    # The same, but at 60 he leaves the element begun at 56; 3 min of it are left, from 130 to 133.
    Trace(
        "the shift begins with a break, an element is left over",
        in_shifts(
            7,
            "early: {from: 00:00, to: 01:00, at_end: stop},"
            " late: {from: 02:00, to: 04:00, breaks: [{at: 02:00, for: 10 min}]}",
        ),
        150,
        (7, 14, 21, 28, 35, 42, 49, 56, 133, 140, 147, 154),
        11,
        {"S1": {"attended": 60 + 20, "off": 60, "break": 10}},
        {"op": {"working": 60 + 20, "off": 60, "break": 10}},
    ),
    # Away from 36, in full until 46; the second break (45 to 50) follows in full, until 51.
    Trace(
        "the next break begins during the first",
        in_shifts(
            12,
            "day: {from: 00:00, to: 08:00, breaks: [{at: 00:30, for: 10 min}, {at: 00:45, for: 5 min}]}",
        ),
        80,
        (12, 24, 36, 63, 75),
        5,
        {"S1": {"attended": 65, "break": 4 + 5, "waiting for operator": 5 + 1}},
        {"op": {"working": 65, "break": 15}},
    ),
    # The element ends at 50, after the shift (45): he goes home, and the late shift finds him there at 55.
    Trace(
        "the element ends after the shift",
        in_shifts(
            25,
            "early: {from: 00:00, to: 00:45, breaks: [{at: 00:30, for: 10 min}]},"
            " late: {from: 00:55, to: 04:00}",
        ),
        90,
        (25, 50, 80),
        3,
        {"S1": {"attended": 85, "off": 5}},
        {"op": {"working": 85, "off": 5}},
    ),
    # Away from 36; the shift ends at 41 and with it the break, so that he is there again at 45.
    Trace(
        "the shift ends during the break",
        in_shifts(
            12,
            "early: {from: 00:00, to: 00:41, breaks: [{at: 00:30, for: 10 min}]},"
            " late: {from: 00:45, to: 04:00}",
        ),
        90,
        (12, 24, 36, 57, 69, 81),
        6,
        {"S1": {"attended": 81, "break": 4, "waiting for operator": 1, "off": 4}},
        {"op": {"working": 81, "break": 5, "off": 4}},
    ),
]


@pytest.mark.parametrize("trace", FULL, ids=lambda trace: trace.name)
def test_full_breaks(trace: Trace) -> None:
    """A full break is as long as stated from leaving on, and is taken once; going home ends it."""
    check(trace)
