"""What is counted: overlapping shifts, settling, paid hours, lead times, highest levels."""

from __future__ import annotations

import pytest

from cellsim.describe.cell import Shift
from cellsim.describe.resolve import load_text
from cellsim.engine import record as records_module
from cellsim.engine.calendars import WEEK, start_of_run, week_pattern
from cellsim.engine.record import LEAD_TIMES
from cellsim.errors import CellsimError
from cellsim.study.figures import figures
from cellsim.study.plan import make_plan, on_time
from cellsim.study.worker import Worker
from cellsim.units import HOUR

MINUTE = 60_000_000
PLAIN = "cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"
CREW = "cell: c\ncrew: {op: {people: 2%s}}\nroute: [S]\nstations: {S: {cycle: 1 min, by: op}}\n"


def answer(text):
    worker = Worker(load_text(text))
    record = worker.replicate(1, 0)
    return worker.plan, record, figures(worker.flat, worker.plan, [record])


@pytest.mark.parametrize("late", ["{from: 08:00, to: 10:00}", "{from: 06:00, to: 14:00}"])
def test_overlapping_shifts_lose_no_output(late):
    plan, record, result = answer(
        f"{PLAIN}shifts: {{day: {{from: 06:00, to: 14:00}}, other: {late}}}\nstudy: {{shifts: 2}}\n"
    )
    assert sum(record.hourly) == record.cell["good"]
    assert plan.horizon == 8 * HOUR
    assert result["output_per_hour"]["mean"] == 60


@pytest.mark.parametrize("study", ["{settle: 9 h, run: 1 h}"])
def test_no_working_time_is_told_in_words(study):
    with pytest.raises(CellsimError):
        answer(f"{PLAIN}shifts: {{day: {{from: 06:00, to: 14:00}}}}\nstudy: {study}\n")


def test_settling_in_shifts_before_a_run_in_time():
    plan = make_plan(
        load_text(PLAIN + "shifts: {day: {from: 06:00, to: 14:00}}\nstudy: {settle: 2 shifts, run: 8 h}\n")
    )
    assert plan.counted_from > 0


def test_paid_hours_are_those_of_the_shifts_that_were_counted():
    day = answer(CREW % "" + "shifts: {day: {from: 06:00, to: 14:00}}\nstudy: {run: 1 d}\n")[2]
    assert day["units_per_labour_hour"]["mean"] == 30
    early = answer(
        CREW % ", shift: early"
        + "shifts: {early: {from: 06:00, to: 14:00}, late: {from: 14:00, to: 22:00}}\nstudy: {shifts: 1}\n"
    )[2]
    assert early["units_per_labour_hour"]["mean"] == 30
    called = (
        (CREW % "")
        .replace("crew: {", "crew: {technician: {response: 5 min}, ")
        .replace(
            "by: op", "by: op, stops: {jam: {every: 999 h of running, lasts: 1 min, cleared_by: technician}}"
        )
    )
    day = answer(called + "shifts: {day: {from: 06:00, to: 14:00}}\nstudy: {run: 1 d}\n")[2]
    assert day["units_per_labour_hour"]["mean"] == 30  # he is paid in other cells


def test_lead_times_are_bounded_after_each_piece():
    record = answer(PLAIN.replace("1 min", "1 s") + "study: {run: 2 d}\n")[1]
    assert len(record.lead_times) <= LEAD_TIMES


def test_kept_lead_times_are_spread_over_the_whole_run(monkeypatch):
    text = PLAIN.replace("1 min", "61 s") + "release: every 1 min\nstudy: {run: 20 d}\n"
    whole = answer(text)[2]["lead_time"]["mean_s"]
    monkeypatch.setattr(records_module, "LEAD_TIMES", 2000)
    assert answer(text)[2]["lead_time"]["mean_s"] == pytest.approx(whole, rel=0.05)


def test_kept_lead_times_follow_no_pattern_of_the_units(monkeypatch):
    """Units come every second and leave in pairs: one was inside for 1 ms, the other for 1.001 s."""
    text = (
        "cell: c\nrelease: every 1 s\nroute: [M]\nstations: {M: {cycle: 1 ms, batch: {size: 2}}}\n"
        "study: {run: 2 h}\n"
    )
    monkeypatch.setattr(records_module, "LEAD_TIMES", 3000)
    record = answer(text)[1]
    assert 1000 < len(record.lead_times) <= 3000
    short = sum(time == 1000 for time in record.lead_times)
    assert short / len(record.lead_times) == pytest.approx(0.5, abs=0.05)
    assert set(record.lead_times) == {1000, 1_001_000}


def test_a_break_over_monday_midnight_keeps_its_length():
    night = Shift("n", 22 * HOUR, 30 * HOUR, (6,), ((23 * HOUR + 45 * MINUTE, 30 * MINUTE),))
    assert [edge.length for edge in week_pattern((night,), 0).edges if edge.length] == [30 * MINUTE]


def test_highest_levels_are_those_of_the_counted_time():
    text = (
        "cell: c\nrelease: {at: [0 s, 0 s, 0 s, 0 s, 0 s]}\nroute: [S, t, U]\n"
        "stations: {S: {cycle: 1 s}, U: {cycle: 1 min}}\nstores: {t: 9}\nstudy: {settle: 1 h, run: 1 h}\n"
    )
    result = answer(text)[2]
    assert (result["stores"]["t"]["max"], result["wip"]["max"]) == (0, 0)


def test_work_in_progress_is_a_mean_over_the_counted_time():
    """Units inside from 0, 1, 2.5, 4 to 3, 5, 6, 9 min, counted from 1 to 7: 2 + 4 + 3.5 + 3 min in 6 min."""
    result = answer(
        "cell: c\nrelease: {at: [0 s, 1 min, 2.5 min, 4 min]}\nroute: [S]\n"
        "stations: {S: {cycle: {listed: [3 min, 2 min, 1 min, 3 min]}}}\nstudy: {settle: 1 min, run: 6 min}\n"
    )[2]
    assert result["wip"]["mean"] == pytest.approx(12.5 / 6, rel=1e-12)


def test_working_time_adds_up_over_weeks():
    """Five weeks with night shifts over midnight and Sunday: the hours make the whole, each week alike."""
    cell = load_text(
        PLAIN + "shifts: {early: {from: 06:00, to: 14:00, days: Tue-Sat, breaks: [{at: 09:00, for: 30 min}]},"
        " night: {from: 22:00, to: 06:00, start_up: 10 min, days: Sun-Mon}}\n"
    )
    pattern = week_pattern(cell.shifts, start_of_run(cell))
    pieces = [on_time(pattern, at, at + HOUR) for at in range(0, 5 * WEEK, HOUR)]
    assert sum(pieces) == on_time(pattern, 0, 5 * WEEK)
    week = len(pieces) // 5
    assert pieces[week : 2 * week] == pieces[4 * week :]
    assert sum(pieces[week : 2 * week]) == 5 * 450 * MINUTE + 2 * 470 * MINUTE
