"""Random lines on which the usual errors of the approximations were measured, and are looked after.

Each function draws a line and gives the error of its estimate in per cent of the exact rate.  By hand,
`PYTHONPATH=. python tests/theory/random_lines.py` draws as many as the package says and prints what it
should say.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from cellsim.theory.chains import explore, long_run_shares
from cellsim.theory.departures import departures
from cellsim.theory.longer_lines import (
    bernoulli_aggregation,
    exponential_decomposition,
    fluid_aggregation,
    geometric_decomposition,
)
from cellsim.theory.phase_types import PhaseType, erlang, exponential, with_stops
from cellsim.theory.rough_lines import rough_rate
from cellsim.theory.saturated import line_figures
from cellsim.theory.slotted import bernoulli_line, geometric_line
from cellsim.theory.steady_lines import equal_times_with_stops, steady_estimate, steady_times_with_stops
from cellsim.theory.two_moments import two_moment_estimate

SEED = 20240501
UNITS, LINES = 3000, 16  # so many lines of so many units are a simulated rate
Luck = np.random.Generator


def geometric(luck: Luck) -> float:
    """Equal cycles with geometric stops."""
    k = int(luck.integers(3, 5))
    stop, repair = luck.uniform(0.005, 0.05, k).tolist(), luck.uniform(0.05, 0.3, k).tolist()
    stored = luck.integers(2, 9, k - 1).tolist()
    exact = geometric_line(stop, repair, stored).rate
    return per_cent(geometric_decomposition(stop, repair, stored).rate, exact)


def bernoulli(luck: Luck) -> float:
    """Up or not in each cycle."""
    k = int(luck.integers(3, 6))
    up, places = luck.uniform(0.7, 0.97, k).tolist(), luck.integers(1, 4, k - 1).tolist()
    return per_cent(bernoulli_aggregation(up, places).rate, bernoulli_line(up, places).rate)


def exponential_times(luck: Luck) -> float:
    """Exponential times."""
    k = int(luck.integers(3, 6))
    means, places = (1 / luck.uniform(0.7, 1.3, k)).tolist(), luck.integers(0, 5, k - 1).tolist()
    return per_cent(exponential_decomposition(means, places).rate, line_figures(means, places).rate)


def fluid(luck: Luck) -> float:
    """Three stations of equal cycle that stop on time; exact by steps of 1/8 and 1/16 of a store."""
    run, repair = luck.uniform(20, 200, 3), luck.uniform(2, 20, 3)
    stores = luck.uniform(2, 20, 2)
    exact = 2 * flow_in_steps(run, repair, stores, 16) - flow_in_steps(run, repair, stores, 8)
    return per_cent(fluid_aggregation(run.tolist(), repair.tolist(), stores.tolist()).rate, exact)


def steady(luck: Luck) -> float:
    """Erlang times with one to four phases."""
    k = int(luck.integers(3, 6))
    most_phases, most_places = {3: (4, 4), 4: (2, 3), 5: (2, 1)}[k]
    means = (1 / luck.uniform(0.7, 1.3, k)).tolist()
    phases = luck.integers(1, most_phases + 1, k).tolist()
    places = luck.integers(0, most_places + 1, k - 1).tolist()
    laws = [erlang(n, mean) for n, mean in zip(phases, means, strict=True)]
    return two_moments(laws, places)


def some_stops(luck: Luck) -> float:
    """Exponential work with stops, largest SCV from 1 to 2."""
    return with_spread(luck, 1.0, 2.0)


def long_stops(luck: Luck) -> float:
    """Exponential work with stops, largest SCV above 2."""
    return with_spread(luck, 2.0, np.inf)


def with_spread(luck: Luck, above: float, most: float) -> float:
    """Lines are drawn until the largest SCV fits."""
    while True:
        k = int(luck.integers(3, 5))
        means = 1 / luck.uniform(0.7, 1.3, k)
        run, repair = luck.uniform(10, 200, k), luck.uniform(0.5, 20, k)
        places = luck.integers(0, {3: 8, 4: 2}[k] + 1, k - 1).tolist()
        laws = [with_stops(exponential(t), u, d) for t, u, d in zip(means, run, repair, strict=True)]
        if above < max(law.scv for law in laws) <= most:
            return two_moments(laws, places)


def two_moments(laws: list[PhaseType], places: list[int]) -> float:
    """Error of the estimate from means and SCVs."""
    estimate = two_moment_estimate([law.mean for law in laws], [law.scv for law in laws], places)
    return per_cent(estimate.rate, line_figures(laws, places).rate)


def steady_times(luck: Luck) -> float:
    """Gamma and constant times without stops; the rate of simulated lines by recursion."""
    means, scvs, places = steady_line(luck)
    drawn = [gamma_times(luck, m, c) for m, c in zip(means, scvs, strict=True)]
    return per_cent(steady_estimate(means, scvs, places).rate, simulated(drawn, places))


def equal_times(luck: Luck) -> float:
    """One constant time, some stations with stops: exponential running times and repairs."""
    means, _, places = steady_line(luck, most_places=12)
    run, repair = stops(luck, len(means))
    drawn = [
        np.ones((UNITS, LINES)) + lost(luck, np.ones((UNITS, LINES)), u, d)
        for u, d in zip(run, repair, strict=True)
    ]
    estimate = equal_times_with_stops(1.0, run, repair, places)
    return per_cent(estimate.rate, simulated(drawn, places))


def steady_and_stops(luck: Luck) -> float:
    """Gamma and constant times, some stations with stops."""
    means, scvs, places = steady_line(luck, most_places=8)
    run, repair = stops(luck, len(means))
    drawn = []
    for mean, scv, u, d in zip(means, scvs, run, repair, strict=True):
        work = gamma_times(luck, mean, scv)
        drawn.append(work + lost(luck, work, u, d))
    estimate = steady_times_with_stops(means, scvs, run, repair, [1.0] * len(means), places)
    return per_cent(estimate.rate, simulated(drawn, places))


def roughly(luck: Luck) -> float:
    """The rough rate of exponential and Erlang lines."""
    k = int(luck.integers(3, 6))
    most_phases, most_places = {3: (4, 4), 4: (2, 3), 5: (2, 1)}[k]
    means = (1 / luck.uniform(0.7, 1.3, k)).tolist()
    phases = luck.integers(1, most_phases + 1, k).tolist()
    places = luck.integers(0, most_places + 1, k - 1).tolist()
    laws = [erlang(n, mean) for n, mean in zip(phases, means, strict=True)]
    return per_cent(rough_rate(means, [1 / n for n in phases], places), line_figures(laws, places).rate)


def roughly_with_stops(luck: Luck) -> float:
    """The rough rate of exponential lines with stops."""
    k = int(luck.integers(3, 5))
    means, run, repair = 1 / luck.uniform(0.7, 1.3, k), luck.uniform(10, 200, k), luck.uniform(0.5, 20, k)
    places = luck.integers(0, {3: 8, 4: 2}[k] + 1, k - 1).tolist()
    laws = [with_stops(exponential(t), u, d) for t, u, d in zip(means, run, repair, strict=True)]
    rough = rough_rate([law.mean for law in laws], [law.scv for law in laws], places)
    return per_cent(rough, line_figures(laws, places).rate)


def steady_line(luck: Luck, most_places: int = 4) -> tuple[list[float], list[float], list[int]]:
    """Two to seven stations of nearly the same pace: means, SCVs, places."""
    k = int(luck.integers(2, 8))
    scvs = luck.choice([0.0, 0.005, 0.0225, 0.04, 0.09], k)
    places = luck.integers(0, most_places + 1, k - 1)
    return luck.uniform(0.8, 1.2, k).tolist(), scvs.tolist(), places.tolist()


def stops(luck: Luck, stations: int) -> tuple[list[float], list[float]]:
    """Mean running times, inf for some but not for all stations, and mean repairs."""
    run, repair = luck.uniform(20, 200, stations), luck.uniform(1.5, 8, stations)
    never = luck.random(stations) < 0.5
    never[luck.integers(stations)] = False
    run[never] = np.inf
    return run.tolist(), repair.tolist()


def lost(luck: Luck, work: np.ndarray, run: float, repair: float) -> np.ndarray:
    """Time under repair during work of these lengths."""
    count = luck.poisson(work / run)
    return np.where(count > 0, luck.gamma(np.maximum(count, 1), repair), 0.0)


def gamma_times(luck: Luck, mean: float, scv: float) -> np.ndarray:
    """Times of one station, shape (UNITS, LINES)."""
    if scv == 0:
        return np.full((UNITS, LINES), mean)
    return luck.gamma(1 / scv, mean * scv, (UNITS, LINES))


def simulated(times: list[np.ndarray], places: list[int]) -> float:
    """Rate of lines with the times of each station, shape (UNITS, LINES), the first tenth left out."""
    left = departures(np.stack(times, axis=1), places)[:, -1]
    return (UNITS - UNITS // 10) * LINES / float((left[-1] - left[UNITS // 10 - 1]).sum())


def flow_in_steps(run: np.ndarray, repair: np.ndarray, stores: np.ndarray, steps: int) -> float:
    """Rate of stations that stop on time, levels going up and down by so many steps from empty to full."""
    last = len(run) - 1

    def running(levels: tuple[int, ...], ups: tuple[bool, ...]) -> list[bool]:
        runs = list(ups)
        while True:
            fed = [i == 0 or levels[i - 1] > 0 or runs[i - 1] for i in range(last + 1)]
            free = [i == last or levels[i] < steps or runs[i + 1] for i in range(last + 1)]
            then = [run and a and b for run, a, b in zip(runs, fed, free, strict=True)]
            if then == runs:
                return runs
            runs = then

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        levels, ups = state
        runs = running(levels, ups)
        out = [
            ((levels, ups[:i] + (not up,) + ups[i + 1 :]), 1 / (run[i] if up else repair[i]))
            for i, up in enumerate(ups)
        ]
        for i, level in enumerate(levels):
            if runs[i] != runs[i + 1]:
                following = level + (1 if runs[i] else -1)
                out.append(((levels[:i] + (following,) + levels[i + 1 :], ups), steps / stores[i]))
        return out

    chain = explore(((0,) * last, (True,) * (last + 1)), moves)
    shares = long_run_shares(chain)
    return sum(float(share) for share, state in zip(shares, chain.states, strict=True) if running(*state)[-1])


def per_cent(estimate: float, exact: float) -> float:
    """Error in per cent of the exact rate."""
    return 100 * (estimate / exact - 1)


def errors(kind: Callable[[Luck], float], lines: int, seed: int) -> np.ndarray:
    """Errors of so many random lines."""
    luck = np.random.default_rng(seed)
    return np.array([kind(luck) for _ in range(lines)])


if __name__ == "__main__":
    for kind, lines in (
        (geometric, 1000),
        (bernoulli, 1000),
        (exponential_times, 1000),
        (fluid, 500),
        (steady, 400),
        (some_stops, 400),
        (long_stops, 400),
        (steady_times, 200),
        (equal_times, 200),
        (steady_and_stops, 200),
        (roughly, 200),
        (roughly_with_stops, 200),
    ):
        found = errors(kind, lines, SEED)
        low, high = np.percentile(found, [1, 99])
        worst = found[np.argmax(np.abs(found))]
        print(
            f"{kind.__name__}: {low:.1f} to {high:.1f}, mean {found.mean():.1f}, worst {worst:.1f}",
            flush=True,
        )
