"""A page of the guide as blocks: the small part of Markdown in which all pages are written, read strictly.

Headings, paragraphs, lists, tables, quotations (cautions) and fenced text; inside a line `code`, *stress*,
**strong** and links to other pages, `[words](#page)`.  Whatever else is written raises ValueError.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it.token import Token


@dataclass(frozen=True, slots=True)
class Span:
    """Some words of a line: `kind` is text, code, stress or strong; `page` is what they lead to."""

    text: str
    kind: str = "text"
    page: str = ""


Line = tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is the title of the page."""

    level: int
    words: Line


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; a `caution` stands out."""

    words: Line
    caution: bool = False


@dataclass(frozen=True, slots=True)
class Items:
    """A list, numbered or not; each item is one paragraph."""

    numbered: bool
    items: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Fence:
    """Text that stands as it is: `info` says what (console, yaml, csv)."""

    info: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table with one line of headings."""

    heads: tuple[Line, ...]
    rows: tuple[tuple[Line, ...], ...]


Block = Heading | Paragraph | Items | Fence | Table


@dataclass(slots=True)
class _Reader:
    """The tokens of a page, one after the other."""

    tokens: Sequence[Token]
    at: int = 0
    found: list[Block] = field(default_factory=list)

    def take(self, kind: str) -> Token:
        token = self.tokens[self.at]
        if token.type != kind:
            raise _wrong(token)
        self.at += 1
        return token

    def line(self, around: str) -> Line:
        """The words between the beginning and the end of an `around`."""
        self.take(f"{around}_open")
        words = _spans(self.take("inline"))
        self.take(f"{around}_close")
        return words

    def blocks(self) -> list[Block]:
        while self.at < len(self.tokens):
            self.block()
        return self.found

    def block(self) -> None:
        token = self.tokens[self.at]
        match token.type:
            case "heading_open":
                self.found.append(Heading(int(token.tag[1]), self.line("heading")))
            case "paragraph_open":
                self.found.append(Paragraph(self.line("paragraph")))
            case "blockquote_open":
                self.at += 1
                while self.tokens[self.at].type != "blockquote_close":
                    self.found.append(Paragraph(self.line("paragraph"), caution=True))
                self.at += 1
            case "fence":
                self.at += 1
                self.found.append(Fence(token.info.strip(), token.content))
            case "bullet_list_open" | "ordered_list_open":
                self.found.append(self.items(token.type.removesuffix("_open")))
            case "table_open":
                self.found.append(self.table())
            case _:
                raise _wrong(token)

    def items(self, kind: str) -> Items:
        self.take(f"{kind}_open")
        items = []
        while self.tokens[self.at].type != f"{kind}_close":
            self.take("list_item_open")
            items.append(self.line("paragraph"))
            self.take("list_item_close")
        self.at += 1
        return Items(kind == "ordered_list", tuple(items))

    def table(self) -> Table:
        self.take("table_open")
        self.take("thead_open")
        heads = self.row("th")
        self.take("thead_close")
        rows = []
        if self.tokens[self.at].type == "tbody_open":
            self.at += 1
            while self.tokens[self.at].type != "tbody_close":
                rows.append(self.row("td"))
            self.at += 1
        self.take("table_close")
        return Table(heads, tuple(rows))

    def row(self, cell: str) -> tuple[Line, ...]:
        self.take("tr_open")
        cells = []
        while self.tokens[self.at].type != "tr_close":
            cells.append(self.line(cell))
        self.at += 1
        return tuple(cells)


def _wrong(token: Token) -> ValueError:
    where = f" in line {token.map[0] + 1}" if token.map else ""
    return ValueError(f"pages of the guide hold no {token.type}{where}: {token.content[:60]!r}")


def _spans(inline: Token) -> Line:
    return tuple(_words(inline))


def _words(inline: Token) -> Iterator[Span]:
    kind, page = "text", ""
    for token in inline.children or ():
        match token.type:
            case "text":
                if token.content:
                    yield Span(token.content, kind, page)
            case "softbreak":
                yield Span(" ", kind, page)
            case "code_inline":
                yield Span(token.content, "code", page)
            case "em_open" | "strong_open":
                kind = "stress" if token.type == "em_open" else "strong"
            case "em_close" | "strong_close":
                kind = "text"
            case "link_open" if str(token.attrs["href"]).startswith("#"):
                page = str(token.attrs["href"])[1:]
            case "link_close":
                page = ""
            case _:
                raise ValueError(f"a line of the guide holds no {token.type}: {inline.content[:60]!r}")


def read_blocks(text: str) -> list[Block]:
    """The blocks of a page.

    Raises:
        ValueError: it holds what pages of the guide do not have.
    """
    from markdown_it import MarkdownIt

    return _Reader(MarkdownIt("commonmark", {"html": False}).enable("table").parse(text)).blocks()


def plain_words(line: Line) -> str:
    """The words of a line without their look."""
    return "".join(span.text for span in line)
