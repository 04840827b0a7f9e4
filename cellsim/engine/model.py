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
from cellsim.engine.tables_variants import add_variants, starting_units

ROOM_FOR_UNITS, ROOM_FOR_EXITS, ROOM_FOR_NOTES = 256, 1024, 2048  # more where one instant may need it


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
    for s, variant in starting_units(flat):
        row = L.ROWS["starting_unit"]()
        row.store, row.variant = s, variant
        c.starting.append(row)
    c.starting_count = len(c.starting)
    c.parts_needed = 64 + 2 * sum(
        (station.batch.size if station.batch else station.gives) * station.machines
        for station in cell.stations
    )
    c.borders, c.areas = [0] * L.MOST_BORDERS, [0] * (L.MOST_BORDERS * (c.store_count + 1))
    rows = lengths(c)
    c.path_limit = rows["path"] - 4 * rows["due"]
    c.path_count, c.free_part, c.stalled_at, c.counting_from = 1, -1, -1, -1
    c.exits_most, c.notes_most = ROOM_FOR_EXITS, ROOM_FOR_NOTES
    return flat


def lengths(c: L.State, trace: bool = False) -> dict[str, int]:
    """How many rows the lists of a run need that grow while it runs.

    Those of units, exits and notes hold what one instant may add beyond the number at which they are made
    longer or emptied.
    """
    due = 2 * c.job_count + 2 * c.stop_count + c.calendar_count + c.actor_count + 8
    due += 4 * c.store_count + 2 * c.station_count + 2 * (c.carrier_count + c.dial_count)
    due += 4 * c.stop_count * c.call_outs
    at_start = c.starting_count + c.card_limit + (c.machine_count if c.primed else 0)
    return {
        "due": due,
        "path": max(32768, 16 * due),
        "parts": max(ROOM_FOR_UNITS, at_start + c.parts_needed),
        "exits": c.exits_most + 256 + c.parts_needed,
        "notes": c.notes_most + 2048 + 64 * (c.machine_count + c.actor_count) if trace else 0,
    }


def fresh(
    flat: FlatCell, seed: int, replication: int, *, trace: bool = False, scratch: L.State | None = None
) -> L.State:
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
    c.tracing = int(trace)
    lists = {"due": "due", "path": "path", "exits": "exit", "notes": "note"}
    if scratch is not None:
        for name in (*lists, "parts", "tries"):
            setattr(c, name, getattr(scratch, name))
    for name, kind in lists.items():
        have = getattr(c, name)
        have.extend(L.rows(kind, lengths(c, trace)[name] - len(have)))
    c.path[0].before, c.path[0].cause, c.path[0].end, c.path[0].plan = -1, 0, 0, 0
    c.woken = [0] * c.machine_count
    for name in L.BY_CAUSE:
        setattr(c, name, [0] * c.cause_count)
    c.free_parts = len(c.parts)
    make_room(c, lengths(c)["parts"])
    return c


def make_room(c: L.State, units: int) -> None:
    """Room for units until there are `units` rows for them."""
    more = max(0, units - len(c.parts))
    c.parts.extend(L.rows("part", more))
    c.tries.extend([0] * (len(c.parts) * c.loops - len(c.tries)))
    c.free_parts += more


def _copy(row: Any, kind: str) -> Any:
    new = L.ROWS[kind]()
    for name, _, length in L.FIELDS[kind]:
        value = getattr(row, name)
        setattr(new, name, list(value) if length else value)
    return new
