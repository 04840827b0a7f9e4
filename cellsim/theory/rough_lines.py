"""A rough rate of a saturated line in a fraction of a millisecond, for searches that ask for thousands.

Blocking after service.  Times are taken for exponential, and places for as many as that makes of them where
times vary more or less than exponential ones do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cellsim.theory.line_inputs import alike, counts, positive

AGREED = 1e-4  # relative: the pairs have one rate; the method is not that exact
MOST_SWEEPS = 40  # slow ones are as near as the method is by then
LEAST_SCV = 0.02  # steadier times need hardly any places


def rough_rate(means: Sequence[float], scvs: Sequence[float], places: Sequence[int]) -> float:
    """Rate of a line from means and squared coefficients of variation, roughly.

    Two equal stations with b places, whose SCVs have the mean c, have the rate of exponential ones with
    (b + 1) / c - 1 places (from the two-moment formula X = (c + b + 1) / (2 c + b + 1) / mean, which is exact
    for c = 1; from memory).  Such pairs are put together as in `longer_lines.exponential_decomposition`.
    Against random lines it is 4 % low to 4 % high without stops, up to 10 % low with stops and up to 27 %
    low with long ones (tests/theory/random_lines.py).

    Args:
        means, scvs: of the time that a unit holds each station, stops included, shape (K,).
        places: places between neighbours, the ones in the stations left out.

    Raises:
        ValueError: a mean or an SCV is not positive, or lengths differ.
    """
    times, spread = positive(means, "mean times"), positive(scvs, "squared coefficients of variation")
    alike(times, spread, "mean times and squared coefficients of variation")
    return fast_rate(times.tolist(), spread.tolist(), list(counts(places, len(times))))


def fast_rate(means: Sequence[float], scvs: Sequence[float], places: Sequence[int]) -> float:
    """`rough_rate` of numbers that are known to be right."""
    room = [
        (b + 1) / max(LEAST_SCV, (c + d) / 2) - 1 for b, c, d in zip(places, scvs, scvs[1:], strict=False)
    ]
    if not room:
        return 1 / means[0]
    before, behind = list(means[:-1]), list(means[1:])
    last = len(room) - 1
    rates = [_pair(before[i], behind[i], room[i]) for i in range(last + 1)]
    for _ in range(MOST_SWEEPS):
        for i in range(1, last + 1):
            before[i] = 1 / rates[i - 1] + means[i] - behind[i - 1]
            rates[i] = _pair(before[i], behind[i], room[i])
        for i in range(last - 1, -1, -1):
            behind[i] = 1 / rates[i + 1] + means[i + 1] - before[i + 1]
            rates[i] = _pair(before[i], behind[i], room[i])
        if max(rates) - min(rates) <= AGREED * max(rates):
            break
    return min(rates)


def _pair(first: float, second: float, room: float) -> float:
    """Rate of two exponential stations with a number of places between them that need not be whole."""
    log = math.log(second / first)
    if abs(log * (room + 3)) < 1e-9:
        empty = 1 / (room + 3)
    elif log * (room + 3) > 700:
        return 1 / second
    else:
        empty = math.expm1(log) / math.expm1(log * (room + 3))
    return (1 - empty) / second
