"""Model and reality: counts read and grouped into shifts by hand, verdicts of cells whose output is known."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim import cli
from cellsim.describe.resolve import load_text
from cellsim.errors import CellsimError
from cellsim.evidence.observed import held_against, read_counts
from cellsim.show.observed import verdict_words
from cellsim.study.means import means
from cellsim.study.replicate import replicate

CELL = """cell: Fixed
shifts: {day: {from: 06:00, to: 09:00}}
route: [press]
stations: {press: {cycle: 60 s}}
study: {shifts: 1, start: as left, settle: 1 shift, replications: 4}
"""
NOISY = CELL.replace("cycle: 60 s", "cycle: {mean: 60 s, spread: 60 %}").replace(
    "replications: 4", "replications: 40"
)


def counted(tmp_path: Path, text: str, cell: str = CELL, **how):
    """The shifts of a file with this text, and what was repaired."""
    path = tmp_path / "counts.csv"
    path.write_text(text)
    return read_counts(path, load_text(cell), **how)


def test_hours_become_shifts(tmp_path: Path):
    """In any order; a shift with a missing hour is left out and said."""
    text = (
        "good,time\n58,2026-03-02 07:00\n60,2026-03-02 06:00\n61,2026-03-02 08:00\n"
        "59,2026-03-03 06:00\n60,2026-03-03 07:00\n"
    )
    shifts, repairs = counted(tmp_path, text)
    assert [(shift.date, shift.begins, shift.hours) for shift in shifts] == [
        ("2026-03-02", "06:00-07:00", (60.0, 58.0, 61.0))
    ]
    assert repairs == ["shift of 2026-03-03 06:00: 1 of 3 hours are missing (08:00); left out"]


def test_totals_at_the_foot_are_no_hours(tmp_path: Path):
    """Sums and means are left out, and said."""
    hours = "2026-03-02 06:00,60\n2026-03-02 07:00,58\n2026-03-02 08:00,61\n"
    shifts, repairs = counted(tmp_path, f"time,good\n{hours}Total,179\nmean,59.7\n")
    assert [shift.hours for shift in shifts] == [(60.0, 58.0, 61.0)]
    assert repairs == [
        "line 5: a summary row (Total); left out",
        "line 6: a summary row (mean); left out",
    ]


def test_a_counter_that_rises_and_begins_anew(tmp_path: Path):
    """60, 118, then 61 after a reset: 60, 58, 61."""
    text = "time,good\n2026-03-02 06:00,60\n2026-03-02 07:00,118\n2026-03-02 08:00,61\n"
    shifts, repairs = counted(tmp_path, text, cumulative=True)
    assert shifts[0].hours == (60.0, 58.0, 61.0)
    assert repairs == ["shift of 2026-03-02: the counter fell from 118 to 61; taken to begin anew"]


def test_a_night_shift_belongs_to_the_day_on_which_it_begins(tmp_path: Path):
    """22:00 to 01:00."""
    cell = CELL.replace("from: 06:00, to: 09:00", "from: 22:00, to: 01:00")
    text = "time;good\n02.03.2026 22:00;60\n02.03.2026 23:00;60\n03.03.2026 00:00;59\n"
    shifts, _ = counted(tmp_path, text, cell)
    assert [(shift.date, shift.hours) for shift in shifts] == [("2026-03-02", (60.0, 60.0, 59.0))]


@pytest.mark.parametrize("hours", [["06:00-07:00", "07:00-08:00", "08:00 - 09:00"], ["6", "7", "8"]])
def test_date_and_hour_in_two_columns(hours: list[str], tmp_path: Path):
    """Hours with or without their end."""
    text = "Date;Hour;Good\n" + "".join(f"14.09.2026;{hour};6{k}\n" for k, hour in enumerate(hours))
    shifts, _ = counted(tmp_path, text)
    assert [(shift.date, shift.hours) for shift in shifts] == [("2026-09-14", (60.0, 61.0, 62.0))]


def test_what_is_missing_is_named(tmp_path: Path):
    """No whole shift: the hours of each that are not there."""
    cell, counts = tmp_path / "cell.yaml", tmp_path / "counts.csv"
    cell.write_text(CELL)
    counts.write_text("time,good\n2026-03-02 06:00,60\n2026-03-03 07:00,60\n")
    result = CliRunner().invoke(cli.main, ["observe", str(cell), str(counts)])
    assert result.exit_code == 2
    assert "holds 0 whole shifts" in result.stderr
    assert "shift of 2026-03-02 06:00: 2 of 3 hours are missing (07:00, 08:00)" in result.stderr
    assert "shift of 2026-03-03 06:00: 2 of 3 hours are missing (06:00, 08:00)" in result.stderr


def test_what_stands_in_the_way(tmp_path: Path):
    """About 175 of 180 is near a margin of 3 %; few noisy runs are in the way of shifts alike."""
    near = against(CELL, real(tmp_path, [(57, 58, 58), (59, 59, 59), (58, 58, 58)]))
    assert (near["verdict"], near["in_the_way"]) == ("cannot tell", ["margin"])
    assert "more shifts will hardly settle it" in verdict_words(near)[2]
    alike = real(tmp_path, [(60, 60, 60), (60, 60, 61), (60, 60, 60)], NOISY)
    model = against(NOISY, alike, 5)
    assert (model["verdict"], model["in_the_way"][0]) == ("cannot tell", "model")
    assert "use more replications (-n)" in verdict_words(model)[2]
    few = against(CELL, real(tmp_path, [(55, 55, 55), (64, 64, 64)]))
    assert few["in_the_way"] == []
    assert verdict_words(few)[2].startswith(f"That takes about {few['shifts_needed']} shifts like these")


WRONG = [
    ("time,good\n06:00-07:00,60\n", '2:1: time: "06:00-07:00" has no date; add a column date'),
    ("time,good\n2026-03-02 06:30,60\n", "counts.csv:2:1: time: no hour of the cell begins at 06:30"),
    ("time,good\n2026-03-02 06:00,60\n2026-03-02 06:00,61\n", "this hour stands in line 2 already"),
    ("time,good\n2026-03-02 06:00,-1\n", "-1 units are below 0"),
    ("time,good\n2026-03-02 06:00,many\n", '"many" is not a number'),
    ("time,good\n29.02.2026 06:00,60\n", "there is no such date"),
    ("hour,shift\n1,2\n", 'there is no column "good"'),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_wrong_files(text: str, said: str, tmp_path: Path):
    """Each with row and column."""
    with pytest.raises(CellsimError) as caught:
        counted(tmp_path, text)
    assert said in str(caught.value)


def test_a_cell_without_shifts(tmp_path: Path):
    """There is nothing to group by."""
    cell = "cell: x\nroute: [a]\nstations: {a: {cycle: 9 s}}\n"
    with pytest.raises(CellsimError, match="the cell has none"):
        counted(tmp_path, "time,good\n2026-03-02 06:00,60\n", cell)


def real(tmp_path: Path, rows: list[tuple[int, int, int]], cell: str = CELL):
    """Shifts of three hours each on days from 2 March 2026 on."""
    text = "time,good\n" + "".join(
        f"2026-03-{day:02d} {6 + h:02d}:00,{n}\n"
        for day, row in enumerate(rows, start=2)
        for h, n in enumerate(row)
    )
    return counted(tmp_path, text, cell)[0]


def against(cell: str, shifts, replications: int = 4, margin: float = 0.03):
    """The comparison with a few replications of a cell."""
    described = load_text(cell)
    with means(clock="simpy") as runner:
        records = replicate(runner, described, 1, range(replications)).records
    return held_against(described, records, shifts, margin)


def test_counts_that_are_those_of_the_model(tmp_path: Path):
    """60 an hour in both: no difference, the same to any margin."""
    found = against(CELL, real(tmp_path, [(60, 60, 60), (60, 60, 60)]))
    assert found["model_per_shift"] == 180
    assert found["difference"]["mean"] == 0
    assert found["verdict"] == "same"
    assert [row["inside"] for row in found["by_hour"]] == [1.0, 1.0, 1.0]


def test_counts_far_below_the_model(tmp_path: Path):
    """150 to 156 of 180: 15 % less, and the press would have to take 15 % longer."""
    found = against(CELL, real(tmp_path, [(50, 50, 50), (52, 52, 52), (51, 51, 51), (51, 52, 50)]))
    assert found["difference"]["mean"] == pytest.approx(-0.15)
    assert found["verdict"] == "differs"
    assert found["would_explain"][0] == {
        "who": "press",
        "what": "work",
        "change": pytest.approx(0.15, rel=0.02),
    }
    assert [row["inside"] for row in found["by_hour"]] == [0.0, 0.0, 0.0]


def test_too_few_shifts_prove_nothing(tmp_path: Path):
    """Two shifts of 165 and 192: it cannot be told, and many more are needed."""
    found = against(CELL, real(tmp_path, [(55, 55, 55), (64, 64, 64)]))
    assert found["verdict"] == "cannot tell"
    assert found["shifts_needed"] > 50
    with pytest.raises(CellsimError, match="two of each"):
        against(CELL, real(tmp_path, [(60, 60, 60)]))


def test_the_interval_covers_a_model_that_is_right(tmp_path: Path):
    """30 times ten shifts of the cell itself: the 95 % interval misses 0 at most 5 times (more: 0.3 %)."""
    described = load_text(NOISY)
    with means(clock="simpy") as runner:
        records = replicate(runner, described, 1, range(40)).records
        others = replicate(runner, described, 2, range(300)).records
    missed = 0
    for k in range(30):
        shifts = real(tmp_path, [tuple(r.hourly) for r in others[10 * k : 10 * k + 10]], NOISY)
        low, high = held_against(described, records, shifts)["difference"]["interval"]
        missed += not low <= 0 <= high
    assert missed <= 5


def test_the_command(tmp_path: Path):
    """The demo counts: the same to within 3 %, JSON and picture, within 80 columns."""
    out, picture = tmp_path / "answer.json", tmp_path / "band.png"
    arguments = [
        "observe",
        "scenarios/bicycle_light.yaml",
        "scenarios/records/light_counts.csv",
        "-n",
        "8",
        "-w",
        "1",
    ]
    result = CliRunner().invoke(cli.main, [*arguments, "--json", str(out), "--picture", str(picture)])
    assert result.exit_code == 0, result.output
    assert "The model makes the same to within 3 %; it may be used for output." in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert json.loads(out.read_text())["shifts"] == 12
    assert picture.read_bytes().startswith(b"\x89PNG")
    again = CliRunner().invoke(cli.main, [*arguments, "--picture", str(picture)])
    assert again.exit_code == 2
    assert "exists and is not overwritten" in again.stderr
