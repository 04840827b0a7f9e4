"""How often the 95 % intervals of the studies hold the truth, on tiny cells whose figures are known exactly.

    python tests/benchmarks/interval_coverage.py [--studies N]

Each interval is that of the commands, made by the very functions that they call; study k has the seed k.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder

import numpy as np
from goals import share, show
from known_lines import PER_HOUR
from scipy.linalg import expm
from scipy.stats import binom

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import COMPILED
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.published.cells import exponential_cycle, exponential_line
from cellsim.published.stops import one_station, stop
from cellsim.study.compare import Alternative, comparison, run_pairs
from cellsim.study.figures import station_figures
from cellsim.study.losses import loss_account
from cellsim.study.output import output_figures
from cellsim.study.plan import make_plan
from cellsim.study.precision import Precision
from cellsim.study.replicate import replicate
from cellsim.study.runner import Runner
from cellsim.study.statistics import pooled_percentile_interval
from cellsim.theory.saturated import elasticities, line_figures

LEVEL, POINT = 95.0, 1.0  # per cent; how far from it a goal goes
MEANS, PLACES = (10.0, 12.0), 1  # two exponential stations, seconds
SHORT, HOURS = "settle: 10 min, run: 30 min", "settle: 4 h, run: 8 h"
POISSON = 40.0  # mean seconds of a station that always works, so that its output is a Poisson number
STOPPING = (120.0, 43200.0, 2400.0)  # mean work, running time to a stop and repair, seconds
REJECTS = 0.1
NARROW = 0.03  # relative half width of a study to a precision
PERCENTILES = {"p05": 0.05, "p50": 0.5}

Ends = Sequence[float | None]


@dataclass
class Tally:
    """How many intervals held the truth, of how many; an end that is None bounds nothing."""

    hits: int = 0
    trials: int = 0

    def count(self, ends: Ends, truth: float) -> None:
        """One more interval."""
        low, high = ends
        self.add((low is None or low <= truth) and (high is None or truth <= high))

    def add(self, held: bool) -> None:
        """One more case."""
        self.hits += held
        self.trials += 1


def two_stations(places: int = PLACES, prefix: str = "S", study: str = SHORT) -> Cell:
    """Two exponential stations; other names have other luck and the same figures in the long run."""
    text = exponential_line(MEANS, [places], study)
    return load_text(text.replace("S1", f"{prefix}1").replace("S2", f"{prefix}2"))


def figures_of_a_run(runner: Runner, studies: int, replications: int = 10) -> dict[str, Tally]:
    """Output, shares of time and the share of a cause in the critical path, of two stations.

    Exact from the chain of the line; the share of a cause is the elasticity of the rate.
    """
    cell = two_stations()
    flat, plan, exact = compile_cell(cell), make_plan(cell), line_figures(MEANS, [PLACES])
    path = dict(zip(("S1", "S2"), elasticities(MEANS, [PLACES]), strict=True))
    found = {key: Tally() for key in ("mean_output", "blocked_share", "starved_share", "cause_in_path")}
    for seed in range(studies):
        records = replicate(runner, cell, seed, range(replications)).records
        output, stations = output_figures(cell, plan, records), station_figures(flat, records)
        causes = {(row["who"], row["what"]): row for row in loss_account(flat, records)["causes"]}
        found["mean_output"].count(output["interval"], PER_HOUR * exact.rate)
        found["blocked_share"].count(stations["S1"]["shares"]["blocked"]["interval"], exact.blocked[0])
        found["starved_share"].count(stations["S2"]["shares"]["starved"]["interval"], exact.starved[1])
        found["cause_in_path"].count(causes["S1", "work"]["elasticity_interval"], path["S1"])
    return found


def to_a_precision(runner: Runner, studies: int) -> dict[str, Tally]:
    """Mean output of two stations where the runs go on until the interval is narrow."""
    cell, tally = two_stations(), Tally()
    plan, truth = make_plan(cell), PER_HOUR * line_figures(MEANS, [PLACES]).rate
    for seed in range(studies):
        records = replicate(runner, cell, seed, Precision(NARROW)).records
        tally.count(output_figures(cell, plan, records)["interval"], truth)
    return {"run_to_a_precision": tally}


def differences(runner: Runner, studies: int, replications: int = 10) -> dict[str, Tally]:
    """The difference of output that one more place makes, with the same luck."""
    rates = [PER_HOUR * line_figures(MEANS, [places]).rate for places in (PLACES, PLACES + 1)]
    pair = [Alternative("as it is", two_stations()), Alternative("more", two_stations(PLACES + 1))]
    tally = Tally()
    for seed in range(studies):
        (row,) = comparison(run_pairs(pair, seed, replications, runner))["proposals"]
        tally.count(row["differences"]["output_per_hour"]["interval"], rates[1] - rates[0])
    return {"paired_difference": tally}


def false_differences(runner: Runner, studies: int, replications: int = 10) -> dict[str, Tally]:
    """How often any of four proposals that change nothing but the luck passes for a difference (Holm)."""
    same = [Alternative(prefix, two_stations(prefix=prefix)) for prefix in "SABCD"]
    better = Alternative("more", two_stations(PLACES + 5))
    found = {"family_of_4_equal": Tally(), "family_of_3_equal_1_better": Tally()}
    for seed in range(studies):
        compared = run_pairs([*same, better], seed, replications, runner)
        for key, kept in (("family_of_4_equal", range(5)), ("family_of_3_equal_1_better", (0, 1, 2, 3, 5))):
            alternatives = [compared.alternatives[k] for k in kept]
            part = type(compared)(alternatives, [compared.records[k] for k in kept])
            rows = comparison(part)["proposals"]
            chances = [
                row["differences"]["output_per_hour"]["p_adjusted"] for row in rows if row["name"] != "more"
            ]
            found[key].add(min(chances) <= 1 - LEVEL / 100)
    return found


def output_of(
    runner: Runner, cell: Cell, seed: int, replications: int
) -> tuple[dict[str, Any], list[Record]]:
    """The output figures of a study."""
    records = replicate(runner, cell, seed, range(replications)).records
    return output_figures(cell, make_plan(cell), records), records


def rejects(runner: Runner, studies: int, replications: int = 10) -> dict[str, Tally]:
    """Rejects per test, a ratio of two random numbers, with its jackknife interval."""
    keys = f"{exponential_cycle(POISSON)}, scrap: {100 * REJECTS:g} %"
    cell, tally = load_text(one_station(keys, "run: 1 h")), Tally()
    flat = compile_cell(cell)
    for seed in range(studies):
        records = replicate(runner, cell, seed, range(replications)).records
        tally.count(station_figures(flat, records)["M"]["rejected_share"]["interval"], REJECTS)
    return {"rejects_per_test": tally}


def shift_percentile(runner: Runner, studies: int, replications: int = 100) -> dict[str, Tally]:
    """The 5 % percentile of output per shift of an hour: independent Poisson numbers, order statistics."""
    cell, tally = load_text(one_station(exponential_cycle(POISSON), "run: 1 h")), Tally()
    truth = poisson_percentile(0.05)
    for seed in range(studies):
        output, _ = output_of(runner, cell, seed, replications)
        tally.count(output["per_shift"]["p05_interval"], truth)
    return {"percentile_of_shifts": tally}


def hour_percentiles(runner: Runner, studies: int, replications: int = 30) -> dict[str, Tally]:
    """Percentiles of output per hour, where the hours of a shift share the stops of a station.

    Output is a whole number, so that an end of such an interval lies further out than it need be.  Whether
    the way to it is right shows the share of hours with at most so many units, which is no whole number:
    asked for the percentile of that very share, the interval holds the number where it holds the share.
    """
    mean, run, repair = STOPPING
    cell = load_text(one_station(f"{exponential_cycle(mean)}, {stop(run, repair)}", HOURS))
    law = stopping_law(*STOPPING)
    truths = {key: int(np.searchsorted(law, part)) for key, part in PERCENTILES.items()}
    found = {f"{key}_of_hours": Tally() for key in PERCENTILES}
    found |= {f"share_up_to_{key}": Tally() for key in PERCENTILES}
    for seed in range(studies):
        output, records = output_of(runner, cell, seed, replications)
        groups = [[float(count) for count in record.hourly] for record in records]
        for key, truth in truths.items():
            found[f"{key}_of_hours"].count(output[f"{key}_interval"], truth)
            low, high = pooled_percentile_interval(groups, float(law[truth]))
            held = (low is None or low <= truth) and (high is None or truth < high)
            found[f"share_up_to_{key}"].add(held)
    return found


def poisson_law() -> np.ndarray:
    """Chances of at most 0, 1, 2, ... units in an hour of a station that always works, by recurrence."""
    rate = PER_HOUR / POISSON
    terms = [np.exp(-rate)]
    for k in range(1, int(4 * rate)):
        terms.append(terms[-1] * rate / k)
    return np.cumsum(terms)


def poisson_percentile(part: float) -> float:
    """The smallest number of units an hour that at least this share of hours does not exceed."""
    return float(np.searchsorted(poisson_law(), part))


def stopping_law(mean: float, run: float, repair: float) -> np.ndarray:
    """The same of a station that stops, means in seconds, in the long run.

    From the chain of (units made, up or down) over an hour.
    """
    made_per_hour, stops, repairs = PER_HOUR / mean, PER_HOUR / run, PER_HOUR / repair
    most = int(3 * made_per_hour)
    moves = np.zeros((2 * most, 2 * most))
    for made in range(most):
        up, down = 2 * made, 2 * made + 1
        moves[up, down], moves[down, up] = stops, repairs
        if made + 1 < most:
            moves[up, up + 2] = made_per_hour
        moves[up, up] = -stops - made_per_hour
        moves[down, down] = -repairs
    begins = np.zeros(2 * most)
    begins[:2] = run / (run + repair), repair / (run + repair)
    return np.cumsum((begins @ expm(moves)).reshape(most, 2).sum(axis=1))


def promised_by_ranks(replications: int, part: float) -> float:
    """Chance, in per cent, that the interval by ranks holds the percentile of these Poisson numbers.

    At least the level, and more than that for few values and for whole numbers: the r-th value is at most q
    where r values are, and the s-th is below q where s are.
    """
    law = poisson_law()
    q = int(poisson_percentile(part))
    tail = (1 - LEVEL / 100) / 2
    ranks = range(1, replications + 1)
    low = max((r for r in ranks if binom.cdf(r - 1, replications, part) <= tail), default=0)
    high = min((s for s in ranks if binom.sf(s - 1, replications, part) <= tail), default=replications + 1)
    too_high = binom.cdf(low - 1, replications, law[q])
    too_low = binom.sf(high - 1, replications, law[q - 1])
    return float(100 * (1 - too_high - too_low))


MEASURED: tuple[Callable[[Runner, int], dict[str, Tally]], ...] = (
    figures_of_a_run,
    to_a_precision,
    differences,
    rejects,
    shift_percentile,
    hour_percentiles,
    false_differences,
)
WHAT = {
    "mean_output": "mean output per hour, 10 replications, against the exact rate of two stations",
    "blocked_share": "share of time that the first of two stations is blocked, against the exact share",
    "starved_share": "share of time that the second is starved, against the exact share",
    "cause_in_path": "elasticity of the first station's work by the critical path, against the exact one",
    "run_to_a_precision": f"mean output where the study goes on until it is known to {100 * NARROW:g} %",
    "paired_difference": "what one more place gives, paired, against the difference of exact rates",
    "rejects_per_test": "rejects per test, 10 replications of about 90 tests, jackknife",
    "percentile_of_shifts": "P5 of output per shift, 100 independent shifts; ranks promise more than 95 %",
    "p05_of_hours": "P5 of output per hour, 30 shifts of 8 hours that share their stops; whole numbers",
    "p50_of_hours": "P50 of the same",
    "share_up_to_p05": "share of these hours with at most as many units as their P5, no whole number",
    "share_up_to_p50": "share of these hours with at most as many units as their P50",
    "family_of_4_equal": "studies of four proposals that change nothing in which any passes for a change",
    "family_of_3_equal_1_better": "the same of three such proposals beside one that is truly better",
}


def goal_of(key: str) -> tuple[float, float]:
    """Between which per cent the share should lie."""
    if key.startswith("family"):
        return 0.0, 100 - LEVEL + POINT
    if key == "percentile_of_shifts":
        promised = promised_by_ranks(100, 0.05)
        return promised - POINT, promised + POINT
    if key.endswith("of_hours"):  # an end is a whole number, further out than it need be
        return LEVEL - POINT, 100.0
    return LEVEL - POINT, LEVEL + POINT


def measured(runner: Runner, studies: int) -> Iterator[tuple[str, Tally]]:
    """The tally of every interval."""
    for how in MEASURED:
        yield from how(runner, studies).items()


def main(arguments: list[str] | None = None) -> int:
    """Run so many studies for every interval and print the table."""
    parser = argparse.ArgumentParser(description="Count how often intervals hold the truth.")
    parser.add_argument("--studies", type=int, default=2000, metavar="N", help="of each interval (2000)")
    studies = parser.parse_args(arguments).studies
    with Runner(clock=COMPILED) as runner:
        for key, tally in measured(runner, studies):
            show(share(key, tally.hits, tally.trials, WHAT[key], *goal_of(key)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
