"""Carriers, a row for each kind and for each single one, and indexing tables."""

from __future__ import annotations

from cellsim.describe import laws
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell


def add_carriers(flat: FlatCell) -> None:
    """The carriers of the cell; all of them are free at first."""
    c = flat.state
    for carrier in flat.cell.carriers:
        kind = L.ROWS["carrier_kind"]()
        kind.start = flat.names.stations.index(carrier.start)
        kind.end = flat.names.stations.index(carrier.end)
        kind.per_batch = int(carrier.per_batch)
        c.stations[kind.start].carries = c.stations[kind.end].clears = 1
        kind.law, kind.plan = -1, round(laws.mean(carrier.returns))
        if kind.plan > 0:
            kind.law, kind.stream = flat.law(carrier.returns), flat.stream(carrier.name, "returns")
        kind.cause = flat.cause(carrier.name, "coming back")
        kind.use_cause = flat.cause(carrier.name, "in use")
        kind.count = kind.free = carrier.count
        kind.first_free = len(c.carriers)
        for _ in range(carrier.count):
            row = L.ROWS["carrier"]()
            row.kind, row.next = len(c.carrier_kinds), len(c.carriers) + 1
            c.carriers.append(row)
        c.carriers[-1].next = -1
        kind.last_free = len(c.carriers) - 1
        c.carrier_kinds.append(kind)
    c.carrier_kind_count, c.carrier_count = len(c.carrier_kinds), len(c.carriers)


def add_dials(flat: FlatCell) -> None:
    """The indexing tables, with their machines in the order in which a unit meets them."""
    c = flat.state
    for table in flat.cell.tables:
        row = L.ROWS["dial"]()
        row.first_position, row.positions = len(c.positions), len(table.stations)
        row.law, row.stream = flat.law(table.index), flat.stream(table.name, "index")
        row.plan, row.cause = round(laws.mean(table.index)), flat.cause(table.name, "index")
        c.dials.append(row)
        for place, name in enumerate(table.stations):
            station = c.stations[flat.names.stations.index(name)]
            station.dial = len(c.dials)
            c.positions.append(station.first_machine)
            if place + 1 < len(table.stations):
                following = c.stations[flat.names.stations.index(table.stations[place + 1])]
                station.inner = c.inputs[following.first_input].store
    c.dial_count = len(c.dials)
