"""Shifts, posts, robots and zones in a resolved file."""

from __future__ import annotations

from cellsim.describe.cell import Mispicks, Post, Robot, Shift, Zone
from cellsim.describe.kinds import DAYS
from cellsim.describe.spec_robots import FIXED_SEQUENCE
from cellsim.describe.writer_text import Value
from cellsim.describe.writer_work import law_value, needs_value, power_keys, stop_keys, yes_no
from cellsim.units import format_clock, format_number, format_ratio, format_time


def shift_value(shift: Shift) -> dict[str, Value]:
    """A shift by its keys."""
    return {
        "from": format_clock(shift.start),
        "to": format_clock(shift.end),
        "days": [DAYS[day] for day in shift.days],
        "breaks": _breaks(shift.breaks),
        "start_up": format_time(shift.start_up),
        "clean_up": format_time(shift.clean_up),
        "at_end": shift.at_end,
        "hand_over": format_time(shift.hand_over),
    }


def _breaks(breaks: tuple[tuple[int, int], ...]) -> list[Value]:
    return [{"at": format_clock(at), "for": format_time(length)} for at, length in breaks]


def post_value(post: Post, with_shifts: bool) -> dict[str, Value]:
    """A post by its keys."""
    value: dict[str, Value] = {"people": str(post.people)}
    levels = dict(post.levels)
    value["skills"] = {
        skill: f"level {levels[skill]}" if skill in levels else format_number(factor)
        for skill, factor in post.skills
    }
    if post.level:
        value["level"] = str(post.level)
    if with_shifts:
        value["shift"] = list(post.shifts)
        value["absent"] = format_ratio(post.absent)
    value |= {"serves": list(post.serves), "overtaking": yes_no(post.overtaking), "at_break": post.at_break}
    return value | _stands(post) | _team(post)


def _team(post: Post) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if post.breaks is not None:
        value["breaks"] = _breaks(post.breaks)
    if post.relieves:
        value["relieves"] = list(post.relieves)
    if post.stands_in_for:
        value["stands_in_for"] = list(post.stands_in_for)
    if post.learning is not None:
        value["learning"] = {
            "rate": format_ratio(post.learning.rate),
            "standard_after": str(post.learning.standard_after),
            "has_done": str(post.learning.has_done),
        }
    if post.response is not None:
        value["response"] = law_value(post.response)
    if post.called_out is not None:
        value["called_out"] = format_time(post.called_out)
    if post.rotates is not None:
        value["rotates"] = {
            "every": format_time(post.rotates.every),
            "among": [list(group) for group in post.rotates.among],
        }
    return value


def robot_value(robot: Robot) -> dict[str, Value]:
    """A robot by its keys."""
    value: dict[str, Value] = {
        "serves": FIXED_SEQUENCE if robot.fixed_sequence else list(robot.serves),
        "gripper": "double" if robot.double_gripper else "single",
    }
    if robot.moves:
        value["moves"] = [f"{move.start} > {move.end}" for move in robot.moves]
        value["checks_target"] = yes_no(robot.checks_target)
    if robot.pick is not None and robot.place is not None:
        value |= {"pick": law_value(robot.pick), "place": law_value(robot.place)}
    if robot.grippers:
        value["grippers"] = dict(robot.grippers)
        value["gripper_change"] = format_time(robot.gripper_change)
    if robot.mispicks is not None:
        value["mispicks"] = _mispicks(robot.mispicks)
    if robot.speed != 1:
        value["speed_setting"] = format_ratio(robot.speed)
    if robot.recovery is not None:
        value["recovery"] = {"time": law_value(robot.recovery.time), "by": needs_value(robot.recovery.by)}
    if robot.fetches_ahead:
        value["fetches_ahead"] = "yes"
    return value | _stands(robot) | stop_keys(robot.stops) | power_keys(robot.power)


def _mispicks(mispicks: Mispicks) -> dict[str, Value]:
    return {
        "share": format_ratio(mispicks.share),
        "retry": format_time(mispicks.retry),
        "works": format_ratio(mispicks.works),
        "retries": str(mispicks.retries),
        "then": {"by": needs_value(mispicks.by), "time": law_value(mispicks.time)},
    }


def zone_value(zone: Zone) -> dict[str, Value]:
    """A zone by its keys."""
    value: dict[str, Value] = {"robots": list(zone.robots), "people_at": list(zone.people_at)}
    if zone.speed:
        return value | {"inside": f"slows to {format_ratio(zone.speed)}"}
    return value | {"inside": "stops", "restart": format_time(zone.restart)}


def _stands(one: Post | Robot) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if one.listed:
        value["order"] = list(one.listed)
    if one.travel:
        value["travel"] = {f"{start} > {end}": format_time(time) for start, end, time in one.travel}
    if one.starts_at:
        value["starts_at"] = one.starts_at
    return value
