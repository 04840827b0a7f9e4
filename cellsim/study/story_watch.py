"""Looks at a run after each of its instants and notes what has changed: states, places, levels, units.

Nothing here knows a rule: what is noted is what the record of the run says once an instant is over.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from cellsim.describe.cell import Post, Robot
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.study.story_places import Places

GOOD, SCRAPPED, BUILT_IN, ELSEWHERE = -1, -2, -3, -4  # how the way of a unit ends


@dataclass
class Leg:
    """A stretch of a way at one pace: from and to a place, start and end, shares of the way at both."""

    start: int
    end: int
    source: int
    target: int
    share: float
    reached: float = 1.0


@dataclass
class Way:
    """Where one unit was: (microseconds, place) in order; the last place may be how it ended."""

    variant: int
    places: list[tuple[int, int]] = field(default_factory=list)


@dataclass
class Stopped:
    """A stop of a machine or robot; `repaired` is when somebody began to repair it, -1 = not yet."""

    stop: int
    start: int
    repaired: int = -1
    end: int = -1


Changes = list[tuple[int, int]]  # (microseconds, value from then on)


def _changed(rows: list[Changes], at: int, values: list[int]) -> None:
    for row, value in zip(rows, values, strict=True):
        if not row or row[-1][1] != value:
            row.append((at, value))


class Watch:
    """What has changed in a run so far, noted by `look` after each instant; times in microseconds."""

    def __init__(self, run: SimpyRun, places: Places) -> None:
        self.run, self.places = run, places
        c = run.state
        self.machines: list[Changes] = [[] for _ in c.machines]
        self.actors: list[Changes] = [[] for _ in c.actors]
        self.stores: list[Changes] = [[] for _ in c.stores]
        self.duty: list[Changes] = [[]]
        self.where: list[Changes] = [[] for _ in c.actors]
        self.legs: list[list[Leg]] = [[] for _ in c.actors]
        self.stops: list[Stopped] = []
        self.good: list[int] = []
        self.scrap: list[int] = []
        self.ways: list[Way] = []
        self._under_way: dict[int, Stopped] = {}
        self._travel: list[tuple[int, int, int, int]] = [(-1, 0, 0, 0)] * len(c.actors)
        self._total = [0] * len(c.actors)
        self._hands = [
            *range(c.visit_base, c.repair_base),
            *range(c.errand_base, c.supply_base),
        ]  # jobs that hold units
        self._seen: list[tuple[int, ...]] = [(-1,)] * (len(c.stores) + len(c.machines) + len(self._hands))
        self._held: list[list[int]] = [[] for _ in self._seen]
        self._way: dict[int, tuple[int, Way]] = {}  # row of a unit -> (when it entered, its way)

    def look(self, at: int) -> None:
        """The instant `at` is over: note what it has changed."""
        c = self.run.state
        _changed(self.machines, at, [m.state for m in c.machines])
        _changed(self.actors, at, [actor.state for actor in c.actors])
        _changed(self.stores, at, [store.level for store in c.stores])
        if c.calendars:
            _changed(self.duty, at, [c.calendars[c.cell_calendar].state])
        for a, actor in enumerate(c.actors):
            self._look_where(at, a, actor)
        for k, stop in enumerate(c.stops):
            self._look_stop(at, k, stop)
        self._look_units(at, self._ended(at))

    # People and robots ---------------------------------------------------------------------------------

    def _look_where(self, at: int, a: int, actor: Any) -> None:
        c, where, j = self.run.state, self.where[a], actor.job
        travels, rest, version = False, 0, 0
        if j >= 0:
            job = c.jobs[j]
            if job.state == L.TRAVELLING and job.changing == 0:
                travels, version = True, job.version
                rest = job.rest if job.pace > 0.0 else job.due - job.began
            elif job.state == L.PAUSED and job.was == L.TRAVELLING and job.changing == 0:
                travels, version, rest = True, -1, job.way_left
        target = self._target(a, actor)
        before = where[-1][1] if where else target
        key = (j, c.jobs[j].step, version, target) if travels else (-1, 0, 0, 0)
        was = self._travel[a]
        if key != was:
            same = travels and was[0] == j and was[1] == key[1] and was[3] == target
            legs = self.legs[a]
            if was[0] >= 0:
                legs[-1].end = at
                legs[-1].reached = 1 - rest / self._total[a] if same else 1.0
            if travels:
                if not same:
                    self._total[a] = max(rest, 1)
                source = legs[-1].source if same else before
                legs.append(Leg(at, -1, source, target, 1 - rest / self._total[a]))
            self._travel[a] = key
        if not where or target != before:
            where.append((at, target))

    def _target(self, a: int, actor: Any) -> int:
        """The place where somebody is or to which he is on his way; where he was, if nothing says more."""
        c, places, where = self.run.state, self.places, self.where[a]
        place = places.of_job(c, actor.job) if actor.job >= 0 else -1
        if actor.first_travel >= 0 and not self._is_at(place, actor.point):
            place = places.named(places.flat.names.points[actor.point])
        if place >= 0:
            if place == places.actor(a) and where:
                return where[-1][1]  # a robot that is repaired stays where it is
            return place
        if where:
            return where[-1][1]
        return self._start(a)

    def _is_at(self, place: int, point: int) -> bool:
        """Whether a place belongs to the point that the rules know somebody is at."""
        if place < 0:
            return False
        flat = self.places.flat
        kind, name = self.places.table[place]
        if kind == "machine":
            name = flat.names.stations[flat.state.machines[place - self.places.stores].station]
        return flat.point(name) in (point, -1)

    def _start(self, a: int) -> int:
        flat = self.places.flat
        who = flat.names.posts[a]
        everyone: tuple[Post | Robot, ...] = (*flat.cell.posts, *flat.cell.robots)
        starts_at = next((one.starts_at for one in everyone if one.name == who), "")
        place = self.places.named(starts_at) if starts_at else -1
        return place if place >= 0 else self.places.actor(a)

    # Stops ---------------------------------------------------------------------------------------------

    def _look_stop(self, at: int, k: int, stop: Any) -> None:
        under_way = self._under_way.get(k)
        if stop.active and under_way is None:
            under_way = self._under_way[k] = Stopped(k, at)
            self.stops.append(under_way)
        elif not stop.active and under_way is not None:
            self._under_way.pop(k).end = at
        if stop.active and under_way is not None and under_way.repaired < 0:
            job = self.run.state.jobs[self.run.state.repair_base + k]
            if job.state == L.ACTIVE:
                under_way.repaired = at

    # Units ---------------------------------------------------------------------------------------------

    def _ended(self, at: int) -> dict[int, int]:
        """Units that left in this instant by how, from the notes of the trace; counts are kept as well."""
        run, c = self.run, self.run.state
        if c.note_count == 0 and not run.notes:
            return {}
        run.drain()
        ended: dict[int, int] = {}
        exits = iter(run.exits)
        for when, what, who, other in run.notes:
            if what == L.N_LEAVES:
                _, _, store = next(exits)
                good = c.stores[store].counts == 1
                if good:
                    self.good.append(when)
                ended.setdefault(other, GOOD if good else ELSEWHERE)
            elif what == L.N_SCRAPPED or (what == L.N_LATE and c.stores[who].late_to == L.SCRAP):
                self.scrap.append(when)
                ended.setdefault(other, SCRAPPED)
        run.notes.clear()
        run.exits.clear()
        return ended

    def _look_units(self, at: int, ended: dict[int, int]) -> None:
        c = self.run.state
        fresh: dict[int, int] = {}
        lost: list[int] = []
        for k, (seen, heads, place) in enumerate(self._containers()):
            if seen != self._seen[k]:
                self._seen[k] = seen
                lost += self._held[k]
                row = self._held[k] = []
                for u in heads:
                    while u >= 0:
                        row.append(u)
                        fresh[u] = place
                        u = c.parts[u].next
        for u in lost:
            known = self._way.get(u)
            if known is not None and (u not in fresh or c.parts[u].entered != known[0]):
                known[1].places.append((at, ended.get(u, BUILT_IN)))
                del self._way[u]
        for u, place in fresh.items():
            known = self._way.get(u)
            if known is None:
                known = self._way[u] = (c.parts[u].entered, Way(c.parts[u].variant))
                self.ways.append(known[1])
            if not known[1].places or known[1].places[-1][1] != place:
                known[1].places.append((at, place))

    def _containers(self) -> Any:
        """Of everything that holds units: what tells whether its units changed, their heads, its place."""
        c, places = self.run.state, self.places
        for s, store in enumerate(c.stores):
            head = store.head if store.kind not in (L.HAND_OVER, L.OUTLET) and store.level > 0 else -1
            yield (store.entered, store.left), (head,), s
        for i, m in enumerate(c.machines):
            u = m.unit
            yield (u, m.units, c.parts[u].entered if u >= 0 else 0), (u,), places.machine(i)
        for j in self._hands:
            job = c.jobs[j]
            u, held = job.unit, job.held
            if j >= c.errand_base:
                who, held = places.actor(c.errands[j - c.errand_base].robot), -1
            else:
                crew = [a for a in job.crew[: job.crew_size] if c.actors[a].thing == 0]
                who = places.actor(crew[0]) if crew else places.machine(j - c.visit_base)
            heads = (u, held)
            entered = tuple(c.parts[x].entered if x >= 0 else 0 for x in heads)
            yield (*heads, *entered, who if u >= 0 or held >= 0 else -1), heads, who
