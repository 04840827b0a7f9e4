"""What stores and batches can hold on paper: stops that they cover, windows that they may miss."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from cellsim.describe.cell import Cell, Station, Store
from cellsim.study.loads import Forming, Loading, Stopped
from cellsim.study.passages import OCCUPIES
from cellsim.units import SECOND

ROUNDING = 1e-9


def store_covers(cell: Cell, loads: Loading) -> list[dict[str, Any]]:
    """Each store with a limit through which units pass: how long a stop of its neighbours it covers.

    Neighbours are the stations that fill or empty it, with the robots that attend them; planned service is
    left out.

    Returns:
        `cover_s` = places x takt / units through it per good unit: so long the station before can stand when
        the store is full, or the one behind when it is empty, until the other stops too.  `mean_stop_s` of
        its neighbours, response included; `longest_stop_s`, the longest mean of a cause, with `longest_stop`
        in words; None without stops.
    """
    flows = dict(loads.flows)
    found = []
    for store in sorted(cell.stores, key=lambda store: _place(cell, store)):
        if not store.places or flows[store.name] <= 0:
            continue
        stops = _stops_around(cell, loads, store)
        often = math.fsum(stop.times for stop in stops)
        longest = max(stops, key=_length_s, default=None)
        found.append(
            {
                "store": store.name,
                "places": store.places,
                "cover_s": store.places * loads.takt_s / flows[store.name],
                "mean_stop_s": math.fsum(s.times * _length_s(s) for s in stops) / often if often else None,
                "longest_stop_s": _length_s(longest) if longest else None,
                "longest_stop": f"{longest.at}: {longest.name}" if longest else None,
            }
        )
    return found


def _place(cell: Cell, store: Store) -> int:
    """Where a store stands on the route, and after it on the lines beside."""
    places = [*cell.route, *(place for line in cell.lines for place in line.places)]
    return places.index(store.name) if store.name in places else len(places)


def _length_s(stop: Stopped) -> float:
    return stop.lasts_s + stop.response_s


def _stops_around(cell: Cell, loads: Loading, store: Store) -> list[Stopped]:
    """Stops at random of the stations before and behind a store, and of the robots that attend them."""
    near = {station.name for station in cell.stations if _fills(station, store) or _takes(station, store)}
    able = {n for e in loads.elements if e.station in near for _, names in e.able for n in names}
    near |= able & {robot.name for robot in cell.robots}
    return [stop for stop in loads.stops if stop.at in near and not stop.planned]


def _takes(station: Station, store: Store) -> bool:
    return any(name == store.name for name, _ in station.takes)


def _fills(station: Station, store: Store) -> bool:
    sent = (station.rejects.to, station.rejects.then) if station.rejects else ()
    return any(outlet.store == store.name for outlet in station.outlets) or store.name in sent


def batches(cell: Cell, loads: Loading) -> list[dict[str, Any]]:
    """Each batch step and variant: how long a batch gathers against its longest wait, and its rhythm.

    Returns:
        `gathers_s`: time in which one batch comes, the variant running alone; `first_waits_s` and
        `mean_waits_s` of a unit for a full batch; `occupied_s` of a machine by one batch;
        `machines_needed` = occupied / gathers with full batches.  Where it may start before it is full:
        `longest_wait_s`, `starts_with` units then if they come evenly, and `machines_needed_then`; else None.
    """
    stations = {station.name: station for station in cell.stations}
    found = []
    for forming in loads.forming:
        station = stations[forming.station]
        occupied = math.fsum(
            element.seconds
            for element in loads.elements
            if element.station == station.name
            and element.phase in OCCUPIES
            and not (element.inside or element.extra)
        )
        limit = station.batch.waits if station.batch else None
        some = _starts_with(station, forming)
        found.append(
            {
                "station": station.name,
                "variant": forming.variant,
                "machines": station.machines,
                "size": forming.size,
                "gathers_s": forming.size * forming.interval_s,
                "first_waits_s": forming.first_s,
                "mean_waits_s": forming.mean_s,
                "first_waits_mixed_s": (forming.size - 1) * forming.mixed_interval_s,
                "occupied_s": occupied,
                "machines_needed": occupied / (forming.size * forming.interval_s),
                "longest_wait_s": None if limit is None else limit / SECOND,
                "starts_with": some,
                "machines_needed_then": occupied / (some * forming.interval_s) if some else None,
            }
        )
    return found


def _starts_with(station: Station, forming: Forming) -> int | None:
    """Units in a batch when its first one has waited for the longest time, if they come evenly."""
    if station.batch is None or station.batch.waits is None:
        return None
    come = 1 + math.floor(station.batch.waits / SECOND / forming.interval_s + ROUNDING)
    return min(forming.size, max(come, station.batch.at_least))


def windows(
    cell: Cell, loads: Loading, found: Sequence[dict[str, Any]], pause_s: float
) -> list[dict[str, Any]]:
    """What cannot hold at this rate: places for stays, and times within which units must be used.

    Args:
        found: the `batches` of the cell.
        pause_s: the longest time without a shift.

    Returns:
        One entry for each doubt: `doubt` (stay, window batch before, window batch behind, window full,
        window pause), the `store`, and where there are `station`, `needed` and `there`,
        both in places or both in seconds.
    """
    out: list[dict[str, Any]] = []

    def add(doubt: str, store: Store, needed: float, there: float, station: str = "") -> None:
        if needed > there * (1 + ROUNDING):
            row = {"doubt": doubt, "store": store.name, "station": station, "needed": needed, "there": there}
            if all((o["doubt"], o["store"], o["station"]) != (doubt, store.name, station) for o in out):
                out.append(row)

    stores = {store.name: store for store in cell.stores}
    flows = dict(loads.flows)
    for held in loads.held:
        if held.places is not None:
            add("stay", stores[held.store], held.needed, held.places)
    for batch in sorted(found, key=lambda b: -b["size"]):
        station = next(s for s in cell.stations if s.name == batch["station"])
        for store in (s for s in cell.stores if s.name == station.takes[0][0]):
            if store.use_within is not None:
                limit = batch["longest_wait_s"]
                waits = batch["first_waits_s"] if limit is None else min(batch["first_waits_s"], limit)
                add("window batch before", store, waits, store.use_within / SECOND, station.name)
        for store in (s for s in cell.stores if s.name == station.outlets[0].store):
            if store.use_within is not None and flows[store.name] > 0:
                last = batch["size"] * loads.takt_s / flows[store.name]
                add("window batch behind", store, last, store.use_within / SECOND, station.name)
    for store in cell.stores:
        if store.use_within is not None:
            within = store.use_within / SECOND
            if store.places and flows[store.name] > 0:
                add("window full", store, store.places * loads.takt_s / flows[store.name], within)
            add("window pause", store, pause_s, within)
    return out
