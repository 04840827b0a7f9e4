"""Energy: what the time in each state has drawn, computed after the run from the totals of states.

The sums are whole watt-microseconds; they become kWh once, at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.describe.cell import Power
from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.statistics import Interval, ratio_interval, t_interval

KWH = 3_600_000_000 * 1000  # watt-microseconds
MICROSECONDS = 1_000_000

# Group of states -> the states of machines and of robots in it; every other state counts as idle.
GROUPS: dict[str, tuple[str, ...]] = {
    "working": ("working", "attended", "travelling"),
    "changeover": ("changeover",),
    "down": ("down", "waiting for repair", "planned service"),
    "break": ("break",),
    "off": ("off",),
}
CYCLES = "cycles"  # the group of what each cycle needs beside that


def group_of(state: str) -> str:
    """The group of a state of a machine or robot."""
    return next((group for group, states in GROUPS.items() if state in states), "idle")


def _drawn(power: Power, states: Sequence[str], totals: Sequence[int], cycles: int) -> dict[str, int]:
    """Watt-microseconds by group."""
    watts = {
        "working": power.working, "idle": power.idle, "changeover": power.changeover, "down": power.down,
        "break": power.in_break, "off": power.off,
    }  # fmt: skip
    found = dict.fromkeys((*watts, CYCLES), 0)
    for state, total in zip(states, totals, strict=True):
        group = group_of(state)
        found[group] += total * watts[group]
    found[CYCLES] = cycles * power.per_cycle * MICROSECONDS
    return found


def energy_figures(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any] | None:
    """Energy in the counted time of every station and robot that says what it draws; None where none does.

    `kwh` has a mean and an interval, `kwh_by_state` the means by group of states.  `base_load_share` is
    the share of all energy that is drawn while nothing is worked on: all groups but working and cycles.
    """
    drawn: dict[str, dict[str, list[dict[str, int]]]] = {"stations": {}, "robots": {}}
    for k, station in enumerate(flat.cell.stations):
        if station.power is not None:
            row = flat.state.stations[k]
            machines = range(row.first_machine, row.first_machine + row.machines)
            drawn["stations"][station.name] = [
                _drawn(
                    station.power,
                    L.MACHINE_STATES,
                    [sum(r.machines[i][s] for i in machines) for s in range(len(L.MACHINE_STATES))],
                    sum(r.cycles[i] for i in machines),
                )
                for r in records
            ]
    for robot in flat.cell.robots:
        if robot.power is not None:
            a = flat.names.posts.index(robot.name)
            drawn["robots"][robot.name] = [
                _drawn(robot.power, L.ACTOR_STATES, r.actors[a], 0) for r in records
            ]
    rows = [*drawn["stations"].values(), *drawn["robots"].values()]
    if not rows:
        return None
    totals = [sum(sum(row[k].values()) for row in rows) for k in range(len(records))]
    base = [total - sum(row[k]["working"] + row[k][CYCLES] for row in rows) for k, total in enumerate(totals)]
    good = [sum(r.hourly) for r in records]
    return {
        "kwh": _entry(t_interval([total / KWH for total in totals]), "kWh in the counted time"),
        "kwh_per_good_unit": _entry(
            ratio_interval([total / KWH for total in totals], good), "kWh per good unit"
        ),
        "base_load_share": _entry(ratio_interval(base, totals), "share of the energy"),
        **{
            section: {name: _member(values) for name, values in members.items()}
            for section, members in drawn.items()
        },
    }


def _member(values: Sequence[dict[str, int]]) -> dict[str, Any]:
    groups = [group for group in values[0] if any(value[group] for value in values)]
    return {
        "kwh": _entry(t_interval([sum(value.values()) / KWH for value in values]), "kWh"),
        "kwh_by_state": {
            group: t_interval([value[group] / KWH for value in values]).mean for group in groups
        },
    }


def _entry(interval: Interval | None, unit: str) -> dict[str, Any]:
    if interval is None:
        return {"mean": None, "interval": [None, None], "unit": unit}
    return {"mean": interval.mean, "interval": interval.as_list(), "unit": unit}
