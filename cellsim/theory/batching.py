"""Batches: waiting until one is full, stations that work a batch at once, lots with a setup, move lots."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammainc

from cellsim.theory import arguments as check
from cellsim.theory.stations import Queue, erlang_queue, ggm, mdc


@dataclass(frozen=True, slots=True)
class BatchQueue:
    """Mean times of a unit that goes through a station in batches, and the utilisation of the station.

    `forming`: until its batch is complete; `wait`: of the batch for the station; `service`: from the start of
    the batch until the unit goes on.
    """

    forming: float
    wait: float
    service: float
    utilisation: float

    @property
    def time_in_system(self) -> float:
        """Mean time from the arrival of a unit until it goes on."""
        return self.forming + self.wait + self.service


@dataclass(frozen=True, slots=True)
class BulkQueue:
    """A station that takes as many as are there, within limits.

    `wait`: mean time of a unit until its batch starts; `number_waiting`: units, on average; `batch`: mean
    size of a batch; `utilisation`: share of time that the station works.
    """

    wait: float
    number_waiting: float
    batch: float
    utilisation: float


@dataclass(frozen=True, slots=True)
class LimitedBatch:
    """Mean units in a batch that does not wait for ever to be full; mean wait of a unit until it goes."""

    batch: float
    wait: float


def forming_wait(arrival_rate: float, batch: int) -> float:
    """Mean time until the batch of a unit is complete, units arriving one by one at any law of this rate.

    Raises:
        ValueError: the rate is not above 0, or the batch is not a whole number from 1 on.

    Source: the first waits for batch - 1 others, the last for none; Hopp, W. J. and Spearman, M. L. (1996),
    Factory Physics, Irwin, chapter on batching (from memory).
    """
    rate = check.positive("the arrival rate", arrival_rate)
    return (check.whole("the batch", batch) - 1) / (2 * rate)


def full_batch_station(arrival_rate: float, batch: int, batch_time: float, phases: float = 1) -> BatchQueue:
    """A station that starts only with exactly `batch` units, for Poisson arrivals of single units; exact.

    `batch_time`: mean time of a batch, whatever its size; Erlang with so many phases, constant (an oven)
    where they are infinite.  To the station batches come with Erlang times between them: E_k/E_m/1.  For a
    constant time the wait is that of M/D/k with the same arrivals: each of its k servers gets every k-th job.

    Raises:
        ValueError: a rate or time is not above 0, a number is not whole, or the utilisation is not below 1.

    Source: Bailey, N. T. J. (1954), On queueing processes with bulk service, Journal of the Royal Statistical
    Society B 16, 80-87; Neuts, M. F. (1967), Annals of Mathematical Statistics 38, 759-770 (from memory).
    """
    forming = forming_wait(arrival_rate, batch)
    if math.isinf(check.phases("the number of phases", phases)):
        wait = mdc(arrival_rate, batch_time, batch).wait
    else:
        wait = erlang_queue(batch / arrival_rate, batch, batch_time, int(phases)).wait
    return BatchQueue(forming, wait, batch_time, arrival_rate * batch_time / batch)


def bulk_service(arrival_rate: float, batch_time: float, least: int, most: int) -> BulkQueue:
    """A station that starts as soon as it is free and `least` wait, and takes at most `most`; exact.

    Poisson arrivals of single units, exponential batch time whatever the size; units that come meanwhile
    wait. With n units waiting the busy states have weights z^n, z the root of z + z^2 + ... + z^most =
    arrival rate x batch time; the idle states follow from the balance.

    Raises:
        ValueError: a rate or time is not above 0, `most` is below `least`, or units come faster than they go.

    Source: general bulk service rule of Neuts, M. F. (1967), A general class of bulk queues with Poisson
    input, Annals of Mathematical Statistics 38, 759-770 (from memory).
    """
    load = check.positive("the arrival rate", arrival_rate) * check.positive("the batch time", batch_time)
    few = check.whole("the least batch", least)
    many = check.whole("the largest batch", most, few)
    check.stable(load / many)
    powers = np.arange(1, many + 1)
    z = brentq(lambda x: float(np.sum(x**powers)) - load, 0.0, 1.0, xtol=1e-300, rtol=1e-14)
    busy = 1 / (1 - z)
    waiting = z / (1 - z) ** 2
    idle = np.array([(1 - z ** (n + 1)) / (1 - z) / load for n in range(few)])
    total = busy + float(idle.sum())
    number = (waiting + float(idle @ np.arange(few))) / total
    return BulkQueue(
        wait=number / arrival_rate,
        number_waiting=number,
        batch=load * total / busy,
        utilisation=busy / total,
    )


def limited_batch(arrival_rate: float, most: int, longest_wait: float) -> LimitedBatch:
    """Batches that go when they are full or when their first unit has waited so long; exact.

    Poisson arrivals of single units, and always a station that is free.

    Raises:
        ValueError: the rate is not above 0, `most` is not a whole number from 1 on, or the wait is negative.

    Source: with G(j) the chance of j or more arrivals in the longest wait, sums over j below `most` of G(j)
    (units besides the first) and of j G(j) / rate (all waits together), from the units there at any moment.
    Without a largest batch 1 + rate x longest wait units go together, as in a counter that is dead after each
    particle: Feller, W. (1948), On probability problems in the theory of counters, Courant Anniversary
    Volume, 105-115 (from memory).
    """
    rate = check.positive("the arrival rate", arrival_rate)
    size = check.whole("the largest batch", most)
    others = np.arange(1, size)
    joins = gammainc(others, rate * check.not_negative("the longest wait", longest_wait))
    batch = 1 + math.fsum(joins)
    return LimitedBatch(batch=batch, wait=math.fsum(others * joins) / rate / batch)


def bulk_arrivals(arrival_rate: float, lot: int, unit_time: float) -> Queue:
    """A station that works units one by one which arrive in lots, all of a lot at once; exact.

    `arrival_rate`: of units; lots come as a Poisson stream.  Exponential times; a unit goes on alone.

    Raises:
        ValueError: the rate or time is not above 0, the lot is not a whole number from 1 on, or the
            utilisation is not below 1.

    Source: utilisation x (lot + 1) / (2 (1 - utilisation)) units are inside; Gross, D. and Harris, C. M.
    (1974), Fundamentals of Queueing Theory, Wiley, chapter on bulk input (from memory).
    """
    rate = check.positive("the arrival rate", arrival_rate)
    time = check.positive("the unit time", unit_time)
    load = check.stable(rate * time)
    inside = load * (check.whole("the lot", lot) + 1) / (2 * (1 - load))
    return Queue(
        throughput=rate,
        utilisation=load,
        wait=inside / rate - time,
        time_in_system=inside / rate,
        number_waiting=inside - load,
        number=inside,
    )


def chamber_rate(chambers: int, batch: int, treatment_time: float, handling_time: float) -> float:
    """Units per unit of time of parallel batch chambers that never lack units, loaded while they stand.

    Under treatment are on average rate x treatment time units, by Little's law.

    Raises:
        ValueError: a number is not a whole number from 1 on, the treatment is not above 0, or handling
            negative.

    Source: one batch per chamber and cycle; Little, J. D. C. (1961), Operations Research 9(3), 383-387.
    """
    count = check.whole("the number of chambers", chambers) * check.whole("the batch", batch)
    treatment = check.positive("the treatment time", treatment_time)
    return count / (treatment + check.not_negative("the handling time", handling_time))


def lot_makespan(process_times: Sequence[float], lot: int, transfer_batch: int = 1) -> float:
    """Time until the last unit of a lot leaves an empty line, moved on in transfer batches; constant times.

    `process_times`: per unit, one entry per station.  Piece by piece this is sum + (lot - 1) x longest, moved
    as a whole lot x sum; a last transfer batch may be smaller.

    Raises:
        ValueError: a time is not above 0, a number is not whole, or the transfer batch is larger than the
            lot.

    Source: recurrence of the flow shop; Conway, R. W., Maxwell, W. L. and Miller, L. W. (1967), Theory of
    Scheduling, Addison-Wesley (from memory).
    """
    times = check.all_positive("process times", process_times)
    size = check.whole("the lot", lot)
    moved = check.whole("the transfer batch", transfer_batch)
    if moved > size:
        raise ValueError(f"a transfer batch of {moved} is larger than the lot of {size}")
    full, rest = divmod(size, moved)
    free = [0.0] * len(times)  # when each station has finished what it got so far
    for count in [moved] * full + [rest]:  # a rest of 0 changes nothing
        here = 0.0
        for i, time in enumerate(times):
            here = max(here, free[i]) + count * time
            free[i] = here
    return free[-1]


def least_batch(arrival_rate: float, unit_time: float, setup_time: float) -> int:
    """Smallest batch with which a station that needs a setup for each batch keeps up.

    Raises:
        ValueError: a rate or time is not above 0, the setup is negative, or the units alone are too much
            work.

    Source: batch > arrival rate x setup / (1 - arrival rate x unit time); Hopp, W. J. and Spearman, M. L.
    (1996), Factory Physics, Irwin, chapter on batching (from memory).
    """
    rate = check.positive("the arrival rate", arrival_rate)
    work = check.positive("the unit time", unit_time)
    setup = check.not_negative("the setup time", setup_time)
    batch = max(1, math.floor(rate * setup / (1 - check.stable(rate * work))))
    while not rate / batch * (setup + batch * work) < 1:
        batch += 1
    return batch


def setup_batches(
    arrival_rate: float,
    batch: int,
    unit_time: float,
    setup_time: float,
    transfer_batch: int | None = None,
    arrival_scv: float = 1.0,
    service_scv: float = 0.0,
) -> BatchQueue:
    """A station that works batches unit by unit after one setup each: the wait by two moments.

    Batches queue when they are complete.  Units go on in transfer batches, which divide the batch (the whole
    batch if left out).  `arrival_scv`: of the time between single units; `service_scv`: of the time of a
    batch.

    Raises:
        ValueError: a rate or time is not above 0, the transfer batch does not divide the batch, an SCV is
            negative, or the utilisation is not below 1.

    Source: Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on batching (from memory).
    """
    forming = forming_wait(arrival_rate, batch)
    moved = batch if transfer_batch is None else check.whole("the transfer batch", transfer_batch)
    if batch % moved:
        raise ValueError(f"a transfer batch of {moved} does not divide the batch of {batch}")
    setup = check.not_negative("the setup time", setup_time)
    work = check.positive("the unit time", unit_time)
    batch_scv = check.not_negative("the SCV of the time between arrivals", arrival_scv) / batch
    queue = ggm(arrival_rate / batch, setup + batch * work, 1, batch_scv, service_scv)
    return BatchQueue(forming, queue.wait, setup + work * (batch + moved) / 2, queue.utilisation)


def best_batch(
    arrival_rate: float,
    unit_time: float,
    setup_time: float,
    single_moves: bool = False,
    arrival_scv: float = 1.0,
    service_scv: float = 0.0,
) -> int:
    """Batch with the shortest mean time in `setup_batches`, moved on whole or, `single_moves`, unit by unit.

    Raises:
        ValueError: as `setup_batches`, or the units alone are too much work.

    Source: direct search; it ends where forming and service alone take longer than the best batch.
    """
    best, shortest = 0, math.inf
    batch = least_batch(arrival_rate, unit_time, setup_time)
    while True:
        moved = 1 if single_moves else batch
        times = setup_batches(arrival_rate, batch, unit_time, setup_time, moved, arrival_scv, service_scv)
        if times.time_in_system < shortest:
            best, shortest = batch, times.time_in_system
        if times.forming + times.service >= shortest:
            return best
        batch += 1
