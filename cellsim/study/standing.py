"""Which machines belong to a station or stand at the two sides of a store, and their shares of time."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell


def machines_of(flat: FlatCell, station: str) -> range:
    """The machines of a station."""
    row = flat.state.stations[flat.names.stations.index(station)]
    return range(row.first_machine, row.first_machine + row.machines)


def sides(flat: FlatCell, store: str) -> tuple[list[int], list[int]]:
    """The machines that put units into a store, and those that take from it."""
    c, s = flat.state, flat.names.stores.index(store)
    row = c.stores[s]
    feeders: list[int] = []
    for name, station in zip(flat.names.stations, c.stations, strict=True):
        ways = c.outlets[station.first_outlet : station.first_outlet + station.outlets]
        if any(way.store == s for way in ways):
            feeders += machines_of(flat, name)
    return feeders, list(c.takers[row.first_taker : row.first_taker + row.takers])


def share_of_time(rows: Sequence[Sequence[int]], states: Sequence[int]) -> float:
    """Share of the time of these rows (times by state) in any of these states; 0 where there is no time."""
    return sum(row[state] for row in rows for state in states) / max(1, sum(map(sum, rows)))


def pressure(records: Sequence[Record], beside: tuple[Sequence[int], Sequence[int]]) -> float:
    """How short of places a store seems: share of time blocked before it times share starved behind it.

    `beside` are the machines at its two sides.  A hint only: either alone may have another cause.
    """
    before, behind = ([record.machines[i] for record in records for i in side] for side in beside)
    return share_of_time(before, (L.M_BLOCKED,)) * share_of_time(behind, (L.M_STARVED,))
