"""Known results of the time that a unit holds a station which stops or is set up, and of its running time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from cellsim.published.entry import Published
from cellsim.published.stops import TOPIC, one_station, stop
from cellsim.theory.effective import EffectiveTime, completion_time, with_setups
from cellsim.theory.unreliable import running_time_deviation

GAVER = (
    "Gaver, D. P. (1962), A waiting line with interrupted service, including priorities, Journal of the "
    "Royal Statistical Society B 24, 73-90 (from memory)"
)
HOPP_SPEARMAN = "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, the chapter on variability"
WORKED_EXAMPLE = f"{HOPP_SPEARMAN}, worked example (from memory)"
COX = "Cox, D. R. (1962), Renewal Theory, Methuen (alternating renewal processes)"
MEAN = "mean time on it = work / availability"
SCV = "SCV of the time on it = c^2 + 2 A (1 - A) repair / work, A = availability"
SHIFT = 480.0  # minutes


@dataclass(frozen=True, slots=True)
class Stopped:
    """A station that stops: mean work and its SCV, running time to a stop and repair, in seconds."""

    work: float
    scv: float
    run: float
    repair: float

    @property
    def effective(self) -> EffectiveTime:
        """The time that a unit holds it."""
        return completion_time(self.work, self.scv, self.run, self.repair, 1.0)

    @property
    def keys(self) -> str:
        """The keys of a station of a cell."""
        varied = f"{{law: gamma, mean: {self.work} s, spread: {self.scv**0.5:.7f}}}"
        return f"cycle: {varied if self.scv else f'{self.work} s'}, {stop(self.run, self.repair)}"

    @property
    def in_words(self) -> str:
        """For a statement."""
        varied = f", SCV {self.scv:g}" if self.scv else ""
        return (
            f"work of {self.work:g} s{varied} on a station that runs {self.run:g} s to a stop of "
            f"{self.repair:g} s, both exponential"
        )


def kept(seconds_per_unit: float, replications: int, seed: int) -> str:
    """A study whose replications are just so short that every time inside is kept."""
    return f"run: {19_700 * seconds_per_unit:.0f} s, replications: {replications}, seed: {seed}"


def effective_mean(station: Stopped) -> float:
    """Mean time that a unit holds a station, seconds."""
    return station.effective.mean


def effective_scv(station: Stopped) -> float:
    """SCV of the time that a unit holds a station."""
    return station.effective.scv


def running_share_deviation(run: float, repair: float) -> float:
    """Standard deviation of the share of a window of 480 min in which a station runs; means in minutes."""
    return running_time_deviation(run, repair, SHIFT) / SHIFT


ROBOT = Stopped(1, 0, 60, 5)
SHORT_STOPS = Stopped(0.5, 0, 20, 1)
LONG_STOPS = Stopped(15, 0, 744, 248)
RARE, FREQUENT = Stopped(15, 0.05, 744, 248), Stopped(15, 0.05, 114, 38)
MEANS = [
    Published(
        id=f"completion-time-{word}",
        topic=TOPIC,
        statement=f"{station.in_words}: {MEAN}",
        cell=one_station(station.keys, f"settle: 2 h, run: {hours} h, replications: 24, seed: {seed}"),
        quantity="seconds per unit",
        value=value,
        unit="s",
        source=f"{GAVER}; {HOPP_SPEARMAN}",
        formula=partial(effective_mean, station),
    )
    for word, station, hours, value, seed in [
        ("robot", ROBOT, 4, 13 / 12, 621),
        ("long-stops", LONG_STOPS, 700, 20.0, 622),
    ]
]
SPREADS = [
    Published(
        id=f"completion-time-scv-{word}",
        topic=TOPIC,
        statement=f"{station.in_words}: {SCV}",
        cell=one_station(station.keys, kept(station.effective.mean, replications, seed)),
        quantity="SCV of the time inside",
        value=value,
        unit="",
        source=source,
        formula=partial(effective_scv, station),
        full_only=station is not FREQUENT,
    )
    for word, station, replications, value, source, seed in [
        ("robot", ROBOT, 400, 0.7100591716, f"{GAVER}; {HOPP_SPEARMAN}", 623),
        ("short-stops", SHORT_STOPS, 400, 0.1814058957, f"{GAVER}; {HOPP_SPEARMAN}", 624),
        ("rare-long-stops", RARE, 400, 6.25, WORKED_EXAMPLE, 625),
        ("frequent-short-stops", FREQUENT, 260, 1.0, WORKED_EXAMPLE, 626),
    ]
]
CONSTANT_REPAIR = [
    Published(
        id="completion-time-scv-constant-repair",
        topic=TOPIC,
        statement="work of 10 s on a station that runs 60 s to a stop, exponential, of always 5 s: SCV of "
        "the time on it = A (1 - A) repair / work, A = availability",
        cell=one_station(
            "cycle: 10 s, stops: {stop: {every: {law: exponential, mean: 60 s, of: running}, lasts: {law: "
            "fixed, time: 5 s}}}",
            kept(10 * 65 / 60, 76, 627),
        ),
        quantity="SCV of the time inside",
        value=6 / 169,
        unit="",
        source=GAVER,
        formula=lambda: completion_time(10, 0, 60, 5, 0).scv,
    )
]
SETUPS = [
    Published(
        id="effective-time-scv-setups",
        topic=TOPIC,
        statement="work of 1 h and, with one unit in ten at random, a setup of 2 h, spreads 0.25 (hours are "
        "seconds in the cell): SCV of both together",
        cell=one_station(
            "cycle: {law: gamma, mean: 1 s, spread: 0.25}, rejects: {share: 10 %, after_rework: 0 %, to: "
            "here, repair: {law: gamma, mean: 2 s, spread: 0.25}}",
            kept(1.2, 52, 631),
        ),
        quantity="SCV of the time inside",
        value=0.4475 / 1.44,
        unit="",
        source=f"{WORKED_EXAMPLE}: 0.31",
        formula=lambda: with_setups(1, 0.0625, 2, 0.0625, 10).scv,
    )
]
RUNNING_SHARE = [
    Published(
        id=f"running-share-of-a-shift-{word}",
        topic=TOPIC,
        statement=f"a station runs {run:g} min to a stop of {repair:g} min, both exponential: standard "
        f"deviation of the share of a window of 480 min in which it runs ({minutes:.4f} min)",
        cell=one_station(
            f"cycle: 2 min, {stop(run * 7.5, repair * 7.5)}",  # eight times as fast: a window is an hour
            f"settle: 4 h, run: {days} d, replications: 96, seed: {seed}",
        ),
        quantity="deviation of the running share of an hour",
        of="M",
        value=minutes / SHIFT,
        unit="",
        source=COX,
        formula=partial(running_share_deviation, run, repair),
    )
    for word, run, repair, days, minutes, seed in [
        ("short-stops", 45.0, 5.0, 75, 19.62536624, 641),
        ("long-stops", 180.0, 45.0, 64, 71.51839394, 642),
    ]
]
ENTRIES = [*MEANS, *SPREADS, *CONSTANT_REPAIR, *SETUPS, *RUNNING_SHARE]
