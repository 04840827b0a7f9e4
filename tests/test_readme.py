"""What the README shows is what a reader gets."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.resolve import load_text

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
