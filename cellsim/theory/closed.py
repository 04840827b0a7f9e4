"""Closed lines: a fixed number of units, pallets or orders goes round, a new one enters when one leaves.

Exponential times unless said otherwise; room for all units at each station unless said otherwise.  The demand
of a station is the mean work that one round trip brings it (visits x process time).

scipy is imported where it is needed, as in `interference`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.theory import arguments as check


@dataclass(frozen=True, slots=True)
class ClosedLine:
    """Long-run figures of a closed line, of one class of its units where there are several.

    `throughput`: round trips per unit of time; `cycle_time`: of a round trip, time away from the stations
    excluded; for each station `times` (in a round trip), `numbers` (there, on average) and `utilisations`
    (share of time that a machine works).
    """

    throughput: float
    cycle_time: float
    times: tuple[float, ...]
    numbers: tuple[float, ...]
    utilisations: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Flow:
    """Throughput, and the time of a round trip through the stations that goes with it by Little's law."""

    throughput: float
    cycle_time: float


@dataclass(frozen=True, slots=True)
class Bounds:
    """Throughput lies between these two, both included."""

    lower: float
    upper: float


def mean_value_analysis(
    demands: Sequence[Sequence[float]], units: Sequence[int], think_times: Sequence[float]
) -> tuple[ClosedLine, ...]:
    """Exact mean value analysis of one or several classes of units in stations with one machine each.

    `demands[c][i]`: of class c at station i (0: it does not go there); `units[c]`: how many;
    `think_times[c]`: mean time that a unit stays away between two round trips.  Where a station serves in
    order of arrival its process time must be the same for all classes.  The work grows with the product of
    (units + 1).

    Raises:
        ValueError: lengths differ, a number is negative or not whole, or a class has no work at all.

    Source: Reiser, M. and Lavenberg, S. S. (1980), Mean-value analysis of closed multichain queuing networks,
    Journal of the ACM 27(2), 313-322 (from memory).
    """
    check.same_length("demands", demands, "units", units)
    check.same_length("demands", demands, "think times", think_times)
    if len(demands) == 0:
        raise ValueError("there must be at least one class of units")
    for row in demands:
        check.same_length("the demands of a class", row, "those of the first", demands[0])
    work = np.array([[check.not_negative("a demand", d) for d in row] for row in demands])
    away = np.array([check.not_negative("a think time", z) for z in think_times])
    counts = [check.whole("a number of units", n) for n in units]
    if not np.all(work.sum(axis=1) > 0):
        raise ValueError("each class must have a station with a demand above 0")

    present = {(0,) * len(counts): np.zeros(work.shape[1])}  # mean numbers at the stations
    times = np.zeros_like(work)
    rates = np.zeros(len(counts))
    for inside in itertools.product(*(range(n + 1) for n in counts)):
        if not any(inside):
            continue
        rates = np.zeros(len(counts))
        times = np.zeros_like(work)
        for c, n in enumerate(inside):
            if n:
                less = (*inside[:c], n - 1, *inside[c + 1 :])
                times[c] = work[c] * (1 + present[less])
                rates[c] = n / (away[c] + times[c].sum())
        present[inside] = rates @ times
    return tuple(
        ClosedLine(
            throughput=float(rates[c]),
            cycle_time=float(times[c].sum()),
            times=tuple(times[c].tolist()),
            numbers=tuple((rates[c] * times[c]).tolist()),
            utilisations=tuple((rates[c] * work[c]).tolist()),
        )
        for c in range(len(counts))
    )


def closed_network(
    demands: Sequence[float], units: int, servers: Sequence[int] | None = None, think_time: float = 0.0
) -> ClosedLine:
    """Closed line of stations with one or several exponential machines each, by its normalising constants.

    `servers[i]`: parallel machines of station i (one each if left out); `think_time`: mean time, of any law,
    that a unit stays away between two round trips, without waiting.

    Raises:
        ValueError: lengths differ, a demand is not above 0, or a number is not a whole number from 1 on.

    Source: product form Gordon, W. J. and Newell, G. F. (1967), Operations Research 15(2), 254-265;
    convolution Buzen, J. P. (1973), Communications of the ACM 16(9), 527-531 (from memory).
    """
    work, machines = _stations("demands", demands, servers)
    count = check.whole("the number of units", units)
    away = check.not_negative("the think time", think_time)
    fastest = _bottleneck_rate(work, machines)  # so that no factor below grows without end
    factors = [_factors(time * fastest, c, count) for time, c in zip(work, machines, strict=True)]
    if away:
        factors.append(_factors(away * fastest, count, count))
    one = np.zeros(count + 1)
    one[0] = 1.0
    before = [one]
    for factor in factors:
        before.append(np.convolve(before[-1], factor)[: count + 1])
    behind = [one]
    for factor in reversed(factors):
        behind.append(np.convolve(behind[-1], factor)[: count + 1])
    behind.reverse()
    constants = before[-1]
    throughput = fastest * float(constants[count - 1] / constants[count])
    numbers = []
    for i in range(len(work)):
        others = np.convolve(before[i], behind[i + 1])[: count + 1]
        there = factors[i] * others[::-1]  # in proportion to the chance of n units at station i
        numbers.append(float(np.arange(count + 1) @ there / constants[count]))
    return ClosedLine(
        throughput=throughput,
        cycle_time=math.fsum(numbers) / throughput,
        times=tuple(number / throughput for number in numbers),
        numbers=tuple(numbers),
        utilisations=tuple(throughput * time / c for time, c in zip(work, machines, strict=True)),
    )


def _factors(work: float, machines: int, count: int) -> np.ndarray:
    """work^n / (prod of min(j, machines) for j up to n) for n = 0 ... count, the largest scaled to 1."""
    from scipy.special import gammaln

    n = np.arange(count + 1)
    at_most = np.minimum(n, machines)
    logs = n * math.log(work) - gammaln(at_most + 1) - (n - at_most) * math.log(machines)
    scaled: np.ndarray = np.exp(logs - logs.max())
    return scaled


def _stations(
    name: str, times: Sequence[float], servers: Sequence[int] | None
) -> tuple[tuple[float, ...], tuple[int, ...]]:
    """Times and machines of the stations, checked."""
    work = check.all_positive(name, times)
    if servers is None:
        return work, (1,) * len(work)
    check.same_length(name, work, "servers", servers)
    return work, tuple(check.whole("a number of servers", c) for c in servers)


def _bottleneck_rate(work: Sequence[float], machines: Sequence[int]) -> float:
    """Rate of the slowest station."""
    return min(c / time for time, c in zip(work, machines, strict=True))


def critical_wip(process_times: Sequence[float], servers: Sequence[int] | None = None) -> float:
    """Units with which a line without variability just reaches the rate of its slowest station.

    Raises:
        ValueError: lengths differ, a time is not above 0, or a number is not a whole number from 1 on.

    Source: bottleneck rate x raw process time; Hopp, W. J. and Spearman, M. L. (1996), Factory Physics,
    Irwin, chapter on basic factory dynamics (from memory).
    """
    work, machines = _stations("process times", process_times, servers)
    return _bottleneck_rate(work, machines) * math.fsum(work)


def best_case(process_times: Sequence[float], units: int, servers: Sequence[int] | None = None) -> Flow:
    """Most that a closed line can do, with constant times: min(units / raw process time, bottleneck rate).

    Raises:
        ValueError: lengths differ, a time is not above 0, or a number is not a whole number from 1 on.

    Source: Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on basic factory dynamics
    (from memory).
    """
    work, machines = _stations("process times", process_times, servers)
    count = check.whole("the number of units", units)
    throughput = min(count / math.fsum(work), _bottleneck_rate(work, machines))
    return Flow(throughput, count / throughput)


def worst_case(process_times: Sequence[float], units: int) -> Flow:
    """All units of a closed line travel as one group: throughput 1 / raw process time, however many they are.

    Raises:
        ValueError: a time is not above 0, or the number of units is not a whole number from 1 on.

    Source: Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on basic factory dynamics
    (from memory).
    """
    raw = math.fsum(check.all_positive("process times", process_times))
    return Flow(1 / raw, check.whole("the number of units", units) * raw)


def practical_worst_case(
    process_times: Sequence[float], units: int, servers: Sequence[int] | None = None
) -> Flow:
    """Throughput units / (critical WIP + units - 1) x bottleneck rate, which a good line should exceed.

    Exact for a balanced line of single exponential machines.

    Raises:
        ValueError: lengths differ, a time is not above 0, or a number is not a whole number from 1 on.

    Source: Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on basic factory dynamics
    (from memory).
    """
    work, machines = _stations("process times", process_times, servers)
    count = check.whole("the number of units", units)
    rate = _bottleneck_rate(work, machines)
    throughput = count / (rate * math.fsum(work) + count - 1) * rate
    return Flow(throughput, count / throughput)


def asymptotic_bounds(demands: Sequence[float], units: int, think_time: float = 0.0) -> Bounds:
    """Bounds on throughput that need no law of times; one machine a station.

    Raises:
        ValueError: a demand is not above 0, or the number of units is not a whole number from 1 on.

    Source: Muntz, R. R. and Wong, J. W. (1974), Asymptotic properties of closed queueing network models,
    Princeton conference; Lazowska, E. D., Zahorjan, J., Graham, G. S. and Sevcik, K. C. (1984), Quantitative
    System Performance, Prentice Hall, chapter 5 (from memory).
    """
    work = check.all_positive("demands", demands)
    count = check.whole("the number of units", units)
    total, away = math.fsum(work), check.not_negative("the think time", think_time)
    return Bounds(count / (count * total + away), min(1 / max(work), count / (total + away)))


def balanced_job_bounds(demands: Sequence[float], units: int, think_time: float = 0.0) -> Bounds:
    """Bounds on throughput from balanced lines, for single exponential machines; tighter than the asymptotic.

    Raises:
        ValueError: a demand is not above 0, or the number of units is not a whole number from 1 on.

    Source: Zahorjan, J., Sevcik, K. C., Eager, D. L. and Galler, B. (1982), Balanced job bound analysis of
    queueing networks, Communications of the ACM 25(2), 134-141; with think time Lazowska et al. (1984),
    Quantitative System Performance, Prentice Hall, chapter 5 (from memory).
    """
    work = check.all_positive("demands", demands)
    count = check.whole("the number of units", units)
    total, away = math.fsum(work), check.not_negative("the think time", think_time)
    slow = (count - 1) * max(work) / (1 + away / (count * total))
    fast = (count - 1) * total / len(work) / (1 + away / total)
    return Bounds(count / (total + away + slow), min(1 / max(work), count / (total + away + fast)))


def pallet_loop(process_times: Sequence[float], places: Sequence[int], pallets: int) -> float:
    """Throughput of a closed loop with limited room, exponential times and blocking after service; exact.

    `places[i]`: in front of station i, the place inside the station excluded.  A finished pallet that finds
    no free place ahead stays in its station.  Moves take no time.

    Raises:
        ValueError: lengths differ, a time is not above 0, a number is negative or not whole, there are fewer
            than two stations, there are so many pallets that all places are full, or too many states.

    Source: Markov chain of the loop; model class in Dallery, Y. and Gershwin, S. B. (1992), Manufacturing
    flow line systems: a review of models and analytical results, Queueing Systems 12, 3-94 (from memory).
    """
    means = check.all_positive("process times", process_times)
    check.same_length("process times", means, "places", places)
    room = [check.whole("a number of places", b, 0) for b in places]
    count = check.whole("the number of pallets", pallets)
    stations = len(means)
    if stations < 2:
        raise ValueError("a loop needs at least two stations")
    most = sum(room) + stations - 1
    if count > most:
        raise ValueError(f"a loop with {most + 1} places can move {most} pallets at most, not {count}")

    def moves(state: _Loop) -> Iterator[tuple[_Loop, float]]:
        for i, (_, what) in enumerate(state):
            if what == _WORKING:
                finished = [list(station) for station in state]
                finished[i][1] = _HELD
                yield _settled(finished, room), 1 / means[i]

    from cellsim.theory.chains import stationary_distribution

    loop, left = [], count
    for b in room:
        inside = min(left, b + 1)
        left -= inside
        loop.append([max(inside - 1, 0), _WORKING if inside else _IDLE])
    shares = stationary_distribution(_settled(loop, room), moves)
    return math.fsum(share for state, share in shares.items() if state[0][1] == _WORKING) / means[0]


_IDLE, _WORKING, _HELD = range(3)  # what a station does with the unit inside
_Loop = tuple[tuple[int, int], ...]  # for each station: units in front, what it does


def _settled(loop: list[list[int]], room: Sequence[int]) -> _Loop:
    """All moves that need no time: into an idle station, and out of one that holds a finished unit."""
    moved = True
    while moved:
        moved = False
        for i, station in enumerate(loop):
            ahead = loop[(i + 1) % len(loop)]
            if station[1] == _IDLE and station[0]:
                station[0] -= 1
                station[1] = _WORKING
                moved = True
            if station[1] == _HELD and (ahead[0] < room[(i + 1) % len(loop)] or ahead[1] == _IDLE):
                station[1] = _IDLE
                ahead[0] += 1
                moved = True
    return tuple((station[0], station[1]) for station in loop)
