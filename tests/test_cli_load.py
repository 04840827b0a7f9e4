"""The command load as a user meets it: what it prints, writes and returns, and how long it takes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.resolve import load_text
from cellsim.study.workload import workload

ROOT = Path(__file__).parents[1]
SMALL = """\
cell: Small
target: 140 per h
crew: {ann: {}}
route: [press, tray, fit]
stations:
  press: {cycle: 14 s, visit: {by: ann, load: 4 s, unload: 2 s}}
  fit: {cycle: 9 s, by: ann}
stores: {tray: 4}
"""


@pytest.fixture
def inside(tmp_path, monkeypatch):
    """A folder of its own to work in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.yaml").write_text(SMALL)
    return tmp_path


def call(*arguments: str):
    """Run a command in this process."""
    return CliRunner().invoke(main, ["load", *arguments])


def test_json_is_the_whole_answer(inside):
    """To a file beside the screen, or to standard output with nothing else there."""
    done = call("small.yaml", "--planned", "90 %", "--json", "out.json")
    assert done.exit_code == 0, done.output
    assert "Small: loads on paper at 140 good units per working hour (the target)" in done.output
    stated = json.loads(json.dumps(workload(load_text(SMALL), planned=0.9)))
    assert json.loads((inside / "out.json").read_text()) == stated
    alone = call("small.yaml", "--planned", "90 %", "--json", "-")
    assert json.loads(alone.stdout) == stated


def test_options_of_the_rate(inside):
    """15 s of ann by 3600 / 120 = 30 s are 50 %; as a share of good units only, nothing is lost anyway."""
    done = call("small.yaml", "--rate", "120 per h", "--without-losses", "--json", "-")
    answer = json.loads(done.stdout)
    assert (answer["rate_per_hour"], answer["rate_from"]) == (120, "given")
    said = " ".join(call("small.yaml", "--rate", "120 per h", "--without-losses").stdout.split())
    assert "at 120 good units per working hour (as asked), every unit counted as good" in said
    (ann,) = answer["posts"]
    assert ann["load"] == pytest.approx(0.5)


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_a_picture_of_each_kind(inside, ending):
    """Written anew, told with its name, and never over something that is there."""
    done = call("small.yaml", "--picture", f"load.{ending}")
    assert done.exit_code == 0, done.output
    assert f"Picture: load.{ending}" in done.output
    before = (inside / f"load.{ending}").read_bytes()
    assert len(before) > 5000
    again = call("small.yaml", "--picture", f"load.{ending}")
    assert again.exit_code == 2
    assert "exists and is not overwritten" in again.stderr
    assert (inside / f"load.{ending}").read_bytes() == before


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--rate", "fast"], "cellsim: --rate: "),
        (["--rate", "90 per shift"], "cellsim: --rate: a rate per time is wanted"),
        (["--planned", "120 %"], "cellsim: --planned: "),
        (["--picture", "load.gif"], "the name of the file must end in .png or .svg or .pdf"),
    ],
)
def test_a_wrong_call(inside, options, message):
    """Told with the option, exit code 2, nothing written."""
    done = call("small.yaml", *options)
    assert done.exit_code == 2
    assert message in done.stderr
    assert done.stdout == ""
    assert [path.name for path in inside.iterdir()] == ["small.yaml"]


def test_a_wrong_file_is_told_where(inside):
    """As by every command, with line and column."""
    (inside / "small.yaml").write_text(SMALL.replace("9 s", "9"))
    done = call("small.yaml", "--picture", "load.png")
    assert done.exit_code == 2
    assert "small.yaml:7:16: stations.fit.cycle" in done.stderr
    assert not (inside / "load.png").exists()


def test_an_instant_without_heavy_libraries():
    """The largest demo cell waits neither for scipy nor for matplotlib, simpy, numba or pandas.

    With them it would take some seconds; without, well under one on an idle machine.
    """
    code = (
        "import sys; from click.testing import CliRunner; from cellsim.cli import main\n"
        "result = CliRunner().invoke(main, ['load', 'scenarios/padlock.yaml'])\n"
        "assert result.exit_code == 0, result.output\n"
        "print(sorted({m.split('.')[0] for m in sys.modules} &"
        " {'scipy', 'matplotlib', 'simpy', 'numba', 'pandas'}))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
