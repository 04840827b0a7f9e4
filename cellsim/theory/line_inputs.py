"""What a line is told by, checked: one message for each way to be wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cellsim.theory.chains import FloatArray

Clock = Literal["running time", "on time"]  # what the time to a stop counts


def positive(values: ArrayLike, what: str) -> FloatArray:
    """Values, one per station, each finite and above 0.

    Raises:
        ValueError: there is none, or one is not positive.
    """
    array = _row(values, what)
    _all_hold((array > 0) & np.isfinite(array), array, what, "above 0 and finite")
    return array


def chances(values: ArrayLike, what: str, certain: bool = True) -> FloatArray:
    """Values, one per station, each above 0 and at most 1; with `certain` false below 1.

    Raises:
        ValueError: there is none, or one is outside.
    """
    array = _row(values, what)
    fits = (array > 0) & ((array <= 1) if certain else (array < 1))
    _all_hold(fits, array, what, "above 0 and " + ("at most 1" if certain else "below 1"))
    return array


def counts(values: Sequence[int], stations: int, what: str = "places", least: int = 0) -> tuple[int, ...]:
    """Whole numbers, one for each pair of neighbouring stations.

    Raises:
        ValueError: there is not one for each pair, or one is no whole number or below `least`.
    """
    if len(values) != stations - 1:
        raise ValueError(
            f"{what} are one number for each pair of neighbours: {stations} stations need {stations - 1}, "
            f"got {len(values)}"
        )
    for k, value in enumerate(values):
        if not float(value).is_integer() or value < least:
            raise ValueError(
                f"{what} are whole numbers of at least {least}, got {value} behind station {k + 1}"
            )
    return tuple(int(value) for value in values)


def two(values: FloatArray, what: str) -> tuple[float, float]:
    """The values of the two stations of a line of two.

    Raises:
        ValueError: there are not two.
    """
    if len(values) != 2:
        raise ValueError(f"two stations have two {what}, got {len(values)}")
    return float(values[0]), float(values[1])


def counts_on_time(clock: Clock) -> bool:
    """Whether a station that is starved or blocked stops too.

    Raises:
        ValueError: the clock is none of the two.
    """
    if clock not in get_args(Clock):
        raise ValueError(f'stops count "running time" or "on time", got "{clock}"')
    return clock == "on time"


def alike(first: FloatArray, second: FloatArray, what: str) -> None:
    """Two rows that have one value for each station have the same length.

    Raises:
        ValueError: they have not.
    """
    if len(first) != len(second):
        raise ValueError(f"{what} have one value for each station, got {len(first)} and {len(second)}")


def one_number(value: float, what: str, above: bool = True) -> float:
    """A finite number above 0 (with `above` false: at least 0).

    Raises:
        ValueError: it is not.
    """
    if not np.isfinite(value) or value < 0 or (above and value == 0):
        raise ValueError(f"{what} is a finite number {'above 0' if above else 'of at least 0'}, got {value}")
    return float(value)


def _row(values: ArrayLike, what: str) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if array.ndim != 1 or not len(array):
        raise ValueError(f"{what} are a row with one value for each station, got shape {array.shape}")
    return array


def _all_hold(fits: NDArray[np.bool_], array: FloatArray, what: str, allowed: str) -> None:
    if not fits.all():
        k = int(np.argmin(fits))
        raise ValueError(f"{what} are {allowed}, got {array[k]:g} at station {k + 1}")
