"""Intervals of the studies hold what is known exactly as often as they say; a small part of the benchmark.

Each count lies within bounds that a right program leaves with a chance of 1 in 10 000; the seeds are fixed.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom, poisson

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import interval_coverage as benchmark

from cellsim.engine.clocks import COMPILED
from cellsim.study.runner import Runner

CHANCE = 1e-4
FEW = 3  # replications: Student's quantile is 4.30 there, the normal one would hold 81 %
BIAS = 0.005  # what stopping at a precision, and the ends of the critical path, may take off


@pytest.fixture(scope="module")
def runner() -> Iterator[Runner]:
    """One runner for all studies."""
    with Runner(clock=COMPILED) as one:
        yield one


def holds(tally: benchmark.Tally, share: float = 0.95, *, bias: float = 0.0, at_least: bool = False) -> bool:
    """Whether a count agrees with the share that an interval promises, or with more than that."""
    low, high = binom.ppf(CHANCE / 2, tally.trials, share - bias), binom.isf(CHANCE / 2, tally.trials, share)
    return bool(tally.hits >= low and (at_least or tally.hits <= high))


def test_output_and_shares_of_time(runner):
    """Rate and shares of time of two stations, from their chain."""
    found = benchmark.figures_of_a_run(runner, 300, FEW)
    assert holds(found["mean_output"])
    assert holds(found["blocked_share"])
    assert holds(found["starved_share"])
    assert holds(found["cause_in_path"], bias=BIAS)


def test_a_study_to_a_precision(runner):
    """It goes on until the interval is narrow, which costs half a point at most."""
    assert holds(benchmark.to_a_precision(runner, 80)["run_to_a_precision"], bias=BIAS)


def test_a_paired_difference(runner):
    """One more place, against the difference of exact rates."""
    assert holds(benchmark.differences(runner, 200, FEW)["paired_difference"])


def test_a_ratio(runner):
    """Rejects per test."""
    assert holds(benchmark.rejects(runner, 200, FEW)["rejects_per_test"])


def test_percentiles(runner):
    """Of independent shifts what the ranks promise; of hours that share their stops at least the level.

    The share of hours behind each percentile, which is no whole number, is held as often as promised.
    """
    shifts = benchmark.shift_percentile(runner, 30)["percentile_of_shifts"]
    assert holds(shifts, benchmark.promised_by_ranks(100, 0.05) / 100, at_least=True)
    hours = benchmark.hour_percentiles(runner, 50)
    assert holds(hours["p05_of_hours"], at_least=True)
    assert holds(hours["p50_of_hours"], at_least=True)
    assert holds(hours["share_up_to_p05"])
    assert holds(hours["share_up_to_p50"])


def test_proposals_that_change_nothing(runner):
    """In at most 5 % of studies any of them passes for a change, alone or beside one that is better.

    Each judged for itself, one of four would in about 16 %.
    """
    for tally in benchmark.false_differences(runner, 200, FEW).values():
        assert tally.hits <= binom.isf(CHANCE, tally.trials, 0.05)


def test_the_laws_that_are_known():
    """Poisson numbers against scipy; a station that hardly stops makes them; one that stops its mean."""
    law = benchmark.poisson_law()
    assert law == pytest.approx(poisson.cdf(np.arange(len(law)), 90), abs=1e-12)
    assert benchmark.poisson_percentile(0.05) == poisson.ppf(0.05, 90)
    hardly = benchmark.stopping_law(40.0, 1e9, 1.0)
    assert hardly == pytest.approx(poisson.cdf(np.arange(len(hardly)), 90), abs=1e-6)
    stopping = benchmark.stopping_law(*benchmark.STOPPING)
    assert stopping[-1] == pytest.approx(1, abs=1e-9)
    assert (1 - stopping).sum() == pytest.approx(30 * 18 / 19, rel=1e-6)


def test_what_ranks_promise():
    """The chance that they hold P5 of Poisson numbers, against 20 000 samples: 4 standard errors."""
    from cellsim.study.statistics import percentile_interval

    luck, truth, trials = np.random.default_rng(3), poisson.ppf(0.05, 90), 20_000
    ranks = percentile_interval(range(1, 101), 0.05)
    low, high = (np.sort(luck.poisson(90, (trials, 100)))[:, int(rank or 0) - 1] for rank in ranks)
    seen = float(np.mean((low <= truth) & (truth <= high)))
    promised = benchmark.promised_by_ranks(100, 0.05) / 100
    assert abs(seen - promised) < 4 * (promised * (1 - promised) / trials) ** 0.5
