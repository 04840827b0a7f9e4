"""Measured times before a law is fitted: values computed another way, and samples whose answer is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from cellsim.evidence.series import (
    _standing_out,
    cycles_needed,
    grain,
    level_shift,
    memory,
    observations_needed,
    outliers,
    regimes,
)

GOLDEN = [math.modf((j + 1) * 0.6180339887498949)[0] for j in range(60)]
CYCLES = [round(float(stats.lognorm.ppf(u, 0.12, scale=48)), 1) for u in GOLDEN[:50]]


ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69,
    1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35,
    2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64,
    5.34, 5.42, 6.01,
]  # fmt: skip


def test_the_published_example_of_the_rule():
    """Rosner's 54 values (1983; from memory): at 5 % the three largest stand out, and no others."""
    assert _standing_out(np.asarray(ROSNER), 0.05) == {51, 52, 53}


def test_long_cycles_stand_out():
    """110 and 92 among 50 cycles of 48."""
    assert outliers([*CYCLES, 92.0, 110.0]) == (50, 51)
    assert outliers(CYCLES) == ()


def test_plain_samples_seldom_have_one():
    """Samples of 20 with spread 12 %: one in 100 has a value that stands out, normal or lognormal.

    At most 18 of 800 where 8 are expected (more: 0.1 %); a cycle of twice the time is found in all but few.
    """
    luck = np.random.default_rng(11)
    for draw in (lambda: luck.normal(10, 1.2, 20), lambda: luck.lognormal(np.log(10), 0.12, 20)):
        samples = [draw() for _ in range(800)]
        assert sum(bool(outliers(values.tolist())) for values in samples) <= 18
        assert sum(20 in outliers([*values, 20.0]) for values in samples[:100]) >= 95


def test_times_that_swing_have_a_memory():
    """A swing of ten cycles: correlations of lags 1 to 5, the statistic of Ljung and Box, computed apart."""
    swing = [0, 1, 2, 2, 1, 0, -1, -2, -2, -1] * 4
    found = memory([48 + s + u - 0.5 for s, u in zip(swing, GOLDEN, strict=False)])
    assert found.correlations == pytest.approx((0.749059, 0.291293, -0.223711, -0.67497, -0.810609), abs=1e-6)
    assert found.limit == pytest.approx(0.309903, abs=1e-6)
    assert found.statistic == pytest.approx(82.994501, abs=1e-6)
    assert found.chance == pytest.approx(1.981379814e-16, rel=1e-6)


def test_what_memory_does_to_sums():
    """Long times in a row make sums vary more, turns less; a swing of ten cycles takes back what it gives."""
    drift = [1, 2, 3, 4, 5, 6, 7, 8] * 2
    turns = [1, 2] * 8
    swing = [0, 1, 2, 2, 1, 0, -1, -2, -2, -1] * 4
    assert [memory(values).sums_vary for values in (sorted(drift), turns, swing)] == [1, -1, 0]


def test_independent_times_have_none():
    """Of 200 samples at most 20 are held for swinging at 5 % (chance of more 0.1 %)."""
    rng = np.random.default_rng(4)
    assert sum(memory(rng.normal(10, 1, 60).tolist()).chance < 0.05 for _ in range(200)) <= 20


def test_two_ways_of_working():
    """45 times around 46 and 25 around 60: weights, medians, spreads and BIC, computed by EM apart."""
    first = [float(stats.lognorm.ppf(u, 0.06, scale=46)) for u in GOLDEN[:45]]
    second = [float(stats.lognorm.ppf(u, 0.08, scale=60)) for u in GOLDEN[:25]]
    found = regimes([*first, *second])
    assert found.weights == pytest.approx((0.648218, 0.351782), abs=1e-5)
    assert found.medians == pytest.approx((46.093204, 60.348989), abs=1e-4)
    assert found.spreads == pytest.approx((0.059237, 0.073801), abs=1e-5)
    assert (found.bic_one, found.bic_two) == pytest.approx((-64.116325, -81.517403), abs=1e-4)
    assert found.two


def test_one_way_of_working_is_not_taken_for_two():
    """60 samples of one lognormal law: at most 2 are."""
    rng = np.random.default_rng(8)
    assert sum(regimes(rng.lognormal(3.9, 0.12, 50).tolist(), 100).two for _ in range(60)) <= 2


def test_a_way_has_some_spread():
    """Two readings that rounding made the same are a regime only where one may have no spread."""
    lay_off = [3.85, 4.29, 3.96, 3.74, 4.18, 3.85, 4.07, 3.96, 3.85, 4.29, 3.96, 3.74, 4.07, 3.85, 3.96]
    assert regimes(lay_off).two
    found = regimes(lay_off, narrowest=0.01)
    assert not found.two
    assert min(found.spreads) >= 0.01


def test_a_change_of_level():
    """Thirty values of 50, then thirty of 47: after the thirtieth, 3.070577; without it 0.202112."""
    noise = [4 * (u - 0.5) for u in GOLDEN]
    found = level_shift([*(50 + e for e in noise[:30]), *(47 + e for e in noise[:30])])
    assert (found.after, found.there) == (30, True)
    assert found.statistic == pytest.approx(3.070577, abs=1e-6)
    steady = level_shift([50 + e for e in noise])
    assert steady.statistic == pytest.approx(0.202112, abs=1e-6)
    assert not steady.there


def test_how_many_cycles():
    """Mean 0.82 min, deviation 0.11 min, to 5 %: 28 by the normal law, 37 after a pilot of ten."""
    assert cycles_needed(0.82, 0.11) == 28
    assert cycles_needed(0.82, 0.11, pilot=10) == 37
    assert cycles_needed(10, 0) == 1


def test_how_many_glances():
    """A share of 15 % to plus or minus 3 points: 545."""
    assert observations_needed(0.15, 0.03) == 545


@pytest.mark.parametrize(
    ("values", "step"), [([60, 120], 60), ([35, 40], 5), ([1.2, 3.7], 0.1), ([0.6, 1.8], 0.6), ([1.23], 0)]
)
def test_rounding(values, step):
    """The step of the watch."""
    assert grain(values) == step


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: outliers([1, 2, 3]), "3 values are too few"),
        (lambda: outliers([1, 2, 3, 0]), "not above 0"),
        (lambda: memory([1, 2, 3]), "too few for 5 lags"),
        (lambda: memory([2] * 20), "all values are the same"),
        (lambda: regimes([1] * 7), "at least 8"),
        (lambda: level_shift([1] * 9), "all values are the same"),
        (lambda: level_shift([1, 2]), "too few"),
        (lambda: cycles_needed(0, 1), "above 0"),
        (lambda: observations_needed(0, 0.1), "between 0 and 1"),
    ],
)
def test_wrong_arguments(call, said):
    """Each says what is allowed."""
    with pytest.raises(ValueError, match=said):
        call()
