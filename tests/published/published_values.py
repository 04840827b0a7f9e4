"""Known results of queueing and line theory: the cell of each as a cell file, its value and its source.

The length of the runs (`study:` of each cell) is chosen so that the interval over the replications is at most
1 % of the value to each side at the 99 % level, with as little running as that takes.  What no book at hand
confirmed is marked "from memory"; all values are computed a second time in `test_published_values.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

FALSE_ALARM = 0.01  # chance that a right simulator fails anywhere in the suite, over all choices of the seeds


@dataclass(frozen=True, slots=True)
class Published:
    """One known value.

    `quantity` is a row of `verdicts.QUANTITIES`, `station` says of which station it is, where it is of one.
    `tolerance` is how far, relative to it, the value may be from the truth (0: exact).  `whole` is what half
    widths are relative to: the value itself, or 1 for one of several shares that add up to 1.
    """

    id: str
    statement: str
    cell: str
    quantity: str
    value: float
    exactness: str
    source: str
    station: str = ""
    tolerance: float = 0.0
    whole: float = 0.0

    @property
    def scale(self) -> float:
        """What half widths are relative to, in the unit of the value."""
        return self.whole or self.value


HUNT = (
    "Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683: blocking "
    "after service, the first station never starved, the last never blocked (from memory)"
)
CHAIN = "stationary Markov chain of the line, solved with numpy"
FLUID = (
    "continuous flow through two equal stations that stop by running time: between its ends the level is "
    "equally likely everywhere, the balance at the ends gives the two masses there; the case of a paced line "
    "is in Buzacott, J. A. (1967), Automatic transfer lines with buffer stocks, International Journal of "
    "Production Research 5(3), 183-200 (from memory)"
)
PALM = (
    "Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines, Journal of "
    "Industrial Engineering 9, 28-42 (from memory)"
)
PATH = (
    "the share of a station's work in the critical path is its elasticity: Ho, Y. C. and Cao, X. R. (1991), "
    "Perturbation Analysis of Discrete Event Dynamic Systems, Kluwer (from memory); the figure is the "
    "derivative of the " + CHAIN
)


def exponential_line(means: Sequence[float], places: Sequence[int], study: str) -> str:
    """Stations S1, S2, ... with exponential times (means in minutes), and the places between them."""
    names = [f"S{k + 1}" for k in range(len(means))]
    route = [names[0]]
    for k, name in enumerate(names[1:]):
        route += [f"after {names[k]}", name]
    stations = "".join(
        f"\n  {name}: {{cycle: {{law: exponential, mean: {mean} min}}}}"
        for name, mean in zip(names, means, strict=True)
    )
    stores = ", ".join(f"after {name}: {count}" for name, count in zip(names, places, strict=False))
    return f"""
cell: {len(means)} stations with exponential times
route: [{", ".join(route)}]
stations: {stations}
stores: {{{stores}}}
study: {{{study}}}
"""


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
study: {{settle: 15 h, run: {run}, replications: 16, seed: {300 + places}}}
"""


def tended_machines(machines: int, run: str) -> str:
    """Equal machines that run alone and are served in between by one operator."""
    return f"""
cell: machines tended by one operator
crew: {{operator: {{}}}}
route: [M]
stations:
  M:
    machines: {machines}
    work:
      - {{do: serve, time: {{law: exponential, mean: 11 s}}, by: operator, phase: load}}
      - {{do: run, time: {{law: exponential, mean: 66 s}}}}
study: {{settle: 1 h, run: {run}, replications: 16, seed: {400 + machines}}}
"""


def repaired_machines(machines: int, technicians: int, run: str) -> str:
    """Equal machines that always have work and are repaired by so many technicians."""
    stop = "{every: 100 min of running, lasts: 20 min, law: exponential, cleared_by: technician}"
    return f"""
cell: machines and technicians
crew: {{technician: {{people: {technicians}}}}}
route: [M]
stations:
  M: {{machines: {machines}, cycle: 15 min, stops: {{breakdown: {stop}}}}}
study: {{settle: 40 h, run: {run}, replications: 16, seed: {500 + technicians}}}
"""


ONE_STATION = """
cell: one station that stops
route: [M]
stations:
  M: {cycle: 5 min, stops: {breakdown: {every: 100 min of running, lasts: 10 min, law: exponential}}}
study: {settle: 20 h, run: 1500 h, replications: 16, seed: 600}
"""

TWO_STATIONS = [
    Published(
        id=f"two stations, {places} places",
        statement="two stations with equal exponential times: rate (b + 2) / (b + 3) of a single one's",
        cell=exponential_line(
            [1, 1], [places], f"settle: 5 h, run: 150 h, replications: 16, seed: {100 + places}"
        ),
        quantity="units per minute",
        value=(places + 2) / (places + 3),
        exactness="exact",
        source=HUNT,
    )
    for places in range(5)
]
THREE_STATIONS = [
    Published(
        id="three stations, 0 places",
        statement="three stations with equal exponential times and no places: 22/39 of a single one's rate",
        cell=exponential_line([1, 1, 1], [0, 0], "settle: 5 h, run: 150 h, replications: 16, seed: 200"),
        quantity="units per minute",
        value=22 / 39,
        exactness="exact",
        source=HUNT,
    )
]
TOPS = [
    Published(
        id=f"spinning top, {places} places",
        statement="E = (2 + n (1 + I)) / (2 (1 + 2 I) + n (1 + I)^2) with n = places x cycle / mean repair "
        "and I = mean repair / mean running time to a stop; the rate is E / cycle",
        cell=spinning_top(places, run),
        quantity="units per hour",
        value=value,
        tolerance=0.005,
        exactness="two decimals; units are taken for a continuous flow, which is right to 0.5 %",
        source=FLUID,
    )
    for places, value, run in [
        (0, 107.14, "240 h"),
        (5, 110.80, "230 h"),
        (10, 113.21, "200 h"),
        (20, 116.20, "190 h"),
        (40, 119.16, "130 h"),
        (100, 122.09, "200 h"),
    ]
]
FOUR_MEANS, FOUR_PLACES = (1.05, 1.0, 1.0, 1.0), (8, 8, 0)
FOUR_CELL = exponential_line(FOUR_MEANS, FOUR_PLACES, "settle: 5 h, run: 320 h, replications: 12, seed: 250")
FOUR_STATIONS = [
    Published(
        id="four stations, rate",
        statement="four stations with exponential times, means 1.05, 1, 1, 1 min, and 8, 8, 0 places",
        cell=FOUR_CELL,
        quantity="units per minute",
        value=0.665372,
        exactness="six decimals",
        source=CHAIN,
    )
] + [
    Published(
        id=f"four stations, path of {station}",
        statement="S1, slowest and busiest, does not limit output: S3 and S4 do, with no place between them",
        cell=FOUR_CELL,
        quantity="path share of work",
        station=station,
        value=value,
        whole=1.0,
        exactness="four decimals, of the settled line; the empty start adds at most 0.0003 for S1",
        source=PATH,
    )
    for station, value in {"S1": 0.0046, "S2": 0.0203, "S3": 0.4878, "S4": 0.4873}.items()
]
TENDED = [
    Published(
        id=f"one operator, {machines} machines",
        statement="machines run 66 s, then wait for one operator and are served 11 s, both exponential: the "
        "operator is busy 1 - B(N, 66/11), B the loss formula of Erlang",
        cell=tended_machines(machines, run),
        quantity="units per hour",
        value=value,
        exactness="two decimals",
        source=PALM,
    )
    for machines, value, run in [(4, 173.60, "40 h"), (6, 240.57, "24 h"), (8, 287.39, "15 h")]
]
REPAIRED = [
    Published(
        id=f"three machines, technicians: {technicians}",
        statement="machines run 100 min to a stop and take 20 min of a technician, both exponential",
        cell=repaired_machines(3, technicians, run),
        quantity="availability",
        value=value,
        exactness="four decimals",
        source=PALM + ", with several repairers",
    )
    for technicians, value, run in [(1, 0.7839, "1200 h"), (2, 0.8314, "700 h"), (3, 0.8333, "700 h")]
]
ALONE = [
    Published(
        id="one station that stops",
        statement="availability = mean running time to a stop / (that + mean repair)",
        cell=ONE_STATION,
        quantity="availability",
        value=100 / 110,
        exactness="exact",
        source="alternating renewal process, in any textbook of reliability; derived in one line",
    )
]
PUBLISHED = [
    *TWO_STATIONS, *THREE_STATIONS, *TOPS, *FOUR_STATIONS, *TENDED, *REPAIRED, *ALONE,
]  # fmt: skip
