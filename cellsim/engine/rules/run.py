"""How a run begins, is read, and comes to a stand for good."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ABSENT,
    ARRIVAL,
    CALLING,
    DONE,
    IS_SCRAPPED,
    ON,
    ON_TIME,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.calendar import expect_edge
from cellsim.engine.rules.carriers import close_carriers
from cellsim.engine.rules.handover import free_cards
from cellsim.engine.rules.instant import expect_arrival, settle
from cellsim.engine.rules.ledger import close_ledgers
from cellsim.engine.rules.material import expect_hour, open_supplies
from cellsim.engine.rules.order import expect, wake, wake_actor
from cellsim.engine.rules.stations import prime
from cellsim.engine.rules.stops import open_stop
from cellsim.engine.rules.stores import put
from cellsim.engine.rules.teams import open_duties
from cellsim.engine.rules.units import new_unit, start_plan
from cellsim.engine.rules.windows import expect_clock


@rule
def expect_first_arrival(c: Any) -> None:
    """The first raw unit of a release by interval comes at the start, of a plan when the plan says."""
    if c.hourly_count > 0:
        expect_hour(c)
    elif c.release_law >= 0:
        expect(c, 0, ARRIVAL, 0, 0)
    elif c.release_count > 0:
        expect_arrival(c)


@rule
def open_run(c: Any) -> None:
    """Time 0: what stands in the stores, first stops, first edges; then everybody may start."""
    for p in range(c.plan_count):
        start_plan(c, p)
    for k in range(c.starting_count):
        put(c, c.starting[k].store, new_unit(c, 0, c.starting[k].variant, -1), 0, 0)
    for s in range(c.station_count):
        expect_clock(c, s)
    if c.primed == 1:
        prime(c)
    open_duties(c)
    for k in range(c.stop_count):
        open_stop(c, k)
    for k in range(c.calendar_count):
        expect_edge(c, k)
    free_cards(c, 0)
    expect_first_arrival(c)
    open_supplies(c)
    for i in range(c.machine_count):
        wake(c, i)
    for a in range(c.actor_count):
        wake_actor(c, a)
    settle(c)


@rule
def bring_up_to(c: Any, until: int) -> None:
    """Everything up to and including time `until` has happened: bring the running totals up to it."""
    c.now = until
    close_ledgers(c)
    close_carriers(c)


@rule
def count_from_now(c: Any) -> None:
    """Counting starts now: the highest levels and the path so far do not count."""
    c.counting_from = c.now
    for s in range(c.store_count):
        c.stores[s].highest = c.stores[s].level
    c.wip_highest = c.wip


@rule
def something_will_come(c: Any) -> bool:
    """Whether a delivery that comes every so often is waited for, or a collection has something to take."""
    for i in range(c.machine_count):
        if c.machines[i].lacks >= 0:
            return bool(c.standing_waits > 0)
    for k in range(c.supply_count):
        store = c.supplies[k].store
        if store >= 0 and c.stores[store].level > 0:
            return True
    return False


@rule
def raw_units_will_move(c: Any) -> bool:
    """Whether raw units are to come, and a machine that takes them does not stand with a finished one."""
    if c.release_law >= 0 or (c.release_count > 0 and c.now < c.arrivals[c.release_count - 1]):
        store = c.stores[c.release_store]
        for k in range(store.first_taker, store.first_taker + store.takers):
            if c.machines[c.takers[k]].progress != DONE:
                return True
    return False


@rule
def people_will_come(c: Any) -> bool:
    """Whether a shift, a break or the way of somebody is still to end."""
    for k in range(c.calendar_count):
        if c.calendars[k].state != ON:
            return True
    careful = 0
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.returns > 0 or actor.turns > 0 or actor.duty == ABSENT:
            return True
        careful += actor.careful
    if careful > 0:  # may refuse now what they start after the break
        for j in range(c.job_count):
            if c.jobs[j].state == CALLING:
                return True
    return False


@rule
def stops_will_end(c: Any) -> bool:
    """Whether a stop is to be repaired, or one will come and free the machine that it strikes.

    Only the clock of on time counts while nobody works.
    """
    for k in range(c.stop_count):
        stop = c.stops[k]
        if stop.active == 1:
            return True
        if stop.clock == ON_TIME and stop.part == IS_SCRAPPED and c.machines[stop.target].in_work == 1:
            return True
    for z in range(c.zone_count):
        if c.zones[z].restarting > 0:
            return True
    return False


@rule
def stores_will_give(c: Any) -> bool:
    """Whether time alone lets units out of a store, or a batch begin."""
    for s in range(c.station_count):
        if c.stations[s].clocks > 0 or c.stations[s].wait_noted > c.now:
            return True
    for s in range(c.store_count):
        store = c.stores[s]
        if store.late_noted > 0:
            return True
        if store.gathering > 0 and (store.delay > 0 or (store.tray_waits >= 0 and store.overdue != 1)):
            return True
    return False


@rule
def is_stalled(c: Any) -> bool:
    """Whether nothing can ever start again although everybody is there and everything works.

    Raw units that are still to come change nothing where all that take them stand with a finished unit.
    """
    if c.hourly_count > 0 or c.carriers_coming > 0:
        return False
    if something_will_come(c) or raw_units_will_move(c) or people_will_come(c):
        return False
    return not (stops_will_end(c) or stores_will_give(c))


@rule
def watch_for_standstill(c: Any) -> None:
    """Remember the first instant from which nothing can ever start again."""
    if c.active == c.standing_waits and c.stalled_at < 0 and is_stalled(c):
        c.stalled_at = c.now
