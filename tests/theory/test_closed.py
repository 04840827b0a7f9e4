"""Closed lines: published values, each computed a second time, bounds, limits, and what is refused.

Second ways: chains over the numbers at the stations, mean value analysis against convolution, runs event by
event with constant times, and a chain of finished units for loops with limited room.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from second_ways import Known, chain_shares, check, named

from cellsim.theory.closed import (
    asymptotic_bounds,
    balanced_job_bounds,
    best_case,
    closed_network,
    critical_wip,
    mean_value_analysis,
    pallet_loop,
    practical_worst_case,
    worst_case,
)
from cellsim.theory.stationary import stationary_distribution

REISER = (
    "Reiser, M. and Lavenberg, S. S. (1980), Mean-value analysis of closed multichain queuing networks, "
    "Journal of the ACM 27(2), 313-322; Gordon, W. J. and Newell, G. F. (1967), Operations Research "
    "15(2), 254-265 (from memory)"
)
BUZEN = (
    "Buzen, J. P. (1973), Computational algorithms for closed queueing networks with exponential servers, "
    "Communications of the ACM 16(9), 527-531 (from memory)"
)
FACTORY = (
    "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on basic factory dynamics (from "
    "memory)"
)
LOOP = (
    "model class in Dallery, Y. and Gershwin, S. B. (1992), Manufacturing flow line systems, Queueing "
    "Systems 12, 3-94 (from memory); the figure is that of the chain"
)


def chain_numbers(means: list[float], units: int, machines: list[int]) -> tuple[float, list[float]]:
    """Throughput and mean numbers at the stations of a loop, from the chain over the numbers."""

    def moves(state):
        for i, n in enumerate(state):
            if n:
                moved = list(state)
                moved[i] -= 1
                moved[(i + 1) % len(state)] += 1
                yield tuple(moved), min(n, machines[i]) / means[i]

    shares = chain_shares((units,) + (0,) * (len(means) - 1), moves)
    throughput = sum(min(state[0], machines[0]) * share for state, share in shares.items()) / means[0]
    return throughput, [sum(state[i] * share for state, share in shares.items()) for i in range(len(means))]


def constant_rate(means: list[float], units: int, machines: list[int]) -> float:
    """Throughput of a loop with constant times, event by event: when the k-th unit leaves each station."""
    jobs = 6000
    leaves = [[0.0] * jobs for _ in means]
    for k in range(jobs):
        clock = leaves[-1][k - units] if k >= units else 0.0
        for i, mean in enumerate(means):
            free = leaves[i][k - machines[i]] if k >= machines[i] else 0.0
            clock = leaves[i][k] = max(clock, free) + mean
    return (jobs // 2) / (leaves[-1][-1] - leaves[-1][jobs // 2 - 1])


def group_cycle(means: list[float], units: int) -> float:
    """Time of a round where all units move together and are worked one by one at each station."""
    clock = 0.0
    for _ in range(50):
        for mean in means:
            for _ in range(units):
                clock += mean
    return clock / 50


def loop_rate(means: list[float], places: list[int], pallets: int) -> float:
    """Throughput of a loop with limited room from a chain whose state is only, for each station, how many
    pallets the one before has finished and it has not; who is held follows from that."""
    count = len(means)

    def held(state):
        """Station i holds a finished pallet if the room between is full, where what the next holds itself
        takes its place; all may hang on one another, so take the least that is consistent."""
        found = [False] * count
        changed = True
        while changed:
            changed = False
            for i in range(count):
                ahead = (i + 1) % count
                if not found[i] and state[ahead] > places[ahead] + (0 if found[ahead] else 1):
                    found[i] = changed = True
        return found

    def moves(state):
        for i, (n, stuck) in enumerate(zip(state, held(state), strict=True)):
            if n and not stuck:
                moved = list(state)
                moved[i] -= 1
                moved[(i + 1) % count] += 1
                yield tuple(moved), 1 / means[i]

    start, left = [], pallets
    for b in places:
        start.append(min(left, b + 1))
        left -= start[-1]
    shares = chain_shares(tuple(start), moves)
    works = {state: state[-1] > 0 and not held(state)[-1] for state in shares}
    return sum(share for state, share in shares.items() if works[state]) / means[-1]


THREE, FOUR, FIVE = [1.0, 1.5, 0.8], [2.0, 3.0, 2.5, 4.0], [1.0, 1.0, 1.2, 0.9, 1.1]
PENNIES, WIDE, WIDE_MACHINES = [2.0, 2.0, 2.0, 2.0], [2.0, 5.0, 10.0, 3.0], [1, 2, 6, 2]
KNOWN = [
    Known(
        "3 stations, 5 units: throughput", lambda: closed_network(THREE, 5).throughput, 0.6056589953,
        lambda: chain_numbers(THREE, 5, [1] * 3)[0], REISER,
    ),
    Known(
        "3 stations, 5 units: at the slowest", lambda: closed_network(THREE, 5).numbers[1], 2.913316481,
        lambda: chain_numbers(THREE, 5, [1] * 3)[1][1], REISER,
    ),
    Known(
        "4 stations, 6 units: at the slowest", lambda: closed_network(FOUR, 6).numbers[3], 2.782591829,
        lambda: chain_numbers(FOUR, 6, [1] * 4)[1][3], REISER,
    ),
    Known(
        "5 stations, 10 units: throughput", lambda: closed_network(FIVE, 10).throughput, 0.6769083985,
        lambda: chain_numbers(FIVE, 10, [1] * 5)[0], REISER,
    ),
    Known(
        "parallel machines, 8 units: throughput",
        lambda: closed_network(WIDE, 8, WIDE_MACHINES).throughput, 0.310219258,
        lambda: chain_numbers(WIDE, 8, WIDE_MACHINES)[0], BUZEN,
    ),
    Known(
        "parallel machines, 15 units: throughput",
        lambda: closed_network(WIDE, 15, WIDE_MACHINES).throughput, 0.3809087445,
        lambda: chain_numbers(WIDE, 15, WIDE_MACHINES)[0], BUZEN,
    ),
    Known(
        "practical worst case, 4 stations, 4 units", lambda: practical_worst_case(PENNIES, 4).throughput,
        0.2857142857, lambda: chain_numbers(PENNIES, 4, [1] * 4)[0], FACTORY,
    ),
    Known(
        "practical worst case, 4 stations, 10 units", lambda: practical_worst_case(PENNIES, 10).throughput,
        0.3846153846, lambda: chain_numbers(PENNIES, 10, [1] * 4)[0], FACTORY,
    ),
    Known(
        "practical worst case, 6 stations, 6 units", lambda: practical_worst_case([1.0] * 6, 6).throughput,
        0.5454545455, lambda: chain_numbers([1.0] * 6, 6, [1] * 6)[0], FACTORY,
    ),
    Known(
        "best case, 4 stations, 3 units", lambda: best_case(PENNIES, 3).throughput, 0.375,
        lambda: constant_rate(PENNIES, 3, [1] * 4), FACTORY,
    ),
    Known(
        "best case, parallel machines, 5 units", lambda: best_case(WIDE, 5, WIDE_MACHINES).throughput, 0.25,
        lambda: constant_rate(WIDE, 5, WIDE_MACHINES), FACTORY,
    ),
    Known(
        "best case, parallel machines, 12 units", lambda: best_case(WIDE, 12, WIDE_MACHINES).throughput, 0.4,
        lambda: constant_rate(WIDE, 12, WIDE_MACHINES), FACTORY,
    ),
    Known(
        "worst case, 4 stations, 10 units: round trip", lambda: worst_case(PENNIES, 10).cycle_time, 80.0,
        lambda: group_cycle(PENNIES, 10), FACTORY,
    ),
    Known(
        "worst case, 3 stations, 6 units: round trip", lambda: worst_case([1.0, 2.0, 0.5], 6).cycle_time,
        21.0, lambda: group_cycle([1.0, 2.0, 0.5], 6), FACTORY,
    ),
    Known(
        "loop of 3 stations, 5 pallets", lambda: pallet_loop([1, 1, 1], [1, 1, 1], 5), 0.6428571429,
        lambda: loop_rate([1, 1, 1], [1, 1, 1], 5), LOOP,
    ),
    Known(
        "loop of 4 stations, 6 pallets", lambda: pallet_loop([1.0, 1.3, 0.9, 0.7], [2, 1, 1, 3], 6),
        0.6021967765, lambda: loop_rate([1.0, 1.3, 0.9, 0.7], [2, 1, 1, 3], 6), LOOP,
    ),
    Known(
        "balanced line, 6 units: throughput",
        lambda: mean_value_analysis([[1.0] * 4], [6], [0])[0].throughput, 2 / 3,
        lambda: chain_numbers([1.0] * 4, 6, [1] * 4)[0], REISER,
    ),
    Known(
        "3 stations and time away, 5 units: throughput",
        lambda: mean_value_analysis([[1.0, 0.8, 1.25]], [5], [2.0])[0].throughput, 0.614104,
        lambda: chain_numbers([1.0, 0.8, 1.25, 2.0], 5, [1, 1, 1, 5])[0], REISER, digits=1e-6,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


def test_times_in_a_line_with_time_away():
    """Times at the stations as printed for five units, and the numbers by Little's law."""
    found = mean_value_analysis([[1.0, 0.8, 1.25]], [5], [2.0])[0]
    assert found.times == pytest.approx([1.919304, 1.328763, 2.893882], abs=1e-6)
    assert found.numbers == pytest.approx([found.throughput * time for time in found.times])
    assert sum(found.numbers) + 2 * found.throughput == pytest.approx(5)
    assert found.utilisations == pytest.approx([found.throughput * d for d in (1.0, 0.8, 1.25)])


@pytest.mark.parametrize("away", [0.0, 0.3, 50.0])
@pytest.mark.parametrize("units", [1, 2, 40])
def test_two_methods_agree(units, away):
    """Mean value analysis and convolution: all figures, with and without time away."""
    demands = [0.7, 2.0, 1.1, 2.0]
    mva = mean_value_analysis([demands], [units], [away])[0]
    convolution = closed_network(demands, units, think_time=away)
    assert mva.throughput == pytest.approx(convolution.throughput)
    assert mva.cycle_time == pytest.approx(convolution.cycle_time)
    assert mva.times == pytest.approx(convolution.times)
    assert mva.numbers == pytest.approx(convolution.numbers)
    assert mva.utilisations == pytest.approx(convolution.utilisations)


@pytest.mark.parametrize("units", [1, 4, 9])
def test_parallel_machines_and_time_away_by_the_chain(units):
    """Stations with several machines; time away is a station with a machine for each unit."""
    found = closed_network([1.0, 2.4, 0.9], units, [1, 2, 1], think_time=3.0)
    throughput, numbers = chain_numbers([1.0, 2.4, 0.9, 3.0], units, [1, 2, 1, units])
    assert found.throughput == pytest.approx(throughput)
    assert found.numbers == pytest.approx(numbers[:3])
    assert found.cycle_time == pytest.approx(units / throughput - 3)


def test_classes_are_served_in_their_order():
    """Two classes with different time away and routes, against the chain that keeps who waits where."""
    counts, away = [2, 2], [4.0, 1.5]
    demands = [[1.0, 0.7], [1.0, 0.0]]  # the second class goes to the first station only

    def moves(state):
        queues = [list(queue) for queue in state]
        for kind, count in enumerate(counts):
            home = count - sum(queue.count(kind) for queue in queues)
            if home:
                yield ((*state[0], kind), state[1]), home / away[kind]
        if queues[0]:
            first = queues[0][0]
            behind = (*state[1], first) if demands[first][1] else state[1]
            yield (state[0][1:], behind), 1 / 1.0
        if queues[1]:
            yield (state[0], state[1][1:]), 1 / 0.7

    shares = chain_shares(((), ()), moves)
    flows = mean_value_analysis(demands, counts, away)
    for kind in range(2):
        at_home = sum(
            (counts[kind] - sum(queue.count(kind) for queue in state)) * share
            for state, share in shares.items()
        )
        assert flows[kind].throughput == pytest.approx(at_home / away[kind])
        at_first = sum(state[0].count(kind) * share for state, share in shares.items())
        assert flows[kind].numbers[0] == pytest.approx(at_first)
    assert flows[1].numbers[1] == 0


def test_one_unit_never_waits_and_many_fill_the_slowest():
    """One unit goes round in the raw process time; very many run the slowest station without a pause."""
    assert closed_network(THREE, 1).cycle_time == pytest.approx(sum(THREE))
    assert closed_network(THREE, 2000).throughput == pytest.approx(1 / 1.5)
    assert closed_network(WIDE, 3000, WIDE_MACHINES).utilisations[1] == pytest.approx(1.0)
    assert closed_network([1e-3], 300, think_time=1e6).throughput == pytest.approx(3e-4)


def test_bounds_hold_and_the_balanced_ones_are_tighter():
    """Random lines with and without time away; the figure itself comes from the convolution (seed 20)."""
    rng = np.random.default_rng(20)
    for _ in range(200):
        demands = rng.uniform(0.2, 2.0, rng.integers(1, 7)).tolist()
        units, away = int(rng.integers(1, 30)), float(rng.choice([0.0, 1.0, 20.0]))
        exact = closed_network(demands, units, think_time=away).throughput
        wide, tight = asymptotic_bounds(demands, units, away), balanced_job_bounds(demands, units, away)
        assert wide.lower <= tight.lower * (1 + 1e-12)
        assert tight.upper <= wide.upper * (1 + 1e-12)
        assert tight.lower * (1 - 1e-12) <= exact <= tight.upper * (1 + 1e-12)


def test_bounds_are_exact_where_they_should_be():
    """A balanced line without time away lies on both balanced bounds; one unit lies on the asymptotic."""
    bounds = balanced_job_bounds([2.0] * 4, 7)
    assert bounds.lower == pytest.approx(bounds.upper) == pytest.approx(7 / (8 + 6 * 2.0))
    one = asymptotic_bounds(THREE, 1, 2.0)
    assert one.lower == pytest.approx(one.upper) == pytest.approx(1 / 5.3)
    assert asymptotic_bounds(THREE, 100, 2.0).upper == pytest.approx(1 / 1.5)


def test_cases_stand_in_their_order():
    """Worst, practical worst, exponential and best case for every number of units; the critical one is 8."""
    assert critical_wip(WIDE, WIDE_MACHINES) == pytest.approx(8)
    for units in range(1, 25):
        flows = [
            worst_case(WIDE, units),
            practical_worst_case(WIDE, units, WIDE_MACHINES),
            closed_network(WIDE, units, WIDE_MACHINES),
            best_case(WIDE, units, WIDE_MACHINES),
        ]
        rates = [flow.throughput for flow in flows]
        assert all(a <= b * (1 + 1e-12) for a, b in itertools.pairwise(rates))
        assert all(flow.throughput * flow.cycle_time == pytest.approx(units) for flow in flows)
    assert practical_worst_case(WIDE, 8, WIDE_MACHINES).throughput == pytest.approx(0.213333, abs=1e-6)


def test_room_for_all_pallets_is_a_line_without_blocking():
    """With so much room that nothing is ever held, the product form holds."""
    assert pallet_loop(THREE, [4, 4, 4], 5) == pytest.approx(closed_network(THREE, 5).throughput)
    assert pallet_loop(THREE, [0, 0, 0], 1) == pytest.approx(1 / sum(THREE))


@pytest.mark.parametrize("pallets", [1, 2, 3, 4, 5, 6])
def test_loops_with_little_room(pallets):
    """Unequal stations and rooms from nearly empty to nearly full, against the chain of finished pallets."""
    means, places = [1.0, 0.6, 1.4], [0, 2, 2]
    assert pallet_loop(means, places, pallets) == pytest.approx(loop_rate(means, places, pallets))


def test_loop_of_two_equal_stations():
    """Each number of pallets ahead of a station is equally likely; the two ends are where one stands.

    Three pallets and room: 0 to 3 of them, so 3/4.  No room before the first station: 0 to 2, so 2/3.
    """
    assert pallet_loop([1, 1], [1, 1], 3) == pytest.approx(3 / 4)
    assert pallet_loop([1, 1], [0, 3], 4) == pytest.approx(2 / 3)


def test_chain_with_a_single_state():
    """A state that nothing follows holds all the time."""
    assert stationary_distribution("alone", lambda state: []) == {"alone": 1.0}


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: closed_network([], 3), "demands must have at least one entry"),
        (lambda: closed_network([1, 0], 3), "entry 2 of demands must be a finite number above 0, not 0"),
        (lambda: closed_network([1, 1], 0), "number of units must be a whole number, 1 or more, not 0"),
        (lambda: closed_network([1, 1], 3, [1]), "demands has 2 entries and servers has 1"),
        (lambda: closed_network([1, 1], 3, [1, 0]), "number of servers must be a whole number, 1 or more"),
        (lambda: closed_network([1, 1], 3, think_time=-1), "think time must be a finite number, 0 or more"),
        (lambda: mean_value_analysis([], [], []), "at least one class"),
        (lambda: mean_value_analysis([[1.0]], [1, 2], [0]), "demands has 1 entries and units has 2"),
        (lambda: mean_value_analysis([[1.0]], [1], []), "demands has 1 entries and think times has 0"),
        (lambda: mean_value_analysis([[1.0], [1.0, 2.0]], [1, 1], [0, 0]), "the demands of a class has 2"),
        (lambda: mean_value_analysis([[1.0], [0.0]], [1, 1], [0, 0]), "must have a station with a demand"),
        (lambda: mean_value_analysis([[1.0]], [1.5], [0]), "number of units must be a whole number"),
        (lambda: best_case([1, 1], -1), "number of units must be a whole number, 1 or more, not -1"),
        (lambda: worst_case([1, -1], 2), "entry 2 of process times must be a finite number above 0, not -1"),
        (lambda: practical_worst_case([], 2), "must have at least one entry"),
        (lambda: asymptotic_bounds([1], 0), "number of units must be a whole number, 1 or more, not 0"),
        (lambda: balanced_job_bounds([1], 2, -1), "think time must be a finite number, 0 or more, not -1"),
        (lambda: critical_wip([0.0]), "entry 1 of process times must be a finite number"),
        (lambda: pallet_loop([1], [1], 1), "a loop needs at least two stations"),
        (lambda: pallet_loop([1, 1], [1], 1), "process times has 2 entries and places has 1"),
        (lambda: pallet_loop([1, 1], [1, -1], 1), "number of places must be a whole number, 0 or more"),
        (lambda: pallet_loop([1, 1], [1, 0], 3), "a loop with 3 places can move 2 pallets at most, not 3"),
        (lambda: pallet_loop([1] * 8, [3] * 8, 16), "more than 10000 states; fewer places are needed"),
        (lambda: stationary_distribution(0, lambda n: [(1 - n, -1.0)]), "rates must be above 0, not -1"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
