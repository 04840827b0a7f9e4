"""What a cycle needs beside the units that it takes, and when it is asked for.

Pieces of purchased parts are taken at the start of a cycle; an emptied bin, or few pieces left, send for
more.  One bar gives many units, one after another.  A station that makes lots begins one when the store
behind it has fallen to a level.  An hourly plan lets so many raw units in.  Finished goods are collected.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    ARRIVAL,
    BY_ORDER,
    CALLING,
    DONE,
    EMPTY,
    HAND_OVER,
    IN_BINS,
    IN_CYCLE,
    LACKS_LOT,
    LACKS_NOTHING,
    LACKS_TURN,
    LACKS_UNITS,
    M_WAITS_MATERIAL,
    N_COLLECTED,
    N_DELIVERED,
    N_SENT_FOR,
    RAW,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.boarding import short_of_carriers
from cellsim.engine.rules.faults import set_faults
from cellsim.engine.rules.handover import inputs_ready, outlet_free, wake_lot_mates
from cellsim.engine.rules.ledger import book_level, book_stock
from cellsim.engine.rules.order import expect, note, wake
from cellsim.engine.rules.path import add_node, bind
from cellsim.engine.rules.people import attend, claim, dismiss, step_length, wake_able
from cellsim.engine.rules.progress import begin
from cellsim.engine.rules.stores import wake_feeders, wake_takers
from cellsim.engine.rules.units import new_unit


@rule
def wake_users(c: Any, k: int) -> None:
    """Pieces of purchased part `k` came or went: try the empty machines that use it."""
    stock = c.stocks[k]
    for k in range(stock.first_taker, stock.first_taker + stock.takers):
        if c.machines[c.takers[k]].progress == EMPTY:
            wake(c, c.takers[k])


@rule
def asked_before(c: Any, i: int, lack: int, first: int, count: int) -> bool:
    """Whether a machine of these stations that lacks this, or nothing but people, goes before machine `i`.

    It does if it asked before, or is more urgent.
    """
    m = c.machines[i]
    own = c.stations[m.station].priority
    for k in range(first, first + count):
        other = c.machines[c.takers[k]]
        if (
            other.ticket > 0
            and c.takers[k] != i
            and (other.asks_for == lack or other.asks_for == LACKS_NOTHING)
        ):
            theirs = c.stations[other.station].priority
            if theirs < own or (theirs == own and (m.ticket == 0 or other.ticket < m.ticket)):
                return True
    return False


@rule
def lot_is_due(c: Any, s: int) -> bool:
    """Whether station `s` is in a lot, or may begin one: few units are left, the last lot is in the store."""
    station = c.stations[s]
    if station.lot_left > 0:
        return True
    if c.stores[station.lot_store].level > station.lot_at:
        return False
    for i in range(station.first_machine, station.first_machine + station.machines):
        visit = c.jobs[c.visit_base + i]
        progress = c.machines[i].progress
        if progress == IN_CYCLE or progress == DONE or visit.unit >= 0 or visit.held >= 0:
            return False
    return True


@rule
def at_hand(c: Any, s: int) -> int:
    """How many units there are to take from store `s`, whatever they are."""
    store = c.stores[s]
    if store.kind == HAND_OVER:
        return store.offered
    if store.kind == RAW:
        return store.places if store.hourly == 0 else store.allowance + store.level
    return store.level


@rule
def lacks_units(c: Any, i: int) -> int:
    """What machine `i` lacks of the units that it takes: LACKS_UNITS, _NOTHING, or its turn at a store."""
    m = c.machines[i]
    station = c.stations[m.station]
    if station.strict == 0:
        return LACKS_NOTHING if inputs_ready(c, m.station) else LACKS_UNITS
    turn = LACKS_NOTHING
    for k in range(station.first_input, station.first_input + station.inputs):
        s = c.inputs[k].store
        store = c.stores[s]
        short = at_hand(c, s) < c.inputs[k].units
        if store.strict == 0 and short:
            return LACKS_UNITS
        if store.strict == 1 and turn == LACKS_NOTHING:
            if short or asked_before(c, i, LACKS_TURN - s, store.first_taker, store.takers):
                turn = LACKS_TURN - s
    if turn == LACKS_NOTHING and not inputs_ready(c, m.station):
        return LACKS_UNITS
    return turn


@rule
def lacks(c: Any, i: int) -> int:
    """What machine `i` lacks for a cycle: a purchased part by index, or one of the words LACKS."""
    m = c.machines[i]
    station = c.stations[m.station]
    lack = LACKS_NOTHING if m.left_on_bar > 0 else lacks_units(c, i)
    if lack == LACKS_UNITS:
        return lack
    if station.lot > 0 and not lot_is_due(c, m.station):
        return LACKS_LOT
    for k in range(station.first_use, station.first_use + station.uses):
        use = c.uses[k]
        if c.stocks[use.stock].strict == 0 and c.stocks[use.stock].level < use.pieces:
            return use.stock
    if station.strict == 0 or lack != LACKS_NOTHING:
        return lack
    for k in range(station.first_use, station.first_use + station.uses):
        use = c.uses[k]
        stock = c.stocks[use.stock]
        if stock.strict == 1:
            short = stock.level < use.pieces
            if short or asked_before(c, i, use.stock, stock.first_taker, stock.takers):
                return use.stock
    return LACKS_NOTHING


@rule
def feed_ready(c: Any, i: int) -> bool:
    """Whether everything that the next cycle of machine `i` takes is there for it."""
    s = c.machines[i].station
    if c.stations[s].supplied == 1:
        return lacks(c, i) == LACKS_NOTHING
    return inputs_ready(c, s)


@rule
def wake_rivals(c: Any, s: int) -> None:
    """A machine of station `s` asks no more: try those who may have waited behind it."""
    station = c.stations[s]
    for k in range(station.first_input, station.first_input + station.inputs):
        if c.stores[c.inputs[k].store].strict == 1:
            wake_takers(c, c.inputs[k].store)
    for k in range(station.first_use, station.first_use + station.uses):
        if c.stocks[c.uses[k].stock].strict == 1:
            wake_users(c, c.uses[k].stock)


@rule
def book_lack(c: Any, i: int, k: int) -> None:
    """From now on machine `i` waits for purchased part `k`, or for none (-1)."""
    m = c.machines[i]
    if m.lacks == k:
        return
    if m.lacks >= 0:
        stock = c.stocks[m.lacks]
        stock.lacking -= 1
        if stock.lacking == 0:
            stock.short_time += c.now - stock.short_since
    if k >= 0:
        stock = c.stocks[k]
        if stock.lacking == 0:
            stock.short_since = c.now
            stock.shortages += 1
        stock.lacking += 1
    m.lacks = k


@rule
def settle_supply(c: Any, i: int) -> None:
    """Machine `i` has been tried: book which part it waits for, and whether it asks in its turn.

    Where nobody may overtake, a machine asks for the first such thing that it lacks while all else is there,
    and keeps its turn until it starts.
    """
    m = c.machines[i]
    station = c.stations[m.station]
    lack = LACKS_UNITS
    if m.progress == EMPTY and m.downs == 0 and station.open == 1 and c.jobs[c.visit_base + i].unit < 0:
        lack = lacks(c, i)
    book_lack(c, i, lack if lack >= 0 and m.state == M_WAITS_MATERIAL else -1)
    if station.strict == 1:
        asks = lack == LACKS_NOTHING or lack <= LACKS_TURN
        if lack >= 0 and c.stocks[lack].strict == 1:
            asks = True
        if station.reserves == 1 and asks and (station.batch == 0 or lack == LACKS_NOTHING):
            asks = outlet_free(c, m.station)
        if station.carries == 1 and asks:
            asks = not short_of_carriers(c, m.station)
        if not asks:
            if m.ticket > 0:
                m.ticket = 0
                wake_rivals(c, m.station)
        elif m.ticket == 0 or lack != m.asks_for:
            goes_on = m.ticket > 0 and (lack == LACKS_NOTHING or m.asks_for == LACKS_NOTHING)
            if not goes_on:
                c.ticket_count += 1
                m.ticket = c.ticket_count
            m.asks_for = lack
            wake_rivals(c, m.station)


@rule
def latest_supply(c: Any, i: int) -> int:
    """The latest node among the deliveries that the next cycle of machine `i` had to wait for."""
    station = c.stations[c.machines[i].station]
    node = 0
    for k in range(station.first_use, station.first_use + station.uses):
        node = max(node, c.stocks[c.uses[k].stock].node)
    if station.lot > 0 and station.lot_left == 0:
        node = max(node, c.stores[station.lot_store].node)
    return node


@rule
def take_supply(c: Any, i: int, u: int, node: int) -> None:
    """Machine `i` starts a cycle with unit `u`, released by `node`: take its pieces, count bar and lot."""
    m = c.machines[i]
    station = c.stations[m.station]
    for k in range(station.first_use, station.first_use + station.uses):
        take_pieces(c, c.uses[k].stock, c.uses[k].pieces, node)
    if station.bar > 0:
        if m.left_on_bar == 0:
            m.left_on_bar = station.bar
            m.bar_variant = c.parts[u].variant
            m.bar_line = c.parts[u].line
            m.bar_faults = c.parts[u].faults
            m.bar_been = c.parts[u].been
            station.bars += 1
        m.left_on_bar -= 1
    if station.lot > 0:
        if station.lot_left == 0:
            station.lot_left = station.lot
            station.lots += 1
            wake_lot_mates(c, m.station)
        station.lot_left -= station.gives
        if station.lot_left == 0:
            wake_lot_mates(c, m.station)  # whoever called for the rest of the lot calls in vain
    book_lack(c, i, -1)
    if station.strict == 1:
        m.ticket = 0
        wake_rivals(c, m.station)


@rule
def unit_of_bar(c: Any, i: int, node: int) -> int:
    """One more unit comes from the bar in machine `i`, with what was right or wrong with the bar."""
    m = c.machines[i]
    u = new_unit(c, node, m.bar_variant, m.bar_line)
    c.parts[u].at = m.station
    if c.hidden == 1:
        set_faults(c, u, m.bar_faults)
        c.parts[u].been = m.bar_been
    return u


@rule
def take_pieces(c: Any, k: int, pieces: int, node: int) -> None:
    """Pieces of purchased part `k` are taken for a start that `node` released; send for more if due."""
    stock = c.stocks[k]
    bins = (stock.level + stock.box - 1) // stock.box
    book_stock(c, k, -pieces)
    stock.used += pieces
    if stock.strict == 1:
        stock.node = node
    if stock.shared == 1:
        wake_users(c, k)
    if stock.kind == IN_BINS:
        for _ in range(bins - (stock.level + stock.box - 1) // stock.box):
            send_for(c, k, node)
    elif stock.kind == BY_ORDER and stock.level <= stock.order_level:
        send_for(c, k, node)


@rule
def send_for(c: Any, k: int, node: int) -> None:
    """Send for one more box of purchased part `k`, unless all that may be on the way are on the way."""
    stock = c.stocks[k]
    for x in range(stock.first_supply, stock.first_supply + stock.supplies):
        if c.supplies[x].out == 0:
            if c.tracing == 1:
                note(c, N_SENT_FOR, k, stock.box)
            begin_supply(c, x, node)
            return


@rule
def begin_supply(c: Any, x: int, node: int) -> None:
    """What supply `x` brings is on its way from now on, or waits for whoever brings it."""
    supply = c.supplies[x]
    j = c.supply_base + x
    job = c.jobs[j]
    job.node = node
    supply.out = 1
    if supply.wait < 0:
        call_trip(c, x)
        return
    job.step = supply.wait
    plan = c.steps[supply.wait].plan
    length = step_length(c, j, 0)
    if supply.regular == 1:  # the time counts from the last call, however long that trip took
        length = max(1, length - (c.now - supply.since))
        c.standing_waits += 1
    begin(c, j, ACTIVE, length, supply.cause, plan)


@rule
def call_trip(c: Any, x: int) -> None:
    """Call for the person or robot who brings what supply `x` is to bring."""
    supply = c.supplies[x]
    job = c.jobs[c.supply_base + x]
    job.step = supply.trip
    job.need = c.steps[supply.trip].first_need
    job.needs = c.steps[supply.trip].needs
    job.state = CALLING
    job.since = c.now
    supply.tripping = 1
    wake_able(c, job.need, job.needs)


@rule
def start_trip(c: Any, x: int, size: int) -> None:
    """Whoever is written down for supply `x` sets out to bring it."""
    supply = c.supplies[x]
    j = c.supply_base + x
    job = c.jobs[j]
    job.node = bind(c, max(job.node, claim(c, j, size)), supply.waiting_cause)
    step = c.steps[supply.trip]
    begin(c, j, ACTIVE, step_length(c, j, size), step.cause, step.plan)
    attend(c, j)


@rule
def end_supply(c: Any, x: int) -> None:
    """The time of supply `x` is over: call whoever brings it, or it is there."""
    supply = c.supplies[x]
    j = c.supply_base + x
    if supply.tripping == 0 and supply.regular == 1:
        supply.since = c.now
        c.standing_waits -= 1
    if supply.tripping == 0 and supply.trip >= 0:
        call_trip(c, x)
        return
    supply.tripping = 0
    supply.out = 0
    dismiss(c, j)
    if supply.store >= 0:
        collect(c, x)
    else:
        deliver_box(c, x)
    if supply.regular == 1:
        begin_supply(c, x, c.jobs[j].node)


@rule
def deliver_box(c: Any, x: int) -> None:
    """A box of a purchased part arrives; where that is not enough, another one is ordered."""
    k = c.supplies[x].stock
    stock = c.stocks[k]
    node = c.jobs[c.supply_base + x].node
    if stock.level < stock.most:
        stock.node = node
    book_stock(c, k, stock.box)
    stock.delivered += stock.box
    stock.deliveries += 1
    if c.tracing == 1:
        note(c, N_DELIVERED, k, stock.box)
    wake_users(c, k)
    if stock.kind == BY_ORDER and stock.level <= stock.order_level:
        send_for(c, k, node)


@rule
def collect(c: Any, x: int) -> None:
    """Finished units are collected: their places are free."""
    supply = c.supplies[x]
    s = supply.store
    store = c.stores[s]
    units = store.level
    if supply.amount > 0:
        units = min(units, supply.amount)
    store.left += units
    store.node = c.jobs[c.supply_base + x].node
    book_level(c, s, -units)
    if c.tracing == 1:
        note(c, N_COLLECTED, s, units)
    wake_feeders(c, s)


@rule
def open_supplies(c: Any) -> None:
    """Time 0: what comes every so often, empty bins and orders due are on their way."""
    for x in range(c.supply_count):
        supply = c.supplies[x]
        if supply.out == 1:
            begin_supply(c, x, 0)


@rule
def expect_hour(c: Any) -> None:
    """Note when the hourly plan asks for more units next; it repeats every period."""
    if c.hourly_next >= c.hourly_count:
        c.hourly_next = 0
        c.hourly_base += c.hourly_period
    expect(c, c.hourly_base + c.hourly[c.hourly_next].at, ARRIVAL, 0, 0)


@rule
def follow_hours(c: Any) -> None:
    """The next hour of the plan begins: so many more raw units may be taken."""
    store = c.stores[c.release_store]
    c.release_node = add_node(c, c.release_node, c.cause_release, 0)
    store.node = c.release_node
    store.allowance += c.hourly[c.hourly_next].units
    c.hourly_next += 1
    expect_hour(c)
    wake_takers(c, c.release_store)
