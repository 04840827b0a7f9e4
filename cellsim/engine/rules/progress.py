"""A job begins, pauses, goes on and ends.

Every machine has one job (its cycle), every machine that somebody loads or unloads a second one (the
visit), every cause of stops a third kind (the repair).  A job in progress has exactly one due end; running
time of the machine and of the robot that attends counts only while it is in progress.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ACTIVE,
    IDLE,
    JOB_ENDS,
    M_ATTENDED,
    M_WORKING,
    PAUSED,
    RUNNING_TIME,
    STOP_BEGINS,
    TRAVELLING,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.order import expect
from cellsim.engine.rules.path import add_node


@rule
def count_running_time(c: Any, first: int, stops: int, length: int) -> None:
    """Running time begins to count for these causes of stops; it will end after `length` at the latest."""
    for k in range(first, first + stops):
        stop = c.stops[k]
        if stop.clock == RUNNING_TIME and stop.active == 0:
            stop.counting = 1
            stop.since = c.now
            if stop.left < length:  # one that falls on the very end comes after it
                stop.version += 1
                expect(c, c.now + stop.left, STOP_BEGINS, k, stop.version)


@rule
def hold_running_time(c: Any, first: int, stops: int) -> None:
    """Running time ceases to count for these causes of stops."""
    for k in range(first, first + stops):
        stop = c.stops[k]
        if stop.counting == 1 and stop.clock == RUNNING_TIME:
            stop.counting = 0
            stop.left -= c.now - stop.since
            stop.version += 1
            if stop.left <= 0 and stop.active == 0:
                expect(c, c.now, STOP_BEGINS, k, stop.version)


@rule
def count_for_crew(c: Any, j: int, length: int) -> None:
    """Running time of the robots that attend job `j` counts from now on."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.running_stops > 0:
            count_running_time(c, actor.first_stop, actor.stops, length)


@rule
def hold_for_crew(c: Any, j: int) -> None:
    """Running time of the robots that attend job `j` ceases to count."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.running_stops > 0:
            hold_running_time(c, actor.first_stop, actor.stops)


@rule
def begin(c: Any, j: int, state: int, length: int, cause: int, plan: int) -> None:
    """Job `j` is in progress (`state` ACTIVE or TRAVELLING) and will end after `length`."""
    job = c.jobs[j]
    job.state = state
    job.began = c.now
    job.due = c.now + length
    job.cause = cause
    job.plan = plan
    job.version += 1
    c.active += 1
    expect(c, job.due, JOB_ENDS, j, job.version)
    if job.running_stops > 0 and state == ACTIVE:
        count_running_time(c, job.first_stop, job.stops, length)
    if job.crew_size > 0 and c.robot_stops == 1:
        count_for_crew(c, j, length)


@rule
def finish(c: Any, j: int) -> None:
    """What job `j` was doing is done: it becomes a node of the path."""
    job = c.jobs[j]
    c.active -= 1
    if job.running_stops > 0:
        hold_running_time(c, job.first_stop, job.stops)
    if job.crew_size > 0 and c.robot_stops == 1:
        hold_for_crew(c, j)
    job.state = IDLE
    job.node = add_node(c, job.node, job.cause, job.plan)


@rule
def interrupt(c: Any, j: int) -> None:
    """Cut short what job `j` is doing; what is left stands in `remaining`, of a way in `way_left`."""
    job = c.jobs[j]
    left = job.due - c.now
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
        length = job.remaining
        job.remaining = 0
        begin(c, j, ACTIVE, length, job.cause, job.rest_plan)
        if j < c.machine_count:
            book_machine(c, j, M_ATTENDED if job.crew_size > 0 else M_WORKING)
