"""One known result: what it says, its value, where it stands, and how this program comes to its own value."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Value = float | tuple[float, ...]

EXACT = "exact"
PRACTICE = "common practice, no source"
LAST_DIGIT = 1e-9  # relative; values are written with ten digits unless an entry says otherwise


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """A known value, the cell that must reproduce it, and the formula that must give it.

    An entry has a cell, a formula, or both.

    Attributes:
        id: short and unique, made of words with hyphens
        topic: the heading under which it is shown
        statement: what is known, in one line; the setup belongs to it
        value: one number, or the numbers of an exact trace
        unit: of the value
        source: author, year, title; "(from memory)" where nobody looked, PRACTICE for a fact of the trade
        exactness: EXACT, or how the value was rounded or in what it is only an approximation
        cell: the text of a cell file; its `study` says how long it runs in the quick set
        quantity: the name of a row of `measures.REPLICATED` or `measures.TRACED`
        of: the station, store or person that the quantity is of, where it is of one
        formula: gives the value on paper, by the rooms `theory` and `study`
        rounding: how far the formula may be from the value, relative to it
        tolerance: how far the truth of the cell may be from the value, relative to it (0: it is the same)
        whole: what half widths are relative to, in the unit of the value; 0: the value itself
        full_only: too long for the quick set
    """

    id: str
    topic: str
    statement: str
    value: Value
    unit: str
    source: str
    exactness: str = EXACT
    cell: str = ""
    quantity: str = ""
    of: str = ""
    formula: Callable[[], Value] | None = None
    rounding: float = LAST_DIGIT
    tolerance: float = 0.0
    whole: float = 0.0
    full_only: bool = False

    @property
    def is_trace(self) -> bool:
        """Whether the value is a list of numbers that must come out exactly."""
        return isinstance(self.value, tuple)

    @property
    def is_random(self) -> bool:
        """Whether a run says something about the value only within an interval."""
        return bool(self.cell) and not self.is_trace


def figure_of(name: str, function: Callable[..., Any], *given: Any) -> Callable[[], float]:
    """The formula that is one figure, by its name, of what a function of the theory gives."""
    return lambda: float(getattr(function(*given), name))


def one_number(function: Callable[..., float], *given: Any) -> Callable[[], tuple[float, ...]]:
    """The formula of a trace of one number."""
    return lambda: (function(*given),)
