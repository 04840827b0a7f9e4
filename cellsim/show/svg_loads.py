"""Bars of work in parts, lying beside one another, against a limit: load charts and balances as SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from cellsim.show.palette import CREW_STATES, STATION_STATES, State, ink_on
from cellsim.show.svg import LETTER, Scale, line, rect, shortened, tag, text, ticks
from cellsim.show.svg_states import pattern_id

BAR, STEP, NAME = 20, 30, 17  # height of a bar, bar to bar, and what a name above its bar takes
END = 62  # right of the longest bar, for its number
TINTS = (CREW_STATES["working"], STATION_STATES["attended"])  # work, in turn
LOOKS = {
    "walking": CREW_STATES["travelling"],
    "changeover": STATION_STATES["changeover"],
    "stops": CREW_STATES["repairing"],
    "down": CREW_STATES["down"],
    "alone": STATION_STATES["handled"],
}
WORDS = {
    "walking": "walking",
    "changeover": "changeovers",
    "stops": "stops",
    "down": "robot stands still",
    "alone": "the machine works alone",
}


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a bar: how long, its kind (`work` or a key of LOOKS), and words for it where they fit."""

    length: float
    kind: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar with its name, the name of its row in the table, its pieces and the marked number at its end.

    `end` draws that number at (x, y).
    """

    name: str
    row: str
    pieces: Sequence[Piece]
    end: Callable[[float, float], Markup]


@dataclass(frozen=True, slots=True)
class Limit:
    """A line that bars must not cross: where, its words, and the class of the line."""

    at: float
    words: Markup
    class_: str


def load_bars(
    bars: Sequence[Bar], limits: Sequence[Limit], unit: str, width: int
) -> tuple[float, list[Markup]]:
    """Bars with names beside (wide) or above (narrow), limits through all; height and elements."""
    wide = width > 500
    left = min(240.0, 16 + LETTER * 13 * max(len(bar.name) for bar in bars)) if wide else 0.0
    step = STEP if wide else STEP + NAME
    longest = max(sum(piece.length for piece in bar.pieces) for bar in bars)
    across = Scale(0, max(longest, *(limit.at for limit in limits)), left, width - END)
    top = 6 + 18 * len(limits)
    bottom = top + len(bars) * step + 4
    parts: list[Markup] = []
    for value in ticks(across.low, across.high, 8 if wide else 4):
        parts.append(line(across(value), top, across(value), bottom, "grid"))
        anchor = "middle" if value or wide else "start"
        parts.append(text(across(value), bottom + 16, f"{value:g}", "tick", anchor))
    parts.append(text(width, bottom + 32, unit, "quiet", "end"))
    ends: list[Markup] = []  # over the lines of the limits
    for k, bar in enumerate(bars):
        y = top + k * step + (5 if wide else NAME + 3)
        place = (left - 10, y + 15, "end") if wide else (0, y - 5, "start")
        room = left - 12 if wide else width - 8
        parts.append(text(place[0], place[1], shortened(bar.name, room, 13), "name", place[2]))
        end = across(0)
        turn = 0
        for k_piece, piece in enumerate(bar.pieces):
            length = across(piece.length) - across(0)
            turn += k_piece > 0 and bar.pieces[k_piece - 1].words != piece.words
            parts += _piece(piece, turn, (end, y, length))
            end += length
        parts.append(rect(left, y, end - left, BAR, "frame"))
        ends.append(bar.end(end + 6, y + 15))
        parts.append(rect(0, y - (4 if wide else NAME), width, step - 2, "hit", data_row=bar.row))
    for k, limit in enumerate(limits):
        x, high = across(limit.at), 14 + 18 * k
        parts.append(line(x, high + 4, x, bottom, limit.class_))
        late = x > width - 130
        parts.append(
            text(x if late else x - 1, high, limit.words, "target-word", "end" if late else "middle")
        )
    return bottom + 38, [*parts, *ends]


def _piece(piece: Piece, turn: int, place: tuple[float, float, float]) -> list[Markup]:
    """A filled part of a bar at (left, top, length), with its words if they fit."""
    x, y, length = place
    style = LOOKS.get(piece.kind) or TINTS[turn % len(TINTS)]
    parts = [rect(x, y, length, BAR, "segment", fill=_fill(style))]
    if length > 1:
        parts.append(line(x + length, y, x + length, y + BAR, "gap"))
    if piece.words and length > 8 + LETTER * 11.5 * len(piece.words):
        ink = f"fill:{ink_on(style.colour)};stroke:none"
        parts.append(text(x + length / 2, y + 14, piece.words, "letter piece", "middle", style=ink))
    return parts


def _fill(style: State) -> str:
    """Work is plain, so that words can stand in it; all else has the hatch of its state."""
    return style.colour if style in TINTS else f"url(#{pattern_id(style)})"


def load_legend(kinds: Sequence[str], *, in_turn: bool) -> Markup:
    """What the parts of the bars are, those kinds only that occur; `in_turn`: work is in several parts."""
    items = []
    if "work" in kinds:
        tints = TINTS if in_turn else TINTS[:1]
        words = "work, in turn dark and light" if in_turn else "work"
        items.append(tag("li", *(_swatch(style) for style in tints), tag("span", words)))
    items += [
        tag("li", _swatch(style), tag("span", WORDS[kind])) for kind, style in LOOKS.items() if kind in kinds
    ]
    return tag("ul", *items, class_="legend")


def _swatch(style: State) -> Markup:
    return tag(
        "svg",
        rect(0, 0, 22, 16, fill=_fill(style)),
        rect(0.5, 0.5, 21, 15, "frame"),
        viewBox="0 0 22 16",
        width=22,
        height=16,
        aria_hidden="true",
    )
