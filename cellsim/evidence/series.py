"""What measured times show before a law is fitted: outliers, memory, two regimes, a change of level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

FloatArray = NDArray[np.float64]
STANDS_OUT = 0.01  # share of plain samples in which a value is said to stand out
LEVEL_SHIFT = 1.358  # 5 % limit of the largest deviation of a Brownian bridge (Kolmogorov; from memory)
CLEARLY = 6.0  # BIC by which two regimes must be better than one
NARROWEST = 1e-3  # of the spread of all values: the least spread of one regime
LEVEL = 0.95


def outliers(values: Sequence[float], chance: float = STANDS_OUT) -> tuple[int, ...]:
    """The places of values that stand out, as times and as logarithms of times alike.

    Times may be skewed or not; a value that only one of the two scales finds far is none.  `chance`: how
    often a normal or lognormal sample without any is at most said to have one.

    Raises:
        ValueError: there are fewer than four values, or one is not above 0.
    """
    both = (_standing_out(scale, chance) for scale in (_logs(values, 4), np.asarray(values, dtype=float)))
    return tuple(sorted(set.intersection(*both)))


def _standing_out(values: FloatArray, chance: float) -> set[int]:
    """The farthest value is taken away again and again, at most a fifth of all; those up to the last one
    that is beyond its limit stand out.

    Source: Rosner, B. (1983), Percentage points for a generalized ESD many-outlier procedure, Technometrics
    25, 165-172 (from memory).
    """
    n, left = len(values), list(range(len(values)))
    taken: list[int] = []
    found = 0
    for i in range(max(1, n // 5)):
        rest = values[left]
        deviation = float(rest.std(ddof=1))
        if deviation == 0:
            break
        distances = np.abs(rest - rest.mean())
        far = int(np.argmax(distances))
        quantile = float(stats.t.ppf(1 - chance / (2 * (n - i)), n - i - 2))
        limit = (n - i - 1) * quantile / math.sqrt((n - i - 2 + quantile**2) * (n - i))
        if distances[far] / deviation > limit:
            found = i + 1
        taken.append(left.pop(far))
    return set(taken[:found])


@dataclass(frozen=True, slots=True)
class Memory:
    """Autocorrelations of lags 1, 2, ...; the limit within which chance leaves 95 % of each; all together.

    `chance` is that of a Ljung-Box statistic at least as large if there were no memory.
    """

    correlations: tuple[float, ...]
    limit: float
    statistic: float
    chance: float

    @property
    def sums_vary(self) -> int:
        """Whether sums of times in a row vary more (1) or less (-1) than those of independent times.

        A sum of many varies 1 + 2 (r_1 + r_2 + ...) times as much, as a variance.  0 where the first lag and
        all lags together have different signs, as in a swing: then it depends on how long it is.
        """
        first, together = self.correlations[0], math.fsum(self.correlations)
        return int(math.copysign(1, first)) if first * together > 0 else 0


def memory(values: Sequence[float], lags: int = 5) -> Memory:
    """Whether a time depends on those before it.

    Q = n (n + 2) sum r_k^2 / (n - k), chi-square with as many degrees of freedom as lags (Ljung and Box 1978,
    Biometrika 65, 297-303).

    Raises:
        ValueError: there are not more values than lags by two, or all are the same.
    """
    array = np.asarray(values, dtype=np.float64)
    n = len(array)
    if n < lags + 3:
        raise ValueError(f"{n} values are too few for {lags} lags")
    centred = array - array.mean()
    power = float(centred @ centred)
    if power == 0:
        raise ValueError("all values are the same; they have no correlation")
    found = tuple(float(centred[:-k] @ centred[k:]) / power for k in range(1, lags + 1))
    statistic = n * (n + 2) * math.fsum(r * r / (n - k) for k, r in enumerate(found, start=1))
    return Memory(found, 1.96 / math.sqrt(n), statistic, float(stats.chi2.sf(statistic, lags)))


@dataclass(frozen=True, slots=True)
class Regimes:
    """One regime against two, on logarithms: weights, medians and spreads (of logarithms) of the two."""

    weights: tuple[float, float]
    medians: tuple[float, float]
    spreads: tuple[float, float]
    bic_one: float
    bic_two: float

    @property
    def two(self) -> bool:
        """Whether two regimes are clearly better than one."""
        return self.bic_two < self.bic_one - CLEARLY


def regimes(values: Sequence[float], sweeps: int = 500, narrowest: float = 0.0) -> Regimes:
    """Whether times come from two ways of working: a mixture of two normal laws of logarithms, by EM.

    Begins at the quartiles (Dempster, Laird and Rubin 1977 for EM; from memory); judged by BIC with five
    parameters against two.  `narrowest`: the least spread (of logarithms) of one regime.
    Readings of a watch are alike by rounding, and a few of them look like a regime of no spread.

    Raises:
        ValueError: there are fewer than eight values, or one is not above 0.
    """
    logs = _logs(values, 8)
    n = len(logs)
    one = float(np.sum(stats.norm.logpdf(logs, logs.mean(), logs.std())))
    centres = np.quantile(logs, [0.25, 0.75])
    spreads, weights = np.full(2, logs.std()), np.full(2, 0.5)
    least = max(narrowest, NARROWEST * logs.std())
    for _ in range(sweeps):
        densities = weights * stats.norm.pdf(logs[:, None], centres, spreads)
        shares = densities / densities.sum(axis=1, keepdims=True)
        totals = shares.sum(axis=0)
        weights, centres = totals / n, (shares * logs[:, None]).sum(axis=0) / totals
        spreads = np.maximum(least, np.sqrt((shares * (logs[:, None] - centres) ** 2).sum(axis=0) / totals))
    two = float(np.sum(np.log((weights * stats.norm.pdf(logs[:, None], centres, spreads)).sum(axis=1))))
    order = np.argsort(centres)
    first, second = (int(k) for k in order)
    return Regimes(
        (float(weights[first]), float(weights[second])),
        (math.exp(centres[first]), math.exp(centres[second])),
        (float(spreads[first]), float(spreads[second])),
        2 * math.log(n) - 2 * one,
        5 * math.log(n) - 2 * two,
    )


@dataclass(frozen=True, slots=True)
class Shift:
    """Where a series changes its level most: after so many values; above the limit it does at 5 %."""

    after: int
    statistic: float

    @property
    def there(self) -> bool:
        """Whether the level changes."""
        return self.statistic > LEVEL_SHIFT


def level_shift(values: Sequence[float]) -> Shift:
    """The largest cumulative deviation from the mean, in standard deviations x root n.

    Source: Page (1954) for the cumulative sum; limit of the Brownian bridge (both from memory).

    Raises:
        ValueError: there are fewer than eight values, or all are the same.
    """
    array = np.asarray(values, dtype=np.float64)
    if len(array) < 8:
        raise ValueError(f"{len(array)} values are too few to see a change of level")
    deviation = float(array.std(ddof=1))
    if deviation == 0:
        raise ValueError("all values are the same; there is no change of level")
    sums = np.abs(np.cumsum(array - array.mean()))
    after = int(np.argmax(sums[:-1]))
    return Shift(after + 1, float(sums[after]) / (deviation * math.sqrt(len(array))))


def cycles_needed(mean: float, deviation: float, within: float = 0.05, pilot: int = 0) -> int:
    """How many cycles show the mean to a share of it, 95 % sure: n = (q s / (k mean))^2, rounded up.

    q is the normal quantile, or Student's with `pilot` - 1 degrees of freedom where the deviation comes from
    so many cycles.  Common practice of time study, for example International Labour Office (1992),
    Introduction to Work Study, 4th edition (from memory).

    Raises:
        ValueError: mean or share are not above 0, or the deviation is negative.
    """
    if not mean > 0 or not within > 0 or deviation < 0:
        raise ValueError("mean and share are above 0, the deviation is not below it")
    tail = 0.5 + LEVEL / 2
    quantile = float(stats.t.ppf(tail, pilot - 1)) if pilot > 1 else float(stats.norm.ppf(tail))
    return max(1, math.ceil((quantile * deviation / (within * mean)) ** 2 - 1e-9))


def observations_needed(share: float, within: float) -> int:
    """How many glances at random moments show a share to plus or minus `within`: n = z^2 p (1 - p) / d^2.

    Work sampling (Tippett 1935; from memory).

    Raises:
        ValueError: the share is not between 0 and 1, or `within` is not above 0.
    """
    if not 0 < share < 1 or not within > 0:
        raise ValueError("a share lies between 0 and 1 and is wanted to a number above 0")
    return math.ceil((float(stats.norm.ppf(0.5 + LEVEL / 2)) / within) ** 2 * share * (1 - share) - 1e-9)


def grain(values: Sequence[float]) -> float:
    """The step to which values are rounded: the largest usual one that divides all of them; 0 if none."""
    array = np.asarray(values, dtype=np.float64)
    for step in (60.0, 30.0, 10.0, 5.0, 1.0, 0.6, 0.5, 0.1):
        if np.all(np.abs(array / step - np.round(array / step)) < 1e-6):
            return step
    return 0.0


def _logs(values: Sequence[float], least: int) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if len(array) < least:
        raise ValueError(f"{len(array)} values are too few; at least {least} are needed")
    if not np.all(array > 0):
        raise ValueError("a value that is not above 0 has no logarithm")
    return np.log(array)
