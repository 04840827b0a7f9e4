"""The rough rate of lines: exact where it should be, near elsewhere, and quick."""

from __future__ import annotations

import math

import numpy as np
import pytest
import random_lines

from cellsim.theory.longer_lines import exponential_decomposition
from cellsim.theory.rough_lines import rough_rate
from cellsim.theory.two_stations import exponential_times_rate


@pytest.mark.parametrize(("means", "places"), [([1.0, 1.0], 4), ([1.0, 0.8], 2), ([3.0, 7.0], 0)])
def test_two_exponential_stations_are_exact(means: list[float], places: int):
    """The closed form of Hunt (1956)."""
    assert rough_rate(means, [1, 1], [places]) == pytest.approx(
        exponential_times_rate(means, places), rel=1e-12
    )


def test_longer_exponential_lines_are_those_of_the_decomposition():
    """By its own, slower sweeps."""
    means, places = [1.0, 0.8, 1.1, 0.9, 1.0], [2, 0, 4, 1]
    known = exponential_decomposition(means, places).rate
    assert rough_rate(means, [1] * 5, places) == pytest.approx(known, rel=1e-3)


def test_equal_stations_by_two_moments():
    """X = (c + b + 1) / (2 c + b + 1): SCV 0.25 and one place 0.9; SCV 4 and three places 2/3."""
    assert rough_rate([1, 1], [0.25, 0.25], [1]) == pytest.approx(0.9)
    assert rough_rate([1, 1], [4, 4], [3]) == pytest.approx(8 / 12)


def test_with_very_many_places_the_slowest_station_is_the_rate():
    """No overflow either."""
    assert rough_rate([1.0, 1.25, 0.9], [1, 1, 1], [10**6, 10**6]) == pytest.approx(0.8, rel=1e-6)
    assert rough_rate([2.5], [1], []) == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [(random_lines.roughly, -5.5, 5.5), (random_lines.roughly_with_stops, -30.0, 1.0)],
    ids=["without stops", "with stops"],
)
def test_errors_are_as_it_says(kind, low: float, high: float):
    """40 new random lines of each kind against exact chains."""
    found = random_lines.errors(kind, 40, seed=9)
    assert low < found.min()
    assert found.max() < high
    assert np.median(found) < 0.5


def test_wrong_arguments():
    """As for the other estimates."""
    with pytest.raises(ValueError, match="got 2 and 1"):
        rough_rate([1, 1], [1], [0])
    with pytest.raises(ValueError, match="above 0"):
        rough_rate([1, math.nan], [1, 1], [0])
