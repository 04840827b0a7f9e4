"""Keys that stations, people and robots have alike: times, who attends, stops, service, power."""

from __future__ import annotations

from typing import get_args

from cellsim import units
from cellsim.describe import cell
from cellsim.describe.fields import Choice, Forms, Key, ListOf, MapOf, Table, TableOrNames
from cellsim.describe.kinds import (
    COUNT,
    ENERGY,
    FILE,
    FREQUENCY,
    MOMENT,
    NAME,
    NUMBER,
    PARAMETER,
    PEOPLE,
    POWER,
    RATIO,
    REFERENCE,
    SOME,
    TIME,
    WORDS,
    YES_NO,
)
from cellsim.describe.laws import LAWS

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
