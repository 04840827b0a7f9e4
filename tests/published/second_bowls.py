"""The best way to share out work or places among stations, once more: slopes, and all ways tried."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import partial

from scipy.optimize import brentq
from second_lines import line_rate


def slope(rate_of: Callable[[float], float], at: float, step: float = 2e-3) -> float:
    """Slope of a rate by central differences of two widths (Richardson); the error goes with step^4."""

    def central(h: float) -> float:
        return (rate_of(at + h) - rate_of(at - h)) / (2 * h)

    return (4 * central(step / 2) - central(step)) / 3


def rate_by_middle(middle: float) -> float:
    """Rate of three stations without places that share 3 s of work, the outer two alike."""
    outer = (3 - middle) / 2
    return line_rate([outer, middle, outer], [0, 0])


def rate_by_outer(outer: float) -> float:
    """Rate of four stations without places that share 4 s of work, outer ones alike and inner ones alike."""
    return line_rate([outer, 2 - outer, 2 - outer, outer], [0, 0, 0])


def top(rate_of: Callable[[float], float], low: float, high: float) -> float:
    """Where a rate is highest: its slope is 0."""
    return float(brentq(partial(slope, rate_of), low, high, xtol=1e-12))


def best_of_all_ways() -> tuple[int, ...]:
    """The best of all ways to share out 4 places among the three stores of four equal stations."""
    ways = [way for way in itertools.product(range(5), repeat=3) if sum(way) == 4]
    return max(ways, key=lambda way: line_rate([1, 1, 1, 1], way))


SECOND: dict[str, list[Callable]] = {
    "bowl-three-stations-best-middle": [partial(top, rate_by_middle, 0.7, 1.0)],
    "bowl-four-stations-best-outer": [partial(top, rate_by_outer, 1.0, 1.3)],
    "four-places-over-three-stores": [best_of_all_ways],
}
