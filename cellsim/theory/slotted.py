"""Lines of any number of stations that work in steps of one common cycle, as exact chains.

For short lines, and to measure what approximations of long ones are worth: each station and each place
multiplies the states.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cellsim.theory.chains import MOST_STATES, FloatArray, explore, long_run_shares_in_steps
from cellsim.theory.line_inputs import alike, chances, counts

Contents = tuple[int, ...]
Ups = tuple[bool, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SlottedFigures:
    """Units per cycle, and per pair of neighbours the mean number of units between, at ends of cycles.

    `starved` and `blocked`, one for each station, are shares of cycles in which it is up and finds nothing to
    work on, and in which it is up and there is no place behind it; one station may be both.
    """

    rate: float
    content: FloatArray
    starved: FloatArray
    blocked: FloatArray


def geometric_line(
    stop: Sequence[float], repair: Sequence[float], stored: Sequence[int], most_states: int = MOST_STATES
) -> SlottedFigures:
    """Stations of one constant cycle with geometric running times and repairs.

    The rules of `two_unreliable.geometric_pair` for any number of stations; `stored`, at least 2 each, counts
    the places between two neighbours with those in the two stations.  A station can work while fewer units
    than that are finished by it and not by the next one; so a finished unit that blocks the next one takes
    no place from it, and a line of three or more does a little better than with blocking after service.

    Source: Gershwin, S. B. (1994), Manufacturing Systems Engineering, Prentice Hall, chapters 3 and 4.

    Raises:
        ValueError: chances or places are wrong, lengths differ, or the chain has too many states.
    """
    p = chances(stop, "chances to stop", certain=False)
    r = chances(repair, "chances to be repaired")
    alike(p, r, "chances to stop and to be repaired")
    limits = counts(stored, len(p), "places with those of the stations", least=2)
    last = len(p) - 1

    def outcomes(content: Contents, up: Ups) -> list[list[tuple[bool, bool, float]]]:
        found = []  # of each station: up afterwards, makes a unit, chance
        for i, runs in enumerate(up):
            can = (i == 0 or content[i - 1] > 0) and (i == last or content[i] < limits[i])
            if runs and can:
                found.append([(True, True, 1 - p[i]), (False, False, float(p[i]))])
            elif runs:
                found.append([(True, False, 1.0)])
            else:
                found.append([(True, can, float(r[i])), (False, False, float(1 - r[i]))])
        return found

    def moves(state: tuple[Contents, Ups]) -> Iterator[tuple[tuple[Contents, Ups], float]]:
        for drawn in itertools.product(*outcomes(*state)):
            made = [makes for _, makes, _ in drawn]
            yield (_shifted(state[0], made), tuple(up for up, _, _ in drawn)), math.prod(x[2] for x in drawn)

    chain = explore(((0,) * last, (True,) * (last + 1)), moves, most_states)
    shares = long_run_shares_in_steps(chain)
    rate = math.fsum(
        share * sum(chance for _, makes, chance in outcomes(*state)[-1] if makes)
        for share, state in zip(shares, chain.states, strict=True)
    )
    held = _table([content for content, _ in chain.states], last)
    is_up = np.array([ups for _, ups in chain.states], dtype=np.float64)
    full = held == np.array(limits)
    return SlottedFigures(
        rate=rate,
        content=shares @ held,
        starved=np.append(0.0, shares @ (is_up[:, 1:] * (held == 0))),
        blocked=np.append(shares @ (is_up[:, :-1] * full), 0.0),
    )


def bernoulli_line(
    up: Sequence[float], places: Sequence[int], most_states: int = MOST_STATES
) -> SlottedFigures:
    """Stations that are up in a cycle with a chance each, each cycle anew.

    The rules of `two_unreliable.bernoulli_pair` for any number of stations: a station takes a unit if the
    store before it held one at the end of the cycle before, unless the store behind it was full then and the
    next station takes none (blocked before service).

    Source: Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4.

    Raises:
        ValueError: chances or places are wrong, or the chain has too many states.
    """
    p = chances(up, "chances to be up")
    limits = counts(places, len(p), least=1)
    last = len(p) - 1

    def works(content: Contents, ups: Sequence[bool]) -> list[bool]:
        found = [False] * (last + 1)
        for i in range(last, -1, -1):
            room = i == last or content[i] < limits[i] or found[i + 1]
            found[i] = ups[i] and room and (i == 0 or content[i - 1] > 0)
        return found

    def outcomes() -> Iterator[tuple[tuple[bool, ...], float]]:
        for ups in itertools.product([True, False], repeat=last + 1):
            yield ups, math.prod(x if is_up else 1 - x for x, is_up in zip(p, ups, strict=True))

    def moves(content: Contents) -> Iterator[tuple[Contents, float]]:
        for ups, chance in outcomes():
            yield _shifted(content, works(content, ups)), chance

    chain = explore((0,) * last, moves, most_states)
    shares = long_run_shares_in_steps(chain)
    held = _table(list(chain.states), last)
    starved = p * np.append(0.0, shares @ (held == 0))
    blocked = np.zeros(last + 1)
    for share, content in zip(shares, chain.states, strict=True):
        for ups, chance in outcomes():
            working = works(content, ups)
            for i in range(last):
                if ups[i] and content[i] == limits[i] and not working[i + 1]:
                    blocked[i] += share * chance
    return SlottedFigures(float(p[-1] - starved[-1]), shares @ held, starved, blocked)


def _shifted(content: Contents, made: Sequence[bool]) -> Contents:
    """What is between neighbours when these stations have made a unit."""
    return tuple(n + made[i] - made[i + 1] for i, n in enumerate(content))


def _table(contents: list[Contents], width: int) -> FloatArray:
    """Contents as a table, shape (states, pairs of neighbours)."""
    return np.array(contents, dtype=np.float64).reshape(len(contents), width)
