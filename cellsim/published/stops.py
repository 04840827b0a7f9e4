"""Known results of stations that stop: alone, in lines with a buffer, and repaired by a few technicians."""

from __future__ import annotations

from cellsim.published.entry import Published

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
study: {{settle: 15 h, run: {run}, replications: 24, seed: {300 + places}}}
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


ONE_STATION = """
cell: one station that stops
route: [M]
stations:
  M: {cycle: 5 s, stops: {breakdown: {every: 100 s of running, lasts: 10 s, law: exponential}}}
study: {settle: 1 h, run: 24 h, replications: 24, seed: 600}
"""
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
    )
    for places, value, run in [
        (0, 107.14, "400 h"),
        (5, 110.80, "550 h"),
        (10, 113.21, "450 h"),
        (20, 116.20, "560 h"),
        (40, 119.16, "330 h"),
        (100, 122.09, "350 h"),
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
    )
    for technicians, value, run in [(1, 0.7839, "40 h"), (2, 0.8314, "20 h"), (3, 0.8333, "16 h")]
]
ALONE = [
    Published(
        id="one-station-that-stops",
        topic=TOPIC,
        statement="one station that runs 100 s to a stop and is repaired in 10 s, both exponential: "
        "availability = running / (running + repair)",
        cell=ONE_STATION,
        quantity="availability",
        value=100 / 110,
        unit="",
        source="alternating renewal process, in any textbook of reliability; derived in one line",
    )
]
ENTRIES = [*ALONE, *TOPS, *REPAIRED]
