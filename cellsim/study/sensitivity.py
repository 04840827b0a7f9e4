"""Which number to measure better: what the inputs do to output, and what not knowing them costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cellsim.study.broken import stop_if_broken
from cellsim.study.not_knowing import split
from cellsim.study.paired import Paired, paired
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.screening import (
    Effect,
    FloatArray,
    chance_of,
    effect_of,
    elementary_effects,
    squares_of,
    trajectories,
)
from cellsim.study.shares_of_variance import (
    RESAMPLES,
    Shares,
    latin_hypercube,
    noise_share,
    sobol_points,
    sobol_shares,
)
from cellsim.study.stand_in import TRUSTED, explained, fitted, parts, quadratic_shares, terms
from cellsim.study.statistics import LEVEL, t_interval
from cellsim.study.uncertain import Input
from cellsim.study.unknowns import Unknowns
from cellsim.study.watched import CHIEF, WATCHED, values_of

LEADS = (1 + LEVEL) / 2  # of resampled studies: of two that are alike each is named with half of 1 - LEVEL
MATTERS = 0.02  # share of what is not known below which an input is not worth a second look
MOST_ALONE = 18  # inputs that are put to their ends alone: those with the largest effects
MOST_LOOKED_AT = 8  # inputs whose shares are found one by one
ENOUGH, MAY_MATTER = 0.98, 0.05  # looked at are the largest that carry so much, and what may carry this
LEAST_POINTS, DIRECT = 60, 64  # points that a stand-in is fitted to; points of each set without one
GROUP = 5  # points with the same luck


@dataclass(frozen=True, slots=True)
class Effort:
    """How much is run.

    Attributes:
        replications: runs of the cell as it is.
        each: runs at every point of the screening and of the shares, and of every draw of the inputs; twice
            as many with one of the largest alone at an end of its range.
        ways: ways of the screening.
        draws: draws of all inputs for the interval.
        shares: whether shares of variance are found for the inputs that matter.
    """

    replications: int
    each: int = 5
    ways: int = 10
    draws: int = 100
    shares: bool = False

    def __post_init__(self) -> None:
        if min(self.replications, self.each, self.ways) < 2 or self.draws < 20:
            raise ValueError(
                f"{self.replications} replications, {self.each} runs each, {self.ways} ways and {self.draws}"
                " draws; at least 2, 2, 2 and 20 are wanted"
            )

    def runs(self, inputs: int) -> int:
        """About how many runs that are."""
        looked_at = min(MOST_LOOKED_AT, inputs)
        more = _points_for(looked_at) * 4 // 3 if self.shares else 0
        points = self.ways * (inputs + 1) + self.draws + more + 2 * (2 * min(MOST_ALONE, inputs) + 1)
        return self.replications + self.each * points


def _points_for(inputs: int) -> int:
    """Points for a stand-in: a number of which a third is whole groups too."""
    return 3 * GROUP * -(-max(LEAST_POINTS, 3 * terms(inputs)) // (3 * GROUP))


class Bench:
    """Runs the cell with its inputs at any values, and counts."""

    def __init__(self, unknowns: Unknowns, seed: int, runner: Runner, progress: Progress | None, total: int):
        self.unknowns, self.seed, self.runner = unknowns, seed, runner
        self.progress, self.done, self.total = progress, 0, total
        self.locked = 0

    def outputs(
        self, shares: Sequence[Sequence[float | None]], runs: int, lucks: Sequence[int] | None = None
    ) -> FloatArray:
        """Good units per hour at each row of shares, (rows, runs); rows with equal `lucks` have the same."""
        cells = [self.unknowns.at(row) for row in shares]
        first = [luck * runs for luck in lucks or [0] * len(cells)]
        requests = [
            Wanted(cell, self.seed, tuple(range(k, k + runs)), slim=True)
            for cell, k in zip(cells, first, strict=True)
        ]
        found = np.empty((len(cells), runs))
        self.total = max(self.total, self.done + found.size)
        for index, record in self.runner.each(requests):
            stop_if_broken([record], self.seed)
            (value,) = values_of(CHIEF, cells[index], [record]) or [0.0]
            found[index, record.replication - requests[index].numbers[0]] = value
            self.locked += record.reason == "locked"
            self.done += 1
            if self.progress is not None:
                self.progress(self.done, self.total)
        return found


def sensitivity(
    unknowns: Unknowns, seed: int, effort: Effort, runner: Runner, progress: Progress | None = None
) -> dict[str, Any]:
    """What each input does to output, which share of what is not known it carries, and the whole interval.

    The points of one way of the screening have the same luck, so that a change shows in few runs; each way
    has luck of its own, so that what happens to be so in a few runs is not taken for an effect.  The draws of
    the inputs have luck of their own too, so that the chance of the runs can be told from not knowing.

    Raises:
        ValueError: there is no input.
        KeyboardInterrupt: somebody stopped it.
    """
    inputs = unknowns.inputs
    if not inputs:
        raise ValueError("nothing about this cell is uncertain; give ranges")
    rng = np.random.default_rng(seed)
    bench = Bench(unknowns, seed, runner, progress, effort.runs(len(inputs)))
    base = t_interval(bench.outputs([[None] * len(inputs)], effort.replications)[0].tolist())
    changes = _screen(bench, effort, rng)
    effects = [effect_of(changes[:, k]) for k in range(len(inputs))]
    spreads = np.array([each.positions().var() for each in inputs])
    screened = _by_squares(changes, spreads, rng)
    largest = sorted(range(len(inputs)), key=lambda k: -effects[k].size)[:MOST_ALONE]
    alone = _alone(bench, largest, 2 * effort.each)
    whole, straight = _all_at_once(bench, effort, effects, rng)
    half = whole.half_width(effort.replications)
    answer: dict[str, Any] = {
        "cell": unknowns.cell.name,
        "output_per_hour": {"mean": base.mean, "interval": base.as_list(), "unit": WATCHED[CHIEF].unit},
        "inputs": [
            _row(each, effect, screened, k, alone.get(k))
            for k, (each, effect) in enumerate(zip(inputs, effects, strict=True))
        ],
        "not_knowing": {
            "mean": whole.mean,
            "interval": [max(0.0, whole.mean - half), whole.mean + half],
            "unit": WATCHED[CHIEF].unit,
            "half_width": half,
            "half_width_of_runs": base.half_width,
            "variance_of_inputs": whole.inputs,
            "variance_of_one_run": whole.runs,
            "share_of_inputs": whole.share(effort.replications),
            "share_interval": whole.share_interval(effort.replications),
            "straight_lines_explain": straight,
        },
        "shares": None,
        "level": LEVEL,
        "replications": effort.replications,
        "runs_each": effort.each,
        "ways": effort.ways,
        "draws": effort.draws,
    }
    chances = [chance_of(changes[:, k]) for k in range(len(inputs))]
    tells = min(chances) < (1 - LEVEL) / len(inputs)  # Bonferroni
    if effort.shares and tells:
        few, found, answer["shares"] = _look_closer(bench, effort, screened, effects, spreads, rng)
        answer["verdict"] = _verdict([inputs[k] for k in few], found, len(inputs), answer["shares"]["beside"])
    else:
        answer["verdict"] = _verdict(inputs, screened, len(inputs), 0.0, tells)
    answer["inputs"].sort(key=lambda row: -row["effect"]["size"])
    answer["locked_runs"] = bench.locked
    answer["runs"] = bench.done
    return answer


def _screen(bench: Bench, effort: Effort, rng: np.random.Generator) -> FloatArray:
    """Changes of output for the whole range of each input, (ways, inputs, runs)."""
    inputs = bench.unknowns.inputs
    ways = trajectories(len(inputs), effort.ways, rng)
    count = len(inputs)
    flat = ways.points.reshape(-1, count)
    shares = [[each.share_at(x) for each, x in zip(inputs, point, strict=True)] for point in flat]
    stood = np.array([[e.position(u) for e, u in zip(inputs, row, strict=True)] for row in shares])
    outputs = bench.outputs(shares, effort.each, [k // (count + 1) for k in range(len(shares))])
    return elementary_effects(
        ways, outputs.reshape(effort.ways, count + 1, effort.each), stood.reshape(ways.points.shape)
    )


def _alone(bench: Bench, which: Sequence[int], runs: int) -> dict[int, tuple[Paired, Paired]]:
    """What output gains with each of some inputs alone at its low and at its high end, with the same luck."""
    inputs = bench.unknowns.inputs
    rows: list[list[float | None]] = [[None] * len(inputs) for _ in range(2 * len(which) + 1)]
    for i, k in enumerate(which):
        rows[2 * i][k], rows[2 * i + 1][k] = inputs[k].share_at(0.0), inputs[k].share_at(1.0)
    *ends, base = bench.outputs(rows, runs).tolist()
    pairs = [paired(base, end) for end in ends]
    return dict(zip(which, zip(pairs[::2], pairs[1::2], strict=True), strict=True))


def _by_squares(changes: FloatArray, spreads: FloatArray, rng: np.random.Generator) -> Shares:
    """Shares by the mean squares of the changes, exact for straight lines, with studies of resampled ways."""
    squares = squares_of(changes) * spreads  # (ways, inputs)

    def shares(ways: FloatArray) -> FloatArray:
        each = np.maximum(0.0, ways.mean(axis=0))
        whole = float(each.sum())
        return each / whole if whole > 0 else np.full(len(each), 1 / len(each))

    count = len(squares)
    drawn = np.array([shares(squares[rng.integers(count, size=count)]) for _ in range(RESAMPLES)])
    return Shares(shares(squares), shares(squares), drawn, drawn)


def _all_at_once(
    bench: Bench, effort: Effort, effects: Sequence[Effect], rng: np.random.Generator
) -> tuple[Any, float | None]:
    """All inputs drawn at once: the split of the variance, and how much of it straight lines explain."""
    inputs = bench.unknowns.inputs
    drawn = latin_hypercube(len(inputs), effort.draws, rng)
    outputs = bench.outputs(drawn.tolist(), effort.each, range(effort.draws))
    whole = split(outputs)
    stood = np.array([[e.position(u) for e, u in zip(inputs, row, strict=True)] for row in drawn])
    straight = stood @ np.array([effect.mean for effect in effects])
    rest = outputs.mean(axis=1) - straight
    left = max(0.0, float(rest.var(ddof=1)) - whole.runs / effort.each)
    return whole, max(0.0, 1 - left / whole.inputs) if whole.inputs > 0 else None


def _row(
    each: Input, effect: Effect, screened: Shares, k: int, alone: tuple[Paired, Paired] | None
) -> dict[str, Any]:
    """One input in keys of the answer."""
    low, high = screened.interval(k)
    return {
        "input": each.name,
        "known": each.known,
        "why": each.why,
        "unit": each.unit,
        "now": each.now,
        "low": each.low,
        "high": each.high,
        "effect": {
            "mean": effect.mean,
            "interval": [effect.mean - effect.half_width, effect.mean + effect.half_width],
            "size": effect.size,
            "bend": effect.bend,
            "unit": "good units per working hour from the low to the high end",
        },
        "alone": {
            end: {"mean": pair.mean, "interval": list(pair.interval())}
            for end, pair in zip(("low", "high"), alone, strict=True)
        }
        if alone
        else None,
        "share": {
            "mean": float(screened.first[k]),
            "interval": [low, high],
            "unit": "share of what is not known",
        },
    }


def _look_closer(
    bench: Bench,
    effort: Effort,
    screened: Shares,
    effects: Sequence[Effect],
    spreads: FloatArray,
    rng: np.random.Generator,
) -> tuple[list[int], Shares, dict[str, Any]]:
    """Shares of variance of the few inputs that matter, the others as they are."""
    inputs = bench.unknowns.inputs
    order = sorted(range(len(inputs)), key=lambda k: -screened.first[k])
    before = np.cumsum(screened.first[order]) - screened.first[order]
    few = [
        k
        for k, share in zip(order, before, strict=True)
        if share < ENOUGH or screened.interval(k)[1] > MAY_MATTER
    ][:MOST_LOOKED_AT]
    beside = sum(effects[k].square * float(spreads[k]) for k in order if k not in few)

    def run(points: FloatArray, groups: Sequence[int]) -> FloatArray:
        rows: list[list[float | None]] = [[None] * len(inputs) for _ in points]
        for row, point in zip(rows, points, strict=True):
            for k, share in zip(few, point, strict=True):
                row[k] = float(share)
        return bench.outputs(rows, effort.each, groups)

    def stood(points: FloatArray) -> FloatArray:
        return np.array([[inputs[k].position(u) for k, u in zip(few, row, strict=True)] for row in points])

    count = _points_for(len(few))
    points = np.concatenate([latin_hypercube(len(few), n, rng) for n in (count, count // 3)])
    groups = np.arange(len(points)) // GROUP
    outputs = run(points, groups.tolist())
    means, places, own = outputs.mean(axis=1), stood(points), slice(0, count)
    stand_in = fitted(places[own], means[own], groups[own])
    others = slice(count, None)
    held_out = explained(stand_in.at(places[others]), means[others], groups[others])
    if held_out >= TRUSTED:
        values = [inputs[k].positions() for k in few]
        found = quadratic_shares(places[own], means[own], groups[own], values, rng, beside)
        alone, touched = parts(stand_in, values)
        variance = float(alone.sum() + (touched - alone).sum() / 2)
        grouped = outputs.reshape(-1, GROUP, effort.each)
    else:
        sets = sobol_points(len(few), DIRECT, rng)
        outputs = run(sets.reshape(-1, len(few)), list(range(DIRECT)) * (len(few) + 2))
        grouped = outputs.reshape(len(few) + 2, DIRECT, effort.each).transpose(1, 0, 2)
        whole = split(outputs)
        variance = whole.inputs
        if variance == 0:
            variance = whole.runs / effort.each  # nothing but chance; the shares then say nothing
        seen = float(outputs.mean(axis=1).var(ddof=1))
        found = sobol_shares(grouped.mean(axis=2).T, rng, of=(variance + beside) / seen)
    rows = [
        {
            "input": inputs[k].name,
            "first": {"mean": float(found.first[i]), "interval": list(found.interval(i))},
            "total": {"mean": float(found.total[i]), "interval": list(found.interval(i, total=True))},
        }
        for i, k in sorted(enumerate(few), key=lambda pair: -found.total[pair[0]])
    ]
    told = {
        "by": "a quadratic" if held_out >= TRUSTED else "runs alone",
        "explained_at_points_left_out": held_out,
        "noise": noise_share(grouped, variance),
        "points": len(outputs),
        "beside": beside / (variance + beside),
        "inputs": rows,
    }
    return few, found, told


def _verdict(
    looked_at: Sequence[Input], found: Shares, inputs: int, beside: float, tells: bool = True
) -> dict[str, Any]:
    """What to measure first, what next, and what is left: `first` is None where that cannot be told."""
    order = sorted(range(len(looked_at)), key=lambda i: -found.total[i])
    leads = found.chance_to_lead(order[0])
    first = looked_at[order[0]].name if tells and leads >= LEADS else None
    matter = [
        {
            "input": looked_at[i].name,
            "share": float(found.total[i]),
            "interval": list(found.interval(i, total=True)),
        }
        for rank, i in enumerate(order)
        if found.total[i] >= MATTERS or (first is None and rank < 2)  # two that cannot be told apart
    ]
    named = {row["input"] for row in matter}
    small = sum(float(found.total[i]) for i in order if looked_at[i].name not in named)
    return {
        "tells": tells,
        "first": first,
        "chance_to_lead": leads if tells else None,
        "matter": matter if tells else [],
        "others": inputs - len(matter) if tells else inputs,
        "share_of_others": min(1.0, beside + max(0.0, small)) if tells else None,
    }
