"""A quadratic that stands in for a cell between the points that were run, checked where it was not fitted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cellsim.study.screening import FloatArray
from cellsim.study.shares_of_variance import RESAMPLES, Shares

TRUSTED = 0.9  # share of the variance at points left out that a stand-in must explain


@dataclass(frozen=True, slots=True)
class StandIn:
    """constant + slopes . x + x . squares . x, with `squares` symmetric, (inputs, inputs)."""

    constant: float
    slopes: FloatArray
    squares: FloatArray

    def at(self, points: FloatArray) -> FloatArray:
        """Outputs at points, (points, inputs)."""
        values: FloatArray = (
            self.constant + points @ self.slopes + ((points @ self.squares) * points).sum(axis=1)
        )
        return values


def terms(inputs: int) -> int:
    """How many coefficients a quadratic of so many inputs has."""
    return 1 + 2 * inputs + inputs * (inputs - 1) // 2


def fitted(points: FloatArray, outputs: FloatArray, groups: NDArray[np.int64] | None = None) -> StandIn:
    """The quadratic of least squares through outputs, (points,), at points, (points, inputs).

    `groups` says which points had the same luck; each group then has a level of its own, so that its luck
    does not count.

    Raises:
        ValueError: there are fewer points than coefficients.
    """
    count, inputs = points.shape
    if count < terms(inputs):
        raise ValueError(f"{count} points; a quadratic of {inputs} inputs takes at least {terms(inputs)}")
    upper = np.triu_indices(inputs)
    rows = np.hstack([points, points[:, upper[0]] * points[:, upper[1]]])
    found = np.linalg.lstsq(_centred(rows, groups), _centred(outputs, groups), rcond=None)[0]
    squares = np.zeros((inputs, inputs))
    squares[upper] = found[inputs:]
    constant = float((outputs - rows @ found).mean())
    return StandIn(constant, np.asarray(found[:inputs], dtype=float), (squares + squares.T) / 2)


def _centred(values: FloatArray, groups: NDArray[np.int64] | None) -> FloatArray:
    """Values without the mean of their group, or without that of all."""
    if groups is None:
        groups = np.zeros(len(values), dtype=np.int64)
    which = np.unique(groups, return_inverse=True)[1]
    sums = np.zeros((which.max() + 1, *values.shape[1:]))
    np.add.at(sums, which, values)
    counts = np.bincount(which).reshape(-1, *[1] * (values.ndim - 1))
    centred: FloatArray = values - (sums / counts)[which]
    return centred


def explained(predicted: FloatArray, outputs: FloatArray, groups: NDArray[np.int64] | None = None) -> float:
    """Share of the variance of outputs that a prediction explains, at most 1; below 0 it is worse than none.

    With `groups` only differences within them count.

    Raises:
        ValueError: output does not vary.
    """
    own = _centred(outputs, groups)
    whole = float((own**2).sum())
    if whole == 0:
        raise ValueError("output is the same at all points, so there is nothing to explain")
    return 1 - float(((own - _centred(predicted, groups)) ** 2).sum()) / whole


def parts(stand_in: StandIn, values: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Variances of a stand-in whose inputs are independent: of each alone, and of each with all it touches.

    `values` are equally likely values of each input.  With z = x - its mean the quadratic falls apart into
    functions of one input, slope z + square z^2, and products of two, which are not correlated.
    """
    means = np.array([each.mean() for each in values])
    variances = np.array([each.var() for each in values])
    slopes = stand_in.slopes + 2 * stand_in.squares @ means
    own = np.diag(stand_in.squares)
    alone = np.array(
        [
            (b * (x - m) + q * (x - m) ** 2).var()
            for b, q, x, m in zip(slopes, own, values, means, strict=True)
        ]
    )
    pairs = (2 * (stand_in.squares - np.diag(own))) ** 2 * np.outer(variances, variances)
    return alone, alone + pairs.sum(axis=1)


def quadratic_shares(
    points: FloatArray,
    outputs: FloatArray,
    groups: NDArray[np.int64],
    values: Sequence[FloatArray],
    rng: np.random.Generator,
    beside: float = 0.0,
) -> Shares:
    """Sobol's shares of the quadratic through points, exact for it, with studies of resampled groups.

    Points of a group have the same luck, so whole groups are drawn.  `beside` is variance that other inputs
    carry, of which these have no share.
    """

    def shares(rows: NDArray[np.int64], own: NDArray[np.int64]) -> tuple[FloatArray, FloatArray]:
        alone, touched = parts(fitted(points[rows], outputs[rows], own), values)
        whole = float(alone.sum() + (touched - alone).sum() / 2) + beside
        return alone / whole, touched / whole

    members = [np.flatnonzero(groups == group) for group in np.unique(groups)]
    first, total = shares(np.arange(len(points)), groups)
    drawn = []
    for _ in range(RESAMPLES):
        picked = rng.integers(len(members), size=len(members))
        rows = np.concatenate([members[k] for k in picked])
        drawn.append(shares(rows, np.repeat(np.arange(len(picked)), [len(members[k]) for k in picked])))
    return Shares(first, total, np.array([f for f, _ in drawn]), np.array([t for _, t in drawn]))
