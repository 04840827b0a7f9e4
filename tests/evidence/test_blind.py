"""Sheets of real and simulated shifts: what guessing reaches, who is found out, what the sheets hold."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from scipy.stats import binomtest

from cellsim import cli
from cellsim.evidence.blind import chance_found, correct_needed

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.mark.parametrize(("sheets", "needed"), [(8, 7), (10, 9), (12, 10), (16, 12), (20, 15)])
def test_right_answers_needed(sheets: int, needed: int) -> None:
    """By scipy's one-sided exact test: so many beat guessing at 5 %, one less does not."""
    assert correct_needed(sheets) == needed
    assert binomtest(needed, sheets, 0.5, "greater").pvalue <= 0.05
    assert binomtest(needed - 1, sheets, 0.5, "greater").pvalue > 0.05


def test_who_is_found_out() -> None:
    """A judge who is right in three of four cases, by summing the binomial law by hand."""
    for sheets, chance in ((10, 0.244025), (16, 0.630186), (20, 0.617173)):
        assert chance_found(sheets, 0.75) == pytest.approx(chance, abs=1e-6)
    assert correct_needed(4) == 5  # not even all right: 1 in 16


def test_sheets_and_their_key(tmp_path: Path) -> None:
    """Half are shifts of the file; all look alike; the same seed mixes alike; nothing is overwritten."""
    counts = SCENARIOS / "records" / "light_counts.csv"
    call = [
        "observe",
        str(SCENARIOS / "bicycle_light.yaml"),
        str(counts),
        "-n",
        "8",
        "--clock",
        "simpy",
        "-q",
    ]
    first, second = tmp_path / "one.txt", tmp_path / "two.txt"
    for file in (first, second):
        done = CliRunner().invoke(cli.main, [*call, "--sheets", str(file)])
        assert done.exit_code == 0, done.output
    assert first.read_text() == second.read_text()
    blocks = first.read_text().split("\nSheet ")[1:]
    key = (tmp_path / "one.txt.key").read_text()
    answers = [line.split(": ")[1] for line in key.splitlines() if line.startswith("Sheet ")]
    assert len(blocks) == len(answers) == 16
    assert answers.count("real") == 8
    assert len({len(block.splitlines()) for block in blocks}) == 1
    real = {row.split(";")[1] for row in counts.read_text().splitlines()[1:]}
    for block, answer in zip(blocks, answers, strict=True):
        rows = [line.split() for line in block.partition("  real / model")[0].splitlines()[1:]]
        hours = [units for label, units in rows if label != "shift"]
        assert sum(map(int, hours)) == int(rows[-1][1])
        if answer == "real":
            assert set(hours) <= real
    assert "12 or more right answers of 16" in key
    assert CliRunner().invoke(cli.main, [*call, "--sheets", str(first)]).exit_code == 2
