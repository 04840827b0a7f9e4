"""Traces of serial lines: blocking after service, equal machines, presses."""

from __future__ import annotations

from cellsim.published.cells import in_a_row
from cellsim.published.traces import traced

BLOCKING = (
    "a finished unit stays on its station until the next place is free, and at one instant all ends come "
    "first, then starts and hand-overs, the most downstream station first"
)
PARALLEL = "a unit goes to the machine with the lowest number that is empty"
STROKES = "all units of a stroke exist when it ends and need a place each at once"

FOUR_AND_SIX = in_a_row(["cycle: 4 min", "cycle: 6 min"], [0])
BEFORE_MIDDLE_AFTER = in_a_row(["cycle: 5 min", "cycle: 8 min", "cycle: 3 min"], [0, 0])


def uneven(places: int) -> str:
    """Station 1 with three short cycles and a long one in turn, station 2 with 4 min."""
    return in_a_row(["cycle: {listed: [1 min, 1 min, 1 min, 13 min]}", "cycle: 4 min"], [places])


UNEVEN = "stations of 1, 1, 1, 13 in turn and 4 min"
PLACES = {0: "no place", 1: "one place", 2: "two places"}
ROWS = [
    traced(
        "trace-4-and-6-without-a-place",
        "no place between 4 and 6 min: station 1 waits 2 min a cycle",
        FOUR_AND_SIX,
        (10, 16, 22, 28, 34, 40, 46, 52, 58, 64),
        BLOCKING,
    ),
    *(
        traced(
            f"trace-uneven-times-{PLACES[places].replace(' ', '-')}",
            f"{UNEVEN}, {PLACES[places]} between",
            uneven(places),
            left,
            BLOCKING,
        )
        for places, left in (
            (0, (5, 9, 13, 26, 30, 34, 38, 51, 55, 59, 63, 76)),
            (1, (5, 9, 13, 22, 26, 30, 34, 43, 47, 51, 55, 64)),
            (2, (5, 9, 13, 20, 24, 28, 32, 37, 41, 45, 49, 54)),
        )
    ),
    traced(
        "trace-bottleneck-in-the-middle",
        "stations of 5, 8 and 3 min without places: one unit per 8 min",
        BEFORE_MIDDLE_AFTER,
        (16, 24, 32, 40, 48, 56, 64, 72, 80, 88),
        BLOCKING,
    ),
    traced(
        "trace-counted-after-settling",
        "the same, counted after 24 min: the unit that leaves at 24 belongs to the settling",
        BEFORE_MIDDLE_AFTER,
        (32, 40, 48, 56),
        "what happens at the very end of settling belongs to it",
        settle=24,
        run=60,
    ),
    traced(
        "trace-alternating-times-one-and-two-places",
        "stations of 3, 5 in turn, 6, 2, 4 in turn and 4 min; one and two places",
        in_a_row(
            [
                "cycle: {listed: [3 min, 5 min]}",
                "cycle: {listed: [6 min, 2 min, 4 min]}",
                "cycle: 4 min",
            ],
            [1, 2],
        ),
        (13, 17, 21, 26, 30, 34, 38, 42, 46, 50, 54, 58),
        BLOCKING,
    ),
    traced(
        "trace-four-stations",
        "stations of 2, 3, 6 and 1 min with 1, 0 and 1 places: one unit per 6 min",
        in_a_row(["cycle: 2 min", "cycle: 3 min", "cycle: 6 min", "cycle: 1 min"], [1, 0, 1]),
        (12, 18, 24, 30, 36, 42, 48, 54, 60, 66),
        BLOCKING,
    ),
    # A wrong order at one instant would show here as blocked time or as a cycle of 10.
    traced(
        "trace-three-equal-stations",
        "three stations of 5 min without places: all hand over at the same instants, nobody is blocked",
        in_a_row(["cycle: 5 min"] * 3, [0, 0]),
        (15, 20, 25, 30, 35, 40, 45, 50, 55, 60),
        BLOCKING,
    ),
    traced(
        "trace-alternating-times-one-place-and-none",
        "stations of 7, 3 in turn, 4 and 2, 9 in turn; one place and none",
        in_a_row(
            ["cycle: {listed: [7 min, 3 min]}", "cycle: 4 min", "cycle: {listed: [2 min, 9 min]}"], [1, 0]
        ),
        (13, 24, 26, 37, 39, 50, 52, 63, 65, 76),
        BLOCKING,
    ),
]

INSIDE = [
    traced(
        f"trace-{what.replace(' ', '-')}-{PLACES[places].replace(' ', '-')}",
        f"{UNEVEN}, {PLACES[places]} between, over 64 min: mean {what}",
        uneven(places),
        (value,),
        "a unit is inside from the start of its first cycle until it leaves; the number is averaged over the "
        "time, the time over the units that have left",
        run=64,
        quantity=what,
        unit=unit,
    )
    for places, number, minutes in ((0, 1.6875, 103 / 11), (1, 2.25, 137 / 12), (2, 2.84375, 160 / 14))
    for what, value, unit in (("number inside", number, "units"), ("time inside", minutes, "min"))
]

EQUAL = [
    traced(
        "trace-two-equal-machines",
        "a feeder of 3 min before two machines of 7 min, no place between",
        in_a_row(["cycle: 3 min", "cycle: 7 min, machines: 2"], [0]),
        (10, 13, 17, 20, 24, 27, 31, 34, 38, 41, 45, 48),
        PARALLEL,
    ),
    # Three machines give 3 in 10, the feeder 1 in 3: a place delays the blocking and does not remove it.
    traced(
        "trace-three-equal-machines",
        "a feeder of 3 min before three machines of 10 min, one place between",
        in_a_row(["cycle: 3 min", "cycle: 10 min, machines: 3"], [1]),
        (13, 16, 19, 23, 26, 29, 33, 36, 39, 43, 46, 49),
        PARALLEL,
    ),
]

PRESSES = [
    # Stroke k ends at 27 * ((k - 1) // 5) + 3 * ((k - 1) % 5 + 1); stroke 24 ends at 120.
    traced(
        "trace-press-that-fills-containers",
        "20 strokes a minute, 4 parts a stroke, a full container of 20 is changed in 12 s",
        """
cell: press
route: [press]
stations:
  press:
    cycle: 3 s
    gives: 4
    stops: {container: {every: 5 cycles, lasts: 12 s}}
""",
        [end for k in range(24) for end in [27 * (k // 5) + 3 * (k % 5 + 1)] * 4],
        STROKES,
        unit="s",
    ),
    traced(
        "trace-press-before-eight-places",
        "a stroke of 6 s gives 4 parts, 8 places, then 2 s a part: blocked with fewer than 4 places free",
        in_a_row(["cycle: 6 s, gives: 4", "cycle: 2 s"], [8]),
        range(8, 61, 2),
        STROKES,
        unit="s",
    ),
]

ENTRIES = [*ROWS, *INSIDE, *EQUAL, *PRESSES]
