"""Work in progress and levels of stores by the hour: exact integrals over intervals of a run."""

from __future__ import annotations

from array import array
from collections.abc import Sequence

import numpy as np

from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell


class LevelBook:
    """Work in progress and levels of stores over intervals: what was added to each integral in each of them.

    Only stores with places are kept.  Eight bytes a figure, so that a year of hours is no weight.
    """

    def __init__(self, flat: FlatCell, intervals: int) -> None:
        self._kinds = [store.kind for store in flat.state.stores]
        self._areas = np.zeros((intervals + 1, 1 + len(self._kinds)), dtype=np.int64)
        self._closed = 0

    def close(self, run: SimpyRun, borders: Sequence[int]) -> None:
        """Run to the ends of the next intervals, at most MOST_BORDERS of them."""
        first = self._closed + 1
        self._closed += len(borders)
        self._areas[first : self._closed + 1] = run.areas_at(borders)

    def fill(self, record: Record) -> None:
        """Write all intervals into the record."""
        columns = [array("q", column.tobytes()) for column in np.diff(self._areas, axis=0).T]
        record.wip_by_hour, levels = columns[0], columns[1:]
        record.levels_by_hour = [
            row if kind == L.PLACES else array("q") for row, kind in zip(levels, self._kinds, strict=True)
        ]
