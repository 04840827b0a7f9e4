"""Rules read and write only rows that are there: the compiled clock would not notice another index."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_cells import HORIZON
from whole_cells import whole_cells
from whole_runs import run_cell

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine import clock_simpy
from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell, fresh
from cellsim.units import HOUR

EXAMPLES = {f"{one.topic}-{one.name}": one.example for one in behaviours()}


class Strict(list[Any]):
    """A list without the reading of negative indices as counted from the end."""

    def __getitem__(self, k: Any) -> Any:
        assert not isinstance(k, int) or k >= 0, f"row {k} is read"
        return super().__getitem__(k)

    def __setitem__(self, k: Any, value: Any) -> None:
        assert not isinstance(k, int) or k >= 0, f"row {k} is written"
        super().__setitem__(k, value)


@contextmanager
def strict() -> Iterator[None]:
    """Every list of every run that begins within is strict."""

    def strict_fresh(*arguments: Any, **options: Any) -> L.State:
        c = fresh(*arguments, **options)
        for name, kind in L.ARRAYS:
            setattr(c, name, Strict(getattr(c, name)))
            for field in (field for field, _, length in L.FIELDS.get(kind, ()) if length):
                for row in getattr(c, name):
                    setattr(row, field, Strict(getattr(row, field)))
        return c

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock_simpy, "fresh", strict_fresh)
        yield


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
@given(whole_cells(), st.integers(4, 7))
def test_random_cells(cell: Cell, seed: int) -> None:
    """No row before the first or after the last is read or written in a random small cell."""
    with strict():
        run_cell(cell, HORIZON, seed)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_behaviour_of_the_reference(name: str) -> None:
    """Nor in the example of each behaviour."""
    with strict():
        clock_simpy.SimpyRun(compile_cell(load_text(EXAMPLES[name])), 2, 0).advance(4 * HOUR)
