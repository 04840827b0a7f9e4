"""Which units a cycle takes where that is not simply the first that stands there.

A station may take some variants only, what it builds in must fit the variant of the unit that goes on, a
batch takes what belongs together, and a store may hold units that cannot be taken yet.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import BATCH_WAIT, CAMPAIGNS, HAND_OVER, OFF, RAW, RUNNING_OUT
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import expect
from cellsim.engine.rules.path import add_node
from cellsim.engine.rules.stores import taken_from_machine
from cellsim.engine.rules.units import may_be_released


@rule
def suits(c: Any, s: int, w: int, v: int) -> bool:
    """Whether station `s` takes units of variant `w` for a cycle of variant `v` (0 = any)."""
    if w == 0:
        return True
    if v > 0:
        return bool(w == v)
    accepts = c.stations[s].accepts
    return accepts == 0 or (accepts >> w) & 1 == 1


@rule
def fits(c: Any, s: int, u: int, v: int) -> bool:
    """Whether unit `u` can be taken now by station `s` for a cycle of variant `v` (0 = any)."""
    part = c.parts[u]
    return part.ready == 1 and suits(c, s, part.variant, v)


@rule
def first_of(c: Any, x: int) -> int:
    """The unit that stands first in store `x`, or is offered first where it has no places; -1 = none."""
    store = c.stores[x]
    if store.kind == HAND_OVER:
        return c.machines[store.first_offer].unit if store.offers > 0 else -1
    return store.head if store.level > 0 else -1


@rule
def following(c: Any, x: int, u: int) -> int:
    """The unit that stands behind unit `u` in store `x`, or is offered after it; -1 = none."""
    after = c.parts[u].next
    if after < 0 and c.stores[x].kind == HAND_OVER:
        i = c.stores[x].first_offer
        for _ in range(c.stores[x].offers - 1):
            last = c.machines[i].unit
            while c.parts[last].next >= 0:
                last = c.parts[last].next
            i = c.machines[i].next_offer
            if last == u:
                return c.machines[i].unit
    return after


@rule
def first_fit(c: Any, s: int, x: int, v: int) -> int:
    """The first unit of store `x` that station `s` can take now for variant `v` (0 = any); -1 = none."""
    u = first_of(c, x)
    if u < 0 or fits(c, s, u, v):
        return u
    if c.stores[x].tallied == 1 and not enough_fit(c, s, x, v, 1):
        return -1
    while u >= 0 and not fits(c, s, u, v):
        u = following(c, x, u)
    return u


@rule
def enough_fit(c: Any, s: int, x: int, v: int, units: int) -> bool:
    """Whether station `s` could take so many units from store `x` now for variant `v` (0 = any)."""
    count = 0
    store = c.stores[x]
    if store.tallied == 1:
        for w in range(c.variant_count + 1):
            if suits(c, s, w, v):
                count += c.tallies[store.first_tally + w].units
        return bool(count >= units)
    u = first_of(c, x)
    while u >= 0 and count < units:
        if fits(c, s, u, v):
            count += 1
        u = following(c, x, u)
    return bool(count >= units)


@rule
def raw_open(c: Any) -> bool:
    """Whether raw material is given out at this instant."""
    state = c.calendars[c.cell_calendar].state
    return bool(state != RUNNING_OUT and state != OFF)


@rule
def raw_variant(c: Any, x: int) -> int:
    """The variant of the unit that raw store `x` gives next; -1 = none may be released now."""
    store = c.stores[x]
    if taken_from_machine(c, x):
        return int(c.parts[c.machines[store.first_offer].unit].variant)
    if store.returned > 0:
        return int(c.parts[store.head].variant)
    if store.hourly == 1 and store.allowance == 0:
        return int(c.parts[store.head].variant) if store.level > 0 else -1
    if store.plan < 0:
        return 0
    v = c.plans[store.plan].variant
    return int(v) if may_be_released(c, v) else -1


@rule
def choose_units(c: Any, s: int) -> int:
    """How many units the next cycle of station `s` would take as its own; 0 when anything is missing.

    Leaves the number in `pick_units` too and the variant in `pick_variant`.
    """
    station = c.stations[s]
    own = c.inputs[station.first_input]
    store = c.stores[own.store]
    units = own.units
    v = 0
    if station.batch == 1:
        units = batch_units(c, s)
        if units == 0:
            return 0
        v = c.pick_variant
    elif store.kind == RAW:
        v = raw_variant(c, own.store) if raw_open(c) else -1
        accepts = station.accepts
        if v < 0 or (accepts > 0 and v > 0 and (accepts >> v) & 1 == 0):
            return 0
        if store.hourly == 1 and store.allowance + store.level < units:
            return 0
    else:
        u = first_fit(c, s, own.store, 0)
        if u < 0:
            return 0
        v = c.parts[u].variant
        if units > 1 and not enough_fit(c, s, own.store, v, units):
            return 0
    for k in range(station.first_input + 1, station.first_input + station.inputs):
        other = c.inputs[k]
        if c.stores[other.store].kind == RAW:
            if not raw_open(c):
                return 0
        elif not enough_fit(c, s, other.store, v, other.units):
            return 0
    c.pick_variant = v
    c.pick_units = units
    return int(units)


@rule
def batch_units(c: Any, s: int) -> int:
    """How many units the next batch of station `s` would take; 0 while nothing may start.

    Of several variants that may start, the one whose first unit has waited longest; it is left in
    `pick_variant`.
    """
    station = c.stations[s]
    x = c.inputs[station.first_input].store
    if c.stores[x].kind == RAW:
        return raw_batch(c, s, x)
    count_batches(c, s, x)
    chosen = -1
    for v in range(c.variant_count + 1):
        if c.batch_counts[v] > 0 and batch_may_start(c, s, v):
            if chosen < 0 or c.batch_since[v] < c.batch_since[chosen]:
                chosen = v
    if chosen < 0:
        note_wait(c, s)
        return 0
    c.pick_variant = chosen
    return min(c.batch_counts[chosen], c.batch_sizes[station.first_size + chosen])


@rule
def count_batches(c: Any, s: int, x: int) -> None:
    """Count the units of store `x` by the batch of station `s` that they may go into; when the first came."""
    for v in range(c.variant_count + 1):
        c.batch_counts[v] = 0
    store = c.stores[x]
    if store.tallied == 1:
        for w in range(c.variant_count + 1):
            units = c.tallies[store.first_tally + w].units
            if units > 0 and suits(c, s, w, 0):
                add_to_batch(c, s, w, units, first_came(c, x, w))
        return
    u = first_of(c, x)
    while u >= 0:
        part = c.parts[u]
        if fits(c, s, u, 0):
            add_to_batch(c, s, part.variant, 1, part.stored)
        u = following(c, x, u)


@rule
def add_to_batch(c: Any, s: int, w: int, units: int, since: int) -> None:
    """Units of variant `w`, the first of which came at `since`, may go into a batch of station `s`."""
    v = 0 if c.stations[s].mixed == 1 else w
    if c.batch_counts[v] == 0 or since < c.batch_since[v]:
        c.batch_since[v] = since
    c.batch_counts[v] += units


@rule
def first_came(c: Any, x: int, w: int) -> int:
    """When the first of the units of variant `w` came that can be taken from store `x`: there are some."""
    store = c.stores[x]
    tally = c.tallies[store.first_tally + w]
    if tally.oldest < 0:
        oldest = c.now
        left = tally.units
        u = store.head
        while u >= 0 and left > 0:
            part = c.parts[u]
            if part.ready == 1 and part.variant == w:
                oldest = min(oldest, part.stored)
                left -= 1
            u = part.next
        tally.oldest = oldest
    return int(tally.oldest)


@rule
def batch_may_start(c: Any, s: int, v: int) -> bool:
    """Whether the units of variant `v` that wait for station `s` are a full batch, or may wait no longer."""
    station = c.stations[s]
    count = c.batch_counts[v]
    if count >= c.batch_sizes[station.first_size + v]:
        return True
    if count < station.at_least:
        return False
    if station.clock_due > 0:
        return True
    if station.longest_wait < 0:
        return False
    return bool(c.batch_since[v] + station.longest_wait <= c.now)


@rule
def note_wait(c: Any, s: int) -> None:
    """Note when the longest wait of the units before station `s` will be over, if enough are there."""
    station = c.stations[s]
    if station.longest_wait < 0:
        return
    over = -1
    for v in range(c.variant_count + 1):
        if c.batch_counts[v] >= station.at_least and (
            over < 0 or c.batch_since[v] + station.longest_wait < over
        ):
            over = c.batch_since[v] + station.longest_wait
    if over > c.now and over != station.wait_noted:
        station.wait_noted = over
        expect(c, over, BATCH_WAIT, s, 0)


@rule
def raw_batch(c: Any, s: int, x: int) -> int:
    """A batch straight from raw material is full, or what is left of the campaign."""
    station = c.stations[s]
    v = raw_variant(c, x) if raw_open(c) else -1
    if v < 0:
        return 0
    size = c.batch_sizes[station.first_size + (0 if station.mixed == 1 else v)]
    p = c.stores[x].plan
    if p >= 0 and station.mixed == 0 and c.plans[p].kind == CAMPAIGNS:
        size = min(size, c.plans[p].left)
    if c.stores[x].hourly == 1 and c.stores[x].allowance + c.stores[x].level < size:
        return 0
    c.pick_variant = 0 if station.mixed == 1 else v
    return int(size)


@rule
def wait_is_over(c: Any, s: int, units: int) -> bool:
    """Whether the batch of so many units, just chosen for station `s`, starts by its longest wait now."""
    station = c.stations[s]
    if station.longest_wait < 0 or station.clock_due > 0:
        return False
    if c.stores[c.inputs[station.first_input].store].kind == RAW:
        return False
    v = c.pick_variant
    if units >= c.batch_sizes[station.first_size + v]:
        return False
    return bool(c.batch_since[v] + station.longest_wait == c.now)


@rule
def node_of_first(c: Any, s: int, v: int) -> int:
    """The node of the unit of variant `v` that has waited longest for the batch of station `s`."""
    x = c.inputs[c.stations[s].first_input].store
    u = first_of(c, x)
    while not (fits(c, s, u, v) and c.parts[u].stored == c.batch_since[v]):
        u = following(c, x, u)
    return int(c.parts[u].node)


@rule
def latest_chosen(c: Any, s: int) -> int:
    """The latest node among the units that the next cycle of station `s` will take.

    Where the longest wait of a batch ends at this instant it is that wait, which began with the first unit.
    """
    station = c.stations[s]
    units = choose_units(c, s)
    v = c.pick_variant
    if wait_is_over(c, s, units):
        return add_node(c, node_of_first(c, s, v), station.wait_cause, 0)
    node = 0
    for k in range(station.first_input, station.first_input + station.inputs):
        x = c.inputs[k].store
        wanted = units if k == station.first_input else c.inputs[k].units
        store = c.stores[x]
        if store.kind == RAW:
            wanted = min(wanted, store.returned)
            if store.hourly == 1:
                node = max(node, store.node)
            if c.line_empties == 1:
                node = max(node, c.emptied_node)
        u = first_of(c, x)
        if taken_from_machine(c, x):
            u = c.machines[store.first_offer].unit
            wanted = max(wanted, 1)
        while u >= 0 and wanted > 0:
            if fits(c, s, u, v):
                wanted -= 1
                node = max(node, c.parts[u].node)
            u = following(c, x, u)
    return node


@rule
def fit_to_take(c: Any, s: int, x: int, v: int) -> int:
    """The unit of store `x` that station `s` takes for variant `v`; -1 where that is simply the first."""
    return -1 if c.stores[x].kind == RAW else first_fit(c, s, x, v)
