"""Stopwatch sheets: the same study from every form, what is remarked, and what a cell file takes from it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.text import Text
from scipy import stats

from cellsim import cli
from cellsim.describe import laws
from cellsim.describe.ranges import read_range_file
from cellsim.describe.resolve import load_text
from cellsim.errors import CellsimError
from cellsim.evidence.answers import time_study_answer
from cellsim.evidence.sheet_columns import COLUMNS
from cellsim.evidence.timestudy import time_study
from cellsim.show.plots_quantiles import draw_quantiles

SHEET = """element,cycle,time [s],rating,operator,remark
press,1,10.0,100,Ann,
fit,1,20.0,110,Ann,
press,2,12.0,100,Ann,
fit,2,22.0,90,Ann,
press,3,11.0,100,Bea,
fit,3,21.0,100,Bea,
"""


def study(tmp_path: Path, text: str = SHEET, **how):
    """The study of a sheet with this text."""
    path = tmp_path / "sheet.csv"
    path.write_text(text)
    return time_study(path, **how)


def test_means_by_hand(tmp_path: Path):
    """Press 10, 12, 11; fit 20 x 1.1, 22 x 0.9, 21 x 1: means 11 and 20.93, intervals of three values."""
    press, fit = study(tmp_path).elements
    assert press.basic_s == pytest.approx(11.0)
    assert press.interval_s == pytest.approx((11 - 4.302653 / 3**0.5, 11 + 4.302653 / 3**0.5), abs=1e-5)
    assert press.spread == pytest.approx(1 / 11)
    assert fit.basic_s == pytest.approx((22 + 19.8 + 21) / 3)
    assert press.needed == 62  # (4.302653 x 1 / (0.05 x 11))^2 = 61.2
    assert not press.enough


def test_an_allowance_on_the_time_and_of_the_shift(tmp_path: Path):
    """12 % more, or 12 % of the shift: 11 x 1.12 and 11 / 0.88."""
    assert study(tmp_path, allowance=0.12).elements[0].standard_s == pytest.approx(12.32)
    assert study(tmp_path, allowance=0.12, of_shift=True).elements[0].standard_s == pytest.approx(12.5)


def test_a_grid_is_the_same_sheet(tmp_path: Path):
    """A row for each element, cycles in columns; an empty cell was not measured."""
    grid = "Task;1;2;3\npress;10,0;12,0;11,0\nfit;20,5;;21\n"
    press, fit = study(tmp_path, grid, unit="s").elements
    assert press.basic_s == pytest.approx(11.0)
    assert [cycle.seconds for cycle in fit.cycles] == [20.5, 21.0]


def test_hundredths_of_a_minute(tmp_path: Path):
    """25 cmin are 15 s; decimal comma, semicolons, headings in another order."""
    text = "Time (1/100 min);Operation\n25,0;press\n30;press\n"
    assert study(tmp_path, text).elements[0].basic_s == pytest.approx((15 + 18) / 2)


def test_a_row_that_is_there_twice(tmp_path: Path):
    """Left out and listed where cycles are numbered; kept where they are not."""
    doubled = SHEET + "fit,3,21.0,100,Bea,\n"
    found = study(tmp_path, doubled)
    assert found.repairs == ["line 8: the same as line 7; left out"]
    assert len(found.elements[1].cycles) == 3
    plain = "element,time [s]\nfit,3\nfit,3\n"
    assert len(study(tmp_path, plain).elements[0].cycles) == 2


def many(values, element: str = "press") -> str:
    """A sheet with one element."""
    rows = "".join(f"{element},{k},{value:.3f}\n" for k, value in enumerate(values, start=1))
    return "element,cycle,time [s]\n" + rows


def test_a_long_cycle_is_shown_and_used_until_it_is_left_out(tmp_path: Path):
    """30 cycles of about 10 s and one of 40."""
    values = np.random.default_rng(1).lognormal(np.log(10), 0.08, 30).tolist()
    text = many([*values[:20], 40.0, *values[20:]])
    found = study(tmp_path, text).elements[0]
    assert (22, 40.0) in [(cycle.line, cycle.seconds) for cycle in found.outliers]
    assert len(found.cycles) == 31
    without = study(tmp_path, text, leave_out=[22]).elements[0]
    assert [cycle.line for cycle in without.left_out] == [22]
    assert without.basic_s == pytest.approx(np.mean(np.round(values, 3)))
    with pytest.raises(CellsimError, match="no time in line 99"):
        study(tmp_path, text, leave_out=[99])


def test_what_is_remarked(tmp_path: Path):
    """Times that swing, a change of level, two ways of working, a coarse watch; nothing of a plain sample."""
    luck = np.random.default_rng(2)
    plain = luck.lognormal(np.log(20), 0.1, 40)
    assert study(tmp_path, many(plain)).elements[0].remarks == []
    swing = 20 + 2 * np.sin(np.arange(40) / 1.6) + luck.normal(0, 0.3, 40)
    assert "depends on those before" in study(tmp_path, many(swing)).elements[0].remarks[0]
    stepped = np.concatenate([luck.normal(20, 0.5, 20), luck.normal(18, 0.5, 20)])
    assert any("after 20 cycles" in text for text in study(tmp_path, many(stepped)).elements[0].remarks)
    mixed = luck.permutation(np.concatenate([luck.normal(20, 0.8, 25), luck.normal(27, 0.8, 15)]))
    assert any("two ways of working" in text for text in study(tmp_path, many(mixed)).elements[0].remarks)
    coarse = 5.0 * np.round(plain / 5)
    assert any("steps of 5 s" in text for text in study(tmp_path, many(coarse)).elements[0].remarks)


LAWS = [
    ([12.0] * 20, "12 s"),
    ([10.0, 11.0, 12.0], "{mean: 11 s, spread: 9.09 %}"),
]


@pytest.mark.parametrize(("values", "law"), LAWS)
def test_laws_of_few_or_steady_times(values, law, tmp_path: Path):
    """Fixed where nothing varies, mean and spread where there are few."""
    assert study(tmp_path, many(values)).elements[0].law == law


def test_a_law_is_found_again(tmp_path: Path):
    """200 lognormal times of mean 20 and spread 30 %: the law in the file has them within 8 %."""
    sigma = np.sqrt(np.log(1.09))
    values = np.random.default_rng(3).lognormal(np.log(20) - sigma**2 / 2, sigma, 200)
    found = study(tmp_path, many(values)).elements[0]
    cell = load_text(f"cell: x\nroute: [a]\nstations: {{a: {{cycle: {found.law}}}}}\n")
    law = cell.stations[0].work[0].time
    assert laws.mean(law) / 1e6 == pytest.approx(20, rel=0.08)
    assert laws.spread(law) == pytest.approx(0.3, rel=0.2)
    assert found.enough is (found.needed <= 200)
    best = next(row for row in found.fits if row["chance"] is not None)
    for key, truth in (("mean_s", 20.0), ("spread", 0.3)):
        low, high = best[f"{key}_interval"]
        assert low < best[key] < high
        assert low < truth < high  # 95 % of samples; this one is among them


def test_times_that_no_law_fits_are_drawn_themselves(tmp_path: Path):
    """Two clusters far apart."""
    luck = np.random.default_rng(4)
    values = np.concatenate([luck.normal(10, 0.2, 30), luck.normal(30, 0.3, 30)])
    found = study(tmp_path, many(luck.permutation(values))).elements[0]
    assert found.law.startswith("{measured: [")
    cell = load_text(f"cell: x\nroute: [a]\nstations: {{a: {{cycle: {found.law}}}}}\n")
    assert laws.mean(cell.stations[0].work[0].time) / 1e6 == pytest.approx(found.basic_s, rel=1e-3)


def test_the_interval_covers_the_truth_as_often_as_it_says(tmp_path: Path):
    """200 sheets of 14 lognormal times: 95 % intervals miss the mean at most 20 times (more: 0.2 %)."""
    luck, sigma = np.random.default_rng(5), 0.2
    missed = 0
    for _ in range(200):
        found = study(tmp_path, many(luck.lognormal(np.log(15) - sigma**2 / 2, sigma, 14))).elements[0]
        low, high = found.interval_s
        missed += not low <= 15 <= high
    assert missed <= 20


def test_the_command_writes_what_a_cell_file_takes(tmp_path: Path):
    """The demo sheet: lines for a cell file that load, JSON, and no file that was there is touched."""
    out, answer = tmp_path / "elements.yaml", tmp_path / "answer.json"
    arguments = [
        "timestudy",
        "scenarios/records/bell_times.csv",
        "--allowance",
        "12 %",
        "--by",
        "A",
        "--out",
        str(out),
    ]
    result = CliRunner().invoke(cli.main, [*arguments, "--json", str(answer)])
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.split("For the cell file")[0].splitlines())) <= 80
    assert "line 50: 19.9 s stands out (dome jammed in the chute); it is used" in " ".join(
        result.stdout.split()
    )
    lines = [line for line in out.read_text().splitlines() if not line.startswith("#")]
    indented = "\n".join("    " + line for line in lines if not line.startswith("allowance"))
    cell = load_text(
        f"cell: x\nallowance: 12 %\ncrew: {{A: {{}}}}\nroute: [press]\nstations:\n  press:\n{indented}\n"
    )
    assert [element.name for element in cell.stations[0].work] == [
        "load dome",
        "take dome off",
        "load lever axle",
    ]
    assert {need.skill for element in cell.stations[0].work for need in element.by} == {"A"}
    assert cell.origins[0].text.startswith("measured, bell_times.csv, 30 cycles")
    assert [row["name"] for row in json.loads(answer.read_text())["elements"]] == [
        "load dome",
        "take dome off",
        "load lever axle",
    ]
    again = CliRunner().invoke(cli.main, arguments)
    assert again.exit_code == 2
    assert "exists and is not overwritten" in again.stderr


def test_times_beside_the_quantiles_of_their_law(tmp_path: Path):
    """Times that are such quantiles lie on the line, near enough; the picture is drawn from them."""
    values = [float(stats.lognorm.ppf((k + 0.5) / 40, 0.2, scale=20)) for k in range(40)]
    found = study(tmp_path, many(values)).elements[0]
    observed, law = zip(*found.quantiles, strict=True)
    assert list(observed) == sorted(round(value, 3) for value in values)
    assert law == pytest.approx(observed, rel=0.03)
    picture = tmp_path / "laws.svg"
    sheet = tmp_path / "sheet.csv"
    result = CliRunner().invoke(cli.main, ["timestudy", str(sheet), "--picture", str(picture), "-q"])
    assert (result.exit_code, result.output) == (0, "")
    assert picture.read_text().startswith("<?xml")


@pytest.mark.parametrize(
    ("rating", "foot"), [("rating", "Seconds at normal pace."), ("grade", "Seconds as observed, unrated.")]
)
def test_the_picture_says_at_which_pace_the_times_are(rating: str, foot: str, tmp_path: Path):
    """By whether the sheet has ratings."""
    values = [float(stats.lognorm.ppf((k + 0.5) / 40, 0.2, scale=20)) for k in range(40)]
    rows = "".join(f"press,{value:.3f},200\n" for value in values)
    figure = draw_quantiles(time_study_answer(study(tmp_path, f"element,time [s],{rating}\n{rows}")))
    assert foot in [text.get_text() for text in figure.findobj(Text)]


def test_names_of_any_kind_load(tmp_path: Path):
    """Elements with signs that YAML reads its own way, at two stations: the lines are a cell file's."""
    text = (
        "station,element,time [s],operator\nDrill 1,drill: load block,4,Ann\nDrill 1,# deburr,5,Ann\n"
        "bench,drill: load block,6,Bea\nbench,drill: load block,8,Bea\nDrill 1,# deburr,7,Ann\n"
    )
    path, out, ranges = tmp_path / "sheet.csv", tmp_path / "out.yaml", tmp_path / "ranges.yaml"
    path.write_text(text)
    call = ["timestudy", str(path), "--out", str(out), "--ranges", str(ranges), "--by", "Ann=driller"]
    result = CliRunner().invoke(cli.main, call)
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert said.count("--by") == 3
    assert "by is who the sheet names: Bea. For a post of the cell say --by Bea=POST" in said
    cell = load_text(
        f"cell: x\ncrew: {{driller: {{}}, Bea: {{}}}}\nroute: [Drill 1, bench]\n{out.read_text()}"
    )
    assert [{need.skill for e in station.work for need in e.by} for station in cell.stations] == [
        {"driller"},
        {"Bea"},
    ]
    assert [[element.name for element in station.work] for station in cell.stations] == [
        ["drill: load block", "# deburr"],
        ["drill: load block"],
    ]
    assert [one.path for one in read_range_file(ranges.read_text(), "ranges")] == [
        "stations.Drill 1.work[2].time",
        "stations.bench.work[1].time",
    ]


def test_odd_ratings_and_times_are_told_with_their_lines(tmp_path: Path):
    """A rating of 60 % is asked about, a time of 0 is named; why there is no law is said rightly."""
    head = "element,time [s],rating\n"
    found = study(tmp_path, head + "press,3,60\n" + "press,2,100\npress,2.5,100\n" * 9 + "press,0,100\n")
    element = found.elements[0]
    assert "ratings beyond 70 to 140 %: line 2 (60 %); ask who rated" in element.remarks
    assert any(text.startswith("line 21: a time of 0 s is used") for text in element.remarks)
    assert element.why.startswith("no law holds a time of 0")
    assert study(tmp_path, head + "press,3,100\n").elements[0].why.startswith("one cycle does not say")


TEAM = """element,station,time [s],operator
load,press,10,Ann
load,press,11,Bea
press,press,12,Ann
pack,table,13,Cem
"""


@pytest.mark.parametrize(
    ("by", "who"),
    [
        ([], ["", "Ann", "Cem"]),
        (["A"], ["A", "A", "A"]),
        (["ann=A", "load=B"], ["B", "A", "Cem"]),
        (["press=P", "X"], ["P", "P", "X"]),
        (["table = T", "Cem=C"], ["", "Ann", "T"]),
        (["load=nobody", "press=P", "X"], ["", "P", "X"]),
        (["press=P", "X", "load="], ["", "P", "X"]),
    ],
)
def test_who_does_an_element(by: list[str], who: list[str], tmp_path: Path):
    """The one who was timed; said for an element before a station before a person before all."""
    assert [element.by for element in study(tmp_path, TEAM, by=by).elements] == who


@pytest.mark.parametrize(
    ("by", "said"),
    [
        (["Anne=A"], 'the sheet has no element, station or person "Anne"; did you mean "Ann"?'),
        (["A", "B"], 'both "A" and "B" for all'),
        (["Ann=A", "ann=B"], 'both "A" and "B" for ann'),
        (["load=A", "load="], 'both "A" and "nobody" for load'),
        (["="], '"=" does not look like "A" or "NAME=A"'),
        (["=A"], '"=A" does not look like "A" or "NAME=A"'),
    ],
)
def test_who_is_nobody(by: list[str], said: str, tmp_path: Path):
    """A name that the sheet does not have, two posts for one, half a pair."""
    with pytest.raises(CellsimError) as caught:
        study(tmp_path, TEAM, by=by)
    assert str(caught.value) == f"--by: {said}"


@pytest.mark.parametrize("post", ["nobody", "Machine", "none", "-", ""])
@pytest.mark.parametrize("station_first", [False, True])
def test_what_a_machine_does_alone_has_no_allowance(post: str, station_first: bool, tmp_path: Path):
    """However nobody is called and whatever is said first; table, remark and notebook say so."""
    by = [f"load={post}", "press=P"]
    how = [word for text in (reversed(by) if station_first else by) for word in ("--by", text)]
    said, lines = screen(tmp_path, TEAM, "--allowance", "10 %", *how)
    table = said.partition("Times as observed")[0]
    assert table.count("(machine)") == 1 and table.index("load") < table.index("(machine)")
    assert "press, load: a machine does it alone, so its standard has no allowance" in said
    assert lines.count("by: P") == 1 and lines.index("by: P") > lines.index("do: press")
    found = study(tmp_path, TEAM, allowance=0.1, by=how[1::2])
    assert [element.standard_s for element in found.elements] == pytest.approx([10.5, 13.2, 14.3])
    assert [row["alone"] for row in time_study_answer(found)["elements"]] == [True, False, False]


def test_a_sheet_may_say_that_nobody_works(tmp_path: Path):
    """In its column of people; a post said in the call is above that."""
    text = "element,time [s],operator\nrun,10,machine\nrun,11,-\nload,3,Ann\nwait,4,\n"
    run, load, wait = study(tmp_path, text, allowance=0.1).elements
    assert [(e.by, e.alone) for e in (run, load, wait)] == [("", True), ("Ann", False), ("", False)]
    assert run.standard_s == pytest.approx(10.5)
    assert [e.by for e in study(tmp_path, text, by=["A"]).elements] == ["A", "A", "A"]


def test_what_has_no_by_is_told(tmp_path: Path):
    """The cell file takes it for a machine; the call that says so is printed, and does it."""
    text = "element,time [s]\npress runs,10\npack,11\n"
    said, _ = screen(tmp_path, text)
    assert "2 elements have no by, and the cell file takes that for a machine alone." in said
    assert said.split()[-1:] == ['runs=nobody"'] and 'alone: --by "press runs=nobody"' in said
    said, _ = screen(tmp_path, text, "--by", "press runs=nobody", "--by", "Ada")
    assert "(machine)" in said and "no by" not in said


def test_memory_says_what_it_does_to_an_hour(tmp_path: Path):
    """Long times together, turns, and a swing that takes back what it gives."""
    told = [
        " ".join(study(tmp_path, many(np.array(values))).elements[0].remarks)
        for values in (np.arange(20.0, 40.0), [20.0, 22.0] * 10, 20 + 2 * np.sin(np.arange(40) / 1.6))
    ]
    assert "come together" in told[0] and "draws understate how much an hour" in told[0]
    assert "followed by a short one" in told[1] and "draws overstate how much an hour" in told[1]
    assert "whether independent draws understate or overstate" in told[2]


def test_two_ways_are_surely_two_and_matter(tmp_path: Path):
    """Coarse times of one law are seldom taken for two (by BIC alone every third sample), nor are ways
    that differ by 8 %; such that differ by 15 % are, with the difference."""
    luck = np.random.default_rng(5)
    alarms = 0
    for _ in range(15):
        times = np.round(2 * luck.lognormal(np.log(4), 0.12, 15)) / 2
        alarms += "two ways" in " ".join(study(tmp_path, many(times)).elements[0].remarks)
    assert alarms <= 1  # at 1 % a sample 1 % of seeds have more; by BIC alone 98 % have
    steps = np.linspace(-0.1, 0.1, 15)
    near, far = (np.concatenate([20 + steps, 20 * factor + steps]) for factor in (1.08, 1.15))
    near, far = luck.permutation(near), luck.permutation(far)
    assert "two ways" not in " ".join(study(tmp_path, many(near)).elements[0].remarks)
    told = " ".join(study(tmp_path, many(far)).elements[0].remarks)
    assert "two ways of working, more than luck and 15 % apart: about 50 % around 20 s" in told


def screen(tmp_path: Path, text: str, *words: str) -> tuple[str, str]:
    """What the command says of a sheet, on one line, and its lines for the cell file."""
    path = tmp_path / "sheet.csv"
    path.write_text(text)
    done = CliRunner().invoke(cli.main, ["timestudy", str(path), *words])
    assert done.exit_code == 0, done.output
    said, _, lines = done.output.partition("For the cell file\n")
    assert max(map(len, said.splitlines())) <= 80
    return " ".join(said.split()), lines


def test_several_people_at_an_element_are_told_once(tmp_path: Path):
    """With the call that says who does it."""
    said, _ = screen(tmp_path, TEAM)
    assert (
        "by is who the sheet names: Ann, Cem; several people were timed at press, load (Ann, Bea), so they"
        " have no by. For a post of the cell say --by Ann=POST" in said
    )
    assert "--by" not in screen(tmp_path, TEAM, "--by", "A")[0]


def test_without_ratings_nothing_is_at_normal_pace(tmp_path: Path):
    """Neither screen nor lines say so; how a rating is headed is said."""
    said, lines = screen(tmp_path, TEAM.replace("operator", "crew"))
    assert "Times as observed, unrated;" in said
    assert "head its column rating [%], 100 for normal pace" in said
    assert "normal pace" not in lines
    assert "Times as observed, unrated, from sheet.csv:" in lines
    assert "1 cycle, unrated'" in lines
    assert 'column 4 "crew" was not used' in said
    said, lines = screen(tmp_path, "element,time [s],pace %\nload,10,105\nload,11,\n")
    assert "Times at normal pace;" in said and "unrated" not in said + lines


def test_the_advice_for_a_reading_of_a_wide_sheet_does_it(tmp_path: Path):
    """What the screen says of the value that stands out is a call that leaves out this one."""
    wide = (
        "Element;"
        + ";".join(map(str, range(1, 11)))
        + "\npress;10;11;10,5;10,2;40;10,1;10,8;10,4;10,6;10,9\n"
    )
    said, _ = screen(tmp_path, wide, "--unit", "s")
    assert "line 2 cycle 5: 40 s stands out; it" in said
    noted = wide.replace(";10\n", ";10;Note\n").replace("10,9\n", "10,9;3 - talked\n")
    assert "40 s stands out (remark of the line: 3 - talked); it" in screen(tmp_path, noted, "--unit", "s")[0]
    advice = said.split("leave it out with ")[1].split()[:2]
    assert advice == ["--leave-out", "2:5"]
    said, lines = screen(tmp_path, wide, "--unit", "s", *advice)
    assert "line 2 cycle 5: 40 s was left out as asked" in said and "9 cycles" in lines


def test_few_cycles_have_no_percentiles(tmp_path: Path):
    """Below 20 cycles the table has the least and the most; beside one of 20 they are marked."""
    few = many([10.0 + k / 10 for k in range(19)])
    said, _ = screen(tmp_path, few)
    assert "least to most" in said and "P5" not in said and "10 to 11.8" in said
    enough = many([10.0 + k / 10 for k in range(20)])
    said, _ = screen(tmp_path, enough)
    assert "P5 to P95" in said and "least" not in said and "10 to 11.8" in said
    said, _ = screen(tmp_path, enough + "fit,1,7\nfit,2,8\n")
    assert "P5 to P95" in said and "7 to 8*" in said and "* fewer than 20 cycles: least to most." in said


def test_lines_to_paste_say_where_they_go(tmp_path: Path):
    """First what to do; the allowance once for the top of the file; stations once, or that none is named."""
    _, lines = screen(tmp_path, TEAM, "--allowance", "9 %", "--by", "A")
    assert lines.startswith(
        "# Paste this line at the top of the file; it counts for all stations:\nallowance: 9 %\n"
    )
    assert lines.count("\nstations:\n") == lines.count("allowance:") == 1
    cell = load_text(f"cell: x\ncrew: {{A: {{}}}}\nroute: [press, table]\n{lines}")
    assert [[element.name for element in station.work] for station in cell.stations] == [
        ["load", "press"],
        ["pack"],
    ]
    plain = "element,time [s]\nload,10\nload,11\n"
    _, lines = screen(tmp_path, plain)
    assert lines.startswith("# Paste each element under its station in the file")
    assert "Say --station NAME if all are done at one" in lines and "stations:\n" not in lines
    _, lines = screen(tmp_path, plain, "--station", "press")
    assert load_text(f"cell: x\nroute: [press]\n{lines}").stations[0].work[0].name == "load"


def test_help_lists_the_headings():
    """Every kind of column, in 80 columns."""
    text = CliRunner().invoke(cli.main, ["timestudy", "--help"]).output
    for column in COLUMNS:
        if column.name != "date":
            assert f"\n    {column.name} " in text
    assert max(map(len, text.splitlines())) <= 80


WRONG = [
    ("element,time [s],rating\npress,3,100\npress,3,1.05\n", "sheet.csv:3:3: rating: a rating of 1.05 among"),
    ("element,time [s],rating\npress,3,100\npress,3,9\n", "a rating of 9 % is no pace of work"),
    ("station,element,time [s]\n,press,3\n", "this cell is empty; wanted is a station"),
    ("element,time [s]\npress,fast\n", 'sheet.csv:2:2: time [s]: "fast" is not a number'),
    ("element,time [s]\n,3\n", "sheet.csv:2:1: element: this cell is empty"),
    ("element,time\npress,3\n", "the heading says no unit of time"),
    ("element,time [s],rating\npress,3,0\n", "a rating of 0 is none"),
    ("element,time [s]\n", "holds no cycle"),
    ("task,1,2\npress,3,4\n", "the headings say no unit of time"),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_wrong_sheets(text: str, said: str, tmp_path: Path):
    """Each with row and column, or what is missing."""
    with pytest.raises(CellsimError) as caught:
        study(tmp_path, text)
    assert said in str(caught.value)


def test_bounds_as_ranges(tmp_path: Path):
    """Means at 95 % as ranges under a station; measured times that are drawn themselves are no range."""
    sheet = Path(__file__).parents[2] / "scenarios" / "records" / "bell_times.csv"
    ranges = tmp_path / "ranges.yaml"
    call = ["timestudy", str(sheet), "--ranges", str(ranges), "-q"]
    missing = CliRunner().invoke(cli.main, call)
    assert (missing.exit_code, "--station" in missing.output, ranges.exists()) == (2, True, False)
    assert CliRunner().invoke(cli.main, [*call, "--station", "press"]).exit_code == 0
    found = {one.path: one for one in read_range_file(ranges.read_text(), "ranges")}
    assert list(found) == ["stations.press.work[2].time", "stations.press.work[3].time"]
    low, high = time_study(sheet).elements[1].interval_s
    assert float(found["stations.press.work[2].time"].low) / 1e6 == pytest.approx(low, rel=5e-3)
    assert float(found["stations.press.work[2].time"].high) / 1e6 == pytest.approx(high, rel=5e-3)
