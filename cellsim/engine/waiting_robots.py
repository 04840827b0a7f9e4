"""Robots that stand with a unit before a target that is not free: what they wait for, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cellsim.engine import layout as L

Waits = dict[
    int, list[tuple[int, str]]
]  # who waits -> whom for, and how to say it; robots come after machines


def machines_of(c: Any, s: int) -> range:
    """The machines of station `s`."""
    return range(c.stations[s].first_machine, c.stations[s].first_machine + c.stations[s].machines)


def waits_of_robots(c: Any, names: Any) -> Waits:
    """Robots with a unit that wait for machines, and finished machines that wait for such robots."""
    count = len(c.machines)
    waiting: Waits = {}
    for _, errand in waiting_errands(c):
        taken = (
            list(machines_of(c, errand.to_station)) if errand.to_station >= 0 else _takers(c, errand.store)
        )
        waiting[count + errand.robot] = [
            (i, f"{names.actors[errand.robot]} holds a unit for {_target(errand, names)}") for i in taken
        ]
    for i, m in enumerate(c.machines):
        robots = {a for a in unloaders(c, m) if count + a in waiting} if m.progress == L.DONE else set()
        if robots:
            waiting[i] = [
                (count + a, f"{names.machines[i]} has finished and waits for {names.actors[a]}")
                for a in sorted(robots)
            ]
    return waiting


def robots_with_units(c: Any, names: Any) -> list[str]:
    """The robots that stand with a unit, in words."""
    return [
        f"{names.actors[errand.robot]} holds a unit for {_target(errand, names)}"
        for _, errand in waiting_errands(c)
    ]


def waiting_errands(c: Any) -> Iterator[tuple[int, Any]]:
    """The errands whose robot stands with a unit before its target, each with its row."""
    for e, errand in enumerate(c.errands):
        if c.jobs[c.errand_base + e].state == L.WAITING:
            yield e, errand


def _target(errand: Any, names: Any) -> str:
    return str(names.stations[errand.to_station] if errand.to_station >= 0 else names.stores[errand.store])


def _takers(c: Any, s: int) -> list[int]:
    store = c.stores[s]
    return list(c.takers[store.first_taker : store.first_taker + store.takers])


def unloaders(c: Any, m: Any) -> Iterator[int]:
    """The robots that take the finished unit off a machine, by a move or a visit."""
    for errand in c.errands:
        if errand.from_station == m.station and errand.store == m.outlet:
            yield errand.robot
    station = c.stations[m.station]
    if station.ends > 0 and not m.unloaded:
        step = c.steps[station.first_end]
        for n in range(step.first_need, step.first_need + step.needs):
            skill = c.skills[c.needs[n].skill]
            yield from c.able[skill.first_able : skill.first_able + skill.able]
