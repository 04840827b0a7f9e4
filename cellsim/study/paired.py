"""Differences between cells that were run with the same luck, replication by replication."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import stdtr

from cellsim.study.statistics import LEVEL, t_interval, t_quantile


@dataclass(frozen=True, slots=True)
class Paired:
    """The mean of the differences of paired values, other minus base.

    `correlation` of the two, None where one of them never changes.  `gain` is how many times more
    replications two independent studies would need for the same half width: the health of the pairing.
    `p` is the chance of a mean so far from 0 if there were no difference.
    """

    mean: float
    deviation: float
    count: int
    correlation: float | None
    gain: float | None
    p: float

    def half_width(self, level: float = LEVEL) -> float:
        """Half the width of Student's interval of the mean difference."""
        spread = self.deviation / math.sqrt(self.count)
        return t_quantile((1 + level) / 2, self.count - 1) * spread

    def interval(self, level: float = LEVEL) -> tuple[float, float]:
        """Student's interval of the mean difference."""
        half = self.half_width(level)
        return self.mean - half, self.mean + half


def paired(base: Sequence[float], other: Sequence[float]) -> Paired:
    """Compare values that belong together, replication by replication (Student 1908, Biometrika 6, 1-25).

    Raises:
        ValueError: the two have different numbers of values, or fewer than two.
    """
    if len(base) != len(other) or len(base) < 2:
        raise ValueError(f"{len(base)} and {len(other)} values; wanted are as many of each, at least two")
    differences = [b - a for a, b in zip(base, other, strict=True)]
    n = len(differences)
    mean = t_interval(differences).mean
    variance = _covariance(differences, differences)
    own, others, both = _covariance(base, base), _covariance(other, other), _covariance(base, other)
    p = 1.0 if mean == 0 else 0.0
    if variance > 0:
        p = float(2 * stdtr(n - 1, -abs(mean) / math.sqrt(variance / n)))
    return Paired(
        mean,
        math.sqrt(variance),
        n,
        both / math.sqrt(own * others) if own > 0 and others > 0 else None,
        (own + others) / variance if variance > 0 else None,
        p,
    )


def _covariance(x: Sequence[float], y: Sequence[float]) -> float:
    mean_x, mean_y = math.fsum(x) / len(x), math.fsum(y) / len(y)
    return math.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / (len(x) - 1)


def holm(chances: Sequence[float]) -> list[float]:
    """Adjusted p values: each may be held against the level that all comparisons together shall keep.

    Holm (1979), A simple sequentially rejective multiple test procedure, Scandinavian Journal of Statistics
    6, 65-70.  Valid under any dependence, so also for proposals that share their luck.
    """
    order = sorted(range(len(chances)), key=lambda k: chances[k])
    adjusted = [0.0] * len(chances)
    highest = 0.0
    for rank, k in enumerate(order):
        highest = max(highest, min(1.0, (len(chances) - rank) * chances[k]))
        adjusted[k] = highest
    return adjusted


def holm_levels(chances: Sequence[float], level: float = LEVEL) -> list[float]:
    """Confidence of each interval such that it leaves out 0 exactly where Holm's test sees a difference.

    The j-th smallest p of m has 1 - a / (m - j + 1) as long as all before it are significant; from the first
    that is not on all have the level of that one.
    """
    order = sorted(range(len(chances)), key=lambda k: chances[k])
    levels = [0.0] * len(chances)
    stopped: float | None = None
    for rank, k in enumerate(order):
        share = (1 - level) / (len(chances) - rank)
        levels[k] = 1 - share if stopped is None else stopped
        if stopped is None and chances[k] > share:
            stopped = 1 - share
    return levels


def needed_to_tell(found: Paired, level: float = LEVEL, most: int = 1_000_000) -> int | None:
    """How many replications in all would show that a difference of this size is none by chance.

    The smallest n with t(n - 1) s / sqrt(n) below the mean; None where that is beyond `most`, or where the
    mean is 0.
    """
    if found.mean == 0 or found.deviation == 0:
        return None
    low, high = 2, most
    size = abs(found.mean)

    def tells(n: int) -> bool:
        return t_quantile((1 + level) / 2, n - 1) * found.deviation / math.sqrt(n) < size

    if not tells(high):
        return None
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if tells(middle) else (middle + 1, high)
    return low
