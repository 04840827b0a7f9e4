"""A unit enters the cell and leaves it, and which variant is released next."""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import uniform
from cellsim.engine.layout import AT_RANDOM, CAMPAIGNS
from cellsim.engine.rules import rule
from cellsim.engine.rules.carriers import get_off_all
from cellsim.engine.rules.faults import forget_faults
from cellsim.engine.rules.ledger import book_wip
from cellsim.engine.rules.order import wake


@rule
def choose_variant(c: Any, p: int) -> None:
    """Plan `p` decides which variant is next: drawn, or the one that is furthest behind its share."""
    plan = c.plans[p]
    if plan.kind == AT_RANDOM:
        u = uniform(c.streams[plan.stream])
        v = 1
        upto = c.shares[1]
        while v < c.variant_count and u >= upto:
            v += 1
            upto += c.shares[v]
        plan.variant = v
        return
    plan.variant = 1
    most = c.shares[1] * (plan.made + 1) - c.plan_counts[plan.first_count + 1]
    for v in range(2, c.variant_count + 1):
        behind = c.shares[v] * (plan.made + 1) - c.plan_counts[plan.first_count + v]
        if behind > most + 1e-9:
            most = behind
            plan.variant = v


@rule
def start_plan(c: Any, p: int) -> None:
    """Plan `p` begins: its first campaign, or its first variant."""
    plan = c.plans[p]
    if plan.kind == CAMPAIGNS:
        campaign = c.campaigns[plan.first_campaign]
        plan.left = campaign.units
        plan.variant = campaign.variant
    else:
        choose_variant(c, p)


@rule
def advance_plan(c: Any, p: int) -> None:
    """A unit of the variant that was next by plan `p` is released."""
    plan = c.plans[p]
    if plan.kind == CAMPAIGNS:
        plan.left -= 1
        if plan.left == 0:
            plan.turn = (plan.turn + 1) % plan.campaigns
            campaign = c.campaigns[plan.first_campaign + plan.turn]
            plan.left = campaign.units
            before = plan.variant
            plan.variant = campaign.variant
            if plan.variant != before:
                wake_all(c)  # who waits for the last unit of the old variant may go over to the new one
    else:
        plan.made += 1
        c.plan_counts[plan.first_count + plan.variant] += 1
        choose_variant(c, p)


@rule
def wake_all(c: Any) -> None:
    """Let every machine be tried at this instant."""
    for i in range(c.machine_count):
        wake(c, i)


@rule
def may_be_released(c: Any, v: int) -> bool:
    """Whether a unit of variant `v` may enter: where the line empties first, no other variant is inside."""
    if c.line_empties == 1:
        for other in range(1, c.variant_count + 1):
            if other != v and c.inside[other] > 0:
                return False
    return True


@rule
def take_row(c: Any) -> int:
    """A row for a unit: one that is free again, or the next that was never used in this run."""
    u = c.free_part
    c.free_parts -= 1
    if u >= 0:
        c.free_part = c.parts[u].next
        return u
    u = c.parts_made
    c.parts_made += 1
    part = c.parts[u]
    part.card = 0
    part.faults = 0
    part.been = 0
    for k in range(c.carrier_kind_count):
        part.on[k] = 0
    return u


@rule
def new_unit(c: Any, node: int, variant: int, line: int) -> int:
    """A unit of a variant (0 = fits all) enters the cell now; `line` is the raw store it comes from."""
    u = take_row(c)
    part = c.parts[u]
    part.next = -1
    part.inside = 1
    part.entered = c.now
    part.stored = c.now
    part.node = node
    if c.loops > 0:
        for k in range(u * c.loops, (u + 1) * c.loops):
            c.tries[k] = 0
    part.variant = variant
    part.line = line
    part.at = -1
    part.ready = 1
    part.tray = 0
    c.inside[variant] += 1
    c.created += 1
    book_wip(c, 1)
    return u


@rule
def raw_unit(c: Any, s: int, node: int) -> int:
    """A raw unit enters the cell through store `s`, of the variant that is next there."""
    p = c.stores[s].plan
    if p < 0:
        return new_unit(c, node, 0, s)
    v = c.plans[p].variant
    u = new_unit(c, node, v, s)
    advance_plan(c, p)
    return u


@rule
def drop_unit(c: Any, u: int, node: int) -> None:
    """Unit `u` leaves the cell now, good, scrapped or built into another; `node` released that."""
    part = c.parts[u]
    c.wip_stays += c.now - part.entered
    if c.carrier_kind_count > 0:
        get_off_all(c, u)
    part.inside = 0
    if c.hidden == 1:
        forget_faults(c, u)
    if part.card == 1:
        part.card = 0
        c.on_cards -= 1
    part.next = c.free_part
    c.free_part = u
    c.free_parts += 1
    c.inside[part.variant] -= 1
    if part.variant > 0 and c.inside[part.variant] == 0:
        c.emptied_node = node
        wake_all(c)  # a line that empties may go on, and nothing of this variant can come any more
    book_wip(c, -1)
