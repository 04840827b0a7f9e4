"""Traces of stops: on the clock, by running time, by cycles, with somebody who repairs."""

from __future__ import annotations

from cellsim.published.cells import in_a_row
from cellsim.published.traces import traced

CLOCK = (
    "a stop at given times takes the station whatever it does, a unit done at its very beginning counts, and "
)
REST = CLOCK + "what is begun is finished after the repair"
COUNTED = "a stop that is due at the very end of a cycle comes after the unit has left"


def on_the_clock(at: list[tuple[float, float]], more: str = "") -> str:
    """A stop that begins at each first number and lasts each second one, in minutes from the start.

    It is written as on time from the end of one repair to the next stop, the last one far beyond any run.
    """
    gaps, end = [], 0.0
    for begins, lasts in at:
        gaps.append(begins - end)
        end = begins + lasts
    every = ", ".join(f"{gap:g} min" for gap in [*gaps, 1_000_000])
    lasts_text = ", ".join(f"{lasts:g} min" for _, lasts in [*at, (0, 1)])
    return f"{{every: {{listed: [{every}], of: on time}}, lasts: {{listed: [{lasts_text}]}}{more}}}"


def single(cycle: int, stop: str) -> str:
    """A cell of one station with one cause of stops."""
    return f"""
cell: one station
route: [S1]
stations:
  S1:
    cycle: {cycle} min
    stops: {{halt: {stop}}}
"""


TWICE = [(25.0, 7.0), (57.0, 4.0)]
REPAIRED = f"""
cell: one technician
crew: {{technician: {{serves: [longest waiting, upstream first]}}}}
route: [S1]
lines: {{other: [S2]}}
stations:
  S1: {{cycle: 4 min, stops: {{halt: {on_the_clock([(10, 8), (40, 5)], ", cleared_by: technician")}}}}}
  S2:
    cycle: 5 min
    stops:
      halt:  # the next one counts from the end of the repair: 18 + 6 = 24, and 40 is 16 later
        every: {{listed: [12 min, 16 min, 1000000 min], of: on time}}
        lasts: {{listed: [6 min, 4 min, 1 min]}}
        cleared_by: technician
"""
ONE_BY_ONE = "calls are answered first come first served, at the same instant further up the route first"

ENTRIES = [
    traced(
        "trace-stopped-unit-is-started-again",
        "cycle 10 min, down from 25 to 32 and from 57 to 61 min: the unit in work is begun anew",
        single(10, on_the_clock(TWICE, ", part: restarts")),
        (10, 20, 42, 52, 71, 81, 91, 101, 111),
        CLOCK + "what was begun starts anew after the repair",
    ),
    # The clock of the trace before, with one unit lost at 25 and one at 57: good output equal, material not.
    traced(
        "trace-stopped-unit-is-scrapped",
        "cycle 10 min, down from 25 to 32 and from 57 to 61 min: the unit in work is lost",
        single(10, on_the_clock(TWICE, ", part: is scrapped")),
        (10, 20, 42, 52, 71, 81, 91, 101, 111),
        CLOCK + "what was begun is lost",
    ),
    # 5 minutes done at 25, 5 more until 37, then 47 and 57, the very instant of the second stop.
    traced(
        "trace-stopped-unit-is-finished",
        "cycle 10 min, down from 25 to 32 and from 57 to 61 min: the unit in work is finished afterwards",
        single(10, on_the_clock(TWICE)),
        (10, 20, 37, 47, 57, 71, 81, 91),
        REST,
    ),
    traced(
        "trace-stop-at-the-end-of-a-cycle",
        "cycle 10 min, down from 30 to 35 min: the unit done at 30 counts",
        single(10, on_the_clock([(30, 5)])),
        (10, 20, 30, 45, 55, 65, 75, 85),
        REST,
    ),
    traced(
        "trace-starving-spreads-down-the-line",
        "two stations of 5 min, one place, station 1 down from 12 to 24 min: station 2 starves",
        in_a_row([f"cycle: 5 min, stops: {{halt: {on_the_clock([(12, 12)])}}}", "cycle: 5 min"], [1]),
        (10, 15, 32, 37, 42, 47, 52, 57, 62, 67),
        REST,
    ),
    traced(
        "trace-blocking-spreads-up-the-line",
        "two stations of 5 min, one place, station 2 down from 12 to 30 min: station 1 is blocked",
        in_a_row(["cycle: 5 min", f"cycle: 5 min, stops: {{halt: {on_the_clock([(12, 18)])}}}"], [1]),
        (10, 33, 38, 43, 48, 53, 58, 63, 68, 73),
        REST,
    ),
    traced(
        "trace-stop-inside-waiting-time",
        "stations of 10 and 3 min, the second down from 14 to 18 min while it has nothing to do: no loss",
        in_a_row(["cycle: 10 min", f"cycle: 3 min, stops: {{halt: {on_the_clock([(14, 4)])}}}"], [1]),
        (13, 23, 33, 43, 53, 63, 73, 83),
        REST,
    ),
    traced(
        "trace-stop-after-own-work",
        "stations of 7 and 5 min, one place; the second is down 4 min after each 12 min of its own work",
        in_a_row(
            [
                "cycle: 7 min",
                "cycle: 5 min, stops: {wear: {every: 12 min of running, exact: yes, lasts: 4 min}}",
            ],
            [1],
        ),
        (12, 19, 30, 35, 44, 49, 54, 65, 70, 79),
        "waiting wears nothing; " + COUNTED,
    ),
    *(
        traced(
            f"trace-one-technician-station-{number}",
            "cycles of 4 and 5 min apart, down at 10 and 40 (8, 5 min) and at 12 and 40 (6, 4 min), one "
            f"technician: station {number}",
            REPAIRED,
            left,
            ONE_BY_ONE,
            of=outlet,
            run=81,
        )
        for number, outlet, left in (
            (1, "", (4, 8, 20, 24, 28, 32, 36, 40, 49, 53, 57, 61, 65, 69, 73, 77, 81)),
            (2, "out:other", (5, 10, 27, 32, 37, 51, 56, 61, 66, 71, 76, 81)),
        )
    ),
    # Completion n is at 6 n + 4 * ((n - 1) // 5).
    traced(
        "trace-tool-change",
        "cycle 6 min, a tool change of 4 min after every 5 cycles",
        single(6, "{every: 5 cycles, lasts: 4 min}"),
        (6, 12, 18, 24, 30, 40, 46, 52, 58, 64, 74, 80, 86),
        COUNTED,
    ),
    traced(
        "trace-tool-change-in-a-line",
        "4 min with a tool change of 6 min after every 3 cycles, one place, then 5 min",
        in_a_row(["cycle: 4 min, stops: {tool: {every: 3 cycles, lasts: 6 min}}", "cycle: 5 min"], [1]),
        (9, 14, 19, 27, 32, 37, 45, 50, 55, 63, 68, 73),
        COUNTED,
    ),
]
