"""Times, needs, stops and power in a resolved file."""

from __future__ import annotations

import math
from collections.abc import Iterable

from cellsim.describe.cell import Law, Need, Power, Stop
from cellsim.describe.kinds import DAYS
from cellsim.describe.laws import LAWS
from cellsim.describe.times import COUNTED
from cellsim.describe.writer_text import Value
from cellsim.units import (
    DAY,
    format_clock,
    format_energy,
    format_number,
    format_power,
    format_ratio,
    format_time,
)


def yes_no(value: bool) -> str:
    """`yes` or `no`."""
    return "yes" if value else "no"


def power_keys(power: Power | None) -> dict[str, Value]:
    """The key `power`, where something is known of it."""
    if power is None:
        return {}
    value: dict[str, Value] = {
        "working": format_power(power.working),
        "idle": format_power(power.idle),
        "changeover": format_power(power.changeover),
        "down": format_power(power.down),
        "break": format_power(power.in_break),
        "off": format_power(power.off),
    }
    if power.per_cycle:
        value["per_cycle"] = format_energy(power.per_cycle)
    return {"power": value}


def stop_keys(stops: Iterable[Stop]) -> dict[str, Value]:
    """The keys `stops` and `service`, as far as there are any."""
    found: dict[str, dict[str, Value]] = {"stops": {}, "service": {}}
    for stop in stops:
        value: dict[str, Value] = {}
        if stop.at:
            value["at"] = [f"{DAYS[moment // DAY]} {format_clock(moment % DAY)}" for moment in stop.at]
        else:
            value["every"] = law_keys(stop.every, stop.clock in COUNTED) | {"of": stop.clock}
        value["lasts"] = law_keys(stop.lasts)
        value["by" if stop.planned else "cleared_by"] = needs_value(stop.repaired_by)
        value["begins"] = "after the cycle" if stop.after_cycle else "at once"
        if stop.stops_too:
            value["with"] = list(stop.stops_too)
        if stop.restart_scrap:
            value["restart_scrap"] = str(stop.restart_scrap)
        if not stop.planned:
            value |= {"interrupts": yes_no(stop.interrupts), "part": stop.part}
        found["service" if stop.planned else "stops"][stop.name] = value | {"priority": str(stop.priority)}
    return {key: values for key, values in found.items() if values}


def needs_value(needs: tuple[Need, ...]) -> Value:
    """Who is needed, as {name: people}, or nobody."""
    return {need.skill: str(need.people) for need in needs} or "nobody"


def law_value(law: Law) -> Value:
    """A law as it is written in a file: a plain time if it is fixed, else by its keys."""
    return format_time(round(law.values[0])) if law.name == "fixed" else law_keys(law)


def law_keys(law: Law, counts_cycles: bool = False) -> dict[str, Value]:
    """A law by all its keys."""
    value: dict[str, Value] = {"law": law.name}
    if law.measured:
        return value | {law.name: [format_time(time) for time in law.measured]}
    for row, number in zip(LAWS[law.name].parameters, law.values, strict=True):
        if not math.isfinite(number):
            continue
        if row.kind == "time" and not counts_cycles:
            value[row.name] = format_time(round(number))
        else:
            value[row.name] = format_ratio(number) if row.kind == "spread" else format_number(number)
    return value
