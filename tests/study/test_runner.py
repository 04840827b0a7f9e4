"""Many replications: the same records however they are run, a clean stop, and no silent zero."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine import record as records_module
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.record import ExitCounter, Record
from cellsim.engine.tables import FlatCell
from cellsim.errors import WorkersLost
from cellsim.study import runner as runner_module
from cellsim.study import worker as worker_module
from cellsim.study.replicate import run_replications
from cellsim.study.runner import Runner, Wanted
from cellsim.study.worker import CHUNK_TIME, Worker

SECOND = 1_000_000
MINUTE = 60 * SECOND
HOUR = 60 * MINUTE

RANDOM = """
cell: two benches and a technician
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 06:20, for: 5 min}]}}
crew: {technician: {}}
route: [S1, tray, S2]
stations:
  S1:
    cycle: {law: exponential, mean: 20 s}
    stops: {jam: {every: 5 min of running, lasts: 40 s, law: exponential, cleared_by: technician}}
  S2: {cycle: {mean: 20 s, spread: 30 %}, scrap: 5 %}
stores: {tray: 3}
study: {settle: 10 min, run: 30 min}
"""

LOCKS = """
cell: locks up
route: [feed, gate, work, buffer, test]
stations:
  feed: {cycle: 1 s}
  work: {cycle: 1 min}
  test: {cycle: 90 s, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
study: {run: 1 h}
"""

BESIDE = """
cell: one of two lines locks up
route: [pack]
lines: {loop: [feed, gate, work, buffer, test]}
stations:
  pack: {cycle: 10 min}
  feed: {cycle: 1 min}
  work: {cycle: 4 min}
  test: {cycle: 6 min, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
study: {run: 2 h}
"""

SHELF = """
cell: one of two lines fills a shelf
route: [pack]
lines: {spare: [saw]}
stations:
  pack: {cycle: 10 min}
  saw: {cycle: 4 min, rejects: {verdicts: [good, reject], to: shelf}}
stores: {shelf: 2}
study: {run: 2 h}
"""


ENDS = """
cell: three units and no more
release: {at: [0 s, 10 s, 30 s]}
route: [S1, tray, S2]
stations: {S1: {cycle: 10 s}, S2: {cycle: 10 s}}
stores: {tray: 4}
study: {run: 1 h}
"""


@pytest.fixture(scope="module")
def cell() -> Cell:
    """A small cell in which everything varies."""
    return load_text(RANDOM)


@pytest.fixture(scope="module")
def forty(cell: Cell) -> list[Record]:
    """Replications 0 to 39 of it with seed 5, one after the other in this process."""
    study = run_replications(cell, 5, range(40))
    assert not study.interrupted
    return study.records


def test_replications_differ_and_keep_the_laws(forty: list[Record]) -> None:
    """Forty different runs, each audited: otherwise the tests below would compare nothing."""
    assert [record.replication for record in forty] == list(range(40))
    assert len({tuple(record.lead_times) for record in forty}) == 40
    assert [record.violations for record in forty] == [[]] * 40
    assert min(sum(record.stops["count"]) for record in forty) >= 0 < sum(forty[0].stops["count"])


def test_two_workers_leave_what_one_leaves(cell: Cell, forty: list[Record]) -> None:
    """Records from two fresh processes equal those of this one to the last number, sorted by number."""
    calls: list[tuple[int, int]] = []
    kept: list[Record] = []
    study = run_replications(
        cell, 5, range(40), workers=2, progress=lambda done, of: calls.append((done, of)), keep=kept.append
    )
    assert study.records == forty
    assert not study.interrupted
    assert sorted(record.replication for record in kept) == list(range(40))
    assert calls[-1] == (40, 40)
    assert [done for done, _ in calls] == sorted({done for done, _ in calls})


def test_a_replication_alone_is_the_one_among_forty(cell: Cell, forty: list[Record]) -> None:
    """Replication 37 needs none of those before it."""
    assert run_replications(cell, 5, [37]).records == [forty[37]]
    assert run_replications(cell, 6, [37]).records != [forty[37]]


def test_records_come_back_in_order_and_are_kept_as_they_finish(cell: Cell, forty: list[Record]) -> None:
    """Asked for 9, 2, 5: kept in that order, once each, and returned as 2, 5, 9."""
    kept: list[Record] = []
    calls: list[tuple[int, int]] = []
    study = run_replications(
        cell, 5, [9, 2, 5], progress=lambda done, of: calls.append((done, of)), keep=kept.append
    )
    assert [record.replication for record in kept] == [9, 2, 5]
    assert study.records == [forty[2], forty[5], forty[9]]
    assert calls == [(1, 3), (2, 3), (3, 3)]


def test_no_replication_is_no_record(cell: Cell) -> None:
    """Nothing to do is done."""
    study = run_replications(cell, 5, [], workers=2)
    assert (study.records, study.interrupted) == ([], False)


def test_a_stop_keeps_what_is_finished(cell: Cell, forty: list[Record]) -> None:
    """Ctrl-C after the third: three records, all kept, and the study says that it was interrupted."""
    kept: list[Record] = []

    def stop(done: int, of: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    study = run_replications(cell, 5, range(40), progress=stop, keep=kept.append)
    assert study.interrupted
    assert study.records == kept == forty[:3]


def test_a_stop_of_two_workers_keeps_what_is_finished(cell: Cell, forty: list[Record]) -> None:
    """Ctrl-C after the first piece of work from another process: what came back is there and is right."""
    kept: list[Record] = []

    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    study = run_replications(cell, 5, range(40), workers=2, progress=stop, keep=kept.append)
    assert study.interrupted
    assert 1 <= len(study.records) < 40
    assert study.records == kept == [forty[record.replication] for record in study.records]


def test_only_the_counted_time_is_in_a_record(forty: list[Record]) -> None:
    """After 10 min of settling, 30 are counted: states of everybody fill them, and only they."""
    for record in forty:
        assert {sum(row) for row in (*record.machines, *record.actors)} == {30 * MINUTE}
        assert record.ended_at == 40 * MINUTE
        assert record.reason == "horizon"
        assert sum(record.hourly) == record.cell["good"] == len(record.lead_times)


def test_a_circular_wait_is_told_with_its_time_and_names() -> None:
    """By hand: the first unit is rejected at 151 s and waits for the gate before `work`, which finishes its
    third at 181 s and waits for the buffer before `test`.  Nothing moves from then on."""
    (record,) = run_replications(load_text(LOCKS), 1, [0]).records
    assert record.reason == "locked"
    assert record.ended_at == 181 * SECOND
    assert record.circle == ["work holds a unit for buffer", "test holds a unit for gate"]
    assert record.hourly == [0]
    assert record.violations == []


def test_a_circle_is_told_although_another_line_goes_on() -> None:
    """By hand: `test` rejects the first unit at 11 min (1 + 4 + 6) and waits for `work`, which takes its
    third unit at 9, finishes it at 13 and waits for the buffer.  Meanwhile `pack` makes 6 units an hour."""
    (record,) = run_replications(load_text(BESIDE), 1, [0]).records
    assert (record.reason, record.ended_at) == ("locked", 13 * MINUTE)
    assert record.circle == ["work holds a unit for buffer", "test holds a unit for gate"]
    assert record.full == []
    assert record.hourly == [6, 6]


def test_a_full_store_that_nothing_empties_is_told_although_another_line_goes_on() -> None:
    """Every second unit of the saw, at 8, 16 and 24 min, goes to the shelf, which has two places."""
    (record,) = run_replications(load_text(SHELF), 1, [0]).records
    assert (record.reason, record.ended_at) == ("locked", 24 * MINUTE)
    assert record.circle == ["saw holds a unit for shelf"]
    assert record.full == ["shelf"]
    assert record.hourly == [6, 6]


def test_a_standstill_without_a_circle_is_told_too() -> None:
    """Pairs of a good and a rejected unit: the third good one finds the tray full, and no reject comes."""
    text = """
cell: good with bad
route: [test, tray, join]
stations:
  test: {cycle: 1 min, rejects: {verdicts: [good, good, good, reject], to: rack}}
  join: {cycle: 1 min, takes: {tray: 1, rack: 1}}
stores: {tray: 2, rack: 4}
study: {run: 1 h}
"""
    (record,) = run_replications(load_text(text), 1, [0]).records
    assert (record.reason, record.ended_at) == ("locked", 3 * MINUTE)
    assert record.circle == ["test holds a unit for tray", "join is starved"]
    assert record.hourly == [0]


def test_a_cell_that_has_done_all_its_work_is_not_locked() -> None:
    """Three units come, three leave, then nothing more is to come: the run ends at its horizon."""
    (record,) = run_replications(load_text(ENDS), 1, [0]).records
    assert (record.reason, record.ended_at, record.circle) == ("horizon", HOUR, [])
    assert record.hourly == [3]


def test_what_belongs_to_which_hour() -> None:
    """Hours (10, 20], (20, 30] and, after a gap, (50, 60]: an exit at an end counts, one at a start does not.

    Exits in the gap, before, after and through another outlet count nowhere; every counted one has its time.
    """
    made = Record(0, hourly=[0, 0, 0])
    moments = (9, 10, 11, 20, 21, 30, 31, 50, 51, 60, 61)
    exits = np.array([(at, at - 5, 2) for at in moments] + [(25, 0, 1)])
    leaving = SimpleNamespace(take_exits=lambda: exits)
    ExitCounter(made, [10, 20, 50], [20, 30, 60], 2).take(cast(SimpyRun, leaving))
    assert made.hourly == [2, 2, 2]
    assert made.lead_times == [5] * 6


LONG = """
cell: for days
route: [S1, tray, S2]
stations:
  S1: {{cycle: {{law: exponential, mean: 3 min}}}}
  S2: {{cycle: {{mean: 3 min, spread: 20 %}}}}
stores: {{tray: 3}}
study: {{run: {days} d}}
"""


def test_a_long_run_keeps_a_bounded_number_of_lead_times(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for 1000, ten days of some 4500 units keep between 500 and 1000, and count all units."""
    monkeypatch.setattr(records_module, "LEAD_TIMES", 1000)
    (record,) = run_replications(load_text(LONG.format(days=10)), 1, [0]).records
    assert sum(record.hourly) == record.cell["good"] > 4000
    assert 500 <= len(record.lead_times) <= 1000
    assert len(record.hourly) == 240
    assert record.violations == []


class ShortLog(SimpyRun):
    """A run whose log of the path is full, and shortened for the first time, within a day."""

    def __init__(self, flat: FlatCell, seed: int, replication: int, **options: Any) -> None:
        super().__init__(flat, seed, replication, **options)
        self.state.path_limit = 1000


def peak(days: int) -> int:
    """Most memory in bytes that one replication of the long cell takes at any time."""
    worker = Worker(load_text(LONG.format(days=days)))
    tracemalloc.start()
    try:
        record = worker.replicate(1, 0)
        assert sum(record.hourly) > 400 * days
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_horizon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty days take at most 1.1 times the memory of three (the hourly counts grow, nothing else does)."""
    assert CHUNK_TIME == 24 * HOUR
    monkeypatch.setattr(records_module, "LEAD_TIMES", 500)
    monkeypatch.setattr(worker_module, "clock_named", lambda name: ShortLog)
    assert peak(30) <= 1.1 * peak(3)


def test_a_stop_while_a_record_is_kept_waits_until_it_is_counted(cell: Cell) -> None:
    """Ctrl-C that comes while the second record is being written: it is kept and counted, and no third is."""
    kept: list[Record] = []

    def keep(record: Record) -> None:
        if len(kept) == 1:
            os.kill(os.getpid(), signal.SIGINT)
        kept.append(record)

    study = run_replications(cell, 5, range(40), keep=keep)
    assert study.interrupted
    assert len(kept) == 2
    assert study.records == kept


def test_threads_of_one_process_do_not_disturb_each_other(cell: Cell, forty: list[Record]) -> None:
    """Four threads run the same cell at once, each with a worker of its own."""
    with ThreadPoolExecutor(4) as threads, Runner(clock="simpy", executor=threads, parallel=4) as runner:
        assert runner.records([Wanted(cell, 5, tuple(range(40)))]) == [forty]


def test_worker_processes_that_die_are_told(cell: Cell) -> None:
    """Killed after the first record came back: an error in words, and what came back is there."""
    found = []
    with (
        Runner(clock="simpy", workers=2) as runner,
        pytest.raises(WorkersLost, match="a worker process ended"),
    ):
        for _, record in runner.each([Wanted(cell, 5, tuple(range(4000)))]):
            found.append(record)
            if len(found) == 1:
                for process in multiprocessing.active_children():
                    process.kill()
    assert 1 <= len(found) < 4000


def test_a_runner_holds_only_the_cells_asked_for_last(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five cells, room for the names of two: the others are let go, and all records are right."""
    monkeypatch.setattr(runner_module, "NAMES_KEPT", 2)
    cells = [load_text(RANDOM.replace("tray: 3", f"tray: {places}")) for places in range(1, 6)]
    alone = [run_replications(each, 5, [0]).records for each in cells]
    with Runner(clock="simpy") as runner:
        assert runner.records([Wanted(each, 5, (0,)) for each in cells]) == alone
        assert [held for held, _ in runner._names.values()] == cells[3:]


COPIES = """
import sys, threading
from cellsim.describe.resolve import load_text
from cellsim.study import processes, replicate

used = []
make = processes.multiprocessing.get_context
processes.multiprocessing.get_context = lambda how: used.append(how) or make(how)
if __name__ == "__main__":
    cell = load_text(sys.stdin.read())
    if "thread" in sys.argv:
        threading.Thread(target=threading.Event().wait, daemon=True).start()
    found = [replicate.run_replications(cell, 1, range(6), clock="simpy", workers=k).records for k in (1, 2)]
    print(used[-1], found[0] == found[1] and len(found[0]) == 6)
"""


@pytest.mark.parametrize(("threads", "how"), [([], "fork"), (["thread"], "spawn")])
def test_workers_are_copies_only_while_there_is_one_thread(tmp_path, threads, how):
    """A copy would take over the locks of other threads; the records are the same either way."""
    if sys.platform != "linux":
        how = "spawn"
    (tmp_path / "run.py").write_text(COPIES)
    command = [sys.executable, str(tmp_path / "run.py"), *threads]
    done = subprocess.run(command, input=RANDOM, capture_output=True, text=True, check=True, timeout=120)
    assert done.stdout.split() == [how, "True"]


@pytest.mark.parametrize("workers", [None, 1, 2])
def test_more_work_than_was_foretold_is_done_with_better_means(
    cell: Cell, forty: list[Record], monkeypatch: pytest.MonkeyPatch, workers: int | None
) -> None:
    """A run is asked for, for which SimPy is right; then more, one by one: the compiled clock takes over.

    So do two processes, where their number was not given.  The records are the same to the bit.
    """
    monkeypatch.setattr(runner_module, "choose_means", lambda *what: ("simpy", workers or 1))
    monkeypatch.setattr(runner_module, "most_workers", lambda replications: 2)
    monkeypatch.setattr(runner_module, "compiling_pays", lambda seconds, workers: seconds > 1e-9)
    monkeypatch.setattr(runner_module, "WORKER_PAYS", 1e-9)
    clocks = []
    with Runner(workers=workers) as runner:
        for k in range(4):
            ((index, record),) = runner.each([Wanted(cell, 5, (k,))])
            assert (index, record) == (0, forty[k])
            clocks.append(runner.clock)
        found = dict(runner.each([Wanted(cell, 5, (k,)) for k in range(4, 12)]))
        assert [found[k] for k in range(8)] == forty[4:12]
    assert clocks == ["compiled"] * 4
    assert runner.workers == (workers or 2)


@pytest.mark.parametrize("clock", ["simpy", "compiled"])
def test_means_that_were_asked_for_stay(cell: Cell, monkeypatch: pytest.MonkeyPatch, clock: str) -> None:
    """Whatever is spent under them."""
    monkeypatch.setattr(runner_module, "compiling_pays", lambda seconds, workers: True)
    monkeypatch.setattr(runner_module, "WORKER_PAYS", 0.0)
    with Runner(clock=clock, workers=1) as runner:
        for _ in range(2):
            list(runner.each([Wanted(cell, 5, (0, 1))]))
    assert (runner.clock, runner.workers) == (clock, 1)
