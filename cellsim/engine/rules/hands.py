"""What a robot's hand adds to its work: changes of gripper, and picks that fail."""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import chance
from cellsim.engine.layout import N_GRIPPER, N_MISSES, TRAVELLING
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import note
from cellsim.engine.rules.progress import begin, strike_after


@rule
def take_gripper(c: Any, a: int, gripper: int) -> None:
    """Robot `a` has changed to `gripper`."""
    actor = c.actors[a]
    actor.gripper = gripper
    actor.changes += 1
    if c.tracing == 1:
        note(c, N_GRIPPER, a, gripper)


@rule
def begins_change(c: Any, j: int) -> bool:
    """Whether a robot of job `j` must change its gripper before it sets out, and now begins to.

    The first gripper that a robot needs is on it from the start.
    """
    job = c.jobs[j]
    if c.repair_base <= j < c.inside_base:
        return False
    gripper = c.steps[job.step].gripper
    if gripper < 0:
        return False
    longest = 0
    slowest = -1
    for k in range(job.crew_size):
        a = job.crew[k]
        actor = c.actors[a]
        if actor.robot == 1 and actor.gripper != gripper:
            if actor.gripper < 0:
                actor.gripper = gripper
            elif actor.gripper_change == 0:
                take_gripper(c, a, gripper)
            elif actor.gripper_change > longest:
                longest = actor.gripper_change
                slowest = a
    if longest == 0:
        return False
    job.changing = 1
    begin(c, j, TRAVELLING, longest, c.actors[slowest].change_cause, longest)
    return True


@rule
def end_change(c: Any, j: int) -> None:
    """The robots of job `j` have the gripper that its step needs."""
    job = c.jobs[j]
    job.changing = 0
    gripper = c.steps[job.step].gripper
    for k in range(job.crew_size):
        a = job.crew[k]
        if c.actors[a].robot == 1 and c.actors[a].gripper != gripper:
            take_gripper(c, a, gripper)


@rule
def missed_time(c: Any, j: int) -> int:
    """How much longer the step of job `j` takes because of picks that fail; who is called comes on top.

    The call is a stop of the robot, due when the retries that failed have used up their time.
    """
    job = c.jobs[j]
    step = c.steps[job.step]
    extra = 0
    for k in range(job.crew_size):
        a = job.crew[k]
        actor = c.actors[a]
        if actor.miss_stop >= 0:
            stream = c.streams[step.miss_stream]
            stop = c.stops[actor.miss_stop]
            calls = 0
            for _ in range(step.picks):
                actor.picks += 1
                if chance(stream, actor.miss_share):
                    actor.missed += 1
                    if c.tracing == 1:
                        note(c, N_MISSES, a, 0)
                    works = False
                    tries = 0
                    while tries < actor.miss_retries and not works:
                        tries += 1
                        extra += actor.miss_retry
                        works = chance(stream, actor.miss_works)
                    if not works:
                        calls += 1
                        if calls == 1:
                            strike_after(c, actor.miss_stop, extra if extra > 0 else 1)
            if calls > 0:
                stop.more = calls - 1
            return extra
    return extra
