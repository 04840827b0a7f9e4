"""What stations, people and robots did with their time, on the page."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from cellsim.show.palette import CREW_STATES, STATION_STATES, State, look
from cellsim.show.report_numbers import Source
from cellsim.show.svg import Row, chart, in_both_widths, section, table, tag
from cellsim.show.svg_states import bars, legend, named, ordered, used

KINDS = (
    ("stations", "Stations, in the order of the route", STATION_STATES),
    ("people", "People", CREW_STATES),
    ("robots", "Robots", CREW_STATES),
)


def states_section(source: Source) -> Markup:
    """A stacked bar for each station, person and robot, with legends and tables."""
    parts = []
    for kind, title, looks in KINDS:
        if not source.at(kind):
            continue
        parts.append(tag("h3", title))
        parts.append(_chart(source, kind, title, looks))
        if kind == "stations" or (kind == "people") or not source.at("people"):
            tables = [source.at(kind)] if kind == "stations" else [source.at("people"), source.at("robots")]
            parts.append(legend(used(tables, looks)))
    return section("states", "What everybody did", _lead(source), *parts)


def _lead(source: Source) -> Markup:
    """Who is loaded most."""
    crew = [
        (row["load"]["mean"], kind, name)
        for kind in ("people", "robots")
        for name, row in source.at(kind).items()
        if row["load"]["mean"] is not None
    ]
    parts = [Markup("Shares of the counted time.")]
    if crew:
        _, kind, name = max(crew, key=lambda found: found[0])
        load = source.num(kind, name, "load", "mean", show="percent")
        parts.append(
            Markup(" Of people and robots {} is loaded most: {} of the time on duty.").format(name, load)
        )
    return tag("span", *parts)


def _chart(source: Source, kind: str, title: str, looks: Mapping[str, State]) -> Markup:
    rows = source.at(kind)

    def marks(name: str, state: str) -> dict[str, str | None]:
        return source.marks(kind, name, "shares", state, "mean", show="hundredths")

    drawing = in_both_widths(
        lambda width: bars(rows, looks, kind, width, marks),
        f"{title}: share of the counted time in each state",
    )
    occurring = {state: None for row in rows.values() for state in row["shares"]}
    states = ordered(occurring, looks)
    heads = [title.split(",")[0], *(["Load"] if kind != "stations" else [])]
    heads += [look(looks, state).label for state in states]
    found: list[Row] = []
    for k, (name, row) in enumerate(rows.items()):
        cells: list[str | Markup] = [named(name, row)]
        if kind != "stations":
            known = row["load"]["mean"] is not None
            cells.append(source.num(kind, name, "load", "mean", show="percent") if known else "")
        for state in states:
            there = state in row["shares"]
            path = (kind, name, "shares", state, "mean")
            cells.append(source.num(*path, show="percent", digits=1) if there else "")
        found.append((f"{kind}-{k}", cells))
    caption = "Letter: the state. Number: per cent of the counted time."
    return chart(drawing, caption, table(heads, found), f"{title.split(',')[0].lower()}, share of each state")
