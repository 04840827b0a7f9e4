"""Standstill and repair: machines and robots stop, wait for whoever repairs them, and go on.

Causes run independently; a machine is up when all of them are cleared.  The time to the next stop counts
from the end of a repair, in running time, on time, cycles or units; planned service may come at times of the
day instead.  A cause may hold several machines and robots: they stand still together until its one repair.
Planned service lets a cycle that has begun end first.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.calendars import WEEK
from cellsim.engine.draws import duration
from cellsim.engine.layout import (
    ACTIVE,
    CALLED_OUT,
    CALLING,
    CONTINUES,
    CYCLES,
    HELP_ARRIVES,
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
    TIMES_OF_DAY,
    TRAVELLING,
    UNITS,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import expect, note, wake, wake_errand
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import (
    anybody_on_duty,
    book_crew,
    book_presence,
    dismiss,
    look_around,
    wake_able,
    wake_strict,
)
from cellsim.engine.rules.progress import begin, go_on, interrupt, pause, set_meter, strike_after


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
def next_moment(c: Any, k: int, earliest: int) -> int:
    """The first instant from `earliest` on at which planned service `k` is due by the clock."""
    stop = c.stops[k]
    week = earliest // WEEK * WEEK
    for x in range(stop.first_moment, stop.first_moment + stop.moments):
        if week + c.moments[x] >= earliest:
            return week + c.moments[x]
    return week + WEEK + c.moments[stop.first_moment]


@rule
def set_next_stop(c: Any, k: int) -> None:
    """Draw how long it is to the next stop by cause `k`, and let it count where that is the clock's."""
    stop = c.stops[k]
    if stop.clock == TIMES_OF_DAY:
        stop.left = next_moment(c, k, max(c.now, stop.left + 1))  # what came while it was held up is left out
        stop.version += 1
        expect(c, stop.left, STOP_BEGINS, k, stop.version)
        return
    left = duration(c.laws[stop.every_law], c.streams[stop.every_stream], c.table)
    stop.left = left if left > 0 else 1
    if stop.meter >= 0:
        stop.reading = c.meters[stop.meter].ran + stop.left
        set_meter(c, stop.meter)
    elif stop.clock == ON_TIME and c.calendars[stop.calendar].state != OFF:
        count_on_time(c, k)


@rule
def open_stop(c: Any, k: int) -> None:
    """The run begins: cause `k` begins to count, or strikes at once if it is service that is due now."""
    stop = c.stops[k]
    stop.left = -1
    set_next_stop(c, k)
    if stop.clock == TIMES_OF_DAY and stop.left == c.now:
        begin_stop(c, k)


@rule
def count_cycle(c: Any, k: int) -> bool:
    """One more cycle counts for cause `k`; whether its stop is due now."""
    stop = c.stops[k]
    if stop.active == 1:
        return False
    if stop.clock == CYCLES or (stop.clock == UNITS and stop.of_actor == 1):
        stop.left -= 1
    elif stop.clock == UNITS:
        stop.left -= c.machines[stop.target].made
    else:
        return False
    return stop.left <= 0


@rule
def change_repairs(c: Any, k: int, change: int) -> None:
    """The repair of cause `k` begins (1) or ceases (-1) for every machine and robot that it holds."""
    stop = c.stops[k]
    for x in range(-1, stop.members):
        who = c.members[stop.first_member + x] if x >= 0 else stop.target
        if x < 0 and stop.of_actor == 1:
            who += c.machine_count
        if who < c.machine_count:
            c.machines[who].repairs += change
            c.machines[who].services += change * stop.planned
            wake(c, who)
        else:
            c.actors[who - c.machine_count].repairs += change
            c.actors[who - c.machine_count].services += change * stop.planned
            book_presence(c, who - c.machine_count)


@rule
def begin_repair(c: Any, k: int) -> None:
    """The repair of cause `k` begins now, or goes on after it was put down; whoever does it is there."""
    stop = c.stops[k]
    stop.waiting_time += c.now - stop.began
    stop.began = c.now
    r = c.repair_base + k
    length = c.jobs[r].remaining
    c.jobs[r].remaining = 0
    if length == 0:
        length = duration(c.laws[stop.lasts_law], c.streams[stop.lasts_stream], c.table)
    change_repairs(c, k, 1)
    if c.tracing == 1:
        note(c, N_REPAIR_BEGINS, k, 0)
    begin(c, r, ACTIVE, length, stop.cause, length)
    book_crew(c, r)


@rule
def expect_call_out(c: Any, k: int) -> None:
    """Where nobody on duty could serve cause `k`, somebody will be called out after his time to come."""
    stop = c.stops[k]
    if stop.called_out >= 0 and not anybody_on_duty(c, stop.first_need, stop.needs):
        expect(c, c.now + stop.called_out, CALLED_OUT, k, stop.version)


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
    if stop.response_law >= 0:
        job.ready_at = c.now + duration(c.laws[stop.response_law], c.streams[stop.response_stream], c.table)
        expect(c, job.ready_at, HELP_ARRIVES, k, stop.version)
    c.urgent += stop.interrupts
    expect_call_out(c, k)
    wake_able(c, stop.first_need, stop.needs)


@rule
def help_arrives(c: Any, k: int, version: int) -> None:
    """Who was called from elsewhere to cause `k` could be there now."""
    stop = c.stops[k]
    if stop.version == version and c.jobs[c.repair_base + k].state == CALLING:
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
def halt_machine(c: Any, k: int, i: int) -> None:
    """Machine `i` stands still from now on by cause `k`."""
    stop = c.stops[k]
    m = c.machines[i]
    job = c.jobs[i]
    m.downs += 1
    stand_still(c, i)
    if c.stations[m.station].dial > 0:
        halt_dial(c, c.stations[m.station].dial - 1, i)
    if m.in_work == 1:
        station = c.stations[m.station]
        changing = station.bar > 0 and m.step == station.first_step
        if stop.part == RESTARTS or changing:
            if c.steps[m.step].extra == 0:
                m.step = station.first_step if station.bar == 0 or changing else station.first_step + 1
                job.step = m.step
        elif stop.part == IS_SCRAPPED:
            m.lost = 1
        if stop.part != CONTINUES:
            m.drawn -= job.remaining
            job.remaining = 0
            job.planned = 0
    repair = c.jobs[c.repair_base + k]
    repair.node = max(repair.node, job.node, m.node)
    wake(c, i)


@rule
def halt_actor(c: Any, k: int, a: int) -> None:
    """Robot `a` stands still from now on by cause `k`."""
    actor = c.actors[a]
    actor.downs += 1
    node = actor.node
    if actor.job >= 0:
        pause(c, actor.job)
        if actor.job < c.machine_count:
            wake(c, actor.job)
        node = c.jobs[actor.job].node
        book_crew(c, actor.job)
    repair = c.jobs[c.repair_base + k]
    repair.node = max(repair.node, node)
    book_presence(c, a)


@rule
def strike(c: Any, k: int) -> None:
    """Everything that cause `k` holds stands still: its repair is called for."""
    stop = c.stops[k]
    repair = c.jobs[c.repair_base + k]
    repair.node = bind(c, repair.node, c.cause_wait)
    stop.began = c.now
    stop.count += 1
    if c.tracing == 1 and stop.after_cycle == 1:
        note(c, N_STOP, k, 0)
    call_repair(c, k)


@rule
def halt(c: Any, k: int, who: int) -> None:
    """Cause `k` is due for `who`, a machine or else a robot: it stands still now, or when its cycle ends."""
    waits = c.stops[k].after_cycle == 1
    if who < c.machine_count:
        if waits and c.machines[who].in_work == 1:
            c.machines[who].due_stops += 1
            c.stops[k].pending += 1
        else:
            halt_machine(c, k, who)
    elif waits and c.actors[who - c.machine_count].job >= 0:
        c.actors[who - c.machine_count].due_stops += 1
        c.stops[k].pending += 1
    else:
        halt_actor(c, k, who - c.machine_count)


@rule
def begin_stop(c: Any, k: int) -> None:
    """Cause `k` is due now."""
    stop = c.stops[k]
    stop.active = 1
    stop.version += 1
    if stop.meter >= 0:
        set_meter(c, stop.meter)
    if c.tracing == 1 and stop.after_cycle == 0:
        note(c, N_STOP, k, 0)
    halt(c, k, stop.target + stop.of_actor * c.machine_count)
    for x in range(stop.first_member, stop.first_member + stop.members):
        halt(c, k, c.members[x])
    if stop.pending == 0:
        strike(c, k)


@rule
def is_held_by(c: Any, k: int, who: int) -> bool:
    """Whether cause `k` stops `who`, a machine or else a robot."""
    stop = c.stops[k]
    if stop.target + stop.of_actor * c.machine_count == who:
        return True
    for x in range(stop.first_member, stop.first_member + stop.members):
        if c.members[x] == who:
            return True
    return False


@rule
def halt_after_cycle(c: Any, who: int) -> None:
    """The cycle or job of `who`, a machine or else a robot, has ended, for which planned service waited."""
    for k in range(c.stop_count):
        stop = c.stops[k]
        if stop.pending > 0 and is_held_by(c, k, who):
            stop.pending -= 1
            if who < c.machine_count:
                c.machines[who].due_stops -= 1
                halt_machine(c, k, who)
            else:
                c.actors[who - c.machine_count].due_stops -= 1
                halt_actor(c, k, who - c.machine_count)
            if stop.pending == 0:
                strike(c, k)


@rule
def lift_machine(c: Any, k: int, i: int, node: int) -> None:
    """Machine `i` is held by cause `k` no more."""
    stop = c.stops[k]
    m = c.machines[i]
    m.downs -= 1
    m.node = node
    if stop.restart_scrap > m.spoils:
        m.spoils = stop.restart_scrap
        m.spoiled_by = k
    wake(c, i)
    if c.stations[m.station].dial > 0:
        free_dial(c, c.stations[m.station].dial - 1, node)


@rule
def lift_actor(c: Any, a: int, node: int) -> None:
    """Robot `a` is held by one cause less."""
    actor = c.actors[a]
    actor.downs -= 1
    actor.node = node
    if actor.job >= 0:
        job = c.jobs[actor.job]
        if job.node < node:
            job.node = node
        go_on(c, actor.job)
        book_crew(c, actor.job)
        wake_errand(c, actor.job)
    elif actor.downs == 0:
        look_around(c, a)
    book_presence(c, a)


@rule
def recover(c: Any, k: int, a: int) -> None:
    """The last repair of robot `a`, that of cause `k`, is done: what follows before it goes on begins."""
    actor = c.actors[a]
    if actor.recovery >= 0 and actor.downs == 0 and c.stops[k].planned == 0:
        if k != actor.recovery and k != actor.miss_stop:
            begin_stop(c, actor.recovery)


@rule
def keep_called_out(c: Any, k: int) -> None:
    """Whoever was called out to cause `k`, whose repair is done, goes to other repairs that wait."""
    job = c.jobs[c.repair_base + k]
    for x in range(job.crew_size):
        a = job.crew[x]
        if c.actors[a].called_out >= 0 and c.actors[a].duty == OFF:
            for other in range(c.stop_count):
                if c.jobs[c.repair_base + other].state == CALLING and c.stops[other].called_out >= 0:
                    expect(c, c.now, CALLED_OUT, other, -1 - a)


@rule
def end_repair(c: Any, k: int) -> None:
    """The repair of cause `k` is done: the machine or robot goes on once no other cause holds it."""
    stop = c.stops[k]
    r = c.repair_base + k
    node = c.jobs[r].node
    stop.active = 0
    stop.repair_time += c.now - stop.began
    if c.tracing == 1:
        note(c, N_REPAIR_ENDS, k, 0)
    if c.call_outs == 1:
        keep_called_out(c, k)
    dismiss(c, r)
    set_next_stop(c, k)
    if stop.more > 0:  # another pick of this element has failed too
        stop.more -= 1
        strike_after(c, k, 1)
    change_repairs(c, k, -1)
    for x in range(-1, stop.members):
        who = c.members[stop.first_member + x] if x >= 0 else stop.target + stop.of_actor * c.machine_count
        if who < c.machine_count:
            lift_machine(c, k, who, node)
        else:
            lift_actor(c, who - c.machine_count, node)
            recover(c, k, who - c.machine_count)
