"""Sheets of real and simulated shifts: what guessing reaches, who is found out, what the sheets hold."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.stats import binomtest

from cellsim import cli
from cellsim.describe.resolve import load_text
from cellsim.errors import UsageError
from cellsim.evidence.blind import chance_found, correct_needed, mixed_sheets
from cellsim.evidence.observed import RealShift
from cellsim.study.plan import make_plan
from cellsim.study.worker import Worker

SHIFTS = 8  # whole shifts of the demo file
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
    """Real ones are of the file; all look alike; the same seed mixes alike; nothing is overwritten."""
    counts = SCENARIOS / "records" / "light_counts.csv"
    call = [
        "observe",
        str(SCENARIOS / "bicycle_light.yaml"),
        str(counts),
        "-n",
        "8",
        "--clock",
        "compiled",
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
    assert len(blocks) == len(answers) == SHIFTS
    assert 0 < answers.count("real") < SHIFTS
    assert len({len(block.splitlines()) for block in blocks}) == 1
    real = {row.split(";")[1] for row in counts.read_text().splitlines()[1:]}
    for block, answer in zip(blocks, answers, strict=True):
        rows = [line.split() for line in block.partition("  real / model")[0].splitlines()[1:]]
        hours = [units for label, units in rows if label != "shift"]
        assert sum(map(int, hours)) == int(rows[-1][1])
        if answer == "real":
            assert set(hours) <= real
    assert f"{correct_needed(SHIFTS)} or more right answers of {SHIFTS}" in key
    assert CliRunner().invoke(cli.main, [*call, "--sheets", str(first)]).exit_code == 2


def test_a_coin_decides_each_sheet() -> None:
    """Over many mixes the number of real sheets is binomial: mean and variance within 4 standard errors."""
    cell = load_text(
        "cell: x\nshifts: {d: {from: 06:00, to: 08:00}}\nroute: [a]\nstations: {a: {cycle: 30 s}}\n"
    )
    plan = make_plan(cell)
    real = [RealShift(f"2026-03-{k:02d}", plan.hours[0].label, (1.0, 2.0)) for k in range(1, 13)]
    records = [Worker(cell, "simpy").replicate(1, k) for k in range(10)]
    counts = [sum(s.real for s in mixed_sheets(cell, real, records, seed)) for seed in range(600)]
    assert abs(np.mean(counts) - 5) < 4 * np.sqrt(2.5 / 600)
    assert abs(np.var(counts) - 2.5) < 4 * 2.5 * np.sqrt(2 / 600)
    with pytest.raises(UsageError, match="take 8 of each"):
        mixed_sheets(cell, real[:7], records, 1)
