"""The points where people and robots stand, and how long they take from one to another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cellsim.describe.cell import Robot, Station
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.making import Making, natural
from cellsim.describe.tree import join
from cellsim.units import SECOND, quoted

Way = tuple[str, str]
MOST_WAYS = 10_000  # of all posts and robots together


@dataclass(slots=True)
class Ways:
    """Times between points: of the cell, and positions for those who have a speed."""

    common: dict[Way, int]
    layout: dict[str, tuple[float, float]]
    count: int = 0  # ways given to posts and robots so far


def to_ways(making: Making, top: Record) -> Ways:
    """The travel times and positions of the cell."""
    points = top.get("layout") or {}
    layout = {name: (entry.value[0].value, entry.value[1].value) for name, entry in points.items()}
    return Ways(_both_ways(making, top.get("travel")), layout)


def _both_ways(making: Making, given: dict[Way, Entry] | None) -> dict[Way, int]:
    """Stated times, the same back unless that is stated too."""
    stated: dict[Way, int] = {}
    for entry in (given or {}).values():
        start, end = entry.name.value
        if start == end:
            making.wrong(entry.name, entry.name.path, f"this way goes from {quoted(start)} to itself")
        stated[start, end] = entry.value.value
    return {(end, start): time for (start, end), time in stated.items()} | stated


def check_points(making: Making, top: Record, known: set[str], used: list[Item]) -> None:
    """Note points that stand for nothing.

    A point is a station, a store or robot, in the layout, or both used and travelled to.

    `used` are the points that elements, posts and robots name.
    """
    travelled: dict[str, Item] = {}
    tables = [top.get("travel")]
    for section in ("crew", "robots"):
        tables += [
            e.value.get("travel") for e in (top.get(section) or {}).values() if isinstance(e.value, Record)
        ]
    for table in tables:
        for entry in (table or {}).values():
            for point in entry.name.value:
                travelled.setdefault(point, entry.name)
    named = {item.value for item in used}
    layout = set(top.get("layout") or {})
    for item in used:
        if item.value not in known | layout | set(travelled):
            making.unknown(item, "point", known | layout | set(travelled))
    for point, item in travelled.items():
        if point not in known | layout | named:
            shown = Item(point, point, item.line, item.column, item.path)
            making.unknown(shown, "point", known | layout | named)


def points_of(
    names: set[str], stations: tuple[Station, ...], robots: tuple[Robot, ...], starts_at: str
) -> list[str]:
    """The points where someone who can do any of `names` may have to stand."""
    points = {starts_at} if starts_at else set()
    for station in stations:
        for element in (*station.work, *station.extra):
            if any(need.skill in names for need in element.by):
                points.add(element.at or station.name)
        if any(need.skill in names for stop in station.stops for need in stop.repaired_by):
            points.add(station.name)
        if station.yields and any(need.skill in names for need in station.yields.by):
            points.add(station.name)
    for robot in robots:
        if any(need.skill in names for stop in robot.stops for need in stop.repaired_by):
            points.add(robot.name)
    return sorted(points, key=natural)


def travel_of(
    making: Making, record: Record, key: str, ways: Ways, points: list[str]
) -> tuple[tuple[str, str, int], ...]:
    """All ways of one post or robot: its own before the cell's before those computed from the layout."""
    found: dict[Way, int] = {}
    if key in record:
        if not ways.layout:
            making.wrong_key(record, key, "a speed needs the positions of the points", "add a layout")
        speed = record.get(key).value
        placed = [point for point in points if point in ways.layout]
        if not _count_ways(making, ways, record, len(placed) ** 2):
            return ()
        for start in placed:
            for end in placed:
                if start != end:
                    distance = math.dist(ways.layout[start], ways.layout[end])
                    found[start, end] = round(distance / speed * SECOND)
    if not _count_ways(making, ways, record, len(ways.common)):
        return ()
    found |= ways.common
    found |= _both_ways(making, record.get("travel"))
    if any((start, end) not in found for start in points for end in points if start != end):
        making.assume(join(record.path, "travel"), "0 s", "no time is given between some of its points")
    return tuple(
        (start, end, found[start, end])
        for start, end in sorted(found, key=lambda w: (natural(w[0]), natural(w[1])))
    )


def _count_ways(making: Making, ways: Ways, record: Record, more: int) -> bool:
    """Add to the number of ways; notes when there are too many of them."""
    ways.count += more
    if ways.count > MOST_WAYS:
        making.wrong(
            record, record.path, f"the cell has more than {MOST_WAYS} ways between points", "use fewer points"
        )
    return ways.count <= MOST_WAYS
