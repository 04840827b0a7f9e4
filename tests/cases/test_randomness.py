"""Random numbers seen from outside: workers, single replications, order in the file, trace on or off."""

from __future__ import annotations

import numpy as np
import pytest
from tracing import MINUTE

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.draws import restart, uniform
from cellsim.engine.model import compile_cell
from cellsim.study.replicate import run_replications
from cellsim.study.worker import Worker

LUCK = """
cell: luck
crew: {anna: {}, tech: {}}
route: [press, tray, fit]
stations:
  press:
    cycle: 24 s
    stops: {jam: {every: 5 min of running, lasts: 1 min, law: exponential, cleared_by: tech}}
  fit: {cycle: {mean: 24 s, spread: 30 %}, by: anna, rejects: {share: 10 %, to: bench, returns_to: fit}}
  bench: {cycle: {min: 20 s, likely: 30 s, max: 60 s}, by: tech}
stores: {tray: 3}
study: {run: 30 min}
"""

# The same cell with every mapping written the other way round.
LUCK_SHUFFLED = """
study: {run: 30 min}
stores: {tray: 3}
stations:
  bench: {by: tech, cycle: {max: 60 s, likely: 30 s, min: 20 s}}
  fit: {rejects: {returns_to: fit, to: bench, share: 10 %}, by: anna, cycle: {spread: 30 %, mean: 24 s}}
  press:
    stops: {jam: {cleared_by: tech, law: exponential, lasts: 1 min, every: 5 min of running}}
    cycle: 24 s
route: [press, tray, fit]
crew: {tech: {}, anna: {}}
cell: luck
"""


@pytest.fixture(scope="module")
def cell() -> Cell:
    """A small cell with random times, stops and rejects."""
    return load_text(LUCK)


def test_any_number_of_workers_gives_the_same(cell: Cell) -> None:
    """8 replications are the same with 1, 2 and 4 workers (started afresh), and no two of them are equal."""
    alone = run_replications(cell, 1, range(8)).records
    assert [record.replication for record in alone] == list(range(8))
    for workers in (2, 4):
        assert run_replications(cell, 1, range(8), workers=workers).records == alone
    assert all(record.violations == [] for record in alone)
    fates = {str(record.machines) for record in alone}
    assert len(fates) == 8


def test_one_replication_can_be_run_again_alone(cell: Cell) -> None:
    """Replication 37 is the same among 100, alone, and among 200."""
    among = run_replications(cell, 1, range(100)).records[37]
    alone = run_replications(cell, 1, [37]).records
    assert alone == [among]
    worker = Worker(cell)
    assert [worker.replicate(1, k) for k in range(200)][37] == among
    assert run_replications(cell, 2, [37]).records != [among]


def test_all_streams_of_a_cell_are_distinct() -> None:
    """100 replications of 10 stations: the first 4 draws of all streams and the base generator differ."""
    stations = "".join(
        f"\n  S{k}: {{cycle: {{mean: 1 min, spread: 10 %}},"
        f" stops: {{jam: {{every: 9 min of running, lasts: 1 min}}}}}}"
        for k in range(10)
    )
    route = ", ".join(f"S{k}" for k in range(10))
    flat = compile_cell(load_text(f"cell: ten\nroute: [{route}]\nstations: {stations}\n"))
    streams = flat.state.streams
    assert len(streams) == 10 * 5  # work, stop (when and how long), outlet, verdict
    seen = np.random.Generator(np.random.Philox(1)).random(4).tolist()
    for replication in range(100):
        for stream in streams:
            restart(stream, 1, replication)
            seen += [uniform(stream) for _ in range(4)]
    assert len(set(seen)) == len(seen) == 4 + 100 * 50 * 4


def test_a_seed_that_was_not_given_is_shown(cell: Cell) -> None:
    """Without a seed one is assumed and written down; run with that one, all is the same."""
    assert any(a.path == "study.seed" and a.value == str(cell.study.seed) for a in cell.assumptions)
    again = load_text(resolved_text(cell))
    assert again.study.seed == cell.study.seed
    seeded = load_text(LUCK.replace("study: {run", f"study: {{seed: {cell.study.seed}, run"))
    records = run_replications(cell, cell.study.seed, range(3)).records
    assert run_replications(seeded, seeded.study.seed, range(3)).records == records
    assert run_replications(again, again.study.seed, range(3)).records == records


def test_the_order_of_keys_changes_nothing(cell: Cell) -> None:
    """The same cell with all keys in another order gives the same replications."""
    records = run_replications(cell, 1, range(5)).records
    assert run_replications(load_text(LUCK_SHUFFLED), 1, range(5)).records == records


BOUNDED = """
cell: bounded pair
route: [S1, tray, S2]
stations: {S1: {cycle: 1 min}, S2: {cycle: 3 min}}
stores: {tray: 2}
"""


def test_a_long_run_needs_no_more_memory_and_no_more_events_a_minute() -> None:
    """Ten times the horizon is ten times the events, in the same logs, and the trace changes no number."""
    flat = compile_cell(load_text(BOUNDED))
    sizes, events, good = [], [], []
    for length, trace in ((1_000, False), (10_000, False), (10_000, True)):
        run = SimpyRun(flat, 1, 0, trace=trace)
        for until in range(1_000, length + 1, 1_000):
            run.advance(until * MINUTE)
        c = run.state
        sizes.append((len(c.parts), len(c.path), len(c.exits), len(c.due)))
        events.append(c.events)
        good.append((c.good, [m.totals for m in c.machines], c.wip_area))
    assert sizes[0] == sizes[1] == sizes[2]
    # units leave at 4, 7, ..., 1000, ..., 10 000
    assert [good[0][0], good[1][0]] == [333, 3333]
    assert events[1] == events[2]
    assert abs(events[1] - 10 * events[0]) <= 30
    assert good[1] == good[2]
