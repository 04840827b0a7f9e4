"""Condensing the log of the path: what anything still names keeps its whole history, the rest goes.

The log is made by hand: a trunk of ten activities that all have in common, four that nobody names any
more, then two for each kind of thing that may name one.  Causes and lengths differ, so that nothing can be
mixed up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.rules.path import add_node, condense
from cellsim.engine.rules.units import new_unit

TEXT = """
cell: log
crew: {ann: {}, bob: {}}
route: [press, tray, fit, rack, pack, box, seal]
stations:
  press: {cycle: 10 s, by: ann}
  fit: {cycle: 10 s, by: bob}
  pack: {cycle: 10 s, by: ann}
  seal: {cycle: 10 s, by: bob}
stores: {tray: 3, rack: 3, box: 3}
"""

Chain = dict[int, tuple[int, int]]  # cause -> (time, planned time)

HOLDERS: dict[str, tuple[Callable[[Any], int], Callable[[Any, int], None]]] = {
    "machine": (lambda c: c.machines[1].node, lambda c, k: setattr(c.machines[1], "node", k)),
    "job": (lambda c: c.jobs[2].node, lambda c, k: setattr(c.jobs[2], "node", k)),
    "store": (lambda c: c.stores[1].node, lambda c, k: setattr(c.stores[1], "node", k)),
    "person": (lambda c: c.actors[1].node, lambda c, k: setattr(c.actors[1], "node", k)),
    "unit": (lambda c: c.parts[c.parts_made - 1].node, lambda c, k: None),
    "release": (lambda c: c.release_node, lambda c, k: setattr(c, "release_node", k)),
    "line that emptied": (lambda c: c.emptied_node, lambda c, k: setattr(c, "emptied_node", k)),
    "last good unit": (lambda c: c.last_good, lambda c, k: setattr(c, "last_good", k)),
}


def history(c: Any, k: int) -> Chain:
    """Time and planned time by cause from node `k` back to the start, what was added up before included."""
    found = {
        cause: (c.path_totals[cause], c.path_plans[cause])
        for cause in range(c.cause_count)
        if c.path_totals[cause] or c.path_plans[cause]
    }
    while k > 0:
        n = c.path[k]
        time, plan = found.get(n.cause, (0, 0))
        found[n.cause] = (time + n.end - c.path[n.before].end, plan + n.plan)
        k = n.before
    return found


def later(c: Any, before: int, cause: int) -> int:
    """One more activity, which ends some time after everything so far."""
    c.now += 7 + c.path_count
    return add_node(c, before, cause % c.cause_count, 3 + c.path_count)


def grown(trunk: int) -> tuple[Any, int, list[int]]:
    """A state whose log has this trunk; a unit, and the last node of each holder in the order of HOLDERS."""
    c = SimpyRun(compile_cell(load_text(TEXT)), 1, 0).state
    for rows in (c.machines, c.jobs, c.stores, c.actors, c.parts):
        for row in rows:
            row.node = 0
    c.path_count, c.now, c.release_node, c.last_good = 1, 0, 0, 0
    k = 0
    for step in range(trunk):
        k = later(c, k, step)
    for step in range(4):
        later(c, k, step)
    leaves = [later(c, later(c, k, step), step + 1) for step in range(len(HOLDERS))]
    u = new_unit(c, leaves[list(HOLDERS).index("unit")], 0, -1)
    for leaf, (_, name) in zip(leaves, HOLDERS.values(), strict=True):
        name(c, leaf)
    return c, u, leaves


def node_of(c: Any, u: int, holder: str) -> int:
    """The node that a holder names."""
    return int(c.parts[u].node if holder == "unit" else HOLDERS[holder][0](c))


@pytest.mark.parametrize("holder", HOLDERS)
def test_whoever_names_an_activity_keeps_its_history(holder):
    """Before and after, the history of each holder has the same time and plan for every cause."""
    c, u, leaves = grown(10)
    before = history(c, leaves[list(HOLDERS).index(holder)])
    condense(c)
    assert history(c, node_of(c, u, holder)) == before
    assert c.path_forced == 0


@pytest.mark.parametrize("holder", HOLDERS)
def test_an_activity_that_only_one_names_is_kept_for_him(holder):
    """The same where nothing else names a recent activity: nobody's history hangs on another's."""
    c, u, _ = grown(10)
    for other, (_, name) in HOLDERS.items():
        if other not in (holder, "last good unit", "unit"):
            name(c, 0)
    if holder != "unit":
        c.parts[u].inside = 0
    before = history(c, node_of(c, u, holder))
    condense(c)
    assert history(c, node_of(c, u, holder)) == before


def test_what_nobody_names_is_dropped_and_the_trunk_added_up():
    """Of 1 + 10 + 4 + 16 rows the origin and the 16 of the holders stay; the origin ends with the trunk."""
    c, _, _ = grown(10)
    end = c.path[10].end
    condense(c)
    assert c.path_count == 1 + 2 * len(HOLDERS)
    assert c.path[0].end == end
    assert sum(c.path_totals) == end
    assert sum(c.path_plans) == sum(3 + k for k in range(1, 11))


def test_condensing_twice_is_condensing_once():
    """A second time there is nothing in common to drop: histories stay, and nothing is added twice."""
    c, u, leaves = grown(10)
    before = [history(c, leaf) for leaf in leaves]
    condense(c)
    condense(c)
    assert [history(c, node_of(c, u, holder)) for holder in HOLDERS][-1] == before[-1]


def test_where_nothing_recent_is_shared_the_last_good_unit_counts():
    """With a trunk of one, far back, half of the log goes all the same: the last good unit stays exact."""
    c, u, leaves = grown(1)
    for step in range(12):
        later(c, 0, step)
    c.machines[0].node = later(c, 0, 1)
    before = history(c, leaves[-1])
    condense(c)
    assert c.path_forced == 1
    assert history(c, node_of(c, u, "last good unit")) == before
