"""Saturated serial lines of stations with exponential or phase-type times, solved exactly.

The first station always has raw units, the last never waits to get rid of one.  A unit that finds no place
behind its station stays there and blocks it (blocking after service).  `places[i]` counts the places between
stations i and i+1, without the ones in the stations.

The state of a line is, for each pair of neighbours, how many units the first has finished and the second has
not, and for each station that works the phase of its time.  With exponential times that is all there is.

Source: Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683; Hillier,
F. S. and Boling, R. W. (1967), Finite queues in series with exponential or Erlang service times - a numerical
approach, Operations Research 15(2), 286-303 (both from memory; every figure is checked a second way).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from cellsim.theory.chains import (
    MOST_STATES,
    Chain,
    FloatArray,
    expected,
    explore,
    long_run_shares,
    relative_values,
)
from cellsim.theory.line_inputs import counts, positive
from cellsim.theory.phase_types import PhaseType, exponential

Held = tuple[int, ...]  # for each pair of neighbours: units finished by the first and not by the second
LineState = tuple[Held, tuple[int, ...]]  # and the phase of each station, 0 if it does not work


class Standing(Enum):
    """What a station of a line does."""

    WORKING = "working"
    STARVED = "starved"
    BLOCKED = "blocked"


@dataclass(frozen=True, slots=True, eq=False)
class LineFigures:
    """Long-run figures of a line of K stations.

    `rate` is units per unit of time; `working`, `starved`, `blocked` are shares of time, shape (K,);
    `between` is the mean number of units that a station has finished and the next one has not, `in_stores`
    how many of those lie on the places between the two, shape (K-1,).  A station under repair counts as
    working if it has a unit to work on.
    """

    rate: float
    working: FloatArray
    starved: FloatArray
    blocked: FloatArray
    between: FloatArray
    in_stores: FloatArray

    @property
    def in_stations(self) -> FloatArray:
        """Mean number of units in each station, at work or finished, shape (K,)."""
        return 1 - self.starved

    @property
    def wip(self) -> float:
        """Mean number of units in all stations and on all places."""
        return float(self.in_stations.sum() + self.in_stores.sum())


def standing(held: Held, places: Sequence[int]) -> tuple[Standing, ...]:
    """What each station of a line does, from the units between each pair of neighbours."""
    last = len(places)
    found = [Standing.WORKING] * (last + 1)
    for i in range(last, -1, -1):
        if i < last and held[i] > places[i] + (found[i + 1] is not Standing.BLOCKED):
            found[i] = Standing.BLOCKED
        elif i > 0 and held[i - 1] == 0:
            found[i] = Standing.STARVED
    return tuple(found)


def after_finish(held: Held, station: int) -> Held:
    """The units between neighbours when a station has finished one more."""
    following = list(held)
    if station > 0:
        following[station - 1] -= 1
    if station < len(held):
        following[station] += 1
    return tuple(following)


def line_figures(
    times: Sequence[PhaseType | float], places: Sequence[int], most_states: int = MOST_STATES
) -> LineFigures:
    """Exact rate, shares and mean numbers of units of a saturated line.

    Args:
        times: the time of each station; a number is the mean of an exponential time.
        places: places between neighbours.
        most_states: how large the chain may be.

    Raises:
        ValueError: a mean is not positive, places do not fit, or the chain has too many states.
    """
    line = _Line(times, places)
    chain = explore(line.start(), line.moves, most_states)
    shares = long_run_shares(chain)
    return figures_of(
        [(state[0], share) for state, share in zip(chain.states, shares, strict=True)],
        line.places,
        expected(chain, shares, line.rate_of_last),
    )


def figures_of(shares: Sequence[tuple[Held, float]], places: Sequence[int], rate: float) -> LineFigures:
    """The figures of a line from the shares of its states."""
    weights = np.array([share for _, share in shares])
    found = [standing(held, places) for held, _ in shares]
    working, starved, blocked = (
        weights @ np.array([[one is kind for one in row] for row in found], dtype=np.float64)
        for kind in (Standing.WORKING, Standing.STARVED, Standing.BLOCKED)
    )
    held = np.array([row for row, _ in shares], dtype=np.float64).reshape(len(weights), len(places))
    between = weights @ held
    return LineFigures(rate, working, starved, blocked, between, between - blocked[:-1] - working[1:])


def elasticities(
    times: Sequence[PhaseType | float], places: Sequence[int], most_states: int = MOST_STATES
) -> FloatArray:
    """Relative gain of the rate of a line per relative cut of all times of one station, shape (K,).

    Minus d ln rate / d ln time, exact from the linear system of the chain.  They add up to 1: all times
    cut by 1 % are a rate 1 % higher.  The derivative of the rate by the mean of a station is minus its
    elasticity x rate / mean.

    Raises:
        ValueError: as `line_figures`.
    """
    line = _Line(times, places)
    chain = explore(line.start(), line.moves, most_states)
    shares = long_run_shares(chain)
    return line.gains(chain, shares)


class _Line:
    """The moves of a line, in lists that are quick to walk through."""

    def __init__(self, times: Sequence[PhaseType | float], places: Sequence[int]) -> None:
        positive([1.0 if isinstance(time, PhaseType) else time for time in times], "mean times")
        self.places = counts(places, len(times))
        laws = [time if isinstance(time, PhaseType) else exponential(time) for time in times]
        self.starts = [[(k, float(x)) for k, x in enumerate(law.start) if x > 0] for law in laws]
        self.inner = [
            [
                [(to, float(x)) for to, x in enumerate(row) if x > 0 and to != k]
                for k, row in enumerate(law.moves)
            ]
            for law in laws
        ]
        self.ends = [[float(x) for x in law.ends] for law in laws]
        self.known: dict[Held, tuple[Standing, ...]] = {}

    def start(self) -> LineState:
        """An empty line in which the first station has just begun."""
        return (0,) * len(self.places), (self.starts[0][0][0],) + (0,) * len(self.places)

    def moves(self, state: LineState) -> Iterator[tuple[LineState, float]]:
        """Next states and rates."""
        for _, following, rate in self.moves_by_station(state):
            yield following, rate

    def moves_by_station(self, state: LineState) -> Iterator[tuple[int, LineState, float]]:
        """Next states and rates, with the station whose time makes the move."""
        held, phases = state
        now = self.standing(held)
        for i, phase in enumerate(phases):
            if now[i] is not Standing.WORKING:
                continue
            for following, rate in self.inner[i][phase]:
                yield i, (held, phases[:i] + (following,) + phases[i + 1 :]), rate
            if self.ends[i][phase] > 0:
                for following_state, chance in self.finished(held, phases, i, now):
                    yield i, following_state, self.ends[i][phase] * chance

    def finished(
        self, held: Held, phases: tuple[int, ...], station: int, before: tuple[Standing, ...]
    ) -> Iterator[tuple[LineState, float]]:
        """States that follow when a station finishes, and their chances: who begins draws a phase."""
        following = after_finish(held, station)
        fresh, begin = [0] * len(phases), []
        for i, now in enumerate(self.standing(following)):
            if now is Standing.WORKING:
                fresh[i] = phases[i]
                if i == station or before[i] is not Standing.WORKING:
                    begin.append(i)
        for drawn in itertools.product(*(self.starts[i] for i in begin)):
            for i, (phase, _) in zip(begin, drawn, strict=True):
                fresh[i] = phase
            yield (following, tuple(fresh)), math.prod(chance for _, chance in drawn)

    def standing(self, held: Held) -> tuple[Standing, ...]:
        """What each station does; looked up, since many states have the same units between neighbours."""
        found = self.known.get(held)
        if found is None:
            found = self.known[held] = standing(held, self.places)
        return found

    def rate_of_last(self, state: LineState) -> float:
        """Rate at which the last station finishes units in a state."""
        held, phases = state
        works = self.standing(held)[-1] is Standing.WORKING
        return self.ends[-1][phases[-1]] if works else 0.0

    def gains(self, chain: Chain[LineState], shares: FloatArray) -> FloatArray:
        """Derivative of the log of the rate by the log of the pace of each station."""
        rewards = np.array([self.rate_of_last(state) for state in chain.states])
        values = relative_values(chain, shares, rewards)
        gains = np.zeros(len(self.starts))
        gains[-1] = rate = float(shares @ rewards)
        for here, state in enumerate(chain.states):
            for i, following, pace in self.moves_by_station(state):
                gains[i] += shares[here] * pace * (values[chain.place[following]] - values[here])
        return gains / rate
