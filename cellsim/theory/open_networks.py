"""Several stations with unlimited queues, entered from outside and left again: exact and by two moments."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.theory import arguments as check
from cellsim.theory.effective import EffectiveTime
from cellsim.theory.stations import Queue, departure_scv, ggm, mmc


@dataclass(frozen=True, slots=True)
class OpenNetwork:
    """Figures of each station (waits and times are of one visit), and mean time from entering to leaving."""

    stations: tuple[Queue, ...]
    time_in_system: float


def jackson_network(
    arrival_rates: Sequence[float],
    routing: Sequence[Sequence[float]],
    service_times: Sequence[float],
    servers: Sequence[int] | None = None,
) -> OpenNetwork:
    """Open network of exponential stations with Poisson arrivals from outside; rework may send jobs back.

    One entry per station: arrivals from outside, mean service time, servers (one each if left out);
    `routing[i][j]` is the chance that a job goes from i to j, what is left of 1 leaves.

    Raises:
        ValueError: lengths differ, a rate is negative, nothing arrives, chances of a station add up to more
            than 1, jobs cannot leave, a station is never visited, or a utilisation is not below 1.

    Source: Jackson, J. R. (1963), Jobshop-like queueing systems, Management Science 10(1), 131-142 (from
    memory).
    """
    times = check.all_positive("service times", service_times)
    counts = [1] * len(times) if servers is None else list(servers)
    for name, values in (("arrival rates", arrival_rates), ("routing", routing), ("servers", counts)):
        check.same_length("service times", times, name, values)
    outside = np.array([check.not_negative("an arrival rate", rate) for rate in arrival_rates])
    for row in routing:
        check.same_length("service times", times, "a row of the routing", row)
    chances = np.array([[check.share("a chance of the routing", p) for p in row] for row in routing])
    if chances.sum(axis=1).max() > 1 + 1e-12:
        raise ValueError(f"chances out of a station add up to {chances.sum(axis=1).max():.6g}; 1 is the most")
    if not outside.sum() > 0:
        raise ValueError("at least one arrival rate must be above 0")
    if np.abs(np.linalg.eigvals(chances)).max() > 1 - 1e-9:
        raise ValueError("some jobs could never leave: their chances lead round and round")
    rates = np.linalg.solve(np.eye(len(times)) - chances.T, outside)
    stations = tuple(
        mmc(float(rate), time, count) for rate, time, count in zip(rates, times, counts, strict=True)
    )
    return OpenNetwork(stations, math.fsum(queue.number for queue in stations) / float(outside.sum()))


def two_moment_line(
    arrival_rate: float, arrival_scv: float, times: Sequence[EffectiveTime], servers: Sequence[int]
) -> OpenNetwork:
    """Stations one behind the other, each a G/G/m queue that passes its variability on; an approximation.

    Raises:
        ValueError: lengths differ, there is no station, a number is out of range, or a utilisation is not
            below 1.

    Source: Whitt, W. (1983), The queueing network analyzer, Bell System Technical Journal 62, 2779-2815;
    Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on variability (from memory).
    """
    check.same_length("times", times, "servers", servers)
    if len(times) == 0:
        raise ValueError("there must be at least one station")
    stations, scv = [], arrival_scv
    for time, count in zip(times, servers, strict=True):
        queue = ggm(arrival_rate, time.mean, count, scv, time.scv)
        stations.append(queue)
        scv = departure_scv(queue.utilisation, count, scv, time.scv)
    return OpenNetwork(tuple(stations), math.fsum(queue.time_in_system for queue in stations))
