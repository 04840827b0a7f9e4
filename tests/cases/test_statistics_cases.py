"""Figures by hand: what is cut at the horizon, divided by what, averaged over what.

All figures are hand-computed, in minutes unless they say otherwise.
"""

from __future__ import annotations

from typing import Any

import pytest
from tracing import MINUTE, PUBLISHED, SECOND, exactly, listed, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.study.figures import figures
from cellsim.study.statistics import PERCENTILE_RULE, percentile, t_interval
from cellsim.study.worker import Worker


def answer(text: str) -> dict[str, Any]:
    """The figures of one replication of a cell."""
    worker = Worker(load_text(text))
    record = worker.replicate(1, 0)
    assert record.violations == []
    return figures(worker.flat, worker.plan, [record])


def share(entry: dict[str, Any], state: str) -> Any:
    """The share of a state among those of a station or person."""
    return entry["shares"][state]["mean"]


def test_settling_is_cut_off_with_the_completion_at_its_end() -> None:
    """Counting from 24 on, the unit at the very 24 belongs to the settling, and states fill 36 minutes."""
    entry = PUBLISHED["trace-counted-after-settling"]
    worker = Worker(load_text(entry.cell))
    record = worker.replicate(1, 0)
    assert (worker.plan.counted_from, worker.plan.horizon) == (exactly(24), exactly(60))
    assert sum(record.hourly) == len(listed(entry)) == 4
    states = [{L.MACHINE_STATES[k]: total for k, total in enumerate(row) if total} for row in record.machines]
    assert states == [
        {"working": exactly(22), "blocked": exactly(14)},
        {"working": exactly(36)},
        {"starved": exactly(24), "working": exactly(12)},
    ]


@pytest.mark.parametrize(
    ("places", "mean_inside", "finished", "times_inside"),
    [("no-place", 1.6875, 11, 103), ("one-place", 2.25, 12, 137), ("two-places", 2.84375, 14, 160)],
)
def test_units_inside_and_time_inside(
    places: str, mean_inside: float, finished: int, times_inside: int
) -> None:
    """A unit comes in when station 1 starts it: mean number over 0..64, mean time of those finished."""
    number = PUBLISHED[f"trace-number-inside-{places}"]
    traced = run_text(number.cell, 64)
    assert traced.run.state.wip_area == exactly(mean_inside) * 64
    assert len(traced.stays()) == finished
    assert sum(traced.stays()) == exactly(times_inside)
    result = answer(number.cell)
    assert result["wip"]["mean"] == mean_inside
    assert result["lead_time"]["mean_s"] == pytest.approx(60 * times_inside / finished, rel=1e-12)


def test_work_in_hand_at_the_horizon_counts_as_work() -> None:
    """Cycle 7, 20 minutes: 2 units out, yet the station worked all the time (not 14/20, not 21/20)."""
    result = answer("cell: c\nroute: [S]\nstations: {S: {cycle: 7 min}}\nstudy: {run: 20 min}\n")
    assert share(result["stations"]["S"], "working") == 1.0
    assert result["stations"]["S"]["cycles"]["mean"] == 2


def test_equal_machines_share_one_clock_each() -> None:
    """Two machines, jobs of 6 and 6 at 0 and of 4 at 10, 20 minutes: 16 of 40 machine minutes are work."""
    result = answer("""
cell: c
route: [S]
release: {at: [0 min, 0 min, 10 min]}
stations: {S: {machines: 2, cycle: {listed: [6 min, 6 min, 4 min]}}}
study: {run: 20 min}
""")
    assert share(result["stations"]["S"], "working") == pytest.approx(16 / 40, rel=1e-12)


def test_a_level_is_averaged_over_time() -> None:
    """Level 0 until 10, 1 until 12, 5 until 14, 0 until 20: mean 0.60 and not 1.5, highest 5.

    The station takes five at once and stands still from 11 to 14.
    """
    text = """
cell: c
route: [S]
release: {at: [10 min, 12 min, 12 min, 12 min, 12 min]}
stations:
  S:
    cycle: 1 min
    takes: {release: 5}
    stops: {halt: {every: {listed: [11 min, 1000 min], of: on time}, lasts: {listed: [3 min]}}}
study: {run: 20 min}
"""
    traced = run_text(text, 20)
    assert traced.said(L.N_STARTS, "S") == minutes(14)
    waiting = answer(text)["stores"]["release"]
    assert waiting["mean"] == pytest.approx(0.60, rel=1e-12)
    assert (waiting["max"], waiting["p95"]) == (5, 5)


WARM = """
cell: c
route: [S1, tray 1, S2, tray 2, S3]
stations: {S1: {cycle: 10 min}, S2: {cycle: 10 min}, S3: {cycle: 10 min}}
stores: {tray 1: 5, tray 2: 5}
study: {%s}
"""


@pytest.mark.parametrize(
    ("study", "units", "rate"), [("settle: 30 min, run: 70 min", 7, 6.0), ("run: 100 min", 8, 4.8)]
)
def test_settling_drops_the_start(study: str, units: int, rate: float) -> None:
    """Three stations of 10: 7 units in the 70 minutes after the first 30 are 6 an hour, not 4.8."""
    worker = Worker(load_text(WARM % study))
    record = worker.replicate(1, 0)
    assert sum(record.hourly) == units
    output = figures(worker.flat, worker.plan, [record])["output_per_hour"]
    assert output["mean"] == pytest.approx(rate, rel=1e-12)


OVERLOAD = """
cell: c
route: [S]
release: every 5 min
stations: {S: {cycle: 10 min}}
study: {run: %d min}
"""


def test_lead_time_of_finished_units_stands_beside_the_work_inside() -> None:
    """One unit every 5 from 0 on, cycle 10, 100 minutes: 10 finished after 32.5 on average, 11 still inside.

    The eleventh came in at the very horizon.  An hour earlier 5 were inside: 6 more an hour.
    """
    traced = run_text(OVERLOAD % 100, 100)
    assert traced.stays() == minutes(*range(10, 60, 5))
    result = answer(OVERLOAD % 100)
    assert result["lead_time"]["mean_s"] == 32.5 * 60
    assert "still inside is counted in wip" in result["lead_time"]["of"]
    assert result["wip"]["inside_at_end"]["mean"] == 11
    assert answer(OVERLOAD % 40)["wip"]["inside_at_end"]["mean"] == 5


def test_a_completion_at_the_very_horizon_counts() -> None:
    """Cycle 10, horizon 100: 10 units, and the clock stands at 100 exactly."""
    text = "cell: c\nroute: [S]\nstations: {S: {cycle: 10 min}}\nstudy: {run: 100 min}\n"
    traced = run_text(text, 100)
    assert traced.left() == minutes(*range(10, 101, 10))
    assert (traced.run.state.now, traced.run.env.now) == (100 * MINUTE, 100 * MINUTE)
    record = Worker(load_text(text)).replicate(1, 0)
    assert (sum(record.hourly), record.ended_at, record.reason) == (10, 100 * MINUTE, "horizon")


def test_nobody_on_duty_in_the_counted_time() -> None:
    """An operator on duty 0-10 only, counted 20-60: the load is not defined, said in words."""
    result = answer("""
cell: c
shifts: {day: {from: 00:00, to: 08:00}, short: {from: 00:00, to: 00:10}}
crew: {op: {shift: short}}
route: [S]
stations: {S: {cycle: 4 min, by: op}}
study: {settle: 20 min, run: 40 min}
""")
    op = result["people"]["op"]
    assert op["load"]["mean"] is None
    assert op["load"]["remark"] == "not defined (0 min on duty)"
    assert share(op, "off") == 1.0
    assert share(result["stations"]["S"], "waiting for operator") == 1.0


def test_interval_of_few_replications() -> None:
    """Outputs 52, 48, 50, 55, 45: mean 50, 50 +- 4.7281 by Student's t (the normal with n says 2.985)."""
    interval = t_interval([52, 48, 50, 55, 45])
    assert interval.mean == 50
    assert interval.half_width == pytest.approx(4.7281, abs=5e-5)
    assert [interval.low, interval.high] == pytest.approx([45.27, 54.73], abs=5e-3)


def test_which_percentile() -> None:
    """Of several rules for percentiles the one in use is named: the smallest value that covers the share."""
    values = [10, 2, 8, 4, 6]
    # each of five values stands for a fifth: 10 % and 25 % lie in the first and second, 90 % in the last
    assert [percentile(values, p) for p in (0.10, 0.25, 0.50, 0.90)] == [2, 4, 6, 10]
    result = answer("cell: c\nroute: [S]\nstations: {S: {cycle: 7 min}}\nstudy: {run: 2 h}\n")
    assert result["output_per_hour"]["percentile_rule"] == PERCENTILE_RULE
    assert "smallest value" in PERCENTILE_RULE


def test_lead_times_are_in_seconds() -> None:
    """The keys say the unit: a unit that is 90 s inside has a lead time of 90."""
    result = answer("cell: c\nroute: [S]\nstations: {S: {cycle: 1.5 min}}\nstudy: {run: 1 h}\n")
    assert (result["lead_time"]["mean_s"], result["lead_time"]["p50_s"]) == (90.0, 90.0)
    assert run_text("cell: c\nroute: [S]\nstations: {S: {cycle: 1.5 min}}\n", 3).stays() == [90 * SECOND] * 2
