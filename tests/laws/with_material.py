"""Purchased parts, bars, lots, a plan and places for finished goods, mixed into a random small cell."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from small_cells import SECOND, durations, fixed

from cellsim.describe.cell import (
    FINISHED,
    RELEASE,
    Cell,
    FinishedGoods,
    Lots,
    Need,
    PurchasedPart,
    Release,
    Station,
    Yields,
)
from cellsim.describe.together import clashes


def helpers(draw: st.DrawFn, cell: Cell) -> tuple[Need, ...]:
    """Nobody, or one of the people or robots of the cell."""
    everybody = sorted({one.name for one in (*cell.posts, *cell.robots)})
    return draw(st.sampled_from(((), *((Need(name),) for name in everybody))))


def part(draw: st.DrawFn, cell: Cell, name: str) -> PurchasedPart:
    """A part that comes in one of the three ways, and of which too few for ever are never left."""
    inner = {name for table in cell.tables for name in table.stations[1:]}
    users = [station.name for station in cell.stations if station.name not in inner]
    stations = draw(st.lists(st.sampled_from(users), min_size=1, unique=True))
    used_at = tuple((station, draw(st.integers(1, 3))) for station in sorted(stations))
    most = max(pieces for _, pieces in used_at)
    by = helpers(draw, cell)
    supply = draw(st.sampled_from(("bins", "orders", "regular")))
    box = draw(st.integers(most, 8)) if supply == "bins" else draw(st.integers(1, 8))
    bins = draw(st.integers(2, 3)) if supply == "bins" else 0
    starts_with = draw(st.integers(0, box * bins or 10))
    delivery = draw(durations(1, 12)) if supply == "regular" else draw(st.sampled_from((fixed(0), fixed(7))))
    return PurchasedPart(
        name=name,
        used_at=used_at,
        box=box,
        supply=supply,
        delivery=delivery,
        starts_with=starts_with,
        bins=bins,
        orders_at=draw(st.integers(most - 1, 6)) if supply == "orders" else 0,
        brought_by=by,
        trip=draw(durations(0, 5)) if by else None,
        overtaking=draw(st.booleans()),
        priority=draw(st.sampled_from((1, 1, 2))),
    )


def with_bar(draw: st.DrawFn, cell: Cell, station: Station, returned: set[str]) -> Station:
    """The station with several units from a bar, where that is possible."""
    loaded = any(element.phase in ("fetch", "load") for element in station.work)
    several = len(station.takes) > 1 or station.takes[0][1] > 1
    if station.batch or station.changeover or loaded or several or station.takes[0][0] in returned:
        return station
    units = station.gives * draw(st.integers(1, 4))
    return replace(station, yields=Yields("bar", units, draw(durations(0, 4)), helpers(draw, cell)))


def with_lots(draw: st.DrawFn, cell: Cell, station: Station) -> Station:
    """The station with lots, where there is one store with places behind it."""
    places = {store.name: store.places for store in cell.stores}
    goal = station.outlets[0].store
    if station.batch or len(station.outlets) > 1 or goal not in places or places[goal] == 0:
        return station
    most = min(places[goal] or 5, 5) - 1
    return replace(
        station, lots=Lots(station.gives * draw(st.integers(1, 4)), draw(st.integers(0, max(0, most))))
    )


def planned(draw: st.DrawFn, cell: Cell) -> Release:
    """A plan of a few units at moments of the day at which somebody works."""
    moments = {0, 1, 30} if not cell.shifts else set()
    for shift in cell.shifts:
        moments |= {shift.start // SECOND, (shift.start + shift.end) // (2 * SECOND)}
    amounts = {moment: draw(st.integers(0, 9)) for moment in sorted(moments)}
    amounts[min(amounts)] = max(1, amounts[min(amounts)])
    return Release("plan", plan=tuple((moment * SECOND, units) for moment, units in amounts.items()))


def with_material(draw: st.DrawFn, cell: Cell) -> Cell:
    """The cell with some of this topic in it."""
    returned = {station.rejects.to for station in cell.stations if station.rejects}
    stations = []
    for station in cell.stations:
        kind = draw(st.sampled_from(("", "", "bar", "lots")))
        if kind == "bar":
            station = with_bar(draw, cell, station, returned)
        elif kind == "lots":
            station = with_lots(draw, cell, station)
        stations.append(station)
    if not list(clashes(replace(cell, stations=tuple(stations)))):
        cell = replace(cell, stations=tuple(stations))
    cell = replace(
        cell, parts=tuple(part(draw, cell, name) for name in ("clip", "pin")[: draw(st.integers(0, 2))])
    )
    stores = tuple(replace(store, overtaking=draw(st.integers(0, 3)) > 0) for store in cell.stores)
    cell = replace(cell, stores=stores)
    if draw(st.integers(0, 2)) == 0:
        gives = [s.gives for s in stations if any(outlet.store == FINISHED for outlet in s.outlets)]
        by = helpers(draw, cell)
        every = draw(st.sampled_from((None, fixed(10), fixed(25))))
        goods = FinishedGoods(
            places=max(gives) + draw(st.integers(0, 6)),
            every=every,
            takes=draw(st.integers(0, 3)) if every else 0,
            by=by if every else (),
            trip=draw(durations(0, 3)) if by and every else None,
        )
        cell = replace(cell, finished_goods=goods)
    holds = any(station.rejects and station.rejects.holds for station in stations)
    if draw(st.integers(0, 3)) == 0 and not holds and any(s.takes[0][0] == RELEASE for s in stations):
        cell = replace(cell, release=planned(draw, cell))
    return cell
