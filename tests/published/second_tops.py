"""Two stations that stop with a tray between them, once more: as a flow by small steps, and unit by unit."""

from __future__ import annotations

import functools
from collections.abc import Callable
from functools import partial

import numpy as np
from second_lines import reached, stationary

CYCLE, MEAN_RUN, MEAN_REPAIR = 24.0, 1200.0, 240.0  # seconds
TOP_PLACES = (0, 5, 10, 20, 40, 100)


def top_formula(places: int) -> float:
    """Units per hour of the spinning top, closed form."""
    n, ratio = places * CYCLE / MEAN_REPAIR, MEAN_REPAIR / MEAN_RUN
    return 3600 / CYCLE * (2 + n * (1 + ratio)) / (2 * (1 + 2 * ratio) + n * (1 + ratio) ** 2)


@functools.cache
def top_in_steps(places: int, steps: int) -> float:
    """The same from a chain in which the tray fills and empties by small steps (0: there is no tray).

    State: level in steps, first station up, second station up.  A station that cannot run does not stop.
    """
    pace = steps / (places * CYCLE) if places else 0.0

    def running(state: tuple) -> tuple[bool, bool]:
        level, first, second = state
        return first and (second or level < steps), second and (first or level > 0)

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        level, first, second = state
        runs_first, runs_second = running(state)
        out = [] if first else [((level, True, second), 1 / MEAN_REPAIR)]
        out += [] if second else [((level, first, True), 1 / MEAN_REPAIR)]
        out += [((level, False, second), 1 / MEAN_RUN)] if runs_first else []
        out += [((level, first, False), 1 / MEAN_RUN)] if runs_second else []
        if runs_first != runs_second:
            out.append(((level + (1 if runs_first else -1), first, second), pace))
        return out

    states = reached((0, True, True), moves)
    shares = stationary(states, moves)
    return sum(x for x, state in zip(shares, states, strict=True) if running(state)[1]) * 3600 / CYCLE


def top_in_the_limit(places: int) -> float:
    """The limit of ever smaller steps, from two sizes; the error goes with the size of a step."""
    return 2 * top_in_steps(places, 200) - top_in_steps(places, 100) if places else top_in_steps(0, 0)


def top_unit_by_unit(places: int, seed: int, replications: int = 100) -> list[float]:
    """Units per hour of the spinning top by the recursion of departures, one value per replication.

    A station stops by running time, so the time S of a unit there, repairs included, depends on nothing
    else: the number of stops in one cycle is Poisson.  Unit j leaves the first station at
    D1[j] = max(D1[j-1] + S1[j], D2[j-b-1]), the second at D2[j] = max(D1[j], D2[j-1]) + S2[j].
    """
    settle, units = 2000, 22000
    luck = np.random.default_rng(seed)
    stops = luck.poisson(CYCLE / MEAN_RUN, (2, units, replications))
    times = CYCLE + MEAN_REPAIR * luck.standard_gamma(stops)
    left = np.zeros((units, replications))
    before = np.zeros(replications)
    for j in range(units):
        before = before + times[0, j]
        if j > places:
            before = np.maximum(before, left[j - places - 1])
        left[j] = np.maximum(before, left[j - 1] if j else 0.0) + times[1, j]
    return (3600 * (units - settle) / (left[-1] - left[settle - 1])).tolist()


SECOND: dict[str, list[Callable[[], float]]] = {
    f"spinning-top-{n}-places": [partial(top_in_the_limit, n), partial(top_formula, n)] for n in TOP_PLACES
}
