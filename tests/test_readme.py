"""What the README shows is what a reader gets."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.resolve import load_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.units import HOUR

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
FENCED = re.findall(r"^```(\w*)\n(.*?)^```$", README, re.S | re.M)
CELLS = [text for kind, text in FENCED if kind == "yaml"]
BLOCKS = [text for kind, text in FENCED if not kind]


@pytest.mark.parametrize("text", CELLS)
def test_every_cell_file_can_be_read(text):
    """None has a mistake; there are two, a small one and one with people."""
    assert len(CELLS) == 2
    assert load_text(text).stations


def test_the_rework_shelf_works_without_locking():
    """Its lines in place of those of the second cell: with a third rejected it runs on; `to: rivet` locks."""
    (lines,) = (text for kind, text in FENCED if kind == "text")
    post, test, rework, stores = lines.splitlines()
    text = re.sub(r"^  test: .*\nstores: .*$", f"{test}\n{rework}\n{stores}", CELLS[1], flags=re.M)
    text = re.sub(r"^  B: .*$", post, text, flags=re.M).replace("share: 4 %", "share: 30 %")
    cell = load_text(text)
    assert not any("can lock" in caution for caution in cell.cautions)
    run = SimpyRun(compile_cell(cell), 1, 0)
    run.advance(14 * HOUR)
    assert run.stalled_at == -1
    assert run.state.good > 100
    back = CELLS[1].replace("to: scrap", "to: rivet")
    assert any("Rework of station test can lock" in caution for caution in load_text(back).cautions)


def test_the_first_command_says_what_is_quoted(tmp_path, monkeypatch):
    """Each paragraph of the answer, wherever its lines end."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    call = ["run", str(ROOT / "scenarios" / "tape_measure.yaml")]
    assert f".venv/bin/cellsim run {call[1].removeprefix(f'{ROOT}/')}\n" in README
    done = CliRunner().invoke(main, call)
    assert done.exit_code == 0
    printed = " ".join(done.output.split())
    (quoted,) = (block for block in BLOCKS if "good units leave per working hour" in block)
    for paragraph in quoted.split("\n\n"):
        assert " ".join(paragraph.split()) in printed


def test_the_mistakes_are_those_that_are_quoted(tmp_path, monkeypatch):
    """Of the smallest cell with a unit left out and two letters swapped."""
    monkeypatch.chdir(tmp_path)
    wrong = CELLS[0].replace("cycle: 24 s", "cycle: 24", 1)
    wrong = re.sub(r"fit:   \{cycle:", "fit:   {cycel:", wrong)
    Path("bell.yaml").write_text(wrong)
    done = CliRunner().invoke(main, ["run", "bell.yaml"])
    assert done.exit_code == 2
    (quoted,) = (block for block in BLOCKS if "nothing was run" in block)
    assert done.stderr == quoted
