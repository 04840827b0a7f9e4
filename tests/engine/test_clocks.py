"""Which clock is used, where its compiled code lies, and that a difference between clocks would be seen."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from itertools import count
from types import SimpleNamespace

import pytest
from both_clocks import BothClocks

from cellsim.describe.resolve import load_text
from cellsim.engine import clock_simpy, clocks, compiled_code
from cellsim.engine.model import compile_cell
from cellsim.engine.tables import FlatCell
from cellsim.errors import UsageError
from cellsim.units import HOUR

TEXT = """
cell: two benches that jam
route: [cut, tray, fit]
stations:
  cut: {cycle: {mean: 20 s, spread: 10 %}, stops: {jam: {every: 20 min of running, lasts: 3 min}}}
  fit: {cycle: {mean: 21 s, spread: 10 %}}
stores: {tray: 3}
study: {run: 8 h}
"""


@pytest.fixture(scope="module")
def flat() -> FlatCell:
    """A small cell, ready to run."""
    return compile_cell(load_text(TEXT))


@pytest.mark.parametrize(
    ("seconds", "on_disk", "workers", "expected"),
    [
        (0.5, True, 1, ("simpy", 1)),  # done before the code is read
        (2.0, True, 1, ("compiled", 1)),
        (2.0, False, 1, ("simpy", 1)),  # done before it is compiled
        (100.0, False, 1, ("compiled", 1)),
        (100.0, False, 4, ("simpy", 4)),  # four processes are done in 25 s
        (0.8, False, None, ("simpy", 1)),  # a second process would come too late
        (20.0, False, None, ("simpy", 2)),
        (20.0, True, None, ("compiled", 1)),
        (500.0, True, None, ("compiled", 2)),
    ],
)
def test_what_is_done_first(monkeypatch, flat, seconds, on_disk, workers, expected):
    """The clock and the number of processes for so many seconds of work under SimPy, on two cores."""
    monkeypatch.setattr(clocks, "seconds_under_simpy", lambda *what: seconds)
    monkeypatch.setattr(compiled_code, "is_on_disk", lambda: on_disk)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    assert clocks.choose_means(flat, 8 * HOUR, 100, "auto", workers) == expected


def test_what_is_given_stands(monkeypatch, flat):
    """A clock and a number of processes that were asked for are not thought over, and nothing is tried."""
    monkeypatch.delattr(clocks, "seconds_under_simpy")
    assert clocks.choose_means(flat, 8 * HOUR, 100, "simpy", 3) == ("simpy", 3)
    assert clocks.choose_means(flat, 8 * HOUR, 100, "compiled", 1) == ("compiled", 1)


def test_the_time_under_simpy_is_tried(monkeypatch, flat):
    """Where each look at the watch finds 0.1 s more: an hour of eight takes 0.1 s, 100 shifts 80 s.

    Two of them take 0.2 s and the third is the last, unless the first says enough.
    """
    looks = count()
    monkeypatch.setattr(clocks, "time", SimpleNamespace(perf_counter=lambda: next(looks) / 10))
    assert clocks.seconds_under_simpy(flat, 8 * HOUR, 100, 81) == pytest.approx(80)
    assert next(looks) == 4
    assert clocks.seconds_under_simpy(flat, 8 * HOUR, 100, 79) == pytest.approx(80)
    assert next(looks) == 7
    assert clocks.seconds_under_simpy(flat, 0, 100, 1) == 0.0


def test_without_numba_all_works_but_the_compiled_clock(tmp_path):
    """A study runs; the compiled clock is refused in words, with exit code 2 and nothing written."""
    (tmp_path / "cell.yaml").write_text(TEXT)
    blocked = "import sys; sys.modules['numba'] = None; import cellsim.cli; cellsim.cli.main()"
    command = [sys.executable, "-c", blocked, "run", "cell.yaml", "-n", "2", "-q"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    result = json.loads((tmp_path / "cell_result" / "result.json").read_text())
    assert result["provenance"]["clock"] == "simpy"
    refused = [*command, "--clock", "compiled", "--out", "other"]
    done = subprocess.run(refused, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 2
    assert done.stderr == f"cellsim: {clocks.NO_NUMBA}\n"
    assert not (tmp_path / "other").exists()


def test_no_clock_of_another_name(monkeypatch):
    """The class of runs by name; UsageError where numba is missing."""
    assert clocks.clock_named("simpy") is clock_simpy.SimpyRun
    assert clocks.clock_named("compiled").__name__ == "CompiledRun"
    monkeypatch.setattr(compiled_code, "is_available", lambda: False)
    with pytest.raises(UsageError, match="needs numba"):
        clocks.clock_named("compiled")


def test_any_change_of_a_rule_gives_the_code_another_name(monkeypatch, tmp_path):
    """The folder is named after all sources that go into the code: one more space in one rule is another.

    So is the same package in another place.
    """
    here = tmp_path / "engine"
    (here / "rules").mkdir(parents=True)
    for path in [*compiled_code.HERE.glob("*.py"), *compiled_code.HERE.glob("rules/*.py")]:
        (here / path.relative_to(compiled_code.HERE)).write_bytes(path.read_bytes())
    usual = compiled_code.folder()
    monkeypatch.setattr(compiled_code, "HERE", here)
    assert compiled_code.folder() != usual
    usual = compiled_code.folder()
    assert compiled_code.folder() == usual
    for name in ("rules/stores.py", "layout.py", "draws.py"):
        with open(here / name, "a") as file:
            file.write(" ")
        assert compiled_code.folder() != usual
        usual = compiled_code.folder()
    with open(here / "record.py", "a") as file:
        file.write(" ")
    assert compiled_code.folder() == usual


def test_where_nothing_can_be_written_the_code_lies_elsewhere(monkeypatch, tmp_path):
    """A folder that cannot be made, or that others may write, is not used; workers find the one instead."""
    file = tmp_path / "file"
    file.write_text("no folder")
    monkeypatch.setenv("CELLSIM_CACHE", str(file))
    found = compiled_code._usable(compiled_code.folder())
    assert found.is_dir() and tmp_path not in found.parents
    assert compiled_code.folder() == found
    common = tmp_path / "common"
    common.mkdir()
    common.chmod(0o777)
    monkeypatch.setenv("CELLSIM_CACHE", str(tmp_path))
    assert compiled_code._usable(common) != common
    own = tmp_path / "own"
    assert compiled_code._usable(own) == own


def test_a_clock_with_a_rule_of_its_own_is_seen(monkeypatch, flat):
    """Were the fifth event of one clock to happen otherwise, the comparison would say so."""
    fire, seen = clock_simpy.fire, []

    def otherwise(c, kind, who, version):
        seen.append(kind)
        fire(c, kind, who, version + (len(seen) == 5))

    BothClocks(flat, 1, 0).advance(HOUR)
    monkeypatch.setattr(clock_simpy, "fire", otherwise)
    with pytest.raises(AssertionError):
        BothClocks(flat, 1, 0).advance(HOUR)


def test_own_room_is_all_that_may_differ(flat):
    """Nothing but the room in its lists is the clock's own: one wrong total, unit or draw is told."""
    both = BothClocks(flat, 1, 0)
    both.advance(HOUR)
    memory = both.compiled.leftover
    for array, field in (
        ("machines", "cycles"),
        ("stores", "area"),
        ("parts", "entered"),
        ("streams", "used"),
    ):
        memory.arrays[array][field][0] += 1
        with pytest.raises(AssertionError):
            both.compare()
        memory.arrays[array][field][0] -= 1
    both.compare()


def test_exits_that_were_taken_are_forgotten(flat):
    """Under both clocks: the rows of all units that left, once."""
    both = BothClocks(flat, 1, 0)
    for run in (both.plain, both.compiled):
        run.advance(HOUR)
        left = list(run.exits)
        assert len(left) > 100
        assert [tuple(row) for row in run.take_exits().tolist()] == left
        assert run.exits == []
        assert run.take_exits().shape == (0, 3)
