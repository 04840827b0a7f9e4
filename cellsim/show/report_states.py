"""What stations, people and robots did with their time, on the page."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from cellsim.show.palette import CREW_STATES, STATION_STATES, State, look
from cellsim.show.report_numbers import Source
from cellsim.show.svg import Row, chart, in_both_widths, section, svg, table, tag
from cellsim.show.svg_states import bars, legend, named, ordered, used

TITLES = {"stations": "Stations, in the order of the route", "people": "People", "robots": "Robots"}
LOOKS: Mapping[str, Mapping[str, State]] = {
    "stations": STATION_STATES,
    "people": CREW_STATES,
    "robots": CREW_STATES,
}
A4 = 430  # units of the view box of the drawing for print, half a page wide


def states_section(source: Source) -> Markup:
    """A stacked bar for each station, person and robot, with legends and tables."""
    groups = []
    for kinds in (("stations",), ("people", "robots")):
        tables = {kind: source.at(kind) for kind in kinds if source.at(kind)}
        if not tables:
            continue
        charts = [part for kind in tables for part in (tag("h3", TITLES[kind]), _chart(source, kind))]
        groups.append(
            tag("div", *charts, legend(used(list(tables.values()), LOOKS[kinds[0]])), class_="group")
        )
    rows = max(len(source.at("stations")), len(source.at("people")) + len(source.at("robots")) + 2)
    return section("states", "What everybody did", _lead(source), *groups, style=f"--rows:{rows}")


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


def _chart(source: Source, kind: str) -> Markup:
    rows, title, looks = source.at(kind), TITLES[kind], LOOKS[kind]

    def marks(name: str, state: str) -> dict[str, str | None]:
        return source.marks(kind, name, "shares", state, "mean", show="hundredths")

    def draw(width: int) -> tuple[float, list[Markup]]:
        return bars(rows, looks, kind, width, marks)

    label = f"{title}: share of the counted time in each state"
    height, parts = draw(A4)
    drawing = in_both_widths(draw, label) + svg(
        A4, height, *parts, label=label, class_="a4", preserveAspectRatio="xMinYMin"
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
    what = f"{title.split(',')[0].lower()}, share of each state"
    shown = chart(drawing, caption, table(heads, found), what)
    return tag("div", shown, class_="bars", style=f"--n:{len(rows)}")
