"""One station: published values, each computed a second time, limits, and what is refused.

Second ways: birth-death chains cut off where the rest is below 1e-12, embedded chains, chains of phases,
Spitzer's identity, and transforms differentiated on a circle.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.linalg import expm
from scipy.optimize import brentq
from scipy.special import gammainc, pdtr, pdtrc
from scipy.stats import poisson
from second_ways import Known, births_and_deaths, chain_shares, check, discrete_shares, named

from cellsim.theory.stations import (
    departure_scv,
    erlang_b,
    erlang_c,
    erlang_queue,
    ggm,
    gm1,
    littles_number,
    log_erlang_transform,
    mdc,
    mg1,
    mginf_exceedance,
    mm1,
    mm1_time_quantile,
    mmc,
    mmc_departure_variance,
    mmck,
    pooling,
)

KLEINROCK = "Kleinrock, L. (1975), Queueing Systems, Volume 1, Wiley (from memory)"
KHINCHINE = "mean-value formula of Pollaczek and Khinchine, in " + KLEINROCK
ERLANG = "Erlang, A. K. (1917); in " + KLEINROCK
CROMMELIN = (
    "Crommelin, C. D. (1932), Delay probability formulae when the holding times are constant, Post Office "
    "Electrical Engineers' Journal 25, 41-50 (from memory)"
)
BURKE = "Burke, P. J. (1956), The output of a queuing system, Operations Research 4, 699-704"
PALM = "Palm's theorem; Gross, D. and Harris, C. M., Fundamentals of Queueing Theory (from memory)"
LITTLE = (
    "Little, J. D. C. (1961), A proof for the queuing formula L = lambda W, Operations Research 9, 383-387"
)
LINDLEY = "chain of the phases; E_k/E_m/1 in " + KLEINROCK
FACTORY = "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin (from memory)"
MOST = 700  # jobs at which chains of unlimited queues are cut off


@functools.cache
def numbers(arrival_rate: float, service_time: float, servers: int, most: int = MOST) -> np.ndarray:
    """Shares of the numbers of jobs in an M/M/c/K queue, from its chain."""
    return births_and_deaths(lambda n: arrival_rate, lambda n: min(n, servers) / service_time, most)


def chain_number(arrival_rate: float, service_time: float, servers: int, most: int = MOST) -> float:
    """Mean number in the system, from the chain."""
    shares = numbers(arrival_rate, service_time, servers, most)
    return float(shares @ np.arange(len(shares)))


def chain_waiting(arrival_rate: float, service_time: float, servers: int) -> float:
    """Mean number waiting, from the chain."""
    shares = numbers(arrival_rate, service_time, servers)
    return float(shares @ np.maximum(np.arange(len(shares)) - servers, 0))


def chain_delayed(arrival_rate: float, service_time: float, servers: int) -> float:
    """Share of arrivals that finds all servers busy, from the chain."""
    return float(numbers(arrival_rate, service_time, servers)[servers:].sum())


def quantile_by_states(arrival_rate: float, service_time: float, share: float) -> float:
    """Quantile of the time in M/M/1: n + 1 services if n are found, mixed over what arrivals find."""
    found = numbers(arrival_rate, service_time, 1)

    def missed(time: float) -> float:
        return float(found @ gammainc(np.arange(len(found)) + 1, time / service_time)) - share

    return brentq(missed, 0, 1000 * service_time, xtol=1e-12)


def embedded_wait(arrival_rate: float, service_time: float, arrivals: np.ndarray) -> float:
    """Mean wait of M/G/1 from the chain of the number left behind; `arrivals[k]`: k come in a service."""
    most = len(arrivals)
    steps = np.zeros((most, most))
    for left in range(most):
        first = max(left - 1, 0)
        steps[left, first:] = arrivals[: most - first]
        steps[left, -1] += 1 - steps[left].sum()
    number = float(discrete_shares(steps) @ np.arange(most))
    return number / arrival_rate - service_time


def arrivals_in_service(
    arrival_rate: float, density: Callable[[np.ndarray], np.ndarray], ends: tuple[float, ...], most: int
) -> np.ndarray:
    """Distribution of Poisson arrivals in one service, by quadrature over the pieces between `ends`."""
    points, weights = np.polynomial.legendre.leggauss(60)
    found = np.zeros(most)
    for low, high in itertools.pairwise(ends):
        times = (low + high) / 2 + (high - low) / 2 * points
        mass = (high - low) / 2 * weights * density(times)
        found += poisson.pmf(np.arange(most)[:, None], arrival_rate * times) @ mass
    return found


def uniform_wait() -> float:
    """Uniform service from 0.5 to 1.5."""
    return embedded_wait(0.8, 1.0, arrivals_in_service(0.8, np.ones_like, (0.5, 1.5), 250))


def erlang3_wait() -> float:
    """Erlang service of three phases, mean 1."""

    def density(times: np.ndarray) -> np.ndarray:
        return 27 / 2 * times**2 * np.exp(-3 * times)

    return embedded_wait(0.75, 1.0, arrivals_in_service(0.75, density, (0, 2, 4, 8, 16), 250))


def triangular_wait() -> float:
    """Triangular service from 1 to 2.3 with the peak at 1.2."""

    def density(times: np.ndarray) -> np.ndarray:
        return np.where(times < 1.2, (times - 1) / 0.2, (2.3 - times) / 1.1) * 2 / 1.3

    return embedded_wait(0.6, 1.5, arrivals_in_service(0.6, density, (1, 1.2, 2.3), 350))


def mixed_wait() -> float:
    """Service of two kinds of jobs: nine of ten exponential with mean 0.5, the others with mean 5.5."""
    k = np.arange(700)
    found = 0.9 * 0.8 * 0.2**k + 0.1 * (1 / 3.75) * (2.75 / 3.75) ** k
    return embedded_wait(0.5, 1.0, found)


def constant_wait(arrival_rate: float, service_time: float) -> float:
    """M/D/1 from its embedded chain."""
    return embedded_wait(arrival_rate, service_time, poisson.pmf(np.arange(250), arrival_rate * service_time))


def paced_wait() -> float:
    """D/M/1 from the chain of the number found: one more, less a Poisson number of services of 1.25 min."""
    most = 300
    steps = np.zeros((most, most))
    for found in range(most - 1):
        served = np.arange(found + 1)
        steps[found, found + 1 - served] = poisson.pmf(served, 1.25)
        steps[found, 0] = 1 - steps[found].sum()
    steps[-1, -2] = 1.0
    return float(discrete_shares(steps) @ np.arange(most))


def phases_wait(interval: float, k: int, service: float, m: int, most: int) -> float:
    """E_k/E_m/1 from the chain of its phases: jobs present, phase of the arrival, phase of the service."""

    def moves(state: tuple[int, int, int]) -> list[tuple[tuple[int, int, int], float]]:
        jobs, coming, serving = state
        found = []
        if coming < k - 1:
            found.append(((jobs, coming + 1, serving), k / interval))
        elif jobs < most:
            found.append(((jobs + 1, 0, serving), k / interval))
        if jobs and serving < m - 1:
            found.append(((jobs, coming, serving + 1), m / service))
        elif jobs:
            found.append(((jobs - 1, coming, 0), m / service))
        return found

    shares = chain_shares((0, 0, 0), moves)
    return sum(share * max(jobs - 1, 0) for (jobs, *_), share in shares.items()) * interval


def spitzer_wait(arrival_rate: float, service_time: float, servers: int) -> float:
    """M/D/c: waiting = max(waiting + Poisson - c, 0), mean by the identity of Spitzer (1956): sum of
    E[max(S_n - nc, 0)] / n, S_n the arrivals in n service times."""
    n = np.arange(1, 60_001)
    mean, limit = n * arrival_rate * service_time, n * servers
    excess = mean * pdtrc(limit - 1, mean) - limit * pdtrc(limit, mean)
    return float(np.sum(excess / n)) / arrival_rate


def counted_departures(arrival_rate: float, service_time: float, duration: float) -> float:
    """Variance of the departures of a settled M/M/1 in a time, from the moments of the counts by state."""
    most = 140
    shares = numbers(arrival_rate, service_time, 1, most)
    leave = np.diag(np.full(most, 1 / service_time), -1)
    change = np.diag(np.full(most, arrival_rate), 1) + leave
    change -= np.diag(change.sum(axis=1))
    nothing = np.zeros_like(change)
    whole = np.block([[change, leave, nothing], [nothing, change, 2 * leave], [nothing, nothing, change]])
    moments = np.concatenate([shares, 0 * shares, 0 * shares]) @ expm(whole * duration)
    first, second = moments[most + 1 : 2 * most + 2].sum(), moments[2 * most + 2 :].sum()
    return second + first - first**2


def erlang_loss_by_phases(arrival_rate: float, service_time: float, servers: int) -> float:
    """Share lost where service has two exponential phases, from the chain of how many are in each."""

    def moves(state: tuple[int, int]) -> list[tuple[tuple[int, int], float]]:
        first, second = state
        found = []
        if first + second < servers:
            found.append(((first + 1, second), arrival_rate))
        if first:
            found.append(((first - 1, second + 1), 2 * first / service_time))
        if second:
            found.append(((first, second - 1), 2 * second / service_time))
        return found

    return sum(share for state, share in chain_shares((0, 0), moves).items() if sum(state) == servers)


def inside_by_chain(arrival_rate: float, service_time: float, places: int) -> float:
    """Chance of more than `places` inside M/M/infinity, from its chain."""
    shares = births_and_deaths(lambda n: arrival_rate, lambda n: n / service_time, 150)
    return float(shares[places + 1 :].sum())


KNOWN = [
    Known(
        "M/M/1 at 80 %: time in system", lambda: mm1(0.8, 1).time_in_system, 5.0,
        lambda: chain_number(0.8, 1, 1) / 0.8, KLEINROCK,
    ),
    Known(
        "M/M/1 at 80 %: number waiting", lambda: mm1(0.8, 1).number_waiting, 3.2,
        lambda: chain_waiting(0.8, 1, 1), KLEINROCK,
    ),
    Known(
        "M/M/1 at 50 %: number waiting", lambda: mm1(6, 1 / 12).number_waiting, 0.5,
        lambda: chain_waiting(6, 1 / 12, 1), KLEINROCK,
    ),
    Known(
        "M/M/1 at 95 %: time in system", lambda: mm1(0.95, 1).time_in_system, 20.0,
        lambda: chain_number(0.95, 1, 1) / 0.95, KLEINROCK,
    ),
    Known(
        "M/M/1 at 80 %: time that 90 % do not exceed", lambda: mm1_time_quantile(0.8, 1, 0.9), 11.51292546,
        lambda: quantile_by_states(0.8, 1, 0.9), KLEINROCK,
    ),
    Known(
        "M/M/1: variance of hourly output", lambda: mmc_departure_variance(48, 1 / 60, 1, 1), 48.0,
        lambda: counted_departures(48, 1 / 60, 1), BURKE,
    ),
    Known(
        "M/D/1 at 50 %: wait", lambda: mg1(0.5, 1, 0).wait, 0.5, lambda: constant_wait(0.5, 1), KHINCHINE,
    ),
    Known(
        "M/D/1 at 80 %: wait", lambda: mg1(0.4, 2, 0).wait, 4.0, lambda: constant_wait(0.4, 2), KHINCHINE,
    ),
    Known("M/G/1, uniform: wait", lambda: mg1(0.8, 1, 1 / 12).wait, 2.166666667, uniform_wait, KHINCHINE),
    Known("M/G/1, Erlang-3: wait", lambda: mg1(0.75, 1, 1 / 3).wait, 2.0, erlang3_wait, KHINCHINE),
    Known(
        "M/G/1, triangular: wait",
        # variance (a^2 + b^2 + c^2 - ab - ac - bc) / 18
        lambda: mg1(0.6, 1.5, (1 + 1.44 + 5.29 - 1.2 - 2.3 - 2.76) / 18 / 2.25).wait, 6.995,
        triangular_wait, KHINCHINE,
    ),
    Known("M/G/1, two kinds of jobs: wait", lambda: mg1(0.5, 1, 5.5).wait, 3.25, mixed_wait, KHINCHINE),
    Known(
        "M/M/2 at 75 %: share that waits", lambda: erlang_c(2, 1.5), 0.6428571429,
        lambda: chain_delayed(1.5, 1, 2), ERLANG,
    ),
    Known(
        "M/M/2 at 75 %: wait", lambda: mmc(1.5, 1, 2).wait, 1.285714286,
        lambda: chain_waiting(1.5, 1, 2) / 1.5, ERLANG,
    ),
    Known(
        "M/M/3 at 67 %: wait", lambda: mmc(2, 1, 3).wait, 0.4444444444,
        lambda: chain_waiting(2, 1, 3) / 2, ERLANG,
    ),
    Known(
        "M/M/5 at 80 %: share that waits", lambda: erlang_c(5, 4), 0.5541125541,
        lambda: chain_delayed(0.8, 5, 5), ERLANG,
    ),
    Known(
        "M/M/1/3: share lost", lambda: mmck(0.8, 1, 1, 3).loss, 0.1734417344,
        lambda: float(numbers(0.8, 1, 1, 3)[-1]), KLEINROCK,
    ),
    Known(
        "M/M/1/3: number", lambda: mmck(0.8, 1, 1, 3).number, 1.224932249,
        lambda: chain_number(0.8, 1, 1, 3), KLEINROCK,
    ),
    Known(
        "M/M/1/5 at 100 %: number", lambda: mmck(1, 1, 1, 5).number, 2.5,
        lambda: chain_number(1, 1, 1, 5), KLEINROCK,
    ),
    Known(
        "M/M/1/10 at 120 %: share lost", lambda: mmck(1.2, 1, 1, 10).loss, 0.1925864951,
        lambda: float(numbers(1.2, 1, 1, 10)[-1]), KLEINROCK,
    ),
    Known(
        "D/M/1 at 80 %: wait", lambda: gm1(1.25, 1, lambda s: math.exp(-1.25 * s)).wait, 1.69273084,
        paced_wait, KLEINROCK,
    ),
    Known(
        "E_2/E_2/1 at 80 %: wait", lambda: erlang_queue(1.25, 2, 1, 2).wait, 1.865268048,
        lambda: phases_wait(1.25, 2, 1, 2, 200), LINDLEY,
    ),
    Known(
        "E_4/E_2/1 at 90 %: wait", lambda: erlang_queue(1 / 0.9, 4, 1, 2).wait, 3.169914451,
        lambda: phases_wait(1 / 0.9, 4, 1, 2, 200), LINDLEY,
    ),
    Known(
        "M/D/2 at 80 %: wait", lambda: mdc(1.6, 1, 2).wait, 0.9032838794,
        lambda: spitzer_wait(1.6, 1, 2), CROMMELIN,
    ),
    Known(
        "M/D/3 at 90 %: wait", lambda: mdc(2.7, 1, 3).wait, 1.377911974,
        lambda: spitzer_wait(2.7, 1, 3), CROMMELIN,
    ),
    Known(
        "three positions, no waiting: share lost", lambda: erlang_b(3, 2), 0.2105263158,
        lambda: erlang_loss_by_phases(0.1, 20, 3), ERLANG,
    ),
    Known(
        "six positions, no waiting: share lost", lambda: erlang_b(6, 3), 0.05215711526,
        lambda: erlang_loss_by_phases(0.05, 60, 6), ERLANG,
    ),
    Known(
        "constant time of 40 min, entered at random: more than 28 inside",
        lambda: mginf_exceedance(0.5, 40, 28), 0.03433352189, lambda: inside_by_chain(0.5, 40, 28), PALM,
    ),
    Known(
        "one part every 60 s for 45 min: number inside", lambda: littles_number(1, 45), 45.0,
        lambda: counted_inside(1.0, 45.0), LITTLE,
    ),
    Known(
        "one part every 150 s for 37 min: number inside", lambda: littles_number(1 / 2.5, 37), 14.8,
        lambda: counted_inside(2.5, 37.0), LITTLE, close=1e-4,
    ),
    Known(
        "two servers at 80 %: wait by two moments, off by 1.8 %", lambda: ggm(1.6, 1, 2, 1, 1).wait, 1.809131,
        lambda: chain_waiting(1.6, 1, 2) / 1.6, FACTORY, digits=1e-6, close=0.018,
    ),
    Known(
        "variability that leaves a station", lambda: departure_scv(0.88, 1, 1, 1.241736), 1.1872,
        lambda: departures_of_mg1(0.8, 1.1, 1.241736), FACTORY, digits=1e-6,
    ),
]  # fmt: skip


def counted_inside(interval: float, time: float) -> float:
    """Parts inside, counted at 10 000 times spread over many intervals."""
    looks = 5000 + interval * 0.6180339887498949 * np.arange(10_000)
    return float(np.mean(np.floor(looks / interval) - np.floor((looks - time) / interval)))


def departures_of_mg1(arrival_rate: float, service_time: float, scv: float) -> float:
    """SCV between departures of M/G/1: a service, and before it with chance 1 - u the wait for an arrival."""
    empty = 1 - arrival_rate * service_time
    square = service_time**2 * (1 + scv) + empty * (2 / arrival_rate**2 + 2 * service_time / arrival_rate)
    return square * arrival_rate**2 - 1


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


@pytest.mark.parametrize("servers", [1, 2, 7, 40])
def test_figures_of_a_queue_belong_together(servers):
    """Number and time by Little's law, for all and for those that wait; utilisation per server."""
    queue = mmc(0.9 * servers, 1.0, servers)
    assert queue.number == pytest.approx(queue.throughput * queue.time_in_system)
    assert queue.number_waiting == pytest.approx(queue.throughput * queue.wait)
    assert queue.utilisation == pytest.approx(0.9)
    assert queue.loss == 0


def test_one_server_is_the_special_case():
    """With one server, exponential phases or no end of places the general forms become the simple ones."""
    assert mmc(0.7, 1, 1) == mm1(0.7, 1)
    assert mdc(0.7, 1, 1).wait == pytest.approx(mg1(0.7, 1, 0).wait)
    assert mg1(0.7, 1, 1).wait == pytest.approx(mm1(0.7, 1).wait)
    assert gm1(1 / 0.7, 1, lambda s: 1 / (1 + s / 0.7)).wait == pytest.approx(mm1(0.7, 1).wait)
    assert mmck(0.7 * 3, 1, 3, 400).wait == pytest.approx(mmc(0.7 * 3, 1, 3).wait)
    assert mmck(2.1, 1, 3, 3).loss == pytest.approx(erlang_b(3, 2.1))
    assert ggm(0.7, 1, 1, 1, 0.3).wait == pytest.approx(mg1(0.7, 1, 0.3).wait)


@pytest.mark.parametrize("phases", [1, 2, 5, 30])
def test_erlang_queues_contain_the_others(phases):
    """Poisson arrivals: M/G/1; exponential service: G/M/1; both also near full use and hardly used."""
    for used in (0.02, 0.6, 0.99):
        assert erlang_queue(1 / used, 1, 1, phases).wait == pytest.approx(mg1(used, 1, 1 / phases).wait)
        assert erlang_queue(1 / used, 3, 1, phases).utilisation == pytest.approx(used)

        def transform(s: float, used: float = used) -> float:
            return math.exp(log_erlang_transform(s, 1 / used, phases).real)

        assert erlang_queue(1 / used, phases, 1, 1).wait == pytest.approx(gm1(1 / used, 1, transform).wait)

        def in_seconds(s: float, used: float = used) -> float:
            return math.exp(log_erlang_transform(s, 60 / used, phases).real)

        slower = gm1(60 / used, 60, in_seconds)
        assert slower.wait == pytest.approx(60 * gm1(1 / used, 1, transform).wait)
        assert slower.utilisation == pytest.approx(used)


def test_many_phases_are_constant_times():
    """Arrivals of 20 000 phases wait nearly as constant ones do, and those of M/D/c as E_c/D/1."""
    assert erlang_queue(1.25, 20_000, 1, 3).wait == pytest.approx(
        erlang_queue(1.25, math.inf, 1, 3).wait, rel=3e-4
    )
    waits = [erlang_queue(3 / 2.7, 3, 1, m).wait for m in (40, 80)]
    assert 2 * waits[1] - waits[0] == pytest.approx(mdc(2.7, 1, 3).wait, rel=1e-4)  # error goes as 1 / phases


@pytest.mark.parametrize("servers", [1, 2, 5, 12])
@pytest.mark.parametrize("used", [0.05, 0.4, 0.85, 0.97])
def test_constant_service_by_spitzers_identity(servers, used):
    """The roots give what the sum over steps gives, from hardly used to nearly full."""
    found = mdc(used * servers, 1, servers)
    assert found.wait == pytest.approx(spitzer_wait(used * servers, 1, servers), rel=1e-8, abs=1e-12)
    assert found.wait <= mmc(used * servers, 1, servers).wait


def test_quantiles_are_those_of_the_mean():
    """An exponential time: the mean is its quantile of 1 - 1/e; the quantile of 0 is 0."""
    assert mm1_time_quantile(0.8, 1, 1 - math.exp(-1)) == pytest.approx(5)
    assert mm1_time_quantile(0.8, 1, 0) == 0


def test_places_without_room_to_wait_and_with_too_much():
    """Lost and served add up; a hundred times too many arrivals keep the server busy."""
    queue = mmck(100, 1, 1, 4)
    assert queue.throughput == pytest.approx(100 * (1 - queue.loss))
    assert queue.utilisation == pytest.approx(1, abs=1e-7)
    assert mmck(0.8, 1, 2, 2).wait == 0


@pytest.mark.parametrize("phases", [2, 4])
def test_two_moments_are_right_in_heavy_traffic(phases):
    """For Erlang arrivals and service the approximation is too high, the less the fuller the station is, and
    right in the limit; Kingman's bound, u (ca2 / u^2 + cs2) / (2 (1 - u)) services, holds."""
    errors = []
    for used in (0.5, 0.8, 0.9, 0.99, 0.999, 0.9999):
        exact = erlang_queue(1 / used, phases, 1, phases).wait
        errors.append(ggm(used, 1, 1, 1 / phases, 1 / phases).wait / exact - 1)
        assert exact < used * (1 / used**2 + 1) / phases / (2 * (1 - used))
    assert errors == sorted(errors, reverse=True)
    assert 0 < errors[-1] < 2e-4


def test_variability_that_leaves():
    """A hardly used station passes on what comes, a full one what it makes; Poisson stays Poisson."""
    assert departure_scv(0, 1, 0.3, 2) == pytest.approx(0.3)
    assert departure_scv(1 - 1e-12, 1, 0.3, 2) == pytest.approx(2)
    assert departure_scv(0.8, 4, 1, 1) == 1


def test_pooling_shortens_the_wait():
    """Two servers at 80 %: one common queue waits 1.78 service times, own queues 4."""
    found = pooling(1.6, 1, 2)
    assert found.apart.wait == pytest.approx(4)
    assert found.together.wait == pytest.approx(chain_waiting(1.6, 1, 2) / 1.6)
    assert found.apart.utilisation == pytest.approx(found.together.utilisation)


def test_insensitivity_and_lost_calls():
    """Nothing is lost without a load to speak of; without a server all is."""
    assert erlang_b(0, 3) == 1
    assert erlang_b(3, 1e-6) == pytest.approx(1e-18 / 6)
    assert mginf_exceedance(1, 2, 3) == pytest.approx(1 - pdtr(3, 2))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mm1(1, 1), "utilisation would be 1; a queue of unlimited length needs it below 1"),
        (lambda: mm1(-1, 1), "arrival rate must be a finite number above 0, not -1"),
        (lambda: mm1(1, math.nan), "service time must be a finite number above 0, not nan"),
        (lambda: mmc(1, 1, 1.5), "number of servers must be a whole number, 1 or more, not 1.5"),
        (lambda: mmc(3, 1, 2), "utilisation would be 1.5"),
        (lambda: erlang_c(2, 2), "utilisation would be 1"),
        (lambda: erlang_b(2, 0), "load must be a finite number above 0, not 0"),
        (lambda: mm1_time_quantile(0.8, 1, 1), "share must be 0 or more and below 1, not 1"),
        (lambda: mmck(1, 1, 3, 2), "number of places must be a whole number, 3 or more, not 2"),
        (lambda: mg1(0.5, 1, -0.1), "SCV of the service time must be a finite number, 0 or more, not -0.1"),
        (lambda: mdc(2, 1, 2), "utilisation would be 1"),
        (lambda: gm1(1.25, 1, lambda s: math.exp(-s)), "belongs to a mean time between arrivals of 1"),
        (lambda: gm1(1, 1, lambda s: math.exp(-s)), "utilisation would be 1"),
        (lambda: gm1(1 + 1e-13, 1, lambda s: math.exp(-s * (1 + 1e-13))), "so near to 1 that the wait"),
        (lambda: erlang_queue(2, 0, 1, 1), "phases of the time between arrivals must be a whole number"),
        (lambda: erlang_queue(2, 1, 1, math.inf), "phases of the service time must be a whole number"),
        (lambda: ggm(0.8, 1, 1, -1, 1), "SCV of the time between arrivals must be a finite number"),
        (lambda: departure_scv(1, 1, 1, 1), "utilisation must be 0 or more and below 1, not 1"),
        (lambda: mginf_exceedance(1, 1, -1), "number of places must be a whole number, 0 or more, not -1"),
        (lambda: littles_number(-1, 1), "rate must be a finite number, 0 or more, not -1"),
        (lambda: mmc_departure_variance(1, 0.5, 1, 0), "duration must be a finite number above 0, not 0"),
        (lambda: pooling(2, 1, 2), "utilisation would be 1"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
