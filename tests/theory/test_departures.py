"""Departure times of prescribed times: traces by hand, monotone and reversible to the last digit."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

import numpy as np
import pytest

from cellsim.theory.departures import constant_times_departure, constant_times_rate, departures

FIVE_UNITS = [[3, 2, 4], [1, 5, 2], [2, 1, 3], [4, 2, 1], [1, 3, 2]]
SIX_UNITS = [
    [2, 3.5, 1, 2.5],
    [1, 1, 4, 2],
    [3, 0.5, 2, 2],
    [2.5, 2.5, 0.5, 3],
    [1.5, 2, 3, 1],
    [2, 4, 1.5, 1.5],
]
# Traced by hand and by an event-by-event run; rule: Muth, E. J. (1979), The reversibility property of
# production lines, Management Science 25(2), 152-158.
TRACES = [
    (FIVE_UNITS, [1, 1], [[3, 4, 6, 10, 11], [5, 10, 11, 13, 16], [9, 12, 15, 16, 18]]),
    (
        SIX_UNITS,
        [0, 0, 0],
        [
            [2, 5.5, 8.5, 11, 13.5, 15.5],
            [5.5, 6.5, 10.5, 13.5, 15.5, 19.5],
            [6.5, 10.5, 12.5, 14.5, 18.5, 21],
            [9, 12.5, 14.5, 17.5, 19.5, 22.5],
        ],
    ),
    (
        [[3, 5, 2], [4, 1, 6], [2, 2, 2], [5, 3, 1], [1, 4, 3]],
        [1, 0],
        [[3, 7, 9, 14, 16], [8, 10, 16, 19, 23], [10, 16, 18, 20, 26]],
    ),
    (
        [[3, 5, 2], [4, 1, 6], [2, 2, 2], [5, 3, 1], [1, 4, 3]],
        [0, 0],
        [[3, 8, 10, 16, 19], [8, 10, 16, 19, 23], [10, 16, 18, 20, 26]],
    ),
]


def event_by_event(times: np.ndarray, places: Sequence[int]) -> np.ndarray:
    """The same line with a list of due ends: stations, stores and a unit that moves when it can."""
    units, stations = times.shape
    left = np.zeros_like(times)
    waiting: list[list[int]] = [list(range(units))] + [[] for _ in range(stations - 1)]
    limits = [units, *places]
    finished: list[int | None] = [None] * stations
    at_work: list[int | None] = [None] * stations
    due: list[tuple[int, int]] = []
    now = 0
    while True:
        moved = True
        while moved:
            moved = False
            for i in reversed(range(stations)):
                unit = finished[i]
                direct = i + 1 < stations and not waiting[i + 1] and at_work[i + 1] is None
                direct = direct and finished[i + 1] is None
                if unit is not None and (i + 1 == stations or direct or len(waiting[i + 1]) < limits[i + 1]):
                    left[unit, i], finished[i], moved = now, None, True
                    if i + 1 < stations:
                        waiting[i + 1].append(unit)
                if at_work[i] is None and finished[i] is None and waiting[i]:
                    at_work[i] = waiting[i].pop(0)
                    heapq.heappush(due, (now + int(times[at_work[i], i]), i))
                    moved = True
        if not due:
            return left
        now, i = heapq.heappop(due)
        finished[i], at_work[i] = at_work[i], None


def random_times(seed: int, units: int = 60, stations: int = 4) -> np.ndarray:
    """Whole numbers from 1 to 20, so that equal instants abound and sums are exact."""
    return np.random.default_rng(seed).integers(1, 21, (units, stations))


@pytest.mark.parametrize(("times", "places", "by_station"), TRACES)
def test_traces_by_hand(times: list, places: list[int], by_station: list) -> None:
    """All departure times of a few units."""
    assert departures(times, places).T.tolist() == by_station


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("places", [[0, 0, 0], [1, 0, 2], [3, 5, 1]])
def test_a_run_event_by_event_is_the_same(seed: int, places: list[int]) -> None:
    """Every departure of 60 units, whole numbers, exactly."""
    times = random_times(seed)
    assert departures(times, places).tolist() == event_by_event(times, places).tolist()


@pytest.mark.parametrize("seed", range(6))
def test_the_line_run_backwards_ends_at_the_same_time(seed: int) -> None:
    """Muth's reversibility, exact with whole numbers."""
    times, places = random_times(seed), [1, 0, 2]
    assert departures(times, places)[-1, -1] == departures(times[::-1, ::-1], places[::-1])[-1, -1]


@pytest.mark.parametrize("seed", range(6))
def test_one_more_place_delays_nobody(seed: int) -> None:
    """No departure is later, some are earlier; likewise with one shorter time."""
    times = random_times(seed)
    before = departures(times, [1, 0, 2])
    more = departures(times, [1, 1, 2])
    assert (more <= before).all()
    assert more[-1, -1] < before[-1, -1]
    shorter = times.copy()
    shorter[7, 2] -= 1
    assert (departures(shorter, [1, 0, 2]) <= before).all()


def test_several_lines_at_once_are_each_for_itself() -> None:
    """A further axis carries lines that know nothing of each other; whole numbers stay whole."""
    lines = [random_times(seed) for seed in (1, 2, 3)]
    together = departures(np.stack(lines, axis=-1), [1, 0, 2])
    assert together.dtype == lines[0].dtype
    for k, times in enumerate(lines):
        assert together[..., k].tolist() == departures(times, [1, 0, 2]).tolist()


def test_a_line_of_one_station_and_no_units() -> None:
    """One station: running sums; no units: nothing leaves."""
    assert departures([[2], [3], [4]], []).ravel().tolist() == [2, 5, 9]
    assert departures(np.zeros((0, 3)), [1, 1]).shape == (0, 3)


@pytest.mark.parametrize(
    ("times", "places", "rate", "first"),
    [([1, 1.5, 0.75], [0, 0], 2 / 3, 3.25), ([0.5] * 4, [1, 0, 2], 2.0, 2.0), ([2.0], [], 0.5, 2.0)],
)
def test_constant_times(times: list[float], places: list[int], rate: float, first: float) -> None:
    """Rate 1 / longest, whatever the places; unit n leaves at the sum + (n - 1) times the longest."""
    left = departures(np.tile(times, (200, 1)), places)[:, -1]
    assert constant_times_rate(times) == pytest.approx(rate)
    assert constant_times_departure(times, 1) == first == left[0]
    assert [constant_times_departure(times, n) for n in (2, 57, 200)] == left[[1, 56, 199]].tolist()


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: departures([1, 2], [0]), r"shape \(units, stations, ...\), got shape \(2,\)"),
        (lambda: departures([["1", "2"]], [0]), "times are numbers"),
        (lambda: departures([[1, -2]], [0]), "times are at least 0"),
        (lambda: departures([[1, float("nan")]], [0]), "times are at least 0"),
        (lambda: departures([[1, 2]], [0, 0]), "2 stations need 1, got 2"),
        (lambda: departures([[1, 2]], [-1]), "whole numbers of at least 0, got -1 behind station 1"),
        (lambda: departures([[1, 2]], [0.5]), "whole numbers of at least 0, got 0.5 behind station 1"),
        (lambda: constant_times_rate([1, 0]), "above 0 and finite, got 0 at station 2"),
        (lambda: constant_times_departure([1, 2], 0), "units are counted from 1, got 0"),
    ],
)
def test_wrong_times_and_places_are_refused(call: object, said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
