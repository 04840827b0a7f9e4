"""The paper work on the page: takt, loads against it, people, tending, stores, batches, what to look at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from cellsim.show.report_numbers import Part, Source
from cellsim.show.svg import Row, chart, in_both_widths, section, table, tag
from cellsim.show.svg_loads import Bar, Limit, Piece, load_bars, load_legend
from cellsim.show.svg_states import named

DUTIES = ("walking", "changeover", "stops", "down")  # after work, in this order
WORTH_TELLING_S = 10.0  # mean wait of a stop for another one
NO_DOUBT = "Nothing: all loads lie below 95 %, stores and batches can hold what they must."


def load_section(source: Source) -> Markup:
    """What `cellsim load --json` holds: loads against the takt, and whether people and places suffice."""
    ident = f"load-{source.index}"
    lead = Markup("{}: loads on paper at {}.").format(
        source.words("stated", "cell"), source.words("load rate")
    )
    warnings = source.at("warnings")
    doubts = [source.words("load warning", "warnings", k, of="li") for k in range(len(warnings))]
    parts = [
        source.words("load", of="p", class_="verdict"),
        tag("p", lead, class_="answer"),
        _facts(source),
        tag("p", source.words("load takt")),
        tag("h3", "What to look at"),
        tag("ul", *doubts) if doubts else tag("p", NO_DOUBT),
        tag("p", source.words("load limit")),
    ]
    if source.at("stations"):
        head = tag("h3", "Stations against the time there is")
        parts.append(tag("div", head, _chart(source, ident, ("stations",)), class_="together"))
    if source.at("posts") or source.at("robots"):
        head, words = tag("h3", "People and robots against the takt"), tag("p", source.words("load people"))
        parts.append(tag("div", head, words, _chart(source, ident, ("posts", "robots")), class_="together"))
    parts += [*_tending(source), *_stores(source), *_batches(source)]
    return section(ident, "How loaded everybody is", "", *parts)


def _facts(source: Source) -> Markup:
    """Takt, planned cycle, least people and the busiest in a line of large figures."""
    takt = [source.num("takt", "takt_s", digits=2), " s"]
    found = [("Takt", takt)]
    if source.at("takt", "planned_cycle_s") is not None:
        found.append(("Planned cycle", [source.num("takt", "planned_cycle_s", digits=2), " s"]))
    if source.at("people") is not None:
        least = source.num("people", "least_people_with_stops", show="text")
        posted = source.num("people", "posted", digits=1)
        found.append(("People at least, on paper", [least, " of ", posted, " posted"]))
    if source.at("busiest") is not None:
        load = source.num("busiest", "load_with_stops", show="percent", digits=1)
        found.append(("Load of the busiest, with stops", [load]))
    items = [tag("div", tag("dt", name), tag("dd", *words)) for name, words in found]
    return tag("dl", *items, class_="facts large")


def _pieces(row: Mapping[str, Any]) -> list[Piece]:
    """What one of them does in a cycle of the takt, in per cent of the time that there is for a good unit.

    People and robots have their work by station, or by element where they work at one only.
    """
    share = 100 / row["available_s"] if row["available_s"] else 0.0
    if "duties" not in row:
        found = [Piece(share * row["work_s"], "work"), Piece(share * row["changeover_s"], "changeover")]
        return [piece for piece in (*found, Piece(share * row["stops_s"], "stops")) if piece.length]
    work = [duty for duty in row["duties"] if duty["kind"] == "work"]
    stations = list(dict.fromkeys(duty["at"] for duty in work))
    key = "what" if len(stations) == 1 and len(work) > 1 else "at"
    lengths: dict[str, float] = {}
    for duty in sorted(work, key=lambda duty: stations.index(duty["at"])):
        lengths[duty[key]] = lengths.get(duty[key], 0.0) + duty["seconds"]
    found = [Piece(share * seconds, "work", str(name)) for name, seconds in lengths.items()]
    for kind in DUTIES:
        seconds = sum(duty["seconds"] for duty in row["duties"] if duty["kind"] == kind)
        found += [Piece(share * seconds, kind)] if seconds else []
    return found


def _chart(source: Source, ident: str, kinds: Sequence[str]) -> Markup:
    """A bar for each station, person or robot against the takt, and the table of its seconds."""
    rows: list[tuple[str, int, Mapping[str, Any]]] = [
        (kind, k, row) for kind in kinds for k, row in enumerate(source.at(kind))
    ]
    bars = []
    for kind, k, row in rows:

        def end(x: float, y: float, kind: str = kind, k: int = k) -> Markup:
            path: tuple[Part, ...] = (kind, k, "load_with_stops")
            return source.label(x, y, *path, class_="value strong", show="percent", anchor="start")

        bars.append(Bar(named(str(row["name"]), row), f"{ident}-{kind}-{k}", _pieces(row), end))
    limits = [Limit(100.0, _line_words(source, "takt", "takt_s"), "limit")]
    if source.at("takt", "planned_cycle_s") is not None:
        words = _line_words(source, "planned", "planned_cycle_s")
        limits.append(Limit(100.0 * source.at("takt", "planned_efficiency"), words, "target"))
    drawing = in_both_widths(
        lambda width: load_bars(bars, limits, "% of the time there is for a good unit", width),
        "Load of each, in parts, against the takt",
    )
    crew = kinds != ("stations",)
    keys = ["work_s", *(["walking_s"] if crew else []), "changeover_s", "stops_s"]
    keys += ["required_with_stops_s", "available_s"]
    found: list[Row] = []
    for kind, k, row in rows:
        cells: list[str | Markup] = [named(str(row["name"]), row)]
        for key in keys:
            cells.append(source.num(kind, k, key, show="fixed", digits=2) if row[key] else "")
        for key in ("load", "load_with_stops"):
            cells.append(source.num(kind, k, key, show="percent", digits=1))
        found.append((f"{ident}-{kind}-{k}", cells))
    heads = ["Who" if crew else "Station", "Work, s", *(["Walking, s"] if crew else []), "Changeovers, s"]
    heads += ["Stops, s", "Needs, s", "Has, s", "Load", "With stops"]
    occurring = {piece.kind for bar in bars for piece in bar.pieces}
    caption = (
        "Each bar: what one needs for a good unit, as a share of the time there is. At its end: the load."
    )
    late = [named(str(row["name"]), row) for _, _, row in rows if row["more_time"]]
    if late:
        caption += f" Not only in working hours, so with more time than this: {', '.join(late)}."
    return tag(
        "div",
        load_legend(sorted(occurring), in_turn=crew),
        chart(drawing, caption, table(heads, found), "seconds for a good unit"),
    )


def _line_words(source: Source, name: str, key: str) -> Markup:
    """The name of a limit with its seconds."""
    shown = source.shown("takt", key, digits=1)
    return Markup("{} {} s").format(name, tag("tspan", shown, **source.marks("takt", key, digits=1)))


def _tending(source: Source) -> list[Markup]:
    """How many machines somebody could tend, and which stops wait for one another."""
    parts: list[Markup] = []
    rows: list[Row] = []
    for j, team in enumerate(source.at("tending")):
        for k in range(len(team["stations"])):
            path = ("tending", j, "stations", k)
            cells = [
                " and ".join(map(str, team["who"])) if k == 0 else "",
                source.words("stated", *path, "station"),
                source.num(*path, "machines", show="text"),
                *(source.num(*path, key) for key in ("attended_s", "alone_s", "away_s", "ideal_machines")),
            ]
            rows.append(("", cells))
    if rows:
        heads = ("Who", "Station", "Machines", "Attended, s", "Works alone, s", "Walk and carry, s")
        parts.append(tag("h3", "Who tends several machines: seconds of a visit"))
        parts.append(tag("div", table((*heads, "One could tend"), rows), class_="scroll"))
        parts += [
            source.words("load tending", "tending", k, of="p") for k in range(len(source.at("tending")))
        ]
    waits = [k for k, row in enumerate(source.at("repairs")) if row["wait_s"] >= WORTH_TELLING_S]
    if waits:
        parts.append(tag("h3", "Who clears stops of several machines"))
        parts += [source.words("load repair", "repairs", k, of="p") for k in waits]
    return parts


def _stores(source: Source) -> list[Markup]:
    """How long a stop of a neighbour each store covers; those without stops beside them are left out."""
    rows: list[Row] = []
    for k, row in enumerate(source.at("stores")):
        if row["mean_stop_s"] is None:
            continue
        path = ("stores", k)
        longest = Markup("{} ({})").format(
            source.num(*path, "longest_stop_s", show="duration"),
            source.words("stated", *path, "longest_stop"),
        )
        spans = [source.num(*path, key, show="duration") for key in ("cover_s", "mean_stop_s")]
        places = source.num(*path, "places", show="text")
        rows.append(("", (source.words("stated", *path, "store"), places, *spans, longest)))
    if not rows:
        return []
    heads = ("Store", "Places", "Covers", "Mean stop beside it", "Longest mean of a cause")
    head = tag("h3", "Stores: how long a stop of a neighbour they cover at this rate")
    return [head, tag("div", table(heads, rows), class_="scroll")]


def _batches(source: Source) -> list[Markup]:
    """How batches gather, against how long they take and may wait."""
    rows: list[Row] = []
    for k, row in enumerate(source.at("batches")):
        path = ("batches", k)
        name = source.words("stated", *path, "station")
        if row["variant"]:
            name = Markup("{} {}").format(name, source.words("stated", *path, "variant"))
        spans = [
            source.num(*path, key, show="duration") if row[key] is not None else ""
            for key in ("gathers_s", "mean_waits_s", "longest_wait_s", "occupied_s")
        ]
        size = source.num(*path, "size", show="text")
        needs = [source.num(*path, "machines_needed", digits=2), source.num(*path, "machines", show="text")]
        rows.append(("", (name, size, *spans, *needs)))
    if not rows:
        return []
    alone = ", each variant running alone" if any(row["variant"] for row in source.at("batches")) else ""
    heads = (
        "Station",
        "Size",
        "Gathers in",
        "Mean wait",
        "Starts after",
        "Taken for",
        "Machines needed",
        "There",
    )
    head = tag("h3", f"Batches: how they gather at this rate{alone}")
    return [head, tag("div", table(heads, rows), class_="scroll")]
