"""Statistics of independent replications: intervals for means, ratios and percentiles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import bdtr, betaincinv, stdtrit

LEVEL = 0.95
PERCENTILE_RULE = (
    "inverse of the empirical distribution: the smallest value that at least this share does not exceed"
)


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate with its confidence interval; the ends are None where the data allow none."""

    mean: float
    low: float | None
    high: float | None
    level: float = LEVEL

    def as_list(self) -> list[float | None]:
        """The two ends."""
        return [self.low, self.high]

    @property
    def half_width(self) -> float | None:
        """Half the width of the interval."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2


def entry(interval: Interval | None, unit: str) -> dict[str, Any]:
    """An estimate that cannot be negative as an entry of a result: mean, interval and unit."""
    if interval is None:
        return {"mean": None, "interval": [None, None], "unit": unit}
    low = None if interval.low is None else max(0.0, interval.low)
    return {"mean": interval.mean, "interval": [low, interval.high], "unit": unit}


def t_quantile(share: float, freedom: int) -> float:
    """Quantile of Student's t distribution."""
    return float(stdtrit(freedom, share))


def t_interval(values: Sequence[float], level: float = LEVEL) -> Interval:
    """Mean of independent values with Student's t interval (n - 1 degrees of freedom).

    One value has no interval.

    Raises:
        ValueError: there is no value.
    """
    n = len(values)
    if n == 0:
        raise ValueError("an interval needs at least one value")
    mean = math.fsum(values) / n
    if n == 1:
        return Interval(mean, None, None, level)
    variance = math.fsum((value - mean) ** 2 for value in values) / (n - 1)
    half = t_quantile((1 + level) / 2, n - 1) * math.sqrt(variance / n)
    return Interval(mean, mean - half, mean + half, level)


def ratio_interval(above: Sequence[float], below: Sequence[float], level: float = LEVEL) -> Interval | None:
    """Sum of `above` / sum of `below` over replications, with a jackknife interval cut at 0.

    The jackknifed estimate is R theta - (R - 1) mean of the leave-one-out ratios (Quenouille 1956; Law 2015,
    Simulation Modeling and Analysis, section 9.4.2, from memory).  Where it leaves the range of the ratios of
    single replications, as it may when few of them tell anything, the plain ratio stands: so a share stays
    within 0..1.  None where nothing was below.
    """
    x, y = np.asarray(above, dtype=float), np.asarray(below, dtype=float)
    total = float(y.sum())
    if total == 0:
        return None
    n = len(x)
    whole = float(x.sum()) / total
    if n == 1 or np.any(total - y == 0):
        return Interval(whole, None, None, level)
    pseudo = n * whole - (n - 1) * (x.sum() - x) / (total - y)
    found = t_interval(pseudo.tolist(), level)
    single = x[y > 0] / y[y > 0]
    mean = found.mean if single.min() <= found.mean <= single.max() else whole
    half = found.half_width
    assert half is not None
    return Interval(mean, max(0.0, mean - half), mean + half, level)


def binomial_interval(hits: int, trials: int, level: float = LEVEL) -> Interval:
    """Share of independent trials that met something, with the exact interval of Clopper and Pearson (1934).

    Biometrika 26, 404-413.  It holds at least the stated level, whatever the share.

    Raises:
        ValueError: there is no trial.
    """
    if trials == 0:
        raise ValueError("a share needs at least one trial")
    tail = (1 - level) / 2
    low = float(betaincinv(hits, trials - hits + 1, tail)) if hits else 0.0
    high = float(betaincinv(hits + 1, trials - hits, 1 - tail)) if hits < trials else 1.0
    return Interval(hits / trials, low, high, level)


def share_interval(groups: Sequence[Sequence[bool]], level: float = LEVEL) -> Interval | None:
    """Share of cases that met something, where the cases of one replication belong together.

    With one case per replication the cases are independent and the binomial interval holds.  With several,
    the shares of the replications give a t interval, cut to 0..1; where all agree, each replication counts
    as one trial.  None without a case.
    """
    used = [group for group in groups if len(group)]
    if not used:
        return None
    hits, trials = sum(map(sum, used)), sum(map(len, used))
    if trials == len(used):
        return binomial_interval(hits, trials, level)
    if hits in (0, trials):
        return binomial_interval(len(used) if hits else 0, len(used), level)
    found = t_interval([sum(group) / len(group) for group in used], level)
    if found.low is None or found.high is None:
        return found
    return Interval(found.mean, max(0.0, found.low), min(1.0, found.high), level)


def percentile(values: Sequence[float], share: float) -> float:
    """The `share` quantile by the rule named in PERCENTILE_RULE."""
    return float(np.quantile(np.asarray(values, dtype=float), share, method="inverted_cdf"))


def percentile_interval(
    values: Sequence[float], share: float, level: float = LEVEL
) -> tuple[float | None, float | None]:
    """Interval for a quantile of independent values from order statistics, with no law assumed.

    The ranks r, s are the largest with P(B <= r - 1) <= a/2 and the smallest with P(B >= s) <= a/2 for B
    binomial; an end is None where the sample is too small for a bound (David and Nagaraja 2003,
    Order Statistics, section 7.1, from memory).
    """
    n = len(values)
    ordered = np.sort(np.asarray(values, dtype=float))
    tail = (1 - level) / 2
    below = [float(bdtr(k, n, share)) for k in range(n)]
    low_ranks = [r for r in range(1, n + 1) if below[r - 1] <= tail]
    high_ranks = [s for s in range(1, n + 1) if 1 - below[s - 1] <= tail]
    low = float(ordered[low_ranks[-1] - 1]) if low_ranks else None
    high = float(ordered[high_ranks[0] - 1]) if high_ranks else None
    return low, high


def pooled_percentile_interval(
    groups: Sequence[Sequence[float]], share: float, level: float = LEVEL
) -> tuple[float | None, float | None]:
    """Interval for a quantile of values pooled over replications, each with values that belong together.

    For each candidate x the share of values not above x is taken in every replication, with a t interval
    over replications of its log odds (so that small shares, whose means are skewed, are held as often as
    others; for shares of a sample: Korn, E. L. and Graubard, B. I. (1998), Survey Methodology 24, 193-201,
    from memory); the interval keeps the x whose interval contains `share`.
    """
    if len(groups) < 2:
        return None, None
    ordered = [np.sort(np.asarray(g, dtype=float)) for g in groups]
    candidates = np.unique(np.concatenate(ordered))
    shares = np.array([np.searchsorted(g, candidates, side="right") / len(g) for g in ordered])
    n = len(groups)
    half = t_quantile((1 + level) / 2, n - 1) * shares.std(axis=0, ddof=1) / math.sqrt(n)
    mean = shares.mean(axis=0)
    between = (mean > 0) & (mean < 1)
    inner = np.where(between, mean, 0.5)
    odds, reach_of_odds = np.log(inner / (1 - inner)), half / (inner * (1 - inner))
    ends = [np.where(between, 1 / (1 + np.exp(-(odds + d * reach_of_odds))), mean) for d in (-1, 1)]
    reach, passed = np.nonzero(ends[1] >= share)[0], np.nonzero(ends[0] >= share)[0]
    low = float(candidates[reach[0]]) if reach.size else None
    high = float(candidates[passed[0]]) if passed.size else None
    return low, high
