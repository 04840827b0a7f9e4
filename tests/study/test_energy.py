"""Energy by state: the sum of the time in each state times what is drawn in it, worked out by hand."""

from __future__ import annotations

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.energy import energy_figures, group_of
from cellsim.study.study import run

TWO = """
cell: two
power: {working: 3 kW, idle: 1500 W}
route: [a, b]
stations:
  a: {cycle: 24 s, power: {working: 4 kW, idle: 2 kW, per_cycle: 0.01 kWh}}
  b: {cycle: 36 s}
study: {run: 1 h}
"""

SHIFTS = """
cell: shifts
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 10:00, for: 30 min}]}}
power: {working: 6 kW, idle: 2 kW, break: 1 kW, down: 500 W, changeover: 3 kW, off: 100 W}
robots: {R1: {power: {working: 700 W, idle: 250 W, off: 10 W}}}
route: [a]
stations: {a: {cycle: 1 min, visit: {by: R1, load: 5 s, unload: 5 s}}}
"""


def test_time_in_state_times_power():
    """Bench a works 2412 s of the hour and is blocked 1188 s, 100 cycles; b works 3576 s and starves 24 s.

    a: 4 x 2412 + 2 x 1188 + 100 x 36 = 15624 kJ = 4.34 kWh; b: 3 x 3576 + 1.5 x 24 = 10764 kJ = 2.99 kWh; 99
    units leave.
    """
    energy = run(load_text(TWO), replications=1)["energy"]
    a, b = energy["stations"]["a"], energy["stations"]["b"]
    assert a["kwh"]["mean"] == 4.34
    assert a["kwh_by_state"] == {"working": 2.68, "idle": 0.66, "cycles": 1.0}
    assert b["kwh"]["mean"] == 2.99
    assert b["kwh_by_state"] == {"working": 2.98, "idle": 0.01}
    assert energy["kwh"]["mean"] == 7.33
    assert energy["kwh_per_good_unit"]["mean"] == pytest.approx(7.33 / 99, rel=1e-15)
    assert energy["base_load_share"]["mean"] == pytest.approx(2412 / 26388, rel=1e-15)
    assert energy["robots"] == {}


def test_every_state_draws_by_its_group():
    """A record with hours in each state: 1 h working, 2 attended, 3 starved, ... times its kW."""
    flat = compile_cell(load_text(SHIFTS))
    hours = {
        "working": 1, "attended": 2, "handled": 4, "changeover": 8, "starved": 16, "blocked": 32,
        "waiting for operator": 64, "waiting for robot": 128, "waiting for robot, empty": 256, "down": 512,
        "waiting for repair": 1024, "break": 2048, "off": 4096,
    }  # fmt: skip
    times = {"working": 1, "travelling": 2, "repairing": 4, "free": 8, "held": 16, "off": 32}
    hour = 3_600_000_000
    record = Record(
        0,
        hourly=[100],
        machines=[[hours.get(state, 0) * hour for state in L.MACHINE_STATES]],
        actors=[[times.get(state, 0) * hour for state in L.ACTOR_STATES]],
        cycles=[7],
    )
    energy = energy_figures(flat, [record])
    idle = 4 + 16 + 32 + 64 + 128 + 256
    assert energy["stations"]["a"]["kwh_by_state"] == {
        "working": 6 * 3.0, "changeover": 3 * 8.0, "idle": 2.0 * idle, "down": 0.5 * 1536, "break": 2048.0,
        "off": pytest.approx(409.6),
    }  # fmt: skip
    assert energy["robots"]["R1"]["kwh_by_state"] == {
        "working": pytest.approx(0.7 * 3), "idle": 0.25 * 28, "off": 0.32,
    }  # fmt: skip
    assert energy["kwh"]["mean"] == pytest.approx(18 + 24 + 2 * idle + 768 + 2048 + 409.6 + 2.1 + 7 + 0.32)


def test_without_power_nothing_is_said():
    """A cell that says nothing about power has no energy figures."""
    text = "cell: quiet\nroute: [a]\nstations: {a: {cycle: 1 min}}\nstudy: {run: 1 h}\n"
    assert run(load_text(text), replications=1)["energy"] is None


def test_nothing_good_has_no_energy_per_unit():
    """Energy per good unit is not defined where no unit leaves."""
    text = TWO.replace("run: 1 h", "run: 30 s")
    assert run(load_text(text), replications=1)["energy"]["kwh_per_good_unit"]["mean"] is None


def test_guesses_are_listed():
    """The nameplate alone: 60 % at work, 30 % idle, the same in breaks, nothing at night; all assumed."""
    cell = load_text(TWO.replace("{working: 3 kW, idle: 1500 W}", "{nameplate: 5 kW}"))
    power = cell.stations[1].power
    assert (power.working, power.idle, power.changeover, power.down) == (3000, 1500, 1500, 1500)
    assert (power.in_break, power.off, power.per_cycle) == (1500, 0, 0)
    listed = {a.path for a in cell.assumptions if a.path.startswith("power.")}
    assert listed == {f"power.{name}" for name in ("working", "idle", "changeover", "down", "break", "off")}


def test_groups_hold_known_states_only():
    """Every state that a group names exists; a state in no group counts as idle."""
    known = {*L.MACHINE_STATES, *L.ACTOR_STATES}
    assert {group_of(state) for state in known} == {"working", "changeover", "down", "break", "off", "idle"}
    assert group_of("starved") == group_of("free") == group_of("handled") == "idle"
