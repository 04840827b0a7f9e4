"""Lines of exponential stations whose rate with any places is known exactly, so the best use of them too."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from functools import partial

import numpy as np

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.published.cells import exponential_cycle, line
from cellsim.published.stops import stop
from cellsim.study.places import Bounds, Places
from cellsim.theory.allocation import BestPlaces, best_places
from cellsim.theory.saturated import line_figures
from cellsim.theory.unreliable import exponential_line_with_stops
from cellsim.units import HOUR, SECOND

PER_HOUR = HOUR / SECOND
SHORT, LONG = "settle: 20 min, run: 1 h", "settle: 40 min, run: 3 h"  # about 200 and 450 units


@dataclass(frozen=True)
class KnownLine:
    """Exponential stations, means in seconds; those with `run` and `repair` stop and are repaired.

    `total` places are to be shared out; the cell as it is has all of them behind the first station.
    """

    name: str
    means: tuple[float, ...]
    total: int = 6
    run: tuple[float, ...] = ()
    repair: tuple[float, ...] = ()
    study: str = ""

    @property
    def stores(self) -> list[str]:
        """The names of its stores."""
        return [f"after S{k}" for k in range(1, len(self.means))]

    @property
    def free(self) -> Bounds:
        """Any number of places in each store."""
        return Bounds((0,) * len(self.stores), (None,) * len(self.stores))

    @property
    def at_one_end(self) -> Places:
        """All places behind the first station."""
        return (self.total, *(0,) * (len(self.stores) - 1))

    def cell(self) -> Cell:
        """The line as a cell with all places at one end; without a `study` it has one of the usual length."""
        stations = [exponential_cycle(mean) for mean in self.means]
        if self.run:
            stations = [
                f"{keys}, {stop(run, repair)}"
                for keys, run, repair in zip(stations, self.run, self.repair, strict=True)
            ]
        return load_text(line(stations, self.at_one_end, self.study or (LONG if self.run else SHORT)))

    def rate(self, places: Places) -> float:
        """Units per hour in the long run, from its chain."""
        return exact_rate(self, places)

    def best(self, total: int | None = None) -> BestPlaces:
        """The best use of so many places, of its `total` where none are given, by trying all."""
        return best_of_all(self, self.total if total is None else total)


@functools.cache
def exact_rate(line: KnownLine, places: Places) -> float:
    """Units per hour of a line in the long run; each allocation is solved once."""
    if line.run:
        return PER_HOUR * exponential_line_with_stops(line.means, places, line.run, line.repair).rate
    return PER_HOUR * line_figures(line.means, places).rate


@functools.cache
def best_of_all(line: KnownLine, total: int) -> BestPlaces:
    """The best use of a number of places."""
    return best_places(partial(exact_rate, line), len(line.stores), total)


def drawn(count: int, seed: int, stops: bool = False) -> KnownLine:
    """A line by chance: means from 7.7 s to 14.3 s, a stop in 100 s to 400 s, of 10 s to 60 s."""
    luck = np.random.default_rng(seed)

    def some(low: float, high: float) -> tuple[float, ...]:
        return tuple(float(x) for x in luck.uniform(low, high, count).round(1))

    means = tuple(round(10 / x, 1) for x in some(0.7, 1.3))
    if stops:
        return KnownLine(f"{count} that stop, drawn", means, run=some(100, 400), repair=some(10, 60))
    return KnownLine(f"{count} drawn", means)


LINES = (
    KnownLine("4 equal", (10.0,) * 4, 7),
    KnownLine("5 near equal", (10.0, 11.1, 9.1, 10.5, 9.5)),
    KnownLine("5, second slow", (10.0, 13.0, 10.0, 10.0, 10.0)),
    KnownLine("6 equal", (10.0,) * 6),
    *(drawn(count, seed) for seed, count in enumerate((3, 4, 5, 6))),
    drawn(3, 4, stops=True),
    drawn(4, 5, stops=True),
)
