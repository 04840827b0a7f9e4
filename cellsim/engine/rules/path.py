"""What released what: the log from which the critical path of a run is read.

Each activity (work on an element, a walk, a repair, a wait that nobody's work explains) is one node: the
node that released its start, its cause and its end.  A start happens when the last of its requirements comes
true, and since nodes are written in order of time, that one is simply the requirement with the highest
index.  Walking back from the last good unit, the durations add up to the elapsed time exactly.

The log has a fixed length.  When it is full, the stretch that all later history shares is added up by
cause and dropped (`condense`), so memory does not grow with the length of a run.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.rules import rule


@rule
def add_node(c: Any, before: int, cause: int, plan: int) -> int:
    """An activity that began at the end of node `before` ends now; `plan` is its expected length."""
    k = c.path_count
    n = c.path[k]
    n.before = before
    n.cause = cause
    n.end = c.now
    n.plan = plan
    c.path_count = k + 1
    return k


@rule
def bind(c: Any, before: int, reason: int) -> int:
    """The node that releases a start now: `before`, or a wait for `reason` since `before` ended."""
    if c.path[before].end == c.now:
        return before
    return add_node(c, before, reason, 0)


@rule
def mark(c: Any, k: int) -> None:
    """Mark node `k` and all before it as still named by something."""
    while k > 0 and c.path[k].moved == 0:
        c.path[k].moved = 1
        k = c.path[k].before


@rule
def mark_held(c: Any, recent: int) -> None:
    """Mark the history of everything whose last node is a recent one."""
    for i in range(c.machine_count):
        if c.machines[i].node >= recent:
            mark(c, c.machines[i].node)
    for j in range(c.job_count):
        if c.jobs[j].node >= recent:
            mark(c, c.jobs[j].node)
    for s in range(c.store_count):
        if c.stores[s].node >= recent:
            mark(c, c.stores[s].node)
    for k in range(c.stock_count):
        if c.stocks[k].node >= recent:
            mark(c, c.stocks[k].node)
    for a in range(c.actor_count):
        if c.actors[a].node >= recent:
            mark(c, c.actors[a].node)
    for u in range(c.parts_made):
        if c.parts[u].inside == 1 and c.parts[u].node >= recent:
            mark(c, c.parts[u].node)
    for z in range(c.zone_count):
        if c.zones[z].node >= recent:
            mark(c, c.zones[z].node)
    for x in range(c.carrier_count):
        if c.carriers[x].node >= recent:
            mark(c, c.carriers[x].node)
    for t in range(c.dial_count):
        if c.dials[t].node >= recent:
            mark(c, c.dials[t].node)
    if c.release_node >= recent:
        mark(c, c.release_node)
    if c.emptied_node >= recent:
        mark(c, c.emptied_node)
    mark(c, c.last_good)


@rule
def renamed(c: Any, k: int, cut: int) -> int:
    """The new index of node `k`; what lies at or before the cut, or was dropped, is the origin."""
    return c.path[k].moved if k > cut else 0


@rule
def rename_held(c: Any, cut: int) -> None:
    """Give everything that names a node the node's new index."""
    for i in range(c.machine_count):
        c.machines[i].node = renamed(c, c.machines[i].node, cut)
    for j in range(c.job_count):
        c.jobs[j].node = renamed(c, c.jobs[j].node, cut)
    for s in range(c.store_count):
        c.stores[s].node = renamed(c, c.stores[s].node, cut)
    for k in range(c.stock_count):
        c.stocks[k].node = renamed(c, c.stocks[k].node, cut)
    for a in range(c.actor_count):
        c.actors[a].node = renamed(c, c.actors[a].node, cut)
    for u in range(c.parts_made):
        c.parts[u].node = renamed(c, c.parts[u].node, cut)
    for z in range(c.zone_count):
        c.zones[z].node = renamed(c, c.zones[z].node, cut)
    for x in range(c.carrier_count):
        c.carriers[x].node = renamed(c, c.carriers[x].node, cut)
    for t in range(c.dial_count):
        c.dials[t].node = renamed(c, c.dials[t].node, cut)
    c.release_node = renamed(c, c.release_node, cut)
    c.emptied_node = renamed(c, c.emptied_node, cut)
    c.last_good = renamed(c, c.last_good, cut)


@rule
def trunk_of(c: Any, recent: int) -> int:
    """The latest node before `recent` that the last good unit and all marked history since have in common."""
    trunk = c.last_good if c.last_good < recent else -1
    for k in range(recent, c.path_count):
        n = c.path[k]
        if n.moved == 1 and n.before < recent:
            if trunk == -1:
                trunk = n.before
            other = n.before
            while trunk != other:
                if trunk > other:
                    trunk = c.path[trunk].before
                else:
                    other = c.path[other].before
    return trunk


@rule
def add_up(c: Any, k: int) -> None:
    """Add the stretch from the origin to node `k` to the totals by cause, and what of it is counted."""
    while k > 0:
        n = c.path[k]
        began = c.path[n.before].end
        c.path_totals[n.cause] += n.end - began
        c.path_plans[n.cause] += n.plan
        if c.counting_from >= 0 and n.end > c.counting_from:
            since = max(began, c.counting_from)
            c.path_counted[n.cause] += n.end - since
            c.path_counted_plans[n.cause] += n.plan if since == began else min(n.plan, n.end - since)
        k = n.before


@rule
def walk_back(c: Any, counted: int) -> None:
    """Add up the path from the last good unit back to the start, by cause, into `walked`.

    `counted` = 1: back to where counting started; the activity that spans that instant is cut there.
    """
    since = c.counting_from if counted == 1 else -1
    for cause in range(c.cause_count):
        c.walked[cause] = c.path_counted[cause] if counted == 1 else c.path_totals[cause]
        c.walked_plans[cause] = c.path_counted_plans[cause] if counted == 1 else c.path_plans[cause]
    k = c.last_good
    while k > 0 and c.path[k].end > since:
        n = c.path[k]
        began = c.path[n.before].end
        if began >= since:
            c.walked[n.cause] += n.end - began
            c.walked_plans[n.cause] += n.plan
        else:
            c.walked[n.cause] += n.end - since
            c.walked_plans[n.cause] += min(n.plan, n.end - since)
        k = n.before


@rule
def keep_log_short(c: Any) -> None:
    """Condense the log when it is nearly full."""
    if c.path_count > c.path_limit:
        condense(c)


@rule
def condense(c: Any) -> None:
    """Make room in the log: add up and drop what all recent history shares.

    Lines that never meet share nothing; then the history of the last good unit counts, and `path_forced` says
    so.  Whoever still names a dropped node has been waiting since then: naming the origin instead changes no
    start, because a later requirement is what releases it.
    """
    count = c.path_count
    recent = count // 2
    for k in range(count):
        c.path[k].moved = 0
    mark_held(c, recent)
    trunk = trunk_of(c, recent)
    cut = trunk
    if trunk < recent // 2:
        c.path_forced += 1
        cut = recent - 1
        trunk = c.last_good
        while trunk > cut:
            trunk = c.path[trunk].before
    add_up(c, trunk)
    c.path[0].end = c.path[trunk].end
    kept = 1
    for k in range(cut + 1):
        c.path[k].moved = 0
    for k in range(cut + 1, count):
        n = c.path[k]
        if n.moved == 1:
            to = c.path[kept]
            to.cause = n.cause
            to.end = n.end
            to.plan = n.plan
            to.before = renamed(c, n.before, cut)
            n.moved = kept
            kept += 1
    rename_held(c, cut)
    c.path_count = kept
