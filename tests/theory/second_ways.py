"""What the tests of the theory share: known values, and slow obvious ways to compute them a second time."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve


@dataclass(frozen=True, slots=True)
class Known:
    """A value of the literature, the call that gives it, and a second way to compute it.

    `digits`: how exactly `value` is given (relative); `close`: how exactly the second way computes it.
    """

    words: str
    call: Callable[[], float]
    value: float
    second: Callable[[], float]
    source: str
    digits: float = 1e-9
    close: float = 1e-8


def named(entries: Sequence[Known]) -> list[object]:
    """Parameters of a test, named."""
    return [pytest.param(entry, id=entry.words) for entry in entries]


def check(entry: Known) -> None:
    """The call gives the value to all its digits, and what the second way gives."""
    found = entry.call()
    assert found == pytest.approx(entry.value, rel=entry.digits), entry.source
    assert found == pytest.approx(entry.second(), rel=entry.close)


def chain_shares(
    start: Hashable, moves: Callable[[Hashable], Iterable[tuple[Hashable, float]]]
) -> dict[Hashable, float]:
    """Long-run share of time of each state of a Markov chain; one balance is replaced by: shares add to 1."""
    place = {start: 0}
    rows, columns, rates = [], [], []
    states = [start]
    for here, state in enumerate(states):
        for following, rate in moves(state):
            if following not in place:
                place[following] = len(states)
                states.append(following)
            rows += [place[following], here]
            columns += [here, here]
            rates += [rate, -rate]
    count = len(states)
    kept = [(r, c, v) for r, c, v in zip(rows, columns, rates, strict=True) if r != count - 1]
    kept += [(count - 1, c, 1.0) for c in range(count)]
    matrix = coo_array(
        ([v for *_, v in kept], ([r for r, *_ in kept], [c for _, c, _ in kept])), shape=(count, count)
    ).tocsc()
    right = np.zeros(count)
    right[-1] = 1.0
    return dict(zip(states, spsolve(matrix, right).tolist(), strict=True))


def births_and_deaths(up: Callable[[int], float], down: Callable[[int], float], most: int) -> np.ndarray:
    """Shares of the numbers 0 ... most of a birth-death chain, from its balance equations."""

    def moves(n: int) -> list[tuple[int, float]]:
        return [(n + 1, up(n))] * (n < most and up(n) > 0) + [(n - 1, down(n))] * (n > 0)

    shares = chain_shares(0, moves)
    return np.array([shares[n] for n in sorted(shares)])


def discrete_shares(steps: np.ndarray) -> np.ndarray:
    """Stationary distribution of a Markov chain in steps; `steps[i, j]` from i to j, rows add up to 1."""
    count = len(steps)
    matrix = steps.T - np.eye(count)
    matrix[-1] = 1.0
    right = np.zeros(count)
    right[-1] = 1.0
    return np.linalg.solve(matrix, right)
