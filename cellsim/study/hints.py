"""Which station limits, by four hints: critical path, blocking and starving, active periods, time at work.

The path is an estimate of what a small change buys.  The others need only a log of the cell, and each picks a
wrong station now and then: `tests/benchmarks/hints.py` counts how often.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.active_periods import bottleneck_chain, shares_of, watch
from cellsim.study.plan import make_plan
from cellsim.study.runner import Progress
from cellsim.study.standing import machines_of, share_of_time
from cellsim.study.statistics import t_interval

WATCHED_RUNS = 10  # replications whose active periods are noted, at most
WATCHED_EVENTS = 100_000  # events in all of them, at most
AT_WORK = (L.M_WORKING, L.M_ATTENDED, L.M_HANDLED, L.M_CHANGEOVER)


def arrows(blocked: Sequence[float], starved: Sequence[float]) -> tuple[list[int], list[float]]:
    """Stations of a line that blocking and starving point at, and the severity of each station.

    Where a station is blocked more than the next one is starved an arrow points down the line, where it is
    blocked less up the line; a station that no arrow leaves is a bottleneck.  Severity of station i is
    |starved i - blocked i-1| + |starved i+1 - blocked i|, missing terms 0: Kuo, C.-T., Lim, J.-T. and
    Meerkov, S. M. (1996), Bottlenecks in serial production lines: a system-theoretic approach, Mathematical
    Problems in Engineering 2, 233-276 (rule from memory).

    Args:
        blocked: share of time that each station is blocked, in the order of the line.
        starved: share of time that each is starved.
    """
    count = len(blocked)
    leaves = [False] * count
    for i in range(count - 1):
        if blocked[i] > starved[i + 1]:
            leaves[i] = True
        elif blocked[i] < starved[i + 1]:
            leaves[i + 1] = True
    severity = [
        (abs(starved[i] - blocked[i - 1]) if i else 0.0)
        + (abs(starved[i + 1] - blocked[i]) if i < count - 1 else 0.0)
        for i in range(count)
    ]
    return [i for i in range(count) if not leaves[i]], severity


def pointed_at(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any] | None:
    """The station of the route that the arrows point at; None for a route with fewer than two stations."""
    names = [name for name in flat.cell.route if name in flat.names.stations]
    if len(names) < 2:
        return None

    times = [[record.machines[i] for record in records for i in machines_of(flat, name)] for name in names]
    blocked = [share_of_time(rows, (L.M_BLOCKED,)) for rows in times]
    starved = [share_of_time(rows, (L.M_STARVED,)) for rows in times]
    found, severity = arrows(blocked, starved)
    return {
        "station": names[max(found, key=lambda i: severity[i])] if found else None,
        "bottlenecks": [names[i] for i in found],
        "stations": [
            {"station": name, "blocked": b, "starved": s, "severity": v}
            for name, b, s, v in zip(names, blocked, starved, severity, strict=True)
        ],
    }


def active_periods(
    flat: FlatCell,
    seed: int,
    runs: int = WATCHED_RUNS,
    events: int = WATCHED_EVENTS,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """How much of the time each station is the momentary bottleneck, in the first few replications.

    `sole` and `shifting` are shares of the working time that was watched; `share` is the time alone and an
    equal part of the time in which it shifts between stations, with its interval over the replications.
    `mean_s` is the mean length of the active periods in seconds, those at both ends of a run as far as they
    were seen.  As many replications as were begun before the limit of events; the last one may be cut short.
    """
    plan = make_plan(flat.cell)
    names = flat.names.stations
    owner = {i: k for k, name in enumerate(names) for i in machines_of(flat, name)}
    found, lengths = [], [[0, 0] for _ in names]
    for replication in range(runs):
        if events <= 0:
            break
        seen = watch(flat, seed, replication, plan.counted_from, plan.horizon, events)
        events -= max(1, seen.events)
        if progress is not None:
            progress(replication + 1, runs)
        if seen.end == 0:
            continue
        chain = bottleneck_chain(seen.periods, 0, seen.end)
        found.append(shares_of([(owner[i], period) for i, period in chain], len(names), 0, seen.end))
        for i, row in enumerate(seen.periods):
            lengths[owner[i]][0] += sum(end - start for start, end in row)
            lengths[owner[i]][1] += len(row)
    rows = []
    for k, (name, (length, count)) in enumerate(zip(names, lengths, strict=True)):
        share = t_interval([each.both[k] for each in found] or [0.0])
        rows.append(
            {
                "station": name,
                "share": share.mean,
                "interval": share.as_list(),
                "sole": sum(each.sole[k] for each in found) / max(1, len(found)),
                "shifting": sum(each.shifting[k] for each in found) / max(1, len(found)),
                "mean_s": length / count / 1_000_000 if count else None,
            }
        )
    return {"station": _largest(rows, lambda row: row["share"]), "stations": rows, "replications": len(found)}


def stations_by_path(flat: FlatCell, account: Mapping[str, Any]) -> dict[str, float]:
    """Of each station the sum of the elasticities of all causes that carry its name."""
    found = dict.fromkeys(flat.names.stations, 0.0)
    for row in account["causes"]:
        if row["who"] in found and row["elasticity"] is not None:
            found[row["who"]] += row["elasticity"]
    return found


def hints(
    flat: FlatCell, records: Sequence[Record], account: Mapping[str, Any], active: Mapping[str, Any]
) -> dict[str, Any]:
    """The station that each hint points at, None where it points at none, and what it rests on by station.

    `path` is the sum of the elasticities of a station; `at_work`, `blocked`, `starved` are shares of the time
    of its machines; `active` is its share of the time as the momentary bottleneck.
    """
    path = stations_by_path(flat, account)
    share = {row["station"]: row["share"] for row in active["stations"]}
    rows = []
    for name in flat.names.stations:
        times = [record.machines[i] for record in records for i in machines_of(flat, name)]
        rows.append(
            {
                "station": name,
                "path": path[name],
                "at_work": share_of_time(times, AT_WORK),
                "blocked": share_of_time(times, (L.M_BLOCKED,)),
                "starved": share_of_time(times, (L.M_STARVED,)),
                "active": share[name],
            }
        )
    line = pointed_at(flat, records)
    return {
        "path": _largest(rows, lambda row: row["path"]),
        "blocking_and_starving": line["station"] if line else None,
        "active_periods": active["station"],
        "at_work": _largest(rows, lambda row: row["at_work"]),
        "stations": rows,
    }


def _largest(rows: Sequence[dict[str, Any]], value: Callable[[dict[str, Any]], float]) -> str | None:
    """The station with the largest value, the first of equals; None where all are 0."""
    first = max(rows, key=value)
    return first["station"] if value(first) > 0 else None
