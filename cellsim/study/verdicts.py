"""What becomes of a unit that a station judges, on average: tests, reworks, repairs in place, units given up.

With r_k the chance of being rejected at test k, given k - 1 rejections before, and n attempts, a unit is
tested 1 + r_1 + r_1 r_2 + ... times, reworked r_1 + r_1 r_2 + ... times, the n-th rejection not among these,
and given up with r_1 r_2 ... r_n.

Where the station looks for hidden faults, r = F d + (1 - F) a: F the share of faulty units, d the share that
is found, a that of false rejects.  Of the rejected F d / r are faulty; rework leaves 1 - m of these, and work
that is done again makes its own fault anew.  Faults of several stations are taken to be independent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from cellsim.describe.cell import Cell, Rejects, Station

MOST_ATTEMPTS = 10_000  # where attempts are not limited
NEGLIGIBLE = 1e-15


@dataclass(frozen=True, slots=True)
class Verdict:
    """Averages for a unit that comes to a station for the first time, or anew after it was given up.

    `tests` cycles of the station; `reworked` units sent to rework, `repaired` on the station; `given_up`
    units that go to the last way out or are scrapped; `faulty` share of faulty ones among the good.
    """

    tests: float = 1.0
    reworked: float = 0.0
    repaired: float = 0.0
    given_up: float = 0.0
    faulty: float = 0.0


def hidden_faults(cell: Cell) -> dict[str, dict[str, float]]:
    """Share of faulty units that come to each station, by the station that made the fault.

    Units are taken to pass the stations in the order of the cell, upstream first.
    """
    carried: dict[str, float] = {}
    found = {}
    for station in cell.stations:
        found[station.name] = dict(carried)
        carried |= own_faults(station)
        if station.inspects is not None:
            before = _share(station, carried)
            after = verdict(cell, station, carried).faulty
            for origin in _origins(station, carried) if before else ():
                carried[origin] *= after / before
    return found


def verdict(cell: Cell, station: Station, faults: dict[str, float]) -> Verdict:
    """What becomes of units that come to a station with these shares of `faults` by origin."""
    rejects = station.rejects or Rejects()
    if station.rejects is None and station.inspects is None:
        return Verdict()
    in_place = rejects.repair is not None
    again = in_place or (bool(rejects.to) and _leads_back(cell, rejects.to, station.name))
    most = rejects.attempts or MOST_ATTEMPTS
    if not again:
        most = 1
    reached, tests, repeats, accepted, passed = 1.0, 0.0, 0.0, 0.0, 0.0
    for rejected, slips in islice(_chances(cell, station, faults | own_faults(station)), most):
        tests += reached
        accepted += reached * slips
        passed += reached * (1 - rejected)
        reached *= rejected
        repeats += reached
        if reached < NEGLIGIBLE:
            break
    faulty = accepted / passed if passed else 0.0
    if not again and rejects.to and rejects.attempts != 1:
        return Verdict(1.0, reached, 0.0, 0.0, faulty)
    given_up = reached if rejects.attempts or not again else 0.0
    repeats -= given_up
    if in_place:
        return Verdict(1.0, 0.0, repeats, given_up, faulty)
    return Verdict(tests, repeats, 0.0, given_up, faulty)


def own_faults(station: Station, again: bool = False) -> dict[str, float]:
    """The share of units that a station makes faulty itself, by its name; empty where it makes none."""
    made = station.faults
    if made is None:
        return {}
    if made.listed:
        return {station.name: made.listed.count(True) / len(made.listed)}
    return {station.name: 1 - (1 - (made.after_rework if again else made.share)) * (1 - made.lot_share)}


def _chances(cell: Cell, station: Station, faults: dict[str, float]) -> Iterator[tuple[float, float]]:
    """(rejected, faulty and accepted) at the first test, at the second after one rejection, and so on."""
    rejects = station.rejects or Rejects()
    if station.inspects is None:
        first, later = rejects.share, rejects.after_rework
        if rejects.verdicts:
            first = later = rejects.verdicts.count(False) / len(rejects.verdicts)
        yield first, 0.0
        while True:
            yield later, 0.0
    finds, false = station.inspects.finds, station.inspects.false_rejects
    way_back = [] if rejects.repair is not None else _way_back(cell, rejects.to, station.name)
    kept = 1 - (station.mends if rejects.repair is not None else way_back[0].mends if way_back else 0.0)
    while True:
        faulty = _share(station, faults)
        rejected = faulty * finds + (1 - faulty) * false
        yield rejected, faulty * (1 - finds)
        found = finds / rejected if rejected else 0.0
        faults = {origin: share * found * kept for origin, share in faults.items()}
        for other in way_back:
            faults |= own_faults(other, again=True)


def _origins(station: Station, faults: dict[str, float]) -> list[str]:
    """The stations whose faults an inspection can find."""
    of = station.inspects.of if station.inspects else ()
    return [origin for origin in faults if not of or origin in of]


def _share(station: Station, faults: dict[str, float]) -> float:
    """Share of units with at least one fault that the inspection can find."""
    good = 1.0
    for origin in _origins(station, faults):
        good *= 1 - faults[origin]
    return 1 - good


def _way_back(cell: Cell, start: str, target: str) -> list[Station]:
    """The stations that units in store `start` can come to before they come to station `target`, if they do.

    The first of them is the one that takes from `start`; empty where no way leads back.
    """
    passed, seen, waiting, back = [], {start}, [start], False
    while waiting:
        store = waiting.pop(0)
        for station in cell.stations:
            if store != station.takes[0][0]:
                continue
            back |= station.name == target
            if station.name != target:
                passed.append(station)
                goals = {outlet.store for outlet in station.outlets}
                if station.rejects:
                    goals |= {station.rejects.to, station.rejects.then}
                waiting += sorted(goal for goal in goals if goal and goal not in seen)
                seen |= goals
    return passed if back else []


def _leads_back(cell: Cell, start: str, target: str) -> bool:
    """Whether units in store `start` can come to station `target`."""
    own = next(station for station in cell.stations if station.name == target)
    return start == own.takes[0][0] or bool(_way_back(cell, start, target))
