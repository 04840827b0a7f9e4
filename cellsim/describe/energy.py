"""Power: what stations and robots draw in each group of states."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from cellsim.describe.cell import Power, Robot, Station
from cellsim.describe.fields import Record
from cellsim.describe.making import Making
from cellsim.describe.tree import join
from cellsim.units import format_power

One = TypeVar("One", Station, Robot)

AT_WORK, READY = 0.6, 0.3  # of the nameplate; common practice, no source


def with_power(making: Making, top: Record, members: tuple[One, ...], section: str) -> tuple[One, ...]:
    """The stations or robots of `section` with what each draws: its own `power`, else that of the cell."""
    common: Record | None = top.get("power")
    entries = top.get(section) or {}
    found = []
    for member in members:
        record = entries[member.name].value
        own: Record | None = record.get("power")
        given = own or common
        found.append(member if given is None else replace(member, power=_to_power(making, given)))
    return tuple(found)


def _to_power(making: Making, given: Record) -> Power:
    watts: dict[str, int] = {name: item.value for name, item in given.values.items()}

    def assume(name: str, value: float, why: str) -> None:
        watts[name] = round(value)
        making.assume(join(given.path, name), format_power(watts[name]), why)

    if not {"working", "nameplate"} & given.places.keys():
        hint = "write working: 4 kW, or nameplate: 7.5 kW"
        making.wrong(given, given.path, "nothing says what is drawn at work", hint)
    if "working" not in watts:
        why = "60 % of the nameplate at work: a guess by common practice, measure it"
        assume("working", AT_WORK * watts.get("nameplate", 0), why)
    if "idle" not in watts and "nameplate" in watts:
        why = "30 % of the nameplate when idle: a guess by common practice, measure it"
        assume("idle", READY * watts["nameplate"], why)
    elif "idle" not in watts:
        why = "half of what is drawn at work: a guess by common practice, measure it"
        assume("idle", watts["working"] * READY / AT_WORK, why)
    for name in ("changeover", "down", "break"):
        if name not in watts:
            assume(name, watts["idle"], "as when idle")
    if "off" not in watts:
        assume("off", 0, "switched off outside shifts")
    return Power(
        working=watts["working"],
        idle=watts["idle"],
        changeover=watts["changeover"],
        down=watts["down"],
        in_break=watts["break"],
        off=watts["off"],
        per_cycle=watts.get("per_cycle", 0),
    )
