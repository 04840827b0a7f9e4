"""Times of phases: moments by their distribution function, fits by the moments they were asked for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import expm

from cellsim.theory.phase_types import (
    PhaseType,
    erlang,
    exponential,
    hyperexponential,
    with_mean_and_scv,
    with_stops,
)


def by_quadrature(law: PhaseType) -> tuple[float, float]:
    """Mean and SCV from the chance that the time is still going on at x, start exp(generator x) 1."""
    eigenvalues, vectors = np.linalg.eig(law.generator)
    weights = (law.start @ vectors) * np.linalg.solve(vectors, np.ones(len(law.start)))

    def going_on(x: float) -> float:
        return float((weights * np.exp(eigenvalues * x)).sum().real)

    first = quad(going_on, 0, np.inf, limit=200)[0]
    second = quad(lambda x: 2 * x * going_on(x), 0, np.inf, limit=200)[0]
    return first, second / first**2 - 1


@pytest.mark.parametrize(
    ("law", "mean", "scv"),
    [
        pytest.param(exponential(2.5), 2.5, 1.0, id="exponential"),
        pytest.param(erlang(4, 2.0), 2.0, 1 / 4, id="Erlang, SCV 1 / phases"),
        # 0.25 of mean 4, 0.75 of mean 1: mean 1.75, second moment 2 (0.25 16 + 0.75) = 9.5
        pytest.param(hyperexponential((0.25, 0.75), (4.0, 1.0)), 1.75, 9.5 / 1.75**2 - 1, id="two kinds"),
    ],
)
def test_moments_by_hand(law: PhaseType, mean: float, scv: float) -> None:
    """Textbook moments."""
    assert (law.mean, law.scv) == pytest.approx((mean, scv), rel=1e-12)


@pytest.mark.parametrize(
    "law",
    [
        hyperexponential((0.3, 0.7), (2.0, 0.5)),
        with_mean_and_scv(1.5, 0.7),
        with_mean_and_scv(1.5, 3.0),
        with_stops(exponential(1.0), 20.0, 4.0),
        with_stops(hyperexponential((0.3, 0.7), (2.0, 0.5)), 20.0, 4.0),
    ],
)
def test_moments_by_quadrature(law: PhaseType) -> None:
    """Linear systems against integrals of the chance that the time still goes on."""
    assert (law.mean, law.scv) == pytest.approx(by_quadrature(law), rel=1e-7)


@pytest.mark.parametrize("scv", [0.01, 0.09, 0.25, 0.3, 1 / 3, 0.49999, 0.5, 0.75, 1.0, 1.0001, 2.0, 9.0])
@pytest.mark.parametrize("mean", [0.02, 1.0, 300.0])
def test_a_fit_has_the_moments_asked_for(mean: float, scv: float) -> None:
    """Mean and SCV to ten digits, chances from 0 to 1, and no more phases than the SCV needs."""
    law = with_mean_and_scv(mean, scv)
    assert (law.mean, law.scv) == pytest.approx((mean, scv), rel=1e-9)
    assert len(law.start) == (max(2, math.ceil(1 / scv - 1e-9)) if scv != 1 else 1)
    assert law.start.sum() == pytest.approx(1)


def test_stops_stretch_work_by_the_availability() -> None:
    """Work of mean 1, SCV 0.25, stop every 60, repair 6: mean 1 / A, SCV 0.25 + 2 A (1 - A) 6 / 1.

    Hopp, W. J. and Spearman, M. L., Factory Physics, chapter on variability (from memory): A = 0.909091,
    mean 1.1, SCV 1.241736.
    """
    law = with_stops(with_mean_and_scv(1.0, 0.25), 60.0, 6.0)
    assert law.mean == pytest.approx(1.1, rel=1e-12)
    assert law.scv == pytest.approx(1.241736, abs=5e-7)


def test_time_left_in_a_phase() -> None:
    """In the last of four phases of mean 1/2 each a quarter of the time is left, exponential."""
    law = erlang(4, 2.0)
    assert law.moments_from(np.array([0.0, 0.0, 0.0, 1.0])) == pytest.approx((0.5, 0.5), rel=1e-12)


def test_the_chances_of_the_end_are_a_distribution() -> None:
    """The time that is over by x grows from 0 to 1; at the median of an Erlang-2 time half is over."""
    law = erlang(2, 2.0)
    over = [1 - float((law.start @ expm(law.generator * x)).sum()) for x in (0.0, 1.678347, 100.0)]
    assert over == pytest.approx([0.0, 0.5, 1.0], abs=1e-6)  # 1.678347: gamma median, scipy.stats 1.17


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: exponential(-1.0), "a mean time is a finite number above 0, got -1.0"),
        (lambda: erlang(0, 1.0), "whole number of phases of at least 1, got 0"),
        (lambda: erlang(math.inf, 1.0), "whole number of phases of at least 1, got inf"),  # type: ignore[arg-type]
        (lambda: erlang(1.5, 1.0), "whole number of phases of at least 1, got 1.5"),  # type: ignore[arg-type]
        (lambda: hyperexponential((0.5, 0.5), (1.0,)), "got 2 chances and 1 means"),
        (lambda: hyperexponential((0.5, 0.6), (1.0, 2.0)), "chances to begin add up to 1"),
        (lambda: with_mean_and_scv(1.0, 0.0), "variation is a finite number above 0, got 0"),
        (lambda: with_mean_and_scv(1.0, 0.005), "at least 0.01 has at most 100 phases, got 0.005"),
        (lambda: with_stops(exponential(1.0), 0.0, 1.0), "running time to a stop is a finite number above 0"),
        (
            lambda: with_stops(exponential(1.0), 1.0, math.inf),
            "a mean repair time is a finite number above 0",
        ),
        (lambda: PhaseType(np.ones(1), np.zeros((2, 2)), np.ones(1)), r"shapes \(1,\), \(1, 1\), \(1,\)"),
        (lambda: PhaseType(np.ones(1), np.zeros((1, 1)), -np.ones(1)), "no chance and no rate is negative"),
    ],
)
def test_wrong_times_are_refused(make: object, said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        make()  # type: ignore[operator]
