"""What the replications of one cell, or of two under the same luck, say about a figure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import variance

from scipy.stats import f as f_law

from cellsim.published.replication import Replication
from cellsim.study.statistics import Interval, t_interval

Measure = Callable[[Replication], float]
Judge = Callable[[Sequence[float], Sequence[float], float], Interval]


@dataclass(frozen=True, slots=True)
class Reading:
    """A measure of each replication, and how the values of all become one figure.

    `judge(values, others, level)` gets the values of the cell, and of the cell that it is compared with
    (none: empty), both by replication, and the confidence of the interval; `scale` brings the measure to the
    unit of the figure; `least` replications are needed.
    """

    judge: Judge
    measure: Measure
    of: str = ""
    scale: float = 1.0
    least: int = 1


def mean_of(values: Sequence[float], others: Sequence[float], level: float) -> Interval:
    """The mean with its interval; a cell without chance has the same value in each replication."""
    return t_interval(values, level)


def gain(values: Sequence[float], others: Sequence[float], level: float) -> Interval:
    """The mean difference of a cell from another one, replication by replication under the same luck."""
    return t_interval([value - other for value, other in zip(values, others, strict=True)], level)


def times_the_runs(values: Sequence[float], others: Sequence[float], level: float) -> Interval:
    """How many times as many runs two cells need where each has luck of its own.

    The ratio of two variances of differences: the first half of the replications is paired; in the second
    half every second one lends its value, the one behind it that of the other cell, so that none is used
    twice.  Interval by the F law for normal differences.

    Source: an interval is as wide as the deviation / sqrt(runs); Law, A. M. (2015), Simulation Modeling and
    Analysis, chapter on variance reduction (from memory).
    """
    half = len(values) // 2
    paired = [value - other for value, other in zip(values[:half], others[:half], strict=True)]
    apart = [values[k] - others[k + 1] for k in range(half, len(values) - 1, 2)]
    ratio = variance(apart) / variance(paired)
    tail = (1 - level) / 2
    above, below = len(apart) - 1, len(paired) - 1
    return Interval(
        ratio,
        ratio / float(f_law.ppf(1 - tail, above, below)),
        ratio / float(f_law.ppf(tail, above, below)),
        level,
    )
