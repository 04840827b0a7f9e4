"""Work in progress and levels by the hour: traced by hand, under both clocks, and a law to break."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from cellsim.describe.resolve import load, load_text
from cellsim.engine.clocks import COMPILED, SIMPY
from cellsim.engine.record import Record
from cellsim.study.audit import levels_add_up
from cellsim.study.figures import figures
from cellsim.study.kept import Kept
from cellsim.study.levels import MOST_HOURS, by_hour
from cellsim.study.plan import make_plan
from cellsim.study.runner import Runner, Wanted
from cellsim.study.worker import Worker

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MINUTE = 60_000_000
HOUR = 60 * MINUTE

# Units come every 40 min, are prepared in 10 min and worked on for 50 min: store `t` and the cell fill up.
#
#   unit   comes   in t from - to   worked on   leaves
#   1        0        10 -  10       10 -  60      60
#   2       40        50 -  60       60 - 110     110
#   3       80        90 - 110      110 - 160     160
#   4      120       130 - 160      160 - 210     210
#   5      160       170 - 210      210 - 260     260
#   6      200       210 - 260      260 - 310
#   7      240 (at the last instant: no time)
#
# Unit-minutes in t by hour: 50-60 = 10; 90-110 = 20; 130-160 and 170-180 = 40; 180-210 and 210-240 = 60.
# Inside: 60 + 20; 50 + 40; 40 + 60 + 20; 30 + 60 + 40 of units (1, 2), (2, 3), (3, 4, 5), (4, 5, 6).
TRACED = """
cell: fills up
release: every 40 min
route: [S, t, U]
stations: {S: {cycle: 10 min}, U: {cycle: 50 min}}
stores: {t: 9}
study: {settle: %s, run: %s}
"""
IN_T, INSIDE = [10, 20, 40, 60], [80, 90, 120, 130]


@pytest.mark.parametrize("clock", [SIMPY, COMPILED])
@pytest.mark.parametrize(("settle", "run"), [("0 s", "4 h"), ("1 h", "3 h"), ("2 h", "2 h")])
def test_every_hour_of_the_run_has_its_unit_minutes(clock: str, settle: str, run: str) -> None:
    """The hand-traced cell, settling included; the law that ties hours to the counted time holds."""
    worker = Worker(load_text(TRACED % (settle, run)), clock)
    record = worker.replicate(1, 0)
    names = worker.flat.names.stores
    assert [area / MINUTE for area in record.wip_by_hour] == INSIDE
    assert [area / MINUTE for area in record.levels_by_hour[names.index("t")]] == IN_T
    assert record.violations == []


def test_hours_between_full_hours_are_cut_where_counting_begins_and_ends() -> None:
    """90 min of settling and 100 min counted: intervals of 60, 30, 60 and 40 min with their unit-minutes."""
    worker = Worker(load_text(TRACED % ("90 min", "100 min")))
    record = worker.replicate(1, 0)
    assert [end // MINUTE for end in worker.plan.ends] == [60, 90, 150, 190]
    assert worker.plan.counted == (2, 3)
    t = record.levels_by_hour[worker.flat.names.stores.index("t")]
    # in t: 50-60; none until 90; 90-110 and 130-150; 150-160 and 170-190
    assert [area / MINUTE for area in t] == [10, 0, 40, 30]
    # inside: 80; 30 + 10; 20 (unit 2) + 60 (3) + 30 (4); 10 (3) + 40 (4) + 30 (5)
    assert [area / MINUTE for area in record.wip_by_hour] == [80, 40, 110, 80]
    rows = figures(worker.flat, worker.plan, [record])["stores"]["t"]["by_hour"]
    assert [(row["hour"], row["mean"], row["length_min"]) for row in rows] == [
        ("hour 1", pytest.approx(40 / 60), 60.0),
        ("hour 2", pytest.approx(30 / 40), 40.0),
    ]


def test_nights_are_cut_into_hours_too() -> None:
    """Two shifts of 90 min on two days: after each counted shift the night goes on by hours from its end."""
    text = (
        "cell: c\nshifts: {day: {from: 06:00, to: 07:30}}\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"
        "study: {settle: 1 shift, shifts: 2}\n"
    )
    plan = make_plan(load_text(text))
    day = 24 * HOUR
    assert plan.ends[:24] == tuple(k * HOUR for k in range(1, 25))
    assert plan.ends[24:28] == (day + HOUR, day + 90 * MINUTE, day + 150 * MINUTE, day + 210 * MINUTE)
    assert plan.ends[-2:] == (2 * day + HOUR, 2 * day + 90 * MINUTE)
    assert [plan.ends[k] for k in plan.counted] == [hour.end for hour in plan.hours]
    assert sorted(set(plan.ends)) == list(plan.ends)


def test_the_mean_by_the_clock_hour_is_over_all_days_and_replications() -> None:
    """Two shifts of two hours; 1, 2 and 3, 5 units in one replication, twice that in the other."""
    text = (
        "cell: c\nshifts: {day: {from: 06:00, to: 08:00}}\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"
        "study: {shifts: 2}\n"
    )
    plan = make_plan(load_text(text))
    series = [0] * len(plan.ends)
    for k, units in zip(plan.counted, (1, 2, 3, 5), strict=True):
        series[k] = units * HOUR
    first, second = by_hour(plan, [series, [2 * area for area in series]])
    assert (first["hour"], second["hour"]) == ("06:00-07:00", "07:00-08:00")
    assert (first["mean"], second["mean"]) == (3.0, 5.25)  # of 2 and 4, of 3.5 and 7
    # half width: t(1, 97.5 %) = 12.7062 times half the difference; nothing is below 0
    assert second["interval"] == [0.0, pytest.approx(5.25 + 12.7062 * 1.75, rel=1e-5)]
    assert (first["unit"], first["length_min"]) == ("units", 60.0)


def test_a_long_run_without_shifts_has_no_day() -> None:
    """One hour more than is shown: no rows."""
    text = "cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\nstudy: {run: %d h}\n"
    for hours, rows in ((MOST_HOURS, MOST_HOURS), (MOST_HOURS + 1, 0)):
        plan = make_plan(load_text(text % hours))
        assert len(by_hour(plan, [[0] * hours])) == rows


def healthy() -> tuple[Worker, Record]:
    """A worker of the traced cell, one hour of settling, and its record."""
    worker = Worker(load_text(TRACED % ("1 h", "3 h")))
    record = worker.replicate(1, 0)
    assert levels_add_up(worker.flat, worker.plan, record) == []
    return worker, record


def test_the_law_of_the_hours_can_be_broken() -> None:
    """A minute too much in an hour, an hour too few, an hour below nothing, more units than places."""
    worker, record = healthy()
    t = worker.flat.names.stores.index("t")
    whole = sum(INSIDE[1:]) * MINUTE

    record.wip_by_hour[2] += 1
    said = f"levels add up: work in progress adds up to {whole + 1} by the hour, to {whole} unit-us in all"
    assert levels_add_up(worker.flat, worker.plan, record) == [said]

    worker, record = healthy()
    record.levels_by_hour[t].pop(0)
    assert levels_add_up(worker.flat, worker.plan, record)[0].startswith("levels add up: t adds up to ")

    for by, number in ((-1, 2), (1, 3)):
        worker, record = healthy()
        moved = 1 + (9 * HOUR if by > 0 else record.levels_by_hour[t][number])
        record.levels_by_hour[t][number] += by * moved
        record.levels_by_hour[t][1] -= by * moved
        found = levels_add_up(worker.flat, worker.plan, record)
        assert found == ["levels add up: t has an hour with more or fewer units than there can be"]


def test_the_law_is_asked_in_every_replication(monkeypatch) -> None:
    """A book that forgets its first hour is found by the run itself."""
    from cellsim.engine.levels import LevelBook

    close = LevelBook.close

    def forgetful(book: LevelBook, run: object, borders: list[int]) -> None:
        close(book, run, borders)  # type: ignore[arg-type]
        if book._closed >= 3:
            book._areas[3] = 0

    monkeypatch.setattr(LevelBook, "close", forgetful)
    record = Worker(load_text(TRACED % ("1 h", "3 h"))).replicate(1, 0)
    assert [text.split(":")[0] for text in record.violations] == ["levels add up"] * len(record.violations)
    assert record.violations


def test_hours_survive_being_written_and_slim_records_have_none(tmp_path) -> None:
    """A kept record equals the one that was run; a slim one carries no hours."""
    cell = load_text(TRACED % ("1 h", "3 h"))
    made = Worker(cell).replicate(1, 0)
    assert Record(**made.as_dict()) == made
    other = replace(made)
    other.wip_by_hour = made.wip_by_hour[:-1]
    assert other != made
    with Runner(clock=SIMPY, workers=1, kept=Kept(tmp_path / "kept")) as runner:
        (first,) = runner.records([Wanted(cell, 1, (0,))])[0]
        (again,) = runner.records([Wanted(cell, 1, (0,))])[0]
        (slim,) = runner.records([Wanted(cell, 1, (0,), slim=True)])[0]
    assert first == again == made
    assert len(slim.wip_by_hour) == len(slim.levels_by_hour) == 0
    assert slim.cell == made.cell


@pytest.mark.parametrize("name", ["spinning_top", "bicycle_bell"])
def test_both_clocks_leave_the_same_hours(name: str) -> None:
    """Whole records of demo cells are equal, hours of the settling time included; none is empty."""
    cell = load(SCENARIOS / f"{name}.yaml")
    first, second = (Worker(cell, clock).replicate(3, 2) for clock in (SIMPY, COMPILED))
    assert first == second
    assert len(first.wip_by_hour) == len(make_plan(cell).ends)
    assert sum(first.wip_by_hour) > 0 and any(sum(row) for row in first.levels_by_hour)
