"""Places between stations: what enters, what leaves, who waits for a place."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import EMPTY, RAW
from cellsim.engine.rules import rule
from cellsim.engine.rules.ledger import book_level, book_wip
from cellsim.engine.rules.order import wake


@rule
def new_unit(c: Any, node: int) -> int:
    """A unit enters the cell now."""
    u = c.free_part
    part = c.parts[u]
    c.free_part = part.next
    c.free_parts -= 1
    part.next = -1
    part.inside = 1
    part.entered = c.now
    part.stored = c.now
    part.node = node
    part.tried_at = -1
    part.tries = 0
    c.created += 1
    book_wip(c, 1)
    return u


@rule
def drop_unit(c: Any, u: int) -> None:
    """Unit `u` leaves the cell now, good, scrapped or built into another."""
    part = c.parts[u]
    c.wip_stays += c.now - part.entered
    part.inside = 0
    if part.card == 1:
        part.card = 0
        c.on_cards -= 1
    part.next = c.free_part
    c.free_part = u
    c.free_parts += 1
    book_wip(c, -1)


@rule
def wake_takers(c: Any, s: int) -> None:
    """Something can be taken from store `s`: try the empty machines that take from it."""
    store = c.stores[s]
    k = store.first_taker
    end = k + store.takers
    while k < end:
        m = c.machines[c.takers[k]]
        if m.progress == EMPTY and m.woken == 0:
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
    return store.level + store.reserved + units <= store.places


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
    elif front == 1:
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
    wake_takers(c, s)
    if store.feeders > 0:
        wake_feeders(c, s)  # whoever waits for a place may have lost it


@rule
def draw_out(c: Any, s: int, node: int) -> int:
    """The unit at the head of store `s` leaves it for a start that node `node` released."""
    store = c.stores[s]
    u = store.head
    part = c.parts[u]
    store.head = part.next
    part.next = -1
    store.left += 1
    store.stays += c.now - part.stored
    store.node = node
    book_level(c, s, -1)
    if store.offers > 0 or store.feeders > 0:
        wake_feeders(c, s)
    return u


@rule
def offer(c: Any, i: int, s: int, front: int) -> None:
    """Machine `i` waits to hand its units over to store `s`; returned units wait in front of new ones."""
    m = c.machines[i]
    if m.offering == 1:
        return
    m.offering = 1
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


@rule
def withdraw_first_offer(c: Any, s: int) -> int:
    """The machine that has waited longest for store `s` waits no more."""
    store = c.stores[s]
    i = store.first_offer
    m = c.machines[i]
    m.offering = 0
    store.first_offer = m.next_offer
    store.offers -= 1
    return i
