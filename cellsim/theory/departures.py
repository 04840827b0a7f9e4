"""Departure times of prescribed times through a serial line, unit by unit.

Two laws follow for any times: one more place, or a shorter time, delays no departure; and the line run
backwards (stations, places and units in reverse order) ends at the same time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cellsim.theory.line_inputs import counts, positive


def departures(times: ArrayLike, places: Sequence[int]) -> NDArray[Any]:
    """When each unit leaves each station of a line that starts empty at 0 with all raw units at hand.

    D[j, i] = max(max(D[j-1, i], D[j, i-1]) + S[j, i], D[j-b[i]-1, i+1]): unit j begins at station i when the
    unit before it has left and it has left the station before itself; it leaves when it is finished and a
    place behind the station is free (blocking after service, first in first out).

    Source: Muth, E. J. (1979), The reversibility property of production lines, Management Science 25(2),
    152-158.

    Args:
        times: shape (units, stations), or (units, stations, ...) for several lines at once.  Whole numbers
            stay whole, so that sums are exact.
        places: places between neighbours, the ones in the stations left out.

    Returns:
        Departure times, same shape and kind as `times`.

    Raises:
        ValueError: the shapes do not fit, or a time is negative or not a number.
    """
    taken = np.asarray(times)
    if taken.ndim < 2 or not np.issubdtype(taken.dtype, np.number):
        raise ValueError(f"times are numbers of shape (units, stations, ...), got shape {taken.shape}")
    if not np.all(taken >= 0):
        raise ValueError("times are at least 0, and every one is a number")
    stations = taken.shape[1]
    between = counts(places, stations)
    left = np.zeros_like(taken)
    for j in range(len(taken)):
        arrives = np.zeros_like(taken[j, 0])
        for i in range(stations):
            begins = arrives if j == 0 else np.maximum(left[j - 1, i], arrives)
            left[j, i] = begins + taken[j, i]
            if i + 1 < stations and j > between[i]:
                left[j, i] = np.maximum(left[j, i], left[j - between[i] - 1, i + 1])
            arrives = left[j, i]
    return left


def constant_times_rate(times: Sequence[float]) -> float:
    """Rate of a saturated line of constant times, whatever the places between: 1 / the longest time.

    Raises:
        ValueError: a time is not positive.
    """
    return float(1 / positive(times, "times").max())


def constant_times_departure(times: Sequence[float], unit: int) -> float:
    """When unit number `unit` (from 1) leaves a line of constant times that starts empty at 0.

    Sum of all times for the first one, then one longest time after the other; by the recursion of
    departures above.

    Raises:
        ValueError: a time is not positive, or the number is below 1.
    """
    checked = positive(times, "times")
    if unit < 1:
        raise ValueError(f"units are counted from 1, got {unit}")
    return float(checked.sum() + (unit - 1) * checked.max())
