"""What repeats in a cell, the intervals made of it, and the series over them: all by hand."""

from __future__ import annotations

import numpy as np
import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.record import Record
from cellsim.study.plan import make_plan
from cellsim.study.rounds import Round, hours_that_repeat, intervals, rounds_of, series, shifts_that_repeat

HOUR = 3_600_000_000
PLAIN = "cell: c\nroute: [S]\nstations: {S: {cycle: 1 min%s}}\n"
EARLY = "early: {from: 06:00, to: 14:00}"


@pytest.mark.parametrize(
    ("station", "more", "hours"),
    [
        ("", "", 1),
        (", batch: {size: 4, at_least: 1, starts_at: 08:00}", "", 24),
        (", service: {oil: {at: [08:00], lasts: 5 min}}", "", 24),
        (", service: {oil: {at: [Mon 08:00], lasts: 5 min}}", "", 168),
        ("", f"shifts: {{{EARLY}}}\n", 168),
    ],
)
def test_the_round_in_hours(station: str, more: str, hours: int) -> None:
    """An hour where nothing has a time, a day or a week where something has."""
    assert hours_that_repeat(load_text(PLAIN % station + more)) == Round(hours)


@pytest.mark.parametrize(
    ("station", "shifts", "rounds"),
    [
        ("", EARLY, Round(1, 1)),
        ("", f"{EARLY}, late: {{from: 14:00, to: 22:00}}", Round(2, 2)),
        # four days with both and Friday with the early one alone
        ("", f"{EARLY}, late: {{from: 14:00, to: 22:00, days: Mon-Thu}}", Round(9, 9)),
        # two shifts that overlap are one span of time and two shifts
        ("", f"{EARLY}, other: {{from: 08:00, to: 15:00}}", Round(2, 1)),
        (", service: {oil: {at: [Mon 08:00], lasts: 5 min}}", EARLY, Round(5, 5)),
    ],
)
def test_the_round_in_shifts(station: str, shifts: str, rounds: Round) -> None:
    """The fewest shifts after which all is as before."""
    cell = load_text(PLAIN % station + f"shifts: {{{shifts}}}\n")
    assert shifts_that_repeat(cell) == rounds_of(cell) == rounds


def test_words_for_the_cell_file() -> None:
    assert [Round(1).words(5), Round(24).words(2), Round(1, 1).words(1), Round(9, 9).words(2)] == [
        "5 h",
        "48 h",
        "1 shift",
        "18 shifts",
    ]


def test_intervals_are_whole_rounds() -> None:
    """Five shifts of two hours in pairs: hours 0 to 3 and 4 to 7, the fifth shift fills none."""
    cell = load_text(PLAIN % "" + "shifts: {day: {from: 06:00, to: 08:00}}\nstudy: {shifts: 5}\n")
    plan = make_plan(cell)
    assert [list(group) for group in intervals(Round(1, 1), plan, 2)] == [[0, 1, 2, 3], [4, 5, 6, 7]]
    whole = make_plan(load_text(PLAIN % "" + "study: {run: 7 h}\n"))
    assert [list(group) for group in intervals(Round(1), whole, 3)] == [[0, 1, 2], [3, 4, 5]]


def test_series_are_per_working_hour_and_over_the_counted_time() -> None:
    """Two shifts of two hours with 30 min of break: 90 min are worked, 120 are counted.

    6 and 12 units in 1.5 h are 4 and 8 an hour; 2 and 4, 6 and 8 units inside are 3 and 7 on average.
    """
    cell = load_text(
        PLAIN % ""
        + "shifts: {day: {from: 06:00, to: 08:00, breaks: [{at: 07:00, for: 30 min}]}}\nstudy: {shifts: 2}\n"
    )
    plan = make_plan(cell)
    record = Record(0, hourly=[4, 2, 9, 3], wip_by_hour=[0] * len(plan.ends))
    for k, units in zip(plan.counted, (2, 4, 6, 8), strict=True):
        record.wip_by_hour[k] = units * HOUR
    found = series(plan, intervals(Round(1, 1), plan), [record])
    assert np.array_equal(found.output, [[4.0, 8.0]])
    assert np.array_equal(found.wip, [[3.0, 7.0]])
