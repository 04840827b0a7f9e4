"""The conditions of a work plan as a problem of line balancing, in words where they exclude each other."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

from cellsim.describe.work_plan import WorkElement, WorkPlan
from cellsim.errors import UsageError
from cellsim.theory.balancing import Contradiction, Work, merged
from cellsim.theory.exact_balancing import NoBalance, fewest_stations, smallest_cycle
from cellsim.units import count_of

MOST_NAMES = 8  # elements that one sentence names
FILTER_SECONDS = 2.0  # for each question whether the rest still excludes itself


@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that a balance must keep, in words, and what it adds to the problem."""

    words: str
    adds: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Problem:
    """A plan in whole units of time: `unit` microseconds each, so that sums are exact.

    `people`: the most stations that there may be, None for as many as it takes.
    """

    plan: WorkPlan
    unit: int
    conditions: tuple[Condition, ...]
    people: int | None

    def work(self, conditions: Iterable[Condition] | None = None) -> Work:
        """The problem with these conditions, or all."""
        elements = self.plan.elements
        place = {element.name: k for k, element in enumerate(elements)}
        added: dict[str, tuple[Any, ...]] = {"together": (), "apart": (), "fixed": (), "tools": (), "can": ()}
        for condition in self.conditions if conditions is None else conditions:
            for key, rows in condition.adds.items():
                added[key] += tuple(rows)
        return Work(
            times=tuple(0 if e.runs_alone else e.time // self.unit for e in elements),
            before=tuple((place[a], k) for k, e in enumerate(elements) for a in e.after),
            together=added["together"],
            apart=added["apart"],
            fixed=added["fixed"],
            tools=added["tools"],
            can=added["can"] or None,
            least_cycle=max((t // self.unit for t in machine_times(elements).values()), default=0),
        )


def machine_times(elements: Sequence[WorkElement]) -> dict[str, int]:
    """How long a unit is on each machine, by hand and alone, in microseconds."""
    found: dict[str, int] = {}
    for element in elements:
        if element.machine:
            found[element.machine] = found.get(element.machine, 0) + element.time
    return found


def named(names: Sequence[str]) -> str:
    """Names in a sentence."""
    shown = list(names[:MOST_NAMES]) + (
        [f"{len(names) - MOST_NAMES} more"] if len(names) > MOST_NAMES else []
    )
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def problem(plan: WorkPlan) -> Problem:
    """The conditions of a plan, each with its words."""
    elements = plan.elements
    place = {element.name: k for k, element in enumerate(elements)}
    found = []
    for machine in machine_times(elements):
        group = tuple(k for k, e in enumerate(elements) if e.machine == machine)
        if len(group) > 1:
            found.append(Condition(f"the machine {machine} stands at one station", {"together": [group]}))
    for names in plan.together:
        found.append(Condition(f"{named(names)} must be together",
                               {"together": [tuple(place[name] for name in names)]}))  # fmt: skip
    for names in plan.apart:
        pairs = [(min(a, b), max(a, b)) for a, b in combinations((place[name] for name in names), 2)]
        found.append(Condition(f"{named(names)} must be apart", {"apart": pairs}))
    sides = sorted({element.side for element in elements if element.side})
    if len(sides) > 1:
        pairs = [(a, b) for (a, one), (b, other) in combinations(enumerate(elements), 2)
                 if one.side and other.side and one.side != other.side]  # fmt: skip
        found.append(Condition(f"a station has one side only ({named(sides)})", {"apart": pairs}))
    for k, element in enumerate(elements):
        if element.station:
            words = f"{element.name} must be done at station {element.station}"
            found.append(Condition(words, {"fixed": [(k, element.station - 1)]}))
    for tool, count in plan.tools:
        users = tuple(k for k, e in enumerate(elements) if e.tool == tool)
        where = "one station" if count == 1 else f"{count} stations"
        words = f"the tool {tool}, for {named([elements[k].name for k in users])}, is at {where} only"
        found.append(Condition(words, {"tools": [(users, count)]}))
    if plan.crew:
        rows = [tuple(person.can(element) for person in plan.crew) for element in elements]
        found.append(Condition(_crew_words(plan), {"can": rows}))
    unit = math.gcd(*(element.time for element in elements))
    return Problem(plan, unit, tuple(found), len(plan.crew) or None)


def _crew_words(plan: WorkPlan) -> str:
    """Who the crew is, and what only some of them can do."""
    only: dict[tuple[str, ...], list[str]] = {}
    for element in plan.elements:
        able = tuple(person.name for person in plan.crew if person.can(element))
        if len(able) < len(plan.crew):
            only.setdefault(able, []).append(element.name)
    words = f"the crew is {named([person.name for person in plan.crew])}"
    some = [f"{named(names)} can be done by {named(able)} only" for able, names in only.items() if able]
    return ", and ".join([words, *some])


def stop_at_contradictions(given: Problem) -> tuple[tuple[str, ...], ...]:
    """The groups of elements that must stand together, by name.

    Raises:
        UsageError: conditions exclude each other, with the elements in conflict.
    """
    names = [element.name for element in given.plan.elements]
    try:
        _, blocks = merged(given.work())
    except Contradiction as error:
        raise UsageError(f"no balance is possible: {_contradiction(given, error)}") from None
    return tuple(tuple(names[k] for k in block) for block in blocks)


def _contradiction(given: Problem, error: Contradiction) -> str:
    elements = given.plan.elements
    names = [elements[k].name for k in error.members]
    if error.kind == "nobody":
        wanted = sorted({f"{elements[k].skill}, level {elements[k].level}"
                         for k in error.members if elements[k].skill})  # fmt: skip
        all_of = "" if len(names) == 1 else "all of "
        more = "" if len(names) == 1 else ", which must be at one station"
        return f"nobody of the crew can do {all_of}{named(names)}{more} (skills: {'; '.join(wanted)})"
    first, second, *others = names
    if error.kind == "apart":
        why = f" (with {named(others)})" if others else ""
        return f"{first} and {second} must be apart and also at one station{why}"
    at = [f"{elements[k].name} is fixed to station {elements[k].station}" for k in error.members[:2]]
    if error.kind == "order":
        return f"{at[0]} and must be done before {second}, but {at[1]}"
    return f"{at[0]}, {at[1]}, and they must be at one station" + (f" with {named(others)}" if others else "")


def stop_at_long(given: Problem, blocks: Sequence[Sequence[str]], cycle: int, what: str) -> None:
    """Stop where something is longer than the cycle, in units of the problem; `what` is the cycle in words.

    Raises:
        UsageError: with all elements and machines that are too long.
    """
    element = {e.name: e for e in given.plan.elements}
    long = []
    for block in blocks:
        time = sum(0 if element[n].runs_alone else element[n].time for n in block) // given.unit
        if time > cycle:
            one = (
                f"{block[0]} takes" if len(block) == 1 else f"{named(block)} must be at one station and take"
            )
            long.append(f"{one} {_seconds(time * given.unit)}")
    for machine, time in machine_times(given.plan.elements).items():
        if time // given.unit > cycle:
            long.append(f"a unit is on {machine} for {_seconds(time)}")
    if long:
        raise UsageError(
            f"no balance is possible: {'; '.join(long)}; that is longer than {what}; divide it, do it at two"
            " stations in parallel, or give more time"
        )


def _seconds(microseconds: float) -> str:
    return f"{microseconds / 1e6:.6g} s"


def no_balance(given: Problem, cycle: int, what: str) -> UsageError:
    """Why nothing keeps the cycle, in units of the problem and in words: the conditions in conflict."""

    def excluded(conditions: Sequence[Condition]) -> bool:
        return _fails(lambda: fewest_stations(given.work(conditions), cycle, seconds=FILTER_SECONDS))

    kept = _in_conflict(given.conditions, excluded)
    if [condition for condition in kept if "can" not in condition.adds] == [] and given.people is not None:
        free = [condition for condition in given.conditions if "can" not in condition.adds]
        found = fewest_stations(given.work(free), cycle, seconds=FILTER_SECONDS)
        if found.bound > given.people:
            return UsageError(
                f"{what} takes {found.bound} people{'' if found.proved else ' or more'}, the crew has"
                f" {given.people}; --people {given.people} says what these can do"
            )
    words = "; ".join(condition.words for condition in kept)
    return UsageError(f"no balance is possible at {what}, since not all of this can hold: {words}")


def no_cycle(given: Problem, people: int) -> UsageError:
    """Why no balance for so many people keeps the conditions, whatever its cycle: those in conflict."""

    def excluded(conditions: Sequence[Condition]) -> bool:
        return _fails(lambda: smallest_cycle(given.work(conditions), people, seconds=FILTER_SECONDS))

    words = [condition.words for condition in _in_conflict(given.conditions, excluded)]
    if people > 1:
        words.insert(0, "each of them has work")
    who = count_of(people, "person", "people")
    return UsageError(f"no balance for {who} is possible, since not all of this can hold: {'; '.join(words)}")


def _in_conflict(
    conditions: Sequence[Condition], excluded: Callable[[Sequence[Condition]], bool]
) -> list[Condition]:
    """A smallest set that excludes itself: each is dropped with which or without which nothing is possible.

    It is a deletion filter (Chinneck and Dravnieks 1991, from memory).
    """
    kept = list(conditions)
    for condition in conditions:
        rest = [other for other in kept if other is not condition]
        if excluded(rest):
            kept = rest
    return kept


def _fails(search: Callable[[], object]) -> bool:
    """Whether a search proves that nothing is possible."""
    try:
        search()
    except (NoBalance, Contradiction):
        return True
    return False
