"""Times that consist of exponential phases: exponential, Erlang, hyperexponential, Coxian, with stops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cellsim.theory.chains import FloatArray
from cellsim.theory.line_inputs import one_number


@dataclass(frozen=True, slots=True, eq=False)
class PhaseType:
    """A time of m exponential phases.

    `start[k]` is the chance to begin in phase k, `moves[k, l]` the rate from phase k to phase l, `ends[k]`
    the rate at which the time ends in phase k.  Shapes (m,), (m, m), (m,).
    """

    start: FloatArray
    moves: FloatArray
    ends: FloatArray

    def __post_init__(self) -> None:
        m = len(self.start)
        if self.start.shape != (m,) or self.moves.shape != (m, m) or self.ends.shape != (m,):
            raise ValueError(
                f"start, moves and ends of {m} phases have shapes ({m},), ({m}, {m}), ({m},), got "
                f"{self.start.shape}, {self.moves.shape}, {self.ends.shape}"
            )
        if min(self.start.min(), self.moves.min(), self.ends.min()) < 0 or abs(self.start.sum() - 1) > 1e-9:
            raise ValueError("chances to begin add up to 1, and no chance and no rate is negative")

    @property
    def generator(self) -> FloatArray:
        """Rates between phases with what leaves each on the diagonal, shape (m, m)."""
        between = self.moves - np.diag(np.diag(self.moves))
        generator: FloatArray = between - np.diag(between.sum(axis=1) + self.ends)
        return generator

    def moments_from(self, start: FloatArray) -> tuple[float, float]:
        """First and second moment of the time that is left with these chances of each phase."""
        once = np.linalg.solve(-self.generator, np.ones(len(start)))
        twice = np.linalg.solve(-self.generator, once)
        return float(start @ once), float(2 * start @ twice)

    @property
    def mean(self) -> float:
        """Mean time."""
        return self.moments_from(self.start)[0]

    @property
    def scv(self) -> float:
        """Variance / mean^2 (squared coefficient of variation)."""
        first, second = self.moments_from(self.start)
        return second / first**2 - 1


def exponential(mean: float) -> PhaseType:
    """Exponential time."""
    return erlang(1, mean)


def erlang(phases: int, mean: float) -> PhaseType:
    """Sum of equal exponential phases, SCV 1 / phases.

    Raises:
        ValueError: the number of phases is not a whole number of at least 1, or the mean is not positive.
    """
    if not float(phases).is_integer() or phases < 1:
        raise ValueError(f"an Erlang time has a whole number of phases of at least 1, got {phases}")
    return _chain([phases / one_number(mean, "a mean time")] * int(phases), [1.0] * (int(phases) - 1))


def hyperexponential(weights: tuple[float, ...], means: tuple[float, ...]) -> PhaseType:
    """One of several exponential times, chosen with these chances; SCV at least 1.

    Raises:
        ValueError: the lengths differ, a mean is not positive, or the chances do not add up to 1.
    """
    if len(weights) != len(means):
        raise ValueError(f"each chance has its mean time, got {len(weights)} chances and {len(means)} means")
    rates = np.array([1 / one_number(mean, "a mean time") for mean in means])
    return PhaseType(np.array(weights, dtype=np.float64), np.zeros((len(rates), len(rates))), rates)


def with_mean_and_scv(mean: float, scv: float) -> PhaseType:
    """The usual time of phases with a mean and a squared coefficient of variation.

    Above 1: two exponential times with balanced means, p1 m1 = p2 m2.  From 1/2 to 1: Coxian with two
    phases.  Below 1/2: k - 1 or k equal phases, 1/k <= SCV <= 1/(k-1); a constant time needs infinitely many.

    Source: Tijms, H. C. (1994), Stochastic Models: An Algorithmic Approach, Wiley, appendix B; Marie, R.
    (1980), Calculating equilibrium probabilities for lambda(n)/Ck/1/N queues, Performance Evaluation
    Review 9(2), 117-125 (both from memory).

    Raises:
        ValueError: the mean or the SCV is not positive, or the SCV is below 0.01 (100 phases).
    """
    one_number(mean, "a mean time")
    if one_number(scv, "a squared coefficient of variation") < 0.01:
        raise ValueError(
            f"a squared coefficient of variation of at least 0.01 has at most 100 phases, got {scv}"
        )
    if abs(scv - 1) < 1e-12:
        return exponential(mean)
    if scv > 1:
        p = (1 + math.sqrt((scv - 1) / (scv + 1))) / 2
        return hyperexponential((p, 1 - p), (mean / (2 * p), mean / (2 * (1 - p))))
    if scv >= 0.5:
        return _chain([2 / mean, 1 / (mean * scv)], [1 / (2 * scv)])
    k = math.ceil(1 / scv - 1e-12)
    p = (k * scv - math.sqrt(max(0.0, k * (1 + scv) - k * k * scv))) / (1 + scv)
    p = max(0.0, p)  # chance of one phase less; rounding may leave -1e-16
    rate = (k - p) / mean
    law = _chain([rate] * k, [1.0] * (k - 1))
    start = np.zeros(k)
    start[0], start[1] = 1 - p, p
    return PhaseType(start, law.moves, law.ends)


def with_stops(work: PhaseType, mean_run: float, mean_repair: float) -> PhaseType:
    """Time from start to end of work that stops while it runs and goes on after the repair.

    Both the running time to a stop and the repair are exponential; a station that does not work does not
    stop.  Twice as many phases: of each one that runs and one in which it is under repair.

    Raises:
        ValueError: a mean is not positive.
    """
    stop = np.eye(len(work.start)) / one_number(mean_run, "a mean running time to a stop")
    repaired = np.eye(len(work.start)) / one_number(mean_repair, "a mean repair time")
    nothing = np.zeros(len(work.start))
    moves = np.block([[work.moves, stop], [repaired, np.zeros_like(stop)]])
    return PhaseType(np.concatenate([work.start, nothing]), moves, np.concatenate([work.ends, nothing]))


def _chain(rates: list[float], goes_on: list[float]) -> PhaseType:
    """Phases one after the other; `goes_on[k]` is the chance that phase k is not the last."""
    m = len(rates)
    moves, ends, start = np.zeros((m, m)), np.array(rates, dtype=np.float64), np.zeros(m)
    start[0] = 1
    for k, chance in enumerate(goes_on):
        moves[k, k + 1] = rates[k] * chance
        ends[k] = rates[k] * (1 - chance)
    return PhaseType(start, moves, ends)
