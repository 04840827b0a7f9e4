"""Rate of saturated lines whose times vary little or not at all, with or without stops; approximations.

Blocking after service.  Every estimate carries the error it usually has against simulated lines; how those
are drawn: tests/theory/random_lines.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cellsim.theory.chains import FloatArray
from cellsim.theory.effective import completion_time
from cellsim.theory.estimates import NEARLY, Estimate, UsualError
from cellsim.theory.line_inputs import alike, counts, one_number, positive
from cellsim.theory.longer_lines import geometric_decomposition
from cellsim.theory.two_moments import two_moment_estimate

STEADY = 0.1  # least SCV that is solved by phases; an estimate is carried on to steadier times
NEVER = 1e-9  # chance to stop in a cycle of a station that does not stop
STEADY_ERROR = UsualError(
    -5.5, 2.8, -0.2, -6.6, "200 lines of 2 to 7 stations, times 0.8-1.2, SCV 0-0.09, places 0-4"
)
EQUAL_ERROR = UsualError(
    -0.8, 2.3, 0.4, 2.9, "200 lines of 2 to 7 stations, run 20-200, repair 1.5-8 cycles, places 0-12"
)
STOPPED_ERROR = UsualError(
    -5.9, 8.6, 0.1, 11.2, "200 lines of 2 to 7 stations, times and stops as in the two above, places 0-8"
)


def steady_estimate(means: Sequence[float], scvs: Sequence[float], places: Sequence[int]) -> Estimate:
    """Approximate rate of a line some of whose times are steadier than a few phases could be.

    The estimate by two moments is made with SCVs of at least 0.1 and of at least 0.2 and carried on to those
    given, in a straight line over the root of their mean (what is lost between two stations without places
    goes by standard deviations), at most to the slowest station.

    Source: own; checked against simulated lines.

    Args:
        means, scvs, places: as `two_moment_estimate`; an SCV may be 0.

    Raises:
        ValueError, ArithmeticError: as `two_moment_estimate`.
    """
    times, spread = positive(means, "mean times"), _spreads(scvs)
    alike(times, spread, "mean times and squared coefficients of variation")
    fine, coarse = np.maximum(spread, STEADY), np.maximum(spread, 2 * STEADY)
    near = two_moment_estimate(times.tolist(), fine.tolist(), places, NEARLY)
    if np.array_equal(fine, spread):
        return near
    far = two_moment_estimate(times.tolist(), coarse.tolist(), places, NEARLY)
    here, there, given = (math.sqrt(kept.mean()) for kept in (fine, coarse, spread))
    rate = near.rate + (near.rate - far.rate) * (here - given) / (there - here)
    return Estimate(min(rate, float(1 / times.max())), STEADY_ERROR, near.sweeps + far.sweeps)


def equal_times_with_stops(
    time: float, mean_run: Sequence[float], mean_repair: Sequence[float], places: Sequence[int]
) -> Estimate:
    """Approximate rate of a line of one constant time whose stations stop by running time.

    Exponential running times and repairs are taken for whole numbers of cycles with the same means, and the
    line is one of `geometric_decomposition`.

    Source: own use of that method; checked against simulated lines.

    Args:
        time: the constant time of all stations.
        mean_run: mean running time to a stop, inf for a station that never stops, shape (K,).
        mean_repair: mean repair, at least as long as `time`; of any length where it never stops, shape (K,).
        places: places between neighbours, the ones in the stations left out.

    Raises:
        ValueError: a number is out of range, or lengths differ.
        ArithmeticError: as `geometric_decomposition`.
    """
    cycle, run = one_number(time, "the constant time"), np.asarray(mean_run, dtype=np.float64)
    repair = positive(mean_repair, "mean repair times")
    alike(run, repair, "mean running times and mean repair times")
    if not np.all(run > 0):
        raise ValueError(f"mean running times are above 0, got {run.min():g}")
    if np.any(repair[np.isfinite(run)] < cycle):
        raise ValueError(f"repairs shorter than the constant time of {cycle:g}, got {repair.min():g}")
    chances = np.where(np.isfinite(run), cycle / repair, 1.0)
    stored = [p + 2 for p in counts(places, len(repair))]
    found = geometric_decomposition(np.maximum(cycle / run, NEVER).tolist(), chances.tolist(), stored)
    return Estimate(found.rate / cycle, EQUAL_ERROR, found.sweeps)


def steady_times_with_stops(
    means: Sequence[float],
    scvs: Sequence[float],
    mean_run: Sequence[float],
    mean_repair: Sequence[float],
    scv_repair: Sequence[float],
    places: Sequence[int],
) -> Estimate:
    """Approximate rate of a line of steady times, some of whose stations stop by running time.

    The larger of two estimates, each of which is low where the other is better: by two moments of the time
    that a unit holds a station, stops included, and as a line in which all have the slowest time and as many
    stops a unit as they have.

    Source: own; checked against simulated lines.

    Args:
        means, scvs: of the work itself, an SCV may be 0, shape (K,).
        mean_run, mean_repair, scv_repair: of the stops; `mean_run` inf where there are none, shape (K,).
        places: places between neighbours, the ones in the stations left out.

    Raises:
        ValueError, ArithmeticError: as the two estimates; repairs shorter than the slowest time are taken
            for as long as that in the second.
    """
    times, run = positive(means, "mean times"), np.asarray(mean_run, dtype=np.float64)
    held = [
        completion_time(t, c, u, d, s) if math.isfinite(u) else None
        for t, c, u, d, s in zip(times, scvs, run, mean_repair, scv_repair, strict=True)
    ]
    first = steady_estimate(
        [h.mean if h else t for h, t in zip(held, times, strict=True)],
        [h.scv if h else c for h, c in zip(held, scvs, strict=True)],
        places,
    )
    cycle = float(times.max())
    second = equal_times_with_stops(
        cycle, (run * cycle / times).tolist(), np.maximum(mean_repair, cycle).tolist(), places
    )
    return Estimate(max(first.rate, second.rate), STOPPED_ERROR, first.sweeps + second.sweeps)


def _spreads(scvs: Sequence[float]) -> FloatArray:
    spread = np.asarray(scvs, dtype=np.float64)
    if spread.ndim != 1 or not np.all((spread >= 0) & np.isfinite(spread)):
        raise ValueError("squared coefficients of variation are at least 0 and finite, one per station")
    return spread
