"""Every command that runs cells ends with exit code 70 where a run breaks a law, whatever it was asked."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.study import worker

CELL = """\
cell: tiny
shifts: {day: {from: 06:00, to: 08:00}}
crew: {ann: [a], ben: [b]}
route: [a, s, b]
stations:
  a: {cycle: {mean: 30 s, spread: 20 %}, by: ann}
  b: {cycle: {mean: 40 s, spread: 20 %}, by: ben}
stores: {s: 2}
study: {shifts: 1, replications: 2}
"""
PLAN = "plan: tiny\npeople: 2\nspread: 30 %\nelements: {a: {time: 40 s}, b: {time: 50 s, after: a}}\n"
CASE = """\
case: tray
investment: {tray: 1000 EUR}
rate: 8 %
payback_limit: 2 years
shifts_per_year: 400
wage: 30 EUR per h
margin: 5 EUR per unit
can_sell: 500 per h
"""
COUNTS = "time,good\n" + "".join(f"2026-03-0{day} 0{hour}:00,80\n" for day in (2, 3, 4) for hour in (6, 7))
RUNS = ("-w", "1", "--clock", "simpy")
CALLS = [
    ("run", "cell.yaml", "-n", "2"),
    ("compare", "cell.yaml", "--change", "stores.s: 4", "-n", "2"),
    ("limits", "cell.yaml", "-n", "2"),
    ("buffers", "cell.yaml", "--total", "2"),
    ("crew", "cell.yaml", "--wage", "30", "--people", "ann: 1 to 2"),
    ("sensitivity", "cell.yaml", "--only", "--range", "stations.a.cycle.mean: 29 s to 31 s", "-n", "2"),
    ("warmup", "cell.yaml", "-n", "2", "--length", "60 shifts"),
    ("observe", "cell.yaml", "counts.csv", "-n", "2"),
    ("payback", "cell.yaml", "--change", "stores.s: 4", "--case", "case.yaml", "-n", "2"),
    ("balance", "plan.yaml", "--people", "2", "-n", "2"),
]


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with all files that the commands take, in a house where every run breaks a law."""
    for name, text in (("cell", CELL), ("plan", PLAN), ("case", CASE)):
        (tmp_path / f"{name}.yaml").write_text(text)
    (tmp_path / "counts.csv").write_text(COUNTS)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(worker, "audit", lambda run: ["material is conserved: one unit too many"])
    return tmp_path


@pytest.mark.parametrize("words", CALLS, ids=lambda words: words[0])
def test_a_broken_law_ends_every_command(inside: Path, words: tuple[str, ...]) -> None:
    """With the address of the run and the law, and with no figures as JSON where no folder keeps them."""
    done = CliRunner().invoke(main, [*words, *RUNS, "--json", "answer.json"])
    assert done.exit_code == 70, done.output
    assert "this is a fault of the program, please report it: " in done.stderr
    assert "seed 1, replication 0: material is conserved: one unit too many\n" in done.stderr
    assert words[0] == "run" or not (inside / "answer.json").exists()
