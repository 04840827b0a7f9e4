"""All pages of the guide as one HTML file, complete in itself: no script, no network."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

from cellsim.guide.blocks import Block, Fence, Heading, Items, Line, Paragraph, Span, Table, plain_words
from cellsim.guide.pages import Page

TAGS = {"code": "code", "stress": "em", "strong": "strong"}


def asset(name: str) -> str:
    """A file of the technique of pages."""
    return (resources.files("cellsim.show.assets") / name).read_text(encoding="utf-8")


def guide_html(pages: Sequence[tuple[Page, Sequence[Block]]], version: str) -> str:
    """The guide as the text of an HTML file."""
    colours = asset("report.css").partition("* {")[0]  # what both kinds of pages have alike: paper and ink
    sections = [
        {
            "page": page,
            "parts": [(_anchor(page.name, head), plain_words(head)) for head in _heads(blocks)],
            "body": Markup("\n").join(_block(block, page.name) for block in blocks),
        }
        for page, blocks in pages
    ]
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    styles = Markup(colours + asset("guide.css"))
    return made.from_string(asset("guide.html")).render(sections=sections, styles=styles, version=version)


def _heads(blocks: Sequence[Block]) -> list[Line]:
    return [block.words for block in blocks if isinstance(block, Heading) and block.level == 2]


def _anchor(page: str, words: Line) -> str:
    text = "".join(c if c.isalnum() else "-" for c in plain_words(words).casefold())
    return f"{page}--{text}"


def _block(block: Block, page: str) -> Markup:
    match block:
        case Heading(1, words):
            return Markup("<h1>{}</h1>").format(_line(words))
        case Heading(level, words):
            return Markup('<h{0} id="{1}">{2}</h{0}>').format(level, _anchor(page, words), _line(words))
        case Paragraph(words, caution):
            look = Markup(' class="caution"') if caution else ""
            return Markup("<p{}>{}</p>").format(look, _line(words))
        case Items(numbered, items):
            rows = Markup("").join(Markup("<li>{}</li>").format(_line(item)) for item in items)
            return Markup("<{0}>{1}</{0}>").format("ol" if numbered else "ul", rows)
        case Fence(info, text):
            lines = Markup("\n").join(_typed(line) for line in text.rstrip("\n").split("\n"))
            return Markup('<pre class="{}" tabindex="0">{}</pre>').format(info or "text", lines)
        case Table():
            return _table(block)


def _typed(line: str) -> Markup:
    """A line of a fence; what is typed stands out."""
    return Markup("<b>{}</b>").format(line) if line.startswith("$ ") else escape(line)


def _table(table: Table) -> Markup:
    heads = Markup("").join(Markup('<th scope="col">{}</th>').format(_line(head)) for head in table.heads)
    rows = Markup("\n").join(
        Markup("<tr>{}</tr>").format(
            Markup("").join(
                _cell(k, plain_words(head), cell)
                for k, (head, cell) in enumerate(zip(table.heads, row, strict=True))
            )
        )
        for row in table.rows
    )
    look = Markup(' class="pairs"') if len(table.heads) == 2 else ""
    return Markup("<table{}><thead><tr>{}</tr></thead><tbody>\n{}\n</tbody></table>").format(
        look, heads, rows
    )


def _cell(place: int, head: str, cell: Line) -> Markup:
    """A cell with the words of its column, which stand beside it on a narrow screen."""
    if place == 0:
        return Markup('<th scope="row">{}</th>').format(_line(cell, breaks=True))
    empty = Markup("") if cell else Markup(' class="empty"')
    return Markup('<td data-head="{}"{}>{}</td>').format(head, empty, _line(cell))


def _line(words: Line, breaks: bool = False) -> Markup:
    return Markup("").join(_span(span, breaks) for span in words)


def _span(span: Span, breaks: bool) -> Markup:
    """Some words; in a narrow column a long key may break behind a point or a low line."""
    text = escape(span.text)
    if breaks and span.kind == "code":
        text = Markup(str(text).replace(".", ".<wbr>").replace("_", "_<wbr>"))
    shown = Markup("<{0}>{1}</{0}>").format(TAGS[span.kind], text) if span.kind in TAGS else text
    return Markup('<a href="#{}">{}</a>').format(span.page, shown) if span.page else shown
