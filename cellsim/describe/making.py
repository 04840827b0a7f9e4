"""What the steps of resolving share: the mistakes, the assumptions made, and where names may be looked up."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cellsim.describe.cell import Assumption
from cellsim.describe.fields import Item, Record, Table
from cellsim.describe.tree import MOST_MISTAKES, Notes, Text, join
from cellsim.units import nearest, quoted

MOST_MEASURED = 20_000  # measured times in one cell, so that its resolved form stays a legal file


@dataclass(slots=True)
class Making:
    """One description on its way to a cell."""

    notes: Notes
    folder: Path | None  # where the files that the description names may stand
    assumptions: dict[tuple[str, str], str] = field(default_factory=dict)  # (path, value) -> why
    measured: int = 0
    variants: tuple[str, ...] = ()  # the names of the variants, in natural order

    def assume(self, path: str, value: str, why: str) -> None:
        """Keep a value that the file did not give."""
        self.assumptions[path, value] = why

    def take(self, table: Table, record: Record, name: str) -> Any:
        """The value of a key, or its default, which is an assumption where the table says why."""
        given = record.get(name)
        if given is not None:
            return given.value if isinstance(given, Item) else tuple(item.value for item in given)
        row = table.key[name]
        if row.why and name not in record.places:
            self.assume(join(record.path, name), row.default, row.why)
        return row.default_value()

    def wrong(self, place: Any, path: str, message: str, hint: str = "") -> None:
        """Note a mistake at something that has a line and a column."""
        self.notes.wrong(place, path, message, hint)

    def wrong_key(self, record: Record, name: str, message: str, hint: str = "") -> None:
        """Note a mistake at a key of a record, or at the record where the key is not given."""
        place: Any = record.places.get(name, record)
        self.notes.wrong(place, join(record.path, name), message, hint)

    def unknown(self, item: Item, what: str, legal: Iterable[str], where: str = "") -> None:
        """Note that a name stands for nothing; `what` was looked for, `where` says how to write the first."""
        if len(self.notes.mistakes) >= MOST_MISTAKES:
            return
        choices = sorted(set(legal), key=natural)
        near = nearest(str(item.value), choices)
        if near:
            hint = f'did you mean "{near}"?'
        elif choices:
            hint = "there are " + ", ".join(choices[:12]) + (", ..." if len(choices) > 12 else "")
        else:
            hint = "there is none in this file" + (f"; {where}" if where else "")
        self.notes.wrong(
            Text("", item.line, item.column), item.path, f"no {what} is called {quoted(item.text)}", hint
        )


def grouped(
    assumptions: dict[tuple[str, str], str], sections: dict[str, list[str]]
) -> tuple[Assumption, ...]:
    """The assumptions by path; what is assumed of every station (or post, ...) becomes one, with a `*`."""
    alike: dict[tuple[str, str, str], set[str]] = {}
    plain: dict[tuple[str, str, str], str] = {}
    known = {section: set(names) for section, names in sections.items()}
    for (path, value), why in assumptions.items():
        section, _, rest = path.partition(".")
        dots = [i for i, letter in enumerate(rest) if letter == "."]
        name = next((rest[:i] for i in reversed(dots) if rest[:i] in known.get(section, ())), "")
        if name:
            common = f"{section}.*{rest[len(name) :]}"
            alike.setdefault((common, value, why), set()).add(name)
            plain[path, value, why] = common
    found: set[Assumption] = set()
    for (path, value), why in assumptions.items():
        common = plain.get((path, value, why), "")
        members = alike.get((common, value, why), set())
        everybody = len(members) > 1 and len(members) == len(sections[common.split(".")[0]])
        found.add(Assumption(common if everybody else path, value, why))
    return tuple(sorted(found, key=lambda a: (natural(a.path), a.value, a.why)))


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sorting key that puts `station 9` before `station 10`; equal only for equal names."""
    parts = re.split(r"([0-9]{1,18})", name)
    return (*((0, int(part), part) if i % 2 else (1, 0, part) for i, part in enumerate(parts)), (2, 0, name))
