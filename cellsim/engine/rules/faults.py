"""What nobody sees: how units become faulty, and how faults are found and put right.

A unit carries its faults as a set of bits, one for each station that makes faults.  Work that is done again
is done anew: it takes away the fault that this station made before, and may make a new one.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import chance
from cellsim.engine.layout import N_FAULT, N_PUT_RIGHT
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import note


@rule
def set_faults(c: Any, u: int, faults: int) -> None:
    """Unit `u` has exactly these faults from now on."""
    part = c.parts[u]
    if part.faults == 0 and faults != 0:
        c.turned_faulty += 1
    elif part.faults != 0 and faults == 0:
        c.put_right += 1
    part.faults = faults


@rule
def forget_faults(c: Any, u: int) -> None:
    """Unit `u` leaves the cell with whatever faults it has."""
    part = c.parts[u]
    if part.faults != 0:
        c.faulty_gone += 1
    part.faults = 0
    part.been = 0


@rule
def copy_faults(c: Any, u: int, new: int) -> None:
    """Unit `new` is made from the same piece as unit `u`, with the faults that the piece had."""
    set_faults(c, new, c.parts[u].faults)
    c.parts[new].been = c.parts[u].been


@rule
def inherit(c: Any, u: int, other: int) -> None:
    """Unit `other`, which may be faulty, is built into unit `u`."""
    set_faults(c, u, c.parts[u].faults | c.parts[other].faults)


@rule
def mend(c: Any, i: int) -> None:
    """What is on machine `i` has been repaired: a share of the faulty units has no fault any more."""
    m = c.machines[i]
    station = c.stations[m.station]
    u = m.unit
    while u >= 0:
        succeeds = chance(c.streams[station.mend_stream], station.mends)
        if succeeds and c.parts[u].faults != 0:
            set_faults(c, u, 0)
            station.mended += 1
            if c.tracing == 1:
                note(c, N_PUT_RIGHT, i, u)
        u = c.parts[u].next


@rule
def becomes_faulty(c: Any, s: int, again: bool) -> bool:
    """Whether the work of station `s` on one unit leaves a fault; `again` if it had the unit before."""
    station = c.stations[s]
    if station.listed_faults > 0:
        k = station.first_fault + station.fault_draws % station.listed_faults
        station.fault_draws += 1
        return c.listed_faults[k] == 1
    return chance(c.streams[station.fault_stream], station.fault_again if again else station.fault_share)


@rule
def make_faults(c: Any, i: int) -> None:
    """The work on machine `i` leaves its faults: in each unit by its own chance, or in all of them."""
    m = c.machines[i]
    station = c.stations[m.station]
    bit = station.fault_bit
    lot = station.lot_share > 0.0 and chance(c.streams[station.lot_stream], station.lot_share)
    u = m.unit
    while u >= 0:
        part = c.parts[u]
        faulty = becomes_faulty(c, m.station, part.been & bit != 0)
        part.been |= bit
        if faulty or lot:
            station.faulted += 1
            set_faults(c, u, part.faults | bit)
            if c.tracing == 1:
                note(c, N_FAULT, i, u)
        else:
            set_faults(c, u, part.faults & ~bit)
        u = part.next


@rule
def work_leaves_faults(c: Any, i: int) -> None:
    """The cycle of machine `i` is done: rework has put units right, work has made some of them faulty."""
    station = c.stations[c.machines[i].station]
    if station.mends > 0.0 and station.repair_step < 0:
        mend(c, i)
    if station.fault_bit != 0:
        make_faults(c, i)


@rule
def looks_good(c: Any, i: int) -> bool:
    """The inspection on machine `i` finds nothing in any unit on it; they are accepted or rejected together.

    One draw a unit: a faulty one is found with the share that the inspection finds, a good one is rejected
    with the share of false rejects.
    """
    m = c.machines[i]
    station = c.stations[m.station]
    good = True
    u = m.unit
    while u >= 0:
        part = c.parts[u]
        if chance(
            c.streams[station.verdict_stream],
            station.finds if part.faults & station.sees != 0 else station.false_share,
        ):
            good = False
        u = part.next
    u = m.unit
    while u >= 0:
        part = c.parts[u]
        if good and part.faults & station.sees != 0:
            station.missed += 1
        elif not good and part.faults == 0:
            station.false_rejects += 1
        u = part.next
    return good
