"""Carriers: pallets, fixtures or baskets of a fixed number that units ride on, and that come back.

A carrier is free, in use until the last unit on it has been taken off, or on its way back.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import duration
from cellsim.engine.layout import CARRIER_BACK
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import expect, wake
from cellsim.engine.rules.path import add_node, bind


@rule
def book_carriers(c: Any, k: int) -> None:
    """The carriers of kind `k` that are free or coming back are about to change."""
    kind = c.carrier_kinds[k]
    elapsed = c.now - kind.since
    kind.since = c.now
    kind.area_used += elapsed * (kind.count - kind.free - kind.coming)
    kind.area_coming += elapsed * kind.coming
    if kind.free == 0:
        kind.none_free += elapsed


@rule
def close_carriers(c: Any) -> None:
    """Bring the totals of all carriers up to now."""
    for k in range(c.carrier_kind_count):
        book_carriers(c, k)


@rule
def set_free(c: Any, x: int) -> None:
    """Carrier `x` is there again; the longest free one is taken first."""
    carrier = c.carriers[x]
    kind = c.carrier_kinds[carrier.kind]
    carrier.next = -1
    if kind.free == 0:
        kind.first_free = x
    else:
        c.carriers[kind.last_free].next = x
    kind.last_free = x
    kind.free += 1
    station = c.stations[kind.start]
    for i in range(station.first_machine, station.first_machine + station.machines):
        wake(c, i)


@rule
def carrier_returns(c: Any, x: int) -> None:
    """Carrier `x` has come back."""
    carrier = c.carriers[x]
    kind = c.carrier_kinds[carrier.kind]
    book_carriers(c, carrier.kind)
    kind.coming -= 1
    c.carriers_coming -= 1
    carrier.node = add_node(c, carrier.node, kind.cause, kind.plan)
    set_free(c, x)


@rule
def get_off(c: Any, u: int, k: int, node: int) -> None:
    """Unit `u` is taken off its carrier of kind `k`; an empty carrier sets out for where it is needed."""
    kind = c.carrier_kinds[k]
    x = c.parts[u].on[k] - 1
    c.parts[u].on[k] = 0
    carrier = c.carriers[x]
    carrier.units -= 1
    if carrier.units > 0:
        return
    book_carriers(c, k)
    carrier.node = node
    length = 0
    if kind.law >= 0:
        length = duration(c.laws[kind.law], c.streams[kind.stream], c.table)
    if length == 0:
        set_free(c, x)
    else:
        kind.coming += 1
        c.carriers_coming += 1
        expect(c, c.now + length, CARRIER_BACK, x, 0)


@rule
def get_off_all(c: Any, u: int) -> None:
    """Unit `u` leaves the cell or is built into another: it is on no carrier any more."""
    for k in range(c.carrier_kind_count):
        if c.parts[u].on[k] > 0:
            get_off(c, u, k, bind(c, c.parts[u].node, c.carrier_kinds[k].use_cause))


@rule
def clear_carriers(c: Any, i: int) -> None:
    """The cycle of machine `i` has ended: it has taken its units off the carriers that end here."""
    m = c.machines[i]
    for k in range(c.carrier_kind_count):
        if c.carrier_kinds[k].end == m.station:
            u = m.unit
            while u >= 0:
                if c.parts[u].on[k] > 0:
                    get_off(c, u, k, m.node)
                u = c.parts[u].next


@rule
def ride_along(c: Any, u: int, other: int) -> None:
    """Unit `u` was made of unit `other` and stands on the same carriers."""
    for k in range(c.carrier_kind_count):
        x = c.parts[other].on[k]
        c.parts[u].on[k] = x
        if x > 0:
            c.carriers[x - 1].units += 1
