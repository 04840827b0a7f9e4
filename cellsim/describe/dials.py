"""Indexing tables: which stations stand on one, and what cannot be on it."""

from __future__ import annotations

from collections.abc import Iterator

from cellsim.describe.cell import Carrier, IndexingTable, Station, Store
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import goals_of
from cellsim.describe.making import Making, natural
from cellsim.describe.times import to_law
from cellsim.describe.tree import Text
from cellsim.units import quoted


def to_tables(
    making: Making,
    tables: dict[str, Record],
    stations: tuple[Station, ...],
    stores: dict[str, Store],
    carriers: tuple[Carrier, ...],
) -> tuple[IndexingTable, ...]:
    """The tables by name; notes stations that cannot be on one, or do not follow each other directly."""
    by_name = {station.name: station for station in stations}
    seen: set[str] = set()
    found = []
    for name in sorted(tables, key=natural):
        given = tables[name]
        items: list[Item] = given.get("stations")
        for item in items:
            if item.value not in by_name:
                making.unknown(item, "station", by_name)
            elif item.value in seen:
                making.wrong(item, item.path, f"{quoted(item.value)} is on a table already")
            seen.add(item.value)
        found.append(
            IndexingTable(name, tuple(item.value for item in items), to_law(making, given.get("index")))
        )
        if all(item.value in by_name for item in items):
            for place, item in enumerate(items):
                before = by_name[items[place - 1].value] if place else None
                last = place == len(items) - 1
                for message, hint in _faults(by_name[item.value], before, last, stations, stores, carriers):
                    making.wrong(Text("", item.line, item.column), item.path, message, hint)
    return tuple(found)


def _faults(
    station: Station,
    before: Station | None,
    last: bool,
    stations: tuple[Station, ...],
    stores: dict[str, Store],
    carriers: tuple[Carrier, ...],
) -> Iterator[tuple[str, str]]:
    """What keeps a station from being a position of a table; `before` is the position before it."""
    name = quoted(station.name)
    if station.machines > 1:
        yield f"{name} has {station.machines} machines; a position has one", ""
    if station.batch is not None or station.gives > 1:
        yield f"{name} works on several units at once; a position holds one", ""
    if any(element.phase != "work" for element in station.work):
        hint = "write its elements without phase or visit: they occupy the position"
        yield f"{name} is loaded and unloaded in visits; on a table its work does that", hint
    if station.reserves_outlet:
        yield f"{name} begins only when there is a free place; on a table a unit moves on with the others", ""
    if station.chooses and not last:
        yield f"{name} chooses among several ways; only the last position can", ""
    if before is None:
        return
    inner = station.takes[0][0]
    feeders = [other.name for other in stations if inner in goals_of(other)]
    takers = [other.name for other in stations if any(store == inner for store, _ in other.takes)]
    room = stores[inner].places if inner in stores else None
    if feeders != [before.name] or takers != [station.name] or room != 0:
        hint = f"in the route {station.name} follows {before.name}, with no store between"
        yield f"not only {quoted(before.name)} hands on to {name}, and directly", hint
    if len(station.takes) > 1 or station.takes[0][1] > 1:
        yield f"{name} takes units from stores; only the first position can", ""
    if station.changeover is not None or station.only:
        yield f"{name} waits for a variant or changes over; only the first position can", ""
    for carrier in carriers:
        if carrier.start == station.name:
            yield f"{name} puts units on {quoted(carrier.name)}; only the first position can", ""
