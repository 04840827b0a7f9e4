"""The kinds of value a key can have, and the one reader that checks a tree against tables of keys.

A kind reads a node of the tree, notes what is wrong with it, and returns what it holds: an `Item` for a
single value, a list, a dict, or a `Record` for a mapping with known keys.  `None` stands for what could not
be read.
The same kinds say what they look like in the JSON Schema and on the reference page.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Protocol

from cellsim.describe.meant import MEANT
from cellsim.describe.tree import MOST_MISTAKES, Listing, Mapping, Node, Notes, Text, join
from cellsim.units import UnitError, nearest, quoted

Schema = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Item:
    """One value and where it stands; `text` is how it was written."""

    value: Any
    text: str
    line: int
    column: int
    path: str


@dataclass(slots=True)
class Record:
    """A mapping read by a table: `values` holds the keys that are given, `places` where each key stands."""

    path: str
    line: int
    column: int
    values: dict[str, Any] = field(default_factory=dict)
    places: dict[str, Text] = field(default_factory=dict)

    def __contains__(self, name: str) -> bool:
        return name in self.values

    def get(self, name: str) -> Any:
        """What the key holds, None if it is not given."""
        return self.values.get(name)

    def single(self, name: str, otherwise: Any) -> Any:
        """The single value that the key holds, `otherwise` if it is not given."""
        return self.values[name].value if name in self.values else otherwise


class Kind(Protocol):
    """What every kind of value can do."""

    @property
    def said(self) -> str:
        """The kind in the words of the reference page and of messages."""

    def read(self, node: Node, path: str, notes: Notes) -> Any:
        """The value in `node`, or None after noting what is wrong."""

    def schema(self) -> Schema:
        """The JSON Schema of a value of this kind."""


def kind_of(node: Node) -> str:
    """What a node is, in plain words."""
    return {Listing: "a list", Mapping: "a mapping (key: value)"}.get(type(node), "text")


@dataclass(frozen=True)
class Scalar:
    """A single value: `parse` makes it from text or raises UnitError; the schema knows its `pattern`."""

    said: str
    parse: Callable[[str], Any]
    example: str
    pattern: str = ""
    json: tuple[str, ...] = ("string",)

    def read(self, node: Node, path: str, notes: Notes) -> Item | None:
        if not isinstance(node, Text):
            notes.wrong(node, path, f"{self.said} is wanted, such as {self.example}, not {kind_of(node)}")
            return None
        if node.blank:
            notes.wrong(node, path, f"nothing is written here; write {self.said}, such as {self.example}")
            return None
        try:
            value = self.parse(node.text)
        except UnitError as error:
            notes.wrong(node, path, str(error))
            return None
        return Item(value, node.text, node.line, node.column, path)

    def schema(self) -> Schema:
        text: Schema = {"type": "string", "examples": [self.example]}
        if self.pattern:
            text["pattern"] = self.pattern
        others = [name for name in self.json if name != "string"]
        return {"anyOf": [text, *({"type": name} for name in others)]} if others else text


@dataclass(frozen=True)
class Choice:
    """One word of a closed list; `otherwise` is a hint for a word that is near none of them."""

    options: tuple[str, ...]
    otherwise: str = ""

    @property
    def said(self) -> str:
        return " / ".join(f"`{option}`" for option in self.options)

    @property
    def example(self) -> str:
        return self.options[0]

    def read(self, node: Node, path: str, notes: Notes) -> Item | None:
        if not isinstance(node, Text) or node.blank:
            what = "nothing" if isinstance(node, Text) else kind_of(node)
            notes.wrong(node, path, f"one of {', '.join(self.options)} is wanted, not {what}")
            return None
        word = " ".join(node.text.split())
        if word not in self.options:
            near = nearest(word, self.options)
            hint = f'did you mean "{near}"?' if near else self.otherwise
            several = len(self.options) > 1
            legal = f"none of {', '.join(self.options)}" if several else f"not {self.options[0]}"
            notes.wrong(node, path, f"{quoted(word)} is {legal}", hint)
            return None
        return Item(word, node.text, node.line, node.column, path)

    def schema(self) -> Schema:
        return {"enum": list(self.options)}


@dataclass(frozen=True)
class ListOf:
    """A list of values of one kind; with `lone` a single value may stand without brackets."""

    item: Kind
    lone: bool = False
    least: int = 1
    most: int = 20_000
    exactly: int = 0

    @property
    def said(self) -> str:
        return f"{self.item.said}, or [{self.item.said}, ...]" if self.lone else f"[{self.item.said}, ...]"

    def read(self, node: Node, path: str, notes: Notes) -> list[Any] | None:
        if self.lone and isinstance(node, Text):
            only = self.item.read(node, path, notes)
            return None if only is None else [only]
        if not isinstance(node, Listing):
            if isinstance(node, Text) and node.blank:
                notes.wrong(node, path, "nothing is written here; write a list: [one, two]")
            else:
                notes.wrong(node, path, f"a list is wanted, such as [one, two], not {kind_of(node)}")
            return None
        if len(node.items) < self.least:
            several = f"at least {self.least} entries are wanted here, not {len(node.items)}"
            notes.wrong(node, path, "the list is empty" if self.least == 1 else several)
            return None
        if len(node.items) > self.most:
            notes.wrong(
                node, path, f"{len(node.items)} entries are too many; at most {self.most} are possible"
            )
            return None
        if self.exactly and len(node.items) != self.exactly:
            notes.wrong(node, path, f"{self.exactly} values are wanted here, not {len(node.items)}")
            return None
        values = [self.item.read(item, f"{path}[{i}]", notes) for i, item in enumerate(node.items, start=1)]
        return [value for value in values if value is not None]

    def schema(self) -> Schema:
        several: Schema = {"type": "array", "items": self.item.schema()}
        if least := self.exactly or self.least:
            several["minItems"] = least
        several["maxItems"] = self.exactly or self.most
        return {"anyOf": [self.item.schema(), several]} if self.lone else several


@dataclass(frozen=True)
class MapOf:
    """A mapping from names that the author chooses to values of one kind; `origin` is never such a name."""

    names: Scalar
    item: Kind
    most: int = 500

    @property
    def said(self) -> str:
        return f"{{{self.names.said}: {self.item.said}}}"

    def read(self, node: Node, path: str, notes: Notes) -> dict[str, Any] | None:
        if not isinstance(node, Mapping):
            blank = isinstance(node, Text) and node.blank
            what = "nothing is written here; write" if blank else f"{kind_of(node)}, but wanted is"
            notes.wrong(node, path, f"{what} a mapping, {self.said}")
            return None
        if len(node.keys) > self.most:
            notes.wrong(
                node, path, f"{len(node.keys)} entries are too many; at most {self.most} are possible"
            )
            return None
        values: dict[str, Any] = {}
        for key, inner in node.items():
            here = join(path, key.text)
            if key.text == "origin":
                note_origin(inner, path, notes)
                continue
            name = self.names.read(key, here, notes)
            value = read_filled(self.item, key, inner, here, notes)
            if name is not None and name.value in values:
                first = values[name.value].name.line
                notes.wrong(key, here, f"{quoted(key.text)} is given twice, first in line {first}")
            elif name is not None and value is not None:
                values[name.value] = Entry(name, value)
        return values

    def schema(self) -> Schema:
        return {
            "type": "object",
            "properties": {"origin": {"type": "string"}},
            "additionalProperties": self.item.schema(),
            "maxProperties": self.most,
        }


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a mapping of names: the name with its place, and what stands after it."""

    name: Item
    value: Any


@dataclass(frozen=True)
class Forms:
    """A value with a short and a long form, told apart by being text, a list or a mapping."""

    said: str
    text: Kind | None = None
    listing: Kind | None = None
    mapping: Kind | None = None

    def read(self, node: Node, path: str, notes: Notes) -> Any:
        kind = {Text: self.text, Listing: self.listing, Mapping: self.mapping}[type(node)]
        if isinstance(node, Text) and node.blank:
            notes.wrong(node, path, f"nothing is written here; write {self.said}")
            return None
        if kind is None:
            notes.wrong(node, path, f"{self.said} is wanted, not {kind_of(node)}")
            return None
        return kind.read(node, path, notes)

    def schema(self) -> Schema:
        forms: list[Schema] = []
        for kind in (self.text, self.listing, self.mapping):
            if kind is not None and kind.schema() not in forms:
                forms.append(kind.schema())
        return {"anyOf": forms}


@dataclass(frozen=True)
class TableOrNames:
    """A mapping that is read by a table if it has one of its keys, else by names that the author chose."""

    table: Table
    names: MapOf

    @property
    def said(self) -> str:
        return self.names.said

    def read(self, node: Node, path: str, notes: Notes) -> Any:
        known = isinstance(node, Mapping) and any(key in self.table.key for key in node.keys)
        named = isinstance(node, Mapping) and len(node.keys) > 0 and not known
        return self.names.read(node, path, notes) if named else self.table.read(node, path, notes)

    def schema(self) -> Schema:
        return {"anyOf": [self.table.schema(), self.names.schema()]}


@dataclass(frozen=True)
class Key:
    """One row of a table of keys.

    `default` is what holds without the key, written as in a file; with `why` that is an assumption to be
    reported, without it merely the neutral value.
    """

    name: str
    kind: Kind
    help: str
    example: str
    required: bool = False
    default: str = ""
    why: str = ""

    def default_value(self) -> Any:
        """The default, read by the kind of the key; None if the key has none."""
        if not self.default:
            return None
        if isinstance(self.kind, ListOf):
            return tuple(self._read(self.kind.item, word) for word in self.default.split(", "))
        return self._read(self.kind, self.default)

    def _read(self, kind: Kind, text: str) -> Any:
        return kind.read(Text(text, 0, 0), self.name, Notes("")).value


@dataclass(frozen=True)
class Table:
    """A mapping with known keys; `name` with its article is how messages speak of it (`a station`)."""

    name: str
    help: str
    keys: tuple[Key, ...]
    key: dict[str, Key] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", {row.name: row for row in self.keys})

    @property
    def said(self) -> str:
        return f"the keys of {self.name}"

    def read(self, node: Node, path: str, notes: Notes) -> Record | None:
        if not isinstance(node, Mapping):
            blank = isinstance(node, Text) and node.blank
            what = "nothing is written here; write" if blank else f"{kind_of(node)}, but wanted are"
            example = next((row.example for row in self.keys if row.required), self.keys[0].example)
            notes.wrong(node, path, f"{what} the keys of {self.name}, such as {{{example}}}")
            return None
        record = Record(path, node.line, node.column)
        for key, inner in node.items():
            here = join(path, key.text)
            row = self.key.get(key.text)
            if key.text == "origin":
                note_origin(inner, path, notes)
            elif row is None:
                if len(notes.mistakes) < MOST_MISTAKES:
                    notes.wrong(key, here, *self._unknown(key.text, inner))
            else:
                record.places[row.name] = key
                value = read_filled(row.kind, key, inner, here, notes, row)
                if value is not None:
                    record.values[row.name] = value
        for row in self.keys:
            if row.required and row.name not in record.places:
                notes.wrong(
                    node, path, f'the key "{row.name}" of {self.name} is missing', f"write {row.example}"
                )
        return record

    def _unknown(self, name: str, inner: Node) -> tuple[str, str]:
        message = f"{quoted(name)} is no key of {self.name}"
        if isinstance(inner, Text) and inner.blank and re.match(r"[0-9]", name):
            return message, "if this is the rest of a number, use a point instead of the comma"
        if meant := MEANT.get((self.slug, name)):
            return message, f'did you mean "{meant}", as in {self.key[meant].example}?'
        if near := nearest(name, self.key):
            return message, f'did you mean "{near}"?'
        if owner := HOME_OF.get(name):
            return message, f"it is a key of {owner}"
        return message, f"its keys are {', '.join(self.key)}"

    def schema(self) -> Schema:
        return {"$ref": f"#/$defs/{self.slug}"}

    @property
    def slug(self) -> str:
        """The name of the table in the schema and in links."""
        return re.sub(r"^(a|an|the)_", "", self.name.replace(" ", "_"))

    def full_schema(self) -> Schema:
        """The JSON Schema of the mapping itself, for the definitions of the whole."""
        properties: Schema = {"origin": {"type": "string", "description": "where these values come from"}}
        for row in self.keys:
            properties[row.name] = {**row.kind.schema(), "description": row.help}
            if row.default:
                properties[row.name]["description"] += f" Default: {row.default}."
        full: Schema = {
            "type": "object",
            "description": self.help,
            "properties": properties,
            "additionalProperties": False,
        }
        if needed := [row.name for row in self.keys if row.required]:
            full["required"] = needed
        return full


HOME_OF: dict[str, str] = {}  # key -> the table it belongs to, for keys of one table only


def settle_homes(tables: dict[str, Table]) -> None:
    """Fill HOME_OF from all tables, so that a key one level too high or low gets a useful hint."""
    seen: dict[str, list[str]] = {}
    for table in tables.values():
        for row in table.keys:
            seen.setdefault(row.name, []).append(table.name)
    HOME_OF.clear()
    HOME_OF.update({name: " or ".join(owners) for name, owners in seen.items() if len(owners) < 4})


def read_filled(kind: Kind, key: Text, node: Node, path: str, notes: Notes, row: Key | None = None) -> Any:
    """Read what stands after `key`; a blank is an error at the key: it says neither 0 nor unlimited."""
    if isinstance(node, Text) and node.blank:
        written = f"{node.text or 'nothing'} stands after this key"
        advice = f"write {kind.said}" + (f", such as {row.example}" if row else "")
        advice += "" if row and row.required else ", or take the key out"
        notes.wrong(key, path, f"{written}; blank is neither zero nor unlimited", advice)
        return None
    if isinstance(kind, MapOf) and row and not isinstance(node, Mapping):
        said = f"{kind_of(node)}, but wanted is a mapping, {kind.said}"
        notes.wrong(node, path, said, f"write {row.example}")
        return None
    return kind.read(node, path, notes)


def note_origin(node: Node, path: str, notes: Notes) -> None:
    """Keep the stated origin of the values at `path`."""
    if isinstance(node, Text) and not node.blank:
        notes.origins.append((path or "cell", " ".join(node.text.split())))
    else:
        notes.wrong(node, join(path, "origin"), "an origin is a text, such as measured 2026-03, 30 cycles")
