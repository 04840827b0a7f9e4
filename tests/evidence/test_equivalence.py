"""Sameness to a margin, against values computed another way and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from cellsim.evidence.equivalence import (
    difference,
    hourly_distance,
    moved,
    rank_chance,
    shifts_needed,
)

OBSERVED = [371, 384, 366, 379, 390, 373, 381, 368, 377, 385]
MODEL = [380, 376, 388, 383, 371, 392, 379, 386, 374, 390, 381, 377, 385, 389, 378, 382, 373, 387, 384, 380]


def test_a_difference_by_welch():
    """4.35 with standard error 2.811887 and 14.28 degrees of freedom, computed with scipy apart."""
    found = difference(OBSERVED, MODEL)
    assert (found.mean, found.error, found.freedom) == pytest.approx((4.35, 2.811887, 14.283653), abs=1e-6)
    assert found.interval() == pytest.approx((-1.669682, 10.369682), abs=1e-6)
    assert found.interval(0.9) == pytest.approx((-0.595665, 9.295665), abs=1e-6)
    assert found.chance() == pytest.approx(0.143728, abs=1e-6)


def test_the_same_to_three_per_cent():
    """Margin 11.322: the larger of the two one-sided chances is 0.013102."""
    found = difference(OBSERVED, MODEL)
    margin = 0.03 * float(np.mean(OBSERVED))
    assert margin == pytest.approx(11.322)
    assert found.chance_beyond(margin) == pytest.approx(0.013102, abs=1e-6)
    assert found.verdict(margin) == "same"
    assert found.verdict(5.0) == "cannot tell"
    assert difference(OBSERVED, [v + 60 for v in MODEL]).verdict(margin) == "differs"


NEEDED = [
    (0.02, 20, 39, 32),
    (0.03, 9, 18, 14),
    (0.05, 4, 7, 6),
]


@pytest.mark.parametrize(("margin", "many", "equal", "off"), NEEDED)
def test_how_many_shifts(margin, many, equal, off):
    """A total of spread 3 %, power 0.8: with many runs, as many runs, or a truth a third of the margin."""
    assert shifts_needed(0.03, margin) == many
    assert shifts_needed(0.03, margin, both=True) == equal
    assert shifts_needed(0.03, margin, truly=margin / 3) == off


def test_the_error_of_the_model_counts():
    """Spread 3 %, margin 3 %, 1 % off, error of the model 0.5 %: 23 shifts, checked by drawing (+- 4 errors).

    At 0.9 % no number of shifts is enough.
    """
    needed = shifts_needed(0.03, 0.03, truly=0.01, model_error=0.005)
    assert needed == 23
    rng = np.random.default_rng(4)
    gaps = 0.01 + rng.normal(0, 0.005, 20_000) - rng.normal(0, 0.03 / needed**0.5, 20_000)
    error = (0.03**2 / needed + 0.005**2) ** 0.5
    same = float(np.mean(gaps + stats.norm.ppf(0.95) * error < 0.03))
    assert 0.8 - 0.012 < same < 0.83
    with pytest.raises(ValueError, match="too uncertain"):
        shifts_needed(0.03, 0.03, truly=0.01, model_error=0.009)


def test_the_power_is_what_was_asked_for():
    """18 and 18 shifts of spread 3 %, margin 3 %: same in about 81 % of 1000 trials (+- 4 errors)."""
    rng = np.random.default_rng(3)
    same = 0
    for _ in range(1000):
        a, b = rng.normal(100, 3, 18), rng.normal(100, 3, 18)
        same += difference(a.tolist(), b.tolist()).verdict(3.0) == "same"
    assert 0.76 < same / 1000 < 0.86


def test_sameness_is_not_claimed_of_what_differs_by_the_margin():
    """A truth at the margin is called the same in at most 5 % of cases: at most 73 of 1000 (more: 0.1 %)."""
    rng = np.random.default_rng(4)
    same = 0
    for _ in range(1000):
        a, b = rng.normal(100, 3, 12), rng.normal(103, 3, 30)
        same += difference(a.tolist(), b.tolist()).verdict(3.0) == "same"
    assert same <= 73


def test_one_observed_total_among_those_of_the_model():
    """366 lies below all 20: 2 / 21; the middle one has a chance of 1."""
    assert rank_chance(366, MODEL) == pytest.approx(0.095238, abs=1e-6)
    assert rank_chance(381.5, MODEL) > 0.9


def test_hours_with_whole_shifts_permuted():
    """Made-up hours of 10 and 40 shifts: distance 0.125; chance near 0.1975, of 1999 other permutations."""
    observed = [[44 + (7 * (r + 2) * (h + 1) + 3 * r) % 9 for h in range(8)] for r in range(10)]
    model = [[44 + (5 * (r + 1) * (h + 2) + r * r) % 9 for h in range(8)] for r in range(40)]
    distance, chance = hourly_distance(observed, model, 399, seed=0)
    assert distance == pytest.approx(0.125)
    assert chance == pytest.approx(0.1975, abs=0.08)  # four standard errors of 399 permutations


OLD = [50.2, 51.0, 49.5, 50.8, 50.1, 49.9, 50.6, 50.3]
SMALL = [0.02, -0.05, 0.07, 0.0, -0.08, 0.06, 0.03, -0.05]


@pytest.mark.parametrize(
    ("step", "verdict"),
    [(0.1, "within the margin"), (-1.5, "moved"), (-0.5, "undecided"), (0.0, "within the margin")],
)
def test_whether_a_figure_moved(step, verdict):
    """Margin 1 % of 50.3, chance 1 %: a tenth is nothing, one and a half is much, a half cannot be told."""
    found = moved(OLD, [v + step + e for v, e in zip(OLD, SMALL, strict=True)], 0.503)
    assert found.verdict == verdict
    assert found.low <= found.mean <= found.high
    assert (found.needed is not None) == (verdict == "undecided")
    assert moved(OLD, OLD, 0.503).verdict == "identical"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: difference([1], [1, 2]), "at least two of each"),
        (lambda: shifts_needed(0, 0.03), "above 0"),
        (lambda: shifts_needed(0.03, 0.01, truly=0.02), "wider than the true difference"),
        (lambda: moved([1, 2], [1], 1), "as many of each"),
    ],
)
def test_wrong_arguments(call, said):
    """Each says what is allowed."""
    with pytest.raises(ValueError, match=said):
        call()
