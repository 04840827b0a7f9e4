"""Teams: own breaks, relief, absence and who stands in, learning, change of places."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from cellsim.describe.cell import Learning, Post, Rotation, Shift
from cellsim.describe.fields import Item, Record
from cellsim.describe.making import Making
from cellsim.describe.spec_people import LEARNS, POST
from cellsim.units import DAY, format_clock, format_time, quoted

if TYPE_CHECKING:
    from cellsim.describe.crew import Crew

WEEK = 7 * DAY
Span = tuple[int, int]


def stations_of(making: Making, record: Record) -> list[Item]:
    """The stations that a post attends: those of `works_at`, or all those among which it changes places."""
    if "rotates" not in record:
        return record.get("works_at") or []
    if "works_at" in record.places:
        making.wrong_key(record, "works_at", "rotates says already where they work", "take works_at out")
    groups = record.get("rotates").get("among") or []
    return [item for group in groups for item in group]


def at_one_place(record: Record, people: int) -> int:
    """The most people of a post that changes places who are ever at one of them."""
    groups = len(record.get("rotates").get("among") or [1])
    return -(-people // groups)


def to_team(crew: Crew, name: str) -> dict[str, Any]:
    """The fields of a post that say how its people come, learn and help each other."""
    record, making = crew.posts[name], crew.making
    return {
        "breaks": _breaks(crew, name, record) if "breaks" in record.places else None,
        "relieves": _helped(crew, name, record, "relieves"),
        "stands_in_for": _helped(crew, name, record, "stands_in_for"),
        "absent": _absent(crew, record),
        "learning": _learning(making, record),
        "rotates": _rotation(crew, record),
    }


def _shifts_of(crew: Crew, name: str) -> list[Shift]:
    return [shift for shift in crew.calendar if shift.name in crew.shifts[name]]


def _needs_shifts(crew: Crew, record: Record, key: str) -> bool:
    """Whether the cell has shifts; notes a key that means nothing without them."""
    if not crew.calendar:
        crew.making.wrong_key(record, key, "the cell has no shifts", "add shifts")
    return bool(crew.calendar)


def _breaks(crew: Crew, name: str, record: Record) -> tuple[Span, ...]:
    """The breaks of a post as (time of day, length), each inside at least one of its shifts."""
    if not _needs_shifts(crew, record, "breaks"):
        return ()
    shifts = _shifts_of(crew, name)
    found: list[tuple[int, int, Record]] = []
    for given in record.get("breaks") or []:
        if "at" not in given or "for" not in given:
            continue
        at, length = given.get("at").value % DAY, given.get("for").value
        if length <= 0:
            crew.making.wrong_key(given, "for", "a break of no length", "take it out")
        elif not any(_placed(shift, at) + length <= shift.end for shift in shifts):
            times = ", ".join(
                f"{shift.name} from {format_clock(shift.start)} to {format_clock(shift.end)}"
                for shift in shifts
            )
            crew.making.wrong_key(given, "at", f"the break lies inside no shift of this post: {times}")
        else:
            found.append((at, length, given))
    for shift in shifts:
        placed = sorted(((_placed(shift, at), length, given) for at, length, given in found), key=_first_two)
        for (at, length, _), (following, _, later) in pairwise(placed):
            if at + length > following:
                message = f"this break begins before the one at {format_clock(at)} is over"
                crew.making.wrong_key(later, "at", message)
                return ()
    return tuple(sorted((at, length) for at, length, _ in found))


def _first_two(one: tuple[int, int, Record]) -> Span:
    return one[:2]


def _placed(shift: Shift, at: int) -> int:
    """A time of day within a shift, in microseconds after the midnight before its beginning."""
    return at + DAY if at < shift.start else at


def _helped(crew: Crew, name: str, record: Record, key: str) -> tuple[str, ...]:
    """The posts whose place somebody takes; notes names that are none."""
    names: list[str] = []
    for item in record.get(key) or []:
        if item.value not in crew.posts:
            crew.making.unknown(item, "post", crew.posts)
        elif item.value == name:
            crew.making.wrong(item, item.path, "nobody takes his own place")
        elif item.value not in names:
            names.append(item.value)
    return tuple(sorted(names))


def _absent(crew: Crew, record: Record) -> float:
    if "absent" not in record:
        if crew.calendar:
            crew.making.take(POST, record, "absent")
        return 0.0
    share: float = record.get("absent").value
    if share and not _needs_shifts(crew, record, "absent"):
        return 0.0
    if share >= 1:
        crew.making.wrong_key(record, "absent", "nobody would ever come", "take the post out")
    return share


def _learning(making: Making, record: Record) -> Learning | None:
    given = record.get("learning")
    if given is None or "rate" not in given or "standard_after" not in given:
        return None
    done = making.take(LEARNS, given, "has_done")
    return Learning(given.get("rate").value, given.get("standard_after").value, done)


def _rotation(crew: Crew, record: Record) -> Rotation | None:
    given = record.get("rotates")
    if given is None or "every" not in given or "among" not in given:
        return None
    every = given.get("every").value
    if every <= 0:
        crew.making.wrong_key(given, "every", "places would change without end; it must be above zero")
    shortest = min((shift.end - shift.start for shift in crew.calendar), default=0)
    if shortest and every >= shortest:
        message = f"{format_time(every)} are never over: the shortest shift has {format_time(shortest)}"
        crew.making.wrong_key(given, "every", message)
    groups = tuple(tuple(item.value for item in group) for group in given.get("among"))
    if len(groups) < 2:
        crew.making.wrong_key(given, "among", "one place is no change", "name at least two")
    return Rotation(every, groups)


def check_teams(crew: Crew, posts: Iterable[Post]) -> None:
    """Note help that can never come: nobody pauses or is absent, or whoever helps is not there then."""
    named = {post.name: post for post in posts}
    for post in named.values():
        record = crew.posts[post.name]
        for other in post.relieves:
            _check_relief(crew, post, named[other], record)
        for other in post.stands_in_for:
            if not named[other].absent:
                message = f"nobody of {quoted(other)} is ever absent"
                crew.making.wrong_key(record, "stands_in_for", message, f"say absent: 4 % at {other}")
            elif not set(post.shifts) & set(named[other].shifts):
                message = f"{post.name} is never on duty with {other}"
                crew.making.wrong_key(record, "stands_in_for", message, "give them a common shift")


def _check_relief(crew: Crew, post: Post, other: Post, record: Record) -> None:
    pauses = [span for shift in _shifts_of(crew, other.name) for span in other.working_in(shift).breaks]
    if not pauses:
        message = f"nobody of {quoted(other.name)} has a break"
        crew.making.wrong_key(record, "relieves", message, f"give {other.name} breaks")
        return
    there = [span for shift in _shifts_of(crew, post.name) for span in _worked(post.working_in(shift))]
    away = [
        (start + day * DAY, start + length + day * DAY)
        for shift in _shifts_of(crew, other.name)
        for start, length in other.working_in(shift).breaks
        for day in shift.days
    ]
    weeks = [(start + week, end + week) for start, end in there for week in (-WEEK, 0, WEEK)]
    if not any(max(a, c) < min(b, d) for a, b in away for c, d in weeks):
        times = " and ".join(
            f"{format_clock(at % DAY)} to {format_clock((at + length) % DAY)}" for at, length in pauses
        )
        message = f"{post.name} does not work whenever {other.name} is in a break: {times}"
        crew.making.wrong_key(record, "relieves", message, f"give {post.name} other breaks")


def _worked(shift: Shift) -> list[Span]:
    """The spans of work in a shift, in microseconds of the week."""
    edges = [shift.start, *(t for at, length in shift.breaks for t in (at, at + length)), shift.end]
    spans = zip(edges[::2], edges[1::2], strict=True)
    return [(a + day * DAY, b + day * DAY) for a, b in spans for day in shift.days if a < b]
