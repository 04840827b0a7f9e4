"""Rate of a saturated line from mean and variability of each station's time, by decomposition.

Each pair of neighbours is a two-station line, solved exactly.  Its first station takes the time of the real
one after a wait, with some chance, for the station before it; its second takes the time of the real one
followed, with some chance, by a wait for a place.  Chances and waits come from the neighbouring pairs, which
are solved in turn until all have the same rate.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import sparse

from cellsim.theory.chains import MOST_STATES, Chain, FloatArray, long_run_shares
from cellsim.theory.estimates import EXACT, Estimate, UsualError, until_agreed
from cellsim.theory.line_inputs import alike, counts, positive
from cellsim.theory.phase_types import PhaseType, with_mean_and_scv

AGREED = 1e-4  # relative: the pairs have one rate; the method is not that exact
ROUNDING = 1e-9
NEVER = 1e-12  # a wait with less chance than this is left out
STEADIEST_WAIT = 0.1  # SCV of a wait: the time that is left of another one is hardly ever as steady

# By the largest SCV of a line, against exact rates of random lines of such times of phases; how they are
# drawn: tests/theory/random_lines.py.  Other laws with the same two moments add their own error.
TWO_MOMENT_ERRORS = (
    (
        1.0,
        UsualError(
            -4.1, 0.8, -1.3, -4.6, "400 lines of 3 to 5 stations, Erlang with 1 to 4 phases, places 0-4"
        ),
    ),
    (2.0, UsualError(-6.3, 1.3, -1.9, -6.8, "400 lines of 3 or 4 stations that stop, places 0-8")),
    (
        math.inf,
        UsualError(-12.0, 1.2, -6.2, -12.6, "400 lines of 3 or 4 stations with long stops, places 0-8"),
    ),
)


@dataclass(frozen=True, slots=True, eq=False)
class PairSeen:
    """What a two-station line tells the pairs next to it.

    `rate`; per phase of the first station's time, the chance that the second has finished just then and
    finds nothing; per phase of the second's time, the chance that the first has finished just then and finds
    no place.
    """

    rate: float
    finds_nothing: FloatArray
    finds_no_place: FloatArray


def two_moment_estimate(
    means: Sequence[float], scvs: Sequence[float], places: Sequence[int], agreed: float = AGREED
) -> Estimate:
    """Approximate rate of a saturated line, blocking after service, from two moments of each time.

    Times are replaced by times of phases with the same mean and squared coefficient of variation
    (`phase_types.with_mean_and_scv`), waits likewise.  Exact for two stations of such times.  Low for longer
    lines, since waits of one unit and the next are taken for independent.

    Source: a method of the kind of Bierbooms, R., Adan, I. J. B. F. and van Vuuren, M. (2013), Approximate
    analysis of single-server tandem queues with finite buffers, Annals of Operations Research 209, 67-84;
    this one checked against exact chains.

    Args:
        means, scvs: of each station's time, stops included (effective process time).
        places: places between neighbours, the ones in the stations left out.
        agreed: relative difference between the rates of the pairs at which to stop.

    Raises:
        ValueError: a mean is not positive, an SCV below 0.01, places do not fit, or the steadiest times and
            the places make two-station chains that are too large.
        ArithmeticError: the pairs do not come to agree.
    """
    times, spread = positive(means, "mean times"), positive(scvs, "squared coefficients of variation")
    alike(times, spread, "mean times and squared coefficients of variation")
    between = counts(places, len(times))
    usual = next(error for largest, error in TWO_MOMENT_ERRORS if spread.max() <= largest + ROUNDING)
    works = [with_mean_and_scv(mean, scv) for mean, scv in zip(times, spread, strict=True)]
    if len(works) == 1:
        return Estimate(float(1 / times[0]), EXACT, 0)
    first, second = works[:-1], works[1:]
    pairs = range(len(between))
    solved: dict[int, PairSeen] = {}

    def seen(i: int) -> PairSeen:
        if i not in solved:
            solved[i] = solve_pair(first[i], second[i], between[i])
        return solved[i]

    def sweep() -> list[float]:
        for i in pairs[1:]:
            first[i] = _after(_wait(seen(i - 1).finds_nothing, first[i - 1]), works[i])
            solved.pop(i, None)
        for i in pairs[-2::-1]:
            second[i] = _before(works[i + 1], _wait(seen(i + 1).finds_no_place, second[i + 1]))
            solved.pop(i, None)
        return [seen(i).rate for i in pairs]

    rates, sweeps = until_agreed(sweep, agreed)
    return Estimate(sum(rates) / len(rates), usual, sweeps)


def solve_pair(first: PhaseType, second: PhaseType, places: int) -> PairSeen:
    """A saturated line of two stations with phase-type times, solved exactly level by level.

    Level n = 0 .. places + 2 counts units that the first has finished and the second has not; at n = 0 only
    the first works, at the top only the second.

    Raises:
        ValueError: the chain has too many states.
    """
    a, b, top = len(first.start), len(second.start), places + 2
    size = a + a * b * (top - 1) + b
    if size > MOST_STATES:
        raise ValueError(
            f"two stations with {a} and {b} phases and {places} places between them make {size} states; "
            f"up to {MOST_STATES} are solved"
        )
    first_ends, second_ends = first.ends[:, None], second.ends[:, None]
    first_anew, second_anew = first_ends * first.start, second_ends * second.start
    one_a, one_b = sparse.eye_array(a), sparse.eye_array(b)
    inside = _product(first.moves, one_b) + _product(one_a, second.moves)
    up, down = _product(first_anew, one_b), _product(one_a, second_anew)
    blocks: list[list[Any]] = [[None] * (top + 1) for _ in range(top + 1)]
    for n in range(1, top):
        blocks[n][n - 1], blocks[n][n], blocks[n][n + 1] = down, inside, up
    blocks[0][0], blocks[0][1] = sparse.coo_array(first.moves), _product(first_anew, second.start[None, :])
    blocks[1][0], blocks[top - 1][top] = _product(one_a, second_ends), _product(first_ends, one_b)
    blocks[top][top - 1] = _product(first.start[None, :], second_anew)
    blocks[top][top] = sparse.coo_array(second.moves)
    chain = Chain(tuple(range(size)), {}, sparse.block_array(blocks, format="csr"))
    shares = long_run_shares(chain)
    levels = shares[a : size - b].reshape(top - 1, a, b)
    rate = float(levels.sum(axis=(0, 1)) @ second.ends + shares[size - b :] @ second.ends)
    return PairSeen(rate, levels[0] @ second.ends / rate, first.ends @ levels[-1] / rate)


def _product(one: Any, other: Any) -> Any:
    """Kronecker product, sparse."""
    return sparse.kron(sparse.coo_array(one), sparse.coo_array(other), format="coo")


def _wait(phases: FloatArray, other: PhaseType) -> tuple[float, PhaseType] | None:
    """Chance of a wait and its time: what is left of the other station's time in these phases."""
    chance = float(phases.sum())
    if chance < NEVER:
        return None
    once, twice = other.moments_from(phases / chance)
    return chance, with_mean_and_scv(once, max(twice / once**2 - 1, STEADIEST_WAIT))


def _after(wait: tuple[float, PhaseType] | None, work: PhaseType) -> PhaseType:
    """With a chance a wait, then the work."""
    if wait is None:
        return work
    chance, time = wait
    nothing = np.zeros((len(work.start), len(time.start)))
    return PhaseType(
        np.concatenate([chance * time.start, (1 - chance) * work.start]),
        np.block([[time.moves, np.outer(time.ends, work.start)], [nothing, work.moves]]),
        np.concatenate([np.zeros(len(time.start)), work.ends]),
    )


def _before(work: PhaseType, wait: tuple[float, PhaseType] | None) -> PhaseType:
    """The work, then with a chance a wait."""
    if wait is None:
        return work
    chance, time = wait
    nothing = np.zeros((len(time.start), len(work.start)))
    return PhaseType(
        np.concatenate([work.start, np.zeros(len(time.start))]),
        np.block([[work.moves, np.outer(work.ends, chance * time.start)], [nothing, time.moves]]),
        np.concatenate([(1 - chance) * work.ends, time.ends]),
    )
