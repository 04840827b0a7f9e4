"""The ways of units on a plan, as lines with right angles."""

from __future__ import annotations

from cellsim.describe.cell import FINISHED, RELEASE, Cell
from cellsim.show.floor_boxes import Arrow, Box, FloorPlan, flows


def add_arrows(cell: Cell, plan: FloorPlan) -> None:
    """Draw every flow of units; one through a store without a box goes from station to station."""
    on_route = [RELEASE, *cell.route, FINISHED]
    order = {name: k for k, name in enumerate(on_route)}
    boxes = {**plan.stores, **plan.stations}
    ways = flows(cell)
    through = {name for name, box in plan.stores.items() if not box.w}
    joined = [(a, d) for a, b in ways if b in through for c, d in ways if c == b]
    for a, b in [*ways, *joined]:
        if a in through or b in through or a == b or a not in boxes or b not in boxes:
            continue
        step = order[b] - order[a] if a in order and b in order else 0
        main = step == 1 or (step == 2 and on_route[order[a] + 1] in through)
        way = _straight(boxes[a], boxes[b]) if plan.measured else _corners(boxes[a], boxes[b], plan, main)
        plan.arrows.append(Arrow(a, b, main, way))


def _straight(a: Box, b: Box) -> tuple[tuple[float, float], ...]:
    """A line from the edge of one box to that of another, along a hall where they face each other."""
    low, high = max(a.x, b.x), min(a.x + a.w, b.x + b.w)
    if high - low > 8:
        x = (low + high) / 2
        return ((x, a.y + a.h if b.y > a.y else a.y), (x, b.y if b.y > a.y else b.y + b.h))
    low, high = max(a.y, b.y), min(a.y + a.h, b.y + b.h)
    if high - low > 8:
        y = (low + high) / 2
        return ((a.x + a.w if b.x > a.x else a.x, y), (b.x if b.x > a.x else b.x + b.w, y))
    return (_edge(a, b), _edge(b, a))


def _edge(a: Box, b: Box) -> tuple[float, float]:
    """Where the line from the middle of one box to that of another leaves the first."""
    dx, dy = b.cx - a.cx, b.cy - a.cy
    share = min(a.w / 2 / abs(dx) if dx else 1.0, a.h / 2 / abs(dy) if dy else 1.0)
    return a.cx + share * dx, a.cy + share * dy


def _corners(a: Box, b: Box, plan: FloorPlan, main: bool) -> tuple[tuple[float, float], ...]:
    """A way from box to box in right angles: straight, around the end of a row, or through the gutters."""
    if abs(a.cy - b.cy) < 8:
        forward = b.cx > a.cx
        start, end = (a.x + a.w, b.x) if forward else (a.x, b.x + b.w)
        between = Box(min(start, end) + 1, a.cy - 4, max(1.0, abs(end - start) - 2), 8)
        if all(between.clear_of(box) for box in plan.solid().values()):
            return ((start, a.cy), (end, a.cy))
        low = max(a.y + a.h, b.y + b.h) + 9
        out, into = a.cx + _aside(a), b.cx - _aside(b)
        return ((out, a.y + a.h), (out, low), (into, low), (into, b.y + b.h))
    if main:  # the end of a row: around it
        right = max(a.x + a.w, b.x + b.w) + 17 if a.cx > plan.width / 2 else 0.0
        turn = right or min(a.x, b.x) - 17
        start, end = (a.x + a.w, b.x + b.w) if right else (a.x, b.x)
        return ((start, a.cy), (turn, a.cy), (turn, b.cy), (end, b.cy))
    if b.y + b.h < a.y:
        low, out, into = b.y + b.h + 13, a.cx + _aside(a), b.cx + _aside(b)
        return ((out, a.y), (out, low), (into, low), (into, b.y + b.h))
    low, out, into = a.y + a.h + 7, a.cx - _aside(a), b.cx - _aside(b)
    return ((out, a.y + a.h), (out, low), (into, low), (into, b.y))


def _aside(box: Box) -> float:
    """How far from the middle of a box its ways up and down begin and end: beside who stands above it."""
    return box.w / 2 - 14
