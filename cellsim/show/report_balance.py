"""The balance of a work plan on the page: who does what as bars, how sure it is, what the line makes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from cellsim.show.report_numbers import Part, Source
from cellsim.show.svg import Row, chart, in_both_widths, joined, section, table, tag
from cellsim.show.svg_loads import Bar, Limit, Piece, load_bars, load_legend

RATES = {
    "constant_times": "Times that never vary",
    "unlimited_places": "Times that vary, endless places",
    "as_planned": "As planned",
}


def balance_section(source: Source) -> Markup:
    """What `cellsim balance --json` holds: the assignment, proven or bound, and the rate of its cell."""
    ident = f"balance-{source.index}"
    parts = [
        source.words("balance", of="p", class_="verdict"),
        source.words("balance rate", of="p", class_="answer"),
    ]
    parts += [tag("h3", "Who does what"), _chart(source, ident), _assignment(source)]
    parts += [tag("p", source.words("balance figures")), tag("p", source.words("balance bounds"))]
    if source.at("simulated") is not None:
        parts += _rates(source)
    assumed = [
        tag("li", source.words("assumption", "assumptions", k))
        for k, row in enumerate(source.at("assumptions"))
        if not row["path"].startswith("shifts.")
    ]
    if assumed:
        parts += [tag("h3", "Assumed"), tag("ul", *assumed)]
    return section(ident, "Who does what work", _about(source), *parts)


def _about(source: Source) -> Markup:
    """The name of the plan and its question."""
    name = source.words("stated", "plan")
    if not source.answer.get("question"):
        return name
    return Markup("{}: {}").format(name, source.words("stated", "question"))


def _chart(source: Source, ident: str) -> Markup:
    """A bar for each person by element, and one for each machine beside, against planned cycle and takt."""
    bars = []
    rows: list[Row] = []
    for k, row in enumerate(source.at("stations")):
        by_hand = [e for e in row["elements"] if not e["runs_alone"]]
        pieces = [Piece(e["time_s"], "work", str(e["name"])) for e in by_hand]
        bars.append(_bar(source, str(row["person"]), f"{ident}-{k}", pieces, "stations", k, "load_s"))
        seconds = [source.num("stations", k, key, digits=2) for key in ("load_s", "idle_s")]
        rows.append((f"{ident}-{k}", (source.words("stated", "stations", k, "person"), *seconds)))
        for j, machine in enumerate(row["machines"]):
            path: tuple[Part, ...] = ("stations", k, "machines", j)
            row_name = f"{ident}-{k}-machine-{j}"
            pieces = _machine(row, machine)
            bars.append(_bar(source, str(machine["machine"]), row_name, pieces, *path, "busy_s"))
            busy = source.num(*path, "busy_s", digits=2)
            rows.append((row_name, (source.words("stated", *path, "machine"), busy, "")))
    limits = []
    for key, name, kind in (("planned_cycle_s", "planned", "target"), ("takt_of_starts_s", "takt", "limit")):
        if source.at(key) is not None:
            shown = tag("tspan", source.shown(key, digits=1), **source.marks(key, digits=1))
            limits.append(Limit(source.at(key), Markup("{} {} s").format(name, shown), kind))
    if not limits:
        shown = tag("tspan", source.shown("cycle_s", digits=1), **source.marks("cycle_s", digits=1))
        limits.append(Limit(source.at("cycle_s"), Markup("cycle {} s").format(shown), "target"))
    drawing = in_both_widths(
        lambda width: load_bars(bars, limits, "seconds for a unit", width), "Work of each person for a unit"
    )
    kinds = sorted({piece.kind for bar in bars for piece in bar.pieces})
    shown = chart(
        drawing,
        "Each bar: what a person does for a unit, or how long a machine is taken by it. At its end: seconds.",
        table(("Who or which machine", "Busy, s", "Idle, s"), rows),
        "seconds of each",
    )
    return tag("div", load_legend(kinds, in_turn=True), shown)


def _machine(row: Mapping[str, Any], machine: Mapping[str, Any]) -> list[Piece]:
    """What a machine is taken for: by hand at it, then alone."""
    own = [e for e in row["elements"] if e["machine"] == machine["machine"]]
    return [Piece(e["time_s"], "alone" if e["runs_alone"] else "work", str(e["name"])) for e in own]


def _bar(source: Source, name: str, row: str, pieces: list[Piece], *path: Part) -> Bar:
    def end(x: float, y: float) -> Markup:
        return source.label(x, y, *path, class_="value strong", digits=2, anchor="start")

    return Bar(name, row, pieces, end)


def _assignment(source: Source) -> Markup:
    """The elements of each person with their seconds."""
    rows: list[Row] = []
    for k, row in enumerate(source.at("stations")):
        elements = []
        for j, element in enumerate(row["elements"]):
            path = ("stations", k, "elements", j)
            alone = " s alone" if element["runs_alone"] else " s"
            name = source.words("stated", *path, "name")
            elements.append(Markup("{} {}{}").format(name, source.num(*path, "time_s", digits=2), alone))
        busy = source.num("stations", k, "load_s", digits=2)
        rows.append(("", (source.words("stated", "stations", k, "person"), busy, joined(elements, ", "))))
    return tag("div", table(("Person", "By\u00a0hand,\u00a0s", "Elements"), rows), class_="scroll")


def _rates(source: Source) -> list[Markup]:
    """What the line makes when it runs, and why less than its longest station promises."""
    rows: list[Row] = [
        ("", ("The longest station, all the time", source.num("balanced_per_hour", digits=1), ""))
    ]
    for key, name in RATES.items():
        if key in source.at("simulated"):
            path = ("simulated", key)
            mean = source.num(*path, "mean", digits=1)
            rows.append(("", (name, mean, source.ends(*path, "interval", digits=1))))
    shown = table(("", "Good units per hour", "95 % interval"), rows)
    head = tag("h3", "What it makes when it runs")
    return [head, tag("div", shown, class_="scroll"), tag("p", source.words("balance losses"))]
