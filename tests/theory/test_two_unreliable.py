"""Two stations that stop: closed forms against published values, chains, and limits of small steps."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from explicit_lines import solved

from cellsim.theory.slotted import bernoulli_line, geometric_line
from cellsim.theory.two_unreliable import bernoulli_empty, bernoulli_pair, fluid_pair, geometric_pair

# Stop, repair, places with those of the stations, units per cycle (None: not stated), content.
# Gershwin, S. B. (1994), Manufacturing Systems Engineering, Prentice Hall, chapter 3 (two-machine line with
# deterministic processing); Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks,
# International Journal of Production Research 5(3), 183-200.  Ten digits by two separate programs.
GEOMETRIC = [
    ((0.01, 0.01), (0.1, 0.1), 4, 0.8409361365, 2.0),
    ((0.01, 0.01), (0.1, 0.1), 10, None, 5.0),
    ((0.01, 0.01), (0.1, 0.1), 20, 0.8705407225, 10.0),
    ((0.01, 0.02), (0.1, 0.1), 10, 0.7961286409, 6.52387981),
    ((0.01, 0.009), (0.15, 0.08), 12, None, 6.597214584),
    ((0.1, 0.08), (0.3, 0.25), 7, 0.6764926963, None),
]
# Chances to be up, places, units per cycle, content at ends of cycles.  Li, J. and Meerkov, S. M. (2009),
# Production Systems Engineering, Springer, chapter 4; ten digits by two separate programs.
BERNOULLI = [
    ((0.9, 0.9), 1, 0.8181818182, 0.9090909091),
    ((0.9, 0.9), 3, None, 1.935483871),
    ((0.9, 0.8), 2, 0.7787021631, None),
    ((0.75, 0.85), 5, 0.7461906876, 1.675011098),
    ((0.8, 0.8), 10, None, 5.392156863),
]


@pytest.mark.parametrize(("stop", "repair", "stored", "rate", "content"), GEOMETRIC)
def test_published_geometric_pairs(
    stop: tuple, repair: tuple, stored: int, rate: float | None, content: float | None
) -> None:
    """Rate and mean content, as far as stated."""
    found = geometric_pair(stop, repair, stored)
    assert rate is None or found.rate == pytest.approx(rate, rel=2e-10)
    assert content is None or found.content == pytest.approx(content, rel=2e-10)


def test_a_geometric_pair_in_full() -> None:
    """Stop 0.01, 0.02, repair 0.1, 0.15, six places; six decimals by a separate program."""
    found = geometric_pair([0.01, 0.02], [0.1, 0.15], 6)
    assert (found.rate, found.starved, found.blocked, found.content) == pytest.approx(
        (0.827915, 0.061696, 0.089294, 3.588056), abs=6e-7
    )


@pytest.mark.parametrize("seed", range(12))
def test_geometric_pairs_by_their_chain(seed: int) -> None:
    """Random chances, also large ones: rate, starved, blocked and content against the chain of steps."""
    luck = np.random.default_rng(seed)
    stop = luck.uniform(0.001, 0.5, 2).tolist()
    repair = luck.uniform(0.05, 1.0, 2).tolist()
    stored = int(luck.integers(4, 16))
    found, chain = geometric_pair(stop, repair, stored), geometric_line(stop, repair, [stored])
    assert found.rate == pytest.approx(chain.rate, rel=1e-9)
    assert found.content == pytest.approx(chain.content[0], rel=1e-9)
    assert (found.starved, found.blocked) == pytest.approx((chain.starved[1], chain.blocked[0]), rel=1e-8)


@pytest.mark.parametrize(
    ("stop", "repair", "alone"),
    # Buzacott (1967); Dallery, Y. and Gershwin, S. B. (1992), Queueing Systems 12, 3-94
    [((0.01, 0.02), (0.1, 0.1), 0.8333333333), ((0.05, 0.05), (0.5, 0.3), 0.8571428571)],
)
def test_unlimited_places(stop: tuple, repair: tuple, alone: float) -> None:
    """600 places: what the worse station makes alone; 100 000 places: no overflow."""
    assert geometric_pair(stop, repair, 600).rate == pytest.approx(alone, rel=2e-10)
    assert geometric_pair(stop, repair, 100_000).rate == pytest.approx(alone, rel=2e-10)
    assert geometric_pair(stop[::-1], repair[::-1], 100_000).rate == pytest.approx(alone, rel=2e-10)


def test_a_pair_turned_around() -> None:
    """Same rate; what was a unit is a free place, starved is blocked."""
    there = geometric_pair([0.01, 0.03], [0.2, 0.1], 9)
    back = geometric_pair([0.03, 0.01], [0.1, 0.2], 9)
    assert back.rate == pytest.approx(there.rate, rel=1e-12)
    assert back.content == pytest.approx(9 - there.content, rel=1e-11)
    assert (back.starved, back.blocked) == pytest.approx((there.blocked, there.starved), rel=1e-11)


@pytest.mark.parametrize(("up", "places", "rate", "content"), BERNOULLI)
def test_published_bernoulli_pairs(up: tuple, places: int, rate: float | None, content: float | None) -> None:
    """Rate and mean content, as far as stated."""
    found = bernoulli_pair(up, places)
    assert rate is None or found.rate == pytest.approx(rate, rel=2e-10)
    assert content is None or found.content == pytest.approx(content, rel=2e-10)


@pytest.mark.parametrize("up", [(0.9, 0.8), (0.75, 0.85), (0.5, 0.5), (0.99, 0.3), (1.0, 0.7), (0.7, 1.0)])
@pytest.mark.parametrize("places", [1, 2, 7])
def test_bernoulli_pairs_by_their_chain(up: tuple, places: int) -> None:
    """All figures against the chain of steps, and the rate from the first station's side."""
    found, chain = bernoulli_pair(up, places), bernoulli_line(up, [places])
    assert found.rate == pytest.approx(chain.rate, rel=1e-11)
    assert found.content == pytest.approx(chain.content[0], rel=1e-11)
    assert (found.starved, found.blocked) == pytest.approx((chain.starved[1], chain.blocked[0]), abs=1e-12)
    assert found.rate == pytest.approx(up[0] * (1 - bernoulli_empty(up[1], up[0], places)), rel=1e-11)


def test_textbook_form_of_the_empty_store() -> None:
    """(1 - p1)(1 - a) / (1 - (p1 / p2) a^N), and (1 - p) / (N + 1 - p) for equal stations."""
    p1, p2, n = 0.9, 0.8, 3
    a = p1 * (1 - p2) / (p2 * (1 - p1))
    assert bernoulli_empty(p1, p2, n) == pytest.approx((1 - p1) * (1 - a) / (1 - p1 / p2 * a**n), rel=1e-12)
    assert bernoulli_empty(0.9, 0.9, 3) == pytest.approx(0.1 / 3.1, rel=1e-12)


# -- continuous flow ---------------------------------------------------------------------------------------


def in_steps(run: tuple, repair: tuple, store: float, on_time: bool, steps: int) -> tuple[float, float]:
    """Rate and content of a pair whose level goes up and down by small steps."""

    def running(state: tuple) -> tuple[bool, bool]:
        level, first, second = state
        return first and (second or level < steps), second and (first or level > 0)

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        level, first, second = state
        runs = running(state)
        out = []
        for i, up in enumerate((first, second)):
            turned = (level, not first, second) if i == 0 else (level, first, not second)
            if not up:
                out.append((turned, 1 / repair[i]))
            elif runs[i] or on_time:
                out.append((turned, 1 / run[i]))
        if runs[0] != runs[1]:
            out.append(((level + (1 if runs[0] else -1), first, second), steps / store))
        return out

    shares = solved((0, True, True), moves)
    rate = sum(share for state, share in shares.items() if running(state)[1])
    return rate, sum(share * state[0] for state, share in shares.items()) * store / steps


def in_the_limit(run: tuple, repair: tuple, store: float, on_time: bool) -> np.ndarray:
    """The limit of ever smaller steps, the error of which goes with the size of a step and its square."""
    coarse, middle, fine = (np.array(in_steps(run, repair, store, on_time, k)) for k in (50, 100, 200))
    return (8 * fine - 6 * middle + coarse) / 3


FLOWS = [
    ((20.0, 20.0), (4.0, 4.0), 4.0),
    ((50.0, 100 / 3), (5.0, 20 / 3), 5.0),
    ((10.0, 30.0), (8.0, 2.0), 3.0),
    ((30.0, 10.0), (2.0, 8.0), 12.0),
]


@pytest.mark.parametrize(("run", "repair", "store"), FLOWS)
@pytest.mark.parametrize("clock", ["running time", "on time"])
def test_a_flow_is_the_limit_of_small_steps(run: tuple, repair: tuple, store: float, clock: str) -> None:
    """Rate and content of both clocks, stations alike and not; extrapolated steps err by about 1e-6."""
    found = fluid_pair(run, repair, store, clock)  # type: ignore[arg-type]
    limit = in_the_limit(run, repair, store, clock == "on time")
    assert (found.rate, found.content) == pytest.approx(limit, rel=1e-5)


@pytest.mark.parametrize(("run", "repair", "store"), FLOWS)
def test_a_flow_on_time_by_the_textbook_formula(run: tuple, repair: tuple, store: float) -> None:
    """e2 (1 - Q), Q as in Li, J. and Meerkov, S. M. (2009), chapter 11 (from memory), either of its forms."""
    (l1, l2), (m1, m2) = (1 / np.array(run)).tolist(), (1 / np.array(repair)).tolist()
    e1, e2 = m1 / (l1 + m1), m2 / (l2 + m2)
    if math.isclose(e1, e2):
        both = (l1 + l2) * (m1 + m2)
        q = l1 * both / ((l1 + m1) * (both + l2 * m1 * (l1 + l2 + m1 + m2) * store))
    else:
        phi = e1 * (1 - e2) / (e2 * (1 - e1))
        beta = (l1 + l2 + m1 + m2) * (l1 * m2 - l2 * m1) / ((l1 + l2) * (m1 + m2))
        q = (1 - e1) * (1 - phi) / (1 - phi * math.exp(-beta * store))
    assert fluid_pair(run, repair, store, "on time").rate == pytest.approx(e2 * (1 - q), rel=1e-11)


def test_flows_by_a_separate_program() -> None:
    """Stops 0.02, 0.03, repairs 0.2, 0.15, store 5: 0.791661; 0.02, 0.2, store 5, alike: 0.855772."""
    assert fluid_pair((50, 100 / 3), (5, 20 / 3), 5, "on time").rate == pytest.approx(0.791661, abs=6e-7)
    assert fluid_pair((50, 50), (5, 5), 5, "on time").rate == pytest.approx(0.855772, abs=6e-7)


@pytest.mark.parametrize(
    ("places", "per_hour"),
    [(0, 107.14), (5, 110.80), (10, 113.21), (20, 116.20), (40, 119.16), (100, 122.09)],
)
def test_two_equal_benches_with_a_tray(places: int, per_hour: float) -> None:
    """24 s a unit, stops by running time every 20 min for 4 min (Buzacott 1967, from memory): two decimals.

    Closed form for equal stations: (2 + n (1 + i)) / (2 (1 + 2 i) + n (1 + i)^2), n = store / repair and
    i = repair / run.
    """
    found = fluid_pair((1200, 1200), (240, 240), places * 24.0).rate
    n, ratio = places * 24 / 240, 0.2
    assert found * 150 == pytest.approx(per_hour, abs=0.006)
    exact = (2 + n * (1 + ratio)) / (2 * (1 + 2 * ratio) + n * (1 + ratio) ** 2)
    assert found == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("clock", ["running time", "on time"])
def test_limits_and_balance_of_flows(clock: str) -> None:
    """No store: the paced line; a large store: the worse station; nearly alike: no jump; turned around."""
    run, repair = (50.0, 30.0), (5.0, 4.0)
    up = [u / (u + d) for u, d in zip(run, repair, strict=True)]
    no_store = fluid_pair(run, repair, 0.0, clock)  # type: ignore[arg-type]
    paced = 1 / (1 + 0.1 + 4 / 30) if clock == "running time" else up[0] * up[1]
    assert no_store.rate == pytest.approx(paced, rel=1e-12)
    assert no_store.content == 0.0
    for sides in (slice(None), slice(None, None, -1)):
        large = fluid_pair(run[sides], repair[sides], 1e6, clock)  # type: ignore[arg-type]
        assert large.rate == pytest.approx(min(up), rel=1e-10)
    there = fluid_pair(run, repair, 7.0, clock)  # type: ignore[arg-type]
    back = fluid_pair(run[::-1], repair[::-1], 7.0, clock)  # type: ignore[arg-type]
    assert back.rate == pytest.approx(there.rate, rel=1e-12)
    assert back.content == pytest.approx(7.0 - there.content, rel=1e-12)
    nearly = [fluid_pair((50, 50), (5, 5 + x), 100.0, clock) for x in (0.0, 1e-6, 1e-3, 1.1e-3)]  # type: ignore[arg-type]
    assert nearly[1].rate == pytest.approx(nearly[0].rate, rel=1e-6)
    assert nearly[2].content - nearly[0].content == pytest.approx(
        (nearly[3].content - nearly[0].content) / 1.1, rel=1e-2
    )
    if clock == "running time":  # a station that does not wait stops as often as alone
        assert there.rate == pytest.approx((1 - there.starved) * up[1], rel=1e-12)
        assert there.rate == pytest.approx((1 - there.blocked) * up[0], rel=1e-12)
    else:
        assert there.rate + there.starved == pytest.approx(up[1], rel=1e-12)
        assert there.rate + there.blocked == pytest.approx(up[0], rel=1e-12)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (
            lambda: bernoulli_pair([0.9, 0.0], 2),
            "chances to be up are above 0 and at most 1, got 0 at station 2",
        ),
        (lambda: bernoulli_pair([0.9, 0.9], 0), "whole numbers of at least 1, got 0"),
        (lambda: bernoulli_pair([0.9], 1), "two stations have two chances to be up, got 1"),
        (lambda: geometric_pair([0.1, 1.0], [0.5, 0.5], 4), "chances to stop are above 0 and below 1, got 1"),
        (lambda: geometric_pair([0.1, 0.1], [0.5, 1.5], 4), r"at most 1, got 1\.5 at station 2"),
        (lambda: geometric_pair([0.1, 0.1], [0.5, 0.5], 3), "of at least 4, got 3"),
        (
            lambda: fluid_pair([1, 1], [1, 0], 1),
            "mean repair times are above 0 and finite, got 0 at station 2",
        ),
        (lambda: fluid_pair([1, 1], [1, 1], -1), "a store is a finite number of at least 0, got -1"),
        (
            lambda: fluid_pair([1, 1], [1, 1], 1, "cycles"),
            'stops count "running time" or "on time", got "cyc',
        ),  # type: ignore[arg-type]
        (lambda: fluid_pair([1, 1, 1], [1, 1], 1), "two stations have two mean running times, got 3"),
    ],
)
def test_wrong_pairs_are_refused(call: Callable[[], object], said: str) -> None:
    """In words, with what was given."""
    with pytest.raises(ValueError, match=said):
        call()
