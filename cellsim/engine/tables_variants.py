"""Variants, batches, changeovers, and stores that hold units back."""

from __future__ import annotations

from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import RAW, RELEASE, Element, Law, Station, Store
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell

ORDERS = {"in ratio": L.IN_RATIO, "at random": L.AT_RANDOM, "campaigns": L.CAMPAIGNS}


def add_variants(flat: FlatCell) -> None:
    """Variants with their shares, and a plan of release for each raw store whose units are of a variant."""
    c, cell = flat.state, flat.cell
    count = len(cell.variants)
    c.variant_count, c.line_empties = count, int(cell.sequence.line_empties)
    c.shares = [0.0, *(variant.share for variant in cell.variants)]
    c.inside, c.batch_counts, c.batch_since = ([0] * (count + 1) for _ in range(3))
    names = [variant.name for variant in cell.variants]
    for name, units in cell.sequence.campaigns:
        row = L.ROWS["campaign"]()
        row.variant, row.units = names.index(name) + 1, units
        c.campaigns.append(row)
    for s, store in enumerate(flat.names.stores):
        c.stores[s].plan = -1
        if cell.variants and (store == RELEASE or store.removeprefix(RAW) in cell.varied_lines):
            plan = L.ROWS["plan"]()
            plan.kind, plan.campaigns = ORDERS[cell.sequence.order], len(c.campaigns)
            plan.first_count = len(c.plan_counts)
            plan.stream = flat.stream(store, "variant")
            c.plan_counts.extend([0] * (count + 1))
            c.stores[s].plan = len(c.plans)
            c.plans.append(plan)
    c.plan_count = len(c.plans)
    _add_tallies(c)


def _add_tallies(c: L.State) -> None:
    """Stores that hold units back or from which some station chooses count by variant what can be taken."""
    chosen_from = {
        entry.store
        for row in c.stations
        if row.picks
        for entry in c.inputs[row.first_input : row.first_input + row.inputs]
    }
    for s, store in enumerate(c.stores):
        if store.holds or (s in chosen_from and store.kind == L.PLACES):
            store.tallied, store.first_tally = 1, len(c.tallies)
            c.tallies.extend(L.ROWS["tally"]() for _ in range(c.variant_count + 1))


def variant_index(flat: FlatCell, name: str) -> int:
    """1 for the first variant, and so on."""
    return [variant.name for variant in flat.cell.variants].index(name) + 1


def mask(flat: FlatCell, names: tuple[str, ...]) -> int:
    """The variants as bits; 0 for none named."""
    return sum(1 << variant_index(flat, name) for name in names)


def add_laws(flat: FlatCell, row: Any, element: Element) -> None:
    """The lengths of a step by variant; the first one is for units that fit all variants."""
    if element.by_variant:
        row.varies, row.first_law = 1, len(flat.state.step_laws)
        for law in (element.time, *(law for _, law in element.by_variant)):
            _add_law(flat, law)


def _add_law(flat: FlatCell, law: Law | None) -> None:
    entry = L.ROWS["step_law"]()
    entry.law = -1 if law is None else flat.law(law)
    entry.plan = 0 if law is None else round(laws.mean(law))
    flat.state.step_laws.append(entry)


def add_changeover(flat: FlatCell, station: Station, row: Any) -> None:
    """The steps of a changeover: the change itself, its length by pair, then the approval."""
    change = station.changeover
    row.first_change, row.changes = len(flat.state.steps), 0
    if change is None:
        return
    row.changes, row.ahead = 1 + (change.approval is not None), int(change.ahead)
    step = _change_step(flat, station, "changeover", change.by)
    step.varies, step.first_law = 1, len(flat.state.step_laws)
    times = {(start, end): law for start, end, law in change.times}
    names = ["", *(variant.name for variant in flat.cell.variants)]
    for start in names:
        for end in names:
            _add_law(flat, times.get((start, end)))
    if change.approval is not None:
        step = _change_step(flat, station, "approval", change.approved_by)
        step.law, step.plan = flat.law(change.approval), round(laws.mean(change.approval))


def _change_step(flat: FlatCell, station: Station, name: str, by: Any) -> Any:
    row = L.ROWS["step"]()
    row.element, row.gripper, row.pace = -1, -1, 1.0
    robots = {robot.name for robot in flat.cell.robots}
    row.kind, row.station = L.WORK, flat.names.stations.index(station.name)
    row.stream = flat.stream(station.name, name)
    row.first_need, row.needs = flat.need(by), len(by)
    row.first_person = row.first_need if by else -1
    row.robot = int(bool(by) and all(need.skill in robots for need in by))
    row.point = flat.point(station.name)
    row.cause = flat.cause(station.name, name)
    flat.state.steps.append(row)
    flat.names.steps.append(name)
    return row


def add_choices(flat: FlatCell, station: Station, row: Any) -> None:
    """Which units a station takes: its variants, its batch, and from which raw store its line begins."""
    c, batch = flat.state, station.batch
    row.accepts = mask(flat, station.only)
    row.line = _line(flat, station.name)
    row.wait_cause = flat.cause("calendar", "breaks and off hours")
    held = any(
        c.stores[entry.store].holds for entry in c.inputs[row.first_input : row.first_input + row.inputs]
    )
    row.picks = int(bool(flat.cell.variants) or batch is not None or held)
    row.longest_wait = row.wait_noted = -1
    row.first_size = len(c.batch_sizes)
    if batch is None:
        return
    row.batch, row.mixed, row.at_least = 1, int(batch.mixed), batch.at_least
    row.longest_wait = -1 if batch.waits is None else batch.waits
    row.wait_cause = flat.cause(station.name, "waiting for a batch")
    sizes = dict(batch.by_variant)
    c.batch_sizes.append(batch.size)
    c.batch_sizes.extend(sizes.get(variant.name, batch.size) for variant in flat.cell.variants)
    row.first_clock, row.clocks = len(c.clock_times), len(batch.starts_at)
    c.clock_times.extend(sorted((at - flat.start_of_run) % L.DAY for at in batch.starts_at))


def _line(flat: FlatCell, station: str) -> int:
    """The raw store from which the line of a station begins, -1 for a line fed from elsewhere."""
    if station in flat.cell.route:
        return flat.store(RELEASE)
    for line in flat.cell.lines:
        if station in line.places and RAW + line.name in flat.names.stores:
            return flat.store(RAW + line.name)
    return -1


def add_holding(flat: FlatCell, store: Store, row: Any) -> None:
    """What a store holds back, and for how long; `late` is found once all stores have their index."""
    row.last_first = int(store.last_in_first_out)
    row.delay, row.tray = store.transit + store.stays, store.tray
    row.tray_waits = -1 if store.tray_waits is None else store.tray_waits
    row.use_within = -1 if store.use_within is None else store.use_within
    row.holds = int(row.delay > 0 or row.tray > 0 or row.use_within >= 0)
    row.first_held = row.last_held = -1
    row.first_tray = len(flat.state.tray_units)
    if store.tray and store.places is not None:
        flat.state.tray_units.extend([0] * (store.places // store.tray))
    what = "in a tray" if store.tray else "curing or cooling" if store.stays else "in transit"
    row.hold_cause = flat.cause(store.name, what)
    row.late_cause = flat.cause(store.name, "waited too long")
    row.late_to = flat.store(store.late) if store.late else L.SCRAP


def starting_units(flat: FlatCell) -> list[tuple[int, int]]:
    """(store, variant) of each unit that stands in a store when a run starts; variants by their shares."""
    found = []
    varied = {
        place for line in flat.cell.lines if line.name in flat.cell.varied_lines for place in line.places
    }
    varied |= set(flat.cell.route)
    for store in flat.cell.stores:
        upto = 0.0
        bounds = []
        for variant in flat.cell.variants:
            upto += variant.share
            bounds.append(upto)
        for k in range(store.starts_with):
            place = (k + 0.5) / store.starts_with
            v = 1 + sum(place >= bound for bound in bounds[:-1]) if store.name in varied and bounds else 0
            found.append((flat.store(store.name), v))
    return found
