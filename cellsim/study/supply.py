"""Figures of material and of the way out: purchased parts, finished goods, the hourly plan.

Units stand in the key names or in a field `unit`; shares lie in 0..1.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.describe.cell import FINISHED
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan
from cellsim.study.statistics import entry as _entry
from cellsim.study.statistics import ratio_interval, t_interval


def part_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Each purchased part: pieces lying ready, used, boxes delivered, and how often and long one lacked it.

    A shortage is a time during which at least one machine waits for this part and for no unit.
    """
    clock = plan.horizon - plan.counted_from
    out: dict[str, Any] = {}
    for k, name in enumerate(flat.names.parts):
        of = {key: [record.parts[key][k] for record in records] for key in records[0].parts}
        out[name] = {
            **_entry(t_interval([area / clock for area in of["area"]]), "pieces lying ready"),
            "used": _entry(t_interval(of["used"]), "pieces"),
            "deliveries": _entry(t_interval(of["deliveries"]), "boxes"),
            "shortages": _entry(t_interval(of["shortages"]), "times that a station had to wait for it"),
            "short_share": _entry(
                t_interval([time / clock for time in of["short_time"]]), "share of the counted time"
            ),
        }
    return out


def finished_goods_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any] | None:
    """Units standing behind the cell, where their places are limited; None where they are not."""
    s = flat.store(FINISHED)
    row = flat.state.stores[s]
    if row.limited == 0:
        return None
    clock = plan.horizon - plan.counted_from
    return {
        **_entry(t_interval([record.stores["area"][s] / clock for record in records]), "units"),
        "max": max(record.highest[s] for record in records),
        "capacity": row.places,
        "collected": _entry(t_interval([record.stores["left"][s] for record in records]), "units"),
    }


def planned_units(flat: FlatCell, plan: Plan) -> list[int] | None:
    """Units that the hourly plan asks for in each counted hour; None without a plan."""
    entries = flat.state.hourly
    if not entries:
        return None
    period = flat.state.hourly_period
    return [
        sum(
            row.units
            * sum(hour.start <= row.at + turn * period < hour.end for turn in range(hour.end // period + 1))
            for row in entries
        )
        for hour in plan.hours
    ]


def attainment_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any] | None:
    """How much of the hourly plan was made, hour by hour and in all; more than planned earns no credit.

    Attainment = sum of min(made, planned) over the hours / sum of planned: what an hour makes late counts
    only where it does not fill that hour's own plan.
    """
    planned = planned_units(flat, plan)
    if planned is None:
        return None
    made = [[min(m, p) for m, p in zip(record.hourly, planned, strict=True)] for record in records]
    rows = []
    for label in dict.fromkeys(hour.label for hour in plan.hours):
        chosen = [k for k, hour in enumerate(plan.hours) if hour.label == label]
        asked = sum(planned[k] for k in chosen)
        row: dict[str, Any] = {"hour": label, "planned": asked / len(chosen)}
        if asked:
            share = t_interval([sum(counts[k] for k in chosen) / asked for counts in made])
            row |= _entry(share, "share of the plan")
        rows.append(row)
    whole = ratio_interval([sum(counts) for counts in made], [sum(planned)] * len(records))
    return {
        "mean": whole.mean if whole else None,
        "interval": whole.as_list() if whole else [None, None],
        "unit": "share of the plan",
        "planned": sum(planned),
        "by_clock_hour": rows,
    }
