"""The errands of robots: their moves from place to place, and units fetched ahead."""

from __future__ import annotations

from typing import Any

from cellsim.describe.cell import Element, Move, Need, Robot
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell, natural
from cellsim.engine.tables_stations import STEP, add_step


def add_errands(flat: FlatCell) -> None:
    """The moves of each robot in the order given, and the fetching ahead, robots in order of name."""
    c, names = flat.state, flat.names
    c.thing_count = len(flat.cell.shared)
    for robot in sorted(flat.cell.robots, key=lambda robot: natural(robot.name)):
        a = names.actors.index(robot.name)
        actor = c.actors[a]
        actor.first_errand, actor.errands = len(c.errands), len(robot.moves)
        for move in robot.moves:
            _add_move(flat, robot, a, move)
        if robot.fetches_ahead:
            _add_fetching(flat, robot, a)
    c.errand_count = len(c.errands)


def _add_move(flat: FlatCell, robot: Robot, a: int, move: Move) -> None:
    c, names = flat.state, flat.names
    row = L.ROWS["errand"]()
    row.robot, row.kind, row.checks, row.store = a, L.MOVE, int(robot.checks_target), flat.store(move.store)
    row.from_station = names.stations.index(move.start) if move.start in names.stations else -1
    row.to_station = names.stations.index(move.end) if move.end in names.stations else -1
    row.source = row.target = -1
    row.first_step, row.steps = len(c.steps), 2
    k = row.to_station if row.to_station >= 0 else row.from_station
    gripper = dict(robot.grippers)
    held_at = move.start if move.start in gripper else move.end
    by = (Need(robot.name),)
    name = f"{move.start} > {move.end}"
    for what, law, point, phase, picks in (
        ("pick", robot.pick, move.start, "fetch", 1),
        ("place", robot.place, move.end, "load", 0),
    ):
        assert law is not None  # a robot with moves says how long both take
        element = Element(f"{what}, {name}", law, by, point, phase, picks=picks)  # type: ignore[arg-type]
        stream = flat.stream(robot.name, f"{what} {name}")
        add_step(flat, flat.cell.stations[k], k, element, stream=stream)
        step = c.steps[-1]
        step.at_machine = 0
        step.gripper = names.grippers.index(gripper[held_at]) if held_at in gripper else -1
    c.errands.append(row)
    names.errands.append(name)


def _add_fetching(flat: FlatCell, robot: Robot, a: int) -> None:
    c = flat.state
    for k, station in enumerate(flat.cell.stations):
        if any(need.skill == robot.name for element in station.work for need in element.by):
            row = L.ROWS["errand"]()
            row.robot, row.kind, row.from_station, row.to_station, row.checks = a, L.FETCH_AHEAD, -1, k, 1
            row.source = row.target = -1
            row.store = c.inputs[c.stations[k].first_input].store
            row.first_step = c.stations[k].first_start
            row.steps = sum(element.phase == "fetch" for element in station.work)
            c.stations[k].fetcher, c.stations[k].fetches = len(c.errands) + 1, row.steps
            c.actors[a].ahead = len(c.errands)
            first = c.stations[k].first_machine
            for m in c.machines[first : first + station.machines]:
                m.eager = 1
            c.errands.append(row)
            flat.names.errands.append(f"fetching ahead for {station.name}")


def add_errand_jobs(flat: FlatCell) -> None:
    """The job of each errand; where calls compete it stands with the station that it takes from."""
    c = flat.state
    for e, errand in enumerate(c.errands):
        job: Any = L.ROWS["job"]()
        k = errand.from_station if errand.from_station >= 0 else errand.to_station
        station = c.stations[k]
        rank = c.machines[station.first_machine].rank
        job.priority = station.priority
        job.rank = rank * STEP + (300 if errand.from_station >= 0 else 2) + len(c.errands) - e
        job.place = k * STEP
        job.need, job.needs = c.steps[errand.first_step].first_need, 1
        job.unit = job.held = job.meter = -1
        c.jobs.append(job)
