"""Markov chains of up to some ten thousand states: found from a start, solved, weighed with rewards.

A chain is told by a start state and a function that gives the moves out of a state.  In continuous time a
move is a state and a rate; in discrete time ("in steps") a state and the probability of one step.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

MOST_STATES = 20_000  # solved in some seconds; one station more in a line multiplies the states
ROUNDING = 1e-9  # how far the probabilities out of a state may be from 1
UNLIKELY = 1e-4  # relative to a state this much less likely than another, weights lose digits

State = TypeVar("State", bound=Hashable)
FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Chain(Generic[State]):
    """Every state that can follow from the start, and the moves between them.

    `states` stand in order of discovery, the start first; `place` gives the index of a state;
    `flows[a, b]` is the rate (in steps: the probability) of all moves from state a to state b.
    """

    states: tuple[State, ...]
    place: dict[State, int]
    flows: Any  # scipy's sparse arrays have no types


def explore(
    start: State,
    moves: Callable[[State], Iterable[tuple[State, float]]],
    most_states: int = MOST_STATES,
) -> Chain[State]:
    """The chain of all states that can follow from a start.

    Args:
        start: any hashable value.
        moves: the (next state, rate) pairs of a state; the same next state may come twice, rates add up.
        most_states: how many states may be found.

    Raises:
        ValueError: a rate is negative or not finite, or there are more states than allowed.
    """
    states, place = [start], {start: 0}
    rows: list[int] = []
    columns: list[int] = []
    rates: list[float] = []
    for here, state in enumerate(states):  # grows while it is walked
        for following, rate in moves(state):
            if not (rate >= 0 and math.isfinite(rate)):
                raise ValueError(
                    f"the move from {state} to {following} has rate {rate}; rates are finite and at least 0"
                )
            if rate == 0:
                continue
            there = place.setdefault(following, len(states))
            if there == len(states):
                if there == most_states:
                    raise ValueError(
                        f"more than {most_states} states can follow from {start}; "
                        "a chain this large is not solved"
                    )
                states.append(following)
            rows.append(here)
            columns.append(there)
            rates.append(rate)
    size = (len(states), len(states))
    flows = sparse.coo_array((rates, (rows, columns)), shape=size, dtype=np.float64).tocsr()
    return Chain(tuple(states), place, flows)


def long_run_shares(chain: Chain[State]) -> FloatArray:
    """Long-run share of time of each state of a chain in continuous time, shape (states,).

    States that are left for ever have share 0.  The others must be one set within which every state can
    follow from every other.

    Raises:
        ValueError: there are several sets of states that are never left, so that the long run depends on
            chance.
    """
    lasting = _lasting_states(chain)
    balance = (sparse.diags_array(chain.flows.sum(axis=1)) - chain.flows).T.tocsc()
    try:
        weights = _weights(balance, int(lasting[0]))
    except RuntimeError:  # a state so unlikely that the others have no weight relative to it
        weights = np.full(len(chain.states), np.inf)
    if not np.all(np.abs(weights) < 1 / UNLIKELY):  # below 0, too, where rounding outweighs the state
        weights = _weights(balance, _likely_state(balance, lasting))
    shares = np.zeros(len(chain.states))
    shares[lasting] = np.maximum(weights[lasting], 0.0)  # rounding may leave -1e-20
    shares /= shares.sum()
    return shares


def stationary_distribution(
    start: State,
    moves: Callable[[State], Iterable[tuple[State, float]]],
    most_states: int = MOST_STATES,
) -> dict[State, float]:
    """Long-run share of time of every state that can follow from a start, by state.

    Raises:
        ValueError: as `explore` and `long_run_shares` do.
    """
    chain = explore(start, moves, most_states)
    return dict(zip(chain.states, long_run_shares(chain).tolist(), strict=True))


def long_run_shares_in_steps(chain: Chain[State]) -> FloatArray:
    """Long-run share of steps of each state of a chain in discrete time, shape (states,).

    A chain that alternates between states has these shares on average.

    Raises:
        ValueError: the probabilities out of a state do not add up to 1; otherwise as `long_run_shares`.
    """
    out = chain.flows.sum(axis=1)
    worst = int(np.argmax(abs(out - 1)))
    if abs(out[worst] - 1) > ROUNDING:
        raise ValueError(
            f"the probabilities out of state {chain.states[worst]} add up to {out[worst]}, not to 1"
        )
    return long_run_shares(chain)


def expected(chain: Chain[State], shares: FloatArray, reward: Callable[[State], float]) -> float:
    """Long-run mean of a reward per state: sum of share x reward."""
    return math.fsum(share * reward(state) for share, state in zip(shares, chain.states, strict=True))


def relative_values(chain: Chain[State], shares: FloatArray, rewards: FloatArray) -> FloatArray:
    """How much more reward is earned in all, starting in each state, than starting in the first one.

    The solution h of sum_b flows[a, b] (h[b] - h[a]) = mean - rewards[a] (Poisson's equation), shape
    (states,).  With it the derivative of the mean reward by any parameter is the mean over the states of
    sum_b d flows[a, b] (h[b] - h[a]) + d rewards[a], d the derivative by that parameter.

    Source: Cao, X.-R. and Chen, H.-F. (1997), Perturbation realization, potentials, and sensitivity
    analysis of Markov processes, IEEE Transactions on Automatic Control 42(10), 1382-1393 (from memory).

    Args:
        shares: long-run share of each state.
        rewards: reward per unit of time (in steps: per step) in each state.
    """
    if len(chain.states) == 1:
        return np.zeros(1)
    likely = int(np.argmax(shares))
    others = np.delete(np.arange(len(chain.states)), likely)
    balance = (sparse.diags_array(chain.flows.sum(axis=1)) - chain.flows).tocsc()
    values = np.zeros(len(chain.states))
    excess = rewards - shares @ rewards
    values[others] = _solve(balance[others][:, others], excess[others])
    values -= values[0]
    return values


def _lasting_states(chain: Chain[State]) -> NDArray[np.int64]:
    """Indices of the one set of states that is never left."""
    count, label = connected_components(chain.flows, directed=True, connection="strong")
    moves = chain.flows.tocoo()
    left = {int(x) for x in label[moves.row[label[moves.row] != label[moves.col]]]}
    kept = sorted(set(range(count)) - left)
    if len(kept) > 1:
        first_of_each = sorted(int(np.argmax(label == k)) for k in kept)
        one, other = (chain.states[k] for k in first_of_each[:2])
        raise ValueError(
            f"the chain has {len(kept)} sets of states that it never leaves, one with {one}, one with "
            f"{other}: where it ends depends on chance, so it has no long-run shares"
        )
    return np.flatnonzero(label == kept[0])


def _likely_state(balance: Any, lasting: NDArray[np.int64]) -> int:
    """A state with a large share: where a chain is found that starts at long random intervals."""
    restart = 1e-8 * balance.diagonal().max()
    first = np.zeros(balance.shape[0])
    first[lasting[0]] = restart
    found = _solve(balance + restart * sparse.eye_array(balance.shape[0]), first)
    return int(lasting[np.argmax(found[lasting])])


def _weights(balance: Any, fixed: int) -> FloatArray:
    """Solution of balance @ weights = 0 with weight 1 for the state `fixed`."""
    weights = np.ones(balance.shape[0])
    others = np.delete(np.arange(balance.shape[0]), fixed)
    if len(others):
        inflow = -balance[others][:, [fixed]].toarray().reshape(-1)
        weights[others] = _solve(balance[others][:, others], inflow)
    return weights


def _solve(matrix: Any, right: FloatArray) -> FloatArray:
    """Solution of a sparse system whose diagonal outweighs the rest, so that no pivoting is needed."""
    factors = splu(
        matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    solution: FloatArray = factors.solve(right)
    return solution
