"""What can be measured between stations of a line, and of the times that units take, in a replication."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import fmean, pvariance, variance

from cellsim.engine import layout as L
from cellsim.published.replication import Replication
from cellsim.units import HOUR, SECOND


def seconds_per_unit(r: Replication) -> float:
    """Seconds of counted time per good unit."""
    return r.plan.worked / SECOND / r.good


def deviation_of_running_share(r: Replication) -> float:
    """Standard deviation, from hour to hour, of the share of an hour that a station of fixed cycles runs.

    The only station of a cell.  What it runs in an hour is units times cycle, but for the cycles that the two
    ends of the hour cut: these add cycle^2 / 6 to the variance, since they are cut anywhere.  That is a
    little too much where many an hour has no stop, so a cycle should be short against the deviation.
    """
    cycle: float = r.machine_time((L.M_WORKING,)) / sum(r.record.cycles[i] for i in r.machines) / HOUR
    return cycle * math.sqrt(variance(r.record.hourly) - 1 / 6)


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


def scv_of_times_inside(r: Replication) -> float:
    """Variance / mean^2 of the times that units were in the cell.

    A run of up to 20 000 units keeps all of them; the one still inside at the end is left out, which lacks
    about 1 in so many.
    """
    return float(pvariance(r.record.lead_times) / fmean(r.record.lead_times) ** 2)


LINES: dict[str, Callable[[Replication], float]] = {
    "seconds per unit": seconds_per_unit,
    "deviation of the running share of an hour": deviation_of_running_share,
    "mean number between two stations": mean_between,
    "SCV of the time inside": scv_of_times_inside,
}
