"""The result of a study, in the keys of `result.json`, from its records."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import resolved_sha256
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.figures import figures
from cellsim.study.plan import make_plan
from cellsim.study.provenance import provenance
from cellsim.study.replicate import Study


def figures_of(cell: Cell, seed: int, records: Sequence[Record], clock: str) -> dict[str, Any]:
    """The result of a study from its records, with provenance."""
    plan = make_plan(cell)
    result = figures(compile_cell(cell), plan, records)
    result["provenance"] = provenance(
        resolved_sha256(cell), seed, len(records), clock, plan.horizon / 1_000_000
    )
    return result


def result_of(
    cell: Cell, seed: int, study: Study, count: int, precision: float | str | None
) -> dict[str, Any]:
    """The result of a study of `count` replications or to a precision, and whether it came to its end."""
    result = figures_of(cell, seed, study.records, study.clock)
    if precision is not None:
        result["study"]["precision"] = {"wanted": precision, "reached": study.reached}
    if study.interrupted:
        of = f" of {count}" if precision is None else ""
        result["interrupted"] = f"{len(study.records)}{of} replications"
    return result
