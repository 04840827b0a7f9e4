"""Batch means of one long run against values worked out elsewhere, and how often the interval is right."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from cellsim.study.batch_means import batch_means, from_one_run

TWENTY = [3.0, 5.0, 4.0, 6.0, 8.0, 7.0, 5.0, 6.0, 4.0, 5.0, 7.0, 9.0, 8.0, 6.0, 5.0, 7.0, 6.0, 4.0, 5.0, 6.0]


def linked(luck: np.random.Generator, count: int, link: float = 0.9) -> np.ndarray:
    """A settled series in which each value is `link` times the last one plus a normal number."""
    steps = luck.normal(size=count)
    steps[0] /= np.sqrt(1 - link**2)
    return lfilter([1.0], [1.0, -link], steps)


def test_five_batches_of_twenty_values() -> None:
    """Batch means 4.5, 6.5, 6.25, 6.5, 5.25: mean 5.8, half width t(4) s / sqrt(5), all by hand."""
    found = batch_means(TWENTY, 5)
    assert found.interval.mean == pytest.approx(5.8)
    assert found.interval.half_width == pytest.approx(1.106231, abs=1e-6)
    assert found.lag1 == pytest.approx(-0.209449, abs=1e-6)
    assert found.are_long_enough


@pytest.mark.parametrize(
    ("batches", "half", "lag1", "enough"),
    [
        (10, 0.151682, -0.021486, True),
        (20, 0.156077, -0.174956, True),
        (200, 0.119705, 0.030877, True),
        (2000, 0.086186, 0.496122, False),
    ],
)
def test_a_linked_series(batches: int, half: float, lag1: float, enough: bool) -> None:
    """20 000 values linked by 0.9 (numpy, seed 11), computed apart: short batches are found out."""
    found = batch_means(linked(np.random.default_rng(11), 20_000).tolist(), batches)
    assert found.interval.mean == pytest.approx(0.023345, abs=1e-6)
    assert (found.interval.half_width, found.lag1) == pytest.approx((half, lag1), abs=1e-6)
    assert found.are_long_enough is enough


def test_values_that_fill_no_batch_are_left_out_at_the_start() -> None:
    """Seven values, three batches: the first value counts for nothing."""
    assert batch_means([99.0, 1, 3, 4, 6, 7, 9], 3).interval.mean == 5.0


def test_how_often_the_interval_of_one_run_covers_the_mean() -> None:
    """400 series of 1000 values linked by 0.5: between 91 and 98 % of the intervals hold the mean 0.

    If 95 % do, fewer than 91 % or more than 98 % are seen in about 1 of 1000 such tests (binomial, 400).
    """
    luck = np.random.default_rng(5)
    intervals = [from_one_run(linked(luck, 1000, 0.5).tolist()) for _ in range(400)]
    held = [i.low <= 0 <= i.high for i in intervals if i.low is not None and i.high is not None]
    assert len(held) > 390
    assert 0.91 < np.mean(held) < 0.98


def test_no_interval_where_no_batches_look_independent() -> None:
    """A series that drifts for ever has a mean and no interval, and so have few values."""
    found = from_one_run([float(k) for k in range(100)])
    assert (found.mean, found.low, found.high) == (49.5, None, None)
    assert from_one_run([1.0] * 19).low is None


@pytest.mark.parametrize(("values", "batches"), [([1.0, 2.0], 3), ([1.0, 2.0], 1)])
def test_batches_that_cannot_be(values: list[float], batches: int) -> None:
    """More batches than values, or one batch."""
    with pytest.raises(ValueError, match=f"{batches} batches of 2 values"):
        batch_means(values, batches)
