"""The warm-up period: a line whose start and long run are known, cells that never settle, remarks."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import COMPILED, SIMPY
from cellsim.errors import LockedCell, NotSettled, UsageError
from cellsim.study.plan import make_plan
from cellsim.study.rounds import Round, Series
from cellsim.study.runner import Runner
from cellsim.study.settled import settling_remarks, unsettled
from cellsim.study.settling import Look, study_of_settling
from cellsim.study.warmup import truncate
from cellsim.study.worker import Worker
from cellsim.theory.saturated import line_figures
from cellsim.units import HOUR

LINE = """
cell: five stations in a row
route: [A, b1, B, b2, C, b3, D, b4, E]
stations:
  A: {cycle: {law: exponential, mean: 1 min}}
  B: {cycle: {law: exponential, mean: 1 min}}
  C: {cycle: {law: exponential, mean: 1 min}}
  D: {cycle: {law: exponential, mean: 1 min}}
  E: {cycle: {law: exponential, mean: 1 min}}
stores: {b1: 5, b2: 5, b3: 5, b4: 5}
"""
EXACT = (
    47.602044  # good units an hour: stationary distribution of the Markov chain of this line, solved apart
)

PLAIN = "cell: c\n%sroute: [S, t, U]\nstations: {S: {cycle: %s}, U: {cycle: %s}}\nstores: {t: %s}\n"


def study(cell: Cell, replications: int = 5, clock: str = SIMPY, **more: Any) -> dict[str, Any]:
    with Runner(clock=clock, workers=1) as runner:
        return study_of_settling(cell, 1, replications, runner, **more)


@pytest.fixture(scope="module")
def line() -> dict[str, Any]:
    """Two hundred runs of a hundred hours."""
    return study(load_text(LINE), 200, COMPILED)


def test_the_exact_rate_a_second_way() -> None:
    """The same chain as the theory room builds and solves it."""
    assert 60 * line_figures([1.0] * 5, [5] * 4).rate == pytest.approx(EXACT, abs=1e-6)


def test_the_long_run_of_the_line(line: dict[str, Any]) -> None:
    """Rate and work in progress lie within 4 standard errors of the exact ones: false alarm 1 in 8000."""
    exact = {"output": EXACT, "wip": line_figures([1.0] * 5, [5] * 4).wip}
    for name, value in exact.items():
        entry = line["long_run"][name]
        error = (entry["interval"][1] - entry["mean"]) / 1.972  # Student's t, 199 degrees of freedom
        assert abs(entry["mean"] - value) < 4 * error
        assert error < 0.005 * value


def test_the_start_of_the_line(line: dict[str, Any]) -> None:
    """First and second hour from empty: 38.673 and 47.293, of 1000 runs elsewhere (standard error 0.142).

    Two hundred runs have 0.32 of their own: within 4 of both together, false alarm 1 in 8000 each.
    """
    within = 4 * np.hypot(0.142388, 0.142388 * np.sqrt(5))
    hours = line["series"]["output"]["mean"]
    assert abs(hours[0] - 38.673) < within
    assert abs(hours[1] - 47.293) < within
    (first,) = line["first"]
    assert first["what"] == "hour"
    assert first["mean"] == pytest.approx(hours[0])
    assert first["difference"]["interval"][1] < -7
    assert first["difference_share"] == pytest.approx((hours[0] - EXACT) / EXACT, abs=0.01)


def test_what_the_line_leaves_out(line: dict[str, Any]) -> None:
    """A group of five hours holds all of the start that can be told; the run is ten times as long."""
    assert line["settles"] and line["ten_times"]
    assert line["drop"]["intervals"] in (5, 10)
    assert line["drop"]["amount"] == f"{line['drop']['intervals']} h"
    assert line["line"] == f"settle: {line['drop']['amount']}"
    assert line["drop"]["by_rule"] == max(row["dropped"] for row in line["series"].values())
    assert line["count_at_least"] == f"{10 * line['drop']['intervals']} h"
    cell = load_text(LINE + line["study"])
    assert cell.study.settle == line["drop"]["intervals"] * HOUR


def test_a_line_without_luck_by_hand() -> None:
    """Two stations of a minute: 59 units in the first hour, then 60 an hour.

    Unit k leaves S at minute k and U at k + 1; the exit at minute 60 counts for the first hour.
    The rule drops the first five hours, the only group that differs; 1 unit less than in the long run.
    """
    for clock in (SIMPY, COMPILED):
        found = study(load_text(PLAIN % ("", "1 min", "1 min", "1")), clock=clock)
        assert found["series"]["output"]["mean"] == [59.0] + [60.0] * 99
        assert (found["drop"]["intervals"], found["line"]) == (5, "settle: 5 h")
        assert found["long_run"]["output"]["interval"] == [60.0, 60.0]
        assert found["first"][0]["difference"]["mean"] == -1.0
        assert found["whole_run"]["output"] == pytest.approx(59.99)
        # the first 59 minutes hold one unit in S and, after the first minute, one in U
        assert found["series"]["wip"]["mean"][:2] == [pytest.approx(119 / 60), 2.0]


def test_a_cell_that_is_full_at_once_need_not_settle() -> None:
    """One station with a fixed time: every hour is like the first."""
    found = study(load_text("cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"))
    assert (found["drop"]["intervals"], found["line"], found["count_at_least"]) == (0, "settle: 0 s", "")
    assert found["ten_times"] and found["drop"]["by_rule"] == 0


def test_shifts_are_looked_at_as_a_whole() -> None:
    """Early and late shift: a round is both; first hour and first shift are told; the file gets shifts."""
    text = (
        "cell: c\nshifts: {early: {from: 06:00, to: 08:00}, late: {from: 14:00, to: 16:00}}\n"
        "route: [S, U]\nstations: {S: {cycle: 1 min}, U: {cycle: 1 min}}\n"
    )
    found = study(load_text(text))
    assert found["run"] == {
        "length": "120 shifts",
        "working_h": 240.0,
        "intervals": 60,
        "interval": "2 shifts",
        "replications": 5,
    }
    assert [row["what"] for row in found["first"]] == ["hour", "shift"]
    assert (found["drop"]["amount"], found["line"]) == ("10 shifts", "settle: 10 shifts")
    assert load_text(text + found["study"]).study.settle_shifts == 10


def test_slow_cells_are_looked_at_over_more_hours() -> None:
    """A unit every 70 min: five need 350 min, and 6 h is the shortest interval that divides a day."""
    found = study(load_text(PLAIN % ("", "70 min", "70 min", "1")))
    assert found["run"]["interval"] == "6 h"
    assert found["run"]["length"] == "600 h"


# Cells that never settle


def test_more_comes_than_the_cell_can_do() -> None:
    """72 an hour for a station that does 60: refused after the first run, with name and load."""
    found = study(load_text(PLAIN % ("release: every 50 s\n", "40 s", "60 s", "unlimited")))
    assert not found["settles"]
    assert found["reason"] == (
        "raw units come faster than the cell can work: U would be loaded 120 % by 72 an hour, and what waits "
        "grows without end"
    )
    assert found["run"]["length"] == "100 h"
    assert "drop" not in found and "long_run" not in found


def test_a_store_that_grows_for_ever() -> None:
    """A first station that is faster and a store without limit: the run is doubled three times, then refused.

    65 are made and 60 taken an hour: after t hours some 5.45 t wait, 545 x 2 and 545 x 6 at the middle of the
    halves of 800 hours.
    """
    found = study(load_text(PLAIN % ("", "55 s", "60 s", "unlimited")), 2, COMPILED)
    assert not found["settles"]
    assert found["run"]["length"] == "800 h"
    assert found["reason"].startswith("work in progress keeps growing: on average 109")
    assert found["reason"].endswith(" in the first half of 800 h and 3275 in the second")


def test_units_that_come_only_at_stated_moments_have_no_long_run() -> None:
    cell = load_text(PLAIN % ("release: {at: [0 s, 1 min]}\n", "1 min", "1 min", "1"))
    with pytest.raises(NotSettled, match="raw units come at stated moments only"):
        study(cell)


def test_a_cell_that_makes_nothing_is_refused() -> None:
    cell = load_text("cell: c\nroute: [S]\nstations: {S: {cycle: 1 min, scrap: 100 %}}\n")
    with pytest.raises(NotSettled, match="no good unit leaves the cell"):
        study(cell)


def test_a_cell_that_locks_up_has_no_long_run() -> None:
    text = """
cell: Locks up
route: [feed, gate, work, buffer, test]
stations:
  feed: {cycle: 1 s}
  work: {cycle: 1 min}
  test: {cycle: 90 s, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
"""
    with pytest.raises(LockedCell, match=r"the cell locks up \d+\.\d min after the start \(replication 0\)"):
        study(load_text(text))


@pytest.mark.parametrize(
    ("shifts", "length", "said"),
    [
        ("", ("time", 49 * HOUR), "--length is too short: 50 h or more are needed, 50 times 1 h"),
        ("", ("shifts", 60), "--length counts shifts, but the cell has none"),
        ("shifts: {day: {from: 06:00, to: 08:00}}\n", ("time", 90 * HOUR), "this cell works in shifts"),
        ("shifts: {day: {from: 06:00, to: 08:00}}\n", ("shifts", 49), "50 shifts or more are needed"),
    ],
)
def test_lengths_that_cannot_be(shifts: str, length: tuple[str, int], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        study(load_text(PLAIN % (shifts, "1 min", "1 min", "1")), length=length)


def test_a_length_that_was_given_is_run() -> None:
    found = study(load_text(PLAIN % ("", "1 min", "1 min", "1")), length=("time", 60 * HOUR))
    assert found["run"]["length"] == "60 h"


# What the rule would drop and what of it can be told


def look(values: np.ndarray) -> Look:
    """A look at runs in which output and work in progress did the same."""
    found = Series(values, values)
    cuts = {name: truncate(values.mean(axis=0).tolist()) for name in ("output", "wip")}
    plan = make_plan(load_text("cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\nstudy: {run: 100 h}\n"))
    return Look(Round(1), 1, plan, [range(k, k + 1) for k in range(values.shape[1])], found, cuts, [])


def test_of_a_settled_series_hardly_anything_is_left_out() -> None:
    """Pure noise, 100 series of 100 intervals and 20 runs: MSER-5 drops something of about half of them.

    What is left out must be far rarer: at most a quarter (seed 4; 54 and 13 were seen).
    """
    luck = np.random.default_rng(4)
    looks = [look(50 + luck.normal(size=(20, 100))) for _ in range(100)]
    by_rule, left_out = sum(x.by_rule > 0 for x in looks), sum(x.dropped > 0 for x in looks)
    assert all(x.dropped <= x.by_rule for x in looks)
    assert 40 < by_rule < 70
    assert left_out <= 25


def test_a_start_that_can_be_told_is_left_out() -> None:
    """Seven intervals at 80 % of the rest: ten are left out, two groups; of one run all the rule says."""
    values = 50 + np.random.default_rng(4).normal(size=(20, 100))
    values[:, :7] -= 10
    assert look(values).dropped == 10
    alone = look(values[:1])
    assert alone.dropped == alone.by_rule >= 10


# What `run` remarks


def test_how_often_a_settled_study_is_suspected() -> None:
    """Of 300 settled studies of 100 hours and 20 runs at most 9 get the remark.

    About 0.8 % of 1500 were seen to get it; more than 9 of 300 are then a chance of 1 in 5000 (binomial).
    """
    luck = np.random.default_rng(7)
    alarms = sum(
        bool(unsettled(Series(10 + luck.normal(size=(20, 100)), 10 + luck.normal(size=(20, 100)))))
        for _ in range(300)
    )
    assert alarms <= 9


def test_a_series_that_still_rises_is_named() -> None:
    """Output as in the long run, work in progress that rises by half over the first ten of sixty hours."""
    luck = np.random.default_rng(1)
    flat = 50 + luck.normal(size=(10, 60))
    rising = flat - 25 * np.maximum(0, 1 - np.arange(60) / 10)
    assert unsettled(Series(flat, rising)) == ["work in progress"]
    assert unsettled(Series(rising, rising)) == ["output", "work in progress"]
    assert unsettled(Series(flat - np.arange(60), flat)) == ["output"]  # it never settles


def remarks(text: str, replications: int) -> list[str]:
    worker = Worker(load_text(text), COMPILED)
    records = [worker.replicate(1, k) for k in range(replications)]
    return settling_remarks(worker.flat.cell, worker.plan, records)


def test_a_run_that_is_not_ten_times_as_long() -> None:
    """8 h counted after 1 h; none without settling, nor with ten times as much."""
    text = "cell: c\nroute: [S]\nstations: {S: {cycle: 1 min}}\nstudy: {%s}\n"
    assert remarks(text % "settle: 1 h, run: 8 h", 1) == [
        "The run counts 8 working hours after 1 for settling; for a long-run rate it should be 10 times as"
        " many."
    ]
    assert remarks(text % "settle: 1 h, run: 10 h", 1) == []
    assert remarks(text % "run: 8 h", 1) == []


@pytest.mark.parametrize(
    ("study", "said"),
    [("shifts: 1, settle: 1 shift", 0), ("shifts: 2, settle: 1 shift, start: as left", 0),
     ("shifts: 2, settle: 1 shift", 1), ("shifts: 10, settle: 1 shift", 0)],
)  # fmt: skip
def test_a_study_of_a_shift_need_not_be_long(study: str, said: int) -> None:
    """One shift after another asks what a shift makes; two of them ask for the long run."""
    text = "cell: c\nshifts: {day: {from: 06:00, to: 07:00}}\nroute: [S]\nstations: {S: {cycle: 1 min}}\n"
    assert len(remarks(text + f"study: {{{study}}}\n", 1)) == said


def test_too_short_a_settling_time_is_remarked() -> None:
    """The line counted from its first minute on is suspected, after ten hours it is not (seed 1, fixed)."""
    short = remarks(LINE + "study: {settle: 1 min, run: 60 h}\n", 40)
    assert len(short) == 1
    assert short[0].startswith("The settling time looks too short: ")
    assert "cellsim warmup" in short[0]
    assert remarks(LINE + "study: {settle: 10 h, run: 100 h}\n", 40) == []


def test_settling_in_the_file_changes_nothing_of_the_study() -> None:
    """The cell is run from its start, whatever its study says."""
    cell = load_text(PLAIN % ("", "1 min", "1 min", "1"))
    other = replace(cell, study=replace(cell.study, settle=3 * HOUR, run=5 * HOUR))
    assert study(cell) == study(other)
