"""What cannot be had together with indexing tables, carriers and a choice of ways."""

from __future__ import annotations

from collections.abc import Iterator

from cellsim.describe.carriers import reached_from
from cellsim.describe.cell import Carrier, Cell, IndexingTable, Robot, Station
from cellsim.describe.making import Making, natural
from cellsim.describe.material import bringer
from cellsim.units import quoted

Places = dict[str, object]
Clash = tuple[str, str, str]  # station, message, hint


def check_together(making: Making, cell: Cell, places: Places) -> None:
    """Note what stands at stations of tables, of carriers and with several ways, and cannot work there."""
    for station, message, hint in clashes(cell):
        making.wrong(places[station], f"stations.{station}", message, hint)


def clashes(cell: Cell) -> Iterator[Clash]:
    """Everything in a cell whose names are all known that does not go together."""
    stations = {station.name: station for station in cell.stations}
    for table in cell.tables:
        yield from _on_table(cell, table, stations)
        yield from _service_of(cell, table)
    for carrier in cell.carriers:
        yield from _on_carrier(cell, carrier, stations)
    for station in cell.stations:
        robot = _mover(cell, station.name)
        if station.chooses == "first free" and robot:
            message = f"which way is free is seen when it hands on, but robot {robot} takes its units away"
            yield station.name, message, "write chooses: shortest wait, or chooses: in turn"


def _on_table(cell: Cell, table: IndexingTable, stations: dict[str, Station]) -> Iterator[Clash]:
    """What a position of a table cannot do: units come to it and leave it with the table."""
    where = f"and it stands on the table {quoted(table.name)}"
    for place, name in enumerate(table.stations):
        robot = _mover(cell, name)
        if robot:
            hint = f"let the robot do an element of its work, as in {{do: load, time: 4 s, by: {robot}}}"
            yield name, f"robot {robot} moves units to it or from it, {where}", hint
        if stations[name].lots is not None:
            yield name, f"it makes lots, {where}", "make the lots at a station before the table"
        if place:
            for part in (part.name for part in cell.parts if name in dict(part.used_at)):
                message = f"it uses {quoted(part)}, {where}, of which only the first position uses parts"
                yield name, message, f"count them at {table.stations[0]}"
            if (bar := stations[name].yields) is not None:
                message = f"a {bar.per} is changed at it, {where}, of which only the first position can"
                yield name, message, ""


def _service_of(cell: Cell, table: IndexingTable) -> Iterator[Clash]:
    """Service that waits for several machines: while the first of them stands, a table ends no cycle."""
    owners: tuple[Station | Robot, ...] = (*cell.stations, *cell.robots)
    for owner in owners:
        for stop in owner.stops:
            held = {owner.name, *stop.stops_too}
            at = sorted(held & set(table.stations), key=natural)
            if stop.after_cycle and stop.stops_too and at:
                others = " and ".join(sorted(held - {at[0]}, key=natural))
                message = (
                    f"{quoted(stop.name)} waits until the cycles of {at[0]} and of {others} have ended, but"
                    f" while one of them stands the table {quoted(table.name)} ends no cycle"
                )
                yield at[0], message, "write begins: at once, or let each have a service of its own"


def _on_carrier(cell: Cell, carrier: Carrier, stations: dict[str, Station]) -> Iterator[Clash]:
    """What cannot be where units are put on carriers, or ride on them."""
    start, name = stations[carrier.start], quoted(carrier.name)
    robot = bringer(cell, start)
    if robot:
        message = f"robot {robot} brings its units, so they are in its gripper before one of {name} is free"
        yield start.name, message, "let a visit load it, or an element of its work"
    for station in cell.stations:
        on = carrier.end in reached_from(station.name, stations)
        on = on and station.name in reached_from(start.name, stations) and station.name != carrier.end
        if station.yields is not None and (station is start or on):
            message = f"a {station.yields.per} cannot be divided on {name}"
            yield station.name, message, "put what it makes on them at the next station"
    if cell.study.start == "primed":
        message = f"a run that starts primed has units on the stations, but none of them on {name}"
        yield start.name, message, "write start: empty"


def _mover(cell: Cell, name: str) -> str:
    """The robot that moves units to or from a station; empty for none."""
    for robot in cell.robots:
        if any(name in (move.start, move.end) for move in robot.moves):
            return robot.name
    return ""
