"""Two stations that stop, equal cycles, one store between them: closed forms.

Three models of the same thing: each cycle a station works or not (Bernoulli), stops and repairs are geometric
numbers of cycles, or times are exponential and units a continuous flow.  Each says how it counts places.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.theory.chains import FloatArray
from cellsim.theory.line_inputs import Clock, chances, counts, counts_on_time, one_number, positive, two
from cellsim.theory.two_stations import powers


@dataclass(frozen=True, slots=True)
class PairFigures:
    """Long-run figures of two stations with a store between them.

    `rate` is units per cycle, the share of time that the second station works; `starved` the share of time
    that the second station is up and has nothing to work on, `blocked` the share that the first is up and
    cannot hand over; `content` the mean of what the model counts as stored.
    """

    rate: float
    starved: float
    blocked: float
    content: float


def bernoulli_empty(first: float, second: float, places: int) -> float:
    """Chance that the store between two Bernoulli stations is empty.

    Weights of n = 1, 2, ... units are a^(n-1), a = p1 (1 - p2) / (p2 (1 - p1)), that of n = 0 is
    p2 (1 - p1) / p1.

    Source: Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4.
    """
    return float(_bernoulli_contents(first, second, places)[0])


def bernoulli_pair(up: Sequence[float], places: int) -> PairFigures:
    """Two stations that are up in a cycle with chances p1, p2, each cycle anew; exact.

    The second takes a unit if the store held one at the end of the cycle before; the first adds one unless
    the store was full and the second takes none (blocked before service).  No unit stays in a station:
    `places`, at least 1, and `content`, at ends of cycles, count all units.  Rate p2 (1 - P(empty)).

    Source: Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4.

    Raises:
        ValueError: there are not two chances above 0 and at most 1, or places are below 1.
    """
    p1, p2 = two(chances(up, "chances to be up"), "chances to be up")
    (stored,) = counts([places], 2, least=1)
    contents = _bernoulli_contents(p1, p2, stored)
    starved = float(p2 * contents[0])
    content = float(contents @ np.arange(stored + 1))
    return PairFigures(p2 - starved, starved, p1 - p2 + starved, content)


def geometric_pair(stop: Sequence[float], repair: Sequence[float], stored: int) -> PairFigures:
    """Two stations of one constant cycle with geometric running times and repairs; exact.

    In each cycle a station that is up and neither starved nor blocked stops with chance p before it makes
    its unit; one that is down is repaired with chance r and then makes it.  `stored`, at least 4, counts the
    places between and the two in the stations, for a unit counts until the second station has made it;
    `content` counts the same way, at ends of cycles.

    Source: Gershwin, S. B. (1994), Manufacturing Systems Engineering, Prentice Hall, chapter 3; Buzacott,
    J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of Production Research
    5(3), 183-200.

    Raises:
        ValueError: a chance to stop is not between 0 and 1, a chance to be repaired not above 0 and at most
            1, or `stored` is below 4 (`slotted.py` solves the chain for any).
    """
    p1, p2 = two(chances(stop, "chances to stop", certain=False), "chances to stop")
    r1, r2 = two(chances(repair, "chances to be repaired"), "chances to be repaired")
    (n,) = counts([stored], 2, "places with those of the stations", least=4)
    a1 = r1 + r2 - r1 * r2 - r1 * p2
    a2 = r1 + r2 - r1 * r2 - p1 * r2
    d1 = p1 + p2 - p1 * p2 - p1 * r2
    d2 = p1 + p2 - p1 * p2 - r1 * p2
    y1, y2 = a1 / d1, a2 / d2
    ratio = math.log(y2) - math.log(y1)
    first, *inner, last = powers(ratio, n - 1)  # content 1, 2 .. N - 2, and N - 1 or N
    weights = np.zeros((n + 1, 2, 2))  # content, first station up, second up
    weights[0, 0, 1] = first * a1 / (r1 * p2)
    weights[1, 0, 0] = first
    weights[1, 0, 1] = first * y2
    weights[1, 1, 1] = first * a1 / (p2 * d2)
    for k, weight in enumerate(inner, start=2):
        weights[k] = weight * np.array([[1, y2], [y1, y1 * y2]])
    weights[n - 1, 0, 0] = last
    weights[n - 1, 1, 0] = last * y1
    weights[n - 1, 1, 1] = last * a2 / (p1 * d1)
    weights[n, 1, 0] = last * a2 / (p1 * r2)
    shares = weights / weights.sum()
    return PairFigures(
        rate=float(shares[1:, :, 1].sum()),
        starved=float(shares[0, 0, 1]),
        blocked=float(shares[n, 1, 0]),
        content=float(shares.sum(axis=(1, 2)) @ np.arange(n + 1)),
    )


def fluid_pair(
    mean_run: Sequence[float], mean_repair: Sequence[float], store: float, clock: Clock = "running time"
) -> PairFigures:
    """Two stations of equal cycle with exponential running times and repairs, units taken for a flow; exact.

    `store` and `content` are the places and the units on them times the cycle, in the unit of the times.
    Stops count running time, or on time: then a station that is starved or blocked stops too.  Whole units
    differ from a flow by less the more of them pass during a repair.

    Between its ends the level x has density proportional to exp(K x), K = (l2 m1 - l1 m2)
    (l1 + l2 + m1 + m2) / ((l1 + l2)(m1 + m2)), l = 1 / mean run, m = 1 / mean repair; the balance at the
    ends gives the masses there.

    Source: on time: Jacobs, D. and Meerkov, S. M. (1995), A system-theoretic property of serial production
    lines, International Journal of Systems Science 26(4), 755-785; Li, J. and Meerkov, S. M. (2009),
    Production Systems Engineering, Springer, chapter 11 (both from memory).  Running time, equal stations:
    Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of Production
    Research 5(3), 183-200 (from memory); unequal ones: own derivation.

    Raises:
        ValueError: a mean is not positive, the store is negative, or the clock is neither of the two.
    """
    l1, l2 = (1 / x for x in two(positive(mean_run, "mean running times"), "mean running times"))
    m1, m2 = (1 / x for x in two(positive(mean_repair, "mean repair times"), "mean repair times"))
    size = one_number(store, "a store", above=False)
    both_stop = 1.0 if counts_on_time(clock) else 0.0  # one that stands for the other's sake stops too
    stops, repairs = l1 + l2, m1 + m2
    growth = (l2 * m1 - l1 * m2) * (1 / stops + 1 / repairs)
    at_empty, at_full, inside, moment = _exponential_density(growth, size)
    up = 1 / stops + both_stop / repairs
    starved, blocked = at_empty / (m1 * l2 * up), at_full / (m2 * l1 * up)
    both_up = m1 * starved / stops + inside * repairs / stops + m2 * blocked / stops  # empty, between, full
    empty = starved * (1 + m1 / stops + both_stop * l2 / repairs)  # first down, both up, both down
    full = blocked * (1 + m2 / stops + both_stop * l1 / repairs)
    at_a_level = 2 + repairs / stops + stops / repairs  # one up, the other up, both up, both down
    total = empty + at_a_level * inside + full
    return PairFigures(
        rate=(both_up + inside) / total,
        starved=starved / total,
        blocked=blocked / total,
        content=(at_a_level * moment + size * full) / total,
    )


def _bernoulli_contents(p1: float, p2: float, places: int) -> FloatArray:
    """Shares of 0, 1, ... units in the store between two Bernoulli stations."""
    weights = np.zeros(places + 1)
    if p1 == 1:
        weights[-1] = 1
    elif p2 == 1:
        weights[0], weights[1] = 1 - p1, p1
    else:
        weights[1:] = powers(math.log(p1 * (1 - p2)) - math.log(p2 * (1 - p1)), places)
        weights[0] = weights[1] * p2 * (1 - p1) / p1
    weights /= weights.sum()
    return weights


def _exponential_density(growth: float, size: float) -> tuple[float, float, float, float]:
    """exp(K x) at 0, at the end, its integral and that of x exp(K x), all scaled against overflow."""
    u = growth * size
    if abs(u) < 1e-3:
        area = 1 + u / 2 + u**2 / 6 + u**3 / 24 + u**4 / 120
        lever = 1 / 2 + u / 3 + u**2 / 8 + u**3 / 30 + u**4 / 144
        return 1.0, math.exp(u), size * area, size**2 * lever
    if u < 0:
        area = math.expm1(u) / u
        return 1.0, math.exp(u), size * area, size**2 * (math.exp(u) - area) / u
    area = -math.expm1(-u) / u
    return math.exp(-u), 1.0, size * area, size**2 * (1 - area) / u
