"""Choices that a search may make: options of a cell with what they change and what they cost.

tray:                       a choice
  eight places:             an option: nothing below it changes nothing
  sixteen places:
    costs: 0.8              money per working hour
    changes: {stores.tray.places: 16}
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cellsim.describe import reader
from cellsim.describe.changes import Change, changes_in
from cellsim.describe.kinds import parse_name
from cellsim.describe.tree import Mapping, Node, Notes, Text
from cellsim.units import UnitError

KEYS = ("costs", "changes")


@dataclass(frozen=True, slots=True)
class Option:
    """One way to choose: its name, money per working hour, and what it changes in the description."""

    name: str
    costs: float = 0.0
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """Options of which exactly one is taken."""

    name: str
    options: tuple[Option, ...]


def read_choices(text: str, name: str) -> tuple[Choice, ...]:
    """The choices of a file.

    Raises:
        DescriptionError: with every mistake.
    """
    notes = Notes(name)
    found = []
    for key, options in reader.read_text(text, name).items():
        title = _name(key, notes)
        if not isinstance(options, Mapping) or not options.keys:
            notes.wrong(options, key.text, "wanted are the options of this choice, each with its name")
            continue
        rows = (_option(key.text, option, below, notes) for option, below in options.items())
        found.append(Choice(title, tuple(row for row in rows if row is not None)))
    notes.stop_if_any()
    return tuple(found)


def _name(key: Text, notes: Notes) -> str:
    try:
        return parse_name(key.text)
    except UnitError as error:
        notes.wrong(key, key.text, str(error))
        return key.text


def _option(choice: str, key: Text, below: Node, notes: Notes) -> Option | None:
    path = f"{choice}.{key.text}"
    name = _name(key, notes)
    if isinstance(below, Text) and below.blank:
        return Option(name)
    if not isinstance(below, Mapping):
        notes.wrong(below, path, "wanted are the keys costs and changes, or nothing")
        return None
    for other in below.keys.values():
        if other.text not in KEYS:
            notes.wrong(
                other, f"{path}.{other.text}", "this is no key of an option; its keys are costs, changes"
            )
    costs = below.values.get("costs")
    changes = below.values.get("changes", Mapping(0, 0))
    if not isinstance(changes, Mapping):
        notes.wrong(changes, f"{path}.changes", "wanted are changes, for example {stores.tray.places: 8}")
        return None
    return Option(
        name,
        _money(costs, f"{path}.costs", notes),
        changes_in(changes, notes.file),
    )


def _money(node: Node | None, path: str, notes: Notes) -> float:
    if node is None:
        return 0.0
    try:
        value = float(node.text) if isinstance(node, Text) else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        notes.wrong(node, path, "wanted is a number: money per working hour, for example 0.8")
    return value
