"""Positions of stations and stores on a plan: along the route in rows, or as measured in metres."""

from __future__ import annotations

from collections.abc import Mapping

from cellsim.describe.cell import FINISHED, RELEASE, Cell
from cellsim.engine.tables import natural
from cellsim.show.floor_boxes import (
    GAP,
    GUTTER,
    HEAD,
    MARGIN,
    STATION,
    STORE,
    Box,
    FloorPlan,
    box_at,
    flows,
    nearest_free,
    point_box,
    size_of,
)

APART = (STATION[0] + STORE[0] + 2 * GAP, STATION[1] + STORE[1] + 2 * GAP)  # of stations, where metres allow
ROW = 1290.0  # the width that a row of the route may have
WIDEST = 1500.0  # pixels of a plan in metres


def by_route(cell: Cell, plan: FloorPlan) -> None:
    """Rows of the route, one back where the one before went there; below each the lines that join it."""
    route = [RELEASE, *(name for name in cell.route if name not in (RELEASE, FINISHED)), FINISHED]
    lines = {line.name: list(line.places) for line in sorted(cell.lines, key=lambda one: natural(one.name))}
    widest = max([_length(cell, places) for places in lines.values()], default=0.0)
    rows = _fold(cell, route, max(ROW, widest))
    width = max([widest, *(_length(cell, row) for row in rows)])
    row_of = {name: k for k, row in enumerate(rows) for name in row}
    joins = _joins(cell, lines, row_of)
    top = HEAD
    for k, row in enumerate(rows):
        forward = k % 2 == 0
        height = max(size_of(cell, name)[1] for name in row)
        _put_row(cell, plan, row, MARGIN if forward else MARGIN + width, top + height / 2, forward)
        own = [(name, lines[name], anchor) for name, (where, anchor) in joins.items() if where == k]
        top += height + GUTTER
        top = _put_lines(cell, plan, own, top, width, forward)
        top += HEAD


def _length(cell: Cell, row: list[str]) -> float:
    """The width of a row: its boxes with a gap after each but the last."""
    return sum(size_of(cell, name)[0] + GAP for name in row) - GAP


def _fold(cell: Cell, route: list[str], most: float) -> list[list[str]]:
    """The route in as few rows as fit, of about the same length; a row begins with a station."""
    count = max(1, -(-int(_length(cell, route)) // int(most)))
    stations = {station.name for station in cell.stations}
    while True:
        goal = _length(cell, route) / count
        rows: list[list[str]] = [[]]
        for name in route:
            row = rows[-1]
            longer = _length(cell, [*row, name])
            if row and name in stations and len(rows) < count and longer > goal + STATION[0] / 2:
                rows.append([name])
            else:
                row.append(name)
        if max(_length(cell, row) for row in rows) <= most + STATION[0] or count > len(route):
            return rows
        count += 1


def _put_row(cell: Cell, plan: FloorPlan, row: list[str], x: float, y: float, forward: bool) -> None:
    """Boxes side by side from x on, to the right or to the left."""
    stations = {station.name for station in cell.stations}
    for name in row:
        w, _ = size_of(cell, name)
        middle = x + w / 2 if forward else x - w / 2
        (plan.stations if name in stations else plan.stores)[name] = box_at(cell, name, middle, y)
        x += (w + GAP) if forward else -(w + GAP)


def _joins(
    cell: Cell, lines: Mapping[str, list[str]], row_of: Mapping[str, int]
) -> dict[str, tuple[int, str]]:
    """For each line the row that it joins and the item there, those that join another line after it."""
    ways = flows(cell)
    known = dict(row_of)
    joins: dict[str, tuple[int, str]] = {}
    left = dict(lines)
    while left:
        for name, places in left.items():  # noqa: B007
            ahead = [b for a, b in ways if a == places[-1] and b not in places]
            behind = [a for a, b in ways if b == places[0] and a not in places]
            beside = [b for a, b in ways if a in places] + [a for a, b in ways if b in places]
            anchor = next((item for item in (*ahead, *behind, *beside) if item in known), None)
            if anchor is not None or not any(item in lines for item in beside):
                break
        else:
            name, anchor = next(iter(left)), None
        places = left.pop(name)
        row = known[anchor] if anchor is not None else max(row_of.values())
        joins[name] = (row, anchor or "")
        known |= dict.fromkeys(places, row)
    return joins


def _put_lines(
    cell: Cell,
    plan: FloorPlan,
    own: list[tuple[str, list[str], str]],
    top: float,
    width: float,
    forward: bool,
) -> float:
    """Lines in lanes below a row, each ending near what it joins; the bottom of the last lane."""
    lanes: list[list[tuple[float, float]]] = []
    lane_of: dict[str, int] = {}
    placed: list[tuple[int, float, list[str]]] = []
    for name, places, anchor in own:
        length = _length(cell, places)
        box = {**plan.stations, **plan.stores}.get(anchor)
        centre = box.cx if box is not None else lane_centre(placed, anchor, cell)
        last = size_of(cell, places[-1])[0] / 2
        wanted = centre - length + last if forward else centre - last
        wanted = min(max(wanted, MARGIN), MARGIN + width - length)
        least = 1 + max(
            (lane_of[other] for other in lane_of if anchor in dict(_items(own))[other]), default=-1
        )
        lane, x = _free_lane(lanes, least, wanted, length, MARGIN, MARGIN + width)
        lanes[lane].append((x, x + length))
        lane_of[name] = lane
        placed.append((lane, x, places))
    heights = [
        max((size_of(cell, item)[1] for k, _, places in placed if k == lane for item in places), default=0.0)
        for lane in range(len(lanes))
    ]
    for lane, x, places in placed:
        y = top + sum(heights[:lane]) + (HEAD + GUTTER) * lane + HEAD + heights[lane] / 2
        start = x if forward else x + _length(cell, places)
        _put_row(cell, plan, places, start, y, forward)
    return top + sum(heights) + (HEAD + GUTTER) * len(lanes)


def _items(own: list[tuple[str, list[str], str]]) -> list[tuple[str, list[str]]]:
    return [(name, places) for name, places, _ in own]


def lane_centre(placed: list[tuple[int, float, list[str]]], anchor: str, cell: Cell) -> float:
    """The middle of the line that has an item, or the left edge."""
    for _, x, places in placed:
        if anchor in places:
            return x + _length(cell, places) / 2
    return MARGIN


def _free_lane(
    lanes: list[list[tuple[float, float]]], least: int, wanted: float, length: float, low: float, high: float
) -> tuple[int, float]:
    """The lane and place for a line where it moves least; a new lane costs as much as its height."""
    room = 3 * GAP
    best: tuple[float, int, float] | None = None
    for k in range(least, len(lanes) + 1):
        taken = lanes[k] if k < len(lanes) else []
        edges = [wanted, *(b + room for _, b in taken), *(a - room - length for a, _ in taken)]
        for x in edges:
            clear = all(x >= b + room - 1e-9 or x + length <= a - room + 1e-9 for a, b in taken)
            if clear and low - 1e-9 <= x <= high - length + 1e-9:
                cost = abs(x - wanted) + 110.0 * k + (200.0 if k == len(lanes) else 0.0)
                if best is None or (cost, k, x) < best:
                    best = (cost, k, x)
    assert best is not None  # a new lane is always free
    _, lane, x = best
    while len(lanes) <= lane:
        lanes.append([])
    return lane, x


def by_metres(
    cell: Cell, plan: FloorPlan, metres: Mapping[str, tuple[float, float]], points: list[str]
) -> None:
    """Stations where they stand, y upwards; what has no position lies between what it connects."""
    spots = [metres[station.name] for station in cell.stations]
    needed = 0.0
    for k, one in enumerate(spots):
        for other in spots[:k]:
            apart = [abs(a - b) for a, b in zip(one, other, strict=True)]
            scales = [want / have for want, have in zip(APART, apart, strict=True) if have > 0.05]
            needed = max(needed, min(scales, default=0.0))
    extent = max(max(spot[side] for spot in spots) - min(spot[side] for spot in spots) for side in (0, 1))
    scale = min(needed, WIDEST / extent) if extent > 0 else 1.0
    names = sorted((station.name for station in cell.stations), key=natural)
    for name in names:
        x, y = metres[name]
        _add(cell, plan, plan.stations, name, scale * x, -scale * y)
    for name in points:
        if name in metres:
            x, y = metres[name]
            wanted = point_box(name, scale * x, -scale * y)
            plan.points[name] = nearest_free(wanted, plan.solid().values(), GAP)
    beside = (STATION[0] + STORE[0]) / 2 + GAP
    aside = {RELEASE: -beside, FINISHED: beside}
    for name in sorted({store.name for store in cell.stores} | set(aside), key=natural):
        if size_of(cell, name) == (0.0, 0.0):
            continue
        if name in metres:
            x, y = (scale * metres[name][0], -scale * metres[name][1])
        else:
            boxes = [plan.stations[end] for end in _ends(cell, name)] or list(plan.stations.values())
            x = sum(box.cx for box in boxes) / len(boxes) + aside.get(name, 0.0)
            y = sum(box.cy for box in boxes) / len(boxes)
        _add(cell, plan, plan.stores, name, x, y)


def _ends(cell: Cell, store: str) -> list[str]:
    """The stations that take from a store and those whose good units go there."""
    takers = [s.name for s in cell.stations if store in dict(s.takes)]
    return takers + [s.name for s in cell.stations if store in {outlet.store for outlet in s.outlets}]


def _add(cell: Cell, plan: FloorPlan, rows: dict[str, Box], name: str, x: float, y: float) -> None:
    box = box_at(cell, name, x, y)
    rows[name] = nearest_free(box, plan.solid().values(), GAP)
