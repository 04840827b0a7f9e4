"""Where units, people and robots of a run can be, as one table of places, and where a job is done."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from cellsim.describe.cell import FINISHED, Element, Station
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell

OWN_PLACE = {L.WORK: "station", L.LOAD: "station", L.UNLOAD: "station", L.FETCH: "input", L.DELIVER: "outlet"}


@dataclass
class Places:
    """Every place by its number: stores, then machines, then people and robots, then named points.

    A unit at the place of a person or robot is in its hands; somebody at his own place is where he waits
    before he has been anywhere else.
    """

    flat: FlatCell
    table: list[tuple[str, str]] = field(default_factory=list)  # (kind, name)

    def __post_init__(self) -> None:
        names, cell = self.flat.names, self.flat.cell
        self.stores, self.machines = len(names.stores), len(names.machines)
        self.table += [("store", name) for name in names.stores]
        self.table += [("machine", name) for name in names.machines]
        self.table += [("actor", name) for name in names.actors]
        used = {e.at for station in cell.stations for e in (*station.work, *station.extra) if e.at}
        used |= {robot.starts_at for robot in cell.robots} | {post.starts_at for post in cell.posts}
        used |= {end for robot in cell.robots for move in robot.moves for end in (move.start, move.end)}
        known = {*names.stores, *names.stations, *names.actors, ""}
        self.table += [("point", name) for name in sorted({*names.points, *used} - known)]
        self._number = {pair: k for k, pair in enumerate(self.table)}
        self._steps = [self._of_step(x) for x in range(len(names.steps))]

    def machine(self, i: int) -> int:
        """The place of machine `i`."""
        return self.stores + i

    def actor(self, a: int) -> int:
        """The place of person or robot `a`."""
        return self.stores + self.machines + a

    def named(self, name: str, machine: int = -1) -> int:
        """The place that a point of the description names; of a station, `machine` if it is one of it."""
        names, c = self.flat.names, self.flat.state
        if name in names.stations:
            k = names.stations.index(name)
            there = machine >= 0 and c.machines[machine].station == k
            return self.machine(machine if there else c.stations[k].first_machine)
        for kind in ("store", "actor", "point"):
            if (kind, name) in self._number:
                return self._number[kind, name]
        return -1

    def _element(self, x: int) -> Element | None:
        """The element of the description that step `x` carries out, if it is one of a station's work."""
        step = self.flat.state.steps[x]
        found = next((key for key, k in self.flat.elements.items() if k == step.element), None)
        if step.station < 0 or step.element < 0 or found is None or found[1] < 0:
            return None
        station = self._station(step)
        return (*station.work, *station.extra)[found[1]]

    def _station(self, step: Any) -> Station:
        name = self.flat.names.stations[step.station]
        return next(station for station in self.flat.cell.stations if station.name == name)

    def _of_step(self, x: int) -> str:
        """The name of the point where step `x` is done; empty where that is wherever its people are."""
        step = self.flat.state.steps[x]
        if step.point >= 0:
            return str(self.flat.names.points[step.point])
        element = self._element(x)
        if element is not None and element.at:
            return element.at
        if step.station < 0:
            return ""
        what = OWN_PLACE.get(step.kind, "")
        if what == "station":
            return str(self.flat.names.stations[step.station])
        station = self._station(step)
        if what == "input":
            return station.takes[0][0]
        return station.outlets[0].store if what == "outlet" else ""

    def of_job(self, c: L.State, j: int) -> int:
        """Where the people and robots of job `j` are needed; -1 where that is wherever they are."""
        flat = self.flat
        if j >= c.supply_base:
            stock = c.supplies[j - c.supply_base].stock
            if stock < 0:
                return self.named(FINISHED)
            return self.machine(c.takers[c.stocks[stock].first_taker])
        if j >= c.errand_base:
            errand = c.errands[j - c.errand_base]
            if errand.kind == L.MOVE:
                robot = next(r for r in flat.cell.robots if r.name == flat.names.actors[errand.robot])
                move = robot.moves[j - c.errand_base - c.actors[errand.robot].first_errand]
                placing = c.jobs[j].step > errand.first_step
                at, machine = (move.end, errand.target) if placing else (move.start, errand.source)
                return self.named(at, machine)
            return self.named(self._steps[c.jobs[j].step])
        if c.repair_base <= j < c.inside_base:
            stop = c.stops[j - c.repair_base]
            if stop.point >= 0:
                return self.named(flat.names.points[stop.point], -1 if stop.of_actor else stop.target)
            return self.actor(stop.target) if stop.of_actor else self.machine(stop.target)
        i = j - c.inside_base if j >= c.inside_base else j % c.machine_count
        return self.named(self._steps[c.jobs[j].step], i)
