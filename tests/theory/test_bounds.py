"""Bounds: they hold on random lines, are reached where they should be, and Little's law on a run."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from explicit_lines import explicit_line
from scipy.stats import expon, gamma

from cellsim.theory.bounds import (
    all_at_once,
    best_part,
    constant_times_with_stops,
    slowest_station,
    time_inside,
)
from cellsim.theory.departures import departures
from cellsim.theory.phase_types import erlang
from cellsim.theory.saturated import line_figures
from cellsim.theory.two_stations import constant_time, constant_time_with_stops, no_places_rate
from cellsim.theory.two_unreliable import fluid_pair
from cellsim.theory.unreliable import exponential_line_with_stops, paced_availability


def test_the_slowest_station() -> None:
    """1 / longest mean; with stops the least of availability / mean, which need not be the same station."""
    assert slowest_station([1.0, 1.5, 0.75]) == pytest.approx(2 / 3)
    assert slowest_station([1.0, 1.1], [0.7, 0.95]) == pytest.approx(0.7)
    assert slowest_station([1.0, 1.5], [0.9, 0.9]) == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("stop", "repair", "alone"),
    # Buzacott, J. A. (1967), International Journal of Production Research 5(3), 183-200: very large buffers
    [((0.01, 0.02), (0.1, 0.1), 0.8333333333), ((0.05, 0.05), (0.5, 0.3), 0.8571428571)],
)
def test_published_limit_of_large_buffers(stop: tuple, repair: tuple, alone: float) -> None:
    """The worst station alone, r / (r + p)."""
    up = [r / (r + p) for p, r in zip(stop, repair, strict=True)]
    assert slowest_station([1, 1], up) == pytest.approx(alone, rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_bounds_hold_on_random_exponential_lines(seed: int) -> None:
    """All at once < exact < longer parts < pairs < slowest station; the whole line as a part is exact."""
    luck = np.random.default_rng(seed)
    means = luck.uniform(0.7, 1.3, 4).tolist()
    places = luck.integers(0, 4, 3).tolist()
    exact = explicit_line(means, places).rate
    together = all_at_once([expon(scale=mean).cdf for mean in means])
    parts = [best_part(means, places, n) for n in (4, 3, 2, 1)]
    assert together < exact
    assert parts[0] == pytest.approx(exact, rel=1e-9)
    assert parts == sorted(parts)
    assert parts[0] < parts[1] < parts[2] < parts[3]
    assert parts[3] == pytest.approx(slowest_station(means), rel=1e-12)


def test_all_at_once_of_equal_stations() -> None:
    """Three exponential ones: 1 / (1 + 1/2 + 1/3) = 6/11 below 22/39; constant ones: no bound is lower."""
    assert all_at_once([expon.cdf] * 3) == pytest.approx(6 / 11, rel=1e-10)
    assert all_at_once([expon.cdf] * 3) < line_figures([1, 1, 1], [0, 0]).rate
    assert all_at_once([constant_time(1.0), constant_time(1.5)], [1.0, 1.5]) == pytest.approx(
        2 / 3, rel=1e-10
    )
    two = [gamma(3, scale=1 / 3).cdf] * 2
    assert all_at_once(two) == pytest.approx(no_places_rate(*two), rel=1e-12)


def test_pairs_of_erlang_stations_bound_a_line() -> None:
    """Parts of lines of other times: the middle pair without places is what bounds this one."""
    laws = [erlang(2, 1.0)] * 4
    found = best_part(laws, [2, 0, 2])
    assert found == pytest.approx(8 / 11, rel=1e-10)
    assert line_figures(laws, [2, 0, 2]).rate < found


ROWS = ([1.0, 1.2, 0.8], [60.0, 45.0, 100.0], [6.0, 4.0, 12.0])


@pytest.mark.parametrize("clock", ["running time", "on time"])
def test_constant_times_with_stops_by_hand(clock: str) -> None:
    """Longest time 1.2 and repairs 0.1 + 1.2 x 4/45 + 0.8 x 12/100; on time the product of availabilities."""
    found = constant_times_with_stops(*ROWS, clock)  # type: ignore[arg-type]
    by_running = 1 / (1.2 + 0.1 + 1.2 * 4 / 45 + 0.096)
    on_time = (60 / 66) * (45 / 49) * (100 / 112) / 1.2
    assert found == pytest.approx(by_running if clock == "running time" else on_time, rel=1e-12)
    equal = constant_times_with_stops([0.5] * 3, *ROWS[1:], clock)  # type: ignore[arg-type]
    assert equal == pytest.approx(paced_availability(*ROWS[1:], clock) / 0.5, rel=1e-12)  # type: ignore[arg-type]


def test_constant_times_with_stops_are_below_what_a_line_makes() -> None:
    """Two stations: without places the exact rate (repairs may overlap), with a store the flow."""
    law = constant_time_with_stops(1.0, 50.0, 5.0)
    bound = constant_times_with_stops([1, 1], [50, 50], [5, 5])
    assert bound == pytest.approx(0.83333333, rel=1e-8)
    assert bound < no_places_rate(law, law, [1.0]) < slowest_station([1, 1], [50 / 55] * 2)
    for clock in ("running time", "on time"):
        flow = fluid_pair([50, 50], [5, 5], 3.0, clock).rate  # type: ignore[arg-type]
        assert constant_times_with_stops([1, 1], [50, 50], [5, 5], clock) < flow  # type: ignore[arg-type]


def test_a_line_in_one_common_step_unit_by_unit() -> None:
    """With given times and repairs no unit of a line leaves later than all moving together would let it."""
    luck = np.random.default_rng(3)
    times = luck.integers(1, 9, (80, 4)) + 10 * (luck.random((80, 4)) < 0.1)
    left = departures(times, [0, 0, 0])
    ends, at = [], 0
    for step in range(80 + 3):  # unit j is at station i in step j + i
        inside = [times[step - i, i] for i in range(4) if 0 <= step - i < 80]
        at += max(inside)
        ends.append(at)
    assert all(left[j, i] <= ends[j + i] for j in range(80) for i in range(4))


def test_littles_law_on_a_run() -> None:
    """Mean time inside of a long run against WIP / rate of the exact chain: four stations, one place each.

    200 runs of 1500 units; four standard errors, so a right figure fails with a chance of 1 in 15 000.  A
    unit comes in when the first station begins with it: when the one before has left the first station.
    """
    luck = np.random.default_rng(9)
    left = departures(luck.exponential(1.0, (1500, 4, 200)), [1, 1, 1])
    inside = (left[200:, 3] - left[199:-1, 0]).mean(axis=0)
    exact = line_figures([1] * 4, [1] * 3)
    error = inside.std(ddof=1) / math.sqrt(200)
    assert error < 0.003 * inside.mean()
    assert abs(inside.mean() - time_inside(exact.wip, exact.rate)) < 4 * error


def test_littles_law_with_stops() -> None:
    """WIP and rate in any unit of time: 0 inside is no time."""
    found = exponential_line_with_stops([1, 0.9], [3], [50, 40], [5, 6])
    assert time_inside(found.wip, found.rate) == pytest.approx(found.wip / found.rate)
    assert time_inside(0.0, 2.0) == 0.0


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: slowest_station([1, 1], [0.9]), "got 2 and 1"),
        (lambda: slowest_station([1, 1], [0.9, 1.1]), r"at most 1, got 1\.1 at station 2"),
        (lambda: slowest_station([]), r"got shape \(0,\)"),
        (lambda: best_part([1, 1], [0], 3), "parts of a line of 2 have 1 to 2 stations, got 3"),
        (lambda: best_part([1, 1, 1], [0]), "3 stations need 2, got 1"),
        (lambda: all_at_once([]), "one of at least 1 time, got none"),
        (lambda: constant_times_with_stops([1, 1], [9, 9], [1]), "got 2 and 1"),
        (lambda: constant_times_with_stops([1], [9], [1], "cycles"), "stops count"),  # type: ignore[arg-type]
        (lambda: time_inside(1.0, 0.0), "a rate is a finite number above 0, got 0"),
        (lambda: time_inside(-1.0, 1.0), "a mean number inside is a finite number of at least 0, got -1"),
    ],
)
def test_wrong_questions_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
