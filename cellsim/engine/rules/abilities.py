"""What somebody can do just now, and how fast: places taken of others, change of places, learning, rounds.

Abilities change in three ways: somebody takes the place of who is in a break (relief) or absent (stand-in),
and only then; people of a post change places; and people become quicker with their own repetitions.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    A_ABSENT,
    A_BREAK,
    ABSENT,
    BREAK,
    CALLING,
    IN_CYCLE,
    RELIEVES,
    STANDS_IN,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import wake_actor


@rule
def covered(c: Any, a: int, skill: int) -> float:
    """Time factor of person `a` at `skill` by own ability or in place of who is absent; 0 = cannot do it."""
    actor = c.actors[a]
    found = c.own_abilities[actor.first_ability + skill]
    if found > 0.0:
        return found
    for k in range(actor.first_place, actor.first_place + actor.places):
        other = c.actors[c.places[k].actor]
        if c.places[k].kind == STANDS_IN and other.out == ABSENT:
            f = c.own_abilities[other.first_ability + skill]
            if f > 0.0 and (found == 0.0 or f < found):
                found = f
    return found


@rule
def update_abilities(c: Any, a: int) -> None:
    """Write down what person `a` can do from now on; the pace is that of whose place is taken."""
    actor = c.actors[a]
    for skill in range(c.skill_count):
        found = covered(c, a, skill)
        if found == 0.0:
            for k in range(actor.first_place, actor.first_place + actor.places):
                other = c.places[k].actor
                if c.places[k].kind == RELIEVES and c.actors[other].out == BREAK:
                    f = covered(c, other, skill)
                    if f > 0.0 and (found == 0.0 or f < found):
                        found = f
        c.abilities[actor.first_ability + skill] = found
    wake_actor(c, a)


@rule
def update_helpers(c: Any, a: int) -> None:
    """What person `a` leaves undone has changed: so has what those can do who take his place, or theirs."""
    actor = c.actors[a]
    for k in range(actor.first_helper, actor.first_helper + actor.helpers):
        h = c.helpers[k]
        update_abilities(c, h)
        helper = c.actors[h]
        for x in range(helper.first_helper, helper.first_helper + helper.helpers):
            update_abilities(c, c.helpers[x])


@rule
def note_absence(c: Any, a: int) -> None:
    """Tell those who may take the place of person `a` whether he is in a break, absent or there."""
    actor = c.actors[a]
    out = 0
    if actor.state == A_BREAK:
        out = BREAK
    elif actor.state == A_ABSENT:
        out = ABSENT
    if actor.out != out:
        actor.out = out
        update_helpers(c, a)


@rule
def helps_out(c: Any, a: int, j: int) -> bool:
    """Whether person `a` does job `j` only because he takes the place of another."""
    job = c.jobs[j]
    first = c.actors[a].first_ability
    for n in range(job.need, job.need + job.needs):
        if c.own_abilities[first + c.needs[n].skill] > 0.0:
            return False
    return True


@rule
def still_able(c: Any, j: int) -> bool:
    """Whether everybody of the crew of job `j` can still do something of it."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        first = c.actors[job.crew[k]].first_ability
        able = False
        for n in range(job.need, job.need + job.needs):
            if c.abilities[first + c.needs[n].skill] > 0.0:
                able = True
        if not able:
            return False
    return True


@rule
def move_on(c: Any, a: int, turn: int) -> None:
    """Person `a` changes places: from now on it is his `turn`-th."""
    actor = c.actors[a]
    first = actor.first_turn + turn * c.skill_count
    for skill in range(c.skill_count):
        c.own_abilities[actor.first_ability + skill] = c.turn_abilities[first + skill]
    update_abilities(c, a)
    update_helpers(c, a)


@rule
def learned(c: Any, a: int, element: int) -> float:
    """Time factor of person `a` at the next repetition of a work element; 1 once the standard is reached."""
    actor = c.actors[a]
    if actor.learns == 0 or element < 0:
        return 1.0
    n = c.repetitions[actor.first_repetition + element] + 1.0
    if n >= actor.standard_after:
        return 1.0
    return (n / actor.standard_after) ** actor.learning_power


@rule
def count_repetition(c: Any, j: int) -> None:
    """Everybody of the crew of job `j` begins his element once more."""
    job = c.jobs[j]
    element = c.steps[job.step].element
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.learns == 1 and element >= 0:
            c.repetitions[actor.first_repetition + element] += 1


@rule
def is_waited_for(c: Any, a: int, place: int) -> bool:
    """Whether person or robot `a` stays at a place of his round: it calls, or works and may call then."""
    actor = c.actors[a]
    for k in range(actor.first_candidate, actor.first_candidate + actor.candidates):
        j = c.candidates[k]
        if j < c.repair_base and c.listed[actor.first_listed + j] == place:
            m = c.machines[j % c.machine_count]
            if c.jobs[j].state == CALLING or (m.progress == IN_CYCLE and m.downs == 0):
                return True
    return False


@rule
def in_turn(c: Any, a: int, j: int) -> bool:
    """Whether person or robot `a`, on his round, comes to job `j` next; or it is at no place of the round."""
    actor = c.actors[a]
    if actor.rounds == 0:
        return True
    place = c.listed[actor.first_listed + j]
    if place >= actor.rounds:
        return True
    next_place = actor.at_round
    while next_place != place:
        if is_waited_for(c, a, next_place):
            return False
        next_place += 1
        if next_place == actor.rounds:
            next_place = 0
    return True


@rule
def go_round(c: Any, a: int, j: int) -> None:
    """Person or robot `a` has taken job `j`: the next station of the round is the one after it."""
    actor = c.actors[a]
    place = c.listed[actor.first_listed + j]
    if place < actor.rounds:
        actor.at_round = place + 1 if place + 1 < actor.rounds else 0


@rule
def look_round(c: Any) -> None:
    """A machine has changed: whoever goes round may find that there is nothing to wait for any more."""
    for a in range(c.actor_count):
        if c.actors[a].rounds > 0:
            wake_actor(c, a)
