"""Is a proposal better than the cell as it is, and by how much: paired runs with the same luck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import resolved_sha256
from cellsim.engine.record import Record
from cellsim.study.broken import stop_if_broken
from cellsim.study.paired import Paired, holm, holm_levels, needed_to_tell, paired
from cellsim.study.plan import make_plan
from cellsim.study.precision import Precision, next_count, stop_at
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.statistics import LEVEL, t_interval
from cellsim.study.trust import runs_to_trust_difference
from cellsim.study.watched import CHIEF, WATCHED, values_of


@dataclass(frozen=True, slots=True)
class Alternative:
    """A cell with the name under which it is compared."""

    name: str
    cell: Cell


@dataclass
class Compared:
    """The replications of the base and of each proposal, number by number."""

    alternatives: Sequence[Alternative]
    records: list[list[Record]]
    interrupted: bool = False
    reached: bool = True  # the precision that was asked for

    def values(self, name: str, index: int) -> list[float] | None:
        """A figure of one alternative in each replication."""
        return values_of(name, self.alternatives[index].cell, self.records[index])

    def stop_if_broken(self, seed: int) -> None:
        """Raise AuditFailure where a replication broke its own laws."""
        for each, records in zip(self.alternatives, self.records, strict=True):
            stop_if_broken(records, seed, each.name)


def run_pairs(
    alternatives: Sequence[Alternative],
    seed: int,
    wanted: int | Precision,
    runner: Runner,
    progress: Progress | None = None,
) -> Compared:
    """Run all alternatives with the same luck; the first is the base.

    `wanted` is a number of replications, or a precision: then until the interval of every difference of
    output is narrow enough, in share of the output of the base.  Ctrl-C ends it with the replications that
    all alternatives have.
    """
    found = Compared(alternatives, [[] for _ in alternatives])
    count = wanted if isinstance(wanted, int) else wanted.least
    try:
        _add(found, seed, count, runner, progress)
        while isinstance(wanted, Precision):
            differences = _differences(found)
            base = found.values(CHIEF, 0) or []
            limit = replace(wanted, absolute=wanted.relative * abs(t_interval(base).mean))
            stop = stop_at(differences, limit)
            if stop is not None:
                found.records = [records[: stop.run] for records in found.records]
                break
            if count >= wanted.most:
                found.reached = False
                break
            count = next_count(differences, limit)
            _add(found, seed, count, runner, progress)
    except KeyboardInterrupt:
        found.interrupted = True
        _keep_common(found)
    return found


def _add(found: Compared, seed: int, count: int, runner: Runner, progress: Progress | None) -> None:
    """Replications up to a count for every alternative."""
    there = len(found.records[0])
    requests = [Wanted(each.cell, seed, tuple(range(there, count))) for each in found.alternatives]
    done = there * len(requests)
    for index, record in runner.each(requests):
        found.records[index].append(record)
        done += 1
        if progress is not None:
            progress(done, count * len(requests))
    for records in found.records:
        records.sort(key=lambda record: record.replication)


def _keep_common(found: Compared) -> None:
    """Only replications whose number all alternatives have."""
    common = set.intersection(*({r.replication for r in records} for records in found.records))
    found.records = [
        sorted((r for r in records if r.replication in common), key=lambda r: r.replication)
        for records in found.records
    ]


def _differences(found: Compared) -> list[list[float]]:
    base = found.values(CHIEF, 0) or []
    others = [found.values(CHIEF, k) or [] for k in range(1, len(found.alternatives))]
    return [[b - a for a, b in zip(base, other, strict=True)] for other in others]


def _difference(found: Paired, chance: float, level: float, unit: str, needed: int | None) -> dict[str, Any]:
    """A difference in keys of the answer; `needed`: from how many runs on its interval can be trusted."""
    return {
        "mean": found.mean,
        "interval": list(found.interval(level)),
        "level": level,
        "unit": unit,
        "p": found.p,
        "p_adjusted": chance,
        "correlation": found.correlation,
        "gain": found.gain,
        "replications_to_tell": needed_to_tell(found, level),
        "runs_to_trust": needed,
    }


def comparison(found: Compared, level: float = LEVEL) -> dict[str, Any]:
    """The answer: every figure of every alternative, and its difference from the base.

    The differences of one figure are judged together (Holm): an interval leaves out 0 where the adjusted p is
    below 1 - `level`.  A figure that one of the alternatives does not have is left out.

    Raises:
        ValueError: there are fewer than two replications of all alternatives, or no proposal.
    """
    if len(found.alternatives) < 2 or len(found.records[0]) < 2:
        raise ValueError("a comparison takes a base, a proposal and two replications of each")
    rows: list[dict[str, Any]] = [
        {"name": each.name, "sha256": resolved_sha256(each.cell), "figures": {}, "differences": {}}
        for each in found.alternatives
    ]
    with_plan = [(each.cell, make_plan(each.cell)) for each in found.alternatives]
    for name, watched in WATCHED.items():
        values = [found.values(name, k) for k in range(len(rows))]
        for row, own in zip(rows, values, strict=True):
            if own is not None:
                interval = t_interval(own)
                entry = {"mean": interval.mean, "interval": interval.as_list(), "unit": watched.unit}
                row["figures"][name] = entry
        if values[0] is None:
            continue
        told = [k for k in range(1, len(rows)) if values[k] is not None]
        pairs = [paired(values[0], values[k] or []) for k in told]
        gaps = [[b - a for a, b in zip(values[0], values[k] or [], strict=True)] for k in told]
        chances = [pair.p for pair in pairs]
        for k, pair, gap, chance, own_level in zip(
            told, pairs, gaps, holm(chances), holm_levels(chances, level), strict=True
        ):
            needed = runs_to_trust_difference(with_plan[0], with_plan[k], gap)
            rows[k]["differences"][name] = _difference(pair, chance, own_level, watched.unit, needed)
    return {
        "base": rows[0],
        "proposals": rows[1:],
        "replications": len(found.records[0]),
        "level": level,
        "chief": CHIEF,
        "better": {name: watched.better for name, watched in WATCHED.items()},
        "precision_reached": found.reached,
    }
