"""Carriers, rules among several ways and power, mixed into a small cell."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from small_cells import SECOND

from cellsim.describe.carriers import reached_from
from cellsim.describe.cell import (
    FINISHED,
    Carrier,
    Cell,
    IndexingTable,
    Law,
    Outlet,
    Station,
    Store,
    WayRule,
)
from cellsim.describe.flow import goals_of
from cellsim.describe.together import clashes

RULES: tuple[WayRule, ...] = ("first free", "shortest wait", "in turn")


def with_carriers(draw: st.DrawFn, cell: Cell) -> Cell:
    """One to three kinds of carrier between any two stations that follow each other somehow."""
    by_name = {station.name: station for station in cell.stations}
    carriers = []
    for name in ("baskets", "fixtures", "pallets")[: draw(st.integers(1, 3))]:
        start = draw(st.sampled_from(cell.stations))
        end = draw(st.sampled_from(sorted(reached_from(start.name, by_name))))
        batch = start.batch
        per_batch = batch is not None and draw(st.booleans())
        least = batch.size if batch is not None and not per_batch else 1
        count = draw(st.integers(least, least + 5))
        returns = Law("fixed", (float(draw(st.integers(0, 6)) * SECOND),))
        if draw(st.integers(0, 3)) == 0:
            returns = Law("uniform", (0.0, 4.0 * SECOND))
        carriers.append(Carrier(name, count, start.name, end, returns, per_batch))
    found = replace(cell, carriers=tuple(carriers))
    return cell if list(clashes(found)) else found


def with_ways(draw: st.DrawFn, cell: Cell) -> Cell:
    """A rule at every station that has several ways, and another way at some that have one."""
    places = {store.name: store.places for store in cell.stores}
    inner = {s.takes[0][0] for table in cell.tables for s in cell.stations if s.name in table.stations[1:]}
    fed = [
        name
        for name in places
        if name not in inner and any(name == store for s in cell.stations for store, _ in s.takes)
    ]
    moved = {name for table in cell.tables for name in table.stations[:-1]}
    stations = tuple(one if one.name in moved else _choosing(draw, one, fed, places) for one in cell.stations)
    found = replace(cell, stations=stations)
    return cell if list(clashes(found)) else found


def with_tables(draw: st.DrawFn, cell: Cell) -> Cell:
    """The stations of the route, or the first few, on one indexing table."""
    stores = {store.name: store for store in cell.stores}
    row: list[Station] = []
    for station in cell.stations:
        store = station.takes[0][0]
        row = [*row, station] if not row or store == row[-1].outlets[0].store else row
    row = row[: draw(st.integers(2, 4))]
    inner = {station.takes[0][0] for station in row[1:]}
    outside = [station for station in cell.stations if station not in row]
    crossing = any(inner & (goals_of(station) | {s for s, _ in station.takes}) for station in outside)
    back = any(station.rejects and station.rejects.to in inner for station in row)
    ahead = any(robot.fetches_ahead for robot in cell.robots)  # it needs somebody who loads in a visit
    if ahead or len(row) < 2 or crossing or back or {store.late for store in stores.values()} & inner:
        return cell
    placed = {station.name: _position(station, k, len(row)) for k, station in enumerate(row)}
    index = Law("fixed", (float(draw(st.integers(0, 2)) * SECOND),))
    found = replace(
        cell,
        stations=tuple(placed.get(station.name, station) for station in cell.stations),
        stores=tuple(Store(s.name, 0) if s.name in inner else s for s in cell.stores),
        tables=(IndexingTable("dial", tuple(placed), index),),
    )
    return cell if list(clashes(found)) else found


def _position(station: Station, place: int, count: int) -> Station:
    """The station as a position of a table can be."""
    work = tuple(replace(element, phase="work") for element in station.work)
    outlets = station.outlets if place == count - 1 else (replace(station.outlets[0], share=1.0),)
    alone = replace(
        station, machines=1, work=work, gives=1, outlets=outlets, one_visit=False, reserves_outlet=False,
        batch=None,
    )  # fmt: skip
    if place == 0:
        return alone
    return replace(alone, takes=((station.takes[0][0], 1),), only=(), changeover=None)


def with_flow(draw: st.DrawFn, cell: Cell) -> Cell:
    """A table, ways and carriers in one cell; carriers begin where they can."""
    cell = with_carriers(draw, with_ways(draw, with_tables(draw, cell)))
    inside = {name for table in cell.tables for name in table.stations[1:]}
    return replace(cell, carriers=tuple(one for one in cell.carriers if one.start not in inside))


def _choosing(draw: st.DrawFn, station: Station, fed: list[str], places: dict[str, int | None]) -> Station:
    outlets = station.outlets
    if any(outlet.variants for outlet in outlets):
        return station
    units = max(station.gives, station.batch.size if station.batch else 1)
    others = [name for name in (*fed, FINISHED) if name not in {o.store for o in outlets}]
    roomy = [name for name in others if (places.get(name) or units) >= units and places.get(name) != 0]
    if roomy and draw(st.booleans()):
        outlets = (*outlets, Outlet(draw(st.sampled_from(roomy))))
    if len(outlets) < 2 or draw(st.integers(0, 3)) == 0:
        return station
    rule = draw(st.sampled_from(RULES[1:] if station.reserves_outlet else RULES))
    ordered = tuple(sorted((replace(o, share=1.0) for o in outlets), key=lambda outlet: outlet.store))
    return replace(station, outlets=ordered, chooses=rule)
