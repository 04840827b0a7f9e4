"""Remarks on the stops of one cause, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cellsim.evidence.series import grain
from cellsim.evidence.stop_laws import two_kinds
from cellsim.evidence.stop_records import Logged
from cellsim.evidence.worktime import Axis, WorkTime, length_text
from cellsim.units import HOUR, MINUTE, SECOND

IMPROBABLE = 0.001  # chance of so long a time without a stop below which it is asked about
LONG, DOUBTFUL = 5, 0.05  # shifts without a stop, and the chance below which they are asked about too
COARSE = 0.2  # of the mean length: a step of the watch that hides short stops


def remarks_on(
    stops: Sequence[Logged], lengths: Sequence[float], split: int, machines: int, owner: str
) -> list[str]:
    """What a reader of the log should know of one cause: kinds of stops, coarse lengths, machines unnamed.

    Args:
        lengths: seconds of the stops, one each.
        split: as given, microseconds; 0: not parted yet.
        machines: how many the station has.
    """
    found = []
    ended = [length for stop, length in zip(stops, lengths, strict=True) if stop.ended]
    if not split and (two := two_kinds(ended)) is not None:
        kinds, limit = two
        found.append(
            f"two kinds of stops: about {100 * kinds.weights[0]:.0f} % around {_time(kinds.medians[0])},"
            f' the others around {_time(kinds.medians[1])}; part them with --split "{_round_limit(limit)}"'
        )
    if (
        len(ended) >= 5
        and (step := grain(ended)) >= MINUTE / SECOND
        and step > COARSE * sum(ended) / len(ended)
    ):
        found.append(f"lengths are written in steps of {_time(step)}; short ones are coarse")
    if machines > 1 and any(stop.machine == owner for stop in stops):
        found.append(f"the log does not say which of the {machines} machines; overlaps were not looked for")
    return found


def quiet_chance(gap: float, stops: int, whole: float) -> float:
    """The chance that stops which come by chance leave a time as long as `gap` without any, at most.

    n exp(-n g / T): n gaps, each exponential with mean T / n (first term of Fisher's series of 1929 for the
    largest gap, for many stops; from memory).
    """
    return min(1.0, stops * math.exp(-stops * gap / whole))


def quiet_times(
    stops: Sequence[Logged], begin: int, end: int, shift: WorkTime, a_shift: int, axis: Axis
) -> list[str]:
    """The longest time of the period without any stop, in words, where it is improbable.

    Improbable: at least one shift and by chance under 0.1 %, or at least five shifts and either under 5 % or
    more than half of the period.

    Args:
        stops: as read, in order of time, waits included, since they too show that the log was kept.
        begin, end: the period; `shift` its on time, `a_shift` that of one shift (0: no shifts).
    """
    inside = [stop for stop in stops if begin <= stop.begin < end]
    whole = shift.between(begin, end)
    if len(inside) < 2 or whole <= 0:
        return []
    longest, told = 0, (begin, end, "", "")
    since, line = begin, ""
    for at, following in [*((stop.begin, f"line {stop.line}") for stop in inside), (end, "")]:
        if (gap := shift.between(since, max(since, at))) > longest:
            longest, told = gap, (since, at, line, following)
        since, line = at, following
    if longest < (a_shift or 8 * HOUR):  # stops come in clusters; a quiet part of a shift is no question
        return []
    shifts = longest / a_shift if a_shift else 0.0
    chance = quiet_chance(longest, len(inside), whole)
    if not (chance < IMPROBABLE or (shifts >= LONG and (chance < DOUBTFUL or longest > whole / 2))):
        return []
    first, last, before, after = told
    lines = " and ".join(text for text in (before, after) if text)
    size = f"{shifts:.0f} shifts" if shifts >= 1.5 else length_text(longest) + " of on time"
    return [
        f"No stop at all from {axis.text(first)} to {axis.text(last)} ({size}; {lines}): a slip of the pen,"
        " or --closed?"
    ]


def _time(seconds: float) -> str:
    return length_text(round(seconds * SECOND)) if seconds >= 10 else f"{seconds:.2g} s"


def _round_limit(seconds: float) -> str:
    """A limit between short and long stops as one would say it."""
    return f"{max(1, round(seconds / 60))} min" if seconds >= 90 else f"{max(5, round(seconds / 5) * 5)} s"
