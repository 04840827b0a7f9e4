"""The workbook, read back with a library that did not write it: numbers of the result, tidy sheets."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.show.workbook import save_workbook

CELL = """\
cell: Small
target: 140 per h
shifts: {day: {from: 06:00, to: 08:00}}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 24 s}, stops: {jam: {every: 20 min of running, lasts: 1 min}}}
  fit: {cycle: 20 s, by: Ann, rejects: {share: 5 %}}
stores: {tray: 4}
crew: {Ann: {}}
study: {shifts: 1, replications: 4}
"""
SHEETS = [
    *("summary", "hourly", "stations", "people and robots", "stores", "stops", "losses"),
    *("paper check", "assumptions", "cautions", "provenance"),
]
HOSTILE = ('=HYPERLINK("http://example.org","x")', "+1+1", "-2+3", "@SUM(1)", "_x0041_")


def written(result: Any, path: Path) -> Any:
    """The workbook of a result, read back."""
    save_workbook(result, path)
    return openpyxl.load_workbook(path)


def table(sheet: Any) -> list[dict[str, Any]]:
    """The rows of a sheet by head; the summary has three lines and an empty one above its table."""
    rows = list(sheet.iter_rows(values_only=True))[4 if sheet.title == "summary" else 0 :]
    assert len(set(rows[0])) == len(rows[0]), "two columns have the same head"
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def numbers_of(part: Any) -> list[float]:
    """Every number in a nested result."""
    if isinstance(part, dict):
        return [x for value in part.values() for x in numbers_of(value)]
    if isinstance(part, list):
        return [x for value in part for x in numbers_of(value)]
    return [part] if isinstance(part, int | float) and not isinstance(part, bool) else []


def without(part: dict[str, Any], *keys: str) -> dict[str, Any]:
    """A part of a result without what stands elsewhere."""
    return {key: value for key, value in part.items() if key not in keys}


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """A result folder of a small study, and the workbook that `run` made of it."""
    here = tmp_path_factory.mktemp("study")
    (here / "small.yaml").write_text(CELL)
    call = ["run", str(here / "small.yaml"), "-q", "--clock", "simpy", "-w", "1"]
    done = CliRunner().invoke(
        main, [*call, "--out", str(here / "made"), "--workbook", str(here / "made.xlsx")]
    )
    assert done.exit_code == 0, done.output
    return here


def test_every_number_of_the_result_is_there(study):
    """Each number of each part that has a sheet stands there, to the 16 digits that the format holds."""
    result = json.loads((study / "made" / "result.json").read_text())
    book = openpyxl.load_workbook(study / "made.xlsx")
    parts = {
        "hourly": [result["output_per_hour"]["by_clock_hour"], result["wip"]["by_hour"]],
        "stations": result["stations"],
        "people and robots": [result["people"], result["robots"]],
        "stores": [without(row, "by_hour") for row in result["stores"].values()],
        "stores by hour": [
            [without(hour, "length_min") for hour in row["by_hour"]] for row in result["stores"].values()
        ],
        "stops": result["stops"],
        "losses": result["losses"]["causes"],
        "quality": [result["quality"]["first_pass_yield"], result["quality"]["scrapped_at"]],
        "paper check": result["paper"],
        "summary": [
            without(result["output_per_hour"], "by_clock_hour", "level"),
            result["units_per_labour_hour"],
            result["lead_time"],
            without(result["study"], "horizon_s"),
        ],
    }
    for name, part in parts.items():
        there = [
            v for row in book[name].iter_rows(values_only=True) for v in row if isinstance(v, int | float)
        ]
        wanted = numbers_of(part)
        assert wanted, name
        for number in wanted:
            assert any(v == pytest.approx(number, rel=1e-15, abs=0) for v in there), (name, number)


def test_figures_stand_in_their_own_row_and_column(study):
    """Not only somewhere: some figures of each kind by row and head, intervals in two columns."""
    result = json.loads((study / "made" / "result.json").read_text())
    book = openpyxl.load_workbook(study / "made.xlsx")
    press = next(row for row in table(book["stations"]) if row["Station"] == "press")
    working = result["stations"]["press"]["shares"]["working"]
    assert press["working, share of time"] == pytest.approx(working["mean"], rel=1e-15)
    ends = [press["working, share of time, 95 % low"], press["working, share of time, 95 % high"]]
    assert ends == pytest.approx(working["interval"], rel=1e-15)
    ann = next(row for row in table(book["people and robots"]) if row["Name"] == "Ann")
    assert ann["person or robot"] == "person"
    load = result["people"]["Ann"]["load"]["mean"]
    assert ann["load, share of the time on duty"] == pytest.approx(load, rel=1e-15)
    tray = table(book["stores"])[0]
    assert tray["places (empty: not limited)"] == 4
    assert tray["stay, seconds"] == pytest.approx(result["stores"]["tray"]["stay_s"]["mean"], rel=1e-15)
    hours = table(book["hourly"])
    assert [row["Hour"] for row in hours] == ["06:00-07:00", "07:00-08:00"]
    by_hour = result["output_per_hour"]["by_clock_hour"]
    assert [row["output, good units"] for row in hours] == [row["mean"] for row in by_hour]
    first = table(book["summary"])[0]
    out = result["output_per_hour"]
    assert [first["Figure"], first["unit"]] == ["Output, mean", "good units per working hour"]
    said = [first["value"], first["95 % low"], first["95 % high"]]
    assert said == pytest.approx([out["mean"], *out["interval"]], rel=1e-15)
    jam = table(book["stops"])[0]
    assert (jam["Where"], jam["cause"], jam["planned"]) == ("press", "jam", "no")
    assert jam["in repair, minutes"] == pytest.approx(result["stops"][0]["repair_min"]["mean"], rel=1e-15)


def test_sheets_are_tidy(study):
    """The sheets in their order; frozen heads, filters, shares in per cent, and no formula anywhere."""
    book = openpyxl.load_workbook(study / "made.xlsx")
    assert [name for name in book.sheetnames if name in SHEETS] == SHEETS
    for sheet in book:
        head = 5 if sheet.title == "summary" else 1
        assert sheet.freeze_panes == f"B{head + 1}", sheet.title
        assert sheet.auto_filter.ref.startswith(f"A{head}:"), sheet.title
        for row in sheet.iter_rows(min_row=head + 1):
            assert all(cell.data_type != "f" for cell in row)
        for cell in sheet[head]:
            assert 8 <= sheet.column_dimensions[cell.column_letter].width <= 65
            if "share of time" in str(cell.value):
                assert sheet.cell(head + 1, cell.column).number_format == "0.0 %"
    shares = [row for row in book["summary"].iter_rows(min_row=6) if str(row[4].value).startswith("share")]
    assert shares and all(row[1].number_format == "0.0 %" for row in shares)
    assert "safe or lawful" in book["summary"]["A3"].value
    told = {row["What"]: row["value"] for row in table(book["provenance"])}
    assert told["seed"] == 1 and told["replications"] == 4 and len(told["sha256"]) == 64


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_texts(result, tmp_path, name):
    """A name that a spreadsheet would take for a formula is a text, also in the XML, and marked as one."""
    result["cell"]["name"] = name
    result["stations"] = {name: result["stations"]["press"]}
    result["stores"] = {name: result["stores"]["tray"]}
    result["stops"][0] |= {"who": name, "cause": name}
    result["assumptions"] = [{"path": name, "value": name, "why": name}]
    book = written(result, tmp_path / "x.xlsx")
    cell = book["stations"]["A2"]
    assert (cell.value, cell.data_type) == (name, "s")
    assert cell.quotePrefix == (name[0] in "=+-@")
    assert book["summary"]["A1"].value.startswith(name)
    with zipfile.ZipFile(tmp_path / "x.xlsx") as file:
        inside = {part: file.read(part).decode() for part in file.namelist() if part.endswith(".xml")}
    assert not any(re.search(r"<f[ >]|<hyperlink", text) for part, text in inside.items() if "sheet" in part)


def test_equal_results_give_equal_files(result, tmp_path):
    """No date of today and nothing random inside."""
    written(result, tmp_path / "a.xlsx")
    book = written(result, tmp_path / "b.xlsx")
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    assert book.properties.created.year == 2000


def test_one_run_leaves_intervals_empty(single, tmp_path):
    """No interval has ends: its cells are empty, not zero and not text."""
    first = table(written(single, tmp_path / "x.xlsx")["summary"])[0]
    assert first["value"] == 104.4
    assert first["95 % low"] is None and first["95 % high"] is None


def test_a_large_seed_keeps_its_digits(result, tmp_path):
    """A spreadsheet keeps 15 digits of a number, so a longer seed is a text."""
    result["provenance"]["seed"] = 2**64 - 1
    rows = table(written(result, tmp_path / "x.xlsx")["provenance"])
    assert {row["What"]: row["value"] for row in rows}["seed"] == "18446744073709551615"


def test_standstills_have_a_sheet(locked, tmp_path):
    """A locked run stands with its time and circle; a study without one has no such sheet."""
    rows = table(written(locked, tmp_path / "x.xlsx")["standstills"])
    assert [row["Replication"] for row in rows] == [3, 9]
    assert rows[0]["standstill after, s"] == 4500
    assert rows[0]["who waits"] == "press holds a unit for tray; glue holds a unit for bench"


def test_a_folder_made_earlier_gives_the_same_file(study):
    """`workbook` from the folder or its result.json is, byte for byte, what `run --workbook` wrote."""
    for k, source in enumerate(("made", "made/result.json")):
        done = CliRunner().invoke(main, ["workbook", str(study / source), str(study / f"later{k}.xlsx")])
        assert done.exit_code == 0, done.output
        assert (study / f"later{k}.xlsx").read_bytes() == (study / "made.xlsx").read_bytes()


@pytest.mark.parametrize(
    ("source", "file", "words"),
    [
        ("made", "made.xlsx", "exists and is not overwritten"),
        ("made", "new.ods", "must end in .xlsx"),
        ("made", "none/new.xlsx", "does not exist"),
        ("nowhere", "new.xlsx", "cannot be read"),
        ("made/study.json", "new.xlsx", "holds no result"),
        ("made/cell.yaml", "new.xlsx", "holds no result"),
    ],
)
def test_wrong_calls_write_nothing(study, source, file, words):
    """Exit code 2, what is wrong in one line, and no file."""
    before = {path: path.read_bytes() for path in study.iterdir() if path.is_file()}
    done = CliRunner().invoke(main, ["workbook", str(study / source), str(study / file)])
    assert done.exit_code == 2
    assert words in done.stderr
    assert {path: path.read_bytes() for path in study.iterdir() if path.is_file()} == before


def test_run_looks_before_it_runs(study):
    """`run --workbook` with a file that exists: exit code 2 before any folder is made."""
    call = ["run", str(study / "small.yaml"), "--out", str(study / "second"), "-q"]
    done = CliRunner().invoke(main, [*call, "--workbook", str(study / "made.xlsx")])
    assert done.exit_code == 2
    assert "is not overwritten" in done.stderr
    assert not (study / "second").exists()
