"""Standstill and repair: machines and robots stop, wait for whoever repairs them, and go on.

Causes run independently; a machine is up when all of them are cleared.  The time to the next stop counts
from the end of a repair, in running time, on time or cycles.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import duration
from cellsim.engine.layout import (
    ACTIVE,
    CALLING,
    CONTINUES,
    CYCLES,
    IDLE,
    IS_SCRAPPED,
    N_REPAIR_BEGINS,
    N_REPAIR_ENDS,
    N_STOP,
    OFF,
    ON_TIME,
    PAUSED,
    RESTARTS,
    STOP_BEGINS,
    TRAVELLING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import expect, note, wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import book_crew, book_presence, dismiss, look_around, wake_able, wake_strict
from cellsim.engine.rules.progress import begin, go_on, interrupt, pause, set_meter


@rule
def count_on_time(c: Any, k: int) -> None:
    """On time begins to count for cause `k`."""
    stop = c.stops[k]
    stop.since = c.now
    stop.version += 1
    expect(c, c.now + stop.left, STOP_BEGINS, k, stop.version)


@rule
def hold_on_time(c: Any, k: int) -> None:
    """On time ceases to count for cause `k`."""
    stop = c.stops[k]
    stop.left -= c.now - stop.since
    stop.version += 1


@rule
def set_next_stop(c: Any, k: int) -> None:
    """Draw how long it is to the next stop by cause `k`, and let it count where that is the clock's."""
    stop = c.stops[k]
    left = duration(c.laws[stop.every_law], c.streams[stop.every_stream], c.table)
    stop.left = left if left > 0 else 1
    if stop.meter >= 0:
        stop.reading = c.meters[stop.meter].ran + stop.left
        set_meter(c, stop.meter)
    elif stop.clock == ON_TIME and c.calendars[stop.calendar].state != OFF:
        count_on_time(c, k)


@rule
def count_cycle(c: Any, k: int) -> bool:
    """One more cycle counts for cause `k`; whether its stop is due now."""
    stop = c.stops[k]
    if stop.clock != CYCLES or stop.active == 1:
        return False
    stop.left -= 1
    return stop.left <= 0


@rule
def begin_repair(c: Any, k: int) -> None:
    """The repair of cause `k` begins now; whoever does it is there."""
    stop = c.stops[k]
    stop.waiting_time += c.now - stop.began
    length = duration(c.laws[stop.lasts_law], c.streams[stop.lasts_stream], c.table)
    if stop.of_actor == 1:
        c.actors[stop.target].repairs += 1
        book_presence(c, stop.target)
    else:
        c.machines[stop.target].repairs += 1
        wake(c, stop.target)
    if c.tracing == 1:
        note(c, N_REPAIR_BEGINS, k, 0)
    r = c.repair_base + k
    begin(c, r, ACTIVE, length, stop.cause, length)
    book_crew(c, r)


@rule
def call_repair(c: Any, k: int) -> None:
    """Cause `k` calls for its repair; one that needs nobody begins at once."""
    stop = c.stops[k]
    r = c.repair_base + k
    job = c.jobs[r]
    job.since = c.now
    if stop.needs == 0:
        begin_repair(c, k)
        return
    job.state = CALLING
    wake_able(c, stop.first_need, stop.needs)


@rule
def stand_still(c: Any, i: int) -> None:
    """What machine `i` does or calls for is cut short, and who attends it is free."""
    job = c.jobs[i]
    if job.state == ACTIVE or job.state == TRAVELLING:
        interrupt(c, i)
    elif job.state == CALLING:
        job.state = IDLE
        wake_strict(c)
    elif job.state == PAUSED:
        job.state = IDLE
    if job.crew_size > 0:
        dismiss(c, i)


@rule
def halt_dial(c: Any, t: int, i: int) -> None:
    """Machine `i` of indexing table `t` has stopped: everything on the table stands."""
    dial = c.dials[t]
    dial.halts += 1
    if dial.halts == 1:
        for p in range(dial.first_position, dial.first_position + dial.positions):
            if c.positions[p] != i:
                stand_still(c, c.positions[p])
                wake(c, c.positions[p])


@rule
def free_dial(c: Any, t: int, node: int) -> None:
    """A machine of indexing table `t` is repaired; with the last one everything on the table goes on."""
    dial = c.dials[t]
    dial.halts -= 1
    if dial.halts == 0:
        for p in range(dial.first_position, dial.first_position + dial.positions):
            i = c.positions[p]
            c.machines[i].node = max(c.machines[i].node, node)
            wake(c, i)


@rule
def halt_machine(c: Any, k: int) -> None:
    """The machine of cause `k` stands still from now on."""
    stop = c.stops[k]
    i = stop.target
    m = c.machines[i]
    job = c.jobs[i]
    m.downs += 1
    stand_still(c, i)
    if c.stations[m.station].dial > 0:
        halt_dial(c, c.stations[m.station].dial - 1, i)
    if m.in_work == 1:
        if stop.part == RESTARTS:
            m.step = c.stations[m.station].first_step
            job.step = m.step
        elif stop.part == IS_SCRAPPED:
            m.lost = 1
        if stop.part != CONTINUES:
            m.drawn -= job.remaining
            job.remaining = 0
            job.planned = 0
    c.jobs[c.repair_base + k].node = bind(c, max(job.node, m.node), c.cause_wait)
    wake(c, i)


@rule
def begin_stop(c: Any, k: int) -> None:
    """Cause `k` strikes now."""
    stop = c.stops[k]
    stop.active = 1
    stop.version += 1
    if stop.meter >= 0:
        set_meter(c, stop.meter)
    stop.began = c.now
    stop.count += 1
    if c.tracing == 1:
        note(c, N_STOP, k, 0)
    if stop.of_actor == 1:
        actor = c.actors[stop.target]
        actor.downs += 1
        node = actor.node
        if actor.job >= 0:
            pause(c, actor.job)
            if actor.job < c.machine_count:
                wake(c, actor.job)
            node = c.jobs[actor.job].node
            book_crew(c, actor.job)
        c.jobs[c.repair_base + k].node = bind(c, node, c.cause_wait)
        book_presence(c, stop.target)
    else:
        halt_machine(c, k)
    call_repair(c, k)


@rule
def end_repair(c: Any, k: int) -> None:
    """The repair of cause `k` is done: the machine or robot goes on once no other cause holds it."""
    stop = c.stops[k]
    r = c.repair_base + k
    node = c.jobs[r].node
    stop.active = 0
    stop.repair_time += c.now - c.jobs[r].began
    if c.tracing == 1:
        note(c, N_REPAIR_ENDS, k, 0)
    dismiss(c, r)
    set_next_stop(c, k)
    if stop.of_actor == 1:
        actor = c.actors[stop.target]
        actor.downs -= 1
        actor.repairs -= 1
        actor.node = node
        if actor.job >= 0:
            job = c.jobs[actor.job]
            if job.node < node:
                job.node = node
            go_on(c, actor.job)
            book_crew(c, actor.job)
        elif actor.downs == 0:
            look_around(c, stop.target)
        book_presence(c, stop.target)
    else:
        m = c.machines[stop.target]
        m.downs -= 1
        m.repairs -= 1
        m.node = node
        wake(c, stop.target)
        if c.stations[m.station].dial > 0:
            free_dial(c, c.stations[m.station].dial - 1, node)
