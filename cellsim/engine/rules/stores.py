"""Places between stations: what enters, what leaves, who waits for a place.

A store may hold units back: until they have travelled its length or cured, until their tray is full.  It may
also lose them when they stay too long.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import EMPTY, HAND_OVER, PLACES, RAW, TRAY_WAIT, UNITS_LATE, UNITS_READY
from cellsim.engine.rules import rule
from cellsim.engine.rules.ledger import book_level
from cellsim.engine.rules.order import expect, wake
from cellsim.engine.rules.path import add_node


@rule
def wake_takers(c: Any, s: int) -> None:
    """Something can be taken from store `s`: try the empty machines that take from it."""
    store = c.stores[s]
    k = store.first_taker
    end = k + store.takers
    while k < end:
        m = c.machines[c.takers[k]]
        if m.woken == 0 and (m.progress == EMPTY or m.eager == 1):
            wake(c, c.takers[k])
        k += 1


@rule
def wake_feeders(c: Any, s: int) -> None:
    """A place of store `s` has become free: try who has waited longest, and who needs a place to begin."""
    store = c.stores[s]
    if store.offers > 0:
        wake(c, store.first_offer)
    for k in range(store.first_feeder, store.first_feeder + store.feeders):
        wake(c, c.feeders[k])


@rule
def has_room(c: Any, s: int, units: int) -> bool:
    """Whether `units` more fit into store `s` beside what is reserved."""
    store = c.stores[s]
    if store.tray > 0 and store.limited == 1:
        filling = 1 if store.gathering > 0 else 0
        free = (store.places // store.tray - store.trays_out - filling) * store.tray
        if filling == 1:
            free += store.tray - store.gathering
        return bool(store.reserved + units <= free)
    return bool(store.level + store.reserved + units <= store.places)


@rule
def count_ready(c: Any, s: int, u: int, change: int) -> None:
    """Unit `u`, which can be taken, is in store `s` from now on (1) or leaves it (-1).

    Units become ready in the order in which they entered, so another one cannot have waited longer.
    """
    part = c.parts[u]
    tally = c.tallies[c.stores[s].first_tally + part.variant]
    if change < 0:
        if tally.oldest == part.stored:
            tally.oldest = -1
    elif tally.units == 0:
        tally.oldest = part.stored
    tally.units += change


@rule
def make_ready(c: Any, s: int, u: int, node: int) -> None:
    """Unit `u`, which store `s` held back, can be taken from now on."""
    part = c.parts[u]
    part.ready = 1
    part.node = node
    count_ready(c, s, u, 1)


@rule
def join_queue(c: Any, s: int, u: int) -> None:
    """Unit `u` has entered store `s` and cannot be taken yet; those that wait are kept in order of entry."""
    store = c.stores[s]
    c.parts[u].ready = 0
    c.parts[u].after = -1
    if store.gathering == 0:
        store.first_held = u
    else:
        c.parts[store.last_held].after = u
    store.last_held = u
    store.gathering += 1


@rule
def leave_queue(c: Any, s: int) -> int:
    """The unit that store `s` has held back longest is held back no more."""
    store = c.stores[s]
    u = store.first_held
    store.first_held = c.parts[u].after
    store.gathering -= 1
    return int(u)


@rule
def move_tray(c: Any, s: int, node: int) -> None:
    """The tray that was being filled in store `s` moves on: its units can be taken."""
    store = c.stores[s]
    if store.gathering == 0:
        return
    tray = 0
    if store.limited == 1:
        tray = store.first_tray
        while c.tray_units[tray] > 0:
            tray += 1
        c.tray_units[tray] = store.gathering
        tray += 1
    while store.gathering > 0:
        u = leave_queue(c, s)
        make_ready(c, s, u, node)
        c.parts[u].tray = tray
    store.trays_out += 1
    store.tray_version += 1
    store.overdue = 0


@rule
def hold_back(c: Any, s: int, u: int, node: int) -> None:
    """Unit `u` has entered store `s`, which does not give out every unit at once or for ever."""
    store = c.stores[s]
    if store.delay > 0:
        join_queue(c, s, u)
        if store.gathering == 1:
            expect(c, c.now + store.delay, UNITS_READY, s, 0)
    elif store.tray > 0:
        join_queue(c, s, u)
        if store.gathering == store.tray:
            move_tray(c, s, node)
        elif store.gathering == 1 and store.tray_waits >= 0:
            store.tray_version += 1
            expect(c, c.now + store.tray_waits, TRAY_WAIT, s, store.tray_version)
    else:
        count_ready(c, s, u, 1)
    if store.use_within >= 0 and store.late_noted == 0:
        store.late_noted = 1
        expect(c, c.now + store.use_within, UNITS_LATE, s, 0)


@rule
def units_ready(c: Any, s: int) -> None:
    """The time in store `s` is over for the units that have been there longest."""
    store = c.stores[s]
    while store.gathering > 0 and c.parts[store.first_held].stored + store.delay <= c.now:
        u = leave_queue(c, s)
        make_ready(c, s, u, add_node(c, c.parts[u].node, store.hold_cause, store.delay))
    if store.gathering > 0:
        expect(c, c.parts[store.first_held].stored + store.delay, UNITS_READY, s, 0)
    wake_takers(c, s)


@rule
def may_go_unfilled(c: Any, s: int) -> bool:
    """Whether the tray being filled in store `s` can go: places that are kept can lie in the other trays."""
    store = c.stores[s]
    others = store.places // store.tray - store.trays_out - 1
    return bool(store.limited == 0 or store.reserved <= others * store.tray)


@rule
def tray_wait_over(c: Any, s: int, version: int) -> None:
    """The first unit in the tray being filled in store `s` waits no longer, but for units that are coming."""
    store = c.stores[s]
    if store.tray_version == version and store.gathering > 0:
        if not may_go_unfilled(c, s):
            store.overdue = 1
            return
        move_tray(c, s, add_node(c, c.parts[store.first_held].node, store.hold_cause, 0))
        wake_takers(c, s)
        if store.feeders > 0:
            wake_feeders(c, s)  # the rest of an unfilled tray is no place any more


@rule
def look_at_tray(c: Any, s: int) -> None:
    """A tray of store `s` that should have gone may go now: look at the end of this instant."""
    store = c.stores[s]
    if store.overdue == 1:
        store.overdue = 2
        expect(c, c.now, TRAY_WAIT, s, store.tray_version)


@rule
def give_back(c: Any, s: int, units: int) -> None:
    """So many places of store `s` are kept no more: their units are there now, or will not come."""
    c.stores[s].reserved -= units
    look_at_tray(c, s)


@rule
def needs_place(c: Any, s: int) -> bool:
    """Whether a unit that is carried to store `s` needs a place there."""
    store = c.stores[s]
    return bool(store.kind == PLACES or store.limited == 1)


@rule
def put(c: Any, s: int, u: int, node: int, front: int) -> None:
    """Unit `u` enters store `s`, behind the others or in front of them."""
    store = c.stores[s]
    part = c.parts[u]
    part.stored = c.now
    part.node = node
    if store.level == 0:
        part.next = -1
        store.head = u
        store.tail = u
    elif front == 1 or store.last_first == 1:
        part.next = store.head
        store.head = u
    else:
        part.next = -1
        c.parts[store.tail].next = u
        store.tail = u
    if store.kind == RAW and front == 1:
        store.returned += 1
    store.entered += 1
    book_level(c, s, 1)
    if store.tallied == 1:
        if store.holds == 1:
            hold_back(c, s, u, node)
        else:
            count_ready(c, s, u, 1)
    wake_takers(c, s)
    if store.feeders > 0:
        wake_feeders(c, s)  # whoever waits for a place may have lost it


@rule
def draw_out(c: Any, s: int, u: int, node: int) -> None:
    """Unit `u` leaves store `s` for a start that node `node` released."""
    store = c.stores[s]
    part = c.parts[u]
    if u == store.head:
        store.head = part.next
    else:
        before = store.head
        while c.parts[before].next != u:
            before = c.parts[before].next
        c.parts[before].next = part.next
        if u == store.tail:
            store.tail = before
    part.next = -1
    if store.tallied == 1:
        if part.ready == 1:
            count_ready(c, s, u, -1)
        if part.tray > 0:
            c.tray_units[part.tray - 1] -= 1
            if c.tray_units[part.tray - 1] == 0:
                store.trays_out -= 1
                look_at_tray(c, s)
            part.tray = 0
    store.left += 1
    store.stays += c.now - part.stored
    store.node = node
    book_level(c, s, -1)
    if store.offers > 0 or store.feeders > 0:
        wake_feeders(c, s)


@rule
def offer(c: Any, i: int, s: int, front: int) -> None:
    """Machine `i` waits to hand its units over to store `s`; returned units wait in front of new ones."""
    m = c.machines[i]
    if m.offering == 1:
        return
    m.offering = 1
    u = m.unit
    while u >= 0:
        c.parts[u].node = m.node
        u = c.parts[u].next
    store = c.stores[s]
    if store.offers == 0:
        m.next_offer = -1
        store.first_offer = i
        store.last_offer = i
    elif front == 1:
        m.next_offer = store.first_offer
        store.first_offer = i
    else:
        m.next_offer = -1
        c.machines[store.last_offer].next_offer = i
        store.last_offer = i
    store.offers += 1
    store.offered += m.units


@rule
def withdraw_offer(c: Any, s: int, i: int) -> None:
    """Machine `i` waits no more to hand over to store `s`."""
    store = c.stores[s]
    m = c.machines[i]
    m.offering = 0
    if i == store.first_offer:
        store.first_offer = m.next_offer
    else:
        before = store.first_offer
        while c.machines[before].next_offer != i:
            before = c.machines[before].next_offer
        c.machines[before].next_offer = m.next_offer
        if i == store.last_offer:
            store.last_offer = before
    store.offers -= 1
    store.offered -= m.units


@rule
def taken_from_machine(c: Any, s: int) -> bool:
    """Whether the next unit of store `s` stands on a machine: no places, or sent back before raw units."""
    store = c.stores[s]
    if store.kind == RAW:
        return store.offers > 0 and c.machines[store.first_offer].front == 1
    return bool(store.kind == HAND_OVER)
