"""The studies as one call each, with answers that show themselves."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from cellsim.describe.cell import Cell
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.errors import UsageError
from cellsim.money import payback as money
from cellsim.notebook.results import (
    Answer,
    BuffersAnswer,
    CompareAnswer,
    LimitsAnswer,
    RunAnswer,
    SensitivityAnswer,
)
from cellsim.notebook.results_planning import BalanceAnswer, PaybackAnswer
from cellsim.notebook.table import Column, Table
from cellsim.notebook.workload import WorkloadAnswer
from cellsim.show.trace import lines
from cellsim.study import balance as balancing
from cellsim.study import study
from cellsim.study.replicate import study_of
from cellsim.study.workload import workload as study_workload
from cellsim.units import LONGEST, MINUTE

P = ParamSpec("P")
A = TypeVar("A", bound=Answer)


def _shown_as(kind: type[A], function: Callable[P, dict[str, Any]]) -> Callable[P, A]:
    """A study whose answer shows itself, and whose errors name arguments instead of options."""

    @wraps(function)
    def call(*arguments: P.args, **options: P.kwargs) -> A:
        try:
            return kind(function(*arguments, **options))
        except UsageError as error:
            text = re.sub(r"--([a-z][a-z-]*)", lambda found: found[1].replace("-", "_"), str(error))
            raise UsageError(text) from error

    return call


run = _shown_as(RunAnswer, study.run)
compare = _shown_as(CompareAnswer, study.compare)
size_buffers = _shown_as(BuffersAnswer, study.size_buffers)
limits = _shown_as(LimitsAnswer, study.limits)
sensitivity = _shown_as(SensitivityAnswer, study.sensitivity)
balance = _shown_as(BalanceAnswer, balancing.balance)
payback = _shown_as(PaybackAnswer, money.payback)
workload = _shown_as(WorkloadAnswer, study_workload)


def trace(cell: Cell, minutes: float, *, seed: int | None = None, replication: int = 0) -> Table:
    """What happens in one run from its start, a row each: time of day, who, what.

    `minutes` is how long, the end included; `seed` and `replication` choose the run, as for `cellsim trace`.

    Raises:
        UsageError: the time is not above 0, or longer than 100 years.
    """
    if not minutes > 0:
        raise UsageError(f"minutes {minutes:g}: a time above 0 is wanted")
    if not minutes <= LONGEST / MINUTE:
        raise UsageError(f"minutes {minutes:g}: a time of at most 100 years is wanted")
    _, number = study_of(cell, None, seed)
    run = SimpyRun(compile_cell(cell), number, replication, trace=True)
    run.advance(round(minutes * MINUTE))
    columns = (Column("time"), Column("who"), Column("what"))
    return Table(f"{cell.name}: the first {minutes:g} min", columns, tuple(lines(run)))
