"""Exercises about how runs begin, which of their hours count, and luck."""

from __future__ import annotations

import math
from functools import partial

from cellsim.classroom.answers_lines import OUTPUT
from cellsim.classroom.exercise import Exercise, Figure, means
from cellsim.classroom.readings import Reading, times_the_runs
from cellsim.published.measures import REPLICATED
from cellsim.theory.departures import constant_times_departure, constant_times_rate

# 10: the first hour.
STATIONS, MINUTE_S, HOUR_S = 5, 60.0, 3600.0


def in_first_hour() -> float:
    """Units of an hour that begins with an empty line."""
    first = constant_times_departure([MINUTE_S] * STATIONS, 1)
    return 1 + (HOUR_S - first) // MINUTE_S


UNITS = means(REPLICATED["good units"])
FIRST_HOUR = Exercise(
    number=10,
    file="10_first_hour",
    source="first unit after the sum of the times, then one each longest time; Muth, E. J. (1979), The "
    "reversibility property of production lines, Management Science 25(2), 152-158",
    figures=(
        Figure(key="empty", words="starts empty", unit="units", exact=in_first_hour, read=UNITS),
        Figure(
            key="primed",
            words="a unit in each station",
            unit="units",
            exact=lambda: HOUR_S * constant_times_rate([MINUTE_S] * STATIONS),
            read=UNITS,
            changes=("study.start: primed",),
        ),
        Figure(
            key="later",
            words="empty, second hour",
            unit="units",
            exact=lambda: HOUR_S * constant_times_rate([MINUTE_S] * STATIONS),
            read=UNITS,
            changes=("study.settle: 60 min",),
        ),
    ),
    more={
        "full": lambda: HOUR_S / MINUTE_S,
        "less": lambda: HOUR_S / MINUTE_S - STATIONS,
        "lost": lambda: HOUR_S / MINUTE_S - in_first_hour(),
    },
    within=0.0,
)

# 16: the same luck for both.
FASTER = 0.95


def times_more_runs() -> float:
    """Runs without shared luck over runs with it: the variances of the two differences.

    Shared luck makes every time 0.95 of what it was: the difference deviates by 0.05 of one deviation.  Own
    luck adds two variances, 1 and 0.95^2.
    """
    return (1 + FASTER**2) / (1 - FASTER) ** 2


SAME_LUCK = Exercise(
    number=16,
    file="16_same_luck",
    source="variance of a difference = sum of the variances - 2 covariances; Law, A. M. (2015), Simulation "
    "Modeling and Analysis, chapter on variance reduction (from memory)",
    figures=(
        Figure(
            key="times",
            words="runs, own / shared luck",
            unit="times",
            exact=times_more_runs,
            read=Reading(times_the_runs, REPLICATED["mean lead time, s"], least=8),
            changes=("stations.machine.cycle.mean: 19 s",),
            against=(),
        ),
        Figure(
            key="before",
            words="cycle as it is",
            unit="s",
            exact=lambda: 20.0,
            read=means(REPLICATED["mean lead time, s"]),
        ),
        Figure(
            key="after",
            words="cycle of the proposal",
            unit="s",
            exact=lambda: 20.0 * FASTER,
            read=means(REPLICATED["mean lead time, s"]),
            changes=("stations.machine.cycle.mean: 19 s",),
        ),
    ),
    more={
        "same": lambda: 1.0,
        "two": lambda: 2.0,
        "width": lambda: math.sqrt(times_more_runs()),
        "four": lambda: 4.0,
    },
    within=0.3,
)

# 17: a cell that must fill up; minutes.
CURE = 60.0


def per_hour_after(settled: float, length: float) -> float:
    """Units per hour counted from `settled` on, the cell having started empty."""
    first = 0.5 + CURE + 0.5  # glued, cured, packed

    def left(at: float) -> float:
        return max(0.0, (at - first) // 0.5 + 1)

    return (left(settled + length) - left(settled)) * 60 / length


SETTLING = Exercise(
    number=17,
    file="17_settling",
    source="worked out by hand: the first unit leaves after its glue, cure and packing, then one each 30 s",
    figures=(
        Figure(
            key="counted",
            words="three hours, all counted",
            unit="per h",
            exact=partial(per_hour_after, 0, 180),
            read=OUTPUT,
        ),
        Figure(
            key="settled",
            words="two hours, first 62 min left out",
            unit="per h",
            exact=partial(per_hour_after, 62, 120),
            read=OUTPUT,
            changes=("study.settle: 62 min", "study.run: 2 h"),
        ),
        Figure(
            key="week",
            words="forty hours, all counted",
            unit="per h",
            exact=partial(per_hour_after, 0, 2400),
            read=OUTPUT,
            changes=("study.run: 40 h",),
        ),
    ),
    more={
        "rate": lambda: 120.0,
        "two_thirds": lambda: 80.0,
        "missing": lambda: 100 * (1 - per_hour_after(0, 180) / 120),
        "missing_week": lambda: 100 * (1 - per_hour_after(0, 2400) / 120),
    },
    within=0.002,
)

EXERCISES = (FIRST_HOUR, SAME_LUCK, SETTLING)
