"""Traces, records of the shop floor and report pages from Python: what the commands say, and nothing else."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import cellsim
from cellsim.cli import main
from cellsim.errors import UsageError

ROOT = Path(__file__).parents[2]
RECORDS = ROOT / "scenarios" / "records"
BELL = ROOT / "scenarios" / "bicycle_bell.yaml"
TOP = ROOT / "scenarios" / "spinning_top.yaml"


def told(tmp_path: Path, *words: str) -> dict:
    """What a command writes with `--json`, without where it comes from."""
    file = tmp_path / "answer.json"
    done = CliRunner().invoke(main, [*words, "--json", str(file), "--quiet"])
    assert done.exit_code == 0, done.output
    answer = json.loads(file.read_text())
    answer.pop("provenance")
    return answer


def as_json(answer: dict) -> dict:
    """An answer as it would be read back."""
    return json.loads(json.dumps(answer))


def test_a_trace_is_that_of_the_command():
    """The same rows in the same order."""
    table = cellsim.trace(cellsim.load(TOP), 3)
    done = CliRunner().invoke(main, ["trace", str(TOP), "--for", "3"])
    lines = [f"{time}  {who:<20} {what}" for time, who, what in table]
    assert lines == done.output.splitlines()
    assert table["time"][0] == "06:00:00.000"


def test_a_trace_of_another_run():
    """Seed and replication choose the run."""
    cell = cellsim.load(TOP)
    rows = [list(cellsim.trace(cell, 120, seed=s, replication=k)) for s, k in ((1, 0), (1, 1), (2, 0))]
    assert rows[0] != rows[1] != rows[2]
    assert rows[0] == list(cellsim.trace(cell, 120))


@pytest.mark.parametrize("minutes", [0, -1])
def test_a_trace_takes_some_time(minutes):
    """No time, or less."""
    with pytest.raises(UsageError, match="a time above 0 is wanted"):
        cellsim.trace(cellsim.load(TOP), minutes)


@pytest.mark.parametrize("minutes", [float("inf"), 1e300, 6e7])
def test_a_trace_does_not_take_for_ever(minutes):
    """100 years are 52.6 million minutes."""
    with pytest.raises(UsageError, match="a time of at most 100 years is wanted"):
        cellsim.trace(cellsim.load(TOP), minutes)


def test_a_time_study_is_that_of_the_command(tmp_path):
    """The answer, its table and the lines for the cell file."""
    sheet = RECORDS / "bell_times.csv"
    answer = cellsim.timestudy(sheet, allowance="12 %", by="A", leave_out=[50])
    words = ("timestudy", str(sheet), "--allowance", "12 %", "--by", "A", "--leave-out", "50")
    assert as_json(answer) == told(tmp_path, *words)
    assert answer.elements["cycles"] == [29, 30, 30]
    assert answer.elements["standard"][0] == pytest.approx(1.12 * answer.elements["mean"][0])
    done = CliRunner().invoke(main, list(words))
    assert answer.lines in done.output


def test_a_time_study_names_arguments_not_options():
    """The advice for a value that stands out can be followed in Python."""
    remarks = "\n".join(cellsim.timestudy(RECORDS / "bell_times.csv").headline())
    assert "leave_out=[50]" in remarks and "--" not in remarks
    with pytest.raises(UsageError, match="allowance: "):
        cellsim.timestudy(RECORDS / "bell_times.csv", allowance="much")


def test_a_stop_study_is_that_of_the_command(tmp_path):
    """The answer, its tables and the lines for the cell file."""
    log = RECORDS / "bell_stops.csv"
    answer = cellsim.stops(log, cellsim.load(BELL))
    assert as_json(answer) == told(tmp_path, "stops", str(log), "--cell", str(BELL))
    assert answer.causes["cause"] == ["screw jam", "breakdown", "jam", "jam"]
    assert sum(answer.causes["stops"]) == 105
    assert len(answer.changes) == 9
    assert answer.causes["every"][0] == pytest.approx(81.83 / 60, rel=1e-3)
    assert "screw jam:" in answer.lines
    assert "9 lines changed or left out" in answer.headline()[0]


def test_answers_show_themselves_in_a_notebook():
    """A headline and a table, names escaped."""
    page = cellsim.stops(RECORDS / "bell_stops.csv", cellsim.load(BELL))._repr_html_()
    assert "<table>" in page and "110 stops of bell_stops.csv" in page


def test_a_page_of_answers(tmp_path):
    """A result with a comparison is one file; it is not overwritten; other answers are refused."""
    cell = cellsim.load(TOP)
    result = cellsim.run(cell, replications=4)
    more = cellsim.load(TOP, ["stores.tray.places: 16"])
    compared = cellsim.compare(cell, {"16 places": more}, replications=4)
    file = cellsim.report(tmp_path / "top.html", result, compared)
    page = file.read_text()
    assert page.startswith("<!") and "Spinning top" in page and "16 places" in page
    with pytest.raises(UsageError, match="is not overwritten"):
        cellsim.report(file, result)
    with pytest.raises(UsageError, match="and balance, one at least"):
        cellsim.report(tmp_path / "other.html")
    with pytest.raises(UsageError, match="and balance, one at least"):
        cellsim.report(tmp_path / "other.html", result, cellsim.timestudy(RECORDS / "bell_times.csv"))
    with pytest.raises(UsageError, match="cannot be written"):
        cellsim.report(tmp_path / "nowhere" / "other.html", result)
    assert [path.name for path in tmp_path.iterdir()] == ["top.html"]
    loads = cellsim.report(tmp_path / "loads.html", cellsim.workload(cell)).read_text()
    assert "Spinning top: loads on paper at" in " ".join(re.sub("<[^>]+>", "", loads).split())
