"""Random cells with service, common causes, scrap after stops, helpers from elsewhere, urgent repairs."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from hypothesis import strategies as st
from small_cells import SECOND, durations, fixed

from cellsim.describe.cell import Cell, Need, Robot, Station, Stop
from cellsim.describe.together import clashes
from cellsim.engine.calendars import start_of_run

Owner = TypeVar("Owner", Station, Robot)
WEEK = 7 * 24 * 3600 * SECOND


def _more(draw: st.DrawFn, stop: Stop, owner: Station | Robot, others: tuple[str, ...]) -> Stop:
    """A stop that may hold others too, scrap units after it and interrupt."""
    whole = stop.clock == "on time" or not isinstance(owner, Station) or owner.machines == 1
    return replace(
        stop,
        interrupts=bool(stop.repaired_by) and draw(st.booleans()),
        restart_scrap=draw(st.integers(0, 2)) if isinstance(owner, Station) else 0,
        after_cycle=stop.part == "continues" and draw(st.booleans()),
        stops_too=tuple(draw(st.lists(st.sampled_from(others), max_size=2, unique=True)))
        if whole and others and draw(st.booleans())
        else (),
    )


def _service(draw: st.DrawFn, cell: Cell, helpers: tuple[str, ...]) -> Stop:
    """A service at one to three times in the first minutes of the run, or every so many cycles or units."""
    by = draw(st.sampled_from(((), *((Need(helper),) for helper in helpers))))
    at = tuple(
        sorted(
            (start_of_run(cell) + second * SECOND) % WEEK
            for second in draw(st.lists(st.integers(0, 140), max_size=3, unique=True))
        )
    )
    clock = draw(st.sampled_from(("cycles", "units", "on time")))
    every = fixed(draw(st.integers(5, 30)))
    if clock != "on time":
        every = replace(every, values=(float(draw(st.integers(1, 5))),))
    priority = draw(st.integers(1, 3))
    return Stop("care", every, clock, draw(durations(0, 5)), by, "continues", priority, planned=True, at=at)


def _alone(owner: Owner) -> Owner:
    """The station or robot with stops that hold nobody else."""
    return replace(owner, stops=tuple(replace(stop, stops_too=()) for stop in owner.stops))


def with_stops(draw: st.DrawFn, cell: Cell) -> Cell:
    """The cell with more to its stops, with services, and with people who come from elsewhere."""
    skills = {skill for post in cell.posts for skill, _ in post.skills}
    helpers = tuple(sorted({post.name for post in cell.posts} | skills))
    names = tuple(sorted([*(s.name for s in cell.stations), *(robot.name for robot in cell.robots)]))

    def changed(owner: Station | Robot) -> tuple[Stop, ...]:
        others = tuple(name for name in names if name != owner.name)
        found = list(owner.stops)
        if draw(st.booleans()):
            found.append(_service(draw, cell, helpers))
        return tuple(_more(draw, stop, owner, others) for stop in found)

    response = draw(durations(0, 6)) if draw(st.booleans()) else None
    out = draw(st.integers(0, 10)) * SECOND if cell.shifts and draw(st.booleans()) else None
    posts = tuple(
        replace(
            post,
            response=response if draw(st.booleans()) else None,
            called_out=out if draw(st.booleans()) else None,
        )
        for post in cell.posts
    )
    stations = tuple(replace(s, stops=changed(s), priority=draw(st.integers(1, 3))) for s in cell.stations)
    robots = tuple(replace(robot, stops=changed(robot)) for robot in cell.robots)
    found = replace(cell, stations=stations, robots=robots, posts=posts)
    if list(clashes(found)):
        stations, robots = tuple(map(_alone, stations)), tuple(map(_alone, robots))
    return replace(found, stations=stations, robots=robots)
