"""Space that robots share with people: while somebody works inside, robots stand or move slower.

Who is inside is looked at once everything else at an instant is settled: whoever goes on from one element to
the next inside has not left, and a robot that has just been given work stands before it moves.
"""

from __future__ import annotations

import math
from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    N_MOVES_AGAIN,
    N_SLOWS,
    N_STANDS,
    TRAVELLING,
    ZONE_RESTARTS,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import expect, note, wake, wake_errand
from cellsim.engine.rules.path import add_node, bind
from cellsim.engine.rules.people import book_crew, book_presence, look_around
from cellsim.engine.rules.progress import begin, go_on, interrupt, pause


@rule
def zones_inside(c: Any, a: int) -> int:
    """The zones in which person `a` works now, one bit each."""
    j = c.actors[a].job
    if j < 0 or c.jobs[j].state != ACTIVE or j >= c.errand_base:
        return 0
    if c.repair_base <= j < c.inside_base:
        return c.stops[j - c.repair_base].zones
    return c.steps[c.jobs[j].step].zones


@rule
def node_of(c: Any, a: int) -> int:
    """The latest node of person `a`."""
    actor = c.actors[a]
    if actor.job >= 0 and c.jobs[actor.job].node > actor.node:
        return int(c.jobs[actor.job].node)
    return int(actor.node)


@rule
def count_people(c: Any) -> None:
    """Count who is in which zone, and who has come in."""
    for z in range(c.zone_count):
        c.zones[z].count = 0
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.robot == 0 and actor.thing == 0:
            inside = zones_inside(c, a)
            before = actor.inside
            actor.inside = inside
            z = 0
            while inside > 0 or before > 0:
                if inside & 1 == 1:
                    c.zones[z].count += 1
                    if before & 1 == 0:
                        c.zones[z].entries += 1
                elif before & 1 == 1:
                    c.zones[z].node = max(c.zones[z].node, node_of(c, a))
                inside >>= 1
                before >>= 1
                z += 1


@rule
def close_or_clear(c: Any, z: int) -> None:
    """The number of people in zone `z` is known again: it may begin to stop its robots, or restart them."""
    zone = c.zones[z]
    if zone.count > 0 and zone.people == 0:
        zone.since = c.now
        zone.restarting = 0
        zone.version += 1
    elif zone.count == 0 and zone.people > 0:
        zone.inside += c.now - zone.since
        zone.node = bind(c, zone.node, c.cause_wait)
        if zone.restart > 0:
            zone.restarting = 1
            zone.version += 1
            expect(c, c.now + zone.restart, ZONE_RESTARTS, z, zone.version)
    zone.people = zone.count


@rule
def allowed_speed(c: Any, a: int) -> float:
    """The speed at which robot `a` may move now: the lowest of its zones."""
    speed = 1.0
    zones = c.actors[a].zones
    z = 0
    while zones > 0:
        if zones & 1 == 1:
            zone = c.zones[z]
            if zone.restarting == 1:
                speed = 0.0
            elif zone.people > 0 and zone.speed < speed:
                speed = zone.speed
        zones >>= 1
        z += 1
    return speed


@rule
def first_zone(c: Any, a: int) -> int:
    """The first zone that holds robot `a` back."""
    zones = c.actors[a].zones
    z = 0
    while zones & 1 == 0 or (c.zones[z].people == 0 and c.zones[z].restarting == 0):
        zones >>= 1
        z += 1
    return z


@rule
def stand(c: Any, a: int) -> None:
    """Robot `a` stands where it is."""
    actor = c.actors[a]
    actor.stopped = 1
    j = actor.job
    if j >= 0:
        pause(c, j)
        book_crew(c, j)
        if j < c.machine_count:
            wake(c, j)
    book_presence(c, a)


@rule
def move_again(c: Any, a: int) -> None:
    """Robot `a` may move again: with its work, or for new work once the last person has left."""
    actor = c.actors[a]
    actor.stopped = 0
    j = actor.job
    if j >= 0:
        c.jobs[j].node = bind(c, c.jobs[j].node, actor.zone_cause)
        go_on(c, j)
        book_crew(c, j)
        if j < c.machine_count:
            wake(c, j)
        else:
            wake_errand(c, j)
    else:
        zones = actor.zones
        z = 0
        while zones > 0:
            if zones & 1 == 1 and c.zones[z].node > actor.node:
                actor.node = c.zones[z].node
            zones >>= 1
            z += 1
        look_around(c, a)
    book_presence(c, a)


@rule
def set_pace(c: Any, j: int) -> None:
    """What job `j` does goes on at the pace of its slowest robot."""
    job = c.jobs[j]
    if job.state != ACTIVE and job.state != TRAVELLING:
        return
    pace = 1.0
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.zones > 0 and actor.pace < pace:
            pace = actor.pace
    now = job.pace if job.pace > 0.0 else 1.0
    if pace == now or pace == 0.0:
        return
    state = job.state
    interrupt(c, j)
    left = job.way_left if state == TRAVELLING else job.remaining
    plan = left if state == TRAVELLING else job.rest_plan
    length = left if pace == 1.0 else math.floor(left / pace + 0.5)
    job.remaining = 0
    if state == ACTIVE and j < c.machine_count:
        c.machines[j].drawn += length - left
    begin(c, j, state, length, job.cause, plan)
    if pace < 1.0:
        job.pace = pace
        job.rest = left


@rule
def watch_zones(c: Any) -> None:
    """People or robots have begun or ended something: see who is inside, and let robots stand or move."""
    count_people(c)
    for z in range(c.zone_count):
        if c.zones[z].count != c.zones[z].people:
            close_or_clear(c, z)
    c.zones_woken = 0
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.zones > 0:
            speed = allowed_speed(c, a)
            if speed != actor.pace and c.tracing == 1:
                if speed == 1.0:
                    note(c, N_MOVES_AGAIN, a, 0)
                else:
                    note(c, N_STANDS if speed == 0.0 else N_SLOWS, a, first_zone(c, a))
            actor.pace = speed
            if speed == 0.0 and actor.stopped == 0:
                stand(c, a)
            elif speed > 0.0 and actor.stopped == 1:
                move_again(c, a)
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.zones > 0 and actor.job >= 0 and actor.stopped == 0:
            set_pace(c, actor.job)


@rule
def zone_restarts(c: Any, z: int, version: int) -> None:
    """The time after which the robots of zone `z` move again is over."""
    zone = c.zones[z]
    if zone.version == version and zone.restarting == 1:
        zone.restarting = 0
        zone.node = add_node(c, zone.node, zone.cause, zone.restart)
        c.zones_woken = 1
