"""Single changes that might raise output: shorter times, rarer stops, more places, people, machines."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from cellsim.describe.cell import Cell, Element, Law, Post, Station, Stop
from cellsim.describe.laws import LAWS

MANY_PLACES = 10  # from here on a tenth is added instead of one place

Added = tuple[str, str, str, int]


@dataclass(frozen=True, slots=True)
class Improvement:
    """A change and the cell with it.

    `cause` is the (who, what) of the critical path whose time it shortens, or None where it adds something;
    `adds` are the changes of that kind, as (section of the cell file, name, key, new value).
    """

    name: str
    cell: Cell
    cause: tuple[str, str] | None = None
    adds: tuple[Added, ...] = ()


def scaled(law: Law, factor: float) -> Law:
    """A law of durations with all its times multiplied; spreads and shapes stay."""
    rows = [row for row in LAWS[law.name].parameters if row.kind != "times"]
    values = tuple(
        value * factor if row.kind == "time" else value for row, value in zip(rows, law.values, strict=True)
    )
    return replace(law, values=values, measured=tuple(round(time * factor) for time in law.measured))


def improvements(cell: Cell, share: float) -> list[Improvement]:
    """All of them: times shorter and stops rarer by a share, one more of what can be counted.

    One more of a machine is also tried with one more of each post that works there, since a person without
    a machine and a machine without a person may buy nothing.
    """
    return [
        *_times(cell, share), *_stops(cell, share), *_places(cell), *_people(cell), *_machines(cell),
        *_machines_with_people(cell),
    ]  # fmt: skip


def _with_station(cell: Cell, station: Station) -> Cell:
    return replace(cell, stations=tuple(station if s.name == station.name else s for s in cell.stations))


def _shorter(station: Station, factor: float, of: Callable[[Element], bool]) -> Station:
    """A station whose elements of some kind take less time."""
    work = tuple(
        replace(
            element,
            time=scaled(element.time, factor),
            by_variant=tuple((name, scaled(law, factor)) for name, law in element.by_variant),
        )
        if of(element)
        else element
        for element in station.work
    )
    return replace(station, work=work)


def _is_work(element: Element) -> bool:
    return element.phase == "work"


def _is_handling(element: Element) -> bool:
    return element.phase != "work"


def _times(cell: Cell, share: float) -> Iterator[Improvement]:
    for station in cell.stations:
        for what, words, of in (
            ("work", "work", _is_work),
            ("handling", "loading and unloading", _is_handling),
        ):
            if any(of(element) and element.time.values for element in station.work):
                better = _with_station(cell, _shorter(station, 1 - share, of))
                yield Improvement(
                    f"{station.name}: {words} {share:.0%} shorter", better, (station.name, what)
                )


def _stops(cell: Cell, share: float) -> Iterator[Improvement]:
    def changed(stop: Stop, new: Stop, station: Station) -> Cell:
        stops = tuple(new if s.name == stop.name else s for s in station.stops)
        return _with_station(cell, replace(station, stops=stops))

    for station in cell.stations:
        for stop in station.stops:
            cause = (station.name, f"stop: {stop.name}")
            quick = replace(stop, lasts=scaled(stop.lasts, 1 - share))
            yield Improvement(
                f"{station.name}: {stop.name} lasts {share:.0%} shorter", changed(stop, quick, station), cause
            )
            if stop.clock in ("running", "on time") and not stop.at:
                rare = replace(stop, every=scaled(stop.every, 1 / (1 - share)))
                yield Improvement(
                    f"{station.name}: {stop.name} {share:.0%} rarer", changed(stop, rare, station), cause
                )


def _places(cell: Cell) -> Iterator[Improvement]:
    for store in cell.stores:
        if store.places is None or store.tray:
            continue
        extra = 1 if store.places < MANY_PLACES else store.places // MANY_PLACES
        more = "one place" if extra == 1 else f"{extra} places"
        yield _adding(
            cell, f"{store.name}: {more} more", ("stores", store.name, "places", store.places + extra)
        )


def _people(cell: Cell) -> Iterator[Improvement]:
    for post in cell.posts:
        yield _adding(cell, f"{post.name}: one person more", _one_person(post))


def _machines(cell: Cell) -> Iterator[Improvement]:
    for station in cell.stations:
        yield _adding(cell, f"{station.name}: one machine more", _one_machine(station))


def _machines_with_people(cell: Cell) -> Iterator[Improvement]:
    for station in cell.stations:
        for post in cell.posts:
            if any(post.can_help(element.by) for element in station.work):
                name = f"{station.name} and {post.name}: one more of each"
                yield _adding(cell, name, _one_machine(station), _one_person(post))


def _one_person(post: Post) -> Added:
    return "crew", post.name, "people", post.people + 1


def _one_machine(station: Station) -> Added:
    return "stations", station.name, "machines", station.machines + 1


def _adding(cell: Cell, name: str, *adds: Added) -> Improvement:
    changes: dict[str, dict[str, Any]] = {"stores": {}, "crew": {}, "stations": {}}
    for section, of, key, value in adds:
        changes[section][of] = {key: value}
    better = replace(
        cell,
        stores=tuple(replace(row, **changes["stores"].get(row.name, {})) for row in cell.stores),
        posts=tuple(replace(row, **changes["crew"].get(row.name, {})) for row in cell.posts),
        stations=tuple(replace(row, **changes["stations"].get(row.name, {})) for row in cell.stations),
    )
    return Improvement(name, better, adds=adds)
