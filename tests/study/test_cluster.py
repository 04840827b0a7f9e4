"""Studies on a Dask cluster: the figures of this machine, whoever dies on the way, and words where it fails.

The scheduler and the workers are processes of their own, as a user has them.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from distributed import Client

from cellsim.cli import main
from cellsim.describe.resolve import load_text
from cellsim.engine.record import Record
from cellsim.errors import UsageError, WorkersLost
from cellsim.study import cluster as cluster_module
from cellsim.study import marks as marks_module
from cellsim.study.cluster import cluster, done_alike
from cellsim.study.kept import Kept
from cellsim.study.marks import marks, unlike
from cellsim.study.runner import AHEAD, TRIES, Done, Piece, Runner, Wanted

ROOT = Path(__file__).parents[2]
TEXT = """
cell: benches
target: 60 per h
route: [S1, tray, S2, rack, S3]
stations:
  S1: {cycle: {law: exponential, mean: 20 s}}
  S2: {cycle: {mean: 20 s, spread: 30 %}}
  S3: {cycle: {law: exponential, mean: 20 s}}
stores: {tray: 3, rack: 1}
study: {run: 90 min}
"""
LONG = TEXT.replace("90 min", "6 h")  # some hundredths of a second under SimPy


class Cluster:
    """A scheduler and workers in processes of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")]),
            "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0",  # it gives a piece up at the first death
        }
        self.processes: list[subprocess.Popen[bytes]] = []
        file = folder / "scheduler.json"
        where = ["--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(file)]
        self.scheduler = self._start("scheduler", *where)
        while not file.exists():
            time.sleep(0.02)
        time.sleep(0.1)
        self.address = str(json.loads(file.read_text())["address"])

    def _start(self, what: str, *arguments: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.dask_{what}", "--no-dashboard", *arguments]
        with open(self.folder / f"{what}.log", "ab") as log:
            process = subprocess.Popen(command, env=self.environment, stdout=log, stderr=log)
        self.processes.append(process)
        return process

    def worker(self, threads: int = 1) -> subprocess.Popen[bytes]:
        """One more worker, which nobody starts again when it dies."""
        wanted = ["--no-nanny", "--nthreads", str(threads), "--memory-limit", "0"]
        return self._start("worker", self.address, *wanted, "--local-directory", str(self.folder))

    def end(self) -> None:
        """End all processes."""
        for process in self.processes:
            process.kill()
            process.wait()


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    """A cluster of two workers, the second with two threads, that no test harms."""
    made = Cluster(tmp_path_factory.mktemp("two"))
    try:
        made.worker()
        made.worker(threads=2)
        with cluster(made.address) as pool:
            wait_for(lambda: pool.places() == 3)
        yield made
    finally:
        made.end()


@pytest.fixture
def harmed(tmp_path: Path) -> Iterator[Cluster]:
    """A cluster without workers yet."""
    (tmp_path / "cluster").mkdir()
    made = Cluster(tmp_path / "cluster")
    try:
        yield made
    finally:
        made.end()


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the benches."""
    (tmp_path / "benches.yaml").write_text(TEXT)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def wait_for(there: Callable[[], bool], seconds: float = 20) -> None:
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while not there():
        assert time.monotonic() < end, "it did not come to be"
        time.sleep(0.05)


def call(*arguments: str) -> Any:
    """Call the command line."""
    return CliRunner().invoke(main, list(arguments))


def numbered(found: list[Record]) -> list[Record]:
    """Records by number."""
    return sorted(found, key=lambda record: record.replication)


@pytest.mark.parametrize(
    "command",
    [
        ["run", "-n", "40", "--clock", "simpy"],
        ["run", "-n", "40", "--clock", "compiled"],
        ["compare", "--change", "stores.tray.places: 5", "-n", "12", "--clock", "simpy"],
        ["buffers", "--total", "4", "--matters", "4 per h", "--clock", "compiled"],
        ["limits", "-n", "4", "--clock", "simpy"],
    ],
    ids=lambda command: f"{command[0]} {command[-1]}",
)
def test_a_cluster_gives_the_figures_of_this_machine(two: Cluster, inside: Path, command: list[str]) -> None:
    """Every command that runs a study answers the same text to the last digit."""
    name, *options = command
    here = call(name, "benches.yaml", *options, "-w", "1", "--json", "here.json", "-q")
    there = call(name, "benches.yaml", *options, "--scheduler", two.address, "--json", "there.json", "-q")
    assert (here.exit_code, there.exit_code) == (0, 0), here.output + there.output
    assert (inside / "here.json").read_text() == (inside / "there.json").read_text()
    assert json.loads((inside / "here.json").read_text())["provenance"]["clock"] == command[-1]


def test_pieces_under_way_follow_the_threads(two: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three threads: at most AHEAD x 3 pieces at once, and as many while there is enough to do."""
    under_way, most = 0, 0

    def back(future: Future[Done]) -> None:
        nonlocal under_way
        under_way -= 1

    with cluster(two.address) as pool:
        submit = pool.submit

        def counting(work: Callable[[Piece], Done], piece: Piece) -> Future[Done]:
            nonlocal under_way, most
            future = submit(work, piece)
            under_way += 1
            most = max(most, under_way)
            future.add_done_callback(back)
            return future

        monkeypatch.setattr(pool, "submit", counting)
        with Runner(clock="simpy", pool=pool) as runner:
            (found,) = runner.records([Wanted(load_text(LONG), 1, tuple(range(12)))])
            assert runner.workers == 3
    assert len(found) == 12
    assert most == 3 * AHEAD


def test_a_worker_killed_in_the_middle_loses_nothing(harmed: Cluster) -> None:
    """Its pieces, which the scheduler gives up, are run by the one that is left."""
    workers = [harmed.worker(), harmed.worker()]
    wanted = Wanted(load_text(LONG), 1, tuple(range(40)))
    with Runner(clock="simpy") as runner:
        (here,) = runner.records([wanted])
    found = []
    with cluster(harmed.address) as pool:
        wait_for(lambda: pool.places() == 2)
        with Runner(clock="simpy", pool=pool) as runner:
            for _, record in runner.each([wanted]):
                found.append(record)
                if len(found) == 5:
                    workers[0].send_signal(signal.SIGKILL)
            wait_for(lambda: pool.places() == 1)
    assert workers[0].wait() == -signal.SIGKILL
    assert len(found) == 40
    assert numbered(found) == here


def test_without_a_worker_the_study_ends_and_what_was_finished_is_kept(
    harmed: Cluster, inside: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The only worker dies: exit code 75, words, and afterwards only what is missing is run."""
    (inside / "long.yaml").write_text(LONG)
    worker = harmed.worker()
    with cluster(harmed.address) as pool:
        wait_for(lambda: pool.places() == 1)
    monkeypatch.setattr(cluster_module, "PATIENCE", 1)
    put = Kept.put
    kept: list[int] = []

    def counting(self: Kept, cell: str, seed: int, record: Record) -> None:
        put(self, cell, seed, record)
        kept.append(record.replication)
        if len(kept) == 4:
            worker.send_signal(signal.SIGKILL)

    monkeypatch.setattr(Kept, "put", counting)
    common = ("run", "long.yaml", "-n", "20", "--clock", "simpy", "-q", "--kept-in", "kept.sqlite")
    done = call(*common, "--scheduler", harmed.address)
    assert done.exit_code == 75, done.output
    said = " ".join(done.output.split())
    assert f"the cluster at {harmed.address} has lost its last worker" in said
    assert "what was finished is in kept.sqlite" in said
    assert "go on with --resume" in said
    first = set(kept)
    assert 4 <= len(first) < 20
    assert not (inside / "kept.sqlite-wal").exists()
    assert call(*common, "-w", "1").exit_code == 0
    assert set(kept[len(first) :]) == set(range(20)) - first


def test_a_lost_scheduler_is_told(harmed: Cluster) -> None:
    """The scheduler dies: an error within some seconds, after what had come back."""
    harmed.worker()
    found = []
    with cluster(harmed.address) as pool, Runner(clock="simpy", pool=pool) as runner:
        wait_for(lambda: pool.places() == 1)
        with pytest.raises(WorkersLost, match="does not answer any more"):
            for _, record in runner.each([Wanted(load_text(LONG), 1, tuple(range(100)))]):
                found.append(record)
                if len(found) == 3:
                    harmed.scheduler.send_signal(signal.SIGKILL)
                    killed = time.monotonic()
    assert time.monotonic() - killed < 15
    assert 3 <= len(found) < 100


def test_a_swallowed_stop_is_remembered(two: Cluster) -> None:
    """Ctrl-C struck where a library caught everything: the next look at the workers ends the study."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with cluster(two.address) as pool:
            assert pool.places() > 0
            with suppress(KeyboardInterrupt):
                os.kill(os.getpid(), signal.SIGINT)
            with pytest.raises(KeyboardInterrupt):
                pool.places()
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    finally:
        signal.signal(signal.SIGINT, before)


def test_a_stop_leaves_the_cluster_usable(two: Cluster, inside: Path) -> None:
    """Ctrl-C in the middle: code 130, nothing is left under way, and the same cluster runs the next study."""
    (inside / "long.yaml").write_text(LONG)
    command = [sys.executable, "-m", "cellsim", "run", "long.yaml", "-n", "20000", "--clock", "simpy"]
    process = subprocess.Popen(
        [*command, "-q", "--scheduler", two.address, "--out", "out"],
        env=two.environment, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # also where tests run unattended
    )  # fmt: skip
    file = inside / "out" / "replications.jsonl"
    wait_for(lambda: file.exists() and file.read_text().count("\n") > 3)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=40)
    assert process.returncode == 130, said
    assert "are finished and kept" in said
    # Where it strikes in the clean-up of the library, that may log a traceback of its own before these words.
    with Client(two.address, set_as_default=False) as client:
        wait_for(lambda: not any(client.processing().values()))
        assert len(client.nthreads()) == 2
    assert call("run", "benches.yaml", "-n", "4", "-q", "--scheduler", two.address).exit_code == 0


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("tcp://127.0.0.1:9", "no Dask scheduler answers there"),
        ("127.0.0.1", "an address looks like tcp://192.168.0.5:8786"),
        ("pigeon://127.0.0.1:9", "unknown address scheme"),
        ("tcp://127.0.0.1:many", "an address looks like"),
    ],
)
def test_a_wrong_address_is_told(inside: Path, address: str, said: str) -> None:
    """Exit code 2 within a few seconds, words, and nothing is written."""
    start = time.monotonic()
    done = call("run", "benches.yaml", "--scheduler", address, "--kept-in", "kept.sqlite")
    assert time.monotonic() - start < 8
    assert done.exit_code == 2
    assert done.output.startswith(f"cellsim: --scheduler {address}: ")
    assert said in done.output
    assert [path.name for path in inside.iterdir()] == ["benches.yaml"]


def test_who_answers_but_is_no_scheduler_is_told(two: Cluster) -> None:
    """The address of a worker."""
    with cluster(two.address) as pool:
        (worker, *_) = pool._client.nthreads()
    with pytest.raises(UsageError, match="that is no scheduler but a Worker"), cluster(worker):
        pass


def test_a_cluster_without_workers_is_told(harmed: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    """After some patience, which is announced."""
    monkeypatch.setattr(cluster_module, "PATIENCE", 1)
    said: list[str] = []
    with pytest.raises(UsageError, match="the cluster has no worker"), cluster(harmed.address, said.append):
        pass
    assert said == [f"The cluster at {harmed.address} has no worker yet; waiting 1 s for one ..."]


def test_without_the_library_it_is_told(inside: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit code 2, and how to install it."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    done = call("run", "benches.yaml", "--scheduler", "tcp://127.0.0.1:9")
    assert done.exit_code == 2
    assert "pip install distributed" in done.output


def test_processes_and_a_cluster_at_once_make_no_sense(inside: Path) -> None:
    """-w 2 with --scheduler."""
    done = call("run", "benches.yaml", "-w", "2", "--scheduler", "tcp://127.0.0.1:9")
    assert done.exit_code == 2
    assert "--workers counts processes of this machine" in done.output


def test_a_worker_of_another_version_is_told(
    two: Cluster, inside: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Other rules here than on the workers: exit code 2, which worker, what it has and what is here."""
    rules = marks()["rules"]
    monkeypatch.setattr(marks_module, "rules_name", lambda: "other")
    marks.cache_clear()  # type: ignore[attr-defined]
    try:
        done = call("run", "benches.yaml", "--scheduler", two.address)
    finally:
        marks.cache_clear()  # type: ignore[attr-defined]
    assert done.exit_code == 2
    assert done.output.startswith("cellsim: worker tcp://127.0.0.1:")
    assert f"has rules {rules} (here other)" in done.output
    assert sorted(path.name for path in inside.iterdir()) == ["benches.yaml"]


def test_a_worker_that_comes_later_is_looked_at_too() -> None:
    """Work for a process with other marks is not done; for one with the same it is."""
    piece = Piece("cell", b"", "simpy", 1, (3,), False)
    done: list[Piece] = []

    def work(what: Piece) -> Done:
        done.append(what)
        return [], 0.0

    with pytest.raises(UsageError, match=r"a worker that came to the cluster has numpy .* \(here 1.0\)"):
        done_alike({**marks(), "numpy": "1.0"}, work, piece)
    assert done == []
    done_alike(marks(), work, piece)
    assert done == [piece]
    assert unlike({"a": "1", "b": "2"}, {"b": "2"}) == "a unknown (here 1)"


class Losing:
    """A pool that loses every piece with replication 3 in it, and does the others itself."""

    def __init__(self) -> None:
        self.lost = 0

    def submit(self, work: Callable[[Piece], Done], piece: Piece) -> Future[Done]:
        """Do it at once, or not."""
        future: Future[Done] = Future()
        if 3 in piece.numbers:
            self.lost += 1
            future.set_exception(ConnectionError("gone"))
        else:
            future.set_result(work(piece))
        return future

    def places(self) -> int:
        """Two pieces at once."""
        return 2

    def is_lost(self, error: Exception) -> bool:
        """A connection that is gone."""
        return isinstance(error, ConnectionError)


def test_a_piece_that_no_worker_survives_ends_the_study() -> None:
    """It is handed out TRIES times; what came back before is there."""
    pool = Losing()
    found: list[Record] = []
    with (
        Runner(clock="simpy", pool=pool) as runner,
        pytest.raises(WorkersLost, match=r"replications? 3.* of seed 7 cannot be run"),
    ):
        found.extend(record for _, record in runner.each([Wanted(load_text(TEXT), 7, tuple(range(4)))]))
    assert pool.lost == TRIES
    assert [record.replication for record in numbered(found)] == [0, 1, 2]


def test_any_other_error_of_a_piece_is_passed_on() -> None:
    """It is not tried again."""
    pool = Losing()
    with (
        Runner(clock="simpy", pool=pool) as runner,
        pytest.MonkeyPatch.context() as patch,
        pytest.raises(ConnectionError, match="gone"),
    ):
        patch.setattr(pool, "is_lost", lambda error: False)
        runner.records([Wanted(load_text(TEXT), 7, (2, 3))])
    assert pool.lost == 1
