"""Tables of the shop floor: what is read whatever the delimiter and encoding, and what is told where."""

from __future__ import annotations

import math
import zipfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from cellsim.errors import CellsimError, DescriptionError
from cellsim.evidence.records import Column, find_table, read_records, records_of
from cellsim.evidence.values import DAY_FIRST, moments, numbers, seconds_in

SHEET = (
    Column("element", ("step",)),
    Column("time", ("duration", "Zeit")),
    Column("remark", (), needed=False),
)


def write(tmp_path: Path, text: str, encoding: str = "utf-8") -> Path:
    """A file with this text."""
    path = tmp_path / "sheet.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_delimiters_and_encodings(mark: str, encoding: str, tmp_path: Path):
    """The same table every way; Windows-1252 is listed."""
    text = mark.join(["Remark", "STEP", "Time [s]"]) + "\r\n" + mark.join(["schön", "press", "12.5"]) + "\r\n"
    found = read_records(write(tmp_path, text, encoding), SHEET)
    assert found.delimiter == mark
    assert [(row.line, row["element"], row["time"], row["remark"]) for row in found.rows] == [
        (2, "press", "12.5", "schön")
    ]
    assert found.headings == {"element": "STEP", "time": "Time [s]", "remark": "Remark"}
    assert found.repairs == (
        ["the file is not UTF-8; it was read as Windows-1252"] if encoding == "cp1252" else []
    )


def test_quotes_and_lines(tmp_path: Path):
    """A quoted cell may hold the delimiter and a line break; empty lines are skipped; rows know theirs."""
    text = '\nelement,time_s,other\n"press, big\ntwo",1.5,x\n\nfit,2\n'
    found = read_records(write(tmp_path, text), SHEET)
    assert [(row.line, row["element"], row["time"]) for row in found.rows] == [
        (3, "press, big\ntwo", "1.5"),
        (6, "fit", "2"),
    ]


WRONG_FILES = [
    ("", "sheet.csv is empty"),
    ("a,b\n1,2\n", "the first line has none of the headings element, time"),
    (
        "Bench 4, May\n\nwhat;how long;who\nfit;1;Ann;see there;twice\n",
        'no line has one of the headings element, time; line 3 looks most like headings: "what;how long;who"',
    ),
    (
        "Bench 4\nelement;tiem\nfit;1\n",
        'sheet.csv:2:1: there is no column "time" (duration, Zeit); did you mean "tiem"?',
    ),
    ("element,tiem\n", 'sheet.csv:1:1: there is no column "time" (duration, Zeit); did you mean "tiem"?'),
    ("element,time,duration\n", "sheet.csv:1:3: duration: this heading and that of column 2 both mean time"),
    (
        "element,time\nfit,1,5\n",
        'sheet.csv:2:3: "5" stands beyond the last heading; cells are separated by commas',
    ),
    ('element,time\n"fit,1\n', "line 2: not a table"),
    ("element,time [s]\nfit,1\nElement,Time [s]\nfit,2\n", "line 3 repeats the headings; delete it"),
    ("element,time [s]\nfit,1\nelement,time [min]\n", "line 3 repeats the headings with another unit"),
]


@pytest.mark.parametrize(("text", "said"), WRONG_FILES)
def test_wrong_tables(text: str, said: str, tmp_path: Path):
    """Each with the place and what to do."""
    with pytest.raises(CellsimError) as caught:
        read_records(write(tmp_path, text), SHEET)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("titles", "said"),
    [
        ("Bench 4, May 2026\n", 'line 1 above the headings was not read: "Bench 4, May 2026"'),
        (
            "Time study of bench 4;;\n;;\n",
            'lines 1-2 above the headings were not read: "Time study of bench 4"',
        ),
        ('\n"Bench 4\nMay";;\n;;\n', 'lines 1-4 above the headings were not read: "Bench 4 May"'),
        ("Remark;first;try\n", 'line 1 above the headings was not read: "Remark first try"'),
        ("Remark: first sheet\n", 'line 1 above the headings was not read: "Remark: first sheet"'),
    ],
)
def test_titles_above_the_headings(titles: str, said: str, tmp_path: Path):
    """Listed, whatever their delimiter; rows keep the lines of the file."""
    found = read_records(write(tmp_path, titles + "element;time;remark\nfit;1;\n"), SHEET)
    assert found.repairs == [said]
    assert [(row.line, row["element"]) for row in found.rows] == [(titles.count("\n") + 2, "fit")]


def test_columns_that_nobody_reads_are_kept_with_their_cells(tmp_path: Path):
    """By place and heading; one without heading only where it holds something."""
    found = read_records(write(tmp_path, "element;hand;time;;\nfit;l;1;x;\nfit;;2;;\n"), SHEET)
    assert [(one.place, one.heading, one.cells) for one in found.unused] == [
        (2, "hand", ("l",)),
        (4, "", ("x",)),
    ]


def test_headings_with_a_per_cent_sign_or_a_point(tmp_path: Path):
    """`Time [s]:`, `% remark` and `step.` are what they are without."""
    found = read_records(write(tmp_path, "Step.;Time [s]:;% remark\nfit;1;x\n"), SHEET)
    assert found.places == {"element": 1, "time": 2, "remark": 3}


def test_lines_are_put_aside_before_they_are_read(tmp_path: Path):
    """One with too many cells, one that repeats the headings, one with an open quote."""
    text = 'element;time\nfit;1;2\nfit;3\nelement;time\n"fit;4\nfit;5\n'
    with pytest.raises(CellsimError, match="not a table"):
        read_records(write(tmp_path, text), SHEET)
    found = records_of(find_table(write(tmp_path, text), SHEET, leave_out=[2, 4, 5]), SHEET)
    assert [(row.line, row["time"]) for row in found.rows] == [(3, "3"), (6, "5")]
    assert [row.line for row in found.aside] == [2, 4, 5]


def test_a_spreadsheet_is_told_what_to_do(tmp_path: Path):
    """A packed workbook under the name of a table."""
    path = tmp_path / "sheet.csv"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
    with pytest.raises(CellsimError, match="this is an Excel file; save it as CSV"):
        read_records(path, SHEET)


def test_mistakes_that_are_not_listed_are_counted(tmp_path: Path):
    """60 cells that are no numbers: 50 are listed, and how many there are."""
    found = column(tmp_path, ["x"] * 60)
    numbers(found, "time")
    with pytest.raises(DescriptionError) as caught:
        found.stop_if_wrong()
    assert len(caught.value.mistakes) == 50
    assert caught.value.report().endswith("\n60 mistakes (50 of them are listed), nothing was run")


def test_files_that_are_no_text(tmp_path: Path):
    """Zero bytes, bytes that no Windows-1252 has, a mark that lies, a file that is not there."""
    for data, said in (
        (b"element,time\nfit,\x00", "it holds zero bytes"),
        (b"element,time\nfit,\x81", "neither UTF-8 nor Windows-1252"),
        (b"\xef\xbb\xbfelement\xff", "begins as UTF-8 and is not"),
    ):
        path = tmp_path / "bad.csv"
        path.write_bytes(data)
        with pytest.raises(CellsimError, match=said):
            read_records(path, SHEET)
    with pytest.raises(CellsimError, match="cannot be read: No such file"):
        read_records(tmp_path / "none.csv", SHEET)


def column(tmp_path: Path, values: list[str], heading: str = "time [s]"):
    """A table with one column of values."""
    text = f"element;{heading}\n" + "".join(f"fit;{value}\n" for value in values)
    return read_records(write(tmp_path, text), SHEET)


NUMBERS = [
    (["1.5", "2"], [1.5, 2.0]),
    (["1,5", "2"], [1.5, 2.0]),
    (["1.234,5", "2.000"], [1234.5, 2000.0]),
    (["1,234.5", "2,000"], [1234.5, 2000.0]),
    (["1 234,5", "12"], [1234.5, 12.0]),
    (["1'234.5", "-3"], [1234.5, -3.0]),
    (["1,234,567", "2"], [1234567.0, 2.0]),
    (["0,125", "1,250"], [0.125, 1.25]),
    ([".5", "1e3"], [0.5, 1000.0]),
]


@pytest.mark.parametrize(("texts", "values"), NUMBERS)
def test_numbers(texts: list[str], values: list[float], tmp_path: Path):
    """One value that can only be meant one way settles the column."""
    found = column(tmp_path, texts)
    assert numbers(found, "time") == values
    assert found.mistakes == []


def test_a_number_that_could_be_two_is_asked_back(tmp_path: Path):
    """1,234 alone: a decimal or a thousand; said with an option it is read."""
    found = column(tmp_path, ["1,234", "5"])
    numbers(found, "time")
    with pytest.raises(DescriptionError) as caught:
        found.stop_if_wrong()
    assert str(caught.value) == (
        'sheet.csv:2:2: time [s]: "1,234" could be a decimal or a thousand; '
        "say which mark decimals have with --decimal"
    )
    assert numbers(column(tmp_path, ["1,234"]), "time", ",") == [1.234]
    assert numbers(column(tmp_path, ["1,234"]), "time", ".") == [1234.0]


def test_all_wrong_cells_are_told_at_once(tmp_path: Path):
    """A word, an empty cell, and marks that contradict each other."""
    found = column(tmp_path, ["fast", "", "1.5", "2,5"])
    values = numbers(found, "time")
    assert all(math.isnan(value) for value in values)
    assert [(m.line, m.message) for m in found.mistakes] == [
        (2, '"fast" is not a number'),
        (3, "this cell is empty; wanted is a number"),
        (4, '"1.5" fits no mark that all of the column use'),
        (5, '"2,5" fits no mark that all of the column use'),
    ]


@pytest.mark.parametrize(
    ("heading", "values", "unit", "seconds"),
    [
        ("time [s]", ["1.5"], "", 1.5),
        ("time_cmin", ["25"], "", 15.0),
        ("time (1/100 min)", ["25"], "", 15.0),
        ("time", ["2"], "min", 120.0),
        ("time seconds", ["7"], "", 7.0),
        ("time [min]", ["1:30"], "", 90.0),
        ("time [h]", ["1:30"], "", 5400.0),
        ("time", ["0:05"], "h", 300.0),
        ("Time [min/100]", ["25"], "", 15.0),
        ("Time [HM]", ["25"], "", 15.0),
        ("time", ["1:02:03.5"], "", 3723.5),
        ("time tmu", ["100"], "", 3.6),
    ],
)
def test_durations(heading: str, values: list[str], unit: str, seconds: float, tmp_path: Path):
    """The heading says the unit, or the caller; clock times need none."""
    assert seconds_in(column(tmp_path, values, heading), "time", unit) == [pytest.approx(seconds)]


def test_durations_that_are_none(tmp_path: Path):
    """No unit, below 0, 75 seconds, a number among clock times."""
    for heading, values, said in (
        ("time", ["3"], "the heading says no unit of time"),
        ("time [s]", ["-3"], "below 0"),
        ("time", ["1:75"], "more than 59 minutes or seconds"),
        ("time", ["1:30"], "could be hours and minutes or minutes and seconds"),
        ("time [s]", ["1:30"], "could be hours and minutes or minutes and seconds"),
        ("time [min]", ["1:30", "40"], '"40" is no duration such as 0:01:30'),
    ):
        found = column(tmp_path, values, heading)
        seconds_in(found, "time")
        assert said in found.mistakes[0].message


def test_the_form_of_clock_times_is_said(tmp_path: Path):
    """In hours, 0:05 is five minutes; every form that is there is listed once."""
    found = column(tmp_path, ["0:05", "1:10", "0:00:30"], "time [h]")
    assert seconds_in(found, "time") == [300.0, 4200.0, 30.0]
    assert found.repairs == [
        "time [h]: 2 times such as 0:05 read as h:mm",
        "time [h]: 1 time such as 0:00:30 read as h:mm:ss",
    ]


MOMENTS = [
    (["2026-03-01 06:12"], "", datetime(2026, 3, 1, 6, 12)),
    (["2026-03-01T06:12:30Z"], "", datetime(2026, 3, 1, 6, 12, 30, tzinfo=UTC)),
    (
        ["2026-03-01 06:12:30.5+01:00"],
        "",
        datetime(2026, 3, 1, 6, 12, 30, 500000, timezone(timedelta(hours=1))),
    ),
    (["01.03.2026 24:00"], "", datetime(2026, 3, 2)),
    (["1/3/2026 7:00", "13/3/2026 7:00"], "", datetime(2026, 3, 1, 7)),
    (["1/3/2026 7:00", "1/13/2026 7:00"], "", datetime(2026, 1, 3, 7)),
    (["1/3/2026"], DAY_FIRST, datetime(2026, 3, 1)),
    (["29.02.2028 00:00"], "", datetime(2028, 2, 29)),
]


@pytest.mark.parametrize(("texts", "order", "first"), MOMENTS)
def test_moments(texts: list[str], order: str, first: datetime, tmp_path: Path):
    """As written, with a zone only where one is written."""
    found = column(tmp_path, texts)
    assert moments(found, "time", order)[0] == first
    assert found.mistakes == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("29.02.2026 06:00", "there is no such date"),
        ("1/3/2026 06:00", "could be day or month first"),
        ("2026-03-01 6 o'clock", "no time of day such as 06:12"),
        ("2026-03-01 25:00", "no time of day"),
        ("March 1", "no date such as 2026-03-01"),
        ("", "this cell is empty; wanted is a date and time"),
    ],
)
def test_moments_that_are_none(text: str, said: str, tmp_path: Path):
    """Each with row and column."""
    found = column(tmp_path, [text])
    assert moments(found, "time") == [None]
    assert said in found.mistakes[0].message
    assert (found.mistakes[0].line, found.mistakes[0].column) == (2, 2)
