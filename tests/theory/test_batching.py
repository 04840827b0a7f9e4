"""Batches: published values, each computed a second time, limits, and what is refused.

Second ways: chains of units waiting and station idle or busy, Spitzer's identity for batches with Erlang
times between them, and counting event by event.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import gammainc
from second_ways import Known, chain_shares, check, named

from cellsim.theory.batching import (
    best_batch,
    bulk_arrivals,
    bulk_service,
    chamber_rate,
    forming_wait,
    full_batch_station,
    least_batch,
    limited_batch,
    lot_makespan,
    setup_batches,
)
from cellsim.theory.stations import mdc, mg1, mm1, mmc

NEUTS = (
    "Neuts, M. F. (1967), A general class of bulk queues with Poisson input, Annals of Mathematical "
    "Statistics 38, 759-770 (from memory)"
)
BAILEY = (
    "Bailey, N. T. J. (1954), On queueing processes with bulk service, Journal of the Royal Statistical "
    "Society B 16, 80-87 (from memory)"
)
FACTORY = "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, chapter on batching (from memory)"
FELLER = (
    "Feller, W. (1948), On probability problems in the theory of counters, Courant Anniversary Volume, "
    "105-115 (from memory), for batches of any size; else counted over all sizes"
)
GROSS = "Gross, D. and Harris, C. M. (1974), Fundamentals of Queueing Theory, bulk input (from memory)"
LITTLE = (
    "Little, J. D. C. (1961), A proof for the queuing formula L = lambda W, Operations Research 9, 383-387"
)
CONWAY = "Conway, R. W., Maxwell, W. L. and Miller, L. W. (1967), Theory of Scheduling (from memory)"


def batch_chain(rate: float, time: float, least: int, most: int, cut: int) -> dict[tuple[int, int], float]:
    """Shares of (units waiting, units in work) of a station with exponential batches, from its chain."""

    def started(waiting: int) -> tuple[int, int]:
        taken = min(waiting, most) if waiting >= least else 0
        return waiting - taken, taken

    def moves(state):
        waiting, working = state
        if waiting < cut:
            yield started(waiting + 1) if not working else (waiting + 1, working), rate
        if working:
            yield started(waiting), 1 / time

    return chain_shares((0, 0), moves)


def full_batch_time(rate: float, batch: int, time: float, cut: int) -> float:
    """Mean time of a unit where only full batches start, from the chain."""
    shares = batch_chain(rate, time, batch, batch, cut)
    return sum(sum(state) * share for state, share in shares.items()) / rate


def bulk_wait(rate: float, time: float, least: int, most: int, cut: int) -> float:
    """Mean wait of a unit, from the chain."""
    shares = batch_chain(rate, time, least, most, cut)
    return sum(waiting * share for (waiting, _), share in shares.items()) / rate


def oven_time(rate: float, batch: int, time: float) -> float:
    """Mean time of a unit in an oven: the wait of a batch is the sum of E[max(n time - A_n, 0)] / n, A_n the
    time until n batches have come, which is gamma (Spitzer 1956)."""
    n = np.arange(1, 20_001)
    room = n * time * rate
    excess = room * gammainc(n * batch, room) - n * batch * gammainc(n * batch + 1, room)
    return (batch - 1) / (2 * rate) + float(np.sum(excess / n)) / rate + time


def limited_by_quadrature(rate: float, most: int, longest: float) -> tuple[float, float]:
    """Mean batch and wait: the units there at the end, and at each moment until then."""
    chance = [math.exp(-rate * longest) * (rate * longest) ** n / math.factorial(n) for n in range(most)]
    size = sum((n + 1) * chance[n] for n in range(most - 1)) + most * (1 - sum(chance[: most - 1]))
    times = np.linspace(0, longest, 100_001)
    there = sum(
        (n + 1) * np.exp(-rate * times) * (rate * times) ** n / math.factorial(n) for n in range(most - 1)
    )
    return size, float(np.trapezoid(there, times)) / size


def lots_one_by_one(rate: float, lot: int, time: float, cut: int) -> float:
    """Mean time of a unit whose lot arrives at once, from the chain of the units inside."""

    def moves(inside):
        if inside + lot <= cut:
            yield inside + lot, rate / lot
        if inside:
            yield inside - 1, 1 / time

    return sum(inside * share for inside, share in chain_shares(0, moves).items()) / rate


def forming_by_position(rate: float, batch: int) -> float:
    """Mean over the positions in a batch of the time until the last comes: an Erlang mean by quadrature."""
    means = [0.0]
    for missing in range(1, batch):
        times = np.linspace(0, 200 / rate, 200_001)
        means.append(float(np.trapezoid(1 - gammainc(missing, rate * times), times)))
    return sum(means) / batch


def counted_chambers(chambers: int, batch: int, treatment: float, handling: float) -> float:
    """Units out of staggered chambers per unit of time, counted over 1000 cycles."""
    cycle = treatment + handling
    ends = [k * cycle / chambers + n * cycle for k in range(chambers) for n in range(1, 2001)]
    return batch * sum(500 * cycle < end <= 1500 * cycle for end in ends) / (1000 * cycle)


def unit_by_unit(times: list[float], lot: int, moved: int) -> float:
    """When the last unit of a lot leaves; each unit goes on when the last of its transfer batch is done."""
    here = [0.0] * lot
    for time in times:
        clock = 0.0
        for unit in range(lot):
            clock = here[unit] = max(clock, here[unit]) + time
        for unit in range(lot):
            last = min(lot, (unit // moved + 1) * moved) - 1
            here[unit] = here[last]
    return here[-1]


INF = math.inf
KNOWN = [
    Known(
        "full batches of 4, exponential: time", lambda: full_batch_station(1, 4, 3).time_in_system,
        9.442917432, lambda: full_batch_time(1, 4, 3, 600), NEUTS,
    ),
    Known(
        "full batches of 10, exponential: time", lambda: full_batch_station(2, 10, 4).time_in_system,
        13.93907672, lambda: full_batch_time(2, 10, 4, 900), NEUTS,
    ),
    Known(
        "oven of 4: time", lambda: full_batch_station(1, 4, 3, INF).time_in_system, 5.30088348,
        lambda: oven_time(1, 4, 3), BAILEY,
    ),
    Known(
        "oven of 12: time", lambda: full_batch_station(0.5, 12, 20, INF).time_in_system, 33.39418087,
        lambda: oven_time(0.5, 12, 20), BAILEY,
    ),
    Known(
        "batches of 3 to 8: wait", lambda: bulk_service(1, 5, 3, 8).wait, 7.70779037,
        lambda: bulk_wait(1, 5, 3, 8, 500), NEUTS,
    ),
    Known(
        "batches of 1 to 5: wait", lambda: bulk_service(2, 2, 1, 5).wait, 6.190787701,
        lambda: bulk_wait(2, 2, 1, 5, 700), NEUTS,
    ),
    Known(
        "forming a batch of 4", lambda: forming_wait(1, 4), 1.5, lambda: forming_by_position(1, 4), FACTORY,
        close=1e-6,
    ),
    Known(
        "forming a batch of 12", lambda: forming_wait(0.5, 12), 11.0, lambda: forming_by_position(0.5, 12),
        FACTORY, close=1e-6,
    ),
    Known(
        "batches of at most 6 that wait 4: units", lambda: limited_batch(1, 6, 4).batch, 4.589695806,
        lambda: limited_by_quadrature(1, 6, 4)[0], FELLER,
    ),
    Known(
        "batches of at most 6 that wait 4: wait", lambda: limited_batch(1, 6, 4).wait, 2.005830732,
        lambda: limited_by_quadrature(1, 6, 4)[1], FELLER, close=1e-6,
    ),
    Known(
        "batches that wait 4, any size: units", lambda: limited_batch(1, 1000, 4).batch, 5.0,
        lambda: limited_by_quadrature(1, 60, 4)[0], FELLER,
    ),
    Known(
        "batches that wait 4, any size: wait", lambda: limited_batch(1, 1000, 4).wait, 2.4,
        lambda: limited_by_quadrature(1, 60, 4)[1], FELLER, close=1e-6,
    ),
    Known(
        "lots of 4 worked one by one: time", lambda: bulk_arrivals(0.3, 4, 1).time_in_system, 25 / 7,
        lambda: lots_one_by_one(0.3, 4, 1, 400), GROSS,
    ),
    Known(
        "two chambers of 24", lambda: chamber_rate(2, 24, 90, 6), 0.5,
        lambda: counted_chambers(2, 24, 90, 6), LITTLE,
    ),
    Known(
        "three chambers of 10", lambda: chamber_rate(3, 10, 40, 5), 0.6666666667,
        lambda: counted_chambers(3, 10, 40, 5), LITTLE,
    ),
    Known(
        "lot of 10 over 3 stations, piece by piece", lambda: lot_makespan([1.0, 1.5, 0.8], 10), 16.8,
        lambda: unit_by_unit([1.0, 1.5, 0.8], 10, 1), CONWAY,
    ),
    Known(
        "lot of 10 over 3 stations, as a whole", lambda: lot_makespan([1.0, 1.5, 0.8], 10, 10), 33.0,
        lambda: unit_by_unit([1.0, 1.5, 0.8], 10, 10), CONWAY,
    ),
    Known(
        "lot of 24 over 2 stations, piece by piece", lambda: lot_makespan([2.0, 2.0], 24), 50.0,
        lambda: unit_by_unit([2.0, 2.0], 24, 1), CONWAY,
    ),
    Known(
        "lot of 24 over 2 stations, as a whole", lambda: lot_makespan([2.0, 2.0], 24, 24), 96.0,
        lambda: unit_by_unit([2.0, 2.0], 24, 24), CONWAY,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


def test_batches_of_one_are_single_units():
    """Every kind of batch station becomes the simple queue."""
    assert full_batch_station(0.8, 1, 1).time_in_system == pytest.approx(mm1(0.8, 1).time_in_system)
    assert full_batch_station(0.8, 1, 1, INF).wait == pytest.approx(mg1(0.8, 1, 0).wait)
    assert bulk_service(0.8, 1, 1, 1).wait == pytest.approx(mm1(0.8, 1).wait)
    assert bulk_service(0.8, 1, 1, 1).batch == pytest.approx(1)
    assert bulk_arrivals(0.8, 1, 1).wait == pytest.approx(mm1(0.8, 1).wait)
    assert (limited_batch(0.8, 1, 5).batch, limited_batch(0.8, 1, 5).wait) == (1, 0)
    assert setup_batches(0.5, 1, 1.2, 0.4).wait == pytest.approx(mg1(0.5, 1.6, 0).wait)


@pytest.mark.parametrize("phases", [1, 2, 3, 8, INF])
def test_batch_time_becomes_steadier_with_phases(phases):
    """The more phases the shorter the wait, from exponential batches to the oven."""
    found = full_batch_station(1, 4, 3, phases)
    assert found.utilisation == pytest.approx(0.75)
    assert found.forming == 1.5
    assert full_batch_station(1, 4, 3, INF).wait <= found.wait <= full_batch_station(1, 4, 3).wait


def test_two_phase_batches_by_their_chain():
    """Full batches of 3 whose time has two phases."""

    def moves(state):
        waiting, phase = state  # phase 0: idle
        if waiting < 400:
            yield ((0, 1) if not phase and waiting == 2 else (waiting + 1, phase)), 0.8
        if phase == 1:
            yield (waiting, 2), 2 / 3
        if phase == 2:
            yield ((waiting - 3, 1) if waiting >= 3 else (waiting, 0)), 2 / 3

    shares = chain_shares((0, 0), moves)
    inside = sum((waiting + 3 * (phase > 0)) * share for (waiting, phase), share in shares.items())
    assert full_batch_station(0.8, 3, 3, 2).time_in_system == pytest.approx(inside / 0.8)


@pytest.mark.parametrize(("least", "most"), [(1, 4), (2, 4), (4, 4), (3, 9)])
def test_bulk_service_by_its_chain(least, most):
    """Waiting, share of time at work and mean batch; full batches only are `full_batch_station`."""
    found = bulk_service(1.5, 2, least, most)
    shares = batch_chain(1.5, 2, least, most, 500)
    busy = sum(share for (_, working), share in shares.items() if working)
    inside = sum(working * share for (_, working), share in shares.items())
    assert found.wait == pytest.approx(bulk_wait(1.5, 2, least, most, 500))
    assert found.number_waiting == pytest.approx(1.5 * found.wait)
    assert found.utilisation == pytest.approx(busy)
    assert found.batch == pytest.approx(inside / busy)
    if least == most:
        full = full_batch_station(1.5, most, 2)
        assert found.wait == pytest.approx(full.forming + full.wait)


@pytest.mark.parametrize("longest", [0.0, 0.5, 3.0, 400.0])
def test_batches_with_a_limit_lie_between_single_units_and_full_batches(longest):
    """Without patience units go alone; with very much of it only full batches go."""
    found = limited_batch(0.5, 5, longest)
    assert (found.batch, found.wait) == pytest.approx(limited_by_quadrature(0.5, 5, longest), rel=1e-5)
    if longest == 400:
        assert (found.batch, found.wait) == pytest.approx((5, forming_wait(0.5, 5)))


@pytest.mark.parametrize("moved", [1, 2, 3, 5, 7, 12])
def test_move_lots_unit_by_unit(moved):
    """Transfer batches that do and do not divide the lot of 12; smaller ones are never later."""
    times = [1.0, 0.4, 2.0, 0.7]
    found = lot_makespan(times, 12, moved)
    assert found == pytest.approx(unit_by_unit(times, 12, moved))
    assert lot_makespan(times, 12) <= found <= lot_makespan(times, 12, 12)
    if 12 % moved == 0:
        assert found == pytest.approx(moved * sum(times) + (12 - moved) * max(times))


def test_setup_batches_unit_by_unit():
    """Where in the batch a unit is when its transfer batch is done, over all units of the batch."""
    for moved in (1, 3, 4, 12):
        done = [5 + 0.5 * (unit // moved + 1) * moved for unit in range(12)]
        found = setup_batches(1.0, 12, 0.5, 5, moved)
        assert found.service == pytest.approx(sum(done) / 12)
        assert found.utilisation == pytest.approx((5 + 12 * 0.5) / 12)
    assert setup_batches(1.0, 12, 0.5, 5).service == pytest.approx(11)


def test_wait_of_setup_batches_is_near_the_exact_one():
    """Batches of Poisson units with constant times wait as in M/D/k; two moments are too high, less so the
    fuller the station is."""
    errors = [
        setup_batches(rate, 8, 0.5, 4).wait / mdc(rate, 8.0, 8).wait - 1 for rate in (0.8, 0.9, 0.97, 0.997)
    ]
    assert errors == sorted(errors, reverse=True)
    assert 0 < errors[-1] < 0.01


@pytest.mark.parametrize(("rate", "unit", "setup"), [(0.4, 1.0, 5.0), (0.5, 1.0, 2.0), (0.9, 1.0, 3.0)])
def test_least_batch_just_keeps_up(rate, unit, setup):
    """One fewer and the station is overloaded; exactly full is not enough (0.5, 1, 2: 2 is just full)."""
    least = least_batch(rate, unit, setup)
    assert setup_batches(rate, least, unit, setup).utilisation < 1
    assert rate * (setup / (least - 1) + unit) >= 1 - 1e-12
    assert least_batch(rate, unit, 0) == 1


@pytest.mark.parametrize("single", [False, True])
def test_best_batch_is_the_best_of_many(single):
    """No batch up to 200 is faster; with single moves the best batch is not smaller."""
    times = {
        batch: setup_batches(0.4, batch, 1.0, 5.0, 1 if single else batch).time_in_system
        for batch in range(least_batch(0.4, 1.0, 5.0), 201)
    }
    assert best_batch(0.4, 1.0, 5.0, single) == min(times, key=times.__getitem__)
    assert best_batch(0.4, 1.0, 5.0, True) >= best_batch(0.4, 1.0, 5.0)


def test_every_server_of_constant_time_gets_every_kth_job():
    """The wait of an oven's batch is that of parallel stations with the same constant time."""
    assert full_batch_station(1.6, 2, 1, INF).wait == pytest.approx(mdc(1.6, 1, 2).wait)
    assert full_batch_station(1.6, 2, 1, INF).wait < mmc(1.6, 1, 2).wait


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: forming_wait(0, 3), "arrival rate must be a finite number above 0, not 0"),
        (lambda: forming_wait(1, 0), "batch must be a whole number, 1 or more, not 0"),
        (lambda: full_batch_station(1, 4, 4), "utilisation would be 1"),
        (lambda: full_batch_station(1, 4, 4, INF), "utilisation would be 1"),
        (lambda: full_batch_station(1, 4, 3, 0.5), "number of phases must be a whole number, 1 or more"),
        (lambda: bulk_service(1, 5, 3, 2), "largest batch must be a whole number, 3 or more, not 2"),
        (lambda: bulk_service(1, 5, 1, 5), "utilisation would be 1"),
        (lambda: limited_batch(1, 0, 3), "largest batch must be a whole number, 1 or more, not 0"),
        (lambda: limited_batch(1, 5, -3), "longest wait must be a finite number, 0 or more, not -3"),
        (lambda: bulk_arrivals(0.5, 4, 2), "utilisation would be 1"),
        (lambda: bulk_arrivals(0.5, 1.5, 1), "lot must be a whole number, 1 or more, not 1.5"),
        (lambda: chamber_rate(0, 10, 40, 5), "number of chambers must be a whole number, 1 or more, not 0"),
        (lambda: chamber_rate(1, 10, 40, -5), "handling time must be a finite number, 0 or more, not -5"),
        (lambda: lot_makespan([], 3), "process times must have at least one entry"),
        (lambda: lot_makespan([1.0], 3, 4), "a transfer batch of 4 is larger than the lot of 3"),
        (lambda: least_batch(1, 1, 3), "utilisation would be 1"),
        (lambda: setup_batches(0.4, 3, 1, 5), "utilisation would be 1.06667"),
        (lambda: setup_batches(0.4, 10, 1, 5, 3), "a transfer batch of 3 does not divide the batch of 10"),
        (lambda: setup_batches(0.4, 10, 1, 5, arrival_scv=-1), "SCV of the time between arrivals must be"),
        (lambda: best_batch(0.4, 1, -5), "setup time must be a finite number, 0 or more, not -5"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
