"""Which of many inputs matter at all: elementary effects along random ways through their ranges."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from cellsim.study.statistics import LEVEL, t_quantile

FloatArray = NDArray[np.float64]

LEVELS = 4  # values of each input between its low and its high end
STEP = LEVELS / (2 * (LEVELS - 1))  # of the range by which one input is changed at a time


@dataclass(frozen=True, slots=True)
class Trajectories:
    """Ways through the unit cube on which one input after the other is changed by STEP, up or down.

    `points` are (ways, inputs + 1, inputs), `changed[way, k]` is the input by which point k + 1 differs from
    point k.
    """

    points: FloatArray
    changed: NDArray[np.int64]


def trajectories(inputs: int, count: int, rng: np.random.Generator) -> Trajectories:
    """So many random ways: a start on the grid of LEVELS, then every input once in random order.

    Source: Morris, M. D. (1991), Factorial sampling plans for preliminary computational experiments,
    Technometrics 33(2), 161-174 (from memory).

    Raises:
        ValueError: there is no input, or no way is wanted.
    """
    if inputs < 1 or count < 1:
        raise ValueError(f"{inputs} inputs and {count} ways; at least one of each is wanted")
    points = np.empty((count, inputs + 1, inputs))
    changed = np.empty((count, inputs), dtype=np.int64)
    for way in range(count):
        low = rng.integers(LEVELS // 2, size=inputs) / (LEVELS - 1)
        up = rng.integers(2, size=inputs).astype(bool)
        changed[way] = rng.permutation(inputs)
        points[way, 0] = np.where(up, low, low + STEP)
        for k, which in enumerate(changed[way]):
            points[way, k + 1] = points[way, k]
            points[way, k + 1, which] = low[which] + (STEP if up[which] else 0.0)
    return Trajectories(points, changed)


def elementary_effects(
    ways: Trajectories, outputs: FloatArray, positions: FloatArray | None = None
) -> FloatArray:
    """Change of output for one whole range of each input, on each way and in each run.

    Args:
        ways: where the outputs were found.
        outputs: (ways, inputs + 1, runs).
        positions: where the inputs really stood at the points, 0 = low end and 1 = high end, for inputs that
            cannot stand everywhere; shape of `ways.points`, which is the default.

    Returns:
        (ways, inputs, runs), in units of output.

    Raises:
        ValueError: the shapes do not belong together.
    """
    stood = ways.points if positions is None else positions
    if outputs.shape[:2] != ways.points.shape[:2] or outputs.ndim != 3 or stood.shape != ways.points.shape:
        raise ValueError(
            f"outputs of shape {outputs.shape} and positions of shape {stood.shape} do not go with points of"
            f" shape {ways.points.shape}; wanted is (ways, inputs + 1, runs)"
        )
    count, inputs = ways.changed.shape
    effects = np.empty((count, inputs, outputs.shape[2]))
    for way in range(count):
        for k, which in enumerate(ways.changed[way]):
            moved = stood[way, k + 1, which] - stood[way, k, which]
            effects[way, which] = (outputs[way, k + 1] - outputs[way, k]) / moved
    return effects


@dataclass(frozen=True, slots=True)
class Effect:
    """What one input does to output from its low to its high end.

    Attributes:
        mean: mean change, with its `half_width` at `level`.
        size: mean of the absolute changes, which does not cancel where they have both signs.
        bend: standard deviation of the change from place to place without the chance of the runs: 0 where
            the effect is a straight line that depends on no other input.
        square: mean square of the change without the chance of the runs, at least 0.
    """

    mean: float
    half_width: float
    size: float
    bend: float
    square: float
    level: float = LEVEL


def effect_of(changes: FloatArray, level: float = LEVEL) -> Effect:
    """Sum up the changes of one input, (ways, runs), where each way has luck of its own.

    Ways are independent, so their means give Student's interval.  What the means vary more than the chance of
    the runs within a way explains is the bend (one-way analysis of variance with random rows).

    Raises:
        ValueError: there are fewer than two ways or runs.
    """
    squares = squares_of(changes)
    by_way = changes.mean(axis=1)
    ways, runs = changes.shape
    between = float(by_way.var(ddof=1))
    chance = float(changes.var(axis=1, ddof=1).mean()) / runs
    return Effect(
        mean=float(by_way.mean()),
        half_width=t_quantile((1 + level) / 2, ways - 1) * math.sqrt(between / ways),
        size=float(np.abs(by_way).mean()),
        bend=math.sqrt(max(0.0, between - chance)),
        square=max(0.0, float(squares.mean())),
        level=level,
    )


def squares_of(changes: FloatArray) -> FloatArray:
    """The square of the change on each way without the chance of the runs, unbiased; runs stand last.

    Raises:
        ValueError: there are fewer than two ways or runs.
    """
    if changes.shape[0] < 2 or changes.shape[-1] < 2:
        raise ValueError(f"changes of shape {changes.shape}; wanted are at least two ways and two runs")
    squares: FloatArray = changes.mean(axis=-1) ** 2 - changes.var(axis=-1, ddof=1) / changes.shape[-1]
    return squares


def chance_of(changes: FloatArray) -> float:
    """The chance of changes so large, (ways, runs), if the input did nothing: p of an F test.

    The mean square of the changes of the ways over the variance that chance of the runs gives them.

    Raises:
        ValueError: there are fewer than two ways or runs.
    """
    squares = squares_of(changes)
    ways, runs = changes.shape
    chance = float(changes.var(axis=1, ddof=1).mean()) / runs
    square = float(squares.mean()) + chance
    if chance == 0:
        return 1.0 if square == 0 else 0.0
    return float(fdtrc(ways, ways * (runs - 1), square / chance))


def residual_variance(table: FloatArray) -> float:
    """Variance of what neither row nor column explains, of a table (rows, columns) of at least two each."""
    rest = table - table.mean(axis=1, keepdims=True) - table.mean(axis=0, keepdims=True) + table.mean()
    rows, columns = table.shape
    return float((rest**2).sum()) / float((rows - 1) * (columns - 1))
