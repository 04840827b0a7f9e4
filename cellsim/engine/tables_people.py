"""Persons and robots, where they can stand, and who can do what."""

from __future__ import annotations

from typing import Any

from cellsim.describe.cell import Robot
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


def add_zones(flat: FlatCell) -> None:
    """The zones in natural order of their names, and the names of all grippers."""
    for zone in sorted(flat.cell.zones, key=lambda zone: natural(zone.name)):
        row = L.ROWS["zone"]()
        row.speed, row.restart = zone.speed, zone.restart
        row.cause = flat.cause(zone.name, "restart after people")
        flat.state.zones.append(row)
        flat.names.zones.append(zone.name)
    flat.state.zone_count = len(flat.state.zones)
    grippers = {gripper for robot in flat.cell.robots for _, gripper in robot.grippers}
    flat.names.grippers = sorted(grippers, key=natural)
    flat.state.changing_grippers = int(len(grippers) > 1)


def _add_robot_traits(flat: FlatCell, actor: Any, robot: Robot) -> None:
    actor.slowness = 1 / robot.speed
    actor.fixed = int(robot.fixed_sequence)
    actor.gripper_change = robot.gripper_change
    actor.change_cause = flat.cause(robot.name, "changing gripper") if robot.gripper_change else 0
    actor.zones = sum(
        1 << flat.names.zones.index(zone.name) for zone in flat.cell.zones if robot.name in zone.robots
    )
    actor.zone_cause = flat.cause(robot.name, "waiting for zone") if actor.zones else 0
    if robot.mispicks is not None:
        actor.miss_share, actor.miss_retry = robot.mispicks.share, round(robot.mispicks.retry / robot.speed)
        actor.miss_works, actor.miss_retries = robot.mispicks.works, robot.mispicks.retries
        flat.state.mispicking = 1


def add_people(flat: FlatCell) -> None:
    """Persons, robots and shared things in natural order of their names, and who can do what."""
    c, names = flat.state, flat.names
    everyone: list[tuple[str, Any, int]] = []  # name, post or robot, number in the post or -1
    for post in flat.cell.posts:
        for k in range(post.people):
            everyone.append((post.name if post.people == 1 else f"{post.name} {k + 1}", post, k))
    everyone += [(robot.name, robot, -1) for robot in flat.cell.robots]
    for thing, count in flat.cell.shared:
        for k in range(count):
            everyone.append((thing if count == 1 else f"{thing} {k + 1}", Robot(thing), -1))
    things = {thing for thing, _ in flat.cell.shared}
    everyone.sort(key=lambda one: natural(one[0]))
    names.skills = every_skill(flat.cell)
    c.skill_count = len(names.skills)
    for name, who, number in everyone:
        actor = L.ROWS["actor"]()
        automatic, is_thing = number < 0, who.name in things
        is_robot = automatic and not is_thing
        factors = {who.name: 1.0} if automatic else abilities_of(flat.cell, who)
        actor.number = number
        actor.robot, actor.job, actor.first_ability = int(is_robot), -1, len(c.abilities)
        actor.called_out = -1
        c.abilities.extend(factors.get(skill, 0.0) for skill in names.skills)
        actor.thing, actor.slowness, actor.pace = int(is_thing), 1.0, 1.0
        actor.gripper = actor.ahead = actor.miss_stop = actor.recovery = -1
        if is_robot:
            _add_robot_traits(flat, actor, who)
        if automatic:
            actor.calendar = flat.calendar(tuple(shift.name for shift in flat.cell.shifts), False)
        else:
            actor.calendar = calendar_of(flat, who)
            actor.at_break = BREAK_RULES[who.at_break]
            actor.responds = int(who.response is not None)
            actor.called_out = -1 if who.called_out is None else who.called_out
            actor.careful = int(actor.at_break == L.DO_NOT_START)
        actor.overtaking = 1 if automatic else int(who.overtaking)
        actor.serves = [CRITERIA[x] for x in (*who.serves, "longest waiting", "downstream first")[:2]]
        travel = who.travel
        if is_robot and who.speed != 1:
            travel = tuple((start, end, round(time / who.speed)) for start, end, time in travel)
        actor.first_travel = flat.travel(travel)
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
