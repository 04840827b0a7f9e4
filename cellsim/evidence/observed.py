"""The model of a cell against hourly counts of real shifts: how far apart, the same to a margin, why."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from cellsim.describe.cell import Cell
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.evidence.equivalence import difference, hourly_distance, shifts_needed
from cellsim.evidence.records import Column, Records, Row, read_records
from cellsim.evidence.values import moments, numbers
from cellsim.study.losses import loss_account
from cellsim.study.plan import Hour, Plan, make_plan
from cellsim.units import quoted

COLUMNS = (
    Column("time", ("hour", "from", "start", "begin", "date time", "datetime", "timestamp", "begins")),
    Column("date", ("day",), needed=False),
    Column("good", ("count", "count good", "good units", "good count", "ok", "pieces", "output", "units")),
    Column("bad", ("count bad", "reject", "rejects", "scrap", "nok"), needed=False),
)
MARGIN = 0.03  # of the output: what is usually called the same (common practice, no source)
LEAST_ELASTICITY = (
    0.02  # causes that would have to change by more than 50 times the difference explain nothing
)
CAUSES = 5
NEAR = 0.2  # of the margin: a difference so close to it is hardly settled by more shifts
_CLOCK = r"(\d{1,2})(?::(\d{2})(?::00)?)?"
_HOUR_ONLY = re.compile(rf"{_CLOCK}(?:\s*(?:-|\u2013|to)\s*{_CLOCK})?")


@dataclass(frozen=True, slots=True)
class RealShift:
    """One shift that was counted whole: its date, the label of its first hour, units of each of its hours."""

    date: str
    begins: str
    hours: tuple[float, ...]


def read_counts(
    path: Path, cell: Cell, *, decimal: str = "", order: str = "", cumulative: bool = False
) -> tuple[list[RealShift], list[str]]:
    """The shifts that a file of hourly counts holds whole, and what was changed or left out.

    Rows are hours of the cell's shifts, in any order, with date and hour in one column or in two;
    `cumulative`: counts go on rising and may begin anew.

    Raises:
        UsageError: the cell has no shifts, or the file cannot be used.
        DescriptionError: with the row and column of every mistake.
    """
    if not cell.shifts:
        raise UsageError("hourly counts are held against shifts; the cell has none")
    records = read_records(path, COLUMNS)
    records.leave_out_summaries(lambda row: (row["time"], row["date"]))
    _with_dates(records)
    at, good = moments(records, "time", order), numbers(records, "good", decimal)
    kinds = _kinds(make_plan(cell))
    found: dict[tuple[str, str], dict[int, tuple[int, float]]] = {}
    for row, moment, value in zip(records.rows, at, good, strict=True):
        if moment is None or math.isnan(value):
            continue
        if value < 0:
            records.wrong(row, "good", f"{value:g} units are below 0")
            continue
        place = _place(kinds, moment)
        if place is None:
            begins = ", ".join(
                dict.fromkeys(label.split("-")[0] for labels in kinds.values() for label in labels)
            )
            records.wrong(
                row,
                "time",
                f"no hour of the cell begins at {moment:%H:%M}",
                f"its hours begin {begins[:120]}",
            )
            continue
        date, first, number = place
        hours = found.setdefault((date, first), {})
        if number in hours:
            records.wrong(row, "time", f"this hour stands in line {hours[number][0]} already")
        hours[number] = (row.line, value)
    records.stop_if_wrong()
    return _whole(records, kinds, found, cumulative), records.repairs


def _with_dates(records: Records) -> None:
    """Hours such as `06:00`, `06:00-07:00` or `6` become moments of the date in the column beside them.

    Hours after midnight belong to the date that is written, which is that of the calendar.
    """
    rows = []
    for row in records.rows:
        hour = _HOUR_ONLY.fullmatch(row["time"])
        if hour is None:
            rows.append(row)
            continue
        if not row["date"]:
            records.wrong(
                row,
                "time",
                f"{quoted(row['time'])} has no date",
                "add a column date, or write both here, as in 2026-03-16 06:00",
            )
            records.stop_if_wrong()
        text = f"{row['date']} {int(hour[1]):02d}:{hour[2] or '00'}"
        rows.append(Row(row.line, row.texts | {"time": text}))
    records.rows = rows


def _kinds(plan: Plan) -> dict[str, list[str]]:
    """The labels of the hours of each kind of shift, by the label of the first."""
    found: dict[str, list[str]] = {}
    for shift in range(plan.shifts):
        labels = [hour.label for hour in plan.hours if hour.shift == shift]
        found.setdefault(labels[0], labels)
    return found


def _place(kinds: Mapping[str, Sequence[str]], moment: datetime) -> tuple[str, str, int] | None:
    """Date of the shift, its first label and the number of the hour that begins at a moment."""
    clock = f"{moment:%H:%M}"
    for first, labels in kinds.items():
        for number, label in enumerate(labels):
            if label.split("-")[0] == clock:
                begins = moment - timedelta(hours=number)
                return f"{begins:%Y-%m-%d}", first, number
    return None


def _whole(
    records: Records,
    kinds: Mapping[str, Sequence[str]],
    found: Mapping[tuple[str, str], Mapping[int, tuple[int, float]]],
    cumulative: bool,
) -> list[RealShift]:
    shifts = []
    for (date, first), hours in sorted(found.items()):
        missing = [label.split("-")[0] for k, label in enumerate(kinds[first]) if k not in hours]
        if missing:
            records.repairs.append(
                f"shift of {date} {first.split('-')[0]}: {len(missing)} of {len(kinds[first])} hours are"
                f" missing ({', '.join(missing)}); left out"
            )
            continue
        values = [hours[number][1] for number in range(len(kinds[first]))]
        if cumulative:
            values = _steps(values, date, records)
        shifts.append(RealShift(date, first, tuple(values)))
    return shifts


def _steps(values: Sequence[float], date: str, records: Records) -> list[float]:
    """Units of each hour from a counter that is read at its end and begins at 0 with the shift."""
    found, before = [], 0.0
    for value in values:
        if value < before:
            records.repairs.append(
                f"shift of {date}: the counter fell from {before:g} to {value:g}; taken to begin anew"
            )
            before = 0.0
        found.append(value - before)
        before = value
    return found


def held_against(
    cell: Cell, records: Sequence[Record], real: Sequence[RealShift], margin: float = MARGIN
) -> dict[str, Any]:
    """The model against real shifts, in keys.

    Totals are compared as shares of the model's mean of their kind of shift.  `verdict` is `same` where the
    90 % interval of the difference lies within the margin, `differs` where beyond, else `cannot tell`.

    Raises:
        UsageError: there are fewer than two whole shifts, or fewer than two replications.
    """
    if len(real) < 2 or len(records) < 2:
        raise UsageError(
            f"{len(real)} whole shifts and {len(records)} replications; a comparison takes two of each"
        )
    plan = make_plan(cell)
    totals = _totals(plan, records)
    means = {kind: float(np.mean([value for row in rows for value in row])) for kind, rows in totals.items()}
    if any(means[shift.begins] <= 0 for shift in real):
        raise UsageError("the model makes nothing in such shifts; there is nothing to compare with")
    observed = [sum(shift.hours) / means[shift.begins] for shift in real]
    seen = {shift.begins for shift in real}
    modelled = [
        float(np.mean([value / means[kind] for kind in seen for value in totals[kind][r]]))
        for r in range(len(records))
    ]
    gap = difference(observed, modelled)
    low, high = gap.interval()
    distance, chance = hourly_distance(
        [shift.hours for shift in real], [hours for row in _hours(plan, records, seen) for hours in row], 499
    )
    return {
        "shifts": len(real),
        "replications": len(records),
        "observed_per_shift": float(np.mean([sum(shift.hours) for shift in real])),
        "model_per_shift": float(np.mean([means[shift.begins] for shift in real])),
        "difference": {
            "mean": -gap.mean,
            "interval": [-high, -low],
            "unit": "observed less model, share of model",
        },
        "margin": margin,
        "verdict": gap.verdict(margin),
        **_more(observed, modelled, gap.mean, margin),
        "hourly": {"distance": distance, "chance": chance},
        "by_hour": _by_hour(plan, records, real),
        "would_explain": _would_explain(cell, records, -gap.mean),
    }


def _more(
    observed: Sequence[float], modelled: Sequence[float], apart: float, margin: float
) -> dict[str, Any]:
    """How many shifts would settle it if the truth were what was seen, and what stands in the way.

    `shifts_needed` is None where the error of the model is too large for any number; `in_the_way` holds
    `model` (its runs are most of the uncertainty) and `margin` (the difference lies within a fifth of it).
    """
    error = float(np.std(modelled, ddof=1)) / math.sqrt(len(modelled))
    spread = float(np.std(observed, ddof=1))
    near = abs(abs(apart) - margin) < NEAR * margin
    model = error**2 > spread**2 / len(observed)
    try:
        wide, narrow = max(margin, abs(apart)), min(margin, abs(apart))
        needed = shifts_needed(spread, wide, truly=narrow, model_error=error) if spread > 0 else 2
    except ValueError:
        needed = None
    open_ = (("model", model or needed is None), ("margin", near))
    return {"shifts_needed": needed, "in_the_way": [what for what, there in open_ if there]}


def _totals(plan: Plan, records: Sequence[Record]) -> dict[str, list[list[float]]]:
    """Units of each shift, by its kind and replication."""
    found: dict[str, list[list[float]]] = {}
    for kind, spans in spans_of(plan).items():
        found[kind] = [[float(sum(r.hourly[k] for k in span)) for span in spans] for r in records]
    return found


def spans_of(plan: Plan) -> dict[str, list[list[int]]]:
    """The indices of the hours of each shift, by its kind."""
    found: dict[str, list[list[int]]] = {}
    for shift in range(plan.shifts):
        span = [k for k, hour in enumerate(plan.hours) if hour.shift == shift]
        found.setdefault(plan.hours[span[0]].label, []).append(span)
    return found


def _hours(plan: Plan, records: Sequence[Record], seen: set[str]) -> list[list[list[float]]]:
    spans = [span for kind, rows in spans_of(plan).items() if kind in seen for span in rows]
    return [[[float(record.hourly[k]) for k in span] for span in spans] for record in records]


def _by_hour(plan: Plan, records: Sequence[Record], real: Sequence[RealShift]) -> list[dict[str, Any]]:
    """Each hour of the clock: observed mean and range, model mean and band, share of observed inside it."""
    rows = []
    for kind, spans in spans_of(plan).items():
        shifts = [shift for shift in real if shift.begins == kind]
        for number, k in enumerate(spans[0] if shifts else ()):
            seen = [shift.hours[number] for shift in shifts]
            model = [float(record.hourly[span[number]]) for record in records for span in spans]
            low, high = (float(np.quantile(model, q, method="inverted_cdf")) for q in (0.05, 0.95))
            rows.append(
                {
                    "hour": plan.hours[k].label,
                    "observed": float(np.mean(seen)),
                    "least": min(seen),
                    "most": max(seen),
                    "model": float(np.mean(model)),
                    "p05": low,
                    "p95": high,
                    "inside": float(np.mean([low <= value <= high for value in seen])),
                    "working_min": _minutes(plan.hours[k]),
                }
            )
    return rows


def _minutes(hour: Hour) -> float:
    return hour.worked / 60_000_000


def _would_explain(cell: Cell, records: Sequence[Record], share: float) -> list[dict[str, Any]]:
    """By how much the time of each chief cause would have to differ to explain the whole difference.

    By the critical path: 1 % less time of a cause gives about its elasticity in per cent.
    """
    causes = loss_account(compile_cell(cell), records)["causes"]
    found = [
        {"who": row["who"], "what": row["what"], "change": -share / row["elasticity"]}
        for row in causes
        if row["elasticity"] is not None and row["elasticity"] > LEAST_ELASTICITY
    ]
    return sorted(found, key=lambda row: abs(row["change"]))[:CAUSES]
