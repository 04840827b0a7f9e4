"""The two-moment decomposition: values, its two-station lines against chains, and the error it owns up to."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import random_lines
from explicit_lines import explicit_line
from scipy.stats import binom

from cellsim.theory.phase_types import PhaseType, erlang, exponential, with_mean_and_scv, with_stops
from cellsim.theory.saturated import line_figures
from cellsim.theory.two_moments import TWO_MOMENT_ERRORS, solve_pair, two_moment_estimate

# Means, SCVs, places, estimate; six decimals by a separate program of the same method.
VALUES = [
    ([1] * 3, [1] * 3, [0, 0], 0.555556),
    ([1] * 3, [1] * 3, [1, 1], 0.663101),
    ([1] * 4, [1] * 4, [2, 2, 2], 0.692041),
    ([1] * 5, [1] * 5, [1] * 4, 0.591829),
    ([1, 1 / 1.2, 1 / 0.9, 1 / 1.1], [1] * 4, [1, 0, 2], 0.603106),
    ([1.1] * 3, [1.826446] * 3, [2, 2], 0.599222),
    ([1.2] * 3, [3.777778] * 3, [5, 5], 0.559921),
    ([1.25, 0.916667, 1.022727], [2.6, 1.991736, 1.54321], [1, 3], 0.594696),
    ([1.1] * 4, [1.330579] * 4, [1] * 3, 0.531323),
]
# Likewise, and what a simulation of 300 000 units with gamma (SCV below 1) or lognormal times found.
SIMULATED = [
    (4, 0.25, 1, 0.807332, 0.818641),
    (5, 0.25, 0, 0.626285, 0.657049),
    (5, 2.0, 3, 0.622385, 0.636169),
    (5, 4.0, 6, 0.616026, 0.634145),
]


@pytest.mark.parametrize(("means", "scvs", "places", "rate"), VALUES)
def test_values(means: list, scvs: list, places: list, rate: float) -> None:
    """Rates, run until the pairs agree to nine digits; as it stands, to four."""
    assert two_moment_estimate(means, scvs, places, agreed=1e-9).rate == pytest.approx(rate, abs=7e-7)
    assert two_moment_estimate(means, scvs, places).rate == pytest.approx(rate, rel=2e-4)


@pytest.mark.parametrize(("stations", "scv", "places", "rate", "simulated"), SIMULATED)
def test_other_laws_with_the_same_moments(
    stations: int, scv: float, places: int, rate: float, simulated: float
) -> None:
    """The estimate lies below the simulated rate by up to 5 %, as it says."""
    found = two_moment_estimate([1] * stations, [scv] * stations, [places] * (stations - 1), agreed=1e-9)
    assert found.rate == pytest.approx(rate, abs=7e-7)
    error = 100 * (found.rate / simulated - 1)
    assert min(found.usual_error.low, found.usual_error.worst) - 0.1 <= error <= found.usual_error.high


PAIRS = [
    (erlang(4, 1.0), erlang(4, 1.0), 1, 0.882177),
    (with_mean_and_scv(1.0, 0.5), with_mean_and_scv(0.9, 0.25), 2, 0.932175),
    (with_mean_and_scv(1.0, 0.25), with_mean_and_scv(1.1, 2.0), 4, 0.812786),
    (exponential(1.2), exponential(0.8), 1, 0.7307692308),
    (with_stops(exponential(1.0), 50, 5), with_stops(exponential(0.9), 40, 6), 3, 0.7403259337),
]


@pytest.mark.parametrize(("first", "second", "places", "rate"), PAIRS)
def test_pairs_are_exact(first: PhaseType, second: PhaseType, places: int, rate: float) -> None:
    """Level by level against the chain of the line; values of a separate program."""
    found = solve_pair(first, second, places).rate
    assert found == pytest.approx(rate, abs=6e-7)
    assert found == pytest.approx(line_figures([first, second], [places]).rate, rel=1e-10)


def test_a_pair_tells_how_often_one_waits_for_the_other() -> None:
    """Two exponential stations, n = 0 .. 3 alike likely: after a finish nothing is left in 1 of 3 cases.

    Rate 0.75 = 3/4; the second finishes from n = 1 (to 0) a third of the time, the first to n = 3 likewise.
    """
    found = solve_pair(exponential(1.0), exponential(1.0), 1)
    assert found.finds_nothing == pytest.approx([1 / 3])
    assert found.finds_no_place == pytest.approx([1 / 3])


def test_chances_of_a_pair_by_its_idle_time() -> None:
    """Mean idle time per unit = chance to find nothing x time then left of the other; blocked likewise."""
    first, second, places = erlang(3, 1.0), erlang(3, 0.9), 2
    other = explicit_line([1.0, 0.9], [places], phases=3)
    found = solve_pair(first, second, places)
    nothing, no_place = found.finds_nothing, found.finds_no_place
    assert other.starved[1] / other.rate == pytest.approx(
        nothing.sum() * first.moments_from(nothing / nothing.sum())[0], rel=1e-8
    )
    assert other.blocked[0] / other.rate == pytest.approx(
        no_place.sum() * second.moments_from(no_place / no_place.sum())[0], rel=1e-8
    )


def test_one_and_two_stations_are_exact() -> None:
    """One: 1 / mean, and it says so.  Two with times of phases: the exact line."""
    alone = two_moment_estimate([2.5], [0.3], [])
    assert alone.rate == pytest.approx(0.4)
    assert alone.usual_error.in_words() == "usual error +0.0 to +0.0 %"
    exact = line_figures([erlang(2, 1.0), erlang(4, 1.2)], [1]).rate
    assert two_moment_estimate([1.0, 1.2], [0.5, 0.25], [1]).rate == pytest.approx(exact, rel=1e-9)


def test_a_line_turned_around_has_the_same_estimate() -> None:
    """To the digits to which the pairs agree."""
    means, scvs, places = [1.0, 0.8, 1.1, 0.9], [0.5, 2.0, 1.0, 0.3], [2, 0, 4]
    there = two_moment_estimate(means, scvs, places, agreed=1e-9).rate
    back = two_moment_estimate(means[::-1], scvs[::-1], places[::-1], agreed=1e-9).rate
    assert back == pytest.approx(there, rel=1e-8)


def test_a_station_that_hardly_ever_waits() -> None:
    """Very many places: waits without a chance are left out, and the slowest station is the rate."""
    found = two_moment_estimate([1.0, 2.0, 1.0], [0.5] * 3, [60, 60])
    assert found.rate == pytest.approx(0.5, rel=1e-4)


@pytest.mark.parametrize(
    ("kind", "band", "lines"),
    [(random_lines.steady, 0, 10), (random_lines.some_stops, 1, 12), (random_lines.long_stops, 2, 12)],
    ids=["steady", "some stops", "long stops"],
)
def test_errors_are_as_usual(kind: Callable, band: int, lines: int) -> None:
    """New random lines: 2 of 100 may lie outside; a right statement fails with a chance below 1 in 1000."""
    stated = TWO_MOMENT_ERRORS[band][1]
    found = random_lines.errors(kind, lines, seed=8)
    outside = sum(not stated.low - 0.05 <= error <= stated.high + 0.05 for error in found)
    assert outside <= binom.isf(1e-3, lines, 0.02)
    assert found.mean() == pytest.approx(stated.mean, abs=1.5)
    assert np.abs(found).max() <= 1.5 * abs(stated.worst)


def test_the_error_goes_by_the_largest_variability() -> None:
    """Exponential times count as steady; one station above 2 is enough for the widest error."""
    for scvs, band in (([1.0, 0.5, 1.0], 0), ([1.0, 1.5, 0.2], 1), ([0.2, 0.2, 5.0], 2)):
        found = two_moment_estimate([1.0] * 3, scvs, [1, 1])
        assert found.usual_error is TWO_MOMENT_ERRORS[band][1]


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: two_moment_estimate([1, 1], [1], [0]), "got 2 and 1"),
        (
            lambda: two_moment_estimate([1, 1], [1, 0], [0]),
            "variation are above 0 and finite, got 0 at station 2",
        ),
        (lambda: two_moment_estimate([1, 1], [1, 0.001], [0]), r"at most 100 phases, got 0\.001"),
        (lambda: two_moment_estimate([1, 1, 1], [1, 1, 1], [0]), "3 stations need 2, got 1"),
        (lambda: two_moment_estimate([1, 1], [0.01, 0.01], [20]), "100 and 100 phases and 20 places"),
    ],
)
def test_wrong_lines_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
