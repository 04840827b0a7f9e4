"""How many machines a person or robot can tend: in a fixed round, and with interference at random calls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import Cell, Post
from cellsim.study.loads import Load, Loading
from cellsim.study.visits import Attended
from cellsim.units import SECOND

ALIKE = 1.1  # rhythms of machines that can be visited in one round, the slowest by the quickest
MOST_ROUNDS, SETTLED = 1000, 1e-12  # until the shares of time in which machines are up no longer change


def tending(
    cell: Cell, loads: Loading, teams: Sequence[tuple[list[str], list[Attended]]]
) -> list[dict[str, Any]]:
    """One entry for each team that tends two machines or more that also work alone.

    Returns:
        `stations`: for each station its machines, `attended_s` (it stands or is worked at), `alone_s`,
        `away_s` (whoever tends it is kept besides, walking too), `waits_s` of that during which it waits, and
        the `ideal_machines` of this kind for one person or robot.  `there`: share of the time in which they
        are on duty, which both rates count; stops and all other duties are left out.  `in_a_round`: rate of
        good units if each machine is visited once in a fixed round; None where there is no such round, then
        `why_no_round` says so.  `at_random`: what is lost if calls come wholly at random; None where times
        do not vary or no formula fits, then `why_not` says so.
    """
    found = []
    for names, things in teams:
        machines = [thing for thing in things if thing.alone_s > 0 and thing.attended_s > 0]
        if sum(thing.machines for thing in machines) < 2:
            continue
        walk = _walk_s(loads, names, things)
        people = sum(loads.find(name).count for name in names)
        there = min(loads.find(name).available_s / (loads.find(name).count * loads.takt_s) for name in names)
        no_round = _why_no_round(names, machines, things, people, there)
        figure, why_not = None, no_round
        if not any(thing.varies for thing in machines):
            why_not = "their times do not vary: visits can follow one another in a fixed round"
        elif not no_round:
            figure, why_not = _at_random(loads, machines, people, there, walk)
        found.append(
            {
                "who": names,
                "people": people,
                "there": there,
                "machines": sum(thing.machines for thing in machines),
                "stations": [_station(thing, walk) for thing in machines],
                "in_a_round": None if no_round else _in_a_round(loads, machines, people, there, walk),
                "why_no_round": no_round,
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


def _why_no_round(
    names: Sequence[str], machines: Sequence[Attended], things: Sequence[Attended], people: int, there: float
) -> str:
    """Why they cannot be taken for one crew that visits each machine in its turn; empty where they can."""
    if len(things) > len(machines):
        others = [thing.station for thing in things if thing not in machines]
        return f"there is other work too ({', '.join(others)})"
    needs = [part.able for thing in things for visit in thing.visits for part in visit.parts]
    if any(len(able) > 1 or able[0][0] > 1 for able in needs):
        return "some of it takes several of them at once"
    if any(set(able[0][1]) != set(names) for able in needs):
        return "not each of them can do everything"
    if people > 1 and there < 1:
        return "they are not all there all of the time"
    rhythms = [thing.interval_s * thing.machines for thing in things]  # of one machine
    return "" if max(rhythms) <= ALIKE * min(rhythms) else "some machines call more often than others"


def _in_a_round(
    loads: Loading, machines: Sequence[Attended], people: int, there: float, walk: float
) -> dict[str, float]:
    """The round with constant times: how long its visits and the slowest machine take, what it makes."""
    visits = sum(thing.machines * (thing.person_s + walk * len(thing.visits)) for thing in machines) / people
    slowest = max(thing.attended_s + thing.waits_s + thing.alone_s for thing in machines)
    good = min(thing.machines * thing.interval_s / loads.takt_s for thing in machines)
    return {
        "visits_s": visits,
        "slowest_cycle_s": slowest,
        "rate_per_hour": 3600 * there * good / max(visits, slowest),
    }


def _at_random(
    loads: Loading, machines: Sequence[Attended], people: int, there: float, walk: float
) -> tuple[dict[str, Any] | None, str]:
    """Interference of machines that call at random, always with units to work on, or why it is not told.

    Machines of several kinds are visited for the mean time of all; good units are those of the slowest kind.
    """
    from cellsim.theory.interference import finite_source, unlike_machines

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
        "rate_per_hour": 3600 * there * shared,
        "with_one_each_per_hour": 3600 * there * own,
        "lost": 1 - shared / own,
        "busy": sum(n * share / r * s for n, share, r, s in zip(counts, running, runs, services, strict=True))
        / people,
    }, ""


@dataclass(frozen=True, slots=True)
class _Cause:
    """Stops of one cause that somebody clears at a station, for each of its machines; times in seconds.

    `demanded`: stops per second of all time at the demanded rate; None on the on-time clock.  `most`: stops
    per second that it is up, if it then works without a pause.
    """

    demanded: float | None
    most: float
    lasts_s: float
    response_s: float

    def rate(self, up: float) -> float:
        """Stops per second that the machine is up, where it is so for this share of all time."""
        return self.most if self.demanded is None else min(self.most, self.demanded / up)


def _causes(cell: Cell, loads: Loading, post: Post, load: Load) -> list[_Cause]:
    """What comes at random at a station and is cleared by a post, with its share of these stops."""
    station = next(station for station in cell.stations if station.name == load.name)
    duties = [d for d in loads.duties_of(post.name) if d.at == load.name and d.kind == "stops"]
    counted = {stop.name: stop for stop in loads.stops if stop.at == load.name}
    found = []
    for stop in station.stops:
        own = [duty for duty in duties if duty.what == stop.name]
        if not own or not post.can_help(stop.repaired_by) or laws.spread(stop.every) <= 0 or stop.at:
            continue
        times = sum(duty.times for duty in own)  # on all machines, per good unit
        demanded = None
        if stop.clock == "on time":
            most = times / counted[stop.name].times / (laws.mean(stop.every) / SECOND)
        else:
            demanded = times / loads.takt_s / load.count
            most = times / load.work_s if load.work_s > 0 else math.inf
        lasts = sum(duty.seconds for duty in own) / times
        found.append(_Cause(demanded, most, lasts, counted[stop.name].response_s))
    return found


def repairs(cell: Cell, loads: Loading) -> list[dict[str, Any]]:
    """For each post that clears random stops of two machines or more: how long these wait for one another.

    A machine is up until its next stop, then whoever repairs comes after the response, during which he may
    still be at another machine, and repairs.  On the on-time clock it is up for the mean time between stops.
    On the other clocks it stops as often as at the demanded rate, so that it is up for what stops leave, but
    not for less than if it then worked without a pause.

    Returns:
        `lasts_s`: mean length of a repair, `response_s` of a response, which is not in it.  `busy`: share of
        the time at repairs.  `wait_s`: mean wait of a stop, after the response, while others are repaired.
        All machines of a station count as equal, all repairs as long as the mean of all, times as
        exponential.  Only posts of one person.
    """
    found = []
    for post in cell.posts:
        rows = [(load, causes) for load in loads.stations if (causes := _causes(cell, loads, post, load))]
        machines = sum(load.count for load, _ in rows)
        if machines >= 2 and post.people == 1:
            figures = _interference([load.count for load, _ in rows], [causes for _, causes in rows])
            stations = [load.name for load, _ in rows]
            found.append({"who": post.name, "machines": machines, "stations": stations, **figures})
    return found


def _interference(counts: Sequence[int], causes: Sequence[Sequence[_Cause]]) -> dict[str, float]:
    """Means over all stops of machines that wait for one person, once they are up as long as stops leave."""
    from cellsim.theory.interference import unlike_machines

    up = [1.0] * len(counts)
    for _ in range(MOST_ROUNDS):
        rates = [[cause.rate(share) for cause in some] for some, share in zip(causes, up, strict=True)]
        calls = [n * share * sum(some) for n, share, some in zip(counts, up, rates, strict=True)]
        weights = [
            (call * rate / sum(some), cause)
            for call, some, own in zip(calls, rates, causes, strict=True)
            for rate, cause in zip(some, own, strict=True)
        ]
        lasts = sum(weight * cause.lasts_s for weight, cause in weights) / sum(calls)
        response = [
            sum(rate * cause.response_s for rate, cause in zip(some, own, strict=True)) / sum(some)
            for some, own in zip(rates, causes, strict=True)
        ]
        away = [1 / sum(some) + first for some, first in zip(rates, response, strict=True)]
        shares = unlike_machines(counts, away, lasts)  # up, or in the response
        before = up
        up = [share / (sum(some) * time) for share, some, time in zip(shares, rates, away, strict=True)]
        if max(abs(new - old) for new, old in zip(up, before, strict=True)) <= SETTLED:
            break
    ends = sum(n * share / time for n, share, time in zip(counts, shares, away, strict=True))
    first = sum(
        n * share / time * r for n, share, time, r in zip(counts, shares, away, response, strict=True)
    )
    held = sum(n * (1 - share) for n, share in zip(counts, shares, strict=True))
    return {
        "lasts_s": lasts,
        "response_s": first / ends,
        "busy": ends * lasts,
        "wait_s": held / ends - lasts,
    }
