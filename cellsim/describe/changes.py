"""Changes to a description that leave its file alone: `stores.tray.places: 8`, as if it stood there."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from cellsim.describe import reader
from cellsim.describe.fields import MapOf
from cellsim.describe.kinds import parse_name
from cellsim.describe.spec import CELL
from cellsim.describe.tree import Listing, Mapping, Node, Notes, Text
from cellsim.units import UnitError, quoted

# What a value without keys is short for, so that a key can be put beside it.
SHORT_FOR = {"stores": "places", "crew": "works_at"}
_POSITION = re.compile(r"\[([1-9][0-9]{0,4})\]")


@dataclass(frozen=True, slots=True)
class Change:
    """A value at a path of keys; a blank one takes away what stands there.  `file` is where it is written."""

    path: str
    value: Node
    file: str = ""

    def __str__(self) -> str:
        return f"{self.path}: {text_of(self.value)}"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A cell that differs from another by some changes, and what it is called."""

    name: str
    changes: tuple[Change, ...]


def text_of(node: Node) -> str:
    """A value on one line, as it can stand in a file."""
    if isinstance(node, Listing):
        return "[" + ", ".join(map(text_of, node.items)) + "]"
    if isinstance(node, Mapping):
        return "{" + ", ".join(f"{key.text}: {text_of(value)}" for key, value in node.items()) + "}"
    return f'"{node.text}"' if node.quoted else node.text


def read_changes(lines: Sequence[str]) -> tuple[Change, ...]:
    """Changes as they are written on a command line, `PATH: VALUE` each.

    Raises:
        DescriptionError: one of them is no such line.
    """
    changes: list[Change] = []
    for line in lines:
        tree = reader.read_text(line, f"change {quoted(line)}")
        changes += (Change(key.text, _nowhere(value)) for key, value in tree.items())
    return tuple(changes)


def as_changes(changes: Sequence[Change | str]) -> tuple[Change, ...]:
    """Changes, some of which are still text.

    Raises:
        DescriptionError: a text is no change.
    """
    found: list[Change] = []
    for change in changes:
        found += read_changes([change]) if isinstance(change, str) else [change]
    return tuple(found)


def read_proposals(text: str, name: str) -> tuple[Proposal, ...]:
    """The proposals of a file: a name and below it the changes, `PATH: VALUE` each.

    Raises:
        DescriptionError: with every mistake.
    """
    notes = Notes(name)
    tree = reader.read_text(text, name)
    found = []
    for key, changes in tree.items():
        try:
            title = parse_name(key.text)
        except UnitError as error:
            notes.wrong(key, key.text, str(error))
            continue
        if not isinstance(changes, Mapping) or not changes.keys:
            notes.wrong(
                changes,
                key.text,
                "wanted are the changes of this proposal, for example stores.tray.places: 8",
            )
            continue
        found.append(Proposal(title, changes_in(changes, name)))
    notes.stop_if_any()
    return tuple(found)


def changes_in(node: Mapping, file: str) -> tuple[Change, ...]:
    """The changes that a mapping of a file holds."""
    return tuple(Change(path.text, value, file) for path, value in node.items())


def apply_changes(tree: Mapping, changes: Sequence[Change], notes: Notes) -> None:
    """Make the changes in a tree, one after the other; what cannot be made is noted as a mistake."""
    for change in changes:
        lines = notes.lines_of(change.file) if change.file else 0
        _apply(tree, replace(change, value=_placed(change.value, lines)), notes)


def _apply(tree: Mapping, change: Change, notes: Notes) -> None:
    here: Node = tree
    done, left = "", change.path
    section = ""
    while True:
        if isinstance(here, Listing):
            position = _POSITION.match(left)
            if position is None or int(position[1]) > len(here.items):
                count = len(here.items)
                notes.wrong(None, change.path, f"{done} is a list; name one of its {count} places: {done}[1]")
                return
            index, left = int(position[1]) - 1, left[position.end() :].removeprefix(".")
            done += position[0]
            if not left:
                _put_item(here, index, change)
                return
            below = here.items[index] = _long_form(here.items[index], "")
            here = below
            continue
        assert isinstance(here, Mapping)
        key, left = _next_key(here, left)
        depth = done.count(".") + bool(done)
        section = section or key
        if key not in here.keys and left and depth == 1 and _is_section(section):
            near = get_close_matches(key, here.keys, 1) or list(here.keys)[:5]
            notes.wrong(None, change.path, f"{section} has no {quoted(key)}; there is {', '.join(near)}")
            return
        done = f"{done}.{key}" if done else key
        if not left:
            _put_key(here, key, change, notes)
            return
        below = here.values.get(key, Mapping(0, 0))
        short_for = SHORT_FOR.get(section, "") if depth == 1 else ""
        if short_for or not isinstance(below, Listing):
            below = _long_form(below, short_for)
        here.keys.setdefault(key, Text(key, 0, 0))
        here.values[key] = below
        here = below


def stands_at(tree: Mapping, path: str) -> Node | None:
    """What stands at a path of keys; None where nothing does."""
    here: Node = tree
    while path:
        if isinstance(here, Listing):
            position = _POSITION.match(path)
            if position is None or int(position[1]) > len(here.items):
                return None
            here, path = here.items[int(position[1]) - 1], path[position.end() :].removeprefix(".")
            continue
        if not isinstance(here, Mapping):
            return None
        key, path = _next_key(here, path)
        if key not in here.keys:
            return None
        here = here.values[key]
    return here


def _next_key(here: Mapping, left: str) -> tuple[str, str]:
    """The next key of a path and what is left; a key that is there may hold dots."""
    for key in sorted(here.keys, key=len, reverse=True):
        rest = left.removeprefix(key)
        if left.startswith(key) and (rest == "" or rest[0] in ".["):
            return key, rest.removeprefix(".")
    key = re.split(r"[.\[]", left, maxsplit=1)[0]
    return key, left[len(key) :].removeprefix(".")


def _is_section(name: str) -> bool:
    """Whether a key of the file holds entries with names of the author's own."""
    row = CELL.key.get(name)
    return row is not None and isinstance(row.kind, MapOf)


def _long_form(node: Node, short_for: str) -> Node:
    """A value to which keys can be given; what it was stays under the key that it is short for."""
    if isinstance(node, Mapping):
        return node
    long = Mapping(node.line, node.column)
    if short_for:
        long.keys[short_for], long.values[short_for] = Text(short_for, node.line, node.column), node
    return long


def _put_key(here: Mapping, key: str, change: Change, notes: Notes) -> None:
    if isinstance(change.value, Text) and change.value.blank:
        if key not in here.keys:
            notes.wrong(None, change.path, "there is nothing to take away")
            return
        del here.keys[key], here.values[key]
        return
    here.keys[key] = Text(key, change.value.line, change.value.column)
    here.values[key] = change.value


def _put_item(here: Listing, index: int, change: Change) -> None:
    if isinstance(change.value, Text) and change.value.blank:
        del here.items[index]
    else:
        here.items[index] = change.value


def _nowhere(node: Node) -> Node:
    """A value without a place, since it stands in no file."""
    return _map_places(node, lambda line, column: (0, 0))


def _placed(node: Node, lines: int) -> Node:
    """A copy of a value so many lines further down."""
    return _map_places(node, lambda line, column: (line + lines if line else 0, column))


def _map_places(node: Node, place: Callable[[int, int], tuple[int, int]]) -> Node:
    line, column = place(node.line, node.column)
    if isinstance(node, Text):
        return replace(node, line=line, column=column)
    if isinstance(node, Listing):
        return Listing(line, column, [_map_places(item, place) for item in node.items])
    keys = {}
    for name, key in node.keys.items():
        there = place(key.line, key.column)
        keys[name] = replace(key, line=there[0], column=there[1])
    return Mapping(line, column, keys, {name: _map_places(v, place) for name, v in node.values.items()})
