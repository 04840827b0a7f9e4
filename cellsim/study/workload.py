"""The paper work before any run: takt, loads, balance, tending, stores, batches and the limit of output."""

from __future__ import annotations

import math
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.shifts import mean_working_time
from cellsim.errors import UsageError
from cellsim.study.covers import batches, store_covers, windows
from cellsim.study.loading import loading
from cellsim.study.loads import ROUNDING, Load, Loading
from cellsim.study.man_machine import man_machine
from cellsim.study.paper import limit, paper_figures
from cellsim.study.provenance import versions
from cellsim.study.takt import efficiency, longest_pause_s, per_hour, takt_figures
from cellsim.study.tending import repairs, tending
from cellsim.study.visits import Attended, attended_stations, teams
from cellsim.units import SECOND

DAY_S = 8 * 3600.0  # what a chart covers at most where there are no shifts
OVER, NO_RESERVE, HIGH_PACE = 1.0, 0.95, 0.90  # loads, stops included; the last for people


def workload(
    cell: Cell,
    *,
    rate: float | str | None = None,
    planned: float | str | None = None,
    with_losses: bool = True,
) -> dict[str, Any]:
    """All that paper says of a cell, in the keys of `cellsim load --json`.

    Args:
        rate: good units per working hour, or a text as `120 per h`; without it the target of the cell, and
            without one its paper limit.
        planned: planned cycle / takt, above 0 and at most 1, or a text as `90 %`; 85 to 95 % are usual
            (common practice, no source).
        with_losses: whether scrap makes more work before it; without, each unit ends as good, which is how a
            first balance on paper counts.

    Raises:
        UsageError: the rate is not above 0, the efficiency not between 0 and 1, or there is neither rate nor
            target nor limit.
    """
    wanted, source = _rate(cell, rate)
    share = None if planned is None else efficiency(planned, "--planned")
    loads = loading(cell, wanted, share or 1.0, with_losses)
    things = attended_stations(cell, loads)
    names = [*(post.name for post in cell.posts), *(robot.name for robot in cell.robots)]
    groups = sorted(teams(things), key=lambda team: min(names.index(name) for name in team[0]))
    gathered, everybody = batches(cell, loads), _everybody(cell, loads)
    pause = longest_pause_s(cell)
    answer: dict[str, Any] = {
        "cell": cell.name,
        "question": cell.question,
        "rate_per_hour": wanted,
        "rate_from": source,
        "with_losses": with_losses,
        "takt": takt_figures(cell, wanted, loads.released, share),
        "stations": [_row(cell, load) for load in loads.stations],
        "posts": [_row(cell, load) | {"duties": _duties(loads, load.name)} for load in loads.posts],
        "robots": [_row(cell, load) | {"duties": _duties(loads, load.name)} for load in loads.robots],
        "busiest": max(everybody, key=lambda row: float(row["load_with_stops"]), default=None),
        "undetermined": list(loads.undetermined),
        "people": _people(loads, share is not None),
        "tending": tending(cell, loads, groups),
        "repairs": repairs(cell, loads),
        "stores": store_covers(cell, loads),
        "batches": gathered,
        "windows": windows(cell, loads, gathered, pause),
        "charts": [
            man_machine(cell, team, often, loads.takt_s, _drawn_s(cell))
            for team, attends in groups
            if (often := _several(attends, _drawn_s(cell)))
        ],
        "paper": paper_figures(cell),
        "provenance": versions(),
    }
    answer["warnings"] = _warnings(answer, everybody)
    return answer


def _rate(cell: Cell, rate: float | str | None) -> tuple[float, str]:
    """Good units per working hour, and where that comes from: given, target or limit."""
    if rate is not None:
        return per_hour(rate, "--rate", cell.shifts), "given"
    if cell.target_per_hour is not None:
        return cell.target_per_hour, "target"
    found = limit(cell)
    if found is None:
        raise UsageError("the cell has no target, and nothing settles its limit on paper; give a --rate")
    return found.rate, "limit"


def _several(things: list[Attended], most_s: float) -> list[Attended]:
    """What a chart shows: what is attended at least once in its time, if that is more than one thing."""
    often = [thing for thing in things if thing.interval_s <= most_s]
    several = len(often) > 1 or any(thing.machines > 1 and thing.alone_s > 0 for thing in often)
    return often if several else []


def _drawn_s(cell: Cell) -> float:
    return mean_working_time(cell.shifts) / SECOND if cell.shifts else DAY_S


def _row(cell: Cell, load: Load) -> dict[str, Any]:
    """One load in seconds per good unit and as shares of the time there is."""
    stations = {station.name: station for station in cell.stations}
    stands = load.work_s + load.stops_s
    return {
        "name": load.name,
        "kind": load.kind,
        "count": load.count,
        "cycles": load.cycles,
        "work_s": load.work_s,
        "walking_s": load.walking_s,
        "changeover_s": load.changeover_s,
        "stops_s": load.stops_s,
        "required_s": load.required_s(),
        "required_with_stops_s": load.required_s(stops=True),
        "available_s": load.available_s,
        "load": load.share(),
        "load_with_stops": load.share(stops=True),
        "availability": load.work_s / stands if load.kind in ("station", "batch") and stands > 0 else None,
        "more_time": load.kind in ("station", "batch") and stations[load.name].runs_through_breaks,
    }


def _duties(loads: Loading, name: str) -> list[dict[str, Any]]:
    """What somebody does, alike elements in one row, and for robots the time that they stand themselves."""
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for duty in loads.duties_of(name):
        row = found.setdefault(
            (duty.at, duty.what, duty.kind),
            {"at": duty.at, "what": duty.what, "kind": duty.kind, "seconds": 0.0, "times": 0.0},
        )
        row["seconds"] += duty.seconds
        row["times"] += duty.times
    load = loads.find(name)
    own = load.required_s(stops=True) - math.fsum(row["seconds"] for row in found.values())
    rows = list(found.values())
    if own > ROUNDING:
        rows.append({"at": name, "what": "stands still", "kind": "down", "seconds": own, "times": 0.0})
    return rows


def _everybody(cell: Cell, loads: Loading) -> list[dict[str, Any]]:
    """The load of each station, and of posts or robots; those that can do the same count together."""
    on = {station.name for station in cell.stations if station.runs_through_breaks}
    parts = [(load.name,) for load in loads.stations] + list(loads.groups)
    found = []
    for k, names in enumerate(parts):
        own = loads.stations[k : k + 1] or [loads.find(name) for name in names]
        there = math.fsum(load.available_s for load in own)
        if there <= 0:
            continue
        found.append(
            {
                "names": list(names),
                "kind": own[0].kind,
                "load": math.fsum(load.required_s() for load in own) / there,
                "load_with_stops": math.fsum(load.required_s(stops=True) for load in own) / there,
                "more_time": own[0].kind in ("station", "batch") and names[0] in on,
            }
        )
    return found


def _people(loads: Loading, planned: bool) -> dict[str, Any] | None:
    """Hand work, least number of people and balance; None in a cell without people.

    Posts that do no work element, as a technician or a handler of boxes, count neither as posted nor as hand
    work; `others` names them.  `posted` is how many people are there on average.
    """
    at_work = loads.at_work()
    if not at_work:
        return None
    hand, with_stops = loads.hand_work_s(), loads.hand_work_s(stops=True)
    posted = math.fsum(load.available_s for load in at_work) / loads.takt_s
    least_with_stops = loads.least_people(stops=True)
    return {
        "hand_work_s": hand,
        "hand_work_with_stops_s": with_stops,
        "people_of_work": hand / loads.takt_s,
        "people_of_work_with_stops": with_stops / loads.takt_s,
        "least_people": loads.least_people(),
        "least_people_with_stops": least_with_stops,
        "least_people_planned": loads.least_people(stops=True, planned=True) if planned else None,
        "posted": posted,
        "balance": loads.balance(posted),
        "balance_with_stops": loads.balance(posted, stops=True),
        "balance_of_least_with_stops": loads.balance(least_with_stops, stops=True),
        "others": [load.name for load in loads.posts if load not in at_work],
    }


def _warnings(answer: dict[str, Any], everybody: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What somebody should look at, the worst first: `kind`, and `about` whom or what, with figures.

    At the limit itself somebody is always busy all of the time, which is no news.
    """
    planned = answer["takt"]["planned_efficiency"]
    found: list[dict[str, Any]] = []
    for row in sorted(everybody, key=lambda row: -row["load_with_stops"]):
        share, about = row["load_with_stops"], row["names"]
        if share > OVER + ROUNDING:
            found.append({"kind": "over", "about": about, "load": share, "more_time": row["more_time"]})
        elif answer["rate_from"] == "limit":
            continue
        elif share > NO_RESERVE:
            found.append({"kind": "no reserve", "about": about, "load": share})
        elif row["kind"] == "post" and share > HIGH_PACE:
            found.append({"kind": "high pace", "about": about, "load": share})
        elif planned is not None and share > planned + ROUNDING:
            found.append({"kind": "over plan", "about": about, "load": share})
    for batch in answer["batches"]:
        some = batch["starts_with"]
        needed = batch["machines_needed_then"]
        if some is not None and some < batch["size"] and needed > batch["machines"]:
            found.append({"kind": "batch starts early", "about": batch["station"], **batch})
    found += [{"kind": row["doubt"], "about": row["store"], **row} for row in answer["windows"]]
    found += [
        {"kind": "falls behind", "about": chart["who"]} for chart in answer["charts"] if not chart["keeps_up"]
    ]
    uncovered = [
        row["store"] for row in answer["stores"] if row["mean_stop_s"] and row["mean_stop_s"] > row["cover_s"]
    ]
    if uncovered:
        found.append({"kind": "stop not covered", "about": uncovered})
    if answer["undetermined"]:
        found.append({"kind": "undetermined", "about": answer["undetermined"]})
    return found
