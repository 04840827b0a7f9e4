"""Finished replications in a file: what is there is not run again, whoever wrote it and however it ended."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text, resolved_sha256
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.study import kept as kept_module
from cellsim.study import runner as runner_module
from cellsim.study.kept import Kept, rules_name
from cellsim.study.means import means
from cellsim.study.replicate import run_replications
from cellsim.study.runner import Runner, Wanted

TEXT = """
cell: two benches
route: [S1, tray, S2]
stations:
  S1: {cycle: {law: exponential, mean: 20 s}}
  S2: {cycle: {mean: 20 s, spread: 30 %}}
stores: {tray: PLACES}
study: {run: 30 min}
"""


def cell_with(places: int) -> Cell:
    """The benches with so many places between them."""
    return load_text(TEXT.replace("PLACES", str(places)))


@pytest.fixture
def small() -> Cell:
    """The benches with three places."""
    return cell_with(3)


class Counting(Executor):
    """Does work at once, in this process, and counts the replications."""

    def __init__(self) -> None:
        self.done: list[tuple[str, int]] = []

    def submit(self, function, /, piece):  # type: ignore[override]
        """The work as a finished future."""
        self.done += [(piece.name, k) for k in piece.numbers]
        future: Future = Future()
        future.set_result(function(piece))
        return future


def numbers(done: Sequence[tuple[str, int]]) -> list[int]:
    """The numbers of replications that were run, in order."""
    return sorted(k for _, k in done)


def test_only_what_is_missing_is_run(tmp_path: Path, small: Cell) -> None:
    """A longer study runs what is new; the records of both are those of a study without a file."""
    plain = run_replications(small, 1, range(6)).records
    first, second = Counting(), Counting()
    with Runner(executor=first, kept=Kept(tmp_path / "k.sqlite")) as runner:
        assert runner.records([Wanted(small, 1, (0, 1, 2, 3))]) == [plain[:4]]
    with Runner(executor=second, kept=Kept(tmp_path / "k.sqlite")) as runner:
        assert runner.records([Wanted(small, 1, (1, 2, 3, 4, 5))]) == [plain[1:]]
    assert numbers(first.done) == [0, 1, 2, 3]
    assert numbers(second.done) == [4, 5]


@pytest.mark.parametrize("what", ["cell", "seed", "rules"])
def test_what_belongs_to_something_else_is_run_again(
    tmp_path: Path, small: Cell, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another description, another seed, other rules: nothing of what is kept is used."""
    with Runner(executor=Counting(), kept=Kept(tmp_path / "k.sqlite")) as runner:
        runner.records([Wanted(small, 1, (0, 1))])
    if what == "rules":
        monkeypatch.setattr(kept_module, "rules_name", lambda: "other")
    counting = Counting()
    cell, seed = (cell_with(4) if what == "cell" else small), 2 if what == "seed" else 1
    with Runner(executor=counting, kept=Kept(tmp_path / "k.sqlite")) as runner:
        runner.records([Wanted(cell, seed, (0, 1))])
    assert numbers(counting.done) == [0, 1]


def test_the_largest_seed_and_many_numbers(tmp_path: Path) -> None:
    """A seed of 64 bits is kept as it is, and more numbers than one question may hold are found."""
    kept = Kept(tmp_path / "k.sqlite")
    records = [Record(k, hourly=[k]) for k in range(1201)]
    for record in records:
        kept.put("a", 2**64 - 1, record)
    assert kept.get("a", 2**64 - 1, range(1300)) == {r.replication: r for r in records}
    assert kept.get("a", 2**64 - 2, range(1300)) == {}
    kept.put("a", 2**64 - 1, Record(0, hourly=[7]))
    assert kept.get("a", 2**64 - 1, [0]) == {0: records[0]}


def test_two_studies_at_once_share_a_file(tmp_path: Path) -> None:
    """Two processes that write the same and different replications at once lose nothing."""
    script = """
import sys
from pathlib import Path
from cellsim.engine.record import Record
from cellsim.study.kept import Kept
kept, first = Kept(Path(sys.argv[1])), int(sys.argv[2])
for k in range(first, first + 200):
    kept.put("a", 1, Record(k, hourly=[k] * 50))
"""
    file = tmp_path / "k.sqlite"
    writers = [subprocess.Popen([sys.executable, "-c", script, str(file), first]) for first in ("0", "100")]
    assert [writer.wait(60) for writer in writers] == [0, 0]
    found = Kept(file).get("a", 1, range(400))
    assert sorted(found) == list(range(300))
    assert all(record.hourly == [k] * 50 for k, record in found.items())


def test_a_kill_at_any_instant_leaves_whole_records(tmp_path: Path) -> None:
    """Killed while it writes: what is there can be read, and writing goes on."""
    script = """
import sys, itertools
from pathlib import Path
from cellsim.engine.record import Record
from cellsim.study.kept import Kept
kept = Kept(Path(sys.argv[1]))
for k in itertools.count(int(sys.argv[2])):
    kept.put("a", 1, Record(k, hourly=[k] * 500))
"""
    file = tmp_path / "k.sqlite"
    for attempt in range(5):
        before = max(Kept(file).get("a", 1, range(100_000)), default=-1) if attempt else -1
        with subprocess.Popen([sys.executable, "-c", script, str(file), str(before + 1)]) as writer:
            deadline = time.monotonic() + 30
            while time.monotonic() < deadline and not (
                file.exists() and len(Kept(file).get("a", 1, range(before + 1, before + 20)))
            ):
                time.sleep(0.01)
            writer.send_signal(signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
        found = Kept(file).get("a", 1, range(100_000))
        assert max(found) > before
        assert sorted(found) == list(range(max(found) + 1))
        assert all(record.hourly == [k] * 500 for k, record in found.items())


def test_a_file_that_is_no_such_file_is_told(tmp_path: Path) -> None:
    """Text, and a folder that is not there: in words, and the text stays as it was."""
    (tmp_path / "text").write_text("this is no database, and long enough to be looked at" * 20)
    for name in ("text", "nowhere/k.sqlite"):
        with pytest.raises(UsageError, match="cannot be used for finished replications"):
            Kept(tmp_path / name)
    assert (tmp_path / "text").read_text().startswith("this is no database")
    with sqlite3.connect(tmp_path / "other.sqlite") as other:
        other.execute("CREATE TABLE replications (a)")
    with pytest.raises(UsageError, match="cannot be used"):
        Kept(tmp_path / "other.sqlite")


def test_the_file_is_closed_when_the_study_ends(tmp_path: Path) -> None:
    """Nothing can be asked any more, and all of it is in the one file."""
    with means(clock="simpy", kept_in=tmp_path / "k.sqlite") as runner:
        runner.records([Wanted(cell_with(1), 1, (0, 1))])
        kept = runner._kept
        assert kept is not None
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        kept.get("a", 1, [0])
    assert [path.name for path in tmp_path.iterdir()] == ["k.sqlite"]


def test_the_rules_have_a_name() -> None:
    """Sixteen digits of a hash, the same each time."""
    assert len(rules_name()) == 16
    assert int(rules_name(), 16) >= 0


def test_several_cells_at_once(small: Cell) -> None:
    """Requests for different cells come back each to its own place, in this process and on threads."""
    cells = [cell_with(places) for places in range(1, 5)]
    requests = [Wanted(cell, 1, tuple(range(k, k + 3))) for k, cell in enumerate(cells)]
    alone = [run_replications(w.cell, w.seed, w.numbers).records for w in requests]
    with Runner() as runner:
        assert runner.records(requests) == alone
    with ThreadPoolExecutor(1) as threads, Runner(executor=threads, parallel=2) as runner:
        assert runner.records(requests) == alone
        assert runner.records(requests[:1]) == alone[:1]


def test_a_process_has_only_some_cells_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """The cells that were run last, so that memory stays bounded in a long search."""
    monkeypatch.setattr(runner_module, "WORKERS_KEPT", 3)
    cells = [cell_with(places) for places in range(1, 7)]
    with Runner(clock="simpy") as runner:
        runner.records([Wanted(cell, 1, (0,)) for cell in cells])
    names = [name for name, _ in runner_module._ready]
    assert names == [resolved_sha256(cell) for cell in cells[-3:]]
