"""Checks of what a formula is given; each raises ValueError with what was given and what is allowed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any


def positive(name: str, value: float) -> float:
    """A finite number above 0."""
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be a finite number above 0, not {value!r}")
    return float(value)


def not_negative(name: str, value: float) -> float:
    """A finite number that is 0 or more."""
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be a finite number, 0 or more, not {value!r}")
    return float(value)


def share(name: str, value: float) -> float:
    """A number from 0 to 1, both included."""
    if not 0 <= value <= 1:
        raise ValueError(f"{name} must be from 0 to 1, not {value!r}")
    return float(value)


def share_below_one(name: str, value: float) -> float:
    """A number from 0 to 1, without 1."""
    if not 0 <= value < 1:
        raise ValueError(f"{name} must be 0 or more and below 1, not {value!r}")
    return float(value)


def whole(name: str, value: float, least: int = 1) -> int:
    """A whole number, at least `least`."""
    if not (math.isfinite(value) and value == int(value) and value >= least):
        raise ValueError(f"{name} must be a whole number, {least} or more, not {value!r}")
    return int(value)


def phases(name: str, value: float) -> float:
    """Number of phases of an Erlang time: a whole number from 1 on, or infinity for a constant time."""
    return math.inf if value == math.inf else float(whole(name, value))


def all_positive(name: str, values: Sequence[float]) -> tuple[float, ...]:
    """At least one number, each finite and above 0."""
    if len(values) == 0:
        raise ValueError(f"{name} must have at least one entry")
    return tuple(positive(f"entry {k} of {name}", value) for k, value in enumerate(values, 1))


def same_length(first: str, here: Sequence[Any], second: str, there: Sequence[Any]) -> None:
    """Two lists with one entry for each other's."""
    if len(here) != len(there):
        raise ValueError(
            f"{first} has {len(here)} entries and {second} has {len(there)}; they must have as many"
        )


def stable(utilisation: float) -> float:
    """A utilisation below 1, without which a queue of unlimited length grows for ever."""
    if not utilisation < 1:
        raise ValueError(
            f"the utilisation would be {utilisation:.6g}; a queue of unlimited length needs it below 1"
        )
    return utilisation
