"""Units change hands: what a cycle takes, and where its units go.

A finished unit stays on its machine while the next place is taken, or a place was kept for it before the
cycle began.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    EMPTY,
    HAND_OVER,
    N_HANDS_OVER,
    N_LEAVES,
    N_SCRAPPED,
    OFF,
    OUTLET,
    PLACES,
    RAW,
    RUNNING_OUT,
    SCRAP,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.choices import choose_units, fit_to_take, latest_chosen
from cellsim.engine.rules.faults import inherit
from cellsim.engine.rules.ledger import book_level
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.stops import begin_stop, count_cycle
from cellsim.engine.rules.stores import (
    draw_out,
    give_back,
    has_room,
    offer,
    put,
    taken_from_machine,
    wake_feeders,
    wake_takers,
    withdraw_offer,
)
from cellsim.engine.rules.units import drop_unit, raw_unit
from cellsim.engine.rules.ways import choose_way


@rule
def inputs_ready(c: Any, s: int) -> bool:
    """Whether everything that a cycle of station `s` takes can be taken at this instant."""
    station = c.stations[s]
    if station.picks == 1:
        return choose_units(c, s) > 0
    k = station.first_input
    end = k + station.inputs
    while k < end:
        need = c.inputs[k]
        store = c.stores[need.store]
        there = store.level
        if store.kind == HAND_OVER:
            there = store.offered
        elif store.kind == RAW:
            state = c.calendars[c.cell_calendar].state
            there = 0 if state == RUNNING_OUT or state == OFF else store.places
            if store.hourly == 1 and there > 0:
                there = store.allowance + store.level
        if there < need.units:
            return False
        k += 1
    return True


@rule
def is_fetched(c: Any, s: int) -> bool:
    """Whether a robot holds the next unit of station `s` ready."""
    fetcher = c.stations[s].fetcher
    if fetcher == 0:
        return False
    job = c.jobs[c.errand_base + fetcher - 1]
    return bool(job.unit >= 0 and job.crew_size == 0)


@rule
def latest_input(c: Any, s: int) -> int:
    """The latest node among the units that the next cycle of station `s` will take."""
    station = c.stations[s]
    if station.picks == 1:
        return latest_chosen(c, s)
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
            if store.hourly == 1:
                node = max(node, store.node)
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
def wake_lot_mates(c: Any, s: int) -> None:
    """Station `s` may begin a lot or has begun one: try all its machines."""
    station = c.stations[s]
    for i in range(station.first_machine, station.first_machine + station.machines):
        wake(c, i)


@rule
def empty_machine(c: Any, i: int) -> None:
    """The units have left machine `i`: the cycle is over."""
    m = c.machines[i]
    m.progress = EMPTY
    m.unit = -1
    m.units = 0
    m.unloaded = 0
    m.inside_called = 0
    m.holds_back = 0
    m.choosing = 0
    if m.lot_mates == 1:
        wake_lot_mates(c, m.station)
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
            u = raw_unit(c, c.release_store, node)
            c.parts[u].card = 1
            c.on_cards += 1
            put(c, c.release_store, u, node, 0)


@rule
def take_offered(c: Any, s: int, i: int, node: int) -> int:
    """One unit is taken over from machine `i`, which offers it to store `s`."""
    m = c.machines[i]
    u = m.unit
    m.unit = c.parts[u].next
    c.parts[u].next = -1
    m.node = node
    if c.tracing == 1:
        note(c, N_HANDS_OVER, i, s)
    if m.unit >= 0:
        m.units -= 1
        c.stores[s].offered -= 1
    else:
        withdraw_offer(c, s, i)
        empty_machine(c, i)
        wake(c, i)
    return int(u)


@rule
def take_one(c: Any, s: int, u: int, node: int) -> int:
    """One unit leaves store `s` for a start that node `node` released; others may now wait in vain.

    It is unit `u` of the store, or the first one where that is -1.
    """
    store = c.stores[s]
    if store.shared == 1 and (store.kind != RAW or store.hourly == 1 or store.plan >= 0):
        wake_takers(c, s)  # what is next may be of another variant
    if store.kind == PLACES:
        u = store.head if u < 0 else u
        draw_out(c, s, u, node)
        return u
    if taken_from_machine(c, s):
        i = store.first_offer
        while u >= 0 and c.machines[i].unit != u:
            i = c.machines[i].next_offer
        return take_offered(c, s, i, node)
    if store.returned == 0 and (store.hourly == 0 or store.allowance > 0):
        store.allowance -= store.hourly
        return raw_unit(c, s, node)  # what came back to stand behind raw units that never end waits for ever
    if store.returned > 0:
        store.returned -= 1
    u = store.head
    draw_out(c, s, u, node)
    return u


@rule
def build_in(c: Any, unit: int, u: int) -> None:
    """Unit `u` is built into `unit`."""
    c.consumed += 1
    if c.hidden == 1:
        inherit(c, unit, u)
    drop_unit(c, u, c.parts[unit].node)


@rule
def take_inputs(c: Any, s: int, node: int) -> int:
    """Take what one cycle of station `s` needs; the unit that goes on, with the others built into it."""
    station = c.stations[s]
    if station.picks == 1:
        return take_chosen(c, s, node)
    first = c.inputs[station.first_input]
    unit = take_one(c, first.store, -1, node)
    if station.inputs > 1 or first.units > 1:
        for k in range(station.first_input, station.first_input + station.inputs):
            built_in = c.inputs[k].units - (1 if k == station.first_input else 0)
            for _ in range(built_in):
                build_in(c, unit, take_one(c, c.inputs[k].store, -1, node))
        free_cards(c, node)
    return unit


@rule
def take_chosen(c: Any, s: int, node: int) -> int:
    """Take the units that `choose_units` chooses; those of a batch go on together, linked."""
    station = c.stations[s]
    own = c.inputs[station.first_input].store
    units = choose_units(c, s)
    v = c.pick_variant
    unit = -1
    last = -1
    dropped = 0
    for _ in range(units):
        u = take_one(c, own, fit_to_take(c, s, own, v), node)
        c.parts[u].at = s
        if last < 0:
            unit = u
            last = u
        elif station.batch == 1:
            c.parts[last].next = u
            last = u
        else:
            dropped += 1
            build_in(c, unit, u)
    for k in range(station.first_input + 1, station.first_input + station.inputs):
        for _ in range(c.inputs[k].units):
            x = c.inputs[k].store
            dropped += 1
            build_in(c, unit, take_one(c, x, fit_to_take(c, s, x, v), node))
    if station.batch == 1:
        station.batches += 1
        station.batched += units
        if station.clock_due > 0:
            station.clock_due -= 1
    if dropped > 0:
        free_cards(c, node)
    return unit


@rule
def outlet_free(c: Any, s: int) -> bool:
    """Whether the units of one more cycle of station `s` have a place in every outlet they may go to."""
    station = c.stations[s]
    units = c.pick_units if station.batch == 1 else station.gives
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        if not has_room(c, c.outlets[k].store, units):
            return False
    return True


@rule
def keep_places(c: Any, i: int) -> int:
    """Keep a place in every outlet for one cycle of machine `i`; the latest node among these places."""
    m = c.machines[i]
    station = c.stations[m.station]
    m.kept = c.pick_units if station.batch == 1 else station.gives
    node = 0
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        store = c.stores[c.outlets[k].store]
        store.reserved += m.kept
        node = max(node, store.node)
        wake_feeders(c, c.outlets[k].store)
    return node


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
            give_back(c, s, m.kept)
            store.node = max(store.node, m.node)
            wake_feeders(c, s)


@rule
def scrap_unit(c: Any, i: int, u: int) -> None:
    """Unit `u`, which was on machine `i`, is scrapped."""
    c.scrapped += 1
    c.stations[c.machines[i].station].scrapped += 1
    if c.tracing == 1:
        note(c, N_SCRAPPED, i, u)
    drop_unit(c, u, c.machines[i].node)


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
    if store.limited == 1:
        book_level(c, s, 1)
        wake_feeders(c, s)  # whoever waits for a place may have lost it
    x = c.exits[c.exit_count]
    c.exit_count += 1
    x.at = c.now
    x.entered = c.parts[u].entered
    x.store = s
    if store.counts == 1:
        if c.hidden == 1 and c.parts[u].faults != 0:
            c.escapes += 1
        c.good += 1
        c.last_good = node
        c.last_good_at = c.now
    else:
        c.left_elsewhere += 1
    if c.tracing == 1:
        note(c, N_LEAVES, i, u)
    drop_unit(c, u, node)


@rule
def hand_over(c: Any, i: int) -> bool:
    """Try to rid machine `i` of its finished units; False when they must stay."""
    m = c.machines[i]
    if m.choosing == 1:
        choose_way(c, i)
    s = m.outlet
    kept = m.holds_place
    if kept == 1:
        m.holds_place = 0
        give_back(c, s, m.units)
    if s == SCRAP:
        scrap_units(c, i)
        empty_machine(c, i)
        return True
    store = c.stores[s]
    if store.kind == OUTLET and store.limited == 0:
        m.node = bind(c, m.node, c.cause_wait)  # another way may have been the first free one before
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
    behind = store.offers > 0 and store.first_offer != i and (m.front == 0 or m.offering == 1)
    if kept == 0 and (behind or not has_room(c, s, m.units)):
        offer(c, i, s, m.front)
        return False
    node = m.node
    if store.limited == 1 and store.node > node:
        node = store.node
    node = bind(c, node, c.cause_wait)
    if m.offering == 1:
        withdraw_offer(c, s, i)
        if store.offers > 0:
            wake(c, store.first_offer)
    m.node = node
    if c.tracing == 1:
        note(c, N_HANDS_OVER, i, s)
    u = m.unit
    while u >= 0:
        after = c.parts[u].next
        if store.kind == OUTLET:
            leave_cell(c, i, s, u, node)
        else:
            put(c, s, u, node, m.front)
        u = after
    if store.kind == OUTLET:
        free_cards(c, node)
    empty_machine(c, i)
    return True
