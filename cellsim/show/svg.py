"""Elements of SVG and HTML as escaped text, scales and ticks: what the charts of a page are made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

WIDE, NARROW = 880, 350  # units of the view box of the two drawings of a chart: for a desk and for a phone
LETTER = 0.56  # width of a letter as a share of its size, about


def tag(name: str, *content: str | Markup, **attributes: Any) -> Markup:
    """One element; texts are escaped unless they are Markup.

    `class_` and `data_key` become class and data-key.  Numbers are rounded to 2 decimals, attributes that are
    None are left out.
    """
    found = [
        f' {key.rstrip("_").replace("_", "-")}="{escape(_value(value))}"'
        for key, value in attributes.items()
        if value is not None
    ]
    inside = Markup("").join(escape(part) for part in content)
    return Markup(f"<{name}{''.join(found)}>{inside}</{name}>")


def _value(value: Any) -> str:
    if isinstance(value, float):
        text = f"{value:.2f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text
    return str(value)


def joined(parts: Sequence[str | Markup], between: str = "") -> Markup:
    """Parts one after the other, those that are plain text escaped."""
    return Markup(escape(between)).join(escape(part) for part in parts)


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a value stands on a drawing: `low` at `start`, `high` at `end`."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        span = self.high - self.low
        return self.start + (self.end - self.start) * ((value - self.low) / span if span else 0.5)


def ticks(low: float, high: float, most: int) -> list[float]:
    """At most `most` round values from `low` to `high`, their distance 1, 2 or 5 times a power of ten.

    Raises:
        ValueError: `high` is below `low`, or fewer than two are wanted.
    """
    if high < low or most < 2:
        raise ValueError(f"ticks from {low} to {high}, at most {most}; wanted are low <= high and 2 or more")
    if high == low:
        return [low]
    power = math.floor(math.log10((high - low) / most))
    while True:
        for first in (1, 2, 5):
            step = first * 10.0**power
            k, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
            if last - k + 1 <= most:
                return [round(step * i, 10) for i in range(k, last + 1)]
        power += 1


def shortened(text: str, room: float, size: float) -> str:
    """A text cut so that it is about `room` wide when its letters have this size."""
    most = max(3, int(room / (LETTER * size)))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def svg(width: float, height: float, *content: Markup, label: str, class_: str, **more: Any) -> Markup:
    """A drawing with a text for those who cannot see it."""
    head = tag("title", label)
    box = f"0 0 {_value(float(width))} {_value(float(height))}"
    return tag("svg", head, *content, viewBox=box, role="img", aria_label=label, class_=class_, **more)


def in_both_widths(draw: Callable[[int], tuple[float, Sequence[Markup]]], label: str) -> Markup:
    """A drawing for wide and one for narrow pages; `draw` takes a width and returns height and elements."""
    found = []
    for width, name in ((WIDE, "wide"), (NARROW, "narrow")):
        height, parts = draw(width)
        found.append(svg(width, height, *parts, label=label, class_=name))
    return joined(found)


def text(
    x: float, y: float, words: str | Markup, class_: str = "", anchor: str = "start", **more: Any
) -> Markup:
    """Words at a place; `anchor` is start, middle or end."""
    placed = None if anchor == "start" else anchor
    return tag("text", words, x=x, y=y, text_anchor=placed, class_=class_ or None, **more)


def line(x1: float, y1: float, x2: float, y2: float, class_: str, **more: Any) -> Markup:
    """A straight line."""
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_, **more)


def rect(x: float, y: float, width: float, height: float, class_: str | None = None, **more: Any) -> Markup:
    """A rectangle; a width or height below 0 becomes 0."""
    return tag("rect", x=x, y=y, width=max(0.0, width), height=max(0.0, height), class_=class_, **more)


def chart(drawing: Markup, caption: str | Markup, table: Markup, table_title: str) -> Markup:
    """A drawing with its caption, and behind it the table of its numbers, which may be opened.

    Parts of the drawing with `data-row` show the row of that name when somebody points at them.
    """
    return tag(
        "figure",
        tag("div", drawing, class_="drawing", tabindex="0"),
        tag("figcaption", caption),
        tag("details", tag("summary", f"Table: {table_title}"), tag("div", table, class_="scroll")),
        class_="chart",
    )


Row = tuple[str, Sequence[str | Markup]]


def table(heads: Sequence[str], rows: Sequence[Row], class_: str | None = None) -> Markup:
    """A table; a row is its name, for `data-row`, and its cells, the first of which is its heading."""
    head = tag("tr", *(tag("th", words, scope="col") for words in heads))
    body = [
        tag("tr", tag("th", cells[0], scope="row"), *(tag("td", cell) for cell in cells[1:]), data_row=name)
        for name, cells in rows
    ]
    return tag("table", tag("thead", head), tag("tbody", *body), class_=class_)


def section(ident: str, title: str, lead: str | Markup, *content: Markup, style: str | None = None) -> Markup:
    """A part of the page with its heading and a first sentence."""
    heading = f"{ident}-title"
    first = tag("p", lead, class_="lead") if lead else Markup("")
    return tag(
        "section",
        tag("h2", title, id=heading),
        tag("div", first, *content, class_="body"),
        id=ident,
        aria_labelledby=heading,
        style=style,
    )
