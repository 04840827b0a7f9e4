"""Stores, stations with their steps and visits, machines and their stops."""

from __future__ import annotations

from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, OUT, RELEASE, Element, Station, Stop
from cellsim.describe.cell import RAW as RAW_PREFIX
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell, natural
from cellsim.engine.tables_variants import add_changeover, add_choices, add_holding, add_laws, mask

PHASES = {
    "work": L.WORK,
    "fetch": L.FETCH,
    "load": L.LOAD,
    "unload": L.UNLOAD,
    "deliver": L.DELIVER,
    "return": L.RETURN,
}
CLOCKS = {"running": L.RUNNING_TIME, "on time": L.ON_TIME, "cycles": L.CYCLES}
PART_RULES = {"continues": L.CONTINUES, "restarts": L.RESTARTS, "is scrapped": L.IS_SCRAPPED}
WAYS = {
    "": L.BY_SHARE,
    "first free": L.FIRST_FREE,
    "shortest wait": L.SHORTEST_WAIT,
    "in turn": L.IN_TURN,
}
STEP = 1000  # ranks of neighbouring stations lie this far apart; machines of a station in between


def add_stores(flat: FlatCell) -> None:
    """The stores of the description, raw material and outlets, in natural order of their names."""
    c, cell = flat.state, flat.cell
    named = {store.name: store for store in cell.stores}
    others = {s for station in cell.stations for s, _ in station.takes}
    others |= {outlet.store for station in cell.stations for outlet in station.outlets}
    flat.names.stores = sorted({*named, *others, RELEASE, FINISHED}, key=natural)
    for name in flat.names.stores:
        row = L.ROWS["store"]()
        row.head = row.tail = row.first_offer = row.last_offer = -1
        row.places, row.bin_width, row.kind = L.UNLIMITED, 1, L.PLACES
        if name == FINISHED or name.startswith(OUT):
            row.kind, row.counts = L.OUTLET, int(name == FINISHED)
        elif name.startswith(RAW_PREFIX) or (name == RELEASE and cell.release.kind == "as much as it takes"):
            row.kind = L.RAW
        elif name in named and named[name].places is not None:
            places = named[name].places or 0
            row.kind = L.PLACES if places else L.HAND_OVER
            row.places, row.limited = places, int(places > 0)
            row.bin_width = max(1, -(-(places + 1) // L.LEVEL_BINS))
        c.stores.append(row)
    for store in cell.stores:
        add_holding(flat, store, c.stores[flat.store(store.name)])
    c.store_count = len(c.stores)
    c.release_store = flat.names.stores.index(RELEASE)


def add_step(flat: FlatCell, station: Station, k: int, element: Element, effect: int = 0) -> None:
    """One step of a cycle or visit, behind those already there."""
    row = L.ROWS["step"]()
    robots = {robot.name: robot for robot in flat.cell.robots}
    row.kind, row.effect, row.station = PHASES[element.phase], effect, k
    row.law, row.stream = flat.law(element.time), _step_stream(flat, station, element)
    row.first_need, row.needs = flat.need(element.by), len(element.by)
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
    row.point = flat.point(at)
    row.cause = flat.cause(station.name, "work" if element.phase == "work" else "handling")
    row.plan = round(laws.mean(element.time))
    add_laws(flat, row, element)
    flat.state.steps.append(row)
    flat.names.steps.append(element.name)


def _step_stream(flat: FlatCell, station: Station, element: Element) -> int:
    key = (station.name, f"element {station.work.index(element) + 1} {element.name}")
    return flat.streams.index(key) if key in flat.streams else flat.stream(*key)


def add_visits(flat: FlatCell, station: Station, k: int, row: Any) -> None:
    """The scripts of the visits to a station: load an empty machine, exchange, unload only."""
    by_phase: dict[str, list[Element]] = {phase: [] for phase in PHASES}
    for element in station.work:
        by_phase[element.phase].append(element)
    fetch, load, unload = by_phase["fetch"], by_phase["load"], by_phase["unload"]
    deliver, back = by_phase["deliver"], by_phase["return"]
    loads = fetch + load
    row.one_visit = int(station.one_visit and bool(loads) and bool(unload))
    grippers = {robot.name: robot.double_gripper for robot in flat.cell.robots}
    double = any(grippers.get(need.skill, False) for element in load + unload for need in element.by)
    scripts = {
        "start": loads + back if loads else [],
        "exchange": (fetch + unload + load + deliver if double else unload + deliver + loads) + back,
        "end": unload + deliver + back if unload else [],
    }
    if not row.one_visit:
        scripts["exchange"] = []
    for script, count in (("start", "starts"), ("exchange", "exchanges"), ("end", "ends")):
        setattr(row, f"first_{script}", len(flat.state.steps))
        setattr(row, count, len(scripts[script]))
        for element in scripts[script]:
            effect = L.LOADS if loads and element is loads[-1] else 0
            if unload and element is unload[-1]:
                effect = L.TAKES_OFF | (0 if deliver else L.DELIVERS)
            if deliver and element is deliver[-1]:
                effect = L.DELIVERS
            add_step(flat, station, k, element, effect)


def add_stations(flat: FlatCell) -> None:
    """Stations with their steps, inputs, outlets, verdicts and machines, upstream first."""
    c = flat.state
    everywhere = flat.calendar(tuple(shift.name for shift in flat.cell.shifts))
    for k, station in enumerate(flat.cell.stations):
        row = L.ROWS["station"]()
        row.first_machine, row.machines, row.rank = len(c.machines), station.machines, k * STEP
        row.priority, row.gives, row.calendar = station.priority, station.gives, everywhere
        row.runs_through = int(station.runs_through_breaks)
        state = c.calendars[everywhere].state
        row.open = int(state != L.OFF and (state != L.BREAK or station.runs_through_breaks))
        work = [element for element in station.work if element.phase == "work"]
        row.first_step, row.steps = len(c.steps), len(work)
        for element in work:
            add_step(flat, station, k, element)
        add_visits(flat, station, k, row)
        row.reserves = int(station.reserves_outlet and row.ends == 0)
        row.first_input, row.inputs = len(c.inputs), len(station.takes)
        for name, units in station.takes:
            entry = L.ROWS["input"]()
            entry.store, entry.units = flat.store(name), units
            c.inputs.append(entry)
        row.first_outlet, row.outlets = len(c.outlets), len(station.outlets)
        total = 0.0
        for outlet in station.outlets:
            entry = L.ROWS["outlet"]()
            total += outlet.share
            entry.store, entry.upto, entry.front = flat.store(outlet.store), total, int(outlet.in_front)
            entry.variants = mask(flat, outlet.variants)
            c.outlets.append(entry)
        row.outlet_stream = flat.stream(station.name, "outlet")
        row.chooses = WAYS[station.chooses]
        row.inner = -1
        _add_verdicts(flat, station, row)
        c.stations.append(row)
        flat.names.stations.append(station.name)
        add_choices(flat, station, row)
        add_changeover(flat, station, row)
        for number in range(station.machines):
            _add_machine(flat, station, k, number)
    c.machine_count, c.station_count = len(c.machines), len(c.stations)
    _add_neighbours(flat)


def _add_neighbours(flat: FlatCell) -> None:
    """For each store the machines that take from it, and those that begin only when it has a place."""
    c = flat.state
    for s, store in enumerate(c.stores):
        store.first_taker, store.first_feeder = len(c.takers), len(c.feeders)
        for row in c.stations:
            machines = range(row.first_machine, row.first_machine + row.machines)
            inputs = c.inputs[row.first_input : row.first_input + row.inputs]
            if any(entry.store == s for entry in inputs):
                c.takers.extend(machines)
            outlets = c.outlets[row.first_outlet : row.first_outlet + row.outlets]
            waits = row.reserves or row.ends > 0 or row.chooses == L.FIRST_FREE
            if waits and (s == row.reject_store or any(outlet.store == s for outlet in outlets)):
                c.feeders.extend(machines)
        store.takers, store.feeders = len(c.takers) - store.first_taker, len(c.feeders) - store.first_feeder
        store.shared = int(store.takers > 1)
    for row in c.stations:
        goals = [c.stores[o.store] for o in c.outlets[row.first_outlet : row.first_outlet + row.outlets]]
        for store in goals if row.chooses == L.FIRST_FREE else []:
            if store.kind == L.HAND_OVER:
                for i in c.takers[store.first_taker : store.first_taker + store.takers]:
                    c.stations[c.machines[i].station].beckons = 1


def _add_verdicts(flat: FlatCell, station: Station, row: Any) -> None:
    row.verdict_stream = flat.stream(station.name, "verdict")
    row.reject_store = -1
    rejects = station.rejects
    if rejects is not None:
        row.judges, row.attempts = 1, rejects.attempts
        row.reject_share, row.reject_again = rejects.share, rejects.after_rework
        row.first_verdict, row.verdicts = len(flat.state.verdicts), len(rejects.verdicts)
        flat.state.verdicts.extend(int(good) for good in rejects.verdicts)
        row.reject_front, row.reject_holds = int(rejects.in_front), int(rejects.holds)
        if rejects.to:
            row.reject_store = flat.store(rejects.to)


def _add_machine(flat: FlatCell, station: Station, k: int, number: int) -> None:
    c = flat.state
    m = L.ROWS["machine"]()
    m.station, m.number, m.unit, m.next_offer = k, number, -1, -1
    m.rank = k * STEP + station.machines - number
    m.state = L.M_OFF if c.calendars[c.stations[k].calendar].state == L.OFF else L.M_STARVED
    name = station.name if station.machines == 1 else f"{station.name}.{number + 1}"
    m.first_stop = len(c.stops)
    m.stops = len(station.stops)
    _add_stops(flat, station.stops, name, station.name, len(c.machines), 0, flat.point(station.name))
    m.cycle_stops = sum(stop.clock == "cycles" for stop in station.stops)
    c.machines.append(m)
    flat.names.machines.append(name)


def _add_stops(
    flat: FlatCell, stops: tuple[Stop, ...], name: str, group: str, target: int, of_actor: int, point: int
) -> int:
    """Rows for the stops of one machine or robot; its meter of running time, -1 where no stop asks for it."""
    c = flat.state
    meter = -1
    if any(stop.clock == "running" for stop in stops):
        meter = len(c.meters)
        row = L.ROWS["meter"]()
        row.first_stop, row.stops = len(c.stops), len(stops)
        c.meters.append(row)
    for stop in sorted(stops, key=lambda stop: natural(stop.name)):
        _add_stop(flat, stop, name, group, target, of_actor, point)
        c.stops[-1].meter = meter if stop.clock == "running" else -1
    return meter


def _add_stop(
    flat: FlatCell, stop: Stop, name: str, group: str, target: int, of_actor: int, point: int
) -> None:
    row = L.ROWS["stop"]()
    row.target, row.of_actor, row.clock, row.point = target, of_actor, CLOCKS[stop.clock], point
    row.part = PART_RULES[stop.part]
    row.calendar = flat.calendar(tuple(shift.name for shift in flat.cell.shifts))
    row.every_law, row.lasts_law = flat.law(stop.every), flat.law(stop.lasts)
    row.every_stream = flat.stream(name, f"stop {stop.name} every")
    row.lasts_stream = flat.stream(name, f"stop {stop.name} lasts")
    row.first_need, row.needs = flat.need(stop.repaired_by), len(stop.repaired_by)
    row.cause = flat.cause(group, f"stop: {stop.name}")
    row.waiting_cause = flat.cause(group, f"waiting for repair: {stop.name}")
    flat.state.stops.append(row)
    flat.names.stops.append((name, stop.name))
    flat.names.stop_groups.append((group, stop.name))


def add_robot_stops(flat: FlatCell) -> None:
    """The stops of robots."""
    robots = {robot.name: robot for robot in flat.cell.robots}
    for a, actor in enumerate(flat.state.actors):
        robot = robots.get(flat.names.posts[a]) if actor.robot else None
        stops = robot.stops if robot else ()
        actor.first_stop, actor.stops = len(flat.state.stops), len(stops)
        actor.cycle_stops = sum(stop.clock == "cycles" for stop in stops)
        actor.meter = _add_stops(flat, stops, flat.names.actors[a], flat.names.actors[a], a, 1, -1)
