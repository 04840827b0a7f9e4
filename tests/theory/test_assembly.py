"""Assembly: published values, each computed a second time, limits, and what is refused.

Second ways: inclusion and exclusion, harmonic numbers, a chain of both stores, and a chain that says of every
feeder, place and position what is in it.
"""

from __future__ import annotations

import itertools
import math

import pytest
from second_ways import Known, chain_shares, check, named

from cellsim.theory.assembly import (
    assembly_rate,
    expected_maximum,
    fork_join_time,
    matching,
    synchronised_rate,
)

BHAT = (
    "model class in Bhat, U. N. (1986), Finite capacity assembly-like queues, Queueing Systems 1, 85-101 "
    "(from memory); the figure is that of the chain"
)
KASHYAP = (
    "Kashyap, B. R. K. (1966), The double-ended queue with bulk service and limited waiting space, "
    "Operations Research 14, 822-834 (from memory)"
)
FLATTO = (
    "Flatto, L. and Hahn, S. (1984), Two parallel queues created by arrivals with two demands I, SIAM "
    "Journal on Applied Mathematics 44, 1041-1053 (from memory)"
)


def fork_join_by_chain(rate: float, time: float, cut: int) -> float:
    """Mean time of an order, from the chain of both queues: the longer one holds all that are open."""

    def moves(state):
        a, b = state
        if max(a, b) < cut:
            yield (a + 1, b + 1), rate
        if a:
            yield (a - 1, b), 1 / time
        if b:
            yield (a, b - 1), 1 / time

    return sum(max(state) * share for state, share in chain_shares((0, 0), moves).items()) / rate


def included_and_excluded(means: list[float]) -> float:
    """Mean of the longest exponential time: sums over all subsets with alternating signs."""
    return sum(
        (-1) ** (size + 1) / sum(1 / mean for mean in some)
        for size in range(1, len(means) + 1)
        for some in itertools.combinations(means, size)
    )


def pairs_rate(rate_a: float, rate_b: float, places: int) -> float:
    """Pairs per minute from the chain of the numbers of A and of B that wait."""

    def moves(state):
        a, b = state
        if b:
            yield (0, b - 1), rate_a
        elif a < places:
            yield (a + 1, 0), rate_a
        if a:
            yield (a - 1, 0), rate_b
        elif b < places:
            yield (0, b + 1), rate_b

    shares = chain_shares((0, 0), moves)
    return sum((rate_a * (b > 0) + rate_b * (a > 0)) * share for (a, b), share in shares.items())


def explicit_rate(
    feeders: list[float], assembly: float, places: list[int], needs: list[int], preloading: bool
) -> float:
    """Assemblies per minute from a chain that moves every part: feeder, store, position in the assembly.

    State: for each feeder whether it holds a finished part, parts in its store, parts in the assembly; and
    whether the assembly works."""

    def settled(held, stored, loaded, works):
        held, stored, loaded = list(held), list(stored), list(loaded)
        moved = True
        while moved:
            moved = False
            for i, need in enumerate(needs):
                if held[i] and stored[i] < places[i]:
                    held[i], stored[i], moved = False, stored[i] + 1, True
                if preloading and not works and loaded[i] < need and (stored[i] or held[i]):
                    stored[i], held[i] = (stored[i] - 1, held[i]) if stored[i] else (0, False)
                    loaded[i] += 1
                    moved = True
            kit_waits = all(s + h >= need for s, h, need in zip(stored, held, needs, strict=True))
            if not preloading and not works and kit_waits:
                for i, need in enumerate(needs):
                    from_store = min(need, stored[i])
                    stored[i] -= from_store
                    held[i] = held[i] and from_store == need
                loaded, moved = list(needs), True
            works = works or loaded == list(needs)
        return tuple(held), tuple(stored), tuple(loaded), works

    def moves(state):
        held, stored, loaded, works = state
        if works:
            yield settled(held, stored, [0] * len(needs), False), 1 / assembly
        for i, feeder in enumerate(feeders):
            if not held[i]:
                yield settled([h or k == i for k, h in enumerate(held)], stored, loaded, works), 1 / feeder

    count = len(feeders)
    shares = chain_shares(((False,) * count, (0,) * count, (0,) * count, False), moves)
    return sum(share for (*_, works), share in shares.items() if works) / assembly


CASES = [
    ("1 A and 1 B, no places", [1, 1], 1, [0, 0], [1, 1], False, 0.5454545455),
    ("1 A and 1 B, no places, unequal", [1, 0.8], 1.25, [0, 0], [1, 1], False, 0.5290826202),
    ("1 A and 1 B, 2 places each", [1, 1], 1, [2, 2], [1, 1], False, 0.7319991454),
    ("1 A and 1 B, 5 places each", [1, 1], 1, [5, 5], [1, 1], False, 0.8304498171),
    ("2 A and 1 B, 2 places and 1", [0.5, 1], 1, [2, 1], [2, 1], False, 0.6647850288),
    ("2 A and 1 B, 4 places and 2", [0.5, 1], 1, [4, 2], [2, 1], False, 0.7424825726),
    ("preloading, no places", [1, 1], 1, [0, 0], [1, 1], True, 0.5777777778),
    ("preloading, 2 places each", [1, 1], 1, [2, 2], [1, 1], True, 0.7359194035),
]
KNOWN = [
    Known(
        words, lambda case=case: assembly_rate(*case), value, lambda case=case: explicit_rate(*case), BHAT,
    )
    for words, *case, value in CASES
] + [
    Known(
        "three equal stations that wait for the last", lambda: synchronised_rate([1, 1, 1]), 6 / 11,
        lambda: 1 / (1 + 1 / 2 + 1 / 3), "longest of three exponential times; in any textbook of probability",
    ),
    Known(
        "three unequal stations that wait for the last", lambda: synchronised_rate([1, 0.8, 1.25]),
        0.5290826202, lambda: 1 / included_and_excluded([1, 0.8, 1.25]),
        "longest of three exponential times; in any textbook of probability",
    ),
    Known(
        "pairs, 3 places each", lambda: matching(1, 1, 3, 3).rate, 0.8571428571, lambda: pairs_rate(1, 1, 3),
        KASHYAP,
    ),
    Known(
        "pairs, 10 places each", lambda: matching(2, 2, 10, 10).rate, 1.904761905,
        lambda: pairs_rate(2, 2, 10), KASHYAP,
    ),
    Known(
        "fork and join at 25 %", lambda: fork_join_time(0.25, 1), 47 / 24,
        lambda: fork_join_by_chain(0.25, 1, 40), FLATTO,
    ),
    Known(
        "fork and join at 50 %", lambda: fork_join_time(0.5, 1), 2.875,
        lambda: fork_join_by_chain(0.5, 1, 60), FLATTO,
    ),
]  # fmt: skip


@pytest.mark.parametrize("entry", named(KNOWN))
def test_known_values(entry):
    """Published values, and each by a second way."""
    check(entry)


@pytest.mark.parametrize("means", [[3.0], [1.0, 5.0], [0.01, 1.0, 40.0], [2.0, 2.0, 0.5, 1.0, 7.0, 3.0]])
def test_longest_time_by_inclusion_and_exclusion(means):
    """A few times, also of very different length."""
    assert expected_maximum(means) == pytest.approx(included_and_excluded(means), rel=1e-10)


@pytest.mark.parametrize("count", [1, 2, 10, 200])
def test_longest_of_equal_times_is_a_harmonic_number(count):
    """One after the other ends, so mean x (1 + 1/2 + ... + 1/n), where subsets would be too many."""
    harmonic = math.fsum(1 / k for k in range(1, count + 1))
    assert expected_maximum([3.0] * count) == pytest.approx(3 * harmonic, rel=1e-10)


def test_pairs_of_unequal_streams():
    """The slower stream limits; all figures against the chain, and every part is paired or lost."""
    found = matching(1.0, 1.6, 4, 4)
    assert found.rate == pytest.approx(pairs_rate(1.0, 1.6, 4))
    assert found.rate == pytest.approx(1.0 * (1 - found.loss[0]))
    assert found.rate == pytest.approx(1.6 * (1 - found.loss[1]))
    assert matching(1.0, 1.6, 300, 300).rate == pytest.approx(1.0)
    assert found.waiting[1] > found.waiting[0]


def test_one_waiting_store_is_a_loss_queue():
    """Without a place for B, A waits in M/M/1/K with B as its server: B is lost while no A waits."""
    found = matching(0.8, 1.0, 3, 0)
    assert found.loss[0] == pytest.approx(0.1734417344)  # M/M/1/3 at 80 %
    assert found.waiting[0] == pytest.approx(1.224932249)
    assert found.waiting[1] == 0


@pytest.mark.parametrize("preloading", [False, True])
def test_three_feeders_by_the_explicit_chain(preloading):
    """Three feeders with unequal times, places and needs."""
    case = ([0.6, 1.0, 0.4], 0.9, [1, 0, 2], [1, 1, 2], preloading)
    assert assembly_rate(*case) == pytest.approx(explicit_rate(*case))


def test_room_and_speed_in_the_limit():
    """Much room and a quick feeder leave one feeder and the assembly; a slow feeder sets the pace."""
    assert assembly_rate([1, 1e-4], 1, [2, 9]) == pytest.approx(4 / 5, rel=1e-3)  # (b + 2) / (b + 3)
    assert assembly_rate([50, 1], 1, [3, 3]) == pytest.approx(1 / 50, rel=1e-3)
    assert assembly_rate([1], 1, [4]) == pytest.approx(6 / 7)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: expected_maximum([]), "means must have at least one entry"),
        (lambda: synchronised_rate([1, 0]), "entry 2 of means must be a finite number above 0, not 0"),
        (lambda: matching(1, 0, 1, 1), "rate of B must be a finite number above 0, not 0"),
        (lambda: matching(1, 1, -1, 1), "places of A must be a whole number, 0 or more, not -1"),
        (lambda: matching(1, 1, 0, 0), "there must be at least one place"),
        (lambda: fork_join_time(0.5, 2), "utilisation would be 1"),
        (lambda: assembly_rate([1, 1], 1, [0]), "feeder times has 2 entries and places has 1"),
        (lambda: assembly_rate([1, 1], 1, [0, 0], [1]), "feeder times has 2 entries and needs has 1"),
        (lambda: assembly_rate([1, 1], 0, [0, 0]), "assembly time must be a finite number above 0, not 0"),
        (lambda: assembly_rate([1, 1], 1, [0, 0], [2, 1]), "a kit needs 2 parts, but only 1 can wait"),
        (lambda: assembly_rate([1, 1], 1, [0, -1]), "number of places must be a whole number, 0 or more"),
        (lambda: assembly_rate([1] * 4, 1, [20] * 4), "more than 20000 states"),
    ],
)  # fmt: skip
def test_what_is_refused(call, words):
    """Bad input is told what was given and what is allowed."""
    with pytest.raises(ValueError, match=words.replace(".", r"\.")):
        call()
