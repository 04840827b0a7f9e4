"""Learning: the time of each unit falls with every repetition, down to a standard."""

from __future__ import annotations

import math

import numpy as np

from cellsim.theory import arguments as check


def unit_time(unit: int, standard_time: float, rate: float, standard_after: int) -> float:
    """Time of unit number `unit` (from 1), in the unit of the standard time, which is never gone below.

    standard x (unit / standard_after)^log2(rate): with each doubling of the units the time is multiplied by
    `rate`, and the standard is reached at unit `standard_after`.

    Raises:
        ValueError: the standard time is not above 0, the rate not above 0 and at most 1, or a number is not a
            whole number from 1 on.

    Source: unit curve, Wright, T. P. (1936), Factors affecting the cost of airplanes, Journal of the
    Aeronautical Sciences 3(4), 122-128, read for single units as by Crawford, J. R. (1944) (from memory).
    """
    number = check.whole("the number of the unit", unit)
    after = check.whole("the unit at which the standard is reached", standard_after)
    standard = check.positive("the standard time", standard_time)
    share = check.positive("the learning rate", check.share("the learning rate", rate))
    return standard * max(1.0, math.pow(number / after, math.log2(share)))


def units_within(duration: float, standard_time: float, rate: float, standard_after: int) -> int:
    """Units that one person who starts as a beginner has finished after a duration, none of it lost.

    The sum of the unit times above, unit by unit; time in one unit.

    Raises:
        ValueError: the duration is negative, or as `unit_time`.
    """
    check.not_negative("the duration", duration)
    first = unit_time(1, standard_time, rate, standard_after)
    most = int(duration / standard_time) + 1  # nobody is quicker than the standard
    numbers = np.arange(1, most + 1)
    exponent = math.log2(rate)
    times = standard_time * np.maximum(1.0, (numbers / standard_after) ** exponent)
    assert math.isclose(times[0], first)
    return int(np.searchsorted(np.cumsum(times), duration * (1 + 1e-12), side="right"))
