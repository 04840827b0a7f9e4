"""A report page from answers that are at hand, without result folders."""

from __future__ import annotations

import os
from pathlib import Path

from cellsim.errors import UsageError
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
from cellsim.show.report import report_page
from cellsim.study.folder import write_whole

KINDS: dict[type[Answer], str] = {
    RunAnswer: "result",
    CompareAnswer: "comparison",
    BuffersAnswer: "buffers",
    LimitsAnswer: "limits",
    SensitivityAnswer: "sensitivity",
    PaybackAnswer: "payback",
    WorkloadAnswer: "load",
    BalanceAnswer: "balance",
}


def report(file: str | os.PathLike[str], *answers: Answer) -> Path:
    """Write a page of answers of studies and of the paper work; returns its path.

    One HTML file that needs nothing else, as `cellsim report` makes, without the replay of a shift.
    The first answer of `run`, if there is one, is what the page is about.

    Raises:
        UsageError: the file exists or cannot be written, or there is no answer, or one of another kind.
    """
    path = Path(file)
    if path.exists():
        raise UsageError(f"{path} exists and is not overwritten; name another file")
    found = [(KINDS[type(answer)], answer) for answer in answers if type(answer) in KINDS]
    if len(found) < len(answers) or not answers:
        raise UsageError(
            "a page takes answers of run, compare, size_buffers, limits, sensitivity, payback, workload and"
            " balance, one at least"
        )
    names = [str(answer["cell"]["name"]) for kind, answer in found if kind == "result"]
    try:
        write_whole(path, report_page(found, names))
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None
    return path
