"""The unit curve of learning: textbook coefficients, sums by brute force, limits."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from cellsim.theory.learning import unit_time, units_within


@pytest.mark.parametrize(
    ("unit", "coefficient"), [(1, 1.0), (2, 0.8), (3, 0.7021), (4, 0.64), (10, 0.4765), (30, 0.3346)]
)
def test_coefficients_of_the_80_percent_curve(unit, coefficient):
    """Time of a unit over that of the first; tables of operations management texts (from memory)."""
    standard = 100 * 1024 ** math.log2(0.8)  # so that the first unit takes 100
    assert unit_time(unit, standard, 0.8, 1024) == pytest.approx(100 * coefficient, rel=1e-3)


def test_each_doubling_takes_the_rate():
    """Also between units that are no powers of two."""
    times = [unit_time(n, 30, 0.9, 3000) for n in (7, 14, 28, 56)]
    assert [b / a for a, b in pairwise(times)] == pytest.approx([0.9] * 3)


def test_never_below_the_standard():
    """The standard is reached at its unit and kept."""
    assert unit_time(3000, 30, 0.85, 3000) == 30
    assert unit_time(9000, 30, 0.85, 3000) == 30
    assert unit_time(2999, 30, 0.85, 3000) > 30


@pytest.mark.parametrize(("rate", "standard_after"), [(0.85, 3000), (0.9, 500), (0.95, 40), (1.0, 10)])
@pytest.mark.parametrize("duration", [0.0, 100.0, 27000.0, 90000.0])
def test_units_within_by_adding_up(duration, rate, standard_after):
    """The count against one unit after the other."""
    at, count = 0.0, 0
    while (at := at + unit_time(count + 1, 30, rate, standard_after)) <= duration * (1 + 1e-12):
        count += 1
    assert units_within(duration, 30, rate, standard_after) == count


def test_a_unit_that_ends_at_the_end_counts():
    """Ten units of 3 s in 30 s, without learning."""
    assert units_within(30, 3, 1.0, 1) == 10
    assert units_within(30 - 1e-6, 3, 1.0, 1) == 9


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0, 30, 0.9, 10), "number of the unit"),
        ((1, 0, 0.9, 10), "standard time"),
        ((1, 30, 1.1, 10), "learning rate"),
        ((1, 30, 0.0, 10), "learning rate"),
        ((1, 30, 0.9, 0), "standard is reached"),
    ],
)
def test_bad_numbers_are_refused(arguments, words):
    """Each says which number is wrong."""
    with pytest.raises(ValueError, match=words):
        unit_time(*arguments)


def test_a_negative_duration_is_refused():
    """Units within less than no time."""
    with pytest.raises(ValueError, match="duration"):
        units_within(-1, 30, 0.9, 10)
