"""Who is free, who goes where: persons and robots are claimed all together or not at all."""

from __future__ import annotations

import math
from typing import Any

from cellsim.engine.draws import duration
from cellsim.engine.layout import (
    A_ABSENT,
    A_BREAK,
    A_BRINGING,
    A_DOWN,
    A_FREE,
    A_HANDS_OVER,
    A_HELD,
    A_HELPING,
    A_OFF,
    A_REPAIRING,
    A_SERVICE,
    A_TRAVELLING,
    A_WAITS_REPAIR,
    A_WAITS_ZONE,
    A_WORKING,
    ABSENT,
    ACTIVE,
    BREAK,
    CREW,
    DO_NOT_START,
    FINISH_UNIT,
    HANDING_OVER,
    N_ATTENDS,
    N_GOES,
    N_SETS_OUT,
    OFF,
    ON,
    PERSON_RETURNS,
    TRAVELLING,
    WORK,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import (
    go_round,
    helps_out,
    in_turn,
    learned,
    note_absence,
    still_able,
)
from cellsim.engine.rules.hands import begins_change
from cellsim.engine.rules.ledger import book_actor
from cellsim.engine.rules.order import expect, note, wake_actor
from cellsim.engine.rules.progress import begin


@rule
def book_presence(c: Any, a: int) -> None:
    """Book the state of person or robot `a` from what it is doing."""
    actor = c.actors[a]
    if actor.downs > 0:
        if actor.services > 0 and actor.services == actor.repairs:
            book_actor(c, a, A_SERVICE)
        else:
            book_actor(c, a, A_DOWN if actor.repairs > 0 else A_WAITS_REPAIR)
    elif actor.present == 0 or (actor.job >= 0 and actor.away == 1):
        if actor.duty == BREAK or actor.returns == 1:
            book_actor(c, a, A_BREAK)
        elif actor.duty == HANDING_OVER:
            book_actor(c, a, A_HANDS_OVER)
        else:
            book_actor(c, a, A_ABSENT if actor.duty == ABSENT else A_OFF)
    elif actor.stopped == 1:
        book_actor(c, a, A_WAITS_ZONE)
    elif actor.job < 0:
        book_actor(c, a, A_FREE)
    else:
        state = c.jobs[actor.job].state
        if state == TRAVELLING and c.jobs[actor.job].changing == 1:
            book_actor(c, a, A_WORKING if actor.robot == 1 else A_HELD)
        elif state == TRAVELLING:
            book_actor(c, a, A_TRAVELLING)
        elif state == ACTIVE:
            if c.repair_base <= actor.job < c.inside_base:
                book_actor(c, a, A_REPAIRING)
            elif actor.job >= c.supply_base:
                book_actor(c, a, A_BRINGING)
            elif actor.places > 0 and helps_out(c, a, actor.job):
                book_actor(c, a, A_HELPING)
            else:
                book_actor(c, a, A_WORKING)
        else:
            book_actor(c, a, A_HELD)
    if actor.helpers > 0:
        note_absence(c, a)


@rule
def book_crew(c: Any, j: int) -> None:
    """Book the state of everybody who has job `j`."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        book_presence(c, job.crew[k])


@rule
def is_free(c: Any, a: int) -> bool:
    """Whether person or robot `a` can be claimed at this instant."""
    actor = c.actors[a]
    return actor.job < 0 and actor.present == 1 and actor.downs == 0 and actor.stopped == 0


@rule
def look_around(c: Any, a: int) -> None:
    """Person or robot `a` is free again: he looks for a call; if he serves none, whoever needs him looks."""
    wake_actor(c, a)
    c.actors[a].woken = 2


@rule
def wake_others(c: Any, a: int) -> None:
    """Free person or robot `a` serves no call: he may be the one that somebody else was short of."""
    for b in range(c.actor_count):
        if b != a and is_free(c, b):
            wake_actor(c, b)


@rule
def wake_able(c: Any, need: int, needs: int) -> None:
    """Let everybody who could serve a call with these needs look for a call."""
    for n in range(need, need + needs):
        skill = c.skills[c.needs[n].skill]
        for k in range(skill.first_able, skill.first_able + skill.able):
            a = c.able[k]
            if is_free(c, a):
                wake_actor(c, a)


@rule
def anybody_on_duty(c: Any, need: int, needs: int) -> bool:
    """Whether somebody is on duty, busy or not, who could serve a call with these needs."""
    for n in range(need, need + needs):
        skill = c.skills[c.needs[n].skill]
        for k in range(skill.first_able, skill.first_able + skill.able):
            a = c.able[k]
            duty = c.actors[a].duty
            if duty != OFF and duty != ABSENT and factor(c, a, c.needs[n].skill) > 0.0:
                return True
    return False


@rule
def wake_strict(c: Any) -> None:
    """A call is off the list: whoever lets no call pass an older one may now serve the next."""
    for a in range(c.actor_count):
        if c.actors[a].overtaking == 0 and is_free(c, a):
            wake_actor(c, a)


@rule
def factor(c: Any, a: int, skill: int) -> float:
    """Time factor of person or robot `a` at `skill`; 0 = cannot do it."""
    return c.abilities[c.actors[a].first_ability + skill]


@rule
def journey(c: Any, a: int, point: int) -> int:
    """How long person or robot `a` needs to get to `point`."""
    actor = c.actors[a]
    if point < 0 or actor.first_travel < 0:
        return 0
    return c.travel[actor.first_travel + actor.point * c.point_count + point]


@rule
def pick_crew(c: Any, j: int, chosen: int, backwards: int) -> int:
    """Write into job `j` the free people for all its needs, `chosen` first where able; how many, or -1."""
    job = c.jobs[j]
    size = 0
    for n in range(job.needs):
        need = c.needs[job.need + (job.needs - 1 - n if backwards == 1 else n)]
        wanted = need.people
        skill = c.skills[need.skill]
        for k in range(-1, skill.able):
            a = chosen if k == -1 else c.able[skill.first_able + k]
            if wanted > 0 and a >= 0 and is_free(c, a) and factor(c, a, need.skill) > 0.0:
                if job.ready_at > c.now and c.actors[a].responds == 1:
                    continue  # called from elsewhere and not there yet
                taken = 0
                for x in range(size):
                    if job.crew[x] == a:
                        taken = 1
                if c.rounds == 1 and not in_turn(c, a, j):
                    taken = 1
                if taken == 0 and size < CREW:
                    job.crew[size] = a
                    size += 1
                    wanted -= 1
        if wanted > 0:
            return -1
    return size


@rule
def find_crew(c: Any, j: int, chosen: int) -> int:
    """How many people job `j` would get if it started now, or -1 when somebody is missing."""
    size = pick_crew(c, j, chosen, 0)
    if size < 0 and c.jobs[j].needs > 1:
        size = pick_crew(c, j, chosen, 1)
    return size


@rule
def fits_before_leaving(c: Any, j: int, size: int, point: int, length: int) -> bool:
    """Whether those who start nothing that they cannot finish would finish this before they leave."""
    job = c.jobs[j]
    for k in range(size):
        a = job.crew[k]
        actor = c.actors[a]
        calendar = c.calendars[actor.calendar]
        coming = calendar.next_state
        goes = coming == BREAK or coming == OFF or coming == HANDING_OVER
        if actor.at_break == DO_NOT_START and calendar.next_at >= 0 and goes:
            if c.now + journey(c, a, point) + length > calendar.next_at:
                return False
    return True


@rule
def claim(c: Any, j: int, size: int) -> int:
    """The people that `find_crew` wrote down start job `j`; the latest node among them."""
    job = c.jobs[j]
    job.crew_size = size
    node = 0
    for k in range(size):
        a = job.crew[k]
        actor = c.actors[a]
        actor.job = j
        if actor.node > node:
            node = actor.node
        if actor.rounds > 0:
            go_round(c, a, j)
    return node


@rule
def leave(c: Any, a: int) -> None:
    """Free person `a` goes off duty now, for a full break from now on where that is the rule."""
    actor = c.actors[a]
    actor.present = 0
    if actor.owes == 1:
        actor.owes = 0
        actor.returns = 1
        actor.version += 1
        expect(c, c.now + actor.break_length, PERSON_RETURNS, a, actor.version)
    if c.tracing == 1:
        note(c, N_GOES, a, actor.duty)
    book_presence(c, a)
    if actor.careful == 1:
        wake_others(c, a)  # calls that he was thought of for, and would not start, may be for others now


@rule
def dismiss(c: Any, j: int) -> None:
    """Everybody of job `j` is free again; whose break or night has begun goes."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        a = job.crew[k]
        actor = c.actors[a]
        actor.job = -1
        if job.node > actor.node:
            actor.node = job.node
        if actor.away == 1:
            actor.away = 0
            actor.present = 0
        if actor.present == 1 and (actor.duty != ON or actor.owes == 1):
            leave(c, a)
        else:
            book_presence(c, a)
            if actor.present == 1 and actor.downs == 0:
                look_around(c, a)
        if actor.due_stops > 0:
            wake_actor(c, a)
    job.crew_size = 0
    job.pauses = 0
    job.changing = 0


@rule
def dismiss_things(c: Any, j: int) -> None:
    """The shared things of job `j` are free again; its people stay."""
    job = c.jobs[j]
    kept = 0
    for k in range(job.crew_size):
        a = job.crew[k]
        actor = c.actors[a]
        if actor.thing == 0:
            job.crew[kept] = a
            kept += 1
        else:
            actor.job = -1
            if job.node > actor.node:
                actor.node = job.node
            if actor.duty != ON:
                leave(c, a)
            else:
                book_presence(c, a)
                look_around(c, a)
    job.crew_size = kept


@rule
def crew_stays(c: Any, j: int) -> bool:
    """Whether the crew of job `j` goes on to its next element without a break or the night calling."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        actor = c.actors[job.crew[k]]
        if actor.duty == BREAK or actor.owes == 1 or actor.downs > 0 or actor.stopped == 1:
            return False
        if actor.duty != ON and actor.rule != FINISH_UNIT:
            return False
    return c.abilities_change == 0 or still_able(c, j)


@rule
def pace(c: Any, j: int, size: int) -> float:
    """The time factor of the `size` people written down for job `j`: that of the slowest, with allowances."""
    job = c.jobs[j]
    step = c.steps[job.step]
    slowest = 0.0
    for k in range(size):
        actor = c.actors[job.crew[k]]
        for n in range(step.first_need, step.first_need + step.needs):
            f = factor(c, job.crew[k], c.needs[n].skill)
            if c.learning == 1:
                f *= learned(c, job.crew[k], step.element)
            if actor.robot == 1 and step.kind != WORK:
                f *= actor.slowness
            if f > slowest and actor.thing == 0:
                slowest = f
    return step.pace * slowest if slowest > 0.0 else step.pace


@rule
def step_length(c: Any, j: int, size: int) -> int:
    """How long the next step of job `j` takes, or what is left of it, with the people written down for it.

    The length at the stated pace is drawn once and kept until the step is done.
    """
    job = c.jobs[j]
    if job.remaining > 0:
        return job.remaining
    if job.planned == 0:
        step = c.steps[job.step]
        law = step.law
        if step.varies == 1:
            law = c.step_laws[step.first_law + job.which].law
        job.length = duration(c.laws[law], c.streams[step.stream], c.table)
        job.planned = 1
    length = job.length
    if size > 0:
        f = pace(c, j, size)
        if f != 1.0:
            length = math.floor(length * f + 0.5)
    return length


@rule
def step_plan(c: Any, j: int) -> int:
    """The expected length of the next step of job `j`."""
    step = c.steps[c.jobs[j].step]
    if step.varies == 1:
        return int(c.step_laws[step.first_law + c.jobs[j].which].plan)
    return int(step.plan)


@rule
def attend(c: Any, j: int) -> None:
    """The crew of job `j` is at its place and works from now on."""
    job = c.jobs[j]
    for k in range(job.crew_size):
        book_presence(c, job.crew[k])
        if c.tracing == 1:
            note(c, N_ATTENDS, job.crew[k], j)


@rule
def set_out(c: Any, j: int, point: int) -> bool:
    """The crew of job `j` goes to `point`; False when everybody is there already."""
    job = c.jobs[j]
    if c.changing_grippers == 1 and begins_change(c, j):
        book_crew(c, j)
        return True
    longest = 0
    slowest = -1
    for k in range(job.crew_size):
        a = job.crew[k]
        time = journey(c, a, point)
        if time > longest:
            longest = time
            slowest = a
    for k in range(job.crew_size):
        if point >= 0:
            c.actors[job.crew[k]].point = point
    if longest == 0:
        return False
    begin(c, j, TRAVELLING, longest, c.actors[slowest].travel_cause, longest)
    for k in range(job.crew_size):
        book_presence(c, job.crew[k])
        if c.tracing == 1:
            note(c, N_SETS_OUT, job.crew[k], point)
    return True
