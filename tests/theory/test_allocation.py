"""Best places and best work: tables of exact optima, brute force and a search that knows no derivative."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Sequence
from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from cellsim.theory.allocation import allocations, best_places, best_work, rate_with
from cellsim.theory.longer_lines import exponential_decomposition
from cellsim.theory.saturated import line_figures

# Equal exponential stations: total of places, one of the best allocations, its rate; by a separate program.
# Places as equal as possible, spare ones in the middle: Hillier, F. S. and So, K. C. (1991), The effect of
# the coefficient of variation of operation times on the allocation of storage space in production line
# systems, IIE Transactions 23(2), 198-206 (from memory).
BALANCED = {
    3: [
        (1, (1, 0), 0.613333),
        (2, (1, 1), 0.670466),
        (3, (2, 1), 0.700317),
        (5, (3, 2), 0.754345),
        (7, (3, 4), 0.791506),
        (8, (4, 4), 0.807486),
    ],
    4: [
        (1, (0, 1, 0), 0.558860),
        (2, (1, 1, 0), 0.589703),
        (3, (1, 1, 1), 0.631153),
        (4, (1, 2, 1), 0.657175),
        (5, (1, 2, 2), 0.676672),
        (6, (2, 2, 2), 0.700713),
        (7, (2, 3, 2), 0.718340),
        (8, (2, 3, 3), 0.731859),
        (9, (3, 3, 3), 0.747710),
        (10, (3, 4, 3), 0.760540),
        (11, (3, 4, 4), 0.770483),
    ],
    5: [
        (1, (0, 1, 0, 0), 0.519125),
        (2, (0, 1, 1, 0), 0.553091),
        (3, (1, 1, 1, 0), 0.575793),
        (4, (1, 1, 1, 1), 0.607583),
        (5, (1, 2, 1, 1), 0.627503),
        (6, (1, 2, 2, 1), 0.647957),
    ],
    6: [
        (1, (0, 0, 1, 0, 0), 0.496023),
        (2, (0, 1, 0, 1, 0), 0.522162),
        (3, (0, 1, 1, 1, 0), 0.548562),
    ],
}
# Five exponential stations of mean 1 but one, six places: which is slow, how much, the best allocation.
SLOW = [
    (1, 1.1, (1, 2, 2, 1), 0.635100),
    (1, 1.3, (2, 2, 1, 1), 0.609312),
    (3, 1.3, (1, 2, 2, 1), 0.598795),
    (1, 2.0, (4, 1, 1, 0), 0.482074),
    (2, 2.0, (2, 3, 1, 0), 0.468443),
    (3, 2.0, (0, 3, 3, 0), 0.465588),
]


def rate_in_fractions(means: Sequence[Fraction]) -> Fraction:
    """Rate of three exponential stations without places, its eight balances solved without rounding.

    State: units finished by the first and not by the second, and by the second and not by the third.
    """
    moves = {  # from state: by which station to which state
        (0, 0): {0: (1, 0)},
        (1, 0): {0: (2, 0), 1: (0, 1)},
        (2, 0): {1: (1, 1)},
        (0, 1): {0: (1, 1), 2: (0, 0)},
        (1, 1): {0: (2, 1), 1: (0, 2), 2: (1, 0)},
        (2, 1): {1: (1, 2), 2: (2, 0)},
        (0, 2): {0: (1, 2), 2: (0, 1)},
        (1, 2): {2: (1, 1)},
    }
    states = list(moves)
    rows = [[Fraction(0)] * (len(states) + 1) for _ in states]
    for here, out in enumerate(moves.values()):
        for station, to in out.items():
            rows[states.index(to)][here] += 1 / means[station]
            rows[here][here] -= 1 / means[station]
    rows[-1] = [Fraction(1)] * (len(states) + 1)
    for k in range(len(states)):
        pivot = next(r for r in range(k, len(states)) if rows[r][k] != 0)
        rows[k], rows[pivot] = rows[pivot], rows[k]
        rows[k] = [x / rows[k][k] for x in rows[k]]
        for r in range(len(states)):
            if r != k:
                rows[r] = [x - rows[r][k] * y for x, y in zip(rows[r], rows[k], strict=True)]
    return sum((rows[k][-1] for k, out in enumerate(moves.values()) if 2 in out), Fraction(0)) / means[2]


def slope_in_fractions(middle: Fraction) -> Fraction:
    """Change of that rate with the time of the middle station, total work 3, outer stations alike."""
    step = Fraction(1, 10**15)
    below, above = (rate_in_fractions([(3 - x) / 2, x, (3 - x) / 2]) for x in (middle - step, middle + step))
    return (above - below) / (2 * step)


def test_fractions_give_the_balanced_line() -> None:
    """22/39 (Hunt 1956)."""
    assert rate_in_fractions([Fraction(1)] * 3) == Fraction(22, 39)


@pytest.mark.parametrize("stations", BALANCED)
def test_best_places_of_balanced_lines(stations: int) -> None:
    """Best allocation and rate; its mirror image is as good and is told too."""
    for total, places, rate in BALANCED[stations]:
        found = best_places(rate_with([1] * stations), stations - 1, total)
        assert found.rate == pytest.approx(rate, abs=6e-7)
        assert set(found.places) == {places, places[::-1]}


@pytest.mark.parametrize(("station", "slower", "places", "rate"), SLOW)
def test_a_slow_station_draws_places(station: int, slower: float, places: tuple, rate: float) -> None:
    """Slower than the others, clearly slower where the places move; values by a separate program."""
    means = [1.0] * 5
    means[station - 1] = slower
    found = best_places(rate_with(means), 4, 6)
    assert found.places == (places,)
    assert found.rate == pytest.approx(rate, abs=6e-7)


@pytest.mark.parametrize(
    ("places", "rate"),
    [
        ((8, 0), 0.665575),
        ((0, 0, 6), 0.563845),
        ((6, 0, 0, 0), 0.514732),
        ((1, 1, 1, 1, 0), 0.566448),
        ((1, 1, 2, 1, 1), 0.609230),
        ((2, 2, 2, 1), 0.662351),
        ((3, 5, 3), 0.769874),
    ],
)
def test_other_allocations_of_balanced_lines(places: tuple, rate: float) -> None:
    """All places at one end, the worst; best ones of long lines; a second best; by a separate program."""
    assert rate_with([1] * (len(places) + 1))(places) == pytest.approx(rate, abs=6e-7)


UNLIKE = [1 / x for x in (1, 0.9, 1.1, 0.95, 1.05)]  # by a separate program, best of each total:
UNLIKE_BEST = [0.481251, 0.515792, 0.546011, 0.572275, 0.600371, 0.620920, 0.638499]


def test_the_best_rate_is_not_concave_in_the_total() -> None:
    """Rates 1, 0.9, 1.1, 0.95, 1.05: the fourth place gains more than the third; 0.65 takes seven."""
    found = [best_places(rate_with(UNLIKE), 4, total) for total in range(7)]
    assert [one.rate for one in found] == pytest.approx(UNLIKE_BEST, abs=6e-7)
    assert [found[k].places for k in (3, 6)] == [((1, 1, 1, 0),), ((1, 2, 2, 1),)]
    gains = np.diff([one.rate for one in found])
    assert gains[3] > gains[2]
    assert [next(k for k, one in enumerate(found) if one.rate >= rate) for rate in (0.55, 0.6)] == [3, 4]
    assert found[6].rate < 0.65 < rate_with(UNLIKE)((2, 2, 2, 1)) == pytest.approx(0.655860, abs=6e-7)


def test_the_best_profit_is_at_seven_places() -> None:
    """4 a unit, 60 x rate of them an hour, 4 a place: 129.41 at seven, less beside; by a separate program."""
    rate = rate_with(UNLIKE)
    profits = [240 * rate(places) - 4 * sum(places) for places in ((1, 2, 2, 1), (2, 2, 2, 1), (2, 2, 2, 2))]
    assert profits == pytest.approx([129.239784, 129.406517, 129.032662], abs=2e-6)


def test_one_store_has_decreasing_returns_and_stores_help_each_other() -> None:
    """Rates 1, 0.9, 1.1, 0.95: the next place of one store always gains less; two stores gain together.

    Meester, L. E. and Shanthikumar, J. G. (1990), Concavity of the throughput of tandem queueing systems
    with finite buffer storage space, Advances in Applied Probability 22(3), 764-767 (from memory).
    """
    rate = functools.cache(rate_with([1, 1 / 0.9, 1 / 1.1, 1 / 0.95]))
    assert [rate(x) for x in ((0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0))] == pytest.approx(
        [0.504960, 0.534648, 0.547288, 0.580270], abs=6e-7
    )
    assert rate((1, 1, 0)) - rate((0, 1, 0)) > rate((1, 0, 0)) - rate((0, 0, 0))
    for others in allocations(2, 3):
        for first in range(3):
            low, middle, high = (rate((first + k, *others)) for k in range(3))
            assert high - middle < middle - low


def test_how_often_a_place_makes_another_worth_more() -> None:
    """The same line with 0 to 3 places in each store: in 151 of 192 cases; by a separate program."""
    rate = functools.cache(rate_with([1, 1 / 0.9, 1 / 1.1, 1 / 0.95]))
    helped = 0
    for places in itertools.product(range(4), repeat=3):
        for one, other in itertools.combinations(range(3), 2):

            def more(*stores: int, places: tuple[int, ...] = places) -> float:
                return rate(tuple(n + (k in stores) for k, n in enumerate(places)))

            helped += more(one, other) - more(other) > more(one) - more()
    assert helped == 151


def test_all_allocations_are_told_once() -> None:
    """As many as the binomial coefficient, all different, all with the right sum."""
    for stores, total in ((1, 4), (3, 0), (3, 5), (5, 6)):
        found = list(allocations(stores, total))
        assert len(found) == len(set(found)) == math.comb(total + stores - 1, stores - 1)
        assert all(len(places) == stores and sum(places) == total for places in found)


def test_any_rate_can_judge_places() -> None:
    """A decomposition instead of the exact chain: the answer is its own best, found by hand here."""
    means = [1.0, 1.3, 0.9, 1.1]

    def rate(places: tuple[int, ...]) -> float:
        return exponential_decomposition(means, places).rate

    found = best_places(rate, 3, 4)
    assert found.rate == max(rate((a, b, 4 - a - b)) for a in range(5) for b in range(5 - a))
    assert rate(found.places[0]) == found.rate


def test_the_bowl_of_three_stations() -> None:
    """Work of 3 min: 0.82893437 min in the middle, rate 0.5671818582, half a per cent above equal work.

    Hillier and Boling (1966), see `best_work`; the rate by two separate programs.  The top is so flat that
    a search in floating point errs in the eighth digit of the time, so the slope is taken in fractions.
    """
    found = best_work(3.0, [0, 0])
    assert line_figures(found.tolist(), [0, 0]).rate == pytest.approx(0.5671818582, rel=2e-10)
    assert found[0] == pytest.approx(found[2], rel=1e-9)
    middle = Fraction(found[1])
    assert (
        slope_in_fractions(middle - Fraction(1, 10**9)) > 0 > slope_in_fractions(middle + Fraction(1, 10**9))
    )
    assert found[1] == pytest.approx(0.82893437, abs=1e-8)


@pytest.mark.parametrize("places", [[0, 0], [1, 1], [2, 0], [0, 3]])
def test_no_work_moved_between_two_stations_gains(places: list[int]) -> None:
    """A bounded search along each pair of stations finds nothing better; equal work is worse."""
    best = best_work(3.0, places)
    rate = line_figures(best.tolist(), places).rate
    assert best.sum() == pytest.approx(3.0, rel=1e-12)
    for giver, taker in ((0, 1), (1, 2), (0, 2)):

        def moved(amount: float, giver: int = giver, taker: int = taker) -> float:
            tried = best.copy()
            tried[giver] -= amount
            tried[taker] += amount
            return -line_figures(tried.tolist(), places).rate

        found = minimize_scalar(moved, bounds=(-0.4, 0.4), method="bounded", options={"xatol": 1e-9})
        assert -found.fun == pytest.approx(rate, rel=1e-12)
        assert abs(found.x) < 1e-5
    assert line_figures([1, 1, 1], places).rate < rate


def test_work_of_one_station_and_scale() -> None:
    """One station has all of it; twice the work is twice the times; two stations share equally."""
    assert best_work(4.0, []).tolist() == [4.0]
    assert best_work(6.0, [0, 0]) == pytest.approx(2 * best_work(3.0, [0, 0]), rel=1e-7)
    assert best_work(2.0, [3]) == pytest.approx([1.0, 1.0], rel=1e-9)
    uneven = best_work(2.0, [5, 0, 5, 0])  # where a plain search for the root runs away
    assert (uneven > 0).all()
    assert uneven.sum() == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: list(allocations(0, 3)), "got 3 places, 0 stores"),
        (lambda: best_places(lambda _: 1.0, 2, -1), "got -1 places, 2 stores"),
        (lambda: best_places(lambda _: 1.0, 9, 20), "20 places go to 9 stores in 3108105 ways; up to 20000"),
        (lambda: best_work(0.0, [1]), "work in all is a finite number above 0, got 0"),
        (lambda: best_work(1.0, [-1]), "whole numbers of at least 0, got -1"),
    ],
)
def test_wrong_questions_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
