"""Ranges in which a value of a cell file may lie: `stations.press.cycle: 20 s to 26 s`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from cellsim.describe import reader
from cellsim.describe.changes import Change, stands_at
from cellsim.describe.tree import Mapping, Node, Notes, Text
from cellsim.errors import DescriptionError, Mistake
from cellsim.units import UnitError, format_number, format_time, parse_number, parse_time, quoted

EXAMPLE = "20 s to 26 s"
_SUFFIX = re.compile(r"\s+(?:of|per)\s+.+$")
_AMOUNT = re.compile(r"([+-]?[0-9][0-9 _.,]*(?:[eE][+-]?[0-9]+)?)\s*(.*)")


@dataclass(frozen=True, slots=True)
class Range:
    """The limits between which the value at a path of keys lies.

    `low` and `high` count in microseconds where the value `is_time`, else in what `unit` says; `after` is
    what follows the amount (`of running`).  A `whole` value has no fractions.
    """

    path: str
    low: Decimal
    high: Decimal
    unit: str
    after: str = ""
    is_time: bool = False
    whole: bool = False
    file: str = ""
    line: int = 0
    column: int = 0

    def text(self, value: float) -> str:
        """A value as it is written in a cell file."""
        if self.is_time:
            return format_time(round(value)) + self.after
        return f"{format_number(value)} {self.unit}".rstrip() + self.after

    def amount_in(self, text: str, size: int = 1) -> float | None:
        """The amount that a text of the file says, over `size`; None where it says none of this kind."""
        amount = _without_suffix(text)[0]
        try:
            if self.is_time:
                return parse_time(amount) / size
            found = _AMOUNT.fullmatch(amount)
            return float(parse_number(found[1])) / size if found and found[2] == self.unit else None
        except UnitError:
            return None

    def value_at(self, share: float) -> float:
        """The value up to which this share of the range lies; whole values are all alike likely."""
        if self.whole:
            count = int(self.high - self.low) + 1
            return float(self.low) + min(count - 1, int(share * count))
        return float(self.low) + share * float(self.high - self.low)

    def change_at(self, share: float) -> Change:
        """The change of the cell file that puts that value in its place."""
        return Change(self.path, Text(self.text(self.value_at(share)), 0, 0))


def read_ranges(lines: Sequence[str]) -> tuple[Range, ...]:
    """Ranges as they are written on a command line, `PATH: LOW to HIGH` each.

    Raises:
        DescriptionError: with every mistake.
    """
    found: list[Range] = []
    mistakes: list[Mistake] = []
    for line in lines:
        try:
            found += read_range_file(line, f"range {quoted(line)}")
        except DescriptionError as error:
            mistakes += error.mistakes
    if mistakes:
        raise DescriptionError(mistakes)
    return tuple(found)


def read_range_file(text: str, name: str) -> tuple[Range, ...]:
    """The ranges of a file, `PATH: LOW to HIGH` a line.

    Raises:
        DescriptionError: with every mistake.
    """
    notes = Notes(name)
    found = []
    for key, value in reader.read_text(text, name).items():
        try:
            found.append(_range(key, value, name))
        except UnitError as error:
            notes.wrong(value, key.text, str(error))
    notes.stop_if_any()
    return tuple(found)


def _range(key: Text, value: Node, name: str) -> Range:
    ends = re.split(r"\s+to\s+", value.text) if isinstance(value, Text) else []
    if len(ends) != 2 or not all(ends):
        raise UnitError(f"wanted are the two ends of a range, for example {EXAMPLE}")
    (low, first), (high, after) = _without_suffix(ends[0]), _without_suffix(ends[1])
    if first and first != after:
        raise UnitError(f"the two ends are not alike: one is {quoted(ends[0])}, the other {quoted(ends[1])}")
    at_low, at_high = _AMOUNT.fullmatch(low), _AMOUNT.fullmatch(high)
    if not at_low or not at_high:
        raise UnitError(f"{quoted(low if not at_low else high)} is not an amount; write {EXAMPLE}")
    unit = at_high[2]
    if not at_low[2]:
        low = f"{low} {unit}".strip()
    elif not unit:
        raise UnitError(f"{quoted(high)} has no unit, {quoted(low)} has one; write {EXAMPLE}")
    is_time = _is_time(high)
    if is_time:
        one, other = Decimal(parse_time(low)), Decimal(parse_time(high))
    else:
        if at_low[2] not in ("", unit):
            raise UnitError(f"the two ends are not in the same unit: {quoted(low)} and {quoted(high)}")
        one, other = parse_number(at_low[1]), parse_number(at_high[1])
    if not one < other:
        raise UnitError(f"the low end {quoted(low)} is not below the high end {quoted(high)}")
    whole = (
        not is_time and not unit and not after and all(n == n.to_integral(ROUND_FLOOR) for n in (one, other))
    )
    return Range(key.text, one, other, unit, after, is_time, whole, name, key.line, key.column)


def _without_suffix(end: str) -> tuple[str, str]:
    """An end and what follows its amount, such as ` of running`."""
    found = _SUFFIX.search(end)
    return (end[: found.start()].strip(), f" {found[0].strip()}") if found else (end.strip(), "")


def _is_time(text: str) -> bool:
    try:
        parse_time(text)
    except UnitError:
        return False
    return True


def aimed(ranges: Sequence[Range], tree: Mapping) -> list[tuple[Range, str]]:
    """Each range with the path of the single value that it is about, and that value as it stands in the file.

    A time given by mean and spread keeps its spread: the range is that of the mean.  The text is empty where
    the file says nothing, so that a default holds.

    Raises:
        DescriptionError: several values stand at a path, or two ranges are about the same value.
    """
    found: dict[str, tuple[Range, str]] = {}
    mistakes = []
    for given in ranges:
        try:
            one, text = _aimed(given, tree)
            if one.path in found:
                raise UnitError("there are two ranges for this value; give one")
            found[one.path] = one, text
        except UnitError as error:
            mistakes.append(Mistake(given.file, given.line, given.column, given.path, str(error)))
    if mistakes:
        raise DescriptionError(mistakes)
    return list(found.values())


def _aimed(given: Range, tree: Mapping) -> tuple[Range, str]:
    there = stands_at(tree, given.path)
    if isinstance(there, Mapping) and "mean" in there.keys:
        return _aimed(replace(given, path=f"{given.path}.mean"), tree)
    if isinstance(there, Mapping):
        keys = ", ".join(f"{given.path}.{key}" for key in list(there.keys)[:5])
        raise UnitError(f"several values stand there; name one of them: {keys}")
    if there is not None and not isinstance(there, Text):
        raise UnitError(f"a list stands there; name one of its values: {given.path}[1]")
    return given, there.text if there is not None and not there.blank else ""
