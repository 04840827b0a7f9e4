"""Rework, scrap and inspection: published values, each computed a second time, limits, and what is refused.

Second ways: absorbing chains, power sums, enumeration of all patterns or of a lot, flow equations, and chains
that say of every station whether it waits, works or holds.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import brentq
from second_ways import Known, chain_shares, check, named

from cellsim.theory.quality import (
    defect_free_share,
    inspection,
    normalised_yield,
    rework,
    rolled_throughput_yield,
    scrap_capacity,
    scrap_line,
    starts_needed,
)

KEMENY = "Kemeny, J. G. and Snell, J. L. (1960), Finite Markov Chains, Van Nostrand (from memory)"
JACKSON = "Jackson, J. R. (1963), Jobshop-like queueing systems, Management Science 10, 131-142 (from memory)"
MONTGOMERY = "Montgomery, D. C., Introduction to Statistical Quality Control, Wiley (from memory)"
BUZACOTT = (
    "model class in Buzacott, J. A. and Shanthikumar, J. G. (1993), Stochastic Models of Manufacturing "
    "Systems (from memory); the figure is that of the chain"
)


def passes_by_sums(fail: float) -> tuple[float, float]:
    """Mean and standard deviation of passes without a limit: power sums over how many there are."""
    n = np.arange(1, 2000)
    chances = (1 - fail) * fail ** (n - 1)
    mean = float(chances @ n)
    return mean, math.sqrt(float(chances @ n**2) - mean**2)


def passes_by_chain(first: float, again: float, tries: int) -> tuple[float, float, float]:
    """Good share, mean and standard deviation of passes: absorbing chain, one state for each pass."""
    fails = [first] + [again] * tries
    stay = np.diag(fails[:-1], 1)
    fundamental = np.linalg.inv(np.eye(tries + 1) - stay)
    mean = fundamental.sum(axis=1)
    square = (2 * fundamental - np.eye(tries + 1)) @ mean
    good = fundamental[0] @ (1 - np.array(fails))
    return float(good), float(mean[0]), math.sqrt(float(square[0] - mean[0] ** 2))


def starts_by_flow(yields: list[float], good: float) -> float:
    """Units to start, from the flow equations into and out of each station as one linear system."""
    count = len(yields)
    matrix, right = np.zeros((count + 1, count + 1)), np.zeros(count + 1)
    for i, value in enumerate(yields):
        matrix[i, i], matrix[i, i + 1] = value, -1
    matrix[count, count], right[count] = 1, good
    return float(np.linalg.solve(matrix, right)[0])


def capacity_by_search(yields: list[float], times: list[float]) -> float:
    """Good units at the largest rate of starts that overloads no station."""

    def spare(start: float) -> float:
        flow, most = start, 0.0
        for value, time in zip(yields, times, strict=True):
            most = max(most, flow * time)
            flow *= value
        return 1 - most

    start = brentq(spare, 1e-9, 1e3, xtol=1e-15)
    return start * math.prod(yields)


def right_first_time(yields: list[float]) -> float:
    """Share that passes every step, over all patterns of pass and fail, in exact fractions."""
    exact = [Fraction(str(value)) for value in yields]
    total = Fraction(0)
    for pattern in itertools.product((True, False), repeat=len(yields)):
        chance = math.prod(y if passed else 1 - y for y, passed in zip(exact, pattern, strict=True))
        total += chance if all(pattern) else 0
    return float(total)


def counted_lot(defective: float, false_reject: float, false_accept: float) -> tuple[float, float, float]:
    """Accepted share, bad among accepted, good among rejected: counts of a lot of ten million units."""
    lot = 10**7
    bad = round(lot * defective)
    good = lot - bad
    good_out, bad_in = round(good * false_reject), round(bad * false_accept)
    accepted = good - good_out + bad_in
    return accepted / lot, bad_in / accepted, good_out / (lot - accepted)


def updated_belief(defective: float, false_reject: float, false_accept: float, inspections: int) -> float:
    """Bad share of what passes, updated after each inspection by odds."""
    odds = defective / (1 - defective)
    for _ in range(inspections):
        odds *= false_accept / (1 - false_reject)
    return odds / (1 + odds)


def reworked_until_accepted(
    defective: float, false_reject: float, false_accept: float
) -> tuple[float, float]:
    """Passes per accepted unit and bad share of those: absorbing chain of work, good or bad at inspection."""
    stay = np.array(
        [[0, 1 - defective, defective], [false_reject, 0, 0], [1 - false_accept, 0, 0]], dtype=float
    )
    leave = np.array([[0, 0], [1 - false_reject, 0], [0, false_accept]])  # accepted good, accepted bad
    visits = np.linalg.inv(np.eye(3) - stay)
    return float(visits[0, 0]), float((visits @ leave)[0, 1])


def explicit_line(means: list[float], places: list[int], scrap: list[float]) -> float:
    """Good output of a saturated line from a chain of what each station does and each store has."""

    def settled(does, stored):
        does, stored = list(does), list(stored)
        moved = True
        while moved:
            moved = False
            for i in range(len(means)):
                if does[i] == "holds" and stored[i] < places[i]:
                    does[i], stored[i], moved = "waits", stored[i] + 1, True
                if does[i] == "waits" and i == 0:
                    does[i], moved = "works", True
                elif does[i] == "waits" and stored[i - 1]:
                    does[i], stored[i - 1], moved = "works", stored[i - 1] - 1, True
                elif does[i] == "waits" and does[i - 1] == "holds":
                    does[i], does[i - 1], moved = "works", "waits", True
        return tuple(does), tuple(stored)

    def moves(state):
        does, stored = state
        for i, what in enumerate(does):
            if what == "works":
                if scrap[i]:
                    yield settled([*does[:i], "waits", *does[i + 1 :]], stored), scrap[i] / means[i]
                after = "holds" if i < len(means) - 1 else "waits"
                yield settled([*does[:i], after, *does[i + 1 :]], stored), (1 - scrap[i]) / means[i]

    shares = chain_shares(settled(["waits"] * len(means), [0] * len(places)), moves)
    busy = sum(share for (does, _), share in shares.items() if does[-1] == "works")
    return busy * (1 - scrap[-1]) / means[-1]


def two_stations(first: float, second: float, places: int) -> float:
    """Rate of two exponential stations: number between them is geometric on 0 ... places + 2 (Hunt 1956)."""
    ratio = second / first
    weights = [ratio**n for n in range(places + 3)]
    return (1 - weights[0] / sum(weights)) / second


FIVE_STATIONS = [0.99, 0.97, 0.995, 0.96, 0.985], [0.4, 0.42, 0.45, 0.44, 0.46]
KNOWN = [
    Known(
        "fails 10 %: passes", lambda: rework(0.1).passes, 1.111111111,
        lambda: passes_by_sums(0.1)[0], KEMENY,
    ),
    Known(
        "fails 10 %: deviation of passes", lambda: rework(0.1).passes_deviation, 0.3513641845,
        lambda: passes_by_sums(0.1)[1], KEMENY,
    ),
    Known(
        "fails 25 %: deviation of passes", lambda: rework(0.25).passes_deviation, 0.6666666667,
        lambda: passes_by_sums(0.25)[1], KEMENY,
    ),
    Known(
        "fails 3 %: passes", lambda: rework(0.03).passes, 1.030927835,
        lambda: passes_by_sums(0.03)[0], KEMENY,
    ),
    Known(
        "one rework try: good", lambda: rework(0.08, 0.2, 1).final_yield, 0.984,
        lambda: passes_by_chain(0.08, 0.2, 1)[0], KEMENY,
    ),
    Known(
        "one rework try: passes", lambda: rework(0.08, 0.2, 1).passes, 1.08,
        lambda: passes_by_chain(0.08, 0.2, 1)[1], KEMENY,
    ),
    Known(
        "two rework tries: passes", lambda: rework(0.15, tries=2).passes, 1.1725,
        lambda: passes_by_chain(0.15, 0.15, 2)[1], KEMENY,
    ),
    Known(
        "three rework tries: good", lambda: rework(0.3, 0.5, 3).final_yield, 0.9625,
        lambda: passes_by_chain(0.3, 0.5, 3)[0], KEMENY,
    ),
    Known(
        "three stations that scrap: starts", lambda: starts_needed([0.98, 0.95, 0.99], 50), 54.24817455,
        lambda: starts_by_flow([0.98, 0.95, 0.99], 50), MONTGOMERY,
    ),
    Known(
        "four stations that scrap: starts", lambda: starts_needed([0.9, 0.85, 0.95, 0.99], 30), 41.69663612,
        lambda: starts_by_flow([0.9, 0.85, 0.95, 0.99], 30), MONTGOMERY,
    ),
    Known(
        "three stations that scrap: good per hour",
        lambda: 60 * scrap_capacity([0.98, 0.95, 0.99], [1.0, 0.9, 1.05]), 55.3014,
        lambda: 60 * capacity_by_search([0.98, 0.95, 0.99], [1.0, 0.9, 1.05]), MONTGOMERY,
    ),
    Known(
        "five stations that scrap: good per hour",
        lambda: 60 * scrap_capacity(*FIVE_STATIONS), 125.4496,
        lambda: 60 * capacity_by_search(*FIVE_STATIONS),
        MONTGOMERY,
    ),
    Known(
        "line that scraps after the second station", lambda: scrap_line([1, 1, 1], [1, 1], [0, 0.1, 0]),
        0.6190122864, lambda: explicit_line([1, 1, 1], [1, 1], [0, 0.1, 0]), BUZACOTT,
    ),
    Known(
        "line that scraps after two stations", lambda: scrap_line([0.9, 1, 1.1], [2, 2], [0.05, 0.05, 0]),
        0.6962123845, lambda: explicit_line([0.9, 1, 1.1], [2, 2], [0.05, 0.05, 0]), BUZACOTT,
    ),
    Known(
        "second station repeats 10 %, one place", lambda: scrap_line([1, 0.9 / 0.9], [1], [0, 0]), 0.75,
        lambda: two_stations(1, 0.9 / 0.9, 1), BUZACOTT,
    ),
    Known(
        "second station repeats 20 %, three places", lambda: scrap_line([1, 1 / 0.8], [3], [0, 0]),
        0.7289444011, lambda: two_stations(1, 1 / 0.8, 3), BUZACOTT,
    ),
    Known(
        "five steps of 98 %", lambda: rolled_throughput_yield([0.98] * 5), 0.9039207968,
        lambda: right_first_time([0.98] * 5), MONTGOMERY,
    ),
    Known(
        "four unlike steps", lambda: rolled_throughput_yield([0.99, 0.95, 0.97, 0.9]), 0.8210565,
        lambda: right_first_time([0.99, 0.95, 0.97, 0.9]), MONTGOMERY,
    ),
    Known(
        "0.05 defects a unit", lambda: defect_free_share(0.05), 0.9512294245,
        lambda: (1 - 0.05e-7) ** 10**7, MONTGOMERY,
    ),
    Known(
        "0.3 defects a unit", lambda: defect_free_share(0.3), 0.7408182207,
        lambda: (1 - 0.3e-7) ** 10**7, MONTGOMERY, close=1e-7,
    ),
    Known(
        "2 % bad: escapes", lambda: inspection(0.02, 0.01, 0.05).outgoing_defective, 0.001029654036,
        lambda: counted_lot(0.02, 0.01, 0.05)[1], MONTGOMERY,
    ),
    Known(
        "2 % bad: good among rejected", lambda: inspection(0.02, 0.01, 0.05).rejected_good, 0.3402777778,
        lambda: counted_lot(0.02, 0.01, 0.05)[2], MONTGOMERY,
    ),
    Known(
        "10 % bad: good among rejected", lambda: inspection(0.1, 0.03, 0.15).rejected_good, 0.2410714286,
        lambda: counted_lot(0.1, 0.03, 0.15)[2], MONTGOMERY,
    ),
    Known(
        "0.5 % bad: escapes", lambda: inspection(0.005, 0.02, 0.01).outgoing_defective, 5.127416295e-05,
        lambda: counted_lot(0.005, 0.02, 0.01)[1], MONTGOMERY,
    ),
    Known(
        "rework on inspection, 5 % bad: passes", lambda: inspection(0.05, 0.02, 0.1).passes_per_accepted,
        1.068376068, lambda: reworked_until_accepted(0.05, 0.02, 0.1)[0], KEMENY,
    ),
    Known(
        "rework on inspection, 5 % bad: escapes", lambda: inspection(0.05, 0.02, 0.1).outgoing_defective,
        0.005341880342, lambda: reworked_until_accepted(0.05, 0.02, 0.1)[1], KEMENY,
    ),
    Known(
        "rework on inspection, 20 % bad: escapes", lambda: inspection(0.2, 0.05, 0.05).outgoing_defective,
        0.01298701299, lambda: reworked_until_accepted(0.2, 0.05, 0.05)[1], KEMENY,
    ),
    Known(
        "rework on inspection, 1 % bad: passes", lambda: inspection(0.01, 0.03, 0.2).passes_per_accepted,
        1.039176972, lambda: reworked_until_accepted(0.01, 0.03, 0.2)[0], KEMENY,
    ),
    Known(
        "two inspections: escapes", lambda: inspection(0.05, 0.02, 0.1, 2).outgoing_defective,
        0.0005477171151, lambda: updated_belief(0.05, 0.02, 0.1, 2), MONTGOMERY,
    ),
    Known(
        "three inspections: escapes", lambda: inspection(0.1, 0.05, 0.2, 3).outgoing_defective,
        0.001035682499, lambda: updated_belief(0.1, 0.05, 0.2, 3), MONTGOMERY,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


@pytest.mark.parametrize(("first", "again", "tries"), [(0.3, 0.5, 3), (0.2, 0.9, 6), (0.4, 0.1, 0)])
def test_limited_rework_by_the_absorbing_chain(first, again, tries):
    """Good share, mean and deviation of passes."""
    found = rework(first, again, tries)
    good, mean, deviation = passes_by_chain(first, again, tries)
    assert found.final_yield == pytest.approx(good)
    assert found.passes == pytest.approx(mean)
    assert found.passes_deviation == pytest.approx(deviation, abs=1e-9)
    assert found.first_pass_yield == pytest.approx(1 - first)


def test_many_tries_are_unlimited_ones():
    """Two hundred tries and no limit give the same; unlike chances too; nothing failing means one pass."""
    for first, again in ((0.1, 0.1), (0.3, 0.5)):
        limited, free = rework(first, again, 200), rework(first, again)
        assert limited.passes == pytest.approx(free.passes)
        assert limited.passes_deviation == pytest.approx(free.passes_deviation)
        assert free.final_yield == 1
    assert rework(0.0).passes == 1
    assert rework(0.0).passes_deviation == 0
    assert rework(0.0, 1.0).passes == 1


def test_what_rework_takes_of_the_capacity():
    """A tenth fails a pass of 1 min: 54 good ones an hour, a tenth of all passes is rework."""
    found = rework(0.1)
    assert 60 * found.good_rate(1.0) == pytest.approx(54)
    assert found.rework_share == pytest.approx(0.1)
    # 1000 units started: 80 rework passes of 3 min, 984 good
    limited = rework(0.08, 0.2, 1)
    assert limited.good_rate(1.0, 3.0) == pytest.approx(984 / (1000 + 80 * 3))
    assert limited.passes_per_good == pytest.approx(1080 / 984)
    assert limited.starts_per_good == pytest.approx(1000 / 984)


def test_counts_of_an_inspected_lot():
    """Accepted and rejected shares, both ways to be wrong, and what a rejection says about a unit."""
    accepted, escapes, good_out = counted_lot(0.02, 0.01, 0.05)
    found = inspection(0.02, 0.01, 0.05)
    assert found.accepted == pytest.approx(accepted) == pytest.approx(0.9712)
    assert found.rejected == pytest.approx(0.0288)
    assert found.outgoing_defective == pytest.approx(escapes)
    assert found.rejected_defective == pytest.approx(1 - good_out)
    assert found.good_lost == pytest.approx(0.01)
    assert inspection(0.05, 0.02, 0.1, 2).good_lost == pytest.approx(0.0396)
    assert inspection(0.1, 0.05, 0.2, 3).good_lost == pytest.approx(0.142625)


def test_perfect_and_useless_inspections():
    """Perfect: nothing bad out, nothing good lost; one that accepts all changes nothing."""
    perfect = inspection(0.1, 0, 0)
    assert (perfect.accepted, perfect.outgoing_defective, perfect.rejected_good) == (0.9, 0, 0)
    blind = inspection(0.1, 0, 1)
    assert (blind.accepted, blind.outgoing_defective, blind.rejected_good) == (1, pytest.approx(0.1), 0)


def test_yields_of_equal_steps():
    """Five steps that are each as good as the fifth root give the whole."""
    assert rolled_throughput_yield([normalised_yield(0.9, 5)] * 5) == pytest.approx(0.9)
    assert normalised_yield(0.0, 3) == 0


@pytest.mark.parametrize(
    ("means", "places", "scrap"),
    [
        ([1.0, 1.0, 1.0], [0, 0], [0.0, 0.0, 0.0]),
        ([1.0, 0.5, 0.8, 1.2], [0, 2, 1], [0.1, 0.0, 0.3, 0.2]),
        ([0.7, 1.0], [0], [0.5, 0.5]),
    ],
)
def test_lines_that_scrap_by_the_explicit_chain(means, places, scrap):
    """Other lines, among them three equal stations without places: 22/39 of one (Hunt 1956)."""
    assert scrap_line(means, places, scrap) == pytest.approx(explicit_line(means, places, scrap))
    if not any(scrap):
        assert scrap_line(means, places, scrap) == pytest.approx(22 / 39)


def test_lines_that_scrap_in_the_limit():
    """One station alone; all scrap; much room: the station that limits, as in the flow equations."""
    assert scrap_line([2.0], [], [0.1]) == pytest.approx(0.45)
    assert scrap_line([1, 1], [3], [1.0, 0.0]) == pytest.approx(0)
    roomy = scrap_line([1.0, 0.5], [60], [0.2, 0.1])
    assert roomy == pytest.approx(scrap_capacity([0.8, 0.9], [1.0, 0.5]))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rework(1.1), "chance to fail the first pass must be from 0 to 1, not 1.1"),
        (lambda: rework(0.1, -0.2), "chance to fail a rework pass must be from 0 to 1, not -0.2"),
        (lambda: rework(0.1, 0.2, 1.5), "number of tries must be a whole number, 0 or more, not 1.5"),
        (lambda: rework(0.1, 1.0), "would be reworked for ever; limit the tries"),
        (lambda: rework(1.0, 1.0, 4), "nothing would become good"),
        (lambda: rework(0.1).good_rate(0), "time of a pass must be a finite number above 0, not 0"),
        (lambda: rework(0.1).good_rate(1, -1), "time of a rework pass must be a finite number above 0"),
        (lambda: rolled_throughput_yield([]), "yields must have at least one entry"),
        (lambda: rolled_throughput_yield([0.9, 98]), "yield must be from 0 to 1, not 98"),
        (lambda: defect_free_share(-0.1), "defects per unit must be a finite number, 0 or more, not -0.1"),
        (lambda: normalised_yield(0.9, 0), "steps must be a whole number, 1 or more, not 0"),
        (lambda: starts_needed([0.9, 0.0], 50), "product of the yields must be a finite number above 0"),
        (lambda: starts_needed([0.9], -1), "good units must be a finite number, 0 or more, not -1"),
        (lambda: scrap_capacity([0.9], [1, 1]), "process times has 2 entries and yields has 1"),
        (lambda: inspection(-0.1, 0, 0), "defective share must be from 0 to 1, not -0.1"),
        (lambda: inspection(0.1, 0, 2), "share of false accepts must be from 0 to 1, not 2"),
        (lambda: inspection(0.1, 1, 0), "nothing would be accepted"),
        (lambda: inspection(0.1, 0, 0, 0), "number of inspections must be a whole number, 1 or more, not 0"),
        (lambda: scrap_line([1, 1], [1, 1], [0, 0]), "2 stations have 1 stores between them, not 2"),
        (lambda: scrap_line([1, 1], [1], [0]), "process times has 2 entries and scrap has 1"),
        (lambda: scrap_line([1, 1], [1], [0, 1.5]), "chance of scrap must be from 0 to 1, not 1.5"),
        (lambda: scrap_line([1] * 9, [3] * 8, [0] * 9), "more than 10000 states"),
        (lambda: scrap_line([1, 2], [4000], [0, 0]), "shares of the states are too unlike; fewer"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
