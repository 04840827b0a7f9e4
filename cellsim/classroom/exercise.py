"""What an exercise is: a small cell, a question, figures with their exact values, and texts for both sides.

The texts and the cells are files in `exercises/`.  A text has a head of `key: value` lines and parts that
begin with `== name`; numbers in braces, such as `{asked:.1f}`, are filled in from the exact values.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources import files

from cellsim.classroom.readings import Reading, mean_of
from cellsim.errors import UsageError
from cellsim.units import SECOND, UnitError, parse_number, parse_rate, parse_share, parse_time

HEAD = ("title", "teaches", "minutes", "asked")
PARTS = ("question", "discussion", "aim", "wrong", "vary")
SHARE, PER_HOUR = "%", "per h"
TIMES = {"s": SECOND, "min": 60 * SECOND}  # units of time, in microseconds


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number of an exercise: its exact value, and how a run shows it.

    Attributes:
        key: its name in the texts
        words: what it is, for a row of a table
        unit: `per h`, `s`, `min`, `%`, or what is counted
        exact: the value on paper, in the unit
        read: what a run says of it, in the unit; None where it needs no run
        changes: of the cell, as for `--change`
        cell: the file to run instead of the exercise's own, without ending
        against: changes that make the cell that it is compared with, under the same luck; None: with none
        tolerance: how far the exact value may be from the truth of the cell, relative to it
    """

    key: str
    words: str
    unit: str
    exact: Callable[[], float]
    read: Reading | None = None
    changes: tuple[str, ...] = ()
    cell: str = ""
    against: tuple[str, ...] | None = None
    tolerance: float = 0.005


@dataclass(frozen=True, kw_only=True)
class Exercise:
    """An exercise; the first figure is the one that is asked for.

    Attributes:
        number: by which the student calls it
        file: name of its text and its cell, without ending
        source: where the exact value comes from
        figures: what is asked first, then what follows from it
        more: further numbers of the texts, by name
        within: how near to the exact value a prediction must be, relative to it
        near: or how near in the unit of what is asked, where that is more
        has_cell: whether it has a cell file
    """

    number: int
    file: str
    source: str
    figures: tuple[Figure, ...]
    more: Mapping[str, Callable[[], float]] = field(default_factory=dict)
    within: float = 0.05
    near: float = 0.0
    has_cell: bool = True

    @property
    def asked(self) -> Figure:
        """The figure that the student predicts."""
        return self.figures[0]

    @property
    def needs_run(self) -> bool:
        """Whether any figure is read off a run."""
        return any(figure.read is not None for figure in self.figures)

    @property
    def margin(self) -> float:
        """How near to the exact value a prediction must be to be right, in the unit of what is asked."""
        return max(self.near, self.within * abs(self.asked.exact()))

    @property
    def title(self) -> str:
        """Its title."""
        return self._text["title"]

    @property
    def teaches(self) -> str:
        """What it teaches, in one line."""
        return self._text["teaches"]

    @property
    def minutes(self) -> int:
        """How long it takes in class, discussion included."""
        return int(self._text["minutes"])

    @cached_property
    def _text(self) -> dict[str, str]:
        return parts_of((files(__package__) / "exercises" / f"{self.file}.txt").read_text(encoding="utf-8"))

    @cached_property
    def numbers(self) -> dict[str, float]:
        """All exact values by name."""
        return {figure.key: figure.exact() for figure in self.figures} | {
            name: value() for name, value in self.more.items()
        }

    def says(self, part: str) -> str:
        """A part of its text (or `asked`, the question in one line) with its numbers."""
        return self._text[part].format(**self.numbers)

    def paragraphs(self, part: str) -> list[str]:
        """The paragraphs of a part, each in one line."""
        return [" ".join(text.split()) for text in self.says(part).split("\n\n")]

    def wrong_answers(self) -> list[tuple[float, str]]:
        """Typical wrong answers, in the unit of what is asked, each with what it reveals."""
        found = []
        for line in self._text["wrong"].split("\n- "):
            name, _, said = line.removeprefix("- ").partition(": ")
            text = " ".join(said.split()).format(**self.numbers)
            found.append((self.numbers[name.strip("{}")], text))
        return found

    def cell_text(self, file: str = "") -> str:
        """The text of its cell, or of another cell file of the classroom."""
        return (files(__package__) / "exercises" / f"{file or self.file}.yaml").read_text(encoding="utf-8")

    def predicted(self, text: str) -> float:
        """The number of a prediction such as `115 per h`, in the unit of what is asked.

        Raises:
            UsageError: it has no unit or another one, or is no number.
        """
        return value_of(text, self.asked.unit)


def parts_of(text: str) -> dict[str, str]:
    """The head and the parts of the text of an exercise.

    Raises:
        ValueError: a key or a part is missing, or is none of an exercise.
    """
    head, *parts = re.split(r"^== (\w+)\n", text, flags=re.M)
    found = dict(line.split(": ", 1) for line in head.strip().splitlines())
    found |= {name: body.strip() for name, body in zip(parts[::2], parts[1::2], strict=True)}
    if set(found) != {*HEAD, *PARTS}:
        raise ValueError(f"the text has {sorted(found)}, wanted are {sorted({*HEAD, *PARTS})}")
    return found


def value_of(text: str, unit: str) -> float:
    """The number of a text with a unit, in the unit of a figure.

    Raises:
        UsageError: the unit is missing or another one, or there is no number.
    """
    plain = text.strip()
    try:
        if unit == PER_HOUR:
            if re.match(r"0(\.0*)?\s*(per|/)", plain):
                return 0.0
            rate = parse_rate(plain)
            if rate.per is None:
                raise UnitError(f'"{plain}": give units per h')
            return float(rate.count) * TIMES["min"] * 60 / rate.per
        if unit in TIMES:
            return parse_time(plain) / TIMES[unit]
        if unit == SHARE:
            return 100 * (
                parse_share(plain) if plain.endswith(("%", "‰")) or "per" in plain else _bare(plain)
            )
        return float(parse_number(re.sub(rf"\s*{re.escape(unit.rstrip('s'))}s?$", "", plain)))
    except UnitError as error:
        raise UsageError(f"a prediction looks like {example(unit)}: {error}") from None


def _bare(text: str) -> float:
    """Refuses a share without its sign, since 0.4 and 40 could both be meant."""
    raise UnitError(f'"{text}" has no unit; write % behind it')


def example(unit: str) -> str:
    """How a prediction in a unit is written."""
    return f'"100 {unit}"' if unit != SHARE else '"50 %"'


def means(quantity: Callable[..., float], of: str = "", scale: float = 1.0) -> Reading:
    """The mean of a measure over the replications, times `scale`."""
    return Reading(mean_of, quantity, of, scale)


def rows_of(figures: Sequence[Figure]) -> dict[tuple[str, tuple[str, ...]], list[Figure]]:
    """The figures by the runs that they need: cell file and changes."""
    found: dict[tuple[str, tuple[str, ...]], list[Figure]] = {}
    for figure in figures:
        if figure.read is not None:
            found.setdefault((figure.cell, figure.changes), []).append(figure)
            if figure.against is not None:
                found.setdefault((figure.cell, figure.against), [])
    return found
