"""The commands as a user meets them: what they print, write and return."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main

SCENARIOS = Path(__file__).parents[1] / "scenarios"

SMALL = """\
cell: Small
target: 140 per h
shifts: {day: {from: 06:00, to: 08:00}}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 24 s}}
  fit: {cycle: 24 s}
stores: {tray: 4}
study: {shifts: 1, replications: 12}
"""

LOCKS = """\
cell: Locks up
route: [feed, gate, work, buffer, test]
stations:
  feed: {cycle: 1 s}
  work: {cycle: 1 min}
  test: {cycle: 90 s, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
study: {run: 1 h, replications: 3}
"""


@pytest.fixture
def inside(tmp_path, monkeypatch):
    """A folder of its own to work in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.yaml").write_text(SMALL)
    (tmp_path / "locks.yaml").write_text(LOCKS)
    return tmp_path


def call(*arguments: str):
    """Run a command in this process."""
    return CliRunner().invoke(main, list(arguments))


@pytest.mark.parametrize("name", ["spinning_top", "bicycle_bell", "tape_measure"])
def test_every_demo_cell_passes_the_check(name):
    """`check` ends with 0 and lists what was assumed."""
    result = call("check", str(SCENARIOS / f"{name}.yaml"))
    assert result.exit_code == 0, result.output
    assert "no mistakes" in result.output
    assert "assumed, not measured" in result.output


def test_mistakes_are_told_with_their_place_and_nothing_is_written(inside):
    """A wrong file: every mistake on stderr as file:line:column, exit code 2, no folder."""
    (inside / "bad.yaml").write_text(
        SMALL.replace("cycle: 24 s", "cycel: 24 s").replace("tray: 4", "tray: -4")
    )
    result = call("run", "bad.yaml")
    assert result.exit_code == 2
    assert "bad.yaml:7:9: stations.fit" in result.stderr
    assert '"cycle"' in result.stderr
    assert "bad.yaml:8:" in result.stderr
    assert result.stdout == ""
    assert sorted(p.name for p in inside.iterdir()) == ["bad.yaml", "locks.yaml", "small.yaml"]


@pytest.mark.parametrize("command", ["check", "resolve", "run", "trace"])
def test_a_file_that_is_not_there_is_a_mistake(inside, command):
    """Exit code 2 and one line, no traceback."""
    result = call(command, "nowhere.yaml")
    assert result.exit_code == 2
    assert "nowhere.yaml: cannot be read" in result.stderr


def test_run_writes_a_result_folder(inside):
    """Table on stdout; figures, hourly counts, description and two pictures in a new folder."""
    result = call("run", "small.yaml", "--workers", "1")
    assert result.exit_code == 0, result.output
    assert "per working hour" in result.output
    folder = inside / "small_result"
    assert sorted(p.name for p in folder.iterdir()) == [
        "cell.yaml",
        "hourly.csv",
        "output_per_hour.png",
        "replications.jsonl",
        "result.json",
        "state_shares.png",
        "study.json",
    ]
    figures = json.loads((folder / "result.json").read_text())
    keys = "cell provenance output_per_hour stations stores people robots wip lead_time quality losses audit"
    assert set(keys.split()) <= set(figures)
    assert figures["provenance"]["replications"] == 12
    assert figures["audit"]["passed"] is True
    assert (folder / "hourly.csv").read_bytes().isascii()
    rows = list(csv.DictReader((folder / "hourly.csv").read_text().splitlines()))
    assert len(rows) == 12 * 2
    total = sum(int(row["good_units"]) for row in rows)
    assert figures["output_per_hour"]["mean"] == pytest.approx(total / 24)


def test_a_result_folder_is_never_overwritten(inside):
    """A second run takes the next free name; a named folder that exists is refused with exit code 2."""
    for _ in range(2):
        assert call("run", "small.yaml", "-w", "1", "-n", "2", "-q").exit_code == 0
    assert (inside / "small_result_2" / "result.json").exists()
    before = (inside / "small_result" / "result.json").read_bytes()
    result = call("run", "small.yaml", "-n", "2", "--out", "small_result")
    assert result.exit_code == 2
    assert "is not overwritten" in result.stderr
    assert (inside / "small_result" / "result.json").read_bytes() == before


def figures_of(folder: Path) -> dict:
    """The figures of a result folder without their provenance."""
    figures = json.loads((folder / "result.json").read_text())
    del figures["provenance"]
    return figures


def test_workers_change_nothing(inside):
    """Everything but the provenance is equal for 1 and 2 workers, bit for bit."""
    assert call("run", "small.yaml", "-w", "1", "-q", "--out", "one").exit_code == 0
    assert call("run", "small.yaml", "-w", "2", "-q", "--out", "two").exit_code == 0
    assert figures_of(inside / "one") == figures_of(inside / "two")
    assert (inside / "one" / "hourly.csv").read_bytes() == (inside / "two" / "hourly.csv").read_bytes()


def test_a_study_goes_on_where_it_stopped(inside):
    """Finished replications are kept, a half written line is dropped, and the figures come out the same."""
    assert call("run", "small.yaml", "-w", "1", "-q", "--out", "whole").exit_code == 0
    assert call("run", "small.yaml", "-w", "1", "-q", "-n", "5", "--out", "part").exit_code == 0
    with open(inside / "part" / "replications.jsonl", "a") as file:
        file.write('{"replication": 5, "reas')
    assert call("run", "small.yaml", "-w", "1", "-q", "--resume", "part").exit_code == 0
    assert figures_of(inside / "part") == figures_of(inside / "whole")


def test_a_study_does_not_go_on_with_another_cell_or_seed(inside):
    """Another seed or a changed cell is refused and both values are shown."""
    assert call("run", "small.yaml", "-w", "1", "-q", "-n", "2", "--out", "part").exit_code == 0
    result = call("run", "small.yaml", "--resume", "part", "--seed", "2")
    assert result.exit_code == 2
    assert "another seed (1, now 2)" in result.stderr
    (inside / "small.yaml").write_text(SMALL.replace("tray: 4", "tray: 5"))
    result = call("run", "small.yaml", "--resume", "part")
    assert result.exit_code == 2
    assert "another sha256" in result.stderr


def test_ctrl_c_keeps_what_is_finished(inside):
    """Interrupted: exit code 130, finished replications on disk, and the study can go on."""
    slow = SMALL.replace("study: {shifts: 1, replications: 12}", "study: {shifts: 20, replications: 400}")
    (inside / "slow.yaml").write_text(slow)
    command = [sys.executable, "-m", "cellsim", "run", "slow.yaml", "--workers", "2", "--out", "stopped"]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # also where tests run unattended
    ) as process:
        kept = inside / "stopped" / "replications.jsonl"
        for _ in range(600):
            if kept.exists() and kept.stat().st_size:
                break
            time.sleep(0.1)
        os.killpg(process.pid, signal.SIGINT)
        _, error = process.communicate(timeout=60)
    assert process.returncode == 130, error
    assert "Traceback" not in error
    assert "go on with --resume stopped" in error
    finished = len(kept.read_text().splitlines())
    assert 0 < finished < 400
    result = json.loads((inside / "stopped" / "result.json").read_text())
    assert result["interrupted"] == f"{finished} of 400 replications"
    more = call("run", "slow.yaml", "-w", "1", "-q", "-n", str(finished + 1), "--resume", "stopped")
    assert more.exit_code == 0, more.output


def test_a_locked_cell_is_told_with_time_and_circle(inside):
    """A circular wait: exit code 3, time and names on stderr, the result written and marked."""
    result = call("run", "locks.yaml", "-w", "1", "-q")
    assert result.exit_code == 3
    assert "locks up" in result.stderr
    assert "work holds a unit for buffer" in result.stderr
    assert "test holds a unit for gate" in result.stderr
    figures = json.loads((inside / "locks_result" / "result.json").read_text())
    assert len(figures["locked"]) == 3
    remedy = "Give rework a store of its own with room for all (to: rework shelf, places unlimited)"
    assert f"can ever go on. {remedy}" in result.stderr
    assert {lock["remedy"] for lock in figures["locked"]} == {figures["locked"][0]["remedy"]}
    assert call("report", "locks_result", "--no-replay").exit_code == 0
    assert remedy in (inside / "locks_result" / "report.html").read_text(encoding="utf-8")


def test_json_to_stdout_is_nothing_but_json(inside):
    """`--json -` prints the figures and nothing else."""
    result = call("run", "small.yaml", "-w", "1", "-n", "2", "--json", "-")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["provenance"]["replications"] == 2


def test_resolve_is_itself_a_cell_file(inside):
    """Resolving the resolved form changes nothing, and it gives the same figures."""
    once = call("resolve", "small.yaml")
    assert once.exit_code == 0
    (inside / "spelled.yaml").write_text(once.output)
    assert call("resolve", "spelled.yaml").output == once.output
    assert call("run", "small.yaml", "-w", "1", "-q", "-n", "3", "--out", "a").exit_code == 0
    assert call("run", "spelled.yaml", "-w", "1", "-q", "-n", "3", "--out", "b").exit_code == 0
    assert figures_of(inside / "a") == figures_of(inside / "b")


def test_trace_tells_time_who_and_what(inside):
    """A trace with known times: the press starts at 06:00, since the clock is that of the shift."""
    (inside / "fixed.yaml").write_text(SMALL.replace("{law: exponential, mean: 24 s}", "30 s"))
    result = call("trace", "fixed.yaml", "--for", "1")
    assert result.exit_code == 0
    assert [line.split(maxsplit=2) for line in result.output.splitlines()] == [
        ["06:00:00.000", "press", "starts work"],
        ["06:00:30.000", "press", "ends work"],
        ["06:00:30.000", "press", "hands over to tray"],
        ["06:00:30.000", "fit", "starts work"],
        ["06:00:30.000", "press", "starts work"],
        ["06:00:54.000", "fit", "ends work"],
        ["06:00:54.000", "fit", "unit leaves the cell"],
        ["06:01:00.000", "press", "ends work"],
        ["06:01:00.000", "press", "hands over to tray"],
        ["06:01:00.000", "fit", "starts work"],
        ["06:01:00.000", "press", "starts work"],
    ]


def test_schema_is_a_json_schema():
    """`schema` prints a schema that is valid by its own metaschema; `--reference` prints Markdown."""
    import jsonschema

    schema = json.loads(call("schema").output)
    jsonschema.validators.validator_for(schema).check_schema(schema)
    assert call("schema", "--reference").output.startswith("# ")


@pytest.mark.parametrize("command", ["check", "resolve", "schema", "run", "trace"])
def test_help_has_an_example(command):
    """Each command's help says what it does and shows one call."""
    text = call(command, "--help").output
    assert "Example:" in text
    assert f"cellsim {command}" in text


def test_a_mistyped_command_or_option_is_told_the_nearest():
    """Exit code 2 and the nearest legal name."""
    assert "'run'" in call("rnu", "x").output
    assert "--replications" in call("run", "x", "--replication", "3").output
