"""YAML text to a tree that knows its places; the only module that knows YAML.

Files come from strangers, so the file is measured before it is read, the text is looked through before it is
parsed, and the tree is built from parser events without recursion: depth and size are bounded while reading,
and nothing is ever expanded, converted or constructed.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Any

import yaml

from cellsim.describe.tree import Listing, Mapping, Node, Notes, Text, join
from cellsim.errors import DescriptionError, Mistake
from cellsim.units import quoted

MOST_BYTES = 1_000_000
MOST_DEPTH = 40
MOST_NODES = 50_000
MOST_KEY_LETTERS = 200

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")
_PLAIN_WORDS = (  # (what the parser says, what it means for the one who wrote the file)
    ("maximum nesting depth", f"nested more than {MOST_DEPTH} deep"),
    (
        "mapping values are not allowed",
        'a second ":" in one line, or a wrong indentation; text with ": " needs quotes',
    ),
    ("a flow mapping", 'a "{" is not closed, or a comma is missing'),
    ("a flow sequence", 'a "[" is not closed, or a comma is missing'),
    ("could not find expected ':'", 'a line that is neither "key: value" nor "- value"'),
    ("unknown escape", "a backslash inside double quotes; use single quotes"),
    ("a quoted scalar", "a quote is not closed"),
    ("a simple key", 'a line that is neither "key: value" nor "- value"'),
    ("cannot start any token", "a value cannot begin with this character; put it in quotes"),
    ("a block mapping", "the indentation does not fit the lines before"),
    ("a block collection", "the indentation does not fit the lines before"),
    ("a block sequence", "the indentation does not fit the lines before"),
    ("sequence entries are not allowed", 'a "- " is not possible here'),
    ("undefined tag handle", "YAML tags (!) are not used in a cell file"),
    ("a tag", "YAML tags (!) are not used in a cell file"),
    ("an alias", "anchors and aliases (& and *) are not used in a cell file; write the values out"),
    ("an anchor", "anchors and aliases (& and *) are not used in a cell file; write the values out"),
    ("a directive", 'a line cannot begin with "%"'),
    ("a block scalar", 'a text that begins with ">" or "|" needs quotes'),
    ("node content", "a value is missing here, or there is a comma or bracket too many"),
    ("a plain scalar", 'a ":" inside braces or brackets; put the text in quotes'),
    ("mapping keys are not allowed", 'a "?" is not possible here; put text that begins with it in quotes'),
    ("document start>", "something stands after the end of the description"),
)


def read_file(path: str | os.PathLike[str]) -> str:
    """The text of a description file; refuses what is no file, too big or not UTF-8 (DescriptionError)."""
    file = Path(path)
    name = file.name or str(path)
    try:
        state = file.stat()
        if not stat.S_ISREG(state.st_mode):
            raise DescriptionError([Mistake(str(path), 0, 0, "", "this is not a file")])
        if state.st_size > MOST_BYTES:
            raise _too_big(name, state.st_size)
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise DescriptionError([Mistake(str(path), 0, 0, "", f"cannot be read ({reason})")]) from None
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """UTF-8 bytes (a byte order mark is accepted) to text; says where the first wrong byte stands."""
    if len(data) > MOST_BYTES:
        raise _too_big(name, len(data))
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise DescriptionError([Mistake(name, 1, 1, "", "the file is UTF-16; save it as UTF-8")])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", errors="replace")
        line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
        message = f"byte 0x{data[error.start]:02x} is not UTF-8; save the file as UTF-8"
        raise DescriptionError([Mistake(name, line, column, "", message)]) from None


def read_text(text: str, name: str, begins: str = "cell: NAME") -> Mapping:
    """The tree of a description, which `begins` with a line like that.

    Raises DescriptionError, with every mistake of this stage, for text that is no YAML, for a top level that
    is no mapping, and for what a cell file may not hold: keys given twice, tags, anchors, aliases, merge
    keys, several documents, keys that are not text, tabs, control characters, and more than the bounds above.
    """
    text = text.removeprefix("\ufeff")
    if (size := len(text.encode("utf-8", errors="replace"))) > MOST_BYTES:
        raise _too_big(name, size)
    notes = Notes(name)
    _look_through(text, notes)
    notes.stop_if_any()
    try:
        root = _Builder(notes).build(text)
    except yaml.YAMLError as error:
        _note_syntax(error, notes)
        root = None
    notes.stop_if_any()
    if root is None or (isinstance(root, Text) and root.blank):
        raise DescriptionError([Mistake(name, 1, 1, "", f"the file is empty; it begins with: {begins}")])
    if not isinstance(root, Mapping):
        kind = "list" if isinstance(root, Listing) else "text"
        message = f'a cell file is made of "key: value" lines, this is a {kind}'
        raise DescriptionError([Mistake(name, root.line, root.column, "", message)])
    return root


def _too_big(name: str, size: int) -> DescriptionError:
    message = f"{size} bytes are too many; a cell file has at most {MOST_BYTES}"
    return DescriptionError([Mistake(name, 0, 0, "", message)])


def _look_through(text: str, notes: Notes) -> None:
    """Note the first character that no description may hold, and every line with a tab outside a comment."""
    if found := _UNPRINTABLE.search(text):
        what = "a NUL, so this is no text file" if found[0] == "\0" else f"character U+{ord(found[0]):04X}"
        column = found.start() - text.rfind("\n", 0, found.start())
        place = Text("", text.count("\n", 0, found.start()) + 1, column)
        notes.wrong(place, "", f"{what}; only printable text is allowed")
    elif "\t" in text:
        for number, line in enumerate(text.split("\n"), start=1):
            before, tab, _ = line.partition("\t")
            if tab and not before.lstrip().startswith("#") and " #" not in before:
                notes.wrong(Text("", number, len(before) + 1), "", "a tab; use spaces")


def _note_syntax(error: yaml.YAMLError, notes: Notes) -> None:
    """Note an error of the parser in plain words, where it is, and where what is not closed was opened."""
    said = f"{getattr(error, 'context', '') or ''} {getattr(error, 'problem', '') or ''}"
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    plain = next((words for sign, words in _PLAIN_WORDS if sign in said), "")
    if opened is not None and (mark is None or "quoted scalar" in said):
        mark = opened
    hint = (
        f"it opens in line {opened.line + 1}" if opened is not None and "is not closed, or" in plain else ""
    )
    place = Text("", mark.line + 1, mark.column + 1) if mark is not None else None
    notes.wrong(place, "", plain or f"not readable as YAML ({said.strip()})", hint)


class _Builder:
    """Builds the tree from parser events, with a stack of its own instead of recursion."""

    def __init__(self, notes: Notes) -> None:
        self.notes = notes
        self.root: Node | None = None
        self.stack: list[Listing | Mapping] = []
        self.waiting: list[Text | None] = []  # for each open mapping the key that waits for its value
        self.lost = 0  # > 0 while inside something that no tree can hold (a mapping used as a key)
        self.nodes = 0
        self.documents = 0

    def build(self, text: str) -> Node | None:
        for event in yaml.parse(text, Loader=_LOADER):
            if not self._take(event):
                break
        return self.root

    def _take(self, event: Any) -> bool:
        """Take one event; False when reading on makes no sense."""
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                self.notes.wrong(_at(event), "", 'a second document ("---"); one file describes one cell')
                return False
        elif isinstance(event, yaml.CollectionEndEvent):
            self._close()
        elif isinstance(event, yaml.NodeEvent):
            self.nodes += 1
            if self.nodes > MOST_NODES:
                self.notes.wrong(_at(event), "", f"more than {MOST_NODES} keys and values")
                return False
            if len(self.stack) + self.lost >= MOST_DEPTH and isinstance(event, yaml.CollectionStartEvent):
                self.notes.wrong(_at(event), "", f"nested more than {MOST_DEPTH} deep")
                return False
            self._check_extras(event)
            self._open_or_add(event)
        return True

    def _check_extras(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent):
            message = f'alias "*{event.anchor}"; anchors and aliases are not used in a cell file'
            self.notes.wrong(_at(event), self._path(), message, "write the values out")
            return
        if event.anchor is not None:
            message = f'anchor "&{event.anchor}"; anchors and aliases are not used in a cell file'
            self.notes.wrong(_at(event), self._path(), message, "write the values out")
        if event.tag is not None:
            message = f"tag {quoted(event.tag)}; YAML tags (!) are not used in a cell file"
            self.notes.wrong(_at(event), self._path(), message)

    def _open_or_add(self, event: Any) -> None:
        starts = isinstance(event, yaml.CollectionStartEvent)
        if self.lost:
            self.lost += starts
            return
        if self.stack and isinstance(self.stack[-1], Mapping) and self.waiting[-1] is None:
            self._take_key(event)
            return
        place = _at(event)
        node: Node
        if isinstance(event, yaml.MappingStartEvent):
            node = Mapping(place.line, place.column)
        elif isinstance(event, yaml.SequenceStartEvent):
            node = Listing(place.line, place.column)
        else:
            value = getattr(event, "value", "")
            node = Text(value.strip(), place.line, place.column, bool(getattr(event, "style", None)))
            self._check_letters(node)
        self._put(node)
        if not isinstance(node, Text):
            self.stack.append(node)
            self.waiting.append(None)

    def _take_key(self, event: Any) -> None:
        mapping = self.stack[-1]
        assert isinstance(mapping, Mapping)
        place = _at(event)
        if isinstance(event, yaml.CollectionStartEvent):
            self.notes.wrong(place, self._path(), "a key must be text, not a list or mapping")
            self.lost = 1
            self.waiting[-1] = Text("", place.line, place.column)
            return
        key = Text(getattr(event, "value", "").strip(), place.line, place.column)
        here = self._path()
        if not key.text:
            if not isinstance(event, yaml.AliasEvent):
                self.notes.wrong(key, here, 'nothing stands before this ":"')
        elif len(key.text) > MOST_KEY_LETTERS:
            self.notes.wrong(
                key, here, f"a key of {len(key.text)} letters; at most {MOST_KEY_LETTERS} are allowed"
            )
        elif key.text == "<<" and not event.style:
            self.notes.wrong(key, here, "merge keys (<<) are not used in a cell file", "write the values out")
        elif key.text in mapping.keys:
            message = f"{quoted(key.text)} is given twice, first in line {mapping.keys[key.text].line}"
            self.notes.wrong(key, join(here, key.text), message, "keep one of the two")
        else:
            self._check_letters(key)
            self.waiting[-1] = key
            return
        self.waiting[-1] = Text("", place.line, place.column)

    def _check_letters(self, node: Text) -> None:
        if found := _UNPRINTABLE.search(node.text):
            message = f"character U+{ord(found[0]):04X} inside quotes; only printable text is allowed"
            self.notes.wrong(node, self._path(), message)

    def _put(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        parent = self.stack[-1]
        if isinstance(parent, Listing):
            parent.items.append(node)
            return
        key = self.waiting[-1]
        assert key is not None
        if key.text:
            parent.keys[key.text] = key
            parent.values[key.text] = node
        if isinstance(node, Text):
            self.waiting[-1] = None

    def _close(self) -> None:
        if self.lost:
            self.lost -= 1
            return
        self.stack.pop()
        self.waiting.pop()
        if self.stack:
            self.waiting[-1] = None

    def _path(self) -> str:
        """Where the builder stands, as a path of keys and positions."""
        path = ""
        for container, key in zip(self.stack, self.waiting, strict=True):
            if isinstance(container, Listing):
                path += f"[{len(container.items) + (container is self.stack[-1])}]"
            elif key is not None and key.text:
                path += ("." if path else "") + key.text
        return path


def _at(event: Any) -> Text:
    return Text("", event.start_mark.line + 1, event.start_mark.column + 1)
