"""Two stations with places between them: closed forms for exponential, geometric and any other times.

The first station always has raw units, the second never waits to get rid of one, and a finished unit that
finds no place stays in its station (blocking after service).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from scipy.integrate import quad
from scipy.special import gammainc, gammaln

from cellsim.theory.chains import FloatArray
from cellsim.theory.line_inputs import chances, counts, one_number, positive, two

Distribution = Callable[[float], float]  # chance that a time is at most x


def exponential_times_rate(means: Sequence[float], places: int) -> float:
    """Rate of two stations with exponential times.

    States n = 0 .. places + 2, units that the first has finished and the second has not, have weights
    (m2 / m1)^n; the second works in all but n = 0.  Equal means m: (places + 2) / (places + 3) / m.

    Source: Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683 (from
    memory).

    Raises:
        ValueError: there are not two positive means, or places are no whole number of at least 0.
    """
    first, second = two(positive(means, "mean times"), "mean times")
    (between,) = counts([places], 2)
    weights = powers(math.log(second) - math.log(first), between + 3)
    return float(1 - weights[0] / weights.sum()) / second


def geometric_times_rate(chance_of_end: Sequence[float], places: int) -> float:
    """Units per cycle of two stations whose times are geometric numbers of cycles, P(k) = p (1-p)^(k-1).

    A unit finished at the end of a cycle can be taken by the next station in the next cycle.  A birth and
    death chain of n = 0 .. places + 2: up with p1 at n = 0, down with p2 at the top, p1 (1 - p2) and
    p2 (1 - p1) between.

    Source: own derivation; the same rules as a problem in Li, J. and Meerkov, S. M. (2009), Production
    Systems Engineering, Springer, chapter 4 (from memory).

    Raises:
        ValueError: there are not two chances above 0 and at most 1, or places are wrong.
    """
    p1, p2 = two(chances(chance_of_end, "chances of an end"), "chances of an end")
    (between,) = counts([places], 2)
    if p1 == 1:  # n = 0 is left for ever
        return p2
    if p2 == 1:  # n is 0 or 1
        return p1
    inner = powers(math.log(p1 * (1 - p2)) - math.log(p2 * (1 - p1)), between + 1)  # n = 1 .. places + 1
    empty = inner[0] * p2 * (1 - p1) / p1
    full = inner[-1] * p1 * (1 - p2) / p2
    return float(p2 * (1 - empty / (empty + inner.sum() + full)))


def no_places_rate(first: Distribution, second: Distribution, kinks: Sequence[float] = ()) -> float:
    """Rate of two stations without places between them, 1 / E[max(S1, S2)], whatever the laws.

    Both begin together, and the unit moves on when both have finished.

    Source: own derivation; for exponential times Hunt's 2/3.

    Raises:
        ValueError: as `expected_maximum`.
    """
    return 1 / expected_maximum([first, second], kinks)


def expected_maximum(distributions: Sequence[Distribution], kinks: Sequence[float] = ()) -> float:
    """Mean of the longest of independent times: 1 - F1(x) F2(x) ... integrated over x > 0, by quadrature.

    Args:
        distributions: distribution functions.
        kinks: where they jump or have an edge (a constant time, the ends of a triangle); beyond the last one
            they come near 1 smoothly.

    Raises:
        ValueError: there is no distribution, a kink is negative or not finite, or the mean is infinite.
    """
    if not distributions:
        raise ValueError("the longest time is one of at least 1 time, got none")
    edges = [0.0, *sorted(one_number(x, "a kink", above=False) for x in kinks)]

    def still_going(x: float) -> float:
        return 1 - math.prod(distribution(x) for distribution in distributions)

    total = 0.0
    for low, high in zip(edges, [*edges[1:], np.inf], strict=True):
        if high > low:
            part, error, *trouble = quad(
                still_going, low, high, epsabs=1e-13, epsrel=1e-11, limit=200, full_output=True
            )
            if len(trouble) > 1 and error > 1e-8 * (total + part):
                raise ValueError(f"the longest of the times has no mean: no end was found beyond {low:g}")
            total += part
    return total


def constant_time(length: float) -> Distribution:
    """Distribution function of a constant time; its kink is its length."""
    return lambda x: float(x >= length)


def constant_time_with_stops(length: float, mean_run: float, mean_repair: float) -> Distribution:
    """Distribution function of constant work plus the repairs of the stops during it; its kink is `length`.

    Stops come by running time, running times and repairs are exponential: the number of stops is Poisson
    with mean length / mean_run, n repairs are Erlang with n phases.

    Source: Gaver, D. P. (1962), A waiting line with interrupted service, including priorities, Journal of the
    Royal Statistical Society B 24, 73-90 (from memory).

    Raises:
        ValueError: an argument is not positive.
    """
    stops = one_number(length, "work") / one_number(mean_run, "a mean running time to a stop")
    one_number(mean_repair, "a mean repair time")
    numbers = np.arange(1, int(stops + 12 * math.sqrt(stops)) + 31)  # more stops than that: below 1e-18
    chance = np.exp(numbers * math.log(stops) - stops - gammaln(numbers + 1))

    def distribution(x: float) -> float:
        if x < length:
            return 0.0
        return math.exp(-stops) + float(chance @ gammainc(numbers, (x - length) / mean_repair))

    return distribution


def powers(log_ratio: float, count: int) -> FloatArray:
    """1, r, r^2, ... from log r, scaled so that the largest is 1 and nothing overflows."""
    exponents = np.arange(count) * log_ratio
    scaled: FloatArray = np.exp(exponents - exponents.max())
    return scaled
