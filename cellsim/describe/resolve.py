"""From a cell file to a `Cell`: every name looked up, every default applied and written down as assumed."""

from __future__ import annotations

import hashlib
import os
from dataclasses import replace
from pathlib import Path

from cellsim.describe import checks, reader
from cellsim.describe.carriers import to_carriers
from cellsim.describe.cell import RAW, Cell, Line, Origin, Release, Shift, Store, Study
from cellsim.describe.crew import check_points, to_crew, to_posts, to_robots, to_ways
from cellsim.describe.dials import to_tables
from cellsim.describe.energy import with_power
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import MAIN, Flow, to_flow
from cellsim.describe.making import Making, grouped, natural
from cellsim.describe.shifts import length_text, mean_working_time, to_shifts
from cellsim.describe.spec import CELL, STUDY
from cellsim.describe.stations import to_stations, used_points
from cellsim.describe.times import to_law
from cellsim.describe.tree import Notes
from cellsim.describe.variants import name_variants, to_variants
from cellsim.describe.writer import resolved_fits, resolved_text
from cellsim.units import HOUR, format_number

__all__ = ["load", "load_text", "resolved_sha256", "resolved_text"]


def load(path: str | os.PathLike[str]) -> Cell:
    """The resolved cell of a file; files that it names are read from its folder.

    Raises DescriptionError with every mistake of the first stage that finds any.
    """
    file = Path(path)
    return load_text(reader.read_file(file), file.name, file.parent)


def load_text(text: str, name: str = "cell.yaml", folder: str | os.PathLike[str] | None = None) -> Cell:
    """The resolved cell of a text; `name` stands in messages, `folder` is where files that it names are.

    Raises DescriptionError with every mistake of the first stage that finds any.
    """
    notes = Notes(name)
    tree = reader.read_text(text, name)
    top = CELL.read(tree, "", notes)
    notes.stop_if_any()
    assert top is not None
    return _resolve(Making(notes, Path(folder) if folder is not None else None), top)


def resolved_sha256(cell: Cell) -> str:
    """The SHA-256 of the resolved text of a cell, as 64 hexadecimal digits."""
    return hashlib.sha256(resolved_text(cell).encode()).hexdigest()


def _resolve(making: Making, top: Record) -> Cell:
    name_variants(making, top)
    shifts = to_shifts(making, top.get("shifts"))
    making.notes.stop_if_any()
    flow = to_flow(making, top)
    crew = to_crew(making, top, flow.stations, shifts)
    making.notes.stop_if_any()
    stations = to_stations(flow, crew)
    carriers = to_carriers(making, top, stations)
    given = {name: entry.value for name, entry in (top.get("tables") or {}).items()}
    tables = to_tables(making, given, stations, flow.stores, carriers)
    stations = with_power(making, top, stations, "stations")
    ways = to_ways(making, top)
    robots = with_power(making, top, to_robots(crew, ways, stations), "robots")
    posts = to_posts(crew, ways, stations, robots)
    used = used_points(flow) + [
        record.get("starts_at")
        for record in (*crew.posts.values(), *crew.robots.values())
        if "starts_at" in record
    ]
    check_points(making, top, {*flow.stations, *flow.stores, *crew.robots}, used)
    release = _release(making, top)
    study = _study(making, top, shifts)
    target = _target(making, top, shifts)
    variants, sequence = to_variants(making, top, target, shifts)
    making.notes.stop_if_any()
    for item in top.get("assumed") or []:
        making.assume(item.get("path").value, item.get("value").value, item.get("why").value)
    origins = {Origin(path, text) for path, text in making.notes.origins}
    origins |= {Origin(item.get("path").value, item.get("text").value) for item in top.get("origins") or []}
    cell = Cell(
        name=top.get("cell").value,
        question=top.get("question").value if "question" in top else "",
        target_per_hour=target,
        shifts=shifts,
        posts=posts,
        robots=robots,
        stations=stations,
        stores=_stores(flow),
        release=release,
        study=study,
        assumptions=(),
        route=tuple(flow.lines[MAIN]),
        lines=tuple(Line(n, tuple(flow.lines[n])) for n in sorted(flow.lines, key=natural) if n != MAIN),
        layout=tuple((point, *ways.layout[point]) for point in sorted(ways.layout, key=natural)),
        origins=tuple(sorted(origins, key=lambda o: (natural(o.path), o.text))),
        variants=variants,
        sequence=sequence,
        carriers=carriers,
        tables=tables,
        varied_lines=_varied_lines(flow, top),
    )
    checks.check(making, cell, _places(top, flow))
    making.notes.stop_if_any()
    sections = {
        "stations": list(flow.stations), "crew": list(crew.posts), "robots": list(crew.robots),
        "shifts": [shift.name for shift in shifts], "stores": list(flow.stores),
    }  # fmt: skip
    whole = replace(cell, assumptions=grouped(making.assumptions, sections), cautions=checks.cautions(cell))
    if not resolved_fits(whole, reader.MOST_NODES, reader.MOST_BYTES):
        most = f"{reader.MOST_NODES} keys and values or {reader.MOST_BYTES} bytes"
        making.wrong(
            None, "", f"written out in full, the cell would have more than {most}", "it is too large"
        )
        making.notes.stop_if_any()
    return whole


def _places(top: Record, flow: Flow) -> dict[str, object]:
    """Where the names stand that a check of the whole cell may find wrong."""
    places: dict[str, object] = {"route": top.places["route"]}
    places |= {name: entry.name for name, entry in (top.get("stores") or {}).items()}
    return places | {name: entry.name for name, entry in flow.stations.items()}


def _varied_lines(flow: Flow, top: Record) -> tuple[str, ...]:
    """The lines beside the route whose units are of a variant too."""
    beginning = {n: line for n, names in flow.lines.items() if n != MAIN for line in names[:1]}
    found = set()
    for item in top.get("varied_lines") or []:
        if item.value not in beginning:
            flow.making.unknown(item, "line beside the route", beginning)
        found.add(item.value)
    raw = {n for n in beginning if any(flow.before[name] == RAW + n for name in flow.before)}
    if flow.making.variants:
        for name in sorted(raw - found, key=natural):
            why = "its units are the same for every variant"
            flow.making.assume(f"lines.{name}", "fits every variant", why)
    return tuple(sorted(found, key=natural))


def _stores(flow: Flow) -> tuple[Store, ...]:
    return tuple(flow.stores[name] for name in sorted(flow.stores, key=natural))


def _target(making: Making, top: Record, shifts: tuple[Shift, ...]) -> float | None:
    """Demanded output in units per working hour."""
    if "target" not in top:
        return None
    item: Item = top.get("target")
    rate = item.value
    if rate.per is not None:
        return float(rate.count * HOUR / rate.per)
    if not shifts:
        making.wrong(item, item.path, "a target per shift needs shifts", "write it per h, or add shifts")
        return None
    hourly = float(rate.count) * HOUR / mean_working_time(shifts)
    why = f"{item.text} over {length_text(shifts)} of work in a shift, without breaks, start up and clean up"
    making.assume("target", f"{format_number(round(hourly, 4))} per h", why)
    return hourly


def _release(making: Making, top: Record) -> Release:
    given = top.get("release")
    if isinstance(given, Record):
        if ("every" in given.places) == ("at" in given.places):
            making.wrong(given, "release", "a release says either every or at")
            return Release()
        if "at" in given.places:
            times = [item.value for item in given.get("at") or []]
            if times != sorted(times):
                making.wrong_key(given, "at", "the times do not follow each other")
            return Release("at", at=tuple(times))
        law = to_law(making, given.get("every"))
        if law.name == "fixed" and law.values[0] == 0:
            making.wrong_key(
                given, "every", "raw units would come without end at one instant; it must be above zero"
            )
        return Release("every", every=law)
    kind, amount = making.take(CELL, top, "release")
    if kind == "every":
        if not amount:
            making.wrong(
                given, "release", "raw units would come without end at one instant; it must be above zero"
            )
        return Release("every", every=to_law(making, Item(amount, "", 0, 0, "release")))
    return Release("cards", cards=amount) if kind == "cards" else Release()


def _study(making: Making, top: Record, shifts: tuple[Shift, ...]) -> Study:
    given: Record = top.get("study") or Record("study", 0, 0)
    kind, settle = making.take(STUDY, given, "settle")
    count = given.get("shifts").value if "shifts" in given else 0
    run = given.get("run").value if "run" in given else 0
    if "shifts" in given.places and "run" in given.places:
        making.wrong_key(given, "run", "only one of shifts and run can be given")
    elif "run" in given.places and not run:
        making.wrong_key(given, "run", "a run of no length")
    for key, used in (("shifts", count), ("settle", settle if kind == "shifts" else 0)):
        if used and not shifts:
            making.wrong_key(
                given, key, "this cell has no shifts to count", "write a time, such as 8 h, or add shifts"
            )
    if not count and not run:
        count, run = (1, 0) if shifts else (0, 8 * HOUR)
        making.assume("study.shifts" if shifts else "study.run", "1" if shifts else "8 h", "a first look")
    start = making.take(STUDY, given, "start")
    if start == "as left" and not settle:
        making.wrong_key(
            given,
            "start",
            "as left means as shifts before left it; settle says how many",
            "write settle: 2 shifts",
        )
    return Study(
        shifts=count,
        run=run,
        settle_shifts=settle if kind == "shifts" else 0,
        settle=settle if kind == "time" else 0,
        start=start,
        seed=making.take(STUDY, given, "seed"),
        replications=making.take(STUDY, given, "replications"),
    )
