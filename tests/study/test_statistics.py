"""Intervals and percentiles against worked values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, binomtest, quantile_test

from cellsim.study.statistics import (
    binomial_interval,
    percentile,
    percentile_interval,
    pooled_percentile_interval,
    ratio_interval,
    share_interval,
    t_interval,
)

TEN_SHIFTS = [412, 398, 405, 421, 389, 410, 402, 417, 395, 408]


def test_interval_of_a_mean() -> None:
    """Mean 405.7, deviation 9.956014 of ten values: the half width is t(9, 97.5 %) s / sqrt(10)."""
    found = t_interval(TEN_SHIFTS)
    assert found.mean == 405.7
    assert found.half_width == pytest.approx(7.122104, abs=5e-7)
    assert found.as_list() == pytest.approx([398.577896, 412.822104], abs=5e-7)


def test_a_higher_level_makes_a_wider_interval() -> None:
    """With level 99 % the quantile of t with 9 degrees of freedom is 3.249836 (table value)."""
    found = t_interval(TEN_SHIFTS, 0.99)
    assert found.half_width == pytest.approx(3.249836 * 9.956014 / math.sqrt(10), rel=1e-6)


def test_one_value_has_a_mean_and_no_interval() -> None:
    """One replication says nothing about the spread."""
    found = t_interval([405.0])
    assert (found.mean, found.low, found.high, found.half_width) == (405.0, None, None, None)


def test_no_value_has_no_mean() -> None:
    """An empty list is refused in words."""
    with pytest.raises(ValueError, match="an interval needs at least one value"):
        t_interval([])


@pytest.mark.parametrize(
    ("count", "share", "low", "high"),
    [
        (20, 0.5, 6, 15),
        (30, 0.5, 10, 21),
        (30, 0.1, None, 8),
        (50, 0.05, None, 7),
        (100, 0.05, 1, 11),
        (100, 0.9, 84, 96),
        (200, 0.95, 184, 197),
    ],
)
def test_ranks_of_a_percentile_interval(count: int, share: float, low: int | None, high: int | None) -> None:
    """The order statistics that bound a quantile with 95 % whatever the law; None = too small a sample."""
    values = np.random.default_rng(1).permutation(np.arange(1, count + 1))  # the value of rank r is r
    assert percentile_interval(values.tolist(), share) == (low, high)


@pytest.mark.parametrize(
    ("count", "share", "holds"),
    [
        (20, 0.5, 0.958611),
        (30, 0.5, 0.957226),
        (30, 0.1, 0.992216),
        (50, 0.05, 0.988214),
        (100, 0.05, 0.982607),
        (100, 0.9, 0.955690),
        (200, 0.95, 0.967152),
    ],
)
def test_how_often_such_ranks_hold_the_percentile(count: int, share: float, holds: float) -> None:
    """Chance that r to s - 1 of the values lie below it, computed with scipy's binomial law: 95 % or more."""
    low, high = percentile_interval(range(1, count + 1), share)
    below = binom(count, share)
    chance = below.cdf((high or count + 1) - 1) - below.cdf((low or 0) - 1)
    assert chance == pytest.approx(holds, abs=6e-7)


def test_ranks_of_a_median_by_another_program() -> None:
    """scipy's test of a quantile gives the same two values of thirty."""
    values = list(range(1, 31))
    other = quantile_test(values, q=0, p=0.5).confidence_interval(confidence_level=0.95)
    assert percentile_interval(values, 0.5) == (other.low, other.high) == (10, 21)


@pytest.mark.parametrize(("share", "least"), [(0.9, 29), (0.95, 59), (0.99, 299)])
def test_the_least_sample_that_bounds_a_percentile(share: float, least: int) -> None:
    """The largest of n lies above it with 95 % from 1 - share ** n >= 0.95 on (Wilks 1941, from memory)."""
    for count, bounded in ((least - 1, False), (least, True)):
        assert (percentile_interval(range(count), share, 0.9)[1] is not None) == bounded


def test_percentile_is_a_value_that_occurred() -> None:
    """The smallest value that at least the share does not exceed: never a value between two counts."""
    assert [percentile([3, 1, 2, 4], share) for share in (0.25, 0.26, 0.5, 0.75, 0.76, 1.0)] == [
        1,
        2,
        2,
        3,
        4,
        4,
    ]


def clustered() -> list[list[float]]:
    """Twelve shifts of eight hours, whose hours belong together."""
    return [[float((17 * (r + 1) * (h + 3) + 5 * r) % 23 + 40) for h in range(8)] for r in range(12)]


def test_percentile_of_hours_that_belong_together() -> None:
    """Hours of one shift share their luck, so the interval comes from the shares of each shift."""
    groups = clustered()
    assert percentile([x for group in groups for x in group], 0.1) == 42
    assert pooled_percentile_interval(groups, 0.1) == (40, 43)


def test_one_group_bounds_no_percentile() -> None:
    """The spread between shifts cannot be seen in one shift."""
    assert pooled_percentile_interval(clustered()[:1], 0.1) == (None, None)


BUSY = [412.0, 455.5, 398.2, 430.1, 441.7, 420.4]
AVAILABLE = [480.0, 510.0, 470.0, 495.0, 505.0, 480.0]


def test_ratio_with_jackknife_interval() -> None:
    """Plain ratio .870034, jackknifed .870105 with half width .016559."""
    found = ratio_interval(BUSY, AVAILABLE)
    assert found is not None
    assert sum(BUSY) / sum(AVAILABLE) == pytest.approx(0.870034, abs=5e-7)
    assert found.mean == pytest.approx(0.870105, abs=5e-7)
    assert found.half_width == pytest.approx(0.016559, abs=5e-7)


def test_ratio_with_equal_denominators_is_the_mean() -> None:
    """With one planned time for all the jackknife is the t interval of the ratios."""
    found, plain = ratio_interval(BUSY, [480.0] * 6), t_interval([x / 480 for x in BUSY])
    assert found is not None
    assert [found.mean, *found.as_list()] == pytest.approx([plain.mean, *plain.as_list()], rel=1e-12)


def test_ratio_does_not_fall_below_zero() -> None:
    """The interval of a share ends at 0."""
    found = ratio_interval([0.0, 0.0, 9.0], [100.0, 100.0, 100.0])
    assert found is not None
    assert found.low == 0.0


def test_ratio_stays_within_those_of_the_replications() -> None:
    """No reject in 10 tests, then 1 in 1: the plain ratio is 1/11, jackknifed it is 2/11 - (1 + 0)/2 = -7/22.

    The pseudo-values 2/11 - 1 and 2/11 - 0 lie 1 apart, so the standard error is 1/2 and the half width
    12.7062/2 (Student's t with one degree of freedom).  The other way round: 10/11, not 29/22.
    """
    few, many = ratio_interval([0.0, 1.0], [10.0, 1.0]), ratio_interval([10.0, 0.0], [10.0, 1.0])
    assert few is not None and many is not None
    assert [few.mean, *few.as_list()] == pytest.approx([1 / 11, 0, 1 / 11 + 6.3531], abs=1e-4)
    assert [many.mean, *many.as_list()] == pytest.approx([10 / 11, 0, 10 / 11 + 6.3531], abs=1e-4)


def test_ratio_of_nothing_is_not_defined() -> None:
    """Nothing tested, nobody on duty: there is no ratio, and none is made up."""
    assert ratio_interval([0.0, 0.0], [0.0, 0.0]) is None


def test_ratio_with_one_telling_replication_has_no_interval() -> None:
    """When all of the denominator lies in one replication, leaving it out leaves nothing to divide by."""
    found = ratio_interval([3.0, 0.0], [4.0, 0.0])
    assert found is not None
    assert (found.mean, found.low, found.high) == (0.75, None, None)


@pytest.mark.parametrize(
    ("hits", "trials", "low", "high"),
    [(0, 10, 0.0, 0.3085), (5, 10, 0.1871, 0.8129), (10, 10, 0.6915, 1.0), (1, 20, 0.0013, 0.2487)],
)
def test_share_of_independent_trials(hits: int, trials: int, low: float, high: float) -> None:
    """Limits of Clopper and Pearson 1934 to four digits, as widely tabulated (from memory).

    0 of 10 has the closed form 1 - 0.025 ** (1 / 10).
    """
    found = binomial_interval(hits, trials)
    assert found.mean == hits / trials
    assert found.as_list() == pytest.approx([low, high], abs=5e-5)
    assert binomial_interval(0, 10).high == pytest.approx(1 - 0.025**0.1, rel=1e-12)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("trials", [1, 2, 7, 40, 1000])
def test_share_of_independent_trials_against_another_program(trials: int, level: float) -> None:
    """scipy's exact interval of a binomial test, for every number of hits."""
    for hits in range(0, trials + 1, max(1, trials // 40)):
        other = binomtest(hits, trials).proportion_ci(level, method="exact")
        found = binomial_interval(hits, trials, level)
        assert found.as_list() == pytest.approx([other.low, other.high], rel=1e-9, abs=1e-12)
        assert found.level == level


def test_a_share_needs_a_trial() -> None:
    """Without a trial there is no share, said in words."""
    with pytest.raises(ValueError, match="a share needs at least one trial"):
        binomial_interval(0, 0)


def test_one_case_a_replication_is_an_independent_trial() -> None:
    """One shift a replication: the exact interval, not one that assumes a normal law."""
    assert share_interval([[True]] * 9 + [[False]]) == binomial_interval(9, 10)


def test_cases_that_belong_together_are_not_independent() -> None:
    """Four shifts of two hours that agree within the shift: 4 shares 1, 1, 0, 0 and not 8 trials.

    Mean 0.5, deviation 0.57735, t(3, 97.5 %) = 3.182446 (table value): half width 0.918693, cut to 0..1;
    with ten more shifts of each kind (24 in all) it is 2.068658 * 0.510754 / sqrt(24) = 0.215672.
    """
    pairs = [[True, True], [True, True], [False, False], [False, False]]
    found = share_interval(pairs)
    assert found is not None
    assert (found.mean, found.low, found.high) == (0.5, 0.0, 1.0)
    many = share_interval(pairs * 6)
    assert many is not None
    assert many.mean == 0.5
    assert many.half_width == pytest.approx(0.215672, abs=1e-6)


def test_a_share_met_always_or_never_keeps_its_doubt() -> None:
    """Ten shifts of eight hours that all met it: at least 69 %, as ten trials say, not 95 % as eighty."""
    for met, hits in ((True, 10), (False, 0)):
        assert share_interval([[met] * 8] * 10) == binomial_interval(hits, 10)


def test_a_share_of_no_case_is_not_defined() -> None:
    """No hour long enough, no share; replications without a case do not count."""
    assert share_interval([]) is None
    assert share_interval([[], []]) is None
    assert share_interval([[True], [], [False]]) == binomial_interval(1, 2)


def test_one_replication_of_several_cases_has_no_interval() -> None:
    """The spread between shifts cannot be seen in one shift."""
    found = share_interval([[True, False, True, True]])
    assert found is not None
    assert (found.mean, found.low, found.high) == (0.75, None, None)
