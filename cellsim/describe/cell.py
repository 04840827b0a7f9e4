"""The resolved description of a cell: typed, complete, and free of any default still to be applied.

Everything here is a frozen value.  Times are integer microseconds, rates are per hour, shares lie in
0..1, and every name refers to something that exists: the engine compiles this without further checks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

EndOfShift = Literal["finish element", "finish unit", "run out", "stop"]
BreakRule = Literal["finish element", "full length", "suspend", "do not start"]
Phase = Literal["fetch", "load", "work", "unload", "deliver", "return"]
Criterion = Literal["longest waiting", "downstream first", "upstream first", "listed order"]
StopClock = Literal["running", "on time", "cycles"]
WayRule = Literal["", "first free", "shortest wait", "in turn"]
PartAtStop = Literal["continues", "restarts", "is scrapped"]

RELEASE = "release"  # the implicit store in which raw units wait before the route begins
FINISHED = "finished"  # the implicit store that a unit enters when it leaves the cell
RAW = "raw:"  # RAW + line = the store, never empty, from which a line beside the route begins
MOST_CARRIER_KINDS = 4
OUT = "out:"  # OUT + line = the store that such a line's units leave by; they are not output of the cell


@dataclass(frozen=True, slots=True)
class Law:
    """How long something takes.  `name` is a row of `laws.LAWS`, `values` its parameters in row order.

    Times among the parameters are microseconds (float, since a mean need not be whole), spreads and
    shapes are pure numbers.  `measured` holds measured times in microseconds for the laws that need them.
    """

    name: str
    values: tuple[float, ...] = ()
    measured: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Need:
    """`people` persons (or one robot) who can do `skill`; a post's or robot's own name is a skill of it."""

    skill: str
    people: int = 1


@dataclass(frozen=True, slots=True)
class Element:
    """One work element of a station's cycle.

    `at` is the point where whoever attends must stand; the empty text means the station itself.
    The phase says where the unit is: `fetch` brings it (the station still waits), `load` puts it on,
    `work` changes it, `unload` takes it off, `deliver` carries it to the outlet while the station is
    free again, `return` brings the empty-handed person or robot back.
    """

    name: str
    time: Law
    by: tuple[Need, ...] = ()
    at: str = ""
    phase: Phase = "work"
    by_variant: tuple[tuple[str, Law], ...] = ()  # (variant, its time); `time` is then that of the first


@dataclass(frozen=True, slots=True)
class Stop:
    """A cause for which a machine or robot stands still.

    `every` counts microseconds of running time or of on time, or whole cycles, from the end of one repair to
    the next stop.  With no `repaired_by` the repair begins at once and needs nobody.
    """

    name: str
    every: Law
    clock: StopClock
    lasts: Law
    repaired_by: tuple[Need, ...] = ()
    part: PartAtStop = "continues"
    priority: int = 1


@dataclass(frozen=True, slots=True)
class Rejects:
    """What a station rejects and what becomes of it.

    Exactly one of `share` (with `after_rework` from the second attempt on) and `verdicts` (given in
    order, repeated, True = good) decides.  A rejected unit goes to store `to`, or is scrapped when `to` is
    empty or when this was its `attempts`-th rejection here.  `to` may be RELEASE: the unit then waits with
    the raw units for the first station, which takes it before them if it joins in front.
    """

    share: float = 0.0
    after_rework: float = 0.0
    verdicts: tuple[bool, ...] = ()
    to: str = ""
    attempts: int = 0  # 0: no limit
    in_front: bool = False  # where in `to` the unit joins
    holds: bool = False  # a unit on its way back to RELEASE stays on the station until it is taken over


@dataclass(frozen=True, slots=True)
class Outlet:
    """One store that a station's good units go to, with the share of units and where they join.

    With `variants` only units of these go here, and all of them do: no share is drawn.
    """

    store: str
    share: float = 1.0
    in_front: bool = False
    variants: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Batch:
    """Several units that are worked on together.

    A batch starts when `size` units of one variant (of any, if `mixed`) are there; when `at_least` are and
    the oldest of them has waited for `waits` microseconds; or when `at_least` are and one of the times of
    day `starts_at` (microseconds after midnight) has come since the last batch.
    """

    size: int
    at_least: int
    waits: int | None = None
    starts_at: tuple[int, ...] = ()
    mixed: bool = False
    by_variant: tuple[tuple[str, int], ...] = ()  # (variant, its size); `size` is then the largest


@dataclass(frozen=True, slots=True)
class Changeover:
    """What a machine needs to go over from one variant to another: `times` are (from, to, time).

    With `ahead` it goes over as soon as no unit of the old variant can still come, else when a unit of
    the new variant is there.  `approval` follows each changeover before work starts.
    """

    times: tuple[tuple[str, str, Law], ...]
    by: tuple[Need, ...] = ()
    ahead: bool = True
    approval: Law | None = None
    approved_by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Power:
    """What a station or robot draws in each group of states, in watts, and joules for each cycle beside that.

    `working` holds while it works or moves, `idle` while it is ready and waits for anything, `down` while it
    is stopped, and so on.
    """

    working: int
    idle: int
    changeover: int
    down: int
    in_break: int
    off: int
    per_cycle: int = 0


@dataclass(frozen=True, slots=True)
class Station:
    """One or several equal machines or benches that share a cycle, an input and an outlet."""

    name: str
    machines: int
    work: tuple[Element, ...]
    takes: tuple[tuple[str, int], ...]  # (store, units per cycle); the first is the unit that goes on
    gives: int
    outlets: tuple[Outlet, ...]
    reserves_outlet: bool = False
    one_visit: bool = False  # unload and the next load are one call
    runs_through_breaks: bool = False
    priority: int = 1
    stops: tuple[Stop, ...] = ()
    rejects: Rejects | None = None
    batch: Batch | None = None
    changeover: Changeover | None = None
    only: tuple[str, ...] = ()  # the variants that it takes; empty = all
    chooses: WayRule = ""  # which outlet a unit goes to; "" = by their shares or variants
    power: Power | None = None


@dataclass(frozen=True, slots=True)
class Store:
    """Places between stations.  `places` None = unlimited, 0 = direct hand-over.

    A unit can be taken `transit` + `stays` microseconds after it entered and holds its place meanwhile; one
    that has not been taken `use_within` microseconds after it entered goes to store `late`, or is scrapped
    when that is empty.  With `tray` units can be taken only once that many have gathered, or the first
    of them has waited for `tray_waits`; each of the `places / tray` trays comes back when it is empty.
    """

    name: str
    places: int | None
    starts_with: int = 0
    last_in_first_out: bool = False
    transit: int = 0
    stays: int = 0
    use_within: int | None = None
    late: str = ""
    tray: int = 0
    tray_waits: int | None = None


@dataclass(frozen=True, slots=True)
class Shift:
    """One shift: start and end in microseconds after midnight (the end may lie beyond 24 h)."""

    name: str
    start: int
    end: int
    days: tuple[int, ...] = (0, 1, 2, 3, 4)  # 0 = Monday
    breaks: tuple[tuple[int, int], ...] = ()  # (start after midnight, length)
    start_up: int = 0
    clean_up: int = 0
    at_end: EndOfShift = "finish element"


@dataclass(frozen=True, slots=True)
class Post:
    """People who do the same: `skills` are (skill, time factor), 1.0 = the stated times."""

    name: str
    people: int
    skills: tuple[tuple[str, float], ...]
    shifts: tuple[str, ...]
    serves: tuple[Criterion, ...] = ("longest waiting", "downstream first")
    listed: tuple[str, ...] = ()  # stations in the order the file lists them, for `listed order`
    overtaking: bool = True
    at_break: BreakRule = "finish element"
    travel: tuple[tuple[str, str, int], ...] = ()  # (from point, to point, microseconds)
    starts_at: str = ""


@dataclass(frozen=True, slots=True)
class Robot:
    """A robot.  A double gripper exchanges at the machine: fetch, unload, load, deliver."""

    name: str
    serves: tuple[Criterion, ...] = ("downstream first", "longest waiting")
    listed: tuple[str, ...] = ()
    double_gripper: bool = False
    travel: tuple[tuple[str, str, int], ...] = ()
    starts_at: str = ""
    stops: tuple[Stop, ...] = ()
    power: Power | None = None


@dataclass(frozen=True, slots=True)
class Variant:
    """One kind of the product, with its share of the units."""

    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Sequence:
    """In which order the variants are released.

    `in ratio` spreads them as evenly as their shares allow, `at random` draws each, `campaigns` are
    (variant, units) in turn, repeated.  With `line_empties` no unit of the next variant is released while
    one of the last is inside.
    """

    order: Literal["in ratio", "at random", "campaigns"] = "in ratio"
    campaigns: tuple[tuple[str, int], ...] = ()
    line_empties: bool = False


@dataclass(frozen=True, slots=True)
class Release:
    """How raw units come: as many as the cell takes, one every so often, at given times, or by cards."""

    kind: Literal["as much as it takes", "every", "at", "cards"] = "as much as it takes"
    every: Law | None = None
    at: tuple[int, ...] = ()  # microseconds after the start of the run
    cards: int = 0


@dataclass(frozen=True, slots=True)
class Carrier:
    """Pallets, fixtures or baskets: `count` of them in all.

    Each unit that station `start` takes is put on one (all units of a cycle together on one if
    `per_batch`), and taken off when a cycle of station `end` ends with it, or when it leaves the cell.  The
    carrier is there again `returns` after its last unit was taken off.
    """

    name: str
    count: int
    start: str
    end: str
    returns: Law
    per_batch: bool = False


@dataclass(frozen=True, slots=True)
class IndexingTable:
    """Stations in the order in which a unit meets them, whose units all move on at once in `index`."""

    name: str
    stations: tuple[str, ...]
    index: Law


@dataclass(frozen=True, slots=True)
class Study:
    """What a run covers: `shifts` whole shifts or `run` microseconds, after `settle` that is not counted."""

    shifts: int = 0  # 0: `run` says how long
    run: int = 0
    settle_shifts: int = 0
    settle: int = 0
    start: Literal["empty", "as left"] = "empty"
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
    sequence: Sequence = Sequence()
    carriers: tuple[Carrier, ...] = ()
    tables: tuple[IndexingTable, ...] = ()
    varied_lines: tuple[str, ...] = ()  # lines beside the route whose units are of a variant, by name
