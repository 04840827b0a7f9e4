"""Elements after the cycle, for units that need them: repair on the machine and tests of samples.

The unit stays on the machine meanwhile.  A repaired unit is judged again; a sample is destroyed or goes on.
"""

from __future__ import annotations

from typing import Any

from cellsim.engine.layout import N_ENDS, SCRAP
from cellsim.engine.rules import rule
from cellsim.engine.rules.faults import mend
from cellsim.engine.rules.handover import empty_machine, free_cards, scrap_unit
from cellsim.engine.rules.order import note, wake
from cellsim.engine.rules.quality import judge, stay_for
from cellsim.engine.rules.stations import conclude
from cellsim.engine.rules.stores import give_back, wake_feeders


@rule
def put_last(c: Any, i: int, u: int) -> None:
    """Unit `u` lies behind the others on machine `i`."""
    m = c.machines[i]
    c.parts[u].next = -1
    if m.unit < 0:
        m.unit = u
        return
    last = m.unit
    while c.parts[last].next >= 0:
        last = c.parts[last].next
    c.parts[last].next = u


@rule
def end_sample(c: Any, i: int) -> None:
    """A sample on machine `i` has been tested: it goes on unless the test destroys it or it is faulty."""
    m = c.machines[i]
    station = c.stations[m.station]
    u = m.unit
    m.unit = c.parts[u].next
    m.samples -= 1
    station.sampled += 1
    faulty = c.parts[u].faults != 0
    if faulty:
        station.sampled_faulty += 1
    if faulty or station.destroys == 1:
        m.units -= 1
        scrap_unit(c, i, u)
        free_cards(c, m.node)
    else:
        put_last(c, i, u)


@rule
def conclude_samples(c: Any, i: int) -> None:
    """All samples on machine `i` are tested: what is left of its units goes on."""
    m = c.machines[i]
    station = c.stations[m.station]
    if m.unit < 0:
        m.outlet = SCRAP
    conclude(c, i)
    if station.reserves == 1 and 0 < m.units < m.kept:
        store = c.stores[m.outlet]
        give_back(c, m.outlet, m.kept - m.units)
        store.node = max(store.node, m.node)
        wake_feeders(c, m.outlet)
    if m.unit < 0:
        empty_machine(c, i)


@rule
def end_extra_step(c: Any, i: int) -> None:
    """The repair or the test of a sample on machine `i` has ended."""
    m = c.machines[i]
    station = c.stations[m.station]
    m.node = c.jobs[i].node
    if c.tracing == 1:
        note(c, N_ENDS, i, m.step)
    wake(c, i)
    if m.step == station.repair_step:
        if station.mends > 0.0:
            mend(c, i)
        if not judge(c, i):
            conclude(c, i)
        return
    end_sample(c, i)
    if m.samples > 0:
        stay_for(c, i, station.sample_step)
    else:
        conclude_samples(c, i)
