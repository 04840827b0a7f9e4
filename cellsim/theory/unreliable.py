"""Stations that stop: how much of the time they run, alone, paced together, and in lines solved exactly.

Mean running time to a stop counts from the end of a repair.  It counts running time only (a station that is
starved or blocked does not stop), or on time (it does); each station has its own repairer, and interrupted
work goes on after the repair.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from cellsim.theory.chains import MOST_STATES, explore, long_run_shares
from cellsim.theory.effective import availability
from cellsim.theory.line_inputs import Clock, alike, counts, counts_on_time, one_number, positive
from cellsim.theory.phase_types import exponential, with_stops
from cellsim.theory.saturated import (
    Held,
    LineFigures,
    Standing,
    after_finish,
    figures_of,
    line_figures,
    standing,
)


def down_share(mean_run: float, mean_repair: float, working: float, clock: Clock = "running time") -> float:
    """Share of time under repair of a station that works a share of all time and else waits.

    By running time it stops less the less it works: working x repair / run.  By on time it stops as often
    however little it works: 1 - availability.

    Raises:
        ValueError: a mean is not positive, or so much work leaves no time for the repairs.
    """
    most = availability(mean_run, mean_repair)
    if not 0 <= working <= most * (1 + 1e-12):
        raise ValueError(
            f"a station that runs {mean_run:g} and is repaired {mean_repair:g} on average works a share of "
            f"0 to {most:g} of the time, got {working:g}"
        )
    return 1 - most if counts_on_time(clock) else working * mean_repair / mean_run


def paced_availability(
    mean_run: Sequence[float], mean_repair: Sequence[float], clock: Clock = "running time"
) -> float:
    """Share of time that a paced line runs: all stations index together, all stand while one is down.

    By running time 1 / (1 + sum of repair / run), since one station at a time is down.  On time the product
    of the availabilities.

    Source: Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of
    Production Research 5(3), 183-200; Dallery, Y. and Gershwin, S. B. (1992), Manufacturing flow line
    systems: a review of models and analytical results, Queueing Systems 12, 3-94.

    Raises:
        ValueError: a mean is not positive, lengths differ, or the clock is neither of the two.
    """
    run = positive(mean_run, "mean running times")
    repair = positive(mean_repair, "mean repair times")
    alike(run, repair, "mean running times and mean repair times")
    if counts_on_time(clock):
        return float(np.prod(run / (run + repair)))
    return float(1 / (1 + (repair / run).sum()))


def running_time_deviation(mean_run: float, mean_repair: float, window: float) -> float:
    """Standard deviation of the running time within a window, exponential running times and repairs.

    Of a station that is never starved or blocked and has been going for long (up with chance A) at the
    start: variance 2 A (1 - A) / s (t - (1 - exp(-s t)) / s), s = 1 / run + 1 / repair.

    Source: Cox, D. R. (1962), Renewal Theory, Methuen, alternating renewal processes.

    Raises:
        ValueError: a mean is not positive, or the window is negative.
    """
    up = availability(mean_run, mean_repair)
    length = one_number(window, "a window", above=False)
    pace = 1 / mean_run + 1 / mean_repair
    u = pace * length
    excess = u + math.expm1(-u) if u > 1e-4 else u**2 / 2 - u**3 / 6 + u**4 / 24  # both lose no digits
    return math.sqrt(2 * up * (1 - up) * excess) / pace


def running_time_variance_rate(
    mean_run: float, mean_repair: float, scv_run: float = 1.0, scv_repair: float = 1.0
) -> float:
    """Variance of the running time in a long window per length of the window, for any laws.

    run^2 repair^2 (scv_run + scv_repair) / (run + repair)^3; for windows of many cycles of stop and repair.

    Source: Takacs, L. (1959), On a sojourn time problem in the theory of stochastic processes, Transactions
    of the American Mathematical Society 93, 531-540 (from memory).

    Args:
        scv_run, scv_repair: variance / mean^2 of running times to a stop and of repairs.

    Raises:
        ValueError: a mean is not positive, or an SCV is negative.
    """
    up = availability(mean_run, mean_repair)
    spread = sum(
        one_number(x, "a squared coefficient of variation", above=False) for x in (scv_run, scv_repair)
    )
    return up**2 * (1 - up) ** 2 * (mean_run + mean_repair) * spread


def exponential_line_with_stops(
    means: Sequence[float],
    places: Sequence[int],
    mean_run: Sequence[float],
    mean_repair: Sequence[float],
    clock: Clock = "running time",
    most_states: int = MOST_STATES,
) -> LineFigures:
    """Exact figures of a saturated line of exponential stations that stop and are repaired.

    Blocking after service, exponential running times and repairs.  A station under repair counts as working,
    starved or blocked by the unit in it; a finished unit moves on while its station is down.

    Source: running time, two stations: Gershwin, S. B. and Berman, O. (1981), Analysis of transfer lines
    consisting of two unreliable machines with random processing times and finite storage buffers, AIIE
    Transactions 13(1), 2-11.

    Args:
        means: mean work of a unit at each station.
        places: places between neighbours, the ones in the stations left out.

    Raises:
        ValueError: a mean is not positive, lengths differ, places or clock are wrong, or the chain has too
            many states.
    """
    work = positive(means, "mean times")
    run, repair = positive(mean_run, "mean running times"), positive(mean_repair, "mean repair times")
    alike(work, run, "mean times and mean running times")
    alike(work, repair, "mean times and mean repair times")
    if not counts_on_time(clock):
        laws = [with_stops(exponential(t), u, d) for t, u, d in zip(work, run, repair, strict=True)]
        return line_figures(laws, places, most_states)
    between = counts(places, len(work))

    def moves(state: tuple[Held, tuple[bool, ...]]) -> Iterator[tuple[tuple[Held, tuple[bool, ...]], float]]:
        held, ups = state
        for i, now in enumerate(standing(held, between)):
            changed = (held, ups[:i] + (not ups[i],) + ups[i + 1 :])
            yield changed, 1 / run[i] if ups[i] else 1 / repair[i]
            if ups[i] and now is Standing.WORKING:
                yield (after_finish(held, i), ups), 1 / work[i]

    chain = explore(((0,) * len(between), (True,) * len(work)), moves, most_states)
    shares = long_run_shares(chain)
    finishing = math.fsum(
        share
        for (held, ups), share in zip(chain.states, shares, strict=True)
        if ups[-1] and standing(held, between)[-1] is Standing.WORKING
    )
    found = [(held, share) for (held, _), share in zip(chain.states, shares, strict=True)]
    return figures_of(found, between, finishing / float(work[-1]))
