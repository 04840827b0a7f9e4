"""Stopwatch sheets as a plant writes them: what is read, and that all that is not read is listed."""

from __future__ import annotations

from pathlib import Path

import pytest

from cellsim.errors import CellsimError
from cellsim.evidence.sheet import Sheet, read_sheet
from cellsim.evidence.sheet_columns import LOOSE

PLANT = """\
Time study of press 3, 10.11.2026, observer: planning;;;;;
;;;;;
No.;Work place;Stopwatch [s];Rating %;Worker;Note
1;Press;24,8;105;Ann;
2;Press;58,3;100;Ann;part fell on the floor
3;Press;;;Ann;not read - phone
4;Press;26,0;;Ann;
1;Riveter;13,2;110;Bea;
2;Riveter;n/a;105;Bea;
3;Riveter;13,8;105;Bea;
;Mean;27,2;;;
"""
WIDE = """\
Element;1;2;3;4;Rating;Mean
press;24,8;58,3;;26;105;36,4
load;13,2;14,1;13,8;14;;13,8
"""
LONG = "element,cycle,time [s]\n"


def read(tmp_path: Path, text: str, **how) -> Sheet:
    """The sheet with this text."""
    path = tmp_path / "sheet.csv"
    path.write_text(text)
    return read_sheet(path, **how)


def seconds(sheet: Sheet) -> dict:
    """The times of each element."""
    return {key: [cycle.seconds for cycle in cycles] for key, cycles in sheet.cycles.items()}


def test_a_sheet_of_a_plant(tmp_path: Path):
    """Titles, no element, two empty readings, a missing rating, a row of means: all listed, the rest read."""
    sheet = read(tmp_path, PLANT)
    assert seconds(sheet) == {("Press", "Press"): [24.8, 58.3, 26.0], ("Riveter", "Riveter"): [13.2, 13.8]}
    assert [cycle.rating for cycle in sheet.cycles["Press", "Press"]] == [1.05, 1.0, 1.0]
    assert sheet.rated
    assert sheet.spare == []
    assert sheet.repairs == [
        'lines 1-2 above the headings were not read: "Time study of press 3, 10.11.2026, ob..."',
        "line 11: a summary row (Mean); left out",
        "no column says the element; each station is one element of its name",
        "2 readings are empty and left out: line 6 (not read - phone), line 9 (n/a)",
        "1 cycle has no rating and counts as normal pace: line 7",
    ]


def test_a_title_that_has_more_known_words_than_the_headings(tmp_path: Path):
    """Who was timed, where and when in one line; only the headings have element and time, or cycles."""
    title = "Operator;Ann;Station;press;Date;10.11.2026\n"
    for table, unit in (("Element;Time [s]\nload;10\n", ""), ("Element;1;2\nload;10;11\n", "s")):
        sheet = read(tmp_path, title + table, unit=unit)
        assert seconds(sheet)["", "load"][0] == 10.0
        assert sheet.repairs[0].startswith("line 1 above the headings was not read")


@pytest.mark.parametrize(
    "heading", ["Rating %", "Perf. %", "Performance %", "LG %", "pace %", "Rating [%]", "rating in %", "PERF"]
)
def test_headings_of_ratings(heading: str, tmp_path: Path):
    """However the shop floor writes it."""
    sheet = read(tmp_path, f"element;time [s];{heading}\npress;10;110\n")
    assert (sheet.rated, sheet.cycles["", "press"][0].rating) == (True, 1.1)
    assert sheet.spare == []


def test_columns_that_are_not_used_are_listed_with_what_they_might_be(tmp_path: Path):
    """By the heading, by a word in it, by what it holds; no idea is said too, and so is a missing heading."""
    text = (
        "element;time [s];Ratng;Worker no;Shift;x;;Avg\n"
        "press;10;110;7;early;0,95;u;10\npress;11;100;7;late;;;\n"
    )
    found = [(one.place, one.heading, one.maybe) for one in read(tmp_path, text).spare]
    assert found == [
        (3, "Ratng", "rating"),
        (4, "Worker no", "operator"),
        (5, "Shift", ""),
        (6, "x", "rating"),
        (7, "", ""),
        (8, "Avg", "summary"),
    ]


def test_what_looks_like_a_rating_is_none_where_there_is_one(tmp_path: Path):
    """A second column of numbers around 100."""
    sheet = read(tmp_path, "element;time [s];rating;x\npress;10;110;100\n")
    assert [one.maybe for one in sheet.spare] == [""]


def test_a_wide_sheet(tmp_path: Path):
    """Its rating counts for all cycles of the line; an empty reading is listed; means are not cycles."""
    sheet = read(tmp_path, WIDE, unit="s")
    assert seconds(sheet) == {("", "press"): [24.8, 58.3, 26.0], ("", "load"): [13.2, 14.1, 13.8, 14.0]}
    assert [cycle.rating for cycle in sheet.cycles["", "press"]] == [1.05] * 3
    assert [cycle.leave_out for cycle in sheet.cycles["", "press"]] == ["2:1", "2:2", "2:4"]
    assert [(one.heading, one.maybe) for one in sheet.spare] == [("Mean", "summary")]
    assert sheet.repairs == [
        "1 reading is empty and left out: line 2 cycle 3",
        "1 line has no rating and counts as normal pace: line 3",
    ]


PLACES = """\
Place of work 2
Work place;No;{};1 [s];2 [s];Note
Press;1;load;7;8;
Press;2;runs;22;23;
Pack;1;box;4;;
"""


@pytest.mark.parametrize("heading", [*LOOSE, "What is done?", "Element name", "MOTION"])
def test_headings_of_elements(heading: str, tmp_path: Path):
    """As people write them."""
    assert list(read(tmp_path, PLACES.format(heading)).cycles) == [
        ("Press", "load"),
        ("Press", "runs"),
        ("Pack", "box"),
    ]


def test_a_loose_heading_beside_that_of_the_element(tmp_path: Path):
    """Is a column of its own, not used."""
    sheet = read(tmp_path, "Description;Element;time [s]\nhard;press;10\n")
    assert seconds(sheet) == {("", "press"): [10.0]}
    assert [one.heading for one in sheet.spare] == ["Description"]


def test_a_station_of_one_row_is_its_element(tmp_path: Path):
    """Whatever stands beside it, side by side or below each other, and whatever is written in a few rows."""
    wide = read(tmp_path, "Station;Thing;1 [s];2 [s]\nPress;load;7;8\nPack;box;4;5\nMean;;5;6\n")
    assert list(wide.cycles) == [("Press", "Press"), ("Pack", "Pack")]
    long = "station;time [s];thing\npress;7;load\npress;8;load\npress;9;load\npack;4;\n"
    assert seconds(read(tmp_path, long)) == {("press", "press"): [7, 8, 9], ("pack", "pack"): [4]}
    few = "station;time [s];thing\npress;7;fell\npress;8;\npress;9;stuck\npress;9;\n"
    assert len(read(tmp_path, few).cycles["press", "press"]) == 4


def test_a_remark_is_that_of_the_line(tmp_path: Path):
    """Where readings stand side by side."""
    sheet = read(tmp_path, "Element;1 [s];2 [s];3 [s];Note\npress;7;;8;3 - dropped\n")
    assert sheet.repairs == [
        "1 reading is empty and left out: line 2 cycle 2 (remark of the line: 3 - dropped)"
    ]


def test_one_reading_of_a_wide_sheet_is_left_out(tmp_path: Path):
    """By line and cycle; a line takes all its readings."""
    sheet = read(tmp_path, WIDE, unit="s", leave_out=["2:2"])
    assert seconds(sheet)["", "press"] == [24.8, 26.0]
    left_out = sheet.left_out["", "press"]
    assert [(cycle.leave_out, cycle.seconds, cycle.rating) for cycle in left_out] == [("2:2", 58.3, 1.05)]
    without = read(tmp_path, WIDE, unit="s", leave_out=[2])
    assert list(without.cycles) == [("", "load")]
    assert "line 2 was left out as asked" in without.repairs


def test_lines_of_a_wide_sheet_may_have_fewer_cycles(tmp_path: Path):
    """What is blank behind the last reading is listed and is no reason to refuse; what was missed is one."""
    sheet = read(tmp_path, "Task;1;2;3;4\npress;1,5;2;3;4\nfit;5;;;\npack;6;;;\nfold;;;;\n", unit="s")
    assert [len(cycles) for cycles in sheet.cycles.values()] == [4, 1, 1]
    assert sheet.repairs == [
        "10 readings are empty and left out: line 3 cycle 2, line 3 cycle 3, line 3 cycle 4, line 4 cycle 2,"
        " line 4 cycle 3, line 4 cycle 4, line 5 cycle 1, line 5 cycle 2 and 2 more",
        "line 5: fold has no reading that is used and is not among the elements",
    ]
    with pytest.raises(CellsimError, match="3 of 5 readings are empty"):
        read(tmp_path, "Task;1;2;3;4\npress;;-;n/a;4\nfit;5;;;\n", unit="s")


def test_cycles_may_be_called_so(tmp_path: Path):
    """Headings `Cycle 1 [cmin]` and `Nr. 2`: the unit stands in the first."""
    sheet = read(tmp_path, "Element;Cycle 1 [cmin];Nr. 2 [cmin]\npress;25;30\n")
    assert seconds(sheet) == {("", "press"): [15.0, 18.0]}


@pytest.mark.parametrize("empty", ["", "-", "\N{EN DASH}", "N/A", "not read", "Missed"])
def test_an_empty_reading_is_no_mistake(empty: str, tmp_path: Path):
    """However it is written."""
    sheet = read(tmp_path, LONG + f"press,1,10\npress,2,{empty}\npress,3,11\n")
    assert seconds(sheet)["", "press"] == [10.0, 11.0]
    assert sheet.repairs[0].startswith("1 reading is empty and left out: line 3")


def test_many_empty_readings_are_counted(tmp_path: Path):
    """Eight are named; an element that has none left is told."""
    rows = "".join(f"press,{k},{'' if k <= 10 else k}\n" for k in range(1, 31)) + "fit,1,\n"
    sheet = read(tmp_path, LONG + rows)
    assert sheet.repairs[0].startswith("11 readings are empty and left out: line 2, line 3, ")
    assert sheet.repairs[0].endswith(", line 9 and 3 more")
    assert sheet.repairs[1] == "line 32: fit has no reading that is used and is not among the elements"


@pytest.mark.parametrize(
    "word", ["Mean", "Average:", "TOTAL", "Sum", "Mittelwert", "Mean time [s]", "Std. dev", "Ø"]
)
@pytest.mark.parametrize("place", ["element", "cycle"])
def test_a_summary_row(word: str, place: str, tmp_path: Path):
    """In the column of elements or beside it."""
    foot = f"{word},,10.5\n" if place == "element" else f",{word},10.5\n"
    sheet = read(tmp_path, LONG + "press,1,10\npress,2,11\n" + foot)
    assert seconds(sheet) == {("", "press"): [10.0, 11.0]}
    assert sheet.repairs == [f"line 4: a summary row ({word}); left out"]


@pytest.mark.parametrize("name", ["sum up parts", "maximise gap", "total check of seals", "mind the gap"])
def test_elements_that_begin_like_a_summary(name: str, tmp_path: Path):
    """They are elements."""
    assert seconds(read(tmp_path, LONG + f"{name},1,10\n")) == {("", name): [10.0]}


@pytest.mark.parametrize("line", ["press,2,fast", ",2,12", "press,2,12,more,cells", 'press,2,"1'])
def test_any_line_that_cannot_be_read_can_be_left_out(line: str, tmp_path: Path):
    """By its number; it is listed."""
    text = LONG + f"press,1,10\n{line}\npress,3,11\n"
    with pytest.raises(CellsimError):
        read(tmp_path, text)
    sheet = read(tmp_path, text, leave_out=[3])
    assert seconds(sheet) == {("", "press"): [10.0, 11.0]}
    told = [f"line {cycle.line}" for cycles in sheet.left_out.values() for cycle in cycles]
    assert told + [text.removesuffix(" was left out as asked") for text in sheet.repairs] == ["line 3"]


def test_a_line_left_out_keeps_its_rating(tmp_path: Path):
    """In per cent as the others have it; one that is none counts as normal pace."""
    text = "element;time [s];rating\npress;10;105\npress;20;2\npress;30;fast\n"
    sheet = read(tmp_path, text, leave_out=[3, 4])
    assert [(cycle.seconds, cycle.rating) for cycle in sheet.left_out["", "press"]] == [(20, 0.02), (30, 1)]


def test_a_line_left_out_settles_no_decimals(tmp_path: Path):
    """2,5 among points contradicts them; left out it does not."""
    text = "element;time [s]\npress;1.5\npress;2,5\npress;1.25\n"
    with pytest.raises(CellsimError, match="fits no mark"):
        read(tmp_path, text)
    assert seconds(read(tmp_path, text, leave_out=["3"])) == {("", "press"): [1.5, 1.25]}


WRONG = [
    (LONG + "press,1,10\npress,2,fast\n", {},
     'sheet.csv:3:3: time [s]: "fast" is not a number; correct it, or leave the line out with --leave-out 3'),
    (LONG + "press,1,10\npress,2,\npress,3,-\n", {}, "2 of 3 readings are empty (line 3, line 4 (-)); more"),
    (LONG + "press,1,10\n", {"leave_out": ["2:1"]}, "has one time in a line; leave out line 2 without :1"),
    (LONG + "press,1,10\n", {"leave_out": [7]}, "has no time in line 7; nothing was left out"),
    (LONG + "press,1,10\n", {"leave_out": ["two"]}, '"two" is no line such as 7, and no line and cycle'),
    (LONG + "press,1,10\n", {"leave_out": [2]}, "sheet.csv holds no cycle"),
    (WIDE, {"unit": "s", "leave_out": ["2:9"]}, "has no time in line 2 cycle 9; nothing was left out"),
    (WIDE, {}, "sheet.csv:1:2: 1: the headings say no unit of time; give it with --unit s, min or cmin"),
    (PLACES.format("Thing"), {},
     'sheet.csv:2:3: no column says the element; is column 3 "Thing" the element? head it element'),
    (PLACES.format(""), {}, "sheet.csv:2:3: no column says the element; is column 3 the element? head it"),
    (PLACES.format("Thing").replace(" [s]", ""), {}, "4: 1: the headings say no unit of time"),
    ("Station;No;1 [s];2 [s]\nPack;1;4;5\nPress;1;7;8\nPress;2;2;3\n", {},
     'sheet.csv:3:1: "Press" has 2 lines, and no column says the element; a line with cycles side by side'),
    ("station;time [s];thing\npress;7;load\npress;8;runs\npress;9;load\n", {},
     'is column 3 "thing" the element? head it element; if it is not, head it operator or remark, or take'),
    ("Title\nElement;time [s]\n;10\n", {}, "sheet.csv:3:1: Element: this cell is empty; wanted is the name"),
    ("Title\nWorker;time [s]\nAnn;10\n", {}, 'sheet.csv:2:1: there is no column "element"'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "how", "said"), WRONG)
def test_wrong_sheets(text: str, how: dict, said: str, tmp_path: Path):
    """Each with its place and the way out."""
    with pytest.raises(CellsimError) as caught:
        read(tmp_path, text, **how)
    assert said in str(caught.value)
