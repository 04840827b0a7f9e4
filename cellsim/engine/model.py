"""Resolved description -> flat model: every name becomes an index, every law a row, every list a slice.

`compile_cell` is done once per cell; `fresh` makes the state of one replication from it.
"""

from __future__ import annotations

from typing import Any

from cellsim.describe.cell import Cell
from cellsim.engine import layout as L
from cellsim.engine.draws import restart
from cellsim.engine.tables import FlatCell
from cellsim.engine.tables_errands import add_errands
from cellsim.engine.tables_flow import add_carriers, add_dials
from cellsim.engine.tables_jobs import add_jobs
from cellsim.engine.tables_maintenance import add_maintenance
from cellsim.engine.tables_material import add_material
from cellsim.engine.tables_people import add_people, add_points, add_zones
from cellsim.engine.tables_quality import add_quality
from cellsim.engine.tables_stations import add_robot_stops, add_stations, add_stores
from cellsim.engine.tables_teams import add_teams
from cellsim.engine.tables_variants import add_variants


def compile_cell(cell: Cell) -> FlatCell:
    """The flat model of a resolved cell."""
    flat = FlatCell(cell)
    c = flat.state
    flat.cause("cell", "start of the run")
    add_points(flat)
    add_zones(flat)
    add_people(flat)
    add_stores(flat)
    add_stations(flat)
    add_quality(flat)
    add_robot_stops(flat)
    add_variants(flat)
    add_errands(flat)
    add_material(flat)
    add_carriers(flat)
    add_dials(flat)
    add_jobs(flat)
    add_teams(flat)
    c.primed = int(cell.study.start == "primed")
    add_maintenance(flat)
    c.cell_calendar = flat.calendar(tuple(shift.name for shift in cell.shifts))
    c.calendar_count = len(c.calendars)
    c.cause_calendar = flat.cause("calendar", "breaks and off hours")
    c.cause_release = flat.cause("release", "waiting for raw units")
    c.cause_wait = flat.cause("cell", "waiting in turn")
    c.cause_count = len(flat.names.causes)
    c.card_limit = cell.release.cards if cell.release.kind == "cards" else 0
    c.release_law = -1
    if cell.release.every is not None:
        c.release_law, c.release_stream = flat.law(cell.release.every), flat.stream("release", "every")
    c.arrivals = list(cell.release.at)
    c.release_count = len(c.arrivals)
    c.table = flat._table
    return flat


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
    due += 4 * c.store_count + 2 * c.station_count + 2 * (c.carrier_count + c.dial_count)
    due += 4 * c.stop_count * c.call_outs
    path = max(32768, 16 * due)
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
        part.inside = part.node = part.card = part.faults = part.been = 0
        for k in range(c.carrier_kind_count):
            part.on[k] = 0
        part.next = c.free_part
        c.free_part = u
        c.free_parts += 1
    c.parts_made = count
    c.tries.extend([0] * (count * c.loops - len(c.tries)))
