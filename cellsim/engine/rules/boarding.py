"""Units are put on carriers: a cycle starts only when every carrier that it needs is free."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import RAW
from cellsim.engine.rules import rule
from cellsim.engine.rules.carriers import book_carriers
from cellsim.engine.rules.choices import choose_units, first_of, fits, following
from cellsim.engine.rules.order import wake
from cellsim.engine.rules.stores import taken_from_machine


@rule
def carriers_needed(c: Any, s: int, k: int) -> int:
    """How many carriers of kind `k` the next cycle of station `s` needs; who is on one keeps it."""
    station = c.stations[s]
    wanted = 1
    v = 0
    if station.picks == 1:
        wanted = choose_units(c, s)
        v = c.pick_variant
    x = c.inputs[station.first_input].store
    store = c.stores[x]
    u = first_of(c, x)
    fresh = 0
    if store.kind == RAW:
        if taken_from_machine(c, x):
            u = c.machines[store.first_offer].unit
        elif store.returned == 0:
            u = -1
        there = max(store.returned, 1 if u >= 0 else 0)
        fresh = max(0, wanted - there)
        wanted -= fresh
    needed = fresh
    while u >= 0 and wanted > 0:
        if station.picks == 0 or fits(c, s, u, v):
            wanted -= 1
            if c.parts[u].on[k] == 0:
                needed += 1
        u = following(c, x, u)
    if c.carrier_kinds[k].per_batch == 1:
        return min(needed, 1)
    return needed


@rule
def short_of_carriers(c: Any, s: int) -> bool:
    """Whether the next cycle of station `s`, all of whose units are there, has to wait for a carrier."""
    for k in range(c.carrier_kind_count):
        kind = c.carrier_kinds[k]
        if kind.start == s and carriers_needed(c, s, k) > kind.free:
            return True
    return False


@rule
def latest_carrier(c: Any, s: int) -> int:
    """The latest node among the carriers that the next cycle of station `s` will take."""
    node = 0
    for k in range(c.carrier_kind_count):
        kind = c.carrier_kinds[k]
        if kind.start == s:
            x = kind.first_free
            for _ in range(carriers_needed(c, s, k)):
                node = max(node, c.carriers[x].node)
                x = c.carriers[x].next
    return node


@rule
def board(c: Any, s: int, first: int) -> None:
    """The units that station `s` has taken are put on carriers."""
    station = c.stations[s]
    for k in range(c.carrier_kind_count):
        kind = c.carrier_kinds[k]
        if kind.start == s:
            book_carriers(c, k)
            x = -1
            u = first
            while u >= 0:
                if c.parts[u].on[k] == 0:
                    if x < 0 or kind.per_batch == 0:
                        x = kind.first_free
                        kind.first_free = c.carriers[x].next
                        kind.free -= 1
                        kind.taken += 1
                    c.parts[u].on[k] = x + 1
                    c.carriers[x].units += 1
                u = c.parts[u].next
    if station.machines > 1:
        for i in range(station.first_machine, station.first_machine + station.machines):
            wake(c, i)  # who waited for somebody to load it may now wait for a carrier
