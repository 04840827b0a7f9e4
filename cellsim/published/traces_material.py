"""Traces of material: batches, stays in stores, kits, cards, purchased parts."""

from __future__ import annotations

from cellsim.published.cells import in_a_row
from cellsim.published.traces import traced

BATCH = (
    "a batch starts when it is full, or when the oven is free and its first unit has waited long enough, and "
    "all its units are done at once"
)
KIT = "assembly takes a whole kit at one instant, when all of it is there; until then it keeps its places"
CARD = "every unit that leaves releases one at the same instant"
SUPPLY = (
    "a piece is taken at the start of a cycle; the order, or the empty bin, goes out at the piece that calls "
    "for it"
)

ARRIVALS = "[0 min, 2 min, 5 min, 6 min, 9 min, 15 min, 16 min, 17 min, 30 min]"


def oven(batch: str) -> str:
    """An oven of 8 min for the same nine arrivals."""
    return f"""
cell: oven
release: {{at: {ARRIVALS}}}
route: [oven]
stations:
  oven: {{cycle: 8 min, batch: {batch}}}
"""


OVENS = [
    traced(
        f"trace-oven-{name}",
        f"units at 0, 2, 5, 6, 9, 15, 16, 17, 30 min, batches of 3, 8 min: {rule}",
        oven(batch),
        left,
        BATCH,
    )
    for name, batch, rule, left in (
        # batches start at 5, 15 and 30 with three units each
        ("full-batches", "{size: 3}", "full batches only", (13, 13, 13, 23, 23, 23, 38, 38, 38)),
        # at 12 the wait of the fourth unit is over while the oven is busy: two units start at 13
        (
            "waits-6",
            "{size: 3, waits: 6 min}",
            "the first of a batch waits 6 min at most",
            (13, 13, 13, 21, 21, 29, 29, 29, 44),
        ),
        (
            "waits-3",
            "{size: 3, waits: 3 min}",
            "the first of a batch waits 3 min at most",
            (11, 11, 19, 19, 19, 27, 27, 27, 41),
        ),
    )
]


def between(first: int, second: int, store: str) -> str:
    """Two stations with these cycles in minutes and a rack between them."""
    return f"""
cell: two stations and a rack
route: [S1, rack, S2]
stations: {{S1: {{cycle: {first} min}}, S2: {{cycle: {second} min}}}}
stores: {{rack: {{{store}}}}}
"""


USED_WITHIN = "2 min, then 5 min, a unit may wait 6 min between them, later it is thrown away"
AT_THE_LIMIT = "what has waited exactly the limit may still be taken at that instant, later it is scrapped"
STAYS = [
    traced(
        "trace-cooling",
        "4 min, three places in which a unit cools 10 min, then 3 min",
        between(4, 3, "places: 3, stays: at least 10 min"),
        (17, 21, 25, 29, 33, 37, 41, 45, 49, 53),
        "a unit may be taken when its time in the store is over, and holds its place meanwhile",
    ),
    traced(
        "trace-used-within",
        f"{USED_WITHIN}: the second station is never out of work",
        between(2, 5, "places: unlimited, use_within: 6 min"),
        (7, 12, 17, 22, 27, 32, 37, 42),
        AT_THE_LIMIT,
    ),
    # The units 1, 2, 3, 6, 8, 11, 13 and 16 are in time; unit n came in at 2 (n - 1).
    traced(
        "trace-used-within-time-inside",
        f"{USED_WITHIN}: how long those that leave were inside",
        between(2, 5, "places: unlimited, use_within: 6 min"),
        (7, 10, 13, 12, 13, 12, 13, 12),
        AT_THE_LIMIT,
        run=42,
        quantity="time inside of each",
    ),
]


def kit(a: int, b: int) -> str:
    """Two A and one B are assembled in 4 minutes; A has 4 places, B has 2."""
    return f"""
cell: kit
route: [A, box a, C]
lines: {{b: [B, box b]}}
stations:
  A: {{cycle: {a} min}}
  B: {{cycle: {b} min}}
  C: {{cycle: 4 min, takes: {{box a: 2, box b: 1}}}}
stores: {{box a: 4, box b: 2}}
"""


KITS = [
    traced(
        "trace-kit-limited-by-one-part",
        "two A of 3 min and one B of 7 min are assembled in 4 min: B is the limit",
        kit(3, 7),
        (11, 18, 25, 32, 39, 46, 53, 60, 67),
        KIT,
    ),
    traced(
        "trace-kit-limited-by-two-parts",
        "two A of 5 min and one B of 7 min are assembled in 4 min: A is the limit, 2 x 5 min",
        kit(5, 7),
        (14, 24, 34, 44, 54, 64, 74, 84),
        KIT,
    ),
]


def cards(count: int) -> str:
    """Three stations with unlimited stores and so many cards."""
    return f"""
cell: cards
route: [S1, tray 1, S2, tray 2, S3]
release: cards {count}
stations:
  S1: {{cycle: 4 min}}
  S2: {{cycle: 6 min}}
  S3: {{cycle: 5 min}}
stores: {{tray 1: unlimited, tray 2: unlimited}}
"""


CARDS = [
    traced(
        "trace-two-cards",
        "stations of 4, 6 and 5 min, two units inside at any time: one unit per 7.5 min",
        cards(2),
        (15, 21, 30, 36, 45, 51, 60, 66, 75, 81),
        CARD,
    ),
    traced(
        "trace-three-cards",
        "stations of 4, 6 and 5 min, three units inside at any time: one unit per 6 min",
        cards(3),
        (15, 21, 27, 33, 39, 45, 51, 57, 63, 69),
        CARD,
    ),
    *(
        traced(
            f"trace-{name}-cards-time-inside",
            f"stations of 4, 6 and 5 min, {name} units inside at any time: how long each is inside",
            cards(count),
            inside,
            CARD,
            run=until,
            quantity="time inside of each",
        )
        for name, count, until, inside in (
            ("two", 2, 81, (15, 21, *[15] * 8)),
            ("three", 3, 69, (15, 21, 27, *[18] * 7)),
        )
    ),
]


def one_part(part: str, cycle: str = "cycle: 2 min", more: str = "") -> str:
    """A cell of one station that uses one purchased part."""
    return f"cell: one\nroute: [S1]\nstations: {{S1: {{{cycle}}}}}\nparts: {{pin: {{{part}}}}}\n{more}"


PARTS = [
    traced(
        "trace-order-comes-too-late",
        "one piece per 2 min, a bin of 10, ordered at 3, delivered after 15 min: 7 of every 27 min without",
        one_part("used_at: S1, box: 10, orders_at: 3, delivery: 15 min"),
        (*range(2, 21, 2), *range(29, 48, 2), *range(56, 75, 2), *range(83, 100, 2)),
        SUPPLY,
        run=100,
    ),
    traced(
        "trace-order-comes-in-time",
        "one piece per 2 min, a bin of 10, ordered at 3, delivered after 5 min: never without",
        one_part("used_at: S1, box: 10, orders_at: 3, delivery: 5 min"),
        range(2, 101, 2),
        SUPPLY,
    ),
    traced(
        "trace-two-bins",
        "one piece per 2 min, two bins of 6, back 20 min after the last piece: none from 24 to 30, 54 to 60",
        one_part("used_at: S1, box: 6, bins: 2, delivery: 20 min"),
        (*range(2, 25, 2), *range(32, 55, 2), *range(62, 81, 2)),
        SUPPLY,
    ),
]

# Nine units wait at 0.  The third, the sixth and the ninth fail; reworked they come again as the 10th to 12th
# test in the order 3, 6, 9, where only the sixth fails again.
LOT = """
cell: lot of nine
route: [lot, work, tested, test]
stations:
  work: {cycle: 5 min}
  test:
    cycle: 2 min
    rejects:
      verdicts: [good, good, reject, good, good, reject, good, good, reject, good, reject, good]
      to: lot
      enters: behind
      attempts: 2
stores:
  lot: {places: unlimited, starts_with: 9}
  tested: unlimited
"""
QUALITY = [
    traced(
        "trace-rework-behind-the-others",
        "nine units, work 5 and test 2 min; 3, 6 and 9 fail and come last, 6 fails again and is scrapped",
        LOT,
        (7, 12, 22, 27, 37, 42, 52, 62),
        "a rejected unit joins the end of the queue and takes the same times again",
    ),
    traced(
        "trace-every-fourth-is-scrapped",
        "work 5 min, one place, inspection 3 min that rejects every fourth unit",
        in_a_row(["cycle: 5 min", "cycle: 3 min, rejects: {verdicts: [good, good, good, reject]}"], [1]),
        (8, 13, 18, 28, 33, 38, 48, 53, 58, 68),
        "a rejected unit uses the time of the inspection and leaves",
    ),
]


def lots(count: int, changeover: str) -> str:
    """One machine, A 4 min, B 5 min, in lots of `count`."""
    return f"""
cell: lots
variants: [A, B]
sequence: [{{A: {count}}}, {{B: {count}}}]
route: [S1]
stations:
  S1: {{cycle: {{A: 4 min, B: 5 min}}, changeover: {{time: {changeover}}}}}
"""


CHANGED_OVER = "no changeover before the first unit; each begins as soon as the last unit of a lot has left"
LOTS = [
    traced(
        "trace-lots-of-three",
        "A 4 min, B 5 min, in lots of three, changeover 6 min both ways",
        lots(3, "6 min"),
        (4, 8, 12, 23, 28, 33, 43, 47, 51, 62, 67, 72),
        CHANGED_OVER,
    ),
    traced(
        "trace-lots-of-two",
        "A 4 min, B 5 min, in lots of two, changeover 6 min from A to B and 3 min back",
        lots(2, "{A > B: 6 min, B > A: 3 min}"),
        (4, 8, 19, 24, 31, 35, 46, 51, 58, 62, 73, 78),
        CHANGED_OVER,
    ),
]

ENTRIES = [*OVENS, *STAYS, *KITS, *CARDS, *PARTS, *QUALITY, *LOTS]
