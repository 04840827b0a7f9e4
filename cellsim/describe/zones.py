"""Spaces that robots share with people."""

from __future__ import annotations

from cellsim.describe.cell import Element, Need, Robot, Station, Zone
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Record
from cellsim.describe.making import natural
from cellsim.describe.spec_robots import ZONE
from cellsim.describe.tree import join
from cellsim.units import SECOND, format_time, quoted

RESTART = 10 * SECOND
MOST_ZONES = 60

Attended = list[tuple[str, tuple[Need, ...], str]]  # (point, who, what is done)


def place_of(station: Station, element: Element) -> str:
    """The name of the station, store or point where whoever attends an element stands."""
    if element.at:
        return element.at
    if element.phase == "fetch":
        return station.takes[0][0]
    if element.phase == "deliver":
        return station.outlets[0].store
    return station.name


def to_zones(
    crew: Crew, top: Record, stations: tuple[Station, ...], robots: tuple[Robot, ...]
) -> tuple[Zone, ...]:
    """The zones by name; notes zones in which nobody ever meets a robot, or a robot would stop itself."""
    making = crew.making
    entries = top.get("zones") or {}
    attended = _attended(stations, robots)
    zones = []
    for name in sorted(entries, key=natural):
        record: Record = entries[name].value
        inside = making.take(ZONE, record, "inside")
        for item in record.get("robots") or []:
            if item.value not in crew.robots:
                making.unknown(item, "robot", crew.robots)
        zone = Zone(
            name=name,
            robots=tuple(sorted({item.value for item in record.get("robots") or []}, key=natural)),
            people_at=tuple(sorted({item.value for item in record.get("people_at") or []}, key=natural)),
            speed=inside,
            restart=_restart(crew, record, inside),
        )
        _check_people(crew, record, zone, attended)
        zones.append(zone)
    if len(zones) > MOST_ZONES:
        making.wrong_key(top, "zones", f"{len(zones)} zones are too many; at most {MOST_ZONES} are possible")
    return tuple(zones)


def _restart(crew: Crew, record: Record, inside: float) -> int:
    if inside:
        if "restart" in record.places:
            message = "a robot that only slows down needs no restart"
            crew.making.wrong_key(record, "restart", message, "take it out, or write inside: stops")
        return 0
    if "restart" in record:
        return int(record.get("restart").value)
    if "restart" not in record.places:
        crew.making.assume(join(record.path, "restart"), format_time(RESTART), "common practice, no source")
    return RESTART


def _attended(stations: tuple[Station, ...], robots: tuple[Robot, ...]) -> Attended:
    """Where somebody works: every attended element, and every repair."""
    found: Attended = []
    for station in stations:
        found += [(place_of(station, element), element.by, element.name) for element in station.work]
        found += [(station.name, stop.repaired_by, stop.name) for stop in station.stops]
    for robot in robots:
        found += [(robot.name, stop.repaired_by, stop.name) for stop in robot.stops]
        if robot.recovery:
            found.append((robot.name, robot.recovery.by, "recovery"))
        if robot.mispicks:
            found.append((robot.name, robot.mispicks.by, "mis-pick"))
    return found


def _check_people(crew: Crew, record: Record, zone: Zone, attended: Attended) -> None:
    making = crew.making
    for item in record.get("people_at") or []:
        here = [(who, what) for point, who, what in attended if point == item.value]
        if not here:
            making.unknown(item, "place where somebody works", {point for point, who, _ in attended if who})
            continue
        if not any(need.skill not in crew.robots for who, _ in here for need in who):
            making.wrong(item, item.path, f"no person ever works at {quoted(item.value)}")
        for who, what in here:
            own = [need.skill for need in who if need.skill in zone.robots]
            if own and len(own) < len(who) and not zone.speed:
                message = f"{own[0]} would stop as soon as somebody joins it in {quoted(what)}"
                making.wrong(item, item.path, message, "write inside: slows to 40 %, or take it out")
