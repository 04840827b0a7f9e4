"""Which share of what is not known about output each input carries: Sobol's indices, and their noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cellsim.study.screening import FloatArray, residual_variance
from cellsim.study.statistics import LEVEL

RESAMPLES = 200


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of the variance of output: `first` of each input alone, `total` with what it does with others.

    `drawn` are (resamples, inputs) first shares of resampled studies, from which intervals are made.
    """

    first: FloatArray
    total: FloatArray
    drawn: FloatArray
    drawn_total: FloatArray

    def interval(self, which: int, total: bool = False, level: float = LEVEL) -> tuple[float, float]:
        """The bootstrap interval of one share (percentiles of the resampled studies)."""
        values = (self.drawn_total if total else self.drawn)[:, which]
        low, high = np.quantile(values, [(1 - level) / 2, (1 + level) / 2])
        return float(low), float(high)

    def chance_to_lead(self, which: int) -> float:
        """Share of the resampled studies in which this input carries most."""
        leads = self.drawn_total.argmax(axis=1) == which
        return float(leads.mean())


def latin_hypercube(inputs: int, count: int, rng: np.random.Generator) -> FloatArray:
    """So many points of the unit cube, (count, inputs): one in each of `count` strata of each input.

    McKay, M. D., Beckman, R. J. and Conover, W. J. (1979), A comparison of three methods for selecting values
    of input variables in the analysis of output from a computer code, Technometrics 21(2), 239-245 (from
    memory); drawn by scipy.
    """
    from scipy.stats import qmc

    points: FloatArray = qmc.LatinHypercube(d=inputs, seed=rng).random(count)
    return points


def sobol_points(inputs: int, count: int, rng: np.random.Generator) -> FloatArray:
    """Where output must be known for `sobol_shares`: (inputs + 2, count, inputs) in the unit cube.

    Two independent sets of points, then for each input the first set with that input from the second.

    Raises:
        ValueError: the count is no power of two.
    """
    from scipy.stats import qmc

    if count < 2 or count & (count - 1):
        raise ValueError(f"{count} points; a power of two is wanted")
    both = qmc.Sobol(d=2 * inputs, seed=rng).random(count)
    first, second = both[:, :inputs], both[:, inputs:]
    points = np.empty((inputs + 2, count, inputs))
    points[0], points[1] = first, second
    for k in range(inputs):
        points[k + 2] = first
        points[k + 2, :, k] = second[:, k]
    return points


def sobol_shares(
    outputs: FloatArray, rng: np.random.Generator, resamples: int = RESAMPLES, of: float = 1.0
) -> Shares:
    """First and total shares from the outputs at `sobol_points`, (inputs + 2, count), by scipy.

    `of` is the share of the variance of the outputs that is to be shared out, where the rest has other
    reasons, such as luck that the points of a column share and others do not.

    Saltelli, A. et al. (2010), Variance based sensitivity analysis of model output, Computer Physics
    Communications 181, 259-270 (from memory), as `scipy.stats.sobol_indices` does it.  Noise that is fresh at
    each point makes first shares too small and total shares too large; see `noise_share`.

    Raises:
        ValueError: output does not vary.
    """
    if float(np.ptp(outputs)) == 0:
        raise ValueError("output is the same at all points, so nothing has a share in its variance")
    first, total = _indices(outputs)
    count = outputs.shape[1]
    drawn = [_indices(outputs[:, rng.integers(count, size=count)]) for _ in range(resamples)]
    return Shares(
        first / of, total / of, np.array([f for f, _ in drawn]) / of, np.array([t for _, t in drawn]) / of
    )


def _indices(outputs: FloatArray) -> tuple[FloatArray, FloatArray]:
    from scipy.stats import sobol_indices

    inputs, count = len(outputs) - 2, outputs.shape[1]
    changed = np.concatenate([outputs[2:], outputs[:1]])  # and an input that does nothing: scipy takes two
    found = sobol_indices(
        func={"f_A": outputs[None, 0], "f_B": outputs[None, 1], "f_AB": changed[:, None, :]}, n=count
    )
    return found.first_order[:inputs], found.total_order[:inputs]


def noise_share(outputs: FloatArray, variance: float) -> float:
    """Variance by chance of the runs that the same luck does not cancel, over the `variance` that has shares.

    Outputs are (groups, points, runs); the points of a group have the same luck.  It is what neither point
    nor run explains within a group, over the number of runs.

    Raises:
        ValueError: there are fewer than two points or runs, or output does not vary.
    """
    if outputs.ndim != 3 or min(outputs.shape[1:]) < 2:
        raise ValueError(
            f"outputs of shape {outputs.shape}; wanted are groups of at least two points and runs"
        )
    if variance <= 0:
        raise ValueError("output is the same at all points, so nothing has a share in its variance")
    left = sum(residual_variance(group) for group in outputs) / len(outputs)
    return left / int(outputs.shape[2]) / variance
