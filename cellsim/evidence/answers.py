"""Studies of records as plain data: what the commands timestudy and stops write with `--json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.evidence.stop_inputs import StopStudy
from cellsim.evidence.timestudy import TimeStudy


def time_study_answer(study: TimeStudy, allowance: float = 0.0, of_shift: bool = False) -> dict[str, Any]:
    """The study of a stopwatch sheet; `allowance` as it was studied with, `by` who does all if one does."""
    answer = asdict(study)
    for row, element in zip(answer["elements"], study.elements, strict=True):
        row["enough"] = element.enough
    answer["allowance"] = allowance / (1 - allowance) if of_shift else allowance
    posts = {element.by for element in study.elements}
    answer["by"] = (posts.pop() or None) if len(posts) == 1 else None
    return answer


def stop_study_answer(study: StopStudy, cell: Cell) -> dict[str, Any]:
    """The study of a stop log of a cell; each cause says whether it is one of a station or of a robot."""
    answer, robots = asdict(study), {robot.name for robot in cell.robots}
    for row in answer["causes"]:
        row["kind"] = "robots" if row["station"] in robots else "stations"
    return answer
