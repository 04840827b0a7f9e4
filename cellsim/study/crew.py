"""Who and what a cell needs: which combinations of people, robots and places no other one makes useless.

Each combination has a cost per working hour that is known before any run.  All are run with the same luck;
one is dropped when another one that costs no more surely makes more, or when it costs more than another and
surely makes no more than that by what matters.  What is left is the front: each step up costs more and makes
more.  Where units inside count too, one that holds fewer of them stays as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cellsim.describe.cell import Cell
from cellsim.engine.record import Record
from cellsim.study.broken import stop_if_broken
from cellsim.study.output import away, paid_hours_of
from cellsim.study.paired import paired
from cellsim.study.places import FIRST_LOOK, Look
from cellsim.study.plan import make_plan
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.statistics import t_interval, t_quantile
from cellsim.study.watched import values_of
from cellsim.units import HOUR

GLANCE = 4  # replications of a first glance at very many combinations
MANY = 60  # combinations; more get a first glance
FAR = 0.05  # of the output: what a combination must lie behind in each of them to be left out then
SAME_COST = 1e-9
FloatArray = NDArray[np.float64]
RATE_UNIT = "good units per working hour"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A combination: what was chosen, by choice, the cell that it makes, and its cost per working hour."""

    chosen: tuple[tuple[str, str], ...]
    cell: Cell
    cost: float


def wages_per_hour(cell: Cell, wage: float, wages: Mapping[str, float]) -> float:
    """What the crew costs per working hour: paid hours, breaks included, times the wage of each post.

    `wages` are those of single posts.  Who comes from other cells (a post with a response time) is paid
    there, unless he has a wage of his own.
    """
    plan = make_plan(cell)
    paid = paid_hours_of(cell, plan)
    elsewhere = away(cell)
    cost = sum(hours * wages.get(name, 0.0 if name in elsewhere else wage) for name, hours in paid.items())
    return cost * HOUR / plan.worked if plan.worked else 0.0


@dataclass
class Front:
    """What a search found.

    `kept` are indices of candidates by rising cost.  `open`: pairs (dearer, cheaper) of which nobody can say
    yet whether the dearer one makes more.  `glanced_out`: how many were left out at the first glance.
    """

    candidates: Sequence[Candidate]
    kept: list[int] = field(default_factory=list)
    open: list[tuple[int, int]] = field(default_factory=list)
    glanced_out: int = 0


class CrewLab:
    """Runs candidates, each replication once.

    `heard(alive, runs)` is told how far the search is, `progress(done, of)` how far its present step is.
    """

    def __init__(self, candidates: Sequence[Candidate], seed: int, runner: Runner) -> None:
        self.candidates, self.seed, self.runner = candidates, seed, runner
        self.rates: list[list[float]] = [[] for _ in candidates]
        self.wip: list[list[float]] = [[] for _ in candidates]
        self.heard: Callable[[int, int], None] = lambda alive, runs: None
        self.progress: Progress | None = None

    def run(self, alive: Sequence[int], count: int) -> None:
        """Have the first `count` replications of these candidates ready."""
        missing = [k for k in alive if len(self.rates[k]) < count]
        requests = [
            Wanted(self.candidates[k].cell, self.seed, tuple(range(len(self.rates[k]), count)), slim=True)
            for k in missing
        ]
        found: list[list[Record]] = self.runner.records(requests, self.progress) if requests else []
        for k, records in zip(missing, found, strict=True):
            cell = self.candidates[k].cell
            stop_if_broken(records, self.seed, cell.name)
            self.rates[k] += values_of("output_per_hour", cell, records) or []
            self.wip[k] += values_of("wip", cell, records) or []
        self.heard(len(alive), self.replications)

    @property
    def replications(self) -> int:
        """How many replications were run."""
        return sum(map(len, self.rates))


def search(lab: CrewLab, look: Look, wip_matters: float | None = None) -> Front:
    """Drop combinations until each one left surely makes more than every cheaper one, or none can tell.

    With `wip_matters` one that surely holds fewer units inside stays too.

    Replications are doubled from 10; look m has the share 2^-m of the chance to be wrong, each pair of
    candidates its equal part of that (Bonferroni).  Of two that cost the same and differ by no more than what
    matters, the one with the higher mean is kept.

    Args:
        look: `difference` is the output per hour that matters, `most` replications of one combination.
        wip_matters: how many more units inside, on average, matter; None: they do not count.
    """
    front = Front(lab.candidates)
    alive = list(range(len(lab.candidates)))
    pairs = max(1, len(alive) * (len(alive) - 1)) * (1 if wip_matters is None else 2)
    if len(alive) > MANY and wip_matters is None:
        lab.run(alive, GLANCE)
        seen = _glance(lab, alive)
        front.glanced_out, alive = len(alive) - len(seen), seen
    count, share = FIRST_LOOK, 1 - look.level
    while True:
        share /= 2
        lab.run(alive, count)
        alive, front.open = _drop(_ranking(lab, alive, count, look, wip_matters, share / pairs), alive)
        if not front.open or 2 * count > look.most:
            break
        count *= 2
    front.kept = sorted(alive, key=lambda k: (lab.candidates[k].cost, np.mean(lab.rates[k])))
    return front


def _glance(lab: CrewLab, alive: Sequence[int]) -> list[int]:
    """Leave out what lies far behind another that costs no more, in every replication."""
    rates = np.array([lab.rates[k] for k in alive])
    costs = np.array([lab.candidates[k].cost for k in alive])
    left = []
    for i, k in enumerate(alive):
        no_dearer = costs <= costs[i] + SAME_COST
        far_ahead = np.all(rates * (1 - FAR) > rates[i], axis=1)
        if not np.any(no_dearer & far_ahead):
            left.append(k)
    return left


@dataclass(frozen=True, slots=True)
class Ranking:
    """Which combinations make others useless, by so many replications of each and Student's `quantile`.

    `matters` is in output per hour; `wip_matters` in units inside, None where those do not count.
    """

    costs: Mapping[int, float]
    rates: Mapping[int, FloatArray]
    wip: Mapping[int, FloatArray]
    quantile: float
    matters: float
    wip_matters: float | None

    def useless(self, k: int, other: int) -> bool:
        """Whether `other` costs no more and surely makes more, or less and surely no less by what matters.

        Where units inside count, it must also surely hold no more of them by what matters.
        """
        own, others = self.costs[k], self.costs[other]
        if others > own + SAME_COST or not self._as_lean(other, k):
            return False
        mean, half = self._gap(self.rates[other], self.rates[k])
        if mean - half > 0:
            return True
        hardly_less = mean - half > -self.matters
        return hardly_less and (others < own - SAME_COST or mean > 0 or (mean == 0 and other < k))

    def open(self, k: int, other: int) -> bool:
        """Whether `other` costs no more, and `k` surely neither makes more nor holds clearly fewer units."""
        if k == other or self.costs[other] > self.costs[k] + SAME_COST:
            return False
        mean, half = self._gap(self.rates[k], self.rates[other])
        if mean - half > 0:
            return False
        if self.wip_matters is None:
            return True
        fewer, half = self._gap(self.wip[other], self.wip[k])
        return fewer - half <= self.wip_matters

    def _as_lean(self, one: int, than: int) -> bool:
        if self.wip_matters is None:
            return True
        more, half = self._gap(self.wip[one], self.wip[than])
        return more + half < self.wip_matters

    def _gap(self, one: FloatArray, other: FloatArray) -> tuple[float, float]:
        """Mean of the paired differences, one minus other, and its one-sided half width."""
        found = one - other
        return float(found.mean()), float(self.quantile * found.std(ddof=1) / np.sqrt(len(found)))


def _ranking(
    lab: CrewLab, alive: Sequence[int], count: int, look: Look, wip_matters: float | None, chance: float
) -> Ranking:
    """The ranking by the first `count` replications, each statement wrong with at most this chance."""
    return Ranking(
        {k: lab.candidates[k].cost for k in alive},
        {k: np.array(lab.rates[k][:count]) for k in alive},
        {k: np.array(lab.wip[k][:count]) for k in alive},
        t_quantile(1 - chance, count - 1),
        look.difference,
        wip_matters,
    )


def _drop(ranking: Ranking, alive: Sequence[int]) -> tuple[list[int], list[tuple[int, int]]]:
    """Those that are left, and the pairs (dearer, no dearer) of which nothing can be said yet."""
    left: list[int] = []
    for k in sorted(alive, key=lambda k: -float(np.mean(ranking.rates[k]))):
        # The best first, so that what is dropped was compared with what stays.
        if not any(ranking.useless(k, other) for other in left):
            left = [other for other in left if not ranking.useless(other, k)]
            left.append(k)
    return left, [(k, other) for k in left for other in left if ranking.open(k, other)]


def crew_answer(
    front: Front,
    lab: CrewLab,
    look: Look,
    *,
    target: float | None,
    budget: float | None = None,
    over_budget: int = 0,
    wip_matters: float | None = None,
) -> dict[str, Any]:
    """The front in keys, by rising cost; `more` is what a row makes more than the one before, paired.

    `cheapest_for_target` is the index of the first row whose interval lies above the target, or failing that
    whose mean does (`sure` says which); `cheapest_unit` that of the lowest cost per good unit.
    """
    rows: list[dict[str, Any]] = []
    for k in front.kept:
        candidate, rate = front.candidates[k], t_interval(lab.rates[k])
        row: dict[str, Any] = {
            "chosen": dict(candidate.chosen),
            "cost_per_hour": candidate.cost,
            "output_per_hour": {"mean": rate.mean, "interval": rate.as_list(), "unit": RATE_UNIT},
            "wip": {**_interval(lab.wip[k]), "unit": "units"},
            "cost_per_unit": candidate.cost / rate.mean if rate.mean > 0 else None,
            "replications": len(lab.rates[k]),
            "more": None,
        }
        if rows:
            before = lab.rates[front.kept[len(rows) - 1]]
            count = min(len(before), len(lab.rates[k]))
            found = paired(before[:count], lab.rates[k][:count])
            row["more"] = {"mean": found.mean, "interval": list(found.interval()), "unit": RATE_UNIT}
        rows.append(row)
    return {
        "rows": rows,
        "open": [[front.kept.index(a), front.kept.index(b)] for a, b in front.open],
        "cheapest_unit": _cheapest_unit(rows),
        "cheapest_for_target": None if target is None else _cheapest_for(rows, target),
        "target": target,
        "budget": budget,
        "over_budget": over_budget,
        "combinations": len(front.candidates),
        "glanced_out": front.glanced_out,
        "difference": look.difference,
        "wip_matters": wip_matters,
        "level": look.level,
        "replications": lab.replications,
    }


def _interval(values: Sequence[float]) -> dict[str, Any]:
    found = t_interval(values)
    return {"mean": found.mean, "interval": found.as_list()}


def _cheapest_unit(rows: Sequence[Mapping[str, Any]]) -> int | None:
    made = [k for k, row in enumerate(rows) if row["cost_per_unit"] is not None]
    return min(made, key=lambda k: rows[k]["cost_per_unit"], default=None)


def _cheapest_for(rows: Sequence[Mapping[str, Any]], target: float) -> dict[str, Any] | None:
    for sure in (True, False):
        for k, row in enumerate(rows):
            out = row["output_per_hour"]
            if (out["interval"][0] if sure else out["mean"]) >= target:
                return {"row": k, "sure": sure}
    return None
