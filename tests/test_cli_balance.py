"""`cellsim balance` as it is called: files that it writes, refusals, what it prints."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main

PLAN = """\
plan: four
takt: 100 s
spread: 30 %
places: 0
elements:
  a: {time: 40 s}
  b: {time: 50 s, after: a}
  c: {time: 60 s, after: b}
  d: {time: 30 s, after: c}
"""


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a plan."""
    (tmp_path / "plan.yaml").write_text(PLAN)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def call(*words: str, code: int = 0, width: int = 80) -> str:
    """What a command prints, on both outputs."""
    done = CliRunner().invoke(main, list(words), env={"COLUMNS": str(width)})
    assert done.exit_code == code, done.output
    return done.output


def test_the_cell_is_taken_by_check_and_run(inside: Path) -> None:
    """Written once, run as it stands, and its figure is the one that was told."""
    runs = ("-n", "3", "--clock", "simpy", "-w", "1", "--seed", "4")
    told = call("balance", "plan.yaml", "--cell", "line.yaml", *runs, "--json", "a.json")
    assert "no mistakes" in call("check", "line.yaml")
    call("run", "line.yaml", *runs, "--out", "r")
    answer = json.loads((inside / "a.json").read_text())
    result = json.loads((inside / "r" / "result.json").read_text())
    assert answer["simulated"]["as_planned"]["mean"] == result["output_per_hour"]["mean"]
    assert (inside / "line.yaml").read_text() == answer["cell_file"]
    assert "origin: " in answer["cell_file"] and "target: 36 per h" in answer["cell_file"]
    words = " ".join(told.split())
    assert "four: 2 people keep the planned cycle of 100 s, which is the takt; it is proven" in words
    assert "What binds: station 1 (P1) and station 2 (P2)" in words
    assert re.search(r"That there is no place between two people costs \d", words)


def test_nothing_is_overwritten(inside: Path) -> None:
    """An existing cell file or picture ends the call before any work, and stays as it is."""
    for option, name in (("--cell", "old.yaml"), ("--picture", "old.png")):
        (inside / name).write_text("mine")
        said = call("balance", "plan.yaml", "--on-paper", option, name, "--json", "new.json", code=2)
        assert said == f"cellsim: {name} exists and is not overwritten; name another file\n"
        assert (inside / name).read_text() == "mine"
    assert not (inside / "new.json").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--picture", "a.gif"], "--picture a.gif: the name of the file must end in .png or .svg or .pdf"),
        (["--cell", "no/a.yaml"], "--cell no/a.yaml: the folder no does not exist"),
        (["--people", "9"], "--people 9: there are 4 pieces of work that can be given to different people"),
        (["-n", "1"], "an interval takes at least two replications"),
    ],
)
def test_calls_that_make_no_sense(inside: Path, words: list[str], said: str) -> None:
    """Told in one line, exit code 2, nothing written."""
    assert call("balance", "plan.yaml", *words, code=2) == f"cellsim: {said}\n"
    assert [path.name for path in inside.iterdir()] == ["plan.yaml"]


def test_one_is_not_many(inside: Path) -> None:
    """One piece of work, one person: in words that are right for one."""
    (inside / "one.yaml").write_text("plan: one\npeople: 1\nelements: {a: {time: 40 s}}\n")
    said = call("balance", "one.yaml", "--people", "2", code=2)
    assert said == "cellsim: --people 2: the work is one piece, which is done at one station\n"
    sides = "elements: {a: {time: 4 s, side: left}, b: {time: 5 s, side: right}}\n"
    (inside / "sides.yaml").write_text(f"plan: sides\npeople: 2\n{sides}")
    said = call("balance", "sides.yaml", "--people", "1", code=2)
    assert said == (
        "cellsim: no balance for 1 person is possible, since not all of this can hold: a station has one side"
        " only (left and right)\n"
    )


def test_a_wrong_plan_and_an_impossible_one(inside: Path) -> None:
    """Mistakes with their place; what cannot be done with its elements; no file either way."""
    (inside / "wrong.yaml").write_text(PLAN.replace("after: a", "after: x"))
    said = call("balance", "wrong.yaml", "--cell", "line.yaml", code=2)
    assert said.splitlines() == [
        'wrong.yaml:7:26: elements.b.after: no element is called "x"; there are a, b, c, d',
        "1 mistake, nothing was run",
    ]
    (inside / "long.yaml").write_text(PLAN.replace("60 s", "160 s"))
    assert "c takes 160 s; that is longer than the planned cycle of 100 s" in call(
        "balance", "long.yaml", "--cell", "line.yaml", code=2
    )
    assert not (inside / "line.yaml").exists()
    assert "which work plan?" in call("balance", code=2)
    assert "missing.yaml" in call("balance", "missing.yaml", code=2)


def test_json_alone_on_standard_output(inside: Path) -> None:
    """Nothing but the answer."""
    answer = json.loads(call("balance", "plan.yaml", "--on-paper", "--people", "3", "--json", "-"))
    assert (answer["seeks"], answer["people"], answer["simulated"]) == ("smallest cycle", 3, None)


def test_the_keys_are_printed() -> None:
    """Every key of a plan, without a plan."""
    page = call("balance", "--keys")
    assert (
        page.startswith("# Keys of a work plan") and "| `runs_alone` |" in page and "| `clean_up` |" in page
    )


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("more", [[], ["--people", "3"], ["--on-paper"]])
def test_the_screen_keeps_to_its_width(inside: Path, width: int, more: list[str]) -> None:
    """Long names too; nothing is cut."""
    long = "hold the long lever with both hands and turn it"
    (inside / "long.yaml").write_text(
        PLAN.replace("  a:", f"  {long}:").replace("after: a", f"after: {long}")
    )
    text = call("balance", "long.yaml", "-n", "2", "--clock", "simpy", "-w", "1", *more, width=width)
    assert max(map(len, text.splitlines())) <= width
    assert "…" not in text
    assert all(word in text for word in long.split())
