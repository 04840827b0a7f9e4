"""One replication of a cell as the measures see it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan


@dataclass(frozen=True, slots=True)
class Replication:
    """One replication of a cell, and what is asked for in it."""

    flat: FlatCell
    plan: Plan
    record: Record
    of: str = ""

    @property
    def good(self) -> int:
        """Good units that left in the counted time."""
        return sum(self.record.hourly)

    @property
    def station(self) -> int:
        """Index of the station that is asked about."""
        return self.flat.names.stations.index(self.of)

    @property
    def machines(self) -> range:
        """Indices of the machines of the station that is asked about; of all where none is named."""
        if not self.of:
            return range(len(self.flat.names.machines))
        row = self.flat.state.stations[self.station]
        return range(row.first_machine, row.first_machine + row.machines)

    @property
    def store(self) -> int:
        """Index of the store that is asked about."""
        return self.flat.names.stores.index(self.of)

    @property
    def clock(self) -> int:
        """Length of the counted time by the clock, in microseconds."""
        return self.plan.horizon - self.plan.counted_from

    def count(self, name: str) -> int:
        """What the station that is asked about has counted under a name, in the counted time."""
        return self.record.stations[name][self.station]

    def machine_time(self, states: Iterable[int]) -> int:
        """Time that these machines spent in any of these states, all machines together, in microseconds."""
        return sum(self.record.machines[i][state] for i in self.machines for state in states)
