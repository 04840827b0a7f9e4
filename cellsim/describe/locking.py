"""Rework loops that can lock: stations that wait for each other in a circle of full stores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cellsim.describe.cell import RAW, RELEASE, Cell, Station


@dataclass(frozen=True, slots=True)
class Loop:
    """A rework loop that can lock: `test` rejects into the first of `stores`, whose units come back to it.

    `stores` are (name, places) along the loop; `fewest` units inside are needed to lock it, or 0 where
    limiting what is released does not limit them.
    """

    test: str
    stores: tuple[tuple[str, int], ...]
    fewest: int


@dataclass(frozen=True, slots=True)
class _Graph:
    """Who can wait for whom: stations by name, stores that can be full for good, and who takes from each."""

    stations: dict[str, Station]
    places: dict[str, int]
    takers: dict[str, list[str]]

    def stuck_goals(self, station: Station, stuck: set[str]) -> list[str]:
        """The stores for which a station can wait for ever if all of `stuck` wait for ever."""
        full = [store for store in self.places if self.takers[store] and set(self.takers[store]) <= stuck]
        good = [outlet.store for outlet in station.outlets]
        if station.chooses == "first free" and not set(good) <= set(full):
            good = []
        return [store for store in dict.fromkeys([*reworked_to(station), *good]) if store in full]


def reworked_to(station: Station) -> list[str]:
    """The stores that units really go to when a station rejects them; none where it never rejects."""
    rejects = station.rejects
    if rejects is None or not (station.inspects or rejects.share or False in rejects.verdicts):
        return []
    goals = [rejects.to] if rejects.attempts != 1 else []
    return [goal for goal in (*goals, rejects.then if rejects.attempts else "") if goal]


def lockable_loops(cell: Cell) -> list[Loop]:
    """The rework loops of a cell that can lock, one for each station and store that it rejects into."""
    graph = _graph(cell)
    stuck = set(graph.stations)
    grown = True
    while grown:
        free = {name for name in stuck if not graph.stuck_goals(graph.stations[name], stuck)}
        stuck -= free
        grown = bool(free)
    found = []
    for station in cell.stations:
        for goal in reworked_to(station):
            if station.name in stuck and goal in graph.stuck_goals(station, stuck):
                loop = _way_back(graph, stuck, station.name, goal)
                fewest = _fewest(cell, graph, loop) if loop else 0
                if loop and not (cell.release.kind == "cards" and cell.release.cards < fewest):
                    stores = tuple((store, graph.places[store]) for _, store in loop)
                    found.append(Loop(station.name, stores, fewest))
    return found


def _graph(cell: Cell) -> _Graph:
    places = {s.name: s.places for s in cell.stores if s.places is not None and s.use_within is None}
    if any(station.rejects and station.rejects.holds for station in cell.stations):
        places[RELEASE] = 0
    takers: dict[str, list[str]] = {store: [] for store in places}
    for station in cell.stations:
        for store, _ in station.takes:
            if store in takers:
                takers[store].append(station.name)
    return _Graph({station.name: station for station in cell.stations}, places, takers)


def _way_back(graph: _Graph, stuck: set[str], test: str, goal: str) -> list[tuple[str, str]]:
    """(station, store that it waits for) along the shortest way from the rejects of a test back to it."""
    ways = [[(test, goal)]]
    seen = {goal}
    for way in ways:
        for taker in graph.takers[way[-1][1]]:
            if taker == test:
                return way
            for store in graph.stuck_goals(graph.stations[taker], stuck):
                if store not in seen:
                    seen.add(store)
                    ways.append([*way, (taker, store)])
    return []


def _fewest(cell: Cell, graph: _Graph, loop: list[tuple[str, str]]) -> int:
    """The fewest units inside that can lock a loop; 0 where cards do not limit the units in it."""
    if cell.release.kind not in ("as much as it takes", "cards") or loop[0][1] == RELEASE:
        return 0
    beside = {store for station in cell.stations for store, _ in station.takes[:1] if store.startswith(RAW)}
    beside |= {store.name for store in cell.stores if store.starts_with}
    grown = True
    while grown:
        fed = [station for station in cell.stations if station.takes[0][0] in beside]
        goals = {outlet.store for station in fed for outlet in station.outlets}
        goals |= {goal for station in fed for goal in reworked_to(station)}
        grown = not goals <= beside
        beside |= goals
    if any(store in beside for _, store in loop):
        return 0
    units = 0
    for name, store in loop:
        station = graph.stations[name]
        together = max(station.gives, station.batch.size if station.batch else 1)
        units += max(graph.places[store] - together + 1, 0)
        units += 0 if station.reserves_outlet else station.machines
    return units


def lock_cautions(cell: Cell) -> list[str]:
    """What a reader must be told of the rework loops that can lock, with the remedies."""
    return [
        f"Rework of station {loop.test} can lock the cell: when {_full(loop)} full, {loop.test} holds a"
        f" rejected unit for {_shown(loop.stores[0][0])} and nothing moves again. {_remedies(cell, loop)}"
        for loop in lockable_loops(cell)
    ]


def _full(loop: Loop) -> str:
    stores = [(store, places) for store, places in loop.stores if store != RELEASE]
    names = [f"{store} ({places} place{'' if places == 1 else 's'})" for store, places in stores]
    if not names:
        return "the station behind it is"
    if len(names) == 1:
        return f"{names[0]} is"
    return f"{', '.join(names[:-1])} and {names[-1]} are"


def _shown(store: str) -> str:
    return "the first station" if store == RELEASE else store


def _remedies(cell: Cell, loop: Loop) -> str:
    """The remedies of a loop in one sentence, those first that change least on the floor."""
    goal = loop.stores[0][0]
    fillers = [s for s in cell.stations if goal in {outlet.store for outlet in s.outlets}]
    if goal == RELEASE:
        first = "Let it wait beside the station (waits: beside the station)"
    elif fillers:
        first = "Give rework a store of its own with room for all (to: rework shelf, places unlimited)"
        first += " and a station that takes from it"
    else:
        first = f"Give {goal} room for all that can come (places unlimited)"
    cards = f"limit what is inside (release: cards {loop.fewest - 1})" if loop.fewest > 1 else ""
    return f"{first}, or repair at the test (to: here)" + (f", or {cards}." if cards else ".")


def remedy(cell: Cell, circle: Sequence[str]) -> str:
    """What ends a lock with rework in its circle, in one sentence; empty where none is in it.

    `circle` says of each machine for which store it holds a unit, as a run tells it.
    """
    for loop in lockable_loops(cell):
        held = f" holds a unit for {loop.stores[0][0]}"
        if any(text.startswith(loop.test) and text.endswith(held) for text in circle):
            return _remedies(cell, loop)
    return ""
