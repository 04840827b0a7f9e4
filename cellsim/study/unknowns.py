"""All that is not known about a cell together: what the cell itself says, and ranges that somebody gives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from cellsim.describe.cell import Cell
from cellsim.describe.changes import Change
from cellsim.describe.ranges import Range
from cellsim.errors import DescriptionError, Mistake
from cellsim.study.uncertain import Input, inputs_of
from cellsim.units import SECOND


@dataclass(frozen=True, slots=True)
class Unknowns:
    """A cell, what is not known about it, and how it is read again with changes of its file."""

    cell: Cell
    inputs: tuple[Input, ...]
    load: Callable[[Sequence[Change]], Cell]

    def at(self, shares: Sequence[float | None]) -> Cell:
        """The cell with each input at the value of a share; None leaves one as it is."""
        told = [(each, share) for each, share in zip(self.inputs, shares, strict=True) if share is not None]
        changes = [each.change(share) for each, share in told if each.change is not None]
        cell = self.load(changes) if changes else self.cell
        for each, share in told:
            cell = each.put(cell, share)
        return cell


def unknowns(
    load: Callable[[Sequence[Change]], Cell],
    ranges: Sequence[tuple[Range, str]] = (),
    only: bool = False,
) -> Unknowns:
    """What is not known about a cell; a range that is given stands for what it changes in the cell.

    Args:
        load: reads the cell with some changes.
        ranges: each with the text that stands there now, empty where none does.
        only: vary nothing but the given ranges.

    Raises:
        DescriptionError: the cell cannot have a value at an end of a range; the place is that of the range.
    """
    cell = load(())
    left = [] if only else inputs_of(cell)
    given: list[Input] = []
    mistakes: list[Mistake] = []
    for found, now in ranges:
        ends = []
        for share in (0.0, 1.0):
            try:
                ends.append(load([found.change_at(share)]))
            except DescriptionError as error:
                mistakes += [
                    replace(m, file=found.file, line=found.line, column=found.column) for m in error.mistakes
                ]
        if len(ends) < 2:
            continue
        low, high = ({each.name: each.stands for each in inputs_of(end)} for end in ends)
        left = [e for e in left if e.name in low and low[e.name] == high.get(e.name) == e.stands]
        given.append(_given(found, now))
    if mistakes:
        raise DescriptionError(dict.fromkeys(mistakes))  # what is wrong at both ends is told once
    return Unknowns(cell, (*given, *left), load)


def _given(found: Range, now: str) -> Input:
    """A range that somebody gave."""
    size = SECOND if found.is_time else 1

    def value_at(share: float) -> float:
        return found.value_at(share) / size

    unit = "s" if found.is_time else found.unit + found.after
    return Input(
        found.path, "given range", unit, found.amount_in(now, size), value_at(0.0), value_at(1.0),
        "the range that was given", value_at, lambda cell, share: cell, change=found.change_at,
    )  # fmt: skip
