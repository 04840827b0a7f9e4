"""Where a given number of places, or a given amount of work, does most for the rate of a line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize, root

from cellsim.theory.chains import FloatArray
from cellsim.theory.line_inputs import one_number
from cellsim.theory.saturated import elasticities, line_figures

MOST_ALLOCATIONS = 20_000
TIE = 1e-9  # relative: rates this close count as equal


@dataclass(frozen=True, slots=True)
class BestPlaces:
    """The highest rate, and all allocations that reach it in the order of `allocations`."""

    rate: float
    places: tuple[tuple[int, ...], ...]


def allocations(stores: int, total: int) -> Iterator[tuple[int, ...]]:
    """All ways to share out places among stores; there are (total + stores - 1) choose (stores - 1).

    Raises:
        ValueError: there is no store, or the total is negative.
    """
    if stores < 1 or total < 0:
        raise ValueError(f"at least 0 places go to at least 1 store, got {total} places, {stores} stores")
    for bars in itertools.combinations(range(total + stores - 1), stores - 1):
        ends = (-1, *bars, total + stores - 1)
        yield tuple(after - before - 1 for before, after in itertools.pairwise(ends))


def best_places(rate_of: Callable[[tuple[int, ...]], float], stores: int, total: int) -> BestPlaces:
    """The best allocation of places by trying all; `rate_of` gives the rate of an allocation.

    Raises:
        ValueError: there are more than 20000 allocations, or as `allocations`.
    """
    if stores >= 1 and total >= 0:
        count = math.comb(total + stores - 1, stores - 1)
        if count > MOST_ALLOCATIONS:
            raise ValueError(
                f"{total} places go to {stores} stores in {count} ways; up to {MOST_ALLOCATIONS} are tried"
            )
    rates = {places: rate_of(places) for places in allocations(stores, total)}
    best = max(rates.values())
    return BestPlaces(best, tuple(places for places, rate in rates.items() if rate >= best * (1 - TIE)))


def best_work(total: float, places: Sequence[int]) -> FloatArray:
    """Mean times of exponential stations, shape (stations,), that share out work for the highest rate.

    Not equal ones: the stations in the middle get less (the bowl; Hillier, F. S. and Boling, R. W. (1966),
    The effect of some design factors on the efficiency of production lines with variable operation times,
    Journal of Industrial Engineering 17, 651-658).  At the best, moving work between two stations gains
    nothing, so the elasticity of each station is its share of the work.  One such point is the best: for
    given luck departures are the longest of sums of times, so the mean time between units is convex.

    Raises:
        ValueError: the work is not positive, places are wrong, or the chain has too many states.
    """
    work = one_number(total, "work in all")
    stations = len(places) + 1

    def shares(free: FloatArray) -> FloatArray:  # positive and adding up to 1, whatever is tried
        weights = np.exp(np.append(free, 0.0) - max(0.0, free.max()))
        return np.asarray(weights / weights.sum())

    def time_between_units(free: FloatArray) -> float:
        return -math.log(line_figures(shares(free).tolist(), places).rate)

    def gap(free: FloatArray) -> FloatArray:  # the gradient of it
        tried = shares(free)
        return np.asarray((elasticities(tried.tolist(), places) - tried)[:-1])

    if stations == 1:
        return np.array([work])
    near = minimize(time_between_units, np.zeros(stations - 1), jac=gap, method="BFGS")
    found = root(gap, near.x, tol=1e-13)
    if np.abs(gap(found.x)).max() > TIE:
        raise ArithmeticError(f"no best allocation of work was found: {found.message}")
    best: FloatArray = work * shares(found.x)
    return best


def rate_with(times: Sequence[float]) -> Callable[[tuple[int, ...]], float]:
    """The exact rate of a line of exponential stations as a function of its places, for `best_places`."""
    return lambda places: line_figures(times, places).rate
