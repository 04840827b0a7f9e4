"""A line run backwards is as fast: stations, places between them and order of units turned round.

Muth 1979, The reversibility property of production lines, Management Science 25, 152-158 (from memory): a
line that never lacks raw units and blocks after service needs exactly the same time for a lot in both
directions.  So with independent random times both directions have the same rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import pytest
from hypothesis import given, settings
from scipy import stats
from serial_lines import MINUTE, Line, left, lines

from cellsim.describe.resolve import load_text
from cellsim.published.cells import exponential, line
from cellsim.study.worker import Worker
from cellsim.units import SECOND

plainly = settings(max_examples=120, deadline=None, derandomize=True, database=None)


def lot_time(one: Line) -> float:
    """Minutes for the whole lot, simulated; all its units are there at first."""
    return left(replace(one, arrivals=(0,) * one.units), one.units)[-1][-1] / MINUTE


@plainly
@given(lines())
def test_a_line_run_backwards_needs_the_same_time(one: Line) -> None:
    """For any times, places and lot the time is the same to the microsecond."""
    assert lot_time(one) == lot_time(one.reversed())


def test_only_all_of_it_turned_round_needs_the_same_time() -> None:
    """Five units on three stations: 26 min either way, 25 with the places left as they were, 22 with the
    order of the units left as it was.

    The 26 min are worked by hand in `tests/cases/test_recurrence.py`.
    """
    one = Line(((3, 4, 2, 5, 1), (5, 1, 2, 3, 4), (2, 6, 2, 1, 3)), (1, 0))
    assert lot_time(one) == lot_time(one.reversed()) == 26
    assert lot_time(replace(one.reversed(), places=one.places)) == 25
    turned = Line(one.times[::-1], one.places[::-1])
    assert lot_time(turned) == 22


@dataclass(frozen=True)
class Random:
    """The laws of independent cycle times of a line, and the places between its stations."""

    laws: tuple[str, ...]
    places: tuple[int, ...]


def exponentials(*means: float) -> tuple[str, ...]:
    """Exponential times with these means in seconds."""
    return tuple(map(exponential, means))


RANDOM = {
    "balanced": Random(exponentials(1, 1, 1, 1), (0, 1, 3)),
    "fast in the middle": Random(exponentials(1, 0.7, 1.2), (0, 3)),
    "faster and faster": Random(exponentials(1.2, 1, 0.8, 0.6), (4, 1, 0)),
    "several laws": Random(
        (
            "{law: gamma, mean: 1.1 s, spread: 60 %}",
            "{law: uniform, min: 0 s, max: 1.6 s}",
            exponential(1),
            "{measured: [0.2 s, 0.2 s, 2.6 s]}",
            "0.9 s",
        ),
        (1, 2, 0, 5),
    ),
}
REPLICATIONS = 16
LEVEL = 0.999  # of each of four intervals: a right program fails for at most 4 seeds in 1000 (Bonferroni)


@cache
def rates(laws: tuple[str, ...], places: tuple[int, ...], seed: int) -> Sequence[float]:
    """Units per second of each replication: 12 h after 10 min."""
    cycles = [f"cycle: {law}" for law in laws]
    worker = Worker(load_text(line(cycles, places, "settle: 10 min, run: 12 h")), "compiled")
    records = (worker.replicate(seed, replication) for replication in range(REPLICATIONS))
    return [sum(record.hourly) * SECOND / worker.plan.worked for record in records]


def difference(one: Sequence[float], other: Sequence[float]) -> tuple[float, float]:
    """Interval for the difference of two mean rates (Welch 1947, Biometrika 34, 28-35)."""
    found = stats.ttest_ind(one, other, equal_var=False).confidence_interval(LEVEL)
    return float(found.low), float(found.high)


@pytest.mark.parametrize("name", RANDOM)
def test_random_times_give_the_same_rate_in_both_directions(name: str) -> None:
    """The interval for the difference of the two rates holds 0, and is narrower than 0.008 per second."""
    one = RANDOM[name]
    low, high = difference(rates(one.laws, one.places, 1), rates(one.laws[::-1], one.places[::-1], 2))
    assert low <= 0 <= high
    assert high - low < 0.008


@pytest.mark.parametrize("name", [name for name in RANDOM if name != "balanced"])
def test_with_the_places_left_as_they_were_the_rate_is_another(name: str) -> None:
    """The check above is sharp enough to see a line that is not quite turned round."""
    one = RANDOM[name]
    low, high = difference(rates(one.laws, one.places, 1), rates(one.laws[::-1], one.places, 2))
    assert not low <= 0 <= high
