"""Who attends what: posts, robots, their skills, and whom an element needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

from cellsim.describe.cell import Need, Post, Robot, Shift, Station, Stop
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.grades import Grades, grade_post, to_grades
from cellsim.describe.making import Making, natural
from cellsim.describe.shifts import together
from cellsim.describe.spec_people import POST
from cellsim.describe.spec_robots import ROBOT
from cellsim.describe.teams import at_one_place, check_teams, stations_of, to_team
from cellsim.describe.times import to_law
from cellsim.describe.tree import join
from cellsim.describe.ways import Ways, points_of, travel_of
from cellsim.units import quoted

MOST_NEEDS = 8  # different posts, robots or skills that one element needs


@dataclass(slots=True)
class Crew:
    """The people and robots of a cell while they are made."""

    making: Making
    posts: dict[str, Record] = field(default_factory=dict)
    robots: dict[str, Record] = field(default_factory=dict)
    people: dict[str, int] = field(default_factory=dict)
    skills: dict[str, dict[str, float]] = field(default_factory=dict)  # post -> skill -> time factor
    grades: Grades = field(default_factory=Grades)
    calendar: tuple[Shift, ...] = ()
    works_at: dict[str, list[Item]] = field(default_factory=dict)  # post -> stations
    shifts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    on_together: list[frozenset[str]] = field(default_factory=list)
    shared: dict[str, int] = field(default_factory=dict)  # thing that elements use -> how many there are

    def able(self, skill: str, level: int = 0) -> list[str]:
        """The posts and robots that can do `skill` at a least level; each can do what its own name says."""
        posts = [post for post in self.posts if skill == post or skill in self.skills[post]]
        posts = [post for post in posts if self.grades.level_of(post, skill) >= level]
        return posts + [robot for robot in self.robots if robot == skill]

    def legal(self) -> list[str]:
        """Every name that `by` can say."""
        return [*self.posts, *self.robots, *{skill for own in self.skills.values() for skill in own}]


def to_crew(making: Making, top: Record, stations: Iterable[str], shifts: tuple[Shift, ...]) -> Crew:
    """The posts and robots with their skills and shifts; notes names that stand for nothing."""
    crew = Crew(making, on_together=together(shifts), grades=to_grades(making, top), calendar=shifts)
    names = [shift.name for shift in shifts]
    for entry in (top.get("crew") or {}).values():
        _add_post(crew, entry, names)
    for entry in (top.get("robots") or {}).values():
        name = entry.name.value
        crew.robots[name] = entry.value
        if name in crew.posts:
            making.wrong(
                entry.name, entry.name.path, f"{quoted(name)} is the name of a post too; names differ"
            )
    for post, own in crew.skills.items():
        for skill in own:
            if skill in crew.posts or skill in crew.robots:
                record = crew.posts[post]
                making.wrong_key(
                    record, "skills", f"skill {quoted(skill)} has the name of a post or robot; names differ"
                )
    known = set(stations)
    for items in crew.works_at.values():
        for item in items:
            if item.value not in known:
                making.unknown(item, "station", known)
    return crew


def _add_post(crew: Crew, entry: Entry, shifts: list[str]) -> None:
    name, given = entry.name.value, entry.value
    if isinstance(given, list):  # the short form: the stations they work at
        record = Record(entry.name.path, entry.name.line, entry.name.column)
        record.values["works_at"] = given
    else:
        record = given
    crew.posts[name] = record
    crew.people[name] = crew.making.take(POST, record, "people")
    crew.works_at[name] = stations_of(crew.making, record)
    crew.skills[name] = grade_post(crew.grades, crew.making, name, record)
    for item in record.get("shift") or []:
        if item.value not in shifts:
            crew.making.unknown(item, "shift", shifts)
    chosen = {item.value for item in record.get("shift") or []} or set(shifts)
    if "shift" not in record.places and len(shifts) > 1:
        crew.making.assume(
            join(record.path, "shift"), ", ".join(sorted(shifts, key=natural)), "works in every shift"
        )
    crew.shifts[name] = tuple(sorted(chosen, key=natural))


def attending_posts(crew: Crew, station: str) -> list[str]:
    """The posts that name a station in `works_at`."""
    return [post for post, items in crew.works_at.items() if station in {item.value for item in items}]


def shared_skill(station: str) -> str:
    """The skill that several posts get by naming the same station in `works_at`."""
    return f"work at {station}"


def tacit_needs(crew: Crew, station: str) -> tuple[Need, ...]:
    """Who attends a station that does not say so: whoever names it in `works_at`."""
    posts = attending_posts(crew, station)
    if len(posts) < 2 and not any("rotates" in crew.posts[post] for post in posts):
        return tuple(Need(post) for post in posts)
    for post in posts:
        _share(crew, post, station)
    return (Need(shared_skill(station)),)


def _share(crew: Crew, post: str, station: str) -> str:
    """Give a post the skill of working at a station, at the level that it has at what no skill says."""
    skill = shared_skill(station)
    crew.skills[post][skill] = crew.grades.own_factor(post)
    crew.grades.copy_own(post, skill)
    return skill


def _of_place(crew: Crew, item: Item, station: str) -> Item:
    """A post that changes places is at a station only while its turn is there: the station's skill then."""
    post = crew.posts.get(item.value)
    if post is None or "rotates" not in post or item.value not in attending_posts(crew, station):
        return item
    return replace(item, value=_share(crew, item.value, station))


def to_needs(crew: Crew, given: Any, record: Record, key: str, station: str = "") -> tuple[Need, ...]:
    """Who is needed, from a name, a list of names, {name: people}, or nobody; `station` is where."""
    counts: dict[str, int] = {}
    items: list[tuple[Item, int]] = []
    if isinstance(given, Item):
        items = [] if given.value == "nobody" else [(given, 1)]
    elif isinstance(given, list):
        items = [(item, 1) for item in given]
    elif isinstance(given, dict):
        items = [(entry.name, entry.value.value) for entry in given.values()]
    for named, count in items:
        item = _of_place(crew, named, station)
        able = crew.able(item.value)
        if item.value in counts:
            crew.making.wrong(
                item, item.path, f"{quoted(item.value)} stands here twice", f"write {{{item.value}: 2}}"
            )
        elif not able:
            crew.making.unknown(
                item,
                "post, robot or skill",
                crew.legal(),
                f"people stand under crew, as in crew: {{{item.text}: {{}}}}",
            )
        else:
            counts[item.value] = count
            available = sum(crew.people.get(name, 1) for name in able)
            if item is not named:
                available = at_one_place(crew.posts[named.value], available)
            if count > available:
                message = f"{count} are needed who can do {quoted(item.value)}, the cell has {available}"
                crew.making.wrong(item, item.path, message)
                if item is named:
                    return ()
    if len(counts) > MOST_NEEDS:
        crew.making.wrong_key(record, key, f"more than {MOST_NEEDS} different helpers at once")
        return ()
    needs = tuple(Need(skill, counts[skill]) for skill in sorted(counts, key=natural))
    if key == "by":
        needs = at_level(crew, needs, record)
    _check_possible(crew, needs, record, key)
    return needs


def at_level(crew: Crew, needs: tuple[Need, ...], record: Record) -> tuple[Need, ...]:
    """The needs with the least level that the record asks of persons; notes when too few have it."""
    if "level" not in record:
        return needs
    level = record.get("level").value
    persons = [need for need in needs if need.skill not in crew.robots]
    if not persons:
        crew.making.wrong_key(record, "level", "no person attends, and robots have no level")
    for need in persons:
        posts = crew.able(need.skill)
        count = sum(crew.people[post] for post in posts if crew.grades.level_of(post, need.skill) >= level)
        if count < need.people:
            who = ", ".join(f"{post} has level {crew.grades.level_of(post, need.skill)}" for post in posts)
            message = f"{need.people} at level {level} or above are needed who can do {quoted(need.skill)}"
            crew.making.wrong_key(record, "level", f"{message}, the cell has {count} ({who})")
            return ()
        for post in posts:
            crew.grades.take_as_practised(crew.making, post, need.skill)
    return tuple(replace(need, level=level) if need in persons else need for need in needs)


def _check_possible(crew: Crew, needs: tuple[Need, ...], record: Record, key: str) -> None:
    """Note needs that can never be met: too few people for all of them, or never on duty together."""
    if not needs:
        return
    if not _can_meet(crew, needs, None):
        names = " and ".join(need.skill for need in needs)
        crew.making.wrong_key(record, key, f"the cell has too few people for {names} at the same time")
    elif crew.on_together and not any(_can_meet(crew, needs, on) for on in crew.on_together):
        duties = ", ".join(
            f"{name} ({' and '.join(crew.shifts[name])})"
            for need in needs
            for name in crew.able(need.skill, need.level)
            if name in crew.shifts
        )
        crew.making.wrong_key(record, key, f"these are never on duty together: {duties}")


def _can_meet(crew: Crew, needs: tuple[Need, ...], on: frozenset[str] | None) -> bool:
    """Whether the people on duty in the shifts `on` (None: everybody) are enough for all needs at once.

    They are if each choice of needs has people enough among all who can do any of them (Hall 1935, Journal of
    the London Mathematical Society 10, 26-30).
    """
    free = {post: n for post, n in crew.people.items() if on is None or on & set(crew.shifts[post])}
    free |= dict.fromkeys(crew.robots, 1)
    able = {n.skill: {name for name in crew.able(n.skill, n.level) if name in free} for n in needs}
    for size in range(1, len(needs) + 1):
        for chosen in combinations(needs, size):
            hands = set().union(*(able[need.skill] for need in chosen))
            if sum(need.people for need in chosen) > sum(free[name] for name in hands):
                return False
    return True


def to_posts(
    crew: Crew, ways: Ways, stations: tuple[Station, ...], robots: tuple[Robot, ...]
) -> tuple[Post, ...]:
    """The posts by name, with everything filled in."""
    making = crew.making
    posts = []
    for name in sorted(crew.posts, key=natural):
        record = crew.posts[name]
        serves = making.take(POST, record, "serves")
        starts_at = record.single("starts_at", "")
        skills = crew.skills[name]
        team = to_team(crew, name)
        places = [name, *team["relieves"], *team["stands_in_for"]]
        named = {skill for post in places for skill in (post, *crew.skills[post])}
        points = points_of(named, stations, robots, starts_at)
        posts.append(
            Post(
                name=name,
                people=crew.people[name],
                skills=tuple((skill, skills[skill]) for skill in sorted(skills, key=natural)),
                shifts=crew.shifts[name],
                serves=serves,
                listed=_listed(making, record, serves, crew.works_at[name], stations),
                overtaking=making.take(POST, record, "overtaking"),
                at_break=making.take(POST, record, "at_break"),
                travel=travel_of(making, record, "walks", ways, points),
                starts_at=starts_at,
                level=crew.grades.level.get(name, 0),
                own_factor=crew.grades.own_factor(name),
                levels=crew.grades.levels_of(name),
                **team,
                response=to_law(making, record.get("response")) if "response" in record else None,
                called_out=record.single("called_out", None),
            )
        )
    check_teams(crew, posts)
    return tuple(posts)


def to_robots(
    crew: Crew, ways: Ways, stations: tuple[Station, ...], stops: dict[str, tuple[Stop, ...]]
) -> tuple[Robot, ...]:
    """The robots by name, with everything filled in; `stops` are the stops of each."""
    making = crew.making
    robots = []
    for name in sorted(crew.robots, key=natural):
        record = crew.robots[name]
        serves = making.take(ROBOT, record, "serves")
        starts_at = record.single("starts_at", "")
        moved = {point for item in record.get("moves") or [] for point in item.value}
        points = sorted({*points_of({name}, stations, (), starts_at), *moved}, key=natural)
        robots.append(
            Robot(
                name=name,
                serves=serves,
                listed=_listed(making, record, serves, [], stations),
                double_gripper=making.take(ROBOT, record, "gripper") == "double",
                travel=travel_of(making, record, "speed", ways, points),
                starts_at=starts_at,
                stops=stops[name],
            )
        )
    return tuple(robots)


def _listed(
    making: Making,
    record: Record,
    serves: tuple[str, ...],
    works_at: list[Item],
    stations: tuple[Station, ...],
) -> tuple[str, ...]:
    known = {station.name for station in stations}
    for item in record.get("order") or []:
        if item.value not in known:
            making.unknown(item, "station", known)
    listed = tuple(dict.fromkeys(item.value for item in record.get("order") or works_at))
    for rule in ("listed order", "fixed round"):
        if rule in serves and not listed:
            making.wrong_key(record, "serves", f"the {rule} is not given", "add order: [first, second]")
    return listed
