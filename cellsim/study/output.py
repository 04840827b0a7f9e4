"""Good units per hour, by hour of the clock, per shift and per paid labour hour, beside the target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from cellsim.describe.cell import Cell
from cellsim.engine.record import Record
from cellsim.study.plan import LEAST_WORKED, Plan, occurrences, without_overlap
from cellsim.study.statistics import (
    LEVEL,
    PERCENTILE_RULE,
    percentile,
    percentile_interval,
    pooled_percentile_interval,
    share_interval,
    t_interval,
)
from cellsim.study.statistics import entry as _entry
from cellsim.study.trust import runs_to_trust
from cellsim.units import HOUR, SECOND

ROUNDING = 1e-9  # a target that is met exactly counts as met
MOST_BINS = 30


def _rates(plan: Plan, counts: Sequence[int]) -> list[float]:
    """Units per working hour of each counted interval that says something about a rate."""
    pairs = zip(counts, plan.hours, strict=True)
    return [count * HOUR / hour.worked for count, hour in pairs if hour.worked >= LEAST_WORKED]


def distribution(values: Sequence[float], unit: str) -> dict[str, Any] | None:
    """How many values lie in each interval of an even width; None without a value.

    Interval k reaches from `from` + k `width`, which belongs to it, to the next, which does not.  The width
    is 1, 2 or 5 times a power of ten and at least one unit: the smallest with at most MOST_BINS intervals.
    """
    if not values:
        return None
    low, high = min(values), max(values)
    width = next(
        w
        for power in range(20)
        for w in (10**power, 2 * 10**power, 5 * 10**power)
        if _bin(high, w) - _bin(low, w) < MOST_BINS
    )
    first = _bin(low, width)
    counts = [0] * (_bin(high, width) - first + 1)
    for value in values:
        counts[_bin(value, width) - first] += 1
    return {"from": first * width, "width": width, "counts": counts, "unit": unit}


def _bin(value: float, width: int) -> int:
    return math.floor((value + ROUNDING) / width)


def output_figures(cell: Cell, plan: Plan, records: Sequence[Record]) -> dict[str, Any]:
    """Output per hour: mean with interval, percentiles over hours, hour by hour, chance of the target."""
    worked = plan.worked / HOUR
    totals = [sum(record.hourly) for record in records]
    rates = [total / worked for total in totals]
    pooled = [_rates(plan, record.hourly) for record in records]
    hours = [rate for group in pooled for rate in group]
    target = cell.target_per_hour
    out: dict[str, Any] = _entry(t_interval(rates), "good units per working hour")
    out["level"] = LEVEL
    out["runs_to_trust"] = runs_to_trust(cell, plan, rates)
    for key, share in (("p05", 0.05), ("p50", 0.50), ("p95", 0.95)):
        out[key] = percentile(hours, share) if hours else None
        ends = pooled_percentile_interval(pooled, share) if hours else (None, None)
        out[f"{key}_interval"] = list(ends)
    out["percentile_rule"] = PERCENTILE_RULE
    out["hours_counted"] = len(hours)
    out["distribution"] = distribution(hours, "hours, by good units per working hour")
    out["target"] = target
    out["by_clock_hour"] = _by_clock_hour(plan, records, target)
    out["per_shift"] = _per_shift(plan, records, target)
    if target is not None:
        met = [[rate >= target - ROUNDING for rate in group] for group in pooled]
        out["chance_of_target_in_an_hour"] = _entry(share_interval(met), "share of hours")
    return out


def _by_clock_hour(plan: Plan, records: Sequence[Record], target: float | None) -> list[dict[str, Any]]:
    table = []
    for label in dict.fromkeys(hour.label for hour in plan.hours):
        chosen = [k for k, hour in enumerate(plan.hours) if hour.label == label]
        hour = plan.hours[chosen[0]]
        means = [float(np.mean([record.hourly[k] for k in chosen])) for record in records]
        counts = [record.hourly[k] for record in records for k in chosen]
        row = {"hour": hour.label, **_entry(t_interval(means), "good units in this interval")}
        row |= {key: percentile(counts, share) for key, share in (("p05", 0.05), ("p50", 0.5), ("p95", 0.95))}
        row["working_min"] = hour.worked / (60 * SECOND)
        row["length_min"] = (hour.end - hour.start) / (60 * SECOND)
        if target is not None:
            row["target"] = target * hour.worked / HOUR
            row["chance_of_target"] = float(np.mean([count >= row["target"] - ROUNDING for count in counts]))
        table.append(row)
    return table


def _per_shift(plan: Plan, records: Sequence[Record], target: float | None) -> dict[str, Any]:
    spans = range(plan.shifts)
    places = [[k for k, hour in enumerate(plan.hours) if hour.shift == shift] for shift in spans]
    worked = [sum(plan.hours[k].worked for k in chosen) / HOUR for chosen in places]
    sums = [[sum(record.hourly[k] for k in chosen) for chosen in places] for record in records]
    flat = [total for group in sums for total in group]
    out = _entry(t_interval([float(np.mean(group)) for group in sums]), "good units per shift")
    out |= {key: percentile(flat, share) for key, share in (("p05", 0.05), ("p50", 0.5), ("p95", 0.95))}
    if plan.shifts == 1:
        out["p05_interval"] = list(percentile_interval(flat, 0.05))
    out["distribution"] = distribution(flat, "shifts, by good units")
    out["working_h"] = float(np.mean(worked))
    if target is not None:
        out["target"] = target * float(np.mean(worked))
        met = [
            [total >= target * h - ROUNDING for total, h in zip(group, worked, strict=True)] for group in sums
        ]
        out["chance_of_target"] = _entry(share_interval(met), "share of shifts")
    return out


def paid_hours_of(cell: Cell, plan: Plan) -> dict[str, float]:
    """Paid hours of each post in the counted time: everybody's shifts, breaks included."""
    paid = {}
    for post in cell.posts:
        spans = [(0, plan.horizon)]
        if cell.shifts:
            spans = without_overlap(occurrences(cell, plan.horizon, post.shifts))
        there = sum(
            max(0, min(end, hour.end) - max(start, hour.start)) for hour in plan.hours for start, end in spans
        )
        paid[post.name] = post.people * there / HOUR
    return paid


def paid_hours(cell: Cell, plan: Plan) -> float:
    """Paid hours of the crew in the counted time; who comes from other cells is paid there."""
    return sum(hours for post, hours in paid_hours_of(cell, plan).items() if post not in away(cell))


def away(cell: Cell) -> frozenset[str]:
    """The posts that come from other cells when they are called: those with a response time."""
    return frozenset(post.name for post in cell.posts if post.response is not None)


def labour_figures(cell: Cell, plan: Plan, records: Sequence[Record]) -> dict[str, Any] | None:
    """Good units per paid hour of the crew."""
    paid = paid_hours(cell, plan)
    if paid == 0:
        return None
    return _entry(t_interval([sum(r.hourly) / paid for r in records]), "good units per paid labour hour")
