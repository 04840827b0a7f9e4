"""How often and how long: laws and bounds of stops, exponential unless the log tells another law apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats

from cellsim.evidence.fitting import (
    FEW,
    LEVEL,
    Bounds,
    Fit,
    Sample,
    chosen,
    fit_chance,
    fitted,
    mean_between,
    quantile_pairs,
    ranked,
    resampled,
    sample,
)
from cellsim.evidence.series import CLEARLY, Regimes, grain, regimes

WRONG_LAW = 0.01  # chance below which a law of lengths is not used
MOST_DRAWN = 200  # lengths up to which they may be written into a cell file themselves
STEADY = 0.01  # spread below which all lengths are the same
RARE = 0.02  # share of stops below which they are no kind of their own
FEWEST = 5  # stops that a kind of its own has at least
APART = 3.0  # medians of two kinds of stops differ at least by this factor (own choice)
RESAMPLES = 40  # fits that show how uncertain the mean of a law is (its deviation to about a tenth)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A law with the bounds of its mean, as values of the cell file (`value`), and why it was taken.

    Seconds.  `fits` says how well each law does; `chance` of a worse fit of the law taken, were it right;
    `quantiles` each duration in order beside the one that the law has at its place.
    """

    bounds: Bounds
    law: str
    value: dict[str, Any]
    why: str
    fits: tuple[dict[str, Any], ...] = ()
    chance: float | None = None
    quantiles: tuple[tuple[float, float], ...] = ()


def lengths_estimate(data: Sample, resamples: int = 199) -> Estimate:
    """The law of lengths.

    Bounds are chi-square where it is exponential (so many ends were seen), else those of `law_bounds`.

    Raises:
        ValueError: all lengths are 0.
    """
    ended = data.ended
    fit, why, fits = _told_apart(data)
    if len(ended) > 1 and float(ended.mean()) > 0 and float(ended.std()) < STEADY * float(ended.mean()):
        mean = float(ended.mean())
        return Estimate(Bounds(mean, mean, mean), "fixed", {"law": "fixed", "time": mean},
                        f"the lengths differ by less than {STEADY:.0%}")  # fmt: skip
    chance = None
    complete = not data.censored.any() and not data.unseen_below
    lifted = _lifted(data)
    pairs = tuple(quantile_pairs(lifted, fit)) if len(ended) >= FEW else ()
    if resamples and complete and FEW <= len(ended) <= MOST_DRAWN:
        chance = fit_chance(lifted, fit, resamples)
    bounds = _exponential_bounds(data, fit) if fit.family.name == "exponential" else law_bounds(lifted, fit)
    if chance is not None and chance < WRONG_LAW:
        spread = float(ended.std(ddof=1)) / math.sqrt(len(ended))
        reach = float(stats.t.ppf(0.5 + LEVEL / 2, len(ended) - 1)) * spread
        mean = float(ended.mean())
        around = Bounds(mean, max(0.0, mean - reach), mean + reach)
        return Estimate(around, "measured", {"measured": [float(v) for v in ended]},
                        "no law fits; the lengths themselves are drawn", fits, chance, pairs)  # fmt: skip
    return Estimate(bounds, fit.family.name, law_value(fit), why, fits, chance, pairs)


def between_estimate(watched: float, count: float, gaps: Sample | None) -> Estimate:
    """The law of the time between stops, from the time watched and how many came.

    Args:
        gaps: times between stops one by one, the last of each machine censored; None = not known.

    Raises:
        ValueError: nothing was watched.
    """
    plain = mean_between(watched, round(count))
    value: dict[str, Any] = {"law": "exponential", "mean": plain.mean}
    if gaps is None or len(gaps.ended) < FEW:
        return Estimate(plain, "exponential", value, f"taken as usual (fewer than {FEW} times between stops)")
    fit, why, fits = _told_apart(gaps)
    lifted = _lifted(gaps)
    pairs = tuple(quantile_pairs(lifted, fit))
    if fit.family.name == "exponential":
        return Estimate(plain, "exponential", value, why, fits, quantiles=pairs)
    bounds = law_bounds(lifted, fit)
    return Estimate(bounds, fit.family.name, law_value(fit), why, fits, quantiles=pairs)


def _told_apart(data: Sample) -> tuple[Fit, str, tuple[dict[str, Any], ...]]:
    """Exponential, or the law that is clearly better, why, and how well each does."""
    plain = fitted(data, "exponential")
    if len(data.ended) < FEW:
        return plain, f"taken as usual (fewer than {FEW} to tell laws apart)", ()
    data = _lifted(data)
    fits = ranked(data)
    rows = tuple(
        {"law": fit.family.name, "mean_s": fit.mean, "spread": fit.spread, "aicc": fit.aicc} for fit in fits
    )
    if fitted(data, "exponential").aicc - fits[0].aicc < CLEARLY:
        return plain, "no other law is told apart from it", rows
    best = chosen(fits)
    better = fitted(data, "exponential").aicc - best.aicc
    return best, f"better than exponential by {better:.0f} in AICc", rows


def _lifted(data: Sample) -> Sample:
    """The same with half a step of the watch in place of 0, which is impossible under most laws."""
    zero = (data.values == 0) & ~data.censored
    if not zero.any() or not data.ended.any():
        return data
    step = grain(data.values[~data.censored].tolist()) or float(data.ended[data.ended > 0].min())
    return Sample(np.where(zero, step / 2, data.values), data.censored, data.unseen_below)


def _exponential_bounds(data: Sample, fit: Fit) -> Bounds:
    """Chi-square bounds of an exponential mean; the lower one is that of a clock where ends were not seen."""
    count = len(data.ended)
    return mean_between(fit.mean * count, count, by_count=not data.censored.any())


def law_bounds(data: Sample, fit: Fit, seed: int = 1) -> Bounds:
    """Bounds of the mean of a law: its logarithm +- Student's t times its deviation when resampled.

    Even on the scale of logarithms, as for the lognormal mean of Cox (Zhou and Gao 1997, Statistics in
    Medicine 16, 783-790; from memory).
    """
    means = [again.mean for again in resampled(data, fit.family.name, RESAMPLES, seed)]
    reach = float(stats.t.ppf(0.5 + LEVEL / 2, max(1, len(data.ended) - 1))) * float(np.std(np.log(means)))
    return Bounds(fit.mean, fit.mean * math.exp(-reach), fit.mean * math.exp(reach))


def law_value(fit: Fit) -> dict[str, Any]:
    """A fitted law by the keys of a cell file; times in seconds."""
    name = fit.family.name
    if name == "exponential":
        return {"law": name, "mean": fit.mean}
    if name == "weibull":
        return {"law": name, "mean": fit.mean, "shape": fit.parameters[0]}
    return {"law": name, "mean": fit.mean, "spread": fit.spread}


def two_kinds(lengths: Sequence[float]) -> tuple[Regimes, float] | None:
    """Two kinds of stops, and the length that parts them best in seconds; None where one law does as well.

    Two normal laws of logarithms must beat the best single law by BIC, both parts be no exceptions, and
    their medians lie clearly apart.
    """
    usable = [value for value in lengths if value > 0]
    if len(usable) < FEW:
        return None
    two = regimes(usable)
    logs = np.log(usable)
    best = min(fit.bic for fit in ranked(sample(usable)))
    rarer = min(two.weights)
    if best - (two.bic_two + 2 * float(logs.sum())) < CLEARLY or rarer < max(RARE, FEWEST / len(usable)):
        return None
    low, high = (math.log(median) for median in two.medians)
    if high - low < math.log(APART):
        return None
    points = np.linspace(low, high, 401)
    sides = [
        weight * stats.norm.pdf(points, centre, spread)
        for weight, centre, spread in zip(two.weights, (low, high), two.spreads, strict=True)
    ]
    return two, float(np.exp(points[int(np.argmax(sides[1] > sides[0]))]))
