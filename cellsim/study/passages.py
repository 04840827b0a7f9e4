"""How often a good unit passes each station on average: the balance of flows of a cell, without any run.

For each store that some stations fill and others empty, what comes in per good unit goes out:

    sum over givers i of x_i * ways_i(store)  =  sum over takers j of x_j * takes_j(store)

and one good unit leaves the cell.  x_i is what is asked for: cycles of station i per good unit, counting a
unit at a time where it works on batches.  Stations that take the same unit from one store share it in
proportion to how fast they work.  Nothing is taken to wait so long that it is late.
"""

from __future__ import annotations

import math

import numpy as np

from cellsim.describe import laws
from cellsim.describe.cell import FINISHED, RAW, RELEASE, Cell, Element, Law, Outlet, Station
from cellsim.study.verdicts import Verdict, hidden_faults, verdict
from cellsim.units import SECOND

OCCUPIES = ("load", "work", "unload")  # phases in which the station itself is taken
NEGLIGIBLE = 1e-9

Ways = dict[str, float]  # store -> units that enter it per cycle
Passages = dict[str, float | None]  # station -> cycles per good unit; None where nothing settles it


def law_for(time: Law, by_variant: tuple[tuple[str, Law], ...], variant: str) -> Law:
    """The law that holds for a variant."""
    return dict(by_variant).get(variant, time)


def batch_size(station: Station, variant: str) -> int:
    """Units that are worked on together, full batches taken; 1 without a batch."""
    if station.batch is None:
        return 1
    return dict(station.batch.by_variant).get(variant, station.batch.size)


def occupies(element: Element) -> bool:
    """Whether a work element takes the time of its station."""
    return element.phase in OCCUPIES and not element.inside


def cycle_s(station: Station, variant: str) -> float:
    """Mean time in seconds that a cycle takes the station: load, work and unload, each after the other."""
    chosen = [element for element in station.work if occupies(element)]
    return sum(laws.mean(law_for(e.time, e.by_variant, variant)) for e in chosen) / SECOND


def takes_variant(station: Station, variant: str) -> bool:
    """Whether units of a variant come to a station at all."""
    return not station.only or variant in station.only


def _share(cell: Cell, station: Station, outlet: Outlet, variant: str) -> float:
    """Share of the good units that go to an outlet; NaN where a choice leaves it open.

    Ways in turn have equal shares.  Where units look for a free way, or for the shortest wait, the ways have
    shares by how fast the stations behind them work, as they do when all of them are busy.
    """
    if station.chooses == "in turn":
        return 1 / len(station.outlets)
    if station.chooses:
        paces = {
            way.store: sum(_pace(s, variant) for s in cell.stations if s.takes[0][0] == way.store)
            for way in station.outlets
        }
        return paces[outlet.store] / sum(paces.values()) if all(paces.values()) else math.nan
    return outlet.share if not outlet.variants else float(variant in outlet.variants)


def ways_on(cell: Cell, station: Station, variant: str, judged: Verdict, with_losses: bool) -> Ways:
    """Units that go from a station to each store per cycle; without losses, what is lost counts as good."""
    lost = judged.given_up / judged.tests if with_losses else 0.0
    sent = judged.reworked / judged.tests
    good = 1 - sent - lost
    destroyed = bool(with_losses and station.samples and station.samples.destroys)
    kept = 1 - 1 / station.samples.every if station.samples and destroyed else 1.0
    found: Ways = {}
    for outlet in station.outlets:
        share = _share(cell, station, outlet, variant)
        found[outlet.store] = found.get(outlet.store, 0.0) + station.gives * share * good * kept
    if station.rejects is not None:
        for store, units in ((station.rejects.to, sent), (station.rejects.then, lost)):
            if store and units:
                found[store] = found.get(store, 0.0) + station.gives * units
    return found


def passages(cell: Cell, variant: str, with_losses: bool = True) -> Passages:
    """Cycles of each station per good unit of `variant` (the empty text where there are none).

    None for a station whose flow nothing settles, such as a line whose units leave beside the output.
    """
    stations = [station for station in cell.stations if takes_variant(station, variant)]
    faults = hidden_faults(cell)
    index = {station.name: k for k, station in enumerate(stations)}
    givers: dict[str, dict[int, float]] = {}
    for k, station in enumerate(stations):
        judged = verdict(cell, station, faults[station.name])
        for store, units in ways_on(cell, station, variant, judged, with_losses).items():
            givers.setdefault(store, {})[k] = units
    takers: dict[str, dict[int, float]] = {}
    for k, station in enumerate(stations):
        for store, units in station.takes:
            takers.setdefault(store, {})[k] = float(units)
    rows: list[tuple[dict[int, float], float]] = [(givers.get(FINISHED, {}), 1.0)]
    for store, taken in takers.items():
        if store != RELEASE and not store.startswith(RAW):
            balance = dict(givers.get(store, {}))
            for k, units in taken.items():
                balance[k] = balance.get(k, 0.0) - units
            rows.append((balance, 0.0))
        own = [k for k in taken if stations[k].takes[0][0] == store]
        rows += [({own[0]: 1 / _pace(stations[own[0]], variant),
                   k: -1 / _pace(stations[k], variant)}, 0.0) for k in own[1:]]  # fmt: skip
    solved = _solve(rows, len(stations))
    return {s.name: solved[index[s.name]] if s.name in index else 0.0 for s in cell.stations}


def released(cell: Cell, found: Passages) -> float:
    """Raw units that the route takes per good unit."""
    taken = sum((found[s.name] or 0.0) * n for s in cell.stations for store, n in s.takes if store == RELEASE)
    return taken


def _pace(station: Station, variant: str) -> float:
    """How many units a second the machines of a station can do together."""
    return station.machines * batch_size(station, variant) / max(cycle_s(station, variant), NEGLIGIBLE)


def _solve(rows: list[tuple[dict[int, float], float]], count: int) -> list[float | None]:
    """The solution of linear equations (coefficients by unknown, value), None for each unknown left open."""
    matrix, values = np.zeros((len(rows), count)), np.zeros(len(rows))
    for r, (coefficients, value) in enumerate(rows):
        values[r] = value
        for k, factor in coefficients.items():
            matrix[r, k] = factor
    if not np.isfinite(matrix).all():
        return [None] * count
    solution, _, rank, _ = np.linalg.lstsq(matrix, values, rcond=None)
    if np.abs(matrix @ solution - values).max() > NEGLIGIBLE:
        return [None] * count
    loose = np.linalg.svd(matrix)[2][rank:]
    found = np.abs(loose).max(axis=0, initial=0.0) < NEGLIGIBLE
    kept = np.where(np.abs(solution) < NEGLIGIBLE, 0.0, solution)
    return [float(x) if sure and x >= 0 else None for x, sure in zip(kept, found, strict=True)]
