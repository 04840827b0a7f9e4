"""Known results of lines of stations that stop, with places between them, by chains and as a flow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from cellsim.published.cells import exponential_cycle, line
from cellsim.published.entry import Published
from cellsim.published.lines import CHAIN
from cellsim.published.stops import DALLERY_GERSHWIN, stop
from cellsim.theory.line_inputs import Clock
from cellsim.theory.saturated import LineFigures
from cellsim.theory.two_stations import constant_time_with_stops, no_places_rate
from cellsim.theory.two_unreliable import fluid_pair
from cellsim.theory.unreliable import exponential_line_with_stops

TOPIC = "Lines of stations that stop"
GERSHWIN_BERMAN = (
    "Gershwin, S. B. and Berman, O. (1981), Analysis of transfer lines consisting of two unreliable machines "
    "with random processing times and finite storage buffers, AIIE Transactions 13(1), 2-11"
)
JACOBS_MEERKOV = (
    "Jacobs, D. and Meerkov, S. M. (1995), A system-theoretic property of serial production lines, "
    "International Journal of Systems Science 26(4), 755-785; Li, J. and Meerkov, S. M. (2009), Production "
    "Systems Engineering, Springer, chapter 11 (both from memory)"
)


@dataclass(frozen=True, slots=True)
class ExponentialLine:
    """Exponential stations with exponential running times and repairs, means in seconds."""

    means: tuple[float, ...]
    run: tuple[float, ...]
    repair: tuple[float, ...]
    places: tuple[int, ...]
    hours: float
    seed: int
    clock: Clock = "running time"

    @property
    def cell(self) -> str:
        """The text of the cell."""
        clock = "running" if self.clock == "running time" else "on time"
        stations = [
            f"{exponential_cycle(mean)}, {stop(run, repair, clock)}"
            for mean, run, repair in zip(self.means, self.run, self.repair, strict=True)
        ]
        study = f"settle: 30 min, run: {self.hours} h, replications: 32, seed: {self.seed}"
        return line(stations, self.places, study)

    @property
    def in_words(self) -> str:
        """The setup for a statement."""
        return (
            f"exponential stations, means {_listed(self.means)} s, {_listed(self.run)} s of {self.clock} to "
            f"a stop, repairs {_listed(self.repair)} s, {_listed(self.places)} places"
        )

    def figure(self, of: Callable[[LineFigures], float]) -> Callable[[], float]:
        """A figure from its chain, as a formula."""
        return lambda: of(
            exponential_line_with_stops(self.means, self.places, self.run, self.repair, self.clock)
        )

    def rate_entry(self, key: str, value: float, source: str) -> Published:
        """An entry about its rate."""
        return Published(
            id=f"{key}-rate",
            topic=TOPIC,
            statement=f"{self.in_words}: rate",
            cell=self.cell,
            quantity="units per second",
            value=value,
            unit="units per second",
            source=source,
            formula=self.figure(lambda found: found.rate),
        )

    def between_entry(self, key: str, value: float, source: str) -> Published:
        """An entry about the mean number of units between its first two stations."""
        return Published(
            id=f"{key}-between",
            topic=TOPIC,
            statement=f"{self.in_words}: mean number finished by the first and not by the second",
            cell=self.cell,
            quantity="mean number between two stations",
            of="after S1",
            value=value,
            unit="units",
            whole=self.places[0] + 2,
            source=source,
            formula=self.figure(lambda found: float(found.between[0])),
        )


def _listed(numbers: Sequence[float]) -> str:
    return ", ".join(f"{x:g}" for x in numbers)


A = ExponentialLine((1, 0.9), (50, 40), (5, 6), (3,), 6, 801)
A_ON_TIME = ExponentialLine((1, 0.9), (50, 40), (5, 6), (3,), 10, 802, "on time")
B = ExponentialLine((1, 1), (20, 30), (10, 12), (8,), 21, 803)
C = ExponentialLine((0.5, 0.6), (100, 100), (8, 4), (0,), 4, 804)
D = ExponentialLine((1, 1.2), (60, 45), (10, 4), (15,), 16.5, 805)
THREE_EQUAL = ExponentialLine((1, 1, 1), (50, 50, 50), (5, 5, 5), (2, 2), 5.5, 806)
THREE_UNEQUAL = ExponentialLine((1, 1.1, 1), (100, 25, 100), (20, 3, 8), (5, 5), 10, 807)
EXPONENTIAL = [
    A.rate_entry("two-that-stop-three-places", 0.7403259337, GERSHWIN_BERMAN),
    A.between_entry("two-that-stop-three-places", 2.31988719, GERSHWIN_BERMAN),
    A_ON_TIME.rate_entry("two-that-stop-on-time-three-places", 0.7203867929, f"{DALLERY_GERSHWIN}; {CHAIN}"),
    B.rate_entry("two-that-stop-eight-places", 0.5394787794, f"{GERSHWIN_BERMAN}; digits: {CHAIN}"),
    B.between_entry("two-that-stop-eight-places", 4.6109387, GERSHWIN_BERMAN),
    C.rate_entry("two-that-stop-no-places", 1.123815947, GERSHWIN_BERMAN),
    D.rate_entry("two-that-stop-fifteen-places", 0.7182385995, GERSHWIN_BERMAN),
    D.between_entry("two-that-stop-fifteen-places", 10.95923403, GERSHWIN_BERMAN),
    THREE_EQUAL.rate_entry("three-that-stop-two-places", 0.623223883, DALLERY_GERSHWIN),
    THREE_UNEQUAL.rate_entry("three-that-stop-five-places", 0.6289443833, DALLERY_GERSHWIN),
]
NO_PLACES = [
    Published(
        id=f"two-constant-{word}-no-places",
        topic=TOPIC,
        statement=f"two stations of constant 1 s, {run} s running to a stop, repairs {repair} s, no places: "
        f"rate 1 / mean of the longer completion time (a paced line: {paced})",
        cell=line(
            [f"cycle: 1 s, {stop(run, repair)}"] * 2,
            [0],
            f"settle: 1 h, run: {hours} h, replications: 32, seed: {seed}",
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=f"both begin together; own derivation, compare {DALLERY_GERSHWIN}",
        formula=partial(
            no_places_rate,
            constant_time_with_stops(1, run, repair),
            constant_time_with_stops(1, run, repair),
            [1.0],
        ),
    )
    for word, run, repair, hours, value, paced, seed in [
        ("stops-of-five", 50, 5, 4, 0.8340214586, "0.8333", 811),
        ("stops-of-four", 10, 4, 9, 0.5614950032, "0.5556", 812),
    ]
]


def flow_rate(clock: Clock) -> float:
    """Rate of the two stations as a flow."""
    return fluid_pair([200, 150], [40, 20], 60, clock).rate


FLOWS: list[tuple[Clock, str, float, float, str, int]] = [
    (
        "running time",
        "running",
        26,
        0.8028127744,
        "continuous flow, balance of its levels (own derivation)",
        821,
    ),
    ("on time", "on time", 21, 0.7997888934, JACOBS_MEERKOV, 822),
]
FLOW = [
    Published(
        id=f"flow-through-two-{'running-time' if clock == 'running time' else 'on-time'}",
        topic=TOPIC,
        statement=f"two stations of 1 s, 200 and 150 s of {clock} to a stop, repairs of 40 and 20 s, "
        "exponential, 60 places: rate",
        cell=line(
            [f"cycle: 1 s, {stop(run, repair, key)}" for run, repair in [(200, 40), (150, 20)]],
            [60],
            f"settle: 1 h, run: {hours} h, replications: 32, seed: {seed}",
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        tolerance=0.002,
        exactness="units are taken for a continuous flow, which is right to 0.2 %",
        rounding=1e-8,
        source=source,
        formula=partial(flow_rate, clock),
    )
    for clock, key, hours, value, source, seed in FLOWS
]
ENTRIES = [*NO_PLACES, *EXPONENTIAL, *FLOW]
