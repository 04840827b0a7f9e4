"""The studies as one call each, with answers that show themselves."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from cellsim.describe.cell import Cell
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
from cellsim.study import balance as balancing
from cellsim.study import study
from cellsim.study.loading import loading

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


def workload(cell: Cell, *, rate: float | None = None) -> Table:
    """Required and available time of everybody before any run, in seconds per good unit, one row each.

    `rate` is good units per working hour; without it the target of the cell counts.  A load above 1 cannot
    make the rate; one below may still not, since waiting is not in it.

    Raises:
        UsageError: there is no rate, or it is not above 0.
    """
    found = loading(cell, rate)
    rows = tuple(
        (load.name, load.kind, load.count, load.required_s(), load.stops_s, load.available_s, load.share(),
         load.share(stops=True))
        for load in (*found.stations, *found.posts, *found.robots)
    )  # fmt: skip
    unit = "s per good unit"
    columns = (
        Column("who"), Column("kind"), Column("count"), Column("required", unit), Column("by stops", unit),
        Column("available", unit), Column("load", "share"), Column("load with stops", "share"),
    )  # fmt: skip
    return Table(f"Loads at {found.rate:g} good units per working hour", columns, rows)
