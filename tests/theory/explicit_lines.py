"""Second methods for lines: a chain told unit by unit, and runs by the recursion of departures.

Nothing of `cellsim.theory` is used here.  A station is idle (0), has so many phases still to go (1 ..), or
holds a finished unit (-1); what can move on does, one unit at a time, until nothing moves.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

FINISHED, IDLE = -1, 0


def solved(start: Hashable, moves: Callable[[Hashable], Iterable[tuple[Hashable, float]]]) -> dict:
    """Long-run share of each state that can follow from the start; one balance is replaced by the sum 1."""
    states, place, entries = [start], {start: 0}, []
    for here, state in enumerate(states):
        for following, rate in moves(state):
            if following not in place:
                place[following] = len(states)
                states.append(following)
            there = place[following]
            if here > 0:
                entries.append((here, here, -rate))
            if there > 0:
                entries.append((there, here, rate))
    entries += [(0, k, 1.0) for k in range(len(states))]
    rows, columns, values = zip(*entries, strict=True)
    balance = coo_matrix((values, (rows, columns)), shape=(len(states),) * 2).tocsc()
    right = np.zeros(len(states))
    right[0] = 1.0
    return dict(zip(states, np.atleast_1d(spsolve(balance, right)), strict=True))


@dataclass(frozen=True)
class Explicit:
    """Rate at the first station, and of each station the shares of time; mean content of each store."""

    rate: float
    working: np.ndarray
    starved: np.ndarray
    blocked: np.ndarray
    in_stores: np.ndarray

    @property
    def wip(self) -> float:
        """Mean number of units in stations and stores."""
        return float((1 - self.starved).sum() + self.in_stores.sum())


def explicit_line(
    means: Sequence[float],
    places: Sequence[int],
    phases: int = 1,
    stops: Sequence[tuple[float, float]] | None = None,
    on_time: bool = False,
) -> Explicit:
    """A saturated line of Erlang stations; `stops` are mean running time and mean repair of each station."""
    last = len(means) - 1

    def settle(stations: list[int], stores: list[int]) -> tuple:
        moved = True
        while moved:
            moved = False
            for i in range(last, -1, -1):
                if stations[i] == FINISHED and i == last:
                    stations[i], moved = IDLE, True
                elif stations[i] == FINISHED and stores[i] < places[i]:
                    stores[i], stations[i], moved = stores[i] + 1, IDLE, True
                elif stations[i] == FINISHED and stations[i + 1] == IDLE:
                    stations[i + 1], stations[i], moved = phases, IDLE, True
                elif stations[i] == IDLE and i == 0:
                    stations[i], moved = phases, True
                elif stations[i] == IDLE and stores[i - 1] > 0:
                    stores[i - 1], stations[i], moved = stores[i - 1] - 1, phases, True
        return tuple(stations), tuple(stores)

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        stations, stores, ups = state
        out = []
        for i, now in enumerate(stations):
            works = now > IDLE
            if works and ups[i]:
                after = list(stations)
                after[i] = now - 1 if now > 1 else FINISHED
                out.append(((*settle(after, list(stores)), ups), phases / means[i]))
            if stops and (not ups[i] or works or on_time):
                turned = ups[:i] + (not ups[i],) + ups[i + 1 :]
                out.append(((stations, stores, turned), 1 / stops[i][0] if ups[i] else 1 / stops[i][1]))
        return out

    shares = solved((*settle([IDLE] * (last + 1), [0] * last), (True,) * (last + 1)), moves)
    weights = np.array(list(shares.values()))
    stations = np.array([state[0] for state in shares])
    stores = np.array([state[1] for state in shares], dtype=float).reshape(len(weights), last)
    first_ends = [state[0][0] == 1 and state[2][0] for state in shares]
    return Explicit(
        rate=float(weights @ np.array(first_ends, dtype=float)) * phases / means[0],
        working=weights @ (stations > IDLE),
        starved=weights @ (stations == IDLE),
        blocked=weights @ (stations == FINISHED),
        in_stores=weights @ stores,
    )


def simulated_rates(
    draw: Callable[[np.random.Generator, tuple[int, ...]], np.ndarray],
    places: Sequence[int],
    units: int,
    settle: int,
    replications: int,
    seed: int,
) -> np.ndarray:
    """Rate of each of many independent runs, from when the last station lets go of units.

    `draw` gives times of shape (stations, replications) for one unit.  A unit leaves a station when it is
    finished and the unit that far ahead has left the next station.
    """
    luck = np.random.default_rng(seed)
    stations = len(places) + 1
    left = np.full((units + 1, stations, replications), -math.inf)
    left[0] = 0.0
    for j in range(1, units + 1):
        times = draw(luck, (stations, replications))
        arrived = np.zeros(replications)
        for i in range(stations):
            done = np.maximum(arrived, left[j - 1, i]) + times[i]
            if i < stations - 1 and j - places[i] - 1 >= 1:
                done = np.maximum(done, left[j - places[i] - 1, i + 1])
            left[j, i] = arrived = done
    return (units - settle) / (left[units, -1] - left[settle, -1])
