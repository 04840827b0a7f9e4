"""State shares as stacked bars: the colours, hatches and letters of the palette as SVG."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from markupsafe import Markup

from cellsim.show.palette import CREW_STATES, STATION_STATES, State, look
from cellsim.show.svg import LETTER, line, rect, shortened, tag, text

BAR, STEP, TIGHT, TILE = 22, 34, 25, 8  # height of a bar, bar to bar, on paper, size of a tile of a hatch
LETTER_ROOM, NUMBER_ROOM = 14, 40  # the least width of a segment with a letter, and with a number too
VISIBLE = 0.002  # the least share that can be seen


def pattern_id(style: State) -> str:
    """The id of the fill of a state; states that look the same share it."""
    hatch = "".join(f"{ord(sign):x}" for sign in style.hatch) or "plain"
    return f"state-{style.colour.lstrip('#')}-{hatch}"


def patterns() -> Markup:
    """The fills of all states, once for a page."""
    unknown = look({}, "")
    styles = {
        pattern_id(style): style for style in (*STATION_STATES.values(), *CREW_STATES.values(), unknown)
    }
    found = tag("defs", *(_pattern(ident, style) for ident, style in styles.items()))
    return tag("svg", found, width=0, height=0, aria_hidden="true", class_="patterns", focusable="false")


def _pattern(ident: str, style: State) -> Markup:
    parts = [rect(0, 0, TILE, TILE, fill=style.colour)]
    ink = "#FFFFFF" if style.ink == "#FFFFFF" else "#55555C"
    parts += [_sign(sign, ink, style.hatch.count(sign)) for sign in dict.fromkeys(style.hatch)]
    return tag("pattern", *parts, id=ident, width=TILE, height=TILE, patternUnits="userSpaceOnUse")


def _sign(sign: str, ink: str, count: int) -> Markup:
    """One sign of a hatch, as matplotlib names them, on a tile."""
    paths = {
        "/": "M-1 9 L9 -1 M-1 1 L1 -1 M7 9 L9 7",
        "\\": "M-1 -1 L9 9 M7 -1 L9 1 M-1 7 L1 9",
        "|": "M4 0 V8",
        "-": "M0 4 H8" if count < 3 else "M0 2 H8 M0 6 H8",
        "+": "M4 0 V8 M0 4 H8",
        "x": "M0 0 L8 8 M8 0 L0 8",
    }
    if sign in paths:
        return tag("path", d=paths[sign], stroke=ink, stroke_width=0.8, stroke_opacity=0.55, fill="none")
    size = 0.9 if sign == "." else 1.7
    filled = {"fill": ink} if sign == "." else {"fill": "none", "stroke": ink, "stroke_width": 0.7}
    dots = [tag("circle", cx=x, cy=y, r=size, **filled) for x, y in ((2, 2), (6, 6))]
    return tag("g", *dots, opacity=0.6)


def ordered(shares: Mapping[str, Any], looks: Mapping[str, State]) -> list[str]:
    """The states of one bar in stack order; states that the table does not know come last."""
    return [s for s in looks if s in shares] + [s for s in shares if s not in looks]


Marks = Callable[[str, str], Mapping[str, Any]]  # attributes of a number, by row and state


def bars(
    table: Mapping[str, Any], looks: Mapping[str, State], kind: str, width: int, marks: Marks
) -> tuple[float, list[Markup]]:
    """A stacked bar for each row of `table`, names beside (wide) or above (narrow); height and elements."""
    wide = width > 400
    room = min(0.22 * width, 16 + LETTER * 13 * max((len(named(n, r)) for n, r in table.items()), default=0))
    left = room if wide else 0.0
    step = STEP + 16 if not wide else STEP if width > 500 else TIGHT
    parts: list[Markup] = []
    for k, (name, row) in enumerate(table.items()):
        top = k * step + (4 if wide else 20)
        label = shortened(named(name, row), left - 12 if wide else width, 13)
        place = (left - 12, top + BAR / 2 + 5, "end") if wide else (0, top - 6, "start")
        parts.append(text(place[0], place[1], label, "name", place[2]))
        parts += bar(row["shares"], looks, (left, top, width - left - 1), f"{kind}-{k}", partial(marks, name))
    bottom = len(table) * step + 4
    for tick in range(0, 101, 20 if wide else 50):
        x = left + (width - left - 1) * tick / 100
        anchor = "start" if tick == 0 and not wide else "end" if tick == 100 else "middle"
        parts.append(text(x, bottom + 12, f"{tick} %", "tick", anchor))
    return bottom + 18, parts


def bar(
    shares: Mapping[str, Any],
    looks: Mapping[str, State],
    place: tuple[float, float, float],
    row: str,
    marks: Callable[[str], Mapping[str, Any]],
) -> list[Markup]:
    """One bar at (left, top, width): a segment for each state, as wide as its share, in stack order."""
    left, top, width = place
    parts: list[Markup] = []
    at = left
    for state in ordered(shares, looks):
        share = shares[state]["mean"]
        style = look(looks, state)
        wide = share * width
        fill = f"url(#{pattern_id(style)})"
        parts.append(rect(at, top, wide, BAR, "segment", fill=fill, data_row=row, data_state=state))
        if wide >= LETTER_ROOM:
            words: str | Markup = style.letter
            if wide >= NUMBER_ROOM:
                words = Markup("{} {}").format(
                    style.letter, tag("tspan", f"{100 * share:.0f}", **marks(state))
                )
            at_middle = (at + wide / 2, top + BAR / 2 + 4.5)
            parts.append(text(*at_middle, words, "letter", "middle", style=_ink(style)))
        at += wide
        if at < left + width - 1 and wide > 1:
            parts.append(line(at, top, at, top + BAR, "gap"))
    parts.append(rect(left, top, at - left, BAR, "frame"))
    return parts


def _ink(style: State) -> str:
    """The ink of a letter, with a halo that keeps it off the hatch."""
    return f"fill:{style.ink};stroke:{style.colour if style.hatch else 'none'}"


def named(name: str, row: Mapping[str, Any]) -> str:
    """A name with the number of equal machines or people."""
    count = row.get("machines", row.get("count", 1))
    shown = re.sub(r"\s+", " ", name)
    return shown + (f" ({count})" if count > 1 else "")


def used(tables: Sequence[Mapping[str, Any]], looks: Mapping[str, State]) -> list[State]:
    """The looks of all states that can be seen in some tables, in stack order."""
    occurring = {
        state: None
        for table in tables
        for row in table.values()
        for state, share in row["shares"].items()
        if share["mean"] >= VISIBLE
    }
    return [look(looks, state) for state in ordered(occurring, looks)]


def legend(styles: Sequence[State]) -> Markup:
    """Swatches with letter and hatch as in the bars, with label and meaning."""
    items = []
    for style in styles:
        swatch = tag(
            "svg",
            rect(0, 0, 28, 18, fill=f"url(#{pattern_id(style)})"),
            rect(0.5, 0.5, 27, 17, "frame"),
            text(14, 13.5, style.letter, "letter", "middle", style=_ink(style)),
            viewBox="0 0 28 18",
            width=28,
            height=18,
            aria_hidden="true",
        )
        items.append(tag("li", swatch, tag("span", style.label, title=style.help)))
    return tag("ul", *items, class_="legend")
