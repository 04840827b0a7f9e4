"""Skill levels: who can do what how well, and the time factor of each level."""

from __future__ import annotations

from dataclasses import dataclass, field

from cellsim.describe.cell import LEVELS, PRACTISED
from cellsim.describe.fields import Record
from cellsim.describe.making import Making, natural

# Common practice, no source: a beginner needs 30 % more time than a practised person.
FACTORS = {1: 1.3, 2: 1.1, 3: 1.0, 4: 0.95}
WORDS = {1: "a beginner", 2: "who is trained", 3: "who is practised", 4: "an expert"}


@dataclass(slots=True)
class Grades:
    """The levels of the posts of a cell while they are made."""

    factors: dict[int, float] = field(default_factory=lambda: dict(FACTORS))
    given: frozenset[int] = frozenset()  # levels whose factor the file states
    level: dict[str, int] = field(default_factory=dict)  # post -> its level at all that no skill says
    skill_levels: dict[str, dict[str, int]] = field(default_factory=dict)  # post -> skill -> level

    def level_of(self, post: str, skill: str) -> int:
        """The level of a post at a skill or at its own work; practised where none is given."""
        return self.skill_levels.get(post, {}).get(skill, self.level.get(post, 0)) or PRACTISED

    def own_factor(self, post: str) -> float:
        """The time factor of a post at what no skill says otherwise."""
        return self.factors[self.level[post]] if post in self.level else 1.0

    def copy_own(self, post: str, skill: str) -> None:
        """The post has a skill at its own level."""
        if post in self.level:
            self.skill_levels[post][skill] = self.level[post]

    def levels_of(self, post: str) -> tuple[tuple[str, int], ...]:
        """The skills of a post that are given by level, by name."""
        own = self.skill_levels.get(post, {})
        return tuple((skill, own[skill]) for skill in sorted(own, key=natural))

    def take_as_practised(self, making: Making, post: str, skill: str) -> None:
        """Note that a post of which a level is asked has none."""
        if post not in self.level and skill not in self.skill_levels.get(post, {}):
            making.assume(f"crew.{post}.level", str(PRACTISED), "no level is given; practised is taken")

    def table(self) -> tuple[float, ...]:
        """The time factors of all levels where anybody has one."""
        used = bool(self.level) or any(self.skill_levels.values())
        return tuple(self.factors[k + 1] for k in range(LEVELS)) if used else ()


def to_grades(making: Making, top: Record) -> Grades:
    """The time factors of the skill levels as the file states them; common practice for the others."""
    given = {name: entry.value.value for name, entry in (top.get("levels") or {}).items()}
    return Grades(FACTORS | given, frozenset(given))


def grade_post(grades: Grades, making: Making, post: str, record: Record) -> dict[str, float]:
    """The skills of a post with their time factors; keeps its levels."""
    if "level" in record:
        grades.level[post] = _used(grades, making, record.get("level").value)
    levels = grades.skill_levels.setdefault(post, {})
    skills: dict[str, float] = {}
    given = record.get("skills") or {}
    if isinstance(given, list):
        for item in given:
            skills[item.value] = grades.own_factor(post)
            grades.copy_own(post, item.value)
        return skills
    for skill, entry in given.items():
        level, factor = entry.value.value
        if level:
            levels[skill] = _used(grades, making, level)
        skills[skill] = grades.factors[level] if level else factor
    return skills


def _used(grades: Grades, making: Making, level: int) -> int:
    if level not in grades.given:
        why = f"time factor of {WORDS[level]}, common practice"
        making.assume(f"levels.{level}", f"{grades.factors[level]:g}", why)
    return level
