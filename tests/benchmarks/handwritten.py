"""A ten-station line scripted directly in SimPy, as an engineer would write it for one job.

It is the yardstick of `run.py` and simulates the same line as `ten_stations.yaml`: raw parts are always
there, finished parts leave at once, a finished part stays on its station while the store behind it is full,
and a machine stops after so much running time; the cycle it was in goes on after the repair.  A breakdown
process interrupts the working process of its machine; `handwritten_lean.py` does without.
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

Life = Generator[simpy.Event, Any, None]


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
        self.start()

    def start(self) -> None:
        """Set the machine and its breakdowns going."""
        self.done_at = 0.0  # when the work begun last will be, or was, complete unless a stop strikes
        self.running_again: simpy.Event | None = None  # what the breakdowns wait for while it does not run
        self.working = self.env.process(self.work())
        self.env.process(self.break_down())

    def enter(self, state: str) -> None:
        """Charge the time since the last change to the state that ends now."""
        now = self.env.now
        self.time_in[self.state] += now - self.since
        self.state = state
        self.since = now

    def work(self) -> Life:
        """The life of the machine, one part after the other."""
        env = self.env
        part = 0
        for work in self.work_times:
            if self.inlet is None:
                part += 1
            else:
                part = yield self.inlet.get()
            while work > 0:
                self.enter("busy")
                self.done_at = env.now + work
                if self.running_again is not None:
                    self.running_again.succeed()
                    self.running_again = None
                try:
                    yield env.timeout(work)
                    work = 0
                except simpy.Interrupt:
                    work = self.done_at - env.now
                    self.enter("down")
                    yield env.timeout(next(self.repair_times))
            self.cycles += 1
            if self.outlet is None:
                self.finished.append(env.now)
            else:
                self.enter("blocked")
                yield self.outlet.put(part)
            self.enter("starved")

    def running_time(self) -> float:
        """Time spent running since the start of the run; to be asked while it runs."""
        return self.time_in["busy"] + (self.env.now - self.since)

    def restart(self) -> simpy.Event:
        """What happens when the machine begins to run the next time."""
        self.running_again = self.env.event()
        return self.running_again

    def break_down(self) -> Life:
        """Interrupt the machine each time it has run so long.

        It sleeps through the running time that is left.  Had the machine idled meanwhile, some is left still:
        it sleeps on, or first until the machine runs again.  A stop due when a cycle ends strikes the next.
        """
        env = self.env
        due = 0.0
        for running_time in self.running_times:
            due += running_time
            while True:
                while env.now >= self.done_at:
                    yield self.restart()
                left = due - self.running_time()
                if env.now + left <= env.now:  # nothing left that the clock can tell from nothing
                    break
                yield env.timeout(left)
            self.working.interrupt()
            yield self.restart()


def build_line(
    env: simpy.Environment,
    work_times: Sequence[Iterator[float]],
    running_times: Sequence[Iterator[float]],
    repair_times: Sequence[Iterator[float]],
    places: Sequence[int],
    form: type[Station] = Station,
) -> list[Station]:
    """Set up the stations of a line, first to last; `places[i]` (at least 1) lie behind station i."""
    stores = [simpy.Store(env, capacity) for capacity in places]
    return [
        form(env, *line)
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


def ten_stations(env: simpy.Environment, seed: int, form: type[Station] = Station) -> list[Station]:
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
        form=form,
    )


def run(seed: int, hours: float = 8, form: type[Station] = Station) -> dict[str, Any]:
    """One run of the ten-station line from empty; the answer is that of `report`."""
    env = simpy.Environment()
    stations = ten_stations(env, seed, form)
    env.run(until=hours * HOUR)
    return report(stations, hours)
