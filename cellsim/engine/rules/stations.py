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
    LACKS_LOT,
    LACKS_NOTHING,
    M_BLOCKED,
    M_BREAK,
    M_DOWN,
    M_EMPTY_WAITS_ROBOT,
    M_HANDLED,
    M_NO_LOT,
    M_OFF,
    M_SERVICE,
    M_STARVED,
    M_WAITS_CARRIER,
    M_WAITS_MATERIAL,
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
from cellsim.engine.rules.abilities import count_repetition
from cellsim.engine.rules.boarding import board, latest_carrier, short_of_carriers
from cellsim.engine.rules.carriers import clear_carriers, ride_along
from cellsim.engine.rules.faults import copy_faults, work_leaves_faults
from cellsim.engine.rules.handover import (
    empty_machine,
    inputs_ready,
    is_fetched,
    keep_places,
    latest_input,
    outlet_free,
    scrap_units,
    settle_reservation,
    take_inputs,
)
from cellsim.engine.rules.hands import missed_time
from cellsim.engine.rules.ledger import book_machine, busy_state
from cellsim.engine.rules.material import lacks, latest_supply, take_supply, unit_of_bar
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import attend, claim, dismiss, set_out, step_length, step_plan
from cellsim.engine.rules.progress import begin
from cellsim.engine.rules.quality import judge, send_on, spoil
from cellsim.engine.rules.stops import halt_after_cycle
from cellsim.engine.rules.units import new_unit, raw_unit
from cellsim.engine.rules.ways import beckon


@rule
def give_up(c: Any, i: int) -> None:
    """The unit in work on machine `i` was lost when it stopped."""
    m = c.machines[i]
    station = c.stations[m.station]
    m.lost = 0
    m.in_work = 0
    m.made = m.units
    m.node = max(m.node, c.jobs[i].node)
    if station.reserves == 1:
        m.outlet = SCRAP
        settle_reservation(c, i)
    scrap_units(c, i)
    empty_machine(c, i)
    wake(c, i)
    if m.due_stops > 0:
        halt_after_cycle(c, i)


@rule
def classify(c: Any, i: int) -> int:
    """The state of machine `i` when its own job is not in progress."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.downs > 0:
        if m.services > 0 and m.services == m.repairs:
            return M_SERVICE
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
    if m.awaits > 0:
        return int(m.awaits)
    if m.progress == DONE:
        visit = c.jobs[c.visit_base + i].state
        if station.ends == 0 or m.unloaded == 1 or visit == IDLE:
            return M_BLOCKED
        return M_WAITS_ROBOT if c.steps[station.first_end].robot == 1 else M_WAITS_OPERATOR
    if m.progress == EMPTY:
        if station.supplied == 1 and c.jobs[c.visit_base + i].unit < 0:
            lack = lacks(c, i)
            if lack >= 0:
                return M_WAITS_MATERIAL
            if lack == LACKS_LOT:
                return M_NO_LOT
            there = lack == LACKS_NOTHING
        else:
            there = inputs_ready(c, m.station)
        if station.carries == 1 and there and c.jobs[c.visit_base + i].unit < 0:
            if short_of_carriers(c, m.station):
                return M_WAITS_CARRIER
        if station.insides > 0 and there and c.jobs[c.inside_base + i].state != IDLE:
            return M_WAITS_OPERATOR
        if station.starts > 0 and (there or c.jobs[c.visit_base + i].unit >= 0 or is_fetched(c, m.station)):
            return M_EMPTY_WAITS_ROBOT if c.steps[station.first_start].robot == 1 else M_WAITS_OPERATOR
        return M_BLOCKED if there else M_STARVED
    if station.dial > 0 and c.dials[station.dial - 1].halts > 0:
        return M_BLOCKED
    return M_WAITS_OPERATOR


@rule
def work_on(c: Any, i: int, size: int) -> None:
    """The step of machine `i` begins with the crew written down for it (none when it needs nobody)."""
    m = c.machines[i]
    job = c.jobs[i]
    step = c.steps[m.step]
    if step.alone == 1 and m.inside_called == 0:
        m.inside_called = 1
        wake(c, i)
    length = step_length(c, i, size)
    plan = job.rest_plan
    if job.remaining == 0:
        plan = step.plan
        if step.varies == 1:
            plan = step_plan(c, i)
        if step.picks > 0 and c.mispicking == 1:
            length += missed_time(c, i)
        m.drawn += length
        if c.learning == 1:
            count_repetition(c, i)
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
    m.step = station.first_step
    if station.supplied == 0:
        node = latest_input(c, m.station)
    else:
        node = latest_supply(c, i)
        if m.left_on_bar > 0:
            m.step += 1  # the bar is in the machine already
        else:
            node = max(node, latest_input(c, m.station))
    if m.node > node:
        node = m.node
    if size > 0:
        node = max(node, claim(c, i, size))
    if station.reserves == 1:
        node = max(node, keep_places(c, i))
    if c.steps[m.step].alone == 1:
        node = max(node, c.jobs[c.inside_base + i].node)
    if station.carries == 1:
        node = max(node, latest_carrier(c, m.station))
    node = bind(c, node, station.wait_cause)
    job.node = node
    if m.left_on_bar == 0:
        m.unit = take_inputs(c, m.station, node)
    else:
        m.unit = unit_of_bar(c, i, node)
    if station.supplied == 1:
        take_supply(c, i, m.unit, node)
    m.units = 1
    if station.carries == 1:
        board(c, m.station, m.unit)
    if station.picks == 1:
        set_up(c, i)
    m.progress = IN_CYCLE
    job.step = m.step
    c.starts += 1
    if station.carried_off == 1:
        wake(c, i)  # a robot may go to where this unit will be
    if station.beckons == 1:
        beckon(c, i)
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
    if c.steps[m.step].alone == 1:
        node = max(node, c.jobs[c.inside_base + i].node)
    job.node = bind(c, node, c.cause_calendar)
    if size > 0:
        start_attended(c, i, size)
    else:
        work_on(c, i, 0)


@rule
def conclude(c: Any, i: int) -> None:
    """The units on machine `i` are finished, and where they go is known."""
    m = c.machines[i]
    m.progress = DONE
    m.in_work = 0
    if c.jobs[i].crew_size > 0:
        dismiss(c, i)
    if c.stations[m.station].reserves == 1:
        settle_reservation(c, i)
    if m.due_stops > 0:
        halt_after_cycle(c, i)


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
    m.cycles += 1
    while m.units < station.gives:
        part = c.parts[m.unit]
        u = new_unit(c, m.node, part.variant, part.line)
        c.parts[u].at = m.station
        if c.hidden == 1:
            copy_faults(c, m.unit, u)
        if c.carrier_kind_count > 0:
            ride_along(c, u, m.unit)
        c.parts[u].next = m.unit
        m.unit = u
        m.units += 1
    if station.clears == 1:
        clear_carriers(c, i)
    if c.hidden == 1:
        work_leaves_faults(c, i)
    if m.cycle_stops > 0:
        m.made = m.units
    if m.spoils > 0:
        spoil(c, i)
    elif station.judges == 1 or station.sample_step >= 0:
        if judge(c, i):
            return  # it stays to be repaired or tested as a sample
    else:
        send_on(c, i)
    conclude(c, i)


@rule
def prime(c: Any) -> None:
    """The run begins with a unit at its first element on every machine that may have one, last ones first.

    Where variants follow a plan these units are its first ones.
    """
    for back in range(c.machine_count):
        i = c.machine_count - 1 - back
        m = c.machines[i]
        station = c.stations[m.station]
        full = c.card_limit > 0 and c.on_cards >= c.card_limit
        if station.primes == 0 or full or (station.reserves == 1 and not outlet_free(c, m.station)):
            continue
        planned = station.line >= 0 and c.stores[station.line].plan >= 0
        if planned and station.accepts > 0:
            if (station.accepts >> c.plans[c.stores[station.line].plan].variant) & 1 == 0:
                continue
        if station.reserves == 1:
            keep_places(c, i)
        m.unit = raw_unit(c, station.line, 0) if planned else new_unit(c, 0, 0, station.line)
        m.units = 1
        if station.picks == 1:
            set_up(c, i)
        m.progress = IN_CYCLE
        m.step = station.first_step
        c.jobs[i].step = m.step
        if c.card_limit > 0:
            c.parts[m.unit].card = 1
            c.on_cards += 1
