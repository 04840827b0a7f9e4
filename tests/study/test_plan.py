"""What a study counts: hours of shifts with their working time and their labels."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cellsim.describe.cell import Study
from cellsim.describe.resolve import load_text
from cellsim.engine.calendars import DAY, WEEK
from cellsim.errors import UsageError
from cellsim.study.plan import LEAST_WORKED, Hour, Plan, clock_text, make_plan, shift_spans
from cellsim.units import HOUR

MINUTE = 60_000_000
PLAIN = "cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"
EARLY = "early: {from: 06:00, to: 14:00, breaks: [{at: 08:30, for: 10 min}, {at: 11:55, for: 20 min}]}"
LATE = "late: {from: 14:00, to: 22:00}"
NIGHT = "night: {from: 22:00, to: 06:00, breaks: [{at: 00:30, for: 15 min}]}"


def plan_of(study: str, *shifts: str) -> Plan:
    """The plan of a cell with these shifts and this study."""
    given = f"shifts: {{{', '.join(shifts)}}}\n" if shifts else ""
    return make_plan(load_text(f"{PLAIN}{given}study: {{{study}}}\n"))


def worked(plan: Plan) -> list[float]:
    """Working minutes of each counted hour."""
    return [hour.worked / MINUTE for hour in plan.hours]


def labels(plan: Plan) -> list[str]:
    """Labels of the counted hours."""
    return [hour.label for hour in plan.hours]


def test_breaks_are_taken_off_the_hours_in_which_they_lie() -> None:
    """A break of 10 min within an hour, one of 20 across 12:00: 5 min here and 15 there."""
    plan = plan_of("shifts: 1", EARLY)
    assert worked(plan) == [60, 60, 50, 60, 60, 55, 45, 60]
    assert labels(plan)[0] == "06:00-07:00" and labels(plan)[-1] == "13:00-14:00"
    assert (plan.counted_from, plan.horizon, plan.shifts) == (0, 8 * HOUR, 1)
    assert plan.worked == 450 * MINUTE


def test_start_up_and_clean_up_are_no_working_time() -> None:
    """15 min at the beginning and 70 at the end of a shift of 4 h: 45, 60, 50 and 0 minutes."""
    plan = plan_of("shifts: 1", "day: {from: 06:00, to: 10:00, start_up: 15 min, clean_up: 70 min}")
    assert worked(plan) == [45, 60, 50, 0]
    assert plan.horizon == 4 * HOUR


def test_a_night_shift_goes_over_midnight() -> None:
    """22:00-06:00: labels are times of day, hours follow each other, the break lies on the next day."""
    plan = plan_of("shifts: 1", NIGHT)
    assert labels(plan) == [
        "22:00-23:00",
        "23:00-00:00",
        "00:00-01:00",
        "01:00-02:00",
        "02:00-03:00",
        "03:00-04:00",
        "04:00-05:00",
        "05:00-06:00",
    ]
    assert worked(plan) == [60, 60, 45, 60, 60, 60, 60, 60]
    assert [hour.start for hour in plan.hours] == [k * HOUR for k in range(8)]


def test_a_shift_that_is_no_whole_number_of_hours_ends_with_a_short_one() -> None:
    """06:30-08:45: two hours and a quarter, each with its own label."""
    plan = plan_of("shifts: 1", "day: {from: 06:30, to: 08:45}")
    assert plan.hours == (
        Hour(0, HOUR, "06:30-07:30", 0, 0, HOUR),
        Hour(HOUR, 2 * HOUR, "07:30-08:30", 1, 0, HOUR),
        Hour(2 * HOUR, 135 * MINUTE, "08:30-08:45", 2, 0, 15 * MINUTE),
    )
    assert LEAST_WORKED == 30 * MINUTE  # so the quarter says nothing about a rate


def test_shifts_are_counted_in_the_order_of_the_week() -> None:
    """Night, late and early told in that order: early of Monday, late, night, early of Tuesday."""
    plan = plan_of("shifts: 4", NIGHT, LATE, EARLY)
    assert [labels(plan)[k] for k in (0, 8, 16, 24)] == [
        "06:00-07:00",
        "14:00-15:00",
        "22:00-23:00",
        "06:00-07:00",
    ]
    assert [hour.number for hour in plan.hours] == [*range(8)] * 4
    assert [hour.shift for hour in plan.hours] == [k for k in range(4) for _ in range(8)]
    assert (plan.horizon, plan.shifts) == (32 * HOUR, 4)
    assert plan.worked == (450 + 480 + 465 + 450) * MINUTE


def test_off_hours_between_shifts_are_not_counted_hours() -> None:
    """Two day shifts of 8 h: 16 hours are counted, over a clock of 32."""
    plan = plan_of("shifts: 2", EARLY)
    assert len(plan.hours) == 16
    assert plan.hours[8].start == DAY
    assert plan.horizon == DAY + 8 * HOUR


def test_nobody_works_at_the_weekend() -> None:
    """The sixth shift of Mon-Fri is on the next Monday, a week after the first."""
    plan = plan_of("shifts: 6", EARLY)
    assert [plan.hours[8 * k].start for k in range(6)] == [0, DAY, 2 * DAY, 3 * DAY, 4 * DAY, WEEK]
    assert worked(plan)[40:] == [60, 60, 50, 60, 60, 55, 45, 60]


def test_the_night_from_sunday_to_monday_goes_round_the_week() -> None:
    """Eight days from Monday 06:00 with a shift on Sunday 22:00: it is on over the end of the week."""
    plan = plan_of(
        "run: 8 d",
        "early: {from: 06:00, to: 14:00, days: Mon}",
        "night: {from: 22:00, to: 07:00, days: Sun}",
    )
    on = [hour.start // HOUR for hour in plan.hours if hour.worked == HOUR]
    sunday = 6 * 24 + 16  # hours from Monday 06:00 to Sunday 22:00
    # the last hour of the night, Monday 06:00-07:00, is also the first of the early shift, this week too
    assert on == [*range(8), *range(sunday, sunday + 8), *range(7 * 24, 7 * 24 + 8)]
    assert labels(plan)[sunday] == "22:00-23:00"
    assert plan.worked == 24 * HOUR


def test_a_run_that_begins_on_sunday_night() -> None:
    """With nothing but a Sunday night the run begins there; the second one is a week later."""
    plan = plan_of("shifts: 2", "night: {from: 22:00, to: 06:00, days: Sun}")
    assert worked(plan) == [60] * 16
    assert [plan.hours[0].start, plan.hours[8].start, plan.horizon] == [0, WEEK, WEEK + 8 * HOUR]
    assert labels(plan)[:3] == ["22:00-23:00", "23:00-00:00", "00:00-01:00"]


def test_two_weeks_have_ten_days_of_work() -> None:
    """A run longer than a week: 10 shifts of 450 min."""
    plan = plan_of("run: 14 d", EARLY)
    assert plan.worked == 10 * 450 * MINUTE
    assert len(plan.hours) == 14 * 24


def test_settling_in_shifts_skips_whole_shifts() -> None:
    """After 2 shifts 3 are counted: from Wednesday on, labels and numbers as if they were the first."""
    plan = plan_of("shifts: 3, settle: 2 shifts", EARLY)
    assert (plan.counted_from, plan.horizon, plan.shifts) == (2 * DAY, 4 * DAY + 8 * HOUR, 3)
    assert [plan.hours[0].number, plan.hours[0].shift, plan.hours[0].label] == [0, 0, "06:00-07:00"]
    assert [plan.hours[-1].number, plan.hours[-1].shift] == [7, 2]


def test_settling_over_the_weekend() -> None:
    """After 5 shifts of Mon-Fri the counted one is the next Monday."""
    plan = plan_of("shifts: 1, settle: 5 shifts", EARLY)
    assert (plan.counted_from, plan.horizon) == (WEEK, WEEK + 8 * HOUR)


def test_settling_in_time_shifts_the_hours() -> None:
    """Settle 90 min, run 2 h 20 min from 06:00: hours from 07:30, the last of 20 min."""
    plan = plan_of("settle: 90 min, run: 140 min", EARLY)
    assert labels(plan) == ["07:30-08:30", "08:30-09:30", "09:30-09:50"]
    assert worked(plan) == [60, 50, 20]
    assert (plan.counted_from, plan.horizon, plan.shifts) == (90 * MINUTE, 230 * MINUTE, 1)


def test_settling_in_time_takes_from_the_first_shift() -> None:
    """One shift of 8 h less an hour and a half of settling: hours from 07:30, the last of half an hour."""
    plan = plan_of("shifts: 1, settle: 90 min", EARLY)
    assert labels(plan)[0] == "07:30-08:30" and labels(plan)[-1] == "13:30-14:00"
    assert worked(plan) == [60, 50, 60, 60, 40, 60, 30]
    assert (plan.counted_from, plan.horizon, plan.shifts) == (90 * MINUTE, 8 * HOUR, 1)


def test_without_shifts_hours_are_numbered_from_where_counting_starts() -> None:
    """No shifts: hour 1, 2, ... all of it working time."""
    plan = plan_of("settle: 30 min, run: 150 min")
    assert plan.hours == (
        Hour(30 * MINUTE, 90 * MINUTE, "hour 1", 0, 0, HOUR),
        Hour(90 * MINUTE, 150 * MINUTE, "hour 2", 1, 0, HOUR),
        Hour(150 * MINUTE, 180 * MINUTE, "hour 3", 2, 0, 30 * MINUTE),
    )
    assert plan.worked == 150 * MINUTE


def test_shifts_cannot_be_counted_where_there_are_none() -> None:
    """A study of shifts of a cell that has none is refused, and told what to write."""
    cell = replace(load_text(PLAIN), study=Study(shifts=1))
    with pytest.raises(
        UsageError, match=r"^study\.shifts counts shifts, but the cell has none; say how long: run: 8 h$"
    ):
        make_plan(cell)


def test_spans_of_shifts() -> None:
    """The first five spans of two shifts, in microseconds of the run, the second week included."""
    given = "shifts: {a: {from: 06:00, to: 14:00, days: Mon-Tue}, b: {from: 23:00, to: 07:00, days: Mon}}\n"
    spans = shift_spans(load_text(PLAIN + given), 5)
    assert [(a / HOUR, b / HOUR) for a, b in spans] == [
        (0, 8),
        (17, 25),
        (24, 32),
        (168, 176),
        (185, 193),
    ]


@pytest.mark.parametrize(
    ("moment", "text"),
    [(0, "00:00"), (6 * HOUR + 5 * MINUTE, "06:05"), (DAY, "00:00"), (3 * DAY - MINUTE, "23:59")],
)
def test_time_of_day(moment: int, text: str) -> None:
    """Hours and minutes of any moment after some midnight."""
    assert clock_text(moment) == text
