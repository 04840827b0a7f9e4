"""A job begins, pauses, goes on and ends.

Every machine has one job (its cycle), every machine that somebody loads or unloads a second one (the
visit), every cause of stops a third kind (the repair), every box on its way a fourth (the supply).
A job in progress has exactly one due end; running time of the machine and of the robot that attends counts
only while it is in progress.
"""

from __future__ import annotations

import math
from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    IDLE,
    JOB_ENDS,
    NEVER,
    PAUSED,
    STOP_BEGINS,
    TRAVELLING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.ledger import book_machine, busy_state
from cellsim.engine.rules.order import expect
from cellsim.engine.rules.path import add_node


@rule
def set_meter(c: Any, x: int) -> None:
    """Note at which reading of running-time meter `x` the next of its stops strikes."""
    meter = c.meters[x]
    meter.next_strike = NEVER
    for k in range(meter.first_stop, meter.first_stop + meter.stops):
        stop = c.stops[k]
        if stop.meter == x and stop.active == 0 and stop.reading < meter.next_strike:
            meter.next_strike = stop.reading


@rule
def strike_after(c: Any, k: int, length: int) -> None:
    """The stop of cause `k`, which counts running time, strikes after `length` of it."""
    stop = c.stops[k]
    stop.reading = c.meters[stop.meter].ran + length
    set_meter(c, stop.meter)


@rule
def start_meter(c: Any, x: int, length: int) -> None:
    """Running-time meter `x` begins to count; it will be held after `length` at the latest."""
    meter = c.meters[x]
    if meter.next_strike - meter.ran < length:  # one that falls on the very end comes after it
        meter.expects = 1
        for k in range(meter.first_stop, meter.first_stop + meter.stops):
            stop = c.stops[k]
            if stop.meter == x and stop.active == 0 and stop.reading - meter.ran < length:
                stop.version += 1
                expect(c, c.now + stop.reading - meter.ran, STOP_BEGINS, k, stop.version)


@rule
def hold_meter(c: Any, x: int, counted: int) -> None:
    """Running-time meter `x` ceases to count after `counted`; what it expected later no longer holds."""
    meter = c.meters[x]
    meter.ran += counted
    if meter.expects == 1 or meter.next_strike <= meter.ran:
        meter.expects = 0
        for k in range(meter.first_stop, meter.first_stop + meter.stops):
            stop = c.stops[k]
            if stop.meter == x and stop.active == 0:
                stop.version += 1
                if stop.reading <= meter.ran:
                    expect(c, c.now, STOP_BEGINS, k, stop.version)


@rule
def start_crew_meters(c: Any, j: int, length: int) -> None:
    """Running time of the robots that attend job `j` counts from now on."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.meter >= 0:
            start_meter(c, actor.meter, length)


@rule
def hold_crew_meters(c: Any, j: int) -> None:
    """Running time of the robots that attend job `j` ceases to count."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.meter >= 0:
            hold_meter(c, actor.meter, c.now - job.began)


@rule
def begin(c: Any, j: int, state: int, length: int, cause: int, plan: int) -> None:
    """Job `j` is in progress (`state` ACTIVE or TRAVELLING) and will end after `length`."""
    job = c.jobs[j]
    if state == ACTIVE:
        job.remaining = 0
        job.planned = 0
        if job.meter >= 0 and job.quiet == 0:
            start_meter(c, job.meter, length)
    job.state = state
    job.began = c.now
    job.due = c.now + length
    job.cause = cause
    job.plan = plan
    job.version += 1
    c.active += 1
    expect(c, job.due, JOB_ENDS, j, job.version)
    if c.zone_count > 0:
        job.pace = 0.0
        c.zones_woken = 1
    if job.crew_size > 0 and c.robot_stops == 1:
        start_crew_meters(c, j, length)


@rule
def keep_minutes(c: Any, j: int) -> None:
    """Book for everybody of job `j` how long he has worked at its station."""
    job = c.jobs[j]
    idle = job.state != ACTIVE and job.changing == 0
    if idle or c.repair_base <= j < c.inside_base or j >= c.supply_base:
        return
    if j >= c.errand_base:
        errand = c.errands[j - c.errand_base]
        s = errand.to_station if errand.to_station >= 0 else errand.from_station
    else:
        s = c.machines[j - c.inside_base if j >= c.inside_base else j % c.machine_count].station
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if job.state == ACTIVE or actor.robot == 1:  # a change of gripper is work of the robot alone
            c.minutes[actor.first_minute + s] += c.now - job.began


@rule
def finish(c: Any, j: int) -> None:
    """What job `j` was doing is done: it becomes a node of the path."""
    job = c.jobs[j]
    c.active -= 1
    if c.minutes_kept == 1:
        keep_minutes(c, j)
    if c.zone_count > 0:
        c.zones_woken = 1
    if job.meter >= 0 and job.state == ACTIVE and job.quiet == 0:
        hold_meter(c, job.meter, c.now - job.began)
    if job.crew_size > 0 and c.robot_stops == 1:
        hold_crew_meters(c, j)
    job.state = IDLE
    job.node = add_node(c, job.node, job.cause, job.plan)


@rule
def at_full_speed(c: Any, j: int) -> int:
    """What is left of the slowed work or way of job `j`, at full speed."""
    job = c.jobs[j]
    left = job.rest - math.floor((c.now - job.began) * job.pace + 0.5)
    if left < 1:
        left = 1
    if j < c.machine_count and job.state == ACTIVE:
        c.machines[j].drawn -= job.due - c.now - left
    return int(left)


@rule
def interrupt(c: Any, j: int) -> None:
    """Cut short what job `j` is doing; what is left stands in `remaining`, of a way in `way_left`."""
    job = c.jobs[j]
    left = job.due - c.now if job.pace == 0.0 else at_full_speed(c, j)
    plan = job.plan
    travelling = job.state == TRAVELLING
    job.plan = 0
    finish(c, j)
    job.version += 1
    if travelling:
        job.way_left = left
    else:
        job.remaining = left
        job.rest_plan = plan


@rule
def pause(c: Any, j: int) -> None:
    """Somebody of the crew must leave job `j` for a while; the crew keeps it."""
    job = c.jobs[j]
    job.pauses += 1
    if job.state == ACTIVE or job.state == TRAVELLING:
        was = job.state
        interrupt(c, j)
        job.was = was
        job.state = PAUSED


@rule
def go_on(c: Any, j: int) -> None:
    """One reason to pause is over; with the last one the job goes on where it stood."""
    job = c.jobs[j]
    job.pauses -= 1
    if job.pauses == 0 and job.state == PAUSED and job.was == TRAVELLING:
        begin(c, j, TRAVELLING, job.way_left, job.cause, job.way_left)
    elif job.pauses == 0 and job.state == PAUSED:
        begin(c, j, ACTIVE, job.remaining, job.cause, job.rest_plan)
        if j < c.machine_count:
            book_machine(c, j, busy_state(c, j, job.crew_size))
