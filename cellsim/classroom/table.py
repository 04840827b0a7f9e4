"""All exercises, by number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.classroom import answers_lines, answers_people, answers_records, answers_runs
from cellsim.classroom.exercise import Exercise, example
from cellsim.errors import UsageError

EXERCISES: tuple[Exercise, ...] = tuple(
    sorted(
        (
            *answers_lines.EXERCISES,
            *answers_people.EXERCISES,
            *answers_records.EXERCISES,
            *answers_runs.EXERCISES,
        ),
        key=lambda exercise: exercise.number,
    )
)


def exercise_numbered(number: int) -> Exercise:
    """The exercise with a number.

    Raises:
        UsageError: there is none.
    """
    for exercise in EXERCISES:
        if exercise.number == number:
            return exercise
    raise UsageError(f"there is no exercise {number}; the exercises are 1 to {EXERCISES[-1].number}")


def listing() -> list[dict[str, Any]]:
    """What the list of exercises says of each: number, title, what it teaches, minutes, whether it is run."""
    return [
        {
            "number": exercise.number,
            "title": exercise.title,
            "teaches": exercise.teaches,
            "minutes": exercise.minutes,
            "runs": exercise.needs_run,
        }
        for exercise in EXERCISES
    ]


def question_of(exercise: Exercise) -> dict[str, Any]:
    """What the student sees before his prediction."""
    return {
        "number": exercise.number,
        "title": exercise.title,
        "minutes": exercise.minutes,
        "question": exercise.paragraphs("question"),
        "asked": exercise.says("asked"),
        "answer_like": example(exercise.asked.unit),
        "cell": exercise.cell_text() if exercise.has_cell else None,
        "runs": exercise.needs_run,
    }


def teachers_page(exercises: Sequence[Exercise] = EXERCISES) -> list[dict[str, Any]]:
    """What the teacher wants to know of each exercise: aim, time, answers right and wrong, what to vary."""
    return [
        {
            "number": exercise.number,
            "title": exercise.title,
            "minutes": exercise.minutes,
            "aim": exercise.paragraphs("aim"),
            "asked": exercise.says("asked"),
            "unit": exercise.asked.unit,
            "answer": exercise.asked.exact(),
            "margin": exercise.margin,
            "source": exercise.source,
            "further": [
                {"what": figure.words, "unit": figure.unit, "exact": figure.exact()}
                for figure in exercise.figures[1:]
            ],
            "wrong": [{"value": value, "reveals": said} for value, said in exercise.wrong_answers()],
            "vary": exercise.paragraphs("vary"),
        }
        for exercise in exercises
    ]
