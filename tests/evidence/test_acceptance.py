"""Acceptance runs: values by formula and by simulation of the two-state machine."""

from __future__ import annotations

import math

import numpy as np
import pytest
from click.testing import CliRunner

from cellsim import cli
from cellsim.evidence.acceptance import Promise, factors, seen_in_run

GOOD, BAD = Promise(87, 12), Promise(48, 12)


def test_eight_hours_of_a_machine_that_runs_87_and_stands_12_minutes():
    """Availability 0.8788; deviation of long runs 0.0684 (8 h: 0.0677), 13.4 points; 45 shifts for 2."""
    long_runs = math.sqrt(2 * 87**2 * 12**2 / (99**3 * 480))
    assert long_runs == pytest.approx(0.0684, abs=5e-5)
    assert GOOD.availability == pytest.approx(0.8788, abs=5e-5)
    assert GOOD.deviation(480) == pytest.approx(
        long_runs * math.sqrt(1 - 1 / (480 * (1 / 87 + 1 / 12))), rel=1e-6
    )
    assert 1.96 * long_runs == pytest.approx(0.134, abs=5e-4)
    assert GOOD.half_width(480) == pytest.approx(0.1326, abs=5e-5)
    assert math.ceil(GOOD.length_for(0.02) / 480) == 45


def test_a_bad_machine_passes_often():
    """0.80 (48 up, 12 down) passes a limit of 0.85 in 8 h with chance 26 to 27 %."""
    assert BAD.deviation(480) == pytest.approx(0.08, abs=1e-3)
    assert BAD.chance_to_pass(0.85, 480) == pytest.approx(0.265, abs=0.005)


def test_the_formula_by_simulation():
    """2000 runs of 8 h of the good machine in its long run: deviation within 6 %, mean within 0.006."""
    rng = np.random.default_rng(2)
    up_shares = []
    for _ in range(2000):
        at, up, share = 0.0, rng.random() < GOOD.availability, 0.0
        while at < 480:
            length = min(rng.exponential(87 if up else 12), 480 - at)
            share += length * up
            at, up = at + length, not up
        up_shares.append(share / 480)
    assert np.std(up_shares) == pytest.approx(GOOD.deviation(480), rel=0.06)
    assert np.mean(up_shares) == pytest.approx(GOOD.availability, abs=0.006)


@pytest.mark.parametrize(("stops", "low", "high"), [(5, 0.48, 2.54), (10, 0.59, 1.84), (20, 0.69, 1.51)])
def test_how_far_a_mean_time_between_stops_is_known(stops: int, low: float, high: float):
    """90 % band after so many stops, as multiples of the measured one."""
    assert factors(stops, 0.9) == pytest.approx((low, high), abs=0.006)


def test_what_a_run_proves():
    """Five stops, 60 min down in 8 h: 84 min between stops, bounds by chi-square; none: only a lower one."""
    found = seen_in_run(480, 5, 60)
    assert found.between.mean == pytest.approx(84)
    assert found.repair == pytest.approx(12)
    assert found.availability.mean == pytest.approx(0.875)
    assert found.availability.low < 0.8 < 0.9 < found.availability.high
    none = seen_in_run(480, 0, 0)
    assert (none.between.mean, none.availability.mean) == (math.inf, 1.0)
    assert none.between.low == pytest.approx(480 / 3.688879, rel=1e-5)  # chi-square 0.975 with 2 is 7.377759


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: GOOD.length_for(0), "no share between 0 and 1"),
        (lambda: seen_in_run(480, 3, 480), "less than the run"),
        (lambda: seen_in_run(480, 0, 5), "do not fit together"),
    ],
)
def test_wrong_arguments(call, said):
    """Each says what is allowed."""
    with pytest.raises(ValueError, match=said):
        call()


def test_the_command():
    """The promise and a bad machine; then what a run has shown; wrong calls are told."""

    def said(*arguments: str, code: int = 0) -> str:
        result = CliRunner().invoke(cli.main, ["acceptance", *arguments])
        assert result.exit_code == code, result.output
        return " ".join((result.stdout + result.stderr).split())

    promise = ("--runs", "87 min", "--stands", "12 min")
    text = said(*promise, "--limit", "85 %", "--bad", "48 min", "12 min")
    assert "to plus or minus 13.3 points (95 %)" in text
    assert "which are 45 shifts of 8 h" in text
    assert "A machine of 80.0 % passes with a chance of 26 %" in text
    assert "5 stops in 8 h: 84 min between stops" in said("--stops", "5", "--down", "60 min")
    assert "No stop in 8 h: the mean time between stops is at least 130" in said(
        "--stops", "0", "--down", "0 s"
    )
    assert "belong together" in said("--runs", "87 min", code=2)
    assert "give the promise" in said(code=2)
    assert "give the limit" in said(*promise, "--bad", "48 min", "12 min", code=2)
    assert "less than the run" in said("--stops", "5", "--down", "9 h", code=2)
    assert "a share lies between 0 and 100 %" in said(*promise, "--within", "2", code=2)
