"""What a second bookkeeper finds who only looks is what the result says: a wrong figure is seen too."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from second_books import same_figures, second_figures
from small_cells import HORIZON, SECOND
from whole_cells import whole_cells
from whole_runs import bounded

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load
from cellsim.errors import UsageError
from cellsim.study.figures import figures
from cellsim.study.worker import Worker

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))

quick = settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def near(value: float | None) -> Any:
    """The value but for the rounding of sums."""
    return None if value is None else pytest.approx(value, rel=1e-9, abs=1e-12)


def check(cell: Cell, seed: int, walk: bool) -> None:
    """All figures that both know are the same in one replication."""
    worker = Worker(cell, "compiled")
    expected = second_figures(worker.flat, worker.plan, seed, 1, walk)
    result = json.loads(json.dumps(figures(worker.flat, worker.plan, [worker.replicate(seed, 1)])))
    told = same_figures(result)
    wrong = {
        name: (told.get(name), expected.get(name))
        for name in sorted(told.keys() | expected.keys())
        if name not in told or name not in expected or told[name] != near(expected[name])
    }
    assert wrong == {}


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_scenario(file: Path) -> None:
    """One replication of every scenario; those that settle for days are counted from the second shift on."""
    cell = load(file)
    shifts = min(1, cell.study.settle_shifts)
    check(replace(cell, study=replace(cell.study, settle_shifts=shifts, shifts=1)), 21, walk=False)


@quick
@given(whole_cells(), st.integers(0, 3), st.integers(0, 100))
def test_random_cells(cell: Cell, seed: int, settle: int) -> None:
    """Random small cells, counted from any moment, every unit counted one by one."""
    study = replace(cell.study, settle=settle * SECOND, run=HORIZON - settle * SECOND)
    with bounded():
        try:
            check(replace(cell, study=study), seed, walk=True)
        except UsageError:
            reject()  # nobody is there in the counted time
