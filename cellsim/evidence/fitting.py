"""Laws of durations fitted to records: maximum likelihood with what is censored or was never logged.

All laws begin at 0: a free beginning follows the smallest value and spoils the rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats
from scipy.optimize import minimize

FloatArray = NDArray[np.float64]
TIE = 2.0  # AIC closer than this does not tell laws apart (Burnham and Anderson 2002; from memory)
FEW = 15  # values below which no law is told from another
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Family:
    """A law that may be fitted: its name in cell files, the law of scipy, how many shapes it has."""

    name: str
    law: Any
    shapes: int

    def frozen(self, parameters: Sequence[float] | FloatArray) -> Any:
        """scipy's law with these parameters (shapes, then scale) and beginning at 0."""
        *shapes, scale = parameters
        return self.law(*shapes, loc=0, scale=scale)


FAMILIES = {
    "exponential": Family("exponential", stats.expon, 0),
    "weibull": Family("weibull", stats.weibull_min, 1),
    "gamma": Family("gamma", stats.gamma, 1),
    "lognormal": Family("lognormal", stats.lognorm, 1),
}


@dataclass(frozen=True, slots=True)
class Sample:
    """Durations of one kind, any unit: `values`, of which `censored` had not ended yet when watched last.

    `unseen_below`: shorter ones were never written down.
    """

    values: FloatArray
    censored: NDArray[np.bool_]
    unseen_below: float = 0.0

    @property
    def ended(self) -> FloatArray:
        """The durations whose end was seen."""
        return self.values[~self.censored]


def sample(values: ArrayLike, censored: ArrayLike = (), unseen_below: float = 0.0) -> Sample:
    """Durations as arrays.

    Raises:
        ValueError: a duration is negative or no number, none has ended, lengths differ, or one that should
            never have been written down is there.
    """
    array = np.asarray(values, dtype=np.float64)
    open_ = np.asarray(censored, dtype=bool)
    if len(open_) == 0:
        open_ = np.zeros(len(array), dtype=bool)
    if len(open_) != len(array):
        raise ValueError(f"{len(array)} durations and {len(open_)} marks of those that had not ended")
    if not np.all(np.isfinite(array)) or np.any(array < 0):
        raise ValueError("durations are numbers of at least 0")
    if not np.any(~open_):
        raise ValueError("none of the durations has ended; nothing can be fitted")
    if unseen_below < 0 or np.any(array[~open_] < unseen_below):
        raise ValueError(f"durations below {unseen_below:g} were never written down, yet some are there")
    return Sample(array, open_, float(unseen_below))


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted law: `parameters` are shapes, then scale; likelihood and what follows from it.

    `aicc` is AIC corrected for few values (Hurvich and Tsai 1989; from memory), by which laws are ranked.
    """

    family: Family
    parameters: tuple[float, ...]
    log_likelihood: float
    count: int

    @property
    def free(self) -> int:
        """How many parameters were fitted."""
        return len(self.parameters)

    @property
    def aic(self) -> float:
        """2 k - 2 L (Akaike 1974; from memory)."""
        return 2 * self.free - 2 * self.log_likelihood

    @property
    def bic(self) -> float:
        """k ln n - 2 L (Schwarz 1978; from memory)."""
        return self.free * math.log(self.count) - 2 * self.log_likelihood

    @property
    def aicc(self) -> float:
        """AIC + 2 k (k + 1) / (n - k - 1); infinite where there are too few values."""
        left = self.count - self.free - 1
        return self.aic + 2 * self.free * (self.free + 1) / left if left > 0 else math.inf

    @property
    def law(self) -> Any:
        """scipy's law with the fitted parameters."""
        return self.family.frozen(self.parameters)

    @property
    def mean(self) -> float:
        """Mean of the fitted law."""
        return float(self.law.mean())

    @property
    def spread(self) -> float:
        """Standard deviation of the fitted law divided by its mean."""
        return float(self.law.std()) / self.mean

    def unseen_share(self, below: float) -> float:
        """Share of all durations that are shorter than this."""
        return float(self.law.cdf(below))


def fitted(found: Sample, name: str) -> Fit:
    """A law fitted by maximum likelihood.

    The likelihood is the product of densities of what has ended and of chances to last longer of what has
    not, each divided by the chance to be seen at all.

    Raises:
        ValueError: a duration of 0 is impossible under the law, or fewer values than parameters differ.
    """
    family = FAMILIES[name]
    ended = found.ended
    if name == "exponential":
        over = found.values - found.unseen_below
        parameters: tuple[float, ...] = (float(np.maximum(over, 0).sum()) / len(ended),)
        if parameters[0] <= 0:
            raise ValueError("all durations are 0; no law has a mean of 0")
        return Fit(family, parameters, log_likelihood(found, family, parameters), len(found.values))
    if np.any(ended == 0):
        raise ValueError(f"a duration of 0 is impossible under a {name} law")
    if len(np.unique(ended)) < 2:
        raise ValueError(f"a {name} law takes at least two different values")
    if found.unseen_below == 0:
        data = stats.CensoredData.right_censored(found.values, found.censored)
        *shapes, _, scale = family.law.fit(data if found.censored.any() else found.values, floc=0)
        parameters = (*map(float, shapes), float(scale))
    else:
        parameters = _by_search(found, family)
    return Fit(family, parameters, log_likelihood(found, family, parameters), len(found.values))


def log_likelihood(found: Sample, family: Family, parameters: Sequence[float] | FloatArray) -> float:
    """Logarithm of the likelihood of durations under a law."""
    law = family.frozen(parameters)
    ended = float(np.sum(law.logpdf(found.ended)))
    going = float(np.sum(law.logsf(found.values[found.censored])))
    seen = len(found.values) * float(law.logsf(found.unseen_below)) if found.unseen_below else 0.0
    return ended + going - seen


def _by_search(found: Sample, family: Family) -> tuple[float, ...]:
    """Parameters of the largest likelihood, searched for in logarithms from those without truncation."""
    free = Sample(found.values, found.censored)
    start = np.log(fitted(free, family.name).parameters)

    def loss(logs: FloatArray) -> float:
        value = -log_likelihood(found, family, np.exp(logs))
        return value if math.isfinite(value) else 1e300

    best = minimize(
        loss, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 5000}
    )
    return tuple(float(value) for value in np.exp(best.x))


def ranked(found: Sample, names: Sequence[str] = tuple(FAMILIES)) -> list[Fit]:
    """The laws that are possible, best first by AICc."""
    fits = []
    for name in names:
        try:
            fits.append(fitted(found, name))
        except ValueError:
            continue
    return sorted(fits, key=lambda fit: fit.aicc)


def chosen(fits: Sequence[Fit]) -> Fit:
    """The law to use: the best, or one with fewer parameters that the records do not tell from it."""
    best = fits[0]
    return min((fit for fit in fits if fit.aicc - best.aicc < TIE), key=lambda fit: (fit.free, fit.aicc))


def quantile_pairs(found: Sample, fit: Fit) -> list[tuple[float, float]]:
    """Each value whose end was seen, in order, beside the one that the law has at its place.

    The place is the middle of the step of the product-limit estimate (Kaplan and Meier 1958, Journal of the
    American Statistical Association 53, 457-481); without censored values that is (j - 1/2) / n (Hazen 1914;
    from memory).  Where short values are never seen, the law is taken above them.
    """
    order = np.lexsort((found.censored, found.values))
    values, censored = found.values[order], found.censored[order]
    hidden = float(fit.law.cdf(found.unseen_below)) if found.unseen_below else 0.0
    pairs, stays = [], 1.0
    for k, (value, open_) in enumerate(zip(values, censored, strict=True)):
        if open_:
            continue
        after = stays * (1 - 1 / (len(values) - k))
        place = 1 - (stays + after) / 2
        pairs.append((float(value), float(fit.law.ppf(hidden + place * (1 - hidden)))))
        stays = after
    return pairs


def kolmogorov(values: FloatArray, law: Any) -> float:
    """The largest distance between the law and the steps of the values (Kolmogorov-Smirnov)."""
    return float(stats.kstest(values, law.cdf).statistic)


def anderson_darling(values: FloatArray, law: Any) -> float:
    """A^2 = -n - sum (2 j - 1) (ln F(x_j) + ln(1 - F(x_n+1-j))) / n (Anderson, Darling 1954; from memory)."""
    ordered = np.sort(values)
    n = len(ordered)
    weights = 2 * np.arange(1, n + 1) - 1
    return float(-n - np.sum(weights * (law.logcdf(ordered) + law.logsf(ordered)[::-1])) / n)


def fit_chance(found: Sample, fit: Fit, resamples: int = 499, seed: int = 1) -> float:
    """The chance of values that fit at most as well, if the law were right: small = the law is wrong.

    Parametric bootstrap of Anderson and Darling's A^2 with the parameters fitted anew each time, since tables
    for known parameters are too kind after a fit (Stute, Gonzalez Manteiga and Presedo Quindimil 1993; from
    memory).  Only for durations that have all ended and were all seen.

    Raises:
        ValueError: some have not ended, or short ones were never written down.
    """
    if found.censored.any() or found.unseen_below:
        raise ValueError("whether a law fits is told only of durations that have ended and were all seen")
    result = stats.goodness_of_fit(
        fit.family.law,
        found.values,
        known_params={"loc": 0},
        statistic="ad",
        n_mc_samples=resamples,
        rng=np.random.default_rng(seed),
    )
    return float(result.pvalue)


def resampled(found: Sample, name: str, count: int, seed: int) -> list[Fit]:
    """Fits to samples drawn anew with replacement: how uncertain the parameters are (Efron 1979)."""
    rng = np.random.default_rng(seed)
    fits: list[Fit] = []
    while len(fits) < count:
        picked = rng.integers(len(found.values), size=len(found.values))
        try:
            again = sample(found.values[picked], found.censored[picked], found.unseen_below)
            fits.append(fitted(again, name))
        except ValueError:
            continue
    return fits


@dataclass(frozen=True, slots=True)
class Bounds:
    """A mean with its confidence bounds; no upper one where nothing was counted."""

    mean: float
    low: float
    high: float


def mean_between(total: float, count: int, level: float = LEVEL, by_count: bool = False) -> Bounds:
    """Mean time between events that come by chance, from the time watched and how many came.

    Chi-square: 2 T / chi2 with 2 r degrees of freedom above and 2 r + 2 below where the watch ended by the
    clock, 2 r in both where it ended with an event (Epstein and Sobel 1953; from memory).

    Raises:
        ValueError: nothing was watched.
    """
    if not total > 0 or count < 0:
        raise ValueError(f"{count} events in a time of {total:g}; the time watched must be above 0")
    tail = (1 - level) / 2
    low = 2 * total / stats.chi2.ppf(1 - tail, 2 * count if by_count else 2 * count + 2)
    if count == 0:
        return Bounds(math.inf, float(low), math.inf)
    return Bounds(total / count, float(low), float(2 * total / stats.chi2.ppf(tail, 2 * count)))


def availability_between(up: float, down: float, cycles: int, level: float = LEVEL) -> Bounds:
    """Availability from mean up and down times of so many cycles, both exponential: by the F distribution.

    Source: standard result for a ratio of two gamma means, in textbooks of reliability (from memory).

    Raises:
        ValueError: there is no cycle, or a mean is not above 0.
    """
    if cycles < 1 or up <= 0 or down <= 0:
        raise ValueError("availability takes at least one cycle with mean times above 0")
    tail = (1 - level) / 2
    ends = [1 / (1 + down / up * float(stats.f.ppf(q, 2 * cycles, 2 * cycles))) for q in (1 - tail, tail)]
    return Bounds(up / (up + down), ends[0], ends[1])
