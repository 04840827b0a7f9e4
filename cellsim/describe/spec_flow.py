"""Keys of what flows and by which ways: stores, variants, release, parts, carriers, tables."""

from __future__ import annotations

from cellsim.describe.fields import Choice, Forms, Key, ListOf, MapOf, Table
from cellsim.describe.kinds import (
    BINS,
    CAMPAIGN,
    CLOCK,
    COUNT,
    FILE,
    LENGTH,
    LIMIT,
    NAME,
    PLACES,
    REFERENCE,
    SOME,
    SPEED,
    STAY,
    TIME,
    YES_NO,
)
from cellsim.describe.spec_work import BY, DURATION

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
    Key("tray_waits", TIME, "The longest wait of the first unit in a tray; then it goes unfilled, unless a"
        " unit is coming for which no other tray has a place.",
        "tray_waits: 10 min"),
    Key("overtaking", YES_NO, "A station that needs few units may take them before one that asked for more.",
        "overtaking: no", default="yes"),
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
