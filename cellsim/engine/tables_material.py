"""Purchased parts, lots, bars, finished goods and the hourly plan as tables of numbers."""

from __future__ import annotations

from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, FinishedGoods, Law, Need, PurchasedPart
from cellsim.engine import layout as L
from cellsim.engine.calendars import DAY, WEEK
from cellsim.engine.tables import FlatCell, natural
from cellsim.engine.tables_stations import STEP

KINDS = {"bins": L.IN_BINS, "orders": L.BY_ORDER, "regular": L.REGULARLY}
GOODS = "finished goods"  # how the places behind the cell are called in accounts


def add_material(flat: FlatCell) -> None:
    """Everything that stations need or wait for beside the units that they take."""
    c = flat.state
    for m in c.machines:
        m.lacks = -1
    for store in flat.cell.stores:
        c.stores[flat.store(store.name)].strict = int(not store.overtaking)
    for part in sorted(flat.cell.parts, key=lambda part: natural(part.name)):
        _add_stock(flat, part)
    c.stock_count = len(c.stocks)
    for k, station in enumerate(flat.cell.stations):
        row = c.stations[k]
        _add_uses(flat, station.name, row)
        if station.yields is not None:
            row.bar, row.primes = station.yields.units // station.gives, 0
            c.steps[row.first_step].cause = flat.cause(station.name, f"{station.yields.per} change")
        if station.lots is not None:
            row.lot, row.lot_at = station.lots.of, station.lots.starts_at
            row.lot_store = flat.store(station.outlets[0].store)
            for m in c.machines[row.first_machine : row.first_machine + row.machines]:
                m.lot_mates = int(row.machines > 1)
        takes = c.inputs[row.first_input : row.first_input + row.inputs]
        uses = c.uses[row.first_use : row.first_use + row.uses]
        row.strict = int(
            any(c.stores[take.store].strict for take in takes)
            or any(c.stocks[use.stock].strict for use in uses)
        )
        row.supplied = int(row.uses > 0 or row.bar > 0 or row.lot > 0 or row.strict)
    if flat.cell.finished_goods is not None:
        _add_finished_goods(flat, flat.cell.finished_goods)
    c.supply_count = len(c.supplies)
    _add_plan(flat)


def _add_stock(flat: FlatCell, part: PurchasedPart) -> None:
    c = flat.state
    row = L.ROWS["stock"]()
    row.level, row.box, row.kind = part.starts_with, part.box, KINDS[part.supply]
    row.order_level, row.strict = part.orders_at, int(not part.overtaking)
    row.most = max(pieces for _, pieces in part.used_at)
    users = [i for i, m in enumerate(c.machines) if flat.names.stations[m.station] in dict(part.used_at)]
    row.first_taker, row.takers, row.shared = len(c.takers), len(users), int(len(users) > 1)
    c.takers.extend(users)
    row.first_supply, row.supplies = len(c.supplies), part.bins if part.supply == "bins" else 1
    away = 0
    if part.supply == "bins":
        away = part.bins - -(-part.starts_with // part.box)
    elif part.supply == "regular" or part.starts_with <= part.orders_at:
        away = 1
    flat.names.parts.append(part.name)
    steps = _add_steps(flat, part.name, "delivery", part.delivery, part.brought_by, part.trip)
    for x in range(row.supplies):
        supply = L.ROWS["supply"]()
        supply.wait, supply.trip, supply.cause, supply.waiting_cause = steps
        supply.stock, supply.store, supply.regular = len(c.stocks), -1, int(part.supply == "regular")
        supply.out = int(x < away)
        c.supplies.append(supply)
        flat.names.supplies.append(f"brings {part.name}")
    c.stocks.append(row)


def _add_steps(
    flat: FlatCell, who: str, what: str, delivery: Law, by: tuple[Need, ...], trip: Law | None
) -> tuple[int, int, int, int]:
    """The time that a delivery takes by itself and the trip of whoever brings it: two steps, two causes."""
    wait = go = -1
    cause = waiting = flat.cause(who, what)
    if delivery != Law("fixed", (0.0,)) or not by:
        wait = _add_step(flat, who, what, delivery, ())
    if by and trip is not None:
        go = _add_step(flat, who, "trip", trip, by)
        waiting = flat.cause(who, "waiting for a trip")
    return wait, go, cause, waiting


def _add_step(flat: FlatCell, who: str, what: str, law: Law, by: tuple[Need, ...]) -> int:
    row = L.ROWS["step"]()
    row.kind, row.station, row.point, row.element, row.gripper = L.WORK, -1, -1, -1, -1
    row.pace = 1.0
    row.law, row.plan, row.stream = flat.law(law), round(laws.mean(law)), flat.stream(who, what)
    row.first_need, row.needs = flat.need(by), len(by)
    row.first_person = row.first_need if by else -1
    row.cause = flat.cause(who, what)
    flat.state.steps.append(row)
    flat.names.steps.append(what)
    return len(flat.state.steps) - 1


def _add_uses(flat: FlatCell, station: str, row: Any) -> None:
    c = flat.state
    row.first_use = len(c.uses)
    used = {part.name: dict(part.used_at) for part in flat.cell.parts}
    for k, name in enumerate(flat.names.parts):
        if station in used[name]:
            use = L.ROWS["use"]()
            use.stock, use.pieces = k, used[name][station]
            c.uses.append(use)
    row.uses = len(c.uses) - row.first_use


def _add_finished_goods(flat: FlatCell, goods: FinishedGoods) -> None:
    store = flat.state.stores[flat.store(FINISHED)]
    store.places, store.limited = goods.places, 1
    store.bin_width = max(1, -(-(goods.places + 1) // L.LEVEL_BINS))
    if goods.every is not None:
        supply = L.ROWS["supply"]()
        steps = _add_steps(flat, GOODS, "collection", goods.every, goods.by, goods.trip)
        supply.wait, supply.trip, supply.cause, supply.waiting_cause = steps
        supply.stock, supply.store, supply.amount = -1, flat.store(FINISHED), goods.takes
        supply.regular = supply.out = 1
        flat.state.supplies.append(supply)
        flat.names.supplies.append(f"collects {GOODS}")


def add_supply_jobs(flat: FlatCell) -> None:
    """The jobs of those who bring purchased parts and collect finished goods."""
    c = flat.state
    priorities = {part.name: part.priority for part in flat.cell.parts}
    for supply in c.supplies:
        job = L.ROWS["job"]()
        last = len(c.stations) * STEP
        job.priority = 1
        if supply.stock >= 0:
            stock = c.stocks[supply.stock]
            job.priority = priorities[flat.names.parts[supply.stock]]
            last = c.machines[c.takers[stock.first_taker + stock.takers - 1]].station * STEP
        job.rank = last * STEP
        job.place = last
        job.unit = job.held = job.meter = -1
        c.jobs.append(job)


def _add_plan(flat: FlatCell) -> None:
    """The entries of the hourly plan over one week (one day without shifts), from the start of the run."""
    c, cell = flat.state, flat.cell
    entries = {(clock, units) for clock, units in cell.release.plan if not cell.shifts}
    for clock, units in cell.release.plan:
        for shift in cell.shifts:
            moment = clock if clock >= shift.start else clock + DAY
            if moment < shift.end:
                entries |= {((day * DAY + moment - flat.start_of_run) % WEEK, units) for day in shift.days}
    for at, units in sorted(entries):
        row = L.ROWS["hour"]()
        row.at, row.units = at, units
        c.hourly.append(row)
    c.hourly_count, c.hourly_period = len(entries), WEEK if cell.shifts else DAY
    c.stores[c.release_store].hourly = int(bool(entries))
