"""Results read back: what is accepted, what is refused with which words, and which runs belong together."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.resolve import load
from cellsim.errors import UsageError
from cellsim.study.opened import names_of, opened, paired_comparison
from cellsim.study.study import compare

CELL = """\
cell: Two benches
target: 100 per h
shifts: {day: {from: 06:00, to: 08:00}}
route: [press, tray, fit]
stations: {press: {cycle: {law: exponential, mean: 24 s}}, fit: {cycle: 24 s}}
stores: {tray: 4}
study: {shifts: 1}
"""


def made(folder: Path, name: str, text: str, *options: str) -> Path:
    """The result folder of a cell."""
    file = folder / f"{name}.yaml"
    file.write_text(text)
    out = folder / name
    done = CliRunner().invoke(main, ["run", str(file), "-q", "-w", "1", "--out", str(out), *options])
    assert done.exit_code == 0, done.output
    return out


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A base, a proposal with the same luck, and others that do not belong to them."""
    at = tmp_path_factory.mktemp("results")
    more = CELL.replace("tray: 4", "tray: 9")
    return {
        "base": made(at, "base", CELL, "-n", "4"),
        "more": made(at, "more", more, "-n", "4"),
        "seed": made(at, "seed", more, "-n", "4", "--seed", "9"),
        "few": made(at, "few", more, "-n", "3"),
    }


def test_a_folder_and_its_file_are_the_same_result(folders: dict[str, Path]) -> None:
    """Both open, with the name of the folder."""
    one, two = opened(folders["base"]), opened(folders["base"] / "result.json")
    assert (one.kind, one.name, one.answer) == ("result", "base", two.answer)
    assert two.name == "base"


def test_runs_with_the_same_luck_are_compared(folders: dict[str, Path]) -> None:
    """The comparison of two folders is that of the study that runs both, figure by figure."""
    results = [opened(folders["base"]), opened(folders["more"])]
    found, why = paired_comparison(results)
    assert found is not None and why == ""
    base, more = (load(folders[name] / "cell.yaml") for name in ("base", "more"))
    study = compare(base, {"more": more}, replications=4)
    assert found["proposals"][0]["differences"] == study["proposals"][0]["differences"]
    assert found["proposals"][0]["differences"]["output_per_hour"]["mean"] != 0
    assert [found["base"]["name"], found["proposals"][0]["name"]] == names_of(results) == ["base", "more"]


@pytest.mark.parametrize(
    ("other", "words"),
    [("seed", "their seeds differ (1, 9)"), ("few", "they have other replications (4, 3)")],
)
def test_runs_that_do_not_belong_together(folders: dict[str, Path], other: str, words: str) -> None:
    """Another seed or other replications: no comparison, and why."""
    assert paired_comparison([opened(folders["base"]), opened(folders[other])]) == (None, words)


def test_a_changed_description_is_seen(folders: dict[str, Path], tmp_path: Path) -> None:
    """A folder whose cell.yaml is not that of its result, or is lost, allows no pairing."""
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(folders["more"], copy)
    (copy / "cell.yaml").write_bytes((folders["base"] / "cell.yaml").read_bytes())
    results = [opened(folders["base"]), opened(copy)]
    assert (
        paired_comparison(results)[1]
        == f"{copy / 'cell.yaml'} is not the description of the result beside it"
    )
    (copy / "cell.yaml").unlink()
    assert paired_comparison(results) == (None, f"{copy} holds no cell.yaml that can be read")


def write(path: Path, content: Any) -> Path:
    path.write_text(content if isinstance(content, str) else json.dumps(content))
    return path


def test_what_is_no_result_is_refused(folders: dict[str, Path], tmp_path: Path) -> None:
    """Each with words that say what it is and what is wanted."""
    result = opened(folders["base"]).answer
    (tmp_path / "empty").mkdir()
    unfinished = tmp_path / "unfinished"
    unfinished.mkdir()
    (unfinished / "study.json").write_text("{}")
    for path, words in (
        (tmp_path / "nowhere", "cannot be read: No such file"),
        (tmp_path / "empty", "is no result folder: it holds no result.json"),
        (unfinished, "not finished (no result.json yet); go on with it first: cellsim run CELL --resume"),
        (write(tmp_path / "text.json", "not json"), "is no JSON file"),
        (write(tmp_path / "list.json", [1]), "is neither a result nor an answer that a report can show"),
        (write(tmp_path / "crew.json", {"choices": [], "front": []}), "what compare, buffers, limits, sens"),
        (write(tmp_path / "new.json", result | {"version": 7}), "version 7 of the figures; this program"),
    ):  # fmt: skip
        with pytest.raises(UsageError) as caught:
            opened(path)
        assert words in str(caught.value)
        assert str(path) in str(caught.value)
