"""Everything that happens at one instant, in order.

What is due happens in the order of its kind: (1) elements, moves and repairs that end, (2) stops that begin,
(3) units that arrive, (4) calendar changes, (5) help that comes from elsewhere.  Then, one at a time,
whatever can start or be handed over does, the station furthest down the route first, until nothing more can.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import duration
from cellsim.engine.layout import (
    ACTIVE,
    ARRIVAL,
    BATCH_CLOCK,
    BATCH_WAIT,
    CALENDAR_EDGE,
    CALLED_OUT,
    CALLING,
    CARRIER_BACK,
    CHANGING,
    DONE,
    EMPTY,
    FETCH_AHEAD,
    HELP_ARRIVES,
    IDLE,
    IN_CYCLE,
    JOB_ENDS,
    M_BLOCKED,
    M_EMPTY_WAITS_ROBOT,
    M_STARVED,
    M_WAITS_ROBOT,
    N_ARRIVES,
    ON,
    PERSON_RETURNS,
    STOP_BEGINS,
    TABLE_TURNED,
    TRAVELLING,
    TRAY_WAIT,
    UNITS_READY,
    WAITING,
    ZONE_RESTARTS,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import look_round
from cellsim.engine.rules.calendar import end_running_out, has_run_out, pass_edge, person_returns
from cellsim.engine.rules.calls import call, may_start, serve, withdraw
from cellsim.engine.rules.carriers import carrier_returns
from cellsim.engine.rules.changeover import begin_change, change_due, end_change_step
from cellsim.engine.rules.dials import dial_turned, held_by_dial, turn_dials
from cellsim.engine.rules.errands import (
    arrive_with_errand,
    end_errand_step,
    errand_ready,
    is_called_for,
    is_carried_off,
    is_coming,
    room_ready,
)
from cellsim.engine.rules.handover import hand_over
from cellsim.engine.rules.hands import end_change
from cellsim.engine.rules.in_place import end_extra_step
from cellsim.engine.rules.inside import end_inside_step, may_work_alone, work_inside
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.material import end_supply, follow_hours, settle_supply
from cellsim.engine.rules.order import comes_first, expect, note, wake, wake_actor
from cellsim.engine.rules.path import add_node, keep_log_short
from cellsim.engine.rules.people import crew_stays, dismiss, dismiss_things, set_out, wake_able
from cellsim.engine.rules.progress import finish
from cellsim.engine.rules.stations import (
    classify,
    end_step,
    give_up,
    resume_cycle,
    start_cycle,
    work_on,
)
from cellsim.engine.rules.stops import begin_repair, begin_stop, end_repair, help_arrives
from cellsim.engine.rules.stores import put, tray_wait_over, units_ready, wake_takers
from cellsim.engine.rules.units import raw_unit
from cellsim.engine.rules.urgent import call_out, take_away
from cellsim.engine.rules.visits import choose_visit, end_visit_step, handle, visit_ready
from cellsim.engine.rules.ways import beckon, choose_way
from cellsim.engine.rules.windows import clock_strikes, drop_late, wake_station, window_ends
from cellsim.engine.rules.zones import watch_zones, zone_restarts


@rule
def end_job(c: Any, j: int) -> None:
    """What job `j` was doing ends now."""
    travelled = c.jobs[j].state == TRAVELLING
    finish(c, j)
    if travelled and c.jobs[j].changing == 1:
        end_change(c, j)
        if set_out(c, j, c.steps[c.jobs[j].step].point):
            return
    if j < c.machine_count:
        if travelled:
            work_on(c, j, c.jobs[j].crew_size)
        elif c.machines[j].progress == CHANGING:
            end_change_step(c, j)
        elif c.extras == 1 and c.steps[c.machines[j].step].extra == 1:
            end_extra_step(c, j)
        else:
            end_step(c, j)
    elif j < c.repair_base:
        if travelled:
            handle(c, j - c.visit_base)
        else:
            end_visit_step(c, j - c.visit_base)
    elif j >= c.supply_base:
        end_supply(c, j - c.supply_base)
    elif j >= c.errand_base:
        if travelled:
            arrive_with_errand(c, j - c.errand_base)
        else:
            end_errand_step(c, j - c.errand_base)
    elif j >= c.inside_base:
        if travelled:
            work_inside(c, j - c.inside_base)
        else:
            end_inside_step(c, j - c.inside_base)
    elif travelled:
        begin_repair(c, j - c.repair_base)
    else:
        end_repair(c, j - c.repair_base)


@rule
def arrive(c: Any) -> None:
    """A raw unit arrives, and the next one is noted; with an hourly plan, that of the next hour."""
    if c.hourly_count > 0:
        follow_hours(c)
        return
    if c.calendars[c.cell_calendar].state != ON and c.release_count == 0:
        c.release_waits = 1  # the calendar lets it in when the cell works again
        return
    keep_log_short(c)  # any number of units may arrive at one instant
    c.release_node = add_node(c, c.release_node, c.cause_release, 0)
    u = raw_unit(c, c.release_store, c.release_node)
    put(c, c.release_store, u, c.release_node, 0)
    if c.tracing == 1:
        note(c, N_ARRIVES, c.release_store, u)
    expect_arrival(c)


@rule
def expect_arrival(c: Any) -> None:
    """Note when the next raw unit arrives."""
    if c.release_count > 0:
        if c.release_next < c.release_count:
            expect(c, c.arrivals[c.release_first + c.release_next], ARRIVAL, 0, 0)
            c.release_next += 1
    elif c.release_law >= 0:
        gap = duration(c.laws[c.release_law], c.streams[c.release_stream], c.table)
        expect(c, c.now + (gap if gap > 0 else 1), ARRIVAL, 0, 0)


@rule
def fire(c: Any, kind: int, who: int, version: int) -> None:
    """One due event happens, unless something has overtaken it."""
    if kind == JOB_ENDS:
        if c.jobs[who].version == version:
            end_job(c, who)
    elif kind == STOP_BEGINS:
        if c.stops[who].version == version and c.stops[who].active == 0:
            begin_stop(c, who)
    elif kind == ARRIVAL:
        arrive(c)
    elif kind == UNITS_READY:
        units_ready(c, who)
    elif kind == CALENDAR_EDGE:
        pass_edge(c, who)
    elif kind == HELP_ARRIVES:
        help_arrives(c, who, version)
    elif kind == CALLED_OUT:
        call_out(c, who, version)
    elif kind == PERSON_RETURNS:
        person_returns(c, who, version)
    elif kind == BATCH_CLOCK:
        clock_strikes(c, who)
    elif kind == BATCH_WAIT:
        wake_station(c, who)
    elif kind == TRAY_WAIT:
        tray_wait_over(c, who, version)
    elif kind == ZONE_RESTARTS:
        zone_restarts(c, who, version)
    elif kind == CARRIER_BACK:
        carrier_returns(c, who)
    elif kind == TABLE_TURNED:
        dial_turned(c, who)
    else:
        window_ends(c, who)


@rule
def try_cycle(c: Any, i: int) -> None:
    """Machine `i` has a unit in work and nothing in progress: go on, or call for who is needed."""
    m = c.machines[i]
    job = c.jobs[i]
    step = c.steps[m.step]
    if job.crew_size > 0:
        before = c.steps[m.step - 1] if m.step > 0 else step
        same = step.first_need == before.first_need and step.needs == before.needs
        if c.thing_count > 0 and step.things == 0 and step.first_person == before.first_person:
            same = True
            dismiss_things(c, i)
        if (same or step.extra == 1) and m.downs == 0 and crew_stays(c, i):
            resume_cycle(c, i, job.crew_size)
            return
        dismiss(c, i)
    if m.downs > 0:
        return
    if step.needs == 0:
        if may_work_alone(c, i, m.step):
            resume_cycle(c, i, 0)
    else:
        call(c, i, m.step)


@rule
def try_visit(c: Any, i: int) -> None:
    """Machine `i` is to be loaded or unloaded by somebody who comes: call, or withdraw the call."""
    v = c.visit_base + i
    if visit_ready(c, i):
        choose_visit(c, i)
        call(c, v, c.jobs[v].step)
    else:
        withdraw(c, v)


@rule
def try_change(c: Any, i: int) -> None:
    """Begin the changeover of empty machine `i` if one is due."""
    v = c.visit_base + i
    visit = c.jobs[v].state
    if visit == IDLE or visit == CALLING:
        variant = change_due(c, i)
        if variant > 0:
            withdraw(c, i)
            withdraw(c, v)
            begin_change(c, i, variant)


@rule
def call_inside(c: Any, i: int) -> None:
    """Machine `i` has begun to work alone, or may be worked at again: call for what is done meanwhile."""
    m = c.machines[i]
    station = c.stations[m.station]
    job = c.jobs[c.inside_base + i]
    if m.inside_called == 1:
        m.inside_called = 2
        job.node = c.jobs[i].node
        job.which = c.jobs[i].which
        job.last_step = station.first_inside + station.insides - 1
        call(c, c.inside_base + i, station.first_inside)
    elif job.state == CALLING:
        wake_able(c, job.need, job.needs)


@rule
def try_errand(c: Any, e: int) -> None:
    """Errand `e` goes on where it waits, calls its robot, or calls it no more."""
    j = c.errand_base + e
    errand = c.errands[e]
    job = c.jobs[j]
    if errand.kind == FETCH_AHEAD:
        return
    if job.state == WAITING:
        if job.pauses == 0 and room_ready(c, e):
            arrive_with_errand(c, e)
    elif job.state == IDLE or job.state == CALLING:
        if c.actors[errand.robot].fixed == 1:
            wake_actor(c, errand.robot)
        else:
            calling = job.state
            if errand_ready(c, e):
                call(c, j, errand.first_step)
            else:
                withdraw(c, j)
            if job.state != calling and errand.from_station >= 0:
                station = c.stations[errand.from_station]
                for i in range(station.first_machine, station.first_machine + station.machines):
                    wake(c, i)  # what they wait for has changed


@rule
def moved_by_robot(c: Any, i: int) -> bool:
    """Whether machine `i` waits for a robot to bring or take its unit, and nothing else is to be done."""
    m = c.machines[i]
    station = c.stations[m.station]
    m.awaits = 0
    if m.progress == DONE and m.choosing == 1 and station.carried_off == 1:
        choose_way(c, i)
    if station.fetcher > 0:
        wake_actor(c, c.errands[station.fetcher - 1].robot)
    if station.carried_off == 0 and station.brought == 0:
        return False
    for e in range(c.errand_count):
        if c.errands[e].from_station == m.station or c.errands[e].to_station == m.station:
            try_errand(c, e)
    if m.progress == EMPTY and station.brought == 1:
        m.told = 0
        m.awaits = M_EMPTY_WAITS_ROBOT if is_coming(c, i) else M_STARVED
        return True
    if m.progress == DONE and is_carried_off(c, i):
        there = 1 if m.downs == 0 else 0
        if m.told != there:
            m.told = there
            wake_takers(c, m.outlet)
        m.awaits = M_WAITS_ROBOT if is_called_for(c, i) else M_BLOCKED
        return True
    m.told = 0
    return False


@rule
def try_machine(c: Any, i: int) -> None:
    """Let machine `i` do the one thing that it can do at this instant, and book what it waits for."""
    m = c.machines[i]
    m.woken = 0
    if c.rounds == 1:
        look_round(c)
    if m.lost == 1:
        give_up(c, i)
    job = c.jobs[i]
    station = c.stations[m.station]
    if station.insides > 0:
        call_inside(c, i)
    if c.errand_count > 0 and moved_by_robot(c, i):
        book_machine(c, i, classify(c, i))
        return
    if station.dial > 0 and held_by_dial(c, i):
        if job.state != ACTIVE:
            book_machine(c, i, classify(c, i))
        if station.beckons == 1:
            beckon(c, i)
        return
    if m.progress == EMPTY and station.changes > 0:
        try_change(c, i)
    elif m.progress == DONE and (station.ends == 0 or m.unloaded == 1):
        if not hand_over(c, i):
            book_machine(c, i, classify(c, i))
            return
        again = station.changes > 0 or station.brought == 1 or station.dial > 0 or m.woken == 1
        if again or not comes_first(c, i):
            wake(c, i)
            return  # its turn comes again, now empty
    progress = m.progress
    if progress == IN_CYCLE or progress == CHANGING:
        if job.state == IDLE and (job.pauses == 0 or job.crew_size > 0):
            try_cycle(c, i)
    elif progress == DONE or station.starts > 0:
        visit = c.jobs[c.visit_base + i].state
        if visit == IDLE or visit == CALLING:
            try_visit(c, i)
    elif may_start(c, i):
        step = station.first_step if m.left_on_bar == 0 else station.first_step + 1
        if c.steps[step].needs == 0:
            start_cycle(c, i, 0)
        else:
            call(c, i, step)
    else:
        withdraw(c, i)
    if job.state != ACTIVE:
        book_machine(c, i, classify(c, i))
        if station.beckons == 1:
            beckon(c, i)
    if station.supplied == 1:
        settle_supply(c, i)


@rule
def settle(c: Any) -> None:
    """Start and hand over, one at a time, until nothing more can start at this instant."""
    while True:
        while c.woken_count > 0:
            k = c.woken_count - 1
            c.woken_count = k
            try_machine(c, c.woken[k])
        if c.actors_woken > 0:
            serve(c)
        elif c.urgent > 0 and take_away(c):
            continue
        elif c.dials_due > 0:
            turn_dials(c)
        elif c.zones_woken == 1:
            watch_zones(c)
        elif c.running_out > 0 and has_run_out(c):
            end_running_out(c)
        elif c.windows_due > 0:
            drop_late(c)
        else:
            break
    keep_log_short(c)
