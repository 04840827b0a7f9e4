"""Errands of robots: a unit moved from place to place, or the next one fetched before a machine calls.

A move begins only when the unit is there and its target is free, and keeps the target: nobody ever stands
with a unit that nobody takes.  A robot that does not check its target takes the unit all the same, goes,
and waits there.  In a fixed sequence the robot goes to where the next unit will be and stands there, free for
nothing else; a move from an empty place is left out.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    CALLING,
    DONE,
    EMPTY,
    FETCH_AHEAD,
    IDLE,
    IN_CYCLE,
    N_HANDS_OVER,
    N_MOVE_BEGINS,
    N_PLACES_UNIT,
    N_TAKES,
    OUTLET,
    PLACES,
    WAITING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.handover import (
    empty_machine,
    free_cards,
    inputs_ready,
    keep_places,
    latest_input,
    leave_cell,
    outlet_free,
    take_inputs,
)
from cellsim.engine.rules.hands import missed_time
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import attend, book_crew, claim, dismiss, journey, set_out, step_length
from cellsim.engine.rules.progress import begin
from cellsim.engine.rules.stations import classify, set_up
from cellsim.engine.rules.stores import give_back, has_room, put, wake_feeders, wake_takers
from cellsim.engine.rules.visits import count_visit
from cellsim.engine.rules.windows import wake_station

# What there is for a move ----------------------------------------------------------------------------------


@rule
def takes_variant(c: Any, e: int, i: int) -> bool:
    """Whether the station that move `e` brings units to works on the variant that stands on machine `i`."""
    s = c.errands[e].to_station
    accepts = c.stations[s].accepts if s >= 0 else 0
    v = c.parts[c.machines[i].unit].variant
    return bool(accepts == 0 or v == 0 or (accepts >> v) & 1 == 1)


@rule
def source_machine(c: Any, e: int) -> int:
    """The machine whose finished unit move `e` would take: the one that has waited longest, or -1."""
    errand = c.errands[e]
    station = c.stations[errand.from_station]
    best = -1
    for i in range(station.first_machine, station.first_machine + station.machines):
        m = c.machines[i]
        if m.progress == DONE and m.leaving == 0 and m.outlet == errand.store and m.downs == 0:
            if takes_variant(c, e, i) and (best < 0 or m.node < c.machines[best].node):
                best = i
    return best


@rule
def target_machine(c: Any, e: int) -> int:
    """An empty machine that move `e` could bring its unit to, or -1."""
    s = c.errands[e].to_station
    station = c.stations[s]
    if station.reserves == 1 and not outlet_free(c, s):
        return -1
    for i in range(station.first_machine, station.first_machine + station.machines):
        m = c.machines[i]
        if m.progress == EMPTY and m.coming == 0 and m.downs == 0:
            return i
    return -1


@rule
def is_open(c: Any, e: int) -> bool:
    """Whether the station that move `e` serves may start something new by the calendar."""
    errand = c.errands[e]
    return bool(c.stations[errand.to_station if errand.to_station >= 0 else errand.from_station].open == 1)


@rule
def unit_ready(c: Any, e: int) -> bool:
    """Whether the unit that move `e` takes is there."""
    errand = c.errands[e]
    if errand.from_station >= 0:
        return source_machine(c, e) >= 0
    return inputs_ready(c, errand.to_station)


@rule
def room_ready(c: Any, e: int) -> bool:
    """Whether the target of move `e` is free."""
    errand = c.errands[e]
    if errand.to_station >= 0:
        return is_open(c, e) and target_machine(c, e) >= 0
    return c.stores[errand.store].kind != PLACES or has_room(c, errand.store, 1)


@rule
def errand_ready(c: Any, e: int) -> bool:
    """Whether move `e` could begin at this instant, but for the robot."""
    errand = c.errands[e]
    if not is_open(c, e):
        return False
    return unit_ready(c, e) and (errand.checks == 0 or room_ready(c, e))


@rule
def nothing_comes(c: Any, e: int) -> bool:
    """Whether the place that move `e` takes from is empty, so that a fixed sequence leaves it out."""
    errand = c.errands[e]
    if errand.from_station < 0:
        return not inputs_ready(c, errand.to_station)
    station = c.stations[errand.from_station]
    for i in range(station.first_machine, station.first_machine + station.machines):
        m = c.machines[i]
        if m.progress == IN_CYCLE or (m.progress == DONE and m.leaving == 0 and m.outlet == errand.store):
            return False
    return True


@rule
def is_carried_off(c: Any, i: int) -> bool:
    """Whether a move takes what is finished on machine `i`."""
    m = c.machines[i]
    for e in range(c.errand_count):
        if c.errands[e].from_station == m.station and c.errands[e].store == m.outlet:
            return True
    return False


@rule
def is_called_for(c: Any, i: int) -> bool:
    """Whether the finished machine `i` waits for a robot only, not for its target."""
    m = c.machines[i]
    if m.leaving == 1:
        return True
    for e in range(c.errand_count):
        errand = c.errands[e]
        if errand.from_station == m.station and errand.store == m.outlet:
            if c.actors[errand.robot].fixed == 1 or c.jobs[c.errand_base + e].state == CALLING:
                return True
    return False


@rule
def is_coming(c: Any, i: int) -> bool:
    """Whether a unit for the empty machine `i` is there or on its way."""
    m = c.machines[i]
    if m.coming == 1:
        return True
    for e in range(c.errand_count):
        errand = c.errands[e]
        if errand.to_station == m.station and errand.kind != FETCH_AHEAD:
            under_way = c.jobs[c.errand_base + e].crew_size > 0 and errand.going == 0
            if unit_ready(c, e) or (under_way and errand.target < 0):
                return True
    return False


# The move itself -------------------------------------------------------------------------------------------


@rule
def keep_target(c: Any, e: int) -> int:
    """Keep the target of move `e` for it; the node with which it became free."""
    errand = c.errands[e]
    job = c.jobs[c.errand_base + e]
    if errand.to_station >= 0:
        i = target_machine(c, e)
        m = c.machines[i]
        m.coming = 1
        errand.target = i
        wake_takers(c, errand.store)
        if c.stations[errand.to_station].reserves == 1:
            return max(m.node, keep_places(c, i))
        return m.node
    store = c.stores[errand.store]
    errand.target = c.machine_count  # kept, though no machine
    if store.kind == PLACES:
        job.outlet = errand.store
        job.keeps = 1
        store.reserved += 1
        wake_feeders(c, errand.store)
        if store.limited == 1:
            return store.node
    return 0


@rule
def begin_errand(c: Any, e: int, size: int) -> None:
    """The robot written down for move `e` begins it."""
    errand = c.errands[e]
    j = c.errand_base + e
    job = c.jobs[j]
    actor = c.actors[errand.robot]
    node = claim(c, j, size)
    if actor.fixed == 1:
        actor.next_errand = (e - actor.first_errand + 1) % actor.errands
    errand.source = -1
    errand.target = -1
    if errand.from_station >= 0:
        i = source_machine(c, e)
        errand.source = i
        c.machines[i].leaving = 1
        node = max(node, c.machines[i].node)
        wake_station(c, errand.from_station)  # the others wait for a place now, no longer for the robot
    if errand.checks == 1:
        node = max(node, keep_target(c, e))
    if errand.from_station < 0:
        node = max(node, latest_input(c, errand.to_station))
    waits = c.stations[errand.to_station].wait_cause if errand.to_station >= 0 else c.cause_calendar
    job.node = bind(c, node, waits)
    if errand.from_station < 0:
        job.unit = take_inputs(c, errand.to_station, job.node)
        job.front = 0
    if errand.to_station >= 0:
        c.starts += 1
        wake_takers(c, errand.store)
    if c.tracing == 1:
        note(c, N_MOVE_BEGINS, e, 0)
    job.step = errand.first_step
    start_errand_step(c, e)


@rule
def start_errand_step(c: Any, e: int) -> None:
    """The robot goes to where the next step of errand `e` is done."""
    j = c.errand_base + e
    if not set_out(c, j, c.steps[c.jobs[j].step].point):
        arrive_with_errand(c, e)


@rule
def arrive_with_errand(c: Any, e: int) -> None:
    """The robot stands where the step of errand `e` is done: begin it, or wait for the target."""
    errand = c.errands[e]
    j = c.errand_base + e
    job = c.jobs[j]
    if errand.going == 1:  # it only went to where the unit will be
        errand.going = 0
        dismiss(c, j)
        return
    placing = errand.kind != FETCH_AHEAD and job.step > errand.first_step
    if placing and errand.target < 0:
        if not room_ready(c, e):
            job.state = WAITING
            book_crew(c, j)
            return
        job.state = IDLE
        job.node = bind(c, max(job.node, keep_target(c, e)), c.cause_wait)
    i = errand.target if placing else errand.source
    length = step_length(c, j, job.crew_size)
    if c.steps[job.step].picks > 0 and c.mispicking == 1:
        length += missed_time(c, j)
    if i >= 0 and i < c.machine_count and errand.kind != FETCH_AHEAD:
        c.machines[i].handled = 1
        book_machine(c, i, classify(c, i))
    begin(c, j, ACTIVE, length, c.steps[job.step].cause, c.steps[job.step].plan)
    attend(c, j)


@rule
def take_unit(c: Any, e: int) -> None:
    """The robot of move `e` has the unit in its gripper."""
    errand = c.errands[e]
    job = c.jobs[c.errand_base + e]
    if c.tracing == 1:
        note(c, N_TAKES, e, 0)
    if errand.source >= 0:
        m = c.machines[errand.source]
        m.handled = 0
        m.leaving = 0
        m.node = job.node
        job.unit = m.unit
        job.front = m.front
        empty_machine(c, errand.source)
        wake(c, errand.source)


@rule
def put_down(c: Any, e: int) -> None:
    """The robot of move `e` has put its unit down."""
    errand = c.errands[e]
    j = c.errand_base + e
    job = c.jobs[j]
    u = job.unit
    job.unit = -1
    if c.tracing == 1:
        note(c, N_PLACES_UNIT, e, 0)
    if errand.to_station >= 0:
        m = c.machines[errand.target]
        m.handled = 0
        m.coming = 0
        m.unit = u
        m.units = 1
        if c.stations[m.station].picks == 1:
            set_up(c, errand.target)
        m.progress = IN_CYCLE
        m.step = c.stations[m.station].first_step
        c.jobs[errand.target].step = m.step
        c.jobs[errand.target].node = job.node
        wake(c, errand.target)
    else:
        s = errand.store
        if job.keeps > 0:
            give_back(c, s, 1)
            job.keeps = 0
        if c.stores[s].kind == OUTLET:
            leave_cell(c, errand.source, s, u, job.node)
            free_cards(c, job.node)
        else:
            put(c, s, u, job.node, job.front)
            if c.tracing == 1:
                note(c, N_HANDS_OVER, errand.source, s)


@rule
def end_errand_step(c: Any, e: int) -> None:
    """A step of errand `e` has ended."""
    errand = c.errands[e]
    j = c.errand_base + e
    job = c.jobs[j]
    last = job.step == errand.first_step + errand.steps - 1
    if errand.kind != FETCH_AHEAD:
        if last:
            put_down(c, e)
            count_visit(c, j)
        else:
            take_unit(c, e)
    if not last:
        job.step += 1
        start_errand_step(c, e)
        return
    dismiss(c, j)
    s = errand.to_station if errand.to_station >= 0 else errand.from_station
    for i in range(c.stations[s].first_machine, c.stations[s].first_machine + c.stations[s].machines):
        wake(c, i)


# What a robot does without a call --------------------------------------------------------------------------


@rule
def next_errand(c: Any, a: int) -> int:
    """The job of the next move of robot `a` in its fixed sequence if it can begin now, or -1."""
    actor = c.actors[a]
    for _ in range(actor.errands):
        e = actor.first_errand + actor.next_errand
        if not nothing_comes(c, e):
            if errand_ready(c, e):
                j = c.errand_base + e
                c.jobs[j].crew[0] = a
                c.found_size = 1
                return j
            return -1
        actor.next_errand = (actor.next_errand + 1) % actor.errands
    return -1


@rule
def goes_unasked(c: Any, a: int) -> bool:
    """Whether the free robot `a`, which nobody calls, now goes where it will be needed or fetches ahead."""
    actor = c.actors[a]
    if actor.fixed == 1:
        e = actor.first_errand + actor.next_errand
        errand = c.errands[e]
        j = c.errand_base + e
        point = c.steps[errand.first_step].point
        if nothing_comes(c, e) or journey(c, a, point) == 0:
            return False
        if not is_open(c, e):
            return False
        errand.going = 1
    elif actor.ahead >= 0 and may_fetch_ahead(c, actor.ahead):
        e = actor.ahead
        j = c.errand_base + e
    else:
        return False
    job = c.jobs[j]
    job.crew[0] = a
    job.step = c.errands[e].first_step
    node = claim(c, j, 1)
    if actor.fixed == 1:
        job.node = bind(c, node, c.cause_wait)
    else:
        s = c.errands[e].to_station
        job.node = bind(c, max(node, latest_input(c, s)), c.cause_wait)
        job.unit = take_inputs(c, s, job.node)
    start_errand_step(c, e)
    return True


@rule
def may_fetch_ahead(c: Any, e: int) -> bool:
    """Whether the next unit of the station of errand `e` can be fetched before a machine calls for it."""
    s = c.errands[e].to_station
    station = c.stations[s]
    if c.jobs[c.errand_base + e].unit >= 0 or station.open == 0 or not inputs_ready(c, s):
        return False
    for i in range(station.first_machine, station.first_machine + station.machines):
        if c.machines[i].progress != EMPTY:
            return True
    return False
