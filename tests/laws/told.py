"""A random small cell as the text of a cell file, its mappings in any order."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import yaml
from hypothesis import strategies as st
from small_cells import SECOND

from cellsim.describe.cell import RAW, Cell, Line, Post, Robot, Station
from cellsim.describe.resolve import resolved_text


def tellable(cell: Cell) -> Cell:
    """The cell with what only a file has: route, lines and points; without what no file can say."""
    main = [station for station in cell.stations if station.name.startswith("S")]
    route = [place for k, station in enumerate(main) for place in (f"b{k}", station.name)][1:]
    lines = tuple(
        Line(station.name, (station.name, station.outlets[0].store))
        for station in cell.stations
        if station.name.startswith("L")
    )
    points = {"bench", "door"} | {station.name for station in cell.stations}

    def without_raw(station: Station) -> Station:
        """What is never short beside the route is no matter of a file."""
        if not station.name.startswith("S"):
            return station
        takes = tuple((store, units) for store, units in station.takes if not store.startswith(RAW))
        return replace(station, takes=takes)

    def among_points(one: Post | Robot) -> Any:
        ways = tuple(way for way in one.travel if way[0] in points and way[1] in points)
        return replace(one, travel=ways, starts_at=one.starts_at if one.starts_at in points else "bench")

    return replace(
        cell,
        stations=tuple(without_raw(station) for station in cell.stations),
        posts=tuple(among_points(post) for post in cell.posts),
        robots=tuple(among_points(robot) for robot in cell.robots),
        route=tuple(route),
        lines=lines,
        layout=(("bench", 0.0, 0.0), ("door", 1.0, 0.0)),
        study=replace(cell.study, run=150 * SECOND, replications=1),
    )


def mixed_text(draw: st.DrawFn, cell: Cell) -> str:
    """The cell as a file whose mappings, at every depth, stand in a drawn order."""

    def mixed(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: mixed(value[key]) for key in draw(st.permutations(list(value)))}
        if isinstance(value, list):
            return [mixed(item) for item in value]
        return value

    return json.dumps(mixed(yaml.load(resolved_text(cell), yaml.BaseLoader)), ensure_ascii=False)
