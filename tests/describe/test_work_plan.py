"""Work plans: what is read, what is assumed, and what is told of a wrong one with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from cellsim.describe.fields import Table
from cellsim.describe.reader import read_text
from cellsim.describe.reference import plan_reference
from cellsim.describe.spec_plan import PLAN_TABLES
from cellsim.describe.tree import Notes
from cellsim.describe.work_plan import load_plan, read_plan
from cellsim.errors import DescriptionError

PLANS = sorted((Path(__file__).parents[2] / "scenarios" / "plans").glob("*.yaml"))
HEAD = "plan: Top\ntakt: 30 s\nelements:\n"
TWO = f"{HEAD}  a: {{time: 4 s}}\n  b: {{time: 5 s, after: a}}\n"


def test_a_plan_as_written():
    """Every key ends where it belongs; spreads of the plan are for work by hand that states none."""
    plan = read_plan(
        "plan: Top\nquestion: Who?\ndemand: 900\navailable: 450 min\nscrap: 2 %\nefficiency: 90 %\n"
        "spread: 15 %\n"
        "people: 2\ncrew: {Ann: [fit], Ben: {fit: 2}}\nplaces: unlimited\ntools: {gun: 1}\n"
        "together: [[a, b]]\napart: [[a, d]]\nelements:\n"
        "  a: {time: 6 s, text: set it, skill: fit, level: 3, tool: gun, side: left, station: 1}\n"
        "  b: {time: {mean: 4 s, spread: 30 %}, after: a, machine: press}\n"
        "  c: {time: 7 s, after: [a, b, a], machine: press, runs_alone: yes}\n"
        "  d: {time: 1 min, origin: guess}\n"
    )
    a, b, c, d = plan.elements
    assert (a.text, a.time, a.spread, a.skill, a.level, a.tool, a.side, a.station) == (
        "set it", 6_000_000, 0.15, "fit", 3, "gun", "left", 1,
    )  # fmt: skip
    assert (b.time, b.spread, b.after, b.machine, b.runs_alone) == (4_000_000, 0.3, ("a",), "press", False)
    assert (c.spread, c.after, c.runs_alone) == (0.0, ("a", "b"), True)
    assert (d.time, d.spread) == (60_000_000, 0.15)
    ann, ben = plan.crew
    assert (ann.can(a), ben.can(a), ben.can(d)) == (True, False, True)  # a list means level 3
    assert (plan.takt, plan.places, plan.people, plan.tools) == (30_000_000, None, 2, (("gun", 1),))
    assert plan.takt_of_starts == pytest.approx(29.4e6)  # 2 % are lost
    assert plan.planned_cycle == pytest.approx(26.46e6)
    assert [(o.path, o.text) for o in plan.origins] == [("elements.d", "guess")]
    assert ("crew.Ann", "level 3") in [(row.path, row.value) for row in plan.assumptions]


def test_the_time_of_a_shift_is_the_available_time():
    """Eight hours less two breaks and cleaning, for 900 units: a takt of 30 s."""
    shift = "{from: 06:00, to: 14:00, breaks: [{at: 09:00, for: 10 min}, {at: 12:00, for: 10 min}]"
    text = TWO.replace("takt: 30 s", f"demand: 900\nshifts: {{day: {shift}, clean_up: 10 min}}}}")
    assert read_plan(text).takt == 30_000_000
    assert ("available", "450 min") in [(row.path, row.value) for row in read_plan(text).assumptions]


WRONG = {
    "no takt": (TWO.replace("takt: 30 s\n", ""), "1:1: neither a takt nor a number of people is given; write"
                " takt: 30 s or people: 5"),
    "takt and demand": (f"{TWO}demand: 9\n", "6:1: demand: only one of takt and demand can be given"),
    "no time for it": (TWO.replace("takt: 30 s", "demand: 9"),
                       "2:1: demand: in which time is it wanted?; write available: 450 min, or shifts"),
    "time for nothing": (TWO.replace("takt: 30 s", "available: 9 min"),
                         "2:1: available: an available time without a demand; write demand: 900"),
    "takt zero": (TWO.replace("30 s", "0 s"), "2:1: takt: it must be above zero"),
    "unit": (TWO.replace("5 s", "5"), '5:13: elements.b.time: "5" has no unit; a time looks like "7 s" or'
             ' "0.1 min" (units: us, ms, s, TMU, cmin, min, h, d)'),
    "negative": (TWO.replace("5 s", "-5 s"), '5:13: elements.b.time: "-5 s"'),
    "no time": (TWO.replace("5 s", "0 s"), "5:7: elements.b.time: an element takes more than no time;"
                " leave it out"),
    "typo": (TWO.replace("after", "aftr"), '5:18: elements.b.aftr: "aftr" is no key of an element of a work'
             ' plan; did you mean "after"?'),
    "dangling": (TWO.replace("after: a", "after: aa"), '5:25: elements.b.after: no element is called "aa";'
                 ' did you mean "a"?'),
    "itself": (TWO.replace("after: a", "after: b"), '5:25: elements.b.after: "b" cannot come after itself'),
    "circle": (TWO.replace("4 s", "4 s, after: b"), '4:25: elements.a.after: "a" would come after itself: it'
               ' comes after "b", which comes after "a"'),
    "twice": (f"{TWO}together: [[a, b, a]]\n", '6:19: together[1][3]: "a" stands twice in this group'),
    "alone": (f"{TWO}apart: [[a]]\n", "6:9: apart[1]: at least 2 entries are wanted here, not 1"),
    "no such": (f"{TWO}apart: [[a, z]]\n", '6:13: apart[1][2]: no element is called "z"; there are a, b'),
    "tool": (f"{TWO}tools: {{gun: 1}}\n", '6:9: tools.gun: no tool of an element is called "gun"; there is'
             " none in this file"),
    "which machine": (TWO.replace("5 s", "5 s, runs_alone: yes"),
                      "5:18: elements.b.runs_alone: which machine runs alone?; write machine: press"),
    "between": (
        f"{HEAD}  a: {{time: 4 s, machine: m}}\n  b: {{time: 5 s, after: a}}\n"
        "  c: {time: 5 s, after: b, machine: m}\n",
        '5:6: elements.b: it comes between "a" and "c", for which the unit is on "m"; write machine: m here'
        " too, or name two machines",
    ),
    "level": (TWO.replace("5 s", "5 s, level: 2"), "5:18: elements.b.level: a level without a skill; write"
              " skill: riveting"),
    "skill": (TWO.replace("5 s", "5 s, skill: weld") + "crew: {Ann: [fit]}\n",
              '5:25: elements.b.skill: no skill of the crew is called "weld"; there are fit'),
    "useless": (f"{TWO}crew: {{Ann: [fit]}}\n", '6:14: crew.Ann: no element needs the skill "fit"; take it'
                " out, or give elements that skill"),
    "crew": (f"{TWO}crew: {{Ann: []}}\npeople: 2\n", "7:1: people: 2 people are more than the 1 of the crew"),
    "all lost": (f"{TWO}scrap: 100 %\n", "6:1: scrap: no unit would be good"),
    "no efficiency": (f"{TWO}efficiency: 0 %\n", "6:1: efficiency: a cycle of no length"),
    "empty": ("", "1:1: the file is empty; it begins with: plan: NAME"),
    "no elements": ("plan: Top\ntakt: 3 s\nelements: {}\n", "3:1: elements: there is no element"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_wrong_plans(name: str):
    """One mistake each, told with file, line, column and path."""
    text, said = WRONG[name]
    with pytest.raises(DescriptionError) as caught:
        read_plan(text, "p.yaml")
    first = str(caught.value).splitlines()[0]
    assert first == f"p.yaml:{said}" or (name == "negative" and first.startswith(f"p.yaml:{said}"))


def test_all_mistakes_at_once():
    """Names, circle, groups and tools in one reading."""
    text = f"{HEAD}  a: {{time: 4 s, after: c}}\n  b: {{time: 0 s, after: [a, d, b]}}\n"
    text += "  c: {time: 3 s, after: b}\n"
    with pytest.raises(DescriptionError) as caught:
        read_plan(f"{text}together: [[a, z]]\ntools: {{t: 1}}\n", "p.yaml")
    assert [m.line for m in caught.value.mistakes] == [4, 5, 5, 5, 7, 8]
    assert caught.value.report().endswith("6 mistakes, nothing was run")


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_demo_plans_are_read(path: Path):
    """Plans that come along have elements, and a takt or people."""
    plan = load_plan(path)
    assert len(plan.elements) > 5 and (plan.takt or plan.people)


@pytest.mark.parametrize("table", PLAN_TABLES, ids=lambda table: table.slug)
def test_every_key_has_an_example_that_is_read(table: Table):
    """The page of keys lists each, and its example is read without a mistake."""
    page = plan_reference()
    for row in table.keys:
        assert f"| `{row.name}` |" in page
        notes = Notes("example")
        tree = read_text(row.example, "example")
        assert list(tree.keys) == [row.name]
        assert row.kind.read(tree.values[row.name], row.name, notes) is not None
        assert notes.mistakes == []
