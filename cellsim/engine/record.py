"""What one replication leaves: plain numbers that can be written, sent between processes and added up."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.waiting_robots import robots_with_units, waits_of_robots

LEAD_TIMES = 20_000  # the most lead times that one replication keeps; beyond it one in two, four, ...

# What is read off the state at two moments; the difference belongs to the counted time.
_STORE_FIELDS = ("entered", "left", "area", "stays", "late_units")
_STATION_FIELDS = (
    "judged",
    "rejected",
    "scrapped",
    "first_pass",
    "first_tests",
    "changed",
    "batches",
    "batched",
    "faulted",
    "mended",
    "false_rejects",
    "missed",
    "sampled",
    "sampled_faulty",
    "bars",
    "lots",
)
_PART_FIELDS = ("delivered", "deliveries", "used", "area", "short_time", "shortages")
_CARRIER_FIELDS = ("taken", "area_used", "area_coming", "none_free")
_STOP_FIELDS = ("count", "repair_time", "waiting_time", "spoilt")
_ZONE_FIELDS = ("entries", "inside")
_HAND_FIELDS = ("changes", "picks", "missed")
_CELL_FIELDS = (
    "created",
    "good",
    "scrapped",
    "consumed",
    "left_elsewhere",
    "wip_area",
    "wip_stays",
    "starts",
    "escapes",
)


@dataclass
class Record:
    """One replication.  Times are microseconds; lists follow the order of the flat cell's names."""

    replication: int
    reason: str = "horizon"
    ended_at: int = 0
    circle: list[str] = field(default_factory=list)
    full: list[str] = field(default_factory=list)  # stores that nothing empties and a standing machine fills
    hourly: list[int] = field(default_factory=list)
    lead_times: list[int] = field(default_factory=list)
    # Integrals over each interval of the whole run (`Plan.ends`), in unit-us; of stores, those with places.
    wip_by_hour: array[int] = field(default_factory=lambda: array("q"))
    levels_by_hour: list[array[int]] = field(default_factory=list)
    machines: list[list[int]] = field(default_factory=list)
    cycles: list[int] = field(default_factory=list)
    actors: list[list[int]] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    minutes: list[int] = field(default_factory=list)  # of each person at each station, where that is kept
    stations: dict[str, list[int]] = field(default_factory=dict)
    stores: dict[str, list[int]] = field(default_factory=dict)
    time_at: list[list[int]] = field(default_factory=list)
    highest: list[int] = field(default_factory=list)
    stops: dict[str, list[int]] = field(default_factory=dict)
    parts: dict[str, list[int]] = field(default_factory=dict)
    carriers: dict[str, list[int]] = field(default_factory=dict)
    cell: dict[str, int] = field(default_factory=dict)
    zones: dict[str, list[int]] = field(default_factory=dict)
    hands: dict[str, list[int]] = field(default_factory=dict)
    wip_highest: int = 0
    inside: int = 0
    path: list[int] = field(
        default_factory=list
    )  # elapsed time by cause, from the start to the last good unit
    path_plans: list[int] = field(default_factory=list)
    path_elapsed: int = 0
    path_forced: int = 0
    events: int = 0
    laws: list[str] = field(default_factory=list)  # laws that were checked
    violations: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.wip_by_hour = array("q", self.wip_by_hour)
        self.levels_by_hour = [array("q", row) for row in self.levels_by_hour]

    def as_dict(self) -> dict[str, Any]:
        """The record as plain data."""
        plain = {name: getattr(self, name) for name in self.__dataclass_fields__}
        plain["wip_by_hour"] = self.wip_by_hour.tolist()
        plain["levels_by_hour"] = [row.tolist() for row in self.levels_by_hour]
        return plain


@dataclass
class Reading:
    """Running totals of a run at one moment."""

    machines: list[list[int]]
    cycles: list[int]
    actors: list[list[int]]
    visits: list[int]
    minutes: list[int]
    stations: dict[str, list[int]]
    stores: dict[str, list[int]]
    time_at: list[list[int]]
    stops: dict[str, list[int]]
    parts: dict[str, list[int]]
    carriers: dict[str, list[int]]
    cell: dict[str, int]
    zones: dict[str, list[int]]
    hands: dict[str, list[int]]


def read(c: Any) -> Reading:
    """Read the running totals; they have been brought up to now by `SimpyRun.advance`."""
    return Reading(
        machines=[list(m.totals) for m in c.machines],
        cycles=[m.cycles for m in c.machines],
        actors=[list(actor.totals) for actor in c.actors],
        visits=[actor.visits for actor in c.actors],
        minutes=list(c.minutes),
        stations={name: [getattr(row, name) for row in c.stations] for name in _STATION_FIELDS},
        stores={name: [getattr(row, name) for row in c.stores] for name in _STORE_FIELDS},
        time_at=[list(row.time_at) for row in c.stores],
        stops=_stops(c),
        parts={name: [getattr(row, name) for row in c.stocks] for name in _PART_FIELDS},
        carriers={name: [getattr(row, name) for row in c.carrier_kinds] for name in _CARRIER_FIELDS},
        cell={name: getattr(c, name) for name in _CELL_FIELDS},
        zones={name: [getattr(row, name) for row in c.zones] for name in _ZONE_FIELDS},
        hands={name: [getattr(row, name) for row in c.actors] for name in _HAND_FIELDS},
    )


def _stops(c: Any) -> dict[str, list[int]]:
    """The totals of each cause; a stop under way has its part up to now, of the wait or of the repair."""
    found = {name: [getattr(row, name) for row in c.stops] for name in _STOP_FIELDS}
    for k, stop in enumerate(c.stops):
        if stop.active == 1 and stop.pending == 0:
            job = c.jobs[c.repair_base + k]
            begun = (job.was if job.state == L.PAUSED else job.state) == L.ACTIVE
            found["repair_time" if begun else "waiting_time"][k] += c.now - stop.began
    return found


def _minus(later: Any, earlier: Any) -> Any:
    if isinstance(later, dict):
        return {key: _minus(later[key], earlier[key]) for key in later}
    if isinstance(later, list):
        if later and isinstance(later[0], int):
            return [a - b for a, b in zip(later, earlier, strict=True)]
        return [_minus(a, b) for a, b in zip(later, earlier, strict=True)]
    return later - earlier


def fill(record: Record, before: Reading, after: Reading) -> None:
    """Write into the record what happened between two readings."""
    for name in Reading.__dataclass_fields__:
        setattr(record, name, _minus(getattr(after, name), getattr(before, name)))


def column(rows: Any, name: str) -> list[Any]:
    """One field of all rows of a kind."""
    return list(rows.column(name)) if hasattr(rows, "column") else [getattr(row, name) for row in rows]


def scattered(numbers: np.ndarray) -> np.ndarray:
    """Whole numbers that look random, one for each of these: the last step of Steele, Lea and Flood (2014).

    Fast splittable pseudorandom number generators, OOPSLA 2014 (constants from memory).
    """
    mixed = numbers.astype(np.uint64)
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return mixed ^ (mixed >> np.uint64(31))


class ExitCounter:
    """Counts the units that leave by hour, and keeps lead times scattered over all of them.

    Which are kept beyond LEAD_TIMES depends on the number of the unit alone, in no pattern: where units leave
    in batches, every second or fourth would always be the same one of a batch.
    """

    def __init__(self, record: Record, starts: list[int], ends: list[int], outlet: int) -> None:
        self.record, self.outlet = record, outlet
        self._starts, self._ends = np.array(starts, dtype=np.int64), np.array(ends, dtype=np.int64)
        self._seen, self._step = 0, 1
        self._marks = np.empty(0, dtype=np.uint64)  # of the lead times that are kept

    def take(self, run: SimpyRun) -> None:
        """Count what has left since the last time, which the run forgets.

        A unit belongs to the hour with start < time <= end.  One lead time in `_step` is kept.
        """
        record = self.record
        at, entered, store = run.take_exits().T
        hour = np.searchsorted(self._ends, at)
        counted = (store == self.outlet) & (hour < len(self._ends))
        counted[counted] = at[counted] > self._starts[hour[counted]]
        by_hour = np.bincount(hour[counted], minlength=len(self._ends)).tolist()
        record.hourly = [before + more for before, more in zip(record.hourly, by_hour, strict=True)]
        stays = (at - entered)[counted]
        marks = scattered(np.arange(self._seen, self._seen + len(stays)) + 1)
        self._seen += len(stays)
        kept = self._are_kept(marks)
        record.lead_times += stays[kept].tolist()
        self._marks = np.concatenate([self._marks, marks[kept]])
        while len(record.lead_times) > LEAD_TIMES:
            self._step *= 2
            kept = self._are_kept(self._marks)
            record.lead_times = np.array(record.lead_times)[kept].tolist()
            self._marks = self._marks[kept]

    def _are_kept(self, marks: np.ndarray) -> np.ndarray:
        return np.equal(marks % np.uint64(self._step), 0)


def counted_path(run: SimpyRun) -> tuple[list[int], list[int], int]:
    """Time by cause, its planned part, and elapsed time, from the start of counting to the last good unit."""
    c = run.state
    return *run.walk_back(counted=True), max(0, c.path[c.last_good].end - c.counting_from)


def standstill(c: Any, names: Any) -> list[str]:
    """Why nothing can ever start again, in words: a full store, a circular wait, or who waits for what.

    Nothing when the cell has merely come to an end: all units that were to come have come.
    """
    held = [f"{names.machines[i]} holds a unit for {names.stores[s]}" for i, s in dead_ends(c)]
    circle = held or find_circle(c, names)
    if circle or c.stores[c.release_store].kind != L.RAW:
        return circle
    words = []
    for i, m in enumerate(c.machines):
        if m.progress == L.DONE and m.outlet >= 0:
            words.append(f"{names.machines[i]} holds a unit for {names.stores[m.outlet]}")
        elif m.progress == L.EMPTY:
            words.append(f"{names.machines[i]} is {L.MACHINE_STATES[m.state]}")
    return words + robots_with_units(c, names)


def dead_ends(c: Any) -> list[tuple[int, int]]:
    """(machine, store) of all finished units that wait for a full store from which nothing takes."""
    found = []
    for i, m in enumerate(c.machines):
        if m.progress == L.DONE and m.outlet >= 0:
            store = c.stores[m.outlet]
            full = store.kind == L.HAND_OVER or store.level + store.reserved + m.units > store.places
            if store.takers == 0 and store.kind in (L.PLACES, L.HAND_OVER) and full:
                found.append((i, m.outlet))
    return found


def find_circle(c: Any, names: Any) -> list[str]:
    """The machines and stores of a circular wait as words, or nothing when nobody waits in a circle.

    A machine with a finished unit waits for its outlet; a full outlet, or one without places, waits for
    the machines that take from it; those wait in turn if they hold something themselves.  A robot that does
    not check its target waits with its unit for the machines there, which may wait for the robot.
    """
    next_of: dict[int, list[tuple[int, str]]] = {}
    for i, m in enumerate(c.machines):
        if m.progress != L.DONE or m.outlet < 0:
            continue
        station = c.stations[m.station]
        ways = c.outlets[station.first_outlet : station.first_outlet + station.outlets]
        outlets = [way.store for way in ways] if m.choosing else [m.outlet]
        next_of[i] = []
        for s in outlets:
            store = c.stores[s]
            takers = c.takers[store.first_taker : store.first_taker + store.takers]
            saying = f"{names.machines[i]} holds a unit for {names.stores[s]}"
            next_of[i] += [(x, saying) for x in takers]
    next_of |= waits_of_robots(c, names)
    # A machine is stuck for good when all machines it waits for are stuck too.
    stuck = {i for i in next_of}
    changed = True
    while changed:
        changed = False
        for i in list(stuck):
            takers = next_of[i]
            if not takers or any(x not in stuck for x, _ in takers):
                stuck.discard(i)
                changed = True
    return circle_words({i: next_of[i] for i in stuck}) if stuck else []


def circle_words(next_of: dict[int, list[tuple[int, str]]]) -> list[str]:
    """The words along one circle among those who wait for each other only."""
    seen: list[int] = [min(next_of)]
    words: list[str] = []
    while True:
        i = seen[-1]
        following, saying = min(next_of[i])
        words.append(saying)
        if following in seen:
            return words[seen.index(following) :]
        seen.append(following)
