"""Indexing tables: several stations whose units all move on by one position at once.

A table turns when every unit on it is finished where it stands and the last position is clear; a position
without a unit moves along empty.  While the first station could begin but for the people, and while any
station of the table is down, the table stands.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import duration
from cellsim.engine.layout import DONE, EMPTY, IDLE, IN_CYCLE, M_HANDLED, N_HANDS_OVER, TABLE_TURNED
from cellsim.engine.rules import rule
from cellsim.engine.rules.handover import empty_machine
from cellsim.engine.rules.ledger import book_machine
from cellsim.engine.rules.order import expect, note, wake
from cellsim.engine.rules.path import add_node, bind
from cellsim.engine.rules.stations import set_up


@rule
def held_by_dial(c: Any, i: int) -> bool:
    """Whether machine `i` of an indexing table can do nothing by itself now; the table will be looked at."""
    m = c.machines[i]
    station = c.stations[m.station]
    dial = c.dials[station.dial - 1]
    if dial.due == 0:
        dial.due = 1
        c.dials_due += 1
    if dial.turning == 1:
        return True
    if m.progress == DONE:
        return bool(m.outlet == station.inner)
    return bool(dial.halts > 0)


@rule
def dial_is_ready(c: Any, t: int) -> bool:
    """Whether indexing table `t` can turn: all units on it are finished, and nothing else can start on it."""
    dial = c.dials[t]
    first = c.machines[c.positions[dial.first_position]]
    if dial.turning == 1 or dial.halts > 0 or c.stations[first.station].open == 0:
        return False
    moving = 0
    for p in range(dial.first_position, dial.first_position + dial.positions):
        i = c.positions[p]
        m = c.machines[i]
        if m.progress == DONE and m.outlet == c.stations[m.station].inner:
            moving += 1
        elif m.progress != EMPTY or c.jobs[i].state != IDLE:
            return False
    return moving > 0


@rule
def turn_dials(c: Any) -> None:
    """Nothing more can start at this instant: the tables that are ready turn."""
    c.dials_due = 0
    for t in range(c.dial_count):
        dial = c.dials[t]
        if dial.due == 1:
            dial.due = 0
            if dial_is_ready(c, t):
                begin_turn(c, t)


@rule
def begin_turn(c: Any, t: int) -> None:
    """Indexing table `t` begins to turn."""
    dial = c.dials[t]
    node = 0
    for p in range(dial.first_position, dial.first_position + dial.positions):
        i = c.positions[p]
        node = max(node, c.machines[i].node)
        book_machine(c, i, M_HANDLED)
    dial.node = bind(c, node, c.cause_wait)
    dial.turning = 1
    c.active += 1
    length = duration(c.laws[dial.law], c.streams[dial.stream], c.table)
    expect(c, c.now + length, TABLE_TURNED, t, 0)


@rule
def move_on(c: Any, i: int, j: int, node: int) -> None:
    """The unit of machine `i` stands on machine `j`, the next position, and its cycle there can begin."""
    m = c.machines[i]
    n = c.machines[j]
    n.unit = m.unit
    n.units = 1
    n.progress = IN_CYCLE
    n.step = c.stations[n.station].first_step
    c.jobs[j].step = n.step
    c.jobs[j].node = node
    c.parts[n.unit].at = n.station
    if c.stations[n.station].picks == 1:
        set_up(c, j)
    c.starts += 1
    if c.tracing == 1:
        note(c, N_HANDS_OVER, i, m.outlet)
    empty_machine(c, i)


@rule
def dial_turned(c: Any, t: int) -> None:
    """Indexing table `t` has turned by one position."""
    dial = c.dials[t]
    dial.turning = 0
    dial.turns += 1
    c.active -= 1
    node = add_node(c, dial.node, dial.cause, dial.plan)
    last = dial.first_position + dial.positions - 1
    for p in range(last, dial.first_position - 1, -1):
        i = c.positions[p]
        m = c.machines[i]
        m.node = node
        if p < last and m.progress == DONE and m.outlet == c.stations[m.station].inner:
            move_on(c, i, c.positions[p + 1], node)
        wake(c, i)
