"""Lines and tended or repaired machines once more, the slow obvious way: chains written out with numpy."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np


def stationary(states: Sequence[tuple], moves: Callable[[tuple], list[tuple[tuple, float]]]) -> np.ndarray:
    """Long-run share of time of each state of a Markov chain; `moves` gives (next state, rate) of a state."""
    place = {state: k for k, state in enumerate(states)}
    balance = np.zeros((len(states), len(states)))
    for state in states:
        for following, rate in moves(state):
            balance[place[following], place[state]] += rate
            balance[place[state], place[state]] -= rate
    balance[-1, :] = 1.0  # one balance follows from the others; the shares add up to 1 instead
    right = np.zeros(len(states))
    right[-1] = 1.0
    return np.linalg.solve(balance, right)


def reached(start: tuple, moves: Callable[[tuple], list[tuple[tuple, float]]]) -> list[tuple]:
    """Every state that can follow from one, in order of discovery."""
    found = [start]
    seen = {start}
    for state in found:
        for following, _ in moves(state):
            if following not in seen:
                seen.add(following)
                found.append(following)
    return found


def line_rate(means: Sequence[float], places: Sequence[int]) -> float:
    """Output rate of a line of exponential stations, blocking after service, from its chain.

    State: for each store, how many units the station before it has finished and the one behind it has not.
    """
    last = len(means) - 1

    def working(state: tuple) -> list[bool]:
        blocked = [False] * (last + 1)
        for i in range(last - 1, -1, -1):
            room = places[i] + (0 if blocked[i + 1] else 1)  # the places, and the next station itself
            blocked[i] = state[i] > room
        return [not blocked[i] and (i == 0 or state[i - 1] > 0) for i in range(last + 1)]

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        out = []
        for i, works in enumerate(working(state)):
            if works:
                counts = list(state)
                if i > 0:
                    counts[i - 1] -= 1
                if i < last:
                    counts[i] += 1
                out.append((tuple(counts), 1 / means[i]))
        return out

    states = reached((0,) * last, moves)
    shares = stationary(states, moves)
    return (
        sum(share for share, state in zip(shares, states, strict=True) if working(state)[last]) / means[last]
    )


def elasticity(station: int, means: Sequence[float], places: Sequence[int], step: float = 1e-3) -> float:
    """Relative gain of the rate of a line per relative cut of the mean time of one station."""
    shorter, longer = list(means), list(means)
    shorter[station] *= math.exp(-step)
    longer[station] *= math.exp(step)
    return math.log(line_rate(shorter, places) / line_rate(longer, places)) / (2 * step)


def served_machines(machines: int, servers: int, run: float, service: float) -> tuple[float, float]:
    """Services per time and share of time that a machine runs, from the chain of the number that stand."""
    states = [(n,) for n in range(machines + 1)]

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        (n,) = state
        stop = [((n + 1,), (machines - n) / run)] if n < machines else []
        return stop + ([((n - 1,), min(n, servers) / service)] if n > 0 else [])

    shares = stationary(states, moves)
    rate = sum(shares[n] * min(n, servers) / service for n in range(machines + 1))
    running = sum(shares[n] * (machines - n) / machines for n in range(machines + 1))
    return rate, running


def services_per_hour(machines: int) -> float:
    """Units per hour of machines that run 6.6 s and take 1.1 s of one operator."""
    return served_machines(machines, 1, 6.6, 1.1)[0] * 3600


def running_share(machines: int, servers: int, run: float, service: float) -> float:
    """Share of time that a machine runs."""
    return served_machines(machines, servers, run, service)[1]


def erlang_loss(servers: int, load: float) -> float:
    """Erlang's loss formula, by its recursion."""
    lost = 1.0
    for n in range(1, servers + 1):
        lost = load * lost / (n + load * lost)
    return lost


def loaded_operator(machines: int) -> float:
    """The same by the load of the operator, which is 1 - B(N, 6), B the loss formula of Erlang."""
    return (1 - erlang_loss(machines, 6.0)) * 3600 / 1.1


FOUR_MEANS, FOUR_PLACES = (1.05, 1.0, 1.0, 1.0), (8, 8, 0)
SECOND: dict[str, list[Callable[[], float]]] = {
    **{f"two-stations-{n}-places": [partial(line_rate, [1, 1], [n])] for n in range(5)},
    "three-stations-0-places": [partial(line_rate, [1, 1, 1], [0, 0])],
    "four-stations-rate": [partial(line_rate, FOUR_MEANS, FOUR_PLACES)],
    **{
        f"four-stations-path-of-S{k + 1}": [partial(elasticity, k, FOUR_MEANS, FOUR_PLACES)] for k in range(4)
    },
    **{
        f"one-operator-{n}-machines": [partial(services_per_hour, n), partial(loaded_operator, n)]
        for n in (4, 6, 8)
    },
    **{f"three-machines-{r}-technicians": [partial(running_share, 3, r, 100, 20)] for r in (1, 2, 3)},
    "one-station-that-stops": [partial(running_share, 1, 1, 100, 10)],
}
