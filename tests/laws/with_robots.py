"""Random small cells with what robots can have: moves, grippers, failed picks, zones, shared things."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from small_cells import POINTS, SECOND, durations, travels

from cellsim.describe.cell import (
    FINISHED,
    RELEASE,
    Cell,
    Element,
    Mispicks,
    Move,
    Need,
    Recovery,
    Robot,
    Station,
    Zone,
)
from cellsim.describe.flow import goals_of
from cellsim.describe.together import clashes


def with_robots(draw: st.DrawFn, cell: Cell) -> Cell:
    """One or several of the behaviours of robots, wherever the cell has room for them."""
    if draw(st.booleans()):
        cell = _with_moves(draw, cell)
    if draw(st.booleans()):
        cell = _fetching_ahead(draw, cell)
    if draw(st.integers(0, 2)) == 0:
        cell = _sharing(draw, cell)
    cell = replace(cell, robots=tuple(_equipped(draw, cell, robot) for robot in cell.robots))
    if draw(st.booleans()):
        cell = _with_picks(draw, cell)
    return _with_zones(draw, cell) if cell.robots and draw(st.booleans()) else cell


def _possible(cell: Cell) -> list[Move]:
    """The moves along which units of the cell can go, but for the hand-overs that several stations feed."""
    rooms = {store.name: store.places for store in cell.stores}
    feeders: dict[str, list[Station]] = {}
    for station in cell.stations:
        for store in goals_of(station):
            feeders.setdefault(store, []).append(station)
    found = []
    for station in cell.stations:
        if station.batch is not None or station.changeover is not None:
            continue
        phases = {element.phase for element in station.work}
        store, units = station.takes[0]
        if len(station.takes) == 1 and units == 1 and not phases & {"fetch", "load"}:
            if rooms.get(store) == 0:
                before = feeders.get(store, [])
                if len(before) == 1 and _gives_one(before[0]) and store in _outlets(before[0]):
                    found.append(Move(before[0].name, station.name, store))
            else:
                found.append(Move("yard" if store == RELEASE else store, station.name, store))
        if _gives_one(station):
            found += [
                Move(station.name, "gate" if store == FINISHED else store, store)
                for store in _outlets(station)
                if rooms.get(store) != 0
            ]
    return found


def _outlets(station: Station) -> list[str]:
    return [outlet.store for outlet in station.outlets]


def _gives_one(station: Station) -> bool:
    phases = {element.phase for element in station.work}
    return station.gives == 1 and station.batch is None and not phases & {"unload", "deliver", "return"}


def _goes_together(cell: Cell, move: Move) -> bool:
    return not list(clashes(replace(cell, robots=(*cell.robots, Robot("mov", moves=(move,))))))


def _with_moves(draw: st.DrawFn, cell: Cell) -> Cell:
    possible = [move for move in _possible(cell) if _goes_together(cell, move)]
    if not possible:
        return cell
    chosen = draw(st.lists(st.sampled_from(possible), min_size=1, max_size=5, unique=True))
    cut = draw(st.integers(0, len(chosen)))
    robots = []
    for name, moves in (("mel", chosen[:cut]), ("mov", chosen[cut:])):
        if moves:
            fixed = draw(st.booleans())
            robots.append(
                Robot(
                    name=name,
                    serves=() if fixed else ("longest waiting",),
                    travel=draw(travels()),
                    starts_at=draw(st.sampled_from(POINTS)),
                    moves=tuple(moves),
                    pick=draw(durations(0, 2)),
                    place=draw(durations(0, 2)),
                    fixed_sequence=fixed,
                    checks_target=draw(st.integers(0, 3)) > 0,
                )
            )
    return replace(cell, robots=(*cell.robots, *robots))


def _fetching_ahead(draw: st.DrawFn, cell: Cell) -> Cell:
    """The first station that is loaded in visits with a fetch gets a robot of its own that fetches ahead."""
    for k, station in enumerate(cell.stations):
        phases = {element.phase for element in station.work}
        if {"fetch", "load"} <= phases and station.batch is None and station.changeover is None:
            own = (Need("far"),)
            work = tuple(
                replace(element, by=() if element.phase == "work" else own) for element in station.work
            )
            robot = Robot(
                "far", double_gripper=True, travel=draw(travels()), starts_at="door", fetches_ahead=True
            )
            stations = (*cell.stations[:k], replace(station, work=work), *cell.stations[k + 1 :])
            found = replace(cell, robots=(*cell.robots, robot), stations=stations)
            return cell if list(clashes(found)) else found
    return cell


def _sharing(draw: st.DrawFn, cell: Cell) -> Cell:
    def used(element: Element) -> Element:
        takes = element.phase == "work" and draw(st.booleans())
        return replace(element, uses=("feeder",)) if takes else element

    stations = tuple(
        replace(station, work=tuple(used(element) for element in station.work)) for station in cell.stations
    )
    return replace(cell, stations=stations, shared=(("feeder", draw(st.integers(1, 2))),))


def _equipped(draw: st.DrawFn, cell: Cell, robot: Robot) -> Robot:
    helpers = tuple(post.name for post in cell.posts)
    tended = [s.name for s in cell.stations if any(n.skill == robot.name for e in s.work for n in e.by)]
    found = replace(robot, speed=draw(st.sampled_from((1.0, 1.0, 0.5, 0.3))))
    if draw(st.integers(0, 2)) == 0:
        by = draw(st.sampled_from(((), *((Need(helper),) for helper in helpers))))
        found = replace(found, recovery=Recovery(draw(durations(0, 3)), by))
    if len(tended) > 1 and draw(st.booleans()):
        names = ("cup", "jaw", *(draw(st.sampled_from(("cup", "jaw"))) for _ in tended[2:]))
        grippers = tuple(zip(tended, names, strict=True))
        found = replace(found, grippers=grippers, gripper_change=draw(st.integers(0, 3)) * SECOND)
    if helpers and draw(st.integers(0, 2)) == 0:
        misses = Mispicks(
            draw(st.sampled_from((0.2, 0.5))),
            draw(st.integers(0, 2)) * SECOND,
            draw(st.sampled_from((0.0, 0.5, 1.0))),
            draw(st.integers(0, 2)),
            (Need(draw(st.sampled_from(helpers))),),
            draw(durations(0, 4)),
        )
        found = replace(found, mispicks=misses)
    return found


def _with_picks(draw: st.DrawFn, cell: Cell) -> Cell:
    """Picks in every element that a robot attends."""
    robots = {robot.name for robot in cell.robots}

    def picking(element: Element) -> Element:
        attended = any(need.skill in robots for need in element.by)
        return replace(element, picks=draw(st.integers(1, 3))) if attended else element

    stations = tuple(
        replace(station, work=tuple(picking(element) for element in station.work))
        for station in cell.stations
    )
    return replace(cell, stations=stations)


def _with_zones(draw: st.DrawFn, cell: Cell) -> Cell:
    """One or two zones; where people work together with a robot of theirs, robots only slow down."""
    robots = [robot.name for robot in cell.robots]
    places = [*(station.name for station in cell.stations), "bench", "door", *robots]
    together = {
        name
        for station in cell.stations
        for element in station.work
        for name in robots
        if len(element.by) > 1 and any(need.skill == name for need in element.by)
    }
    zones = []
    for name in ("aisle", "front")[: draw(st.integers(1, 2))]:
        inside = tuple(sorted(draw(st.sets(st.sampled_from(robots), min_size=1))))
        slow = draw(st.booleans()) or bool(together & set(inside))
        zones.append(
            Zone(
                name=name,
                robots=inside,
                people_at=tuple(sorted(draw(st.sets(st.sampled_from(places), min_size=1, max_size=3)))),
                speed=draw(st.sampled_from((0.4, 0.5, 1 / 3))) if slow else 0.0,
                restart=0 if slow else draw(st.integers(0, 3)) * SECOND,
            )
        )
    return replace(cell, zones=tuple(zones))
