"""How much of a series is dropped: values computed by hand or the slow obvious way."""

from __future__ import annotations

import math

import numpy as np
import pytest

from cellsim.study.warmup import smoothed, truncate

A = [20 * (1 - math.exp(-j / 6)) + ((7 * j) % 11 - 5) / 5 for j in range(1, 61)]


@pytest.mark.parametrize(
    ("group", "dropped", "score", "mean"), [(1, 22, 0.010263, 19.941741), (5, 25, 0.006702, 19.939865)]
)
def test_a_series_that_rises_and_settles(group, dropped, score, mean):
    """Sixty values with a known bend and a fixed scatter; the raw mean is 18.17."""
    found = truncate(A, group)
    assert (found.dropped, found.too_short) == (dropped, False)
    assert (found.score, found.mean) == pytest.approx((score, mean), abs=1e-6)
    assert np.mean(A) == pytest.approx(18.172123, abs=1e-6)


def test_a_series_that_only_rises_is_too_short():
    """1, 2, ..., 40: the score is smallest as late as it may be."""
    found = truncate(list(range(1, 41)), 1)
    assert (found.dropped, found.score, found.too_short) == (20, 1.6625, True)


def test_the_rule_written_out():
    """For random series the number dropped is that of the definition, term by term."""
    luck = np.random.default_rng(3)
    for _ in range(50):
        series = luck.exponential(size=60) + 3 * np.exp(-np.arange(60) / luck.uniform(1, 20))
        means = [sum(series[5 * k : 5 * k + 5]) / 5 for k in range(12)]

        def score(d, means=means):
            rest = means[d:]
            middle = sum(rest) / len(rest)
            return sum((x - middle) ** 2 for x in rest) / len(rest) ** 2

        best = min(range(7), key=score)
        found = truncate(series.tolist())
        assert found.dropped == 5 * best
        assert found.score == pytest.approx(score(best))
        assert found.too_short == (best == 6 or min(range(7), key=score) > 6)


def test_a_constant_series_drops_nothing():
    """All scores are 0: nothing to drop, and long enough."""
    found = truncate([4.0] * 60)
    assert (found.dropped, found.score, found.mean, found.too_short) == (0, 0.0, 4.0, False)


def test_a_large_mean_costs_no_digits():
    """The same series a thousand million higher is dropped at the same place."""
    assert truncate([x + 1e9 for x in A]).dropped == truncate(A).dropped


def test_too_few_values_are_told():
    """Less than ten groups say nothing."""
    with pytest.raises(ValueError, match="49 values are too few; at least 50 are needed"):
        truncate([1.0] * 49)


def test_the_moving_average():
    """Window 2: 1, 3 and then 5 values."""
    expected = [3.470366, 5.869709, 7.649764, 9.644173, 11.344685, 12.356419, 13.597567, 14.660458]
    assert smoothed(A, 2)[:8] == pytest.approx(expected, abs=1e-6)
    assert len(smoothed(A, 2)) == 58
    with pytest.raises(ValueError, match="at most 15"):
        smoothed(A, 16)
