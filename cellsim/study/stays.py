"""How long batches wait for their units, and how many places units need that must stay a while."""

from __future__ import annotations

from collections.abc import Mapping

from cellsim.describe.cell import RAW, Cell, Station
from cellsim.study.loads import Forming, Held
from cellsim.study.passages import Passages, batch_size
from cellsim.units import SECOND


def forming(
    cell: Cell, found: Mapping[str, Passages], shares: Mapping[str, float], takt: float
) -> list[Forming]:
    """How long each batch takes to gather, one entry for each variant that is not mixed with others.

    `found`: cycles of each station per good unit of a variant; `shares` of the variants; `takt` in seconds.
    """
    out = []
    for station in cell.stations:
        if station.batch is None:
            continue
        if _fits_all(cell, station):
            rates = {"": (_units(station, found, shares), 1.0)}
        else:
            rates = {v: (found[v][station.name] or 0.0, share) for v, share in shares.items()}
        for variant, (units, share) in rates.items():
            if units and share:
                size, alone = batch_size(station, variant), takt / units
                out.append(Forming(station.name, variant, size, alone, alone / share))
    return out


def _units(station: Station, found: Mapping[str, Passages], shares: Mapping[str, float]) -> float:
    """Units that a station takes per good unit of any variant."""
    return sum(share * (found[v][station.name] or 0.0) for v, share in shares.items())


def _fits_all(cell: Cell, station: Station) -> bool:
    """Whether the units of a station are of no variant, or go together whatever theirs is."""
    lines = {line.name for line in cell.lines if station.name in line.places}
    raw = {store for s in cell.stations for store, _ in s.takes if store.startswith(RAW)}
    plain = any(RAW + name in raw for name in lines - set(cell.varied_lines))
    return plain or bool(station.batch and station.batch.mixed)


def flows(cell: Cell, found: Mapping[str, Passages], shares: Mapping[str, float]) -> dict[str, float]:
    """Units that are taken from each store per good unit; arguments as in `forming`."""
    taken = {store.name: 0.0 for store in cell.stores}
    for station in cell.stations:
        for store, count in station.takes:
            if store in taken:
                taken[store] += count * _units(station, found, shares)
    return taken


def held(cell: Cell, taken: Mapping[str, float], takt: float) -> list[Held]:
    """The stores whose units must stay a while; `taken` units per good unit, `takt` in seconds."""
    out = []
    for store in cell.stores:
        stay = (store.transit + store.stays) / SECOND
        if stay:
            out.append(Held(store.name, store.places, taken[store.name] * stay / takt))
    return out
