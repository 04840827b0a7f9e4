"""Queues and closed lines that are not run, once more: chains, quadrature and the time inside."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from itertools import pairwise

import numpy as np
from scipy.integrate import quad
from scipy.stats import gamma
from second_lines import reached, stationary


def number_waiting(arrivals: float, service: float, servers: int, most: int = 2000) -> float:
    """Mean number waiting of M/M/c, from the balance between neighbouring numbers present."""
    shares = [1.0]
    for present in range(1, most + 1):
        shares.append(shares[-1] * arrivals * service / min(present, servers))
    waiting = sum((n - servers) * share for n, share in enumerate(shares) if n > servers)
    return waiting / sum(shares)


def wait_by_residuals(arrivals: float, service: float, scv: float) -> float:
    """Mean wait of M/G/1 with gamma times: a geometric number of residual services, mean by quadrature."""
    law = gamma(1 / scv, scale=scv * service)
    parts = [0.0, *(service * 4.0**k for k in range(-8, 6))]
    residual = sum(
        quad(lambda x: x * law.sf(x), low, high, epsabs=0, epsrel=1e-11)[0] for low, high in pairwise(parts)
    )
    used = arrivals * service
    return used / (1 - used) * residual / service


def response(think: float, demands: tuple[float, ...], users: int) -> float:
    """Mean time from a request to its answer, from the chain of the numbers of users at each station."""

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        out = []
        for i, n in enumerate(state):
            if n:
                following = list(state)
                following[i] -= 1
                following[(i + 1) % len(state)] += 1
                out.append((tuple(following), n / think if i == 0 else 1 / demands[i - 1]))
        return out

    states = reached((users,) + (0,) * len(demands), moves)
    shares = stationary(states, moves)
    rate = float(np.sum([share * state[0] / think for share, state in zip(shares, states, strict=True)]))
    return users / rate - think


def balanced_line(bottleneck: float, raw: float, inside: int) -> float:
    """Output of a balanced exponential line: who comes waits for those inside who are before him."""
    time_inside = raw + (inside - 1) / bottleneck
    return inside / time_inside


SECOND: dict[str, list[Callable[[], float]]] = {
    "two-tellers-number-waiting": [partial(number_waiting, 80, 1 / 50, 2)],
    "table-load-4-five-servers": [partial(number_waiting, 4, 1, 5)],
    "table-load-2-three-servers": [partial(number_waiting, 2, 1, 3)],
    "long-rare-stops-wait": [partial(wait_by_residuals, 2.875, 1 / 3, 6.25)],
    "short-frequent-stops-wait": [
        partial(wait_by_residuals, 2.875, 1 / 3, 1),
        lambda: number_waiting(2.875, 1 / 3, 1) / 2.875,
    ],
    "three-users-response": [partial(response, 4, (2, 3, 1), 3)],
    "board-line-practical-worst-case": [partial(balanced_line, 114, 33.9, 37_400)],
    "mm1-80-percent-busy-quickest-90-percent": [lambda: math.log(10) / 0.2],
}
