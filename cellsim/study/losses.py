"""What limits output: the critical path of every run by cause.

Walking back from the last good unit through what released each start, the durations add up to the elapsed
time exactly.  Breaks and off hours stand where the calendar puts them; of the rest, the share of a cause is,
to first order, the relative loss of output per relative growth of its times: the infinitesimal perturbation
estimate (Ho and Cao 1991, Perturbation Analysis of Discrete Event Dynamic Systems, Kluwer; from memory).  It
says what a small change buys as long as the order of events stays.  Then the elapsed time is the largest of
many sums of times, so a larger cut saves at most its part of the path: it is convex in each time (Baccelli,
Cohen, Olsder and Quadrat 1992, Synchronization and Linearity, Wiley; from memory).

What a cause has is the time of those who do it: work that goes on more slowly while somebody is in a zone is
that of whoever works, not of who is there; an attempt that failed, and work on units that are thrown away
later, belongs to the work.  A wait for somebody who works elsewhere is what he does there.  Where several
requirements come true at the same instant, as with equal fixed cycles, one of them has it all; then a cut of
either alone gains less than its part.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cellsim.describe.cell import Cell, Station
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.statistics import t_interval


def loss_account(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """The path by cause, largest first, with intervals over replications.

    `share` is of the whole elapsed time; the shares add up to 1.  `elasticity` is of the time outside breaks
    and off hours: output gains so many per cent when the times of this cause shrink by 1 %; None for the
    calendar itself.

    Stops that come after so much time, not after so many cycles, come less often per unit when the work of
    their machine is shorter.  The work of a station with such stops gains between its `elasticity`, which has
    as many stops per unit as before, and `elasticity_with_stops`, which has the time of those stops shrink
    with the work.
    """
    calendar = flat.state.cause_calendar
    used = [r for r in records if r.path_elapsed > r.path[calendar]]
    if not used:
        return {
            "causes": [],
            "hands": [],
            "elapsed_s": 0.0,
            "remark": "no good unit left the cell, so there is no path",
        }
    timed = timed_stops(flat)
    rows = []
    for k, (who, what) in enumerate(flat.names.causes):
        shares = [r.path[k] / r.path_elapsed for r in used]
        if not any(shares):
            continue
        interval = t_interval(shares)
        row: dict[str, Any] = {"who": who, "what": what}
        row |= {"share": interval.mean, "interval": interval.as_list(), "elasticity": None}
        if k != calendar:
            elasticity = t_interval([r.path[k] / (r.path_elapsed - r.path[calendar]) for r in used])
            row |= {"elasticity": elasticity.mean, "elasticity_interval": elasticity.as_list()}
        if what == "work":
            plan = t_interval([r.path_plans[k] / r.path_elapsed for r in used])
            row |= {"ideal_share": plan.mean, "excess_share": interval.mean - plan.mean}
            if stops := timed.get(who):
                with_stops = [
                    sum(r.path[cause] for cause in (k, *stops)) / (r.path_elapsed - r.path[calendar])
                    for r in used
                ]
                row["elasticity_with_stops"] = t_interval(with_stops).mean
        rows.append(row)
    rows.sort(key=lambda row: (-row["share"], row["who"], row["what"]))
    return {
        "causes": rows,
        "hands": _by_hands(flat, used),
        "elapsed_s": sum(r.path_elapsed for r in used) / len(used) / 1_000_000,
        "shortened": sum(r.path_forced > 0 for r in used),
        "unit": "share of the counted time until the last good unit",
    }


def _by_hands(flat: FlatCell, used: Sequence[Record]) -> list[dict[str, Any]]:
    """The posts that alone do all work or handling of several stations of the path, largest share first.

    Where a station is named, the one who limits may be the person who goes from one to the next.
    """
    rows = []
    for post in flat.cell.posts:
        stations = flat.cell.stations
        alone = {(each.name, what) for each in stations for what in _only_by(flat.cell, each, post.name)}
        causes: dict[str, list[int]] = {}
        for k, cause in enumerate(flat.names.causes):
            if cause in alone and any(r.path[k] for r in used):
                causes.setdefault(cause[0], []).append(k)
        if len(causes) < 2:
            continue
        own = [k for indices in causes.values() for k in indices]
        interval = t_interval([sum(r.path[k] for k in own) / r.path_elapsed for r in used])
        names = [each.name for each in stations if each.name in causes]
        rows.append(
            {"who": post.name, "stations": names, "share": interval.mean, "interval": interval.as_list()}
        )
    return sorted(rows, key=lambda row: (-row["share"], row["who"]))


def _only_by(cell: Cell, station: Station, post: str) -> list[str]:
    """Which causes of a station, `work` and `handling`, are done by this post alone, start to end."""
    found = []
    for what in ("work", "handling"):
        elements = [each for each in station.work if (each.phase == "work") == (what == "work")]
        able = [[p.name for p in cell.posts if p.can_help(each.by)] for each in elements]
        if elements and all(names == [post] for names in able):
            found.append(what)
    return found


def timed_stops(flat: FlatCell) -> dict[str, list[int]]:
    """The causes of the path that are stops by time, or waits for their repair, of each station with some."""
    found = {}
    for station in flat.cell.stations:
        stops = [stop.name for stop in station.stops if stop.clock in ("running", "on time") and not stop.at]
        causes = [f"{what}: {name}" for name in stops for what in ("stop", "waiting for repair")]
        if causes:
            found[station.name] = [flat.cause(station.name, cause) for cause in causes]
    return found


def most_gain(row: Mapping[str, Any], share: float) -> float:
    """What a cut of the times of a cause by a share gains at most by the path, as a share of the output.

    The time per unit shrinks by at most the share x elasticity, for work with that of its stops by time.
    """
    saved: float = share * row.get("elasticity_with_stops", row["elasticity"])
    return saved / (1 - saved)
