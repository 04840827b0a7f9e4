"""What is due, and whose turn it is: the lists through which rules reach each other.

A rule never calls a rule of a later topic.  It writes what is due at a later instant into the list of
due events, and wakes the machines and persons whose chance it may have changed; they are tried at the end of
the instant, the station furthest down the route first.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.rules import rule


@rule
def expect(c: Any, at: int, kind: int, who: int, version: int) -> None:
    """Note that something is due at time `at`; it counts only if `version` is still current then."""
    d = c.due[c.due_count]
    d.at = at
    d.kind = kind
    d.who = who
    d.version = version
    c.due_count += 1


@rule
def wake(c: Any, i: int) -> None:
    """Let machine `i` be tried at this instant.  The list is kept in order of rank, next one last."""
    m = c.machines[i]
    if m.woken == 0:
        m.woken = 1
        k = c.woken_count
        c.woken_count = k + 1
        woken = c.woken
        rank = m.rank
        while k > 0 and c.machines[woken[k - 1]].rank > rank:
            woken[k] = woken[k - 1]
            k -= 1
        woken[k] = i


@rule
def comes_first(c: Any, i: int) -> bool:
    """Whether machine `i`, which is not woken, is further down the route than all that are."""
    k = c.woken_count
    return k == 0 or c.machines[c.woken[k - 1]].rank < c.machines[i].rank


@rule
def wake_actor(c: Any, a: int) -> None:
    """Let person or robot `a` look for a call at this instant."""
    actor = c.actors[a]
    if actor.woken == 0:
        actor.woken = 1
        c.actors_woken += 1


@rule
def wake_errand(c: Any, j: int) -> None:
    """Job `j` may go on: if it is an errand, try a machine that it has to do with, and with it the errand."""
    if c.errand_base <= j < c.supply_base:
        errand = c.errands[j - c.errand_base]
        s = errand.to_station if errand.to_station >= 0 else errand.from_station
        wake(c, c.stations[s].first_machine)


@rule
def note(c: Any, what: int, who: int, other: int) -> None:
    """Write one line of the trace."""
    n = c.notes[c.note_count]
    n.at = c.now
    n.what = what
    n.who = who
    n.other = other
    c.note_count += 1
