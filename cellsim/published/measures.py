"""What can be measured in a run, by the name under which the entries of the table ask for it."""

from __future__ import annotations

import math
from collections.abc import Callable
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
from cellsim.study.runner import Worker
from cellsim.units import HOUR, MINUTE, SECOND

LEFT = ("good", "scrapped", "consumed", "left_elsewhere")
NOT_AVAILABLE = (L.M_DOWN, L.M_WAITS_REPAIR)


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

    def count(self, name: str) -> int:
        """What the station that is asked about has counted under a name, in the counted time."""
        return self.record.stations[name][self.flat.names.stations.index(self.of)]


def units_per_hour(r: Replication) -> float:
    """Good units per hour of counted time."""
    return r.good * HOUR / r.plan.worked


def units_per_minute(r: Replication) -> float:
    """Good units per minute of counted time."""
    return r.good * MINUTE / r.plan.worked


def units_per_second(r: Replication) -> float:
    """Good units per second of counted time."""
    return r.good * SECOND / r.plan.worked


def availability(r: Replication) -> float:
    """Share of the counted time in which a machine is not stopped, mean of all machines."""
    stopped = sum(totals[state] for totals in r.record.machines for state in NOT_AVAILABLE)
    return 1 - stopped / sum(map(sum, r.record.machines))


def path_share_of_work(r: Replication) -> float:
    """Share of a station's work in the critical path of the counted time."""
    return r.record.path[r.flat.names.causes.index((r.of, "work"))] / r.record.path_elapsed


def mean_in_store(r: Replication) -> float:
    """Mean number of units in a store."""
    return r.record.stores["area"][r.store] / (r.plan.horizon - r.plan.counted_from)


def seconds_in_store(r: Replication) -> float:
    """Mean time of a unit in a store, seconds: units times time over units that left (Little's law)."""
    return r.record.stores["area"][r.store] / r.record.stores["left"][r.store] / SECOND


def share_with_more_than(level: int, r: Replication) -> float:
    """Share of the time in which more than `level` units are in a store; each level counted by itself."""
    times = r.record.time_at[r.store]
    return sum(times[level + 1 :]) / sum(times)


def mean_time_inside(r: Replication) -> float:
    """Mean time of a unit in the cell, seconds: units times time over units that left (Little's law).

    Raw units that wait for the first station are inside.
    """
    return r.record.cell["wip_area"] / sum(r.record.cell[name] for name in LEFT) / SECOND


def mean_lead_time(r: Replication) -> float:
    """Mean time that good units were in the cell, seconds."""
    return float(np.mean(r.record.lead_times)) / SECOND


def spread_of_lead_times(r: Replication) -> float:
    """Standard deviation of the time that good units were in the cell, seconds."""
    return float(np.std(r.record.lead_times, ddof=1)) / SECOND


def mean_batch(r: Replication) -> float:
    """Mean units in a batch of a station."""
    return r.count("batched") / r.count("batches")


def good_share(r: Replication) -> float:
    """Good units over units that left, good or scrapped: the yield of the cell."""
    return r.record.cell["good"] / (r.record.cell["good"] + r.record.cell["scrapped"])


def scrapped_share(r: Replication) -> float:
    """Scrapped units over units that left, good or scrapped."""
    return 1 - good_share(r)


def starts_per_good_unit(r: Replication) -> float:
    """Units that left, good or scrapped, over good units: how many must be started for one good unit."""
    return 1 / good_share(r)


def passes_per_good_unit(r: Replication) -> float:
    """Verdicts of a station over good units of the cell."""
    return r.count("judged") / r.good


def passes_per_start(r: Replication) -> float:
    """Verdicts of a station over units that it judged for the first time."""
    return r.count("judged") / r.count("first_tests")


def rolled_yield(r: Replication) -> float:
    """Product of the first-pass yields of all stations that judge."""
    judged = zip(r.record.stations["first_pass"], r.record.stations["first_tests"], strict=True)
    return math.prod(passed / tests for passed, tests in judged if tests)


def faulty_share_of_good(r: Replication) -> float:
    """Units that leave as good with a fault, over good units."""
    return r.record.cell["escapes"] / r.record.cell["good"]


def good_share_of_rejected(r: Replication) -> float:
    """Units without a fault over all units that an inspection rejects."""
    return r.count("false_rejects") / r.count("rejected")


def in_one_run(measure: Callable[[Replication], float]) -> Callable[[Cell, str], tuple[float, ...]]:
    """The measure of a run in which nothing is drawn, as a trace of one number."""

    def traced(cell: Cell, of: str) -> tuple[float, ...]:
        worker = Worker(cell)
        return (measure(Replication(worker.flat, worker.plan, worker.replicate(cell.study.seed, 0), of)),)

    return traced


def last_finished_at(cell: Cell, of: str) -> tuple[float, ...]:
    """When the last unit left the cell; minutes from the start of the run."""
    return (finished_at(cell, of)[-1],)


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
    "availability": availability,
    "path share of work": path_share_of_work,
    "mean number in the store": mean_in_store,
    "mean time in the store, s": seconds_in_store,
    "share of time with more than 28 in the store": partial(share_with_more_than, 28),
    "mean time in the cell, s": mean_time_inside,
    "mean lead time, s": mean_lead_time,
    "standard deviation of lead times, s": spread_of_lead_times,
    "mean batch": mean_batch,
    "good share of units that left": good_share,
    "scrapped share of units that left": scrapped_share,
    "starts per good unit": starts_per_good_unit,
    "passes per good unit": passes_per_good_unit,
    "passes per unit started": passes_per_start,
    "rolled yield": rolled_yield,
    "faulty share of good units": faulty_share_of_good,
    "good share of rejected units": good_share_of_rejected,
}
TRACED: dict[str, Callable[[Cell, str], tuple[float, ...]]] = {
    "finished at, min": finished_at,
    "last finished at, min": last_finished_at,
    "units per second, exact": in_one_run(units_per_second),
    "mean number in the store, exact": in_one_run(mean_in_store),
}
