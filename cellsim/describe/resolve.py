"""From a cell file to a `Cell`: every name looked up, every default applied and written down as assumed."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from cellsim.describe import checks, reader
from cellsim.describe.carriers import to_carriers
from cellsim.describe.cell import RAW, Cell, Line, Origin, Release, Shift, Station, Store, Study
from cellsim.describe.changes import Change, apply_changes, as_changes
from cellsim.describe.crew import to_crew, to_posts, to_robots
from cellsim.describe.dials import to_tables
from cellsim.describe.energy import with_power
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import MAIN, Flow, to_flow
from cellsim.describe.maintenance import check_helpers, to_stops
from cellsim.describe.making import Making, grouped, natural
from cellsim.describe.material import to_finished_goods, to_parts, to_plan
from cellsim.describe.robots import equipped, to_shared
from cellsim.describe.shifts import length_text, mean_working_time, to_shifts
from cellsim.describe.spec import CELL, STUDY
from cellsim.describe.stations import to_stations, used_points
from cellsim.describe.times import to_law
from cellsim.describe.tree import Mapping, Notes
from cellsim.describe.variants import name_variants, to_variants
from cellsim.describe.ways import check_points, to_ways
from cellsim.describe.writer import resolved_fits, resolved_text
from cellsim.describe.zones import to_zones
from cellsim.units import HOUR, format_number

__all__ = ["load", "load_text", "resolved_sha256", "resolved_text"]


def load(path: str | os.PathLike[str], changes: Sequence[Change | str] = ()) -> Cell:
    """The resolved cell of a file, with changes such as `"stores.tray.places: 16"`.

    Files that it names are read from its folder.

    Raises DescriptionError with every mistake of the first stage that finds any.
    """
    file = Path(path)
    return load_text(reader.read_file(file), file.name, file.parent, changes)


def load_text(
    text: str,
    name: str = "cell.yaml",
    folder: str | os.PathLike[str] | None = None,
    changes: Sequence[Change | str] = (),
) -> Cell:
    """The resolved cell of a text; `name` stands in messages, `folder` is where files that it names are.

    The changes are read as if they stood in the text.

    Raises DescriptionError with every mistake of the first stage that finds any.
    """
    notes = Notes(name)
    tree = reader.read_text(text, name)
    apply_changes(tree, as_changes(changes), notes)
    notes.stop_if_any()
    _stop_at_another_form(tree, notes)
    top = CELL.read(tree, "", notes)
    notes.stop_if_any()
    assert top is not None
    return _resolve(Making(notes, Path(folder) if folder is not None else None), top)


# A key that only one other form of file has -> what that is, and which command takes it.
OTHER_FORMS = {
    "elements": ("a work plan", "cellsim balance takes it"),
    "investment": ("the case of an investment", "cellsim payback takes it with --case"),
}


def _stop_at_another_form(tree: Mapping, notes: Notes) -> None:
    """Say once that a file is no cell file where it plainly is one of another form."""
    if {"route", "stations"} & tree.keys.keys():
        return
    for name, (what, taken_by) in OTHER_FORMS.items():
        if name in tree.keys:
            notes.wrong(tree.keys[name], name, f"this file is {what}, no cell file", taken_by)
    notes.stop_if_any()


def resolved_sha256(cell: Cell) -> str:
    """The SHA-256 of the resolved text of a cell, as 64 hexadecimal digits."""
    return hashlib.sha256(resolved_text(cell).encode()).hexdigest()


def _resolve(making: Making, top: Record) -> Cell:
    name_variants(making, top)
    shifts = to_shifts(making, top.get("shifts"))
    making.notes.stop_if_any()
    flow = to_flow(making, top)
    crew = to_crew(making, top, flow.stations, shifts)
    shared = to_shared(crew, top)
    making.notes.stop_if_any()
    allowance = making.take(CELL, top, "allowance") if crew.posts else 0.0
    stations = to_stations(flow, crew, allowance, shifts)
    carriers = to_carriers(making, top, stations)
    given = {name: entry.value for name, entry in (top.get("tables") or {}).items()}
    tables = to_tables(making, given, stations, flow.stores, carriers)
    stations = with_power(making, top, stations, "stations")
    parts, goods = to_parts(crew, top, flow.stations), to_finished_goods(crew, top)
    ways = to_ways(making, top)
    stops = {
        name: to_stops(crew, record, name, flow.stations, shifts) for name, record in crew.robots.items()
    }
    robots = equipped(crew, flow, stations, to_robots(crew, ways, stations, stops))
    robots = with_power(making, top, robots, "robots")
    posts = to_posts(crew, ways, stations, robots)
    used = used_points(flow) + [
        record.get("starts_at")
        for record in (*crew.posts.values(), *crew.robots.values())
        if "starts_at" in record
    ]
    moved = {point for robot in robots for move in robot.moves for point in (move.start, move.end)}
    check_points(making, top, {*flow.stations, *flow.stores, *crew.robots, *moved}, used)
    zones = to_zones(crew, top, stations, robots)
    release = _release(making, top, shifts)
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
        question=top.single("question", ""),
        target_per_hour=target,
        shifts=shifts,
        posts=posts,
        robots=robots,
        stations=stations,
        stores=_stores(making, top, flow, stations, study.start == "primed" and release.kind != "cards"),
        release=release,
        study=study,
        assumptions=(),
        route=tuple(flow.lines[MAIN]),
        lines=tuple(Line(n, tuple(flow.lines[n])) for n in sorted(flow.lines, key=natural) if n != MAIN),
        layout=tuple((point, *ways.layout[point]) for point in sorted(ways.layout, key=natural)),
        levels=crew.grades.table(),
        origins=tuple(sorted(origins, key=lambda o: (natural(o.path), o.text))),
        variants=variants,
        sequence=sequence,
        carriers=carriers,
        tables=tables,
        varied_lines=_varied_lines(flow, top),
        parts=parts,
        finished_goods=goods,
        zones=zones,
        shared=shared,
        margins=_margins(making, top),
    )
    records = {name: flow.record(name) for name in flow.stations} | crew.robots
    check_helpers(making, cell, records, crew.posts)
    checks.check(making, cell, _places(top, flow))
    making.notes.stop_if_any()
    sections = {
        "stations": list(flow.stations), "crew": list(crew.posts), "robots": list(crew.robots),
        "shifts": [shift.name for shift in shifts], "stores": list(flow.stores),
        "parts": [part.name for part in parts],
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


def _stores(
    making: Making, top: Record, flow: Flow, stations: tuple[Station, ...], primed: bool
) -> tuple[Store, ...]:
    """All stores by name; those of a primed cell that do not say otherwise are half full."""
    stores = []
    filled = {outlet.store for station in stations for outlet in station.outlets}
    for name in sorted(flow.stores, key=natural):
        store = flow.stores[name]
        entry = (top.get("stores") or {}).get(name)
        silent = entry is not None and not (isinstance(entry.value, Record) and "starts_with" in entry.value)
        if primed and silent and store.places and name in filled:
            half = store.places // 2
            why = f"half of its {store.places} places, since the cell starts primed"
            making.assume(f"stores.{name}.starts_with", str(half), why)
            store = replace(store, starts_with=half)
        stores.append(store)
    return tuple(stores)


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


def _release(making: Making, top: Record, shifts: tuple[Shift, ...]) -> Release:
    given = top.get("release")
    if isinstance(given, Record):
        if sum(key in given.places for key in ("every", "at", "plan")) != 1:
            making.wrong(given, "release", "a release says one of every, at and plan")
            return Release()
        if "plan" in given.places:
            return Release("plan", plan=to_plan(making, given, shifts))
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


def _margins(making: Making, top: Record) -> tuple[tuple[str, float], ...]:
    given: Record = top.get("margins") or Record("margins", 0, 0)
    for key, item in given.values.items():
        if not 0 < item.value < 1:
            making.wrong_key(given, key, "a margin lies above 0 and below 100 %")
    return tuple((key, item.value) for key, item in sorted(given.values.items()))


def _study(making: Making, top: Record, shifts: tuple[Shift, ...]) -> Study:
    given: Record = top.get("study") or Record("study", 0, 0)
    kind, settle = making.take(STUDY, given, "settle")
    count = given.single("shifts", 0)
    run = given.single("run", 0)
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
