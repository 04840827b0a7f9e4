"""What can be measured in a run, by the name under which the entries of the table ask for it."""

from __future__ import annotations

from collections.abc import Callable

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.published.measures_flow import FLOW
from cellsim.published.measures_lines import LINES
from cellsim.published.measures_quality import QUALITY
from cellsim.published.replication import Replication
from cellsim.study.broken import stop_if_broken
from cellsim.study.plan import Plan, make_plan
from cellsim.study.worker import Worker
from cellsim.units import MINUTE, SECOND

REPLICATED: dict[str, Callable[[Replication], float]] = {**FLOW, **LINES, **QUALITY}


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


def once(measure: Callable[[Replication], float]) -> Callable[[Cell, str], tuple[float]]:
    """The only value that a measure has in a cell without chance."""

    def value(cell: Cell, of: str) -> tuple[float]:
        worker = Worker(cell)
        record = worker.replicate(cell.study.seed, 0)
        stop_if_broken([record], cell.study.seed, cell.name)
        return (measure(Replication(worker.flat, worker.plan, record, of)),)

    return value


def last_finished_at(cell: Cell, of: str) -> tuple[float, ...]:
    """When the last unit left the cell; minutes from the start of the run."""
    return (finished_at(cell, of)[-1],)


TRACED: dict[str, Callable[[Cell, str], tuple[float, ...]]] = {
    "finished at, min": finished_at,
    "finished at, s": finished_at_seconds,
    "time inside of each, min": stays,
    **{name: once(measure) for name, measure in REPLICATED.items()},
    "last finished at, min": last_finished_at,
}
