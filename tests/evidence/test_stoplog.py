"""Stop logs: each rule of cleaning by a log made by hand, with its changes; wrong logs with their place."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from cellsim.describe.resolve import load_text
from cellsim.errors import CellsimError
from cellsim.evidence.stop_cleaning import clean
from cellsim.evidence.stop_words import waits_for
from cellsim.evidence.stoplog import read_stop_log
from cellsim.units import HOUR, MINUTE, SECOND

CELL = load_text("""cell: x
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 10:00, for: 20 min}], clean_up: 10 min}}
crew: {A: [press, rivet], technician: {}}
robots: {R1: {}}
route: [press, rivet, mill, weld]
stations:
  press: {cycle: 20 s, by: A}
  rivet: {cycle: 20 s, by: A}
  mill: {machines: 2, cycle: 40 s}
  weld: {cycle: 10 s, by: R1}
""")
NIGHTS = load_text("""cell: x
shifts: {late: {from: 14:00, to: 22:00}, night: {from: 22:00, to: 06:00}}
route: [press]
stations: {press: {cycle: 20 s}}
""")
HEAD = "start,end,station,cause\n"
MON, TUE = "2026-03-02", "2026-03-03"


def cleaned(tmp_path: Path, text: str, cell=CELL, read=None, **how):
    """(station or machine, cause, begin, minutes, whether it ended) of each stop, and the changes by line."""
    path = tmp_path / "log.csv"
    path.write_text(text)
    log = clean(read_stop_log(path, cell, **(read or {})), cell, **how)
    stops = [
        (stop.machine, stop.cause, log.axis.text(stop.begin)[5:], log.length(stop) / MINUTE, stop.ended)
        for stop in log.stops
    ]
    return stops, [(change.line, change.step, change.text) for change in log.changes]


def test_a_clean_log_is_left_as_it_is(tmp_path: Path):
    """Nothing is changed; names of the cell in any case, machines by number, robots too."""
    text = HEAD + (
        f"{MON} 07:00,{MON} 07:01,PRESS,jam\n"
        f"{MON} 08:00,{MON} 08:05,mill 2,jam\n"
        f"{MON} 09:00,{MON} 09:02,R1,stop\n"
    )
    stops, changes = cleaned(tmp_path, text)
    assert stops == [
        ("press", "jam", "03-02 07:00", 1, True),
        ("mill.2", "jam", "03-02 08:00", 5, True),
        ("R1", "stop", "03-02 09:00", 2, True),
    ]
    assert changes == []


def test_a_row_that_is_there_twice(tmp_path: Path):
    """Left out."""
    row = f"{MON} 07:00,{MON} 07:01,press,jam\n"
    stops, changes = cleaned(tmp_path, HEAD + row + row)
    assert len(stops) == 1
    assert changes == [(3, "written twice", "the same as line 2; left out")]


@pytest.mark.parametrize("rows", [f"{MON} 23:50,{MON} 00:20", f"{MON} 23:50,00:20"])
def test_over_midnight(rows: str, tmp_path: Path):
    """An end before the start within 12 h is that of the next day; its date may be missing."""
    stops, changes = cleaned(tmp_path, HEAD + rows + ",press,jam\n", NIGHTS)
    assert stops == [("press", "jam", "03-02 23:50", 30, True)]
    assert changes == [(2, "over midnight", "its end is taken for the next day")]


def test_a_column_of_dates(tmp_path: Path):
    """Times of day belong to the date of their row; a duration stands in place of an end."""
    text = "date;start;duration [min];machine;reason\n02.03.2026;07:00;2,5;press;jam\n"
    assert cleaned(tmp_path, text)[0] == [("press", "jam", "03-02 07:00", 2.5, True)]


def test_clocks_set_back(tmp_path: Path):
    """Sunday 25 October 2026, 02:50 to 02:10 are 20 min; with zones written the same."""
    cell = load_text("cell: x\nroute: [press]\nstations: {press: {cycle: 20 s}}\n")
    stops, changes = cleaned(tmp_path, HEAD + "2026-10-25 02:50,2026-10-25 02:10,press,jam\n", cell)
    assert stops == [("press", "jam", "10-25 02:50", 20, True)]
    assert [change[1] for change in changes] == ["change of the clock"]
    zoned = HEAD + "2026-10-25 02:50+02:00,2026-10-25 02:10+01:00,press,jam\n"
    stops, changes = cleaned(tmp_path, zoned, cell)
    assert stops == [("press", "jam", "10-25 02:50", 20, True)]
    assert [change[1] for change in changes] == ["change of the clock"]


def test_moments_in_utc(tmp_path: Path):
    """06:00 UTC is 07:00 in Berlin in winter; without a zone it is said that they are taken as they stand."""
    text = HEAD + f"{MON} 06:00Z,{MON} 06:05Z,press,jam\n"
    berlin = {"zone": ZoneInfo("Europe/Berlin")}
    assert cleaned(tmp_path, text, read=berlin)[0] == [("press", "jam", "03-02 07:00", 5, True)]
    path = tmp_path / "log.csv"
    assert "times are in UTC" in read_stop_log(path, CELL).repairs[0]


def test_a_missing_end_is_open_only_at_the_end_of_the_log(tmp_path: Path):
    """Before another stop of the machine the length is not known; in the last shift it is at least that."""
    text = HEAD + (f"{MON} 07:00,,press,jam\n{MON} 09:00,{MON} 09:01,press,jam\n{MON} 13:00,,rivet,jam\n")
    stops, changes = cleaned(tmp_path, text)
    assert stops == [
        ("press", "jam", "03-02 07:00", 0, False),
        ("press", "jam", "03-02 09:00", 1, True),
        ("rivet", "jam", "03-02 13:00", 50, False),
    ]
    assert changes == [
        (4, "no end", "closed at 2026-03-02 13:50, the end of the shift; it lasted at least as long"),
        (
            2,
            "no end",
            "it counts as a stop, its length is not known"
            " (at most 2 h, when the next stop of that machine began)",
        ),
    ]


def test_a_stop_of_unknown_length_is_not_joined_with_the_next(tmp_path: Path):
    """The machine ran between a stop without an end and the next one, however soon that comes."""
    text = HEAD + f"{MON} 07:00:00,,press,jam\n{MON} 07:00:20,{MON} 07:01:00,press,jam\n"
    stops, _ = cleaned(tmp_path, text)
    assert [(stop[2], stop[4]) for stop in stops] == [("03-02 07:00", False), ("03-02 07:00:20", True)]


def test_waits_are_no_stops_of_the_station(tmp_path: Path):
    """Left out by words; a cause can be excluded or kept by hand."""
    text = HEAD + (
        f"{MON} 07:00,{MON} 07:01,press,jam\n"
        f"{MON} 08:00,{MON} 08:05,press,Starved (no parts)\n"
        f"{MON} 09:00,{MON} 09:05,press,belt\n"
    )
    stops, changes = cleaned(tmp_path, text)
    assert [stop[1] for stop in stops] == ["jam", "belt"]
    assert changes == [(3, "no stop of the station itself", '"Starved (no parts)" left out: starved')]
    how = {"keep": ["starved (no parts)"], "exclude": ["belt"]}
    stops, changes = cleaned(tmp_path, text, **how)
    assert [stop[1] for stop in stops] == ["jam", "Starved (no parts)"]
    assert changes == [(4, "left out as asked", '"belt"')]


@pytest.mark.parametrize(
    ("cause", "kind"),
    [("BLOCKED", "blocked"), ("no-material", "no material"), ("waiting for operator", "no operator"),
     ("starved_2", "starved"), ("jam in the blocking pin holder", "blocked"), ("unblocked chute", ""),
     ("starter motor", ""), ("part stuck", "")],
)  # fmt: skip
def test_words_of_waits(cause: str, kind: str):
    """Whole words only."""
    assert waits_for(cause) == kind


def test_overlaps(tmp_path: Path):
    """One cause: one stop.  Two: the later is cut, or left out where it lies within.  Other machines stay."""
    text = HEAD + (
        f"{MON} 07:00,{MON} 07:10,press,jam\n{MON} 07:05,{MON} 07:20,press,jam\n"
        f"{MON} 08:00,{MON} 08:10,press,jam\n{MON} 08:05,{MON} 08:30,press,belt\n"
        f"{MON} 09:00,{MON} 09:30,press,belt\n{MON} 09:10,{MON} 09:11,press,jam\n"
        f"{MON} 09:10,{MON} 09:11,rivet,jam\n"
    )
    stops, changes = cleaned(tmp_path, text)
    assert stops == [
        ("press", "jam", "03-02 07:00", 20, True),
        ("press", "jam", "03-02 08:00", 10, True),
        ("press", "belt", "03-02 08:10", 20, True),
        ("press", "belt", "03-02 09:00", 30, True),
        ("rivet", "jam", "03-02 09:10", 1, True),
    ]
    assert changes == [
        (3, "overlap", "overlaps line 2 of the same cause; both are one stop"),
        (5, "overlap", "begins at the end of line 4 (jam), 2026-03-02 08:10"),
        (7, "overlap", "lies within line 6 (belt); left out"),
    ]


def test_repeats_soon_after(tmp_path: Path):
    """20 s after the same cause is one stop, 31 s is not, nor another cause; a break does not part a stop."""
    text = HEAD + (
        f"{MON} 07:00:00,{MON} 07:01:00,press,jam\n{MON} 07:01:20,{MON} 07:02:00,press,jam\n"
        f"{MON} 07:02:31,{MON} 07:03:00,press,jam\n{MON} 07:03:05,{MON} 07:04:00,press,belt\n"
        f"{MON} 09:50:00,{MON} 10:00:00,press,belt\n{MON} 10:20:00,{MON} 10:25:00,press,belt\n"
    )
    stops, changes = cleaned(tmp_path, text)
    assert [(stop[1], stop[3] * 60) for stop in stops] == [
        ("jam", 120), ("jam", 29), ("belt", 55), ("belt", 900),
    ]  # fmt: skip
    assert changes == [
        (3, "repeat", "20 s of planned time after line 2; both are one stop"),
        (7, "repeat", "0 s of planned time after line 6; both are one stop"),
    ]
    assert len(cleaned(tmp_path, text, merge=0)[0]) == 6
    assert len(cleaned(tmp_path, text, merge=31 * SECOND)[0]) == 3


def test_only_planned_time_counts(tmp_path: Path):
    """Breaks and nights are no repair; an end outside of planned time is not known; what is outside goes."""
    text = HEAD + (
        f"{MON} 09:55,{MON} 10:30,press,belt\n"
        f"{MON} 13:40,{TUE} 06:30,press,belt\n"
        f"{TUE} 13:40,{TUE} 15:00,press,belt\n"
        f"{TUE} 13:55,{TUE} 13:58,rivet,jam\n"
        f"{MON} 05:30,{MON} 06:10,rivet,jam\n"
    )
    stops, changes = cleaned(tmp_path, text)
    assert stops == [
        ("rivet", "jam", "03-02 06:00", 10, True),
        ("press", "belt", "03-02 09:55", 15, True),
        ("press", "belt", "03-02 13:40", 40, True),
        ("press", "belt", "03-03 13:40", 10, False),
    ]
    assert sorted(changes) == [
        (2, "planned time", "35 min as written, 15 min in planned time"),
        (3, "planned time", "16 h 50 min as written, 40 min in planned time"),
        (
            4,
            "planned time",
            "1 h 20 min as written, 10 min in planned time, ended outside: it lasted at least as long",
        ),
        (5, "planned time", "lies outside planned time; left out"),
        (6, "planned time", "40 min as written, 10 min in planned time"),
    ]


def test_the_period(tmp_path: Path):
    """From the first shift to the last on days with a stop; a night shift is of the day when it begins."""
    path = tmp_path / "log.csv"
    path.write_text(HEAD + f"{MON} 07:00,{MON} 07:01,press,jam\n{TUE} 08:00,{TUE} 08:01,press,jam\n")
    log = clean(read_stop_log(path, CELL), CELL)
    assert [log.axis.text(at) for at in (log.begin, log.end)] == ["2026-03-02 06:00", "2026-03-03 13:50"]
    assert len(log.assumed) == 2
    assert log.shift.between(log.begin, log.end) == 2 * 470 * MINUTE
    assert log.planned["press"].between(log.begin, log.end) == 2 * 450 * MINUTE
    path.write_text(HEAD + f"{TUE} 03:00,{TUE} 03:01,press,jam\n")
    log = clean(read_stop_log(path, NIGHTS), NIGHTS)
    assert [log.axis.text(at) for at in (log.begin, log.end)] == ["2026-03-02 14:00", "2026-03-03 06:00"]


def test_stops_across_the_ends_of_the_period(tmp_path: Path):
    """One that began before it is not counted, one that goes beyond it lasted at least to its end."""
    text = HEAD + (
        f"{MON} 06:50,{MON} 07:10,press,jam\n{MON} 08:00,{MON} 08:10,press,jam\n"
        f"{MON} 08:55,{MON} 09:10,press,jam\n{MON} 09:30,{MON} 09:31,press,jam\n"
    )
    path = tmp_path / "log.csv"
    path.write_text(text)
    read = read_stop_log(path, CELL)
    first, last = (read.stops[0].begin + minutes * MINUTE for minutes in (10, 130))  # 07:00 and 09:00
    log = clean(read, CELL, begin=first, end=last)
    assert [(stop.lines, log.length(stop) / MINUTE, stop.ended) for stop in log.stops] == [
        ((3,), 10, True),
        ((4,), 5, False),
    ]
    assert [(change.line, change.text) for change in log.changes] == [
        (2, "did not begin in the period; left out"),
        (4, "goes beyond the period; it lasted at least to its end"),
        (5, "did not begin in the period; left out"),
    ]
    assert log.assumed == []


def test_names_of_the_log(tmp_path: Path):
    """Other names stand for those of the cell, or are left out."""
    text = HEAD + f"{MON} 07:00,{MON} 07:01,P-100,jam\n{MON} 07:00,{MON} 07:01,Oven,jam\n"
    stops, changes = cleaned(tmp_path, text, read={"renamed": {"p-100": "press", "oven": ""}})
    assert [stop[0] for stop in stops] == ["press"]
    assert changes == [(3, "left out as asked", '"Oven"')]


WRONG = [
    (HEAD + f"{MON} 07:00,{MON} 07:01,pres,jam\n",
     'log.csv:2:3: station: "pres" is no station or robot of the cell; did you mean "press"? say --station'),
    (HEAD + f"{MON} 07:00,{MON} 07:01,mill 3,jam\n", 'log.csv:2:3: station: "mill 3" is no station'),
    (HEAD + f"{MON} 07:00,{MON} 07:01,,jam\n", "log.csv:2:3: station: this cell is empty"),
    (HEAD + f"{MON} 07:00,2026-03-01 07:01,press,jam\n", 'log.csv:2:2: end: "2026-03-01 07:01" is before'),
    (HEAD + f"{MON} 17:00,{MON} 16:00,press,jam\n", "log.csv:2:2: end: "),
    (HEAD + "2026-02-30 07:00,,press,jam\n", 'log.csv:2:1: start: "2026-02-30 07:00": there is no such'),
    (HEAD + "3/4/2026 07:00,,press,jam\n", "could be day or month first; say which with --dates"),
    (HEAD + f",{MON} 07:01,press,jam\n", "log.csv:2:1: start: this cell is empty"),
    (HEAD + f"{MON} 07:00Z,{MON} 07:01,press,jam\n", "has no zone, though others have one"),
    ("start,station\n", 'there is neither a column "end" (to, finish, until, restart, running again, ...)'
     ' nor a column "duration" (length, downtime, lasts, lasted, minutes, ...); the headings are start'),
    ("start,duration,station\n" + f"{MON} 07:00,5,press\n", "the heading says no unit of time"),
    (HEAD, "log.csv holds no stop"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_wrong_logs(text: str, said: str, tmp_path: Path):
    """Each with row and column, or what is missing."""
    with pytest.raises(CellsimError) as caught:
        cleaned(tmp_path, text)
    assert said in str(caught.value)


CALLS = [
    ({}, {"exclude": ["jum"]}, '--exclude: the log has no cause "jum"; did you mean "jam"?'),
    ({}, {"keep": ["starved"]}, '--keep: the log has no cause "starved"'),
    ({"renamed": {"press": "pres"}}, {}, '--station: the cell has no station or robot "pres"'),
    ({"renamed": {"oven": "press"}}, {}, '--station: the log has no station "oven"'),
    ({}, {"exclude": ["jam"]}, "no stop is left"),
    ({}, {"begin": 10**12, "end": 10**12}, "no planned time lies between"),
]


@pytest.mark.parametrize(("read", "how", "said"), CALLS)
def test_wrong_calls(read, how, said: str, tmp_path: Path):
    """What was asked for is not in the log or the cell."""
    with pytest.raises(CellsimError) as caught:
        cleaned(tmp_path, HEAD + f"{MON} 07:00,{MON} 07:01,press,jam\n", read=read, **how)
    assert said in str(caught.value)


def test_a_holiday_is_no_planned_time(tmp_path: Path):
    """What is logged on it is left out, a stop over it is shorter, and less time was watched."""
    path = tmp_path / "log.csv"
    path.write_text(
        HEAD + f"{MON} 13:40,2026-03-04 06:30,press,belt\n{TUE} 08:00,{TUE} 08:01,rivet,jam\n"
        "2026-03-05 07:00,2026-03-05 07:01,press,jam\n"
    )
    stops = read_stop_log(path, CELL)
    axis = stops.axis
    tuesday = (axis.moment(datetime(2026, 3, 3)), axis.moment(datetime(2026, 3, 4)))
    log = clean(stops, CELL, closed=[tuesday])
    assert log.shift.between(log.begin, log.end) == 3 * 470 * MINUTE
    assert [log.length(stop) // MINUTE for stop in log.stops] == [40, 1]
    assert [(change.line, change.text) for change in log.changes if change.line == 3] == [
        (3, "lies outside planned time; left out")
    ]
    morning = (tuesday[0] + 5 * HOUR, tuesday[0] + 7 * HOUR)
    assert log.planned["press"].without([morning]).between(*morning) == 0
    part = clean(stops, CELL, closed=[morning])
    assert part.shift.between(part.begin, part.end) == 4 * 470 * MINUTE - 60 * MINUTE
