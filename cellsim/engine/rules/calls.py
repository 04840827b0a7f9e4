"""Whom a free person or robot serves: calls, their order, and the start of what is served.

A call stands as long as everything but the people is there.  Calls that compete are served by stated
priority (1 first), then by the serving rule of whoever is free, then furthest down the route.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import (
    CALLING,
    CHANGING,
    DOWNSTREAM_FIRST,
    EMPTY,
    IDLE,
    IN_CYCLE,
    LACKS_NOTHING,
    LISTED_ORDER,
    LONGEST_WAITING,
    UPSTREAM_FIRST,
)
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import in_turn
from cellsim.engine.rules.boarding import short_of_carriers
from cellsim.engine.rules.errands import begin_errand, errand_ready, goes_unasked, next_errand
from cellsim.engine.rules.handover import inputs_ready, outlet_free
from cellsim.engine.rules.inside import begin_inside, may_work_alone
from cellsim.engine.rules.material import lacks, start_trip
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import (
    claim,
    factor,
    find_crew,
    fits_before_leaving,
    is_free,
    set_out,
    step_length,
    wake_able,
    wake_others,
    wake_strict,
)
from cellsim.engine.rules.stations import resume_cycle, start_cycle
from cellsim.engine.rules.stops import begin_repair, halt_after_cycle
from cellsim.engine.rules.visits import begin_visit, choose_visit, visit_ready


@rule
def may_start(c: Any, i: int) -> bool:
    """Whether empty machine `i` could start a cycle at this instant, but for the people."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.progress != EMPTY or m.downs > 0 or station.open == 0:
        return False
    step = station.first_step
    if station.supplied == 1:
        if lacks(c, i) != LACKS_NOTHING:
            return False
        if m.left_on_bar > 0:
            step += 1
    elif not inputs_ready(c, m.station):
        return False
    if not may_work_alone(c, i, step):
        return False
    if station.carries == 1 and short_of_carriers(c, m.station):
        return False
    return station.reserves == 0 or outlet_free(c, m.station)


@rule
def call(c: Any, j: int, step: int) -> None:
    """Job `j` calls for the people of `step`; a call that stands already keeps its time."""
    job = c.jobs[j]
    job.step = step
    job.need = c.steps[step].first_need
    job.needs = c.steps[step].needs
    if job.state == IDLE:
        job.state = CALLING
        job.since = c.now
    wake_able(c, job.need, job.needs)


@rule
def withdraw(c: Any, j: int) -> None:
    """Job `j` calls no more."""
    job = c.jobs[j]
    if job.state == CALLING:
        job.state = IDLE
        wake_strict(c)


@rule
def still_stands(c: Any, j: int) -> bool:
    """Whether what job `j` calls for could start now, but for the people."""
    if c.jobs[j].state != CALLING:
        return False
    if j < c.machine_count:
        m = c.machines[j]
        if m.progress == IN_CYCLE or m.progress == CHANGING:
            return m.downs == 0
        return may_start(c, j)
    if j < c.repair_base:
        i = j - c.visit_base
        if not visit_ready(c, i):
            return False
        choose_visit(c, i)
        return True
    if j >= c.supply_base or j < c.inside_base:
        return True
    if j >= c.errand_base:
        return errand_ready(c, j - c.errand_base)
    return bool(c.stations[c.machines[j - c.inside_base].station].open == 1)


@rule
def comes_before(c: Any, a: int, j: int, other: int) -> bool:
    """Whether person or robot `a` serves the call of job `j` before that of `other`."""
    one = c.jobs[j]
    two = c.jobs[other]
    if one.priority != two.priority:
        return one.priority < two.priority
    for k in range(2):
        criterion = c.actors[a].serves[k]
        x = 0
        y = 0
        if criterion == LONGEST_WAITING:
            x = one.since
            y = two.since
        elif criterion == DOWNSTREAM_FIRST:
            x = two.rank
            y = one.rank
        elif criterion == UPSTREAM_FIRST:
            x = one.place
            y = two.place
        elif criterion == LISTED_ORDER:
            x = c.listed[c.actors[a].first_listed + j]
            y = c.listed[c.actors[a].first_listed + other]
        if x != y:
            return x < y
    return one.rank > two.rank


@rule
def is_able(c: Any, a: int, j: int) -> bool:
    """Whether person or robot `a` can do any of what job `j` calls for now."""
    if c.rounds == 1 and not in_turn(c, a, j):
        return False
    job = c.jobs[j]
    if job.ready_at > c.now and c.actors[a].responds == 1:
        return False
    for n in range(job.need, job.need + job.needs):
        if factor(c, a, c.needs[n].skill) > 0.0:
            return True
    return False


@rule
def best_call(c: Any, a: int) -> int:
    """The call that person or robot `a` serves now, with the crew written into it; -1 when none can start."""
    actor = c.actors[a]
    refused = -1
    while True:
        best = -1
        for k in range(actor.first_candidate, actor.first_candidate + actor.candidates):
            j = c.candidates[k]
            if c.jobs[j].state == CALLING and (refused < 0 or comes_before(c, a, refused, j)):
                if is_able(c, a, j) and (best < 0 or comes_before(c, a, j, best)):
                    best = j
        if best < 0:
            return -1
        if still_stands(c, best):
            size = find_crew(c, best, a)
            if size > 0 and can_finish(c, best, size):
                c.found_size = size
                return best
            if size < 0 and actor.overtaking == 0:
                return -1
        refused = best


@rule
def can_finish(c: Any, j: int, size: int) -> bool:
    """Whether those who start nothing that they cannot finish before they leave would finish this."""
    job = c.jobs[j]
    careful = 0
    for k in range(size):
        if c.actors[job.crew[k]].careful == 1:
            careful = 1
    if careful == 0:
        return True
    if c.repair_base <= j < c.inside_base:
        return True
    return fits_before_leaving(c, j, size, c.steps[job.step].point, step_length(c, j, size))


@rule
def start_repair(c: Any, k: int, size: int) -> None:
    """The people written down for the repair of cause `k` set out."""
    r = c.repair_base + k
    job = c.jobs[r]
    c.urgent -= c.stops[k].interrupts
    node = max(job.node, claim(c, r, size))
    job.node = bind(c, node, c.stops[k].waiting_cause)
    if not set_out(c, r, c.stops[k].point):
        begin_repair(c, k)


@rule
def serve(c: Any) -> bool:
    """One free person or robot starts one call; False when nobody can."""
    for a in range(c.actor_count):
        actor = c.actors[a]
        if actor.woken > 0:
            j = -1
            if actor.due_stops > 0 and actor.job < 0:
                halt_after_cycle(c, c.machine_count + a)
            if is_free(c, a):
                j = best_call(c, a) if actor.fixed == 0 else next_errand(c, a)
                if j < 0 and c.errand_count > 0 and goes_unasked(c, a):
                    return True
            if j < 0:
                if actor.woken == 2 and is_free(c, a):
                    wake_others(c, a)
                actor.woken = 0
                c.actors_woken -= 1
            else:
                if j >= c.supply_base:
                    start_trip(c, j - c.supply_base, c.found_size)
                elif j >= c.errand_base:
                    begin_errand(c, j - c.errand_base, c.found_size)
                elif j >= c.inside_base:
                    begin_inside(c, j - c.inside_base, c.found_size)
                elif j >= c.repair_base:
                    start_repair(c, j - c.repair_base, c.found_size)
                elif j >= c.visit_base:
                    begin_visit(c, j - c.visit_base, c.found_size)
                elif c.machines[j].progress != EMPTY:
                    resume_cycle(c, j, c.found_size)
                else:
                    start_cycle(c, j, c.found_size)
                wake_strict(c)
                return True
        if c.actors_woken == 0:
            break
    return False
