"""Time in state and work in progress, kept so that every total adds up to the clock exactly."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import CHANGING, LEVEL_BINS, M_ATTENDED, M_CHANGEOVER, M_WORKING
from cellsim.engine.rules import rule


@rule
def book_machine(c: Any, i: int, state: int) -> None:
    """From now on machine `i` is in `state`."""
    m = c.machines[i]
    if m.state != state:
        m.totals[m.state] += c.now - m.since
        m.since = c.now
        m.state = state


@rule
def busy_state(c: Any, i: int, size: int) -> int:
    """The state of machine `i` while its job is in progress with `size` people."""
    if c.machines[i].progress == CHANGING:
        return M_CHANGEOVER
    return M_ATTENDED if size > c.steps[c.jobs[i].step].things else M_WORKING


@rule
def book_actor(c: Any, a: int, state: int) -> None:
    """From now on person or robot `a` is in `state`."""
    actor = c.actors[a]
    if actor.state != state:
        actor.totals[actor.state] += c.now - actor.since
        actor.since = c.now
        actor.state = state


@rule
def book_level(c: Any, s: int, change: int) -> None:
    """The level of store `s` changes now."""
    store = c.stores[s]
    level = store.level
    elapsed = c.now - store.since
    if elapsed > 0:
        store.since = c.now
        store.area += level * elapsed
        k = level
        if store.bin_width > 1:
            k = level // store.bin_width
        store.time_at[k if k < LEVEL_BINS else LEVEL_BINS - 1] += elapsed
    level += change
    store.level = level
    if level > store.highest:
        store.highest = level


@rule
def book_wip(c: Any, change: int) -> None:
    """The number of units inside the cell changes now."""
    c.wip_area += c.wip * (c.now - c.wip_since)
    c.wip_since = c.now
    c.wip += change
    if c.wip > c.wip_highest:
        c.wip_highest = c.wip


@rule
def book_stock(c: Any, k: int, change: int) -> None:
    """The pieces of purchased part `k` that lie ready change now."""
    stock = c.stocks[k]
    stock.area += stock.level * (c.now - stock.since)
    stock.since = c.now
    stock.level += change


@rule
def close_ledgers(c: Any) -> None:
    """Bring every running total up to now; what is inside has stayed until now."""
    for i in range(c.machine_count):
        m = c.machines[i]
        m.totals[m.state] += c.now - m.since
        m.since = c.now
    for a in range(c.actor_count):
        actor = c.actors[a]
        actor.totals[actor.state] += c.now - actor.since
        actor.since = c.now
    for s in range(c.store_count):
        book_level(c, s, 0)
    for k in range(c.stock_count):
        stock = c.stocks[k]
        book_stock(c, k, 0)
        if stock.lacking > 0:
            stock.short_time += c.now - stock.short_since
            stock.short_since = c.now
    for z in range(c.zone_count):
        zone = c.zones[z]
        if zone.people > 0:
            zone.inside += c.now - zone.since
        zone.since = c.now
    book_wip(c, 0)


@rule
def note_areas(c: Any) -> None:
    """Running totals are up to the next border: note the integrals of work in progress and of all levels."""
    k = c.border_next * (c.store_count + 1)
    c.areas[k] = c.wip_area
    for s in range(c.store_count):
        c.areas[k + 1 + s] = c.stores[s].area
    c.border_next += 1
