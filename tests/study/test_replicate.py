"""A study to a precision: the same replications whatever was there before, and an honest end."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim import cli
from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.study.precision import Precision, stop_at
from cellsim.study.replicate import Study, replicate, run_replications
from cellsim.study.runner import Runner
from cellsim.study.statistics import t_interval
from cellsim.study.watched import values_of

TEXT = """
cell: two benches
route: [S1, tray, S2]
stations:
  S1: {cycle: {law: exponential, mean: 20 s}}
  S2: {cycle: {law: exponential, mean: 20 s}}
stores: {tray: 3}
study: {run: 2 h, seed: 3}
"""


@pytest.fixture(scope="module")
def cell() -> Cell:
    """Two benches."""
    return load_text(TEXT)


def to(cell: Cell, wanted: Precision, done=()) -> Study:
    """A study to a precision, in this process."""
    with Runner(clock="simpy") as runner:
        return replicate(runner, cell, 3, wanted, done=done)


def test_it_stops_where_the_rule_says(cell):
    """As many replications as the rule takes of the whole series, and the interval is narrow enough."""
    found = to(cell, Precision(0.02))
    series = run_replications(cell, 3, range(len(found.records) + 40)).records
    stop = stop_at([values_of("output_per_hour", cell, series)], Precision(0.02))
    assert stop is not None
    assert found.records == series[: stop.run]
    assert found.reached
    interval = t_interval(values_of("output_per_hour", cell, found.records))
    assert interval.half_width <= 0.02 * interval.mean


def test_what_is_there_already_changes_nothing(cell):
    """Some, too many, or some with a gap: the study ends with the same records."""
    wanted = Precision(0.02)
    found = to(cell, wanted).records
    more = run_replications(cell, 3, range(len(found) + 30)).records
    for done in (found[:7], more, [*more[:5], *more[9:12]]):
        assert to(cell, wanted, done).records == found


def test_a_precision_that_is_not_reached(cell):
    """The most replications, and it is said."""
    found = to(cell, Precision(0.0005, most=12))
    assert (len(found.records), found.reached) == (12, False)


def test_numbers_ask_for_no_precision(cell):
    """A number of replications reaches nothing, and what is there is not run again."""
    first = run_replications(cell, 3, range(3))
    again = []
    with Runner(clock="simpy") as runner:
        found = replicate(runner, cell, 3, range(5), done=first.records, keep=again.append)
    assert found.reached is None
    assert [record.replication for record in found.records] == [0, 1, 2, 3, 4]
    assert [record.replication for record in again] == [3, 4]


@pytest.fixture
def inside(tmp_path, monkeypatch) -> Path:
    """A folder with the benches."""
    (tmp_path / "benches.yaml").write_text(TEXT)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def call(*arguments: str):
    """Call `run`."""
    return CliRunner().invoke(cli.main, ["run", "benches.yaml", "-w", "1", "-q", *arguments])


def test_the_command_runs_to_a_precision(inside):
    """The result says what was asked for and that it was reached; a resumed study ends the same."""
    assert call("--precision", "2 %", "--out", "a").exit_code == 0
    figures = json.loads((inside / "a" / "result.json").read_text())
    assert figures["study"]["precision"] == {"wanted": "2 %", "reached": True}
    low, high = figures["output_per_hour"]["interval"]
    assert (high - low) / 2 <= 0.02 * figures["output_per_hour"]["mean"]
    assert call("-n", "4", "--out", "b").exit_code == 0
    assert call("--precision", "2 %", "--resume", "b").exit_code == 0
    other = json.loads((inside / "b" / "result.json").read_text())
    assert other["output_per_hour"] == figures["output_per_hour"]


def test_a_precision_that_was_not_reached_is_told(inside):
    """Exit code 0, and the screen says so."""
    result = CliRunner().invoke(
        cli.main, ["run", "benches.yaml", "-w", "1", "--precision", "0.05 %", "-n", "12", "--out", "a"]
    )
    assert result.exit_code == 0
    assert "The precision of 0.05 % was not reached in 12 runs" in " ".join(result.output.split())


def test_kept_replications_are_not_run_again(inside):
    """Two studies with one file: the second finds all of the first, and its figures are the same."""
    assert call("-n", "5", "--kept-in", "k.sqlite", "--out", "a").exit_code == 0
    assert call("-n", "5", "--kept-in", "k.sqlite", "--out", "b").exit_code == 0
    first, second = (json.loads((inside / name / "result.json").read_text()) for name in "ab")
    assert first["output_per_hour"] == second["output_per_hour"]
    (inside / "no.sqlite").write_text("this is no such file " * 100)
    result = call("--kept-in", "no.sqlite", "--out", "c")
    assert result.exit_code == 2
    assert "cannot be used for finished replications" in result.output
    assert not (inside / "c").exists()
