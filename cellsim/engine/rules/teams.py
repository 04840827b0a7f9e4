"""Who of a team is there: absence from the beginning of a shift, change of places, duty from edge to edge."""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import chance
from cellsim.engine.layout import (
    ABSENT,
    BREAK,
    FINISH_ELEMENT,
    HANDING_OVER,
    IDLE,
    N_MOVES_ON,
    ON,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import move_on
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.people import book_presence, dismiss, leave


@rule
def draw_absence(c: Any, a: int) -> bool:
    """A shift of person `a` begins: does he come?  Whether that is another answer than for the last shift."""
    actor = c.actors[a]
    before = actor.missing
    actor.missing = 1 if chance(c.streams[actor.absence_stream], actor.absence) else 0
    return actor.missing != before


@rule
def stay_away(c: Any, a: int) -> None:
    """Person `a` does not come to this shift; a cycle that he left unfinished is for anybody to end."""
    actor = c.actors[a]
    actor.duty = ABSENT
    actor.rule = FINISH_ELEMENT
    actor.owes = 0
    if actor.job < 0:
        if actor.present == 1:
            leave(c, a)
        else:
            book_presence(c, a)
    elif actor.away == 1:
        j = actor.job
        if j < c.machine_count:
            c.jobs[j].state = IDLE
            dismiss(c, j)
            wake(c, j)
        else:
            book_presence(c, a)


@rule
def change_places(c: Any, k: int, turn: int) -> None:
    """Those who follow calendar `k` and change places do so now."""
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.calendar == k and actor.turns > 0:
            if c.tracing == 1:
                note(c, N_MOVES_ON, a, turn)
            move_on(c, a, turn)


@rule
def open_duties(c: Any) -> None:
    """The run begins: who is absent from the start, and who is in a break."""
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.absence > 0.0 and (actor.duty == ON or actor.duty == HANDING_OVER or actor.duty == BREAK):
            if draw_absence(c, a):
                stay_away(c, a)
        if actor.helpers > 0:
            book_presence(c, a)
