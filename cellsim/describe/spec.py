"""The keys of a cell file: one table per mapping, one row per key.

Validation, defaults, the JSON Schema and the reference page all come from here.  A new key is a new row in
the module of its topic, `spec_people.py` and so on, and a line where `resolve` takes its value.
"""

from __future__ import annotations

from cellsim.describe import cell
from cellsim.describe.fields import Choice, Forms, Key, ListOf, MapOf, Scalar, Table, settle_homes
from cellsim.describe.kinds import (
    ALWAYS_THERE,
    AS_MUCH,
    COUNT,
    FACTOR,
    LENGTH,
    LEVEL,
    NAME,
    PEOPLE,
    PLACES,
    RATE,
    REFERENCE,
    SHARE,
    SOME,
    STORE_NAME,
    TIME,
    WORDS,
    parse_release,
    parse_settle,
)
from cellsim.describe.spec_flow import (
    BELT,
    CARRIER,
    COLLECTION,
    DIAL,
    FINISHED_GOODS,
    PART,
    RELEASE,
    SEQUENCE,
    STORE,
)
from cellsim.describe.spec_people import BREAK, LEARNS, POST, ROTATION, SHIFT, TRAVEL
from cellsim.describe.spec_robots import CALLED, MISPICKS, RECOVERY, ROBOT, ZONE
from cellsim.describe.spec_stations import (
    BATCH,
    CHANGEOVER,
    ELEMENT,
    FAULTS,
    INSPECTION,
    LOTS,
    OUTLET,
    REJECTS,
    SAMPLES,
    STATION,
    VISIT,
    YIELDS,
)
from cellsim.describe.spec_work import LAW, OCCASION, POWERS, SERVICE, STATION_POWER, STOP

STUDY = Table("a study", "What is run.", (
    Key("shifts", SOME, "How many shifts a run covers.", "shifts: 1"),
    Key("run", TIME, "How long a run is, instead of shifts.", "run: 8 h"),
    Key("settle", Scalar("a time or shifts", parse_settle, "2 shifts"),
        "Run before that, which is not counted.",
        "settle: 2 shifts", default="0 s", why="the run counts from its beginning"),
    Key("start", Choice(("empty", "as left", "primed")),
        "What stands in the cell at first; primed: a unit at each station, stores half full or as they say.",
        "start: as left",
        default="empty", why="the cell starts empty, but for what its stores start with"),
    Key("seed", COUNT, "Number from which the random numbers come.", "seed: 1", default="1",
        why="any number will do"),
    Key("replications", SOME, "How many runs.", "replications: 100", default="100",
        why="enough for a first look"),
))  # fmt: skip

MARGINS = Table("the margins of a cell",
    "By how much, as a share, a figure may move before a night of the cell fails.", (
    Key("output_per_hour", SHARE, "Of good units per working hour.", "output_per_hour: 1 %"),
    Key("wip", SHARE, "Of the mean number of units in the cell.", "wip: 5 %"),
    Key("lead_time", SHARE, "Of the mean time of a unit in the cell.", "lead_time: 5 %"),
))  # fmt: skip

ASSUMED = Table("an assumed value", "A value that was assumed when the description was resolved.", (
    Key("path", WORDS, "Which value.", "path: shifts.day.days", required=True),
    Key("value", WORDS, "What was assumed.", "value: Mon-Fri", required=True),
    Key("why", WORDS, "For what reason.", "why: the usual working week", required=True),
))  # fmt: skip

STATED = Table("an origin", "Where the values at a path come from.", (
    Key("path", WORDS, "Which values.", "path: stations.press", required=True),
    Key("text", WORDS, "Where they come from.", "text: measured 2026-03", required=True),
))  # fmt: skip

CELL = Table("a cell file", "One cell.", (
    Key("cell", WORDS, "Name of the cell.", "cell: Spinning top", required=True),
    Key("question", WORDS, "The decision that the study is for.",
        "question: How many places between the benches?"),
    Key("target", RATE, "Demanded output.", "target: 115 per h"),
    Key("shifts", MapOf(NAME, SHIFT), "Working times; without any, the cell works without a pause.",
        "shifts: {day: {from: 06:00, to: 14:00}}"),
    Key("crew", MapOf(NAME, Forms("a list of stations or the keys of a post", listing=ListOf(REFERENCE),
        mapping=POST)),
        "The people by post; a list is short for `works_at`.", "crew: {anna: [press, rivet]}"),
    Key("levels", MapOf(LEVEL, FACTOR), "Time factors of skill levels: 1 beginner, 3 practised, 4 expert.",
        "levels: {1: 1.3, 2: 1.1}"),
    Key("allowance", SHARE,
        "Times are basic times: rest and delay allowance, added to what persons attend.", "allowance: 10 %",
        default="0 %", why="times are standard times, which hold all allowances"),
    Key("robots", MapOf(NAME, ROBOT), "The robots by name.", "robots: {R1: {gripper: double}}"),
    Key("zones", MapOf(NAME, ZONE), "Spaces that robots share with people.",
        "zones: {front: {robots: [R1], people_at: [load], inside: stops, restart: 10 s}}"),
    Key("shared", MapOf(NAME, PEOPLE), "Things that elements use one at a time, and how many there are.",
        "shared: {feeder: 1}"),
    Key("route", ListOf(REFERENCE), "Stations and stores in the order in which a unit meets them.",
        "route: [press, tray, fit]", required=True),
    Key("lines", MapOf(NAME, ListOf(REFERENCE)), "More lines beside the route: feeders, rework.",
        "lines: {handles: [stamp, hook bin]}"),
    Key("stations", MapOf(NAME, STATION), "The stations by name.", "stations: {press: {cycle: 24 s}}",
        required=True),
    Key("stores",
        MapOf(STORE_NAME, Forms("a count or unlimited or the keys of a store", PLACES, mapping=STORE)),
        "The stores by name; a number is short for `places`.", "stores: {tray: 8}"),
    Key("release", Forms("how raw units come", Scalar("how raw units come", parse_release, AS_MUCH),
        mapping=RELEASE),
        "How raw units come to the first station.", "release: every 36 s",
        default=AS_MUCH, why="raw material is always there"),
    Key("variants", Forms("a list, or {variant: share}", listing=ListOf(NAME), mapping=MapOf(NAME, SHARE)),
        "The kinds of the product, with their shares.", "variants: {v40: 70 %, v50: 30 %}"),
    Key("sequence", Forms("in ratio, at random, or a list of campaigns, or the keys of a sequence",
        Choice(("in ratio", "at random")), ListOf(MapOf(NAME, SOME)), SEQUENCE),
        "In which order the variants are released.", "sequence: [{v40: 525}, {v50: 225}]"),
    Key("varied_lines", ListOf(REFERENCE),
        "Lines beside the route whose units are of a variant too; the others make parts that fit all.",
        "varied_lines: [shackles]"),
    Key("parts", Forms("always there, or the purchased parts by name", Choice((ALWAYS_THERE,)),
        mapping=MapOf(NAME, PART)),
        "Purchased parts that are counted.", "parts: {screws: {used_at: {clamp: 2}, box: 500, bins: 2,"
        " delivery: 20 min}}", default=ALWAYS_THERE, why="no purchased part ever runs out"),
    Key("finished_goods", FINISHED_GOODS, "Places for finished units that somebody must collect.",
        "finished_goods: {places: 200, collected: {every: 60 min, takes: 48}}"),
    Key("travel", TRAVEL, "Times between points, the same back unless that is given too.",
        "travel: {press > rivet: 1.5 s}"),
    Key("layout", MapOf(REFERENCE, ListOf(LENGTH, exactly=2)), "Points in metres, for `walks` and `speed`.",
        "layout: {press: [0 m, 0 m], rivet: [1.5 m, 0 m]}"),
    Key("carriers", MapOf(NAME, CARRIER, most=cell.MOST_CARRIER_KINDS),
        "Pallets, fixtures or baskets in circulation, by name.",
        "carriers: {pallets: {count: 12, from: load, to: unload, returns: 20 s}}"),
    Key("tables", MapOf(NAME, DIAL), "Indexing tables, by name.",
        "tables: {dial: {stations: [load, press, unload], index: 1.5 s}}"),
    Key("power", POWERS, "What each station and robot draws that does not say so itself; without any, nothing"
        " is said about energy.", "power: {working: 3 kW, idle: 1 kW, off: 100 W}"),
    Key("study", STUDY, "What is run.", "study: {shifts: 1, replications: 100}"),
    Key("margins", MARGINS, "What is a material change where the cell is guarded night by night; 1 % of"
        " output and 5 % of work in progress and lead time where nothing is said.", "margins: {wip: 10 %}"),
    Key("assumed", ListOf(ASSUMED, least=0), "What was assumed when this file was made by `resolve`.",
        "assumed: [{path: shifts.day.days, value: Mon-Fri, why: the usual working week}]"),
    Key("origins", ListOf(STATED, least=0), "Origins of values, in a file made by `resolve`.",
        "origins: [{path: stations.press, text: measured 2026-03}]"),
))  # fmt: skip

TABLES: dict[str, Table] = {
    table.slug: table
    for table in (
        CELL, SHIFT, BREAK, POST, LEARNS, ROTATION, ROBOT, MISPICKS, CALLED, RECOVERY, ZONE,
        STATION, ELEMENT, VISIT, STOP, SERVICE, OCCASION,
        REJECTS, FAULTS, INSPECTION, SAMPLES, OUTLET, BATCH, CHANGEOVER, YIELDS, LOTS,
        POWERS, STATION_POWER, CARRIER, DIAL,
        STORE, BELT, SEQUENCE,
        RELEASE, PART, FINISHED_GOODS, COLLECTION,
        LAW, STUDY, MARGINS, ASSUMED, STATED,
    )
}  # fmt: skip
settle_homes(TABLES)
