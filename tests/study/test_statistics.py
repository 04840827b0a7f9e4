"""Intervals and percentiles against worked values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from cellsim.study.statistics import (
    percentile,
    percentile_interval,
    pooled_percentile_interval,
    ratio_interval,
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
    [(20, 0.5, 6, 15), (30, 0.5, 10, 21), (30, 0.1, None, 8), (100, 0.9, 84, 96), (200, 0.95, 184, 197)],
)
def test_ranks_of_a_percentile_interval(count: int, share: float, low: int | None, high: int | None) -> None:
    """The order statistics that bound a quantile with 95 % whatever the law; None = too small a sample."""
    values = np.random.default_rng(1).permutation(np.arange(1, count + 1))  # the value of rank r is r
    assert percentile_interval(values.tolist(), share) == (low, high)


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


def test_ratio_of_nothing_is_not_defined() -> None:
    """Nothing tested, nobody on duty: there is no ratio, and none is made up."""
    assert ratio_interval([0.0, 0.0], [0.0, 0.0]) is None


def test_ratio_with_one_telling_replication_has_no_interval() -> None:
    """When all of the denominator lies in one replication, leaving it out leaves nothing to divide by."""
    found = ratio_interval([3.0, 0.0], [4.0, 0.0])
    assert found is not None
    assert (found.mean, found.low, found.high) == (0.75, None, None)
