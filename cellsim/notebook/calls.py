"""The studies as one call each, with answers that show themselves."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

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
from cellsim.notebook.workload import WorkloadAnswer
from cellsim.study import balance as balancing
from cellsim.study import study
from cellsim.study.workload import workload as study_workload

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
