"""The critical path is the derivative: a tiny change of a time moves the last unit by its part of the path.

Where times are random no two events coincide, so a change of one in a million leaves the order of events as
it is, and the path says exactly by how much the last good unit comes earlier.  What is no sum of times is
taken out of the cells first: breaks, which stand where the calendar puts them; stops by running time or on
time, whose moment depends on all the running before; zones in which work goes on more slowly while somebody
is there, since the path gives the longer time to whoever works.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from cellsim.describe.cell import FINISHED, Cell, Law, Stop
from cellsim.describe.resolve import load
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.model import compile_cell
from cellsim.engine.tables import FlatCell
from cellsim.study.improvements import improvements
from cellsim.units import HOUR

HERE = Path(__file__).parents[2]
CELLS = sorted([*(HERE / "scenarios").glob("*.yaml"), *(HERE / "cellsim/describe/behaviours").glob("*.yaml")])
UNTIL = 5 * HOUR
TINY = 1e-6
ROUNDING = 0.003  # a time is a whole number of microseconds, and so is what it becomes shorter by
NO_SUM = {"robots-picks_that_fail": "an attempt that failed takes a time of its own within the work"}


def random_law(law: Law) -> Law:
    """A fixed time with 5 % of spread; other laws as they are."""
    return Law("gamma", (law.values[0], 0.05)) if law.name == "fixed" and law.values[0] > 0 else law


def by_cycles(stops: tuple[Stop, ...]) -> tuple[Stop, ...]:
    """The stops that come after so many cycles or units, with random repairs."""
    kept = [stop for stop in stops if stop.clock in ("cycles", "units") and not stop.at]
    return tuple(replace(stop, lasts=random_law(stop.lasts)) for stop in kept)


def sum_of_times(cell: Cell) -> Cell:
    """The cell without breaks, stops by time and zones; its fixed times become random."""
    stations = tuple(
        replace(
            station,
            work=tuple(
                replace(
                    element,
                    time=random_law(element.time),
                    by_variant=tuple((name, random_law(law)) for name, law in element.by_variant),
                )
                for element in station.work
            ),
            stops=by_cycles(station.stops),
        )
        for station in cell.stations
    )
    return replace(
        cell,
        shifts=tuple(replace(shift, breaks=(), start_up=0, clean_up=0) for shift in cell.shifts),
        stations=stations,
        zones=(),
        robots=tuple(replace(robot, stops=by_cycles(robot.stops)) for robot in cell.robots),
    )


def exits(flat: FlatCell, replication: int, until: int) -> tuple[CompiledRun, list[int]]:
    """A run and when its good units left."""
    run = CompiledRun(flat, 1, replication)
    run.advance(until)
    rows = run.take_exits()
    return run, [int(at) for at, _, store in rows if store == flat.names.stores.index(FINISHED)]


@pytest.mark.parametrize("file", CELLS, ids=lambda file: file.stem)
def test_a_tiny_change_moves_the_last_unit_by_its_part_of_the_path(file: Path) -> None:
    """Work, loading and repairs of every station, one at a time, in two replications."""
    if file.stem in NO_SUM:
        pytest.skip(NO_SUM[file.stem])
    cell = sum_of_times(load(file))
    flat = compile_cell(cell)
    changes = [each for each in improvements(cell, TINY) if each.cause and not each.name.endswith("rarer")]
    assert changes
    differ = []
    for replication in range(2):
        run, times = exits(flat, replication, UNTIL)
        path, _ = run.walk_back()
        assert sum(path) == times[-1]
        for change in changes:
            _, sooner = exits(compile_cell(change.cell), replication, UNTIL + HOUR)
            moved = (times[-1] - sooner[len(times) - 1]) / TINY / times[-1]
            promised = path[flat.names.causes.index(change.cause)] / times[-1]
            if abs(moved - promised) > ROUNDING:
                differ.append((change.name, replication, promised, moved))
    assert differ == []
