"""Figures that only cells with robots have: entries into zones, changes of gripper, failed picks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan
from cellsim.study.statistics import Interval, t_interval
from cellsim.units import HOUR

SHIFT = 8 * HOUR  # what counts as a shift in a cell without shifts
MANY_ENTRIES = 5  # per shift; common practice, no source


def _entry(interval: Interval, unit: str) -> dict[str, Any]:
    low = None if interval.low is None else max(0.0, interval.low)
    return {"mean": interval.mean, "interval": [low, interval.high], "unit": unit}


def zone_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Entries of people into each zone per shift (per 8 h without shifts), and the share of time inside."""
    clock = plan.horizon - plan.counted_from
    shifts = plan.shifts if flat.cell.shifts else clock / SHIFT
    unit = "entries per shift" if flat.cell.shifts else "entries per 8 h"
    zones = {zone.name: zone for zone in flat.cell.zones}
    return {
        name: {
            "robots": list(zones[name].robots),
            "speed_inside": zones[name].speed,
            "entries": _entry(t_interval([r.zones["entries"][z] / shifts for r in records]), unit),
            "somebody_inside": _entry(
                t_interval([r.zones["inside"][z] / clock for r in records]), "share of the counted time"
            ),
        }
        for z, name in enumerate(flat.names.zones)
    }


def hand_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, dict[str, Any]]:
    """Changes of gripper and failed picks of each robot that can have them, in the counted time."""
    out: dict[str, dict[str, Any]] = {}
    for a, name in enumerate(flat.names.actors):
        actor = flat.state.actors[a]
        entry = {}
        if actor.gripper_change:
            changes = t_interval([r.hands["changes"][a] for r in records])
            entry["gripper_changes"] = _entry(changes, "changes in the counted time")
        if actor.miss_stop >= 0:
            entry["picks"] = _entry(t_interval([r.hands["picks"][a] for r in records]), "picks")
            entry["mispicks"] = _entry(t_interval([r.hands["missed"][a] for r in records]), "failed picks")
        if entry:
            out[name] = entry
    return out


def shared_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """How many there are of each thing that elements share, and the share of time that they are in use."""
    out = {}
    for thing, count in flat.cell.shared:
        chosen = [a for a, name in enumerate(flat.names.posts) if name == thing]
        used = [sum(r.actors[a][L.A_WORKING] for a in chosen) for r in records]
        clock = sum(records[0].actors[chosen[0]]) * count
        interval = t_interval([time / clock for time in used])
        out[thing] = {"count": count, "in_use": _entry(interval, "share of the counted time")}
    return out


def zone_cautions(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> list[str]:
    """What to say about people who enter guarded space often."""
    found = []
    for name, row in zone_figures(flat, plan, records).items():
        entries = row["entries"]["mean"]
        if row["speed_inside"] == 0 and entries > MANY_ENTRIES:
            per = row["entries"]["unit"].removeprefix("entries ")
            found.append(
                f"The study assumes {entries:.0f} entries {per} into zone {name}. Each entry needs a safe"
                " procedure; check the rules of lockout."
            )
    return found
