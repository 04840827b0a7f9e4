"""Machine interference: machines that wait for one another's turn at a few operators, repairers or robots.

A machine runs alone for a time, then calls and stands until it has been served.  Running times are
exponential unless said otherwise; all machines are equal unless said otherwise.

scipy is imported where it is needed, since the paper work of a cell does without and is done in an instant.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.theory import arguments as check
from cellsim.theory.closed import mean_value_analysis


@dataclass(frozen=True, slots=True)
class Tended:
    """Long-run figures of machines and of who tends them.

    `running`, `served`, `waiting`: shares of a machine's time; `utilisation`: share of time that an operator
    serves; `walking`: that he walks; `services`: of all machines together, per unit of time; `wait`: mean
    time from a call to its service.
    """

    running: float
    served: float
    waiting: float
    utilisation: float
    walking: float
    services: float
    wait: float


def _tended(
    machines: int, operators: int, running: float, run_time: float, service_time: float, walking: float = 0.0
) -> Tended:
    """All figures from the running share: each run ends in one service."""
    calls = running / run_time  # of one machine
    served = calls * service_time
    waiting = max(0.0, 1 - running - served)
    return Tended(
        running=running,
        served=served,
        waiting=waiting,
        utilisation=machines * served / operators,
        walking=walking,
        services=machines * calls,
        wait=waiting / calls,
    )


def _weights(logs: np.ndarray) -> np.ndarray:
    """Shares in proportion to exp(logs)."""
    weights: np.ndarray = np.exp(logs - logs.max())
    weights /= weights.sum()
    return weights


def finite_source(machines: int, run_time: float, service_time: float, operators: int) -> Tended:
    """Equal machines served by so many operators with exponential times: M/M/r with a finite source.

    With one operator his utilisation is 1 - B(machines, run time / service time), B the loss formula of
    Erlang.

    Raises:
        ValueError: a mean time is not above 0, or a number is not a whole number from 1 on.

    Source: Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines,
    Journal of Industrial Engineering 9, 28-42 (from memory).
    """
    count = check.whole("the number of machines", machines)
    crew = check.whole("the number of operators", operators)
    load = check.positive("the mean service time", service_time) / check.positive("the mean run", run_time)
    down = np.arange(1, count + 1)
    steps = np.log((count - down + 1) * load / np.minimum(down, crew))
    shares = _weights(np.concatenate(([0.0], np.cumsum(steps))))
    running = float(shares @ np.arange(count, -1, -1)) / count
    return _tended(count, crew, running, run_time, service_time)


def ashcroft(machines: int, run_time: float, service_time: float, phases: float = math.inf) -> Tended:
    """Equal machines served by one operator with constant times, or Erlang ones of so many phases; exact.

    The operator is idle for 1 / (1 + N a z) with N machines, a = service time / run time and z = sum over k
    of C(N-1, k) prod_(j <= k) (1/f(j / run time) - 1), f the transform of the service time.

    Raises:
        ValueError: a mean time is not above 0, or a number is not a whole number from 1 on.

    Source: Ashcroft, H. (1950), The productivity of several machines under the care of one operator, Journal
    of the Royal Statistical Society B 12, 145-151; for any service time Takacs, L. (1962), Introduction to
    the Theory of Queues, Oxford University Press (from memory).
    """
    count = check.whole("the number of machines", machines)
    rate = 1 / check.positive("the mean run", run_time)
    check.positive("the mean service time", service_time)
    check.phases("the number of phases", phases)
    from cellsim.theory.stations import log_erlang_transform

    logs = [-log_erlang_transform(j * rate, service_time, phases).real for j in range(1, count)]
    total = np.logaddexp.reduce(_log_choices(count - 1) + _sums_of_logs(logs))  # log z
    log_calls = math.log(count * rate * service_time) + total
    busy = 1 / (1 + math.exp(-log_calls)) if log_calls > -700 else math.exp(log_calls)
    return _tended(count, 1, busy / (count * rate * service_time), run_time, service_time)


def _log_choices(n: int) -> np.ndarray:
    """Logarithms of the binomial coefficients C(n, 0) to C(n, n)."""
    k = np.arange(n + 1)
    from scipy.special import gammaln

    logs: np.ndarray = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return logs


def _sums_of_logs(exponents: Sequence[float]) -> np.ndarray:
    """Logarithms of 1, (e^x1 - 1), (e^x1 - 1)(e^x2 - 1), ...; no power is formed."""
    x = np.asarray(exponents, dtype=float)
    return np.concatenate(([0.0], np.cumsum(x + np.log(-np.expm1(-x)))))


def patrol(machines: int, run_time: float, service_time: float, walk_time: float) -> Tended:
    """One operator walks round without stopping and serves the machines that stand when he comes; exact.

    Walks (from a machine to the next) and services are constant.  The number k served in a round has weight
    C(N, k) prod_(j < k) (exp((N w + j s) / run time) - 1) with N machines, walk w and service s.

    Raises:
        ValueError: a mean time is not above 0, or the number of machines is not a whole number from 1 on.

    Source: Mack, C., Murphy, T. and Webb, N. L. (1957), The efficiency of N machines uni-directionally
    patrolled by one operative when walking time and repair times are constants, Journal of the Royal
    Statistical Society B 19, 166-172 (from memory).
    """
    count = check.whole("the number of machines", machines)
    rate = 1 / check.positive("the mean run", run_time)
    service, walk = check.positive("the service time", service_time), check.positive("the walk", walk_time)
    shares = _weights(
        _log_choices(count) + _sums_of_logs([rate * (count * walk + j * service) for j in range(count)])
    )
    served = float(shares @ np.arange(count + 1))  # in a round
    lap = count * walk + served * service
    return _tended(count, 1, served * run_time / (count * lap), run_time, service, count * walk / lap)


@dataclass(frozen=True, slots=True)
class Cycle:
    """A repeating round in which each machine is tended once.

    `cycle`: its length; `output`: units of all machines per unit of time; `running`: share of time that each
    machine runs; `loading` and `walking`: shares of time of who tends them.
    """

    cycle: float
    output: float
    running: tuple[float, ...]
    loading: float
    walking: float


def cyclic_tending(
    machine_times: Sequence[float], service_times: Sequence[float], walk_times: Sequence[float]
) -> Cycle:
    """One robot tends machines in a fixed order and waits at each until it is ready; constant times.

    One entry per machine: time it runs alone, time it stands while it is unloaded and loaded, time to the
    next machine.  The cycle is the longest of the sum of services and walks, and each machine's run and
    service.

    Raises:
        ValueError: there is no machine, the lengths differ, or a time is negative or a run not above 0.

    Source: man-machine chart; Niebel, B. and Freivalds, A., Methods, Standards and Work Design, McGraw-Hill,
    synchronous servicing (from memory).
    """
    runs = check.all_positive("machine times", machine_times)
    check.same_length("machine times", runs, "service times", service_times)
    check.same_length("machine times", runs, "walk times", walk_times)
    services = [check.positive("a service time", time) for time in service_times]
    walks = [check.not_negative("a walk", time) for time in walk_times]
    own = max(run + service for run, service in zip(runs, services, strict=True))
    cycle = max(own, math.fsum(services) + math.fsum(walks))
    return Cycle(
        cycle=cycle,
        output=len(runs) / cycle,
        running=tuple(run / cycle for run in runs),
        loading=math.fsum(services) / cycle,
        walking=math.fsum(walks) / cycle,
    )


def ideal_machines(machine_time: float, service_time: float, walk_time: float = 0.0) -> float:
    """Machines that one operator can tend in a fixed order with constant times before they wait for him.

    Rounded down nobody waits for the operator, rounded up he never waits.

    Raises:
        ValueError: a time is not above 0, or the walk is negative.

    Source: synchronous servicing, (service + run) / (service + walk); Niebel, B. and Freivalds, A., Methods,
    Standards and Work Design, McGraw-Hill (from memory).
    """
    run = check.positive("the machine time", machine_time)
    service = check.positive("the service time", service_time)
    return (service + run) / (service + check.not_negative("the walk", walk_time))


def most_machines(least_running: float, running_share: Callable[[int], float]) -> int:
    """Largest number of machines of which each still runs for the share `least_running` of its time.

    `running_share(n)` gives that share with n machines and must fall with n, as in
    `lambda n: finite_source(n, 60, 10, 1).running`.

    Raises:
        ValueError: the share is not above 0 and at most 1, or not even one machine reaches it.

    Source: direct search.
    """
    least = check.positive("the least running share", check.share("the least running share", least_running))
    alone = running_share(1)
    if alone < least:
        raise ValueError(f"a machine alone runs for {alone:.6g} of its time, less than {least_running!r}")
    machines = 1
    while running_share(machines + 1) >= least:
        machines += 1
    return machines


def unlike_machines(
    machines: Sequence[int], run_times: Sequence[float], service_time: float
) -> tuple[float, ...]:
    """Running share of the machines of each class, tended by one operator with equal exponential service.

    One entry per class: how many machines, and their mean exponential run.  Calls are served in their order.

    Raises:
        ValueError: lengths differ, a mean time is not above 0, or a number is not a whole number from 1 on.

    Source: Baskett, F., Chandy, K. M., Muntz, R. R. and Palacios, F. G. (1975), Open, closed and mixed
    networks of queues with different classes of customers, Journal of the ACM 22, 248-260 (from memory).
    """
    check.same_length("machines", machines, "run times", run_times)
    check.positive("the mean service time", service_time)
    flows = mean_value_analysis([[service_time]] * len(machines), machines, run_times)
    return tuple(
        flow.throughput * run / count for flow, run, count in zip(flows, run_times, machines, strict=True)
    )
