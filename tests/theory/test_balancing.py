"""Line balancing: bounds, rules and exact answers against published instances and plain enumeration."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cellsim.published.line_balancing import APPLIANCE, BOWMAN_8, JACKSON_11, SEVEN, WAGON, WING
from cellsim.theory.balancing import (
    Contradiction,
    Work,
    balance_efficiency,
    bounds,
    holds,
    loads,
    merged,
    people_for,
    reachable,
    smoothness_index,
)
from cellsim.theory.balancing_rules import by_rules, positional_weights, rules, smoothed
from cellsim.theory.exact_balancing import NoBalance, fewest_stations, smallest_cycle, smooth

FEW = settings(
    max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


def keeps(work: Work, seats: tuple[int, ...], stations: int) -> bool:
    """Whether an assignment keeps all conditions but the cycle, written the slow way."""
    if set(seats) != set(range(stations)):
        return False
    order = all(seats[i] <= seats[j] for i, j in work.before)
    zones = all(seats[i] != seats[j] for i, j in work.apart) and all(
        seats[i] == seats[j] for group in work.together for i in group for j in group
    )
    fixed = all(seats[i] == station for i, station in work.fixed)
    tools = all(len({seats[i] for i in users}) <= count for users, count in work.tools)
    if work.can is None:
        return order and zones and fixed and tools
    people = range(len(work.can[0]))
    manned = any(
        all(work.can[i][who[seats[i]]] for i in range(work.count))
        for who in itertools.permutations(people, stations)
    )
    return order and zones and fixed and tools and manned


def by_enumeration(work: Work, stations: int) -> int | None:
    """The smallest cycle for so many stations, by trying everything; None where nothing is possible."""
    cycles = [
        max(work.least_cycle, *(sum(t for t, s in zip(work.times, seats, strict=True) if s == k)
                                for k in range(stations)))
        for seats in itertools.product(range(stations), repeat=work.count)
        if keeps(work, seats, stations)
    ]  # fmt: skip
    return min(cycles, default=None)


def by_subsets(work: Work, cycle: int) -> int:
    """Fewest stations by dynamic programming over the sets that can be done.

    After Held, Karp and Shareshian 1963 (from memory).  The value of a set is (stations opened, time in the
    last one), least first; no zones.
    """
    ahead = [sum(1 << i for i, j in work.before if j == k) for k in range(work.count)]
    best = {0: (1, 0)}
    for size in range(work.count):
        for done in [s for s in best if s.bit_count() == size]:
            count, filled = best[done]
            for k, time in enumerate(work.times):
                if not done >> k & 1 and ahead[k] & ~done == 0:
                    one = (count, filled + time) if filled + time <= cycle else (count + 1, time)
                    key = done | 1 << k
                    best[key] = min(best.get(key, one), one)
    return best[(1 << work.count) - 1][0]


@st.composite
def orders(draw: st.DrawFn, most: int) -> Work:
    """Elements with times from 1 to 12 and some order."""
    times = draw(st.lists(st.integers(1, 12), min_size=2, max_size=most))
    pairs = [(i, j) for j in range(len(times)) for i in range(j)]
    return Work(tuple(times), tuple(draw(st.lists(st.sampled_from(pairs), unique=True, max_size=len(times)))))


@st.composite
def zoned(draw: st.DrawFn) -> Work:
    """A few elements with every kind of condition."""
    work = draw(orders(5))
    pairs = [(i, j) for j in range(work.count) for i in range(j)]
    some = st.lists(st.sampled_from(pairs), unique=True, max_size=1)
    chance = draw(st.booleans())
    skills = st.lists(st.booleans(), min_size=3, max_size=3).map(tuple)
    return replace(
        work,
        apart=tuple(draw(some)),
        together=tuple(draw(some)),
        fixed=tuple(draw(st.lists(st.tuples(st.integers(0, work.count - 1), st.integers(0, 1)), max_size=1))),
        tools=((draw(st.sampled_from(pairs)), 1),) if chance else (),
        can=tuple(draw(skills) for _ in work.times) if draw(st.booleans()) else None,
        least_cycle=draw(st.sampled_from([0, 0, 9])),
    )


@FEW
@given(orders(8), st.integers(0, 12))
def test_fewest_stations_is_what_sets_give(work: Work, more: int) -> None:
    """Proven at once on small work, equal to dynamic programming, and the balance keeps cycle and order."""
    cycle = max(work.times) + more
    found = fewest_stations(work, cycle)
    assert found.seats is not None and found.proved
    assert max(found.seats) + 1 == found.bound == by_subsets(work, cycle)
    assert keeps(work, found.seats, found.bound) and max(loads(work, found.seats)) <= cycle
    small = bounds(work, cycle)
    assert max(small.content, small.large, small.order) <= found.bound


@FEW
@given(zoned(), st.integers(1, 3))
def test_smallest_cycle_is_what_trying_everything_gives(work: Work, stations: int) -> None:
    """With zones, tools, fixed places, people and a least cycle; where nothing is possible that is said."""
    truth = by_enumeration(work, stations) if stations <= work.count else None
    try:
        found = smallest_cycle(work, stations)
    except ValueError:
        assert truth is None
        return
    assert found.proved and found.seats is not None and found.bound == truth
    assert keeps(work, found.seats, stations)
    assert max(*loads(work, found.seats), work.least_cycle) == truth
    alike = smooth(work, found.seats)
    assert keeps(work, alike, stations) and max(*loads(work, alike), work.least_cycle) <= truth
    assert sum(x * x for x in loads(work, alike)) <= sum(x * x for x in loads(work, found.seats))


@FEW
@given(zoned(), st.integers(8, 30))
def test_fewest_stations_with_conditions(work: Work, cycle: int) -> None:
    """The first number of stations for which trying everything finds a balance within the cycle."""
    cycle = max(cycle, *work.times, work.least_cycle)
    cycles = {m: by_enumeration(work, m) for m in range(1, min(work.count, work.people or 9) + 1)}
    truth = next((m for m, c in cycles.items() if c is not None and c <= cycle), None)
    try:
        found = fewest_stations(work, cycle)
    except ValueError:
        assert truth is None  # nothing keeps the conditions, or what must be together is too long
        return
    assert found.proved and found.bound == truth and found.seats is not None
    assert keeps(work, found.seats, found.bound)


@pytest.mark.parametrize(
    ("work", "cycle", "stations"),
    [(JACKSON_11, c, m) for c, m in ((7, 8), (9, 6), (10, 5), (13, 4), (14, 4), (21, 3))]
    + [(BOWMAN_8, 20, 5), (WING, 12, 6), (SEVEN, 120, 3), (APPLIANCE, 100, 5), (WAGON, 50, 4)],
)
def test_published_instances_by_the_second_way(work: Work, cycle: int, stations: int) -> None:
    """Dynamic programming too gives the published number (of the wagon: one fewer than its rule)."""
    assert by_subsets(work, cycle) == stations
    assert fewest_stations(work, cycle).bound == stations


def test_instances_are_those_that_are_known() -> None:
    """Sum of times, and order strength as printed by Scholl 1999 (from memory): 58.18 and 75.00 %."""

    def strength(work: Work) -> float:
        return float(reachable(work.count, work.before).sum()) / math.comb(work.count, 2)

    assert (sum(JACKSON_11.times), sum(BOWMAN_8.times)) == (46, 75)
    assert strength(JACKSON_11) == pytest.approx(0.5818, abs=5e-5)
    assert strength(BOWMAN_8) == pytest.approx(0.75, abs=5e-5)
    assert (sum(APPLIANCE.times), sum(WING.times), sum(WAGON.times), sum(SEVEN.times)) == (400, 66, 195, 325)


def test_bounds_by_hand() -> None:
    """Three long ones in a chain with short ones: each bound is worked out by hand."""
    found = bounds(Work((6, 6, 5, 5, 1), before=((0, 1), (1, 4)), fixed=((4, 5),)), 10)
    # 23 in tens; two over five and two of five; 13 up to the last, 6 + 6 + 1, so 2 before it and 1 from it on
    assert (found.content, found.large, found.order, found.fixed, found.best) == (3, 3, 2, 6, 6)


def test_no_time_is_told_with_its_gap() -> None:
    """Next to no time on 60 elements: the balance of the rules stays, with a bound below it."""
    rng = np.random.default_rng(5)
    times = tuple(int(t) for t in rng.integers(10, 300, 60))
    work = Work(times, tuple((i, i + int(rng.integers(1, 9))) for i in range(50)))
    start = next(iter(by_rules(work, sum(times) // 9)))
    found = smallest_cycle(work, max(start) + 1, start=start, seconds=0.01)
    assert found.seats is not None and not found.proved
    assert -(-sum(times) // (max(start) + 1)) <= found.bound < max(loads(work, found.seats))


def test_contradictions_name_their_elements() -> None:
    """Each kind, with the elements it is about."""
    chain = Work((1, 1, 1), before=((0, 1), (1, 2)))
    for work, kind, members in (
        (replace(chain, together=((0, 2),), apart=((0, 1),)), "apart", (0, 1, 2)),
        (replace(chain, together=((0, 2),), fixed=((0, 0), (2, 1))), "fixed", (0, 2, 1)),
        (replace(chain, fixed=((0, 2), (2, 0))), "order", (0, 2)),
        (
            replace(chain, together=((0, 1),), can=((True, False), (False, True), (True, True))),
            "nobody",
            (0, 1),
        ),
    ):
        with pytest.raises(Contradiction) as caught:
            merged(work)
        assert (caught.value.kind, caught.value.members) == (kind, members)


def test_what_lies_between_goes_along() -> None:
    """First and last together take the middle along; two fixed to one station are together."""
    chain = Work((1, 2, 3, 4), before=((0, 1), (1, 2)))
    small, blocks = merged(replace(chain, together=((0, 2),)))
    assert blocks == ((0, 1, 2), (3,)) and small.times == (6, 4)
    assert merged(replace(chain, fixed=((0, 1), (3, 1))))[1] == ((0, 3), (1,), (2,))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: merged(Work(())), "at least one element"),
        (lambda: merged(Work((1, -1))), "no negative time"),
        (lambda: merged(Work((1, 1), before=((0, 1), (1, 0)))), "runs in a circle"),
        (lambda: bounds(Work((5, 3)), 4), "not be shorter than the longest element, 5; got 4"),
        (lambda: fewest_stations(Work((5, 3), least_cycle=9), 8), "longest element, 9; got 8"),
        (lambda: smallest_cycle(Work((5, 3)), 3), "1 to 2 stations .* got 3"),
        (lambda: smallest_cycle(Work((5, 3)), 0), "1 to 2 stations .* got 0"),
        (lambda: smallest_cycle(Work((5, 3)), 2, start=(0, 0)), "begin with"),
        (lambda: smoothness_index([]), "at least one station"),
        (lambda: balance_efficiency(10, 0, 5), "0 stations"),
        (lambda: balance_efficiency(11, 2, 5), "got 11"),
        (lambda: balance_efficiency(1, 2, -5), "cycle of -5"),
    ],
)
def test_bad_arguments(call, words: str) -> None:  # type: ignore[no-untyped-def]
    """What was given and what is allowed."""
    with pytest.raises(ValueError, match=words):
        call()


def test_impossible_is_proven() -> None:
    """Three that share the only tool and do not fit in one cycle; two people of whom one can do nothing."""
    tool = Work((5, 5, 5), tools=(((0, 1, 2), 1),))
    with pytest.raises(NoBalance, match="up to 3 stations"):
        fewest_stations(tool, 14)
    assert fewest_stations(tool, 15).bound == 1
    with pytest.raises(NoBalance, match="with 2 stations"):
        smallest_cycle(Work((5, 5), can=((True, False), (True, False))), 2)


def test_people_are_matched() -> None:
    """A chain of skills in which the first choice of everybody has to give way."""
    work = Work((1, 1, 1), can=((True, True, False), (True, False, False), (False, True, True)))
    assert people_for(work, [[0], [1], [2]]) == (1, 0, 2)
    assert people_for(work, [[0, 2], [1]]) == (1, 0)
    assert people_for(work, [[0, 1], [2]]) == (0, 1)
    assert people_for(replace(work, can=((True,), (True,), (True,))), [[0], [1]]) is None


def test_rules_and_smoothing_by_hand() -> None:
    """Weights of a small diagram; a lopsided balance is evened out within its cycle."""
    work = Work((3, 2, 4, 1), before=((0, 1), (0, 2), (1, 3), (2, 3)))
    assert positional_weights(work).tolist() == [10, 3, 5, 1]
    assert np.argsort(-rules(work)["fewest before it"]).tolist() == [0, 2, 1, 3]
    assert np.argsort(-rules(work)["most followers"]).tolist() == [0, 2, 1, 3]
    seats = (0, 0, 1, 1)
    assert smoothed(work, seats) == seats  # 5 and 5
    free = Work((3, 3, 2, 2, 2))
    assert sorted(loads(free, smoothed(free, (0, 0, 0, 1, 1)))) == [6, 6]
    assert holds(work, seats, 5) and not holds(work, seats, 4) and not holds(work, (1, 0, 1, 1), 9)
    assert smoothness_index([10, 8, 7]) == pytest.approx(math.sqrt(0 + 4 + 9))
