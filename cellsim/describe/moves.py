"""The moves of a robot between stations, stores and points, and what makes one impossible."""

from __future__ import annotations

from cellsim.describe.cell import FINISHED, OUT, RAW, RELEASE, Move, Robot, Station
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import Flow, goals_of
from cellsim.describe.making import Making
from cellsim.units import quoted


def to_moves(
    making: Making, flow: Flow, stations: tuple[Station, ...], items: list[Item] | None
) -> tuple[Move, ...]:
    """The moves in the order of the file; notes moves along which no unit can go."""
    by_name = {station.name: station for station in stations}
    found: dict[tuple[str, str], Move] = {}
    for item in items or []:
        start, end = item.value
        store, problem, hint = _store_of(flow, by_name, start, end)
        if not problem:
            problem, hint = _unfit(by_name, start, end)
        if (start, end) in found:
            problem, hint = "this move stands here already", "once is enough"
        if problem:
            making.wrong(item, item.path, problem, hint)
        else:
            found[start, end] = Move(start, end, store)
    return tuple(found.values())


def check_feeders(
    making: Making, flow: Flow, stations: tuple[Station, ...], records: dict[str, Record], robots: list[Robot]
) -> None:
    """Note stations whose units come by moves, while others hand on to them and nobody takes those units."""
    moved = {(move.start, move.end) for robot in robots for move in robot.moves}
    for robot in robots:
        for move in robot.moves:
            if move.store not in flow.stores or flow.stores[move.store].places != 0:
                continue
            for station in stations:
                if move.store in goals_of(station) and (station.name, move.end) not in moved:
                    message = f"no robot takes what {quoted(station.name)} hands on to {quoted(move.end)}"
                    making.wrong_key(
                        records[robot.name], "moves", message, f"add the move {station.name} > {move.end}"
                    )


def _store_of(flow: Flow, stations: dict[str, Station], start: str, end: str) -> tuple[str, str, str]:
    """The store of the flow that a move goes through, or what is wrong with it and a hint."""
    if start in stations and end in stations:
        store = flow.before[end]
        if store not in goals_of(stations[start]):
            return "", f"units do not go from {quoted(start)} to {quoted(end)}", "follow the route"
        places = flow.stores[store].places if store in flow.stores else None
        if places != 0:
            hint = f"write {start} > {store} and {store} > {end}"
            return "", f"the store {quoted(store)} stands between {quoted(start)} and {quoted(end)}", hint
        return store, "", ""
    if end in stations:
        store = flow.before[end]
        raw = store == RELEASE or store.startswith(RAW)
        if start not in (store, RELEASE) and not (raw and start not in flow.stores):
            return "", f"{quoted(end)} takes its units from {quoted(store)}, not from {quoted(start)}", ""
        return _with_places(flow, store)
    if start in stations:
        goals = goals_of(stations[start])
        if end in goals:
            return _with_places(flow, end)
        outward = sorted(goal for goal in goals if goal == FINISHED or goal.startswith(OUT))
        if end not in flow.stores and outward:
            return outward[0], "", ""
        return "", f"units do not go from {quoted(start)} to {quoted(end)}", "follow the route"
    return "", "a move begins or ends at a station", ""


def _with_places(flow: Flow, store: str) -> tuple[str, str, str]:
    if store in flow.stores and flow.stores[store].places == 0:
        return "", f"{quoted(store)} has no places", "name the stations before and behind it instead"
    return store, "", ""


def _unfit(stations: dict[str, Station], start: str, end: str) -> tuple[str, str]:
    """What makes a station unfit for a move, and a hint."""
    if end in stations:
        station = stations[end]
        if len(station.takes) > 1 or station.takes[0][1] > 1:
            return f"{quoted(end)} takes several units per cycle; a move brings one", "use a visit"
        if station.batch is not None or station.changeover is not None:
            what = "works in batches" if station.batch is not None else "is changed over"
            return f"{quoted(end)} {what}, and a move brings one unit after the other", "use a visit"
        if any(element.phase in ("fetch", "load") for element in station.work):
            return f"{quoted(end)} has elements that load it already", "take them or the move out"
    if start in stations:
        station = stations[start]
        if station.batch is not None:
            return f"{quoted(start)} works in batches; a move takes one unit", "use a visit"
        if station.gives > 1:
            return f"{quoted(start)} gives {station.gives} units at once; a move takes one", "use a visit"
        if any(element.phase in ("unload", "deliver", "return") for element in station.work):
            return f"{quoted(start)} has elements that unload it already", "take them or the move out"
    return "", ""
