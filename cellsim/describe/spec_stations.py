"""Keys of a station: work, batches, changeovers, rejects, faults and inspections, ways on."""

from __future__ import annotations

from typing import get_args

from cellsim.describe import cell
from cellsim.describe.fields import Choice, Forms, Key, ListOf, MapOf, Table, TableOrNames
from cellsim.describe.kinds import (
    CLOCK,
    COUNT,
    LEVEL,
    LIMIT,
    NAME,
    PAIR,
    RATE,
    REFERENCE,
    SHARE,
    SOME,
    TIME,
    WORDS,
    YES_NO,
    YIELD,
)
from cellsim.describe.spec_work import BY, DURATION, LAW, SERVICES, STATION_POWER, STOPS, TIMES

ELEMENT = Table("a work element", "One step of a station's cycle.", (
    Key("do", WORDS, "What is done.", "do: load", required=True),
    Key("time", TIMES, "How long it takes.", "time: 6 s", required=True),
    Key("by", BY, "Who attends: a post, a robot, a skill, several, or nobody.", "by: A"),
    Key("level", LEVEL, "The least skill level of persons who do it.", "level: 3"),
    Key("inside_machine_time", YES_NO,
        "Done while the machine works alone, which it does not do again before this is done.",
        "inside_machine_time: yes", default="no"),
    Key("at", REFERENCE, "Where whoever attends must stand; without it, at the station.", "at: hub rack"),
    Key("phase", Choice(get_args(cell.Phase)),
        "Where the unit is: fetch (the station waits for it), load, work, unload, deliver (the station is"
        " free again), return.", "phase: load", default="work"),
    Key("picks", SOME, "Picks in it, of which a robot may miss some; a fetch by such a robot is one.",
        "picks: 5"),
    Key("uses", ListOf(REFERENCE, lone=True), "Shared things that it needs while it lasts.", "uses: feeder"),
))  # fmt: skip

VISIT = Table("a visit", "One call at a machine that runs alone for its `cycle`; phases may be left out.", (
    Key("by", BY, "Who comes: a robot, a post or a skill.", "by: R1", required=True),
    Key("level", LEVEL, "The least skill level of persons who come.", "level: 3"),
    Key("fetch", TIMES, "Bring the next unit to the machine.", "fetch: 5.5 s"),
    Key("unload", TIMES, "Take the finished unit off.", "unload: 3 s"),
    Key("load", TIMES, "Put the next unit on.", "load: 3.5 s"),
    Key("deliver", TIMES, "Carry the finished unit away; the machine is free.", "deliver: 4 s"),
    Key("return", TIMES, "Go back with empty hands.", "return: 1 s"),
    Key("together", YES_NO, "Unload and the next load are one call.", "together: yes", default="yes",
        why="unloading and the next loading are one visit"),
))  # fmt: skip

REJECTS = Table("rejects", "What a station rejects and what becomes of it.", (
    Key("share", SHARE, "Share of units rejected, where the station does not say `inspects`.", "share: 4 %"),
    Key("after_rework", SHARE, "Share rejected from the second attempt on.", "after_rework: 2 %"),
    Key("verdicts", ListOf(Choice(("good", "reject"))), "Verdicts in order, repeated, instead of a share.",
        "verdicts: [good, good, reject]"),
    Key("to", REFERENCE,
        "Station or store that rejected units go to, or scrap; here = they stay and are repaired.",
        "to: bench", default="scrap", why="rejected units are thrown away"),
    Key("repair", DURATION, "With `to: here`: time of the repair and of the check that follows it.",
        "repair: 45 s"),
    Key("by", BY, "Who repairs here; without it, whoever does the last element of the cycle.", "by: A"),
    Key("returns_to", REFERENCE, "Station before which reworked units join again.", "returns_to: test"),
    Key("enters", Choice(("in front", "behind")), "Where they join those that wait.", "enters: behind",
        default="in front", why="returned units go before new ones"),
    Key("waits", Choice(("beside the station", "on the station")),
        "Where a unit waits that goes back to the first station of the route; other units wait in the store"
        " that they go to.",
        "waits: on the station", default="beside the station",
        why="there is room beside it for every returned unit"),
    Key("attempts", LIMIT,
        "Rejections in a row with which rework ends (2 = one rework); each station counts for itself, and"
        " anew after a good verdict.", "attempts: 3", default="unlimited",
        why="no number of rejections in a row ends the rework of a unit"),
    Key("then", REFERENCE,
        "What follows the last attempt: scrap, or a station or store, and attempts count anew.",
        "then: strip", default="scrap"),
    Key("then_enters", Choice(("in front", "behind")), "Where those join that go on by `then`.",
        "then_enters: behind", default="in front", why="returned units go before new ones"),
))  # fmt: skip

FAULTS = Table("faults", "How work makes units faulty, which nobody sees until an inspection finds it.", (
    Key("share", SHARE, "Share of units made faulty here.", "share: 3 %"),
    Key("after_rework", SHARE, "Share of those that come here again.", "after_rework: 1 %"),
    Key("listed", ListOf(Choice(("good", "faulty"))), "What becomes of units in order, repeated, instead of a"
        " share.", "listed: [good, good, faulty]"),
))  # fmt: skip

INSPECTION = Table("an inspection", "What an inspection finds of the faults that units hide.", (
    Key("finds", SHARE, "Share of the faulty units that it finds.", "finds: 95 %"),
    Key("false_rejects", SHARE, "Share of the other units that it rejects.", "false_rejects: 2 %"),
    Key("of", ListOf(REFERENCE, lone=True), "Stations whose faults it can find; without it, all.",
        "of: [press, rivet]"),
))  # fmt: skip

SAMPLES = Table("samples", "Units that are tested on the station after their cycle.", (
    Key("every", SOME, "Which of the good units finished here is tested: every so many.", "every: 50",
        required=True),
    Key("time", DURATION, "How long the test takes.", "time: 40 s", required=True),
    Key("by", BY, "Who tests; without it, whoever does the last element of the cycle.", "by: P5"),
    Key("destroys", YES_NO, "Whether the test destroys the unit; if not, a sample without fault goes on.",
        "destroys: yes", default="no", why="a tested unit without fault goes on"),
))  # fmt: skip

OUTLET = Table("an outlet", "One of several ways on.", (
    Key("share", SHARE, "Share of units that go here.", "share: 70 %"),
    Key("variants", ListOf(REFERENCE, lone=True), "The variants that go here, instead of a share.",
        "variants: [v40]"),
    Key("enters", Choice(("in front", "behind")), "Where they join those that wait.", "enters: behind",
        default="behind"),
))  # fmt: skip

BATCH = Table("a batch", "Units of one variant that are worked on together, and when they start.", (
    Key("size", Forms("a count, or {variant: count}", SOME, mapping=MapOf(NAME, SOME)),
        "Units of a full batch; it starts as soon as they are there.", "size: 60", required=True),
    Key("at_least", SOME, "The fewest units that start after the longest wait or at a time of day.",
        "at_least: 20"),
    Key("waits", TIME, "The longest wait of the first unit; then what is there starts.", "waits: 30 min"),
    Key("starts_at", ListOf(CLOCK, lone=True), "Times of day at which what is there starts.",
        "starts_at: [06:00, 14:00]"),
    Key("mixed", YES_NO, "Units of several variants may go together.", "mixed: yes", default="no"),
))  # fmt: skip

CHANGEOVER = Table("a changeover", "What it takes to go over from one variant to another.", (
    Key("time", Forms("a time, how it varies, or {from > to: time}", TIME,
        mapping=TableOrNames(LAW, MapOf(PAIR, DURATION))),
        "How long it takes; a pair that is not named needs none.", "time: 25 min", required=True),
    Key("by", BY, "Who changes over; without it nobody is needed.", "by: setter", default="nobody",
        why="the changeover needs nobody"),
    Key("begins", Choice(("after the last unit", "with the next unit")),
        "As soon as no unit of the old variant can still come, or when a unit of the new one is there.",
        "begins: with the next unit", default="after the last unit",
        why="the station changes over while the new variant is still on its way"),
    Key("approval", DURATION, "Check of the first unit or setting, before work goes on.", "approval: 6 min"),
    Key("approved_by", BY, "Who approves.", "approved_by: inspector"),
))  # fmt: skip

YIELDS = Table("a yield", "What a station takes gives many units, each with its own cycle.", (
    Key("units", YIELD, "How many units one bar, coil or sheet gives.", "units: 60 per bar", required=True),
    Key("change", DURATION, "How long the change takes, before the first unit of each.", "change: 90 s",
        default="0 s", why="no time is given for the change"),
    Key("by", BY, "Who changes it.", "by: setter", default="nobody", why="the change needs nobody"),
))  # fmt: skip

LOTS = Table("a lot", "A station that runs only when few of its units are left, and then makes a lot.", (
    Key("of", SOME, "Units in a lot.", "of: 2000", required=True),
    Key("starts_at", COUNT, "Units in the store behind it with which the next lot begins.", "starts_at: 1000",
        required=True),
))  # fmt: skip

_WAY = Forms("a share", SHARE, mapping=OUTLET)

STATION = Table("a station", "A place where work is done: one or several equal machines or benches.", (
    Key("cycle", TIMES, "Time per cycle; with `visit`, the time the machine runs alone.", "cycle: 24 s"),
    Key("by", BY, "Who attends the whole cycle.", "by: A"),
    Key("level", LEVEL, "The least skill level of persons who attend the whole cycle.", "level: 3"),
    Key("allowance", SHARE, "Added to times of what persons attend here, instead of the cell's.",
        "allowance: 12 %"),
    Key("work", ListOf(ELEMENT, most=100), "The cycle as work elements in order, instead of `cycle`.",
        "work: [{do: load, time: 6 s, by: A}, {do: press, time: 7 s}]"),
    Key("strokes", RATE, "How fast a press runs, instead of `cycle`: a cycle is one stroke.",
        "strokes: 80 per min"),
    Key("per_stroke", SOME, "Units yielded per stroke, with `strokes` instead of `gives`.", "per_stroke: 2"),
    Key("visit", VISIT, "Who tends the machine and what a visit takes.",
        "visit: {by: R1, load: 3 s, unload: 3 s}"),
    Key("machines", SOME, "Equal machines or benches here.", "machines: 3", default="1"),
    Key("takes", MapOf(REFERENCE, SOME),
        "Units taken per cycle, by store, where it is not simply one from the store before it.",
        "takes: {frame bin: 1, screw bin: 4}"),
    Key("gives", SOME, "Units yielded per cycle.", "gives: 60", default="1"),
    Key("yields", Forms("a yield or its keys", YIELD, mapping=YIELDS),
        "What it takes gives many units, one after another: bars, coils, sheets.",
        "yields: {units: 60 per bar, change: 90 s, by: setter}"),
    Key("lots", LOTS, "It makes a lot whenever the store behind it has fallen to a level.",
        "lots: {of: 2000, starts_at: 1000}"),
    Key("goes_to", Forms("a store, or {store: share}, or a list to choose from", REFERENCE,
        ListOf(REFERENCE), MapOf(REFERENCE, _WAY)),
        "Where units go, if not on along the route: stores, stations or finished.",
        "goes_to: {tray: 70 %, rack: 30 %}"),
    Key("chooses", Choice(("first free", "shortest wait", "in turn")),
        "Which of a list of ways a unit takes: the first that is free, the one with the fewest units before"
        " and on its stations, or one after the other. Ties by name.", "chooses: shortest wait",
        default="first free", why="a unit takes the first way that is free"),
    Key("stops", STOPS, "Causes of stops by name.", "stops: {jam: {every: 20 min of running, lasts: 4 min}}"),
    Key("service", SERVICES, "Planned service by name.",
        "service: {daily care: {at: 06:00, lasts: 10 min, by: operator}}"),
    Key("rejects", REJECTS, "What is rejected and what becomes of it.", "rejects: {share: 4 %, to: bench}"),
    Key("scrap", SHARE, "Share thrown away, instead of `rejects`.", "scrap: 2 %"),
    Key("faults", Forms("a share or the keys of faults", SHARE, mapping=FAULTS),
        "Share of units that the work here makes faulty, which nobody sees.", "faults: 3 %"),
    Key("lot_faults", SHARE, "Share of cycles that make all their units faulty together.",
        "lot_faults: 0.5 %"),
    Key("inspects", Forms("yes or the keys of an inspection", YES_NO, mapping=INSPECTION),
        "The station looks for faults; what it finds is rejected.",
        "inspects: {finds: 95 %, false_rejects: 2 %}"),
    Key("mends", SHARE, "Share of faulty units that rework here, or repair with `to: here`, puts right.",
        "mends: 90 %"),
    Key("samples", SAMPLES, "Every so many good units are tested.",
        "samples: {every: 50, time: 40 s, destroys: yes}"),
    Key("hands_on", Choice(("holds finished part", "only into a free place")),
        "Whether a finished unit waits on the station for a place, or a place is kept before it begins.",
        "hands_on: only into a free place", default="holds finished part",
        why="a finished unit stays on the station while the next store is full"),
    Key("one_visit", YES_NO, "With `work`: unload and the next load are one call.", "one_visit: yes",
        default="no"),
    Key("runs_through_breaks", YES_NO, "Work that nobody attends goes on in breaks.",
        "runs_through_breaks: yes", default="no",
        why="machines stand still in breaks"),
    Key("priority", SOME, "Whose call is answered first; 1 is first.", "priority: 1", default="1"),
    Key("batch", BATCH, "Units worked on together.", "batch: {size: 60, waits: 30 min}"),
    Key("changeover", CHANGEOVER, "What it takes to go over to another variant.",
        "changeover: {time: 6 min, by: setter}"),
    Key("only", ListOf(REFERENCE, lone=True), "The variants that this station takes, if not all.",
        "only: [v40]"),
    Key("power", STATION_POWER, "What it draws, in place of the `power` of the cell.",
        "power: {working: 4 kW, idle: 1.2 kW}"),
))  # fmt: skip
