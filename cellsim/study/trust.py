"""From how many runs on an interval of a mean can be trusted, where rare long stops weigh heavily in it.

Student's interval takes means for normal.  A few shifts with a breakdown of hours among many without one make
them anything but that: the interval is then too narrow, and lies too high where none of them is in the
sample.  Two signs are looked at: the skewness of the values, and how often a stop comes by the description,
since a sample without any shows no skewness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.describe.cell import Cell, Robot, Station
from cellsim.describe.laws import mean
from cellsim.study.plan import Plan

COCHRAN = 25.0  # values needed for each unit of squared skewness
ENOUGH = 10  # times that a stop must come in all runs together before its cost is known (common practice)
MATERIAL = 0.003  # share of time below which a stop costs too little to matter


def skewness(values: Sequence[float]) -> float:
    """The sample skewness G1, adjusted for its size; 0 where the values hardly differ.

    Source: Joanes, D. N. and Gill, C. A. (1998), Comparing measures of sample skewness and kurtosis, The
    Statistician 47, 183-189 (from memory).
    """
    data = np.asarray(values, dtype=float)
    n, spread = len(data), float(data.std())
    if n < 3 or spread <= 1e-12 * max(1.0, abs(float(data.mean()))):
        return 0.0
    plain = float(((data - data.mean()) ** 3).mean()) / spread**3
    return plain * math.sqrt(n * (n - 1)) / (n - 2)


def values_needed(values: Sequence[float]) -> int | None:
    """How many such values make Student's interval of their mean hold about what it says; None: these do.

    25 times the squared skewness (Cochran, W. G. (1977), Sampling Techniques, 3rd ed., section 2.15, from
    memory).  Few values of a symmetric law are skewed by chance: only what goes two standard errors of the
    skewness beyond is taken for real.
    """
    n = len(values)
    if n < 3:
        return None
    found = abs(skewness(values))
    error = math.sqrt(6 * n * (n - 1) / ((n - 2) * (n + 1) * (n + 3)))
    if COCHRAN * max(0.0, found - 2 * error) ** 2 <= n:
        return None
    return math.ceil(COCHRAN * found**2)


@dataclass(frozen=True, slots=True)
class RareStop:
    """A stop that costs enough to matter and comes `per_run` times in a run at most, on average.

    `share` is the share of time that it costs whom it stops, if he works all the time.
    """

    who: str
    cause: str
    per_run: float
    share: float

    @property
    def runs(self) -> int:
        """In how many runs it comes often enough."""
        return math.ceil(ENOUGH / self.per_run)


def rare_stops(cell: Cell, plan: Plan) -> list[RareStop]:
    """The stops that cost time of note, the rarest first: as if what stops worked all the time.

    Only stops whose clock is time; of those by cycles it is not known how often they come.
    """
    owners: tuple[tuple[Station | Robot, int], ...] = (
        *((station, station.machines) for station in cell.stations),
        *((robot, 1) for robot in cell.robots),
    )
    found = []
    for owner, machines in owners:
        for stop in owner.stops:
            if stop.planned or stop.at or stop.clock not in ("running", "on time"):
                continue
            every, lasts = mean(stop.every), mean(stop.lasts)
            if lasts > MATERIAL * (every + lasts) and plan.worked:
                share = lasts / (every + lasts)
                often = machines * plan.worked / (every + lasts)
                found.append(RareStop(owner.name, stop.name, often, share))
    return sorted(found, key=lambda stop: stop.per_run)


def runs_to_trust(cell: Cell, plan: Plan, values: Sequence[float]) -> int | None:
    """From how many runs on the interval of the mean of such values can be trusted; None: it can.

    `values` are one a run.
    """
    rare = max((stop.runs for stop in rare_stops(cell, plan)), default=0)
    most = max(rare if rare > len(values) else 0, values_needed(values) or 0)
    return most or None


def unlike_stops(base: Sequence[RareStop], other: Sequence[RareStop]) -> list[RareStop]:
    """The stops that only one of two cells has, or has otherwise; those of both come with the same luck."""
    return [stop for stop in (*base, *other) if (stop in base) != (stop in other)]


def runs_to_trust_difference(
    base: tuple[Cell, Plan], other: tuple[Cell, Plan], gaps: Sequence[float]
) -> int | None:
    """From how many pairs of runs on the interval of a mean difference can be trusted; None: it can.

    `gaps` are the differences, one a pair.
    """
    unlike = unlike_stops(rare_stops(*base), rare_stops(*other))
    rare = max((stop.runs for stop in unlike), default=0)
    return max(rare if rare > len(gaps) else 0, values_needed(gaps) or 0) or None


def trust_caution(cell: Cell, plan: Plan, values: Sequence[float]) -> str:
    """What is to be said where the interval of output cannot be trusted yet; empty where it can."""
    needed = runs_to_trust(cell, plan, values)
    if needed is None or len(values) < 2:
        return ""
    rare = [stop for stop in rare_stops(cell, plan) if stop.runs > len(values)]
    what = "A few runs that are very unlike the rest weigh heavily"
    if rare:
        often = f"one of {1 / rare[0].per_run:.0f} runs" if rare[0].per_run < 0.5 else "few times a run"
        what = f"A long stop that comes seldom ({rare[0].who}, {rare[0].cause}: in {often}) weighs heavily"
    return (
        f"{what}: {len(values)} runs say too little of that, and the intervals are narrower than they should"
        f" be. Run about {rounded_up(needed)}."
    )


def rounded_up(count: int) -> int:
    """A count to two digits, upwards."""
    unit = int(10 ** max(0, len(str(count)) - 2))
    return math.ceil(count / unit) * unit
