"""Single figures of a replication that studies compare, search by and stop on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cellsim.describe.cell import Cell
from cellsim.engine.record import Record
from cellsim.study.output import paid_hours
from cellsim.study.plan import Plan, make_plan
from cellsim.units import HOUR, SECOND

Figure = Callable[[Cell, Plan, Record], float | None]


def output_per_hour(cell: Cell, plan: Plan, record: Record) -> float | None:
    """Good units per working hour."""
    return sum(record.hourly) * HOUR / plan.worked if plan.worked else None


def output(cell: Cell, plan: Plan, record: Record) -> float | None:
    """Good units in the whole counted time."""
    return float(sum(record.hourly))


def wip(cell: Cell, plan: Plan, record: Record) -> float | None:
    """Mean number of units inside the cell."""
    return record.cell["wip_area"] / (plan.horizon - plan.counted_from)


def lead_time(cell: Cell, plan: Plan, record: Record) -> float | None:
    """Mean time in the cell of the units that left, in seconds; None where none left."""
    times = record.lead_times
    return sum(times) / len(times) / SECOND if times else None


def per_labour_hour(cell: Cell, plan: Plan, record: Record) -> float | None:
    """Good units per paid hour of the crew; None where nobody is paid."""
    paid = paid_hours(cell, plan)
    return sum(record.hourly) / paid if paid else None


@dataclass(frozen=True, slots=True)
class Watched:
    """A figure with its unit, and what is better: more (1), less (-1)."""

    figure: Figure
    unit: str
    better: int


WATCHED = {
    "output_per_hour": Watched(output_per_hour, "good units per working hour", 1),
    "output": Watched(output, "good units in the counted time", 1),
    "units_per_labour_hour": Watched(per_labour_hour, "good units per paid labour hour", 1),
    "wip": Watched(wip, "units", -1),
    "lead_time": Watched(lead_time, "s", -1),
}

CHIEF = "output_per_hour"  # the figure by which studies stop and decide


def values_of(name: str, cell: Cell, records: list[Record]) -> list[float] | None:
    """A figure in each replication of a cell; None where one of them does not have it."""
    plan = make_plan(cell)
    values = [WATCHED[name].figure(cell, plan, record) for record in records]
    return None if any(value is None for value in values) else [float(value or 0) for value in values]
