"""One study from a cell to its figures: what the command `run` and the notebook share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import resolved_sha256
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.compare import Alternative, comparison, run_pairs
from cellsim.study.figures import figures
from cellsim.study.plan import make_plan
from cellsim.study.precision import MOST, Precision
from cellsim.study.provenance import provenance
from cellsim.study.replicate import DEFAULT_REPLICATIONS, run_replications
from cellsim.study.runner import Progress, Runner


def figures_of(cell: Cell, seed: int, records: Sequence[Record], clock: str) -> dict[str, Any]:
    """The result of a study from its records, with provenance."""
    plan = make_plan(cell)
    result = figures(compile_cell(cell), plan, records)
    result["provenance"] = provenance(
        resolved_sha256(cell), seed, len(records), clock, plan.horizon / 1_000_000
    )
    return result


def run(
    cell: Cell,
    *,
    replications: int | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    clock: str = "auto",
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Run a cell and return its figures in the keys of `result.json`.

    `replications` and `seed` default to those of the cell's study.  `clock` is `simpy`, `compiled` or `auto`;
    it changes no figure.  `workers` is a number of processes, or None to have it chosen.
    """
    count = replications or cell.study.replications or DEFAULT_REPLICATIONS
    number = cell.study.seed if seed is None else seed
    study = run_replications(cell, number, range(count), clock=clock, workers=workers, progress=progress)
    return figures_of(cell, number, study.records, study.clock)


def compare(
    base: Cell,
    proposals: Mapping[str, Cell],
    *,
    replications: int | None = None,
    precision: float | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    clock: str = "auto",
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Compare proposals, by name, with a cell as it is; all are run with the same luck.

    Runs so many `replications` (those of the base's study where none are given), or until every difference of
    output is known to `precision`, a share of the base's output.

    Returns:
        The answer in the keys of `cellsim compare --json`: `base`, `proposals` with `figures` and
        `differences`, `replications`, `level`.

    Raises:
        ValueError: there is no proposal, or fewer than two replications.
    """
    count = replications or base.study.replications or DEFAULT_REPLICATIONS
    wanted = Precision(precision, most=replications or MOST) if precision is not None else count
    alternatives = [Alternative(base.name, base), *(Alternative(n, cell) for n, cell in proposals.items())]
    with Runner(clock=clock, workers=workers) as runner:
        return comparison(
            run_pairs(alternatives, base.study.seed if seed is None else seed, wanted, runner, progress)
        )
