"""Teams as tables: who can do what at which level, who takes whose place, is absent, learns, moves on."""

from __future__ import annotations

import math

from cellsim.describe.cell import Cell, Post
from cellsim.engine import layout as L
from cellsim.engine.calendars import as_the_cell_closes, post_pattern, week_pattern
from cellsim.engine.tables import FlatCell, natural, skill_name

TACIT = "work at "  # a post that changes places has the skill of working at each of them


def _levels(cell: Cell) -> list[tuple[str, int]]:
    """The skills of which elements ask a least level."""
    needs = {need for station in cell.stations for element in station.work for need in element.by}
    return sorted({(need.skill, need.level) for need in needs if need.level})


def every_skill(cell: Cell) -> list[str]:
    """The skills of all posts and robots, each also at the least levels that are asked of it."""
    skills = {name for post in cell.posts for name in (post.name, *(skill for skill, _ in post.skills))}
    skills |= {robot.name for robot in cell.robots} | {thing for thing, _ in cell.shared}
    return sorted(skills | {skill_name(*one) for one in _levels(cell)}, key=natural)


def abilities_of(cell: Cell, post: Post) -> dict[str, float]:
    """The time factors of what the people of a post can do by themselves."""
    factors = {post.name: post.own_factor, **dict(post.skills)}
    levelled = {
        skill_name(skill, level): factors[skill]
        for skill, level in _levels(cell)
        if skill in factors and post.level_of(skill) >= level
    }
    return factors | levelled


def calendar_of(flat: FlatCell, post: Post) -> int:
    """Row of the calendar of the people of a post: that of its shifts unless something is its own."""
    everything = tuple(sorted(flat.cell.shifts, key=lambda shift: natural(shift.name)))
    shifts = tuple(shift for shift in everything if shift.name in post.shifts)
    special = post.breaks is not None or post.absent or post.rotates or any(s.hand_over for s in shifts)
    if not special:
        return flat.calendar(post.shifts)
    cell = week_pattern(everything, flat.start_of_run)
    pattern = as_the_cell_closes(post_pattern(post, shifts, flat.start_of_run), cell)
    return flat.add_calendar(pattern, f"of {post.name}")


def add_reach(flat: FlatCell) -> None:
    """The skills that each person and robot may ever have, places taken included."""
    c, names = flat.state, flat.names
    posts = {post.name: post for post in flat.cell.posts}
    own = {
        names.posts[a]: frozenset(k for k in range(c.skill_count) if c.abilities[actor.first_ability + k] > 0)
        for a, actor in enumerate(c.actors)
    }

    def covered(name: str) -> frozenset[int]:
        others = posts[name].stands_in_for if name in posts else ()
        return own[name].union(*(own[other] for other in others))

    for name in names.posts:
        others = posts[name].relieves if name in posts else ()
        flat.reach.append(covered(name).union(*(covered(other) for other in others)))


def add_teams(flat: FlatCell) -> None:
    """Who takes whose place, who is absent, learns and changes places; after everything else is there."""
    c, names = flat.state, flat.names
    posts = {post.name: post for post in flat.cell.posts}
    c.own_abilities = list(c.abilities)
    helpers: list[list[int]] = [[] for _ in c.actors]
    for a, actor in enumerate(c.actors):
        post = posts.get(names.posts[a])
        if post is None:
            continue
        actor.first_place = len(c.places)
        for others, kind in ((post.relieves, L.RELIEVES), (post.stands_in_for, L.STANDS_IN)):
            for b in (b for b, name in enumerate(names.posts) if name in others):
                row = L.ROWS["place"]()
                row.actor, row.kind = b, kind
                c.places.append(row)
                if a not in helpers[b]:
                    helpers[b].append(a)
        actor.places = len(c.places) - actor.first_place
        if post.absent:
            actor.absence, actor.absence_stream = post.absent, flat.stream(names.actors[a], "absent")
        _add_learning(flat, a, post)
        _add_turns(flat, a, post)
    for a, actor in enumerate(c.actors):
        actor.first_helper, actor.helpers = len(c.helpers), len(helpers[a])
        c.helpers.extend(helpers[a])
    c.abilities_change = int(bool(c.places) or any(actor.turns for actor in c.actors))
    c.learning = int(any(actor.learns for actor in c.actors))
    c.rounds = int(any(actor.rounds for actor in c.actors))
    c.minutes_kept = int(c.abilities_change or c.learning)
    if c.minutes_kept:
        for a, actor in enumerate(c.actors):
            actor.first_minute = a * c.station_count
        c.minutes = [0] * (c.actor_count * c.station_count)


def _add_learning(flat: FlatCell, a: int, post: Post) -> None:
    c, learning = flat.state, post.learning
    if learning is not None:
        actor = c.actors[a]
        actor.learns, actor.learning_power = 1, math.log2(learning.rate)
        actor.standard_after, actor.first_repetition = float(learning.standard_after), len(c.repetitions)
        c.repetitions.extend([learning.has_done] * len(flat.elements))


def _add_turns(flat: FlatCell, a: int, post: Post) -> None:
    """What a person who changes places can do at each of them, and what he can do at first."""
    c, actor, rotation = flat.state, flat.state.actors[a], post.rotates
    if rotation is None:
        return
    count = len(rotation.among)
    actor.turns, actor.first_turn = count, len(c.turn_abilities)
    own = c.abilities[actor.first_ability : actor.first_ability + c.skill_count]
    for turn in range(count):
        here = rotation.among[(actor.number + turn) % count]
        elsewhere = {station for group in rotation.among for station in group} - set(here)
        shut = tuple(TACIT + station for station in elsewhere)
        for k, skill in enumerate(flat.names.skills):
            closed = any(skill == name or skill.startswith(f"{name}, level ") for name in shut)
            c.turn_abilities.append(0.0 if closed else own[k])
    calendar = c.calendars[actor.calendar]
    edges = c.edges[calendar.first_edge : calendar.first_edge + calendar.edges]
    turn = [edge.turn for edge in edges if edge.turn >= 0][-1]
    first = actor.first_turn + turn * c.skill_count
    now = c.turn_abilities[first : first + c.skill_count]
    c.abilities[actor.first_ability : actor.first_ability + c.skill_count] = now
    c.own_abilities[actor.first_ability : actor.first_ability + c.skill_count] = now
