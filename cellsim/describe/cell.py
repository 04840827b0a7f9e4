"""The resolved description of a cell: typed, complete, and free of any default still to be applied.

Everything here is a frozen value.  Times are integer microseconds, rates are per hour, shares lie in
0..1, and every name refers to something that exists: the engine compiles this without further checks.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from cellsim.units import DAY

EndOfShift = Literal["finish element", "finish unit", "run out", "stop", "hand over"]
BreakRule = Literal["finish element", "full length", "suspend", "do not start", "hand over"]
Phase = Literal["fetch", "load", "work", "unload", "deliver", "return"]
Criterion = Literal["longest waiting", "downstream first", "upstream first", "listed order", "fixed round"]
StopClock = Literal["running", "on time", "cycles", "units"]
WayRule = Literal["", "first free", "shortest wait", "in turn"]
PartAtStop = Literal["continues", "restarts", "is scrapped"]

Supply = Literal["bins", "orders", "regular"]

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


LEVELS = 4  # skill levels: 1 beginner, 2 trained, 3 practised, 4 expert
PRACTISED = 3  # the level of whoever is given none


@dataclass(frozen=True, slots=True)
class Need:
    """`people` persons (or one robot) who can do `skill`; a post's or robot's own name is a skill of it.

    Persons below `level` cannot do it; 0 asks for none.
    """

    skill: str
    people: int = 1
    level: int = 0


@dataclass(frozen=True, slots=True)
class Element:
    """One work element of a station's cycle.

    `at` is the point where whoever attends must stand; the empty text means the station itself.
    The phase says where the unit is: `fetch` brings it (the station still waits), `load` puts it on,
    `work` changes it, `unload` takes it off, `deliver` carries it to the outlet while the station is
    free again, `return` brings the empty-handed person or robot back.
    What is done `inside` machine time is called for when the machine begins to work alone; the machine begins
    its next work alone only when it is done.
    """

    name: str
    time: Law
    by: tuple[Need, ...] = ()
    at: str = ""
    phase: Phase = "work"
    by_variant: tuple[tuple[str, Law], ...] = ()  # (variant, its time); `time` is then that of the first
    inside: bool = False
    picks: int = 0  # picks of which a robot with mis-picks may miss some
    uses: tuple[str, ...] = ()  # shared things, claimed together with whoever attends


@dataclass(frozen=True, slots=True)
class Stop:
    """A cause for which a machine or robot stands still.

    `every` counts microseconds of running time or of on time, whole cycles or units made, from the end of one
    repair to the next stop.  Where `at` is given, it says instead when the stop is due, in microseconds after
    Monday 00:00, every week; what comes due while it is held up is left out.  With no `repaired_by` the
    repair begins at once and needs nobody.

    A `planned` stop is service.  With `after_cycle` a cycle that has begun ends first.  The stations and
    robots in `stops_too` stand still with it until the same repair ends.  The first `restart_scrap` units
    finished after it are scrapped, by whole cycles.  A repair that `interrupts` takes people away from work
    of lower priority.
    """

    name: str
    every: Law
    clock: StopClock
    lasts: Law
    repaired_by: tuple[Need, ...] = ()
    part: PartAtStop = "continues"
    priority: int = 1
    planned: bool = False
    at: tuple[int, ...] = ()
    after_cycle: bool = False
    stops_too: tuple[str, ...] = ()
    restart_scrap: int = 0
    interrupts: bool = False


@dataclass(frozen=True, slots=True)
class Rejects:
    """What a station rejects and what becomes of it.

    Where the station inspects, what the unit hides decides; else exactly one of `share` (with
    `after_rework` from the second attempt on) and `verdicts` (given in order, repeated, True = good).  A
    rejected unit goes to store `to`, or stays for the element `repair` and is judged again, or is scrapped
    when there is neither.  After its `attempts`-th rejection in a row here it goes to store `then`, or is
    scrapped when `then` is empty; attempts count anew after that and after a good verdict.  `to` may be
    RELEASE: the unit then waits with the raw units for the first station, which takes it before them if it
    joins in front.
    """

    share: float = 0.0
    after_rework: float = 0.0
    verdicts: tuple[bool, ...] = ()
    to: str = ""
    attempts: int = 0  # 0: no limit
    in_front: bool = False  # where in `to` the unit joins
    holds: bool = False  # a unit on its way back to RELEASE stays on the station until it is taken over
    repair: Element | None = None
    then: str = ""
    then_in_front: bool = False


@dataclass(frozen=True, slots=True)
class Faults:
    """How the work of a station makes units faulty, which nobody sees.

    Each unit becomes faulty with `share`, with `after_rework` when it was here before, or as `listed` says
    in order, repeated (True = faulty).  In `lot_share` of the cycles all units of the cycle become faulty.
    Work that is done again takes away the fault that the station made before.
    """

    share: float = 0.0
    after_rework: float = 0.0
    listed: tuple[bool, ...] = ()
    lot_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Inspection:
    """A look at what units hide: it finds a share of those made faulty by the stations `of`.

    It rejects the share `false_rejects` of the others.  Units that are on the station together are accepted
    or rejected together.
    """

    finds: float
    false_rejects: float
    of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Samples:
    """Every `every`-th good unit is tested on the station.

    A sample that the test destroys, or that is faulty, is scrapped; the others go on.
    """

    every: int
    test: Element
    destroys: bool = False


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
class Yields:
    """The units that one bar, coil or sheet gives one after another, each with its own cycle.

    Before the first of them the bar is changed, which takes `change` and whoever is needed.  The unit that
    the station takes is the bar; it goes on as the first of the `units`.
    """

    per: str
    units: int
    change: Law
    by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Lots:
    """A station that begins a lot of `of` units when the store behind it has fallen to `starts_at` units."""

    of: int
    starts_at: int


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
    allowance: float = 0.0  # added to the times of what persons attend, as a share of them
    faults: Faults | None = None
    inspects: Inspection | None = None
    mends: float = 0.0  # share of faulty units that its rework, or its repair in place, puts right
    samples: Samples | None = None
    yields: Yields | None = None
    lots: Lots | None = None
    chooses: WayRule = ""  # which outlet a unit goes to; "" = by their shares or variants
    power: Power | None = None

    @property
    def extra(self) -> tuple[Element, ...]:
        """The elements after the cycle, for units that need them: repair in place, test of a sample."""
        repair = self.rejects.repair if self.rejects else None
        test = self.samples.test if self.samples else None
        return tuple(element for element in (repair, test) if element is not None)


@dataclass(frozen=True, slots=True)
class Store:
    """Places between stations.  `places` None = unlimited, 0 = direct hand-over.

    A unit can be taken `transit` + `stays` microseconds after it entered and holds its place meanwhile; one
    that has not been taken `use_within` microseconds after it entered goes to store `late`, or is scrapped
    when that is empty.  With `tray` units can be taken only once that many have gathered, or the first
    of them has waited for `tray_waits`; each of the `places / tray` trays comes back when it is empty.
    Without `overtaking` no station takes from it while one that asked before still waits.
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
    overtaking: bool = True


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
    hand_over: int = 0  # after start up, in which its people do not work yet; machines do


@dataclass(frozen=True, slots=True)
class Learning:
    """The time factor of repetition n is (n / standard_after) ** log2(rate), never below 1.

    Repetitions are those of one person at one work element; `has_done` are behind everybody at the start.
    Unit curve: J. R. Crawford, Learning Curve, Ship Curve, Ratios, Related Data (1944); from memory.
    """

    rate: float
    standard_after: int
    has_done: int = 0


@dataclass(frozen=True, slots=True)
class Rotation:
    """Who works where changes every so often: person k is at first in group k of `among`, then in the next.

    Each shift begins as the list says; `every` is microseconds from its beginning, breaks included.
    """

    every: int
    among: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Post:
    """People who do the same: `skills` are (skill, time factor), 1.0 = the stated times.

    `levels` are the (skill, level) of those skills that are given by level; `level` is that of all else, 0
    where none is given, and `own_factor` the time factor that goes with it.
    `response` is the time from the call to a repair until they can be there, from other cells;
    `called_out` the microseconds in which they come from off duty when nobody on duty could do a repair.
    """

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
    level: int = 0
    own_factor: float = 1.0
    levels: tuple[tuple[str, int], ...] = ()
    breaks: tuple[tuple[int, int], ...] | None = None  # (time of day, length) instead of those of the shift
    relieves: tuple[str, ...] = ()  # posts whose place they take during breaks
    stands_in_for: tuple[str, ...] = ()  # posts whose place they take when somebody is absent
    absent: float = 0.0  # share of shifts for which a person does not come
    learning: Learning | None = None
    rotates: Rotation | None = None
    response: Law | None = None
    called_out: int | None = None

    def level_of(self, skill: str) -> int:
        """The level at a skill, or at what the post itself does; practised where none is given."""
        return dict(self.levels).get(skill, self.level) or PRACTISED

    def working_in(self, shift: Shift) -> Shift:
        """The shift with the breaks that these people take in it."""
        if self.breaks is None:
            return shift
        placed = ((at + DAY if at < shift.start else at, length) for at, length in self.breaks)
        inside = sorted((at, length) for at, length in placed if at + length <= shift.end)
        return replace(shift, breaks=tuple(inside))

    def can_help(self, needs: tuple[Need, ...]) -> bool:
        """Whether these people can do any part of what is needed."""
        return bool({need.skill for need in needs} & {self.name, *(skill for skill, _ in self.skills)})


@dataclass(frozen=True, slots=True)
class Move:
    """A robot takes a unit at `start` and puts it down at `end`; at least one of the two is a station.

    The other is a station, a store, or a point where raw units lie or finished ones are put down.  `store` is
    the store of the flow that the move goes through.
    """

    start: str
    end: str
    store: str


@dataclass(frozen=True, slots=True)
class Mispicks:
    """A pick fails with `share`; each retry takes `retry` and works with `works`; then somebody comes."""

    share: float
    retry: int  # microseconds
    works: float
    retries: int
    by: tuple[Need, ...]
    time: Law


@dataclass(frozen=True, slots=True)
class Recovery:
    """What follows each repair of a robot before it goes on: home, look, reset."""

    time: Law
    by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Zone:
    """A space that robots share with people.

    While somebody works at one of `people_at` (stations, stores or points) the robots move at `speed` (0 =
    they stand); after the last one has left they stand for `restart` microseconds more.
    """

    name: str
    robots: tuple[str, ...]
    people_at: tuple[str, ...]
    speed: float = 0.0
    restart: int = 0


@dataclass(frozen=True, slots=True)
class Robot:
    """A robot.  A double gripper exchanges at the machine: fetch, unload, load, deliver.

    With `moves` it takes units from place to place, each with `pick` and `place`; in a `fixed_sequence` one
    after the other, for ever.  `grippers` are (station, gripper).  `speed` is the speed setting, 1 = full.
    """

    name: str
    serves: tuple[Criterion, ...] = ("downstream first", "longest waiting")
    listed: tuple[str, ...] = ()
    double_gripper: bool = False
    travel: tuple[tuple[str, str, int], ...] = ()
    starts_at: str = ""
    stops: tuple[Stop, ...] = ()
    moves: tuple[Move, ...] = ()
    pick: Law | None = None
    place: Law | None = None
    fixed_sequence: bool = False
    checks_target: bool = True
    grippers: tuple[tuple[str, str], ...] = ()
    gripper_change: int = 0
    mispicks: Mispicks | None = None
    speed: float = 1.0
    recovery: Recovery | None = None
    fetches_ahead: bool = False
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
class PurchasedPart:
    """A part that comes from outside, counted in pieces; `used_at` are (station, pieces per cycle).

    The pieces are taken at the start of the cycle.  In `bins`, each emptied bin of `box` pieces leaves with
    its last piece and comes back full; by `orders`, a box is ordered by the withdrawal that leaves
    `orders_at` pieces or fewer, if none is on order; `regular`, a box comes again and again.  `delivery` is
    how long it takes, or the time between regular ones; then, where somebody brings it, that person is called
    for a `trip`.
    """

    name: str
    used_at: tuple[tuple[str, int], ...]
    box: int
    supply: Supply
    delivery: Law
    starts_with: int
    bins: int = 0
    orders_at: int = 0
    brought_by: tuple[Need, ...] = ()
    trip: Law | None = None
    overtaking: bool = True
    priority: int = 1


@dataclass(frozen=True, slots=True)
class FinishedGoods:
    """Places for finished units behind the cell; `takes` of them (0 = all) are collected `every` so often.

    Where `by` says who collects, that person is called then and the places are free after the `trip`.  With
    no `every` nothing is collected.
    """

    places: int
    every: Law | None = None
    takes: int = 0
    by: tuple[Need, ...] = ()
    trip: Law | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """How raw units come: as many as the cell takes, one every so often, at given times, by cards or plan.

    The plan is (time of day in microseconds after midnight, units that may be begun from then on).
    """

    kind: Literal["as much as it takes", "every", "at", "cards", "plan"] = "as much as it takes"
    every: Law | None = None
    at: tuple[int, ...] = ()  # microseconds after the start of the run
    cards: int = 0
    plan: tuple[tuple[int, int], ...] = ()


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
    sequence: Sequence = Sequence()
    carriers: tuple[Carrier, ...] = ()
    tables: tuple[IndexingTable, ...] = ()
    varied_lines: tuple[str, ...] = ()  # lines beside the route whose units are of a variant, by name
    levels: tuple[float, ...] = ()  # time factors of skill levels 1 to 4 where somebody has a level
    parts: tuple[PurchasedPart, ...] = ()  # by name; all others are always there
    finished_goods: FinishedGoods | None = None  # None: there is always room behind the cell
    zones: tuple[Zone, ...] = ()
    shared: tuple[tuple[str, int], ...] = ()  # (thing that elements use, how many there are)
