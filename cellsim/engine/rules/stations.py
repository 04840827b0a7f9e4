"""The cycle of a machine: take what it needs, work through the elements, hand over.

A cycle starts only when every unit, person, robot and (where asked) outlet place it needs is free at that
instant.  A finished unit stays on the machine while the next place is taken.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    CALLING,
    DONE,
    EMPTY,
    HAND_OVER,
    IDLE,
    IN_CYCLE,
    M_ATTENDED,
    M_BLOCKED,
    M_BREAK,
    M_DOWN,
    M_EMPTY_WAITS_ROBOT,
    M_HANDLED,
    M_OFF,
    M_STARVED,
    M_WAITS_OPERATOR,
    M_WAITS_REPAIR,
    M_WAITS_ROBOT,
    M_WORKING,
    N_ENDS,
    N_HANDS_OVER,
    N_LEAVES,
    N_SCRAPPED,
    N_STARTS,
    OFF,
    OUTLET,
    PAUSED,
    PLACES,
    RAW,
    RUNNING_OUT,
    SCRAP,
    TRAVELLING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import claim, dismiss, set_out, set_to_work, step_length
from cellsim.engine.rules.quality import judge, send_on
from cellsim.engine.rules.stops import begin_stop, count_cycle
from cellsim.engine.rules.stores import (
    draw_out,
    drop_unit,
    has_room,
    new_unit,
    offer,
    put,
    wake_feeders,
    wake_takers,
    withdraw_first_offer,
)


@rule
def inputs_ready(c: Any, s: int) -> bool:
    """Whether everything that a cycle of station `s` takes can be taken at this instant."""
    station = c.stations[s]
    k = station.first_input
    end = k + station.inputs
    while k < end:
        need = c.inputs[k]
        store = c.stores[need.store]
        there = store.level
        if store.kind == HAND_OVER:
            there = store.offers
        elif store.kind == RAW:
            state = c.calendars[c.cell_calendar].state
            there = 0 if state == RUNNING_OUT or state == OFF else store.places
        if there < need.units:
            return False
        k += 1
    return True


@rule
def outlet_free(c: Any, s: int) -> bool:
    """Whether the units of one more cycle of station `s` have a place in every outlet they may go to."""
    station = c.stations[s]
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        if not has_room(c, c.outlets[k].store, station.gives):
            return False
    return True


@rule
def keep_places(c: Any, s: int) -> int:
    """Keep a place in every outlet for one cycle of station `s`; the latest node among these places."""
    station = c.stations[s]
    node = 0
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        store = c.stores[c.outlets[k].store]
        store.reserved += station.gives
        node = max(node, store.node)
        wake_feeders(c, c.outlets[k].store)
    return node


@rule
def empty_machine(c: Any, i: int) -> None:
    """The units have left machine `i`: the cycle is over."""
    m = c.machines[i]
    m.progress = EMPTY
    m.unit = -1
    m.units = 0
    m.unloaded = 0
    m.holds_back = 0
    wake(c, i)
    if m.cycle_stops > 0:
        for k in range(m.first_stop, m.first_stop + m.stops):
            if count_cycle(c, k):
                begin_stop(c, k)


@rule
def free_cards(c: Any, node: int) -> None:
    """Units have left the cell: where cards limit the work inside, each free card releases a new unit."""
    if c.card_limit > 0:
        state = c.calendars[c.cell_calendar].state
        while c.on_cards < c.card_limit and state != OFF and state != RUNNING_OUT:
            u = new_unit(c, node)
            c.parts[u].card = 1
            c.on_cards += 1
            put(c, c.release_store, u, node, 0)


@rule
def scrap_unit(c: Any, i: int, u: int) -> None:
    """Unit `u`, which was on machine `i`, is scrapped."""
    c.scrapped += 1
    c.stations[c.machines[i].station].scrapped += 1
    if c.tracing == 1:
        note(c, N_SCRAPPED, i, u)
    drop_unit(c, u)


@rule
def scrap_units(c: Any, i: int) -> None:
    """What is on machine `i` is scrapped."""
    m = c.machines[i]
    while m.unit >= 0:
        u = m.unit
        m.unit = c.parts[u].next
        scrap_unit(c, i, u)
    free_cards(c, m.node)


@rule
def leave_cell(c: Any, i: int, s: int, u: int, node: int) -> None:
    """Unit `u`, finished on machine `i`, leaves the cell through outlet `s`."""
    store = c.stores[s]
    store.entered += 1
    x = c.exits[c.exit_count]
    c.exit_count += 1
    x.at = c.now
    x.entered = c.parts[u].entered
    x.store = s
    if store.counts == 1:
        c.good += 1
        c.last_good = node
        c.last_good_at = c.now
    else:
        c.left_elsewhere += 1
    if c.tracing == 1:
        note(c, N_LEAVES, i, u)
    drop_unit(c, u)


@rule
def hand_over(c: Any, i: int) -> bool:
    """Try to rid machine `i` of its finished units; False when they must stay."""
    m = c.machines[i]
    s = m.outlet
    kept = m.holds_place
    if kept == 1:
        m.holds_place = 0
        c.stores[s].reserved -= m.units
    if s == SCRAP:
        scrap_units(c, i)
        empty_machine(c, i)
        return True
    store = c.stores[s]
    if store.kind == OUTLET:
        while m.unit >= 0:
            u = m.unit
            m.unit = c.parts[u].next
            leave_cell(c, i, s, u, m.node)
        free_cards(c, m.node)
        empty_machine(c, i)
        return True
    if store.kind == HAND_OVER or m.holds_back == 1:
        if m.offering == 0:
            offer(c, i, s, m.front)
            wake_takers(c, s)
        return False
    if kept == 0 and (not has_room(c, s, m.units) or (store.offers > 0 and store.first_offer != i)):
        offer(c, i, s, m.front)
        return False
    node = m.node
    if store.limited == 1 and store.node > node:
        node = store.node
    node = bind(c, node, c.cause_wait)
    if m.offering == 1:
        withdraw_first_offer(c, s)
        if store.offers > 0:
            wake(c, store.first_offer)
    m.node = node
    if c.tracing == 1:
        note(c, N_HANDS_OVER, i, s)
    u = m.unit
    while u >= 0:
        after = c.parts[u].next
        put(c, s, u, node, m.front)
        u = after
    empty_machine(c, i)
    return True


@rule
def taken_from_machine(c: Any, s: int) -> bool:
    """Whether the next unit of store `s` stands on a machine: no places, or sent back before raw units."""
    store = c.stores[s]
    if store.kind == RAW:
        return store.offers > 0 and c.machines[store.first_offer].front == 1
    return store.kind == HAND_OVER


@rule
def latest_input(c: Any, s: int) -> int:
    """The latest node among the units that the next cycle of station `s` will take."""
    station = c.stations[s]
    node = 0
    k = station.first_input
    end = k + station.inputs
    while k < end:
        units = c.inputs[k].units
        store = c.stores[c.inputs[k].store]
        if store.kind != PLACES and taken_from_machine(c, c.inputs[k].store):
            i = store.first_offer
            for _ in range(min(store.offers, units)):
                node = max(node, c.machines[i].node)
                i = c.machines[i].next_offer
        else:
            if store.kind == RAW and store.returned < units:
                units = store.returned
            u = store.head
            while units > 0:
                part = c.parts[u]
                if part.node > node:
                    node = part.node
                u = part.next
                units -= 1
        k += 1
    return node


@rule
def take_one(c: Any, s: int, node: int) -> int:
    """One unit leaves store `s` for a start that node `node` released; others may now wait in vain."""
    store = c.stores[s]
    if store.shared == 1 and store.kind != RAW:
        wake_takers(c, s)
    if store.kind == PLACES:
        return draw_out(c, s, node)
    if taken_from_machine(c, s):
        i = withdraw_first_offer(c, s)
        m = c.machines[i]
        u = m.unit
        m.unit = c.parts[u].next
        c.parts[u].next = -1
        m.units -= 1
        m.node = node
        if c.tracing == 1:
            note(c, N_HANDS_OVER, i, s)
        empty_machine(c, i)
        return u
    if store.returned == 0:
        return new_unit(c, node)  # what came back to stand behind raw units that never end waits for ever
    store.returned -= 1
    return draw_out(c, s, node)


@rule
def take_inputs(c: Any, s: int, node: int) -> int:
    """Take what one cycle of station `s` needs; the unit that goes on, with the others built into it."""
    station = c.stations[s]
    first = c.inputs[station.first_input]
    unit = take_one(c, first.store, node)
    if station.inputs > 1 or first.units > 1:
        for k in range(station.first_input, station.first_input + station.inputs):
            built_in = c.inputs[k].units - (1 if k == station.first_input else 0)
            for _ in range(built_in):
                c.consumed += 1
                drop_unit(c, take_one(c, c.inputs[k].store, node))
        free_cards(c, node)
    return unit


@rule
def settle_reservation(c: Any, i: int) -> None:
    """The outlet of machine `i` is known: keep its place there, give the others back."""
    m = c.machines[i]
    station = c.stations[m.station]
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        s = c.outlets[k].store
        store = c.stores[s]
        if s == m.outlet:
            m.holds_place = 1
        else:
            store.reserved -= station.gives
            store.node = max(store.node, m.node)
            wake_feeders(c, s)


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


@rule
def classify(c: Any, i: int) -> int:
    """The state of machine `i` when its own job is not in progress."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.downs > 0:
        return M_DOWN if m.repairs > 0 else M_WAITS_REPAIR
    if m.handled == 1:
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
        if station.starts > 0 and (c.jobs[c.visit_base + i].unit >= 0 or inputs_ready(c, m.station)):
            return M_EMPTY_WAITS_ROBOT if c.steps[station.first_start].robot == 1 else M_WAITS_OPERATOR
        return M_BLOCKED if inputs_ready(c, m.station) else M_STARVED
    return M_WAITS_OPERATOR


@rule
def work_on(c: Any, i: int, size: int) -> None:
    """The step of machine `i` begins with the crew written down for it (none when it needs nobody)."""
    m = c.machines[i]
    job = c.jobs[i]
    m.in_work = 1
    step = c.steps[m.step]
    length = step_length(c, i, size)
    plan = job.rest_plan
    if job.remaining == 0:
        plan = step.plan
        m.drawn += length
    if c.tracing == 1:
        note(c, N_STARTS, i, m.step)
    book_machine(c, i, M_ATTENDED if size > 0 else M_WORKING)
    set_to_work(c, i, length, step.cause, plan)


@rule
def start_step(c: Any, i: int, size: int) -> None:
    """The crew of machine `i` sets out for its step, or begins at once where everybody is there."""
    m = c.machines[i]
    if size > 0 and set_out(c, i, c.steps[m.step].point):
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
        node = max(node, keep_places(c, m.station))
    node = bind(c, node, c.cause_calendar)
    job.node = node
    m.unit = take_inputs(c, m.station, node)
    m.units = 1
    m.progress = IN_CYCLE
    m.step = station.first_step
    job.step = m.step
    c.starts += 1
    start_step(c, i, size)


@rule
def resume_cycle(c: Any, i: int, size: int) -> None:
    """Machine `i` goes on with its cycle, with `size` people claimed for the step."""
    m = c.machines[i]
    job = c.jobs[i]
    node = max(m.node, job.node)
    if size > 0 and job.crew_size == 0:
        node = max(node, claim(c, i, size))
    job.node = bind(c, node, c.cause_calendar)
    start_step(c, i, size)


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
    m.units = 1
    while m.units < station.gives:
        u = new_unit(c, m.node)
        c.parts[u].next = m.unit
        m.unit = u
        m.units += 1
    if station.judges == 1:
        judge(c, i)
    else:
        send_on(c, i)
    if job.crew_size > 0:
        dismiss(c, i)
    if station.reserves == 1:
        settle_reservation(c, i)
