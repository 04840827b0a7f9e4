"""Saturated lines: published rates, a chain told unit by unit, runs of many units, laws and limits."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from explicit_lines import explicit_line, simulated_rates

from cellsim.theory.phase_types import erlang, exponential, hyperexponential, with_stops
from cellsim.theory.saturated import LineFigures, elasticities, line_figures
from cellsim.theory.two_stations import exponential_times_rate

# Blocking after service, first station never starved, last never blocked, places without the stations'.
HUNT = "Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683"
HILLIER_BOLING = (
    "Hillier, F. S. and Boling, R. W. (1967), Finite queues in series with exponential or Erlang service "
    "times - a numerical approach, Operations Research 15(2), 286-303"
)
BOWL = (
    "Hillier, F. S. and Boling, R. W. (1966), The effect of some design factors on the efficiency of "
    "production lines with variable operation times, Journal of Industrial Engineering 17, 651-658; Hillier, "
    "F. S. and So, K. C. (1996), On the robustness of the bowl phenomenon, European Journal of Operational "
    "Research 89, 496-515"
)
MUTH = "Muth, E. J. (1979), The reversibility property of production lines, Management Science 25(2), 152-158"

# Means, places, rate (units per minute, ten digits), model and method of which paper.  The papers were seen
# by title or abstract; digits beyond those printed there come from two separate programs.
EXPONENTIAL_RATES = [
    ([1, 1], [0], 2 / 3, HUNT),
    ([1, 1], [1], 0.75, HILLIER_BOLING),
    ([1, 1], [3], 0.8333333333, HILLIER_BOLING),
    ([1, 1], [4], 0.8571428571, HILLIER_BOLING),
    ([1.2, 0.8], [1], 0.7307692308, HUNT),
    ([1, 1.25], [3], 0.7289444011, HUNT),
    ([1, 1, 1], [0, 0], 22 / 39, HUNT),
    ([1, 1, 1], [1, 1], 0.6704661583, HILLIER_BOLING),
    ([1, 1, 1], [2, 2], 0.7340166721, HILLIER_BOLING),
    ([1, 1, 1], [4, 4], 0.8074859097, HILLIER_BOLING),
    ([1, 1, 1, 1], [0, 0, 0], 0.5147754893, HUNT),
    ([1, 1, 1, 1], [1, 1, 1], 0.6311526854, HILLIER_BOLING),
    ([1, 1, 1, 1], [4, 4, 4], 0.7817760224, HILLIER_BOLING),
    ([1] * 5, [0] * 4, 0.4857981216, HILLIER_BOLING),
    ([1] * 5, [1] * 4, 0.6075832861, HILLIER_BOLING),
    ([1] * 6, [1] * 5, 0.5918257796, HILLIER_BOLING),
    ([1] * 6, [2] * 5, 0.6668555539, HILLIER_BOLING),
    ([1, 1.5, 0.8], [1, 2], 0.5773331758, HILLIER_BOLING),
    ([0.8, 1.5, 1], [2, 1], 0.5773331758, MUTH),
    ([1.1, 0.8, 1.1], [0, 0], 0.5670916169, BOWL),
    ([0.9, 1.2, 0.9], [0, 0], 0.5532606301, BOWL),
    ([1.04, 0.96, 0.96, 1.04], [1, 1, 1], 0.6345415088, BOWL),
]
# Phases of each equal Erlang station of mean 1, places, rate.
ERLANG_RATES = [
    (2, [0], 8 / 11, HILLIER_BOLING),
    (2, [0, 0], 0.6404085005, HILLIER_BOLING),
    (3, [0, 0], 0.6842240387, HILLIER_BOLING),
    (2, [0, 0, 0], 0.5977068581, HILLIER_BOLING),
    (3, [2, 2], 0.8645271988, HILLIER_BOLING),
]
# Equal exponential stations of mean 1: rates by stations and by equal places 0, 1, 2, ...
BALANCED = {
    2: [0.666667, 0.75, 0.8, 0.833333, 0.857143, 0.875],
    3: [0.564103, 0.670466, 0.734017, 0.776712, 0.807486, 0.830759],
    4: [0.514775, 0.631153, 0.700713, 0.747710, 0.781776, 0.807665],
    5: [0.485798, 0.607583, 0.680489, 0.729948, 0.765934],
    6: [0.466713, 0.591826, 0.666856],
}
FOUR_MEANS, FOUR_PLACES = [1.05, 1.0, 1.0, 1.0], [8, 8, 0]


@pytest.mark.parametrize(("means", "places", "rate", "source"), EXPONENTIAL_RATES)
def test_published_rates_of_exponential_lines(means: list, places: list, rate: float, source: str) -> None:
    """To the digits stated."""
    assert source
    assert line_figures(means, places).rate == pytest.approx(rate, rel=2e-10)


@pytest.mark.parametrize(("phases", "places", "rate", "source"), ERLANG_RATES)
def test_published_rates_of_erlang_lines(phases: int, places: list, rate: float, source: str) -> None:
    """Two and three phases."""
    assert source
    laws = [erlang(phases, 1.0)] * (len(places) + 1)
    assert line_figures(laws, places).rate == pytest.approx(rate, rel=2e-10)


@pytest.mark.parametrize("stations", BALANCED)
def test_the_table_of_balanced_lines(stations: int) -> None:
    """Six decimals, computed by a separate program."""
    found = [line_figures([1] * stations, [b] * (stations - 1)).rate for b in range(len(BALANCED[stations]))]
    assert found == pytest.approx(BALANCED[stations], abs=6e-7)


@pytest.mark.parametrize(
    ("stations", "places", "rate"),
    [
        (2, 0, Fraction(2, 3)),
        (3, 0, Fraction(22, 39)),
        (3, 1, Fraction(8529, 12721)),
        (4, 0, Fraction(4024, 7817)),
    ],
)
def test_exact_fractions(stations: int, places: int, rate: Fraction) -> None:
    """Rational rates of balanced lines: the nearest fraction with a small denominator is this one."""
    found = line_figures([1] * stations, [places] * (stations - 1)).rate
    assert Fraction(found).limit_denominator(20_000) == rate


def test_published_shares_and_units_inside() -> None:
    """Three stations without places: starved 0.4358974359, blocked 0.2307692308; WIP of two longer lines."""
    three = line_figures([1, 1, 1], [0, 0])
    assert three.starved[2] == pytest.approx(0.4358974359, rel=2e-10)
    assert three.blocked[1] == pytest.approx(0.2307692308, rel=3e-10)
    assert line_figures([1] * 4, [1] * 3).wip == pytest.approx(4.829063886, rel=2e-10)
    assert line_figures([1] * 5, [2] * 4).wip == pytest.approx(8.339352745, rel=2e-10)


SECOND_CHAINS = [
    *[(row[0], row[1], 1) for row in EXPONENTIAL_RATES if len(row[0]) < 6],
    *[([1] * (len(places) + 1), places, phases) for phases, places, _, _ in ERLANG_RATES],
    ([0.7, 1.3, 1.0], [3, 0], 2),
    ([2.0, 0.5], [2], 4),
]


@pytest.mark.parametrize(("means", "places", "phases"), SECOND_CHAINS)
def test_a_chain_told_unit_by_unit_has_the_same_figures(means: list, places: list, phases: int) -> None:
    """Rate at the first station, all shares and mean contents: another state, other moves, another solver."""
    other = explicit_line(means, places, phases)
    found = line_figures([erlang(phases, mean) for mean in means], places)
    assert found.rate == pytest.approx(other.rate, rel=1e-9)
    for name in ("working", "starved", "blocked", "in_stores"):
        assert getattr(found, name) == pytest.approx(getattr(other, name), abs=1e-10), name
    assert found.wip == pytest.approx(other.wip, rel=1e-9)


def draw_mixed(luck: np.random.Generator, shape: tuple[int, ...]) -> np.ndarray:
    """Times of three stations: hyperexponential, Erlang-3, exponential."""
    rows, runs = shape
    assert rows == 3
    slow = luck.random(runs) < 0.2
    first = luck.exponential(1.0, runs) * np.where(slow, 3.0, 0.5)
    return np.stack([first, luck.standard_gamma(3, runs) * 0.9 / 3, luck.exponential(1.1, runs)])


def test_many_units_through_a_line_of_three_laws() -> None:
    """A hyperexponential, an Erlang and an exponential station against the recursion of departures.

    400 runs of 3000 units: a right chain fails with a chance of 1 in 15 000 (four standard errors); the
    standard error is about 0.05 % of the rate.
    """
    laws = [hyperexponential((0.2, 0.8), (3.0, 0.5)), erlang(3, 0.9), exponential(1.1)]
    rates = simulated_rates(draw_mixed, [2, 1], units=3000, settle=300, replications=400, seed=5001)
    error = rates.std(ddof=1) / math.sqrt(len(rates))
    exact = line_figures(laws, [2, 1]).rate
    assert error < 0.001 * exact
    assert abs(rates.mean() - exact) < 4 * error


@pytest.mark.parametrize("seed", range(10))
def test_laws_of_any_line(seed: int) -> None:
    """Shares add up, every station makes the rate, stores hold what fits, backwards the rate is the same."""
    luck = np.random.default_rng(seed)
    means = luck.uniform(0.5, 2.0, 4)
    places = luck.integers(0, 4, 3).tolist()
    found = line_figures(means.tolist(), places)
    assert found.working + found.starved + found.blocked == pytest.approx(np.ones(4), rel=1e-12)
    assert found.working / means == pytest.approx(np.full(4, found.rate), rel=1e-10)
    assert found.starved[0] == found.blocked[-1] == 0
    assert (found.in_stores > -1e-12).all()
    assert (found.in_stores < np.array(places) + 1e-12).all()
    back = line_figures(means[::-1].tolist(), places[::-1])
    assert back.rate == pytest.approx(found.rate, rel=1e-11)


def test_a_station_alone_and_limits_of_many_places() -> None:
    """One station makes 1 / mean; with many places the slowest station makes its own rate."""
    alone: LineFigures = line_figures([2.5], [])
    assert (alone.rate, alone.wip) == pytest.approx((0.4, 1.0))
    assert alone.between.shape == (0,)
    assert line_figures([1, 1.25], [300]).rate == pytest.approx(0.8, rel=1e-12)
    assert line_figures([1, 1.25, 0.5], [40, 40]).rate == pytest.approx(0.8, rel=1e-4)


@pytest.mark.parametrize(("first", "second", "places"), [(1, 1, 0), (1, 0.8, 2), (0.3, 2, 7), (1, 1, 40)])
def test_two_stations_by_their_closed_form(first: float, second: float, places: int) -> None:
    """The chain against Hunt's closed form; a unit forwards is a free place backwards."""
    exact = exponential_times_rate([first, second], places)
    forwards, backwards = line_figures([first, second], [places]), line_figures([second, first], [places])
    assert forwards.rate == pytest.approx(exact, rel=1e-12)
    assert forwards.between + backwards.between == pytest.approx([places + 2], rel=1e-12)


def test_stops_by_running_time_are_phases() -> None:
    """Three stations that stop, places between; value and setup: Dallery and Gershwin's (1992) model.

    Dallery, Y. and Gershwin, S. B. (1992), Manufacturing flow line systems: a review of models and
    analytical results, Queueing Systems 12, 3-94; digits from two separate programs.
    """
    rows = [(1.0, 100, 20), (1.1, 25, 3), (1.0, 100, 8)]
    laws = [with_stops(exponential(mean), run, repair) for mean, run, repair in rows]
    assert line_figures(laws, [5, 5]).rate == pytest.approx(0.6289443833, rel=2e-10)


# -- elasticities ------------------------------------------------------------------------------------------


def by_difference(rate: Callable[[list[float]], float], means: list[float], station: int) -> float:
    """Minus d ln rate / d ln mean by central differences; step 1e-3, so that the error is about 1e-6."""
    step = 1e-3
    shorter, longer = list(means), list(means)
    shorter[station] *= math.exp(-step)
    longer[station] *= math.exp(step)
    return math.log(rate(shorter) / rate(longer)) / (2 * step)


def test_the_busiest_station_need_not_limit_a_line() -> None:
    """Means 1.05, 1, 1, 1 and places 8, 8, 0: values to six decimals by a separate program."""
    found = line_figures(FOUR_MEANS, FOUR_PLACES)
    assert found.rate == pytest.approx(0.665372, abs=6e-7)
    assert found.working == pytest.approx([0.698640, 0.665372, 0.665372, 0.665372], abs=6e-7)
    assert found.blocked == pytest.approx([0.301360, 0.328621, 0.332047, 0], abs=6e-7)
    assert found.starved == pytest.approx([0, 0.006007, 0.002582, 0.334628], abs=6e-7)
    assert elasticities(FOUR_MEANS, FOUR_PLACES) == pytest.approx(
        [0.004614, 0.020292, 0.487816, 0.487278], abs=6e-7
    )
    assert elasticities([1.1, 1, 1, 1.05], [8, 8, 0]) == pytest.approx(
        [0.005916, 0.015896, 0.469317, 0.508872], abs=6e-7
    )


@pytest.mark.parametrize(
    ("means", "places"), [([1.05, 1, 1, 1], [8, 8, 0]), ([1, 1.5, 0.8], [1, 2]), ([2, 1], [0])]
)
def test_elasticities_are_derivatives(means: list[float], places: list[int]) -> None:
    """Against differences of the chain told unit by unit; they add up to 1."""
    found = elasticities(means, places)
    for k in range(len(means)):
        other = by_difference(lambda tried: explicit_line(tried, places).rate, means, k)
        assert found[k] == pytest.approx(other, abs=2e-6)
    assert found.sum() == pytest.approx(1, rel=1e-10)


def test_elasticities_of_stations_that_stop_scale_all_their_times() -> None:
    """Work, running times and repairs of one station together: against differences, and they add up to 1."""
    rows = [(1.0, 100.0, 20.0), (1.1, 25.0, 3.0), (1.0, 100.0, 8.0)]

    def laws(scales: list[float]) -> list:
        return [
            with_stops(exponential(x * mean), x * run, x * repair)
            for x, (mean, run, repair) in zip(scales, rows, strict=True)
        ]

    found = elasticities(laws([1.0] * 3), [3, 2])
    for k in range(3):
        other = by_difference(lambda scales: line_figures(laws(scales), [3, 2]).rate, [1.0] * 3, k)
        assert found[k] == pytest.approx(other, abs=2e-6)
    assert found.sum() == pytest.approx(1, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: line_figures([], []), r"a row with one value for each station, got shape \(0,\)"),
        (lambda: line_figures([1, -2], [0]), "mean times are above 0 and finite, got -2 at station 2"),
        (lambda: line_figures([erlang(2, 1.0), 0.0], [0]), "above 0 and finite, got 0 at station 2"),
        (lambda: line_figures([1, 1, 1], [0]), "3 stations need 2, got 1"),
        (lambda: line_figures([1, 1], [-1]), "whole numbers of at least 0, got -1 behind station 1"),
        (lambda: line_figures([1, 1], [1.5]), "whole numbers of at least 0, got 1.5 behind station 1"),
        (lambda: line_figures([1, 1], [math.inf]), "whole numbers of at least 0, got inf behind station 1"),
        (lambda: line_figures([1, 1], [math.nan]), "whole numbers of at least 0, got nan behind station 1"),
        (lambda: line_figures([1] * 5, [5] * 4, most_states=100), "more than 100 states"),
        (lambda: elasticities([1, math.nan], [0]), "above 0 and finite, got nan at station 2"),
    ],
)
def test_wrong_lines_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
