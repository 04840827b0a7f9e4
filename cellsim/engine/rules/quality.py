"""Good or not, and where to: the verdict at the end of a cycle."""

from __future__ import annotations

from typing import Any

from cellsim.engine.draws import chance
from cellsim.engine.layout import BY_SHARE, N_REJECTS, SCRAP
from cellsim.engine.rules import rule
from cellsim.engine.rules.order import note
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
def judge(c: Any, i: int) -> None:
    """The station of machine `i` tests what it has finished: decide what becomes of what is on it."""
    m = c.machines[i]
    station = c.stations[m.station]
    part = c.parts[m.unit]
    if part.tried_at != m.station:
        part.tried_at = m.station
        part.tries = 0
    good = is_good(c, m.station, part.tries)
    station.judged += 1
    if part.tries == 0:
        station.first_tests += 1
    if good:
        if part.tries == 0:
            station.first_pass += 1
        part.tried_at = -1
        send_on(c, i)
        return
    station.rejected += 1
    part.tries += 1
    if c.tracing == 1:
        note(c, N_REJECTS, i, part.tries)
    if station.reject_store < 0 or (station.attempts > 0 and part.tries >= station.attempts):
        m.outlet = SCRAP
    else:
        m.outlet = station.reject_store
        m.front = station.reject_front
        m.holds_back = station.reject_holds
