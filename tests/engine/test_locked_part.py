"""Who is stuck for good in cells traced by hand, and who beside them is not."""

from __future__ import annotations

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.locked_part import LockedPart, locked_part, stuck_for_good
from cellsim.engine.model import compile_cell

MINUTE = 60_000_000

# At 1 min the mill, listed last, takes the first unit for an hour; the saw begins with the next one at 2
# and rejects every second one: at 6 and at 10, when the shelf is full.  From then on the rack stays full
# until the mill takes the next unit.
BESIDE = """
cell: two takers
route: [feed, rack, saw]
lines: {other: [mill]}
stations:
  feed: {cycle: 1 min}
  saw: {cycle: 2 min, rejects: {verdicts: [good, reject], to: shelf}}
  mill: {cycle: 60 min, takes: {rack: 1}}
stores: {rack: 1, shelf: 1}
"""
# The saw finishes rejects at 4 and at 8 min.  The feeder is finished at 1 and waits for the operator, who
# works at the bench from 0 on; the rack has room for what he will lay down.
UNLOADED = """
cell: somebody will come
crew: {op: {}}
route: [feed, rack, saw]
lines: {other: [bench]}
stations:
  feed: {cycle: 1 min, visit: {by: op, unload: 1 min}}
  saw: {cycle: 2 min, rejects: {verdicts: [good, reject], to: shelf}}
  bench: {cycle: 60 min, by: op}
stores: {rack: {places: 5, starts_with: 4}, shelf: 1}
"""


@pytest.mark.parametrize(("text", "since"), [(BESIDE, 10), (UNLOADED, 8)], ids=["two takers", "a visit"])
def test_who_may_still_hand_over_is_not_stuck(text: str, since: int) -> None:
    """Only the saw is stuck at 20 min; whoever waits for the mill or for the operator is not."""
    run = SimpyRun(compile_cell(load_text(text)), 1, 0)
    run.advance(20 * MINUTE)
    names = run.flat.names
    assert [names.machines[i] for i in stuck_for_good(run.state)] == ["saw"]
    assert locked_part(run.state, names) == LockedPart(
        since * MINUTE, ["saw holds a unit for shelf"], ["shelf"]
    )


def test_nobody_is_stuck_in_a_cell_that_moves() -> None:
    """Before the second reject everything may still move."""
    run = SimpyRun(compile_cell(load_text(BESIDE)), 1, 0)
    run.advance(9 * MINUTE)
    assert locked_part(run.state, run.flat.names) is None
