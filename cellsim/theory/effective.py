"""What stops, repairs and setups make of a process time: mean and SCV of the time that a job holds a station.

Stops come after exponential times and the work goes on afterwards where it was.  Two failure clocks: stops
that come by running time strike only while a job is worked on; stops that come by the calendar strike an
idle station too.  A job that starts on a sound station has the same completion time under both; what differs
is that by the calendar a job that comes to an idle station may find it down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cellsim.theory import arguments as check
from cellsim.theory.stations import Queue, mg1, queue_of


@dataclass(frozen=True, slots=True)
class EffectiveTime:
    """Time that a job holds a station: mean, SCV, and the share of it in which the station works."""

    mean: float
    scv: float
    availability: float = 1.0


def availability(time_between_stops: float, repair_time: float) -> float:
    """Share of time up, from the mean time up until a stop and the mean time down.

    Of a station that is never starved or blocked this holds for both clocks of stops, and for all laws.

    Raises:
        ValueError: the time between stops is not above 0, or the repair time is negative.

    Source: alternating renewal process; in any textbook of reliability.
    """
    up = check.positive("the mean time between stops", time_between_stops)
    return up / (up + check.not_negative("the mean repair time", repair_time))


def completion_time(
    process_time: float, process_scv: float, time_between_stops: float, repair_time: float, repair_scv: float
) -> EffectiveTime:
    """Effective process time of a station that stops, for a job that starts while the station is up.

    `time_between_stops` counts running time.  Mean t / A; SCV c^2 + (1 + cr^2) A (1 - A) r / t with t, c^2 of
    the process time, r, cr^2 of the repair time and A the availability.

    Raises:
        ValueError: a mean time is not above 0, or an SCV is negative.

    Source: Gaver, D. P. (1962), A waiting line with interrupted service, including priorities, Journal of the
    Royal Statistical Society B 24, 73-90; Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin
    (both from memory).
    """
    time = check.positive("the mean process time", process_time)
    scv = check.not_negative("the SCV of the process time", process_scv)
    up = availability(time_between_stops, check.positive("the mean repair time", repair_time))
    spread = 1 + check.not_negative("the SCV of the repair time", repair_scv)
    return EffectiveTime(time / up, scv + spread * up * (1 - up) * repair_time / time, up)


def with_setups(
    process_time: float, process_scv: float, setup_time: float, setup_scv: float, jobs_between_setups: float
) -> EffectiveTime:
    """Effective process time where a job needs a setup first with chance 1 / `jobs_between_setups`.

    Raises:
        ValueError: a mean time is not above 0, an SCV is negative, or jobs between setups are below 1.

    Source: Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on variability (from
    memory); moments of a sum of a process time and, at times, a setup.
    """
    time = check.positive("the mean process time", process_time)
    scv = check.not_negative("the SCV of the process time", process_scv)
    setup = check.positive("the mean setup time", setup_time)
    spread = check.not_negative("the SCV of the setup time", setup_scv)
    if not (math.isfinite(jobs_between_setups) and jobs_between_setups >= 1):
        raise ValueError(f"jobs between setups must be 1 or more, not {jobs_between_setups!r}")
    chance = 1 / jobs_between_setups
    mean = time + chance * setup
    variance = scv * time**2 + chance * spread * setup**2 + chance * (1 - chance) * setup**2
    return EffectiveTime(mean, variance / mean**2, time / mean)


def mg1_with_stops(
    arrival_rate: float,
    process_time: float,
    process_scv: float,
    time_between_stops: float,
    repair_time: float,
    calendar: bool = False,
) -> Queue:
    """M/G/1 whose server stops after exponential times and needs exponential repairs; exact.

    With `calendar` stops strike an idle station too; the job that finds it down waits for the repair first.
    A server counts as used (`utilisation`) while a job is on it, repairs in between included.

    Raises:
        ValueError: a rate or mean time is not above 0, the SCV is negative, or the utilisation is not below
            1.

    Source: completion time as service time (Gaver 1962); by the calendar with a delay before the first job of
    a busy period, Welch, P. D. (1964), On a generalized M/G/1 queuing process in which the first customer of
    each busy period receives exceptional service, Operations Research 12, 736-752 (both from memory).
    """
    time = completion_time(process_time, process_scv, time_between_stops, repair_time, 1.0)
    queue = mg1(arrival_rate, time.mean, time.scv)
    if not calendar:
        return queue
    stop_rate, repair_rate = 1 / time_between_stops, 1 / repair_time
    down = stop_rate / (arrival_rate + stop_rate + repair_rate)  # at the end of an idle time, which starts up
    delay, delay_square = down * repair_time, 2 * down * repair_time**2
    extra = (2 * delay + arrival_rate * delay_square) / (2 * (1 + arrival_rate * delay))
    return queue_of(arrival_rate, time.mean, 1, queue.wait + extra)
