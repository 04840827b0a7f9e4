"""The output of a plain line on paper: exact where theory is, else with the usual error of its method."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cellsim.study.plain_line import NotPlain, PlainLine, PlainStation
from cellsim.theory.closed import mean_value_analysis
from cellsim.theory.departures import constant_times_rate
from cellsim.theory.effective import EffectiveTime, completion_time
from cellsim.theory.estimates import EXACT, NEARLY, Estimate, UsualError
from cellsim.theory.phase_types import erlang, with_stops
from cellsim.theory.saturated import line_figures
from cellsim.theory.steady_lines import (
    STEADY,
    equal_times_with_stops,
    steady_estimate,
    steady_times_with_stops,
)
from cellsim.theory.two_moments import two_moment_estimate

MOST_STATES = 6_000  # of an exact chain: a fraction of a second
MOST_STATIONS = 12  # of a line taken apart into pairs: seconds
EXACT_WORDS = "exact in the long run"


def line_estimate(line: PlainLine) -> tuple[float, UsualError, str]:
    """Units per second of a plain line, the usual error, and the method in words."""
    if line.cards is not None:
        return _closed(line, line.cards)
    parts = [_part(stations, places) for stations, places in _parts(line)]
    rate, error, how = min(parts, key=lambda part: part[0])
    if len(parts) > 1:
        how += "; the slowest part between stores without limit"
    if line.interval_s is not None and 1 / line.interval_s <= rate:
        return 1 / line.interval_s, EXACT, "units leave as fast as they come"
    return rate, error, how


def _parts(line: PlainLine) -> Iterator[tuple[tuple[PlainStation, ...], tuple[int, ...]]]:
    """The line cut at stores without limit, which pass on what the slower side makes."""
    stations, places = [line.stations[0]], list[int]()
    for store, station in zip(line.places, line.stations[1:], strict=True):
        if store is None:
            yield tuple(stations), tuple(places)
            stations, places = [], []
        else:
            places.append(store)
        stations.append(station)
    yield tuple(stations), tuple(places)


def _part(stations: Sequence[PlainStation], places: Sequence[int]) -> tuple[float, UsualError, str]:
    """Units per second of stations with limited stores between them, the first never starved."""
    times = [effective_time(station) for station in stations]
    if len(stations) == 1:
        return stations[0].machines / times[0].mean, EXACT, f"one station, {EXACT_WORDS}"
    if any(station.machines > 1 for station in stations):
        raise NotPlain("equal machines side by side between limited stores")
    if all(station.scv == 0 and not station.stops for station in stations):
        return constant_times_rate([t.mean for t in times]), EXACT, f"times that never vary, {EXACT_WORDS}"
    if _chain_size(stations, places) <= MOST_STATES:
        return _by_chain(stations, places), EXACT, f"Markov chain of the line, {EXACT_WORDS}"
    if len(stations) > MOST_STATIONS:
        raise NotPlain(f"more than {MOST_STATIONS} stations in a row")
    found = _by_pairs(stations, places)
    return found.rate, found.usual_error, f"pairs of stations, {found.usual_error.in_words()}"


def _by_pairs(stations: Sequence[PlainStation], places: Sequence[int]) -> Estimate:
    """The line taken apart into pairs of neighbours."""

    means, scvs = [s.mean_s for s in stations], [s.scv for s in stations]
    if max(scvs) > STEADY:
        times = [effective_time(station) for station in stations]
        least = [max(time.scv, STEADY) for time in times]
        return two_moment_estimate([time.mean for time in times], least, places, NEARLY)
    if not any(station.stops for station in stations):
        return steady_estimate(means, scvs, places)
    run, repair, spread = zip(*(one_cause(station) for station in stations), strict=True)
    if max(scvs) == 0 and min(means) == max(means) and min(repair) >= max(means):
        return equal_times_with_stops(means[0], run, repair, places)
    return steady_times_with_stops(means, scvs, run, repair, spread, places)


def effective_time(station: PlainStation) -> EffectiveTime:
    """Time that a unit holds a station with all its stops; running times are taken for exponential."""
    if not station.stops:
        return EffectiveTime(station.mean_s, station.scv)
    return completion_time(station.mean_s, station.scv, *one_cause(station))


def one_cause(station: PlainStation) -> tuple[float, float, float]:
    """Mean running time, mean and SCV of the repair, where all causes are taken for one of changing length.

    Without a cause the running time is infinite.
    """
    if not station.stops:
        return math.inf, station.mean_s, 0.0
    often = math.fsum(1 / stop.run_s for stop in station.stops)
    repair = math.fsum(stop.repair_s / stop.run_s for stop in station.stops) / often
    square = (
        math.fsum(stop.repair_s**2 * (1 + stop.repair_scv) / stop.run_s for stop in station.stops) / often
    )
    return 1 / often, repair, max(0.0, square / repair**2 - 1)


def _chain_size(stations: Sequence[PlainStation], places: Sequence[int]) -> float:
    """About how many states the exact chain has; infinitely many where there is none."""
    memoryless = all(
        station.phases and len(station.stops) <= 1 and all(stop.memoryless for stop in station.stops)
        for station in stations
    )
    if not memoryless:
        return math.inf
    return math.prod(s.phases * (1 + len(s.stops)) for s in stations) * math.prod(p + 3 for p in places)


def _by_chain(stations: Sequence[PlainStation], places: Sequence[int]) -> float:

    laws = [erlang(station.phases, station.mean_s) for station in stations]
    for i, station in enumerate(stations):
        for stop in station.stops:
            laws[i] = with_stops(laws[i], stop.run_s, stop.repair_s)
    return line_figures(laws, places).rate


def _closed(line: PlainLine, cards: int) -> tuple[float, UsualError, str]:
    """Units per second of a line with so many units inside, all of whose times are exponential."""
    if any(places is not None and places < cards for places in line.places):
        raise NotPlain("cards and stores with fewer places")
    if any(s.phases != 1 or s.stops or s.machines > 1 for s in line.stations):
        raise NotPlain("cards and times that are not exponential")

    found = mean_value_analysis([[s.mean_s for s in line.stations]], [cards], [0.0])[0]
    return found.throughput, EXACT, f"mean value analysis of {cards} cards, {EXACT_WORDS}"
