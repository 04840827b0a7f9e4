"""How much of the interval of an answer is chance of the runs, and how much not knowing the inputs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import fdtri

from cellsim.study.screening import FloatArray
from cellsim.study.statistics import LEVEL, t_quantile


@dataclass(frozen=True, slots=True)
class Split:
    """Mean output over what the inputs may be, and the two variances.

    `inputs` is the variance of the long-run output because the inputs are not known, `runs` that of one run
    by chance; `draws` is how many draws of the inputs they rest on, with `each` runs of each.  `between` is
    the variance of the means of the draws.
    """

    mean: float
    inputs: float
    runs: float
    draws: int
    each: int
    between: float

    def share(self, runs: int) -> float | None:
        """Share of not knowing the inputs in the variance of a mean of so many runs; None: nothing varies."""
        whole = self.inputs + self.runs / runs
        return self.inputs / whole if whole > 0 else None

    def share_interval(self, runs: int, level: float = LEVEL) -> tuple[float, float] | None:
        """Exact interval of that share for normal values; None where nothing varies by chance.

        The variance of the means over what chance gives them is (1 + each x inputs / runs) times an F value
        (Searle, Casella and McCulloch 1992, section 3.6, from memory).
        """
        if self.runs == 0:
            return None
        found = self.between / (self.runs / self.each)
        above, below = self.draws - 1, self.draws * (self.each - 1)
        ends = []
        for tail in ((1 + level) / 2, (1 - level) / 2):
            ratio = max(0.0, (found / float(fdtri(above, below, tail)) - 1) / self.each)  # inputs / runs
            ends.append(ratio / (ratio + 1 / runs))
        return ends[0], ends[1]

    def half_width(self, runs: int, level: float = LEVEL) -> float:
        """Half the width of the whole interval of a mean of so many runs."""
        return t_quantile((1 + level) / 2, self.draws - 1) * math.sqrt(self.inputs + self.runs / runs)


def split(outputs: FloatArray) -> Split:
    """Split the variance of outputs, (draws of the inputs, runs), every run with luck of its own.

    One-way analysis of variance with random rows: the chance of a run is the mean variance within rows, the
    inputs have what the row means vary more than that explains (Searle, S. R., Casella, G. and
    McCulloch, C. E. 1992, Variance Components, chapter 3, from memory).

    Raises:
        ValueError: there are fewer than two draws or runs.
    """
    if outputs.ndim != 2 or min(outputs.shape) < 2:
        raise ValueError(
            f"outputs of shape {outputs.shape}; wanted are at least two draws and two runs of each"
        )
    chance = float(outputs.var(axis=1, ddof=1).mean())
    between = float(outputs.mean(axis=1).var(ddof=1))
    draws, runs = outputs.shape
    return Split(float(outputs.mean()), max(0.0, between - chance / runs), chance, draws, runs, between)
