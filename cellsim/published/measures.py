"""What can be measured in a run, by the name under which the entries of the table ask for it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

import numpy as np

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan, make_plan
from cellsim.units import HOUR, MINUTE, SECOND

NOT_AVAILABLE = (L.M_DOWN, L.M_WAITS_REPAIR)
AT_WORK = (L.M_WORKING, L.M_ATTENDED, L.M_HANDLED)


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
    def store(self) -> int:
        """Index of the store that is asked about."""
        return self.flat.names.stores.index(self.of)

    @property
    def clock(self) -> int:
        """Length of the counted time by the clock, in microseconds."""
        return self.plan.horizon - self.plan.counted_from

    @property
    def machines(self) -> range:
        """Indices of the machines of the station that is asked about."""
        row = self.flat.state.stations[self.flat.names.stations.index(self.of)]
        return range(row.first_machine, row.first_machine + row.machines)

    def machine_time(self, states: Iterable[int]) -> int:
        """Time that these machines spent in any of these states, all machines together, in microseconds."""
        return sum(self.record.machines[i][state] for i in self.machines for state in states)


def units_per_hour(r: Replication) -> float:
    """Good units per hour of counted time."""
    return r.good * HOUR / r.plan.worked


def units_per_minute(r: Replication) -> float:
    """Good units per minute of counted time."""
    return r.good * MINUTE / r.plan.worked


def units_per_second(r: Replication) -> float:
    """Good units per second of counted time."""
    return r.good * SECOND / r.plan.worked


def seconds_per_unit(r: Replication) -> float:
    """Seconds of counted time per good unit."""
    return r.plan.worked / SECOND / r.good


def availability(r: Replication) -> float:
    """Share of the counted time in which a machine is not stopped, mean of all machines."""
    stopped = sum(totals[state] for totals in r.record.machines for state in NOT_AVAILABLE)
    return 1 - stopped / sum(map(sum, r.record.machines))


def share_of_station(r: Replication, states: Iterable[int]) -> float:
    """Share of the counted time that a station is in one of these states, mean of its machines."""
    return r.machine_time(states) / (len(r.machines) * r.clock)


def deviation_of_running_share(r: Replication) -> float:
    """Standard deviation, from hour to hour, of the share of an hour that a station of fixed cycles runs.

    The only station of a cell.  What it runs in an hour is units times cycle, but for the cycles that the two
    ends of the hour cut: these add cycle^2 / 6 to the variance, since they are cut anywhere.  That is a
    little too much where many an hour has no stop, so a cycle should be short against the deviation.
    """
    cycle: float = r.machine_time((L.M_WORKING,)) / sum(r.record.cycles[i] for i in r.machines) / HOUR
    return cycle * math.sqrt(float(np.var(r.record.hourly, ddof=1)) - 1 / 6)


def path_share_of_work(r: Replication) -> float:
    """Share of a station's work in the critical path of the counted time."""
    return r.record.path[r.flat.names.causes.index((r.of, "work"))] / r.record.path_elapsed


def mean_in_store(r: Replication) -> float:
    """Mean number of units in a store."""
    return r.record.stores["area"][r.store] / r.clock


def mean_between(r: Replication) -> float:
    """Mean number of units between two stations: finished by the one before the store, not by the one behind.

    Those in the store, those that the station before it holds for want of a place, and those on the one
    behind it, at work or under repair.  Not for stations that stop while they have no unit.
    """
    c = r.flat.state
    store = c.stores[r.store]
    takers = c.takers[store.first_taker : store.first_taker + store.takers]
    units: float = r.record.stores["area"][r.store]
    units += sum(r.clock - r.record.machines[i][L.M_STARVED] for i in takers)
    for row in c.stations:
        ways = c.outlets[row.first_outlet : row.first_outlet + row.outlets]
        if any(way.store == r.store for way in ways):
            feeders = range(row.first_machine, row.first_machine + row.machines)
            units += sum(r.record.machines[i][L.M_BLOCKED] for i in feeders)
    return units / r.clock


def mean_inside(r: Replication) -> float:
    """Mean number of units in the cell, on stations and in stores."""
    return r.record.cell["wip_area"] / r.clock


def mean_past_station(r: Replication) -> float:
    """Mean number of units inside but those that a station has in work."""
    return (r.record.cell["wip_area"] - r.machine_time(AT_WORK)) / r.clock


def scv_of_times_inside(r: Replication) -> float:
    """Variance / mean^2 of the times that units were in the cell.

    A run keeps the times of up to 20 000 units.  One unit is still inside at its end and does not count, so
    that one time in so many is missing, more often a long one.
    """
    times = np.array(r.record.lead_times, dtype=np.float64)
    return float(times.var() / times.mean() ** 2)


def seconds_in_store(r: Replication) -> float:
    """Mean time of a unit in a store, seconds: units times time over units that left (Little's law)."""
    return r.record.stores["area"][r.store] / r.record.stores["left"][r.store] / SECOND


def finished_at(cell: Cell, of: str) -> tuple[float, ...]:
    """When finished units left the cell, in the order of their leaving; minutes from the start of the run."""
    flat = compile_cell(cell)
    run = SimpyRun(flat, cell.study.seed, 0)
    run.advance(make_plan(cell).horizon)
    outlet = flat.names.stores.index(FINISHED)
    return tuple(at / MINUTE for at, _, store in run.exits if store == outlet)


REPLICATED: dict[str, Callable[[Replication], float]] = {
    "units per hour": units_per_hour,
    "units per minute": units_per_minute,
    "units per second": units_per_second,
    "seconds per unit": seconds_per_unit,
    "availability": availability,
    "share of time at work": partial(share_of_station, states=AT_WORK),
    "share of time starved": partial(share_of_station, states=(L.M_STARVED,)),
    "share of time blocked": partial(share_of_station, states=(L.M_BLOCKED,)),
    "deviation of the running share of an hour": deviation_of_running_share,
    "path share of work": path_share_of_work,
    "mean number in the store": mean_in_store,
    "mean number between two stations": mean_between,
    "mean number inside": mean_inside,
    "mean number past the station": mean_past_station,
    "SCV of the time inside": scv_of_times_inside,
    "mean time in the store, s": seconds_in_store,
}
TRACED: dict[str, Callable[[Cell, str], tuple[float, ...]]] = {
    "finished at, min": finished_at,
}
