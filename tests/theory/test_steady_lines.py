"""Estimates of lines with steady times: simulated values, limits that are known, errors as usual."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import random_lines
from scipy.stats import binom

from cellsim.theory.estimates import UsualError
from cellsim.theory.steady_lines import (
    EQUAL_ERROR,
    STEADY_ERROR,
    STOPPED_ERROR,
    equal_times_with_stops,
    steady_estimate,
    steady_times_with_stops,
)
from cellsim.theory.two_moments import two_moment_estimate
from cellsim.theory.two_unreliable import geometric_pair


def test_a_simulated_line():
    """Five stations of SCV 0.09, two places between each two: 0.939905, Erlang-11-like times simulated."""
    found = steady_estimate([1] * 5, [0.09] * 5, [2] * 4)
    assert STEADY_ERROR.holds(found.rate, 0.939905)


def test_times_that_are_not_steady_are_left_to_the_two_moments():
    """SCV 0.25 everywhere: the same estimate, with the error of that method."""
    found = steady_estimate([1] * 4, [0.25] * 4, [1] * 3)
    known = two_moment_estimate([1] * 4, [0.25] * 4, [1] * 3)
    assert found.rate == pytest.approx(known.rate, rel=2e-3)
    assert found.usual_error is known.usual_error


def test_the_slowest_station_is_the_most():
    """Constant times make 1 / the longest; the estimate comes near and never lies above."""
    for places in ([0, 0], [3, 3]):
        found = steady_estimate([1.0, 1.25, 0.9], [0.0] * 3, places)
        assert found.rate <= 0.8
        assert STEADY_ERROR.holds(found.rate, 0.8)


def test_two_stations_that_stop():
    """Stop 0.02 and repair 0.1 a cycle, eight places: the closed form of such a pair."""
    known = geometric_pair((0.02, 0.02), (0.1, 0.1), 10)
    found = equal_times_with_stops(24.0, [1200.0] * 2, [240.0] * 2, [8])
    assert found.rate * 24 == pytest.approx(known.rate, rel=1e-9)


def test_a_station_that_never_stops_changes_little_behind_much_room():
    """One that stops, then one that never does: the first one's own share, 20 of 24 minutes."""
    found = equal_times_with_stops(1.0, [20.0, math.inf], [4.0, 1.0], [40])
    assert found.rate == pytest.approx(20 / 24, rel=2e-3)


@pytest.mark.parametrize(
    ("kind", "stated", "lines"),
    [
        (random_lines.steady_times, STEADY_ERROR, 8),
        (random_lines.equal_times, EQUAL_ERROR, 12),
        (random_lines.steady_and_stops, STOPPED_ERROR, 10),
    ],
    ids=["steady", "equal", "steady with stops"],
)
def test_errors_are_as_usual(kind: Callable, stated: UsualError, lines: int):
    """New random lines: 2 of 100 may lie outside; a right statement fails with a chance below 1 in 1000."""
    found = random_lines.errors(kind, lines, seed=8)
    outside = sum(not stated.low - 0.3 <= error <= stated.high + 0.3 for error in found)
    assert outside <= binom.isf(1e-3, lines, 0.02)
    assert np.abs(found).max() <= 1.5 * abs(stated.worst)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: steady_estimate([1, 1], [0, -0.1], [0]), "at least 0 and finite"),
        (lambda: steady_estimate([1, 1], [0], [0]), "got 2 and 1"),
        (
            lambda: equal_times_with_stops(1, [20, 20], [0.5, 4], [2]),
            "repairs shorter than the constant time of 1",
        ),
        (lambda: equal_times_with_stops(1, [20, 0], [4, 4], [2]), "above 0, got 0"),
        (lambda: equal_times_with_stops(1, [20], [4, 4], [2]), "got 1 and 2"),
        (lambda: steady_times_with_stops([1, 1], [0, 0], [9, 9], [4, 4], [1], [2]), "argument 5"),
    ],
)
def test_wrong_arguments(call: Callable, said: str):
    """Each says what was given and what is allowed."""
    with pytest.raises(ValueError, match=said):
        call()
