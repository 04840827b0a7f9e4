"""Both clocks do the same, to the last bit: the whole trace, every ledger, every draw.

All hand-traced cases run under both clocks too (`tests/cases/tracing.py`).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from both_clocks import BothClocks, differences
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_cells import HORIZON, SECOND
from whole_cells import whole_cells
from whole_runs import bounded

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load, load_text
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.study.audit import audit
from cellsim.study.replicate import run_replications
from cellsim.study.worker import Worker
from cellsim.units import HOUR

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
EXAMPLES = {f"{one.topic}-{one.name}": one.example for one in behaviours()}

many = settings(
    max_examples=90,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


@many
@given(whole_cells(), st.integers(0, 3), st.lists(st.integers(0, HORIZON // SECOND), max_size=3).map(sorted))
def test_random_cells(cell: Cell, seed: int, looks: list[int]) -> None:
    """Random small cells full of ties, with any mix of behaviours, looked at now and then."""
    with bounded():
        both = BothClocks(compile_cell(cell), seed, 0)
        for at in [*(look * SECOND for look in looks), HORIZON]:
            both.advance(at)


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_scenarios(file: Path) -> None:
    """Every scenario, one day from the start of the run."""
    BothClocks(compile_cell(load(file)), 5, 3).advance(24 * HOUR)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_behaviour_of_the_reference(name: str) -> None:
    """The example of each behaviour, eight hours."""
    BothClocks(compile_cell(load_text(EXAMPLES[name])), 2, 0).advance(8 * HOUR)


def test_memory_that_has_served_before_changes_nothing() -> None:
    """A replication in the memory of another one of the same cell is the same as in fresh memory.

    The padlock has more units, exits and lines of trace than the lists have room for at first.
    """
    flat = compile_cell(load(SCENARIOS[[file.stem for file in SCENARIOS].index("padlock")]))
    first = CompiledRun(flat, 1, 0, trace=True)
    first.advance(20 * HOUR)
    again = CompiledRun(flat, 1, 1, trace=True, scratch=first.leftover)
    again.advance(20 * HOUR)
    plain = SimpyRun(flat, 1, 1, trace=True)
    plain.advance(20 * HOUR)
    again.walk_back(), plain.walk_back()
    assert list(differences(plain, again)) == []


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_records(file: Path) -> None:
    """What a study keeps of a replication is the same, types included."""
    cell = load(file)
    plain, compiled = Worker(cell, "simpy"), Worker(cell, "compiled")
    for replication in (2, 5):
        one, other = plain.replicate(3, replication), compiled.replicate(3, replication)
        assert one == other
        assert repr(one) == repr(other)


def test_more_arrivals_at_one_instant_than_the_lists_have_room_for() -> None:
    """1200 raw units at 5 s come in, with room for 256 units and for 600 activities of the path at first.

    Two benches of 1 s: cut ends its first unit at 6 s, fit at 7 s; by 67 s fit has ended 61.
    """
    text = f"""
cell: a lorry full
route: [cut, tray, fit]
stations: {{cut: {{cycle: 1 s}}, fit: {{cycle: 1 s}}}}
stores: {{tray: 3}}
release: {{at: [{", ".join(["5 s"] * 1200)}]}}
study: {{run: 1 h}}
"""
    both = BothClocks(compile_cell(load_text(text)), 1, 0)
    both.plain.state.path_limit = 300
    both.compiled.leftover.record["path_limit"] = 300
    del both.plain.state.path[600:]
    plain = both.advance(67 * SECOND)
    assert (plain.state.created, plain.state.good, plain.state.wip) == (1200, 61, 1139)
    assert audit(plain) == []
    assert audit(both.compiled) == []


def test_a_cell_that_locks_up() -> None:
    """Where the cell stands still for good, when and in which circle is the same."""
    text = """
cell: rework loop with too few places
route: [S1, tray, S2]
stations:
  S1: {cycle: 1 min}
  S2: {cycle: 1.5 min, rejects: {share: 90 %, to: S1, waits: on the station}}
stores: {tray: 1}
"""
    cell = load_text(text)
    plain = run_replications(cell, 1, range(3), clock="simpy", workers=1)
    compiled = run_replications(cell, 1, range(3), clock="compiled", workers=1)
    assert plain.records == compiled.records
    assert {record.reason for record in plain.records} == {"locked"}
    assert (plain.clock, compiled.clock) == ("simpy", "compiled")
