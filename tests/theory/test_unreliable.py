"""Stations that stop: published values, chains told unit by unit, moments by matrix exponentials."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from explicit_lines import explicit_line, solved
from scipy.linalg import expm

from cellsim.theory.effective import availability
from cellsim.theory.unreliable import (
    down_share,
    exponential_line_with_stops,
    paced_availability,
    running_time_deviation,
    running_time_variance_rate,
)

FIVE = ([100.0] * 5, [5.0] * 5)
FOUR = ([45.0, 120.0, 300.0, 60.0], [3.0, 8.0, 30.0, 2.5])
# Mean running times and repairs, clock, share of time that a paced line runs.  Buzacott, J. A. (1967),
# Automatic transfer lines with buffer stocks, International Journal of Production Research 5(3), 183-200;
# Dallery, Y. and Gershwin, S. B. (1992), Manufacturing flow line systems: a review of models and analytical
# results, Queueing Systems 12, 3-94.
PACED = [
    (*FIVE, "running time", 0.8),
    (*FOUR, "running time", 0.7843137255),
    (*FIVE, "on time", 0.7835261665),
    (*FOUR, "on time", 0.7670454545),
]
# Means, places, running times, repairs, units per minute, units finished by the first and not by the second.
# Gershwin, S. B. and Berman, O. (1981), Analysis of transfer lines consisting of two unreliable machines with
# random processing times and finite storage buffers, AIIE Transactions 13(1), 2-11; three stations: Dallery
# and Gershwin (1992).  Ten digits by two separate programs; stops by running time.
EXPONENTIAL = [
    ([1.0, 0.9], [3], [50, 40], [5, 6], 0.7403259337, 2.31988719),
    ([1.0, 1.0], [8], [20, 30], [10, 12], None, 4.6109387),
    ([0.5, 0.6], [0], [100, 100], [8, 4], 1.123815947, None),
    ([1.0, 1.2], [15], [60, 45], [10, 4], 0.7182385995, 10.95923403),
    ([1.0, 1.0, 1.0], [2, 2], [50] * 3, [5] * 3, 0.623223883, None),
    ([1.0, 1.1, 1.0], [5, 5], [100, 25, 100], [20, 3, 8], 0.6289443833, None),
]


def test_availability_of_one_station() -> None:
    """60 min of running and 5 of repair: 0.923077; any unit of time."""
    assert availability(60, 5) == pytest.approx(60 / 65, rel=1e-14)
    assert availability(60 * 60, 5 * 60) == availability(60, 5)


@pytest.mark.parametrize("clock", ["running time", "on time"])
@pytest.mark.parametrize("work_comes", [0.05, 0.5, 20.0])
def test_share_of_time_under_repair(work_comes: float, clock: str) -> None:
    """A station to which work comes and goes, by the chain of up or down with work or without."""
    run, repair = 30.0, 10.0

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        up, busy = state
        out = [((up, not busy), 0.5 if busy else work_comes)]
        if not up:
            out.append(((True, busy), 1 / repair))
        elif busy or clock == "on time":
            out.append(((False, busy), 1 / run))
        return out

    shares = solved((True, False), moves)
    down = shares[False, True] + shares[False, False]
    found = down_share(run, repair, shares[True, True], clock)  # type: ignore[arg-type]
    assert found == pytest.approx(down, rel=1e-10)


def test_a_station_that_never_works_stops_only_on_time() -> None:
    """0 by running time, 1 - availability on time."""
    assert down_share(30, 10, 0.0) == 0.0
    assert down_share(30, 10, 0.0, "on time") == pytest.approx(0.25)


@pytest.mark.parametrize(("run", "repair", "clock", "share"), PACED)
def test_published_paced_lines(run: list, repair: list, clock: str, share: float) -> None:
    """Ten digits."""
    assert paced_availability(run, repair, clock) == pytest.approx(share, rel=2e-10)  # type: ignore[arg-type]


@pytest.mark.parametrize("clock", ["running time", "on time"])
def test_paced_lines_by_a_chain(clock: str) -> None:
    """All combinations of up and down; by running time nothing stops while anything stands."""
    run, repair = FOUR

    def moves(ups: tuple) -> list[tuple[tuple, float]]:
        out = []
        for i, up in enumerate(ups):
            turned = ups[:i] + (not up,) + ups[i + 1 :]
            if not up:
                out.append((turned, 1 / repair[i]))
            elif all(ups) or clock == "on time":
                out.append((turned, 1 / run[i]))
        return out

    share = solved((True,) * 4, moves)[(True,) * 4]
    assert paced_availability(run, repair, clock) == pytest.approx(share, rel=1e-11)  # type: ignore[arg-type]


# -- running time within a window --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("run", "repair", "window", "deviation"),
    # Cox, D. R. (1962), Renewal Theory, Methuen (alternating renewal processes); ten digits
    [(45.0, 5.0, 480.0, 19.62536624), (180.0, 45.0, 480.0, 71.51839394)],
)
def test_published_deviation_of_running_time(
    run: float, repair: float, window: float, deviation: float
) -> None:
    """A shift of eight hours, in minutes."""
    assert running_time_deviation(run, repair, window) == pytest.approx(deviation, rel=2e-10)


@pytest.mark.parametrize("window", [1e-4, 0.3, 10.0, 480.0, 1e5])
def test_deviation_of_running_time_by_a_matrix_exponential(window: float) -> None:
    """E[R], E[R^2] grow by E[up], 2 E[R up]; those by the moves between up and down."""
    run, repair = 45.0, 5.0
    up = run / (run + repair)
    stop, mend = 1 / run, 1 / repair
    # [P(up), P(down), E[R; up], E[R; down], E[R^2; up], E[R^2; down]]
    between = np.array([[-stop, mend], [stop, -mend]])
    earn = np.array([[1.0, 0.0], [0.0, 0.0]])
    nothing = np.zeros((2, 2))
    system = np.block([[between, nothing, nothing], [earn, between, nothing], [nothing, 2 * earn, between]])
    at_end = expm(system * window) @ np.array([up, 1 - up, 0, 0, 0, 0])
    mean, square = at_end[2:4].sum(), at_end[4:].sum()
    assert mean == pytest.approx(up * window, rel=1e-9)
    found = running_time_deviation(run, repair, window)
    assert found**2 == pytest.approx(square - mean**2, rel=1e-5 if window > 1e4 else 1e-8)


def test_short_and_long_windows() -> None:
    """A moment: all or nothing; a long time: variance grows evenly, at the rate of the renewal theorem."""
    up = 0.9
    assert running_time_deviation(45, 5, 0.0) == 0.0
    assert running_time_deviation(45, 5, 1e-7) == pytest.approx(1e-7 * math.sqrt(up * (1 - up)), rel=1e-6)
    for pace in (1e-3, 5e-5):  # variance / (up (1 - up) window^2) = 1 - s t / 3 + (s t)^2 / 12 - ...
        relative = running_time_deviation(45, 5, pace * 4.5) ** 2 / (up * (1 - up) * (pace * 4.5) ** 2)
        assert relative == pytest.approx(1 - pace / 3 + pace**2 / 12, abs=1e-9)
    long = running_time_deviation(45, 5, 1e8) ** 2 / 1e8
    assert running_time_variance_rate(45, 5) == pytest.approx(long, rel=1e-6)


@pytest.mark.parametrize(("phases", "repair_phases"), [(1, 1), (3, 1), (2, 4)])
def test_variance_rate_by_a_chain(phases: int, repair_phases: int) -> None:
    """Erlang running times and repairs: 2 sum of share x reward x relative value, from the dense chain."""
    run, repair = 40.0, 12.0
    m = phases + repair_phases
    rates = np.zeros((m, m))
    for k in range(m):
        rates[k, (k + 1) % m] = phases / run if k < phases else repair_phases / repair
    generator = rates - np.diag(rates.sum(axis=1))
    shares = np.linalg.solve(np.vstack([generator.T[:-1], np.ones(m)]), np.append(np.zeros(m - 1), 1.0))
    reward = np.array([1.0] * phases + [0.0] * repair_phases) - run / (run + repair)
    values = np.linalg.lstsq(generator, -reward, rcond=None)[0]
    found = running_time_variance_rate(run, repair, 1 / phases, 1 / repair_phases)
    assert found == pytest.approx(2 * float(shares @ (reward * (values - shares @ values))), rel=1e-9)


# -- lines of exponential stations that stop ---------------------------------------------------------------


@pytest.mark.parametrize(("means", "places", "run", "repair", "rate", "between"), EXPONENTIAL)
def test_published_lines_with_stops(
    means: list, places: list, run: list, repair: list, rate: float | None, between: float | None
) -> None:
    """Rate and mean number between the first two, as far as stated."""
    found = exponential_line_with_stops(means, places, run, repair)
    assert rate is None or found.rate == pytest.approx(rate, rel=2e-10)
    assert between is None or found.between[0] == pytest.approx(between, rel=2e-10)


@pytest.mark.parametrize("clock", ["running time", "on time"])
@pytest.mark.parametrize(
    "row", [EXPONENTIAL[0], EXPONENTIAL[2], EXPONENTIAL[4]], ids=["two", "no places", "three"]
)
def test_lines_with_stops_told_unit_by_unit(clock: str, row: tuple) -> None:
    """All figures of both clocks against another chain."""
    means, places, run, repair = row[:4]
    stops = list(zip(run, repair, strict=True))
    other = explicit_line(means, places, stops=stops, on_time=clock == "on time")
    found = exponential_line_with_stops(means, places, run, repair, clock)  # type: ignore[arg-type]
    assert found.rate == pytest.approx(other.rate, rel=1e-9)
    for name in ("working", "starved", "blocked", "in_stores"):
        assert getattr(found, name) == pytest.approx(getattr(other, name), abs=1e-10), name
    assert found.wip == pytest.approx(other.wip, rel=1e-9)


def test_limits_of_lines_with_stops() -> None:
    """Hardly any stops: the reliable line; many places: the worse station alone, whatever the clock."""
    reliable = exponential_line_with_stops([1, 1], [1], [1e9, 1e9], [1, 1], "on time")
    assert reliable.rate == pytest.approx(0.75, rel=1e-7)
    for clock in ("running time", "on time"):
        stops = ([60, 45], [10, 4], clock)
        many = exponential_line_with_stops([1, 1.2], [400], *stops)  # type: ignore[arg-type]
        assert many.rate == pytest.approx(45 / 49 / 1.2, rel=1e-6)
        alone = exponential_line_with_stops([1.2], [], [45], [4], clock)  # type: ignore[arg-type]
        assert alone.rate == pytest.approx(45 / 49 / 1.2, rel=1e-12)


def test_stops_on_time_cost_more_than_by_running_time() -> None:
    """A station that also stops while it waits makes less."""
    by_running = exponential_line_with_stops([1, 1], [2], [30, 30], [5, 5])
    on_time = exponential_line_with_stops([1, 1], [2], [30, 30], [5, 5], "on time")
    assert on_time.rate < by_running.rate < (30 / 35) * 0.8


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: availability(0, 1), "the mean time between stops must be a finite number above 0, not 0"),
        (lambda: availability(1, -1), "the mean repair time must be a finite number, 0 or more, not -1"),
        (lambda: down_share(30, 10, 0.8), r"works a share of 0 to 0\.75 of the time, got 0\.8"),
        (lambda: down_share(30, 10, -0.1), r"of the time, got -0\.1"),
        (lambda: paced_availability([100, 100], [5]), "have one value for each station, got 2 and 1"),
        (
            lambda: paced_availability([100], [5], "shift"),
            'stops count "running time" or "on time", got "shift"',
        ),  # type: ignore[arg-type]
        (lambda: running_time_deviation(45, 5, -1), "a window is a finite number of at least 0, got -1"),
        (lambda: running_time_variance_rate(45, 5, -1), "variation is a finite number of at least 0, got -1"),
        (lambda: exponential_line_with_stops([1, 1], [1], [9], [1, 1]), "got 2 and 1"),
        (lambda: exponential_line_with_stops([1, 1], [1], [9, 9], [1, 0], "on time"), "got 0 at station 2"),
        (
            lambda: exponential_line_with_stops([1, 1], [-2], [9, 9], [1, 1], "on time"),
            "got -2 behind station 1",
        ),
    ],
)
def test_wrong_stations_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
