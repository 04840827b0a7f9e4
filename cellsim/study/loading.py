"""The static check of a cell: required against available time of everybody, before any run.

All times are seconds per good unit at the demanded rate, so that they compare with the takt: a load is the
required time divided by count x takt.  Working time alone counts as available (breaks, start up and clean up
taken off), for machines too; what runs on in breaks or at night has more than that.  Mean times are used:
waiting, blocking and starving are not in it, so a load under 100 % is needed, not enough.  People work at
the pace of their skill levels; learning is over.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from cellsim.describe import laws
from cellsim.describe.cell import Cell, Element, Need, Post, Recovery, Robot, Station, Stop, Zone
from cellsim.describe.shifts import working_time
from cellsim.errors import UsageError
from cellsim.study.campaigns import changes
from cellsim.study.loads import Duty, DutyKind, Kind, Load, Loading, Stopped, TimedElement, groups_of
from cellsim.study.passages import Passages, batch_size, law_for, occupies, passages, released, ways_on
from cellsim.study.robot_pace import Misses, attending, misses, moves_s, slowness
from cellsim.study.stays import flows, forming, held
from cellsim.study.stop_counts import stop_count, trips_for_finished, trips_with_parts
from cellsim.study.verdicts import hidden_faults, verdict
from cellsim.study.walking import walked
from cellsim.units import SECOND

WEEK_S = 7 * 24 * 3600.0


def loading(
    cell: Cell, rate: float | None = None, efficiency: float = 1.0, with_losses: bool = True
) -> Loading:
    """The static check of a cell.

    Args:
        rate: good units per working hour; without it, the target of the cell.
        efficiency: planned cycle / takt, above 0; 85 to 95 % are usual (common practice, no source).
        with_losses: whether scrap and strips cost more work before them; without, each unit ends as good,
            which is how a first balance on paper counts.

    Raises:
        UsageError: there is no rate, or it or the efficiency is not above 0.
    """
    rate = cell.target_per_hour if rate is None else rate
    if rate is None:
        raise UsageError("a load needs a demanded rate; the cell has no target")
    if not rate > 0 or not math.isfinite(rate) or not efficiency > 0:
        raise UsageError("a load needs a rate and an efficiency above 0")
    return _Count(cell, 3600.0 / rate, with_losses).loading(efficiency)


@dataclass(slots=True)
class _Need:
    """What a post or robot needs per good unit while it is added up, in seconds."""

    work: float = 0.0
    changeover: float = 0.0
    stops: float = 0.0
    calls: dict[str, float] = field(default_factory=lambda: defaultdict(float))  # point -> calls


class _Count:
    """Adds up the time of everybody for one cell and takt."""

    def __init__(self, cell: Cell, takt: float, with_losses: bool) -> None:
        self.cell, self.takt = cell, takt
        self.shares = {v.name: v.share for v in cell.variants} or {"": 1.0}
        self.found: dict[str, Passages] = {v: passages(cell, v, with_losses) for v in self.shares}
        self.released = sum(share * released(cell, self.found[v]) for v, share in self.shares.items())
        self.faults = hidden_faults(cell)
        self.with_others: dict[str, float] = defaultdict(float)  # seconds per good unit and machine
        self.week = sum(working_time(s) * len(s.days) for s in cell.shifts) / SECOND or WEEK_S
        self.breaks = [b / SECOND for s in cell.shifts for _, b in s.breaks for _ in s.days]
        self.inside: dict[str, float] = {}  # zone -> share of the time in which somebody is inside
        self.posts = {post.name: post for post in cell.posts}
        self.available = {robot.name: takt for robot in cell.robots}
        self.available |= {post.name: self._duty(post) * post.people * takt for post in cell.posts}
        self.needs = {name: _Need() for name in self.available}
        self.robot_stops: dict[str, float] = defaultdict(float)  # seconds per good unit, by picks that fail
        self.alike: set[frozenset[str]] = set()  # who can do the same, each time that there is such a choice
        self.duties: list[Duty] = []
        self.timed: list[TimedElement] = []
        self.stops: list[Stopped] = []
        self.inside = {zone.name: self._presence(zone) for zone in cell.zones}

    def _duty(self, post: Post) -> float:
        """Share of the working time that a person of a post is there, absence and hand-over taken off."""
        working = sum(working_time(s) * len(s.days) for s in self.cell.shifts)
        own = [s for s in self.cell.shifts if s.name in post.shifts]
        there = sum((working_time(post.working_in(s)) - s.hand_over) * len(s.days) for s in own)
        return (1 - post.absent) * (there / working if working else 1.0)

    def _able(self, need: Need) -> dict[str, float]:
        """Who can do what is needed, with the time factor; not who only relieves or stands in for others."""
        found = {robot.name: 1.0 for robot in self.cell.robots if robot.name == need.skill}
        for name, post in self.posts.items():
            factors = {name: post.own_factor, **dict(post.skills)}
            own = not post.relieves and not post.stands_in_for
            if own and need.skill in factors and post.level_of(need.skill) >= need.level:
                found[name] = factors[need.skill]
        return found

    def _pace(self, station: Station, element: Element) -> float:
        """How much longer than stated an element takes: the slowest person or robot needed, allowance."""
        slowest = 0.0 if element.by else 1.0
        for need in element.by:
            able = self._able(need)
            duty = sum(self.available[name] for name in able)
            mean = sum(self.available[name] * factor for name, factor in able.items())
            slowest = max(slowest, mean / duty if duty else 1.0)
        persons = any(name in self.posts for need in element.by for name in self._able(need))
        return (
            slowest * (1 + station.allowance if persons else 1.0) * slowness(self.cell, element, self.inside)
        )

    def loading(self, efficiency: float) -> Loading:
        """The whole check."""
        taken = flows(self.cell, self.found, self.shares)
        loads = tuple(load for station in self.cell.stations if (load := self._station(station)) is not None)
        self._trips()
        robots = []
        for robot in self.cell.robots:
            self.needs[robot.name].work += self._moves(robot)
            busy = self.needs[robot.name].work
            stopped = self._stopped(robot.name, robot.stops, busy, 0.0, 1, 0.0, robot.recovery)
            stopped += self.robot_stops[robot.name]
            robots.append(self._person(robot.name, "robot", 1, robot.travel, stopped))
        posts = [self._person(post.name, "post", post.people, post.travel, 0.0) for post in self.cell.posts]
        loads, robots = self._together(loads), list(self._together(robots))
        known = {load.name for load in loads}
        return Loading(
            rate=3600.0 / self.takt,
            takt_s=self.takt,
            planned_cycle_s=self.takt * efficiency,
            stations=loads,
            posts=tuple(posts),
            robots=tuple(robots),
            forming=tuple(forming(self.cell, self.found, self.shares, self.takt)),
            held=tuple(held(self.cell, taken, self.takt)),
            undetermined=tuple(s.name for s in self.cell.stations if s.name not in known),
            groups=groups_of((*self.available,), self.alike),
            duties=tuple(self.duties),
            elements=tuple(self.timed),
            stops=tuple(self.stops),
            released=self.released,
            flows=tuple(taken.items()),
        )

    def _together(self, loads: Iterable[Load]) -> tuple[Load, ...]:
        """The loads with the time that they stand still together with others."""
        return tuple(
            replace(load, stops_s=load.stops_s + load.count * self.with_others.get(load.name, 0.0))
            for load in loads
        )

    def _presence(self, zone: Zone) -> float:
        """Share of the time in which somebody works inside a zone, with the restart after each visit."""
        seconds = 0.0
        for station in self.cell.stations:
            for element in station.work:
                if (
                    (element.at or station.name) in zone.people_at
                    and element.by
                    and not attending(self.cell, element)
                ):
                    for variant in self.shares:
                        each = laws.mean(law_for(element.time, element.by_variant, variant)) + zone.restart
                        seconds += (self._cycles(station, variant) or 0.0) * each / SECOND
        return min(1.0, seconds / self.takt)

    def _cycles(self, station: Station, variant: str) -> float | None:
        """Cycles of a station with units of a variant per good unit of any."""
        units = self.found[variant][station.name]
        return None if units is None else self.shares[variant] * units / batch_size(station, variant)

    def _station(self, station: Station) -> Load | None:
        cycles: dict[str, float] = {}
        for variant in self.shares:
            count = self._cycles(station, variant)
            if count is None:
                return None
            cycles[variant] = count
        work = failed = 0.0
        total = sum(cycles.values())
        for element, times in self._elements(station):
            pace, missed = self._pace(station, element), misses(self.cell, element)
            needed = 0.0
            for variant, count in cycles.items():
                seconds = pace * laws.mean(law_for(element.time, element.by_variant, variant)) / SECOND
                needed += (seconds + (missed.retry_s if missed else 0.0)) * count * times
            if missed is not None:
                failed += self._failed(station, missed, total * times)
            often, point = total * times, element.at or station.name
            each = needed / often if often else 0.0
            self._give(element.by, each, often, "work", station.name, element.name, point)
            self._note(station, element, each, often)
            work += needed if occupies(element) else 0.0
        turn = sum(laws.mean(table.index) for table in self.cell.tables if station.name in table.stations)
        work += total * turn / SECOND
        stopped = self._stopped(
            station.name, station.stops, work, total, station.machines, total * station.gives
        )
        return Load(
            name=station.name,
            kind="batch" if station.batch else "station",
            count=station.machines,
            cycles=total,
            available_s=station.machines * self.takt,
            work_s=work,
            changeover_s=self._changed(station) + self._bars(station, total),
            stops_s=failed + stopped,
        )

    def _note(self, station: Station, element: Element, seconds: float, times: float) -> None:
        laws_of = (element.time, *dict(element.by_variant).values())
        self.timed.append(
            TimedElement(
                station=station.name,
                name=element.name,
                phase=element.phase,
                inside=element.inside,
                at=element.at or station.name,
                seconds=seconds,
                times=times,
                able=tuple((need.people, tuple(self._able(need))) for need in element.by),
                varies=any(laws.spread(law) > 0 for law in laws_of),
                extra=element not in station.work,
            )
        )

    def _failed(self, station: Station, missed: Misses, times: float) -> float:
        """Seconds per good unit in which robot and station wait for who clears picks that fail for good."""
        count, seconds = times * missed.calls, laws.mean(missed.who.time) / SECOND
        self._give(missed.who.by, seconds, count, "stops", station.name, "picks that fail")
        self.robot_stops[missed.robot] += count * seconds
        return count * seconds

    def _moves(self, robot: Robot) -> float:
        """Seconds per good unit of a robot's moves: as often as what they take comes, or goes."""
        rates = []
        for move in robot.moves:
            rate = 0.0
            for variant, share in self.shares.items():
                for station in self.cell.stations:
                    cycles = share * (self.found[variant][station.name] or 0.0)
                    if station.name == move.start:
                        judged = verdict(self.cell, station, self.faults[station.name])
                        rate += cycles * ways_on(self.cell, station, variant, judged, True).get(
                            move.store, 0.0
                        )
                    elif station.name == move.end and move.start not in self.found[variant]:
                        rate += cycles * dict(station.takes).get(move.store, 0)
            rates.append(rate)
        found = moves_s(robot, rates)
        for move, rate, seconds in zip(robot.moves, rates, found, strict=True):
            self.duties.append(
                Duty(robot.name, move.start, f"{move.start} to {move.end}", "work", seconds, rate)
            )
        return sum(found)

    def _trips(self) -> None:
        """Give the trips with parts and for finished units to those who make them."""
        cycles = {
            s.name: sum(self.shares[v] * (self.found[v][s.name] or 0.0) for v in self.shares)
            for s in self.cell.stations
        }
        for part in self.cell.parts:
            seconds = laws.mean(part.trip) / SECOND if part.trip else 0.0
            count = trips_with_parts(part, cycles, self.takt)
            self._give(part.brought_by, seconds, count, "work", part.name, "bring")
        goods = self.cell.finished_goods
        if goods is not None and goods.trip is not None:
            seconds = laws.mean(goods.trip) / SECOND
            count = trips_for_finished(goods, self.takt)
            self._give(goods.by, seconds, count, "work", "finished goods", "collect")

    def _elements(self, station: Station) -> list[tuple[Element, float]]:
        """The work elements with how often each is done per cycle: all once, repairs and tests at times."""
        found = [(element, 1.0) for element in station.work]
        size = max(station.gives, station.batch.size if station.batch else 1)
        judged = verdict(self.cell, station, self.faults[station.name])
        if station.rejects is not None and station.rejects.repair is not None:
            found.append((station.rejects.repair, size * judged.repaired))
        if station.samples is not None:
            good = 1 - (judged.reworked + judged.given_up) / judged.tests
            found.append((station.samples.test, size * good / station.samples.every))
        return found

    def _give(
        self,
        by: Sequence[Need],
        seconds: float,
        times: float,
        kind: DutyKind,
        at: str,
        what: str,
        point: str = "",
    ) -> None:
        """Share work out: `seconds` each time, so many `times` per good unit, to all who can do it.

        Several posts that can do the same share it by their time on duty.  `at` and `what` name it; `point`
        is where one walks for it.
        """
        for need in by:
            able = self._able(need)
            self.alike.add(frozenset(able))
            duty = sum(self.available[name] for name in able)
            for name in able:
                part = times * need.people * (self.available[name] / duty if duty else 0.0)
                required = self.needs[name]
                setattr(required, kind, getattr(required, kind) + part * seconds)
                if part * seconds > 0:
                    self.duties.append(Duty(name, at, what, kind, part * seconds, part))
                if point:
                    required.calls[point] = max(required.calls[point], part)

    def _stopped(
        self,
        who: str,
        stops: Iterable[Stop],
        running: float,
        cycles: float,
        machines: int,
        units: float,
        recovery: Recovery | None = None,
    ) -> float:
        """Seconds per good unit that its own stops take `who`: number x (mean response + mean length).

        Of a repair that needs nobody so much goes on in breaks as there are breaks; people repair after them.
        What stands still with it has the same time; scrap after a restart is not counted.
        """
        total = 0.0
        for stop in stops:
            lasts = laws.mean(stop.lasts) / SECOND
            response = self._response(stop)
            count = stop_count(
                stop, running, cycles, units, machines, self.takt, self.week, self.breaks, response
            )
            lost = response + lasts
            if stop.clock == "on time" and not stop.repaired_by:
                lost *= self.week / (self.week + sum(self.breaks))
            self.stops.append(Stopped(who, stop.name, count, lasts, response, stop.planned or bool(stop.at)))
            total += count * lost
            self._give(stop.repaired_by, lasts, count, "stops", who, stop.name)
            if recovery is not None:
                total += count * laws.mean(recovery.time) / SECOND
                self._give(recovery.by, laws.mean(recovery.time) / SECOND, count, "stops", who, "recovery")
            for other in stop.stops_too:
                if other != who:
                    self.with_others[other] += count / machines * lost
        return total

    def _response(self, stop: Stop) -> float:
        """Mean time in seconds until whoever repairs can be there, from other cells."""
        able = [
            self.posts[name] for need in stop.repaired_by for name in self._able(need) if name in self.posts
        ]
        times = [laws.mean(post.response) / SECOND if post.response else 0.0 for post in able]
        return min(times, default=0.0)

    def _changed(self, station: Station) -> float:
        """Seconds per good unit of changeovers and approvals, on every machine of the station."""
        change = station.changeover
        if change is None:
            return 0.0
        times = {(start, end): laws.mean(law) / SECOND for start, end, law in change.times}
        approval = laws.mean(change.approval) / SECOND if change.approval else 0.0
        total = 0.0
        for pair, count in changes(self.cell, station, self.released).items():
            each = count * station.machines
            if pair in times:
                self._give(change.by, times[pair], each, "changeover", station.name, "changeover")
                self._give(change.approved_by, approval, each, "changeover", station.name, "approval")
                total += each * (times[pair] + approval)
        return total

    def _bars(self, station: Station, cycles: float) -> float:
        """Seconds per good unit in which the bar, coil or sheet of a station is changed."""
        if station.yields is None:
            return 0.0
        seconds = laws.mean(station.yields.change) / SECOND
        count = cycles * station.gives / station.yields.units
        self._give(station.yields.by, seconds, count, "changeover", station.name, f"new {station.yields.per}")
        return count * seconds

    def _person(
        self, name: str, kind: Kind, count: int, travel: Sequence[tuple[str, str, int]], stopped: float
    ) -> Load:
        need = self.needs[name]
        way = walked(self.cell, need.calls, {(a, b): t / SECOND for a, b, t in travel})
        if way:
            self.duties.append(Duty(name, "", "walking", "walking", way, max(need.calls.values())))
        return Load(
            name=name,
            kind=kind,
            count=count,
            cycles=0.0,
            available_s=self.available[name],
            work_s=need.work,
            walking_s=way,
            changeover_s=need.changeover,
            stops_s=need.stops + stopped,
        )
