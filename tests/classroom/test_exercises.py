"""The exercises: exact values against hand and print, cells against exact values, texts, predictions."""

from __future__ import annotations

from dataclasses import replace

import pytest
from known_answers import BY_HAND

import cellsim
from cellsim.classroom import trial
from cellsim.classroom.answers_lines import ONE_BUFFER
from cellsim.classroom.answers_people import ROBOT
from cellsim.classroom.exercise import HEAD, PARTS, Exercise, parts_of, value_of
from cellsim.classroom.readings import mean_of, times_the_runs
from cellsim.classroom.table import EXERCISES, exercise_numbered, teachers_page
from cellsim.errors import UsageError
from cellsim.study.means import means

each = pytest.mark.parametrize("exercise", EXERCISES, ids=lambda exercise: exercise.file)


@pytest.fixture(scope="module")
def runner():
    """One runner for all, so that the compiled rules are loaded once."""
    with means(workers=1) as opened:
        yield opened


def test_numbers_and_titles():
    """At least sixteen, numbered from 1 without a gap, no title twice."""
    assert [exercise.number for exercise in EXERCISES] == list(range(1, len(EXERCISES) + 1))
    assert len(EXERCISES) >= 16
    assert len({exercise.title for exercise in EXERCISES}) == len(EXERCISES)
    with pytest.raises(UsageError, match=f"no exercise 99; the exercises are 1 to {len(EXERCISES)}"):
        exercise_numbered(99)


@each
def test_exact_values_are_those_of_hand_and_print(exercise: Exercise):
    """Every value with a known answer, and what is asked always has one."""
    known = BY_HAND[exercise.number]
    assert exercise.asked.key in known
    for name, (value, rounding) in known.items():
        assert exercise.numbers[name] == pytest.approx(value, rel=0, abs=rounding + 1e-9 * abs(value)), name


@each
def test_the_cell_agrees_with_the_exact_values(exercise: Exercise, runner):
    """Simulated and exact: a false alarm in 1 of 100 seeds for each exercise; seeds stand in the files."""
    if not exercise.needs_run:
        assert all(row["simulated"] is None for row in trial.work_out(exercise, None)["figures"])
        return
    answer = trial.work_out(exercise, runner)
    for row in answer["figures"]:
        assert row["agrees"] in (True, None), row
    first = answer["figures"][0]
    assert first["replications"] >= 1
    if first["interval"]:  # sharp enough to tell what is asked from every usual mistake
        low, high = first["interval"]
        assert not any(low <= wrong <= high for wrong, _ in exercise.wrong_answers())


@pytest.mark.parametrize(
    ("number", "key", "factor"),
    [(2, "places_10", 1.02), (3, "none", 0.98), (4, "six", 1.02), (13, "last", 1.1), (18, "pushed", 1.05)],
)
def test_a_wrong_exact_value_does_not_agree(number, key, factor, runner):
    """The comparison can fail: a value that is off by a few per cent is told."""
    exercise = exercise_numbered(number)
    (right,) = [figure for figure in exercise.figures if figure.key == key]
    wrong = replace(right, exact=lambda: factor * right.exact())
    found = trial._run(replace(exercise, figures=(wrong,)), runner, None, None, None)
    level = trial.level_for(exercise)
    assert trial._row(right, found, level)["agrees"] is True
    assert trial._row(wrong, found, level)["agrees"] is False


@each
def test_texts_are_whole(exercise: Exercise):
    """Head and parts are there, numbers are filled in, and the question does not give the answer away."""
    for part in PARTS:
        said = exercise.says(part) if part != "wrong" else str(exercise.wrong_answers())
        assert len(said) > 20
        assert "{asked" not in said
    assert 10 <= exercise.minutes <= 45
    assert exercise.says("asked").endswith((")", "?"))
    assert set(exercise._text) == {*HEAD, *PARTS}


@each
def test_wrong_answers_are_wrong(exercise: Exercise):
    """No usual mistake counts as right, and each is told from the others."""
    wrong = exercise.wrong_answers()
    assert wrong
    for value, reveals in wrong:
        judged = trial._judged(exercise, value, exercise.asked.exact())
        assert not judged["right"], value
        assert judged["reveals"] == reveals
    right = trial._judged(exercise, exercise.asked.exact(), exercise.asked.exact())
    assert right["right"] and right["reveals"] is None


def test_every_cell_of_the_classroom_is_used_and_short():
    """No file lies about, every file fits a screen."""
    from importlib.resources import files

    folder = files("cellsim.classroom") / "exercises"
    there = {entry.name for entry in folder.iterdir()}
    used = {f"{e.file}.txt" for e in EXERCISES} | {f"{e.file}.yaml" for e in EXERCISES if e.has_cell}
    used |= {f"{figure.cell}.yaml" for e in EXERCISES for figure in e.figures if figure.cell}
    assert there == used
    for name in there:
        if name.endswith(".yaml"):
            lines = (folder / name).read_text(encoding="utf-8").splitlines()
            assert max(map(len, lines)) <= 78 and len(lines) <= 30, name


def test_a_text_without_a_part_is_refused():
    """A text that lacks a part says which."""
    with pytest.raises(ValueError, match="wanted are"):
        parts_of("title: t\n== question\nWhy?\n")


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("120 per h", "per h", 120),
        ("2 per min", "per h", 120),
        ("0 per h", "per h", 0),
        ("0/h", "per h", 0),
        ("1 min", "s", 60),
        ("45 s", "min", 0.75),
        ("44.7 %", "%", 44.7),
        ("447 per 1000", "%", 44.7),
        ("38 units", "units", 38),
        ("38", "units", 38),
        ("1 unit", "units", 1),
        ("13 points", "points", 13),
    ],
)
def test_predictions_are_read_with_their_units(text, unit, value):
    """Other units of the same kind are turned into that of the question."""
    assert value_of(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("120", "per h"), ("120 s", "per h"), ("900 per shift", "per h"), ("30", "s"), ("0.4", "%"),
     ("140 %", "%"), ("many", "units"), ("3 s", "units"), ("", "per h")],
)  # fmt: skip
def test_a_prediction_that_cannot_be_read_says_how_to_write_it(text, unit):
    """A number without its unit, with another one, or no number."""
    with pytest.raises(UsageError, match="a prediction looks like"):
        value_of(text, unit)


def test_a_usual_mistake_is_named():
    """Somebody near the output of one bench alone is told what he forgot; somebody elsewhere is not."""
    exact = ONE_BUFFER.asked.exact()
    told = trial._judged(ONE_BUFFER, 126.0, exact)
    assert not told["right"] and "vary" in told["reveals"]
    assert told["off"] == pytest.approx(126 / exact - 1)
    assert trial._judged(ONE_BUFFER, 90.0, exact)["reveals"] is None


def test_shared_luck_by_hand():
    """Paired differences 1, 1, 3, 3 (variance 4 / 3) and others of 10 - 2 and 14 - 0 (variance 18): 13.5."""
    values = [1.0, 1.0, 3.0, 3.0, 10.0, 99.0, 14.0, 99.0]
    others = [0.0, 0.0, 0.0, 0.0, 99.0, 2.0, 99.0, 0.0]
    told = times_the_runs(values, others, 0.95)
    assert told.mean == pytest.approx(18 / (4 / 3))
    # F law with 1 and 3 degrees of freedom: 17.44 above; the 2.5 % point is 1 over that of 3 and 1, 864.2
    assert told.low == pytest.approx(13.5 / 17.44, rel=1e-3)
    assert told.high == pytest.approx(13.5 * 864.16, rel=1e-3)


def test_one_replication_has_no_interval():
    """What chance does not touch is compared as it is."""
    assert mean_of([3.0], [], 0.99).low is None


def test_a_robot_that_does_not_look_locks_the_cell():
    """What the discussion of the robot says: the circle is named."""
    cell = cellsim.load_text(
        ROBOT.cell_text(), changes=["robots.R.checks_target: no", "robots.R.serves: longest waiting"]
    )
    locked = cellsim.run(cell)["locked"]
    assert locked[0]["circle"] == ["M1 has finished and waits for R", "R holds a unit for M1"]


def test_constant_stops_are_covered_better():
    """What the discussion of the tray says: some 116 an hour with constant stops and ten places."""
    text = ONE_BUFFER.cell_text().replace(
        "every: 20 min of running, lasts: 4 min, law: exponential",
        "every: {law: exponential, mean: 20 min, of: running}, lasts: {law: fixed, time: 4 min}",
    )
    found = cellsim.run(cellsim.load_text(text))["output_per_hour"]
    low, high = found["interval"]
    assert 115.5 < low < high < 117


def test_the_teachers_page_has_everything():
    """Aim, answer, mistakes and what to vary of each exercise; further figures are all others."""
    rows = teachers_page()
    assert [row["number"] for row in rows] == [exercise.number for exercise in EXERCISES]
    for row, exercise in zip(rows, EXERCISES, strict=True):
        assert row["answer"] == exercise.asked.exact()
        assert len(row["further"]) == len(exercise.figures) - 1
        assert row["aim"] and row["vary"] and row["wrong"]
