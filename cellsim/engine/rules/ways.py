"""Which of several ways a finished unit goes: by share or variant, in turn, shortest wait, first free.

The ways of a station stand in natural order of their names, which settles every tie.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import uniform
from cellsim.engine.layout import EMPTY, FIRST_FREE, HAND_OVER, IN_TURN, PLACES, SHORTEST_WAIT
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import wake
from cellsim.engine.rules.stores import has_room, wake_feeders, wake_takers, withdraw_offer


@rule
def offers_ahead(c: Any, s: int, i: int) -> int:
    """How many machines offer their units to store `s` before machine `i` does or would."""
    store = c.stores[s]
    k = 0
    x = store.first_offer
    while k < store.offers and x != i:
        k += 1
        x = c.machines[x].next_offer
    return k


@rule
def takes_units(c: Any, i: int) -> bool:
    """Whether machine `i` stands empty, open and in order, and with the purchased parts for a cycle."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.progress != EMPTY or m.downs > 0 or station.open == 0 or c.jobs[c.visit_base + i].unit >= 0:
        return False
    if station.dial > 0 and c.dials[station.dial - 1].halts > 0:
        return False
    for k in range(station.first_use, station.first_use + station.uses):
        if c.stocks[c.uses[k].stock].level < c.uses[k].pieces:
            return False
    return True


@rule
def empty_takers(c: Any, s: int) -> int:
    """How many machines that take from store `s` could take a unit now."""
    store = c.stores[s]
    count = 0
    for k in range(store.first_taker, store.first_taker + store.takers):
        if takes_units(c, c.takers[k]):
            count += 1
    return count


@rule
def way_is_free(c: Any, i: int, s: int) -> bool:
    """Whether what is on machine `i` could go into store `s` now: a place, or an empty machine behind it."""
    store = c.stores[s]
    if store.kind == HAND_OVER:
        return bool(empty_takers(c, s) > offers_ahead(c, s, i))
    if store.kind == PLACES:
        return bool(offers_ahead(c, s, i) == 0 and has_room(c, s, c.machines[i].units))
    return True


@rule
def units_waiting(c: Any, s: int) -> int:
    """Units that wait in store `s`, or are on a machine that takes from it, or are on the way to either."""
    store = c.stores[s]
    count = store.level + store.offered + store.reserved
    for k in range(store.first_taker, store.first_taker + store.takers):
        m = c.machines[c.takers[k]]
        if m.unit >= 0:
            count += m.units
        count += m.coming
        if c.jobs[c.visit_base + c.takers[k]].unit >= 0:
            count += 1
    return int(count)


@rule
def find_way(c: Any, i: int) -> int:
    """The outlet for the units on machine `i`, by the rule of its station; not for the first free one."""
    m = c.machines[i]
    station = c.stations[m.station]
    first = station.first_outlet
    last = first + station.outlets - 1
    k = first
    if station.chooses == IN_TURN:
        k = first + station.turn
        station.turn = (station.turn + 1) % station.outlets
    elif station.chooses == SHORTEST_WAIT:
        fewest = units_waiting(c, c.outlets[first].store)
        for other in range(first + 1, last + 1):
            count = units_waiting(c, c.outlets[other].store)
            if count < fewest:
                fewest = count
                k = other
    elif c.outlets[k].variants > 0:
        v = c.parts[m.unit].variant
        while k < last and (c.outlets[k].variants >> v) & 1 == 0:
            k += 1
    else:
        share = uniform(c.streams[station.outlet_stream])
        while k < last and share >= c.outlets[k].upto:
            k += 1
    return int(k)


@rule
def choose_way(c: Any, i: int) -> None:
    """Everything that ends at this instant has ended: finished machine `i` chooses among its ways."""
    m = c.machines[i]
    if c.stations[m.station].chooses == FIRST_FREE:
        find_free_way(c, i)
    else:
        k = find_way(c, i)
        m.choosing = 0
        m.outlet = c.outlets[k].store
        m.front = c.outlets[k].front


@rule
def find_free_way(c: Any, i: int) -> None:
    """Finished machine `i` takes the first way that is free; while none is, it waits where it waits.

    Of equal machines the one that has waited longest comes first.
    """
    m = c.machines[i]
    station = c.stations[m.station]
    if m.offering == 1:
        x = c.stores[m.outlet].first_offer
        while x != i:
            if c.machines[x].station == m.station and c.machines[x].choosing == 1:
                return
            x = c.machines[x].next_offer
    if way_is_free(c, i, m.outlet):
        return
    for k in range(station.first_outlet, station.first_outlet + station.outlets):
        s = c.outlets[k].store
        if s != m.outlet and way_is_free(c, i, s):
            before = m.outlet
            if m.offering == 1:
                withdraw_offer(c, before, i)
                wake_feeders(c, before)
                wake_takers(c, before)
            m.outlet = s
            m.front = c.outlets[k].front
            return


@rule
def beckon(c: Any, i: int) -> None:
    """Let those that look for a free way know that machine `i` could take a unit, or no longer can."""
    m = c.machines[i]
    station = c.stations[m.station]
    free = int(takes_units(c, i))
    if free == 1 or m.beckoned == 1:
        for k in range(station.first_input, station.first_input + station.inputs):
            store = c.stores[c.inputs[k].store]
            if store.kind == HAND_OVER:
                for x in range(store.first_feeder, store.first_feeder + store.feeders):
                    if c.machines[c.feeders[x]].choosing == 1:
                        wake(c, c.feeders[x])
    m.beckoned = free
