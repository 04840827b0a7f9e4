"""Purchased parts, finished goods and the hourly plan in words: what the screen and the trace say."""

from __future__ import annotations

from cellsim.describe.resolve import load_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.show.supply import goods_words, part_rows, plan_columns, plan_words
from cellsim.show.trace import lines
from cellsim.study.figures import figures
from cellsim.study.worker import Worker
from cellsim.units import MINUTE

CELL = """
cell: all of it
shifts: {day: {from: 06:00, to: 08:00}}
crew: {H: {}}
route: [S1]
stations: {S1: {cycle: 10 min}}
parts: {pin: {used_at: {S1: 2}, box: 8, orders_at: 2, brought_by: H, trip: 20 min}}
release: {plan: {06:00: 5, 07:00: 6}}
finished_goods: {places: 4, collected: {every: 40 min, takes: 3}}
"""


def test_what_is_said_about_material():
    """Out at 10, 20, 30, 40, 50 and, from 60 on, 70, 80, ..., 120: all that was planned.

    Pins lying ready in steps of 10 min: 6, 4, 2 (ordered), 0, 8 - 2 = 6, 6, 4, 2 (ordered), 0, 6, 4, 2: 42
    / 12. Finished units: 0, 1, 2, 3, then 1 (three collected, one came), 2, 2, 3, 1, 2, 3, 4: 24 / 12; the
    third three are collected at 120.
    """
    worker = Worker(load_text(CELL))
    record = worker.replicate(1, 0)
    assert record.violations == []
    result = figures(worker.flat, worker.plan, [record])
    assert plan_words(result) == "Of the hourly plan 100 % is made in its hour."
    assert plan_columns(result) == {"06:00-07:00": ("5", "100 %"), "07:00-08:00": ("6", "100 %")}
    assert part_rows(result) == [("pin", "3.5", "22.0", "2.0", "0.0", "0.0")]
    words = "2.0 units stand there on average, at most 4 in 4 places; 9.0 are collected per run."
    assert goods_words(result) == words


def test_what_the_trace_says():
    """Order, trip, arrival and collection each have a line with their number."""
    run = SimpyRun(compile_cell(load_text(CELL)), 1, 0, trace=True)
    run.advance(45 * MINUTE)
    found = {(at[:5], who, what) for at, who, what in lines(run)}
    assert {
        ("06:20", "pin", "is sent for: 8"),
        ("06:20", "H", "brings pin"),
        ("06:40", "pin", "arrives: 8"),
        ("06:40", "finished", "is collected: 3"),
    } <= found


def test_nothing_is_said_where_there_is_nothing():
    """A cell without parts, plan or limited places has no such words."""
    worker = Worker(load_text("cell: x\nroute: [S1]\nstations: {S1: {cycle: 10 min}}\nstudy: {run: 1 h}\n"))
    result = figures(worker.flat, worker.plan, [worker.replicate(1, 0)])
    assert (part_rows(result), goods_words(result), plan_words(result)) == ([], "", "")
    assert plan_columns(result) == {}
