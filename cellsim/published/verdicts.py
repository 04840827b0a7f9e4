"""Does what this program finds agree with a known value, and is it sharp enough to say so?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cellsim.published.entry import Published, Value
from cellsim.study.statistics import t_interval

FALSE_ALARM = 0.01  # chance that a right program is told it differs anywhere in the table, over all seeds
QUICK, FULL = 0.01, 0.003  # the largest relative half widths


@dataclass(frozen=True, slots=True)
class Verdict:
    """What independent replications say about a value.

    `half_width` is relative to the scale of the value; the value with its tolerance to both sides agrees
    where it meets the interval from `low` to `high`.
    """

    mean: float
    low: float
    high: float
    half_width: float
    agrees: bool


def judge(entry: Published, measured: Sequence[float], level: float, value: float | None = None) -> Verdict:
    """Judge the value of an entry, or another one in its place, by one measurement per replication.

    `level` is the confidence of the interval, after the false alarms have been shared out.

    Raises:
        ValueError: there are fewer than two measurements, or the entry is a trace.
    """
    if len(measured) < 2 or isinstance(entry.value, tuple):
        raise ValueError("a verdict on one value needs at least two measurements of it")
    stated = entry.value if value is None else value
    interval = t_interval(measured, level)
    low, high, half = interval.low, interval.high, interval.half_width
    assert low is not None and high is not None and half is not None
    band = entry.tolerance * abs(stated)
    agrees = low <= stated + band and high >= stated - band
    return Verdict(interval.mean, low, high, half / (entry.whole or abs(entry.value)), agrees)


def same(ours: Value, value: Value, rounding: float) -> bool:
    """Whether a value on paper, or a trace, is the known one to its last digit."""
    if isinstance(ours, tuple) or isinstance(value, tuple):
        return (
            isinstance(ours, tuple)
            and isinstance(value, tuple)
            and len(ours) == len(value)
            and all(same(a, b, rounding) for a, b in zip(ours, value, strict=True))
        )
    return math.isclose(ours, value, rel_tol=rounding, abs_tol=rounding * 1e-3)


def level_of(checks: int) -> float:
    """Confidence of each interval so that all of `checks` hold together with a chance of 1 - FALSE_ALARM.

    The bound of Bonferroni (1936), which needs no independence.
    """
    return 1 - FALSE_ALARM / max(1, checks)
