"""The command warmup as a user meets it: what it prints, draws, writes and returns."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cellsim.cli import main

LINE = "cell: Two benches\nroute: [S, U]\nstations: {S: {cycle: 10 min}, U: {cycle: 10 min}}\n"
FLOOD = "release: every 5 min\n"


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own to work in."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "benches.yaml").write_text(LINE)
    (tmp_path / "flood.yaml").write_text(LINE + FLOOD)
    (tmp_path / "shifts.yaml").write_text(LINE + "shifts: {day: {from: 06:00, to: 14:00}}\n")
    return tmp_path


def call(*arguments: str) -> Any:
    """Run the command in this process, with few replications under one worker."""
    return CliRunner().invoke(main, ["warmup", *arguments, "-w", "1", "--clock", "simpy"])


def test_it_prints_an_answer_and_draws_one_picture(inside: Path) -> None:
    """The line for the file, and a picture that is never overwritten."""
    for name in ("benches_warmup.png", "benches_warmup_2.png"):
        result = call("benches.yaml", "-n", "5")
        assert result.exit_code == 0, result.output
        assert "Two benches has settled after 5 h" in result.stdout
        assert "settle: 5 h" in result.stdout
        assert result.stdout.splitlines()[-1] == f"Picture: {name}"
        assert (inside / name).stat().st_size > 10_000
    assert len(list(inside.iterdir())) == 5


def test_json_seed_length_and_a_picture_of_that_name(inside: Path) -> None:
    """`--json -` prints the answer and nothing else; a picture only where it is asked for."""
    result = call(
        "benches.yaml", "-n", "5", "--seed", "9", "--length", "60 h", "--json", "-", "--out", "own.png"
    )
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert answer["run"]["length"] == "60 h"
    assert answer["provenance"]["seed"] == 9
    assert answer["long_run"]["output"]["mean"] == 6.0
    assert (inside / "own.png").exists()
    assert call("benches.yaml", "-n", "5", "--json", "-").exit_code == 0
    assert [path.name for path in inside.glob("*.png")] == ["own.png"]


def test_a_cell_that_never_settles_ends_with_a_code_of_its_own(inside: Path) -> None:
    """Exit code 4, the reason on stderr, the series in the answer; quietly too."""
    result = call("flood.yaml", "-n", "3", "--json", "answer.json", "--quiet")
    assert result.exit_code == 4
    assert result.stdout == ""
    assert result.stderr == (
        "cellsim: no steady state found: raw units come faster than the cell can work: S would be loaded "
        "200 % by 12 an hour, and what waits grows without end\n"
    )
    answer = json.loads((inside / "answer.json").read_text())
    assert answer["settles"] is False and len(answer["series"]["wip"]["mean"]) == 100


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["benches.yaml", "--length", "49 h"], "--length is too short: 50 h or more are needed"),
        (["benches.yaml", "--length", "60 shifts"], "--length counts shifts, but the cell has none"),
        (["benches.yaml", "--length", "soon"], "--length: "),
        (["shifts.yaml", "--length", "100 h"], "--length: this cell works in shifts"),
        (["benches.yaml", "--out", "benches.yaml"], "benches.yaml exists and is not overwritten"),
        (["benches.yaml", "--out", "no/such/folder.png", "-n", "2"], "the folder no/such does not exist"),
        (["nowhere.yaml"], "nowhere.yaml: cannot be read"),
    ],
)
def test_bad_calls_are_told_in_words(inside: Path, arguments: list[str], said: str) -> None:
    """Exit code 2, what was given and what is wanted, nothing on stdout and no picture."""
    result = call(*arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
    assert not list(inside.glob("*.png"))


def test_run_remarks_that_it_is_short_for_its_settling_time(inside: Path) -> None:
    """Below what was studied, and in the result; a study without a settling time has no remark."""
    for study, said in (("settle: 1 h, run: 8 h", True), ("run: 8 h", False)):
        (inside / "short.yaml").write_text(f"{LINE}study: {{{study}, replications: 2}}\n")
        folder = f"result_{said}"
        result = CliRunner().invoke(main, ["run", "short.yaml", "-w", "1", "--out", folder])
        assert result.exit_code == 0, result.output
        words = " ".join(result.stdout.split())
        assert ("The run counts 8 working hours after 1 for settling;" in words) is said
        figures = json.loads((inside / folder / "result.json").read_text())
        assert len(figures["study"]["remarks"]) == said
