"""Units that have waited too long in a store, and batches that start by the clock."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import BATCH_CLOCK, DAY, N_LATE, RAW, SCRAP, UNITS_LATE
from cellsim.engine.rules import rule
from cellsim.engine.rules.handover import free_cards
from cellsim.engine.rules.order import expect, note, wake
from cellsim.engine.rules.path import add_node
from cellsim.engine.rules.stores import draw_out, leave_queue, put, wake_takers
from cellsim.engine.rules.units import drop_unit


@rule
def window_ends(c: Any, s: int) -> None:
    """The window of some unit in store `s` ends at this instant; it may still be taken first."""
    c.stores[s].late_due = 1
    c.windows_due += 1


@rule
def drop_late(c: Any) -> None:
    """Nothing more can start at this instant: what has waited too long is sent where late units go."""
    c.windows_due = 0
    for s in range(c.store_count):
        if c.stores[s].late_due == 1:
            drop_late_of(c, s)


@rule
def drop_late_of(c: Any, s: int) -> None:
    """Send the late units of store `s` away, and note when the window of the next one ends."""
    store = c.stores[s]
    store.late_due = 0
    store.late_noted = 0
    oldest = -1
    u = store.head if store.level > 0 else -1
    while u >= 0:
        after = c.parts[u].next
        stored = c.parts[u].stored
        if stored + store.use_within <= c.now:
            send_away(c, s, u)
        elif oldest < 0 or stored < oldest:
            oldest = stored
        u = after
    if oldest >= 0 and store.late_noted == 0:
        store.late_noted = 1
        expect(c, oldest + store.use_within, UNITS_LATE, s, 0)


@rule
def send_away(c: Any, s: int, u: int) -> None:
    """Unit `u` has waited too long in store `s`."""
    store = c.stores[s]
    part = c.parts[u]
    if part.ready == 0:
        leave_queue(c, s)  # late units are the first that were held back
    node = add_node(c, part.node, store.late_cause, store.use_within)
    draw_out(c, s, u, node)
    wake_takers(c, s)  # who waited to take it waits in vain
    part.ready = 1
    store.late_units += 1
    if c.tracing == 1:
        note(c, N_LATE, s, u)
    if store.late_to == SCRAP:
        c.scrapped += 1
        drop_unit(c, u, node)
        free_cards(c, node)
    else:
        put(c, store.late_to, u, node, 1 if c.stores[store.late_to].kind == RAW else 0)


@rule
def expect_clock(c: Any, s: int) -> None:
    """Note the next time of day at which station `s` starts what is there."""
    station = c.stations[s]
    if station.clocks > 0:
        at = c.clock_times[station.first_clock + station.next_clock] + station.clock_base
        station.next_clock += 1
        if station.next_clock == station.clocks:
            station.next_clock = 0
            station.clock_base += DAY
        expect(c, at, BATCH_CLOCK, s, 0)


@rule
def wake_station(c: Any, s: int) -> None:
    """Let the machines of station `s` be tried at this instant."""
    station = c.stations[s]
    for i in range(station.first_machine, station.first_machine + station.machines):
        wake(c, i)


@rule
def clock_strikes(c: Any, s: int) -> None:
    """A time of day has come at which each machine of station `s` may start what is there."""
    c.stations[s].clock_due = c.stations[s].machines
    wake_station(c, s)
    expect_clock(c, s)
