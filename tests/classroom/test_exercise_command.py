"""`cellsim exercise` as the student and the teacher meet it."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

import cellsim
from cellsim.classroom.table import EXERCISES
from cellsim.cli import main

ROOT = Path(__file__).parents[2]


def called(*words: str):
    """What the command says in a pipe of 80 columns."""
    return CliRunner(env={"COLUMNS": "80"}).invoke(main, ["exercise", *words])


def test_the_list_names_all():
    """Number, title, minutes and what each teaches."""
    done = called()
    assert done.exit_code == 0
    text = " ".join(done.output.split())
    for exercise in EXERCISES:
        assert f"{exercise.number} {exercise.title} ({exercise.minutes} min" in text
        assert exercise.teaches in text


def test_without_a_terminal_the_question_alone():
    """The question, the cell file, how to answer; no answer."""
    done = called("10")
    assert done.exit_code == 0
    assert "cellsim exercise 10 --predict" in done.output
    assert "route: [a, b, c, d, e]" in done.output
    assert "What it says" not in done.output and "56" not in done.output


def test_a_prediction_is_held_against_the_answer():
    """Wrong, with what it reveals; right."""
    wrong = called("10", "--predict", "60 units")
    assert wrong.exit_code == 0
    text = " ".join(wrong.output.split())
    assert "Your 60 units: not so, it is 56 units; yours is 7 % too high." in text
    assert "Many say so. The line was taken for full from the start." in text
    right = called("10", "--predict", "56")
    assert "Your 56 units: that is it." in right.output
    assert "Many say so" not in right.output


@pytest.mark.parametrize("number", ["1", "9"])
def test_on_paper_where_no_run_is_needed(number):
    """It says so, and shows no simulated value."""
    done = called(number, "--solution")
    assert done.exit_code == 0
    assert "needs no run" in done.output and "simulated" not in done.output


def test_the_cell_file_is_written_once(tmp_path):
    """It can be run as it is; what exists is not overwritten; without a cell it is said."""
    file = tmp_path / "bench.yaml"
    assert called("15", "--cell", str(file)).exit_code == 0
    assert cellsim.load(file).name == "Tester and packing"
    before = file.read_text()
    again = called("3", "--cell", str(file))
    assert again.exit_code == 2 and "is not overwritten" in again.output
    assert file.read_text() == before
    none = called("9", "--cell", str(tmp_path / "none.yaml"))
    assert none.exit_code == 2 and "worked out on paper" in none.output
    assert [path.name for path in tmp_path.iterdir()] == ["bench.yaml"]


def test_the_teachers_page():
    """Of one or of all, in 80 columns."""
    one, everything = called("7", "--teacher"), called("--teacher")
    assert one.exit_code == everything.exit_code == 0
    assert one.output.count("Usual mistakes:") == 1
    assert everything.output.count("Usual mistakes:") == len(EXERCISES)
    assert max(map(len, everything.output.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["99"], "there is no exercise 99"),
        (["--predict", "3"], "name the exercise"),
        (["2", "--predict", "120"], 'a prediction looks like "100 per h"'),
        (["2", "--predict", "120 per h", "--solution"], "give one"),
    ],
)
def test_a_wrong_call_is_told(words, said):
    """Exit code 2 and words; nothing is run."""
    done = called(*words)
    assert done.exit_code == 2
    assert said in done.output


def test_json_has_all_figures(tmp_path):
    """The question, prediction and figures; on standard output nothing else."""
    done = called("14", "--predict", "40 units", "--json", "-")
    answer = json.loads(done.stdout)
    assert answer["prediction"]["right"] is False
    assert answer["figures"][0]["exact"] == answer["figures"][0]["simulated"] == 38
    assert json.loads(called("--json", "-").stdout)["exercises"][1]["title"] == EXERCISES[1].title
    assert json.loads(called("14", "--json", "-").stdout)["asked"] == EXERCISES[13].says("asked")


@pytest.mark.parametrize("exercise", EXERCISES, ids=lambda exercise: exercise.file)
def test_every_solution_fits_80_columns(exercise):
    """Question, cell, table and discussion; eight runs of each cell are enough to look at."""
    done = called(str(exercise.number), "--solution", "-n", "8", "-w", "1")
    assert done.exit_code == 0
    assert max(map(len, done.output.splitlines())) <= 80
    assert "What it says" in done.output


def test_few_runs_are_told():
    """One run has no interval; a comparison of spreads takes more than that."""
    one = called("18", "--solution", "-n", "1")
    assert one.exit_code == 0
    assert "One run has no interval" in one.output and " yes" not in one.output
    few = called("16", "--solution", "-n", "2")
    assert few.exit_code == 2 and "takes at least 8 replications" in few.output


def test_a_terminal_asks_for_the_prediction():
    """Asked again until it has a unit; then the answer, and the next exercise."""
    above, below = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "CI")}
    env |= {"COLUMNS": "80", "TERM": "xterm", "PYTHONPATH": str(ROOT)}
    call = [sys.executable, "-m", "cellsim", "exercise", "15", "--clock", "simpy"]
    with subprocess.Popen(call, env=env, stdin=below, stdout=below, stderr=below) as process:
        os.close(below)
        os.write(above, b"144\n144 per h\n")
        found = b""
        while True:
            try:
                found += (part := os.read(above, 65536))
            except OSError:  # how Linux says that the other end is closed
                break
            if not part:
                break
    os.close(above)
    text = " ".join(re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", found.decode()).split())
    assert process.returncode == 0, text
    assert text.count("Your prediction") == 2
    assert 'a prediction looks like "100 per h"' in text
    assert "Your 144 per h: not so, it is 90 per h" in text
    assert "next: cellsim exercise 16" in text
