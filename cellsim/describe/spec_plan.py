"""The keys of a work plan: elements in their order, what must stand together or apart, takt and people."""

from __future__ import annotations

from cellsim.describe.fields import Forms, Key, ListOf, MapOf, Table
from cellsim.describe.kinds import LEVEL, NAME, PEOPLE, PLACES, RATIO, SHARE, SOME, TIME, WORDS, YES_NO
from cellsim.describe.spec_people import SHIFT

SPREAD_TIME = Table("the time of an element", "A time that varies from unit to unit.", (
    Key("mean", TIME, "How long it takes on average.", "mean: 6 s", required=True),
    Key("spread", RATIO, "Standard deviation divided by the mean.", "spread: 15 %", required=True),
))  # fmt: skip

PLAN_ELEMENT = Table("an element of a work plan", "A piece of work that one station does as a whole.", (
    Key("time", Forms("a time or {mean, spread}", TIME, mapping=SPREAD_TIME), "How long it takes.",
        "time: {mean: 6 s, spread: 15 %}", required=True),
    Key("text", WORDS, "What is done, where the name does not say it.", "text: press the dome to depth"),
    Key("after", ListOf(NAME, lone=True), "Elements that must be done first.", "after: [load dome, press]"),
    Key("skill", NAME, "What whoever does it must be able to do; counts with `crew`.", "skill: riveting"),
    Key("level", LEVEL, "The least level of that skill.", "level: 3", default="1"),
    Key("tool", NAME, "The tool that it needs; `tools` says at how many stations there is one.",
        "tool: torque driver"),
    Key("side", NAME, "The side of the product, or the kind of place (dirty, clean): one for each station.",
        "side: left"),
    Key("station", SOME, "The number of the station at which it must be done.", "station: 1"),
    Key("machine", NAME, "The machine that the unit is on meanwhile; a machine stands at one station.",
        "machine: press"),
    Key("runs_alone", YES_NO, "The machine works without the person, who is free for other elements.",
        "runs_alone: yes", default="no"),
))  # fmt: skip

_SKILLS = Forms(
    "a list of skills, or {skill: level}", listing=ListOf(NAME, least=0), mapping=MapOf(NAME, LEVEL)
)

PLAN = Table("a work plan", "The work on one unit and what is wanted of the line that does it.", (
    Key("plan", WORDS, "Name of the plan.", "plan: Bicycle bell", required=True),
    Key("question", WORDS, "The decision that the balance is for.", "question: Can four people do it?"),
    Key("takt", TIME, "Time from one good unit to the next, instead of demand and available time.",
        "takt: 30 s"),
    Key("demand", SOME, "Good units wanted in the available time.", "demand: 900"),
    Key("available", TIME, "Working time in which they are wanted; without it that of a shift of `shifts`.",
        "available: 450 min"),
    Key("scrap", SHARE, "Share of units that are lost, so that more must be started.", "scrap: 2 %",
        default="0 %"),
    Key("efficiency", SHARE, "Planned efficiency: the share of the takt to which stations are filled.",
        "efficiency: 90 %", default="100 %", why="stations are filled to the whole takt"),
    Key("people", PEOPLE, "How many stations, each with one person; the smallest cycle is sought for them.",
        "people: 5"),
    Key("crew", MapOf(NAME, _SKILLS, most=100), "The people and their skills, of level 3 where in a list.",
        "crew: {Ann: [pressing], Ben: {riveting: 2}}"),
    Key("spread", RATIO, "Spread of the elements by hand that state none.", "spread: 15 %", default="0 %",
        why="times by hand are taken as always the same, which they are not"),
    Key("elements", MapOf(NAME, PLAN_ELEMENT), "The elements by name.",
        "elements: {load: {time: 6 s}, fit: {time: 9 s, after: load}}", required=True),
    Key("together", ListOf(ListOf(NAME, least=2)), "Groups of elements that one station must do.",
        "together: [[set gear, oil gear]]"),
    Key("apart", ListOf(ListOf(NAME, least=2)), "Groups of elements of which no two may be at one station.",
        "apart: [[grease axle, wipe dome]]"),
    Key("tools", MapOf(NAME, SOME), "At how many stations a tool is there; else at as many as it takes.",
        "tools: {torque driver: 1}"),
    Key("places", PLACES, "Places between two stations of the cell that is made.", "places: 2", default="1",
        why="one place between two stations"),
    Key("shifts", MapOf(NAME, SHIFT), "Working times, as in a cell file.",
        "shifts: {day: {from: 06:00, to: 14:00}}"),
))  # fmt: skip

PLAN_TABLES = (PLAN, PLAN_ELEMENT, SPREAD_TIME)
