"""One exercise worked out: the exact values, what the cell does, and how the prediction compares."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cellsim.classroom.exercise import Exercise, Figure, rows_of
from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.published.replication import Replication
from cellsim.study.broken import stop_if_broken
from cellsim.study.plan import make_plan
from cellsim.study.provenance import versions
from cellsim.study.replicate import replicate, study_of
from cellsim.study.runner import Progress, Runner

FALSE_ALARM = 0.01  # chance that a right program is told it differs anywhere in an exercise, over all seeds
ALIKE = 1e-9  # relative; a figure of a cell without chance is exact but for rounding
NEAR = 0.02  # relative; how near to a typical wrong answer a prediction must be to be taken for it
Key = tuple[str, tuple[str, ...]]
Ran = Mapping[Key, tuple[Cell, list[Record]]]


def work_out(
    exercise: Exercise,
    runner: Runner | None,
    *,
    predicted: float | None = None,
    replications: int | None = None,
    seed: int | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """The answer of an exercise as plain data: question, prediction, figures, source, discussion.

    `runner` is None where nothing is to be run; then figures stand on paper only.  `replications` and `seed`
    are those of each cell where they are not given.

    Raises:
        UsageError: there are fewer replications than a figure needs.
        AuditFailure: a run broke one of its own laws.
        KeyboardInterrupt: somebody stopped it.
    """
    found = {} if runner is None else _run(exercise, runner, replications, seed, progress)
    level = level_for(exercise)
    rows = [_row(figure, found, level) for figure in exercise.figures]
    answer = {
        "number": exercise.number,
        "title": exercise.title,
        "asked": exercise.says("asked"),
        "question": exercise.paragraphs("question"),
        "prediction": None if predicted is None else _judged(exercise, predicted, rows[0]["exact"]),
        "level": level,
        "together": 1 - FALSE_ALARM,
        "figures": rows,
        "source": exercise.source,
        "discussion": exercise.paragraphs("discussion"),
        "cell": exercise.cell_text() if exercise.has_cell else None,
        "provenance": versions() | ({} if runner is None else {"clock": runner.clock}),
    }
    return answer


def _run(
    exercise: Exercise, runner: Runner, replications: int | None, seed: int | None, progress: Progress | None
) -> dict[Key, tuple[Cell, list[Record]]]:
    """The replications of each cell that the figures need."""
    cells = {
        key: load_text(exercise.cell_text(key[0]), f"{key[0] or exercise.file}.yaml", None, list(key[1]))
        for key in rows_of(exercise.figures)
    }
    counts = {key: study_of(cell, replications, seed) for key, cell in cells.items()}
    counts = {key: (1 if without_chance(cells[key]) else n, s) for key, (n, s) in counts.items()}
    least = max(figure.read.least for figure in exercise.figures if figure.read is not None)
    if any(n < least for n, _ in counts.values()):
        raise UsageError(f"exercise {exercise.number} takes at least {least} replications")
    of, done = sum(count for count, _ in counts.values()), 0
    if cells:
        runner.settle_means(next(iter(cells.values())), of)
    found = {}
    for key, cell in cells.items():
        count, number = counts[key]

        def so_far(k: int, _: int, before: int = done) -> None:
            if progress is not None:
                progress(before + k, of)

        study = replicate(runner, cell, number, range(count), progress=so_far)
        if study.interrupted:
            raise KeyboardInterrupt
        stop_if_broken(study.records, number, f"exercise {exercise.number}")
        found[key] = (cell, study.records)
        done += count
    return found


def without_chance(cell: Cell) -> bool:
    """Whether nothing in a cell is left to chance: its file in the classroom asks for one replication."""
    return cell.study.replications == 1


def level_for(exercise: Exercise) -> float:
    """Confidence of each interval so that all of them hold together (the bound of Bonferroni, 1936)."""
    return 1 - FALSE_ALARM / max(1, sum(figure.read is not None for figure in exercise.figures))


def _row(figure: Figure, found: Ran, level: float) -> dict[str, Any]:
    """A figure on paper and, where it was run, as the cell has it."""
    exact = figure.exact()
    row: dict[str, Any] = {
        "key": figure.key,
        "what": figure.words,
        "unit": figure.unit,
        "exact": exact,
        "simulated": None,
        "interval": None,
        "replications": 0,
        "tolerance": figure.tolerance,
        "agrees": None,
    }
    if figure.read is None or not found:
        return row
    values = _values(figure, found[figure.cell, figure.changes])
    others = [] if figure.against is None else _values(figure, found[figure.cell, figure.against])
    told = figure.read.judge(values, others, level)
    row["simulated"], row["replications"] = told.mean, len(values)
    if without_chance(found[figure.cell, figure.changes][0]):
        row["tolerance"] = 0.0
        row["agrees"] = math.isclose(told.mean, exact, rel_tol=ALIKE, abs_tol=ALIKE)
        return row
    if told.low is None or told.high is None:
        return row  # one run cannot tell
    row["interval"] = [told.low, told.high]
    band = figure.tolerance * abs(exact)
    row["agrees"] = told.low - band <= exact <= told.high + band
    return row


def _values(figure: Figure, ran: tuple[Cell, list[Record]]) -> list[float]:
    """The measure of a figure in each replication, in its unit."""
    assert figure.read is not None
    cell, records = ran
    flat, plan = compile_cell(cell), make_plan(cell)
    read = figure.read
    return [
        read.scale * read.measure(Replication(flat, plan, record, read.of))
        for record in sorted(records, key=lambda record: record.replication)
    ]


def _judged(exercise: Exercise, predicted: float, exact: float) -> dict[str, Any]:
    """How far a prediction is off, and what it reveals where it is a typical wrong answer."""
    right = abs(predicted - exact) <= exercise.margin + ALIKE
    near = [
        (abs(predicted - wrong), said)
        for wrong, said in exercise.wrong_answers()
        if abs(predicted - wrong) <= NEAR * abs(wrong)
    ]
    return {
        "value": predicted,
        "unit": exercise.asked.unit,
        "off": None if exact == 0 else predicted / exact - 1,
        "margin": exercise.margin,
        "right": right,
        "reveals": None if right or not near else min(near)[1],
    }
