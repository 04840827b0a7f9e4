"""The cycle of a machine: take what it needs, work through the elements, hand over.

A cycle starts only when every unit, person, robot and (where asked) outlet place it needs is free at that
instant.  A finished unit stays on the machine while the next place is taken.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    CALLING,
    DONE,
    EMPTY,
    IDLE,
    IN_CYCLE,
    M_BLOCKED,
    M_BREAK,
    M_DOWN,
    M_EMPTY_WAITS_ROBOT,
    M_HANDLED,
    M_OFF,
    M_STARVED,
    M_WAITS_CARRIER,
    M_WAITS_OPERATOR,
    M_WAITS_REPAIR,
    M_WAITS_ROBOT,
    N_ENDS,
    N_STARTS,
    OFF,
    PAUSED,
    SCRAP,
    TRAVELLING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.boarding import board, latest_carrier, short_of_carriers
from cellsim.engine.rules.carriers import clear_carriers, ride_along
from cellsim.engine.rules.handover import (
    empty_machine,
    inputs_ready,
    keep_places,
    latest_input,
    scrap_units,
    settle_reservation,
    take_inputs,
)
from cellsim.engine.rules.ledger import book_machine, busy_state
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import attend, claim, dismiss, set_out, step_length, step_plan
from cellsim.engine.rules.progress import begin
from cellsim.engine.rules.quality import judge, send_on
from cellsim.engine.rules.units import new_unit


@rule
def give_up(c: Any, i: int) -> None:
    """The unit in work on machine `i` was lost when it stopped."""
    m = c.machines[i]
    station = c.stations[m.station]
    m.lost = 0
    m.in_work = 0
    m.node = max(m.node, c.jobs[i].node)
    if station.reserves == 1:
        m.outlet = SCRAP
        settle_reservation(c, i)
    scrap_units(c, i)
    empty_machine(c, i)
    wake(c, i)


@rule
def classify(c: Any, i: int) -> int:
    """The state of machine `i` when its own job is not in progress."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.downs > 0:
        return M_DOWN if m.repairs > 0 else M_WAITS_REPAIR
    if m.handled == 1 or (station.dial > 0 and c.dials[station.dial - 1].turning == 1):
        return M_HANDLED
    calendar = c.calendars[station.calendar].state
    if calendar == OFF:
        return M_OFF
    if station.open == 0:
        return M_BREAK
    job = c.jobs[i]
    if job.state == CALLING or job.state == TRAVELLING or job.state == PAUSED:
        return M_WAITS_ROBOT if c.steps[job.step].robot == 1 else M_WAITS_OPERATOR
    if m.progress == DONE:
        visit = c.jobs[c.visit_base + i].state
        if station.ends == 0 or m.unloaded == 1 or visit == IDLE:
            return M_BLOCKED
        return M_WAITS_ROBOT if c.steps[station.first_end].robot == 1 else M_WAITS_OPERATOR
    if m.progress == EMPTY:
        if station.carries == 1 and c.jobs[c.visit_base + i].unit < 0:
            if inputs_ready(c, m.station) and short_of_carriers(c, m.station):
                return M_WAITS_CARRIER
        if station.starts > 0 and (c.jobs[c.visit_base + i].unit >= 0 or inputs_ready(c, m.station)):
            return M_EMPTY_WAITS_ROBOT if c.steps[station.first_start].robot == 1 else M_WAITS_OPERATOR
        return M_BLOCKED if inputs_ready(c, m.station) else M_STARVED
    if station.dial > 0 and c.dials[station.dial - 1].halts > 0:
        return M_BLOCKED
    return M_WAITS_OPERATOR


@rule
def work_on(c: Any, i: int, size: int) -> None:
    """The step of machine `i` begins with the crew written down for it (none when it needs nobody)."""
    m = c.machines[i]
    job = c.jobs[i]
    step = c.steps[m.step]
    length = step_length(c, i, size)
    plan = job.rest_plan
    if job.remaining == 0:
        plan = step.plan
        if step.varies == 1:
            plan = step_plan(c, i)
        m.drawn += length
    if m.progress == IN_CYCLE:
        m.in_work = 1
    if c.tracing == 1:
        note(c, N_STARTS, i, m.step)
    book_machine(c, i, busy_state(c, i, size))
    begin(c, i, ACTIVE, length, step.cause, plan)
    if size > 0:
        attend(c, i)


@rule
def start_attended(c: Any, i: int, size: int) -> None:
    """The crew of machine `i` sets out for its step, or begins at once where everybody is there."""
    m = c.machines[i]
    if set_out(c, i, c.steps[m.step].point):
        book_machine(c, i, classify(c, i))
    else:
        work_on(c, i, size)


@rule
def start_cycle(c: Any, i: int, size: int) -> None:
    """Machine `i` starts a cycle now with `size` people claimed."""
    m = c.machines[i]
    station = c.stations[m.station]
    job = c.jobs[i]
    node = latest_input(c, m.station)
    if m.node > node:
        node = m.node
    if size > 0:
        node = max(node, claim(c, i, size))
    if station.reserves == 1:
        node = max(node, keep_places(c, i))
    if station.carries == 1:
        node = max(node, latest_carrier(c, m.station))
    node = bind(c, node, station.wait_cause)
    job.node = node
    m.unit = take_inputs(c, m.station, node)
    m.units = 1
    if station.carries == 1:
        board(c, m.station, m.unit)
    if station.picks == 1:
        set_up(c, i)
    m.progress = IN_CYCLE
    m.step = station.first_step
    job.step = m.step
    c.starts += 1
    if size > 0:
        start_attended(c, i, size)
    else:
        work_on(c, i, 0)


@rule
def set_up(c: Any, i: int) -> None:
    """What is on machine `i` now decides how long its cycle takes and what the next one finds."""
    m = c.machines[i]
    v = c.parts[m.unit].variant
    c.jobs[i].which = v
    if v > 0:
        m.setup = v
    m.units = 0
    u = m.unit
    while u >= 0:
        m.units += 1
        u = c.parts[u].next


@rule
def resume_cycle(c: Any, i: int, size: int) -> None:
    """Machine `i` goes on with its cycle, with `size` people claimed for the step."""
    m = c.machines[i]
    job = c.jobs[i]
    node = max(m.node, job.node)
    if size > 0 and job.crew_size == 0:
        node = max(node, claim(c, i, size))
    job.node = bind(c, node, c.cause_calendar)
    if size > 0:
        start_attended(c, i, size)
    else:
        work_on(c, i, 0)


@rule
def end_step(c: Any, i: int) -> None:
    """The step of machine `i` has ended; after the last one the units on it are judged."""
    m = c.machines[i]
    job = c.jobs[i]
    station = c.stations[m.station]
    step = m.step + 1
    m.node = job.node
    if c.tracing == 1:
        note(c, N_ENDS, i, m.step)
    m.step = step
    job.step = step
    wake(c, i)
    if step < station.first_step + station.steps:
        return
    m.progress = DONE
    m.in_work = 0
    m.cycles += 1
    while m.units < station.gives:
        part = c.parts[m.unit]
        u = new_unit(c, m.node, part.variant, part.line)
        c.parts[u].at = m.station
        if c.carrier_kind_count > 0:
            ride_along(c, u, m.unit)
        c.parts[u].next = m.unit
        m.unit = u
        m.units += 1
    if station.clears == 1:
        clear_carriers(c, i)
    if station.judges == 1:
        judge(c, i)
    else:
        send_on(c, i)
    if job.crew_size > 0:
        dismiss(c, i)
    if station.reserves == 1:
        settle_reservation(c, i)
