"""A resolved cell with all its times multiplied: which fields are times, and which cells scale exactly.

Whole microseconds are kept only where nothing is rounded.  `scalable` gives the cell in a form for which that
holds; what it changes is said there.
"""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from typing import Any

from draw_rows import compiled_law

from cellsim.describe import cell as described
from cellsim.describe.cell import (
    Batch,
    Cell,
    Element,
    Law,
    Mispicks,
    Post,
    Power,
    PurchasedPart,
    Release,
    Robot,
    Rotation,
    Shift,
    Stop,
    Store,
    Study,
    Zone,
)
from cellsim.describe.laws import LAWS
from cellsim.engine.draws import quantile
from cellsim.units import DAY

KINDS: tuple[type, ...] = tuple(
    kind for name in described.__all__ if is_dataclass(kind := getattr(described, name))
)

# Fields that are times, or texts and times; of the pairs of a plan the first is.  Joules are watts times
# time.
TIMES: dict[type, set[str]] = {
    Shift: {"start", "end", "breaks", "start_up", "clean_up", "hand_over"},
    Rotation: {"every"},
    Post: {"travel", "breaks", "called_out"},
    Robot: {"travel", "gripper_change"},
    Mispicks: {"retry"},
    Zone: {"restart"},
    Store: {"transit", "stays", "use_within", "tray_waits"},
    Batch: {"waits", "starts_at"},
    Release: {"at", "plan"},
    Stop: {"at"},
    Study: {"run", "settle"},
    Power: {"per_cycle"},
    Cell: {"target_per_hour"},  # the one rate
    Law: {"values", "measured"},
}

# Fields with numbers that are no times: counts, shares, factors, days, watts, metres, places in an order.
PURE: dict[str, set[str]] = {
    "Shift": {"days"},
    "Learning": {"rate", "standard_after", "has_done"},
    "Post": {"people", "skills", "level", "own_factor", "levels", "absent"},
    "Need": {"people", "level"},
    "Element": {"picks"},
    "Stop": {"priority", "restart_scrap"},
    "Power": {"working", "idle", "changeover", "down", "in_break", "off"},
    "Zone": {"speed"},
    "Robot": {"speed"},
    "Mispicks": {"share", "works", "retries"},
    "Rejects": {"share", "after_rework", "attempts"},
    "Faults": {"share", "after_rework", "lot_share"},
    "Inspection": {"finds", "false_rejects"},
    "Samples": {"every"},
    "Outlet": {"share"},
    "Batch": {"size", "at_least", "by_variant"},
    "Yields": {"units"},
    "Lots": {"of", "starts_at"},
    "Station": {"machines", "takes", "gives", "priority", "allowance", "mends"},
    "Store": {"places", "starts_with", "tray"},
    "Variant": {"share"},
    "Sequence": {"campaigns"},
    "PurchasedPart": {"used_at", "box", "starts_with", "bins", "orders_at", "priority"},
    "FinishedGoods": {"places", "takes"},
    "Release": {"cards"},
    "Carrier": {"count"},
    "Study": {"shifts", "settle_shifts", "seed", "replications"},
    "Cell": {"layout", "levels", "shared", "margins"},
}


def _time(value: Any, k: Fraction) -> Any:
    """A time, or the times in a tuple, multiplied; text stays."""
    if isinstance(value, tuple):
        return tuple(_time(one, k) for one in value)
    if isinstance(value, float):
        return float(Fraction(value) * k) if math.isfinite(value) else value
    if isinstance(value, int):
        product = value * k
        assert product.denominator == 1, f"{value} us x {k} is no whole number of microseconds"
        return int(product)
    return value


def scaled_law(law: Law, k: Fraction) -> Law:
    """The law of k times the times."""
    times = [p.kind == "time" for p in LAWS[law.name].parameters if p.kind != "times"]
    values = (_time(v, k) if is_time else v for v, is_time in zip(law.values, times, strict=True))
    return Law(law.name, tuple(values), _time(law.measured, k))


def scaled(value: Any, k: Fraction) -> Any:
    """A cell, or any part of it, with every time multiplied by k and every rate divided by it."""
    if isinstance(value, tuple):
        return tuple(scaled(one, k) for one in value)
    if isinstance(value, Law):
        return scaled_law(value, k)
    if type(value) not in KINDS:
        return value
    found = {}
    for field in fields(value):
        part = getattr(value, field.name)
        counted = isinstance(value, Stop) and field.name == "every" and value.clock in ("cycles", "units")
        if isinstance(value, Cell) and field.name == "target_per_hour":
            found[field.name] = None if part is None else float(Fraction(part) / k)
        elif isinstance(value, Release) and field.name == "plan":
            found[field.name] = tuple((_time(at, k), units) for at, units in part)
        elif field.name in TIMES.get(type(value), ()):
            found[field.name] = _time(part, k)
        elif not counted:
            found[field.name] = scaled(part, k)
    return replace(value, **found)


def coarse_law(law: Law, grid: int, values: int) -> Law:
    """A law that varies as so many of its quantiles, on a grid of microseconds, of which one is drawn."""
    if law.name in ("fixed", "listed", "measured"):
        return law
    row, table = compiled_law(law)
    times = [quantile(row, (j + 0.5) / values, table) for j in range(values)]
    return Law("measured", (), tuple(grid * math.ceil(time / grid) for time in times))


def scalable(value: Any, grid: int, values: int = 8) -> Any:
    """A cell, or any part of it, whose runs scale exactly: no time in it is ever rounded.

    A law that varies draws one of its quantiles, on the grid.  Nobody learns, since the factor of repetition
    n is no short fraction.  A robot slows to one half where it slows at all: what is left of its element is
    then divided by a power of two.  Of the days only Monday is worked, since days and weeks keep their
    length.  At most one pick of an element fails, and its retry takes time; regular deliveries need nobody:
    else somebody is called, or comes again, 1 us later, which no factor changes.
    """
    if isinstance(value, tuple):
        return tuple(scalable(one, grid, values) for one in value)
    if isinstance(value, Law):
        return coarse_law(value, grid, values)
    if type(value) not in KINDS:
        return value
    found = {field.name: scalable(getattr(value, field.name), grid, values) for field in fields(value)}
    if isinstance(value, Post):
        found["learning"] = None
    elif isinstance(value, Robot | Zone) and 0 < value.speed < 1:
        found["speed"] = 0.5
    elif isinstance(value, Shift):
        found["days"] = (0,)
    elif isinstance(value, Mispicks):
        found["retry"] = max(grid, value.retry)
    elif isinstance(value, PurchasedPart) and value.supply == "regular":
        found |= {"brought_by": (), "trip": None}
    elif isinstance(value, Element):
        found["picks"] = min(1, value.picks)
    elif isinstance(value, Stop):
        found["at"] = tuple(at for at in value.at if at < DAY)
    return replace(value, **found)
