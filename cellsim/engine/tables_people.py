"""Persons and robots, where they can stand, and who can do what."""

from __future__ import annotations

from typing import Any

from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell, natural
from cellsim.engine.tables_teams import abilities_of, add_reach, calendar_of, every_skill

CRITERIA = {
    "longest waiting": L.LONGEST_WAITING,
    "downstream first": L.DOWNSTREAM_FIRST,
    "upstream first": L.UPSTREAM_FIRST,
    "listed order": L.LISTED_ORDER,
    "fixed round": L.FIXED_ROUND,
}
BREAK_RULES = {
    "finish element": L.FINISH_ELEMENT,
    "full length": L.FULL_LENGTH,
    "suspend": L.SUSPEND,
    "do not start": L.DO_NOT_START,
    "hand over": L.PUT_DOWN,
}


def add_points(flat: FlatCell) -> None:
    """Every point that a travel table names."""
    tables = [post.travel for post in flat.cell.posts] + [robot.travel for robot in flat.cell.robots]
    points = {p for table in tables for start, end, _ in table for p in (start, end)}
    flat.names.points = sorted(points, key=natural)
    flat.state.point_count = len(points)


def add_people(flat: FlatCell) -> None:
    """Persons and robots in natural order of their names, and who can do what."""
    c, names = flat.state, flat.names
    everyone: list[tuple[str, Any, int]] = []  # name, post or robot, number in the post or -1
    for post in flat.cell.posts:
        for k in range(post.people):
            everyone.append((post.name if post.people == 1 else f"{post.name} {k + 1}", post, k))
    everyone += [(robot.name, robot, -1) for robot in flat.cell.robots]
    everyone.sort(key=lambda one: natural(one[0]))
    names.skills = every_skill(flat.cell)
    c.skill_count = len(names.skills)
    for name, who, number in everyone:
        actor = L.ROWS["actor"]()
        is_robot = number < 0
        factors = {who.name: 1.0} if is_robot else abilities_of(flat.cell, who)
        actor.number = number
        actor.robot, actor.job, actor.first_ability = int(is_robot), -1, len(c.abilities)
        actor.called_out = -1
        c.abilities.extend(factors.get(skill, 0.0) for skill in names.skills)
        if is_robot:
            actor.calendar = flat.calendar(tuple(shift.name for shift in flat.cell.shifts), False)
        else:
            actor.calendar = calendar_of(flat, who)
            actor.at_break = BREAK_RULES[who.at_break]
            actor.responds = int(who.response is not None)
            actor.called_out = -1 if who.called_out is None else who.called_out
            actor.careful = int(actor.at_break == L.DO_NOT_START)
        actor.overtaking = 1 if is_robot else int(who.overtaking)
        actor.serves = [CRITERIA[x] for x in (*who.serves, "longest waiting", "downstream first")[:2]]
        actor.first_travel = flat.travel(who.travel)
        actor.point = max(0, flat.point(who.starts_at))
        actor.duty = c.calendars[actor.calendar].state
        actor.present = int(actor.duty == L.ON)
        away = {L.BREAK: L.A_BREAK, L.HANDING_OVER: L.A_HANDS_OVER}
        actor.state = L.A_FREE if actor.present else away.get(actor.duty, L.A_OFF)
        actor.travel_cause = flat.cause(who.name, "travelling" if is_robot else "walking")
        c.actors.append(actor)
        names.actors.append(name)
        names.posts.append(who.name)
    c.actor_count = len(c.actors)
    add_reach(flat)
    for k, _ in enumerate(names.skills):
        row = L.ROWS["skill"]()
        row.first_able = len(c.able)
        c.able.extend(a for a in range(c.actor_count) if k in flat.reach[a])
        row.able = len(c.able) - row.first_able
        c.skills.append(row)
