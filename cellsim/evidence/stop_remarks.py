"""Remarks on the stops of one cause, in words."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.evidence.series import grain
from cellsim.evidence.stop_laws import two_kinds
from cellsim.evidence.stoplog import Logged
from cellsim.evidence.worktime import length_text
from cellsim.units import MINUTE, SECOND

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


def _time(seconds: float) -> str:
    return length_text(round(seconds * SECOND)) if seconds >= 10 else f"{seconds:.2g} s"


def _round_limit(seconds: float) -> str:
    """A limit between short and long stops as one would say it."""
    return f"{max(1, round(seconds / 60))} min" if seconds >= 90 else f"{max(5, round(seconds / 5) * 5)} s"
