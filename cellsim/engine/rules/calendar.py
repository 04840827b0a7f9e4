"""Shifts and breaks: who is there when, and what becomes of the work in hand."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    ARRIVAL,
    BREAK,
    CALENDAR_EDGE,
    CALLING,
    FULL_LENGTH,
    N_CALENDAR,
    N_RETURNS,
    OFF,
    ON,
    ON_TIME,
    PUT_DOWN,
    RUN_OUT,
    RUNNING_OUT,
    SUSPEND,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.handover import free_cards
from cellsim.engine.rules.order import expect, note, wake, wake_errand
from cellsim.engine.rules.people import book_crew, book_presence, leave, look_around
from cellsim.engine.rules.progress import go_on, pause
from cellsim.engine.rules.put_down import can_be_put_down, put_down
from cellsim.engine.rules.stops import count_on_time, expect_call_out, hold_on_time
from cellsim.engine.rules.teams import change_places, draw_absence, stay_away


@rule
def expect_edge(c: Any, k: int) -> None:
    """Note when calendar `k` changes next; its pattern repeats every period."""
    calendar = c.calendars[k]
    if calendar.edges == 0:
        calendar.next_at = -1
        calendar.next_state = ON
        return
    if calendar.next_edge >= calendar.edges:
        calendar.next_edge = 0
        calendar.base += calendar.period
    edge = c.edges[calendar.first_edge + calendar.next_edge]
    expect(c, calendar.base + edge.at, CALENDAR_EDGE, k, 0)
    n = calendar.next_edge
    base = calendar.base
    while edge.changes == 0 and n < calendar.next_edge + calendar.edges - 1:
        n += 1
        base = calendar.base + calendar.period * (n // calendar.edges)
        edge = c.edges[calendar.first_edge + n % calendar.edges]
    calendar.next_at = base + edge.at
    calendar.next_state = RUNNING_OUT if edge.state == OFF and edge.rule == RUN_OUT else edge.state


@rule
def come_back(c: Any, a: int) -> None:
    """Person or robot `a` is on duty again."""
    actor = c.actors[a]
    actor.present = 1
    if c.tracing == 1:
        note(c, N_RETURNS, a, 0)
    if actor.away == 1:
        actor.away = 0
        go_on(c, actor.job)
        book_crew(c, actor.job)
        if actor.job < c.machine_count:
            wake(c, actor.job)
        else:
            wake_errand(c, actor.job)
    else:
        look_around(c, a)
    book_presence(c, a)


@rule
def go_away(c: Any, a: int, rule_now: int) -> None:
    """The break or the night of person `a` begins: leave now if free, else as the rule says.

    A break of full length is owed to whoever is there, or still in the break before; the night ends it.
    """
    actor = c.actors[a]
    if actor.duty == OFF:
        actor.owes = 0
        actor.returns = 0
    elif actor.duty == BREAK and rule_now == FULL_LENGTH:
        if actor.returns == 1 or (actor.present == 1 and actor.away == 0):
            actor.owes = 1
    if actor.job < 0:
        if actor.present == 1:
            leave(c, a)
        else:
            book_presence(c, a)
    elif rule_now == PUT_DOWN and actor.robot == 0 and can_be_put_down(c, actor.job):
        put_down(c, actor.job)
    elif rule_now == SUSPEND and actor.away == 0:
        pause(c, actor.job)
        actor.away = 1
        book_crew(c, actor.job)
        if actor.job < c.machine_count:
            wake(c, actor.job)
    elif actor.away == 1:
        book_presence(c, a)


@rule
def assign_duty(c: Any, a: int, state: int, rule_now: int, length: int) -> None:
    """The duty of person or robot `a` changes with the state of the calendar that he follows."""
    actor = c.actors[a]
    actor.duty = ON if state == RUNNING_OUT else state
    actor.rule = actor.at_break if state == BREAK else rule_now
    if state == BREAK:
        actor.break_length = length
    if actor.missing == 1 and actor.duty != OFF:
        stay_away(c, a)
    elif actor.duty != ON:
        go_away(c, a, actor.rule)
    elif actor.returns == 0 and (actor.present == 0 or actor.away == 1):
        come_back(c, a)
    elif actor.careful == 1:
        look_around(c, a)  # what would not have been done by now may be begun again


@rule
def begin_shift(c: Any, k: int, edge: Any) -> None:
    """A shift of those who follow calendar `k` begins, though perhaps the calendar was on before."""
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.calendar == k and actor.absence > 0.0:
            if draw_absence(c, a) and edge.changes == 0:
                assign_duty(c, a, edge.state, edge.rule, edge.length)


@rule
def change_duty(c: Any, k: int, state: int, rule_now: int, length: int) -> None:
    """Calendar `k` goes over to `state` for the stations, people and clocks that follow it."""
    calendar = c.calendars[k]
    before = calendar.state
    calendar.state = state
    calendar.rule = rule_now
    for s in range(c.station_count):
        station = c.stations[s]
        if station.calendar == k:
            station.open = 0 if state == OFF or (state == BREAK and station.runs_through == 0) else 1
    for i in range(c.machine_count):
        station = c.stations[c.machines[i].station]
        if station.calendar == k:
            wake(c, i)
            unattended = c.jobs[i].crew_size == 0
            if state == OFF and rule_now == SUSPEND and unattended and c.machines[i].asleep == 0:
                c.machines[i].asleep = 1
                pause(c, i)
            elif state == ON and c.machines[i].asleep == 1:
                c.machines[i].asleep = 0
                if c.jobs[i].pauses > 0:
                    go_on(c, i)
    for a in range(c.actor_count):
        if c.actors[a].calendar == k:
            assign_duty(c, a, state, rule_now, length)
    if c.call_outs == 1 and state == OFF:
        for x in range(c.stop_count):
            if c.jobs[c.repair_base + x].state == CALLING:
                expect_call_out(c, x)
    if k == c.cell_calendar and state == ON:
        free_cards(c, c.release_node)
        if c.release_waits == 1:
            c.release_waits = 0
            expect(c, c.now, ARRIVAL, 0, 0)
    for x in range(c.stop_count):
        stop = c.stops[x]
        if stop.clock == ON_TIME and stop.calendar == k and stop.active == 0:
            if state == OFF and before != OFF:
                hold_on_time(c, x)
            elif state != OFF and before == OFF:
                count_on_time(c, x)


@rule
def pass_edge(c: Any, k: int) -> None:
    """Calendar `k` reaches its next edge."""
    calendar = c.calendars[k]
    edge = c.edges[calendar.first_edge + calendar.next_edge]
    calendar.next_edge += 1
    if edge.turn >= 0:
        change_places(c, k, edge.turn)
    if edge.fresh == 1:
        begin_shift(c, k, edge)
    if edge.changes == 0:
        expect_edge(c, k)
        return
    state = edge.state
    if state == OFF and edge.rule == RUN_OUT and c.wip > 0:
        state = RUNNING_OUT
        c.running_out += 1
    elif calendar.state == RUNNING_OUT:
        c.running_out -= 1
    if c.tracing == 1:
        note(c, N_CALENDAR, k, state)
    expect_edge(c, k)
    change_duty(c, k, state, edge.rule, edge.length)


@rule
def has_run_out(c: Any) -> bool:
    """Whether a cell in which nothing can start is empty, or whether nothing inside will move again today."""
    if c.wip == 0:
        return True
    for a in range(c.actor_count):
        if c.actors[a].returns == 1:
            return False
    for z in range(c.zone_count):
        if c.zones[z].restarting == 1:
            return False
    return bool(c.active == 0 and c.carriers_coming == 0)


@rule
def end_running_out(c: Any) -> None:
    """The cell has run out: calendars that waited for that close now."""
    for k in range(c.calendar_count):
        if c.calendars[k].state == RUNNING_OUT:
            c.running_out -= 1
            change_duty(c, k, OFF, RUN_OUT, 0)


@rule
def person_returns(c: Any, a: int, version: int) -> None:
    """The full break of person `a` is over; one that has begun meanwhile is taken straight after it."""
    actor = c.actors[a]
    if actor.version != version or actor.returns == 0:
        return
    actor.returns = 0
    if actor.owes == 1:
        leave(c, a)
    elif actor.duty == ON:
        come_back(c, a)
    else:
        book_presence(c, a)
