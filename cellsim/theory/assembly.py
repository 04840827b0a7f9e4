"""Assembly: waiting for the last part, pairs of two streams, fork and join, feeders with limited room."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad

from cellsim.theory import arguments as check
from cellsim.theory.chains import stationary_distribution
from cellsim.theory.stations import mm1


def expected_maximum(means: Sequence[float]) -> float:
    """Mean of the longest of independent exponential times, such as the wait for the last part of a kit.

    Raises:
        ValueError: there is no time, or a mean is not above 0.

    Source: integral of 1 - prod (1 - exp(-t / mean)); in any textbook of probability.
    """
    times = np.array(check.all_positive("means", means))
    ends = [0.0, *sorted(set(times.tolist())), 50 * float(times.max())]

    def missing(t: float) -> float:
        return 1 - float(np.prod(-np.expm1(-t / times)))

    return math.fsum(
        quad(missing, low, high, epsabs=0, epsrel=1e-12, limit=200)[0]
        for low, high in itertools.pairwise(ends)
    )


def synchronised_rate(means: Sequence[float]) -> float:
    """Rounds per unit of time of stations that start together and wait for the last; exponential times.

    So works an assembly with its saturated feeders where there is no place between them.

    Raises:
        ValueError: there is no station, or a mean is not above 0.

    Source: one round lasts as long as the longest of the times; `expected_maximum`.
    """
    return 1 / expected_maximum(means)


@dataclass(frozen=True, slots=True)
class Matching:
    """Pairs of two part streams per unit of time; for A and B the mean number waiting and the share lost."""

    rate: float
    waiting: tuple[float, float]
    loss: tuple[float, float]


def matching(rate_a: float, rate_b: float, places_a: int, places_b: int) -> Matching:
    """Parts A and B arrive as Poisson streams, are paired at once, and are turned away from a full store.

    The surplus x of A over B is a birth-death chain with weights (rate A / rate B)^x.

    Raises:
        ValueError: a rate is not above 0, a number of places is negative or not whole, or there is no place.

    Source: double-ended queue, Kashyap, B. R. K. (1966), The double-ended queue with bulk service and limited
    waiting space, Operations Research 14, 822-834 (from memory).
    """
    log_ratio = math.log(check.positive("the rate of A", rate_a) / check.positive("the rate of B", rate_b))
    room_a = check.whole("the places of A", places_a, 0)
    room_b = check.whole("the places of B", places_b, 0)
    if room_a + room_b == 0:
        raise ValueError("parts that cannot wait never meet: there must be at least one place")
    surplus = np.arange(-room_b, room_a + 1)
    logs = surplus * log_ratio
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    return Matching(
        rate=rate_a * float(shares[:-1].sum()),
        waiting=(float(shares @ np.maximum(surplus, 0)), float(shares @ np.maximum(-surplus, 0))),
        loss=(float(shares[-1]), float(shares[0])),
    )


def fork_join_time(arrival_rate: float, work_time: float) -> float:
    """Mean time of an order that needs two works at once, each at its own station, until both are done.

    Poisson orders; exponential times of the same mean at both stations, each with a queue of its own.

    Raises:
        ValueError: the rate or the time is not above 0, or the utilisation is not below 1.

    Source: (12 - utilisation) / 8 x the time at one station; Flatto, L. and Hahn, S. (1984), Two parallel
    queues created by arrivals with two demands I, SIAM Journal on Applied Mathematics 44(5), 1041-1053;
    Nelson, R. and Tantawi, A. N. (1988), IEEE Transactions on Computers 37(6), 739-743 (from memory).
    """
    alone = mm1(arrival_rate, work_time)
    return (12 - alone.utilisation) / 8 * alone.time_in_system


def assembly_rate(
    feeder_times: Sequence[float],
    assembly_time: float,
    places: Sequence[int],
    needs: Sequence[int] | None = None,
    preloading: bool = False,
) -> float:
    """Assemblies per unit of time of a station fed by saturated feeders with limited room; exact.

    Exponential times, feeders blocked after service, assembly never blocked.  One entry per feeder: mean time
    per part, places between it and the assembly (stations excluded), parts per assembly (1 if left out).
    Without `preloading` the assembly takes nothing until it is idle and a whole kit is ready, and then takes
    all at once; with it each part goes to its own position in the assembly as soon as that is free.

    Raises:
        ValueError: lengths differ, a time is not above 0, a number is negative or not whole, a kit does not
            fit into the places, or the chain has too many states.

    Source: Markov chain; model class in Bhat, U. N. (1986), Finite capacity assembly-like queues, Queueing
    Systems 1, 85-101 (from memory).
    """
    means = check.all_positive("feeder times", feeder_times)
    check.same_length("feeder times", means, "places", places)
    kit = (1,) * len(means)
    if needs is not None:
        check.same_length("feeder times", means, "needs", needs)
        kit = tuple(check.whole("a number of parts", need) for need in needs)
    check.positive("the assembly time", assembly_time)
    room = [check.whole("a number of places", b, 0) for b in places]
    most = [b + 1 + (need if preloading else 0) for b, need in zip(room, kit, strict=True)]
    for need, limit in zip(kit, most, strict=True):
        if need > limit:
            raise ValueError(
                f"a kit needs {need} parts, but only {limit} can wait, the feeder's own included"
            )

    def ready(parts: Sequence[int]) -> bool:
        return all(count >= need for count, need in zip(parts, kit, strict=True))

    def taken(parts: Sequence[int]) -> tuple[int, ...]:
        return tuple(count - need for count, need in zip(parts, kit, strict=True))

    def settled(busy: bool, parts: tuple[int, ...]) -> _Assembly:
        """With preloading the parts in work count as parts; without, an idle assembly takes a whole kit."""
        if preloading:
            return ready(parts), parts
        return (True, taken(parts)) if not busy and ready(parts) else (busy, parts)

    def moves(state: _Assembly) -> Iterator[tuple[_Assembly, float]]:
        busy, parts = state
        if busy:
            yield settled(False, taken(parts) if preloading else parts), 1 / assembly_time
        for i, count in enumerate(parts):
            if count < most[i]:
                yield settled(busy, (*parts[:i], count + 1, *parts[i + 1 :])), 1 / means[i]

    shares = stationary_distribution((False, (0,) * len(means)), moves)
    return math.fsum(share for (busy, _), share in shares.items() if busy) / assembly_time


_Assembly = tuple[bool, tuple[int, ...]]  # is the assembly working, parts finished and not yet used up
