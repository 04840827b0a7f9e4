"""What can be measured of output, stores, stations, people and the critical path in a replication."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import partial
from statistics import stdev, variance

from cellsim.engine import layout as L
from cellsim.published.replication import Replication
from cellsim.study.energy import energy_figures
from cellsim.study.output import labour_figures
from cellsim.study.passages import cycle_s
from cellsim.study.statistics import percentile
from cellsim.units import HOUR, MINUTE, SECOND

AT_WORK = (L.M_WORKING, L.M_ATTENDED, L.M_HANDLED)
NOT_AVAILABLE = (L.M_DOWN, L.M_WAITS_REPAIR)
BUSY = (L.A_WORKING, L.A_REPAIRING)
LEFT = ("good", "scrapped", "consumed", "left_elsewhere")


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


def number_inside(r: Replication) -> float:
    """Mean number of units in the cell."""
    return r.record.cell["wip_area"] / (r.plan.horizon - r.plan.counted_from)


def time_inside(r: Replication) -> float:
    """Mean time in the cell of the units that left it, minutes."""
    return math.fsum(r.record.lead_times) / len(r.record.lead_times) / MINUTE


def good_units(r: Replication) -> float:
    """Good units in the counted time."""
    return r.good


def good_share(r: Replication) -> float:
    """Good units per unit that left, good or scrapped: the quality ratio."""
    return r.good / (r.good + r.record.cell["scrapped"])


def performance(r: Replication) -> float:
    """Stated cycle time x cycles / time at work of a station."""
    at_work = sum(r.record.machines[i][state] for i in r.machines for state in AT_WORK)
    return _stated(r) * sum(r.record.cycles[i] for i in r.machines) / at_work


def oee(r: Replication) -> float:
    """Overall equipment effectiveness of one machine: stated cycle time x good cycles / planned time."""
    (machine,) = r.machines
    good = r.record.cycles[machine] - r.record.stations["scrapped"][r.station]
    return _stated(r) * good / r.plan.worked


def _stated(r: Replication) -> float:
    """Stated cycle time of a station in microseconds."""
    return cycle_s(r.flat.cell.stations[r.station], "") * SECOND


def labour_minutes(r: Replication) -> float:
    """Paid minutes of the crew per good unit, breaks included."""
    return 60 * labour_hours(r)


def labour_hours(r: Replication) -> float:
    """Paid hours of the crew per good unit, breaks included."""
    figures = labour_figures(r.flat.cell, r.plan, [r.record])
    assert figures is not None, "nobody is paid in this cell"
    return 1 / float(figures["mean"])


def kilowatts(r: Replication) -> float:
    """Mean power that all stations and robots draw in the counted time, kW."""
    figures = energy_figures(r.flat, [r.record])
    assert figures is not None, "nothing in this cell says what it draws"
    return float(figures["kwh"]["mean"]) * HOUR / (r.plan.horizon - r.plan.counted_from)


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


def mean_time_inside(r: Replication) -> float:
    """Mean time of a unit in the cell, seconds: units times time over units that left (Little's law).

    Raw units that wait for the first station are inside.
    """
    return r.record.cell["wip_area"] / sum(r.record.cell[name] for name in LEFT) / SECOND


def quantile_inside(r: Replication, share: float) -> float:
    """Time in the cell that this share of the units does not exceed, seconds."""
    return percentile(r.record.lead_times, share) / SECOND


def mean_lead_time(r: Replication) -> float:
    """Mean time that good units were in the cell, seconds."""
    return math.fsum(r.record.lead_times) / len(r.record.lead_times) / SECOND


def spread_of_lead_times(r: Replication) -> float:
    """Standard deviation of the time that good units were in the cell, seconds."""
    return stdev(r.record.lead_times) / SECOND


FLOW: dict[str, Callable[[Replication], float]] = {
    "units per hour": units_per_hour,
    "units per minute": units_per_minute,
    "units per second": units_per_second,
    "cycles per second": cycles_per_second,
    "variance of units per hour": variance_of_hours,
    "availability": availability,
    "mean number of machines at work": machines_at_work,
    "share of time at work": partial(share_of_station, states=AT_WORK),
    "share of time running alone": partial(share_of_station, states=(L.M_WORKING,)),
    "share of time starved": partial(share_of_station, states=(L.M_STARVED,)),
    "share of time blocked": partial(share_of_station, states=(L.M_BLOCKED,)),
    "share of time waiting for repair": partial(share_of_station, states=(L.M_WAITS_REPAIR,)),
    "share of time waiting for a carrier": partial(share_of_station, states=(L.M_WAITS_CARRIER,)),
    "share of time of a post at work": partial(share_of_post, states=BUSY),
    "share of time of a post free": partial(share_of_post, states=(L.A_FREE,)),
    "share of time without a free carrier": share_without_carrier,
    "path share of work": path_share_of_work,
    "mean number in the store": mean_in_store,
    "mean time in the store, s": seconds_in_store,
    "number inside, units": number_inside,
    "time inside, min": time_inside,
    "good units": good_units,
    "good share": good_share,
    "performance": performance,
    "OEE": oee,
    "labour per unit, min": labour_minutes,
    "labour per unit, h": labour_hours,
    "power, kW": kilowatts,
    "share of time with ten or more in the store": partial(share_of_level, least=10),
    "mean number at the station": mean_at_station,
    "mean number past the station": mean_past_station,
    "mean time inside, s": mean_time_inside,
    "time inside of the quickest 90 %, s": partial(quantile_inside, share=0.9),
    "share of time with more than 28 in the store": partial(share_of_level, least=29),
    "mean lead time, s": mean_lead_time,
    "standard deviation of lead times, s": spread_of_lead_times,
}
