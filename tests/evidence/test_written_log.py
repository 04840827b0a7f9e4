"""Stop logs as people write them: own headings, remarks, rows for the whole cell, slips and their options."""

from __future__ import annotations

from pathlib import Path

import pytest
from plant_logs import CELL, SHORT, TEXT, changes, printed, rows_at, study

from cellsim.describe.resolve import load_text
from cellsim.errors import CellsimError, DescriptionError
from cellsim.evidence.stop_words import planned_work, says_planned

HEAD = "Date;Machine;stopped;running again;what;fixed by;remarks\n"
ROWS = (  # 5 October 2026 is a Monday
    "05.10.2026;press;07:12;07:31;blank jammed;A;\n"
    "06.10.2026;rivet;09:35;09:41;rivet jam;A;\n"
    "07.10.2026;press;06:00;06:30;tool change;A;planned\n"
    "09.10.2026;all;13:00;13:30;sweeping;all;planned, every Friday\n"
    "13.10.2026;press;10:40;10:21;blank jammed;A;\n"
    "14.10.2026;press;06:00;06:35;tool change;A;planned\n"
    "15.10.2026;rivett;07:15;07:20;rivet jamm;A;\n"
    "16.10.2026;all;13:00;13:30;sweeping;all;planned, every Friday\n"
)
ASKED = {"renamed": {"rivett": "rivet"}, "leave_out": [6]}


def mistakes(tmp_path: Path, text: str, **how) -> list[str]:
    """Every mistake of a log with its hint."""
    with pytest.raises(DescriptionError) as caught:
        study(tmp_path, text, **how)
    return [f"{wrong.message}; {wrong.hint}" for wrong in caught.value.mistakes]


HEADINGS = [
    ("what", "stopped", "running again", "Place"), ("What happened?", "Stopped at", "Running", "Machine"),
    ("problem", "stop at", "back", "Machine"), ("Trouble", "down from", "up again", "Machine"),
    ("description", "down since", "restarted", "Machine"), ("Disturbance", "from", "to", "Machine"),
    ("event", "from", "to", "Machine"),
]  # fmt: skip


@pytest.mark.parametrize(("cause", "start", "end", "station"), HEADINGS)
def test_own_headings(cause: str, start: str, end: str, station: str, tmp_path: Path):
    """Two causes of the press, 10 and 5 min."""
    found = study(
        tmp_path,
        f"{station};{start};{end};{cause}\n"
        "press;2026-10-05 07:00;2026-10-05 07:10;oil leak\n"
        "press;2026-10-06 07:00;2026-10-06 07:05;fuse\n",
    )
    assert {row.cause: row.lost_s for row in found.causes} == {"oil leak": 600, "fuse": 300}


def test_a_description_beside_a_reason_is_not_used(tmp_path: Path):
    """The reason is the cause."""
    row = "2026-10-05 07:00,2026-10-05 07:10,press,oil leak,a long story\n"
    found = study(tmp_path, "start,end,station,reason,description\n" + row)
    assert [row.cause for row in found.causes] == ["oil leak"]
    assert found.repairs == ['columns not used: "description"']


def test_a_column_that_may_be_the_cause_is_proposed(tmp_path: Path):
    """Once, not for numbers, nor for two shifts; an empty column reason settles that there is none."""
    causes = ("oil leak", "fuse", "belt")
    rows = [f"2026-10-0{5 + k} 07:00,2026-10-0{5 + k} 07:10,press" for k in range(3)]
    text = "".join(
        f"{row},{17 + k},{cause}\n" for k, (row, cause) in enumerate(zip(rows, causes, strict=True))
    )
    (said,) = mistakes(tmp_path, "start,end,station,order,was\n" + text)
    assert said == (
        'there is no column "cause" (reason, fault, failure, code, error, ...); is column 5 "was" the cause?'
        " Head it reason; if it is none, add a column reason and leave it empty"
    )
    empty = "".join(f"{row},\n" for row in text.splitlines())
    assert study(tmp_path, "start,end,station,order,was,reason\n" + empty).causes[0].count == 3
    shifts = text.replace("fuse", "oil leak")
    assert study(tmp_path, "start,end,station,order,shift\n" + shifts).causes[0].count == 3
    (said,) = mistakes(tmp_path, "start,end,station,order,remark\n" + text)
    assert 'is column 5 "remark" the cause?' in said


def test_stops_of_unknown_cause_that_overlap_are_two(tmp_path: Path):
    """Of one cause they are one."""
    rows = (
        "2026-10-05 07:00,2026-10-05 07:20,press,{0}\n2026-10-05 07:10,2026-10-05 07:30,press,{0}\n"
        "2026-10-05 09:30,2026-10-05 09:40,press,{0}\n"
    )
    known, unknown = study(tmp_path, SHORT + rows.format("belt")), study(tmp_path, SHORT + rows.format(""))
    assert ([row.count for row in known.causes], [row.count for row in unknown.causes]) == ([2], [3])
    assert changes(unknown, "overlap") == [(3, "begins at the end of line 2 (stop), 2026-10-05 07:20")]
    repeat = rows.replace("07:10,", "07:20,")
    assert [row.count for row in study(tmp_path, SHORT + repeat.format("")).causes] == [2]


def test_all_missing_columns_are_told_at_once(tmp_path: Path):
    """Each with words that are understood; what is proposed is unused and alike in spelling or in a word."""
    told = mistakes(tmp_path, "Day,Site,Went down,Up,Reason\n2026-10-05,press,07:00,08:00,x\n")
    assert told == [
        'there is neither a column "end" (to, finish, until, restart, running again, ...) nor a column'
        ' "duration" (length, downtime, lasts, lasted, minutes, ...); ',
        'there is no column "start" (from, begin, stop, down at, stopped, ...); did you mean "Went down"?',
        'there is no column "station" (machine, equipment, workplace, resource, asset, ...); ',
    ]  # fmt: skip
    (said,) = mistakes(tmp_path, "Start,End,Site\n2026-10-05 07:00,2026-10-05 08:00,press\n")
    assert said.endswith("; the headings are Start, End, Site")
    (said,) = mistakes(tmp_path, "Started,Machine\n2026-10-05 07:00,press\n")  # not taken for "restarted"
    assert said.endswith("; the headings are Started, Machine")
    (said,) = mistakes(tmp_path, "Start,End,Statoin\n2026-10-05 07:00,2026-10-05 08:00,press\n")
    assert said.endswith('; did you mean "Statoin"?')


def test_a_log_with_slips_is_used_without_editing_it(tmp_path: Path):
    """All mistakes come in one go, each names its call; the line left out is listed."""
    assert mistakes(tmp_path, HEAD + ROWS) == [
        '"13.10.2026 10:21" is before the start "13.10.2026 10:40"; correct it, or leave the line out with'
        " --leave-out 6",
        '"rivett" is no station or robot of the cell; did you mean "rivet"? say --station "rivett=rivet", or'
        ' "rivett=" to leave its rows out',
    ]  # fmt: skip
    found = study(tmp_path, HEAD + ROWS, **ASKED)
    assert changes(found, "left out as asked") == [(6, '"10:40, press, blank jammed"')]
    assert {row.cause: row.count for row in found.causes} == {
        "blank jammed": 1, "rivet jam": 1, "rivet jamm": 1,
    }  # fmt: skip
    asked = ("--station", "rivett=rivet", "--leave-out", "6")
    assert 'left out as asked: 1 line line 6: "10:40, press' in printed(tmp_path, HEAD + ROWS, *asked)
    with pytest.raises(CellsimError, match=r"--leave-out: log\.csv has no stop in line 40"):
        study(tmp_path, HEAD + ROWS, leave_out=[40])
    far = rows_at(["2026-11-02 07:00", "2026-11-03 07:00"]) + "2062-11-02 07:00,2062-11-02 07:10,press,x\n"
    assert mistakes(tmp_path, far)[0].endswith(
        "is the year right? If not, leave the line out with --leave-out 4"
    )


def test_times_partly_with_a_zone_are_mistakes_before_they_are_compared(tmp_path: Path):
    """Told as such."""
    (said,) = mistakes(tmp_path, SHORT + "2026-11-02 07:00,2026-11-02T07:10Z,press,x\n")
    assert said.startswith('"2026-11-02 07:00" has no zone, though others have one')


def test_causes_are_renamed_and_joined(tmp_path: Path):
    """The question names the call; it is listed, and names what is left out by the new name too."""
    found = study(tmp_path, HEAD + ROWS, **ASKED)
    assert any('say --cause "rivet jamm=rivet jam".' in text or 'say --cause "rivet jam=rivet jamm".' in text
               for text in found.cautions)  # fmt: skip
    joined = study(tmp_path, HEAD + ROWS, causes={"Rivet  jamm": "rivet jam", "sweeping": "Broom"}, **ASKED)
    assert {row.cause: row.count for row in joined.causes} == {"blank jammed": 1, "rivet jam": 2}
    assert changes(joined, "renamed as asked")[1] == (8, '"rivet jamm" is counted as "rivet jam"')
    assert not any("the same?" in text for text in joined.cautions)
    assert {row.cause for row in joined.planned} == {"Broom", "tool change"}
    assert "renamed as asked: 1 line" in printed(
        tmp_path, HEAD + ROWS, "--station", "rivett=rivet", "--leave-out", "6", "--cause",
        "rivet jamm=rivet jam", "--exclude", "blank jammed",
    )  # fmt: skip
    with pytest.raises(CellsimError) as caught:
        study(tmp_path, HEAD + ROWS, causes={"rivet jem": "x", "rivet jam": ""}, **ASKED)
    assert str(caught.value).splitlines() == [
        '--cause: the log has no cause "rivet jem"; did you mean "rivet jam"?',
        '--cause: "rivet jam" needs a new name; --exclude leaves a cause out',
    ]  # fmt: skip
    with pytest.raises(CellsimError) as caught:
        study(tmp_path, HEAD + ROWS, keep=["rivet jem"], planned=["brooms"], **ASKED)
    assert len(str(caught.value).splitlines()) == 2


def test_the_rarer_of_two_names_is_renamed(tmp_path: Path):
    """Three times `bolt torn`, once `belt torn`."""
    rows = rows_at(["2026-11-03 07:00", "2026-11-04 07:00", "2026-11-05 07:00"], cause="bolt torn")
    found = study(tmp_path, rows + "2026-11-02 07:00,2026-11-02 07:10,press,belt torn\n")
    assert 'say --cause "belt torn=bolt torn"' in found.cautions[0]


@pytest.mark.parametrize(
    ("remark", "planned"),
    [("planned", True), ("Scheduled!", True), ("planned, every Friday", True), ("unplanned", False),
     ("not planned", False), ("un-planned", False), ("wasn't planned", False), ("planing", False),
     ("", False), ("not here, planned", True)],
)  # fmt: skip
def test_remarks_that_say_planned(remark: str, planned: bool):
    """Whole words that are not denied."""
    assert says_planned(remark) == planned


def test_a_remark_marks_a_stop_as_planned(tmp_path: Path):
    """Listed by its heading; the column planned goes before it."""
    found = study(tmp_path, HEAD + ROWS, **ASKED)
    assert changes(found, "planned stop")[0] == (4, '"tool change" is planned, by "remarks"; put apart')
    assert '"remarks": only the words planned and scheduled are read' in found.repairs
    text = "start,end,station,cause,planned,note\n" + (
        "2026-11-02 07:00,2026-11-02 07:10,press,filter,no,planned\n"
        "2026-11-03 07:00,2026-11-03 07:10,press,filter,,planned\n"
    )
    both = study(tmp_path, text)
    assert ([row.count for row in both.causes], [row.count for row in both.planned]) == ([1], [1])
    assert changes(both, "planned stop") == [(3, '"filter" is planned, by "note"; put apart')]


@pytest.mark.parametrize(
    ("cause", "kind", "sure"),
    [("tool change", "changeover", True), ("Tool changing", "changeover", True),
     ("die change", "changeover", True), ("mould-change", "changeover", True), ("refill", "service", False),
     ("roll change", "service", False), ("tool changer fault", None, False),
     ("tool change error", "changeover", False), ("tool cleaning", "service", False)],
)  # fmt: skip
def test_more_words_of_planned_work(cause: str, kind: str | None, sure: bool):
    """A change of tools is planned; what is refilled when it is empty is asked about."""
    assert planned_work(cause) == (kind, sure)


def test_a_change_of_tools_in_rhythm_is_a_service_where_there_is_one_variant(tmp_path: Path):
    """Wednesdays at 06:00, 30 and 35 min: mean 32.5; with two variants it is a changeover."""
    found = study(tmp_path, HEAD + ROWS.replace("planned\n", "\n"), **ASKED)
    (change,) = [row for row in found.planned if row.cause == "tool change"]
    assert (change.belongs, change.at, change.lasts_s) == ("service", ["Wed 06:00"], 1950)
    asked = ("--station", "rivett=rivet", "--leave-out", "6")
    assert 'tool change: {at: "Wed 06:00", lasts: 32.5 min, by: A' in printed(tmp_path, HEAD + ROWS, *asked)
    two = load_text(TEXT + "variants: {red: 50 %, blue: 50 %}\n")
    kinds = {row.cause: row.belongs for row in study(tmp_path, HEAD + ROWS, two, **ASKED).planned}
    assert kinds["tool change"] == "changeover"


def test_a_row_for_all_stands_for_every_station(tmp_path: Path):
    """Two Fridays: a service of press and of rivet; a random one stops both; one row is one stop."""
    found = study(tmp_path, HEAD + ROWS, **ASKED)
    swept = {row.station: (row.count, row.at) for row in found.planned if row.cause == "sweeping"}
    assert swept == {"press": (2, ["Fri 13:00"]), "rivet": (2, ["Fri 13:00"])}
    assert changes(found, "whole cell")[0] == (5, '"all" stands for each of the 2 stations')
    assert [line for line, _ in changes(found, "planned stop")] == [4, 5, 7, 9]
    assert found.stops == 7
    told = printed(tmp_path, HEAD + ROWS, "--station", "rivett=rivet", "--leave-out", "6")
    assert told.split("For the cell file")[1].count("sweeping: {at") == 2
    out = study(tmp_path, HEAD + ROWS, renamed={"rivett": "rivet", "all": ""}, leave_out=[6])
    assert not any(row.cause == "sweeping" for row in out.planned)
    text = (
        "start,end,station,cause,arrived,cleared by\n"
        "2026-11-02 07:00,2026-11-02 07:30,Whole line,power cut,2026-11-02 07:10,mechanic\n"
    )
    cut = study(tmp_path, text)
    assert [(row.station, row.lost_s) for row in cut.causes] == [("press", 1800), ("rivet", 1800)]
    assert [wait.count for wait in cut.waits] == [1]
    named = load_text(TEXT.replace("press", "line"))
    assert [
        row.station for row in study(tmp_path, rows_at(["2026-11-02 07:00"], station="line"), named).causes
    ] == ["line"]


def test_what_a_study_of_a_shift_does_not_see(tmp_path: Path):
    """Wednesday and Friday are beyond one shift; a week, or two shifts for a Tuesday, see them."""
    said = (
        "A study of 1 shift, as this cell has it, does not see the service of Wed 06:00, Fri 13:00;"
        " study: {shifts: 5} does, for a week."
    )
    assert said in study(tmp_path, HEAD + ROWS, **ASKED).cautions
    for shifts, seen in ((2, False), (4, False), (5, True)):
        cell = load_text(TEXT + f"study: {{shifts: {shifts}}}\n")
        cautions = study(tmp_path, HEAD + ROWS, cell, **ASKED).cautions
        assert any("does not see" in text for text in cautions) != seen
    daily = rows_at([f"2026-11-0{day} 06:00" for day in range(2, 7)], cause="greasing")
    daily += "2026-11-02 07:00,2026-11-02 07:10,rivet,belt\n"
    assert not any("does not see" in text for text in study(tmp_path, daily, CELL).cautions)
