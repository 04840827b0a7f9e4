"""A work plan: what is done to one unit, in which order, and what a line that does it must keep."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from cellsim.describe import reader
from cellsim.describe.cell import Assumption, Origin, Shift
from cellsim.describe.fields import Item, Record
from cellsim.describe.making import Making, grouped, natural
from cellsim.describe.shifts import mean_working_time, to_shifts
from cellsim.describe.spec_plan import PLAN, PLAN_ELEMENT
from cellsim.describe.tree import Notes
from cellsim.units import format_time, quoted

PRACTISED = 3  # the level of a skill for which none is given


@dataclass(frozen=True, slots=True)
class WorkElement:
    """A piece of work; time in microseconds, `spread` relative to it, `station` from 1 (0: anywhere)."""

    name: str
    text: str
    time: int
    spread: float
    after: tuple[str, ...]
    skill: str
    level: int
    tool: str
    side: str
    station: int
    machine: str
    runs_alone: bool


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the crew, with skills and their levels."""

    name: str
    skills: tuple[tuple[str, int], ...]

    def can(self, element: WorkElement) -> bool:
        """Whether he may do an element."""
        return not element.skill or dict(self.skills).get(element.skill, 0) >= element.level


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """A plan with every name looked up; times in microseconds.

    `takt` is that of good units, None where none is wanted; `people` 0 where the fewest are sought; `places`
    None for unlimited.
    """

    name: str
    question: str
    takt: float | None
    demand: int
    available: int
    scrap: float
    efficiency: float
    people: int
    crew: tuple[Person, ...]
    elements: tuple[WorkElement, ...]
    together: tuple[tuple[str, ...], ...]
    apart: tuple[tuple[str, ...], ...]
    tools: tuple[tuple[str, int], ...]
    places: int | None
    shifts: tuple[Shift, ...]
    assumptions: tuple[Assumption, ...]
    origins: tuple[Origin, ...]

    @property
    def takt_of_starts(self) -> float | None:
        """Time from one started unit to the next, shorter than the takt by what is lost."""
        return None if self.takt is None else self.takt * (1 - self.scrap)

    @property
    def planned_cycle(self) -> float | None:
        """What a station is filled to: the takt of started units times the planned efficiency."""
        return None if self.takt_of_starts is None else self.takt_of_starts * self.efficiency


def load_plan(path: str | os.PathLike[str]) -> WorkPlan:
    """The work plan of a file.

    Raises:
        DescriptionError: with every mistake of the first stage that finds any.
    """
    file = Path(path)
    return read_plan(reader.read_file(file), file.name)


def read_plan(text: str, name: str = "plan.yaml") -> WorkPlan:
    """The work plan of a text; `name` stands in messages.

    Raises:
        DescriptionError: with every mistake of the first stage that finds any.
    """
    notes = Notes(name)
    top = PLAN.read(reader.read_text(text, name, "plan: NAME"), "", notes)
    notes.stop_if_any()
    assert top is not None
    making = Making(notes, None)
    shifts = to_shifts(making, top.get("shifts"))
    crew = _crew(making, top)
    elements = _elements(making, top)
    names = [element.name for element in elements]
    together, apart = (_groups(making, top, key, names) for key in ("together", "apart"))
    tools = _tools(making, top, elements)
    takt, available = _takt(making, top, shifts)
    scrap, efficiency = making.take(PLAN, top, "scrap"), making.take(PLAN, top, "efficiency")
    if scrap == 1:
        making.wrong_key(top, "scrap", "no unit would be good")
    if efficiency == 0:
        making.wrong_key(top, "efficiency", "a cycle of no length")
    people = top.single("people", 0)
    if crew and people > len(crew):
        making.wrong_key(top, "people", f"{people} people are more than the {len(crew)} of the crew")
    if takt is None and not people and not making.notes.mistakes:
        making.wrong(
            top, "", "neither a takt nor a number of people is given", "write takt: 30 s or people: 5"
        )
    places = making.take(PLAN, top, "places")
    if any(element.spread for element in elements):
        making.assume("elements", "independent times", "one slow element says nothing of the next")
    notes.stop_if_any()
    sections = {"elements": names, "crew": [person.name for person in crew]}
    origins = {Origin(path, said) for path, said in notes.origins}
    return WorkPlan(
        name=top.get("plan").value,
        question=top.single("question", ""),
        takt=takt,
        demand=top.single("demand", 0),
        available=available,
        scrap=scrap,
        efficiency=efficiency,
        people=people,
        crew=crew,
        elements=elements,
        together=together,
        apart=apart,
        tools=tools,
        places=places,
        shifts=shifts,
        assumptions=grouped(making.assumptions, sections),
        origins=tuple(sorted(origins, key=lambda o: (natural(o.path), o.text))),
    )


def _takt(making: Making, top: Record, shifts: Sequence[Shift]) -> tuple[float | None, int]:
    """The takt, and the working time in which the demand is wanted."""
    available: int = top.single("available", 0)
    if "takt" in top.places:
        for key in ("demand", "available"):
            if key in top.places:
                making.wrong_key(top, key, f"only one of takt and {key} can be given")
        return _above_zero(making, top, "takt"), 0
    if "demand" not in top.places:
        if "available" in top.places:
            making.wrong_key(top, "available", "an available time without a demand", "write demand: 900")
        return None, 0
    if "available" in top.places:
        return _above_zero(making, top, "available") / int(top.get("demand").value), available
    if shifts:
        available = round(mean_working_time(tuple(shifts)))
        making.assume("available", format_time(available), "the working time of a shift")
        return available / int(top.get("demand").value), available
    making.wrong_key(top, "demand", "in which time is it wanted?", "write available: 450 min, or shifts")
    return None, 0


def _above_zero(making: Making, top: Record, key: str) -> float:
    value: int = top.get(key).value
    if not value:
        making.wrong_key(top, key, "it must be above zero")
        return 1.0
    return float(value)


def _crew(making: Making, top: Record) -> tuple[Person, ...]:
    """The people, in the order of the file."""
    crew = []
    for name, entry in (top.get("crew") or {}).items():
        if isinstance(entry.value, dict):
            skills = {skill: inner.value.value for skill, inner in entry.value.items()}
        else:
            skills = {item.value: PRACTISED for item in entry.value}
            if skills:
                making.assume(
                    f"crew.{name}", f"level {PRACTISED}", "a skill without a level is a practised one"
                )
        crew.append(Person(name, tuple(sorted(skills.items()))))
    if crew:
        making.assume("crew", "the same times", "whoever may do an element takes the time of the plan")
    return tuple(crew)


def _elements(making: Making, top: Record) -> tuple[WorkElement, ...]:
    """The elements in the order of the file, with every mistake in them noted."""
    given: dict[str, Record] = {name: entry.value for name, entry in top.get("elements").items()}
    if not given:
        making.wrong_key(top, "elements", "there is no element")
        return ()
    after = {name: _after(making, name, record, list(given)) for name, record in given.items()}
    circles = list(_circles(after))
    for circle, name in circles:
        item = next(i for i in given[name].get("after") if i.value == circle[1])
        words = ", which comes after ".join(quoted(part) for part in [*circle[1:], name])
        making.wrong(item, item.path, f"{quoted(name)} would come after itself: it comes after {words}")
    elements = tuple(_element(making, top, name, record, after[name]) for name, record in given.items())
    if not circles:
        _check_machines(making, elements, given)
    _check_skills(making, top, elements, given)
    return elements


def _after(making: Making, name: str, record: Record, names: Sequence[str]) -> tuple[str, ...]:
    found = []
    for item in record.get("after") or []:
        if item.value == name:
            making.wrong(item, item.path, f"{quoted(name)} cannot come after itself")
        elif item.value not in names:
            making.unknown(item, "element", names)
        else:
            found.append(item.value)
    return tuple(dict.fromkeys(found))


def _circles(after: dict[str, tuple[str, ...]]) -> Iterator[tuple[list[str], str]]:
    """Each circle in the order once, as the elements from the one that stands first in the file."""
    seen: set[str] = set()
    for start in after:
        if start in seen:
            continue
        came_from: dict[str, str] = {}
        stack = [start]
        while stack:
            name = stack.pop()
            for other in after[name]:
                if other not in came_from:
                    came_from[other] = name
                    stack.append(other)
        if start in came_from:
            way = [start]
            while came_from[way[-1]] != start:
                way.append(came_from[way[-1]])
            circle = [start, *reversed(way[1:])]
            seen |= set(circle)
            yield circle, start


def _element(making: Making, top: Record, name: str, record: Record, after: tuple[str, ...]) -> WorkElement:
    given = record.get("time")
    spread = 0.0
    if isinstance(given, Item):
        time = given.value
    elif given is not None:
        time, spread = given.single("mean", 1), given.single("spread", 0.0)
    alone = making.take(PLAN_ELEMENT, record, "runs_alone")
    if isinstance(given, Item) and not alone:
        spread = making.take(PLAN, top, "spread")
    if time <= 0:
        making.wrong_key(record, "time", "an element takes more than no time", "leave it out")
    if alone and "machine" not in record.places:
        making.wrong_key(record, "runs_alone", "which machine runs alone?", "write machine: press")
    return WorkElement(
        name=name,
        text=record.single("text", ""),
        time=time,
        spread=spread,
        after=after,
        skill=record.single("skill", ""),
        level=making.take(PLAN_ELEMENT, record, "level"),
        tool=record.single("tool", ""),
        side=record.single("side", ""),
        station=record.single("station", 0),
        machine=record.single("machine", ""),
        runs_alone=alone,
    )


def _check_machines(making: Making, elements: Sequence[WorkElement], given: dict[str, Record]) -> None:
    """A unit is on a machine once: what must be done between elements on a machine is done on it too."""
    on: dict[str, list[str]] = {}
    for element in elements:
        if element.machine:
            on.setdefault(element.machine, []).append(element.name)
    linked = {e.name: {*e.after, *(on[e.machine] if e.machine else ())} - {e.name} for e in elements}
    before = {name: _reached(linked, name) for name in linked}
    for element in elements:
        for machine, members in on.items():
            between = any(m in before[element.name] and element.name in before[m] for m in members)
            if machine != element.machine and between:
                others = " and ".join(quoted(name) for name in members)
                making.wrong(
                    given[element.name],
                    f"elements.{element.name}",
                    f"it comes between {others}, for which the unit is on {quoted(machine)}",
                    f"write machine: {machine} here too, or name two machines",
                )


def _reached(links: dict[str, set[str]], start: str) -> set[str]:
    """All names that links lead to."""
    found: set[str] = set()
    stack = [start]
    while stack:
        new = links[stack.pop()] - found
        found |= new
        stack.extend(new)
    return found


def _check_skills(
    making: Making, top: Record, elements: Sequence[WorkElement], given: dict[str, Record]
) -> None:
    skills = {name for entry in (top.get("crew") or {}).values() for name in _names(entry.value)}
    wanted = {element.skill for element in elements}
    for element in elements:
        item = given[element.name].get("skill")
        if item is None and "level" in given[element.name].places:
            making.wrong_key(given[element.name], "level", "a level without a skill", "write skill: riveting")
        if item is not None and top.get("crew") and element.skill not in skills:
            making.unknown(item, "skill of the crew", skills)
    for name, entry in (top.get("crew") or {}).items():
        for skill, item in _names(entry.value).items():
            if skill not in wanted:
                words = f"no element needs the skill {quoted(skill)}"
                making.wrong(item, f"crew.{name}", words, "take it out, or give elements that skill")


def _names(skills: object) -> dict[str, Item]:
    """The names of skills with their places."""
    if isinstance(skills, dict):
        return {name: entry.name for name, entry in skills.items()}
    return {item.value: item for item in skills} if isinstance(skills, list) else {}


def _groups(making: Making, top: Record, key: str, names: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    found = []
    for group in top.get(key) or []:
        for item in group:
            if item.value not in names:
                making.unknown(item, "element", names)
        twice = next((b for a, b in combinations(group, 2) if a.value == b.value), None)
        if twice is not None:
            making.wrong(twice, twice.path, f"{quoted(twice.text)} stands twice in this group")
        found.append(tuple(item.value for item in group))
    return tuple(found)


def _tools(making: Making, top: Record, elements: Sequence[WorkElement]) -> tuple[tuple[str, int], ...]:
    used = sorted({element.tool for element in elements if element.tool}, key=natural)
    given = top.get("tools") or {}
    for name, entry in given.items():
        if name not in used:
            making.unknown(Item(name, entry.name.text, entry.name.line, entry.name.column, f"tools.{name}"),
                           "tool of an element", used)  # fmt: skip
    for name in used:
        if name not in given:
            making.assume(f"tools.{name}", "as many as it takes", "no number is given")
    return tuple((name, given[name].value.value) for name in used if name in given)
