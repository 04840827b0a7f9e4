"""A machine goes over from one variant to another."""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import CHANGING, EMPTY
from cellsim.engine.rules import rule
from cellsim.engine.rules.choices import choose_units, latest_chosen
from cellsim.engine.rules.order import wake
from cellsim.engine.rules.people import dismiss


@rule
def pair(c: Any, i: int, v: int) -> int:
    """Where the changeover of machine `i` to variant `v` stands among those of its station."""
    return int(c.machines[i].setup * (c.variant_count + 1) + v)


@rule
def needs_change(c: Any, i: int, v: int) -> bool:
    """Whether machine `i` must be changed over before it can work on variant `v`."""
    m = c.machines[i]
    station = c.stations[m.station]
    if station.changes == 0 or v == 0 or m.setup == 0 or v == m.setup:
        return False
    step = c.steps[station.first_change]
    return bool(c.step_laws[step.first_law + pair(c, i, v)].law >= 0)


@rule
def coming_variant(c: Any, i: int) -> int:
    """The variant that comes next to machine `i` if none of its present one can still come; else 0.

    Units on their way are those of the same line that no station from here on has taken; of several
    variants the one that is furthest down the route comes next, then the one that entered first.
    """
    m = c.machines[i]
    line = c.stations[m.station].line
    if line < 0 or c.stores[line].plan < 0:
        return 0
    v = c.plans[c.stores[line].plan].variant
    if v == m.setup:
        return 0
    nearest = -2
    entered = 0
    for u in range(c.parts_made):
        part = c.parts[u]
        if part.inside == 1 and part.line == line and part.at < m.station:
            if part.variant == m.setup:
                return 0
            if part.at > nearest or (part.at == nearest and part.entered < entered):
                nearest = part.at
                entered = part.entered
                v = part.variant
    return int(v)


@rule
def change_due(c: Any, i: int) -> int:
    """The variant that empty machine `i` is to be changed over to now; 0 when it is not."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.progress != EMPTY or m.downs > 0 or station.open == 0:
        return 0
    v = 0
    if choose_units(c, m.station) > 0:
        v = c.pick_variant
    elif station.ahead == 1 and m.setup > 0:
        v = coming_variant(c, i)
        accepts = station.accepts
        if accepts > 0 and (accepts >> v) & 1 == 0:
            v = 0
    return int(v) if needs_change(c, i, v) else 0


@rule
def begin_change(c: Any, i: int, v: int) -> None:
    """Machine `i` is to be changed over to variant `v`; its steps are done like those of a cycle."""
    m = c.machines[i]
    job = c.jobs[i]
    station = c.stations[m.station]
    node = m.node
    if choose_units(c, m.station) > 0:
        node = max(node, latest_chosen(c, m.station))
    job.node = node
    job.which = pair(c, i, v)
    job.quiet = 1
    job.planned = 0
    job.remaining = 0
    m.progress = CHANGING
    m.changes_to = v
    m.step = station.first_change
    job.step = m.step


@rule
def end_change_step(c: Any, i: int) -> None:
    """A step of the changeover of machine `i` has ended; after the last one it is set up."""
    m = c.machines[i]
    job = c.jobs[i]
    station = c.stations[m.station]
    m.node = job.node
    m.step += 1
    job.step = m.step
    wake(c, i)
    if m.step < station.first_change + station.changes:
        return
    m.setup = m.changes_to
    station.changed += 1
    m.progress = EMPTY
    job.quiet = 0
    if job.crew_size > 0:
        dismiss(c, i)
