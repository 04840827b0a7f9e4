"""Where everything of a cell is drawn: a plan in pixels, the same for pictures and for the replay.

Where the file gives the positions of all stations in metres, these are kept, moved apart only as far as
boxes would overlap.  Else the route runs in rows, there and back, and each line beside it lies below the row
that it joins, near where it joins.
"""

from __future__ import annotations

from cellsim.describe.cell import OUT, RAW, Cell
from cellsim.engine.model import compile_cell
from cellsim.engine.tables import natural
from cellsim.show.floor_boxes import (
    CELL,
    GUTTER,
    HEAD,
    HOME_LETTERS,
    MARGIN,
    POINT,
    Box,
    FloorPlan,
    flows,
    label_lines,
    nearest_free,
    point_box,
    rows_of,
)
from cellsim.show.floor_positions import by_metres, by_route
from cellsim.show.floor_ways import add_arrows
from cellsim.study.story_places import Places

HOME = (92.0, 28.0)


def floor_plan(cell: Cell) -> FloorPlan:
    """The plan of a cell, with a box for every place at which a story of it tells of units or people."""
    plan = FloorPlan()
    everything = sorted(Places(compile_cell(cell)).table, key=lambda place: (place[0], natural(place[1])))
    names = {kind: [n for k, n in everything if k == kind] for kind in ("store", "machine", "actor", "point")}
    metres = {point: (x, y) for point, x, y in cell.layout}
    if cell.stations and all(station.name in metres for station in cell.stations):
        plan.measured = True
        by_metres(cell, plan, metres, names["point"])
    else:
        by_route(cell, plan)
    _put_mouths(cell, plan, names["store"])
    _put_points(cell, plan, names["point"])
    _put_homes(plan, names["actor"])
    _put_machines(cell, plan)
    _fit(plan)
    add_arrows(cell, plan)
    return plan


def _put_mouths(cell: Cell, plan: FloorPlan, stores: list[str]) -> None:
    """Stores without a box lie beside the station that takes from them or gives to them."""
    ways = flows(cell)
    for name in stores:
        if name in plan.stores:
            continue
        ends = [b for a, b in ways if a == name] + [a for a, b in ways if b == name]
        boxes = [plan.stations[end] for end in ends if end in plan.stations]
        if name.startswith((RAW, OUT)) or len(boxes) < 2:
            box = boxes[0] if boxes else Box(MARGIN, MARGIN, 0, 0)
            plan.stores[name] = Box(box.x - 10 if name.startswith(RAW) else box.x + box.w + 10, box.cy, 0, 0)
        else:
            x, y = (sum(v) / 2 for v in zip(*((b.cx, b.cy) for b in boxes[:2]), strict=True))
            plan.stores[name] = Box(x, y, 0, 0)


def _put_points(cell: Cell, plan: FloorPlan, points: list[str]) -> None:
    """Points that are neither station nor store, near the station whose people go there."""
    for name in points:
        if name in plan.points:
            continue
        users = [s.name for s in cell.stations if any(e.at == name for e in (*s.work, *s.extra))]
        near = plan.stations[users[0]] if users else next(iter(plan.stations.values()))
        wanted = point_box(name, near.cx, near.y - HEAD - POINT[1] / 2)
        plan.points[name] = nearest_free(wanted, plan.solid().values(), 8.0)


def _put_homes(plan: FloorPlan, actors: list[str]) -> None:
    """People and robots at work elsewhere wait in rows below everything, in order of names."""
    boxes = plan.solid().values()
    left = min(box.x for box in boxes)
    right = max(max(box.x + box.w for box in boxes), left + 4 * (HOME[0] + 10))
    top = max(box.y + box.h for box in boxes) + GUTTER + 16
    each = max(1, int((right - left + 10) // (HOME[0] + 10)))
    for k, name in enumerate(actors):
        x, y = left + (HOME[0] + 10) * (k % each), top + (HOME[1] + 8) * (k // each)
        plan.actors[name] = Box(x, y, *HOME, label_lines(name, HOME_LETTERS, 1))


def _put_machines(cell: Cell, plan: FloorPlan) -> None:
    """The machines of a station as cells in its lower part, four in a row."""
    for station in cell.stations:
        box = plan.stations[station.name]
        for k in range(station.machines):
            rows = rows_of(station.machines)
            row, inside = divmod(k, 4)
            count = min(4, station.machines - 4 * row)
            w = min(CELL + 2, (box.w - 8) / 4) if station.machines > 1 else 64.0
            x = box.cx - w * count / 2 + w * inside
            y = box.y + box.h - CELL * (rows - row) - 5
            name = station.name if station.machines == 1 else f"{station.name}.{k + 1}"
            plan.machines[name] = Box(x + 1, y + 1, w - 2, CELL - 2)


def _fit(plan: FloorPlan) -> None:
    """Move everything so that it lies in a frame with a margin around it."""
    boxes = list(plan.solid().values())
    left, top = (min(getattr(box, side) for box in boxes) - MARGIN for side in ("x", "y"))
    top -= HEAD - MARGIN + 8
    for kind in ("stations", "machines", "stores", "actors", "points"):
        moved = {
            name: Box(b.x - left, b.y - top, b.w, b.h, b.label) for name, b in getattr(plan, kind).items()
        }
        setattr(plan, kind, moved)
    plan.width = round(max(box.x + box.w for box in boxes) - left + MARGIN)
    plan.height = round(max(box.y + box.h for box in boxes) - top + 16)
