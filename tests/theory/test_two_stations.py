"""Two stations with reliable times, or any times without places: closed forms against chains and sums."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from explicit_lines import explicit_line, solved
from scipy.integrate import quad
from scipy.special import gammaln
from scipy.stats import erlang as erlang_law
from scipy.stats import expon, gamma, lognorm, poisson, triang, uniform, weibull_min

from cellsim.theory.two_stations import (
    constant_time,
    constant_time_with_stops,
    expected_maximum,
    exponential_times_rate,
    geometric_times_rate,
    no_places_rate,
)

# Chances that a time ends, places, rate in units per cycle.  Bernoulli line with symmetric blocking: Li, J.
# and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4 (a problem there).
GEOMETRIC = [((0.9, 0.9), 0, 0.825), ((0.9, 0.75), 1, 0.737458194)]


@pytest.mark.parametrize(
    ("means", "places", "rate"),
    # Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683
    [((1.2, 0.8), 1, 0.7307692308), ((1, 1.25), 3, 0.7289444011), ((1, 1.25), 2, 1476 / 2101)],
)
def test_published_exponential_rates(means: tuple, places: int, rate: float) -> None:
    """Ten digits, by two separate programs; the last one by hand, weights 256, 320, 400, 500, 625."""
    assert exponential_times_rate(means, places) == pytest.approx(rate, rel=2e-10)


@pytest.mark.parametrize("places", range(6))
def test_equal_exponential_stations(places: int) -> None:
    """(places + 2) / (places + 3) of a single station's rate (Hunt 1956)."""
    exact = (places + 2) / (places + 3) / 2.5
    assert exponential_times_rate([2.5, 2.5], places) == pytest.approx(exact, rel=1e-13)
    nearly = exponential_times_rate([2.5, 2.5 * (1 + 1e-9)], places)
    assert nearly == pytest.approx(exact, rel=1e-8)


@pytest.mark.parametrize(("means", "places"), [((1.2, 0.8), 1), ((0.3, 2.0), 4), ((3.0, 1.0), 0)])
def test_exponential_rates_by_a_chain(means: tuple, places: int) -> None:
    """Against the chain told unit by unit; turned around the rate is the same."""
    found = exponential_times_rate(means, places)
    assert found == pytest.approx(explicit_line(means, [places]).rate, rel=1e-10)
    assert exponential_times_rate(means[::-1], places) == pytest.approx(found, rel=1e-12)


def test_limits_of_many_places() -> None:
    """A million places: the slower station's rate, without overflow either way."""
    assert exponential_times_rate([1, 1.25], 10**6) == pytest.approx(0.8, rel=1e-12)
    assert exponential_times_rate([1.25, 1], 10**6) == pytest.approx(0.8, rel=1e-12)
    assert geometric_times_rate([0.9, 0.8], 10**6) == pytest.approx(0.8, rel=1e-12)
    assert geometric_times_rate([0.8, 0.9], 10**6) == pytest.approx(0.8, rel=1e-12)


def geometric_by_chain(p1: float, p2: float, places: int) -> float:
    """Units per cycle, from the steps of both stations; the state is the number between finishes."""

    def moves(n: int) -> list[tuple[int, float]]:
        first = p1 if n < places + 2 else 0.0
        second = p2 if n > 0 else 0.0
        return [(n + 1, first * (1 - second)), (n - 1, second * (1 - first))]

    shares = solved(0, lambda n: [move for move in moves(n) if move[1] > 0])
    return p2 * (1 - shares[0])


@pytest.mark.parametrize(("ends", "places", "rate"), GEOMETRIC)
def test_published_geometric_rates(ends: tuple, places: int, rate: float) -> None:
    """Digits by two separate programs."""
    assert geometric_times_rate(ends, places) == pytest.approx(rate, rel=2e-10)


@pytest.mark.parametrize("ends", [(0.9, 0.9), (0.3, 0.7), (0.7, 0.3), (0.999, 0.5), (0.6, 1.0), (0.05, 0.06)])
@pytest.mark.parametrize("places", [0, 1, 6])
def test_geometric_rates_by_a_chain(ends: tuple, places: int) -> None:
    """Against the balances of every number between."""
    assert geometric_times_rate(ends, places) == pytest.approx(geometric_by_chain(*ends, places), rel=1e-10)


def test_geometric_times_that_always_end() -> None:
    """A station that needs one cycle for every unit is never what limits the other."""
    assert geometric_times_rate([1, 0.7], 0) == 0.7
    assert geometric_times_rate([0.7, 1], 0) == 0.7
    assert geometric_times_rate([1, 1], 3) == 1.0
    assert geometric_times_rate([1 - 1e-13, 0.7], 0) == pytest.approx(0.7, rel=1e-9)


def test_short_cycles_make_geometric_times_exponential() -> None:
    """Cycles of 1/1000 of a mean time: the exponential rate to about the same."""
    found = geometric_times_rate([0.001, 0.0008], 2) * 1000
    assert found == pytest.approx(exponential_times_rate([1, 1.25], 2), rel=1e-3)


# -- no places between, any times --------------------------------------------------------------------------

LAWS: list[tuple[str, Callable[[float], float], Callable[[float], float], list[float], float]] = [
    # Muth, E. J. (1979), The reversibility property of production lines, Management Science 25(2), 152-158
    # (model); a constant time T and an exponential one of mean m: T + m exp(-T / m)
    ("constant and exponential", constant_time(1.0), expon.cdf, [1.0], 0.7310585786),
    ("constant and triangular", constant_time(1.0), triang(0.5, 0.8, 0.4).cdf, [0.8, 1.0, 1.2], 0.9677419355),
    # Hunt (1956); Hillier, F. S. and Boling, R. W. (1967), Operations Research 15(2), 286-303
    ("two exponential", expon.cdf, expon.cdf, [], 2 / 3),
    ("two Erlang-2", erlang_law(2, scale=0.5).cdf, erlang_law(2, scale=0.5).cdf, [], 8 / 11),
    # Own derivation from the cycle argument; confirmed by the recursion of departures
    *[
        (name, *[constant_time_with_stops(1.0, run, repair)] * 2, [1.0], value)
        for name, run, repair, value in (
            ("short stops", 50.0, 5.0, 0.8340214586),
            ("long stops", 10.0, 4.0, 0.5614950032),
        )
    ],
]


@pytest.mark.parametrize(
    ("first", "second", "kinks", "rate"), [x[1:] for x in LAWS], ids=[x[0] for x in LAWS]
)
def test_published_rates_without_places(first: Callable, second: Callable, kinks: list, rate: float) -> None:
    """Ten digits."""
    assert no_places_rate(first, second, kinks) == pytest.approx(rate, rel=2e-10)


@pytest.mark.parametrize(("run", "repair"), [(50.0, 5.0), (10.0, 4.0), (0.2, 1.0)])
def test_two_constant_times_with_stops_by_a_double_sum(run: float, repair: float) -> None:
    """Numbers of stops n and m are Poisson; the longer of Erlang times of n and m phases has this mean.

    E[max] = n + m - E[min], and the shorter goes on through i < n and j < m phases with chance
    C(i + j, i) / 2^(i + j), each time for half a phase.
    """
    most = 60
    chance = poisson.pmf(np.arange(most), 1.0 / run)
    i, j = np.indices((most, most))
    passes = np.exp(gammaln(i + j + 1) - gammaln(i + 1) - gammaln(j + 1) - (i + j + 1) * math.log(2))
    shorter = np.zeros((most, most))
    shorter[1:, 1:] = passes.cumsum(axis=0).cumsum(axis=1)[:-1, :-1]
    longest = 1.0 + repair * float(chance @ (i + j - shorter) @ chance)
    law = constant_time_with_stops(1.0, run, repair)
    assert expected_maximum([law, law], [1.0]) == pytest.approx(longest, rel=1e-9)


def test_a_constant_time_with_stops_has_its_mean_and_spread() -> None:
    """Mean T / A; variance 2 T repair^2 / run (Poisson many exponential repairs); its lowest value is T."""
    law = constant_time_with_stops(2.0, 40.0, 5.0)
    assert expected_maximum([law], [2.0]) == pytest.approx(2.0 * 45 / 40, rel=1e-10)
    assert law(1.999) == 0.0
    assert law(2.0) == pytest.approx(math.exp(-2.0 / 40), rel=1e-12)
    second = 2.0**2 + quad(lambda x: 2 * x * (1 - law(x)), 2.0, np.inf)[0]
    assert second - (2.0 * 45 / 40) ** 2 == pytest.approx(2 * 2.0 * 5.0**2 / 40, rel=1e-9)


def test_many_stops_in_one_time() -> None:
    """1000 stops on average: mean and no overflow."""
    law = constant_time_with_stops(1000.0, 1.0, 0.01)
    assert expected_maximum([law], [1000.0, 1010.0]) == pytest.approx(1010.0, rel=1e-9)


@pytest.mark.parametrize(
    ("law", "kinks"),
    [
        (weibull_min(1.5), []),
        (gamma(0.5), []),
        (lognorm(0.8), []),
        (uniform(0.5, 1.0), [0.5, 1.5]),
        (triang(0.3, 1.0, 2.0), [1.0, 1.6, 3.0]),
    ],
    ids=["Weibull", "gamma", "lognormal", "uniform", "triangular"],
)
def test_one_time_is_its_own_longest(law: object, kinks: list[float]) -> None:
    """The mean of each law by its distribution function, against scipy's formula."""
    mean = law.mean()  # type: ignore[attr-defined]
    assert expected_maximum([law.cdf], kinks) == pytest.approx(mean, rel=1e-9)  # type: ignore[attr-defined]


def test_the_longest_of_many_exponential_times() -> None:
    """Of n: 1 + 1/2 + ... + 1/n (Renyi's representation)."""
    for n in (1, 2, 5, 20):
        assert expected_maximum([expon.cdf] * n) == pytest.approx(
            sum(1 / k for k in range(1, n + 1)), rel=1e-9
        )


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: exponential_times_rate([1], 0), "two stations have two mean times, got 1"),
        (lambda: exponential_times_rate([1, 0], 0), "above 0 and finite, got 0 at station 2"),
        (lambda: exponential_times_rate([1, 1], -1), "whole numbers of at least 0, got -1"),
        (lambda: geometric_times_rate([0.5, 1.2], 0), r"above 0 and at most 1, got 1\.2 at station 2"),
        (lambda: geometric_times_rate([0.5, 0.5, 0.5], 0), "two stations have two chances of an end, got 3"),
        (lambda: expected_maximum([]), "one of at least 1 time, got none"),
        (lambda: expected_maximum([expon.cdf], [-1.0]), "a kink is a finite number of at least 0, got -1"),
        (lambda: no_places_rate(lambda x: x / (1 + x), expon.cdf), "the longest of the times has no mean"),
        (
            lambda: constant_time_with_stops(1, 0, 1),
            "running time to a stop is a finite number above 0, got 0",
        ),
        (lambda: constant_time_with_stops(-1, 1, 1), "work is a finite number above 0, got -1"),
        (lambda: constant_time_with_stops(1, 1, -1), "a mean repair time is a finite number above 0, got -1"),
    ],
)
def test_wrong_pairs_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
