"""Rates of longer lines by taking them apart into two-station lines (decomposition) or adding them up.

Every estimate carries the error it usually has; `slotted.py` and `saturated.py` have the exact rates of
lines short enough.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cellsim.theory.chains import FloatArray
from cellsim.theory.estimates import EXACT, Estimate, UsualError, until_agreed
from cellsim.theory.line_inputs import alike, chances, counts, positive
from cellsim.theory.slotted import geometric_line
from cellsim.theory.two_stations import exponential_times_rate
from cellsim.theory.two_unreliable import PairFigures, bernoulli_empty, fluid_pair, geometric_pair

AGREED = 1e-11  # relative: the two-station lines of a decomposition have one rate

# Against exact rates of random lines; how they are drawn: tests/theory/random_lines.py.
GEOMETRIC_ERROR = UsualError(
    -0.3, 0.9, 0.1, 1.6, "1000 lines of 3 or 4 stations, stop 0.005-0.05, repair 0.05-0.3, stored 2-8"
)
BERNOULLI_ERROR = UsualError(-0.7, 2.1, 0.1, 2.9, "1000 lines of 3 to 5 stations, up 0.7-0.97, places 1-3")
FLUID_ERROR = UsualError(
    -0.8, 2.6, 0.2, 5.0, "500 lines of 3 stations, run 20-200, repair 2-20, stores 2-20 cycles"
)
EXPONENTIAL_ERROR = UsualError(
    -4.7, 1.1, -1.5, -6.6, "1000 lines of 3 to 5 stations, rates 0.7-1.3, places 0-4"
)


def geometric_decomposition(
    stop: Sequence[float], repair: Sequence[float], stored: Sequence[int]
) -> Estimate:
    """Rate of stations of one constant cycle with geometric running times and repairs, by decomposition.

    Rules and `stored` (at least 2 each) as in `slotted.geometric_line`.  Of each store an observer sees a
    station before it that is down or starved and one behind it that is down or blocked; those two have
    chances to stop and to be repaired that make all two-station lines agree.

    Source: Dallery, Y., David, R. and Xie, X.-L. (1988), An efficient algorithm for analysis of transfer
    lines with unreliable machines and finite buffers, IIE Transactions 20(3), 280-283 (equations from
    memory, checked against exact chains).

    Raises:
        ValueError: chances or places are wrong, or lengths differ.
        ArithmeticError: the two-station lines do not come to agree, or stations stop so often (more than
            every other cycle) that they cannot be taken apart.
    """
    p = chances(stop, "chances to stop", certain=False)
    r = chances(repair, "chances to be repaired")
    alike(p, r, "chances to stop and to be repaired")
    limits = counts(stored, len(p), "places with those of the stations", least=2)
    if len(p) == 1:
        return Estimate(float(r[0] / (r[0] + p[0])), EXACT, 0, np.zeros(0))
    alone = r / (r + p)
    before_p, before_r, behind_p, behind_r = p[:-1].copy(), r[:-1].copy(), p[1:].copy(), r[1:].copy()
    blocks = range(len(limits))

    def pair(i: int) -> PairFigures:
        often = max(before_p[i], behind_p[i])
        if often >= 1:
            raise ArithmeticError(
                "stations that stop this often cannot be taken apart: what is before or behind a store would "
                f"stop with chance {often:.3g} in a cycle"
            )
        return _geometric_pair((before_p[i], behind_p[i]), (before_r[i], behind_r[i]), limits[i])

    def sweep() -> list[float]:
        for i in blocks[1:]:
            seen = pair(i - 1)
            lost = 1 / seen.rate + 1 / alone[i] - behind_p[i - 1] / behind_r[i - 1] - 2
            starving = seen.starved / (lost * seen.rate)
            before_r[i] = starving * before_r[i - 1] + (1 - starving) * r[i]
            before_p[i] = lost * before_r[i]
        for i in blocks[-2::-1]:
            seen = pair(i + 1)
            lost = 1 / seen.rate + 1 / alone[i + 1] - before_p[i + 1] / before_r[i + 1] - 2
            blocking = seen.blocked / (lost * seen.rate)
            behind_r[i] = blocking * behind_r[i + 1] + (1 - blocking) * r[i + 1]
            behind_p[i] = lost * behind_r[i]
        return [pair(i).rate for i in blocks]

    rates, sweeps = until_agreed(sweep, AGREED)
    return Estimate(
        rates[0],
        GEOMETRIC_ERROR if len(limits) > 1 else EXACT,
        sweeps,
        np.array([pair(i).content for i in blocks]),
    )


def bernoulli_aggregation(up: Sequence[float], places: Sequence[int]) -> Estimate:
    """Rate of stations that are up in each cycle with a chance, each cycle anew, by adding them up.

    From the end of the line, a station and all behind it become one station that is up less often, since it
    is blocked; then from the start, a station and all before it.  Rules as in `slotted.bernoulli_line`.

    Source: Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4 (equations
    from memory, checked against exact chains).

    Raises:
        ValueError: chances or places are wrong.
        ArithmeticError: the two ways to add up do not come to agree.
    """
    p = chances(up, "chances to be up")
    limits = counts(places, len(p), least=1)
    if len(p) == 1:
        return Estimate(float(p[0]), EXACT, 0)
    before, behind = p.copy(), p.copy()

    def sweep() -> list[float]:
        for i in range(len(limits) - 1, -1, -1):
            behind[i] = p[i] * (1 - bernoulli_empty(behind[i + 1], before[i], limits[i]))
        for i, limit in enumerate(limits, start=1):
            before[i] = p[i] * (1 - bernoulli_empty(before[i - 1], behind[i], limit))
        return [float(behind[0]), float(before[-1])]

    rates, sweeps = until_agreed(sweep, AGREED)
    return Estimate(rates[1], BERNOULLI_ERROR if len(limits) > 1 else EXACT, sweeps)


def fluid_aggregation(
    mean_run: Sequence[float], mean_repair: Sequence[float], stores: Sequence[float]
) -> Estimate:
    """Rate of stations of equal cycle that stop on time, units taken for a flow, by adding them up.

    As `bernoulli_aggregation`, with the two-station line of `two_unreliable.fluid_pair` (stops count on
    time): what is lost for want of units or places counts as stopping more and being repaired more slowly.

    Source: Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 11 (equations
    from memory, checked against simulation).

    Raises:
        ValueError: means or stores are wrong, or lengths differ.
        ArithmeticError: the two ways to add up do not come to agree.
    """
    stops = 1 / positive(mean_run, "mean running times")
    repairs = 1 / positive(mean_repair, "mean repair times")
    alike(stops, repairs, "mean running times and mean repair times")
    if len(stores) != len(stops) - 1:
        raise ValueError(f"{len(stops)} stations need {len(stops) - 1} stores, got {len(stores)}")
    if len(stops) == 1:
        return Estimate(float(repairs[0] / (repairs[0] + stops[0])), EXACT, 0)
    before, behind = np.array([stops, repairs]), np.array([stops, repairs])  # stops and repairs per time

    def joined(i: int, first: FloatArray, second: FloatArray, store: float) -> FloatArray:
        seen = fluid_pair((1 / first[0], 1 / second[0]), (1 / first[1], 1 / second[1]), store, "on time")
        lost = seen.starved / (seen.starved + seen.rate)
        return np.array([stops[i] + repairs[i] * lost, repairs[i] * (1 - lost)])

    def sweep() -> list[float]:
        for i in range(len(stores) - 1, -1, -1):
            behind[:, i] = joined(i, behind[:, i + 1], before[:, i], stores[i])
        for i, store in enumerate(stores, start=1):
            before[:, i] = joined(i, before[:, i - 1], behind[:, i], store)
        return [float(end[1] / end.sum()) for end in (behind[:, 0], before[:, -1])]

    rates, sweeps = until_agreed(sweep, AGREED)
    return Estimate(rates[1], FLUID_ERROR if len(stores) > 1 else EXACT, sweeps)


def exponential_decomposition(means: Sequence[float], places: Sequence[int]) -> Estimate:
    """Rate of a saturated line of exponential stations from two-station lines, by means alone.

    Of each pair of neighbours, the first takes as long as it works and is starved, the second as long as it
    works and is blocked, both taken for exponential: X = 1 / (time a unit stays at the station), the same
    for all pairs.  Low, since lost time is taken for independent from unit to unit.

    Source: the method of Dallery, Y. and Frein, Y. (1993), On decomposition methods for tandem queueing
    networks with blocking, Operations Research 41(2), 386-399 (from memory).

    Raises:
        ValueError: means or places are wrong.
        ArithmeticError: the two-station lines do not come to agree.
    """
    times = positive(means, "mean times")
    between = counts(places, len(times))
    if len(times) == 1:
        return Estimate(float(1 / times[0]), EXACT, 0)
    before, behind = times[:-1].copy(), times[1:].copy()
    blocks = range(len(between))

    def rate(i: int) -> float:
        return exponential_times_rate([before[i], behind[i]], between[i])

    def sweep() -> list[float]:
        for i in blocks[1:]:
            before[i] = 1 / rate(i - 1) + times[i] - behind[i - 1]
        for i in blocks[-2::-1]:
            behind[i] = 1 / rate(i + 1) + times[i + 1] - before[i + 1]
        return [rate(i) for i in blocks]

    rates, sweeps = until_agreed(sweep, AGREED)
    return Estimate(rates[0], EXPONENTIAL_ERROR if len(between) > 1 else EXACT, sweeps)


def _geometric_pair(stop: tuple[float, float], repair: tuple[float, float], stored: int) -> PairFigures:
    if stored >= 4:
        return geometric_pair(stop, repair, stored)
    found = geometric_line(stop, repair, [stored])  # too short for the closed form
    return PairFigures(found.rate, float(found.starved[1]), float(found.blocked[0]), float(found.content[0]))
