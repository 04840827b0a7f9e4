"""The command sensitivity: its screen, its files, its ranges and its mistakes."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from cellsim import cli

SLOW = """
cell: one slow bench
route: [A, s, B, t, C]
stations:
  A: {cycle: {mean: 5 s, spread: 10 %}}
  B: {cycle: {mean: 20 s, spread: 10 %}}
  C: {cycle: {mean: 4 s, spread: 10 %}}
stores: {s: 4, t: 4}
study: {settle: 10 min, run: 4 h}
"""


@pytest.fixture
def cell_file(tmp_path, monkeypatch):
    """The slow bench in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "slow.yaml").write_text(SLOW)
    return tmp_path


FAST = ["sensitivity", "slow.yaml", "-n", "4", "-w", "1", "--ways", "4", "--each", "2", "--draws", "20"]


def test_the_command_shows_writes_and_draws_it(cell_file):
    """What to measure first stands on the screen of 80 columns, in JSON and above the picture."""
    more = ["--json", "a.json", "--picture", "a.png", "--range", "stores.s: 2 to 6", "--kept-in", "kept"]
    result = CliRunner(env={"COLUMNS": "80"}).invoke(cli.main, [*FAST, *more])
    assert result.exit_code == 0, result.output
    answer = json.loads((cell_file / "a.json").read_text())
    assert answer["verdict"]["first"] == "B: work"
    said = " ".join(result.output.split())
    assert "Measure B: work better first: it carries 100 %" in said
    assert "The other 6 together carry" in said and "no need to measure" in said
    assert max(map(len, result.output.splitlines())) <= 80
    for row in answer["inputs"]:
        assert row["input"] in said
    assert (cell_file / "a.png").read_bytes()[:4] == b"\x89PNG"
    assert "6 of 7 ranges are assumptions" in said
    again = CliRunner().invoke(cli.main, [*FAST, *more])
    assert again.exit_code == 2 and "a.png exists and is not overwritten" in again.output


def test_ranges_of_a_file_and_their_mistakes(cell_file):
    """A file of ranges is used; mistakes of call and file are told together, with exit code 2."""
    (cell_file / "r.yaml").write_text("stations.B.cycle: 19 s to 21 s\n")
    result = CliRunner().invoke(cli.main, [*FAST, "--ranges", "r.yaml", "--only", "--json", "-"])
    assert [row["input"] for row in json.loads(result.stdout)["inputs"]] == ["stations.B.cycle.mean"]
    (cell_file / "r.yaml").write_text("stations.B.cycle: 21 s to 19 s\n")
    result = CliRunner().invoke(cli.main, [*FAST, "--ranges", "r.yaml", "--range", "stores.s: 2"])
    assert result.exit_code == 2
    assert "r.yaml:1:19: stations.B.cycle: the low end" in result.output
    assert "wanted are the two ends of a range" in result.output and "2 mistakes" in result.output


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--only"], "--only takes ranges; give --range or --ranges"),
        (["-n", "1"], "at least two replications"),
    ],
)
def test_calls_that_make_no_sense(cell_file, more, said):
    """Exit code 2."""
    result = CliRunner().invoke(cli.main, [*FAST, *more])
    assert result.exit_code == 2 and said in result.output
