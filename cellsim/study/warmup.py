"""How long a cell takes from its start to its long-run behaviour: how much of a run must not be counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
GROUP = 5  # consecutive values that are averaged before the rule is applied


@dataclass(frozen=True, slots=True)
class Truncation:
    """How many values at the start of a series are dropped.

    `score` is the squared standard error, taken as if values were independent, of the mean of the others,
    `mean` that mean.  `too_short`: the series does not show where it settles; nothing should be dropped on
    its word, it should be made longer.
    """

    dropped: int
    score: float
    mean: float
    too_short: bool


def scores(values: FloatArray) -> FloatArray:
    """For each number d of values dropped, shape (n,): sum of squared deviations of the rest / (n - d)^2."""
    centred = values - values.mean()
    left = len(values) - np.arange(len(values))
    sums, squares = np.cumsum(centred[::-1])[::-1], np.cumsum(centred[::-1] ** 2)[::-1]
    return np.maximum(squares - sums**2 / left, 0.0) / left**2


def truncate(series: Sequence[float], group: int = GROUP) -> Truncation:
    """Where a series settles: the number dropped, at most half, that makes the mean of the rest surest.

    With `group` 5 the rule is applied to means of five consecutive values (an incomplete last group is left
    out): MSER-5 of White, Cobb and Spratt (2000), A comparison of five steady-state truncation heuristics for
    simulation, Proceedings of the Winter Simulation Conference; with 1 it is the rule of White (1997), An
    effective truncation heuristic for bias reduction in simulation output, Simulation 69(6), 323-334.  The
    series is too short where the score is smallest on the boundary or, up to the last five groups, in the
    second half.

    Raises:
        ValueError: there are fewer than ten groups.
    """
    groups = len(series) // group
    if groups < 10:
        raise ValueError(f"{len(series)} values are too few; at least {10 * group} are needed")
    means = np.asarray(series, dtype=float)[: groups * group].reshape(groups, group).mean(axis=1)
    found = scores(means)
    half = groups // 2
    best = int(np.argmin(found[: half + 1]))
    free = int(np.argmin(found[: groups - 5]))
    constant = bool(np.all(means == means[0]))
    return Truncation(
        dropped=0 if constant else best * group,
        score=float(found[0 if constant else best]),
        mean=float(means[0 if constant else best :].mean()),
        too_short=not constant and (free > half or best == half),
    )


def smoothed(series: Sequence[float], window: int) -> FloatArray:
    """Moving average over 2 w + 1 values, shape (n - w,); near the start over as many as there are.

    Welch (1983), The statistical analysis of simulation results, in The Computer Performance Modeling
    Handbook, Academic Press, pages 268-328 (from memory).

    Raises:
        ValueError: the window is not between 0 and a quarter of the series.
    """
    values = np.asarray(series, dtype=float)
    if not 0 <= window <= len(values) // 4:
        raise ValueError(
            f"a window of {window} for {len(values)} values; at most {len(values) // 4} is possible"
        )
    return np.array(
        [values[i - min(i, window) : i + min(i, window) + 1].mean() for i in range(len(values) - window)]
    )
