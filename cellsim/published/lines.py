"""Known results of lines whose first station always has work and whose last one is never blocked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cellsim.published.cells import exponential_line
from cellsim.published.entry import Published
from cellsim.theory.saturated import LineFigures, elasticities, line_figures
from cellsim.theory.two_stations import exponential_times_rate

TOPIC = "Lines of stations with places between them"
HUNT = (
    "Hunt, G. C. (1956), Sequential arrays of waiting lines, Operations Research 4(6), 674-683: blocking "
    "after service, the first station never starved, the last never blocked"
)
HILLIER_BOLING = (
    "Hillier, F. S. and Boling, R. W. (1967), Finite queues in series with exponential or Erlang service "
    "times - a numerical approach, Operations Research 15(2), 286-303"
)
CHAIN = "stationary Markov chain of the line, solved with numpy"
PATH = (
    "the share of a station's work in the critical path is its elasticity: Ho, Y. C. and Cao, X. R. (1991), "
    "Perturbation Analysis of Discrete Event Dynamic Systems, Kluwer (from memory); the figure is the "
    "derivative of the " + CHAIN
)
IN_WORDS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven"}


def figure(
    of: Callable[[LineFigures], float], means: Sequence[float], places: Sequence[int]
) -> Callable[[], float]:
    """A figure of a line of exponential stations, as the formula of an entry."""
    return lambda: of(line_figures(means, places))


def rate(means: Sequence[float], places: Sequence[int]) -> Callable[[], float]:
    """The rate of a line of exponential stations, as the formula of an entry."""
    return figure(lambda found: found.rate, means, places)


LONG_RUNS = {(2, 4): "6 h", (3, 0): "5 h", (4, 0): "3.5 h", (5, 2): "5 h", (7, 0): "3.5 h"}


def equal_line(stations: int, places: int) -> str:
    """Equal exponential stations of mean 1 s with equal numbers of places between them."""
    run = LONG_RUNS.get((stations, places), "4 h" if stations == 2 else "2.5 h")
    return exponential_line(
        [1] * stations,
        [places] * (stations - 1),
        f"settle: 20 min, run: {run}, replications: 24, seed: {1000 + 30 * stations + places}",
    )


def an_equal_line(stations: int, places: int) -> str:
    """The setup of such a line in words."""
    between = "no places" if not places else f"{places} place{'s'[: places > 1]}"
    return f"{IN_WORDS[stations]} stations with exponential times of mean 1 s and {between} between each two"


TWO_STATIONS = [
    Published(
        id=f"two-stations-{places}-places",
        topic=TOPIC,
        statement=f"{an_equal_line(2, places)}: rate (B + 2) / (B + 3), B = {places}",
        cell=equal_line(2, places),
        quantity="units per second",
        value=(places + 2) / (places + 3),
        unit="units per second",
        source=HUNT if not places else f"{HUNT}; {HILLIER_BOLING}",
        formula=partial(exponential_times_rate, [1, 1], places),
    )
    for places in range(5)
]
STATES_OF_TWO = [
    Published(
        id="two-stations-4-places-starved",
        topic=TOPIC,
        statement="the same line, 4 places: share of time that the second station is starved, 1 / (B + 3)",
        cell=equal_line(2, 4),
        quantity="share of time starved",
        of="S2",
        value=1 / 7,
        unit="",
        whole=1.0,
        source=HUNT,
        formula=figure(lambda found: float(found.starved[1]), [1, 1], [4]),
    ),
    Published(
        id="two-stations-4-places-blocked",
        topic=TOPIC,
        statement="the same line: share of time that the first station is blocked, the same by symmetry",
        cell=equal_line(2, 4),
        quantity="share of time blocked",
        of="S1",
        value=1 / 7,
        unit="",
        whole=1.0,
        source=HUNT,
        formula=figure(lambda found: float(found.blocked[0]), [1, 1], [4]),
    ),
    Published(
        id="two-stations-4-places-filled",
        topic=TOPIC,
        statement="the same line: mean number on the 4 places, half of them, since all numbers between the "
        "stations are equally likely",
        cell=equal_line(2, 4),
        quantity="mean number in the store",
        of="after S1",
        value=2.0,
        unit="units",
        whole=4.0,
        source=f"{HUNT}; Kraemer, S. A. and Love, R. F. (1970), A model for optimizing the buffer inventory "
        "storage size in a sequential production system, AIIE Transactions 2(1), 64-69 (from memory)",
        formula=figure(lambda found: float(found.in_stores[0]), [1, 1], [4]),
    ),
]
LONGER = [
    Published(
        id=f"{IN_WORDS[stations]}-stations-{places}-places",
        topic=TOPIC,
        statement=f"{an_equal_line(stations, places)}: rate",
        cell=equal_line(stations, places),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=source,
        formula=rate([1] * stations, [places] * (stations - 1)),
    )
    for stations, places, value, source in [
        (3, 0, 22 / 39, HUNT),
        (4, 0, 0.5147754893, f"{HUNT}; {HILLIER_BOLING}"),
        (5, 0, 0.4857981216, HILLIER_BOLING),
        (6, 0, 0.4667132630, f"{HILLIER_BOLING} (from memory)"),
        (7, 0, 0.4531785428, f"{HILLIER_BOLING} (from memory)"),
        (3, 1, 0.6704661583, HILLIER_BOLING),
        (4, 1, 0.6311526854, HILLIER_BOLING),
        (5, 1, 0.6075832861, HILLIER_BOLING),
        (6, 1, 0.5918257796, HILLIER_BOLING),
        (3, 2, 0.7340166721, HILLIER_BOLING),
        (4, 2, 0.7007129023, f"{HILLIER_BOLING} (from memory)"),
        (5, 2, 0.6804894774, f"{HILLIER_BOLING} (from memory)"),
        (6, 2, 0.6668555539, HILLIER_BOLING),
        (3, 3, 0.7767115325, f"{HILLIER_BOLING} (from memory)"),
        (3, 4, 0.8074859097, HILLIER_BOLING),
        (4, 4, 0.7817760224, HILLIER_BOLING),
    ]
]
INSIDE = [
    Published(
        id=f"{IN_WORDS[stations]}-stations-{places}-places-inside",
        topic=TOPIC,
        statement=f"{an_equal_line(stations, places)}: mean number of units on stations and places",
        cell=equal_line(stations, places),
        quantity="number inside, units",
        value=value,
        unit="units",
        source=HILLIER_BOLING,
        formula=figure(lambda found: found.wip, [1] * stations, [places] * (stations - 1)),
    )
    for stations, places, value in [(4, 1, 4.829063886), (5, 2, 8.339352745)]
]
STATES_OF_THREE = [
    Published(
        id=f"three-stations-0-places-{state}",
        topic=TOPIC,
        statement=f"{an_equal_line(3, 0)}: share of time that the {word} station is {state}",
        cell=equal_line(3, 0),
        quantity=f"share of time {state}",
        of=station,
        value=value,
        unit="",
        whole=1.0,
        source=HILLIER_BOLING,
        formula=figure(of, [1, 1, 1], [0, 0]),
    )
    for state, word, station, value, of in [
        ("starved", "third", "S3", 17 / 39, lambda found: float(found.starved[2])),
        ("blocked", "second", "S2", 9 / 39, lambda found: float(found.blocked[1])),
    ]
]
FOUR_MEANS, FOUR_PLACES = (1.05, 1, 1, 1), (8, 8, 0)
FOUR_CELL = exponential_line(FOUR_MEANS, FOUR_PLACES, "settle: 1 h, run: 6 h, replications: 24, seed: 250")


def path_share(station: int) -> float:
    """Elasticity of the rate of the line of four with respect to the time of a station."""
    return float(elasticities(FOUR_MEANS, FOUR_PLACES)[station - 1])


FOUR_STATIONS = [
    Published(
        id="four-stations-rate",
        topic=TOPIC,
        statement="four stations with exponential times, means 1.05, 1, 1, 1 s, and 8, 8, 0 places: rate",
        cell=FOUR_CELL,
        quantity="units per second",
        value=0.665372,
        unit="units per second",
        exactness="six decimals",
        rounding=1e-6,
        source=CHAIN,
        formula=rate(FOUR_MEANS, FOUR_PLACES),
    )
] + [
    Published(
        id=f"four-stations-path-of-S{station}",
        topic=TOPIC,
        statement=f"the same line: share of the critical path that is work of S{station}; S1, slowest and "
        "busiest, does not limit output",
        cell=FOUR_CELL,
        quantity="path share of work",
        of=f"S{station}",
        value=value,
        unit="",
        whole=1.0,
        exactness="four decimals",
        rounding=0.5e-4 / value,
        source=PATH,
        formula=partial(path_share, station),
    )
    for station, value in {1: 0.0046, 2: 0.0203, 3: 0.4878, 4: 0.4873}.items()
]
ENTRIES = [*TWO_STATIONS, *STATES_OF_TWO, *LONGER, *INSIDE, *STATES_OF_THREE, *FOUR_STATIONS]
