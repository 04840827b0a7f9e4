"""Stores, stations with their steps and visits, machines and their stops."""

from __future__ import annotations

from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, OUT, RELEASE, Element, Law, Need, Robot, Station, Stop
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
CLOCKS = {"running": L.RUNNING_TIME, "on time": L.ON_TIME, "cycles": L.CYCLES, "units": L.UNITS}
PART_RULES = {"continues": L.CONTINUES, "restarts": L.RESTARTS, "is scrapped": L.IS_SCRAPPED}
MISPICK, RECOVERY = "mis-pick", "recovery"
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
        elif name.startswith(RAW_PREFIX) or (
            name == RELEASE and cell.release.kind in ("as much as it takes", "plan")
        ):
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


def add_step(
    flat: FlatCell, station: Station, k: int, element: Element, effect: int = 0, stream: int = -1
) -> None:
    """One step of a cycle, visit or move, behind those already there; times come from `stream` if given."""
    row = L.ROWS["step"]()
    robots = {robot.name: robot for robot in flat.cell.robots}
    row.kind, row.effect, row.station = PHASES[element.phase], effect, k
    row.law = flat.law(element.time)
    row.stream = stream if stream >= 0 else _step_stream(flat, station, element)
    needs = (*element.by, *(Need(thing) for thing in element.uses))
    row.first_need, row.needs, row.things = flat.need(needs), len(needs), len(element.uses)
    row.first_person = flat.need(element.by) if element.by else -1
    row.at_machine = int(element.phase in ("load", "unload"))
    row.robot = int(bool(needs) and all(n.skill in robots for n in element.by))
    at = element.at
    if not at and element.phase in ("work", "load", "unload"):
        at = station.name
    elif not at and element.phase == "fetch":
        at = station.takes[0][0]
    elif not at and element.phase == "deliver":
        at = station.outlets[0].store
    elif not at and row.robot:
        at = robots[element.by[0].skill].starts_at
    row.point, row.zones = flat.point(at), flat.zones_at(at)
    own = [robots[n.skill] for n in element.by if n.skill in robots]
    _add_hands(flat, station, row, element, own)
    row.cause = flat.cause(station.name, "work" if element.phase == "work" else "handling")
    person = any(need.skill not in robots for need in element.by)
    row.pace = 1.0 + station.allowance if person else 1.0
    slowness = max((1 / robot.speed for robot in own), default=1.0) if element.phase != "work" else 1.0
    row.plan = round(laws.mean(element.time) * row.pace * slowness)
    known = (*station.work, *station.extra)
    row.element = -1  # nobody gets quicker at what is no part of the cycle
    if element in known or stream >= 0:
        place = known.index(element) if stream < 0 else -1 - stream  # a move is no element of its station
        row.element = flat.elements.setdefault((station.name, place), len(flat.elements))
    add_laws(flat, row, element)
    flat.state.steps.append(row)
    flat.names.steps.append(element.name)


def add_extra_steps(flat: FlatCell, station: Station, k: int, row: Any) -> None:
    """The elements after the cycle, right behind it: the repair in place and the test of a sample."""
    row.repair_step = row.sample_step = -1
    repair = station.rejects.repair if station.rejects else None
    test = station.samples.test if station.samples else None
    for element, field, cause in (
        (repair, "repair_step", "repair in place"),
        (test, "sample_step", "samples"),
    ):
        if element is not None:
            setattr(row, field, len(flat.state.steps))
            add_step(flat, station, k, element)
            step = flat.state.steps[-1]
            step.extra, step.cause = 1, flat.cause(station.name, cause)
            flat.state.extras = 1


def _add_hands(flat: FlatCell, station: Station, row: Any, element: Element, own: list[Robot]) -> None:
    """The gripper that a step needs, and the picks in it that may fail."""
    row.gripper = -1
    for robot in own:
        gripper = dict(robot.grippers).get(station.name)
        if gripper is not None:
            row.gripper = flat.names.grippers.index(gripper)
        if robot.mispicks is not None and element.picks:
            row.picks = element.picks
            key = (robot.name, f"mis-picks at {station.name}, {element.name}")
            row.miss_stream = flat.streams.index(key) if key in flat.streams else flat.stream(*key)


def _step_stream(flat: FlatCell, station: Station, element: Element) -> int:
    if element not in station.work:
        return flat.stream(station.name, f"after the cycle {element.name}")
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


def _bar_change(station: Station) -> list[Element]:
    """What is done before the first unit of each bar; nothing where units do not come from bars."""
    bar = station.yields
    return [] if bar is None else [Element(f"{bar.per} change", bar.change, bar.by)]


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
        own = [element for element in station.work if element.phase == "work" and not element.inside]
        work = [*_bar_change(station), *own]
        row.first_step, row.steps = len(c.steps), len(work)
        for element in work:
            add_step(flat, station, k, element)
        inside = [element for element in station.work if element.inside]
        row.first_inside, row.insides = len(c.steps), len(inside)
        if inside:
            c.steps[next(x for x in range(row.first_step, len(c.steps)) if c.steps[x].needs == 0)].alone = 1
        for element in inside:
            add_step(flat, station, k, element)
        add_extra_steps(flat, station, k, row)
        add_visits(flat, station, k, row)
        moves = [move for robot in flat.cell.robots for move in robot.moves]
        row.carried_off = int(any(move.start == station.name for move in moves))
        row.brought = int(any(move.end == station.name for move in moves))
        row.reserves = int(station.reserves_outlet and row.ends == 0 and not row.carried_off)
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
    _mark_primed(flat)
    _add_neighbours(flat)


def _mark_primed(flat: FlatCell) -> None:
    """Which stations have a unit when a primed run begins: no batches, nor what only rejects reach."""
    stores = {store.name for store in flat.cell.stores if store.starts_with}
    stores |= {outlet.store for station in flat.cell.stations for outlet in station.outlets}
    for station, row in zip(flat.cell.stations, flat.state.stations, strict=True):
        raw = (RELEASE, RAW_PREFIX)
        fed = all(name in stores or name.startswith(raw) for name, _ in station.takes)
        row.primes = int(fed and station.batch is None)


def _add_neighbours(flat: FlatCell) -> None:
    """For each store the machines that take from it, and those that begin only when it has a place."""
    c = flat.state
    for s, store in enumerate(c.stores):
        store.first_taker, store.first_feeder = len(c.takers), len(c.feeders)
        for k, row in enumerate(c.stations):
            machines = range(row.first_machine, row.first_machine + row.machines)
            inputs = c.inputs[row.first_input : row.first_input + row.inputs]
            if any(entry.store == s for entry in inputs):
                c.takers.extend(machines)
            outlets = c.outlets[row.first_outlet : row.first_outlet + row.outlets]
            waits = row.reserves or row.ends > 0 or row.carried_off or flat.cell.stations[k].lots is not None
            waits = waits or row.chooses == L.FIRST_FREE
            goals = (row.reject_store, row.then_store, *(outlet.store for outlet in outlets))
            if waits and s in goals:
                c.feeders.extend(machines)
        store.takers, store.feeders = len(c.takers) - store.first_taker, len(c.feeders) - store.first_feeder
        store.shared = int(store.takers > 1)
    for row in c.stations:
        ways = [c.stores[o.store] for o in c.outlets[row.first_outlet : row.first_outlet + row.outlets]]
        for store in ways if row.chooses == L.FIRST_FREE else []:
            if store.kind == L.HAND_OVER:
                for i in c.takers[store.first_taker : store.first_taker + store.takers]:
                    c.stations[c.machines[i].station].beckons = 1


def _add_verdicts(flat: FlatCell, station: Station, row: Any) -> None:
    row.verdict_stream = flat.stream(station.name, "verdict")
    row.reject_store = row.then_store = row.loop = -1
    rejects = station.rejects
    if rejects is not None:
        row.judges, row.attempts = 1, rejects.attempts
        row.reject_share, row.reject_again = rejects.share, rejects.after_rework
        row.first_verdict, row.verdicts = len(flat.state.verdicts), len(rejects.verdicts)
        flat.state.verdicts.extend(int(good) for good in rejects.verdicts)
        row.reject_front, row.reject_holds = int(rejects.in_front), int(rejects.holds)
        if rejects.to:
            row.reject_store = flat.store(rejects.to)
        if rejects.then:
            row.then_store, row.then_front = flat.store(rejects.then), int(rejects.then_in_front)
        if rejects.to or rejects.repair is not None:
            row.loop = flat.state.loops
            flat.state.loops += 1


def _add_machine(flat: FlatCell, station: Station, k: int, number: int) -> None:
    c = flat.state
    m = L.ROWS["machine"]()
    m.eager = c.stations[k].brought
    m.station, m.number, m.unit, m.next_offer = k, number, -1, -1
    m.rank = k * STEP + station.machines - number
    m.state = L.M_OFF if c.calendars[c.stations[k].calendar].state == L.OFF else L.M_STARVED
    name = station.name if station.machines == 1 else f"{station.name}.{number + 1}"
    m.first_stop = len(c.stops)
    own = tuple(stop for stop in station.stops if number == 0 or not stop.stops_too)
    m.stops = len(own)
    _add_stops(flat, own, name, station.name, len(c.machines), 0, flat.point(station.name))
    m.cycle_stops = sum(not stop.at and stop.clock in ("cycles", "units") for stop in own)
    c.machines.append(m)
    flat.names.machines.append(name)


def _add_stops(
    flat: FlatCell, stops: tuple[Stop, ...], name: str, group: str, target: int, of_actor: int, point: int
) -> int:
    """Rows for the stops of one machine or robot; its meter of running time, -1 where no stop asks for it."""
    c = flat.state
    meter = -1
    if any(stop.clock == "running" and not stop.at for stop in stops):
        meter = len(c.meters)
        row = L.ROWS["meter"]()
        row.first_stop, row.stops = len(c.stops), len(stops)
        c.meters.append(row)
    for stop in sorted(stops, key=lambda stop: natural(stop.name)):
        _add_stop(flat, stop, group if stop.stops_too else name, group, target, of_actor, point)
        c.stops[-1].meter = meter if stop.clock == "running" and not stop.at else -1
    return meter


def _add_stop(
    flat: FlatCell, stop: Stop, name: str, group: str, target: int, of_actor: int, point: int
) -> None:
    row = L.ROWS["stop"]()
    row.target, row.of_actor, row.point = target, of_actor, point
    row.part, row.zones = PART_RULES[stop.part], flat.zones_at(group)
    row.clock = L.TIMES_OF_DAY if stop.at else CLOCKS[stop.clock]
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


def stops_of(robot: Robot) -> tuple[Stop, ...]:
    """The stops of a robot, with those that never come by themselves: a failed pick, the recovery."""
    never = Law("fixed", (float(L.UNLIMITED << 15),))
    stops = list(robot.stops)
    if robot.mispicks is not None:
        stops.append(Stop(MISPICK, never, "running", robot.mispicks.time, robot.mispicks.by))
    if robot.recovery is not None:
        stops.append(Stop(RECOVERY, never, "running", robot.recovery.time, robot.recovery.by))
    return tuple(stops)


def add_robot_stops(flat: FlatCell) -> None:
    """The stops of robots."""
    robots = {robot.name: robot for robot in flat.cell.robots}
    for a, actor in enumerate(flat.state.actors):
        robot = robots.get(flat.names.posts[a]) if actor.robot else None
        stops = stops_of(robot) if robot else ()
        actor.first_stop, actor.stops = len(flat.state.stops), len(stops)
        actor.cycle_stops = sum(not stop.at and stop.clock in ("cycles", "units") for stop in stops)
        actor.meter = _add_stops(flat, stops, flat.names.actors[a], flat.names.actors[a], a, 1, -1)
        for k in range(actor.first_stop, len(flat.state.stops)):
            if robot and robot.mispicks is not None and flat.names.stops[k][1] == MISPICK:
                actor.miss_stop = k
            if robot and robot.recovery is not None and flat.names.stops[k][1] == RECOVERY:
                actor.recovery = k
