"""What an acceptance run can prove: how far availability scatters in it, who passes, how long it must be.

Running times and repairs are taken for exponential, the run for a piece of one that has gone on for long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.stats import norm

from cellsim.evidence.fitting import LEVEL, Bounds, availability_between, mean_between
from cellsim.theory.effective import availability
from cellsim.theory.unreliable import running_time_deviation, running_time_variance_rate


@dataclass(frozen=True, slots=True)
class Promise:
    """A promised machine: mean running time between stops and mean repair, in one unit of time."""

    run: float
    repair: float

    @property
    def availability(self) -> float:
        """Long-run share of time up."""
        return availability(self.run, self.repair)

    def deviation(self, length: float) -> float:
        """Standard deviation of the availability that is measured in a run of this length."""
        return running_time_deviation(self.run, self.repair, length) / length

    def half_width(self, length: float) -> float:
        """How far a measured availability lies from the true one in 95 of 100 runs (normal law)."""
        return float(norm.ppf(0.5 + LEVEL / 2)) * self.deviation(length)

    def length_for(self, within: float) -> float:
        """How long a run must be to measure availability to plus or minus `within`.

        By the deviation of long runs, sqrt(2 U^2 D^2 / ((U + D)^3 T)) for exponential up and down times (Cox
        1962, Renewal Theory; from memory).

        Raises:
            ValueError: `within` is not between 0 and 1.
        """
        if not 0 < within < 1:
            raise ValueError(f"{within:g} is no share between 0 and 1")
        quantile = float(norm.ppf(0.5 + LEVEL / 2))
        return running_time_variance_rate(self.run, self.repair) * (quantile / within) ** 2

    def chance_to_pass(self, limit: float, length: float) -> float:
        """The chance that a run of this length measures at least `limit` (normal law)."""
        deviation = self.deviation(length)
        if deviation == 0:
            return float(self.availability >= limit)
        return float(norm.sf((limit - self.availability) / deviation))


@dataclass(frozen=True, slots=True)
class Seen:
    """What a run has shown: running time between stops and availability with their bounds, mean repair."""

    between: Bounds
    repair: float
    availability: Bounds


def seen_in_run(length: float, stops: int, down: float, level: float = LEVEL) -> Seen:
    """What so many stops and so much time down in a run of a length prove.

    Raises:
        ValueError: the time down is negative or not less than the run, or stops and time down do not fit.
    """
    if not 0 <= down < length:
        raise ValueError(f"{down:g} down in a run of {length:g}: it must be less than the run")
    if (stops == 0) != (down == 0):
        raise ValueError(f"{stops} stops with {down:g} down do not fit together")
    up = length - down
    between = mean_between(up, stops, level)
    if stops == 0:
        return Seen(between, 0.0, Bounds(1.0, 0.0, 1.0))
    return Seen(between, down / stops, availability_between(up / stops, down / stops, stops, level))


def factors(stops: int, level: float = LEVEL) -> tuple[float, float]:
    """Lower and upper bound of a mean time between stops as multiples of the measured one."""
    found = mean_between(float(stops), stops, level)
    return (found.low, found.high) if stops else (found.low, math.inf)
