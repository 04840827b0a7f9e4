"""Records of replications -> the figures of a study, as one plain dictionary (`result.json`).

Units stand in the key names (`_s` seconds, `_min` minutes, `_h` hours) or in a field `unit`; shares lie in
0..1.  Hours are working hours (the cell is on and not in a break) unless a key says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from cellsim.describe.cell import FINISHED, OUT
from cellsim.describe.locking import remedy
from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.audit import law_names
from cellsim.study.energy import energy_figures
from cellsim.study.levels import by_hour
from cellsim.study.losses import loss_account
from cellsim.study.output import labour_figures, output_figures
from cellsim.study.paper import paper_figures
from cellsim.study.plan import Plan, uncounted_services
from cellsim.study.quality import hidden_figures
from cellsim.study.robots import hand_figures, shared_figures, zone_cautions, zone_figures
from cellsim.study.settled import settling_remarks
from cellsim.study.statistics import entry as _entry
from cellsim.study.statistics import percentile, ratio_interval, t_interval
from cellsim.study.supply import attainment_figures, finished_goods_figures, part_figures
from cellsim.study.trust import trust_caution
from cellsim.study.watched import CHIEF, values_of
from cellsim.study.waterfall import waterfall
from cellsim.units import HOUR, SECOND

RESULT_VERSION = 1
HIGH_LOAD = 0.90  # of the time on duty; common practice, no source
NO_RESERVE = 0.95  # of the time on shift; common practice, no source


def _shares(rows: Sequence[Sequence[int]], names: Sequence[str]) -> dict[str, Any]:
    """State shares from one row of state totals per replication; the means add up to 1."""
    clock = sum(rows[0])
    return {
        name: _entry(t_interval([row[k] / clock for row in rows]), "share of the counted time")
        for k, name in enumerate(names)
        if any(row[k] for row in rows)
    }


def station_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """State shares, cycles and yield of each station; equal machines are taken together."""
    out = {}
    for k, name in enumerate(flat.names.stations):
        row = flat.state.stations[k]
        machines = range(row.first_machine, row.first_machine + row.machines)
        totals = [
            [sum(r.machines[i][s] for i in machines) for s in range(len(L.MACHINE_STATES))] for r in records
        ]
        entry: dict[str, Any] = {
            "machines": row.machines,
            "shares": _shares(totals, L.MACHINE_STATES),
            "cycles": _entry(t_interval([sum(r.cycles[i] for i in machines) for r in records]), "cycles"),
            "scrapped": _entry(t_interval([r.stations["scrapped"][k] for r in records]), "units"),
        }
        if row.bar:
            entry["bars"] = _entry(t_interval([r.stations["bars"][k] for r in records]), "bars begun")
        if row.lot:
            entry["lots"] = _entry(t_interval([r.stations["lots"][k] for r in records]), "lots begun")
        if row.judges:
            judged = [r.stations["judged"][k] for r in records]
            entry["rejected_share"] = _entry(
                ratio_interval([r.stations["rejected"][k] for r in records], judged), "rejects per test"
            )
        if row.changes:
            changed = t_interval([r.stations["changed"][k] for r in records])
            entry["changeovers"] = _entry(changed, "changeovers in the counted time")
        if row.batch:
            batches = [r.stations["batches"][k] for r in records]
            sizes = ratio_interval([r.stations["batched"][k] for r in records], batches)
            entry["batch_units"] = _entry(sizes, "units per batch")
        out[name] = entry
    return out


def stop_figures(flat: FlatCell, records: Sequence[Record]) -> list[dict[str, Any]]:
    """Each cause of stops: how often, how long the repair and the wait for it, and what it spoilt.

    `planned` says that it is service.  `scrapped_after` is there only where units after it are scrapped.
    """
    out = []
    for group in dict.fromkeys(flat.names.stop_groups):
        chosen = [k for k, other in enumerate(flat.names.stop_groups) if other == group]
        sums = {key: [sum(r.stops[key][k] for k in chosen) for r in records] for key in records[0].stops}
        first = flat.state.stops[chosen[0]]
        row = {
            "who": group[0],
            "cause": group[1],
            "planned": bool(first.planned),
            "stops": _entry(t_interval(sums["count"]), "stops in the counted time"),
            "repair_min": _entry(t_interval([x / (60 * SECOND) for x in sums["repair_time"]]), "minutes"),
            "waiting_min": _entry(t_interval([x / (60 * SECOND) for x in sums["waiting_time"]]), "minutes"),
        }
        if first.restart_scrap:
            row["scrapped_after"] = _entry(t_interval(sums["spoilt"]), "units")
        out.append(row)
    return out


def _level_percentile(times: Sequence[int], share: float, width: int, highest: int) -> int | None:
    """The level not exceeded during this share of the time, to a bin of `width`; None beyond the bins."""
    total = sum(times)
    passed = 0
    for k, time in enumerate(times):
        passed += time
        if passed >= share * total:
            return None if k == len(times) - 1 else min((k + 1) * width - 1, highest)
    return None


def store_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Mean, 95 % and highest level of each store with places, by the hour, and how long a unit stays."""
    clock = plan.horizon - plan.counted_from
    out = {}
    for s, name in enumerate(flat.names.stores):
        row = flat.state.stores[s]
        if row.kind != L.PLACES:
            continue
        times = np.sum([r.time_at[s] for r in records], axis=0).tolist()
        out[name] = {
            **_entry(t_interval([r.stores["area"][s] / clock for r in records]), "units"),
            "p95": _level_percentile(times, 0.95, row.bin_width, max(r.highest[s] for r in records)),
            "max": max(r.highest[s] for r in records),
            "capacity": row.places if row.limited else None,
            "by_hour": by_hour(plan, [r.levels_by_hour[s] for r in records]),
            "stay_s": _entry(
                ratio_interval(
                    [r.stores["stays"][s] / SECOND for r in records], [r.stores["left"][s] for r in records]
                ),
                "seconds",
            ),
        }
        if row.use_within >= 0:
            late, left = ([r.stores[key][s] for r in records] for key in ("late_units", "left"))
            out[name]["late_share"] = _entry(ratio_interval(late, left), "share of the units that left")
    return out


def carrier_figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Mean number of carriers of each kind in use and coming back, and how much of the time none is free."""
    clock = plan.horizon - plan.counted_from
    out = {}
    for k, carrier in enumerate(flat.cell.carriers):

        def mean(key: str, unit: str, k: int = k) -> dict[str, Any]:
            return _entry(t_interval([r.carriers[key][k] / clock for r in records]), unit)

        out[carrier.name] = {
            "count": carrier.count,
            "in_use": mean("area_used", "carriers"),
            "coming_back": mean("area_coming", "carriers"),
            "none_free": mean("none_free", "share of the counted time"),
            "taken": _entry(t_interval([r.carriers["taken"][k] for r in records]), "times"),
        }
    return out


def actor_figures(flat: FlatCell, records: Sequence[Record], robots: bool) -> dict[str, Any]:
    """State shares and load of each post or robot; load is what is not free of the time on duty."""
    out: dict[str, Any] = {}
    names = flat.names
    busy = (L.A_WORKING, L.A_TRAVELLING, L.A_REPAIRING, L.A_HELD, L.A_HELPING, L.A_BRINGING)
    away = (L.A_OFF, L.A_BREAK, L.A_HANDS_OVER, L.A_ABSENT)
    for post in dict.fromkeys(names.posts):
        chosen = [a for a, other in enumerate(names.posts) if other == post]
        first = flat.state.actors[chosen[0]]
        if bool(first.robot) != robots or first.thing:
            continue
        totals = [[sum(r.actors[a][s] for a in chosen) for s in range(len(L.ACTOR_STATES))] for r in records]
        duty = [sum(row) - sum(row[s] for s in away) for row in totals]
        load = ratio_interval([sum(row[s] for s in busy) for row in totals], duty)
        out[post] = {
            "count": len(chosen),
            "shares": _shares(totals, L.ACTOR_STATES),
            "load": _entry(load, "share of the time on duty"),
        }
        if flat.state.minutes_kept and not robots:
            out[post]["hours_at"] = _hours_at(flat, records, chosen)
        if load is None:
            out[post]["load"]["remark"] = "not defined (0 min on duty)"
    for name, entry in (hand_figures(flat, records) if robots else {}).items():
        out[name] |= entry
    return out


def _hours_at(flat: FlatCell, records: Sequence[Record], people: Sequence[int]) -> dict[str, Any]:
    """Hours that these people together worked at each station where they did."""
    count = flat.state.station_count
    hours = {
        name: [sum(r.minutes[a * count + k] for a in people) / HOUR for r in records]
        for k, name in enumerate(flat.names.stations)
    }
    return {name: _entry(t_interval(row), "hours of work") for name, row in hours.items() if any(row)}


def quality_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """Scrap, first-pass yield per test and the rolled yield."""
    out: dict[str, Any] = {"scrapped": _entry(t_interval([r.cell["scrapped"] for r in records]), "units")}
    tests: dict[str, Any] = {}
    rolled = 1.0
    for k, name in enumerate(flat.names.stations):
        if flat.state.stations[k].judges:
            first = [r.stations["first_pass"][k] for r in records]
            found = ratio_interval(first, [r.stations["first_tests"][k] for r in records])
            tests[name] = _entry(found, "good at the first test per unit that came to it")
            if found is not None:
                rolled *= found.mean
    out["first_pass_yield"] = tests
    out["rolled_yield"] = rolled if tests else None
    good = [r.cell["good"] for r in records]
    out["good_share"] = _entry(
        ratio_interval(good, [g + r.cell["scrapped"] for g, r in zip(good, records, strict=True)]),
        "good units per unit that left",
    )
    out["scrapped_at"] = {
        name: _entry(t_interval([r.stations["scrapped"][k] for r in records]), "units")
        for k, name in enumerate(flat.names.stations)
        if any(r.stations["scrapped"][k] for r in records)
    }
    return out | hidden_figures(flat, records)


def lead_time_figures(records: Sequence[Record]) -> dict[str, Any]:
    """Time in the cell of the units that left: mean and percentiles in seconds."""
    groups = [[t / SECOND for t in r.lead_times] for r in records if r.lead_times]
    if not groups:
        return {"mean_s": None, "p50_s": None, "p90_s": None, "p95_s": None}
    values = [t for group in groups for t in group]
    mean = t_interval([float(np.mean(group)) for group in groups])
    return {
        "mean_s": mean.mean,
        "interval_s": mean.as_list(),
        **{f"p{round(100 * share)}_s": percentile(values, share) for share in (0.5, 0.9, 0.95)},
        "of": "finished units only; what is still inside is counted in wip",
    }


def wip_figures(plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Units inside the cell: mean over time, highest, inside at the end, mean by the clock hour."""
    clock = plan.horizon - plan.counted_from
    out = _entry(t_interval([r.cell["wip_area"] / clock for r in records]), "units")
    out["max"] = max(r.wip_highest for r in records)
    out["inside_at_end"] = _entry(t_interval([r.inside for r in records]), "units")
    out["by_hour"] = by_hour(plan, [r.wip_by_hour for r in records])
    return out


def result_cautions(flat: FlatCell, records: Sequence[Record]) -> list[str]:
    """Cautions that follow from the figures: high pace of people, a station without reserve."""
    found = []
    for post, row in actor_figures(flat, records, robots=False).items():
        if (row["load"]["mean"] or 0) > HIGH_LOAD:
            found.append(
                f"{post} is loaded over {HIGH_LOAD:.0%}: high pace or repetitive work, have an ergonomist"
                f" assess it (ISO 11228-3)."
            )
    for name, row in station_figures(flat, records).items():
        shares = {state: entry["mean"] for state, entry in row["shares"].items()}
        present = 1 - shares.get("off", 0) - shares.get("break", 0)
        busy = sum(shares.get(state, 0) for state in ("working", "attended", "handled"))
        if present > 0 and busy > NO_RESERVE * present:
            found.append(
                f"{name} works over {NO_RESERVE:.0%} of the time: no reserve, output will fall below plan in"
                f" part of the shifts."
            )
    return found


def figures(flat: FlatCell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """All figures of a study but its provenance, in the keys of `result.json`.

    `study.remarks` are sentences about the settling time, where there is something to be said of it.
    """
    cell = flat.cell
    locked = [r for r in records if r.reason == "locked"]
    outlets = [name for name in flat.names.stores if name == FINISHED or name.startswith(OUT)]
    output = output_figures(cell, plan, records)
    losses = loss_account(flat, records)
    rates = values_of(CHIEF, cell, list(records)) or []
    return {
        "version": RESULT_VERSION,
        "cell": {"name": cell.name, "question": cell.question},
        "study": {
            "replications": len(records),
            "counted_from_s": plan.counted_from / SECOND,
            "horizon_s": plan.horizon / SECOND,
            "working_h": plan.worked / HOUR,
            "shifts": plan.shifts,
            "remarks": settling_remarks(cell, plan, records),
        },
        "output_per_hour": output,
        "paper": paper_figures(cell, output, plan.worked / HOUR),
        "units_per_labour_hour": labour_figures(cell, plan, records),
        "stations": station_figures(flat, records),
        "stores": store_figures(flat, plan, records),
        "carriers": carrier_figures(flat, plan, records),
        "people": actor_figures(flat, records, robots=False),
        "robots": actor_figures(flat, records, robots=True),
        "zones": zone_figures(flat, plan, records),
        "shared": shared_figures(flat, records),
        "stops": stop_figures(flat, records),
        "parts": part_figures(flat, plan, records),
        "finished_goods": finished_goods_figures(flat, plan, records),
        "attainment": attainment_figures(flat, plan, records),
        "wip": wip_figures(plan, records),
        "lead_time": lead_time_figures(records),
        "quality": quality_figures(flat, records),
        "outlets": {
            name: _entry(t_interval([r.stores["entered"][s] for r in records]), "units")
            for s, name in enumerate(flat.names.stores)
            if name in outlets
        },
        "energy": energy_figures(flat, records),
        "losses": losses,
        "waterfall": waterfall(losses, output["mean"]),
        "audit": {
            "passed": not any(r.violations for r in records),
            "laws": law_names(),
            "violations": [f"replication {r.replication}: {v}" for r in records for v in r.violations],
        },
        "locked": [
            {
                "replication": r.replication,
                "at_s": r.ended_at / SECOND,
                "circle": r.circle,
                "full": r.full,
                "remedy": remedy(cell, r.circle),
            }
            for r in locked
        ],
        "assumptions": [{"path": a.path, "value": a.value, "why": a.why} for a in cell.assumptions],
        "cautions": [
            *cell.cautions,
            *uncounted_services(cell, plan),
            *([trust] if (trust := trust_caution(cell, plan, rates)) else []),
            *result_cautions(flat, records),
            *zone_cautions(flat, plan, records),
        ],
    }
