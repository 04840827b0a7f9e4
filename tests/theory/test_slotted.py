"""Lines in steps of one cycle: values of a separate program, runs unit by unit, laws and limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from cellsim.theory.slotted import bernoulli_line, geometric_line

# Stop, repair, places with those of the stations, units per cycle, contents; six decimals of a separate
# program that built the chain from the description of Gershwin, S. B. (1994), Manufacturing Systems
# Engineering, Prentice Hall, chapter 4.
GEOMETRIC = [
    ([0.01] * 3, [0.1] * 3, [10, 10], 0.819137, [5.98337, 4.01663]),
    ([0.01, 0.02, 0.01], [0.1] * 3, [6, 6], 0.746382, [4.068909, 1.931091]),
    ([0.02, 0.01, 0.03], [0.2, 0.1, 0.15], [5, 8], 0.767894, [2.983662, 4.496069]),
    ([0.01] * 4, [0.1] * 4, [6, 6, 6], 0.763961, [3.892896, 3.0, 2.107104]),
    ([0.02, 0.01, 0.03, 0.01], [0.2, 0.1, 0.3, 0.05], [5, 5, 5], 0.718219, [3.217178, 2.967278, 1.878067]),
]
# Chances to be up, places, units per cycle; likewise from Li, J. and Meerkov, S. M. (2009), Production
# Systems Engineering, Springer, chapter 4.
BERNOULLI = [
    ([0.9, 0.8, 0.85], [2, 3], 0.761270),
    ([0.9] * 4, [2, 2, 2], 0.815302),
    ([0.8, 0.95, 0.85, 0.9], [1, 2, 3], 0.734294),
    ([0.9] * 5, [2] * 4, 0.803611),
    ([0.7, 0.9, 0.8, 0.9, 0.75], [2] * 4, 0.646797),
]


@pytest.mark.parametrize(("stop", "repair", "stored", "rate", "content"), GEOMETRIC)
def test_geometric_lines(stop: list, repair: list, stored: list, rate: float, content: list) -> None:
    """Rate and mean contents."""
    found = geometric_line(stop, repair, stored)
    assert found.rate == pytest.approx(rate, abs=6e-7)
    assert found.content == pytest.approx(content, abs=6e-7)


@pytest.mark.parametrize(("up", "places", "rate"), BERNOULLI)
def test_bernoulli_lines(up: list, places: list, rate: float) -> None:
    """Rates."""
    assert bernoulli_line(up, places).rate == pytest.approx(rate, abs=6e-7)


def geometric_run(
    stop: Sequence[float], repair: Sequence[float], stored: Sequence[int], units: int, runs: int, seed: int
) -> np.ndarray:
    """Rates of independent runs, unit by unit: a unit takes one cycle, and with chance p a repair before it.

    A station begins when it and the station before have finished, and the next has finished all but as many
    units as fit.  Geometric numbers of cycles by the inverse of their distribution.
    """
    luck = np.random.default_rng(seed)
    ends = np.zeros((units + 1, len(stop), runs))
    for j in range(1, units + 1):
        before = np.zeros(runs)
        for i in range(len(stop)):
            begins = np.maximum(ends[j - 1, i], before)
            if i < len(stored) and j > stored[i]:
                begins = np.maximum(begins, ends[j - stored[i], i + 1])
            stopped = luck.random(runs) < stop[i]
            lasts = np.ceil(np.log(luck.random(runs)) / np.log1p(-repair[i]))
            ends[j, i] = before = begins + 1 + np.where(stopped, lasts, 0)
    return (units - 500) / (ends[units, -1] - ends[500, -1])


def test_a_geometric_line_unit_by_unit() -> None:
    """1200 runs of 4000 units: a right chain fails with a chance of 1 in 15 000 (four standard errors)."""
    stop, repair, stored = [0.02, 0.01, 0.03], [0.2, 0.1, 0.15], [5, 3]
    rates = geometric_run(stop, repair, stored, units=4000, runs=1200, seed=61)
    error = rates.std(ddof=1) / math.sqrt(len(rates))
    exact = geometric_line(stop, repair, stored).rate
    assert error < 0.001 * exact
    assert abs(rates.mean() - exact) < 4 * error


def test_a_bernoulli_line_cycle_by_cycle() -> None:
    """2000 lines at once for 2000 cycles, last station first: four standard errors, 1 in 15 000."""
    up, limits = np.array([0.8, 0.9, 0.7, 0.85]), [1, 3, 2]
    luck = np.random.default_rng(62)
    content = np.zeros((3, 2000), dtype=int)
    made = np.zeros(2000)
    for cycle in range(2000):
        ready = luck.random((4, 2000)) < up[:, None]
        works = np.zeros((4, 2000), dtype=bool)
        for i in (3, 2, 1, 0):
            has = content[i - 1] > 0 if i > 0 else True
            room = True if i == 3 else (content[i] < limits[i]) | works[i + 1]
            works[i] = ready[i] & has & room
        content += works[:-1].astype(int) - works[1:].astype(int)
        made += works[3] if cycle >= 200 else 0
    rates = made / 1800
    error = rates.std(ddof=1) / math.sqrt(len(rates))
    exact = bernoulli_line(up.tolist(), limits).rate
    assert error < 0.001 * exact
    assert abs(rates.mean() - exact) < 4 * error


@pytest.mark.parametrize("seed", range(5))
def test_laws_of_lines_in_steps(seed: int) -> None:
    """Turned around: same rate, units are free places.  The last station's rate is what it is not starved."""
    luck = np.random.default_rng(seed)
    stop, repair = luck.uniform(0.01, 0.3, 3), luck.uniform(0.1, 0.9, 3)
    stored = luck.integers(2, 6, 2).tolist()
    there = geometric_line(stop.tolist(), repair.tolist(), stored)
    back = geometric_line(stop[::-1].tolist(), repair[::-1].tolist(), stored[::-1])
    assert back.rate == pytest.approx(there.rate, rel=1e-10)
    assert back.content[::-1] + there.content == pytest.approx(np.array(stored), rel=1e-10)
    assert back.starved[::-1] == pytest.approx(there.blocked, abs=1e-12)
    alone = repair[-1] / (repair[-1] + stop[-1])
    assert there.rate == pytest.approx(alone * (1 - there.starved[-1]), rel=1e-10)
    up = luck.uniform(0.5, 1.0, 3)
    line = bernoulli_line(up.tolist(), stored)
    assert bernoulli_line(up[::-1].tolist(), stored[::-1]).rate == pytest.approx(line.rate, rel=1e-10)
    assert line.rate == pytest.approx(up[0] - line.blocked[0], rel=1e-10)


def test_one_station_and_many_places() -> None:
    """Alone: r / (r + p) and the chance to be up; with many places the worst station's rate."""
    assert geometric_line([0.1], [0.3], []).rate == pytest.approx(0.75, rel=1e-12)
    assert bernoulli_line([0.9], []).rate == pytest.approx(0.9, rel=1e-12)
    assert geometric_line([0.1, 0.05], [0.5, 0.5], [80]).rate == pytest.approx(5 / 6, rel=1e-6)
    assert bernoulli_line([0.9, 0.7], [60]).rate == pytest.approx(0.7, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: geometric_line([0.1, 0.1], [0.5], [4]), "got 2 and 1"),
        (lambda: geometric_line([0.1, 0.1], [0.5, 0.0], [4]), "above 0 and at most 1, got 0 at station 2"),
        (lambda: geometric_line([0.1, 0.1], [0.5, 0.5], [1]), "whole numbers of at least 2, got 1"),
        (lambda: geometric_line([0.1] * 3, [0.5] * 3, [9, 9], most_states=50), "more than 50 states"),
        (lambda: bernoulli_line([], []), r"got shape \(0,\)"),
        (lambda: bernoulli_line([0.5, 0.5], []), "2 stations need 1, got 0"),
    ],
)
def test_wrong_lines_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
