"""Key figures: availability, effectiveness, labour per unit."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.published.entry import Published
from cellsim.published.figures import figure, paper, up_share
from cellsim.published.traces_stops import on_the_clock
from cellsim.published.work_study import BY_HAND, TOPIC

NAKAJIMA = "Nakajima, S. (1988), Introduction to TPM, Productivity Press (from memory)"
WILLMOTT = "Willmott, P. and McCarthy, D., TPM: A Route to World-Class Performance, page 127"
ISO = "ISO 22400-2:2014, as quoted in OPC 40501-1, annex C.2.4"
RENEWAL = "alternating renewal process: mean time between repair and stop / (that + mean repair)"


def rated(cycle: str, pace: float, stops: Sequence[tuple[float, float]], run: float, more: str = "") -> str:
    """A station that needs `pace` times its stated cycle, with stops at given minutes."""
    return f"""
cell: effectiveness
crew: {{anna: {{skills: {{fit: {pace}}}}}}}
route: [fit]
stations: {{fit: {{cycle: {cycle}, by: fit, stops: {{halt: {on_the_clock(list(stops))}}}{more}}}}}
study: {{run: {run} min}}
"""


EVERY_THOUSANDTH = ", ".join(["good"] * 999 + ["reject"])
THREE_FACTORS = f"""
cell: three factors
crew: {{anna: {{skills: {{fit: {1 / 0.95}}}}}}}
route: [fit]
stations:
  fit:
    cycle: 950 ms
    by: fit
    stops: {{halt: {{every: {{listed: [900 s], of: on time}}, lasts: {{listed: [100 s]}}}}}}
    rejects: {{verdicts: [{EVERY_THOUSANDTH}]}}
study: {{run: 10000 s}}
"""
ONE_DAY = rated("3 min", 9 / 7, [(200, 115), (500, 12)], 910)
ONE_SHIFT = rated("1 min", 1.05, [(210, 60)], 480, f", rejects: {{verdicts: [{'good, ' * 19}reject]}}")
# M starves until 20, is down from 100 to 148, cannot hand over from 301 to 311 and is set up in between.
STATES = f"""
cell: states of a shift
variants: [A, B]
sequence: [{{A: 192}}, {{B: 192}}]
route: [feed, rack, M, next]
stations:
  feed: {{cycle: 30 s}}
  M:
    cycle: 1 min
    changeover: {{time: 18 min}}
    stops: {{halt: {on_the_clock([(100, 48)])}}}
  next: {{cycle: 30 s, stops: {{halt: {on_the_clock([(300.75, 10.25)])}}}}}
stores: {{rack: {{places: unlimited, stays: at least 19.5 min}}}}
study: {{run: 480 min}}
"""

DAY = "910 min planned, stoppages 115 + 12 min, standard cycle 3 min, 203 units"
SHIFT = "480 min planned, 420 at work, 400 units at 1 min each, 380 good"
SHARE = "share"
EFFECTIVENESS = [
    figure(TOPIC, "oee-three-factors", "availability 90 %, performance 95 %, quality 99.9 %: OEE 85.4 %",
           0.854145, SHARE, NAKAJIMA, THREE_FACTORS, "OEE", "fit"),
    figure(TOPIC, "oee-day-availability", f"{DAY}: availability", 783 / 910, SHARE, WILLMOTT,
           ONE_DAY, "share of time at work", "fit"),
    figure(TOPIC, "oee-day-performance", f"{DAY}: performance", 203 / 261, SHARE, WILLMOTT,
           ONE_DAY, "performance", "fit"),
    figure(TOPIC, "oee-day-product", f"{DAY}: availability x performance", 609 / 910, SHARE, WILLMOTT,
           ONE_DAY, "OEE", "fit"),
    figure(TOPIC, "oee-shift-availability", f"{SHIFT}: availability", 0.875, SHARE, ISO,
           ONE_SHIFT, "share of time at work", "fit"),
    figure(TOPIC, "oee-shift-effectiveness", f"{SHIFT}: effectiveness", 400 / 420, SHARE, ISO,
           ONE_SHIFT, "performance", "fit"),
    figure(TOPIC, "oee-shift-quality", f"{SHIFT}: quality ratio", 0.95, SHARE, ISO, ONE_SHIFT, "good share"),
    figure(TOPIC, "oee-shift", f"{SHIFT}: OEE", 380 / 480, SHARE, ISO, ONE_SHIFT, "OEE", "fit"),
    figure(TOPIC, "availability-of-states",
           "480 min planned: 384 at work, 48 down, 18 set-up, 20 starved, 10 blocked: availability",
           0.8, SHARE, ISO, STATES, "share of time at work", "M"),
]  # fmt: skip


def stopping(between: float, repair: float) -> str:
    """A station that runs for an exponential time and is repaired for one; one second stands for a minute."""
    return f"""
cell: availability
route: [M]
stations:
  M: {{cycle: 100 s, stops: {{halt: {{every: {between} s of running, lasts: {repair} s, law: exponential}}}}}}
study: {{run: 40 h, replications: 16, seed: 41}}
"""


AVAILABILITY = [
    Published(
        id=f"availability-{between:g}-and-{repair:g}",
        topic=TOPIC,
        statement=f"{between:g} min to a stop, {repair:g} min of repair, both exponential: availability",
        value=between / (between + repair),
        unit=SHARE,
        source=RENEWAL,
        cell=stopping(between, repair),
        quantity="availability",
        formula=paper(stopping(between, repair), lambda found: up_share(found.find("M")), 1),
    )
    for between, repair in ((100.0, 5.0), (60.0, 15.0), (480.0, 20.0))
]


def crewed(shifts: str, crew: str, people: int, cycle_s: int, run: str) -> str:
    """A station that needs so many people at once, in a cell of one shift."""
    return f"""
cell: labour
shifts: {{{shifts}}}
crew: {{{crew}}}
route: [fit]
stations: {{fit: {{cycle: {cycle_s} s, by: {{op: {people}}}}}}}
study: {{run: {run}}}
"""


LABOUR = [
    figure(
        TOPIC,
        f"labour-{words}",
        f"{people} people paid for {hours} h make {units} good units: labour hours per unit",
        value,
        "h per unit",
        BY_HAND,
        cell,
        "labour per unit, h",
    )
    for words, people, hours, units, value, cell in (
        ("of-three", "3", "8", 400, 0.06,
         crewed("day: {from: 06:00, to: 14:00}", "op: {people: 3}", 3, 72, "8 h")),
        ("of-five", "5", "7.5", 250, 0.15,
         crewed("day: {from: 06:00, to: 13:30}", "op: {people: 5}", 5, 108, "7.5 h")),
        ("of-two-and-a-half", "2 and, for half of it, 1 more", "8", 160, 0.125,
         crewed("day: {from: 06:00, to: 14:00}, half: {from: 06:00, to: 10:00}",
                "op: {people: 2, shift: day}, part timer: {shift: half}", 2, 180, "8 h")),
    )
]  # fmt: skip

ENTRIES = [*AVAILABILITY, *EFFECTIVENESS, *LABOUR]
