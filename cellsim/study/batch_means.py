"""An interval from one long run: means of batches that are long enough to be nearly independent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.study.statistics import Interval, t_interval

MANY, FEW = 20, 10  # numbers of batches that are tried, the shorter batches first


@dataclass(frozen=True, slots=True)
class BatchMeans:
    """The mean of a run with Student's interval over its batches, and the lag-1 correlation of these."""

    interval: Interval
    lag1: float
    batches: int

    @property
    def are_long_enough(self) -> bool:
        """Whether the means look independent: |lag-1 correlation| < 1.96 / sqrt(number of batches)."""
        return abs(self.lag1) < 1.96 / math.sqrt(self.batches)


def batch_means(values: Sequence[float], batches: int) -> BatchMeans:
    """Batch means of a settled series; values at its start that fill no batch are left out.

    Conway (1963), Some tactical problems in digital simulation, Management Science 10(1), 47-61; the lag-1
    check as in Law (2015), Simulation Modeling and Analysis, section 9.5.3 (both from memory).

    Raises:
        ValueError: there are fewer than two batches, or fewer values than batches.
    """
    if batches < 2 or len(values) < batches:
        raise ValueError(
            f"{batches} batches of {len(values)} values; at least 2, each of a value, are wanted"
        )
    size = len(values) // batches
    means = (
        np.asarray(values, dtype=float)[len(values) - size * batches :].reshape(batches, size).mean(axis=1)
    )
    apart = means - means.mean()
    variance = float(apart @ apart)
    lag1 = float(apart[:-1] @ apart[1:]) / variance if variance > 0 else 0.0
    return BatchMeans(t_interval(means.tolist()), lag1, batches)


def from_one_run(values: Sequence[float]) -> Interval:
    """The mean of a settled series with an interval, or without one where no batches look independent."""
    for batches in (MANY, FEW):
        if len(values) >= 2 * batches and (found := batch_means(values, batches)).are_long_enough:
            return found.interval
    return Interval(float(np.mean(values)), None, None)
