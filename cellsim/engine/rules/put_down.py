"""Work that is put down before it is done, so that somebody else can go on with it.

What is put down calls again at once and keeps its place among the calls.  What is left to do stays the same
whoever goes on with it.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import ACTIVE, CALLING, N_PUTS_DOWN, PAUSED, TRAVELLING
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.people import dismiss, wake_able
from cellsim.engine.rules.progress import interrupt
from cellsim.engine.rules.stops import change_repairs


@rule
def can_be_put_down(c: Any, j: int) -> bool:
    """Whether job `j` is an attended cycle or a repair under way.

    A visit to a machine and work inside machine time are not divided.
    """
    job = c.jobs[j]
    if c.machine_count <= j < c.repair_base or j >= c.inside_base:
        return False
    if job.state == ACTIVE or job.state == TRAVELLING:
        return job.due > c.now
    return job.state == PAUSED


@rule
def put_down(c: Any, j: int) -> None:
    """The crew of job `j` leaves it where it stands; it calls for somebody to go on."""
    job = c.jobs[j]
    begun = job.state == ACTIVE or (job.state == PAUSED and job.was == ACTIVE)
    if job.state != PAUSED:
        interrupt(c, j)
    if c.tracing == 1:
        for x in range(job.crew_size):
            note(c, N_PUTS_DOWN, job.crew[x], j)
    if j >= c.repair_base:
        stop = c.stops[j - c.repair_base]
        c.urgent += stop.interrupts
        if begun:
            stop.repair_time += c.now - stop.began
            stop.began = c.now
            change_repairs(c, j - c.repair_base, -1)
    job.state = CALLING
    dismiss(c, j)
    if j < c.machine_count:
        wake(c, j)
    wake_able(c, job.need, job.needs)
