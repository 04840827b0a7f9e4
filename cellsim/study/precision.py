"""When enough replications have been run: until the interval of every watched figure is narrow enough."""

from __future__ import annotations

import functools
import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from cellsim.errors import UsageError
from cellsim.study.statistics import LEVEL, t_quantile
from cellsim.units import UnitError, parse_share

LEAST, LOOK_AHEAD, MOST = 10, 5, 10_000
BEYOND = 1.1  # replications run beyond the forecast, so that the next look is mostly the last


@dataclass(frozen=True, slots=True)
class Precision:
    """How narrow intervals must be, and how that is made sure.

    Attributes:
        relative: largest half width of an interval, relative to the mean
        absolute: or this, in the unit of the figure; for figures that may be about 0
        level: confidence of the intervals
        least: replications before the first look
        look_ahead: for how many more replications (per cent of n beyond 100) it must stay narrow enough
        most: replications after which it is given up
    """

    relative: float
    absolute: float = 0.0
    level: float = LEVEL
    least: int = LEAST
    look_ahead: int = LOOK_AHEAD
    most: int = MOST

    def __post_init__(self) -> None:
        if not 0 < self.relative < 1 or self.least < 2 or self.look_ahead < 0 or self.most < self.least:
            raise ValueError(f"no such precision: {self}")

    def ahead(self, enough: int) -> int:
        """For how many more replications a study must stay narrow enough that is so after `enough`."""
        return self.look_ahead if enough <= 100 else self.look_ahead * enough // 100


@dataclass(frozen=True, slots=True)
class Stop:
    """Where a study is over: all figures are narrow enough at `enough` and stay so until `run`."""

    enough: int
    run: int


@functools.cache
def _quantile(share: float, freedom: int) -> float:
    return t_quantile(share, freedom)


def half_width(n: int, squares: float, level: float) -> float:
    """Half the width of Student's interval of n values with this sum of squared deviations."""
    return _quantile((1 + level) / 2, n - 1) * math.sqrt(squares / (n - 1) / n)


def as_precision(given: float | str, most: int | None) -> Precision:
    """The precision that somebody asks for, a share or a text such as `2 %`, with the most replications.

    Raises:
        UsageError: it is no share above 0 and at most 50 %, or `most` is fewer than a study takes.
    """
    try:
        share = parse_share(given) if isinstance(given, str) else given
    except UnitError as error:
        raise UsageError(f"--precision: {error}") from None
    if not 0 < share <= 0.5:
        raise UsageError(f"--precision {given}: a share above 0 and at most 50 % is wanted, for example 2 %")
    if most is not None and most < LEAST:
        raise UsageError(f"--precision takes at least {LEAST} replications, -n {most} allows fewer")
    return Precision(share, most=most or MOST)


def stop_at(figures: Sequence[Sequence[float]], wanted: Precision) -> Stop | None:
    """Where a study of these figures, one sequence of replications each, is over; None when it must go on.

    The first n >= least at which every half width is at most max(relative x |mean|, absolute), and stays so
    for k more replications, k = look_ahead for n <= 100 and floor(look_ahead n / 100) beyond.  The look ahead
    is that of Hoad, Robinson and Davies (2010), Automated selection of the number of replications for a
    discrete-event simulation, Journal of the Operational Research Society 61(11), 1632-1644 (its form from
    memory); without it a lucky start ends a study too soon.

    The answer depends on the replications in their order alone, not on how many were run at once.
    """
    means, squares = [0.0] * len(figures), [0.0] * len(figures)
    since = 0
    for n in range(1, min(map(len, figures), default=0) + 1):
        narrow = True
        for k, values in enumerate(figures):
            step = values[n - 1] - means[k]
            means[k] += step / n
            squares[k] += step * (values[n - 1] - means[k])
            if n >= wanted.least and narrow:
                allowed = max(wanted.relative * abs(means[k]), wanted.absolute)
                narrow = half_width(n, squares[k], wanted.level) <= allowed
        if n < wanted.least:
            continue
        since = (since or n) if narrow else 0
        if since and n >= since + wanted.ahead(since):
            return Stop(since, n)
    return None


def needed(values: Sequence[float], wanted: Precision) -> int:
    """How many replications one figure takes by its spread so far: the smallest n that is narrow enough.

    At least `least`, at most `most`.

    Raises:
        ValueError: there are fewer than two values.
    """
    if len(values) < 2:
        raise ValueError("a spread takes at least two values")
    mean = math.fsum(values) / len(values)
    variance = math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
    allowed = max(wanted.relative * abs(mean), wanted.absolute)

    def too_few(n: int) -> bool:
        return half_width(n, variance * (n - 1), wanted.level) > allowed

    if too_few(wanted.most):
        return wanted.most
    return bisect_left(range(wanted.most), 1, lo=wanted.least, key=lambda n: not too_few(n))


def forecast(figures: Sequence[Sequence[float]], wanted: Precision) -> int:
    """How many replications the precision will take in all, look ahead included; at most `most`."""
    n = max((needed(values, wanted) for values in figures), default=wanted.least)
    return min(wanted.most, n + wanted.ahead(n))


def next_count(figures: Sequence[Sequence[float]], wanted: Precision) -> int:
    """How many replications there should be in all at the next look; more than there are, at most `most`."""
    there = min(map(len, figures))
    further = max(there + max(1, wanted.ahead(there)), round(BEYOND * forecast(figures, wanted)))
    return min(wanted.most, further)
