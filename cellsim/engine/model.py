"""Resolved description -> flat model: every name becomes an index, every law a row, every list a slice.

`compile_cell` is done once per cell; `FlatCell.fresh` makes the state of one replication from it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import (
    FINISHED,
    OUT,
    RELEASE,
    Cell,
    Element,
    Law,
    Need,
    Post,
    Robot,
    Station,
    Stop,
)
from cellsim.describe.cell import RAW as RAW_PREFIX
from cellsim.engine import layout as L
from cellsim.engine.calendars import Pattern, start_of_run, week_pattern
from cellsim.engine.draws import compile_law, restart, stream_key

CRITERIA = {
    "longest waiting": L.LONGEST_WAITING,
    "downstream first": L.DOWNSTREAM_FIRST,
    "upstream first": L.UPSTREAM_FIRST,
    "listed order": L.LISTED_ORDER,
}
PHASES = {
    "work": L.WORK,
    "fetch": L.FETCH,
    "load": L.LOAD,
    "unload": L.UNLOAD,
    "deliver": L.DELIVER,
    "return": L.RETURN,
}
BREAK_RULES = {
    "finish element": L.FINISH_ELEMENT,
    "full length": L.FULL_LENGTH,
    "suspend": L.SUSPEND,
    "do not start": L.DO_NOT_START,
}
CLOCKS = {"running": L.RUNNING_TIME, "on time": L.ON_TIME, "cycles": L.CYCLES}
PART_RULES = {"continues": L.CONTINUES, "restarts": L.RESTARTS, "is scrapped": L.IS_SCRAPPED}
STEP = 1000  # ranks of neighbouring stations lie this far apart; machines of a station in between


def natural(name: str) -> list[tuple[int, int, str]]:
    """Sort key by which `M2` comes before `M10`."""
    return [(0, int(t), "") if t.isdigit() else (1, 0, t) for t in re.split(r"(\d+)", name) if t]


@dataclass
class Names:
    """The names behind the indices of a flat cell, for whoever reads a run."""

    stations: list[str] = field(default_factory=list)
    machines: list[str] = field(default_factory=list)
    stores: list[str] = field(default_factory=list)
    actors: list[str] = field(default_factory=list)
    posts: list[str] = field(default_factory=list)  # post or robot of each actor
    skills: list[str] = field(default_factory=list)
    stops: list[tuple[str, str]] = field(default_factory=list)  # (machine or robot, cause)
    stop_groups: list[tuple[str, str]] = field(default_factory=list)  # (station or robot, cause)
    steps: list[str] = field(default_factory=list)
    calendars: list[str] = field(default_factory=list)
    points: list[str] = field(default_factory=list)
    causes: list[tuple[str, str]] = field(default_factory=list)  # (who, what) of each cause of the path


class FlatCell:
    """A cell as tables of numbers, with the names behind them."""

    def __init__(self, cell: Cell) -> None:
        self.cell = cell
        self.names = Names()
        self.state = L.State()
        self.streams: list[tuple[str, str]] = []
        self._law_rows: dict[Law, int] = {}
        self._need_rows: dict[tuple[tuple[int, int], ...], int] = {}
        self._table: list[float] = []
        self._travel_rows: dict[tuple[tuple[str, str, int], ...], int] = {}
        self._zero = start_of_run(cell)
        self._calendar_rows: dict[tuple[tuple[str, ...], bool], int] = {}

    # Small tables --------------------------------------------------------------------------------------

    def law(self, law: Law) -> int:
        """Row of a law."""
        if law not in self._law_rows:
            row = L.ROWS["law"]()
            for key, value in compile_law(law, self._table).items():
                setattr(row, key, value)
            self.state.laws.append(row)
            self._law_rows[law] = len(self.state.laws) - 1
        return self._law_rows[law]

    def stream(self, name: str, purpose: str) -> int:
        """Row of a stream of random numbers; equal names and purposes are told apart by a number."""
        if (name, purpose) in self.streams:
            k = 2
            while (name, f"{purpose} {k}") in self.streams:
                k += 1
            purpose = f"{purpose} {k}"
        row = L.ROWS["stream"]()
        row.key0 = stream_key(name, purpose)
        self.state.streams.append(row)
        self.streams.append((name, purpose))
        return len(self.streams) - 1

    def need(self, by: tuple[Need, ...]) -> int:
        """First row of a list of needs; equal lists share their rows."""
        key = tuple((self.names.skills.index(n.skill), n.people) for n in by)
        if key not in self._need_rows:
            self._need_rows[key] = len(self.state.needs)
            for skill, people in key:
                row = L.ROWS["need"]()
                row.skill, row.people = skill, people
                self.state.needs.append(row)
        return self._need_rows[key]

    def cause(self, who: str, what: str) -> int:
        """Row of a cause of the path."""
        if (who, what) not in self.names.causes:
            self.names.causes.append((who, what))
        return self.names.causes.index((who, what))

    def point(self, name: str) -> int:
        """Index of a point where people or robots stand, -1 where travel is not given for it."""
        return self.names.points.index(name) if name in self.names.points else -1

    def calendar(self, shifts: tuple[str, ...], breaks_count: bool = True) -> int:
        """Row of the calendar of those who follow these shifts."""
        key = (tuple(sorted(shifts)), breaks_count)
        if key not in self._calendar_rows:
            chosen = tuple(shift for shift in self.cell.shifts if shift.name in shifts)
            pattern = week_pattern(chosen, self._zero, breaks_count)
            self._calendar_rows[key] = len(self.state.calendars)
            self._add_calendar(
                pattern, ", ".join(shifts) if breaks_count else ", ".join(shifts) + " through breaks"
            )
        return self._calendar_rows[key]

    def _add_calendar(self, pattern: Pattern, name: str) -> None:
        row = L.ROWS["calendar"]()
        row.state, row.first_edge, row.edges = pattern.state, len(self.state.edges), len(pattern.edges)
        row.period = pattern.period
        for edge in pattern.edges:
            e = L.ROWS["edge"]()
            e.at, e.state, e.rule, e.length = edge.at, edge.state, edge.rule, edge.length
            self.state.edges.append(e)
        self.state.calendars.append(row)
        self.names.calendars.append(name)

    # People and points ---------------------------------------------------------------------------------

    def add_points(self) -> None:
        """Every point that a travel table names."""
        tables = [post.travel for post in self.cell.posts] + [robot.travel for robot in self.cell.robots]
        points = {p for table in tables for start, end, _ in table for p in (start, end)}
        self.names.points = sorted(points, key=natural)
        self.state.point_count = len(points)

    def travel(self, table: tuple[tuple[str, str, int], ...]) -> int:
        """First entry of a from-to matrix of travel times, -1 for nobody who needs time."""
        if not table:
            return -1
        if table not in self._travel_rows:
            count = len(self.names.points)
            first = len(self.state.travel)
            self.state.travel.extend([0] * (count * count))
            for start, end, time in table:
                self.state.travel[first + self.point(start) * count + self.point(end)] = time
            self._travel_rows[table] = first
        return self._travel_rows[table]

    def add_people(self) -> None:
        """Persons and robots in natural order of their names, and who can do what."""
        c, names = self.state, self.names
        everyone: list[tuple[str, Any, bool]] = []
        for post in self.cell.posts:
            for k in range(post.people):
                everyone.append((post.name if post.people == 1 else f"{post.name} {k + 1}", post, False))
        everyone += [(robot.name, robot, True) for robot in self.cell.robots]
        everyone.sort(key=lambda one: natural(one[0]))
        skills = {name for post in self.cell.posts for name in (post.name, *(s for s, _ in post.skills))}
        names.skills = sorted(skills | {robot.name for robot in self.cell.robots}, key=natural)
        c.skill_count = len(names.skills)
        for name, who, is_robot in everyone:
            actor = L.ROWS["actor"]()
            factors = dict([(who.name, 1.0)] if is_robot else [(who.name, 1.0), *who.skills])
            actor.robot, actor.job, actor.first_ability = int(is_robot), -1, len(c.abilities)
            c.abilities.extend(factors.get(skill, 0.0) for skill in names.skills)
            if is_robot:
                actor.calendar = self.calendar(tuple(shift.name for shift in self.cell.shifts), False)
            else:
                actor.calendar = self.calendar(who.shifts)
                actor.at_break = BREAK_RULES[who.at_break]
                actor.careful = int(actor.at_break == L.DO_NOT_START)
            actor.overtaking = 1 if is_robot else int(who.overtaking)
            actor.serves = [CRITERIA[x] for x in (*who.serves, "longest waiting", "downstream first")[:2]]
            actor.first_travel = self.travel(who.travel)
            actor.point = max(0, self.point(who.starts_at))
            actor.duty = c.calendars[actor.calendar].state
            actor.present = int(actor.duty == L.ON)
            actor.state = L.A_FREE if actor.present else L.A_BREAK if actor.duty == L.BREAK else L.A_OFF
            actor.travel_cause = self.cause(who.name, "travelling" if is_robot else "walking")
            c.actors.append(actor)
            names.actors.append(name)
            names.posts.append(who.name)
        c.actor_count = len(c.actors)
        for k, _ in enumerate(names.skills):
            row = L.ROWS["skill"]()
            row.first_able = len(c.able)
            c.able.extend(a for a, actor in enumerate(c.actors) if c.abilities[actor.first_ability + k] > 0)
            row.able = len(c.able) - row.first_able
            c.skills.append(row)

    # Stores and stations -------------------------------------------------------------------------------

    def add_stores(self) -> None:
        """The stores of the description, raw material and outlets, in natural order of their names."""
        c, cell = self.state, self.cell
        named = {store.name: store for store in cell.stores}
        others = {s for station in cell.stations for s, _ in station.takes}
        others |= {outlet.store for station in cell.stations for outlet in station.outlets}
        self.names.stores = sorted({*named, *others, RELEASE, FINISHED}, key=natural)
        for name in self.names.stores:
            row = L.ROWS["store"]()
            row.head = row.tail = row.first_offer = row.last_offer = -1
            row.places, row.bin_width, row.kind = L.UNLIMITED, 1, L.PLACES
            if name == FINISHED or name.startswith(OUT):
                row.kind, row.counts = L.OUTLET, int(name == FINISHED)
            elif name.startswith(RAW_PREFIX) or (
                name == RELEASE and cell.release.kind == "as much as it takes"
            ):
                row.kind = L.RAW
            elif name in named and named[name].places is not None:
                places = named[name].places or 0
                row.kind = L.PLACES if places else L.HAND_OVER
                row.places, row.limited = places, int(places > 0)
                row.bin_width = max(1, -(-(places + 1) // L.LEVEL_BINS))
            takers = [k for k, station in enumerate(cell.stations) if name in dict(station.takes)]
            row.first_taker, row.takers = len(c.takers), len(takers)
            c.takers.extend(takers)
            c.stores.append(row)
        c.store_count = len(c.stores)
        c.release_store = self.names.stores.index(RELEASE)

    def store(self, name: str) -> int:
        """Index of a store."""
        return self.names.stores.index(name)

    def add_step(self, station: Station, k: int, element: Element, effect: int = 0) -> None:
        """One step of a cycle or visit, behind those already there."""
        row = L.ROWS["step"]()
        robots = {robot.name: robot for robot in self.cell.robots}
        row.kind, row.effect, row.station = PHASES[element.phase], effect, k
        row.law, row.stream = self.law(element.time), self._step_stream(station, element)
        row.first_need, row.needs = self.need(element.by), len(element.by)
        row.at_machine = int(element.phase in ("load", "unload"))
        row.robot = int(bool(element.by) and all(n.skill in robots for n in element.by))
        at = element.at
        if not at and element.phase in ("work", "load", "unload"):
            at = station.name
        elif not at and element.phase == "fetch":
            at = station.takes[0][0]
        elif not at and element.phase == "deliver":
            at = station.outlets[0].store
        elif not at and row.robot:
            at = robots[element.by[0].skill].starts_at
        row.point = self.point(at)
        row.cause = self.cause(station.name, "work" if element.phase == "work" else "handling")
        row.plan = round(laws.mean(element.time))
        self.state.steps.append(row)
        self.names.steps.append(element.name)

    def _step_stream(self, station: Station, element: Element) -> int:
        key = (station.name, f"element {station.work.index(element) + 1} {element.name}")
        return self.streams.index(key) if key in self.streams else self.stream(*key)

    def add_visits(self, station: Station, k: int, row: Any) -> None:
        """The scripts of the visits to a station: load an empty machine, exchange, unload only."""
        by_phase: dict[str, list[Element]] = {phase: [] for phase in PHASES}
        for element in station.work:
            by_phase[element.phase].append(element)
        fetch, load, unload = by_phase["fetch"], by_phase["load"], by_phase["unload"]
        deliver, back = by_phase["deliver"], by_phase["return"]
        loads = fetch + load
        row.one_visit = int(station.one_visit and bool(loads) and bool(unload))
        grippers = {robot.name: robot.double_gripper for robot in self.cell.robots}
        double = any(grippers.get(need.skill, False) for element in load + unload for need in element.by)
        scripts = {
            "start": loads + back if loads else [],
            "exchange": (fetch + unload + load + deliver if double else unload + deliver + loads) + back,
            "end": unload + deliver + back if unload else [],
        }
        if not row.one_visit:
            scripts["exchange"] = []
        for script, count in (("start", "starts"), ("exchange", "exchanges"), ("end", "ends")):
            setattr(row, f"first_{script}", len(self.state.steps))
            setattr(row, count, len(scripts[script]))
            for element in scripts[script]:
                effect = L.LOADS if loads and element is loads[-1] else 0
                if unload and element is unload[-1]:
                    effect = L.TAKES_OFF | (0 if deliver else L.DELIVERS)
                if deliver and element is deliver[-1]:
                    effect = L.DELIVERS
                self.add_step(station, k, element, effect)

    def add_stations(self) -> None:
        """Stations with their steps, inputs, outlets, verdicts and machines, upstream first."""
        c = self.state
        everywhere = self.calendar(tuple(shift.name for shift in self.cell.shifts))
        for k, station in enumerate(self.cell.stations):
            row = L.ROWS["station"]()
            row.first_machine, row.machines, row.rank = len(c.machines), station.machines, k * STEP
            row.priority, row.gives, row.calendar = station.priority, station.gives, everywhere
            row.runs_through = int(station.runs_through_breaks)
            work = [element for element in station.work if element.phase == "work"]
            row.first_step, row.steps = len(c.steps), len(work)
            for element in work:
                self.add_step(station, k, element)
            self.add_visits(station, k, row)
            row.reserves = int(station.reserves_outlet and row.ends == 0)
            row.first_input, row.inputs = len(c.inputs), len(station.takes)
            for name, units in station.takes:
                entry = L.ROWS["input"]()
                entry.store, entry.units = self.store(name), units
                c.inputs.append(entry)
            row.first_outlet, row.outlets = len(c.outlets), len(station.outlets)
            total = 0.0
            for outlet in station.outlets:
                entry = L.ROWS["outlet"]()
                total += outlet.share
                entry.store, entry.upto, entry.front = self.store(outlet.store), total, int(outlet.in_front)
                c.outlets.append(entry)
            row.outlet_stream = self.stream(station.name, "outlet")
            self._add_verdicts(station, row)
            c.stations.append(row)
            self.names.stations.append(station.name)
            for number in range(station.machines):
                self._add_machine(station, k, number)
        c.machine_count = len(c.machines)
        self._add_feeders()

    def _add_feeders(self) -> None:
        """For each store the stations that begin something only when it has a place."""
        c = self.state
        for s, store in enumerate(c.stores):
            store.first_feeder = len(c.feeders)
            for k, row in enumerate(c.stations):
                outlets = c.outlets[row.first_outlet : row.first_outlet + row.outlets]
                waits = row.reserves or row.ends > 0
                if waits and (s == row.reject_store or any(outlet.store == s for outlet in outlets)):
                    c.feeders.append(k)
            store.feeders = len(c.feeders) - store.first_feeder

    def _add_verdicts(self, station: Station, row: Any) -> None:
        row.verdict_stream = self.stream(station.name, "verdict")
        row.reject_store = -1
        rejects = station.rejects
        if rejects is not None:
            row.judges, row.attempts = 1, rejects.attempts
            row.reject_share, row.reject_again = rejects.share, rejects.after_rework
            row.first_verdict, row.verdicts = len(self.state.verdicts), len(rejects.verdicts)
            self.state.verdicts.extend(int(good) for good in rejects.verdicts)
            row.reject_front = int(rejects.in_front)
            if rejects.to:
                row.reject_store = self.store(rejects.to)

    def _add_machine(self, station: Station, k: int, number: int) -> None:
        c = self.state
        m = L.ROWS["machine"]()
        m.station, m.number, m.unit, m.next_offer = k, number, -1, -1
        m.rank = k * STEP + station.machines - number
        m.state = L.M_OFF if c.calendars[c.stations[k].calendar].state == L.OFF else L.M_STARVED
        name = station.name if station.machines == 1 else f"{station.name}.{number + 1}"
        m.first_stop = len(c.stops)
        m.stops = len(station.stops)
        for stop in station.stops:
            self._add_stop(stop, name, station.name, len(c.machines), 0, self.point(station.name))
        m.running_stops = sum(stop.clock == "running" for stop in station.stops)
        m.cycle_stops = sum(stop.clock == "cycles" for stop in station.stops)
        c.machines.append(m)
        self.names.machines.append(name)

    def _add_stop(self, stop: Stop, name: str, group: str, target: int, of_actor: int, point: int) -> None:
        row = L.ROWS["stop"]()
        row.target, row.of_actor, row.clock, row.point = target, of_actor, CLOCKS[stop.clock], point
        row.part = PART_RULES[stop.part]
        row.calendar = self.calendar(tuple(shift.name for shift in self.cell.shifts))
        row.every_law, row.lasts_law = self.law(stop.every), self.law(stop.lasts)
        row.every_stream = self.stream(name, f"stop {stop.name} every")
        row.lasts_stream = self.stream(name, f"stop {stop.name} lasts")
        row.first_need, row.needs = self.need(stop.repaired_by), len(stop.repaired_by)
        row.cause = self.cause(group, f"stop: {stop.name}")
        row.waiting_cause = self.cause(group, f"waiting for repair: {stop.name}")
        self.state.stops.append(row)
        self.names.stops.append((name, stop.name))
        self.names.stop_groups.append((group, stop.name))

    def add_robot_stops(self) -> None:
        """The stops of robots."""
        robots = {robot.name: robot for robot in self.cell.robots}
        for a, actor in enumerate(self.state.actors):
            robot = robots.get(self.names.posts[a]) if actor.robot else None
            stops = robot.stops if robot else ()
            actor.first_stop, actor.stops = len(self.state.stops), len(stops)
            actor.running_stops = sum(stop.clock == "running" for stop in stops)
            actor.cycle_stops = sum(stop.clock == "cycles" for stop in stops)
            for stop in stops:
                self._add_stop(stop, self.names.actors[a], self.names.actors[a], a, 1, -1)

    # Jobs and who may serve them -----------------------------------------------------------------------

    def add_jobs(self) -> None:
        """The jobs of machines, visits and repairs, and for each person the jobs that he or she may serve."""
        c = self.state
        c.visit_base, c.repair_base = c.machine_count, 2 * c.machine_count
        c.stop_count = len(c.stops)
        robot_stops = any(actor.running_stops for actor in c.actors)
        for j in range(2 * c.machine_count):
            i = j % c.machine_count
            m = c.machines[i]
            job = L.ROWS["job"]()
            job.priority, job.rank = c.stations[m.station].priority, m.rank * STEP + (j < c.machine_count)
            job.place = m.station * STEP + m.number
            job.counts = int(robot_stops or (j < c.machine_count and m.running_stops > 0))
            job.unit = job.held = -1
            c.jobs.append(job)
        by_name = {
            (station.name, stop.name): stop.priority
            for station in self.cell.stations
            for stop in station.stops
        }
        by_name |= {
            (robot.name, stop.name): stop.priority for robot in self.cell.robots for stop in robot.stops
        }
        for k, stop in enumerate(c.stops):
            job = L.ROWS["job"]()
            job.priority = by_name[self.names.stop_groups[k]]
            m_rank = c.machines[stop.target].rank if not stop.of_actor else len(c.stations) * STEP
            job.rank = m_rank * STEP + STEP - 1 - k % (STEP - 2)
            job.place = m_rank
            job.need, job.needs = stop.first_need, stop.needs
            job.counts = int(robot_stops)
            job.unit = job.held = -1
            c.jobs.append(job)
        c.job_count = len(c.jobs)
        for a, actor in enumerate(c.actors):
            actor.first_candidate = len(c.candidates)
            c.candidates.extend(j for j in range(c.job_count) if self._may_serve(actor, j))
            actor.candidates = len(c.candidates) - actor.first_candidate
            if L.LISTED_ORDER in actor.serves:
                self._add_listed(a, actor)

    def _may_serve(self, actor: Any, j: int) -> bool:
        c = self.state
        if j >= c.repair_base:
            spans = [(c.stops[j - c.repair_base].first_need, c.stops[j - c.repair_base].needs)]
        else:
            station = c.stations[c.machines[j % c.machine_count].station]
            if j < c.visit_base:
                steps = range(station.first_step, station.first_step + station.steps)
            else:
                last = max(station.first_start + station.starts, station.first_end + station.ends)
                steps = range(station.first_start, last)
            spans = [(c.steps[x].first_need, c.steps[x].needs) for x in steps]
        skills = {c.needs[n].skill for first, count in spans for n in range(first, first + count)}
        return any(c.abilities[actor.first_ability + skill] > 0 for skill in skills)

    def _add_listed(self, a: int, actor: Any) -> None:
        c = self.state
        everyone: tuple[Post | Robot, ...] = (*self.cell.posts, *self.cell.robots)
        who = next(one for one in everyone if one.name == self.names.posts[a])
        order = {name: k for k, name in enumerate(who.listed)}
        actor.first_listed = len(c.listed)
        for j in range(c.job_count):
            if j < c.repair_base:
                name = self.names.stations[c.machines[j % c.machine_count].station]
            else:
                name = self.names.stop_groups[j - c.repair_base][0]
            c.listed.append(order.get(name, len(order)))

    # The whole -----------------------------------------------------------------------------------------

    def build(self) -> FlatCell:
        """Fill all tables."""
        c, cell = self.state, self.cell
        self.cause("cell", "start of the run")
        self.add_points()
        self.add_people()
        self.add_stores()
        self.add_stations()
        self.add_robot_stops()
        self.add_jobs()
        c.cell_calendar = self.calendar(tuple(shift.name for shift in cell.shifts))
        c.calendar_count = len(c.calendars)
        c.cause_calendar = self.cause("calendar", "breaks and off hours")
        c.cause_release = self.cause("release", "waiting for raw units")
        c.cause_wait = self.cause("cell", "waiting in turn")
        c.cause_count = len(self.names.causes)
        c.card_limit = cell.release.cards if cell.release.kind == "cards" else 0
        c.release_law = -1
        if cell.release.every is not None:
            c.release_law, c.release_stream = self.law(cell.release.every), self.stream("release", "every")
        c.arrivals = list(cell.release.at)
        c.release_count = len(c.arrivals)
        c.table = self._table
        return self

    @property
    def start_of_run(self) -> int:
        """Microseconds after Monday 00:00 at which time 0 of a run lies."""
        return self._zero

    def starts_with(self) -> list[tuple[int, int]]:
        """(store, units) that stand in the stores when a run starts empty."""
        return [(self.store(s.name), s.starts_with) for s in self.cell.stores if s.starts_with]


def compile_cell(cell: Cell) -> FlatCell:
    """The flat model of a resolved cell."""
    return FlatCell(cell).build()


def fresh(flat: FlatCell, seed: int, replication: int, scratch: L.State | None = None) -> L.State:
    """The state of one replication before its first instant.

    `scratch` may be the state of an earlier replication that nobody needs any more: its long lists are used
    again.
    """
    template = flat.state
    c = L.State()
    for name in L.SCALARS:
        setattr(c, name, getattr(template, name))
    for name, kind in L.ARRAYS:
        rows = getattr(template, name)
        setattr(c, name, rows[:] if kind in (L.INT, L.REAL) else [_copy(row, kind) for row in rows])
    for stream in c.streams:
        restart(stream, seed, replication)
    due = 2 * c.job_count + 2 * c.stop_count + c.calendar_count + c.actor_count + 8
    path = max(16384, 16 * due)
    c.path_limit = path - 4 * due
    if scratch is not None:
        c.due, c.path, c.parts, c.exits, c.notes = (
            scratch.due,
            scratch.path,
            scratch.parts,
            scratch.exits,
            scratch.notes,
        )
    else:
        c.due, c.path, c.exits = L.rows("due", due), L.rows("path", path), L.rows("exit", 1024)
    c.path[0].before, c.path[0].cause, c.path[0].end, c.path[0].plan = -1, 0, 0, 0
    c.path_count = 1
    c.path_totals, c.path_plans = [0] * c.cause_count, [0] * c.cause_count
    c.woken = [0] * c.machine_count
    c.free_part, c.free_parts, c.parts_made = -1, 0, 0
    give_parts(c, max(len(c.parts), 256))
    return c


def _copy(row: Any, kind: str) -> Any:
    new = L.ROWS[kind]()
    for name, _, length in L.FIELDS[kind]:
        value = getattr(row, name)
        setattr(new, name, list(value) if length else value)
    return new


def give_parts(c: L.State, count: int) -> None:
    """Make room for units until there are `count` rows for them."""
    while len(c.parts) < count:
        c.parts.append(L.ROWS["part"]())
    for u in range(c.parts_made, count):
        part = c.parts[u]
        part.inside = part.node = 0
        part.next = c.free_part
        c.free_part = u
        c.free_parts += 1
    c.parts_made = count
