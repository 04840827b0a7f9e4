"""Shifts and posts of a resolved cell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from cellsim.describe.cell_work import PRACTISED, Criterion, Law, Need
from cellsim.units import DAY

EndOfShift = Literal["finish element", "finish unit", "run out", "stop", "hand over"]
BreakRule = Literal["finish element", "full length", "suspend", "do not start", "hand over"]


@dataclass(frozen=True, slots=True)
class Shift:
    """One shift: start and end in microseconds after midnight (the end may lie beyond 24 h)."""

    name: str
    start: int
    end: int
    days: tuple[int, ...] = (0, 1, 2, 3, 4)  # 0 = Monday
    breaks: tuple[tuple[int, int], ...] = ()  # (start after midnight, length)
    start_up: int = 0
    clean_up: int = 0
    at_end: EndOfShift = "finish element"
    hand_over: int = 0  # after start up, in which its people do not work yet; machines do


@dataclass(frozen=True, slots=True)
class Learning:
    """The time factor of repetition n is (n / standard_after) ** log2(rate), never below 1.

    Repetitions are those of one person at one work element; `has_done` are behind everybody at the start.
    Unit curve: J. R. Crawford, Learning Curve, Ship Curve, Ratios, Related Data (1944); from memory.
    """

    rate: float
    standard_after: int
    has_done: int = 0


@dataclass(frozen=True, slots=True)
class Rotation:
    """Who works where changes every so often: person k is at first in group k of `among`, then in the next.

    Each shift begins as the list says; `every` is microseconds from its beginning, breaks included.
    """

    every: int
    among: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Post:
    """People who do the same: `skills` are (skill, time factor), 1.0 = the stated times.

    `levels` are the (skill, level) of those skills that are given by level; `level` is that of all else, 0
    where none is given, and `own_factor` the time factor that goes with it.
    `response` is the time from the call to a repair until they can be there, from other cells;
    `called_out` the microseconds in which they come from off duty when nobody on duty could do a repair.
    """

    name: str
    people: int
    skills: tuple[tuple[str, float], ...]
    shifts: tuple[str, ...]
    serves: tuple[Criterion, ...] = ("longest waiting", "downstream first")
    listed: tuple[str, ...] = ()  # stations in the order the file lists them, for `listed order`
    overtaking: bool = True
    at_break: BreakRule = "finish element"
    travel: tuple[tuple[str, str, int], ...] = ()  # (from point, to point, microseconds)
    starts_at: str = ""
    level: int = 0
    own_factor: float = 1.0
    levels: tuple[tuple[str, int], ...] = ()
    breaks: tuple[tuple[int, int], ...] | None = None  # (time of day, length) instead of those of the shift
    relieves: tuple[str, ...] = ()  # posts whose place they take during breaks
    stands_in_for: tuple[str, ...] = ()  # posts whose place they take when somebody is absent
    absent: float = 0.0  # share of shifts for which a person does not come
    learning: Learning | None = None
    rotates: Rotation | None = None
    response: Law | None = None
    called_out: int | None = None

    def level_of(self, skill: str) -> int:
        """The level at a skill, or at what the post itself does; practised where none is given."""
        return dict(self.levels).get(skill, self.level) or PRACTISED

    def working_in(self, shift: Shift) -> Shift:
        """The shift with the breaks that these people take in it."""
        if self.breaks is None:
            return shift
        placed = ((at + DAY if at < shift.start else at, length) for at, length in self.breaks)
        inside = sorted((at, length) for at, length in placed if at + length <= shift.end)
        return replace(shift, breaks=tuple(inside))

    def can_help(self, needs: tuple[Need, ...]) -> bool:
        """Whether these people can do any part of what is needed."""
        return bool({need.skill for need in needs} & {self.name, *(skill for skill, _ in self.skills)})
