"""Open networks: published values, each computed a second time, and what is refused.

Second way: the chain of the numbers at all stations, cut off where the rest hardly counts.
"""

from __future__ import annotations

import pytest
from second_ways import Known, chain_shares, check, named

from cellsim.theory.effective import EffectiveTime
from cellsim.theory.open_networks import jackson_network, two_moment_line
from cellsim.theory.stations import ggm, mm1

JACKSON = "Jackson, J. R. (1963), Jobshop-like queueing systems, Management Science 10, 131-142 (from memory)"


def feedback_time(rate: float, times: list[float], fail: float, cut: int) -> float:
    """Mean time until good where failed units go back to the first station, from the chain."""

    def moves(state):
        if state[0] < cut:
            yield (state[0] + 1, *state[1:]), rate
        for i, n in enumerate(state):
            if n:
                gone = [m - (k == i) for k, m in enumerate(state)]
                if i < len(times) - 1:
                    gone[i + 1] += 1
                    if gone[i + 1] <= cut:
                        yield tuple(gone), 1 / times[i]
                else:
                    yield tuple(gone), (1 - fail) / times[i]
                    if gone[0] < cut:
                        yield (gone[0] + 1, *gone[1:]), fail / times[i]

    shares = chain_shares((0,) * len(times), moves)
    return sum(sum(state) * share for state, share in shares.items()) / rate


TWO_STEPS = [0.5, 0.0], [[0, 1], [0.1, 0]], [1.2, 0.8]
TWO_STEPS_B = [0.4, 0.0], [[0, 1], [0.15, 0]], [1.2, 1.4]
KNOWN = [
    Known(
        "back to the same queue, 10 %: time until good",
        lambda: jackson_network([0.7], [[0.1]], [1.0]).time_in_system, 5.0,
        lambda: feedback_time(0.7, [1.0], 0.1, 400), JACKSON,
    ),
    Known(
        "back to the same queue, 20 %: time until good",
        lambda: jackson_network([0.3], [[0.2]], [2.0]).time_in_system, 10.0,
        lambda: feedback_time(0.3, [2.0], 0.2, 400), JACKSON,
    ),
    Known(
        "operation and inspection, 10 %: time until good", lambda: jackson_network(*TWO_STEPS).time_in_system,
        5.6, lambda: feedback_time(0.5, [1.2, 0.8], 0.1, 45), JACKSON, close=1e-5,
    ),
    Known(
        "operation and inspection, 15 %: time until good",
        lambda: jackson_network(*TWO_STEPS_B).time_in_system, 8.07082945,
        lambda: feedback_time(0.4, [1.2, 1.4], 0.15, 45), JACKSON, close=1e-5,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


def test_two_moment_line_passes_variability_on():
    """Exponential stations: each as M/M/1; a regular first station calms the queue of the second."""
    line = two_moment_line(0.8, 1, [EffectiveTime(1, 1), EffectiveTime(0.9, 1)], [1, 1])
    assert line.stations[1].wait == pytest.approx(mm1(0.8, 0.9).wait)
    assert line.time_in_system == pytest.approx(mm1(0.8, 1).time_in_system + mm1(0.8, 0.9).time_in_system)
    calm = two_moment_line(0.8, 1, [EffectiveTime(1, 0), EffectiveTime(0.9, 1)], [1, 1])
    # M/D/1 at 80 %: a departure comes after a service, or with chance 0.2 after an arrival and a service
    scv = 0.2 * (2 - 0.2) / 0.8**2 / (1 / 0.8) ** 2
    expected = ggm(0.8, 0.9, 1, scv, 1).wait
    assert calm.stations[1].wait == pytest.approx(expected)


def test_jackson_network_is_the_chain_of_its_stations():
    """Three stations with a loop, one of them double, against the chain cut off at 9 jobs each."""
    arrivals, times, servers = [0.2, 0.05, 0.0], [1.0, 1.5, 0.8], [1, 2, 1]
    routing = [[0.0, 0.7, 0.3], [0.1, 0.0, 0.5], [0.2, 0.0, 0.1]]
    most = 9

    def moves(state):
        for i, rate in enumerate(arrivals):
            if rate and state[i] < most:
                yield tuple(n + (k == i) for k, n in enumerate(state)), rate
        for i, n in enumerate(state):
            if n:
                rate = min(n, servers[i]) / times[i]
                gone = tuple(m - (k == i) for k, m in enumerate(state))
                yield gone, rate * (1 - sum(routing[i]))
                for j, chance in enumerate(routing[i]):
                    if chance and gone[j] < most:
                        yield tuple(m + (k == j) for k, m in enumerate(gone)), rate * chance

    shares = chain_shares((0, 0, 0), moves)
    network = jackson_network(arrivals, routing, times, servers)
    for i, queue in enumerate(network.stations):
        assert queue.number == pytest.approx(sum(n[i] * p for n, p in shares.items()), rel=1e-4)
    inside = sum(sum(n) * p for n, p in shares.items())
    assert network.time_in_system == pytest.approx(inside / 0.25, rel=1e-4)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: two_moment_line(1, 1, [EffectiveTime(0.5, 1)], [1, 1]), "times has 1 entries and servers"),
        (lambda: two_moment_line(1, 1, [], []), "at least one station"),
        (lambda: jackson_network([1], [[0.2, 0.2]], [0.5]), "a row of the routing has 2"),
        (lambda: jackson_network([0.1, 0], [[0.9, 0.2], [0, 0]], [1, 1]), "add up to 1.1; 1 is the most"),
        (lambda: jackson_network([0.1, 0], [[0, 1], [1, 0]], [1, 1]), "could never leave"),
        (lambda: jackson_network([0.0], [[0.0]], [1]), "at least one arrival rate must be above 0"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
