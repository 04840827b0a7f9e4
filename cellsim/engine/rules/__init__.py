"""The rulebook of a cell: plain functions over the state of one run, a file a topic.

Every rule is registered by `@rule`, which returns it unchanged: the SimPy clock calls the functions as they
are, a compiled clock makes a twin of each.  A module calls only modules above it in this list:

    order      what is due, and whose turn it is
    ledger     time in state, work in progress
    path       what released what
    progress   a job begins, pauses, goes on, ends
    carriers   pallets, fixtures and baskets come back
    faults     what nobody sees: how units become faulty, and how faults are found and put right
    units      a unit enters and leaves, which variant is next
    stores     places between stations
    choices    which units a cycle takes where not simply the first
    boarding   units are put on carriers
    abilities  what somebody can do just now, and how fast
    hands      grippers, picks that fail
    people     who is free, who goes where (robots too)
    stops      standstill and repair
    put_down   work put down before it is done
    zones      space that robots share with people
    ways       which of several ways a finished unit goes
    quality    good or not, and where to
    handover   units change hands
    material   purchased parts, lots, bars, the hourly plan, finished goods that are collected
    windows    what has waited too long, batches by the clock
    inside     what is done while a machine works alone
    stations   the cycle of a machine
    in_place   repairs and tests of samples on the machine, after the cycle
    dials      indexing tables
    changeover from one variant to another
    visits     loading and unloading by somebody who comes
    errands    units that robots move from place to place
    calls      whom a free person or robot serves
    urgent     who comes to a repair although busy or off duty
    teams      who of a team is there
    calendar   shifts, breaks
    instant    everything that happens at one instant, in order
    run        how a run begins, is read, and comes to a stand
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])

RULES: list[Callable[..., Any]] = []


def rule(function: F) -> F:
    """Register a rule; it stays an ordinary function."""
    RULES.append(function)
    return function
