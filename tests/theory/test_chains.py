"""Markov chains: against closed forms, powers of matrices and dense linear algebra."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import expm

from cellsim.theory.chains import (
    Chain,
    expected,
    explore,
    long_run_shares,
    long_run_shares_in_steps,
    relative_values,
)


def birth_and_death(up: float, down: float, top: int) -> Chain[int]:
    """Numbers 0 .. top, one up and one down at constant rates."""

    def moves(n: int) -> list[tuple[int, float]]:
        return ([(n + 1, up)] if n < top else []) + ([(n - 1, down)] if n > 0 else [])

    return explore(0, moves)


def random_rates(size: int, seed: int) -> np.ndarray:
    """Rates between states, about half of them 0; a ring lets all states follow from each other."""
    luck = np.random.default_rng(seed)
    rates = luck.exponential(1.0, (size, size)) * (luck.random((size, size)) < 0.5)
    np.fill_diagonal(rates, 0.0)
    for k in range(size):
        rates[k, (k + 1) % size] += 0.1
    return rates


def chain_of(rates: np.ndarray) -> Chain[int]:
    """The same as a chain."""
    return explore(0, lambda k: [(int(to), float(rates[k, to])) for to in np.flatnonzero(rates[k])])


def in_order(chain: Chain[int], values: np.ndarray) -> np.ndarray:
    """Values by state instead of by order of discovery."""
    return values[[chain.place[k] for k in range(len(values))]]


def test_the_states_that_follow_are_found_in_order() -> None:
    """From 0 up to 3: four states, six moves, rates as told."""
    chain = birth_and_death(2.0, 3.0, 3)
    assert chain.states == (0, 1, 2, 3)
    assert chain.flows.toarray().tolist() == [[0, 2, 0, 0], [3, 0, 2, 0], [0, 3, 0, 2], [0, 0, 3, 0]]


def test_moves_to_the_same_state_add_up_and_rate_0_is_no_move() -> None:
    """Two ways from a to b are one rate; c is never reached."""
    chain = explore("a", lambda s: [("b", 1.0), ("b", 2.0), ("c", 0.0)] if s == "a" else [("a", 1.0)])
    assert chain.states == ("a", "b")
    assert chain.flows[0, 1] == 3.0


@pytest.mark.parametrize(
    ("up", "down", "top"),
    [(1, 2, 5), (2, 1, 5), (1, 1, 9), (2, 1, 40), (2, 1, 60), (10, 1, 600), (1, 10, 600)],
)
def test_a_birth_and_death_chain_has_geometric_shares(up: float, down: float, top: int) -> None:
    """Shares proportional to (up / down)^n, also where the start is less likely than 1e-300."""
    ratio = min(up / down, down / up)
    weights = ratio ** np.arange(top + 1)
    expectation = (weights if up <= down else weights[::-1]) / weights.sum()
    assert long_run_shares(birth_and_death(up, down, top)) == pytest.approx(expectation, rel=1e-9, abs=1e-290)


@pytest.mark.parametrize("places", [5, 20, 40, 60, 200])
def test_a_start_that_is_hardly_ever_seen_again(places: int) -> None:
    """A store that is nearly always full, empty at the start; each unit takes two phases at both ends.

    From 40 places on the start is less likely than rounding errors.  By symmetry the store run backwards, in
    which the start is likely, has the same shares in reverse.
    """

    def moves_at(pace_in: float, pace_out: float) -> Chain[tuple[int, int, int]]:
        def moves(state: tuple[int, int, int]) -> list[tuple[tuple[int, int, int], float]]:
            n, arriving, leaving = state
            out = []
            if n < places:
                out.append(((n + arriving, 1 - arriving, leaving), pace_in))
            if n > 0:
                out.append(((n - leaving, arriving, 1 - leaving), pace_out))
            return out

        return explore((0, 0, 0), moves)

    def contents(chain: Chain[tuple[int, int, int]]) -> np.ndarray:
        shares = long_run_shares(chain)
        held = [state[0] for state in chain.states]
        return np.bincount(held, weights=shares, minlength=places + 1)

    seldom, often = contents(moves_at(2.0, 1.0)), contents(moves_at(1.0, 2.0))
    assert seldom == pytest.approx(often[::-1], rel=1e-9, abs=1e-200)


@pytest.mark.parametrize("seed", range(8))
def test_shares_are_where_a_chain_is_after_a_long_time(seed: int) -> None:
    """The exponential of the generator, which knows nothing of balances."""
    rates = random_rates(12, seed)
    generator = rates - np.diag(rates.sum(axis=1))
    chain = chain_of(rates)
    shares = in_order(chain, long_run_shares(chain))
    assert shares == pytest.approx(expm(generator * 2000.0)[3], rel=1e-8)
    assert math.fsum(shares) == pytest.approx(1, abs=1e-14)


@pytest.mark.parametrize("seed", range(4))
def test_shares_of_steps_are_a_high_power_of_the_matrix(seed: int) -> None:
    """In discrete time, against the matrix to the power of 4096."""
    steps = random_rates(10, seed)
    np.fill_diagonal(steps, 0.3)  # staying counts as a step too
    steps /= steps.sum(axis=1, keepdims=True)
    chain = chain_of(steps)
    shares = in_order(chain, long_run_shares_in_steps(chain))
    assert shares == pytest.approx(np.linalg.matrix_power(steps, 4096)[0], rel=1e-8)


def test_a_chain_that_alternates_has_shares_on_average() -> None:
    """a, b, a, b, ...: half of the steps each."""
    chain = explore("a", lambda s: [("b" if s == "a" else "a", 1.0)])
    assert long_run_shares_in_steps(chain) == pytest.approx([0.5, 0.5])


def test_states_that_are_left_for_ever_have_share_0() -> None:
    """The start is never seen again; the others share the time as if it had never been."""
    chain = explore(0, lambda n: [(1, 5.0)] if n == 0 else [(3 - n, float(n))])
    assert in_order(chain, long_run_shares(chain)).tolist() == pytest.approx([0, 2 / 3, 1 / 3])
    assert long_run_shares(chain)[0] == 0.0


def test_a_chain_of_one_state_stays_there() -> None:
    """No moves at all, and a move to itself only."""
    for moves in (lambda _: [], lambda _: [("only", 1.0)]):
        chain = explore("only", moves)
        shares = long_run_shares(chain)
        assert shares.tolist() == [1.0]
        assert relative_values(chain, shares, np.array([7.0])).tolist() == [0.0]


def test_a_mean_reward() -> None:
    """Mean number of a birth and death chain with equal rates on 0 .. 9 is 4.5."""
    chain = birth_and_death(1, 1, 9)
    assert expected(chain, long_run_shares(chain), float) == pytest.approx(4.5, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_relative_values_give_derivatives(seed: int) -> None:
    """The derivative of a mean reward by one rate, against differences of solved chains.

    Central differences with step 1e-5 err by about 1e-10 of rounding and of the third derivative.
    """
    rates = random_rates(9, seed)
    rewards = np.random.default_rng(100 + seed).normal(size=9)
    chain = chain_of(rates)
    shares = long_run_shares(chain)
    values = in_order(chain, relative_values(chain, shares, rewards[list(chain.states)]))
    exact = in_order(chain, shares)[4] * (values[5] - values[4])

    def mean_with(change: float) -> float:
        changed = rates.copy()
        changed[4, 5] += change
        other = chain_of(changed)
        return float(in_order(other, long_run_shares(other)) @ rewards)

    assert exact == pytest.approx((mean_with(1e-5) - mean_with(-1e-5)) / 2e-5, abs=1e-8)
    assert values[0] == 0.0


def test_relative_values_solve_their_equation() -> None:
    """What a state earns more than the mean and what its moves bring balance, in every state."""
    rates = random_rates(15, 3)
    chain = chain_of(rates)
    shares = long_run_shares(chain)
    rewards = np.arange(15.0)
    values = relative_values(chain, shares, rewards)
    flows = chain.flows.toarray()
    drift = flows @ values - flows.sum(axis=1) * values
    assert rewards + drift == pytest.approx(np.full(15, shares @ rewards), rel=1e-10)


@pytest.mark.parametrize("rate", [-1.0, math.nan, math.inf])
def test_a_rate_that_is_none_is_refused(rate: float) -> None:
    """Negative, not a number, infinite."""
    with pytest.raises(
        ValueError, match=r"the move from 0 to 1 has rate .*; rates are finite and at least 0"
    ):
        explore(0, lambda n: [(n + 1, rate)])


def test_a_chain_without_end_is_refused() -> None:
    """One state more than allowed stops the search; exactly as many do not."""
    with pytest.raises(ValueError, match="more than 100 states can follow from 0"):
        explore(0, lambda n: [(n + 1, 1.0), (0, 1.0)], most_states=100)
    assert len(explore(0, lambda n: [((n + 1) % 100, 1.0)], most_states=100).states) == 100
    with pytest.raises(ValueError, match="more than 100 states"):
        explore(0, lambda n: [((n + 1) % 101, 1.0)], most_states=100)


def test_a_chain_that_ends_in_one_of_two_places_is_refused() -> None:
    """From 0 to 1 for ever or to 2 for ever: chance decides, so there are no long-run shares."""
    chain = explore(0, lambda n: [(1, 1.0), (2, 1.0)] if n == 0 else [])
    with pytest.raises(ValueError, match="2 sets of states that it never leaves, one with 1, one with 2"):
        long_run_shares(chain)


def test_probabilities_that_do_not_add_up_are_refused() -> None:
    """0.9 in all is no step."""
    chain = explore("a", lambda s: [("b", 0.9)] if s == "a" else [("a", 1.0)])
    with pytest.raises(ValueError, match=r"probabilities out of state a add up to 0\.9, not to 1"):
        long_run_shares_in_steps(chain)
