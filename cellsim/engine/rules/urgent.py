"""Who comes to a repair although busy or off duty: taken away from lesser work, or called out.

A repair that interrupts takes people away from attended work and repairs of lower priority when nobody who is
free can do it: first from what has the lowest priority, then from what was begun last.  Somebody who can be
called out comes when nobody on duty could do the repair, his time to come after that was so; he leaves again
when no repair that he can do is left.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import CALLING, N_CALLED_OUT, OFF, ON
from cellsim.engine.rules import rule
from cellsim.engine.rules.calls import is_able, start_repair
from cellsim.engine.rules.order import note
from cellsim.engine.rules.people import anybody_on_duty, find_crew, wake_strict
from cellsim.engine.rules.put_down import can_be_put_down, put_down

HIDDEN = -2  # job HIDDEN - j: taken for free while a crew is looked for


@rule
def may_be_taken(c: Any, a: int, r: int) -> bool:
    """Whether repair job `r` may take person `a` away from what he is doing."""
    actor = c.actors[a]
    if actor.robot == 1 or actor.job < 0 or actor.downs > 0 or actor.away == 1:
        return False
    if actor.duty != ON or actor.owes == 1 or c.jobs[actor.job].priority <= c.jobs[r].priority:
        return False
    return is_able(c, a, r) and can_be_put_down(c, actor.job)


@rule
def least_needed(c: Any, r: int) -> int:
    """Whom repair job `r` takes away first, or -1."""
    best = -1
    for a in range(c.actor_count):
        if may_be_taken(c, a, r):
            if best < 0:
                best = a
            else:
                one = c.jobs[c.actors[a].job]
                two = c.jobs[c.actors[best].job]
                if one.priority > two.priority or (one.priority == two.priority and one.began > two.began):
                    best = a
    return best


@rule
def crew_with_busy(c: Any, r: int) -> int:
    """Write down a crew for repair job `r` for which people are taken away; its size, or -1."""
    size = -1
    while size < 0:
        a = least_needed(c, r)
        if a < 0:
            break
        c.actors[a].job = HIDDEN - c.actors[a].job
        size = find_crew(c, r, -1)
    for a in range(c.actor_count):
        if c.actors[a].job <= HIDDEN:
            c.actors[a].job = HIDDEN - c.actors[a].job
    return size


@rule
def most_urgent(c: Any, after: int) -> int:
    """The repair that interrupts and waits, by priority and then by time, next after job `after`; or -1."""
    best = -1
    for k in range(c.stop_count):
        r = c.repair_base + k
        if c.stops[k].interrupts == 1 and c.jobs[r].state == CALLING:
            if (after < 0 or goes_first(c, after, r)) and (best < 0 or goes_first(c, r, best)):
                best = r
    return best


@rule
def goes_first(c: Any, r: int, other: int) -> bool:
    """Whether repair job `r` comes before `other`: priority, longest waiting, furthest down the route."""
    one = c.jobs[r]
    two = c.jobs[other]
    if one.priority != two.priority:
        return one.priority < two.priority
    if one.since != two.since:
        return one.since < two.since
    return one.rank > two.rank


@rule
def take_away(c: Any) -> bool:
    """One repair that interrupts takes people away from lesser work; False when none can."""
    r = most_urgent(c, -1)
    while r >= 0:
        size = crew_with_busy(c, r)
        if size > 0:
            for x in range(size):
                j = c.actors[c.jobs[r].crew[x]].job
                if j >= 0:
                    put_down(c, j)
            start_repair(c, r - c.repair_base, size)
            wake_strict(c)
            return True
        r = most_urgent(c, r)
    return False


@rule
def can_come_out(c: Any, a: int, only: int) -> bool:
    """Whether person `a` is off duty and can be called out; `only` >= 0 says who alone is asked."""
    actor = c.actors[a]
    return actor.called_out >= 0 and actor.duty == OFF and actor.job < 0 and (only < 0 or only == a)


@rule
def call_out(c: Any, k: int, version: int) -> None:
    """Those who come from off duty could be there for cause `k` now: who is needed begins.

    A negative version -1 - a says that person a is still there from another repair and goes to this one.
    """
    stop = c.stops[k]
    r = c.repair_base + k
    only = -1 - version if version < 0 else -1
    if c.jobs[r].state != CALLING or (only < 0 and stop.version != version):
        return
    if anybody_on_duty(c, stop.first_need, stop.needs):
        return
    for a in range(c.actor_count):
        if can_come_out(c, a, only):
            c.actors[a].present = 1
    size = find_crew(c, r, -1)
    for a in range(c.actor_count):
        if can_come_out(c, a, only):
            c.actors[a].present = 0
            for x in range(size):
                if c.jobs[r].crew[x] == a:
                    c.actors[a].present = 1
                    if c.tracing == 1:
                        note(c, N_CALLED_OUT, a, 0)
    if size > 0:
        start_repair(c, k, size)
        wake_strict(c)
