"""Published data sets fitted again: values printed by their sources, or recomputed there beside them."""

from __future__ import annotations

import pytest

from cellsim.evidence.fitting import chosen, fitted, mean_between, ranked, sample

FAILURES = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
TEST = sample([*FAILURES, *[500] * 10], [False] * 10 + [True] * 10)
GAPS = [3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487]


def test_a_life_test_that_was_ended():
    """10 failures, 10 units taken off at 500 h: shape 1.7208, scale 606.5280, AIC 154.27, mean 540.737 h.

    NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3; more digits by the root of the profile equation.
    """
    found = fitted(TEST, "weibull")
    assert found.parameters == pytest.approx((1.7208, 606.5280), abs=1e-3)
    assert found.parameters == pytest.approx((1.7207972608, 606.527558004), rel=1e-6)
    assert found.log_likelihood == pytest.approx(-75.1346, abs=5e-5)
    assert found.aic == pytest.approx(154.27, abs=5e-3)
    assert found.mean == pytest.approx(540.737, abs=2e-3)
    assert found.mean * found.spread == pytest.approx(323.806, abs=5e-3)


def test_its_mean_as_exponential():
    """The same test: total time / failures = 7771 / 10 (e-Handbook 8.4.5.1), log likelihood -76.5557."""
    found = fitted(TEST, "exponential")
    assert found.mean == pytest.approx(777.1)
    assert found.log_likelihood == pytest.approx(-76.5557, abs=5e-5)


def test_gaps_between_failures_of_air_conditioning():
    """Proschan (1963), Technometrics 5; Davison and Hinkley (1997): 108.1 h, 65.9 to 209.2 h."""
    found = fitted(sample(GAPS), "exponential")
    assert found.mean == pytest.approx(108.1, abs=0.05)
    bounds = mean_between(sum(GAPS), len(GAPS), 0.95, by_count=True)
    assert (bounds.low, bounds.high) == pytest.approx((65.9, 209.2), abs=0.05)


def test_a_shape_below_one_that_is_not_told_from_one():
    """The same gaps: Weibull shape 0.7939, log likelihood -67.6185 against -68.1948; simple is kept."""
    weibull = fitted(sample(GAPS), "weibull")
    assert weibull.parameters == pytest.approx((0.793944, 94.964895), rel=2e-5)
    assert weibull.log_likelihood == pytest.approx(-67.618510, abs=1e-6)
    fits = ranked(sample(GAPS), ("exponential", "weibull"))
    assert chosen(fits).family.name == "exponential"


BEARINGS = [
    17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64, 68.88, 84.12,
    93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
]  # fmt: skip


def test_lives_of_ball_bearings():
    """Lieblein and Zelen (1956), J. Research NBS 57: Weibull 2.10 and 81.9 (from memory)."""
    found = fitted(sample(BEARINGS), "weibull")
    assert found.parameters == pytest.approx((2.10, 81.9), abs=0.05)
    assert found.parameters == pytest.approx((2.10205887519, 81.8783340516), rel=1e-5)
    assert found.log_likelihood == pytest.approx(-113.691290932, abs=1e-6)


# total time, failures, confidence; bounds where the test ended by the clock (e-Handbook 8.4.5.1), and lower
# bound where it ended with a failure (IEC 60605-4; from memory)
BOUNDS = [
    (1000, 4, 0.90, 109.247601615, 731.893826782, 128.971408057),
    (1000, 4, 0.95, 97.6411015609, 917.544518983, 114.060551331),
    (2500, 1, 0.80, 642.719756389, 23728.0539526, 1085.73620476),
    (7200, 12, 0.90, 370.321426033, 1039.82943705, 395.441129458),
]


@pytest.mark.parametrize(("total", "count", "level", "low", "high", "low_by_count"), BOUNDS)
def test_bounds_of_a_mean_time_between_failures(total, count, level, low, high, low_by_count):
    """Both ways to end a test; only the lower bound differs."""
    found = mean_between(total, count, level)
    assert (found.mean, found.low, found.high) == pytest.approx((total / count, low, high), rel=1e-9)
    by_count = mean_between(total, count, level, by_count=True)
    assert (by_count.low, by_count.high) == pytest.approx((low_by_count, high), rel=1e-9)


# Factors on the measured mean, as the e-Handbook (8.4.5.1) prints to four digits (from memory).
FACTORS = [
    (1, 0.6, 0.3340, 4.4814),
    (2, 0.8, 0.3758, 3.7607),
    (1, 0.9, 0.2108, 19.4958),
    (5, 0.9, 0.4756, 2.5379),
    (2, 0.95, 0.2768, 8.2573),
    (20, 0.95, 0.6475, 1.6371),
]


@pytest.mark.parametrize(("count", "level", "low", "high"), FACTORS)
def test_factors(count, level, low, high):
    """What the measured mean is multiplied by."""
    found = mean_between(float(count), count, level)
    assert (found.low, found.high) == pytest.approx((low, high), abs=6e-5, rel=1e-5)
