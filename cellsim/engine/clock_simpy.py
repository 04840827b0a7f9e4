"""The SimPy clock: due events of the rulebook are SimPy events, and the rules run as ordinary Python.

A user may attach own SimPy processes (a cart, a visitor): they live in the same environment (`run.env`) and
may read the state of the run.  At one instant all due events of the rulebook happen in their order, then
everything that can start does.
"""

from __future__ import annotations

from typing import Any

import simpy
from simpy.events import Event

from cellsim.engine import layout as L
from cellsim.engine.model import fresh, give_parts
from cellsim.engine.rules.calendar import expect_edge
from cellsim.engine.rules.carriers import close_carriers
from cellsim.engine.rules.handover import free_cards
from cellsim.engine.rules.instant import expect_arrival, fire, settle
from cellsim.engine.rules.ledger import close_ledgers
from cellsim.engine.rules.material import expect_hour, open_supplies
from cellsim.engine.rules.order import wake, wake_actor
from cellsim.engine.rules.stations import prime
from cellsim.engine.rules.stops import open_stop
from cellsim.engine.rules.stores import put
from cellsim.engine.rules.teams import open_duties
from cellsim.engine.rules.units import new_unit, start_plan
from cellsim.engine.rules.windows import expect_clock
from cellsim.engine.tables import FlatCell
from cellsim.engine.tables_variants import starting_units

OWN_PROCESSES = 2  # SimPy's own priorities are 0 and 1; the rulebook's events come after them
ROOM_FOR_EXITS = 256


class Due(Event):
    """A due event of the rulebook; once it has happened it serves again for a later one."""

    __slots__ = ("at", "kind", "version", "who")
    at: int
    kind: int
    version: int
    who: int

    def __init__(self, env: simpy.Environment) -> None:
        super().__init__(env)
        self._ok = True
        self._value = None


class SimpyRun:
    """One replication under SimPy: `advance` to a time, read `state`, advance further."""

    def __init__(
        self,
        flat: FlatCell,
        seed: int,
        replication: int,
        *,
        trace: bool = False,
        scratch: L.State | None = None,
    ) -> None:
        self.flat = flat
        self.state = fresh(flat, seed, replication, scratch)
        self.env = simpy.Environment()
        self._happens: list[Any] = [
            self._happen
        ]  # SimPy takes this list from an event and gives it back to none
        self._spare: list[Due] = []  # due events that have happened
        self.exits: list[tuple[int, int, int]] = []  # (time, time of entry, outlet) of each unit that left
        self.notes: list[tuple[int, int, int, int]] = []
        self.stalled_at = -1  # when nothing could ever start again, or -1
        self._margin = 64 + 2 * sum(
            (station.batch.size if station.batch else station.gives) * station.machines
            for station in flat.cell.stations
        )
        c = self.state
        if trace:
            c.tracing = 1
            c.notes = L.rows("note", 4096)
        self._exits = (
            len(c.exits) - ROOM_FOR_EXITS
        )  # the most lines that may stand in the logs between instants
        self._notes = len(c.notes) // 2
        self._open()

    def _open(self) -> None:
        """Time 0: what stands in the stores, first stops, first edges; everybody may start."""
        c = self.state
        for p in range(c.plan_count):
            start_plan(c, p)
        units = starting_units(self.flat)
        give_parts(c, c.parts_made + len(units))
        for s, variant in units:
            put(c, s, new_unit(c, 0, variant, -1), 0, 0)
        for s in range(c.station_count):
            expect_clock(c, s)
        if c.primed:
            give_parts(c, c.parts_made + c.machine_count)
            prime(c)
        open_duties(c)
        for k in range(c.stop_count):
            open_stop(c, k)
        for k in range(c.calendar_count):
            expect_edge(c, k)
        give_parts(c, c.parts_made + c.card_limit)
        free_cards(c, 0)
        expect_arrival_at_start(c)
        open_supplies(c)
        for i in range(c.machine_count):
            wake(c, i)
        for a in range(c.actor_count):
            wake_actor(c, a)
        settle(c)
        self._schedule()

    def _schedule(self) -> None:
        """Hand what the rules expect over to SimPy."""
        c, env, spare = self.state, self.env, self._spare
        now = c.now
        for k in range(c.due_count):
            d = c.due[k]
            event = spare.pop() if spare else Due(env)
            event.callbacks = self._happens
            event.at = d.at
            event.kind = d.kind
            event.who = d.who
            event.version = d.version
            env.schedule(event, OWN_PROCESSES + d.kind * L.KIND_STEP + d.who, d.at - now)
        c.due_count = 0

    def _happen(self, event: Due) -> None:
        """A due event: fire it, and after the last of this instant let everything start."""
        c = self.state
        now = event.at
        if now != c.now:
            if c.free_parts < self._margin or c.exit_count > self._exits or c.note_count > self._notes:
                self._make_room()
            c.now = now
        c.events += 1
        fire(c, event.kind, event.who, event.version)
        self._spare.append(event)
        if c.due_count:
            self._schedule()
        if self.env.peek() != now:
            settle(c)
            if c.due_count:
                self._schedule()
            if c.active == c.standing_waits and self.stalled_at < 0 and is_stalled(c):
                self.stalled_at = now

    def _make_room(self) -> None:
        """Between two instants: room for new units, full logs emptied."""
        c = self.state
        if c.free_parts < self._margin:
            give_parts(c, 2 * c.parts_made + self._margin)
        if c.exit_count > self._exits or c.note_count > self._notes:
            self.drain()

    def drain(self) -> None:
        """Move what the rules logged to `exits` and `notes`."""
        c = self.state
        for k in range(c.exit_count):
            x = c.exits[k]
            self.exits.append((x.at, x.entered, x.store))
        c.exit_count = 0
        for k in range(c.note_count):
            n = c.notes[k]
            self.notes.append((n.at, n.what, n.who, n.other))
        c.note_count = 0

    def advance(self, until: int) -> None:
        """Run up to and including time `until` (microseconds); totals are brought up to that instant."""
        c, env = self.state, self.env
        step, peek = env.step, env.peek
        while peek() <= until:
            step()
        self._make_room()
        c.now = until
        close_ledgers(c)
        close_carriers(c)
        self.drain()


def expect_arrival_at_start(c: Any) -> None:
    """The first raw unit of a release by interval comes at the start, of a plan when the plan says."""
    if c.hourly_count > 0:
        expect_hour(c)
    elif c.release_law >= 0:
        c.due[c.due_count].at = 0
        c.due[c.due_count].kind = L.ARRIVAL
        c.due[c.due_count].who = 0
        c.due_count += 1
    elif c.release_count > 0:
        expect_arrival(c)


def something_will_come(c: Any) -> bool:
    """Whether a delivery that comes every so often is waited for, or a collection has something to take."""
    if any(machine.lacks >= 0 for machine in c.machines):
        return bool(c.standing_waits)
    outlets = (c.stores[supply.store] for supply in c.supplies if supply.store >= 0)
    return any(store.level > 0 for store in outlets)


def is_stalled(c: Any) -> bool:
    """Whether nothing can ever start again although everybody is there and everything works.

    Raw units that are still to come change nothing where all that take them stand with a finished unit.
    """
    if c.hourly_count > 0 or something_will_come(c):
        return False
    if c.release_law >= 0 or (c.release_count > 0 and c.now < c.arrivals[c.release_count - 1]):
        store = c.stores[c.release_store]
        takers = c.takers[store.first_taker : store.first_taker + store.takers]
        if any(c.machines[i].progress != L.DONE for i in takers):
            return False
    if any(calendar.state != L.ON for calendar in c.calendars) or any(stop.active for stop in c.stops):
        return False
    if any(actor.returns or actor.turns or actor.duty == L.ABSENT for actor in c.actors):
        return False
    if any(zone.restarting for zone in c.zones) or c.carriers_coming:
        return False
    if any(station.clocks or station.wait_noted > c.now for station in c.stations):
        return False
    if any(store.late_noted or (store.gathering and store.delay) for store in c.stores):
        return False
    if any(store.gathering and store.tray_waits >= 0 for store in c.stores):
        return False
    if any(
        stop.clock == L.ON_TIME and stop.part == L.IS_SCRAPPED and c.machines[stop.target].in_work
        for stop in c.stops
    ):
        return False  # only the clock of on time counts while nobody works: it will free the machine
    careful = any(actor.careful for actor in c.actors)  # may refuse now what they start after the break
    return not (careful and any(job.state == L.CALLING for job in c.jobs))
