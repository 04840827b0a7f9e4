"""What can be measured in a run, by the name under which the entries of the table ask for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from statistics import variance

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan, make_plan
from cellsim.study.statistics import percentile
from cellsim.units import HOUR, MINUTE, SECOND

NOT_AVAILABLE = (L.M_DOWN, L.M_WAITS_REPAIR)
AT_WORK = (L.M_WORKING, L.M_ATTENDED, L.M_HANDLED)
BUSY = (L.A_WORKING, L.A_REPAIRING)


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


def cycles_per_second(r: Replication) -> float:
    """Cycles of a station per second of counted time, its machines together."""
    return sum(r.record.cycles[i] for i in r.machines) * SECOND / r.clock


def variance_of_hours(r: Replication) -> float:
    """Variance of the number of good units in an hour, from the hours of one run."""
    return variance(r.record.hourly)


def availability(r: Replication) -> float:
    """Share of the counted time in which a machine is not stopped, mean of all machines."""
    stopped = sum(totals[state] for totals in r.record.machines for state in NOT_AVAILABLE)
    return 1 - stopped / sum(map(sum, r.record.machines))


def share_of_station(r: Replication, states: Iterable[int]) -> float:
    """Share of the counted time that a station is in one of these states, mean of its machines."""
    return r.machine_time(states) / (len(r.machines) * r.clock)


def machines_at_work(r: Replication) -> float:
    """Mean number of machines of a station that are at work."""
    return r.machine_time(AT_WORK) / r.clock


def share_of_post(r: Replication, states: Iterable[int]) -> float:
    """Share of the counted time that a post or robot is in one of these states, mean of its people."""
    people = [a for a, post in enumerate(r.flat.names.posts) if post == r.of]
    return sum(r.record.actors[a][state] for a in people for state in states) / (len(people) * r.clock)


def share_without_carrier(r: Replication) -> float:
    """Share of the counted time in which no carrier of a kind is free."""
    kind = [carrier.name for carrier in r.flat.cell.carriers].index(r.of)
    return r.record.carriers["none_free"][kind] / r.clock


def path_share_of_work(r: Replication) -> float:
    """Share of a station's work in the critical path of the counted time."""
    return r.record.path[r.flat.names.causes.index((r.of, "work"))] / r.record.path_elapsed


def mean_in_store(r: Replication) -> float:
    """Mean number of units in a store."""
    return r.record.stores["area"][r.store] / r.clock


def seconds_in_store(r: Replication) -> float:
    """Mean time of a unit in a store, seconds: units times time over units that left (Little's law)."""
    return r.record.stores["area"][r.store] / r.record.stores["left"][r.store] / SECOND


def share_of_level(r: Replication, least: int) -> float:
    """Share of the counted time in which at least so many units are in a store of at most 127 places."""
    times = r.record.time_at[r.store]
    return sum(times[least:]) / sum(times)


def mean_at_station(r: Replication) -> float:
    """Mean number of units at a station: on its machines, finished or not, and in the stores before it."""
    chosen = set(r.machines)
    c = r.flat.state
    before = 0
    for s, store in enumerate(c.stores):
        takers = {c.takers[x] for x in range(store.first_taker, store.first_taker + store.takers)}
        before += r.record.stores["area"][s] if takers & chosen else 0
    return (before + r.machine_time((*AT_WORK, L.M_BLOCKED))) / r.clock


def mean_past_station(r: Replication) -> float:
    """Mean number of units inside but those that a station has in work."""
    return (r.record.cell["wip_area"] - r.machine_time(AT_WORK)) / r.clock


def seconds_inside(r: Replication) -> float:
    """Mean time of a unit in the cell, seconds: units times time over units that left (Little's law)."""
    return r.record.cell["wip_area"] / r.good / SECOND


def quantile_inside(r: Replication, share: float) -> float:
    """Time in the cell that this share of the units does not exceed, seconds."""
    return percentile(r.record.lead_times, share) / SECOND


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
    "cycles per second": cycles_per_second,
    "variance of units per hour": variance_of_hours,
    "availability": availability,
    "mean number of machines at work": machines_at_work,
    "share of time at work": partial(share_of_station, states=AT_WORK),
    "share of time running alone": partial(share_of_station, states=(L.M_WORKING,)),
    "share of time blocked": partial(share_of_station, states=(L.M_BLOCKED,)),
    "share of time waiting for repair": partial(share_of_station, states=(L.M_WAITS_REPAIR,)),
    "share of time waiting for a carrier": partial(share_of_station, states=(L.M_WAITS_CARRIER,)),
    "share of time of a post at work": partial(share_of_post, states=BUSY),
    "share of time of a post free": partial(share_of_post, states=(L.A_FREE,)),
    "share of time without a free carrier": share_without_carrier,
    "path share of work": path_share_of_work,
    "mean number in the store": mean_in_store,
    "mean time in the store, s": seconds_in_store,
    "share of time with ten or more in the store": partial(share_of_level, least=10),
    "mean number at the station": mean_at_station,
    "mean number past the station": mean_past_station,
    "mean time inside, s": seconds_inside,
    "time inside of the quickest 90 %, s": partial(quantile_inside, share=0.9),
}
TRACED: dict[str, Callable[[Cell, str], tuple[float, ...]]] = {
    "finished at, min": finished_at,
}
