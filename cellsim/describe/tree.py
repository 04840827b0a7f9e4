"""What a description file holds before anything is typed: texts, lists and mappings, each with its place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from cellsim.errors import DescriptionError, Mistake

BLANK = ("", "~", "null", "Null", "NULL", "None")  # what counts as nothing when it stands without quotes
MOST_MISTAKES = 100  # of one stage; a file that has more is not helped by the rest
FAR = 10_000_000  # lines: those of further files are counted from multiples of this, beyond those of any file


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as it was written, without the blanks around it; `quoted` if it stood in quotes."""

    text: str
    line: int
    column: int
    quoted: bool = False

    @property
    def blank(self) -> bool:
        return self.text == "" or (not self.quoted and self.text in BLANK)


@dataclass(slots=True)
class Listing:
    """A list."""

    line: int
    column: int
    items: list[Node] = field(default_factory=list)


@dataclass(slots=True)
class Mapping:
    """A mapping: `keys` are the keys with their places, `values` what stands after each of them."""

    line: int
    column: int
    keys: dict[str, Text] = field(default_factory=dict)
    values: dict[str, Node] = field(default_factory=dict)

    def items(self) -> Iterator[tuple[Text, Node]]:
        """Key with place, value, in the order of the file."""
        return ((self.keys[name], self.values[name]) for name in self.keys)


Node = Text | Listing | Mapping


@dataclass(slots=True)
class Notes:
    """The mistakes found so far in one file, and the origins it states for its values (path, text).

    `others` are files from which changes to it come.
    """

    file: str
    origins: list[tuple[str, str]] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    others: list[str] = field(default_factory=list)

    def lines_of(self, other: str) -> int:
        """What is added to the lines of another file to tell them from those of this one."""
        if other not in self.others:
            self.others.append(other)
        return FAR * (1 + self.others.index(other))

    def wrong(self, node: Node | None, path: str, message: str, hint: str = "") -> None:
        """Note a mistake at the place of `node` (None: the file as a whole)."""
        line, column = (node.line, node.column) if node is not None else (0, 0)
        file = self.others[line // FAR - 1] if line >= FAR else self.file
        if len(self.mistakes) < MOST_MISTAKES:
            self.mistakes.append(Mistake(file, line % FAR, column, path, message, hint))

    def stop_if_any(self) -> None:
        """Raise DescriptionError if there is a mistake: a later stage would only trip over it."""
        if self.mistakes:
            raise DescriptionError(self.mistakes)


def join(path: str, key: str) -> str:
    """The path of `key` inside `path`."""
    return f"{path}.{key}" if path else key
