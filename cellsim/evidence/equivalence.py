"""Whether two sets of runs or shifts tell the same: differences with intervals, and sameness to a margin.

That no difference is seen proves nothing; sameness is claimed only where the whole interval of the difference
lies within a margin that was stated before looking.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import stats

FloatArray = NDArray[np.float64]
CHANCE = 0.05
Verdict = Literal["same", "differs", "cannot tell"]
Moved = Literal["identical", "within the margin", "moved", "undecided"]


@dataclass(frozen=True, slots=True)
class Difference:
    """Mean of the model less mean of what was observed, its standard error and degrees of freedom."""

    mean: float
    error: float
    freedom: float

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Welch's interval of the difference."""
        half = float(stats.t.ppf((1 + level) / 2, self.freedom)) * self.error
        return self.mean - half, self.mean + half

    def chance(self) -> float:
        """The chance of a difference so large if there were none (two sides)."""
        return float(2 * stats.t.sf(abs(self.mean) / self.error, self.freedom)) if self.error > 0 else 1.0

    def chance_beyond(self, margin: float) -> float:
        """The larger chance of what was seen if the truth lay at one end of the margin (two one-sided tests).

        Source: Schuirmann, D. J. (1987), A comparison of the two one-sided tests procedure and the power
        approach, Journal of Pharmacokinetics and Biopharmaceutics 15, 657-680 (from memory).
        """
        if self.error == 0:
            return 0.0 if abs(self.mean) < margin else 1.0
        ends = ((self.mean + margin) / self.error, (margin - self.mean) / self.error)
        return max(float(stats.t.sf(end, self.freedom)) for end in ends)

    def verdict(self, margin: float, chance: float = CHANCE) -> Verdict:
        """Same to the margin, surely further apart than it, or neither can be told."""
        low, high = self.interval(1 - 2 * chance)
        if -margin < low and high < margin:
            return "same"
        return "differs" if low > margin or high < -margin else "cannot tell"


def difference(observed: Sequence[float], model: Sequence[float]) -> Difference:
    """The difference of two means whose spreads need not be alike.

    Source: Welch, B. L. (1947), The generalization of Student's problem when several different population
    variances are involved, Biometrika 34, 28-35.

    Raises:
        ValueError: one of the two has fewer than two values.
    """
    if min(len(observed), len(model)) < 2:
        raise ValueError(
            f"{len(observed)} observed and {len(model)} modelled; at least two of each are needed"
        )
    a, b = np.asarray(observed, dtype=float), np.asarray(model, dtype=float)
    own, other = a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)
    total = float(own + other)
    freedom = 1.0
    if total > 0:
        freedom = total**2 / float(own**2 / (len(a) - 1) + other**2 / (len(b) - 1))
    return Difference(float(b.mean() - a.mean()), math.sqrt(total), freedom)


def shifts_needed(
    spread: float,
    margin: float,
    *,
    truly: float = 0.0,
    power: float = 0.8,
    both: bool = False,
    model_error: float = 0.0,
) -> int:
    """How many shifts must be observed to find sameness to a margin with this chance.

    Normal theory: n = ((z_(1-a) + z_p') s / (m - |d|))^2 with p' = (1 + power) / 2 where the truth is no
    difference, else the power itself.  The model is run so often that its own error does not count, or it has
    `model_error` e and s^2 / n + e^2 takes the place of s^2 / n; with `both` it is run as often as observed.

    Args:
        spread: standard deviation of a shift total divided by its mean.
        margin, truly: margin and true difference as shares of the mean.
        model_error: standard error of the model's mean as a share of it.

    Raises:
        ValueError: the true difference is not within the margin, a number is not above 0, or the model is so
            uncertain that no number of shifts is enough.
    """
    if not spread > 0 or not margin > abs(truly):
        raise ValueError("the spread is above 0 and the margin wider than the true difference")
    wanted = (1 + power) / 2 if truly == 0 else power
    quantiles = float(stats.norm.ppf(1 - CHANCE)) + float(stats.norm.ppf(wanted))
    left = ((margin - abs(truly)) / quantiles) ** 2 - model_error**2
    if left <= 0:
        raise ValueError("the model is too uncertain; no number of shifts is enough before it is run more")
    return math.ceil((2 if both else 1) * spread**2 / left - 1e-9)


def rank_chance(observed: float, model: Sequence[float]) -> float:
    """The chance of a value so far out among those of the model if it were one of them: by its rank.

    2 min(r, R + 2 - r) / (R + 1) with r the rank from below among R + 1, at most 1 (Barnard 1963; from
    memory).
    """
    rank = 1 + sum(value < observed for value in model)
    return min(1.0, 2 * min(rank, len(model) + 2 - rank) / (len(model) + 1))


def hourly_distance(
    observed: Sequence[Sequence[float]],
    model: Sequence[Sequence[float]],
    permutations: int = 1999,
    seed: int = 0,
) -> tuple[float, float]:
    """Largest distance between the distributions of hours, and its chance if shifts were interchangeable.

    Kolmogorov-Smirnov distance of pooled hours; whole shifts are permuted, since the hours of a shift share
    their luck (Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses; from memory).

    Returns:
        Distance and chance; the chance counts the observed order as one of the permutations.
    """
    shifts = [np.asarray(row, dtype=float) for row in (*observed, *model)]
    count = len(observed)

    def distance(order: NDArray[np.int64]) -> float:
        first = np.concatenate([shifts[k] for k in order[:count]])
        second = np.concatenate([shifts[k] for k in order[count:]])
        return float(stats.ks_2samp(first, second).statistic)

    found = distance(np.arange(len(shifts)))
    rng = np.random.default_rng(seed)
    as_far = sum(distance(rng.permutation(len(shifts))) >= found - 1e-12 for _ in range(permutations))
    return found, (1 + as_far) / (permutations + 1)


@dataclass(frozen=True, slots=True)
class Comparison:
    """How far a figure moved between two studies with the same luck, held against a margin.

    `needed` is how many replications would tell where it is undecided, None where no number would.
    """

    verdict: Moved
    mean: float
    low: float
    high: float
    margin: float
    needed: int | None = None


def moved(before: Sequence[float], after: Sequence[float], margin: float, chance: float = 0.01) -> Comparison:
    """Whether a figure moved by more than a margin, from paired replications.

    Within it where |mean| + h < margin, moved where |mean| - h > margin, h the half width at 1 - `chance`.

    Args:
        margin: in the unit of the figure.

    Raises:
        ValueError: the two have different numbers of values, or fewer than two.
    """
    if len(before) != len(after) or len(before) < 2:
        raise ValueError(f"{len(before)} and {len(after)} values; wanted are as many of each, at least two")
    gaps = np.asarray(after, dtype=float) - np.asarray(before, dtype=float)
    mean, n = float(gaps.mean()), len(gaps)
    if not np.any(gaps):
        return Comparison("identical", 0.0, 0.0, 0.0, margin)
    deviation = float(gaps.std(ddof=1))
    half = float(stats.t.ppf(1 - chance / 2, n - 1)) * deviation / math.sqrt(n)
    if abs(mean) + half < margin:
        return Comparison("within the margin", mean, mean - half, mean + half, margin)
    if abs(mean) - half > margin:
        return Comparison("moved", mean, mean - half, mean + half, margin)
    apart = abs(abs(mean) - margin)
    z = float(stats.norm.ppf(1 - chance / 2))
    needed = math.ceil((z * deviation / apart) ** 2) if apart > 0 else None
    return Comparison("undecided", mean, mean - half, mean + half, margin, needed)
