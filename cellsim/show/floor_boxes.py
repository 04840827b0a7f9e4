"""The boxes of a plan: their sizes and labels, and how one is moved to where there is room."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from cellsim.describe.cell import FINISHED, RELEASE, Cell

MARGIN = 34.0  # free around everything; ways turn here
GAP = 16.0  # between neighbours of a row
HEAD = 30.0  # above a station, where people stand
GUTTER = 26.0  # below a row, where ways run
STATION = (100.0, 58.0)
STORE = (66.0, 46.0)
POINT = (66.0, 20.0)
CELL = 22.0  # a machine within its station
STATION_LETTERS, STORE_LETTERS, HOME_LETTERS = 12, 10, 11  # in a line of a label


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its upper left corner, size and the lines of its label, in pixels."""

    x: float
    y: float
    w: float
    h: float
    label: tuple[str, ...] = ()

    @property
    def cx(self) -> float:
        """The middle, from the left."""
        return self.x + self.w / 2

    @property
    def cy(self) -> float:
        """The middle, from the top."""
        return self.y + self.h / 2

    def clear_of(self, other: Box, gap: float = 0.0) -> bool:
        """Whether the boxes have at least `gap` between them."""
        return (
            self.x >= other.x + other.w + gap
            or other.x >= self.x + self.w + gap
            or self.y >= other.y + other.h + gap
            or other.y >= self.y + self.h + gap
        )


@dataclass(frozen=True, slots=True)
class Arrow:
    """A way of units from one item to another, `main` on the route, with its corners."""

    source: str
    target: str
    main: bool
    corners: tuple[tuple[float, float], ...]


@dataclass
class FloorPlan:
    """Boxes by name; stores without places and the edges of the cell have boxes without size."""

    width: float = 0.0
    height: float = 0.0
    measured: bool = False  # whether positions are those of the file
    stations: dict[str, Box] = field(default_factory=dict)
    machines: dict[str, Box] = field(default_factory=dict)
    stores: dict[str, Box] = field(default_factory=dict)
    actors: dict[str, Box] = field(default_factory=dict)
    points: dict[str, Box] = field(default_factory=dict)
    arrows: list[Arrow] = field(default_factory=list)

    def solid(self) -> dict[tuple[str, str], Box]:
        """Every box that must not lie on another, by kind and name."""
        return {
            (kind, name): box
            for kind in ("stations", "stores", "actors", "points")
            for name, box in getattr(self, kind).items()
            if box.w
        }

    def as_dict(self) -> dict[str, Any]:
        """The plan as it is put into a page: `[x, y, w, h, label lines]` for each box."""
        kinds = ("stations", "machines", "stores", "actors", "points")
        boxes = {
            kind: {
                name: [round(b.x, 1), round(b.y, 1), round(b.w, 1), round(b.h, 1), list(b.label)]
                for name, b in getattr(self, kind).items()
            }
            for kind in kinds
        }
        ways = [
            [a.source, a.target, a.main, [[round(v, 1) for v in p] for p in a.corners]] for a in self.arrows
        ]
        return {"width": self.width, "height": self.height, **boxes, "arrows": ways}


def label_lines(name: str, letters: int, most: int = 2) -> tuple[str, ...]:
    """A name on at most `most` lines of so many letters, cut where it is longer."""
    text = "".join(c if c.isprintable() else "?" for c in name)
    return tuple(textwrap.wrap(text, letters, max_lines=most, placeholder="…")) or ("?",)


def size_of(cell: Cell, name: str) -> tuple[float, float]:
    """Width and height of the box of a station or store; none where units are handed over directly."""
    station = next((s for s in cell.stations if s.name == name), None)
    if station is not None:
        return STATION[0], STATION[1] + CELL * (rows_of(station.machines) - 1)
    store = next((s for s in cell.stores if s.name == name), None)
    if name in (RELEASE, FINISHED) or (store is not None and store.places != 0):
        return STORE
    return (0.0, 0.0)


def rows_of(machines: int) -> int:
    """Rows of machines within their station."""
    return -(-machines // 4)


def box_at(cell: Cell, name: str, x: float, y: float) -> Box:
    """The box of a station or store with its middle at a point."""
    w, h = size_of(cell, name)
    station = any(s.name == name for s in cell.stations)
    shown = {RELEASE: "raw units", FINISHED: "finished"}.get(name, name)
    return Box(x - w / 2, y - h / 2, w, h, label_lines(shown, STATION_LETTERS if station else STORE_LETTERS))


def point_box(name: str, x: float, y: float) -> Box:
    """The box of a point that is neither station nor store, with its middle at a point of the plan."""
    return Box(x - POINT[0] / 2, y - POINT[1] / 2, *POINT, label_lines(name, STORE_LETTERS, 1))


def flows(cell: Cell) -> list[tuple[str, str]]:
    """Every (from, to) by which units go between a station and a store, in order of names."""
    found = set()
    for station in cell.stations:
        found |= {(store, station.name) for store, _ in station.takes}
        found |= {(station.name, outlet.store) for outlet in station.outlets}
        if station.rejects is not None:
            found |= {(station.name, to) for to in (station.rejects.to, station.rejects.then) if to}
    found |= {(store.name, store.late) for store in cell.stores if store.late}
    return sorted(found)


def nearest_free(wanted: Box, taken: Iterable[Box], gap: float) -> Box:
    """The box moved to the nearest place clear of all that are taken, looked for ring by ring."""
    others = list(taken)
    step = 8.0
    ring = 0
    while True:
        moves = sorted(
            {
                (i, j)
                for i in range(-ring, ring + 1)
                for j in range(-ring, ring + 1)
                if max(abs(i), abs(j)) == ring
            },
            key=lambda move: (move[0] ** 2 + move[1] ** 2, -move[1], move[0]),
        )
        for i, j in moves:
            box = Box(wanted.x + step * i, wanted.y + step * j, wanted.w, wanted.h, wanted.label)
            if all(box.clear_of(other, gap) for other in others):
                return box
        ring += 1
