"""Checks of a whole cell that no single key can make: what can never move, and what would never stop."""

from __future__ import annotations

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, RAW, RELEASE, Cell, Law, Station
from cellsim.describe.flow import goals_of, reject_goals
from cellsim.describe.handling import check_handling
from cellsim.describe.locking import lock_cautions
from cellsim.describe.making import Making, natural
from cellsim.describe.material import all_laws as laws_of_material
from cellsim.describe.material import all_needs, check_material
from cellsim.describe.together import check_together
from cellsim.describe.windows import check_windows
from cellsim.units import HOUR, SECOND, quoted

Places = dict[str, object]
SHORT_CYCLE = 30 * SECOND  # repetitive work; ISO 11228-3 and EN 1005-5 look at cycles of this order


def check(making: Making, cell: Cell, places: Places) -> None:
    """Note what is wrong with a cell as a whole; `places` says where stations, stores and `route` stand."""
    _check_stores(making, cell, places)
    _check_reach(making, cell, places)
    if not making.notes.mistakes:
        _check_time_passes(making, cell, places)
        check_handling(making, cell, places)
        check_windows(making, cell, places)
        check_material(making, cell, places)
        check_together(making, cell, places)


def _check_stores(making: Making, cell: Cell, places: Places) -> None:
    filled = {store for station in cell.stations for store in goals_of(station)}
    filled |= {store.late for store in cell.stores}
    holds = held_in(cell)
    emptied = {store for station in cell.stations for store, _ in station.takes}
    for store in cell.stores:
        place, path = places.get(store.name, places["route"]), f"stores.{store.name}"
        if store.name not in filled | emptied:
            making.wrong(
                place, path, "no station fills or empties this store", "put it in the route or in a line"
            )
        elif store.name not in emptied and store.name not in holds:
            making.wrong(
                place, path, "no station takes anything from this store", "name it in takes of a station"
            )
        elif store.name not in filled and not store.starts_with:
            making.wrong(
                place,
                path,
                "no station puts anything into this store",
                "end a line in it, or say starts_with",
            )


def _check_reach(making: Making, cell: Cell, places: Places) -> None:
    """Note stations whose units never come, and a cell whose units never get out."""
    if making.notes.mistakes:
        return
    stocked = {RELEASE} | {store.name for store in cell.stores if store.starts_with}
    stocked |= {store for station in cell.stations for store, _ in station.takes if store.startswith(RAW)}
    reached: set[str] = set()
    grown = True
    while grown:
        ready = {s.name for s in cell.stations if all(store in stocked for store, _ in s.takes)} - reached
        reached |= ready
        stocked |= {goal for station in cell.stations if station.name in ready for goal in goals_of(station)}
        stocked |= {store.late for store in cell.stores if store.name in stocked}
        grown = bool(ready)
    lost = [station for station in cell.stations if station.name not in reached]
    if _wait_for_rework(making, lost, stocked, places):
        return
    for station in lost:
        missing = " and ".join(quoted(store) for store, _ in station.takes if store not in stocked)
        making.wrong(
            places[station.name],
            f"stations.{station.name}",
            f"no unit ever comes to it: nothing brings units to {missing}",
        )
    if not any(FINISHED in goals_of(station) for station in cell.stations):
        making.wrong(places["route"], "route", "no station hands on to finished, so the cell has no output")
    if cell.release.kind != "as much as it takes" and not any(
        store == RELEASE for station in cell.stations for store, _ in station.takes
    ):
        making.wrong(
            places["route"], "release", "the route begins with a store, so no raw units are released"
        )


def _wait_for_rework(making: Making, lost: list[Station], stocked: set[str], places: Places) -> bool:
    """Note stations that take rejected units together with new ones, which are rejected further on."""
    found = False
    for station in lost:
        before = station.takes[0][0]
        for store, _ in station.takes[1:]:
            tests = [other for other in lost if store in reject_goals(other)]
            if store in stocked or before not in stocked or not tests:
                continue
            found, test = True, tests[0].name
            making.wrong(
                places[station.name],
                f"stations.{station.name}.takes",
                f"each cycle takes from {quoted(before)} and from {quoted(store)} together, but"
                f" {quoted(store)} gets only units that {test} rejects, which come after it",
                f"take {quoted(store)} out here and add a station, which the same person can attend:"
                f" rework: {{cycle: 60 s, takes: {{{store}: 1}}, goes_to: {test}}}",
            )
    return found


def _mean_cycle(station: Station) -> float:
    return sum(
        min(laws.mean(law) for law in (element.time, *(law for _, law in element.by_variant)))
        for element in station.work
    )


def _check_time_passes(making: Making, cell: Cell, places: Places) -> None:
    """Note what would run for ever in no time: rounds of stations whose cycles are all zero."""
    idle = {station.name: station for station in cell.stations if _mean_cycle(station) == 0}
    endless = {"as much as it takes", "cards"}
    for name, station in idle.items():
        stores = [store for store, _ in station.takes]
        if all(s.startswith(RAW) or (s == RELEASE and cell.release.kind in endless) for s in stores):
            making.wrong(
                places[name],
                f"stations.{name}",
                "its cycle is 0 and raw units never run out, so it would never stop at one instant",
                "give it a cycle above 0 s",
            )
            return
    onward = {name: _timeless_goals(station, idle) for name, station in idle.items()}
    for name in sorted(idle, key=natural):
        seen: set[str] = set()
        ahead = list(onward[name])
        while ahead:
            reached = ahead.pop()
            if reached not in seen:
                seen.add(reached)
                ahead += onward[reached]
        if name in seen:
            making.wrong(
                places[name],
                f"stations.{name}",
                "units can come back to it for ever without any time passing",
                "give a station of this loop a cycle above 0 s, or limit the attempts",
            )
            return


def _timeless_goals(station: Station, idle: dict[str, Station]) -> list[str]:
    """The stations without a cycle that units reach from here, rework with limited attempts left out."""
    stores = {outlet.store for outlet in station.outlets}
    if station.rejects and station.rejects.to and not station.rejects.attempts:
        stores.add(station.rejects.to)
    if station.rejects and station.rejects.then:
        stores.add(station.rejects.then)
    return [name for name, other in idle.items() if any(store in stores for store, _ in other.takes)]


def cautions(cell: Cell) -> tuple[str, ...]:
    """What the reader of a study of this cell must be told, in a fixed order."""
    found: list[str] = []
    posts = {post.name for post in cell.posts} | {skill for post in cell.posts for skill, _ in post.skills}
    elements = [element for station in cell.stations for element in (*station.work, *station.extra)]
    needed = {need.skill for element in elements for need in element.by}
    needed |= all_needs(cell)
    stops = [stop for station in cell.stations for stop in station.stops]
    stops += [stop for robot in cell.robots for stop in robot.stops]
    cleared = {need.skill for stop in stops for need in stop.repaired_by}
    if cell.robots and cell.posts:
        found.append(
            "Speeds, stops and distances of robots near people are inputs of this file. They must come from"
            " the risk assessment of the integrator and be verified by measurement."
        )
    if {need.skill for stop in stops if not stop.planned for need in stop.repaired_by} & posts:
        found.append("Clearing by hand is taken to be safe without lockout. Confirm this with safety.")
    for text in (repetitive(cell), _long_spells(cell)):
        if text:
            found.append(text)
    for post in cell.posts:
        helps = post.relieves or post.stands_in_for
        if not helps and not ({post.name} | {skill for skill, _ in post.skills}) & (needed | cleared):
            found.append(f"Post {post.name} attends nothing.")
    for robot in cell.robots:
        if robot.name not in needed and not robot.moves:
            found.append(f"Robot {robot.name} attends nothing.")
    found += _quality_cautions(cell)
    found += lock_cautions(cell)
    found += [f"{where}: {text}." for where, law in _all_laws(cell) if (text := laws.caution(law))]
    return tuple(found)


def repetitive(cell: Cell) -> str:
    """The caution about people who repeat short cycles without changing places; empty where nobody does."""
    able: dict[str, set[str]] = {}
    for post in cell.posts:
        for skill in (post.name, *(skill for skill, _ in post.skills)):
            able.setdefault(skill, set()).add(post.name)
    turning = {post.name for post in cell.posts if post.rotates}
    places: dict[str, set[str]] = {}  # post -> the stations that it attends for a whole cycle
    short = {station.name for station in cell.stations if _mean_cycle(station) < SHORT_CYCLE}
    for station in cell.stations:
        for need in {need for element in station.work for need in element.by}:
            for name in able.get(need.skill, ()):
                places.setdefault(name, set()).add(station.name)
    stuck = [name for name, at in places.items() if len(at) == 1 and at <= short and name not in turning]
    if not stuck:
        return ""
    who = ", ".join(sorted(stuck, key=natural))
    return (
        f"Cycles under 30 s without a change of places ({who}): high pace or repetitive work, have an"
        " ergonomist assess it (ISO 11228-3)."
    )


def _long_spells(cell: Cell) -> str:
    """The caution about work of more than 6 hours without a break."""
    spells = [_longest_spell(s.start, s.end, s.breaks) for s in cell.shifts]
    if cell.posts:
        spells = [
            _longest_spell(own.start, own.end, own.breaks)
            for shift in cell.shifts
            for post in cell.posts
            if shift.name in post.shifts
            for own in (post.working_in(shift),)
        ]
    if max(spells, default=0) <= 6 * HOUR:
        return ""
    return (
        "A shift has more than 6 hours without a break. Rules of working time are not checked; see local law."
    )


def held_in(cell: Cell) -> set[str]:
    """The stores in which rejected units, and no others, stay for good: nothing takes from them."""
    taken = {store for station in cell.stations for store, _ in station.takes}
    good = {outlet.store for station in cell.stations for outlet in station.outlets}
    rejected = {store for station in cell.stations for store in reject_goals(station)}
    return rejected - taken - good


def _quality_cautions(cell: Cell) -> list[str]:
    found = []
    makers = {station.name for station in cell.stations if station.faults is not None}
    inspections = [station for station in cell.stations if station.inspects is not None]
    if not makers:
        found += [
            f"Station {station.name} inspects, but no station makes faults: it rejects good units only."
            for station in inspections
        ]
    seen = {name for station in cell.stations if station.inspects for name in station.inspects.of}
    found += [
        f"No inspection looks for the faults that station {name} makes."
        for name in sorted(makers - seen, key=natural)
    ]
    rooms = {store.name: store.places for store in cell.stores}
    for name in sorted(held_in(cell) - {RELEASE}, key=natural):
        places = rooms[name]
        room = "It has room for any number." if places is None else f"When its {places} places are full,"
        end = "" if places is None else " whoever fills it stands still."
        found.append(f"Nothing takes units out of store {name}. {room}{end}")
    return found


def _longest_spell(start: int, end: int, breaks: tuple[tuple[int, int], ...]) -> int:
    edges = [start, *(edge for at, length in breaks for edge in (at, at + length)), end]
    return max(after - before for before, after in zip(edges[::2], edges[1::2], strict=True))


def _all_laws(cell: Cell) -> list[tuple[str, Law]]:
    found = []
    for station in cell.stations:
        for element in (*station.work, *station.extra):
            found.append((f"Station {station.name}, {element.name}", element.time))
            found += [
                (f"Station {station.name}, {element.name}, {v}", law) for v, law in element.by_variant[1:]
            ]
        if station.changeover is not None:
            found += [(f"Station {station.name}, changeover", law) for _, _, law in station.changeover.times]
        for stop in station.stops:
            found += [(f"Station {station.name}, stop {stop.name}", law) for law in (stop.every, stop.lasts)]
    for robot in cell.robots:
        for stop in robot.stops:
            found += [(f"Robot {robot.name}, stop {stop.name}", law) for law in (stop.every, stop.lasts)]
        found += [(f"Robot {robot.name}, pick", robot.pick)] if robot.pick else []
        found += [(f"Robot {robot.name}, place", robot.place)] if robot.place else []
    if cell.release.every:
        found.append(("Release", cell.release.every))
    return found + laws_of_material(cell)
