"""What the rate of a line cannot be above or below, whatever the places, and Little's law."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.theory.chains import MOST_STATES
from cellsim.theory.line_inputs import Clock, alike, chances, counts, counts_on_time, one_number, positive
from cellsim.theory.phase_types import PhaseType
from cellsim.theory.saturated import line_figures
from cellsim.theory.two_stations import Distribution, expected_maximum
from cellsim.theory.unreliable import paced_availability


def slowest_station(means: Sequence[float], availabilities: Sequence[float] | None = None) -> float:
    """Upper bound: the least of availability / mean time; reached with unlimited places everywhere.

    With balanced stations far above the rate: 11 to 68 % on random lines of 3 to 5 exponential stations.

    Raises:
        ValueError: a mean is not positive, an availability is not above 0 and at most 1, or lengths differ.
    """
    times = positive(means, "mean times")
    if availabilities is None:
        return float(1 / times.max())
    up = chances(availabilities, "availabilities")
    alike(times, up, "mean times and availabilities")
    return float((up / times).min())


def best_part(
    times: Sequence[PhaseType | float],
    places: Sequence[int],
    stations: int = 2,
    most_states: int = MOST_STATES,
) -> float:
    """Upper bound: the least exact rate of any so many neighbouring stations as a line of their own.

    Without the other stations none of these is starved or blocked more: with the times of the others 0
    every unit leaves at least as early (`departures.py`).

    Args:
        times: the time of each station; a number is the mean of an exponential time.
        places: places between neighbours.
        stations: how many neighbours, at most all.

    Raises:
        ValueError: as `saturated.line_figures`, or there are not so many stations.
    """
    between = counts(places, len(times))
    if not 1 <= stations <= len(times):
        raise ValueError(f"parts of a line of {len(times)} have 1 to {len(times)} stations, got {stations}")
    return min(
        line_figures(times[i : i + stations], between[i : i + stations - 1], most_states).rate
        for i in range(len(times) - stations + 1)
    )


def all_at_once(distributions: Sequence[Distribution], kinks: Sequence[float] = ()) -> float:
    """Lower bound: all units move on together when all stations have finished, 1 / E[longest time].

    Whatever the places and laws: in a line each unit leaves at least as early as then (`departures.py`).

    Raises:
        ValueError: as `two_stations.expected_maximum`.
    """
    return 1 / expected_maximum(distributions, kinks)


def constant_times_with_stops(
    times: Sequence[float],
    mean_run: Sequence[float],
    mean_repair: Sequence[float],
    clock: Clock = "running time",
) -> float:
    """Lower bound for constant times and stops: the line without places that works in one common step.

    By running time a step takes the longest time and all repairs that fall into it, one after the other:
    1 / (longest time + sum of time x repair / run).  On time it goes on only while all are up:
    product of availabilities / longest time.  Equal times: `unreliable.paced_availability` / time.

    Raises:
        ValueError: a time or a mean is not positive, lengths differ, or the clock is neither of the two.
    """
    steps = positive(times, "times")
    run, repair = positive(mean_run, "mean running times"), positive(mean_repair, "mean repair times")
    alike(steps, run, "times and mean running times")
    alike(steps, repair, "times and mean repair times")
    if counts_on_time(clock):
        return paced_availability(mean_run, mean_repair, clock) / float(steps.max())
    return float(1 / (steps.max() + (steps * repair / run).sum()))


def time_inside(wip: float, rate: float) -> float:
    """Little's law: mean time inside = mean number inside / rate.

    Source: Little, J. D. C. (1961), A proof for the queuing formula L = lambda W, Operations Research 9(3),
    383-387.

    Raises:
        ValueError: the number is negative or the rate not positive.
    """
    return one_number(wip, "a mean number inside", above=False) / one_number(rate, "a rate")
