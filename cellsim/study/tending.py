"""How many machines a person or robot can tend: in a fixed round, and with interference at random calls."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import Cell
from cellsim.study.loads import Loading
from cellsim.study.visits import Attended

ALIKE = 1.1  # rhythms of machines that can be visited in one round, the slowest by the quickest


def tending(
    cell: Cell, loads: Loading, teams: Sequence[tuple[list[str], list[Attended]]]
) -> list[dict[str, Any]]:
    """One entry for each team that tends two machines or more that also work alone.

    Returns:
        `stations`: for each station its machines, `attended_s` (it stands or is worked at), `alone_s`,
        `away_s` (whoever tends it is kept besides, walking too), `waits_s` of that during which it waits, and
        the `ideal_machines` of this kind for one person or robot.  `in_a_round`: rate of good units if each
        machine is visited once in a fixed round; None where they do not call equally often, as batches and
        benches.  `at_random`: what is lost if calls come wholly at random; None where times do not vary or no
        formula fits, then `why_not` says so.
    """
    found = []
    for names, things in teams:
        machines = [thing for thing in things if thing.alone_s > 0 and thing.attended_s > 0]
        if sum(thing.machines for thing in machines) < 2:
            continue
        walk = _walk_s(loads, names, things)
        people = sum(loads.find(name).count for name in names)
        figure, why_not = _at_random(loads, machines, things, people, walk)
        found.append(
            {
                "who": names,
                "people": people,
                "machines": sum(thing.machines for thing in machines),
                "stations": [_station(thing, walk) for thing in machines],
                "in_a_round": _in_a_round(loads, machines, people, walk) if _alike(things) else None,
                "at_random": figure,
                "why_not": why_not,
            }
        )
    return found


def _walk_s(loads: Loading, names: Sequence[str], things: Sequence[Attended]) -> float:
    """Mean walk to a visit."""
    visits = sum(len(thing.visits) * loads.takt_s / thing.interval_s for thing in things)
    return sum(loads.find(name).walking_s for name in names) / visits


def _station(thing: Attended, walk: float) -> dict[str, Any]:
    from cellsim.theory.interference import ideal_machines

    away = max(0.0, thing.person_s - thing.attended_s) + walk * len(thing.visits)
    taken = thing.attended_s + thing.waits_s
    return {
        "station": thing.station,
        "machines": thing.machines,
        "attended_s": thing.attended_s,
        "alone_s": thing.alone_s,
        "waits_s": thing.waits_s,
        "away_s": away,
        "ideal_machines": ideal_machines(thing.alone_s, taken, max(0.0, away - thing.waits_s)),
    }


def _alike(things: Sequence[Attended]) -> bool:
    """Whether each machine calls about as often as every other."""
    rhythms = [thing.interval_s * thing.machines for thing in things]
    return max(rhythms) <= ALIKE * min(rhythms)


def _in_a_round(loads: Loading, machines: Sequence[Attended], people: int, walk: float) -> dict[str, float]:
    """The round with constant times: how long its visits and the slowest machine take, what it makes."""
    visits = sum(thing.machines * (thing.person_s + walk * len(thing.visits)) for thing in machines) / people
    slowest = max(thing.attended_s + thing.waits_s + thing.alone_s for thing in machines)
    good = min(thing.machines * thing.interval_s / loads.takt_s for thing in machines)
    return {
        "visits_s": visits,
        "slowest_cycle_s": slowest,
        "rate_per_hour": 3600 * good / max(visits, slowest),
    }


def _at_random(
    loads: Loading, machines: Sequence[Attended], things: Sequence[Attended], people: int, walk: float
) -> tuple[dict[str, Any] | None, str]:
    """Interference of machines that call at random, always with units to work on, or why it is not told.

    Machines of several kinds are visited for the mean time of all; good units are those of the slowest kind.
    """
    from cellsim.theory.interference import finite_source, unlike_machines

    if not any(thing.varies for thing in machines):
        return None, "their times do not vary: visits can follow one another in a fixed round"
    if len(things) > len(machines) or not _alike(machines):
        return None, "there is no formula where some call more often than others"
    counts, runs = [thing.machines for thing in machines], [thing.alone_s for thing in machines]
    services = [max(thing.person_s, thing.attended_s) + walk * len(thing.visits) for thing in machines]
    if len(machines) == 1:
        running: Sequence[float] = [finite_source(counts[0], runs[0], services[0], people).running]
    elif people == 1:
        mean = sum(n * s for n, s in zip(counts, services, strict=True)) / sum(counts)
        running = unlike_machines(counts, runs, mean)
        services = [mean] * len(machines)
    else:
        return None, "there is no formula for several people and machines of several kinds"
    good = [thing.interval_s / loads.takt_s for thing in machines]  # good units per cycle
    shared = min(n * share / r * g for n, share, r, g in zip(counts, running, runs, good, strict=True))
    own = min(n / (r + s) * g for n, r, s, g in zip(counts, runs, services, good, strict=True))
    return {
        "rate_per_hour": 3600 * shared,
        "with_one_each_per_hour": 3600 * own,
        "lost": 1 - shared / own,
        "busy": sum(n * share / r * s for n, share, r, s in zip(counts, running, runs, services, strict=True))
        / people,
    }, ""


def repairs(cell: Cell, loads: Loading) -> list[dict[str, Any]]:
    """For each post that clears random stops of two machines or more: how long these wait for one another.

    Each station counts as its machines with one stop in its mean time between stops, all as long as the mean
    of all; times exponential, response included in `lasts_s`.  `wait_s`: mean wait of a stop while another is
    repaired.  Only posts of one person, or equal stations.
    """
    from cellsim.theory.interference import unlike_machines

    stations = {station.name: station for station in cell.stations}
    found = []
    for post in cell.posts:
        rows = []  # (machines, stops of one of them per second, mean length in seconds)
        for load in loads.stations:
            own = [
                stop
                for stop in stations[load.name].stops
                if post.can_help(stop.repaired_by) and laws.spread(stop.every) > 0 and not stop.at
            ]
            duties = [d for d in loads.duties_of(post.name) if d.at == load.name and d.kind == "stops"]
            chosen = [d for d in duties if d.what in {stop.name for stop in own}]
            if chosen:
                rows.append(
                    (
                        load.name,
                        load.count,
                        sum(d.times for d in chosen) / loads.takt_s / load.count,
                        sum(d.seconds for d in chosen) / sum(d.times for d in chosen),
                    )
                )
        machines = sum(count for _, count, _, _ in rows)
        if machines < 2 or post.people != 1:
            continue
        calls = sum(count * rate for _, count, rate, _ in rows)
        lasts = sum(count * rate * each for _, count, rate, each in rows) / calls
        running = unlike_machines([row[1] for row in rows], [1 / row[2] for row in rows], lasts)
        stopped = sum(row[1] * (1 - share) for row, share in zip(rows, running, strict=True))
        ends = sum(row[1] * share * row[2] for row, share in zip(rows, running, strict=True))
        found.append(
            {
                "who": post.name,
                "machines": machines,
                "stations": [row[0] for row in rows],
                "lasts_s": lasts,
                "busy": ends * lasts,
                "wait_s": stopped / ends - lasts,
            }
        )
    return found
