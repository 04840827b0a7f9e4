"""Effective process times: published values, each computed a second time, and what is refused.

Second ways: transforms differentiated on a circle, enumeration of a discrete law, and the chain of a queue.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from second_ways import Known, chain_shares, check, named

from cellsim.theory.effective import availability, completion_time, mg1_with_stops, with_setups
from cellsim.theory.stations import ggm

FACTORY = "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin (from memory)"


def transform_moments(
    time: float, scv: float, between: float, repair: float, repair_scv: float
) -> tuple[float, float]:
    """Mean and SCV of a completion time with gamma times, from its transform on a small circle (Cauchy)."""

    def gamma(s: complex, mean: float, spread: float) -> complex:
        return (1 + s * mean * spread) ** (-1 / spread)

    turns = np.exp(2j * np.pi * np.arange(32) / 32)
    radius = 0.02 / repair
    values = np.array(
        [gamma(s + (1 - gamma(s, repair, repair_scv)) / between, time, scv) for s in radius * turns]
    )
    first, second = (np.mean(values * turns**-k).real / radius**k * math.factorial(k) for k in (1, 2))
    return -first, second / first**2 - 1


def pollaczek(rate: float, mean: float, scv: float) -> float:
    """Mean wait of M/G/1: rate x mean square of the service / (2 (1 - use))."""
    return rate * mean**2 * (1 + scv) / (2 * (1 - rate * mean))


KNOWN = [
    Known(
        "station that stops: effective SCV", lambda: completion_time(1, 0.25, 60, 6, 1).scv, 1.241736,
        lambda: transform_moments(1, 0.25, 60, 6, 1)[1], FACTORY, digits=1e-6,
    ),
    Known(
        "station that stops: wait by two moments",
        lambda: ggm(0.8, 1.1, 1, 1, completion_time(1, 0.25, 60, 6, 1).scv).wait, 9.041667,
        lambda: pollaczek(0.8, *transform_moments(1, 0.25, 60, 6, 1)), FACTORY, digits=1e-6,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


def test_completion_time_by_its_transform():
    """Mean and SCV of the time with stops, for gamma times and repairs of another spread."""
    found = completion_time(2, 0.4, 15, 3, 0.7)
    mean, scv = transform_moments(2, 0.4, 15, 3, 0.7)
    assert (found.mean, found.scv) == (pytest.approx(mean), pytest.approx(scv))
    assert found.availability == availability(15, 3) == pytest.approx(15 / 18)


def test_setups_by_enumeration():
    """A process time of 1 or 3 and with chance 1/5 a setup of 2 or 6: mean and SCV over all cases."""
    cases = [
        (0.5 * (0.8 if setup is None else 0.1), time + (setup or 0))
        for time in (1, 3)
        for setup in (None, 2, 6)
    ]
    mean = sum(chance * time for chance, time in cases)
    variance = sum(chance * (time - mean) ** 2 for chance, time in cases)
    found = with_setups(2, 0.25, 4, 0.25, 5)
    assert (found.mean, found.scv) == (pytest.approx(mean), pytest.approx(variance / mean**2))
    assert found.availability == pytest.approx(2 / mean)
    always = with_setups(2, 0.25, 4, 0.25, 1)  # a sum of two independent times
    assert (always.mean, always.scv) == (pytest.approx(6), pytest.approx((1 + 4) / 36))


@pytest.mark.parametrize("calendar", [False, True])
def test_stops_by_both_failure_clocks(calendar):
    """M/M/1 that stops while it works, or also while it is idle, against the chain of jobs and up or down."""
    rate, time, between, repair = 0.6, 1.0, 8.0, 2.0

    def moves(state):
        jobs, up = state
        if jobs < 400:
            yield (jobs + 1, up), rate
        if up and jobs:
            yield (jobs - 1, True), 1 / time
        if up and (jobs or calendar):
            yield (jobs, False), 1 / between
        if not up:
            yield (jobs, True), 1 / repair

    number = sum(jobs * share for (jobs, _), share in chain_shares((0, True), moves).items())
    found = mg1_with_stops(rate, time, 1, between, repair, calendar)
    assert found.number == pytest.approx(number)
    assert found.time_in_system == pytest.approx(number / rate)
    assert found.wait + completion_time(time, 1, between, repair, 1).mean == found.time_in_system


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: completion_time(1, 1, 0, 1, 1), "mean time between stops must be a finite number above 0"),
        (lambda: with_setups(1, 1, 1, 1, 0.5), "jobs between setups must be 1 or more, not 0.5"),
        (lambda: mg1_with_stops(0.9, 1, 1, 60, 12), "utilisation would be 1.08"),
        (lambda: availability(60, -1), "mean repair time must be a finite number, 0 or more, not -1"),
        (lambda: completion_time(1, 1, 60, 6, -1), "SCV of the repair time must be a finite number"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
