"""How often and how long: laws and bounds of stops, exponential unless the log contradicts it.

Laws of lengths are told apart by AICc from 15 values on.  From 5 on a gamma law is taken where the spread
contradicts an exponential one; below that exponential is assumed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from scipy import stats

from cellsim.evidence.fitting import (
    FEW,
    LEVEL,
    Bounds,
    Fit,
    FloatArray,
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

TOO_FEW = 5  # values below which nothing is told of a law
CONTRADICTED = 0.02  # chance of so small or so large a spread of exponential values at which they are none
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
    `quantiles` each duration in order beside the one that the law has at its place.  `interval`: False where
    one value says nothing of how sure the mean is.
    """

    bounds: Bounds
    law: str
    value: dict[str, Any]
    why: str
    fits: tuple[dict[str, Any], ...] = ()
    chance: float | None = None
    quantiles: tuple[tuple[float, float], ...] = ()
    interval: bool = True


def lengths_estimate(data: Sample, resamples: int = 199) -> Estimate:
    """The law of lengths.

    Bounds are chi-square where it is exponential (so many ends were seen); else Student's t on the logarithm
    of the mean of few complete lengths, and those of `law_bounds` of more.

    Raises:
        ValueError: all lengths are 0.
    """
    ended = data.ended
    if len(ended) < FEW:
        return _few_lengths(data)
    fit, why, fits = _told_apart(data)
    if float(ended.mean()) > 0 and float(ended.std()) < STEADY * float(ended.mean()):
        return _steady(ended)
    chance = None
    complete = not data.censored.any() and not data.unseen_below
    lifted = _lifted(data)
    pairs = tuple(quantile_pairs(lifted, fit))
    if resamples and complete and len(ended) <= MOST_DRAWN:
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


def _steady(ended: FloatArray) -> Estimate:
    mean = float(ended.mean())
    return Estimate(Bounds(mean, mean, mean), "fixed", {"law": "fixed", "time": mean},
                    f"the lengths differ by less than {100 * STEADY:.0f} %")  # fmt: skip


def _few_lengths(data: Sample) -> Estimate:
    """The law of lengths too few for AICc: exponential unless their spread contradicts it.

    Then it is a gamma law of their mean and spread.  Where some ends were not seen or short ones were never
    written down, that must be better by `CLEARLY` in AICc instead.
    """
    ended = data.ended
    count = len(ended)
    plain = fitted(data, "exponential")
    assumed = Estimate(_exponential_bounds(data, plain), "exponential", law_value(plain), "")
    if count < TOO_FEW:
        many = "one length is" if count == 1 else f"{count} lengths are"
        why = f"{many} too few to tell a law: exponential is assumed"
        return replace(assumed, why=why, interval=count > 1)
    if float(ended.std()) < STEADY * float(ended.mean()):
        return _steady(ended)
    gamma = fitted(_lifted(data), "gamma")
    assumed = replace(assumed, quantiles=tuple(quantile_pairs(data, plain)))
    pairs = tuple(quantile_pairs(_lifted(data), gamma))
    if data.censored.any() or data.unseen_below:
        better = fitted(_lifted(data), "exponential").aicc - gamma.aicc
        if better < CLEARLY:
            return replace(assumed, why=f"{count} lengths do not contradict it")
        return Estimate(law_bounds(_lifted(data), gamma), "gamma", law_value(gamma),
                        f"better than exponential by {better:.0f} in AICc", quantiles=pairs)  # fmt: skip
    mean, spread = float(ended.mean()), float(ended.std(ddof=1) / ended.mean())
    low, high = exponential_spreads(count)
    tested = f"test at {100 * CONTRADICTED:.0f} %"
    if low <= spread <= high:
        return replace(assumed, why=f"the spread of {count} lengths does not contradict it ({tested})")
    why = (
        f"with the spread of the {count} lengths, {100 * spread:.0f} %, which is too"
        f" {'small' if spread < low else 'large'} for exponential ones ({tested})"
    )
    if spread > high:
        bounds = law_bounds(_lifted(data), gamma)
    else:
        reach = float(stats.t.ppf(0.5 + LEVEL / 2, count - 1)) * spread / math.sqrt(count)
        bounds = Bounds(mean, mean * math.exp(-reach), mean * math.exp(reach))
    return Estimate(bounds, "gamma", {"law": "gamma", "mean": mean, "spread": spread}, why, quantiles=pairs)


@lru_cache
def exponential_spreads(count: int, draws: int = 20_000) -> tuple[float, float]:
    """Between which spreads so many exponential values lie but for a chance of `CONTRADICTED`, half a side.

    The spread squared is Greenwood's statistic but for constants (Greenwood 1946; from memory), whose law
    does not know the mean; here from `draws` samples.
    """
    values = np.random.default_rng(1).exponential(1.0, (draws, count))
    spreads = values.std(axis=1, ddof=1) / values.mean(axis=1)
    low, high = np.quantile(spreads, (CONTRADICTED / 2, 1 - CONTRADICTED / 2))
    return float(low), float(high)


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
        why = f"taken as usual (fewer than {FEW} times between stops)"
        return Estimate(plain, "exponential", value, why, interval=round(count) > 1)
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
