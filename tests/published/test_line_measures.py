"""What is measured in lines, by hand: constant times, so that one replication has no luck in it."""

from __future__ import annotations

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import SIMPY
from cellsim.published.cells import line
from cellsim.published.measures import REPLICATED
from cellsim.published.replication import Replication
from cellsim.study.worker import Worker


def measured(cell: str, quantity: str, of: str = "") -> float:
    """A quantity of the first replication of a cell."""
    loaded = load_text(cell)
    worker = Worker(loaded, SIMPY)
    record = worker.replicate(loaded.study.seed, 0)
    assert record.violations == []
    return REPLICATED[quantity](Replication(worker.flat, worker.plan, record, of))


# S2 takes 2 s and always has a unit, the place behind S1 is always filled, S1 works 1 s and is blocked 1 s.
FILLED = line(["cycle: 1 s", "cycle: 2 s"], [1], "settle: 10 s, run: 1000 s")
# S1 takes 2 s, S2 works 1 s of it and is starved 1 s; nothing ever lies on the places.
STARVED = line(["cycle: 2 s", "cycle: 1 s"], [3], "settle: 10 s, run: 1000 s")
# Times of 1 and 3 s in turn: mean 2 s, variance 1 s^2.
IN_TURN = line(["cycle: {listed: [1 s, 3 s]}"], [], "run: 1000 s")


@pytest.mark.parametrize(
    ("cell", "quantity", "of", "value"),
    [
        (FILLED, "mean number between two stations", "after S1", 2.5),
        (FILLED, "number inside, units", "", 3.0),
        (FILLED, "mean number past the station", "S1", 2.5),
        (FILLED, "share of time at work", "S1", 0.5),
        (FILLED, "share of time blocked", "S1", 0.5),
        (FILLED, "share of time starved", "S2", 0.0),
        (FILLED, "seconds per unit", "", 2.0),
        (STARVED, "mean number between two stations", "after S1", 0.5),
        (STARVED, "number inside, units", "", 1.5),
        (STARVED, "share of time starved", "S2", 0.5),
        (STARVED, "share of time blocked", "S1", 0.0),
        (IN_TURN, "SCV of the time inside", "", 0.25),
    ],
)
def test_by_hand(cell, quantity, of, value):
    """Exactly."""
    assert measured(cell, quantity, of) == pytest.approx(value, rel=1e-12)
