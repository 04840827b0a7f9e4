"""Good or not, and where to: the verdict at the end of a cycle."""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import chance
from cellsim.engine.layout import BY_SHARE, N_REJECTS, SCRAP
from cellsim.engine.rules import rule
from cellsim.engine.rules.faults import looks_good
from cellsim.engine.rules.order import note
from cellsim.engine.rules.people import dismiss
from cellsim.engine.rules.ways import find_way


@rule
def is_good(c: Any, s: int, tries: int) -> bool:
    """The verdict of station `s` on a unit that it has rejected `tries` times before."""
    station = c.stations[s]
    if station.verdicts > 0:
        k = station.first_verdict + station.judged % station.verdicts
        return c.verdicts[k] == 1
    share = station.reject_again if tries > 0 else station.reject_share
    return not chance(c.streams[station.verdict_stream], share)


@rule
def send_on(c: Any, i: int) -> None:
    """Choose the outlet for the units on machine `i`, which are good or not tested here."""
    m = c.machines[i]
    station = c.stations[m.station]
    k = station.first_outlet
    if station.chooses != BY_SHARE and station.reserves == 0:
        m.choosing = 1  # which way is seen when the unit is to be handed over
    elif station.outlets > 1:
        k = find_way(c, i)
    m.outlet = c.outlets[k].store
    m.front = c.outlets[k].front


@rule
def spoil(c: Any, i: int) -> None:
    """What machine `i` has finished is among the first units after a stop and is scrapped."""
    m = c.machines[i]
    m.outlet = SCRAP
    m.spoils = m.spoils - m.units if m.spoils > m.units else 0
    c.stops[m.spoiled_by].spoilt += m.units


@rule
def stay_for(c: Any, i: int, step: int) -> None:
    """What is on machine `i` stays for `step`, an element after the cycle; the crew stays if it fits."""
    job = c.jobs[i]
    c.machines[i].step = step
    job.step = step
    if job.crew_size > 0:
        if c.steps[step].first_need != job.need or c.steps[step].needs != job.needs:
            dismiss(c, i)


@rule
def set_tries(c: Any, i: int, tries: int) -> None:
    """The station of machine `i` has rejected the units on it `tries` times in a row."""
    m = c.machines[i]
    loop = c.stations[m.station].loop
    if loop >= 0:
        u = m.unit
        while u >= 0:
            c.tries[u * c.loops + loop] = tries
            u = c.parts[u].next


@rule
def reject(c: Any, i: int, tries: int) -> bool:
    """The units on machine `i` are rejected for the `tries`-th time; whether they stay to be repaired."""
    m = c.machines[i]
    station = c.stations[m.station]
    if c.tracing == 1:
        note(c, N_REJECTS, i, tries)
    if station.attempts > 0 and tries >= station.attempts:
        set_tries(c, i, 0)
        m.outlet = SCRAP
        if station.then_store >= 0:
            m.outlet = station.then_store
            m.front = station.then_front
        return False
    set_tries(c, i, tries)
    if station.repair_step >= 0:
        stay_for(c, i, station.repair_step)
        return True
    m.outlet = SCRAP
    if station.reject_store >= 0:
        m.outlet = station.reject_store
        m.front = station.reject_front
        m.holds_back = station.reject_holds
    return False


@rule
def pick_samples(c: Any, i: int) -> bool:
    """Count the good units on machine `i`; whether samples of them are to be tested now."""
    m = c.machines[i]
    station = c.stations[m.station]
    before = station.passed // station.sample_every
    station.passed += m.units
    m.samples = station.passed // station.sample_every - before
    if m.samples == 0:
        return False
    stay_for(c, i, station.sample_step)
    return True


@rule
def judge(c: Any, i: int) -> bool:
    """Decide what becomes of what is on machine `i`; whether it stays for an element after the cycle."""
    m = c.machines[i]
    station = c.stations[m.station]
    if station.judges == 1:
        tries = c.tries[m.unit * c.loops + station.loop] if station.loop >= 0 else 0
        tests = 1
        if station.inspects == 1:
            tests = m.units
            good = looks_good(c, i)
        else:
            good = is_good(c, m.station, tries)
        station.judged += tests
        if tries == 0:
            station.first_tests += tests
        if not good:
            station.rejected += tests
            return reject(c, i, tries + 1)
        if tries == 0:
            station.first_pass += tests
        else:
            set_tries(c, i, 0)
    send_on(c, i)
    return station.sample_step >= 0 and pick_samples(c, i)
