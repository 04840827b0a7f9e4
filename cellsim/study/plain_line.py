"""Whether a cell is a plain line, which theory knows, and its times if it is.

A plain line is stations one after the other, each with one unit at a time and its own stops, stores between
them, and nobody and nothing that stations have to share or wait for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, RELEASE, Cell, Element, Law, Post, Station, Stop, Store
from cellsim.units import SECOND

PHASED = ("exponential", "erlang")  # laws that are sums of exponential phases


@dataclass(frozen=True, slots=True)
class PlainStop:
    """One cause of stops: mean running time between stops, mean and SCV of the repair, in seconds.

    `memoryless`: running times and repairs are exponential and the clock counts running time.
    """

    run_s: float
    repair_s: float
    repair_scv: float
    memoryless: bool


@dataclass(frozen=True, slots=True)
class PlainStation:
    """Work of one station in seconds; `phases` equal exponential phases make it up, 0 where none do."""

    name: str
    machines: int
    mean_s: float
    scv: float
    phases: int
    stops: tuple[PlainStop, ...]


@dataclass(frozen=True, slots=True)
class PlainLine:
    """Stations, the stores between them with their places (None: no limit), and how raw units come.

    `interval_s` is the mean time between raw units where they come so often, `cards` the most units inside
    where those are limited.
    """

    stations: tuple[PlainStation, ...]
    stores: tuple[str, ...]
    places: tuple[int | None, ...]
    interval_s: float | None = None
    cards: int | None = None


class NotPlain(Exception):
    """A cell is no plain line; the text says why, as in `nothing is known on paper of ...`."""


def plain_line(cell: Cell) -> PlainLine:
    """The plain line that a cell is.

    Raises:
        NotPlain: it is none; the text names the first thing that theory here has no formula for.
    """
    for text in _beyond(cell):
        raise NotPlain(text)
    stores = {store.name: store for store in cell.stores}
    between = tuple(
        stores[station.outlets[0].store] for station in cell.stations if station.outlets[0].store != FINISHED
    )
    for store in between:
        _check_store(store)
    release = cell.release
    every = release.every if release.kind == "every" else None
    return PlainLine(
        stations=tuple(_station(cell, station) for station in cell.stations),
        stores=tuple(store.name for store in between),
        places=tuple(store.places for store in between),
        interval_s=laws.mean(every) / SECOND if every else None,
        cards=release.cards if release.kind == "cards" else None,
    )


def _beyond(cell: Cell) -> Iterator[str]:
    """What of the whole cell makes it more than a plain line."""
    if cell.variants:
        yield "several variants"
    if cell.lines or cell.tables:
        yield "lines beside the route" if cell.lines else "an indexing table"
    if cell.robots or cell.carriers:
        yield "robots" if cell.robots else "carriers"
    if cell.parts or cell.finished_goods:
        yield "purchased parts that may be missing" if cell.parts else "a limited area for finished goods"
    if cell.release.kind in ("at", "plan"):
        yield "units released by plan"
    before = RELEASE
    for station in cell.stations:
        goes = [outlet.store for outlet in station.outlets]
        if station.takes != ((before, 1),) or len(goes) != 1 or station.gives != 1:
            yield f"what {station.name} takes and gives"
        before = goes[0]
    if before != FINISHED:
        yield "stations that are not in one row"


def _check_store(store: Store) -> None:
    if store.transit or store.stays or store.use_within is not None:
        raise NotPlain(f"times to stay in {store.name}")
    if store.tray:
        raise NotPlain(f"trays in {store.name}")


def _station(cell: Cell, station: Station) -> PlainStation:
    _check_station(station)
    elements = [_work(cell, station, element) for element in station.work]
    mean = sum(factor * laws.mean(law) for factor, law in elements) / SECOND
    if mean <= 0:
        raise NotPlain(f"{station.name}, which takes no time")
    variance = sum((factor * laws.mean(law) * laws.spread(law) / SECOND) ** 2 for factor, law in elements)
    return PlainStation(
        name=station.name,
        machines=station.machines,
        mean_s=mean,
        scv=variance / mean**2,
        phases=_phases([law for factor, law in elements if laws.mean(law) > 0]),
        stops=tuple(_stop(cell, station, stop, mean) for stop in station.stops),
    )


def _check_station(station: Station) -> None:
    special = {
        "batches": station.batch,
        "changeovers": station.changeover,
        "rejects": station.rejects,
        "hidden faults": station.faults,
        "an inspection": station.inspects,
        "samples": station.samples,
        "bars or coils": station.yields,
        "lots": station.lots,
    }
    for what, there in special.items():
        if there is not None:
            raise NotPlain(f"{what} at {station.name}")
    if station.reserves_outlet:
        raise NotPlain(f"a place behind {station.name} that is claimed before it starts")
    if station.runs_through_breaks:
        raise NotPlain(f"{station.name}, which runs through breaks")


def _work(cell: Cell, station: Station, element: Element) -> tuple[float, Law]:
    """How much longer than stated an element takes, and its law."""
    if element.phase not in ("load", "work", "unload") or element.inside or element.uses or element.at:
        raise NotPlain(f"{element.name} at {station.name}")
    if not element.by:
        return 1.0, element.time
    return _own_post(cell, station, element) * (1 + station.allowance), element.time


def _own_post(cell: Cell, station: Station, element: Element) -> float:
    """The time factor of whoever attends, who must have nothing else to do."""
    if len(element.by) > 1:
        raise NotPlain(f"several who do {element.name} at {station.name} together")
    need = element.by[0]
    able = [post for post in cell.posts if post.can_help(element.by)]
    if len(able) != 1:
        raise NotPlain(f"several posts that can do {element.name} at {station.name}")
    post = able[0]
    if also := _also(cell, station, post):
        raise NotPlain(f"{post.name}, who works at {station.name} and {also}")
    if station.machines * need.people > post.people:
        raise NotPlain(f"{station.name}, which has more machines than {post.name} has people")
    away = post.absent or post.rotates or post.breaks is not None or len(post.shifts) != len(cell.shifts)
    if away or post.learning or post.level_of(need.skill) < need.level:
        raise NotPlain(f"{post.name}, who is not always there or not always as fast")
    return {post.name: post.own_factor, **dict(post.skills)}[need.skill]


def _also(cell: Cell, station: Station, post: Post) -> str:
    """What somebody has to do beside attending one station, in words; empty where nothing."""
    others = (other for other in cell.stations if other is not station)
    if any(post.can_help(element.by) for other in others for element in other.work):
        return "elsewhere"
    if any(post.can_help(stop.repaired_by) for each in cell.stations for stop in each.stops):
        return "clears stops"
    return ""


def _stop(cell: Cell, station: Station, stop: Stop, work_s: float) -> PlainStop:
    what = f"the stop {stop.name} at {station.name}"
    if stop.repaired_by:
        raise NotPlain(f"the wait for somebody in {what}")
    if stop.at or stop.after_cycle or stop.stops_too or stop.restart_scrap or stop.part != "continues":
        raise NotPlain(what)
    by_time = stop.clock in ("running", "on time")
    every = laws.mean(stop.every) / SECOND if by_time else laws.mean(stop.every) * work_s
    exponential = stop.every.name == "exponential" and stop.lasts.name == "exponential"
    return PlainStop(
        run_s=every,
        repair_s=laws.mean(stop.lasts) / SECOND,
        repair_scv=laws.spread(stop.lasts) ** 2,
        memoryless=stop.clock == "running" and exponential,
    )


def _phases(times: list[Law]) -> int:
    """Of how many equal exponential phases a single element consists; 0 where it does not."""
    if len(times) != 1 or times[0].name not in PHASED:
        return 0
    return 1 if times[0].name == "exponential" else round(times[0].values[1])
