"""The result folder: nothing is overwritten, nothing is half written, an interrupted study goes on."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.study.folder import ResultFolder, as_json, free_name, hourly_csv, write_whole
from cellsim.study.plan import make_plan
from cellsim.study.replicate import run_replications

WHAT = {"version": "1.2.3", "sha256": "ab12", "seed": 5}
CELL = """
cell: c
shifts: {early: {from: 06:00, to: 07:30}, late: {from: 14:00, to: 15:00, clean_up: 15 min}}
route: [S]
stations: {S: {cycle: {law: exponential, mean: 4 min}}}
study: {shifts: 2}
"""


@pytest.fixture(scope="module")
def records() -> list[Record]:
    """Three real records."""
    return run_replications(load_text(CELL), 5, range(3)).records


def begun(path: Path, records: list[Record]) -> ResultFolder:
    """A folder in which some replications were kept before somebody stopped the study."""
    folder = ResultFolder(path, dict(WHAT))
    folder.begin("cell: c\n")
    for record in records:
        folder.keep(record)
    return folder


def files(path: Path) -> dict[str, str]:
    """Everything in a folder, by name."""
    return {file.name: file.read_text(encoding="utf-8") for file in path.iterdir()}


def test_a_new_folder_says_what_is_run(tmp_path: Path) -> None:
    """The description and what makes two studies the same, in new folders, and nothing else."""
    path = tmp_path / "deep" / "result"
    ResultFolder(path, WHAT).begin("cell: Glöckchen\n")
    assert files(path) == {"cell.yaml": "cell: Glöckchen\n", "study.json": as_json(WHAT)}


def test_what_was_kept_comes_back(tmp_path: Path, records: list[Record]) -> None:
    """Every number of every finished replication, from another object and after another break."""
    begun(tmp_path / "r", records[:2])
    other = ResultFolder(tmp_path / "r", dict(WHAT))
    assert other.resume() == records[:2]
    other.keep(records[2])
    assert ResultFolder(tmp_path / "r", dict(WHAT)).resume() == records
    assert len((tmp_path / "r" / "replications.jsonl").read_text().splitlines()) == 3


def test_nothing_finished_yet(tmp_path: Path) -> None:
    """A study that was stopped at once goes on from nothing."""
    assert begun(tmp_path / "r", []).resume() == []


@pytest.mark.parametrize("cut", [1, 2, 40, 400])
def test_a_half_written_last_line_is_dropped(tmp_path: Path, records: list[Record], cut: int) -> None:
    """The machine went down while the third was being written: two are there, and the file is clean again."""
    folder = begun(tmp_path / "r", records)
    file = tmp_path / "r" / "replications.jsonl"
    whole = file.read_text(encoding="utf-8")
    file.write_text(whole[: -1 - cut], encoding="utf-8")
    assert folder.resume() == records[:2]
    folder.keep(records[2])
    assert file.read_text(encoding="utf-8") == whole
    assert folder.resume() == records


def test_a_line_that_is_no_record_is_dropped(tmp_path: Path, records: list[Record]) -> None:
    """Right JSON with wrong keys is no replication either."""
    folder = begun(tmp_path / "r", records[:1])
    with open(tmp_path / "r" / "replications.jsonl", "a", encoding="utf-8") as file:
        file.write('{"replication": 1, "colour": 3}\n[]\n17\n')
    assert folder.resume() == records[:1]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("seed", 6, "another seed (5, now 6)"),
        ("sha256", "cd34", "another sha256 (ab12, now cd34)"),
        ("version", "1.2.4", "another version (1.2.3, now 1.2.4)"),
        ("clock", "simpy", "another clock (None, now simpy)"),
    ],
)
def test_another_study_cannot_go_on(
    tmp_path: Path, records: list[Record], key: str, value: Any, words: str
) -> None:
    """Another cell, seed or version is refused with both values, and the folder stays as it is."""
    path = tmp_path / "r"
    begun(path, records)
    before = files(path)
    with pytest.raises(UsageError) as refused:
        ResultFolder(path, WHAT | {key: value}).resume()
    assert str(refused.value) == f"{path} holds a study with {words}; it cannot go on with this one"
    assert files(path) == before


@pytest.mark.parametrize("text", [None, "", "{half", "no json"])
def test_a_folder_without_a_study_cannot_go_on(tmp_path: Path, text: str | None) -> None:
    """No folder, no `study.json`, or one that cannot be read: told with its name."""
    path = tmp_path / "r"
    if text is not None:
        path.mkdir()
        (path / "study.json").write_text(text)
    with pytest.raises(UsageError) as refused:
        ResultFolder(path, WHAT).resume()
    assert str(refused.value) == f"{path} holds no study that could go on (no readable study.json)"


@pytest.mark.parametrize("kind", ["folder", "file"])
def test_what_exists_is_never_overwritten(tmp_path: Path, kind: str) -> None:
    """Neither a folder nor a file of that name is touched."""
    path = tmp_path / "r"
    if kind == "folder":
        path.mkdir()
        (path / "cell.yaml").write_text("mine")
    else:
        path.write_text("mine")
    with pytest.raises(UsageError) as refused:
        ResultFolder(path, WHAT).begin("cell: c\n")
    assert str(refused.value) == (
        f"{path} exists and is not overwritten; name another folder with --out, or go on with an interrupted"
        " study with --resume"
    )
    assert (path / "cell.yaml" if kind == "folder" else path).read_text() == "mine"
    assert len(list(tmp_path.rglob("*"))) == (2 if kind == "folder" else 1)


def test_a_place_where_nothing_can_be_written(tmp_path: Path) -> None:
    """A file stands where a folder would have to be: told in words, nothing left behind."""
    (tmp_path / "file").write_text("mine")
    path = tmp_path / "file" / "r"
    with pytest.raises(UsageError) as refused:
        ResultFolder(path, WHAT).begin("cell: c\n")
    assert str(refused.value) == f"{path} cannot be written: Not a directory"
    assert [file.name for file in tmp_path.iterdir()] == ["file"]


def test_a_full_disk_is_told_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the system says about writing comes through as text."""

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(UsageError, match=r"r cannot be written: No space left on device$"):
        ResultFolder(tmp_path / "r", WHAT).begin("cell: c\n")


def test_names_that_are_free(tmp_path: Path) -> None:
    """Beside bell_result and bell_result_2 the next is bell_result_3; a file takes a name as well."""
    assert free_name(tmp_path, "bell_result") == tmp_path / "bell_result"
    (tmp_path / "bell_result").mkdir()
    assert free_name(tmp_path, "bell_result") == tmp_path / "bell_result_2"
    (tmp_path / "bell_result_2").write_text("")
    assert free_name(tmp_path, "bell_result") == tmp_path / "bell_result_3"


def test_a_file_is_there_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The new text replaces the old in one step and nothing stays beside it; a failure leaves the old one."""
    path = tmp_path / "result.json"
    write_whole(path, "old")
    write_whole(path, "new: ü")
    assert files(tmp_path) == {"result.json": "new: ü"}
    steps: list[tuple[str, str]] = []

    def crash(beside: Path, to: Path) -> None:
        steps.append((beside.read_text(), to.read_text()))
        raise KeyboardInterrupt

    monkeypatch.setattr("cellsim.study.folder.os.replace", crash)
    with pytest.raises(KeyboardInterrupt):
        write_whole(path, "newer")
    assert steps == [("newer", "new: ü")]
    assert path.read_text(encoding="utf-8") == "new: ü"


def test_results_are_written_beside_the_replications(tmp_path: Path, records: list[Record]) -> None:
    """`result.json` and `hourly.csv` come to what is there; no half file stays."""
    folder = begun(tmp_path / "r", records)
    folder.write_result({"mean": 1.5, "unit": "Stück"}, make_plan(load_text(CELL)), records)
    found = files(tmp_path / "r")
    assert set(found) == {"cell.yaml", "study.json", "replications.jsonl", "result.json", "hourly.csv"}
    assert json.loads(found["result.json"]) == {"mean": 1.5, "unit": "Stück"}
    assert "Stück" in found["result.json"] and found["result.json"].endswith("}\n")
    assert folder.resume() == records


def test_no_number_that_is_none() -> None:
    """NaN and endless are no JSON: a result that holds one is refused instead of written."""
    for value in (math.nan, math.inf):
        with pytest.raises(ValueError, match="not JSON compliant"):
            as_json({"mean": value})


def test_hourly_counts_as_a_table() -> None:
    """One line per replication and hour: two shifts, a half hour at the end of one, clean up in the other."""
    plan = make_plan(load_text(CELL))
    made = [Record(0, hourly=[13, 7, 11]), Record(4, hourly=[15, 0, 9])]
    assert hourly_csv(plan, made) == (
        "replication,shift,hour,clock,working_min,good_units\n"
        "0,1,1,06:00-07:00,60.0,13\n"
        "0,1,2,07:00-07:30,30.0,7\n"
        "0,2,1,14:00-15:00,45.0,11\n"
        "4,1,1,06:00-07:00,60.0,15\n"
        "4,1,2,07:00-07:30,30.0,0\n"
        "4,2,1,14:00-15:00,45.0,9\n"
    )
