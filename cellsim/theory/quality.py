"""Rework, scrap and inspection: what share comes out good, and how much work that takes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cellsim.theory import arguments as check
from cellsim.theory.stationary import stationary_distribution


@dataclass(frozen=True, slots=True)
class Rework:
    """An operation with a perfect check, done again when it failed, up to a number of times.

    `first_pass_yield` and `final_yield`: shares of the units started that are good at once, and in the end;
    `passes` and `passes_deviation`: mean and standard deviation of the passes of a unit started.
    """

    first_pass_yield: float
    final_yield: float
    passes: float
    passes_deviation: float

    @property
    def passes_per_good(self) -> float:
        """Passes for each unit that is good in the end."""
        return self.passes / self.final_yield

    @property
    def starts_per_good(self) -> float:
        """Units started for each unit that is good in the end."""
        return 1 / self.final_yield

    @property
    def rework_share(self) -> float:
        """Share of all passes that is rework: what it takes of the capacity where all passes last alike."""
        return 1 - 1 / self.passes

    def good_rate(self, pass_time: float, rework_time: float | None = None) -> float:
        """Good units per unit of time of a station that is never short of work.

        Raises:
            ValueError: a time is not above 0.

        Source: one first pass and `passes` - 1 others for each unit started.
        """
        first = check.positive("the time of a pass", pass_time)
        again = first if rework_time is None else check.positive("the time of a rework pass", rework_time)
        return self.final_yield / (first + (self.passes - 1) * again)


def rework(first_fail: float, rework_fail: float | None = None, tries: float = math.inf) -> Rework:
    """A unit fails its first pass with one chance and each rework pass with another, independently.

    `rework_fail`: as the first if left out; `tries`: most rework passes, then it is scrap (infinity: no
    limit).

    Raises:
        ValueError: a chance is not from 0 to 1, tries are not a whole number, nothing would become good, or
            units would be reworked for ever.

    Source: absorbing chain, Kemeny, J. G. and Snell, J. L. (1960), Finite Markov Chains, Van Nostrand (from
    memory).
    """
    first = check.share("the chance to fail the first pass", first_fail)
    again = first if rework_fail is None else check.share("the chance to fail a rework pass", rework_fail)
    endless = tries == math.inf
    if endless:
        if first > 0 and again == 1:
            raise ValueError("units whose rework always fails would be reworked for ever; limit the tries")
        good = 1.0
        more = first / (1 - again) if first else 0.0  # mean rework passes
        square = first * (1 + again) / (1 - again) ** 2 if first else 0.0  # and mean square
    else:
        count = check.whole("the number of tries", tries, 0)
        left = [first * again**j for j in range(count)]  # chance of more than j rework passes
        good = 1 - first * again**count
        more = math.fsum(left)
        square = math.fsum((2 * j + 1) * chance for j, chance in enumerate(left))
    if not good > 0:
        raise ValueError("nothing would become good: the first pass and its rework always fail")
    return Rework(1 - first, good, 1 + more, math.sqrt(max(0.0, square - more**2)))


def rolled_throughput_yield(yields: Sequence[float]) -> float:
    """Share of units that pass every step, from the (first-pass) yields of independent steps.

    Raises:
        ValueError: there is no step, or a yield is not from 0 to 1.

    Source: product; Montgomery, D. C., Introduction to Statistical Quality Control, Wiley (from memory).
    """
    if len(yields) == 0:
        raise ValueError("yields must have at least one entry")
    return math.prod(check.share("a yield", value) for value in yields)


def defect_free_share(defects_per_unit: float) -> float:
    """Share of units without a defect, where defects are Poisson.

    Raises:
        ValueError: the defects per unit are negative.

    Source: exp(-defects per unit); Montgomery, D. C., Introduction to Statistical Quality Control, Wiley
    (from memory).
    """
    return math.exp(-check.not_negative("defects per unit", defects_per_unit))


def normalised_yield(total_yield: float, steps: int) -> float:
    """Yield that each of so many equal steps must have for this yield in all.

    Raises:
        ValueError: the yield is not from 0 to 1, or the steps are not a whole number from 1 on.

    Source: root of the product of yields.
    """
    return float(check.share("the total yield", total_yield) ** (1 / check.whole("the steps", steps)))


def starts_needed(yields: Sequence[float], good: float) -> float:
    """Units to start for so many good ones, where scrap leaves after each step.

    Raises:
        ValueError: there is no step, a yield is not above 0 and at most 1, or the good units are negative.

    Source: good units / product of the yields.
    """
    all_good = check.positive("the product of the yields", rolled_throughput_yield(yields))
    return check.not_negative("the good units", good) / all_good


def scrap_capacity(yields: Sequence[float], process_times: Sequence[float]) -> float:
    """Most good units per unit of time of a line whose stations scrap after their work; unlimited buffers.

    Raises:
        ValueError: lengths differ, a yield is not from 0 to 1, or a time is not above 0.

    Source: least over the stations of (product of the yields from there on) / process time.
    """
    times = check.all_positive("process times", process_times)
    check.same_length("process times", times, "yields", yields)
    return min(rolled_throughput_yield(yields[i:]) / time for i, time in enumerate(times))


@dataclass(frozen=True, slots=True)
class Inspection:
    """What inspections with errors let through and hold back.

    `accepted`: share of all units; `outgoing_defective`: defective share of those (average outgoing quality);
    `rejected_good`: good share of the rejected (0 where none is); `good_lost`: share of good units rejected.
    """

    accepted: float
    outgoing_defective: float
    rejected_good: float
    good_lost: float

    @property
    def rejected(self) -> float:
        """Share of all units that is rejected."""
        return 1 - self.accepted

    @property
    def rejected_defective(self) -> float:
        """Defective share of the rejected: the positive predictive value of a rejection."""
        return 1 - self.rejected_good

    @property
    def passes_per_accepted(self) -> float:
        """Passes per accepted unit where the rejected are worked again, each pass anew, without limit."""
        return 1 / self.accepted


def inspection(
    defective: float, false_reject: float, false_accept: float, inspections: int = 1
) -> Inspection:
    """One or several inspections in a row with independent errors; a unit must pass all.

    `defective`: share of the units that come in; `false_reject`: chance that a good unit is rejected;
    `false_accept`: that a bad one is accepted.  Rework of the rejected, each pass anew with the same share of
    bad units, does not change `outgoing_defective`.

    Raises:
        ValueError: a share is not from 0 to 1, the inspections are no whole number, or nothing is accepted.

    Source: Bayes' rule; Montgomery, D. C., Introduction to Statistical Quality Control, Wiley (from memory).
    """
    bad = check.share("the defective share", defective)
    count = check.whole("the number of inspections", inspections)
    good_passes = (1 - check.share("the share of false rejects", false_reject)) ** count
    bad_passes = check.share("the share of false accepts", false_accept) ** count
    accepted = (1 - bad) * good_passes + bad * bad_passes
    if not accepted > 0:
        raise ValueError("nothing would be accepted")
    lost, found = (1 - bad) * (1 - good_passes), bad * (1 - bad_passes)
    return Inspection(
        accepted=accepted,
        outgoing_defective=bad * bad_passes / accepted,
        rejected_good=lost / (lost + found) if lost + found > 0 else 0.0,
        good_lost=1 - good_passes,
    )


def scrap_line(process_times: Sequence[float], places: Sequence[int], scrap: Sequence[float]) -> float:
    """Good units per unit of time of a saturated line of exponential stations that scrap; exact.

    One entry per station: mean time, chance that a unit is scrap at the end of its work, which leaves at once
    even if the way ahead is full.  `places[i]`: between stations i and i + 1, stations excluded.  Blocking
    after service; the first station is never starved, the last never blocked.  Exponential work that is
    repeated in place until good is exponential with mean time / (1 - chance to fail), and no scrap.

    Raises:
        ValueError: lengths do not fit, a time is not above 0, a chance is not from 0 to 1, or the chain has
            too many states.

    Source: Markov chain of the line; model class in Buzacott, J. A. and Shanthikumar, J. G. (1993),
    Stochastic Models of Manufacturing Systems, Prentice Hall (from memory).
    """
    means = check.all_positive("process times", process_times)
    check.same_length("process times", means, "scrap", scrap)
    bad = [check.share("a chance of scrap", chance) for chance in scrap]
    room = [check.whole("a number of places", b, 0) for b in places]
    last = len(means) - 1
    if len(room) != last:
        raise ValueError(f"{len(means)} stations have {last} stores between them, not {len(room)}")

    def working(units: tuple[int, ...]) -> list[bool]:
        """Which stations work; `units[i]`: finished by station i and not yet by the next."""
        blocked = [False] * (last + 1)
        for i in range(last - 1, -1, -1):
            blocked[i] = units[i] >= room[i] + (1 if blocked[i + 1] else 2)
        return [not blocked[i] and (i == 0 or units[i - 1] > 0) for i in range(last + 1)]

    def moves(units: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], float]]:
        for i, works in enumerate(working(units)):
            if not works:
                continue
            gone = list(units)
            if i > 0:
                gone[i - 1] -= 1
            if bad[i] > 0:
                yield tuple(gone), bad[i] / means[i]
            if bad[i] < 1:
                if i < last:
                    gone[i] += 1
                yield tuple(gone), (1 - bad[i]) / means[i]

    shares = stationary_distribution((0,) * last, moves)
    busy = math.fsum(share for units, share in shares.items() if working(units)[last])
    return (1 - bad[last]) * busy / means[last]
