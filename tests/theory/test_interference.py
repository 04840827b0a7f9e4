"""Machine interference: published values, each computed a second time, limits, and what is refused.

Second ways: birth-death chains, chains in steps over services or visits, chains that keep the order of calls,
and recurrences event by event.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import binom
from second_ways import Known, births_and_deaths, chain_shares, check, discrete_shares, named

from cellsim.theory.interference import (
    ashcroft,
    cyclic_tending,
    finite_source,
    ideal_machines,
    most_machines,
    patrol,
    unlike_machines,
)
from cellsim.theory.stations import erlang_b

PALM = (
    "Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines, Journal of "
    "Industrial Engineering 9, 28-42 (from memory)"
)
ASHCROFT = (
    "Ashcroft, H. (1950), The productivity of several machines under the care of one operator, Journal of "
    "the Royal Statistical Society B 12, 145-151 (from memory)"
)
MACK = (
    "Mack, C., Murphy, T. and Webb, N. L. (1957), The efficiency of N machines uni-directionally patrolled "
    "by one operative, Journal of the Royal Statistical Society B 19, 166-172 (from memory)"
)
CHART = "man-machine chart; Freivalds, A., Methods, Standards and Work Design (from memory)"
BASKETT = (
    "Baskett, F., Chandy, K. M., Muntz, R. R. and Palacios, F. G. (1975), Open, closed and mixed networks of "
    "queues with different classes of customers, Journal of the ACM 22, 248-260 (from memory)"
)


def down(machines: int, run: float, service: float, operators: int) -> np.ndarray:
    """Shares of the number of machines that stand, from the birth-death chain."""
    return births_and_deaths(lambda n: (machines - n) / run, lambda n: min(n, operators) / service, machines)


def chain_running(machines: int, run: float, service: float, operators: int) -> float:
    """Running share of a machine, from the chain."""
    return 1 - float(down(machines, run, service, operators) @ np.arange(machines + 1)) / machines


def chain_busy(machines: int, run: float, service: float, operators: int) -> float:
    """Share of time that an operator serves, from the chain."""
    at_work = np.minimum(np.arange(machines + 1), operators)
    return float(down(machines, run, service, operators) @ at_work) / operators


def constant_service_running(machines: int, run: float, service: float) -> float:
    """Running share where one operator serves in a constant time: chain of the machines that stand when a
    service ends; those that ran stop during a service independently."""
    stops = -math.expm1(-service / run)
    steps = np.zeros((machines, machines))
    idle = np.zeros(machines)  # mean time until a service starts
    idle[0] = run / machines
    for left in range(machines):
        at_start = max(left, 1)
        new = np.arange(machines - at_start + 1)
        steps[left, at_start + new - 1] = binom.pmf(new, machines - at_start, stops)
    shares = discrete_shares(steps)
    period = service + float(shares @ idle)  # from service to service
    return run / (machines * period)


def patrol_running(machines: int, run: float, service: float, walk: float) -> float:
    """Running share from the chain over the last N - 1 visits: whether each found its machine standing."""
    states = list(itertools.product((False, True), repeat=machines - 1))
    place = {state: k for k, state in enumerate(states)}
    steps = np.zeros((len(states), len(states)))
    stands = np.zeros(len(states))
    for state in states:
        away = machines * walk + sum(state) * service  # since the last visit to this machine ended
        chance = -math.expm1(-away / run)
        stands[place[state]] = chance
        steps[place[state], place[(*state[1:], True)]] += chance
        steps[place[state], place[(*state[1:], False)]] += 1 - chance
    served = float(discrete_shares(steps) @ stands)  # per visit
    return served * run / (machines * (walk + served * service))


def rounds_rate(runs: list[float], services: list[float], walks: list[float]) -> float:
    """Output of a robot that tends machines in turn, event by event over 4000 rounds."""
    ready = [0.0] * len(runs)
    clock = begun = 0.0
    for turn in range(4000):
        if turn == 2000:
            begun = clock
        for i, run in enumerate(runs):
            clock = max(clock, ready[i]) + services[i]
            ready[i] = clock + run
            clock += walks[i]
    return 2000 * len(runs) / (clock - begun)


def ordered_running(counts: list[int], runs: list[float], service: float) -> list[float]:
    """Running share by class, from the chain that keeps the order in which machines called."""

    def moves(queue):
        for kind, count in enumerate(counts):
            running = count - queue.count(kind)
            if running:
                yield (*queue, kind), running / runs[kind]
        if queue:
            yield queue[1:], 1 / service

    shares = chain_shares((), moves)
    return [
        1 - sum(queue.count(kind) * share for queue, share in shares.items()) / count
        for kind, count in enumerate(counts)
    ]


TENDED = [
    (4, 60, 10, 1, 0.7956521739, 0.5304347826),
    (10, 86, 14, 2, 0.8143613686, 0.6628522768),
    (6, 5, 0.75, 1, 0.7665940209, 0.6899346188),
    (5, 20, 15, 3, 0.5504420766, 0.6880525958),
]
KNOWN = [
    Known(
        f"{case[0]} machines, {case[3]} operators: running",
        lambda case=case: finite_source(*case[:4]).running, case[4],
        lambda case=case: chain_running(*case[:4]), PALM,
    )
    for case in TENDED
] + [
    Known(
        f"{case[0]} machines, {case[3]} operators: at work",
        lambda case=case: finite_source(*case[:4]).utilisation, case[5],
        lambda case=case: chain_busy(*case[:4]), PALM,
    )
    for case in TENDED
] + [
    Known(
        "6 machines, constant service: running", lambda: ashcroft(6, 30, 3).running, 0.8796426434,
        lambda: constant_service_running(6, 30, 3), ASHCROFT,
    ),
    Known(
        "10 machines, constant service: running", lambda: ashcroft(10, 50, 4).running, 0.8761723194,
        lambda: constant_service_running(10, 50, 4), ASHCROFT,
    ),
    Known(
        "walk round 4 machines: running", lambda: patrol(4, 20, 3, 0.5).running, 0.7881674066,
        lambda: patrol_running(4, 20, 3, 0.5), MACK,
    ),
    Known(
        "walk round 8 machines: running", lambda: patrol(8, 60, 4, 0.25).running, 0.8942857371,
        lambda: patrol_running(8, 60, 4, 0.25), MACK,
    ),
    Known(
        "robot and 4 machines in turn: output",
        lambda: cyclic_tending([2] * 4, [0.5] * 4, [0.1] * 4).output, 1.6,
        lambda: rounds_rate([2] * 4, [0.5] * 4, [0.1] * 4), CHART,
    ),
    Known(
        "robot and 3 machines in turn: output",
        lambda: cyclic_tending([4] * 3, [0.5] * 3, [0.1] * 3).output, 0.6666666667,
        lambda: rounds_rate([4] * 3, [0.5] * 3, [0.1] * 3), CHART,
    ),
    Known(
        "2 and 3 unlike machines: running", lambda: unlike_machines([2, 3], [40, 90], 8)[0], 0.7651178136,
        lambda: ordered_running([2, 3], [40, 90], 8)[0], BASKETT,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


@pytest.mark.parametrize("operators", [1, 2, 4])
def test_figures_belong_together(operators):
    """Shares add up to 1; calls, waits and the operators' load fit by Little's law and the chain."""
    found = finite_source(9, 50, 12, operators)
    assert found.running + found.served + found.waiting == pytest.approx(1)
    standing = down(9, 50, 12, operators)
    waiting = float(standing @ np.maximum(np.arange(10) - operators, 0))
    assert found.waiting == pytest.approx(waiting / 9)
    assert found.services * found.wait == pytest.approx(waiting)
    assert found.services == pytest.approx(found.utilisation * operators / 12)
    assert found.walking == 0


@pytest.mark.parametrize("machines", [1, 3, 8, 200])
def test_load_of_one_operator_is_erlangs_loss(machines):
    """He is busy for 1 - B(machines, run / service), with many machines nearly always."""
    found = finite_source(machines, 66, 11, 1)
    assert found.utilisation == pytest.approx(1 - erlang_b(machines, 6))
    assert machines < 200 or found.utilisation == pytest.approx(1)


def test_enough_operators_leave_no_wait():
    """As many operators as machines, or hardly any service: nobody waits."""
    found = finite_source(5, 20, 15, 5)
    assert found.running == pytest.approx(20 / 35)
    assert found.waiting == pytest.approx(0, abs=1e-12)
    assert finite_source(5, 20, 15, 8).running == pytest.approx(20 / 35)
    assert ashcroft(50, 1, 1e-9).running == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize("machines", [1, 2, 7, 30])
def test_exponential_service_is_a_special_case(machines):
    """One phase of service: Palm's machines; more phases come nearer and nearer to a constant service."""
    assert ashcroft(machines, 20, 3, 1).running == pytest.approx(finite_source(machines, 20, 3, 1).running)
    rising = [ashcroft(machines, 20, 3, phases).running for phases in (1, 2, 5, 100, 10**6, math.inf)]
    assert rising == sorted(rising)
    assert rising[-2] == pytest.approx(rising[-1], rel=1e-5)


def test_erlang_service_by_its_chain():
    """Five machines and a service of two phases, against the chain of who stands and in which phase."""

    def moves(state):
        standing, phase = state
        if standing < 5:
            yield (standing + 1, phase), (5 - standing) / 20
        if standing:
            yield (standing, 1) if phase == 0 else (standing - 1, 0), 2 / 6

    shares = chain_shares((0, 0), moves)
    running = 1 - sum(standing * share for (standing, _), share in shares.items()) / 5
    assert ashcroft(5, 20, 6, 2).running == pytest.approx(running)


def test_very_many_machines_keep_the_operator_busy():
    """The weights would overflow; he serves without a pause, or walks and serves at every machine."""
    found = ashcroft(3000, 1, 10)
    assert found.utilisation == pytest.approx(1)
    assert found.services == pytest.approx(0.1)
    found = patrol(500, 1, 10, 1)
    assert found.walking == pytest.approx(1 / 11)
    assert found.utilisation == pytest.approx(10 / 11)


def test_who_walks_round_serves_or_walks():
    """His time adds up; hardly any service leaves each machine standing for half a round or less."""
    found = patrol(6, 30, 2, 0.4)
    assert found.utilisation + found.walking == pytest.approx(1)
    assert found.running + found.served + found.waiting == pytest.approx(1)
    # a run, then the wait for the next visit, visits every 2.4 min: E[wait] = 2.4 / (1 - exp(-2.4 / 30)) - 30
    round_only = 2.4 / -math.expm1(-2.4 / 30)
    assert patrol(6, 30, 1e-9, 0.4).running == pytest.approx(30 / round_only)


@pytest.mark.parametrize(
    ("runs", "services", "walks"),
    [
        ([2.0] * 6, [0.5] * 6, [0.1] * 6),
        ([3.0, 1.0, 2.0], [0.5, 0.8, 0.2], [0.1, 0.0, 0.3]),
        ([1.0, 1.0, 1.5], [0.9, 0.7, 0.6], [0.2, 0.1, 0.1]),
    ],
)
def test_rounds_of_unlike_machines(runs, services, walks):
    """The longest of the robot's round and each machine's own, as event by event."""
    found = cyclic_tending(runs, services, walks)
    assert found.output == pytest.approx(rounds_rate(runs, services, walks))
    assert found.running == pytest.approx([run / found.cycle for run in runs])
    assert found.loading == pytest.approx(sum(services) / found.cycle)
    assert found.walking == pytest.approx(sum(walks) / found.cycle)


def test_machines_for_one_operator():
    """Below the ideal number the machines set the cycle, above it the operator does."""
    ideal = ideal_machines(2.0, 0.5, 0.1)
    assert ideal == pytest.approx(2.5 / 0.6)
    assert ideal_machines(2.0, 0.5) == pytest.approx(5)
    below, above = (
        cyclic_tending([2.0] * n, [0.5] * n, [0.1] * n) for n in (math.floor(ideal), math.ceil(ideal))
    )
    assert below.cycle == pytest.approx(2.5)
    assert above.loading + above.walking == pytest.approx(1)


def test_most_machines_that_run_enough():
    """Four machines run for 0.796 of their time, five for less than 0.77: so four reach 0.77."""

    def running(machines: int) -> float:
        return finite_source(machines, 60, 10, 1).running

    assert chain_running(4, 60, 10, 1) > 0.77 > chain_running(5, 60, 10, 1)
    assert most_machines(0.77, running) == 4
    assert most_machines(0.7, lambda n: ashcroft(n, 60, 10).running) >= most_machines(0.7, running)


def test_unlike_machines_of_one_kind_are_equal_machines():
    """Two classes with the same runs are Palm's machines; all classes agree with the chain of the order."""
    assert unlike_machines([2, 3], [50, 50], 8) == pytest.approx([finite_source(5, 50, 8, 1).running] * 2)
    assert unlike_machines([1, 2, 1], [20, 45, 90], 9) == pytest.approx(
        ordered_running([1, 2, 1], [20, 45, 90], 9)
    )


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: finite_source(0, 60, 10, 1), "number of machines must be a whole number, 1 or more, not 0"),
        (lambda: finite_source(4, 60, 10, 0), "number of operators must be a whole number, 1 or more, not 0"),
        (lambda: finite_source(4, -60, 10, 1), "mean run must be a finite number above 0, not -60"),
        (lambda: finite_source(4, 60, 0, 1), "mean service time must be a finite number above 0, not 0"),
        (lambda: ashcroft(1, 60, -1), "mean service time must be a finite number above 0, not -1"),
        (lambda: ashcroft(1, 60, 1, 1.5), "number of phases must be a whole number, 1 or more, not 1.5"),
        (lambda: patrol(4, 60, 1, 0), "walk must be a finite number above 0, not 0"),
        (lambda: cyclic_tending([1, 1], [1], [1, 1]), "machine times has 2 entries and service times has 1"),
        (lambda: cyclic_tending([], [], []), "machine times must have at least one entry"),
        (lambda: cyclic_tending([1], [1], [-1]), "walk must be a finite number, 0 or more, not -1"),
        (lambda: ideal_machines(0, 1), "machine time must be a finite number above 0, not 0"),
        (lambda: most_machines(0.9, lambda n: 0.5 / n), "a machine alone runs for 0.5 of its time"),
        (lambda: most_machines(0, lambda n: 1 / n), "least running share must be a finite number above 0"),
        (lambda: most_machines(1.2, lambda n: 1 / n), "least running share must be from 0 to 1, not 1.2"),
        (lambda: unlike_machines([2], [40, 90], 8), "machines has 1 entries and run times has 2"),
        (lambda: unlike_machines([2, 1], [40, 90], 0), "mean service time must be a finite number above 0"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
