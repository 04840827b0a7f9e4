"""Studies of records as plain data: what the commands timestudy and stops write with `--json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from cellsim.describe.cell import Cell, Robot, Station
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
    """The study of a stop log of a cell.

    Each cause and planned stop says whether it is one of a station or of a robot (`kind`); `there` says what
    stops, services and responses the cell file has already, by `stations`, `robots` and `crew`.
    """
    answer, robots = asdict(study), {robot.name for robot in cell.robots}
    for row in (*answer["causes"], *answer["planned"]):
        row["kind"] = "robots" if row["station"] in robots else "stations"
    answer["there"] = {
        "stations": {station.name: _there(station) for station in cell.stations},
        "robots": {robot.name: _there(robot) for robot in cell.robots},
        "crew": {post.name: {"response": ["response"]} if post.response else {} for post in cell.posts},
    }
    return answer


def _there(owner: Station | Robot) -> dict[str, list[str]]:
    """Names of the stops and services that a station or robot has."""
    return {
        "stops": [stop.name for stop in owner.stops if not stop.planned],
        "service": [stop.name for stop in owner.stops if stop.planned],
    }
