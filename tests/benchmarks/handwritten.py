"""A ten-station line scripted directly in SimPy, as an engineer would write it for one job.

It is the yardstick of `run.py` and simulates the same line as `ten_stations.yaml`: raw parts are always
there, finished parts leave at once, a finished part stays on its station while the store behind it is full,
and a machine stops after so much running time; the cycle it was in goes on after the repair.
All times are seconds.  What falls exactly on the end of the run is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterator, Sequence
from typing import Any

import numpy as np
import simpy

STATIONS = 10
CYCLE_MEAN = 36.0
CYCLE_SPREAD = 0.15  # standard deviation / mean
RUNNING_BETWEEN_STOPS = 40 * 60.0
STOP_MEAN = 3 * 60.0
PLACES = 4
HOUR = 3600.0
STATES = ("busy", "blocked", "starved", "down")


class Station:
    """One machine: takes a part, works on it with the stops that strike meanwhile, hands it on."""

    def __init__(
        self,
        env: simpy.Environment,
        inlet: simpy.Store | None,
        outlet: simpy.Store | None,
        work_times: Iterator[float],
        running_times: Iterator[float],
        repair_times: Iterator[float],
    ) -> None:
        self.env = env
        self.inlet = inlet
        self.outlet = outlet
        self.work_times = work_times
        self.running_times = running_times
        self.repair_times = repair_times
        self.cycles = 0
        self.finished: list[float] = []  # when parts left the line; filled by the last station only
        self.time_in = dict.fromkeys(STATES, 0.0)
        self.state = "starved"
        self.since = 0.0
        env.process(self.work())

    def enter(self, state: str) -> None:
        """Charge the time since the last change to the state that ends now."""
        now = self.env.now
        self.time_in[self.state] += now - self.since
        self.state = state
        self.since = now

    def work(self) -> Generator[simpy.Event, Any, None]:
        """The life of the machine, one part after the other."""
        env = self.env
        part = 0
        until_stop = next(self.running_times)
        for work in self.work_times:
            if self.inlet is None:
                part += 1
            else:
                part = yield self.inlet.get()
            self.enter("busy")
            while until_stop < work:
                yield env.timeout(until_stop)
                self.enter("down")
                yield env.timeout(next(self.repair_times))
                self.enter("busy")
                work -= until_stop
                until_stop = next(self.running_times)
            yield env.timeout(work)
            until_stop -= work
            self.cycles += 1
            if self.outlet is None:
                self.finished.append(env.now)
            else:
                self.enter("blocked")
                yield self.outlet.put(part)
            self.enter("starved")


def build_line(
    env: simpy.Environment,
    work_times: Sequence[Iterator[float]],
    running_times: Sequence[Iterator[float]],
    repair_times: Sequence[Iterator[float]],
    places: Sequence[int],
) -> list[Station]:
    """Set up the stations of a line, first to last; `places[i]` (at least 1) lie behind station i."""
    stores = [simpy.Store(env, capacity) for capacity in places]
    return [
        Station(env, *line)
        for line in zip(
            [None, *stores], [*stores, None], work_times, running_times, repair_times, strict=True
        )
    ]


def report(stations: Sequence[Station], hours: float) -> dict[str, Any]:
    """What the run left: units out, in all and by hour, when each left, seconds by state per station."""
    hourly = [0] * math.ceil(hours)
    finished = stations[-1].finished
    for time in finished:
        hourly[int(time // HOUR)] += 1
    for station in stations:
        station.enter(station.state)  # charges the state that the end of the run cut off
    return {
        "units": len(finished),
        "hourly": hourly,
        "finished": finished,
        "stations": {
            f"m{number}": {"cycles": station.cycles, **station.time_in}
            for number, station in enumerate(stations, start=1)
        },
    }


def draws(sample: Callable[[int], np.ndarray], block: int) -> Iterator[float]:
    """Endless single draws, taken from numpy in blocks."""
    while True:
        yield from sample(block).tolist()


def ten_stations(env: simpy.Environment, seed: int) -> list[Station]:
    """The line of the benchmark with its random times."""
    log_variance = math.log(1.0 + CYCLE_SPREAD**2)
    log_mean = math.log(CYCLE_MEAN) - log_variance / 2.0
    log_deviation = math.sqrt(log_variance)
    generators = np.random.default_rng(seed).spawn(3 * STATIONS)

    def cycles(rng: np.random.Generator) -> Iterator[float]:
        return draws(lambda n: rng.lognormal(log_mean, log_deviation, n), block=1000)

    def exponential(rng: np.random.Generator, mean: float) -> Iterator[float]:
        return draws(lambda n: rng.exponential(mean, n), block=20)

    return build_line(
        env,
        work_times=[cycles(rng) for rng in generators[:STATIONS]],
        running_times=[
            exponential(rng, RUNNING_BETWEEN_STOPS) for rng in generators[STATIONS : 2 * STATIONS]
        ],
        repair_times=[exponential(rng, STOP_MEAN) for rng in generators[2 * STATIONS :]],
        places=[PLACES] * (STATIONS - 1),
    )


def run(seed: int, hours: float = 8) -> dict[str, Any]:
    """One run of the ten-station line from empty; the answer is that of `report`."""
    env = simpy.Environment()
    stations = ten_stations(env, seed)
    env.run(until=hours * HOUR)
    return report(stations, hours)
