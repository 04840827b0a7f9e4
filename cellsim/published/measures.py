"""What can be measured in a run, by the name under which the entries of the table ask for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan, make_plan
from cellsim.units import HOUR, MINUTE, SECOND

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


def _left(cell: Cell, of: str) -> tuple[SimpyRun, Plan, list[tuple[int, int]]]:
    """A run of a cell, what is counted, and for each counted unit when it left by an outlet and came in."""
    flat, plan = compile_cell(cell), make_plan(cell)
    run = SimpyRun(flat, cell.study.seed, 0)
    run.advance(plan.horizon)
    outlet = flat.names.stores.index(of or FINISHED)
    units = [(at, came) for at, came, store in run.exits if store == outlet and at > plan.counted_from]
    return run, plan, units


def finished_at(cell: Cell, of: str) -> tuple[float, ...]:
    """When units left the cell through an outlet (`finished` where none is named), in the order of leaving.

    Minutes from the start of the run; what left up to the end of settling is not counted.
    """
    return tuple(at / MINUTE for at, _ in _left(cell, of)[2])


def finished_at_seconds(cell: Cell, of: str) -> tuple[float, ...]:
    """When units left the cell, as `finished_at`, in seconds."""
    return tuple(at / SECOND for at, _ in _left(cell, of)[2])


def stays(cell: Cell, of: str) -> tuple[float, ...]:
    """How long each unit that left through an outlet had been inside, in the order of leaving; minutes."""
    return tuple((at - came) / MINUTE for at, came in _left(cell, of)[2])


def time_inside(cell: Cell, of: str) -> tuple[float]:
    """Mean time in the cell of the units that left it through an outlet, minutes."""
    minutes = stays(cell, of)
    return (sum(minutes) / len(minutes),)


def number_inside(cell: Cell, of: str) -> tuple[float]:
    """Mean number of units in the cell over the whole run, settling included."""
    run, plan, _ = _left(cell, of)
    return (run.state.wip_area / plan.horizon,)


REPLICATED: dict[str, Callable[[Replication], float]] = {
    "units per hour": units_per_hour,
    "units per minute": units_per_minute,
    "units per second": units_per_second,
    "availability": availability,
    "path share of work": path_share_of_work,
    "mean number in the store": mean_in_store,
    "mean time in the store, s": seconds_in_store,
}
TRACED: dict[str, Callable[[Cell, str], tuple[float, ...]]] = {
    "finished at, min": finished_at,
    "finished at, s": finished_at_seconds,
    "time inside of each, min": stays,
    "time inside, min": time_inside,
    "number inside, units": number_inside,
}
