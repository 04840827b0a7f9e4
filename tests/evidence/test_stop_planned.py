"""Planned stops of a log are put apart, in their rhythm; what was excluded is no wait."""

from __future__ import annotations

from pathlib import Path

import pytest
from plant_logs import PLANT, changes, printed, rows_at, study

from cellsim.errors import CellsimError, DescriptionError
from cellsim.evidence.stop_words import planned_work


def test_stops_marked_as_planned_are_put_apart(tmp_path: Path):
    """Three maintenances by the column `Planned?`: two of 30 min on Wednesdays at 06:00, one of 20 min."""
    found = study(tmp_path, PLANT, people={"M": "mechanic"})
    assert {cause.cause for cause in found.causes} == {"rivet jam", "ram sticks"}
    one, weekly = found.planned
    assert (one.station, one.count, one.planned_s, one.at, one.every_h) == ("press", 1, 1200, [], None)
    assert (weekly.station, weekly.count, weekly.planned_s, weekly.lasts_s) == ("rivet", 2, 3600, 1800)
    assert (weekly.at, weekly.by, weekly.belongs) == (["Wed 06:00"], "mechanic", "service")
    assert [line for line, _ in changes(found, "planned stop")] == [4, 5, 7]
    told = printed(tmp_path, PLANT, "--person", "M=mechanic")
    assert "rivet, maintenance: 2 stops, 1 h of planned time, Wed 06:00; it is a service in" in told
    assert "press, maintenance: 1 stop, 20 min of planned time; one shows no rhythm." in told
    assert 'service: {maintenance: {at: "Tue 06:00", lasts: 20 min, by: mechanic}}' in told


def test_a_column_of_planned_says_yes_or_no(tmp_path: Path):
    """`no` keeps maintenance a stop, an empty cell leaves it to the words; other words are told once."""
    text = "start,end,station,cause,scheduled\n" + "".join(
        f"2026-11-0{day} 07:00,2026-11-0{day} 07:10,press,maintenance,{word}\n"
        for day, word in ((2, "no"), (3, ""), (4, "JA"), (5, "1"))
    )
    found = study(tmp_path, text)
    assert [(cause.cause, cause.count) for cause in found.causes] == [("maintenance", 1)]
    assert [text.split(", ")[1].split(";")[0] for _, text in changes(found, "planned stop")] == [
        "by its words", 'by "scheduled"', 'by "scheduled"',
    ]  # fmt: skip
    waits = study(tmp_path, text + "2026-11-06 07:00,2026-11-06 07:10,press,starved,no\n")
    assert waits.left == [("starved", 1, 600)]
    with pytest.raises(DescriptionError) as caught:
        study(tmp_path, text.replace(",no\n", ",perhaps\n").replace(",1\n", ",perhaps\n"))
    assert [mistake.message for mistake in caught.value.mistakes] == ['"perhaps" is neither yes nor no']


@pytest.mark.parametrize(
    ("cause", "kind", "sure"),
    [("maintenance", "service", True), ("Planned maintenance", "service", True),
     ("weekly cleaning", "service", True), ("Lubrication", "service", True), ("service", "service", True),
     ("changeover", "changeover", True), ("set-up", "changeover", True),
     ("setup and cleaning", "service", True), ("sensor cleaning", "service", False),
     ("setup error", "changeover", False), ("unplanned maintenance", None, False),
     ("self-serviced", None, False), ("maintenances", None, False), ("rivet jam", None, False)],
)  # fmt: skip
def test_words_of_planned_work(cause: str, kind: str | None, sure: bool):
    """Whole words; with other words beside them it may be a failure."""
    assert planned_work(cause) == (kind, sure)


def test_what_may_be_planned_is_asked_about_and_settled_by_an_option(tmp_path: Path):
    """`sensor cleaning` stays a random stop until --planned; --keep settles that it is one."""
    text = rows_at(["2026-11-02 07:00", "2026-11-03 08:00"], cause="sensor cleaning")
    asked = study(tmp_path, text)
    assert [cause.count for cause in asked.causes] == [2]
    assert asked.cautions[0] == (
        '"sensor cleaning" (2) may be planned work or a failure: it counts as a random stop. --planned'
        ' "sensor cleaning" puts it apart, --keep "sensor cleaning" settles that it is none.'
    )
    assert not any(
        "cleaning" in text for text in study(tmp_path, text, keep=["sensor cleaning"]).cautions[:-1]
    )
    both = text + "2026-11-04 07:00,2026-11-04 07:10,press,belt\n"
    assert [row.count for row in study(tmp_path, both, planned=["Sensor  cleaning"]).planned] == [2]
    kept = study(tmp_path, rows_at(["2026-11-02 07:00"], cause="cleaning"), keep=["cleaning"])
    assert (len(kept.causes), kept.planned) == (1, [])
    marked = "start,end,station,cause,planned\n" + (
        "2026-11-02 07:00,2026-11-02 07:10,press,filter,yes\n"
        "2026-11-03 07:00,2026-11-03 07:10,press,filter,\n"
    )
    assert "marked as planned in some lines and in 1 not" in study(tmp_path, marked).cautions[0]
    with pytest.raises(CellsimError, match='--planned: the log has no cause "belz"; did you mean "belt"'):
        study(tmp_path, both, planned=["belz"])
    with pytest.raises(CellsimError, match='--planned: "belt" stands in --exclude too'):
        study(tmp_path, both, planned=["belt"], exclude=["belt"])


RHYTHMS = [
    (["02 06:00", "03 06:00", "04 06:05", "05 06:00", "06 06:00"], ["06:00"], None),
    (["02 06:00", "02 12:00", "09 06:00", "09 12:05"], ["Mon 06:00", "Mon 12:02"], None),
    (["02 06:00", "04 06:00", "09 06:00", "11 06:00"], ["Mon 06:00", "Wed 06:00"], None),
    (["03 06:00"], [], None),  # once
    (["02 06:00", "09 09:30"], [], None),  # two times of day
    (["02 06:00", "16 06:00"], [], None),  # not every Monday
    (["02 06:10", "04 07:10", "06 07:40", "10 08:00"], [], 16.4),  # about every 16.5 h of on time
]


@pytest.mark.parametrize(("starts", "at", "every"), RHYTHMS)
def test_a_rhythm_is_found_only_where_it_is_plain(starts, at, every, tmp_path: Path):
    """Days of November 2026, whose 2nd is a Monday."""
    text = rows_at([f"2026-11-{start}" for start in starts], cause="greasing")
    found = study(tmp_path, text + "2026-11-02 07:00,2026-11-02 07:10,rivet,belt\n")
    (planned,) = found.planned
    assert planned.at == at
    assert planned.every_h == (None if every is None else pytest.approx(every, rel=0.02))


def test_changeovers_and_breaks_are_no_services(tmp_path: Path):
    """Each is told with where it belongs and a line."""
    text = rows_at(["2026-11-02 07:00"], cause="changeover") + (
        "2026-11-03 07:00,2026-11-03 07:30,press,Team meeting\n2026-11-04 07:00,2026-11-04 07:10,press,belt\n"
    )
    told = printed(tmp_path, text)
    assert "As a changeover: changeover: {time: 10 min}" in told
    assert "A break belongs to its shift: breaks: [{at: 07:00, for: 30 min}]" in told
    assert "service:" not in told.split("For the cell file")[1]


def test_what_was_excluded_is_no_wait(tmp_path: Path):
    """Left out as asked stands apart from waits, which the simulation finds."""
    text = rows_at(["2026-11-02 07:00"], cause="wet floor") + (
        "2026-11-03 07:00,2026-11-03 07:30,press,starved\n2026-11-04 07:00,2026-11-04 07:10,press,belt\n"
    )
    told = printed(tmp_path, text, "--exclude", "wet floor")
    waits, asked = told.split("Left out as asked; this time is in nobody's figures now")
    assert "(--keep CAUSE keeps one) starved: 1 row, 30 min" in waits
    assert asked.lstrip().startswith("wet floor: 1 row, 10 min")
    assert study(tmp_path, text, exclude=["wet floor"]).left == [("starved", 1, 1800)]
