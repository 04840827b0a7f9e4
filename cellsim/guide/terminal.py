"""A page of the guide on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cellsim.guide.blocks import Block, Fence, Heading, Items, Line, Paragraph, Table, plain_words
from cellsim.guide.pages import Page as Contents
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

LOOKS = {"text": "", "code": "bold cyan", "stress": "italic", "strong": "bold"}
MARGIN = 2  # blanks before text that stands as it is
GAP = 2  # blanks between columns


def print_blocks(blocks: Sequence[Block], console: Console) -> None:
    """A page, wrapped to the width of the terminal; text that stands as it is keeps its lines."""
    page = Page(console)
    for block in blocks:
        match block:
            case Heading(level, words):
                page.line()
                page.line(plain_words(words), style="bold underline" if level == 1 else "bold")
            case Paragraph(words, caution):
                page.line()
                _wrapped(page, _text(words), "! " if caution else "", "! " if caution else "")
            case Items(numbered, items):
                page.line()
                for k, item in enumerate(items, 1):
                    mark = f"{k}. " if numbered else "- "
                    _wrapped(page, _text(item), mark, " " * len(mark))
            case Fence(_, text):
                page.line()
                for line in text.splitlines():
                    style = "bold" if line.startswith("$ ") else ""
                    shown = (" " * MARGIN + line).rstrip()
                    console.print(shown, style=style, markup=False, highlight=False, soft_wrap=True)
            case Table():
                page.line()
                _table(page, block)


def _text(words: Line) -> Text:
    from rich.text import Text

    text = Text()
    for span in words:
        text.append(span.text, LOOKS[span.kind])
        if span.page:
            text.append(f" (cellsim guide {span.page})", LOOKS["code"])
    return text


def _wrapped(page: Page, text: Text, first: str, rest: str) -> None:
    """A text in lines, with what stands before the first and before the others."""
    for k, part in enumerate(text.wrap(page.console, page.width - len(rest))):
        part.rstrip()
        page.console.print((first if k == 0 else rest), part, sep="", end="\n", highlight=False, markup=False)


def _table(page: Page, table: Table) -> None:
    """A table in columns where they fit beside each other, else an entry for each row."""
    widths = [
        max(len(plain_words(cell)) for cell in column)
        for column in zip(table.heads, *table.rows, strict=True)
    ]
    if sum(widths) + GAP * (len(widths) - 1) <= page.width:
        page.table(
            [plain_words(head) for head in table.heads],
            [[plain_words(cell) for cell in row] for row in table.rows],
            texts=range(len(widths)),
        )
        return
    several = len(widths) > 2
    for k, row in enumerate(table.rows):
        if k:
            page.line()
        head = _text(row[0])
        head.stylize("bold")
        _wrapped(page, head, "", "  ")
        for name, cell in zip(table.heads[1:], row[1:], strict=True):
            if plain_words(cell):
                _wrapped(page, _named(name, cell) if several else _text(cell), "  ", "    ")


def _named(name: Line, cell: Line) -> Text:
    from rich.text import Text

    return Text(f"{plain_words(name)}: ").append_text(_text(cell))


def print_contents(pages: Sequence[Contents], console: Console) -> None:
    """Which pages there are, with a sentence each, and how to read them."""
    page = Page(console)
    page.line("The guide", style="bold")
    for one in pages:
        page.line()
        page.line(f"{one.name}: {one.title}", style="bold")
        page.line(f"  {one.says}")
    page.line()
    page.line("cellsim guide PAGE           prints a page here (for a long one add: | more)")
    page.line("cellsim guide --html FILE    writes all of them into one file for a browser")
    page.line("cellsim guide --files DIR    copies the files of the tutorial into a folder")
