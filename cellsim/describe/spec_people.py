"""Keys of shifts and posts."""

from __future__ import annotations

from typing import get_args

from cellsim.describe import cell
from cellsim.describe.fields import Choice, Forms, Key, ListOf, MapOf, Table
from cellsim.describe.kinds import (
    CLOCK,
    COUNT,
    DAYS,
    DAYS_TEXT,
    LEARNING,
    LEVEL,
    NAME,
    PAIR,
    PEOPLE,
    REFERENCE,
    SHARE,
    SKILL,
    SOME,
    SPEED,
    TIME,
    YES_NO,
)
from cellsim.describe.spec_work import DURATION

CRITERIA = get_args(cell.Criterion)

BREAK = Table("a break", "A pause within a shift.", (
    Key("at", CLOCK, "Time of day when it begins.", "at: 09:00", required=True),
    Key("for", TIME, "How long it is.", "for: 10 min", required=True),
))  # fmt: skip

SHIFT = Table("a shift", "A working time that comes back on the same days each week.", (
    Key("from", CLOCK, "Beginning.", "from: 06:00", required=True),
    Key("to", CLOCK, "End; an earlier time of day than the beginning is on the next day.", "to: 14:00",
        required=True),
    Key("days", Forms("days of the week", DAYS_TEXT, ListOf(Choice(DAYS))), "Days on which it begins.",
        "days: Mon-Fri", default="Mon-Fri", why="the usual working week"),
    Key("breaks", ListOf(BREAK, least=0), "Breaks.", "breaks: [{at: 09:00, for: 10 min}]"),
    Key("start_up", TIME, "Time at the beginning before work starts.", "start_up: 5 min", default="0 s",
        why="work starts with the shift"),
    Key("clean_up", TIME, "Time at the end after work stops.", "clean_up: 10 min", default="0 s",
        why="work goes on to the end of the shift"),
    Key("at_end", Choice(get_args(cell.EndOfShift)), "What happens to work that is not done at the end.",
        "at_end: finish unit", default="finish element", why="what was begun by hand is finished"),
    Key("hand_over", TIME, "Time at the beginning in which its people take over; machines work meanwhile.",
        "hand_over: 5 min", default="0 s"),
))  # fmt: skip

TRAVEL = MapOf(PAIR, TIME)
_SERVES = ListOf(Choice(CRITERIA), lone=True)

LEARNS = Table("a learning curve", "How a person becomes quicker with own repetitions of an element.", (
    Key("rate", LEARNING, "Twice the repetitions, this share of the time (85 % in mixed work).", "rate: 85 %",
        required=True),
    Key("standard_after", SOME, "The repetition that takes the stated time; none takes less.",
        "standard_after: 3000", required=True),
    Key("has_done", COUNT, "Repetitions that everybody of the post has behind him at the start.",
        "has_done: 500", default="0", why="everybody is new at the start"),
))  # fmt: skip

ROTATION = Table("a rotation", "People of a post change places every so often.", (
    Key("every", TIME, "From the beginning of each shift, breaks included.", "every: 2 h", required=True),
    Key("among", ListOf(ListOf(REFERENCE, lone=True)),
        "Groups of stations: the first person begins in the first group, and so on; all move on by one.",
        "among: [press, [rivet, fit]]", required=True),
))  # fmt: skip

POST = Table("a post", "One or several people who do the same.", (
    Key("people", PEOPLE, "How many.", "people: 2", default="1"),
    Key("works_at", ListOf(REFERENCE, lone=True), "Stations that they attend, where those do not say `by`.",
        "works_at: [press, rivet]"),
    Key("skills", Forms("a list of skills, or {skill: time factor or level}", listing=ListOf(NAME, least=0),
        mapping=MapOf(NAME, SKILL)),
        "What they can do; a time factor of 1.2 means 20 % more time, a level is one of `levels`.",
        "skills: {weld: level 2}"),
    Key("level", LEVEL, "Their level at all that no skill says otherwise.", "level: 1"),
    Key("breaks", ListOf(BREAK, least=0), "Breaks of this post instead of those of its shifts.",
        "breaks: [{at: 09:10, for: 10 min}]"),
    Key("relieves", ListOf(REFERENCE, lone=True),
        "Posts whose place they take while these are in a break, and only then.", "relieves: [A, B]"),
    Key("stands_in_for", ListOf(REFERENCE, lone=True),
        "Posts whose place they take while somebody of these is absent, and only then.",
        "stands_in_for: [A, B]"),
    Key("absent", SHARE, "Share of shifts for which a person does not come.", "absent: 4 %", default="0 %",
        why="everybody comes to every shift"),
    Key("learning", LEARNS, "They become quicker with repetitions.",
        "learning: {rate: 85 %, standard_after: 3000}"),
    Key("rotates", ROTATION, "They change places every so often; instead of `works_at`.",
        "rotates: {every: 2 h, among: [press, rivet]}"),
    Key("shift", ListOf(REFERENCE, lone=True), "The shifts they work.", "shift: day"),
    Key("serves", _SERVES, "Which call is answered first among those of equal priority.",
        "serves: longest waiting",
        default="longest waiting, downstream first",
        why="who has waited longest, then the last in the route"),
    Key("order", ListOf(REFERENCE), "Stations in the order for `listed order` and `fixed round`.",
        "order: [press, rivet]"),
    Key("overtaking", YES_NO, "A call that can be answered at once may pass one that cannot.",
        "overtaking: no",
        default="yes", why="a call that can be answered passes one that must wait for more"),
    Key("at_break", Choice(get_args(cell.BreakRule)), "What happens to a work element when the break comes.",
        "at_break: suspend", default="finish element", why="the element is finished, back by the clock"),
    Key("travel", TRAVEL, "Walking times of this post, before those of the cell.",
        "travel: {press > rivet: 1.5 s}"),
    Key("walks", SPEED, "Walking speed, with `layout`.", "walks: 1 m/s"),
    Key("starts_at", REFERENCE, "Where they stand at first.", "starts_at: press"),
    Key("response", DURATION, "From a call to a repair until they can be there, from other cells.",
        "response: 5 min"),
    Key("called_out", TIME, "How soon they come from off duty when nobody on duty can do a repair.",
        "called_out: 40 min"),
))  # fmt: skip
