"""Work inside machine time: what a person does while the machine works alone.

It is called for when the machine begins to work alone, after all other calls; the machine begins its next
work alone only when it is done.  So with constant times a cycle lasts as long as the longer of both sides.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import ACTIVE, IDLE
from cellsim.engine.rules import rule
from cellsim.engine.rules.abilities import count_repetition
from cellsim.engine.rules.order import wake
from cellsim.engine.rules.path import bind
from cellsim.engine.rules.people import attend, claim, dismiss, set_out, step_length, step_plan
from cellsim.engine.rules.progress import begin


@rule
def may_work_alone(c: Any, i: int, step: int) -> bool:
    """Whether machine `i` may begin `step`: not while what belongs to its last work alone is not done."""
    if c.steps[step].alone == 0 or c.machines[i].inside_called > 0:
        return True
    job = c.jobs[c.inside_base + i]
    return job.state == IDLE


@rule
def begin_inside(c: Any, i: int, size: int) -> None:
    """The people written down for the work inside the machine time of machine `i` begin it."""
    x = c.inside_base + i
    job = c.jobs[x]
    job.node = bind(c, max(job.node, claim(c, x, size)), c.cause_calendar)
    start_inside_step(c, i)


@rule
def start_inside_step(c: Any, i: int) -> None:
    """The next element inside the machine time of machine `i`: go there, then work."""
    x = c.inside_base + i
    if not set_out(c, x, c.steps[c.jobs[x].step].point):
        work_inside(c, i)


@rule
def work_inside(c: Any, i: int) -> None:
    """Whoever works inside the machine time of machine `i` stands where the element is done and begins it."""
    x = c.inside_base + i
    job = c.jobs[x]
    step = c.steps[job.step]
    length = step_length(c, x, job.crew_size)
    if c.learning == 1:
        count_repetition(c, x)
    begin(c, x, ACTIVE, length, step.cause, step_plan(c, x))
    attend(c, x)


@rule
def end_inside_step(c: Any, i: int) -> None:
    """An element inside the machine time of machine `i` has ended; after the last one everybody is free."""
    x = c.inside_base + i
    job = c.jobs[x]
    if job.step < job.last_step:
        job.step += 1
        start_inside_step(c, i)
    else:
        dismiss(c, x)
        wake(c, i)
