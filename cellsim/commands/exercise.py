"""The command exercise."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cellsim.commands.common import (
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    Whole,
    new_file,
    next_step,
    progress_bar,
    stopped_in_words,
    with_means,
    write_answer,
    write_new,
)
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from cellsim.classroom.exercise import Exercise


@click.command(short_help="for a class: predict, run, compare with the exact answer")
@click.argument("number", type=Whole(1), required=False)
@click.option(
    "--predict", metavar="VALUE", help="Your prediction with its unit, such as '110 per h' or '70 %'."
)
@click.option("--solution", is_flag=True, help="Show the answer without a prediction.")
@click.option(
    "--teacher",
    is_flag=True,
    help="Print the teacher's page of this exercise, or of all: aims, answers, usual mistakes, what to vary.",
)
@click.option(
    "--cell",
    "cell_file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the cell file of the exercise, to work on with it.",
)
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def exercise(
    number: int | None,
    predict: str | None,
    solution: bool,
    teacher: bool,
    cell_file: Path | None,
    replications: int | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """List the exercises, or ask one: a question and a small cell, your prediction, a run, the exact answer.

    In a terminal the prediction is asked for; elsewhere give it with --predict.

    \b
    Examples:
      cellsim exercise
      cellsim exercise 2 --predict "120 per h"
    """
    from cellsim.classroom.table import EXERCISES, exercise_numbered, listing, question_of, teachers_page
    from cellsim.study.provenance import versions

    if predict is not None and (solution or teacher):
        raise UsageError("--predict is the student's, --solution and --teacher are the teacher's; give one")
    if number is None and (predict is not None or solution or cell_file is not None):
        raise UsageError("name the exercise, as in: cellsim exercise 2")
    silent = quiet or str(json_file) == "-"
    if teacher or number is None:
        chosen = EXERCISES if number is None else [exercise_numbered(number)]
        rows = teachers_page(chosen) if teacher else listing()
        write_answer({"exercises": rows, "provenance": versions()}, json_file)
        if not silent:
            _print("print_teacher" if teacher else "print_listing", rows)
        return
    chosen_one = exercise_numbered(number)
    if cell_file is not None:
        _write_cell(chosen_one, cell_file, silent)
        if predict is None and not solution:
            return
    guess = None if predict is None else chosen_one.predicted(predict)
    question = question_of(chosen_one)
    if not silent:
        _print("print_question", question)
    if guess is None and not solution:
        if not (sys.stdin.isatty() and sys.stdout.isatty()) or silent:
            write_answer(question | {"provenance": versions()}, json_file)
            if not silent:
                _print("how_to_answer", question)
            return
        guess = _asked(chosen_one, question)
    with stopped_in_words():
        answer = _worked_out(chosen_one, guess, means, silent, replications, seed)
    write_answer(answer, json_file)
    if not silent:
        _print("print_worked", answer)
        if number < EXERCISES[-1].number:
            next_step("exercise", number + 1)


def _worked_out(
    chosen: Exercise,
    guess: float | None,
    means: Means,
    silent: bool,
    replications: int | None,
    seed: int | None,
) -> dict[str, Any]:
    """The answer of an exercise, after its runs where it has any."""
    from cellsim.classroom.trial import work_out

    if not chosen.needs_run:
        return work_out(chosen, None, predicted=guess)
    with means.open(silent) as runner, progress_bar(1, silent) as progress:
        return work_out(
            chosen, runner, predicted=guess, replications=replications, seed=seed, progress=progress
        )


def _asked(chosen: Exercise, question: dict[str, Any]) -> float:
    """The prediction of whoever sits at the terminal, asked for again while it cannot be read."""

    def read(text: str) -> float:
        try:
            return chosen.predicted(text)
        except UsageError as error:
            raise click.BadParameter(str(error)) from None

    return float(click.prompt(f"Your prediction, like {question['answer_like']}", value_proc=read))


def _write_cell(chosen: Exercise, file: Path, silent: bool) -> None:
    """Write the cell file of an exercise to a file that is not there yet.

    Raises:
        UsageError: the exercise has none, or the file cannot be made.
    """
    if not chosen.has_cell:
        raise UsageError(f"exercise {chosen.number} has no cell file: it is worked out on paper")
    new_file(file, "--cell")
    write_new(file, chosen.cell_text())
    if not silent:
        click.echo(f"Cell file: {file}")
        next_step("run", file)


def _print(name: str, shown: Any) -> None:
    from rich.console import Console

    from cellsim.show import taught

    getattr(taught, name)(shown, Console())
