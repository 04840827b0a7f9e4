"""Known results of lines whose first station always has work and whose last one is never blocked."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.published.entry import Published

TOPIC = "Lines of stations with places between them"
HUNT = (
    "Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683: blocking "
    "after service, the first station never starved, the last never blocked (from memory)"
)
CHAIN = "stationary Markov chain of the line, solved with numpy"
PATH = (
    "the share of a station's work in the critical path is its elasticity: Ho, Y. C. and Cao, X. R. (1991), "
    "Perturbation Analysis of Discrete Event Dynamic Systems, Kluwer (from memory); the figure is the "
    "derivative of the " + CHAIN
)


def in_a_row(stations: Sequence[str], places: Sequence[int]) -> str:
    """Stations S1, S2, ... with these keys (as `cycle: 2 s`) and the places between them; no `study`."""
    names = [f"S{k + 1}" for k in range(len(stations))]
    route = [names[0]]
    for k, name in enumerate(names[1:]):
        route += [f"after {names[k]}", name]
    rows = "".join(f"\n  {name}: {{{keys}}}" for name, keys in zip(names, stations, strict=True))
    stores = ", ".join(f"after {name}: {count}" for name, count in zip(names, places, strict=False))
    return f"""
cell: {len(stations)} stations in a row
route: [{", ".join(route)}]
stations: {rows}
stores: {{{stores}}}
"""


def line(laws: Sequence[str], places: Sequence[int], study: str) -> str:
    """Stations S1, S2, ... with these laws of cycle times, and the places between them."""
    return in_a_row([f"cycle: {law}" for law in laws], places) + f"study: {{{study}}}\n"


def exponential(mean: float) -> str:
    """Exponential times with a mean in seconds, as the law of a cycle."""
    return f"{{law: exponential, mean: {mean} s}}"


def listed(values: Sequence[float]) -> str:
    """Numbers as a statement says them."""
    return ", ".join(f"{value:g}" for value in values)


def percent(share: float) -> str:
    """A share as per cent."""
    return f"{100 * share:.8g} %"


def exponential_line(means: Sequence[float], places: Sequence[int], study: str) -> str:
    """Stations S1, S2, ... with exponential times (means in seconds), and the places between them."""
    return line([exponential(mean) for mean in means], places, study)


TWO_STATIONS = [
    Published(
        id=f"two-stations-{places}-places",
        topic=TOPIC,
        statement=f"two stations with exponential times of mean 1 s and {places} places between them: "
        "rate (B + 2) / (B + 3)",
        cell=exponential_line(
            [1, 1], [places], f"settle: 10 min, run: 9 h, replications: 20, seed: {100 + places}"
        ),
        quantity="units per second",
        value=(places + 2) / (places + 3),
        unit="units per second",
        source=HUNT,
    )
    for places in range(5)
]
THREE_STATIONS = [
    Published(
        id="three-stations-0-places",
        topic=TOPIC,
        statement="three stations with exponential times of mean 1 s and no places between them: rate 22/39",
        cell=exponential_line([1, 1, 1], [0, 0], "settle: 10 min, run: 8 h, replications: 16, seed: 200"),
        quantity="units per second",
        value=22 / 39,
        unit="units per second",
        source=HUNT,
    )
]
FOUR_CELL = exponential_line(
    [1.05, 1, 1, 1], [8, 8, 0], "settle: 1 h, run: 12 h, replications: 20, seed: 250"
)
FOUR_STATIONS = [
    Published(
        id="four-stations-rate",
        topic=TOPIC,
        statement="four stations with exponential times, means 1.05, 1, 1, 1 s, and 8, 8, 0 places",
        cell=FOUR_CELL,
        quantity="units per second",
        value=0.665372,
        unit="units per second",
        exactness="six decimals",
        rounding=1e-6,
        source=CHAIN,
    )
] + [
    Published(
        id=f"four-stations-path-of-{station}",
        topic=TOPIC,
        statement=f"the same line: share of the critical path that is work of {station}; S1, slowest and "
        "busiest, does not limit output",
        cell=FOUR_CELL,
        quantity="path share of work",
        of=station,
        value=value,
        unit="",
        whole=1.0,
        exactness="four decimals",
        rounding=0.5e-4 / value,
        source=PATH,
    )
    for station, value in {"S1": 0.0046, "S2": 0.0203, "S3": 0.4878, "S4": 0.4873}.items()
]
ENTRIES = [*TWO_STATIONS, *THREE_STATIONS, *FOUR_STATIONS]
