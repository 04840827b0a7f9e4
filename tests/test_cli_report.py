"""The command report, and run --report: what they write, and what they refuse."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cellsim.cli import main

SMALL = """\
cell: Small
target: 140 per h
shifts: {day: {from: 06:00, to: 08:00}}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 24 s}}
  fit: {cycle: 24 s}
stores: {tray: 4}
study: {shifts: 1, replications: 3}
"""


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own with a cell and its result."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.yaml").write_text(SMALL)
    assert call("run", "small.yaml", "-q", "-w", "1", "--out", "one").exit_code == 0
    return tmp_path


def call(*arguments: str) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, list(arguments))


def names(folder: Path) -> list[str]:
    """All files in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_a_page_is_written_where_it_is_wanted(inside: Path) -> None:
    """With --out there; without it into the folder, and a second one beside the first."""
    assert call("report", "one", "--out", "page.html").stdout == "Report: page.html\n"
    text = (inside / "page.html").read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>") and "<h1>Small</h1>" in text
    for name in ("report.html", "report_2.html"):
        done = call("report", "one")
        assert done.exit_code == 0 and done.stdout == f"Report: one/{name}\n"
        assert (inside / "one" / name).read_text(encoding="utf-8") == text


def test_run_writes_the_same_page(inside: Path) -> None:
    """`run --report` and a later `report` agree to the letter."""
    done = call("run", "small.yaml", "-w", "1", "--out", "two", "--report", "two.html")
    assert done.exit_code == 0 and "Report: two.html" in done.output
    assert call("report", "two", "--out", "later.html").exit_code == 0
    assert (inside / "two.html").read_bytes() == (inside / "later.html").read_bytes()


def test_alternatives_are_compared_where_their_runs_belong_together(inside: Path) -> None:
    """Same seed: a difference with its interval; another seed: side by side, and why."""
    (inside / "more.yaml").write_text(SMALL.replace("tray: 4", "tray: 9"))
    assert call("run", "more.yaml", "-q", "-w", "1", "--out", "more").exit_code == 0
    assert call("run", "more.yaml", "-q", "-w", "1", "--out", "luck", "--seed", "5").exit_code == 0
    assert call("report", "one", "more", "--out", "a.html").exit_code == 0
    assert call("report", "one", "luck", "--out", "b.html").exit_code == 0
    pairs, apart = ((inside / name).read_text(encoding="utf-8") for name in ("a.html", "b.html"))
    assert "with the same luck" in pairs and "has no interval" not in pairs
    assert "these runs do not belong together, since their seeds differ (1, 5)." in apart
    assert "Difference of good units" not in apart


def test_answers_of_studies_are_shown(inside: Path) -> None:
    """What limits writes with --json alone makes a page, and so does a result with it."""
    assert call("limits", "small.yaml", "-q", "-w", "1", "--json", "limits.json").exit_code == 0
    assert call("report", "limits.json", "--out", "alone.html").exit_code == 0
    assert call("report", "one", "limits.json", "--out", "both.html").exit_code == 0
    for name in ("alone.html", "both.html"):
        assert "What changes would buy" in (inside / name).read_text(encoding="utf-8")


def test_paper_work_is_shown_without_a_result(inside: Path) -> None:
    """What load writes makes a page that is named by its cell."""
    assert call("load", "small.yaml", "-q", "--json", "load.json").exit_code == 0
    assert call("report", "load.json", "--out", "loads.html").exit_code == 0
    page = (inside / "loads.html").read_text(encoding="utf-8")
    assert "How loaded everybody is" in page and "<title>Small" in page


def test_what_cannot_be_shown_is_refused(inside: Path) -> None:
    """Exit code 2, one line of words, and no file."""
    (inside / "empty").mkdir()
    (inside / "begun").mkdir()
    (inside / "begun" / "study.json").write_text("{}")
    (inside / "other.json").write_text(json.dumps({"tables": []}))
    (inside / "page.html").write_text("mine")
    before = names(inside)
    for arguments, words in (
        (["empty", "--out", "new.html"], "empty is no result folder"),
        (["begun", "--out", "new.html"], "begun holds a study that is not finished"),
        (["other.json", "--out", "new.html"], "other.json is neither a result nor an answer"),
        (["nowhere", "--out", "new.html"], "nowhere cannot be read"),
        (["one", "other.json", "--out", "new.html"], "other.json is neither a result nor an answer"),
        (["one", "--out", "page.html"], "page.html exists and is not overwritten"),
        (["one", "--out", "no/page.html"], "the folder no does not exist"),
    ):
        done = call("report", *arguments)
        assert done.exit_code == 2
        assert done.stderr.startswith("cellsim: ") and words in done.stderr
        assert len(done.stderr.splitlines()) == 1 and done.stdout == ""
    assert names(inside) == before
    assert (inside / "page.html").read_text() == "mine"


def test_run_looks_for_the_place_of_the_page_first(inside: Path) -> None:
    """A page that exists is told before anything is run."""
    (inside / "page.html").write_text("mine")
    before = names(inside)
    done = call("run", "small.yaml", "--report", "page.html")
    assert done.exit_code == 2 and "page.html exists and is not overwritten" in done.stderr
    assert names(inside) == before


def test_a_call_without_a_result_is_refused(inside: Path) -> None:
    """Nothing to show is a wrong call."""
    assert call("report").exit_code == 2
