"""Which headings a stopwatch sheet may have, and what the columns may be that have others."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from cellsim.evidence.records import SECONDS, Column, Records, Table, Unused, heading_words, is_summary
from cellsim.units import nearest

LOOSE = (
    "what",
    "what is done",
    "what he does",
    "job",
    "motion",
    "description",
    "action",
    "work",
    "work done",
)
COLUMNS = (
    Column("element", ("task", "step", "operation", "activity", "work element", "work step", "element name",
                       *LOOSE)),
    Column("time", ("seconds", "duration", "observed", "observed time", "cycle time", "reading", "stopwatch",
                    "measured", "measured time", *SECONDS)),
    Column("cycle", ("no", "nr", "#", "number", "round", "observation"), needed=False),
    Column("rating", ("performance", "perf", "pace", "performance rating", "rating factor", "lg"),
           needed=False),
    Column("station", ("bench", "workplace", "work place", "workstation", "machine"), needed=False),
    Column("operator", ("person", "worker", "who", "by", "post", "done by"), needed=False),
    Column("date", ("day",), needed=False),
    Column("remark", ("remarks", "note", "notes", "comment"), needed=False),
)  # fmt: skip
IN_WIDE = ("element", "rating", "station", "operator", "date", "remark")  # beside columns 1, 2, 3, ...
LIKE_RATINGS = (50.0, 160.0)  # per cent, between which numbers without a known heading look like ratings


@dataclass(frozen=True, slots=True)
class Spare:
    """A column that was not used: its place from 1, its heading, and what it might be (empty = no idea)."""

    place: int
    heading: str
    maybe: str


def columns_of(table: Table) -> list[Column]:
    """The columns to read of a sheet: those of a row for each cycle, or where readings are numbered side by
    side those numbers in place of time and cycle.

    The element is not needed where there is a station and no element.  `LOOSE` headings mean the element
    only where no other heading does.
    """
    rounds = table.numbered()
    known = [heading_words(heading) for heading in table.headings]
    columns = [column for column in COLUMNS if not rounds or column.name in IN_WIDE]
    if any(word in known for word in _strict(COLUMNS[0])):
        columns[0] = replace(COLUMNS[0], also=_strict(COLUMNS[0])[1:])
    columns += [Column(number, (heading_words(heading),)) for number, heading in rounds.items()]
    there = {c.name for c in columns if any(word in (c.name, *c.also) for word in known)}
    free = "station" in there and "element" not in there
    return [replace(c, needed=False) if free and c.name == "element" else c for c in columns]


def _strict(column: Column) -> tuple[str, ...]:
    """The headings of a column without the loose ones."""
    return tuple(word for word in (column.name, *column.also) if word not in LOOSE)


def telling_apart(table: Table, records: Records, stations: Mapping[int, str]) -> Unused | None:
    """The unused column of texts that best tells apart the rows of one station; None if none does.

    `stations` are the rows to look at: station by line.  Most of them have a text with a letter in such a
    column, and one station has several.
    """
    best, most = None, 0
    for column in records.unused:
        at = column.place - 1
        own = {line: cells[at] for line, cells in table.rows if line in stations and at < len(cells)}
        texts = {line: text.casefold() for line, text in own.items() if re.search(r"[^\W\d_]", text)}
        pairs = len({(stations[line], text) for line, text in texts.items()})
        several = pairs > len({stations[line] for line in texts})
        if 2 * len(texts) > len(stations) and several and pairs > most:
            best, most = column, pairs
    return best


def says_unit(heading: str) -> bool:
    """Whether a heading has something behind its words that may be a unit."""
    return heading_words(heading) != " ".join(heading.casefold().split())


def spare_columns(records: Records) -> list[Spare]:
    """The columns that were not used, each with what it might be."""
    wide = not records.has("time")
    free = [c for c in COLUMNS if not records.has(c.name) and (not wide or c.name in IN_WIDE)]
    return [Spare(unused.place, unused.heading, _maybe(unused, free)) for unused in records.unused]


def _maybe(unused: Unused, free: Sequence[Column]) -> str:
    """What a column might be, by its heading, else by what it holds; `summary` for means and sums."""
    words = heading_words(unused.heading)
    if is_summary(words):
        return "summary"
    known = {word: column.name for column in free for word in (column.name, *column.also) if len(word) > 2}
    near = nearest(words, known) or next((word for word in words.split() if word in known), "")
    if near:
        return known[near]
    texts = [cell.rstrip("% ").replace(",", ".") for cell in unused.cells]
    if (
        any(column.name == "rating" for column in free)
        and texts
        and all(_like_rating(text) for text in texts)
    ):
        return "rating"
    return ""


def _like_rating(text: str) -> bool:
    low, high = LIKE_RATINGS
    return bool(re.fullmatch(r"\d+(\.\d+)?", text)) and (
        low <= float(text) <= high or low <= 100 * float(text) <= high
    )
