"""Which machines can never hand over what they hold, whatever else still moves in the cell.

A machine with a finished unit is stuck for good when the place it goes to is full and only machines that are
stuck for good take from there, or when only robots that stand with a unit for such machines come to unload
it.  Wherever something else could free a place or take the unit, the machine does not count as stuck.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cellsim.engine import layout as L
from cellsim.engine.record import circle_words
from cellsim.engine.rules.stores import has_room
from cellsim.engine.tables import natural
from cellsim.engine.waiting_robots import machines_of, unloaders, waiting_errands

Waits = dict[int, list[int]]  # who waits -> for whom; robots come after machines, as in `waits_of_robots`


@dataclass(frozen=True)
class LockedPart:
    """A part of the cell that is stuck for good: since when (microseconds), and why in words."""

    since: int
    words: list[str]
    full: list[str]  # stores that nothing empties, where it is no circle


def locked_part(c: Any, names: Any) -> LockedPart | None:
    """The part of the cell that got stuck for good first; None while everything may still move."""
    stuck = stuck_for_good(c)
    if not stuck:
        return None
    since = {who: _since(c, who) for who in stuck}
    parts = {who: _all_before(stuck, who) for who in stuck}
    at, first = min((max(since[other] for other in parts[who]), who) for who in stuck)
    ends = [who for who in sorted(parts[first]) if not stuck[who]]
    if ends:
        full = {names.stores[_way(c, who, -1)] for who in ends}
        words = [_saying(c, names, who, -1) for who in ends]
        return LockedPart(at, words, sorted(full, key=natural))
    said = {who: [(other, _saying(c, names, who, other)) for other in stuck[who]] for who in parts[first]}
    return LockedPart(at, circle_words(said), [])


def stuck_for_good(c: Any) -> Waits:
    """The machines and robots that can never get rid of what they hold, each with those it waits for."""
    waits: Waits = {}
    count = len(c.machines)
    for _, errand in waiting_errands(c):
        if errand.to_station >= 0:
            waits[count + errand.robot] = list(machines_of(c, errand.to_station))
        elif _is_full(c, errand.store, 1):
            waits[count + errand.robot] = _takers(c, errand.store)
    for i, m in enumerate(c.machines):
        others = _waits_of(c, i, m, waits)
        if others is not None:
            waits[i] = others
    changed = True
    while changed:
        free = [who for who, others in waits.items() if any(other not in waits for other in others)]
        for who in free:
            del waits[who]
        changed = bool(free)
    return waits


def _waits_of(c: Any, i: int, m: Any, robots: Waits) -> list[int] | None:
    """Whom finished machine `i` waits for; None while it may get rid of its units by itself."""
    station, visit = c.stations[m.station], c.jobs[c.visit_base + i]
    if m.progress != L.DONE or m.outlet < 0 or m.leaving or m.holds_place:
        return None
    if visit.state not in (L.IDLE, L.CALLING) or (station.dial and c.dials[station.dial - 1].turning):
        return None
    count = len(c.machines)
    called = {count + a for a in unloaders(c, m)}
    if called and not m.choosing and all(robot in robots for robot in called):
        return sorted(called)
    ways = c.outlets[station.first_outlet : station.first_outlet + station.outlets]
    found: list[int] = []
    for s in [way.store for way in ways] if m.choosing else [m.outlet]:
        held = m.holds_back and not called  # whoever unloads it lays it down in the store all the same
        if not (held or _is_full(c, s, m.units)) or _is_taken_unasked(c, s):
            return None
        found += _takers(c, s)
    if any(errand.from_station == m.station and not errand.checks for errand in c.errands):
        return None
    return found


def _is_full(c: Any, s: int, units: int) -> bool:
    """Whether `units` find no place in store `s`, even if all places kept there were given back."""
    store = c.stores[s]
    if store.use_within >= 0:
        return False
    if store.kind == L.PLACES:
        return not has_room(c, s, units - store.reserved)
    return bool(store.kind == L.HAND_OVER)


def _is_taken_unasked(c: Any, s: int) -> bool:
    """Whether a robot may take from store `s` before a machine there is empty."""
    stations = {c.machines[i].station for i in _takers(c, s)}
    if any(c.stations[k].fetcher for k in stations):
        return True
    waiting = {e for e, _ in waiting_errands(c)}
    return any(
        errand.to_station in stations and errand.from_station < 0 and not errand.checks and e not in waiting
        for e, errand in enumerate(c.errands)
    )


def _takers(c: Any, s: int) -> list[int]:
    store = c.stores[s]
    return list(c.takers[store.first_taker : store.first_taker + store.takers])


def _all_before(stuck: Waits, who: int) -> set[int]:
    """`who` and all those that it waits for, directly or through others."""
    found, new = {who}, [who]
    while new:
        others = [other for other in stuck[new.pop()] if other not in found]
        found.update(others)
        new += others
    return found


def _since(c: Any, who: int) -> int:
    """When `who` got ready what it holds, or found its place taken."""
    count = len(c.machines)
    if who >= count:
        at = next(c.jobs[c.errand_base + e].due for e, x in waiting_errands(c) if x.robot == who - count)
    else:
        at = max(c.jobs[who].due, c.jobs[c.visit_base + who].due)
    store = c.stores[_way(c, who, -1)]
    return max(at, _latest_entry(c, store)) if store.kind == L.PLACES else int(at)


def _latest_entry(c: Any, store: Any) -> int:
    latest, u = 0, store.head
    while u >= 0:
        latest = max(latest, c.parts[u].stored)
        u = c.parts[u].next
    return latest


def _way(c: Any, who: int, other: int) -> int:
    """The store that `who` waits for, so that `other` (-1: nobody) would have to take from it."""
    count = len(c.machines)
    if who >= count:
        return int(_errand_of(c, who - count).store)
    m = c.machines[who]
    if m.choosing and other >= 0:
        station = c.stations[m.station]
        ways = c.outlets[station.first_outlet : station.first_outlet + station.outlets]
        return int(next(way.store for way in ways if other in _takers(c, way.store)))
    return int(m.outlet)


def _errand_of(c: Any, robot: int) -> Any:
    return next(errand for _, errand in waiting_errands(c) if errand.robot == robot)


def _saying(c: Any, names: Any, who: int, other: int) -> str:
    count = len(c.machines)
    if other >= count:
        return f"{names.machines[who]} has finished and waits for {names.actors[other - count]}"
    if who < count:
        return f"{names.machines[who]} holds a unit for {names.stores[_way(c, who, other)]}"
    errand = _errand_of(c, who - count)
    to = names.stations[errand.to_station] if errand.to_station >= 0 else names.stores[errand.store]
    return f"{names.actors[who - count]} holds a unit for {to}"
