"""What is read off a run, where the figures are known by hand."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import SIMPY
from cellsim.published.measures import REPLICATED
from cellsim.published.replication import Replication
from cellsim.study.worker import Worker

# One pallet: A takes it and works 1 s with the operator, B works 2 s alone and gives it back, 3 s in all.
ONE_PALLET = """
cell: one pallet
crew: {operator: [A]}
route: [A, tray, B]
stations: {A: {cycle: 1 s}, B: {cycle: 2 s}}
stores: {tray: 2}
carriers: {pallets: {count: 1, from: A, to: B}}
study: {settle: 3 s, run: 3 h}
"""
# A holds each unit for 3 s more until B has finished the one before, which takes 4 s in all.
BLOCKED = """
cell: no places
route: [A, B]
stations: {A: {cycle: 1 s}, B: {cycle: 4 s}}
study: {settle: 8 s, run: 3 h}
"""
# Two units every 10 s, 1 s apart: the second waits 2 s, so that one takes 3 s and the other 5 s.
PAIRS = """
cell: pairs
release: {every: {law: listed, listed: [1 s, 9 s]}}
route: [M]
stations: {M: {cycle: 3 s}}
study: {settle: 10 s, run: 3 h}
"""


@functools.cache
def only(text: str) -> Replication:
    """The one replication that there is, since no time is drawn."""
    worker = Worker(load_text(text), SIMPY)
    return Replication(worker.flat, worker.plan, worker.replicate(1, 0))


@pytest.mark.parametrize(
    ("text", "quantity", "of", "value"),
    [
        (ONE_PALLET, "units per second", "", 1 / 3),
        (ONE_PALLET, "units per minute", "", 20),
        (ONE_PALLET, "units per hour", "", 1200),
        (ONE_PALLET, "cycles per second", "A", 1 / 3),
        (ONE_PALLET, "variance of units per hour", "", 0),
        (ONE_PALLET, "mean number of machines at work", "B", 2 / 3),
        (ONE_PALLET, "share of time at work", "A", 1 / 3),
        (ONE_PALLET, "share of time running alone", "A", 0),
        (ONE_PALLET, "share of time running alone", "B", 2 / 3),
        (ONE_PALLET, "share of time waiting for a carrier", "A", 2 / 3),
        (ONE_PALLET, "share of time of a post at work", "operator", 1 / 3),
        (ONE_PALLET, "share of time of a post free", "operator", 2 / 3),
        (ONE_PALLET, "share of time without a free carrier", "pallets", 1),
        (ONE_PALLET, "mean number past the station", "A", 2 / 3),
        (ONE_PALLET, "mean number at the station", "B", 2 / 3),
        (ONE_PALLET, "mean time inside, s", "", 3),
        (BLOCKED, "share of time blocked", "A", 3 / 4),
        (BLOCKED, "mean number at the station", "A", 1),
        (BLOCKED, "mean number past the station", "A", 7 / 4),
        (BLOCKED, "mean time inside, s", "", 8),
        (PAIRS, "share of time at work", "M", 0.6),
        (PAIRS, "mean time in the store, s", "release", 1),
        (PAIRS, "mean number in the store", "release", 0.2),
        (PAIRS, "mean number at the station", "M", 0.8),
        (PAIRS, "mean time inside, s", "", 4),
        (PAIRS, "time inside of the quickest 90 %, s", "", 5),
    ],
)
def test_figures_by_hand(text, quantity, of, value):
    """Nothing is random, so that the figures are those of one round."""
    assert REPLICATED[quantity](replace(only(text), of=of)) == pytest.approx(value, rel=1e-12)


def test_hours_and_levels_by_hand():
    """1, 2, 3 units an hour have a variance of 1; levels below ten do not count as ten or more."""
    one = replace(only(PAIRS), of="release")
    levels = [[0] * 128 for _ in one.record.time_at]
    levels[one.store][9], levels[one.store][10], levels[one.store][127] = 70, 20, 10
    record = replace(one.record, hourly=[1, 2, 3], time_at=levels)
    one = replace(one, record=record)
    assert REPLICATED["variance of units per hour"](one) == 1
    assert REPLICATED["share of time with ten or more in the store"](one) == pytest.approx(0.3)
