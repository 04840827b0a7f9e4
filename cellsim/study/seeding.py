"""Where a search for places begins: allocations that paper thinks good, from few places to many."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.describe.cell import Cell
from cellsim.study.line_estimate import effective_time
from cellsim.study.places import Bounds, Places, more
from cellsim.study.plain_line import NotPlain, plain_line
from cellsim.theory.rough_lines import LEAST_SCV, fast_rate

UNLIMITED = 1_000_000  # places of a store without limit
LITTLE = 1e-4  # of the rate: when a place more gives less there is no need to go on
LONGEST = 400  # allocations


def paper_path(cell: Cell, stores: Sequence[str], bounds: Bounds) -> list[Places]:
    """Allocations each of which has one place more than the one before, where a rough rate rises most.

    It begins with the fewest places that the bounds allow.

    Returns:
        Just that beginning where the cell is no plain line; then there is nothing to go by.
    """
    path = [bounds.least]
    try:
        line = plain_line(cell)
    except NotPlain:
        return path
    times = [effective_time(station) for station in line.stations]
    means = [time.mean / station.machines for time, station in zip(times, line.stations, strict=True)]
    scvs = [max(LEAST_SCV, time.scv) for time in times]
    places = [UNLIMITED if count is None else count for count in line.places]
    where = [line.stores.index(store) for store in stores]

    def rate(allocation: Places) -> float:
        for k, count in zip(where, allocation, strict=True):
            places[k] = count
        return fast_rate(means, scvs, places)

    here = rate(path[0])
    while len(path) < LONGEST and (above := more(path[-1], bounds)):
        best = max(above, key=rate)
        before, here = here, rate(best)
        if here <= before * (1 + LITTLE):
            break
        path.append(best)
    return path
