"""What must be gained so that the money is back in a given time: a closed form."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cellsim.money.flows import FloatArray, npv


def needed_gain(fixed: FloatArray, each: FloatArray, years: float) -> float | None:
    """The amount x at which the sum of `fixed` + x `each` is 0 at a time, linear within the year.

    With an investment I, yearly costs r and m earned a year by one unit more per hour this is
    (I / years + r) / m.  None where nothing is gained until then.

    Args:
        fixed: flows at the ends of years 0, 1, ... without the gain.
        each: what one unit of the gain adds to them.
        years: the time, up to that of the last flow.

    Raises:
        ValueError: the flows differ in number, or the time lies outside them.
    """
    if len(fixed) != len(each) or not 0 < years <= len(fixed) - 1:
        raise ValueError(f"{len(fixed)} and {len(each)} flows and {years} years; they must fit together")
    times = np.arange(len(fixed))
    earned = float(np.interp(years, times, np.cumsum(each)))
    return None if earned <= 0 else -float(np.interp(years, times, np.cumsum(fixed))) / earned


def needed_for_value(fixed: FloatArray, each: FloatArray, rate: float) -> float | None:
    """The amount x at which `fixed` + x `each` has no net present value; None where nothing is earned."""
    earned = npv(each, rate)
    return None if earned <= 0 else -npv(fixed, rate) / earned


def curve(fixed: FloatArray, each: FloatArray, times: Sequence[float]) -> list[dict[str, float | None]]:
    """The gain needed for each payback time."""
    return [{"years": float(t), "needed": needed_gain(fixed, each, t)} for t in times]
