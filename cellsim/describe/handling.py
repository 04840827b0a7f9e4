"""Checks of how units are handed on, loaded and unloaded: what never starts, or leaves a unit in mid-air."""

from __future__ import annotations

from cellsim.describe.cell import Cell, Element, Station
from cellsim.describe.flow import goals_of
from cellsim.describe.making import Making
from cellsim.units import quoted

MOST_PEOPLE = 8  # persons and robots that one element may need at once
BEFORE, AFTER = ("fetch", "load"), ("unload", "deliver")

Places = dict[str, object]


def check_handling(making: Making, cell: Cell, places: Places) -> None:
    """Note what is wrong with the handing over, loading and unloading of a cell whose names are all known."""
    rooms = {store.name: store.places for store in cell.stores}
    for station in cell.stations:
        path = f"stations.{station.name}"
        if station.rejects and station.rejects.holds and cell.release.kind != "as much as it takes":
            message = "a rejected unit can wait on the station only where raw units are always there"
            making.wrong(places[station.name], path, message, "take waits out, or release")
        if station.rejects and station.rejects.holds and station.gives > 1:
            message = f"gives {station.gives} units at once, but rejected ones wait on it one at a time"
            making.wrong(places[station.name], path, message, "take waits out, or give one unit at a time")
        for message, hint in (*_hand_overs(station, rooms), *_visits(station)):
            making.wrong(places[station.name], path, message, hint)


def _hand_overs(station: Station, rooms: dict[str, int | None]) -> list[tuple[str, str]]:
    found = []
    delivers = any(element.phase == "deliver" for element in station.work)
    for store in sorted(goals_of(station)):
        room = rooms.get(store)
        if room is None:
            continue
        if station.gives > max(room, 1):
            message = f"gives {station.gives} units at once, but {quoted(store)} has {room} places"
            found.append((message, f"give it at least {station.gives} places"))
        elif room == 0 and station.reserves_outlet:
            message = f"waits for a free place in {quoted(store)}, which has none"
            found.append((message, "give it at least 1 place, or say hands_on: holds finished part"))
        elif room == 0 and delivers:
            message = f"whoever delivers to {quoted(store)}, which has no place, would stand with the unit"
            found.append((message, "give it at least 1 place"))
    return found


def _visits(station: Station) -> list[tuple[str, str]]:
    found = []
    if not any(element.phase == "work" for element in station.work):
        found.append(("nothing is worked on between load and unload", "add an element without phase"))
    phases = {element.phase for element in station.work}
    if "deliver" in phases and "unload" not in phases:
        hint = "add an element with phase: unload, if only of 0 s"
        found.append(("what nobody takes off cannot be delivered", hint))
    for element in station.work:
        if element.phase != "work" and not element.by:
            found.append(
                (f"nobody does {quoted(element.name)}", f"say by whom, as in by: A, phase: {element.phase}")
            )
    for element in (*station.work, *station.extra):
        if sum(need.people for need in element.by) + len(element.uses) > MOST_PEOPLE:
            message = f"{quoted(element.name)} needs more than {MOST_PEOPLE} people at once"
            found.append((message, ""))
    before, after = _of(station, BEFORE), _of(station, AFTER)
    back = _of(station, ("return",))
    groups = [before + after + back] if station.one_visit else [before + back, after + back]
    if any(len({element.by for element in group}) > 1 for group in groups):
        what = "unload and load in one visit" if station.one_visit else "the elements of one visit"
        found.append((f"{what} are done by different people", "name the same people for all of them"))
    return found


def _of(station: Station, phases: tuple[str, ...]) -> list[Element]:
    return [element for element in station.work if element.phase in phases]
