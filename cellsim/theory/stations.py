"""One station and its queue: waits, numbers and losses in the long run.

Letters as in Kendall's notation: arrivals / service / servers / places.  Rates are per unit of time, times in
that unit; SCV is the squared coefficient of variation, (standard deviation / mean)^2.  First come, first
served.  An Erlang time has `phases` exponential phases: 1 is the exponential time, infinity the constant.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import lambertw, pdtrc

from cellsim.theory import arguments as check

Transform = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Queue:
    """Long-run figures of a station.

    `throughput`: jobs served per unit of time; `utilisation`: share of time that a server has a job; `wait`
    and `time_in_system`: mean times of a job that is served; `number_waiting` and `number` (with those in
    service): averages over time; `loss`: share of arrivals that is turned away.
    """

    throughput: float
    utilisation: float
    wait: float
    time_in_system: float
    number_waiting: float
    number: float
    loss: float = 0.0


def queue_of(throughput: float, service_time: float, servers: int, wait: float, loss: float = 0.0) -> Queue:
    """All figures of a station from the mean wait of the jobs that it serves.

    Source: Little, J. D. C. (1961), Operations Research 9(3), 383-387.
    """
    in_service = throughput * service_time
    return Queue(
        throughput=throughput,
        utilisation=in_service / servers,
        wait=wait,
        time_in_system=wait + service_time,
        number_waiting=throughput * wait,
        number=throughput * wait + in_service,
        loss=loss,
    )


def _load(arrival_rate: float, service_time: float, servers: float = 1) -> tuple[float, int]:
    """Offered load (arrival rate x service time) and servers, checked; the queue must be stable."""
    count = check.whole("the number of servers", servers)
    load = check.positive("the arrival rate", arrival_rate) * check.positive("the service time", service_time)
    check.stable(load / count)
    return load, count


def littles_number(rate: float, time: float) -> float:
    """Mean number inside, from the rate through it and the mean time inside.

    Raises:
        ValueError: the rate or the time is negative.

    Source: Little, J. D. C. (1961), A proof for the queuing formula L = lambda W, Operations Research 9(3),
    383-387.
    """
    return check.not_negative("the rate", rate) * check.not_negative("the time", time)


def erlang_b(servers: int, load: float) -> float:
    """Share of Poisson arrivals that finds all servers busy and is lost, whatever the law of service times.

    `load`: arrival rate x mean service time; there is no place to wait.

    Raises:
        ValueError: there is no server, or the load is not above 0.

    Source: Erlang, A. K. (1917), loss formula; computed by B(c) = aB(c-1) / (c + aB(c-1)) (from memory).
    """
    count, offered = check.whole("the number of servers", servers, 0), check.positive("the load", load)
    lost = 1.0
    for c in range(1, count + 1):
        lost = offered * lost / (c + offered * lost)
    return lost


def erlang_c(servers: int, load: float) -> float:
    """Share of arrivals to an M/M/c queue that has to wait; `load` is arrival rate x mean service time.

    Raises:
        ValueError: the load is not above 0 or not below the number of servers.

    Source: Erlang, A. K. (1917), delay formula, C = B / (1 - u (1 - B)) with B the loss formula (from
    memory).
    """
    lost = erlang_b(check.whole("the number of servers", servers), load)
    return lost / (1 - check.stable(load / servers) * (1 - lost))


def mmc(arrival_rate: float, service_time: float, servers: int) -> Queue:
    """M/M/c: Poisson arrivals, exponential service by c servers with one queue.

    Raises:
        ValueError: a rate or time is not above 0, or the utilisation is not below 1.

    Source: Erlang (1917); Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley (from memory).
    """
    load, count = _load(arrival_rate, service_time, servers)
    return queue_of(arrival_rate, service_time, count, erlang_c(count, load) * service_time / (count - load))


def mm1(arrival_rate: float, service_time: float) -> Queue:
    """M/M/1: Poisson arrivals, exponential service by one server.

    Raises:
        ValueError: a rate or time is not above 0, or the utilisation is not below 1.

    Source: Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley (from memory).
    """
    return mmc(arrival_rate, service_time, 1)


def mm1_time_quantile(arrival_rate: float, service_time: float, share: float) -> float:
    """Time in an M/M/1 system that this share of jobs does not exceed: it is exponential.

    Raises:
        ValueError: the utilisation is not below 1, or the share is not from 0 to below 1.

    Source: Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley (from memory).
    """
    mean = mm1(arrival_rate, service_time).time_in_system
    return -mean * math.log1p(-check.share_below_one("the share", share))


def mmc_departure_variance(arrival_rate: float, service_time: float, servers: int, duration: float) -> float:
    """Variance of the number of jobs that leave a settled M/M/c queue in a time: they leave as Poisson.

    Raises:
        ValueError: a rate or time is not above 0, or the utilisation is not below 1.

    Source: Burke, P. J. (1956), The output of a queuing system, Operations Research 4, 699-704.
    """
    _load(arrival_rate, service_time, servers)
    return arrival_rate * check.positive("the duration", duration)


def mmck(arrival_rate: float, service_time: float, servers: int, places: int) -> Queue:
    """M/M/c/K: as M/M/c, but an arrival that finds `places` jobs, those in service included, is lost.

    Raises:
        ValueError: a rate or time is not above 0, or there are fewer places than servers.

    Source: birth-death chain, Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley (from memory).
    """
    count = check.whole("the number of servers", servers)
    room = check.whole("the number of places", places, count)
    load = check.positive("the arrival rate", arrival_rate) * check.positive("the service time", service_time)
    jobs = np.arange(room + 1)
    logs = jobs * math.log(load) - np.concatenate(([0.0], np.cumsum(np.log(np.minimum(jobs[1:], count)))))
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    loss = float(shares[-1])
    throughput = arrival_rate * float(shares[:-1].sum())
    waiting = float(shares @ np.maximum(jobs - count, 0))
    return queue_of(throughput, service_time, count, waiting / throughput, loss)


def mg1(arrival_rate: float, service_time: float, service_scv: float) -> Queue:
    """M/G/1: Poisson arrivals, any service time of this mean and SCV, one server; M/D/1 with SCV 0.

    Raises:
        ValueError: a rate or time is not above 0, the SCV is negative, or the utilisation is not below 1.

    Source: mean-value formula of Pollaczek (1930) and Khinchine (1932); Kleinrock, L. (1975), Queueing
    Systems, Volume 1, Wiley (from memory).
    """
    load, _ = _load(arrival_rate, service_time)
    scv = check.not_negative("the SCV of the service time", service_scv)
    return queue_of(arrival_rate, service_time, 1, (1 + scv) / 2 * load / (1 - load) * service_time)


def mdc(arrival_rate: float, service_time: float, servers: int) -> Queue:
    """M/D/c: Poisson arrivals, constant service time, c servers with one queue; exact.

    The number present obeys n' = max(n - c, 0) + Poisson(a) over one service time, a = arrival rate x
    service time.  Mean number waiting = (a^2 - c(c-1)) / (2(c-a)) + sum of 1/(1-z) over the c - 1 roots of
    z^c = exp(a(z-1)) inside the unit circle, which are z = -W(-u e^(-u) w) / u with u = a/c, w the c-th roots
    of 1 but 1 itself, and W the function of Lambert.

    Raises:
        ValueError: a rate or time is not above 0, or the utilisation is not below 1.

    Source: Crommelin, C. D. (1932), Delay probability formulae when the holding times are constant, Post
    Office Electrical Engineers' Journal 25, 41-50 (from memory); form with roots derived here.
    """
    load, count = _load(arrival_rate, service_time, servers)
    used = load / count
    unit_roots = np.exp(2j * math.pi * np.arange(1, count) / count)
    roots = -lambertw(-used * math.exp(-used) * unit_roots) / used
    excess = (load**2 - count * (count - 1)) / (2 * (count - load))
    waiting = excess + float(np.sum(1 / (1 - roots)).real)
    return queue_of(arrival_rate, service_time, count, max(waiting, 0.0) / arrival_rate)


def mginf_exceedance(arrival_rate: float, service_time: float, places: int) -> float:
    """Chance that more than `places` jobs are inside, where each is served at once (M/G/infinity).

    The number inside is Poisson with mean arrival rate x mean service time, whatever the law of service.

    Raises:
        ValueError: a rate or time is not above 0, or the number of places is negative or not whole.

    Source: Palm's theorem; Gross, D. and Harris, C. M., Fundamentals of Queueing Theory, Wiley (from memory).
    """
    mean = check.positive("the arrival rate", arrival_rate) * check.positive("the service time", service_time)
    return float(pdtrc(check.whole("the number of places", places, 0), mean))


def log_erlang_transform(s: complex, mean: float, phases: float) -> complex:
    """Logarithm of E[exp(-s T)] of an Erlang time T (constant where `phases` is infinite).

    Raises:
        ValueError: the mean is not above 0, or the number of phases is not a whole number from 1 on.

    Source: product of the transforms of the phases; in any textbook of probability.
    """
    time, count = check.positive("the mean", mean), check.phases("the number of phases", phases)
    return -s * time if math.isinf(count) else -count * cmath.log(1 + s * time / count)


def gm1(interarrival_time: float, service_time: float, transform: Transform) -> Queue:
    """G/M/1: independent times between arrivals with E[exp(-s A)] = `transform(s)`, exponential service.

    The share that has to wait is the root in (0, 1) of x = transform((1 - x) / service time).

    Raises:
        ValueError: a time is not above 0, the transform has another mean, or the utilisation is not below 1.

    Source: Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley, chapter on G/M/1 (from memory).
    """
    check.positive("the mean time between arrivals", interarrival_time)
    _load(1 / interarrival_time, service_time)
    small = 1e-6 / interarrival_time
    mean = (1 - transform(small)) / small
    if not abs(mean / interarrival_time - 1) < 1e-3:
        raise ValueError(
            f"the transform belongs to a mean time between arrivals of {mean:.6g}, not {interarrival_time!r}"
        )

    def excess(free: float) -> float:
        return transform(free / service_time) - 1 + free

    low = 0.5
    while excess(low) >= 0:  # the slope at 0 is 1 - 1 / utilisation, below 0
        low /= 2
        if low < 1e-12:
            raise ValueError("the utilisation is so near to 1 that the wait cannot be computed")
    free = brentq(excess, low, 2 * low, xtol=1e-300, rtol=1e-15)
    return queue_of(1 / interarrival_time, service_time, 1, service_time * (1 - free) / free)


def erlang_queue(
    interarrival_time: float, arrival_phases: float, service_time: float, service_phases: int
) -> Queue:
    """E_k/E_m/1: Erlang times between arrivals and Erlang service, one server; exact.

    Arrivals may be constant (infinite `arrival_phases`: D/E_m/1).  Mean wait + mean service = sum of
    s / (m (1 - y)), s the mean service, over the m roots of y^m = A(m (1 - y) / s) inside the unit circle,
    A the transform of the time between arrivals.

    Raises:
        ValueError: a time is not above 0, phases are not whole numbers, or the utilisation is not below 1.

    Source: factors of the waiting-time transform, Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley,
    chapter on G/G/1 (from memory).
    """
    check.positive("the mean time between arrivals", interarrival_time)
    check.phases("the number of phases of the time between arrivals", arrival_phases)
    m = check.whole("the number of phases of the service time", service_phases)
    _load(1 / interarrival_time, service_time)
    total = 0.0
    for j in range(m):
        turn = cmath.exp(2j * math.pi * j / m)
        y = _root(turn, interarrival_time, arrival_phases, service_time, m)
        total += (service_time / (m * (1 - y))).real
    return queue_of(1 / interarrival_time, service_time, 1, total - service_time)


def _root(turn: complex, interval: float, arrival_phases: float, service: float, m: int) -> complex:
    """Root inside the unit circle of y = turn x A(m (1 - y) / service)^(1/m), A as in `erlang_queue`.

    The right side maps the circle into itself, so repeating it converges (Denjoy and Wolff); Newton's method
    then finishes, and for the real root (turn 1) starts at once, from the left of a convex function.
    """

    def image(y: complex) -> complex:
        s = m * (1 - y) / service
        return turn * cmath.exp(log_erlang_transform(s, interval, arrival_phases) / m)

    y: complex = 0.0
    for _ in range(0 if turn == 1 else 200):
        y = image(y)
    for _ in range(200):
        s = m * (1 - y) / service
        slope = image(y) * interval / service / (1 + s * interval / arrival_phases)
        step = (y - image(y)) / (1 - slope)
        y -= step
        if abs(step) < 1e-15:
            break
    return y


def ggm(
    arrival_rate: float, service_time: float, servers: int, arrival_scv: float, service_scv: float
) -> Queue:
    """G/G/m by two moments: an approximation, exact for M/G/1 and close for M/M/m.

    Raises:
        ValueError: a rate or time is not above 0, an SCV is negative, or the utilisation is not below 1.

    Source: Kingman, J. F. C. (1961), Proc. Cambridge Philosophical Society 57, 902-904; for several servers
    Sakasegawa, H. (1977), Annals of the Institute of Statistical Mathematics 29, 67-75 (from memory).
    """
    load, count = _load(arrival_rate, service_time, servers)
    both = check.not_negative("the SCV of the time between arrivals", arrival_scv)
    both += check.not_negative("the SCV of the service time", service_scv)
    used = load / count
    power = math.sqrt(2 * (count + 1)) - 1
    return queue_of(
        arrival_rate, service_time, count, both / 2 * used**power / (count * (1 - used)) * service_time
    )


def departure_scv(utilisation: float, servers: int, arrival_scv: float, service_scv: float) -> float:
    """SCV of the time between departures of a G/G/m queue: an approximation, exact for M/M/m.

    Raises:
        ValueError: the utilisation is not from 0 to below 1, or an SCV is negative.

    Source: Whitt, W. (1983), The queueing network analyzer, Bell System Technical Journal 62, 2779-2815;
    Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on variability (from memory).
    """
    used = check.share_below_one("the utilisation", utilisation)
    arrivals = check.not_negative("the SCV of the time between arrivals", arrival_scv)
    service = check.not_negative("the SCV of the service time", service_scv)
    spread = math.sqrt(check.whole("the number of servers", servers))
    return 1 + (1 - used**2) * (arrivals - 1) + used**2 / spread * (service - 1)


@dataclass(frozen=True, slots=True)
class Pooling:
    """The same Poisson arrivals and exponential servers: each server with its own queue, or one for all."""

    apart: Queue
    together: Queue


def pooling(arrival_rate: float, service_time: float, servers: int) -> Pooling:
    """Own queues, to which arrivals are sent at random, and one common queue; rates are of all servers.

    Raises:
        ValueError: a rate or time is not above 0, or the utilisation is not below 1.

    Source: M/M/1 against M/M/c; Kleinrock, L. (1976), Queueing Systems, Volume 2, Wiley (from memory).
    """
    together = mmc(arrival_rate, service_time, servers)
    return Pooling(mm1(arrival_rate / servers, service_time), together)
