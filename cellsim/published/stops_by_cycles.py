"""Known results of stations of one cycle that stop for whole cycles: geometric stops, Bernoulli stations."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from cellsim.published.cells import line
from cellsim.published.entry import Published
from cellsim.published.stops import BUZACOTT, DALLERY_GERSHWIN
from cellsim.published.two_with_buffer import TOPIC
from cellsim.theory.bounds import slowest_station
from cellsim.theory.two_stations import geometric_times_rate
from cellsim.theory.two_unreliable import PairFigures, bernoulli_pair, geometric_pair

GERSHWIN = (
    "Gershwin, S. B. (1994), Manufacturing Systems Engineering, Prentice Hall, chapter 3 (two machines with "
    "deterministic processing)"
)
LI_MEERKOV = (
    "Li, J. and Meerkov, S. M. (2009), Production Systems Engineering, Springer, chapter 4 (two Bernoulli "
    "machines)"
)


def in_cycles(stop: float, repair: float) -> str:
    """A cycle of 1 s and, with a chance, a stop of a geometric number of cycles, as keys of a station.

    The stop is a repair in place that fails with a chance of 1 - `repair` and then is done again.
    """
    return (
        f"cycle: 1 s, rejects: {{share: {stop:.10g}, after_rework: {1 - repair:.10g}, to: here, repair: 1 s}}"
    )


def geometric(chance_of_end: float) -> str:
    """A geometric number of cycles of 1 s: after each it ends with this chance, as keys of a station."""
    return in_cycles(1 - chance_of_end, chance_of_end)


def study(hours: float, seed: int) -> str:
    """The study of a line in steps of 1 s."""
    return f"settle: 30 min, run: {hours} h, replications: 64, seed: {seed}"


@dataclass(frozen=True, slots=True)
class GeometricPair:
    """Two stations with geometric running times and repairs, and places between them."""

    stop: tuple[float, float]
    repair: tuple[float, float]
    places: int
    hours: float
    seed: int

    @property
    def cell(self) -> str:
        """The text of the cell."""
        stations = [in_cycles(*chances) for chances in zip(self.stop, self.repair, strict=True)]
        return line(stations, [self.places], study(self.hours, self.seed))

    @property
    def in_words(self) -> str:
        """The setup for a statement."""
        return (
            f"two stations of one cycle, chances to stop {self.stop[0]:g}, {self.stop[1]:g}, to be repaired "
            f"{self.repair[0]:g}, {self.repair[1]:g}, {self.places} places"
        )

    def figure(self, of: Callable[[PairFigures], float]) -> Callable[[], float]:
        """A figure of the closed form, as a formula."""
        return lambda: of(geometric_pair(self.stop, self.repair, self.places + 2))

    def rate_entry(self, key: str, value: float, source: str = f"{GERSHWIN}; {BUZACOTT}") -> Published:
        """An entry about its rate."""
        return Published(
            id=f"geometric-stops-{key}-rate",
            topic=TOPIC,
            statement=f"{self.in_words}: units per cycle",
            cell=self.cell,
            quantity="units per second",
            value=value,
            unit="units per cycle",
            source=source,
            formula=self.figure(lambda found: found.rate),
        )

    def between_entry(self, key: str, value: float) -> Published:
        """An entry about the mean number of units between the stations."""
        return Published(
            id=f"geometric-stops-{key}-between",
            topic=TOPIC,
            statement=f"{self.in_words}: mean number finished by the first and not by the second",
            cell=self.cell,
            quantity="mean number between two stations",
            of="after S1",
            value=value,
            unit="units",
            whole=self.places + 2,
            source=GERSHWIN,
            formula=self.figure(lambda found: found.content),
        )


TWO = GeometricPair((0.01, 0.01), (0.1, 0.1), 2, 10, 901)
EIGHT = GeometricPair((0.01, 0.01), (0.1, 0.1), 8, 24, 902)
EIGHTEEN = GeometricPair((0.01, 0.01), (0.1, 0.1), 18, 2.6, 903)
UNEQUAL = GeometricPair((0.01, 0.02), (0.1, 0.1), 8, 13, 904)
TEN = GeometricPair((0.01, 0.009), (0.15, 0.08), 10, 28, 905)
BAD = GeometricPair((0.1, 0.08), (0.3, 0.25), 5, 2, 906)
LARGE = GeometricPair((0.01, 0.02), (0.1, 0.1), 598, 3.5, 907)
LARGE_TOO = GeometricPair((0.05, 0.05), (0.5, 0.3), 598, 1.2, 908)
GEOMETRIC = [
    TWO.rate_entry("two-places", 0.8409361365),
    TWO.between_entry("two-places", 2.0),
    EIGHT.rate_entry("eight-places", 0.8561749307),
    EIGHT.between_entry("eight-places", 5.0),
    EIGHTEEN.rate_entry("eighteen-places", 0.8705407225),
    UNEQUAL.rate_entry("eight-places-unequal", 0.7961286409),
    UNEQUAL.between_entry("eight-places-unequal", 6.52387981),
    TEN.between_entry("ten-places-unequal", 6.597214584),
    BAD.rate_entry("five-places-frequent", 0.6764926963),
]


def alone(pair: GeometricPair) -> float:
    """What the worse of two stations makes alone, units per cycle."""
    return slowest_station([1, 1], [r / (r + p) for p, r in zip(pair.stop, pair.repair, strict=True)])


UNLIMITED = [
    Published(
        id=f"geometric-stops-unlimited-{word}",
        topic=TOPIC,
        statement=f"{pair.in_words}: what the worse one makes alone, r / (r + p)",
        cell=pair.cell.replace("settle: 30 min", "settle: 1 h"),
        quantity="units per second",
        value=value,
        unit="units per cycle",
        source=f"{BUZACOTT}; {DALLERY_GERSHWIN}",
        exactness="the limit of many places, to ten digits with 598 of them",
        formula=partial(alone, pair),
    )
    for word, pair, value in [("long-stops", LARGE, 5 / 6), ("short-stops", LARGE_TOO, 6 / 7)]
]


@dataclass(frozen=True, slots=True)
class BernoulliPair:
    """Two stations that are up in a cycle with a chance each, and so many units at most between them."""

    up: tuple[float, float]
    most: int
    hours: float
    seed: int

    @property
    def cell(self) -> str:
        """The text of the cell.

        S1 makes a unit in each cycle, which is thrown away unless it is up, and lost where there is no
        place, since it does not wait.  What the store holds with what lies on S2 are the units between.
        """
        before, tray = ("buffer, ", f"stores: {{buffer: {self.most - 1}}}") if self.most > 1 else ("", "")
        first = "buffer" if self.most > 1 else "S2"
        return f"""
cell: Bernoulli stations
route: [S1, {before}S2]
lines: {{lost: [waste]}}
stations:
  S1: {{cycle: 1 s, scrap: {1 - self.up[0]:.10g}, goes_to: [{first}, waste], chooses: first free}}
  S2: {{{geometric(self.up[1])}}}
  waste: {{cycle: 0 s, scrap: 100 %}}
{tray}
study: {{{study(self.hours, self.seed)}}}
"""

    @property
    def in_words(self) -> str:
        """The setup for a statement."""
        return (
            f"two stations up with chances {self.up[0]:g}, {self.up[1]:g} in each cycle, at most "
            f"{self.most} between, blocked before service"
        )

    def rate_entry(self, key: str, value: float) -> Published:
        """An entry about its rate."""
        return Published(
            id=f"bernoulli-{key}-rate",
            topic=TOPIC,
            statement=f"{self.in_words}: units per cycle p2 (1 - P(none between))",
            cell=self.cell,
            quantity="units per second",
            value=value,
            unit="units per cycle",
            source=LI_MEERKOV,
            formula=lambda: bernoulli_pair(self.up, self.most).rate,
        )

    def between_entry(self, key: str, value: float) -> Published:
        """An entry about the mean number of units between the stations."""
        return Published(
            id=f"bernoulli-{key}-between",
            topic=TOPIC,
            statement=f"{self.in_words}: mean number between",
            cell=self.cell,
            quantity="mean number past the station",
            of="S1",
            value=value,
            unit="units",
            whole=self.most,
            source=LI_MEERKOV,
            formula=lambda: bernoulli_pair(self.up, self.most).content,
        )


ONE = BernoulliPair((0.9, 0.9), 1, 0.5, 921)
THREE = BernoulliPair((0.9, 0.9), 3, 1.9, 922)
TWO_UNEQUAL = BernoulliPair((0.9, 0.8), 2, 0.5, 923)
FIVE_UNEQUAL = BernoulliPair((0.75, 0.85), 5, 1.7, 924)
TEN_EQUAL = BernoulliPair((0.8, 0.8), 10, 11, 925)
BERNOULLI = [
    ONE.rate_entry("equal-one", 9 / 11),
    ONE.between_entry("equal-one", 10 / 11),
    THREE.between_entry("equal-three", 60 / 31),
    TWO_UNEQUAL.rate_entry("unequal-two", 0.7787021631),
    FIVE_UNEQUAL.rate_entry("unequal-five", 0.7461906876),
    FIVE_UNEQUAL.between_entry("unequal-five", 1.675011098),
    TEN_EQUAL.between_entry("equal-ten", 5.392156863),
]
AFTER_SERVICE = [
    Published(
        id=f"geometric-times-{word}",
        topic=TOPIC,
        statement=f"two stations whose times end with chances {ends[0]:g}, {ends[1]:g} in each cycle, "
        f"{places} places, blocked after service: units per cycle",
        cell=line([geometric(chance) for chance in ends], [places], study(hours, seed)),
        quantity="units per second",
        value=value,
        unit="units per cycle",
        source=f"birth and death chain of the units between; the rules are a problem in {LI_MEERKOV}",
        formula=partial(geometric_times_rate, ends, places),
    )
    for word, ends, places, hours, value, seed in [
        ("equal-no-places", (0.9, 0.9), 0, 0.8, 0.825, 931),
        ("unequal-one-place", (0.9, 0.75), 1, 0.4, 0.737458194, 932),
    ]
]
ENTRIES = [*GEOMETRIC, *UNLIMITED, *BERNOULLI, *AFTER_SERVICE]
