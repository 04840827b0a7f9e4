"""Known results of stations that stop: alone, paced, with a tray between, repaired by a few technicians."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from cellsim.published.entry import Published
from cellsim.theory.interference import finite_source
from cellsim.theory.two_unreliable import fluid_pair
from cellsim.theory.unreliable import availability, paced_availability

TOPIC = "Stations that stop"
FLUID = (
    "continuous flow through two equal stations that stop by running time: between its ends the level is "
    "equally likely everywhere, the balance at the ends gives the two masses there; the case of a paced line "
    "is in Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of "
    "Production Research 5(3), 183-200 (from memory)"
)
PALM = (
    "Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines, Journal of "
    "Industrial Engineering 9, 28-42 (from memory), with several repairers"
)
BUZACOTT = (
    "Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of "
    "Production Research 5(3), 183-200"
)
DALLERY_GERSHWIN = (
    "Dallery, Y. and Gershwin, S. B. (1992), Manufacturing flow line systems: a review of models and "
    "analytical results, Queueing Systems 12, 3-94"
)


def spinning_top(places: int, run: str) -> str:
    """Two equal stations that stop by running time, with so many tray places between them."""
    bench = "{cycle: 24 s, stops: {jam: {every: 20 min of running, lasts: 4 min, law: exponential}}}"
    return f"""
cell: spinning top
route: [press, tray, fit]
stations:
  press: {bench}
  fit: {bench}
stores: {{tray: {places}}}
study: {{settle: 15 h, run: {run}, replications: 32, seed: {300 + places}}}
"""


def repaired_machines(machines: int, technicians: int, run: str) -> str:
    """Equal machines that always have work and are repaired by so many technicians."""
    stop = "{every: 100 s of running, lasts: 20 s, law: exponential, cleared_by: technician}"
    return f"""
cell: machines and technicians
crew: {{technician: {{people: {technicians}}}}}
route: [M]
stations:
  M: {{machines: {machines}, cycle: 15 s, stops: {{breakdown: {stop}}}}}
study: {{settle: 1 h, run: {run}, replications: 24, seed: {500 + technicians}}}
"""


def stop(run: float, repair: float, clock: str = "running") -> str:
    """One cause of stops with exponential times, seconds, as a key of a station."""
    return f"stops: {{stop: {{every: {run} s of {clock}, lasts: {repair} s, law: exponential}}}}"


def one_station(keys: str, study: str) -> str:
    """One station with these keys that always has work."""
    return f"""
cell: one station
route: [M]
stations:
  M: {{{keys}}}
study: {{{study}}}
"""


def paced_line(run: Sequence[float], repair: Sequence[float], clock: str, study: str) -> str:
    """Stations of 3 s whose units all move on together; while one is stopped all stand."""
    names = [f"S{k + 1}" for k in range(len(run))]
    rows = "".join(
        f"\n  {name}: {{cycle: 3 s, {stop(up, down, clock)}}}"
        for name, up, down in zip(names, run, repair, strict=True)
    )
    listed = ", ".join(names)
    return f"""
cell: paced line
route: [{listed}]
stations: {rows}
tables: {{transfer: {{stations: [{listed}], index: 0 s}}}}
study: {{{study}}}
"""


def top_rate(places: int) -> float:
    """Units per hour of the spinning top as a flow."""
    return 150 * fluid_pair([1200, 1200], [240, 240], 24 * places).rate


def running_share(technicians: int) -> float:
    """Share of time that one of the three machines is up."""
    return finite_source(3, 100, 20, technicians).running


def each(numbers: Sequence[float]) -> str:
    """Numbers of stations in words of a statement."""
    equal = len(set(numbers)) == 1
    return f"{len(numbers)} x {numbers[0]:g}" if equal else ", ".join(f"{x:g}" for x in numbers)


TOPS = [
    Published(
        id=f"spinning-top-{places}-places",
        topic=TOPIC,
        statement="two stations of 24 s that stop every 20 min of running for 4 min, both exponential, "
        f"{places} places: (2 + n (1 + I)) / (2 (1 + 2 I) + n (1 + I)^2) of 150 an hour, n = places x "
        "cycle / repair, I = repair / running time",
        cell=spinning_top(places, run),
        quantity="units per hour",
        value=value,
        unit="units per hour",
        tolerance=0.005,
        exactness="two decimals; units are taken for a continuous flow, which is right to 0.5 %",
        rounding=0.5e-4,
        source=FLUID,
        formula=partial(top_rate, places),
    )
    for places, value, run in [
        (0, 107.14, "240 h"),
        (5, 110.80, "270 h"),
        (10, 113.21, "270 h"),
        (20, 116.20, "310 h"),
        (40, 119.16, "240 h"),
        (100, 122.09, "200 h"),
    ]
]
REPAIRED = [
    Published(
        id=f"three-machines-{technicians}-technicians",
        topic=TOPIC,
        statement="three machines that run 100 s to a stop and take 20 s of one of "
        f"{technicians} technicians, both exponential: share of time that a machine is up",
        cell=repaired_machines(3, technicians, run),
        quantity="availability",
        value=value,
        unit="",
        exactness="four decimals",
        rounding=0.5e-4,
        source=PALM,
        formula=partial(running_share, technicians),
    )
    for technicians, value, run in [(1, 0.7839, "32 h"), (2, 0.8314, "11 h"), (3, 0.8333, "10 h")]
]
ALONE = [
    Published(
        id="one-station-that-stops",
        topic=TOPIC,
        statement="one station that runs 100 s to a stop and is repaired in 10 s, both exponential: "
        "availability = running / (running + repair)",
        cell=one_station(
            f"cycle: 5 s, {stop(100, 10)}", "settle: 1 h, run: 24 h, replications: 24, seed: 600"
        ),
        quantity="availability",
        value=100 / 110,
        unit="",
        source="alternating renewal process, in any textbook of reliability; derived in one line",
        formula=partial(availability, 100, 10),
    )
]
FIVE_EQUAL = ((100, 100, 100, 100, 100), (5, 5, 5, 5, 5))
FOUR_MIXED = ((45, 120, 300, 60), (3, 8, 30, 2.5))
PACED = [
    Published(
        id=f"paced-line-{word}-{'running-time' if clock == 'running' else 'on-time'}",
        topic=TOPIC,
        statement=f"paced line, {each(runs)} s to a stop, repairs {each(repairs)} s, exponential; stops "
        f"count {says}: share of time running",
        cell=paced_line(runs, repairs, clock, f"settle: 1 h, run: {hours} h, replications: 32, seed: {seed}"),
        quantity="share of time at work",
        of="S1",
        value=value,
        unit="",
        source=source,
        formula=partial(
            paced_availability, runs, repairs, "running time" if clock == "running" else "on time"
        ),
    )
    for word, (runs, repairs), clock, says, hours, value, source, seed in [
        (
            "five-equal",
            FIVE_EQUAL,
            "running",
            "running time: 1 / (1 + sum of repair / run)",
            4,
            0.8,
            f"{BUZACOTT}; {DALLERY_GERSHWIN}",
            611,
        ),
        (
            "four-mixed",
            FOUR_MIXED,
            "running",
            "running time: 1 / (1 + sum of repair / run)",
            13,
            40 / 51,
            f"{BUZACOTT}; {DALLERY_GERSHWIN}",
            612,
        ),
        (
            "five-equal",
            FIVE_EQUAL,
            "on time",
            "on time: product of run / (run + repair)",
            7,
            0.7835261665,
            DALLERY_GERSHWIN,
            613,
        ),
        (
            "four-mixed",
            FOUR_MIXED,
            "on time",
            "on time: product of run / (run + repair)",
            22,
            0.7670454545,
            DALLERY_GERSHWIN,
            614,
        ),
    ]
]


ENTRIES = [*ALONE, *PACED, *TOPS, *REPAIRED]
