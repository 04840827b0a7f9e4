"""Laws and bounds of few lengths: their spread decides, against figures by hand and samples of known laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from cellsim.evidence.fitting import sample
from cellsim.evidence.stop_laws import exponential_spreads, lengths_estimate

JAMS = [720, 960, 540, 600, 660, 600, 480, 840, 660, 660, 540]  # 8 to 16 min


def test_eleven_jams_alike_are_not_exponential():
    """8 to 16 min, mean 11: a gamma law of their spread; Student's t on the logarithm of the mean."""
    found = lengths_estimate(sample(JAMS))
    spread = float(np.std(JAMS, ddof=1) / np.mean(JAMS))
    assert found.value == {"law": "gamma", "mean": 660.0, "spread": pytest.approx(spread)}
    reach = stats.t.ppf(0.975, 10) * spread / math.sqrt(11)
    assert (found.bounds.low, found.bounds.high) == pytest.approx(
        (660 * math.exp(-reach), 660 * math.exp(reach))
    )
    assert 9.4 * 60 < found.bounds.low < found.bounds.high < 12.8 * 60
    assert found.why == (
        "with the spread of the 11 lengths, 21 %, which is too small for exponential ones (test at 2 %)"
    )


def test_lengths_that_vary_too_much():
    """Nine short ones and one of two hours: too much for exponential, and the bounds are wide."""
    found = lengths_estimate(sample([30, 35, 28, 33, 40, 31, 29, 36, 34, 7200]))
    assert found.law == "gamma"
    assert "too large for exponential ones" in found.why
    assert found.bounds.high > 3 * found.bounds.low


def test_too_few_lengths_tell_no_law():
    """Up to four, equal or not: exponential is assumed, and it is said; of one there is no interval."""
    one, two, four = (
        lengths_estimate(sample(values)) for values in ([1800], [1800, 1800], [600, 610, 605, 620])
    )
    assert [found.law for found in (one, two, four)] == ["exponential"] * 3
    assert [found.interval for found in (one, two, four)] == [False, True, True]
    assert one.why == "one length is too few to tell a law: exponential is assumed"
    assert two.why == "2 lengths are too few to tell a law: exponential is assumed"
    assert two.bounds.low < 1800 < two.bounds.high
    assert lengths_estimate(sample([1800] * 5)).law == "fixed"


def test_a_length_without_an_end_does_not_hide_another_law():
    """Ten jams of about 11 min and one that had not ended after 5 min: gamma, by AICc."""
    found = lengths_estimate(sample([*JAMS[:10], 300], [False] * 10 + [True]))
    assert found.law == "gamma"
    assert found.why.startswith("better than exponential by ")
    assert lengths_estimate(sample([60, 300, 20, 700, 150, 300], [False] * 5 + [True])).law == "exponential"


@pytest.mark.parametrize("count", [5, 9, 14])
def test_the_spread_of_exponential_lengths(count: int):
    """20 000 other samples: 1 % lie below, 1 % above (4 standard errors of both simulations: 0.4 %)."""
    low, high = exponential_spreads(count)
    values = np.random.default_rng(77).exponential(5.0, (20_000, count))
    spreads = values.std(axis=1, ddof=1) / values.mean(axis=1)
    assert np.mean(spreads < low) == pytest.approx(0.01, abs=0.004)
    assert np.mean(spreads > high) == pytest.approx(0.01, abs=0.004)


@pytest.mark.parametrize(
    ("law", "count"),
    [(stats.expon(), 8), (stats.gamma(25), 5), (stats.gamma(25), 12), (stats.lognorm(0.35), 12)],
)
def test_bounds_of_few_lengths(law, count: int):
    """300 samples: 95 % bounds miss 27 at most (more has a chance of 0.13 %, if they hold what they say)."""
    draws = law.rvs((300, count), random_state=np.random.default_rng(5))
    bounds = [lengths_estimate(sample(values), 0).bounds for values in draws]
    assert sum(not found.low <= law.mean() <= found.high for found in bounds) <= 27
