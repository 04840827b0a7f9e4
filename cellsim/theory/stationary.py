"""Markov chains in continuous time, described by the moves out of a state; small ones, solved exactly."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

MOST_STATES = 10_000  # a few seconds, at the most

State = TypeVar("State", bound=Hashable)


def stationary_distribution(
    start: State, moves: Callable[[State], Iterable[tuple[State, float]]], most_states: int = MOST_STATES
) -> dict[State, float]:
    """Long-run share of time of every state that can follow from `start`.

    `moves(state)` gives pairs (next state, rate); moves to the state itself count for nothing.  The chain
    must be able to come back to `start` from everywhere.

    Raises:
        ValueError: there are more states than `most_states`, a rate is not above 0, or `start` is so much
            rarer than other states that its share cannot be told from 0.

    Source: balance equations; in any textbook of Markov chains.
    """
    place: dict[State, int] = {start: 0}
    states = [start]
    rows: list[int] = []
    columns: list[int] = []
    rates: list[float] = []
    for here, state in enumerate(states):  # grows while it is walked
        for following, rate in moves(state):
            if not rate > 0:
                raise ValueError(f"rates must be above 0, not {rate!r}")
            there = place.setdefault(following, len(states))
            if there == len(states):
                states.append(following)
                if len(states) > most_states:
                    raise ValueError(f"the chain has more than {most_states} states; fewer places are needed")
            rows += [there, here]
            columns += [here, here]
            rates += [rate, -rate]
    count = len(states)
    if count == 1:
        return {start: 1.0}
    balance = coo_array((rates, (rows, columns)), shape=(count, count)).tocsc()
    # The share of the first state is set to 1, the balance of it follows from the others.  No column has an
    # entry larger than its diagonal, so the factors need no pivoting and fewer of their entries fill up.
    try:
        factors = splu(
            balance[1:, 1:],
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError as error:  # a pivot has become 0
        raise ValueError("the shares of the states are too unlike; fewer places are needed") from error
    shares = np.concatenate(([1.0], factors.solve(-balance[1:, [0]].toarray().ravel())))
    return dict(zip(states, (shares / shares.sum()).tolist(), strict=True))
