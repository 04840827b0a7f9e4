"""How many places each store needs: for a target rate, for a number of places, or for the best profit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from cellsim.describe.cell import Cell
from cellsim.study.places import (
    Places,
)
from cellsim.study.runner import Runner, Wanted
from cellsim.study.watched import values_of

STRIDE = 6  # far from the target places are added by a sixth of those there are
MOST_TOTAL = 10_000  # places in all after which a target is given up
LOOK_FURTHER = 6  # totals beyond the best profit that are tried, at least


class CellLab:
    """Runs a cell with other numbers of places, each allocation and replication once."""

    def __init__(self, cell: Cell, stores: Sequence[str], seed: int, runner: Runner) -> None:
        self.cell, self.stores, self.seed, self.runner = cell, tuple(stores), seed, runner
        self._values: dict[Places, list[float]] = {}
        self.heard: Callable[[int, int], None] = lambda allocations, replications: None

    def with_places(self, places: Places) -> Cell:
        """The cell with so many places in the stores of the search."""
        wanted = dict(zip(self.stores, places, strict=True))
        stores = tuple(
            replace(store, places=wanted[store.name]) if store.name in wanted else store
            for store in self.cell.stores
        )
        return replace(self.cell, stores=stores)

    def run(self, allocations: Sequence[Places], count: int) -> None:
        """Have the first `count` replications of all these ready."""
        asked = dict.fromkeys(allocations)
        missing = [each for each in asked if len(self._values.get(each, ())) < count]
        if not missing:
            return
        cells = [self.with_places(each) for each in missing]
        requests = [
            Wanted(cell, self.seed, tuple(range(len(self._values.get(each, ())), count)), slim=True)
            for each, cell in zip(missing, cells, strict=True)
        ]
        for each, cell, records in zip(missing, cells, self.runner.records(requests), strict=True):
            self._values.setdefault(each, []).extend(values_of("output_per_hour", cell, records) or [])
        self.heard(len(self._values), self.replications)

    def rates(self, allocation: Places, count: int) -> Sequence[float]:
        """Good units per hour in the first `count` replications of an allocation."""
        return self._values[allocation][:count]

    @property
    def tried(self) -> dict[Places, list[float]]:
        """All rates of all allocations that were run."""
        return self._values

    @property
    def replications(self) -> int:
        """How many replications were run."""
        return sum(map(len, self._values.values()))
