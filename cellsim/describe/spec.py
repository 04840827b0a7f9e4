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
    ALWAYS_THERE,
    AS_MUCH,
    BINS,
    CAMPAIGN,
    CLOCK,
    COUNT,
    DAYS,
    DAYS_TEXT,
    ENERGY,
    FACTOR,
    FILE,
    FREQUENCY,
    INSIDE,
    LEARNING,
    LENGTH,
    LEVEL,
    LIMIT,
    MOMENT,
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
    SETTING,
    SHARE,
    SKILL,
    SOME,
    SPEED,
    STAY,
    STORE_NAME,
    TIME,
    WORDS,
    YES_NO,
    YIELD,
    parse_release,
    parse_settle,
)
from cellsim.describe.laws import LAWS

CRITERIA = get_args(cell.Criterion)
FIXED_SEQUENCE = "fixed sequence"

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
    Key("interrupts", YES_NO, "The repair takes people from work of lower priority, which goes on later.",
        "interrupts: yes", default="no"),
    Key("with", ListOf(REFERENCE, lone=True),
        "Stations and robots that stand still with it until the same repair ends: air, power.",
        "with: [rivet, R1]"),
    Key("begins", Choice(("at once", "after the cycle")), "Whether a cycle that has begun ends first.",
        "begins: after the cycle", default="at once"),
    Key("restart_scrap", COUNT, "How many of the first units finished after it are scrapped.",
        "restart_scrap: 3", default="0"),
    Key("part", Choice(get_args(cell.PartAtStop)), "What becomes of the unit in work.", "part: restarts",
        default="continues", why="the unit in work goes on where it was"),
    Key("priority", SOME, "Whose call is answered first; 1 is first.", "priority: 1", default="1"),
))  # fmt: skip
STOPS = MapOf(NAME, STOP)

SERVICE = Table("a service", "Planned work on a station or robot, for which it stands still.", (
    Key("at", ListOf(MOMENT, lone=True), "When it is due: times of day, with days where not daily.",
        "at: [06:00, Fri 13:00]"),
    Key("every", Forms("how often", FREQUENCY, mapping=OCCASION),
        "How often it is due, instead of `at`, counted from the end of one service.",
        "every: 40 h of on time"),
    Key("lasts", DURATION, "How long it takes.", "lasts: 10 min", required=True),
    Key("by", BY, "Who does it: a post or a skill; without it nobody is needed.", "by: operator"),
    Key("begins", Choice(("after the cycle", "at once")), "Whether a cycle that has begun ends first.",
        "begins: at once", default="after the cycle", why="planned work lets the cycle in progress end"),
    Key("with", ListOf(REFERENCE, lone=True), "Stations and robots that stand still for it too.",
        "with: [rivet, R1]"),
    Key("restart_scrap", COUNT, "How many of the first units finished after it are scrapped.",
        "restart_scrap: 3", default="0"),
    Key("priority", SOME, "Whose call is answered first; 1 is first.", "priority: 9", default="1"),
))  # fmt: skip
SERVICES = MapOf(NAME, SERVICE)

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
        "Where a unit waits that goes straight back to the first station of the route.",
        "waits: on the station", default="beside the station",
        why="there is room beside it for every returned unit"),
    Key("attempts", LIMIT,
        "Rejections in a row with which rework ends; each station counts for itself, and anew after a good"
        " verdict.", "attempts: 3", default="unlimited", why="a unit may be reworked any number of times"),
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
    Key("overtaking", YES_NO, "A station that needs few units may take them before one that asked for more.",
        "overtaking: no", default="yes"),
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

CALLED = Table("who comes", "Whoever clears what the robot could not pick.", (
    Key("by", BY, "A post or a skill.", "by: A", required=True),
    Key("time", DURATION, "How long it takes, once there.", "time: 45 s", required=True),
))  # fmt: skip

MISPICKS = Table("mis-picks", "Picks that fail: the robot tries again, then somebody comes.", (
    Key("share", SHARE, "Share of picks that fail.", "share: 4 per 1000", default="1 per 1000",
        why="common practice, no source"),
    Key("retry", TIME, "How long one more try takes.", "retry: 2.5 s", required=True),
    Key("works", SHARE, "Share of retries that succeed.", "works: 80 %", default="80 %",
        why="common practice, no source"),
    Key("retries", COUNT, "Tries before somebody is called.", "retries: 1", default="1",
        why="common practice, no source"),
    Key("then", CALLED, "Who comes when all retries fail.", "then: {by: A, time: 45 s}", required=True),
))  # fmt: skip

RECOVERY = Table("a recovery", "What follows each repair of a robot before it goes on: home, look, reset.", (
    Key("time", DURATION, "How long it takes.", "time: 30 s", default="30 s",
        why="common practice, no source"),
    Key("by", BY, "Who does it; without it nobody is needed.", "by: operator"),
))  # fmt: skip

ROBOT = Table("a robot", "A robot that attends stations, or moves units from place to place.", (
    Key("serves", ListOf(Choice((*CRITERIA, FIXED_SEQUENCE)), lone=True),
        "Which call is answered first among those of equal priority; in a fixed sequence it answers none, but"
        " goes through its moves in the order given and waits at each until the unit is ready. A move from an"
        " empty place is left out.",
        "serves: longest waiting",
        default="downstream first, longest waiting",
        why="the last in the route, then who has waited longest"),
    Key("moves", ListOf(PAIR, most=100),
        "Moves between stations, stores and points where raw units lie or finished ones are put down.",
        "moves: [in > mill, mill > lathe, lathe > out]"),
    Key("pick", DURATION, "How long the pick of each move takes.", "pick: 2 s"),
    Key("place", DURATION, "How long it takes to put down.", "place: 2 s"),
    Key("checks_target", YES_NO, "With `moves`: it takes a unit only when its target is free.",
        "checks_target: no", default="yes",
        why="a robot never takes a unit unless its target is free or kept for it"),
    Key("order", ListOf(REFERENCE), "Stations in the order for `listed order`.", "order: [mill, lathe]"),
    Key("gripper", Choice(("single", "double")), "A double gripper exchanges at the machine.",
        "gripper: double",
        default="single", why="one unit in the gripper at a time"),
    Key("fetches_ahead", YES_NO,
        "With a double gripper: it fetches the next unit before the machine calls.", "fetches_ahead: yes",
        default="no"),
    Key("grippers", MapOf(REFERENCE, NAME), "The gripper that each station needs.",
        "grippers: {wind: jaw, close: cup}"),
    Key("gripper_change", TIME, "How long a change of gripper takes.", "gripper_change: 4 s"),
    Key("mispicks", MISPICKS, "Picks that fail.",
        "mispicks: {share: 4 per 1000, retry: 2.5 s, then: {by: A, time: 45 s}}"),
    Key("speed_setting", SETTING,
        "Speed of travel and handling (moves, and phases other than work), as a share of the stated speed.",
        "speed_setting: 50 %", default="100 %"),
    Key("recovery", RECOVERY, "What follows each repair of it before it goes on.",
        "recovery: {time: 30 s, by: operator}"),
    Key("travel", TRAVEL, "Travel times of this robot, before those of the cell.",
        "travel: {rack > mill: 1.5 s}"),
    Key("speed", SPEED, "Travel speed, with `layout`.", "speed: 1 m/s"),
    Key("starts_at", REFERENCE, "Where it stands at first.", "starts_at: rack"),
    Key("stops", STOPS, "Causes of stops by name.", "stops: {drop: {every: 60 min of running, lasts: 90 s}}"),
    Key("service", SERVICES, "Planned service by name.",
        "service: {greasing: {at: Fri 13:00, lasts: 20 min}}"),
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

PART = Table("a purchased part", "Pieces from outside, without which a station waits for material.", (
    Key("used_at", Forms("a station, a list of stations, or {station: pieces per cycle}", REFERENCE,
        ListOf(REFERENCE), MapOf(REFERENCE, SOME)),
        "Where it is used; the pieces are taken at the start of a cycle, all from one stock.",
        "used_at: {clamp: 2}", required=True),
    Key("box", SOME, "Pieces in a full bin, or in what one delivery brings.", "box: 500", required=True),
    Key("bins", BINS, "Bins in all: one emptied leaves with its last piece and comes back full.", "bins: 2"),
    Key("orders_at", COUNT, "Pieces left with which the next box is ordered, if none is on order.",
        "orders_at: 80"),
    Key("every", DURATION, "Time from one delivery to the next, where a box comes again and again.",
        "every: 30 min"),
    Key("delivery", DURATION, "Time from the empty bin or the order to the full box, by the clock.",
        "delivery: 20 min"),
    Key("brought_by", BY, "Who brings it: called when the delivery is ready.", "brought_by: handler"),
    Key("trip", DURATION, "How long whoever brings it is busy with one box.", "trip: 4 min"),
    Key("starts_with", COUNT, "Pieces there when the cell starts; without it, full bins or one box.",
        "starts_with: 1000"),
    Key("overtaking", YES_NO, "A station that needs few pieces may take them before one that asked for more.",
        "overtaking: no", default="yes"),
    Key("priority", SOME, "Whose trip comes first; 1 is first.", "priority: 1", default="1"),
))  # fmt: skip

COLLECTION = Table("a collection", "How finished units are taken away.", (
    Key("every", DURATION, "Time from one collection to the next, by the clock.", "every: 60 min",
        required=True),
    Key("takes", LIMIT, "The most units taken each time.", "takes: 48", default="unlimited",
        why="all that stands there is taken"),
    Key("by", BY, "Who takes them away: called then.", "by: handler"),
    Key("trip", DURATION, "How long that takes; the places are free at its end.", "trip: 8 min"),
))  # fmt: skip

FINISHED_GOODS = Table("finished goods", "Places for finished units behind the cell.", (
    Key("places", SOME, "How many units there is room for.", "places: 200", required=True),
    Key("collected", COLLECTION, "When how many are taken away.", "collected: {every: 60 min, takes: 48}"),
))  # fmt: skip

ZONE = Table("a zone", "A space that robots share with people.", (
    Key("robots", ListOf(REFERENCE, lone=True), "The robots that move in it.", "robots: [R1]", required=True),
    Key("people_at", ListOf(REFERENCE, lone=True),
        "Stations, stores or points at which somebody who works is inside.", "people_at: [load]",
        required=True),
    Key("inside", INSIDE, "What the robots do while somebody is inside.", "inside: slows to 40 %",
        default="stops", why="a fenced robot stands while somebody is inside"),
    Key("restart", TIME, "Time after the last one has left until the robots move again.", "restart: 10 s"),
))  # fmt: skip

RELEASE = Table("a release", "How raw units come.", (
    Key("every", DURATION, "Time from one raw unit to the next.", "every: {mean: 36 s, spread: 20 %}"),
    Key("at", ListOf(TIME), "Times after the start at which raw units come.", "at: [0 s, 5 s]"),
    Key("plan", Forms("{time of day: units}, or a file with columns time and units", FILE,
        mapping=MapOf(CLOCK, COUNT)),
        "Units that may be begun from a time of day on; what is not begun is carried over.",
        "plan: {06:00: 90, 07:00: 100}"),
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
    Key("start", Choice(("empty", "as left", "primed")),
        "What stands in the cell at first; primed: a unit at each station, stores half full or as they say.",
        "start: as left",
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
        LAW, STUDY, ASSUMED, STATED,
    )
}  # fmt: skip
settle_homes(TABLES)
