"""The keys of a cell file: one table per mapping, one row per key.

Validation, defaults, the JSON Schema and the reference page all come from here.  A new key is a new row here
and a line where `resolve` takes its value.
"""

from __future__ import annotations

from typing import get_args

from cellsim import units
from cellsim.describe import cell
from cellsim.describe.fields import (
    Choice,
    Forms,
    Key,
    ListOf,
    MapOf,
    Scalar,
    Table,
    TableOrNames,
    settle_homes,
)
from cellsim.describe.kinds import (
    AS_MUCH,
    CAMPAIGN,
    CLOCK,
    COUNT,
    DAYS,
    DAYS_TEXT,
    ENERGY,
    FACTOR,
    FILE,
    FREQUENCY,
    LENGTH,
    LIMIT,
    NAME,
    NUMBER,
    PAIR,
    PARAMETER,
    PEOPLE,
    PLACES,
    POWER,
    RATE,
    RATIO,
    REFERENCE,
    SHARE,
    SOME,
    SPEED,
    STAY,
    STORE_NAME,
    TIME,
    WORDS,
    YES_NO,
    parse_release,
    parse_settle,
)
from cellsim.describe.laws import LAWS

CRITERIA = get_args(cell.Criterion)

_PARAMETER_KINDS = {"time": PARAMETER, "spread": RATIO, "shape": NUMBER, "count": SOME}


def _law_keys() -> tuple[Key, ...]:
    """The keys by which a law is given: its name, the parameters of all laws, and measured times."""
    rows = [Key("law", Choice(tuple(LAWS)), "Name of the law.", "law: weibull")]
    for law in LAWS.values():
        for parameter in law.parameters:
            if parameter.kind != "times" and parameter.name not in {row.name for row in rows}:
                kind = _PARAMETER_KINDS[parameter.kind]
                users = ", ".join(other.name for other in LAWS.values() if parameter in other.parameters)
                text = f"{parameter.help[0].upper()}{parameter.help[1:]} ({users})."
                rows.append(Key(parameter.name, kind, text, f"{parameter.name}: {kind.example}"))
    times = ListOf(TIME)
    return (
        *rows,
        Key("measured", Forms("a file name or a list of times", FILE, times),
            "Measured times: a file beside the cell file, or a list; each is equally likely.",
            "measured: rivet_times.csv"),
        Key("listed", times, "Times in the given order, repeated.", "listed: [1 min, 1 min, 13 min]"),
        Key("column", WORDS, "Column of the file, by its heading.", "column: seconds"),
        Key("unit", Choice(tuple(units.UNITS["time"])), "Unit of the column if its heading does not say.",
            "unit: s"),
    )  # fmt: skip


LAW = Table("a time that varies", "How a time varies from one time to the next.", _law_keys())
DURATION = Forms("a time or how it varies", TIME, mapping=LAW)

TIMES = Forms(
    "a time, how it varies, or {variant: time}", TIME, mapping=TableOrNames(LAW, MapOf(NAME, DURATION))
)

OCCASION = Table(
    "an occasion", "What lies between the end of one stop and the next one, when it is not a plain text.",
    (*_law_keys(), Key("of", Choice(get_args(cell.StopClock)), "What is counted.", "of: running",
    required=True)),
)  # fmt: skip

BY = Forms(
    "who attends: a name, a list of names, {name: people} or nobody",
    REFERENCE, ListOf(REFERENCE), MapOf(REFERENCE, PEOPLE),
)  # fmt: skip

# laws that need one time only, so that one word can name the law of two plain times
_ONE_TIME_LAWS = tuple(
    name for name, row in LAWS.items() if name != "fixed" and [p.kind for p in row.parameters] == ["time"]
)

STOP = Table("a stop", "A cause for which a station or robot stands still.", (
    Key("every", Forms("how often", FREQUENCY, mapping=OCCASION),
        "From the end of one repair to the next stop: running time counts only while it works.",
        "every: 20 min of running", required=True),
    Key("lasts", DURATION, "From the beginning of the repair to its end.", "lasts: 4 min", required=True),
    Key("law", Choice(_ONE_TIME_LAWS, "write another law inside every and lasts"),
        "Law of both `every` and `lasts` where they are plain.",
        "law: exponential"),
    Key("exact", YES_NO, "Both are exact, for planned work such as a change of tool.", "exact: yes",
        default="no"),
    Key("cleared_by", BY, "Who repairs: a post or a skill; without it the repair needs nobody.",
        "cleared_by: technician"),
    Key("part", Choice(get_args(cell.PartAtStop)), "What becomes of the unit in work.", "part: restarts",
        default="continues", why="the unit in work goes on where it was"),
    Key("priority", SOME, "Whose call is answered first; 1 is first.", "priority: 1", default="1"),
))  # fmt: skip
STOPS = MapOf(NAME, STOP)

ELEMENT = Table("a work element", "One step of a station's cycle.", (
    Key("do", WORDS, "What is done.", "do: load", required=True),
    Key("time", TIMES, "How long it takes.", "time: 6 s", required=True),
    Key("by", BY, "Who attends: a post, a robot, a skill, several, or nobody.", "by: A"),
    Key("at", REFERENCE, "Where whoever attends must stand; without it, at the station.", "at: hub rack"),
    Key("phase", Choice(get_args(cell.Phase)),
        "Where the unit is: fetch (the station waits for it), load, work, unload, deliver (the station is"
        " free again), return.", "phase: load", default="work"),
))  # fmt: skip

VISIT = Table("a visit", "One call at a machine that runs alone for its `cycle`; phases may be left out.", (
    Key("by", BY, "Who comes: a robot, a post or a skill.", "by: R1", required=True),
    Key("fetch", TIMES, "Bring the next unit to the machine.", "fetch: 5.5 s"),
    Key("unload", TIMES, "Take the finished unit off.", "unload: 3 s"),
    Key("load", TIMES, "Put the next unit on.", "load: 3.5 s"),
    Key("deliver", TIMES, "Carry the finished unit away; the machine is free.", "deliver: 4 s"),
    Key("return", TIMES, "Go back with empty hands.", "return: 1 s"),
    Key("together", YES_NO, "Unload and the next load are one call.", "together: yes", default="yes",
        why="unloading and the next loading are one visit"),
))  # fmt: skip

REJECTS = Table("rejects", "What a station rejects and what becomes of it.", (
    Key("share", SHARE, "Share of units rejected.", "share: 4 %"),
    Key("after_rework", SHARE, "Share rejected from the second attempt on.", "after_rework: 2 %"),
    Key("verdicts", ListOf(Choice(("good", "reject"))), "Verdicts in order, repeated, instead of a share.",
        "verdicts: [good, good, reject]"),
    Key("to", REFERENCE, "Station or store that rejected units go to, or scrap.", "to: bench",
        default="scrap", why="rejected units are thrown away"),
    Key("returns_to", REFERENCE, "Station before which reworked units join again.", "returns_to: test"),
    Key("enters", Choice(("in front", "behind")), "Where they join those that wait.", "enters: behind",
        default="in front", why="returned units go before new ones"),
    Key("waits", Choice(("beside the station", "on the station")),
        "Where a unit waits that goes straight back to the first station of the route.",
        "waits: on the station", default="beside the station",
        why="there is room beside it for every returned unit"),
    Key("attempts", LIMIT, "Rejection number with which a unit is scrapped.", "attempts: 3",
        default="unlimited", why="a unit may be reworked any number of times"),
    Key("then", Choice(("scrap",)), "What follows the last attempt.", "then: scrap", default="scrap"),
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

_POWER_KEYS = (
    Key("working", POWER, "Drawn while it works; without it 60 % of the nameplate.", "working: 4 kW"),
    Key("idle", POWER, "Drawn while it is ready and waits; without it half of what it draws at work.",
        "idle: 1.2 kW"),
    Key("changeover", POWER, "Drawn during a changeover; without it as when idle.", "changeover: 1.5 kW"),
    Key("down", POWER, "Drawn while it is stopped; without it as when idle.", "down: 600 W"),
    Key("break", POWER, "Drawn in breaks; without it as when idle.", "break: 1.2 kW"),
    Key("off", POWER, "Drawn outside shifts; without it nothing.", "off: 100 W"),
    Key("nameplate", POWER, "Power on the nameplate, where nothing was measured.", "nameplate: 7.5 kW"),
)  # fmt: skip
POWERS = Table("the power", "What a station or robot draws by state.", _POWER_KEYS)
STATION_POWER = Table("the power of a station", "What a station draws by state, and by cycle beside that.", (
    *_POWER_KEYS,
    Key("per_cycle", ENERGY, "Energy for each cycle or batch beside that.", "per_cycle: 0.2 kWh"),
))  # fmt: skip

_WAY = Forms("a share", SHARE, mapping=OUTLET)

STATION = Table("a station", "A place where work is done: one or several equal machines or benches.", (
    Key("cycle", TIMES, "Time per cycle; with `visit`, the time the machine runs alone.", "cycle: 24 s"),
    Key("by", BY, "Who attends the whole cycle.", "by: A"),
    Key("work", ListOf(ELEMENT, most=100), "The cycle as work elements in order, instead of `cycle`.",
        "work: [{do: load, time: 6 s, by: A}, {do: press, time: 7 s}]"),
    Key("visit", VISIT, "Who tends the machine and what a visit takes.",
        "visit: {by: R1, load: 3 s, unload: 3 s}"),
    Key("machines", SOME, "Equal machines or benches here.", "machines: 3", default="1"),
    Key("takes", MapOf(REFERENCE, SOME),
        "Units taken per cycle, by store, where it is not simply one from the store before it.",
        "takes: {frame bin: 1, screw bin: 4}"),
    Key("gives", SOME, "Units yielded per cycle.", "gives: 60", default="1"),
    Key("goes_to", Forms("a store, or {store: share}, or a list to choose from", REFERENCE,
        ListOf(REFERENCE), MapOf(REFERENCE, _WAY)),
        "Where units go, if not on along the route: stores, stations or finished.",
        "goes_to: {tray: 70 %, rack: 30 %}"),
    Key("chooses", Choice(("first free", "shortest wait", "in turn")),
        "Which of a list of ways a unit takes: the first that is free, the one with the fewest units before"
        " and on its stations, or one after the other. Ties by name.", "chooses: shortest wait",
        default="first free", why="a unit takes the first way that is free"),
    Key("stops", STOPS, "Causes of stops by name.", "stops: {jam: {every: 20 min of running, lasts: 4 min}}"),
    Key("rejects", REJECTS, "What is rejected and what becomes of it.", "rejects: {share: 4 %, to: bench}"),
    Key("scrap", SHARE, "Share thrown away, instead of `rejects`.", "scrap: 2 %"),
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

BELT = Table("a belt", "A moving belt: units travel its length, then stand at its end.", (
    Key("length", LENGTH, "How far units travel.", "length: 6 m", required=True),
    Key("speed", SPEED, "How fast.", "speed: 200 mm/s", required=True),
))  # fmt: skip

STORE = Table("a store", "Places between stations.", (
    Key("places", PLACES, "How many units there is room for.", "places: 8", required=True),
    Key("starts_with", COUNT, "Units in it when the cell starts.", "starts_with: 4", default="0"),
    Key("order", Choice(("first in first out", "last in first out")), "Which unit is taken first.",
        "order: last in first out", default="first in first out"),
    Key("transit", TIME, "How long a unit is on its way through the store.", "transit: 20 s"),
    Key("belt", BELT, "The same by length and speed.", "belt: {length: 6 m, speed: 200 mm/s}"),
    Key("stays", STAY, "To cure, cool or dry: no unit is taken before.", "stays: at least 25 min"),
    Key("use_within", TIME, "How long after it entered a unit may still be taken.", "use_within: 4 h"),
    Key("late", REFERENCE, "Where later units go: scrap, a store, or back to a station.", "late: wash",
        default="scrap", why="what has waited too long is thrown away"),
    Key("tray", SOME, "Units move on only in trays of this many; every tray comes back empty.", "tray: 6"),
    Key("tray_waits", TIME, "The longest wait of the first unit in a tray; then it goes unfilled.",
        "tray_waits: 10 min"),
))  # fmt: skip

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
))  # fmt: skip

TRAVEL = MapOf(PAIR, TIME)
_SERVES = ListOf(Choice(CRITERIA), lone=True)

POST = Table("a post", "One or several people who do the same.", (
    Key("people", PEOPLE, "How many.", "people: 2", default="1"),
    Key("works_at", ListOf(REFERENCE, lone=True), "Stations that they attend, where those do not say `by`.",
        "works_at: [press, rivet]"),
    Key("skills", Forms("a list of skills, or {skill: time factor}", listing=ListOf(NAME, least=0),
        mapping=MapOf(NAME, FACTOR)),
        "What they can do; a time factor of 1.2 means 20 % more time.", "skills: {weld: 1.2}"),
    Key("shift", ListOf(REFERENCE, lone=True), "The shifts they work.", "shift: day"),
    Key("serves", _SERVES, "Which call is answered first among those of equal priority.",
        "serves: longest waiting",
        default="longest waiting, downstream first",
        why="who has waited longest, then the last in the route"),
    Key("order", ListOf(REFERENCE), "Stations in the order for `listed order`.", "order: [press, rivet]"),
    Key("overtaking", YES_NO, "A call that can be answered at once may pass one that cannot.",
        "overtaking: no",
        default="yes", why="a call that can be answered passes one that must wait for more"),
    Key("at_break", Choice(get_args(cell.BreakRule)), "What happens to a work element when the break comes.",
        "at_break: suspend", default="finish element", why="the element is finished, back by the clock"),
    Key("travel", TRAVEL, "Walking times of this post, before those of the cell.",
        "travel: {press > rivet: 1.5 s}"),
    Key("walks", SPEED, "Walking speed, with `layout`.", "walks: 1 m/s"),
    Key("starts_at", REFERENCE, "Where they stand at first.", "starts_at: press"),
))  # fmt: skip

ROBOT = Table("a robot", "A robot that attends stations.", (
    Key("serves", _SERVES, "Which call is answered first among those of equal priority.",
        "serves: longest waiting",
        default="downstream first, longest waiting",
        why="the last in the route, then who has waited longest"),
    Key("order", ListOf(REFERENCE), "Stations in the order for `listed order`.", "order: [mill, lathe]"),
    Key("gripper", Choice(("single", "double")), "A double gripper exchanges at the machine.",
        "gripper: double",
        default="single", why="one unit in the gripper at a time"),
    Key("travel", TRAVEL, "Travel times of this robot, before those of the cell.",
        "travel: {rack > mill: 1.5 s}"),
    Key("speed", SPEED, "Travel speed, with `layout`.", "speed: 1 m/s"),
    Key("starts_at", REFERENCE, "Where it stands at first.", "starts_at: rack"),
    Key("stops", STOPS, "Causes of stops by name.", "stops: {drop: {every: 60 min of running, lasts: 90 s}}"),
    Key("power", POWERS, "What it draws, in place of the `power` of the cell.",
        "power: {working: 700 W, idle: 250 W}"),
))  # fmt: skip

SEQUENCE = Table("a sequence", "In which order the variants are released.", (
    Key("order", Choice(("in ratio", "at random")), "Spread as evenly as the shares allow, or drawn.",
        "order: at random"),
    Key("campaigns", Forms("a number of shifts, or [{variant: units}, ...]", CAMPAIGN,
        listing=ListOf(MapOf(NAME, SOME))),
        "One variant after the other: each once in so many shifts, by share and target, or a list.",
        "campaigns: [{v40: 525}, {v50: 225}]"),
    Key("plan", FILE, "A file beside the cell file with the columns variant and units.", "plan: plan.csv"),
    Key("line", Choice(("rolls", "empties")),
        "Whether the next variant follows at once or waits until the last has left the cell.",
        "line: empties", default="rolls", why="the next variant follows the last through the line"),
))  # fmt: skip

RELEASE = Table("a release", "How raw units come.", (
    Key("every", DURATION, "Time from one raw unit to the next.", "every: {mean: 36 s, spread: 20 %}"),
    Key("at", ListOf(TIME), "Times after the start at which raw units come.", "at: [0 s, 5 s]"),
))  # fmt: skip

CARRIER = Table("a carrier", "Pallets, fixtures or baskets of a fixed number that units ride on.", (
    Key("count", SOME, "How many there are in all.", "count: 12", required=True),
    Key("from", REFERENCE, "The station that puts a unit on one: its cycle waits for a free one.",
        "from: load", required=True),
    Key("to", REFERENCE, "The station whose cycle takes the unit off; may be the same.", "to: unload",
        required=True),
    Key("returns", DURATION, "How long an empty one is on its way back.", "returns: 20 s", default="0 s",
        why="an empty one is there again at once"),
    Key("per", Choice(("unit", "batch")), "One for each unit, or one for all units of a batch.", "per: batch",
        default="unit"),
))  # fmt: skip

DIAL = Table("an indexing table", "Stations whose units all move on by one position at once.", (
    Key("stations", ListOf(REFERENCE, least=2, most=100),
        "Its stations, one after the other in the route, with no store between them. The table turns when all"
        " units on it are finished; an empty position moves along. One stop stops all.",
        "stations: [load, press, unload]", required=True),
    Key("index", DURATION, "How long it takes to turn by one position.", "index: 1.5 s", required=True),
))  # fmt: skip

STUDY = Table("a study", "What is run.", (
    Key("shifts", SOME, "How many shifts a run covers.", "shifts: 1"),
    Key("run", TIME, "How long a run is, instead of shifts.", "run: 8 h"),
    Key("settle", Scalar("a time or shifts", parse_settle, "2 shifts"),
        "Run before that, which is not counted.",
        "settle: 2 shifts", default="0 s", why="the run counts from its beginning"),
    Key("start", Choice(("empty", "as left")), "What stands in the cell at first.", "start: as left",
        default="empty", why="the cell starts empty, but for what its stores start with"),
    Key("seed", COUNT, "Number from which the random numbers come.", "seed: 1", default="1",
        why="any number will do"),
    Key("replications", SOME, "How many runs.", "replications: 100", default="100",
        why="enough for a first look"),
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
    Key("robots", MapOf(NAME, ROBOT), "The robots by name.", "robots: {R1: {gripper: double}}"),
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
    Key("assumed", ListOf(ASSUMED, least=0), "What was assumed when this file was made by `resolve`.",
        "assumed: [{path: shifts.day.days, value: Mon-Fri, why: the usual working week}]"),
    Key("origins", ListOf(STATED, least=0), "Origins of values, in a file made by `resolve`.",
        "origins: [{path: stations.press, text: measured 2026-03}]"),
))  # fmt: skip

TABLES: dict[str, Table] = {
    table.slug: table
    for table in (
        CELL, SHIFT, BREAK, POST, ROBOT, STATION, ELEMENT, VISIT, STOP, OCCASION, REJECTS, OUTLET,
        BATCH, CHANGEOVER, POWERS, STATION_POWER, CARRIER, DIAL,
        STORE, BELT, SEQUENCE,
        RELEASE,
        LAW, STUDY, ASSUMED, STATED,
    )
}  # fmt: skip
settle_homes(TABLES)
