"""Teams mixed into a small cell: levels, breaks, relief, absence, learning, change of places, and more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from hypothesis import strategies as st
from small_cells import SECOND, durations

from cellsim.describe.cell import Cell, Element, Learning, Need, Post, Rotation, Station

Change = Callable[[st.DrawFn, Cell], Cell]


def _with_post(cell: Cell, k: int, **fields: object) -> Cell:
    post = replace(cell.posts[k], **fields)  # type: ignore[arg-type]
    return replace(cell, posts=(*cell.posts[:k], post, *cell.posts[k + 1 :]))


def _with_station(cell: Cell, k: int, station: Station) -> Cell:
    return replace(cell, stations=(*cell.stations[:k], station, *cell.stations[k + 1 :]))


def _some_post(draw: st.DrawFn, cell: Cell) -> int:
    return draw(st.integers(0, len(cell.posts) - 1))


def _others(draw: st.DrawFn, cell: Cell, k: int) -> tuple[str, ...]:
    names = [post.name for post in cell.posts if post is not cell.posts[k]]
    return tuple(sorted(draw(st.lists(st.sampled_from(names), min_size=1, unique=True)))) if names else ()


def levels(draw: st.DrawFn, cell: Cell) -> Cell:
    """Everybody has levels, and one station asks for the second."""
    grade = st.integers(1, 4)
    factors = (1.5, 1.0, 1.0, 0.5)

    def graded(post: Post) -> Post:
        given = tuple((skill, draw(grade)) for skill, _ in sorted(post.skills))
        own = draw(grade)
        skills = tuple((skill, factors[level - 1]) for skill, level in given)
        return replace(post, skills=skills, levels=given, level=own, own_factor=factors[own - 1])

    robots = {robot.name for robot in cell.robots}

    def asking(need: Need) -> Need:
        return need if need.skill in robots else replace(need, level=2)

    k = draw(st.integers(0, len(cell.stations) - 1))
    station = cell.stations[k]
    work = tuple(replace(element, by=tuple(map(asking, element.by))) for element in station.work)
    cell = replace(cell, posts=tuple(map(graded, cell.posts)), levels=factors)
    return _with_station(cell, k, replace(station, work=work))


def inside(draw: st.DrawFn, cell: Cell) -> Cell:
    """One or two elements inside machine time where a machine works alone."""
    k = draw(st.integers(0, len(cell.stations) - 1))
    station = cell.stations[k]
    if not any(element.phase == "work" and not element.by for element in station.work):
        return cell
    by = (Need(cell.posts[_some_post(draw, cell)].name),)
    more = [Element(f"i{x}", draw(durations(0, 6)), by, inside=True) for x in range(draw(st.integers(1, 2)))]
    return _with_station(cell, k, replace(station, work=(*station.work, *more)))


def breaks(draw: st.DrawFn, cell: Cell) -> Cell:
    """Breaks of one post that are its own."""
    if not cell.shifts:
        return cell
    found, at = [], 5
    for _ in range(draw(st.integers(0, 3))):
        at += draw(st.integers(0, 20))
        length = draw(st.integers(1, 8))
        found.append((at * SECOND, length * SECOND))
        at += length
    return _with_post(cell, _some_post(draw, cell), breaks=tuple(found))


def relief(draw: st.DrawFn, cell: Cell) -> Cell:
    """Somebody takes the place of others in their breaks."""
    k = _some_post(draw, cell)
    return _with_post(cell, k, relieves=_others(draw, cell, k))


def absence(draw: st.DrawFn, cell: Cell) -> Cell:
    """Some do not come, somebody stands in."""
    if not cell.shifts:
        return cell
    k = _some_post(draw, cell)
    cell = _with_post(cell, k, stands_in_for=_others(draw, cell, k))
    for x in range(len(cell.posts)):
        cell = _with_post(cell, x, absent=draw(st.sampled_from((0.0, 0.3, 0.7))))
    return cell


def learning(draw: st.DrawFn, cell: Cell) -> Cell:
    """Somebody learns."""
    rate, after = draw(st.sampled_from((0.5, 0.8))), draw(st.integers(1, 6))
    return _with_post(cell, _some_post(draw, cell), learning=Learning(rate, after, draw(st.integers(0, 3))))


def rotation(draw: st.DrawFn, cell: Cell) -> Cell:
    """One post works at the first and the last station in turn, by the skills of working there."""
    k = _some_post(draw, cell)
    post = cell.posts[k]
    names = tuple(dict.fromkeys((cell.stations[0].name, cell.stations[-1].name)))
    needs = [need for station in cell.stations for element in station.work for need in element.by]
    if len(names) < 2 or any(need.skill == post.name and need.people > 1 for need in needs):
        return cell

    def there(station: Station) -> Station:
        if station.name not in names:
            return station
        skill = f"work at {station.name}"
        work = tuple(
            replace(e, by=tuple(replace(n, skill=skill) if n.skill == post.name else n for n in e.by))
            for e in station.work
        )
        return replace(station, work=work)

    skills = tuple(sorted((*post.skills, *((f"work at {name}", post.own_factor) for name in names))))
    rotates = Rotation(draw(st.integers(3, 15)) * SECOND, tuple((name,) for name in names))
    cell = _with_post(cell, k, skills=skills, rotates=rotates)
    return replace(cell, stations=tuple(map(there, cell.stations)))


def rounds(draw: st.DrawFn, cell: Cell) -> Cell:
    """Somebody goes round in a fixed order."""
    return _with_post(cell, _some_post(draw, cell), serves=("fixed round", "longest waiting"))


def hand_over(draw: st.DrawFn, cell: Cell) -> Cell:
    """Teams take over for a while."""
    times = st.integers(0, 6)
    return replace(cell, shifts=tuple(replace(s, hand_over=draw(times) * SECOND) for s in cell.shifts))


def allowance(draw: st.DrawFn, cell: Cell) -> Cell:
    """Basic times, and perhaps a unit at every station at first."""
    start = draw(st.sampled_from(("empty", "primed")))
    stations = tuple(replace(s, allowance=draw(st.sampled_from((0.0, 0.5)))) for s in cell.stations)
    return replace(cell, stations=stations, study=replace(cell.study, start=start))


CHANGES: tuple[Change, ...] = (
    levels, inside, breaks, relief, absence, learning, rotation, rounds, hand_over, allowance,
)  # fmt: skip


def with_people(draw: st.DrawFn, cell: Cell) -> Cell:
    """The cell with some of what only people have, unchanged where nobody works in it."""
    if not cell.posts:
        return cell
    for change in CHANGES:
        if draw(st.booleans()):
            cell = change(draw, cell)
    return cell
