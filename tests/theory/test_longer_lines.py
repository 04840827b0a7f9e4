"""Decompositions and aggregations: values, two stations, limits, and the errors they own up to."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import random_lines
from scipy.stats import binom

from cellsim.theory.estimates import UsualError, until_agreed
from cellsim.theory.longer_lines import (
    BERNOULLI_ERROR,
    EXPONENTIAL_ERROR,
    FLUID_ERROR,
    GEOMETRIC_ERROR,
    bernoulli_aggregation,
    exponential_decomposition,
    fluid_aggregation,
    geometric_decomposition,
)
from cellsim.theory.slotted import geometric_line
from cellsim.theory.two_stations import exponential_times_rate
from cellsim.theory.two_unreliable import bernoulli_pair, fluid_pair, geometric_pair

# Stop, repair, places with those of the stations, estimate, contents; six decimals by a separate
# program of the equations of Dallery, Y., David, R. and Xie, X.-L. (1988), IIE Transactions 20(3), 280-283.
GEOMETRIC = [
    ([0.01] * 3, [0.1] * 3, [10, 10], 0.819829, [6.047216, 3.952784]),
    ([0.01, 0.02, 0.01], [0.1] * 3, [6, 6], 0.746404, [4.081768, 1.918232]),
    ([0.02, 0.01, 0.03], [0.2, 0.1, 0.15], [5, 8], 0.769980, [3.051061, 4.415583]),
    ([0.01] * 4, [0.1] * 4, [6, 6, 6], 0.764756, [3.946469, 3.0, 2.053531]),
    ([0.02, 0.01, 0.03, 0.01], [0.2, 0.1, 0.3, 0.05], [5, 5, 5], 0.721968, [3.353141, 3.011272, 1.843849]),
]
# Chances to be up, places, estimate; likewise of Li, J. and Meerkov, S. M. (2009), Production Systems
# Engineering, Springer, chapter 4.
BERNOULLI = [
    ([0.9, 0.8, 0.85], [2, 3], 0.760484),
    ([0.9] * 4, [2, 2, 2], 0.815915),
    ([0.8, 0.95, 0.85, 0.9], [1, 2, 3], 0.734969),
    ([0.9] * 5, [2] * 4, 0.804957),
    ([0.7, 0.9, 0.8, 0.9, 0.75], [2] * 4, 0.660282),
]
# Mean times, places, estimate; likewise.
EXPONENTIAL = [
    ([1] * 3, [0, 0], 0.546918),
    ([1] * 3, [1, 1], 0.657963),
    ([1] * 4, [2, 2, 2], 0.687462),
    ([1] * 5, [1] * 4, 0.583019),
    ([1, 1 / 1.2, 1 / 0.9, 1 / 1.1], [1, 0, 2], 0.594159),
    ([1] * 5, [4] * 4, 0.759658),
]


@pytest.mark.parametrize(("stop", "repair", "stored", "rate", "content"), GEOMETRIC)
def test_geometric_decomposition(stop: list, repair: list, stored: list, rate: float, content: list) -> None:
    """Rate and contents."""
    found = geometric_decomposition(stop, repair, stored)
    assert found.rate == pytest.approx(rate, abs=6e-7)
    assert found.content == pytest.approx(content, abs=6e-7)


@pytest.mark.parametrize(("up", "places", "rate"), BERNOULLI)
def test_bernoulli_aggregation(up: list, places: list, rate: float) -> None:
    """Rates."""
    assert bernoulli_aggregation(up, places).rate == pytest.approx(rate, abs=6e-7)


@pytest.mark.parametrize(("means", "places", "rate"), EXPONENTIAL)
def test_exponential_decomposition(means: list, places: list, rate: float) -> None:
    """Rates."""
    assert exponential_decomposition(means, places).rate == pytest.approx(rate, abs=6e-7)


def test_fluid_aggregation() -> None:
    """Stops 0.02, 0.03, 0.02, repairs 0.2, 0.2, 0.1 per cycle, stores 5: 0.733795; simulated 0.7314."""
    found = fluid_aggregation([50, 100 / 3, 50], [5, 5, 10], [5, 5])
    assert found.rate == pytest.approx(0.733795, abs=6e-7)
    assert FLUID_ERROR.holds(found.rate, 0.731388)


def test_two_stations_are_exact_and_say_so() -> None:
    """Of two stations each method is its closed form; of one, the station alone."""
    pairs = [
        (
            geometric_decomposition([0.01, 0.02], [0.1, 0.15], [6]),
            geometric_pair([0.01, 0.02], [0.1, 0.15], 6).rate,
        ),
        (
            geometric_decomposition([0.1, 0.2], [0.5, 0.6], [2]),
            geometric_line([0.1, 0.2], [0.5, 0.6], [2]).rate,
        ),
        (bernoulli_aggregation([0.9, 0.8], [2]), bernoulli_pair([0.9, 0.8], 2).rate),
        (fluid_aggregation([50, 30], [5, 4], [7]), fluid_pair([50, 30], [5, 4], 7, "on time").rate),
        (exponential_decomposition([1.2, 0.8], [1]), exponential_times_rate([1.2, 0.8], 1)),
        (geometric_decomposition([0.1], [0.3], []), 0.75),
        (bernoulli_aggregation([0.9], []), 0.9),
        (fluid_aggregation([30], [10], []), 0.75),
        (exponential_decomposition([2.5], []), 0.4),
    ]
    for found, exact in pairs:
        assert found.rate == pytest.approx(exact, rel=1e-11)
        assert found.usual_error.in_words() == "usual error +0.0 to +0.0 %"


@pytest.mark.parametrize("seed", range(4))
def test_lines_turned_around_have_the_same_estimate(seed: int) -> None:
    """The methods treat both directions alike, up to what is left when the rates agree."""
    luck = np.random.default_rng(seed)
    stop, repair, run = luck.uniform(0.01, 0.2, 5), luck.uniform(0.1, 0.9, 5), luck.uniform(20, 200, 5)
    stored, up, means = luck.integers(2, 9, 4), luck.uniform(0.6, 1.0, 5), luck.uniform(0.5, 1.5, 5)
    calls: list[tuple[Callable[..., object], list]] = [
        (geometric_decomposition, [stop, repair, stored]),
        (bernoulli_aggregation, [up, stored]),
        (fluid_aggregation, [run, 1 / repair, stored]),
        (exponential_decomposition, [means, stored]),
    ]
    for method, rows in calls:
        there = method(*[row.tolist() for row in rows]).rate  # type: ignore[attr-defined]
        back = method(*[row[::-1].tolist() for row in rows]).rate  # type: ignore[attr-defined]
        assert back == pytest.approx(there, rel=1e-9), method.__name__


def test_many_places_give_the_slowest_station() -> None:
    """Long stores everywhere: the station that makes least alone."""
    assert geometric_decomposition([0.01, 0.05, 0.02], [0.2] * 3, [400] * 2).rate == pytest.approx(
        0.8, rel=1e-4
    )
    assert bernoulli_aggregation([0.9, 0.7, 0.8], [100] * 2).rate == pytest.approx(0.7, rel=1e-6)
    assert fluid_aggregation([100, 20, 50], [5] * 3, [2000] * 2).rate == pytest.approx(0.8, rel=1e-4)
    assert exponential_decomposition([1, 1.5, 1], [100] * 2).rate == pytest.approx(2 / 3, rel=1e-6)


@pytest.mark.parametrize(
    ("kind", "stated", "lines"),
    [
        (random_lines.geometric, GEOMETRIC_ERROR, 20),
        (random_lines.bernoulli, BERNOULLI_ERROR, 40),
        (random_lines.exponential_times, EXPONENTIAL_ERROR, 40),
        (random_lines.fluid, FLUID_ERROR, 20),
    ],
    ids=["geometric", "Bernoulli", "exponential", "fluid"],
)
def test_errors_are_as_usual(kind: Callable, stated: UsualError, lines: int) -> None:
    """New random lines: 2 of 100 may lie outside.

    A method with that share fails with a chance below 1 in 1000 (binomial); the mean error is within 0.5 %
    of the one stated.
    """
    found = random_lines.errors(kind, lines, seed=7)
    outside = sum(not stated.low - 0.05 <= error <= stated.high + 0.05 for error in found)
    assert outside <= binom.isf(1e-3, lines, 0.02)
    assert found.mean() == pytest.approx(stated.mean, abs=0.5)
    assert np.abs(found).max() <= 1.5 * abs(stated.worst)


def test_an_error_in_words() -> None:
    """One line behind an estimate, and whether a difference is within it."""
    stated = UsualError(-4.5, 0.2, -1.6, -6.0, "some lines")
    assert stated.in_words() == "usual error -4.5 to +0.2 %"
    assert stated.holds(0.96, 1.0)
    assert not stated.holds(0.95, 1.0)
    assert not stated.holds(1.01, 1.0)


def test_sweeps_that_never_agree_end_in_words() -> None:
    """Two rates that keep apart: an arithmetic error says how far."""
    with pytest.raises(ArithmeticError, match=r"do not agree after 2000 sweeps: 0\.5 to 0\.6"):
        until_agreed(lambda: [0.5, 0.6], 1e-3)
    assert until_agreed(lambda: [0.5, 0.5004], 1e-3) == ([0.5, 0.5004], 1)
    assert until_agreed(lambda: [0.5, 0.5008], 1e-12) == ([0.5, 0.5008], 2000)


def test_stations_that_stop_too_often_are_told() -> None:
    """A stop in 95 of 100 cycles: the equations leave the chances, and say so instead of guessing."""
    with pytest.raises(
        ArithmeticError, match=r"stop this often cannot be taken apart: .* chance 1\.28 in a cycle"
    ):
        geometric_decomposition([0.6, 0.95, 1e-6], [0.1, 0.3, 1.0], [4, 3])


def test_stations_that_limit_a_line_alike_settle_slowly() -> None:
    """Two equal worst stations with long stores: the rates agree nearly when sweeps are over."""
    found = bernoulli_aggregation([0.9, 0.9, 0.9, 0.01, 0.99, 0.01], [10, 10, 10, 10, 4])
    assert found.rate == pytest.approx(0.01, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: geometric_decomposition([0.1] * 3, [0.5] * 2, [4, 4]), "got 3 and 2"),
        (lambda: geometric_decomposition([0.1] * 3, [0.5] * 3, [4, 1]), "at least 2, got 1 behind station 2"),
        (lambda: geometric_decomposition([0.0] * 3, [0.5] * 3, [4, 4]), "above 0 and below 1, got 0"),
        (lambda: bernoulli_aggregation([0.9] * 3, [1]), "3 stations need 2, got 1"),
        (lambda: bernoulli_aggregation([1.1], []), r"at most 1, got 1\.1 at station 1"),
        (lambda: fluid_aggregation([9, 9], [1, 1], []), "2 stations need 1 stores, got 0"),
        (lambda: fluid_aggregation([9, 9], [1, 1], [-1]), "a store is a finite number of at least 0, got -1"),
        (lambda: fluid_aggregation([9, 9], [1], [1]), "got 2 and 1"),
        (lambda: exponential_decomposition([1, math.inf], [0]), "above 0 and finite, got inf at station 2"),
        (lambda: exponential_decomposition([1, 1], [-1]), "at least 0, got -1"),
    ],
)
def test_wrong_lines_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
