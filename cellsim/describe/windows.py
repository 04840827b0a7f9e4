"""Checks of batches, waits and variants against places and demand: what could never be held or filled."""

from __future__ import annotations

from cellsim.describe.cell import RELEASE, Cell, Station, Store
from cellsim.describe.making import Making
from cellsim.units import HOUR, format_number, format_time, quoted

Places = dict[str, object]


def check_windows(making: Making, cell: Cell, places: Places) -> None:
    """Note stores that cannot hold what must wait in them, batches that never fill, variants nobody takes."""
    for store in cell.stores:
        _check_stay(making, cell, store, places)
        _check_takers(making, cell, store.name, places)
    _check_takers(making, cell, RELEASE, places)
    rooms = {store.name: store.places for store in cell.stores}
    for station in cell.stations:
        if station.batch is not None:
            for message, hint in _batch_mistakes(station, rooms):
                making.wrong(places[station.name], f"stations.{station.name}.batch", message, hint)


def _check_stay(making: Making, cell: Cell, store: Store, places: Places) -> None:
    """At the demanded rate, the units that must stay in a store of the route need their places."""
    stay = store.transit + store.stays
    if not stay or store.places is None or cell.target_per_hour is None or store.name not in cell.route:
        return
    before = cell.route[cell.route.index(store.name) - 1]
    giver = next((station for station in cell.stations if station.name == before), None)
    if giver is None or len(giver.outlets) > 1:
        return
    needed = cell.target_per_hour * stay / HOUR
    if needed > store.places:
        rate = format_number(round(cell.target_per_hour, 2))
        message = (
            f"at {rate} per h a stay of {format_time(stay)} needs {format_number(round(needed, 1))} places;"
            f" {quoted(store.name)} has {store.places}"
        )
        making.wrong(places.get(store.name, places["route"]), f"stores.{store.name}", message)


def _check_takers(making: Making, cell: Cell, store: str, places: Places) -> None:
    """Every variant that may stand in a store is taken by some station."""
    takers = [station for station in cell.stations if store in dict(station.takes)]
    if not takers or not all(station.only for station in takers):
        return
    givers = [o for station in cell.stations for o in station.outlets if o.store == store]
    coming = {variant.name for variant in cell.variants}
    if givers and all(outlet.variants for outlet in givers):
        coming = {variant for outlet in givers for variant in outlet.variants}
    taken = {variant for station in takers for variant in station.only}
    for variant in cell.variants:
        if variant.name in coming - taken:
            message = f"no station takes variant {quoted(variant.name)} from {quoted(store)}"
            place = places.get(store, places[takers[0].name])
            path = f"stores.{store}" if store in places else f"stations.{takers[0].name}.only"
            making.wrong(place, path, message, "name it in only of a station")


def _batch_mistakes(station: Station, rooms: dict[str, int | None]) -> list[tuple[str, str]]:
    assert station.batch is not None
    found = []
    size, (source, count) = station.batch.size, station.takes[0]
    room = rooms.get(source)
    if room is not None and size > room:
        message = f"a batch of {size} never gathers in {quoted(source)}, which has {room} places"
        found.append((message, f"give it at least {size} places, or make the batch smaller"))
    for outlet in station.outlets:
        room = rooms.get(outlet.store)
        if room is not None and 0 < room < size:
            message = f"a batch of {size} does not fit into {quoted(outlet.store)}, which has {room} places"
            found.append((message, f"give it at least {size} places"))
    if station.gives > 1 or count > 1:
        found.append(("a batch takes and gives its units one for one", "take takes or gives out"))
    return found
