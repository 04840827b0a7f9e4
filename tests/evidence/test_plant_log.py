"""Stop logs as plants write them: dates in columns of their own, slips of the pen, who came, pasting."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from plant_logs import CELL, PLANT, SHORT, TEXT, changes, printed, rows_at, study

from cellsim import cli
from cellsim.describe.resolve import load_text
from cellsim.errors import CellsimError, DescriptionError
from cellsim.evidence.answers import stop_study_answer
from cellsim.evidence.records import is_heading
from cellsim.evidence.stop_records import COLUMNS
from cellsim.evidence.stop_words import slips
from cellsim.show.stop_lines import pasted, ranges_text, snippet

FORMS = [
    ("Start date;Start time;End date;End time", "02.11.2026;06:40;02.11.2026;06:52"),
    ("From date;From time;To date;To time", "02.11.2026;06:40;02.11.2026;06:52"),
    ("Date;Start;End", "02.11.2026;06:40;06:52"),
    ("Start date;Start time;End time", "2026-11-02;06:40;06:52:00"),
    ("Start date;End date", "02.11.2026 06:40;02.11.2026 06:52"),
    ("Start date;Start time;End date;End time", "02.11.2026 00:00:00;06:40;02.11.2026 00:00;06:52"),
    ("Date;Start;Duration [min]", "02.11.2026;06:40;12"),
]


@pytest.mark.parametrize(("head", "row"), FORMS)
def test_dates_and_times_in_columns_of_their_own(head: str, row: str, tmp_path: Path):
    """All mean 2 November, 06:40 to 06:52."""
    found = study(tmp_path, f"{head};Machine\n{row};press\n")
    assert (found.first, found.causes[0].lost_s) == ("2026-11-02 06:00", 720)


def test_an_end_on_another_day(tmp_path: Path):
    """Monday 13:40 to Tuesday 06:10 in four columns: 20 and 10 min of planned time."""
    row = "02.11.2026;13:40;03.11.2026;06:10;press\n03.11.2026;07:00;03.11.2026;07:01;rivet\n"
    found = study(tmp_path, f"Start date;Start time;End date;End time;Machine\n{row}")
    assert found.causes[0].lost_s == 1800


UNJOINED = [
    ("Start time;End time", "06:40;06:52", "Start time", "is a time of day without a date"),
    ("Start date;End date", "02.11.2026;02.11.2026", "Start date", "is a day without a time of day"),
    ("From date;From time;To time", "Mon;06:40;06:52", "From time",
     '"Mon 06:40" from the columns "From date" and "From time" is no date with a time of day'),
]  # fmt: skip


@pytest.mark.parametrize(("head", "row", "path", "said"), UNJOINED)
def test_columns_that_cannot_be_joined_are_one_mistake(head, row, path, said, tmp_path: Path):
    """Not one for each of 60 rows."""
    with pytest.raises(DescriptionError) as caught:
        study(tmp_path, f"{head};Machine\n" + f"{row};press\n{row};rivet\n" * 30)
    (mistake,) = caught.value.mistakes
    assert (mistake.path, said in mistake.message) == (path, True), mistake


def test_the_number_of_mistakes_is_that_of_the_file(tmp_path: Path):
    """55 bad cells: 50 are listed, and one count is told."""
    good = "2026-11-02 07:00,2026-11-02 07:10,press,belt\n"
    told = printed(tmp_path, SHORT + good + "".join(
        f"2026-11-02 07:00,2026-11-02 6.{k},press,x\n" for k in range(10, 65)))  # fmt: skip
    assert told.endswith("55 mistakes (50 of them are listed), nothing was run")
    assert told.count("log.csv:") == 50


GOOD = "2026-11-03 13:00,2026-11-03 13:09,press,belt\n2026-11-04 10:00,2026-11-04 10:10,press,belt\n"
FAR = [
    ("2026-11-02 12:40,2062-11-02 12:52", 'log.csv:4:2: end: "2062-11-02 12:52" is 36 years after the start'),
    ("2026-11-02 12:40,2027-02-02 12:52", "is 3 months after the start"),
    ("2062-11-02 12:40,2062-11-02 12:52", 'log.csv:4:1: start: "2062-11-02 12:40" is 36 years away from'),
    ("2006-11-02 12:40,2006-11-02 12:52", "is 20 years away from the other stops; is the year right?"),
    ("2026-11-02 12:52,2026-11-02 12:40", 'end: "2026-11-02 12:40" is before the start'),
    ("2026-11-02 12:40,2026-11-03 13:05", "is after line 2, where this machine stopped again"),
]  # fmt: skip


@pytest.mark.parametrize(("row", "said"), FAR)
def test_dates_that_cannot_be_are_mistakes_of_their_line(row: str, said: str, tmp_path: Path):
    """One mistake each; no other stop is merged into such a one."""
    with pytest.raises(DescriptionError) as caught:
        study(tmp_path, SHORT + GOOD + f"{row},press,belt\n")
    assert said in str(caught.value)
    assert len(caught.value.mistakes) == 1


def test_a_long_stop_is_asked_about(tmp_path: Path):
    """Nine days, nothing else on this machine: it may be so."""
    found = study(tmp_path, SHORT + GOOD + "2026-11-02 12:40,2026-11-11 13:00,rivet,motor\n")
    assert "Line 4 lasts 9 days: is its end right?" in found.cautions
    two = study(tmp_path, SHORT + GOOD + "2026-11-02 12:40,2026-11-03 13:00,rivet,motor\n")
    assert not any("is its end right" in text for text in two.cautions)


def test_names_of_causes(tmp_path: Path):
    """Case and blanks are merged and listed, the most frequent spelling stays; slips are asked about."""
    names = ["Rivet jam", "rivet jam", "rivet  jam", "rivet jam", "rivet jamm", ""]
    text = SHORT + "".join(
        f"2026-11-0{k} 07:00,2026-11-0{k} 07:10,press,{name}\n"
        for k, name in enumerate(names, start=2)
        if k < 7
    )
    text += "2026-11-06 08:00,2026-11-06 08:10,press,\n"
    found = study(tmp_path, text)
    assert {cause.cause: cause.count for cause in found.causes} == {
        "rivet jam": 4,
        "rivet jamm": 1,
        "stop": 1,
    }
    assert changes(found, "same name") == [
        (2, '"Rivet jam" here is counted as "rivet jam"'),
        (4, '"rivet  jam" here is counted as "rivet jam"'),
    ]
    assert changes(found, "no reason") == [(7, 'no reason is written; it is counted as "stop"')]
    assert found.cautions[0] == (
        'press: are "rivet jam" (4) and "rivet jamm" (1) the same? They count as two; if they are one,'
        ' say --cause "rivet jamm=rivet jam".'
    )


def test_slips_of_the_pen():
    """A letter missing, doubled, wrong or swapped, or a blank; digits and codes tell things apart."""
    assert slips(["belt torn", "belt tron", "bolt torn", "belttorn", "belt tor"])[:4] == [
        ("belt torn", "belt tron"), ("belt torn", "bolt torn"),
        ("belt torn", "belttorn"), ("belt torn", "belt tor"),
    ]  # fmt: skip
    assert (
        slips(
            ["sensor 1", "sensor 2", "robot A", "robot B", "E17", "E18", "jam", "jam left", "motor", "mother"]
        )
        == []
    )


def test_an_end_in_a_break_was_seen(tmp_path: Path):
    """08:50 to 09:10 with a break from 09:00: at least 10 min, and not watched to the end of the log."""
    told = printed(tmp_path, PLANT)
    assert "1 of 5 ended in a break or off hours; the part in planned time counts" in told
    assert "had not ended when watched last" not in told
    (jam,) = [cause for cause in study(tmp_path, PLANT).causes if cause.cause == "rivet jam"]
    assert (jam.not_ended, jam.ended_outside) == (1, 1)


def test_years_of_two_digits(tmp_path: Path):
    """Read and listed where a day above 12 settles the order; else refused, once a column."""
    head = "Machine;Start;End\n"
    found = study(
        tmp_path, head + "press;02.11.26 07:00;02.11.26 07:10\npress;13.11.26 07:00;13.11.26 07:10\n"
    )
    assert (found.first, found.last) == ("2026-11-02 06:00", "2026-11-13 14:00")
    assert 'Start: years of two digits, such as "02.11.26 07:00", read as 20.., day first' in found.repairs
    month = study(
        tmp_path, head + "press;11/02/26 07:00;11/02/26 07:10\npress;11/13/26 07:00;11/13/26 07:10\n"
    )
    assert (month.first, month.last) == (found.first, found.last)
    unclear = ["press;02.11.26 07:00;02.11.26 07:10\n" * 2, "press;26.11.02 07:00;\npress;26.11.13 07:00;\n"]
    for rows in unclear:
        with pytest.raises(
            DescriptionError, match=r"write 02\.11\.2026 or 2026-11-02, or say --dates"
        ) as caught:
            study(tmp_path, head + rows)
        assert len(caught.value.mistakes) <= 2
    said = study(tmp_path, head + "press;02.11.26 07:00;02.11.26 07:10\n", order="day first")
    assert said.first == "2026-11-02 06:00"


@pytest.mark.parametrize("heading", ["Sign", "Signed", "Who", "Initials", "By", "cleared by"])
def test_who_cleared_it(heading: str, tmp_path: Path):
    """All of these headings mean it; a post that is missing is told with the line to paste."""
    text = f"Start;End;Machine;{heading};Shift\n2026-11-02 07:00;2026-11-02 07:10;press;M;early\n"
    found = study(tmp_path, text, people={"M": "mechanic"})
    assert found.causes[0].cleared_by == "mechanic"
    assert found.repairs == ['columns not used: "Shift"']
    with pytest.raises(CellsimError, match=r'no post or skill "fitter"') as caught:
        study(tmp_path, text, people={"M": "fitter"})
    line = str(caught.value).splitlines()[-1]
    assert "below crew:" in str(caught.value)
    assert "fitter" in [post.name for post in load_text(TEXT.replace("crew:\n", f"crew:\n{line}\n")).posts]
    alone = load_text(TEXT.replace("crew:\n  A: [press, rivet]\n  mechanic: {}\n", ""))
    with pytest.raises(CellsimError) as caught:
        study(tmp_path, text, alone, people={"M": "fitter"})
    assert str(caught.value).endswith("as a line:\ncrew: {fitter: {}}")


def put_in(cell: str, lines: str) -> str:
    """The cell file with printed lines pasted where the comments say."""
    rows = cell.splitlines()
    for comment, block in re.findall(r"^(# \w+: [^\n]+)\n((?:  .*\n)+)", lines, re.M):
        where = re.fullmatch(
            r"# (\w+): (\w+): (below its other keys|into its (\w+)(?:, in place of (.*))?)", comment
        )
        assert where, comment
        at = rows.index(f"  {where[2]}:") + 1
        if where[4]:
            at = rows.index(f"    {where[4]}:", at) + 1
        for name in (where[5] or "").split(", ") if where[5] else []:
            rows = [row for row in rows if not row.startswith(f"      {name}:")]
        rows[at:at] = block.splitlines()
    return "\n".join(rows)


def test_each_part_can_be_pasted_where_its_comment_says(tmp_path: Path):
    """The press has no stops, the riveter some, one of the same name: the cell loads and has them all."""
    found = study(tmp_path, PLANT, people={"M": "mechanic"})
    answer = stop_study_answer(found, CELL)
    lines = pasted(answer)
    assert "\nstations:" not in lines
    assert "# stations: press: below its other keys\n    stops:\n      ram sticks:" in lines
    assert "# stations: rivet: into its stops, in place of rivet jam\n      rivet jam:" in lines
    cell = load_text(put_in(TEXT, lines))
    press, rivet = cell.stations
    assert [stop.name for stop in press.stops] == ["ram sticks"]
    assert [(stop.name, stop.planned) for stop in rivet.stops] == [
        ("maintenance", True), ("old", False), ("rivet jam", False),
    ]  # fmt: skip
    capital = stop_study_answer(study(tmp_path, PLANT.replace("jam", "JAM")), CELL)
    assert "in place of rivet jam\n      rivet jam:" in pasted(capital)  # as the cell file writes it
    whole = snippet(answer)
    assert "stations:\n  press:\n    stops:" in whole
    assert len([line for line in whole.splitlines() if line == "stations:"]) == 1


def test_one_stop_has_no_interval(tmp_path: Path):
    """Neither in the table nor in the lines; the ranges leave it out with a word."""
    text = rows_at(["2026-11-02 07:00"], cause="motor") + GOOD.replace("press", "rivet")
    found = study(tmp_path, text)
    motor, belt = found.causes
    assert (motor.every.interval, belt.every.interval) == (False, True)
    told = printed(tmp_path, text)
    assert re.search(r"press, motor 1 23\.8 - 10 - ", told)
    assert "press, motor: one stop: no interval, and too few to tell a law: exponential is assumed" in told
    assert "rivet, belt: lasts: 2 lengths are too few to tell a law: exponential is assumed" in told
    answer = stop_study_answer(found, CELL)
    assert "1 stop in 23.8 h on time; one stop, so no interval" in pasted(answer)
    ranges = ranges_text(answer).splitlines()
    assert [line.split(":")[0] for line in ranges[1:]] == [
        "# stations.press.stops.motor",
        "stations.rivet.stops.belt.every",
        "stations.rivet.stops.belt.lasts",
    ]


def test_a_picture_of_too_few_stops_is_refused(tmp_path: Path):
    """Nothing is written; with five lengths there is a panel."""
    picture, out = tmp_path / "stops.png", tmp_path / "lines.yaml"
    few = rows_at([f"2026-11-0{day} 07:00" for day in range(2, 6)])
    told = printed(tmp_path, few, "--picture", str(picture), "--out", str(out))
    assert "--picture: too few stops of each cause for a law" in told
    assert not out.exists()
    five = few + "2026-11-06 07:00,2026-11-06 07:20,press,belt\n"
    (belt,) = study(tmp_path, five).causes
    assert belt.lasts is not None
    assert len(belt.lasts.quantiles) == 5
    assert "For the cell file" in printed(tmp_path, five, "--picture", str(picture))
    assert picture.stat().st_size > 10_000


def test_the_help_lists_headings_that_are_understood():
    """Each heading named there is one of its column."""
    told = CliRunner().invoke(cli.main, ["stops", "--help"]).output
    block = told.split("that are understood:")[1].split("Example:")[0]
    rows = re.findall(r"^    (\w+(?: by)?)  +(.+)$", block, re.M)
    assert [name for name, _ in rows] == [
        "start", "end", "duration", "date", "station", "cause", "planned", "cleared by", "requested",
    ]  # fmt: skip
    for name, text in rows:
        headings = re.split(r", ", re.split(r"[;:]", text)[0])
        column = next(column for column in COLUMNS if is_heading(name, column))
        assert all(is_heading(heading, column) for heading in headings), (name, headings)
