"""Markov chains in continuous time, described by the moves out of a state; small ones, solved exactly."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

MOST_STATES = 30_000

State = TypeVar("State", bound=Hashable)


def stationary_distribution(
    start: State, moves: Callable[[State], Iterable[tuple[State, float]]], most_states: int = MOST_STATES
) -> dict[State, float]:
    """Long-run share of time of every state that can follow from `start`.

    `moves(state)` gives pairs (next state, rate); moves to the state itself count for nothing.  The chain
    must be able to come back to `start` from everywhere.

    Raises:
        ValueError: there are more states than `most_states`, or a rate is not above 0.

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
    # The share of the first state is set to 1, the balance of it follows from the others.
    others = spsolve(balance[1:, 1:], -balance[1:, [0]].toarray().ravel())
    shares = np.concatenate(([1.0], others))
    return dict(zip(states, (shares / shares.sum()).tolist(), strict=True))
