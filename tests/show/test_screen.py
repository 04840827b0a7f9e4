"""A study on the terminal: the answer first, every number of the dictionary, never wider than 80 columns."""

from __future__ import annotations

import io
import re

import pytest
from rich.console import Console

from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.show.progress import progress
from cellsim.show.screen import PLANNING, print_result
from cellsim.study.figures import figures
from cellsim.study.plan import make_plan
from cellsim.study.replicate import run_replications

SMALL = """
cell: Tin whistle
target: 115 per h
shifts: {day: {from: 06:00, to: 08:30, breaks: [{at: 07:00, for: 15 min}]}}
crew: {fitter: {people: 1}, setter: {people: 1}}
route: [press, tray, fit, rack, test]
stations:
  press: {cycle: 24 s, stops: {jam: {every: 20 min of running, lasts: 4 min, cleared_by: setter}}}
  fit: {cycle: {mean: 24 s, spread: 15 %}, by: fitter}
  test: {cycle: 20 s, rejects: {share: 4 %, to: bench, returns_to: test, attempts: 3}}
  bench: {cycle: 90 s, by: setter}
stores:
  tray: {places: 8}
  rack: {places: 6}
"""


def printed(result, width=80, **options):
    """What is printed, as plain text."""
    console = Console(width=width, file=io.StringIO(), **options)
    print_result(result, console)
    return console.file.getvalue()


def row_of(text, name):
    """The numbers and words of the line that begins with a name."""
    line = next(line for line in text.splitlines() if line.startswith(name + "  "))
    return re.split(r"\s{2,}", line.strip())


def section(text, head):
    """The lines of the part that begins with a heading."""
    lines = text.splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith(head))
    last = next((k for k in range(first, len(lines)) if not lines[k]), len(lines))
    return "\n".join(lines[first:last])


def flowed(text):
    """Text with its line breaks taken out."""
    return re.sub(r"\s+", " ", text).strip()


def test_the_answer_comes_first(result):
    """Name, question, rate with interval, band, chances: in this order at the top."""
    lines = flowed(printed(result))
    assert lines.startswith(
        "Tin whistle How many tray places? 104.4 good units leave per working hour (95 % interval of the mean"
        " 102.8 to 106). In 9 of 10 hours it is between 81 and 123 (P5 to P95), half of the hours reach 105."
        " The target of 100 per hour is reached in 64 % of the hours (59 to 69 %), that of 275 per shift in"
        " 70 % of the shifts (55 to 85 %). Per paid labour hour: 43.2 good units (42.7 to 43.7). Studied:"
        " 40 shifts of 2.75 working hours, seed 7. What limits output press works (56 % of the"
        " critical path): 1 % faster there gives at most about 0.56 % more."
    )


def test_causes_stand_with_share_interval_and_gain(result):
    """Each cause has its share, interval and what 1 % shorter gives; breaks have no such advice."""
    text = section(printed(result), "What limits output")
    assert row_of(text, "press stands still: jam") == [
        "press stands still: jam",
        "20.0 %",
        "18.0 to 22.0 %",
        "0.20 % more",
    ]
    assert row_of(text, "press waits for repair: jam")[1] == "10.0 %"
    assert row_of(text, "breaks and off hours") == ["breaks and off hours", "8.0 %", "7.9 to 8.1 %"]
    assert "so small that events keep their order. A larger one often gives far less" in flowed(text)


def test_station_columns_add_states_up(result):
    """Working counts attended and handled time, down counts the wait for repair; only used columns stand."""
    text = section(printed(result), "Stations")
    heads = text.splitlines()[2].split()
    assert heads == [
        "Station",
        "working",
        "starved",
        "blocked",
        "operator",
        "robot",
        "down",
        "off",
        "%",
        "tests",
    ]
    assert text.splitlines()[3].split() == ["press", "75.0", "0.0", "10.0", "0.0", "0.0", "15.0", "0.0"]
    assert text.splitlines()[4].split() == [
        "glue",
        "(2)",
        "30.0",
        "30.0",
        "0.0",
        "0.0",
        "25.0",
        "0.0",
        "15.0",
    ]
    assert text.splitlines()[5].split() == [
        *["test", "20.0", "71.5", "0.0", "8.5", "0.0", "0.0", "0.0", "4.0"],
    ]


def test_nights_do_not_swamp_the_shares(result):
    """Where several shifts are counted, shares are of the time in them: a row is 100 % without off hours.

    Of 30 % of the counted time at work and 50 % off that is 60 %; who is never on has nothing.
    """
    result["study"]["shifts"] = 2
    shares = {"working": 0.3, "starved": 0.15, "break": 0.05, "off": 0.5}
    for row in result["stations"].values():
        row["shares"] = {state: {"mean": share} for state, share in shares.items()}
    never = {"shares": {"working": {"mean": 0.0}, "off": {"mean": 1.0}}}
    result["people"] = {"setter": result["people"]["setter"] | never}
    text = printed(result)
    stations = section(text, "Stations, % of the time in shifts")
    assert "working starved break" in flowed(stations)
    assert row_of(stations, "press")[1:4] == ["60.0", "30.0", "10.0"]
    assert set(row_of(section(text, "People, % of the time in shifts"), "setter")[2:]) == {"0.0"}


def test_a_state_without_a_column_is_not_lost(result):
    """A state that no column counts is shown as other, so that rows still add up to 100."""
    result["stations"] = {"press": {**result["stations"]["press"]}}
    shares = result["stations"]["press"]["shares"]
    shares["something new"] = shares.pop("blocked")
    text = section(printed(result), "Stations")
    assert text.splitlines()[1].split() == ["Station", "working", "down", "other"]
    assert [float(cell) for cell in text.splitlines()[2].split()[1:]] == [75.0, 15.0, 10.0]


def test_stores_that_are_often_full_are_marked(result):
    """A limited store whose P95 is its places is full in more than 5 % of the time; others are not marked."""
    text = section(printed(result), "Stores")
    assert row_of(text, "tray") == ["tray", "3.25", "8", "8", "8", "1 min 52 s", "often full"]
    assert row_of(text, "rack") == ["rack", "1.00", "3", "5", "unlimited", "34 s"]
    assert row_of(text, "chute")[-1] == "direct hand-over"
    result["stores"]["tray"]["p95"] = 7
    assert "often full" not in printed(result)


def test_people_and_robots_with_their_load(result):
    """Loads stand per post and robot, those over 90 % are marked."""
    text = printed(result)
    people = section(text, "People")
    assert row_of(people, "fitter (2)") == ["fitter (2)", "91 %", "85.0", "6.0", "0.0", "9.0", "over 90 %"]
    assert row_of(people, "setter") == ["setter", "15 %", "0.0", "0.0", "15.0", "85.0"]
    assert row_of(section(text, "Robots"), "R1") == ["R1", "40 %", "40.0", "60.0"]


def test_nobody_on_duty_has_no_load(result):
    """A load that is not defined is a dash, not a zero."""
    result["people"]["setter"]["load"] = {"mean": None, "interval": [None, None], "remark": "not defined"}
    assert row_of(section(printed(result), "People"), "setter")[1] == "-"


def test_no_people_no_table(result):
    """A cell without people and robots has neither table nor explanation of the load."""
    result["people"], result["robots"], result["units_per_labour_hour"] = {}, {}, None
    text = printed(result)
    assert "People" not in text and "Robots" not in text and "Load:" not in text and "labour" not in text


def test_a_long_name_of_a_stop_goes_on_below_its_first_line(result):
    """The numbers of a stop stand beside the first line of its name, whole words wrap below, headings fit."""
    result["stops"][0]["cause"] = "reel of closing tape runs out before the end of the lot"
    lines = section(printed(result, width=60), "Stops per shift").splitlines()
    assert [line.rstrip() for line in lines[1:5]] == [
        "                                         min in  min waiting",
        "Where       cause                 stops  repair       for it",
        "press       reel of closing tape    6.5    18.0          9.2",
        "            runs out before the",
    ]


def test_stops_are_told_per_shift(result):
    """Stops and lost minutes of the counted time are divided among the shifts it holds."""
    assert row_of(section(printed(result), "Stops per shift"), "press") == [
        "press",
        "jam",
        "6.5",
        "18.0",
        "9.2",
    ]
    result["study"]["shifts"] = 2
    assert row_of(section(printed(result), "Stops per shift"), "press") == [
        "press",
        "jam",
        "3.2",
        "9.0",
        "4.6",
    ]


def test_quality_lead_time_and_wip(result):
    """First-pass yield, scrap, lead time and work in progress stand as sentences."""
    text = section(printed(result), "Quality")
    assert "First-pass yield of test: 96.0 % (95.0 to 97.0 %)" in text
    assert "Scrapped: 2.5 units in a shift; good 99.1 % of the units that left" in text
    assert "Lead time: mean 5 min 30 s, median 4 min 50 s, P95 10 min" in text
    assert "Work in progress: mean 9.5 units (9 to 10), most 21, at the end 8" in text


def test_the_board_has_a_row_an_hour(result):
    """Hour, minutes worked, P5, median, P95, mean, target of these minutes and chance."""
    text = section(printed(result), "Hour by hour")
    assert text.splitlines()[1].split() == [
        "Hour",
        "min",
        "worked",
        "P5",
        "median",
        "P95",
        "mean",
        "target",
        "chance",
    ]
    assert text.splitlines()[3].split() == ["07:00-08:00", "45", "61", "79", "93", "78.5", "75", "75", "%"]
    assert len(text.splitlines()) == 5


def test_without_a_target_no_chance_is_shown(result):
    """No target: it is said, and the board has no such columns."""
    out = result["output_per_hour"]
    out["target"] = None
    del out["chance_of_target_in_an_hour"], out["per_shift"]["target"], out["per_shift"]["chance_of_target"]
    for row in out["by_clock_hour"]:
        del row["target"], row["chance_of_target"]
    text = printed(result)
    assert "The file states no target." in text
    assert section(text, "Hour by hour").splitlines()[1].split()[-1] == "mean"


def test_assumptions_are_counted_and_a_few_shown(result):
    """The number of all, five of them, and where the others are."""
    text = section(printed(result), "7 values assumed, not measured")
    assert text.splitlines()[1] == "  stations.s0.by: nobody (works alone)"
    assert len(text.splitlines()) == 7
    assert text.splitlines()[-1] == "All of them: cellsim check, or `assumptions` in result.json."


def test_cautions_and_audit_close_the_page(result):
    """The planning caution always stands, then those of the cell, then the audit and the origin."""
    text = flowed(printed(result))
    assert text.endswith(
        f"Cautions {PLANNING} Clearing by hand is taken to be safe. 2 laws checked in 40 runs: all hold."
        " Made by cellsim 0.1.0, description 0123456789ab."
    )


def test_locked_runs_stand_before_the_answer(locked):
    """Time in the shift and circle of a locked run come before any figure."""
    text = flowed(printed(locked))
    alarm = text.index(
        "LOCKED: in 2 of 40 runs the cell or a part of it came to a standstill that nobody can end."
    )
    assert alarm < text.index(
        "run 3, at 07:15, 1 h 15 min after the start of the first shift: press holds a unit"
    )
    assert text.index("run 9, at 07:15") < text.index("104.4 good units leave")


def test_the_remedy_of_locked_rework_is_told_once(locked):
    """Below the locked runs, however many of them have it; nothing where no rework is in the circle."""
    for lock in locked["locked"]:
        lock["remedy"] = "Give rework a store of its own."
    text = flowed(printed(locked))
    assert text.count("Give rework a store of its own.") == 1
    assert text.index("run 9, at 07:15") < text.index("Give rework") < text.index("104.4 good units leave")


def test_a_broken_law_is_shouted_and_counted(result):
    """A violation stands at the top and in the last line; nothing says that all hold."""
    result["audit"] |= {
        "passed": False,
        "violations": ["replication 4: states fill the clock: 3 us are missing"],
    }
    text = flowed(printed(result))
    assert "do not use these figures. replication 4: states fill the clock: 3 us are missing" in text
    assert "2 laws checked in 40 runs: 1 violation." in text and "all hold" not in text


def test_one_run_has_no_intervals(single):
    """A single run shows its means, says that there is no interval, and prints no None."""
    text = printed(single)
    assert "104.4 good units leave per working hour (one run: no interval)." in text
    assert "None" not in text and "nan" not in text
    assert row_of(section(text, "What limits output"), "press works") == [
        "press works",
        "56.0 %",
        "0.56 % more",
    ]


def test_a_cell_without_output_says_so(result):
    """Zero output is a sentence, and the remark of the loss account takes the place of causes."""
    result["output_per_hour"]["mean"] = 0.0
    result["losses"] = {
        "causes": [],
        "elapsed_s": 0.0,
        "remark": "no good unit left the cell, so there is no path",
    }
    result["lead_time"] = {"mean_s": None, "p50_s": None, "p90_s": None, "p95_s": None}
    result["quality"]["good_share"]["mean"] = None
    text = printed(result)
    assert "No good unit leaves the cell." in text
    assert "no good unit left the cell, so there is no path." in text
    assert "Lead time: no unit left" in text


def test_a_study_that_was_stopped_says_so(result):
    """An interrupted study is marked before its figures."""
    result["interrupted"] = "12 of 40 replications"
    text = printed(result)
    assert text.index("Stopped early: 12 of 40 replications") < text.index("104.4")


def stretched(result):
    """Twenty-five stations in all states, long names, long lists."""
    names = [f"{10 * k} ultrasonic washing of both halves in three baths" for k in range(25)]
    states = "working starved blocked down break|waiting for operator|waiting for robot|changeover"
    states = [*states.split("|")[0].split(), *states.split("|")[1:]]
    share = {state: {"mean": 1 / len(states), "interval": [0, 1]} for state in states}
    result["cell"]["name"] = "Brass padlock " * 9
    result["stations"] = {n: {**result["stations"]["test"], "machines": 12, "shares": share} for n in names}
    result["stores"] = {f"rack before {n}": result["stores"]["tray"] for n in names}
    result["people"] = {f"operator of {n}": result["people"]["fitter"] for n in names}
    result["stops"] = [{**result["stops"][0], "who": n, "cause": "foreign body in the bath"} for n in names]
    result["losses"]["causes"] = [
        {**result["losses"]["causes"][0], "who": n, "what": "stop: foreign body"} for n in names
    ]
    hours = result["output_per_hour"]["by_clock_hour"]
    result["output_per_hour"]["by_clock_hour"] = [hours[k % 3] for k in range(100)]
    return result


@pytest.mark.parametrize("kind", ["small", "long"])
def test_nothing_is_wider_than_80_columns(result, kind):
    """On a console of 80 columns no line is longer, and no number is cut."""
    text = printed(stretched(result) if kind == "long" else result)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "…" not in text and "..." not in text
    if kind == "long":
        assert "and 13 smaller causes in result.json" in text  # stops: 12 of 25 are shown
        assert "and 19 smaller causes in result.json" in text  # causes: 6 of 25
        assert "and 74 more hours in result.json" in text
        assert section(text, "Stations").count("12.5") == 8 * 25


def test_piped_output_is_plain(result, monkeypatch):
    """Into a file no escape sequence is written, nor on a terminal that asked for no colour any colour."""
    assert "\x1b" not in printed(result)
    monkeypatch.setenv("NO_COLOR", "1")
    shown = printed(result, force_terminal=True)
    assert not re.search(r"\x1b\[[0-9;]*(3[0-9]|4[0-79]|9[0-7])m", shown)


def test_names_are_taken_literally(result):
    """Brackets, colons and escape sequences in names are printed, not obeyed."""
    result["stations"] = {"[bold]press :smile:": result["stations"]["press"]}
    result["cell"]["name"] = "cell \x1b[31m [red]x[/red]"
    text = printed(result)
    assert "[bold]press :smile:" in text
    assert text.splitlines()[0] == "cell ?[31m [red]x[/red]"


def test_labels_are_words_of_the_shop_floor(result):
    """Headings use none of the words that belong to modelling blocks."""
    words = set(re.findall(r"[a-z]+", printed(result).lower()))
    assert not words & {
        "source",
        "sink",
        "queue",
        "server",
        "delay",
        "entity",
        "agent",
        "resource",
        "pool",
        "idle",
    }


@pytest.fixture(scope="module")
def cell():
    """A real description."""
    return load_text(SMALL)


def test_a_real_result_is_printed(cell):
    """Whatever the study writes is printed as it stands: three runs of a real cell."""
    records = run_replications(cell, 1, range(3)).records
    result = figures(compile_cell(cell), make_plan(cell), records)
    text = printed(result)
    assert f"{result['output_per_hour']['mean']:.1f}".rstrip("0").rstrip(".") + " good units leave" in text
    assert set(result["stations"]) == {"press", "fit", "test", "bench"}
    for name, row in result["stations"].items():
        working = sum(row["shares"].get(s, {"mean": 0})["mean"] for s in ("working", "attended", "handled"))
        assert row_of(section(text, "Stations"), name)[1] == f"{100 * working:.1f}"
    assert f"{len(result['audit']['laws'])} laws checked in 3 runs: all hold." in text


def test_progress_is_silent_when_piped():
    """Into a file nothing is written."""
    console = Console(width=80, file=io.StringIO())
    with progress(console, 10) as callback:
        callback(5, 10)
    assert console.file.getvalue() == ""


def test_progress_counts_on_a_terminal():
    """On a terminal the runs done and the number of all are shown."""
    console = Console(width=80, file=io.StringIO(), force_terminal=True)
    with progress(console, 10) as callback:
        callback(7, 20)
    assert re.search(r"7/20", re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", console.file.getvalue()))


def test_progress_says_what_is_known_so_far():
    """Beside the count stands the first result, as soon as there is one."""
    console = Console(width=80, file=io.StringIO(), force_terminal=True)
    with progress(console, 10, lambda: "so far about 97 good units per hour") as callback:
        callback(1, 10)
    assert "so far about 97 good units per hour" in console.file.getvalue()
