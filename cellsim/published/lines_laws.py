"""Known results of lines with other times than exponential: Erlang, constant, uniform, prescribed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

from cellsim.published.cells import exponential_cycle, line
from cellsim.published.entry import Published
from cellsim.published.lines import HILLIER_BOLING, HUNT, IN_WORDS, TOPIC
from cellsim.theory.bounds import all_at_once
from cellsim.theory.departures import constant_times_departure, constant_times_rate, departures
from cellsim.theory.phase_types import erlang
from cellsim.theory.saturated import line_figures
from cellsim.theory.two_stations import Distribution, constant_time, no_places_rate

RECURSION = (
    "Muth, E. J. (1979), The reversibility property of production lines, Management Science 25(2), 152-158 "
    "(the recursion of departures)"
)
LONGER_OF_TWO = (
    "both stations begin together, so the time between units is the longer of two times: Muth, E. J. "
    "(1973), The production rate of a series of work stations with variable service times, International "
    "Journal of Production Research 11(2), 155-169 (from memory)"
)
ERLANG_OF_TWO = (
    f"{HILLIER_BOLING}; the mean of the longer of two Erlang times of mean 1 with k phases is "
    "1 + C(2k, k) / 4^k (own derivation)"
)


def run_of(hours: float, seed: int) -> str:
    """The study of a line without much spread."""
    return f"settle: 10 min, run: {hours} h, replications: 24, seed: {seed}"


def exponential_time(mean: float) -> Distribution:
    """Distribution function of an exponential time."""
    return lambda x: -math.expm1(-x / mean)


def uniform_time(low: float, high: float) -> Distribution:
    """Distribution function of a uniform time."""
    return lambda x: min(1.0, max(0.0, (x - low) / (high - low)))


def symmetric_triangle(low: float, high: float) -> Distribution:
    """Distribution function of a triangular time with its most likely length in the middle."""
    middle, width = (low + high) / 2, high - low

    def distribution(x: float) -> float:
        inside = min(high, max(low, x))
        left = 2 * ((inside - low) / width) ** 2
        return left if inside <= middle else 1 - 2 * ((high - inside) / width) ** 2

    return distribution


def erlang_rate(phases: int, stations: int, places: int) -> float:
    """Rate of a line of equal Erlang stations of mean 1."""
    return line_figures([erlang(phases, 1.0)] * stations, [places] * (stations - 1)).rate


ERLANG = [
    Published(
        id=f"erlang-{phases}-{IN_WORDS[stations]}-stations-{places}-places",
        topic=TOPIC,
        statement=f"{IN_WORDS[stations]} stations with Erlang times of {phases} phases and mean 1 s, "
        f"{places} places between: rate",
        cell=line(
            [f"cycle: {{law: erlang, mean: 1 s, phases: {phases}}}"] * stations,
            [places] * (stations - 1),
            run_of(1.7, 1500 + 40 * phases + 8 * stations + places),
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=source,
        formula=partial(erlang_rate, phases, stations, places),
    )
    for phases, stations, places, value, source in [
        (2, 2, 0, 8 / 11, HILLIER_BOLING),
        (3, 2, 0, 16 / 21, ERLANG_OF_TWO),
        (4, 2, 0, 128 / 163, ERLANG_OF_TWO),
        (2, 3, 0, 0.6404085005, HILLIER_BOLING),
        (3, 3, 0, 0.6842240387, HILLIER_BOLING),
        (2, 4, 0, 0.5977068581, HILLIER_BOLING),
        (3, 3, 2, 0.8645271988, HILLIER_BOLING),
    ]
]
CONSTANT = "cycle: 1 s"
TWO_LAWS = [
    Published(
        id=key,
        topic=TOPIC,
        statement=f"two stations without places between, {says}",
        cell=line(stations, [0], run_of(hours, seed)),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=LONGER_OF_TWO,
        formula=partial(no_places_rate, first, second, kinks),
    )
    for key, says, stations, hours, value, first, second, kinks, seed in [
        (
            "constant-and-exponential-times",
            "times constant 1 s and exponential 1 s: rate 1 / (1 + exp(-1))",
            [CONSTANT, exponential_cycle(1)],
            1.2,
            1 / (1 + math.exp(-1)),
            constant_time(1),
            exponential_time(1),
            [1.0],
            1701,
        ),
        (
            "constant-and-triangular-times",
            "times constant 1 s and symmetric triangular 0.8..1.2 s: rate 1 / (1 + 0.4 / 12)",
            [CONSTANT, "cycle: {law: triangular, min: 0.8 s, likely: 1 s, max: 1.2 s}"],
            0.5,
            30 / 31,
            constant_time(1),
            symmetric_triangle(0.8, 1.2),
            [0.8, 1.0, 1.2],
            1702,
        ),
        (
            "constant-and-uniform-times",
            "times constant 1 s and uniform 0.5..1.5 s: rate 8/9",
            [CONSTANT, "cycle: {law: uniform, min: 0.5 s, max: 1.5 s}"],
            0.5,
            8 / 9,
            constant_time(1),
            uniform_time(0.5, 1.5),
            [0.5, 1.0, 1.5],
            1703,
        ),
        (
            "two-uniform-times",
            "both times uniform 0..2 s: rate 3/4",
            ["cycle: {law: uniform, min: 0 s, max: 2 s}"] * 2,
            1,
            3 / 4,
            uniform_time(0, 2),
            uniform_time(0, 2),
            [2.0],
            1704,
        ),
    ]
]


def at_once(stations: int, study: str) -> str:
    """Exponential stations whose units all move on together when the slowest is done."""
    names = [f"S{k + 1}" for k in range(stations)]
    rows = "".join(f"\n  {name}: {{{exponential_cycle(1)}}}" for name in names)
    listed = ", ".join(names)
    return f"""
cell: units move at once
route: [{listed}]
stations: {rows}
tables: {{belt: {{stations: [{listed}], index: 0 s}}}}
study: {{{study}}}
"""


AT_ONCE = [
    Published(
        id=f"{IN_WORDS[stations]}-stations-that-move-at-once",
        topic=TOPIC,
        statement=f"{IN_WORDS[stations]} stations with exponential times of mean 1 s whose units all move "
        f"on together: rate 1 / (1 + 1/2 + ... + 1/{stations})",
        cell=at_once(stations, run_of(3.5, 1710 + stations)),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=f"{HUNT}; there the unpaced belt (from memory)",
        formula=partial(all_at_once, [exponential_time(1)] * stations),
    )
    for stations, value in [(3, 6 / 11), (4, 12 / 25)]
]


def prescribed(times: Sequence[Sequence[float]], places: Sequence[int], minutes: float) -> str:
    """A line with the times of each unit (rows) at each station (columns), minutes; all units come at 0."""
    stations = [
        f"cycle: {{listed: [{', '.join(f'{row[k]} min' for row in times)}]}}" for k in range(len(times[0]))
    ]
    release = f"release: {{at: [{', '.join(['0 s'] * len(times))}]}}\n"
    return line(stations, places, f"run: {minutes} min") + release


def last_column(times: Sequence[Sequence[float]], places: Sequence[int]) -> Callable[[], tuple[float, ...]]:
    """When units leave the last station, as the formula of an entry."""
    return lambda: tuple(departures(times, places)[:, -1].tolist())


FIVE_BY_THREE: list[list[float]] = [[3, 2, 4], [1, 5, 2], [2, 1, 3], [4, 2, 1], [1, 3, 2]]
SIX_BY_FOUR: list[list[float]] = [
    [2, 3.5, 1, 2.5],
    [1, 1, 4, 2],
    [3, 0.5, 2, 2],
    [2.5, 2.5, 0.5, 3],
    [1.5, 2, 3, 1],
    [2, 4, 1.5, 1.5],
]
PRESCRIBED = [
    Published(
        id="prescribed-times-five-units",
        topic=TOPIC,
        statement="5 units with prescribed times through 3 stations, 1 place between: when they leave",
        cell=prescribed(FIVE_BY_THREE, [1, 1], 20),
        quantity="finished at, min",
        value=(9, 12, 15, 16, 18),
        unit="min",
        source=RECURSION,
        formula=last_column(FIVE_BY_THREE, [1, 1]),
    ),
    Published(
        id="prescribed-times-six-units",
        topic=TOPIC,
        statement="6 units with prescribed times through 4 stations, no places: when they leave",
        cell=prescribed(SIX_BY_FOUR, [0, 0, 0], 25),
        quantity="finished at, min",
        value=(9, 12.5, 14.5, 17.5, 19.5, 22.5),
        unit="min",
        source=RECURSION,
        formula=last_column(SIX_BY_FOUR, [0, 0, 0]),
    ),
]


def constant_line(minutes: Sequence[float], places: Sequence[int], study: str) -> str:
    """Stations with constant times."""
    return line([f"cycle: {x} min" for x in minutes], places, study)


def first_departures(minutes: Sequence[float], units: int) -> tuple[float, ...]:
    """When the first units leave a line of constant times."""
    return tuple(constant_times_departure(minutes, unit) for unit in range(1, units + 1))


THREE_CONSTANT, FOUR_CONSTANT = (1, 1.5, 0.75), (0.5, 0.5, 0.5, 0.5)


def constant_times(
    word: str, minutes: Sequence[float], places: Sequence[int], leaves: tuple[float, ...], value: float
) -> list[Published]:
    """How a line of constant times begins, and its rate later on."""
    return [
        Published(
            id=f"constant-times-{word}-stations-start",
            topic=TOPIC,
            statement=f"{word} stations, constant times {', '.join(f'{x:g}' for x in minutes)} min, begun "
            "empty: unit n leaves at their sum + (n - 1) times the longest, whatever the places",
            cell=constant_line(minutes, places, f"run: {leaves[-1]} min"),
            quantity="finished at, min",
            value=leaves,
            unit="min",
            source=RECURSION,
            formula=partial(first_departures, minutes, len(leaves)),
        ),
        Published(
            id=f"constant-times-{word}-stations",
            topic=TOPIC,
            statement="the same line later on: rate 1 / longest time",
            cell=constant_line(minutes, places, "settle: 1 h, run: 3 h, replications: 2"),
            quantity="units per minute",
            value=value,
            unit="units per minute",
            source=RECURSION,
            formula=partial(constant_times_rate, minutes),
        ),
    ]


CONSTANT_TIMES = [
    *constant_times("three", THREE_CONSTANT, [0, 0], (3.25, 4.75, 6.25, 7.75, 9.25), 2 / 3),
    *constant_times("four", FOUR_CONSTANT, [1, 0, 2], (2, 2.5, 3, 3.5, 4), 2.0),
]
ENTRIES = [*ERLANG, *TWO_LAWS, *AT_ONCE, *PRESCRIBED, *CONSTANT_TIMES]
