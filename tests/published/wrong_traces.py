"""Values that the exact traces must refuse: what another rule would have given, worked out by hand too."""

from __future__ import annotations

WRONG = [
    (
        "trace-4-and-6-without-a-place",
        (14, 24, 34, 44, 54, 64),
        "a station that begins only when the next one is free (blocking before service): one per 10 min",
    ),
    (
        "trace-three-equal-stations",
        (15, 25, 35, 45, 55),
        "hand-overs upstream first: each station stands for one more cycle",
    ),
    (
        "trace-uneven-times-one-place",
        (5, 9, 13, 26, 30, 34, 38, 51, 55, 59, 63),
        "the place is on the station itself: the line without a place",
    ),
    (
        "trace-stop-at-the-end-of-a-cycle",
        (10, 20, 35, 45, 55, 65, 75, 85),
        "a stop comes before the end of the cycle at its instant",
    ),
    (
        "trace-stopped-unit-is-started-again",
        (10, 20, 37, 47, 57, 71, 81, 91),
        "the unit in work is finished instead",
    ),
    (
        "trace-one-technician-station-2",
        (5, 10, 21, 26, 31, 40, 45, 50, 55, 60, 65, 70, 75, 80),
        "two technicians: no repair waits, and the second stop comes at 34",
    ),
    (
        "trace-break-finish-element-short",
        (12, 24, 36, 58, 70),
        "the break is taken in full after the element",
    ),
    (
        "trace-oven-full-batches",
        (13, 13, 13, 21, 21, 29, 29, 29, 44),
        "a batch starts when its first unit has waited 6 min",
    ),
    (
        "trace-two-cards",
        (15, 21, 27, 33, 39, 45, 51, 57, 63, 69, 75, 81),
        "three cards",
    ),
    (
        "trace-robot-follows-the-part",
        (34, 58, 82, 106, 130, 154, 178, 202, 226, 250, 274, 298),
        "the second machine is emptied before the first",
    ),
    (
        "trace-order-comes-too-late",
        tuple(range(2, 101, 2)),
        "the order comes in time",
    ),
    ("trace-counted-after-settling", (24, 32, 40, 48, 56), "the end of settling is counted"),
    ("trace-number-inside-no-place", (103 / 64,), "only the units that have left are counted as inside"),
]
