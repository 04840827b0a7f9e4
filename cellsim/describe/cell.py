"""The resolved description of a cell: typed, complete, and free of any default still to be applied.

Everything here is a frozen value.  Times are integer microseconds, rates are per hour, shares lie in
0..1, and every name refers to something that exists: the engine compiles this without further checks.
The parts stand in the modules `cell_stations.py`, `cell_people.py` and so on; all are taken from here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from cellsim.describe.cell_flow import (
    FINISHED,
    MOST_CARRIER_KINDS,
    OUT,
    RAW,
    RELEASE,
    Carrier,
    FinishedGoods,
    IndexingTable,
    PurchasedPart,
    Release,
    Sequence,
    Store,
    Supply,
    Variant,
)
from cellsim.describe.cell_people import BreakRule, EndOfShift, Learning, Post, Rotation, Shift
from cellsim.describe.cell_robots import Mispicks, Move, Recovery, Robot, Zone
from cellsim.describe.cell_stations import (
    Batch,
    Changeover,
    Faults,
    Inspection,
    Lots,
    Outlet,
    Rejects,
    Samples,
    Station,
    WayRule,
    Yields,
)
from cellsim.describe.cell_work import (
    LEVELS,
    PRACTISED,
    Criterion,
    Element,
    Law,
    Need,
    PartAtStop,
    Phase,
    Power,
    Stop,
    StopClock,
)

__all__ = [
    "FINISHED",
    "LEVELS",
    "MOST_CARRIER_KINDS",
    "OUT",
    "PRACTISED",
    "RAW",
    "RELEASE",
    "Assumption",
    "Batch",
    "BreakRule",
    "Carrier",
    "Cell",
    "Changeover",
    "Criterion",
    "Element",
    "EndOfShift",
    "Faults",
    "FinishedGoods",
    "IndexingTable",
    "Inspection",
    "Law",
    "Learning",
    "Line",
    "Lots",
    "Mispicks",
    "Move",
    "Need",
    "Origin",
    "Outlet",
    "PartAtStop",
    "Phase",
    "Post",
    "Power",
    "PurchasedPart",
    "Recovery",
    "Rejects",
    "Release",
    "Robot",
    "Rotation",
    "Samples",
    "Sequence",
    "Shift",
    "Station",
    "Stop",
    "StopClock",
    "Store",
    "Study",
    "Supply",
    "Variant",
    "WayRule",
    "Yields",
    "Zone",
]


@dataclass(frozen=True, slots=True)
class Study:
    """What a run covers: `shifts` whole shifts or `run` microseconds, after `settle` that is not counted."""

    shifts: int = 0  # 0: `run` says how long
    run: int = 0
    settle_shifts: int = 0
    settle: int = 0
    start: Literal["empty", "as left", "primed"] = "empty"
    seed: int = 1
    replications: int = 0


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value that the tool took because the file did not give one."""

    path: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the values at `path` come from, in the words of the file."""

    path: str
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """Stations and stores in the order in which a unit meets them, implicit stores included."""

    name: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One resolved cell.

    `target_per_hour` counts working hours (breaks, start up and clean up taken off).
    """

    name: str
    question: str
    target_per_hour: float | None
    shifts: tuple[Shift, ...]
    posts: tuple[Post, ...]
    robots: tuple[Robot, ...]
    stations: tuple[Station, ...]  # in route order, upstream first; the order is part of the rules
    stores: tuple[Store, ...]  # every store of the cell, implicit ones too; not RELEASE, FINISHED, RAW, OUT
    release: Release
    study: Study
    assumptions: tuple[Assumption, ...] = ()
    cautions: tuple[str, ...] = field(default=())
    route: tuple[str, ...] = ()  # the main route, implicit stores included
    lines: tuple[Line, ...] = ()  # the lines beside it, by name
    layout: tuple[tuple[str, float, float], ...] = ()  # (point, x, y in metres)
    origins: tuple[Origin, ...] = ()
    variants: tuple[Variant, ...] = ()
    sequence: Sequence = field(default_factory=Sequence)
    carriers: tuple[Carrier, ...] = ()
    tables: tuple[IndexingTable, ...] = ()
    varied_lines: tuple[str, ...] = ()  # lines beside the route whose units are of a variant, by name
    levels: tuple[float, ...] = ()  # time factors of skill levels 1 to 4 where somebody has a level
    parts: tuple[PurchasedPart, ...] = ()  # by name; all others are always there
    finished_goods: FinishedGoods | None = None  # None: there is always room behind the cell
    zones: tuple[Zone, ...] = ()
    shared: tuple[tuple[str, int], ...] = ()  # (thing that elements use, how many there are)
    margins: tuple[tuple[str, float], ...] = ()  # (figure, share that is material) as the file states them
