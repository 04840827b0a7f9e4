"""Loading and unloading by somebody who comes: the visit of a robot or person to a machine.

A visit loads an empty machine, unloads a finished one, or exchanges: the unload and the next load are one
call.  Its steps belong together, nobody leaves between them.  While what was unloaded is carried away
the machine may already run.  A visit that unloads starts only when the outlet has a place, and keeps that
place: nobody ever stands with a unit that nobody takes.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    CHANGING,
    DELIVERS,
    DONE,
    FETCH,
    HAND_OVER,
    IN_CYCLE,
    LOAD,
    LOADS,
    N_HANDLING_ENDS,
    N_HANDLING_STARTS,
    N_HANDS_OVER,
    OUTLET,
    SCRAP,
    STOP_BEGINS,
    TAKES_OFF,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import count_repetition
from cellsim.engine.rules.boarding import board, latest_carrier, short_of_carriers
from cellsim.engine.rules.changeover import needs_change
from cellsim.engine.rules.handover import (
    empty_machine,
    free_cards,
    is_fetched,
    keep_places,
    latest_input,
    leave_cell,
    outlet_free,
    scrap_unit,
    take_inputs,
    wake_lot_mates,
)
from cellsim.engine.rules.hands import missed_time
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.material import feed_ready, latest_supply, take_supply
from cellsim.engine.rules.order import expect, note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import attend, claim, dismiss, set_out, step_length, step_plan
from cellsim.engine.rules.progress import begin
from cellsim.engine.rules.stations import classify, set_up
from cellsim.engine.rules.stops import count_cycle
from cellsim.engine.rules.stores import give_back, has_room, needs_place, put, wake_feeders
from cellsim.engine.rules.ways import beckon, choose_way


@rule
def visit_ready(c: Any, i: int) -> bool:
    """Whether a visit to machine `i` makes sense at this instant, but for the people."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.downs > 0 or station.open == 0 or m.progress == CHANGING:
        return False
    if m.progress == DONE:
        if m.choosing == 1:
            choose_way(c, i)
        s = m.outlet
        return s == SCRAP or c.stores[s].limited == 0 or has_room(c, s, m.units)
    if station.starts == 0 or not (is_fetched(c, m.station) or feed_ready(c, i)):
        return False
    if station.carries == 1 and short_of_carriers(c, m.station):
        return False
    return station.reserves == 0 or outlet_free(c, m.station)


@rule
def hands_on_directly(c: Any, i: int) -> bool:
    """Whether the next station takes over what is finished on machine `i` with no place between."""
    s = c.machines[i].outlet
    return s >= 0 and c.stores[s].kind == HAND_OVER


@rule
def next_fits(c: Any, i: int) -> bool:
    """Whether machine `i` can be loaded at once when it is unloaded: all is there, no changeover between."""
    m = c.machines[i]
    if is_fetched(c, m.station):
        return True
    if not feed_ready(c, i):
        return False
    if c.stations[m.station].carries == 1 and short_of_carriers(c, m.station):
        return False
    return c.stations[m.station].changes == 0 or not needs_change(c, i, c.pick_variant)


@rule
def choose_visit(c: Any, i: int) -> None:
    """Write into the visit of machine `i` which steps it would have if it began now."""
    m = c.machines[i]
    station = c.stations[m.station]
    visit = c.jobs[c.visit_base + i]
    if m.progress != DONE:
        visit.step = station.first_start
        visit.last_step = visit.step + station.starts - 1
    elif station.one_visit == 1 and not hands_on_directly(c, i) and next_fits(c, i):
        visit.step = station.first_exchange
        visit.last_step = visit.step + station.exchanges - 1
    else:
        visit.step = station.first_end
        visit.last_step = visit.step + station.ends - 1


@rule
def begin_visit(c: Any, i: int, size: int) -> None:
    """The people written down for the visit to machine `i` begin it."""
    m = c.machines[i]
    station = c.stations[m.station]
    v = c.visit_base + i
    visit = c.jobs[v]
    node = max(m.node, claim(c, v, size))
    loads = visit.step != station.first_end
    if m.progress == DONE and m.outlet >= 0 and needs_place(c, m.outlet):
        store = c.stores[m.outlet]
        visit.outlet = m.outlet
        visit.keeps = m.units
        store.reserved += m.units
        wake_feeders(c, m.outlet)
        if store.limited == 1:
            node = max(node, store.node)
    ahead = -1
    if loads and is_fetched(c, m.station):
        ahead = c.errand_base + station.fetcher - 1
    if loads:
        node = max(node, latest_input(c, m.station) if ahead < 0 else c.jobs[ahead].node)
        if station.supplied == 1:
            node = max(node, latest_supply(c, i))
        if station.reserves == 1:
            node = max(node, keep_places(c, i))
        if station.carries == 1:
            node = max(node, latest_carrier(c, m.station))
    visit.node = bind(c, node, station.wait_cause if loads else c.cause_calendar)
    visit.unit = -1
    if ahead >= 0:
        visit.unit = c.jobs[ahead].unit
        c.jobs[ahead].unit = -1
        visit.step += station.fetches
        c.starts += 1
        for k in range(station.first_machine, station.first_machine + station.machines):
            wake(c, k)
    elif loads:
        visit.unit = take_inputs(c, m.station, visit.node)
        if station.supplied == 1:
            take_supply(c, i, visit.unit, visit.node)
        if station.carries == 1:
            board(c, m.station, visit.unit)
        c.starts += 1
    if station.beckons == 1:
        beckon(c, i)
    start_visit_step(c, i)


@rule
def start_visit_step(c: Any, i: int) -> None:
    """The next step of the visit to machine `i`: go there, then handle."""
    v = c.visit_base + i
    visit = c.jobs[v]
    if not set_out(c, v, c.steps[visit.step].point):
        handle(c, i)


@rule
def handled_variant(c: Any, i: int) -> int:
    """The variant of the units that the next step of the visit to machine `i` handles."""
    visit = c.jobs[c.visit_base + i]
    kind = c.steps[visit.step].kind
    u = visit.held if visit.held >= 0 else c.machines[i].unit
    if kind == FETCH or kind == LOAD:
        u = visit.unit
    return int(c.parts[u].variant) if u >= 0 else 0


@rule
def handle(c: Any, i: int) -> None:
    """Whoever visits machine `i` stands where the step is done and begins it."""
    v = c.visit_base + i
    visit = c.jobs[v]
    step = c.steps[visit.step]
    if step.varies == 1:
        visit.which = handled_variant(c, i)
    length = step_length(c, v, visit.crew_size)
    if step.picks > 0 and c.mispicking == 1:
        length += missed_time(c, v)
    if step.at_machine == 1:
        c.machines[i].handled = 1
        book_machine(c, i, classify(c, i))
    if c.tracing == 1:
        note(c, N_HANDLING_STARTS, i, visit.step)
    plan = step.plan
    if step.varies == 1:
        plan = step_plan(c, v)
    if c.learning == 1:
        count_repetition(c, v)
    begin(c, v, ACTIVE, length, step.cause, plan)
    attend(c, v)


@rule
def place_unit(c: Any, i: int) -> None:
    """What the visit brought is on machine `i`."""
    m = c.machines[i]
    visit = c.jobs[c.visit_base + i]
    m.unit = visit.unit
    m.units = 1
    visit.unit = -1
    if c.stations[m.station].picks == 1:
        set_up(c, i)
    m.progress = IN_CYCLE
    m.step = c.stations[m.station].first_step
    c.jobs[i].step = m.step
    c.jobs[i].node = visit.node


@rule
def take_off(c: Any, i: int) -> None:
    """What was finished on machine `i` is in the visitor's hands, or ready to be taken over directly."""
    m = c.machines[i]
    visit = c.jobs[c.visit_base + i]
    if hands_on_directly(c, i):
        m.unloaded = 1
        m.node = visit.node
        return
    visit.held = m.unit
    visit.outlet = m.outlet
    visit.front = m.front
    m.node = visit.node
    empty_machine(c, i)
    wake(c, i)


@rule
def deliver(c: Any, i: int) -> None:
    """What the visit took off machine `i` reaches the outlet."""
    visit = c.jobs[c.visit_base + i]
    u = visit.held
    s = visit.outlet
    if visit.keeps > 0:
        give_back(c, s, visit.keeps)
        visit.keeps = 0
    while u >= 0:
        after = c.parts[u].next
        if s == SCRAP:
            scrap_unit(c, i, u)
        elif c.stores[s].kind == OUTLET:
            leave_cell(c, i, s, u, visit.node)
        else:
            put(c, s, u, visit.node, visit.front)
        u = after
    visit.held = -1
    free_cards(c, visit.node)
    if c.tracing == 1 and s >= 0:
        note(c, N_HANDS_OVER, i, s)


@rule
def count_visit(c: Any, v: int) -> None:
    """Visit job `v` is over: one more cycle for each robot that came, after which a stop may be due."""
    for x in range(c.jobs[v].crew_size):
        actor = c.actors[c.jobs[v].crew[x]]
        actor.visits += 1
        if actor.cycle_stops > 0:
            for k in range(actor.first_stop, actor.first_stop + actor.stops):
                if count_cycle(c, k):
                    c.stops[k].version += 1
                    expect(c, c.now, STOP_BEGINS, k, c.stops[k].version)


@rule
def end_visit_step(c: Any, i: int) -> None:
    """A step of the visit to machine `i` has ended."""
    m = c.machines[i]
    v = c.visit_base + i
    visit = c.jobs[v]
    step = c.steps[visit.step]
    if c.tracing == 1:
        note(c, N_HANDLING_ENDS, i, visit.step)
    if step.at_machine == 1:
        m.handled = 0
    if step.effect & TAKES_OFF:
        take_off(c, i)
    if step.effect & DELIVERS and visit.held >= 0:
        deliver(c, i)
    if step.effect & LOADS:
        place_unit(c, i)
    wake(c, i)
    if m.lot_mates == 1:
        wake_lot_mates(c, m.station)
    if visit.step < visit.last_step:
        visit.step += 1
        start_visit_step(c, i)
    else:
        count_visit(c, v)
        dismiss(c, v)
