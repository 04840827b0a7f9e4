"""The SimPy clock: due events of the rulebook are SimPy events, and the rules run as ordinary Python.

A user may attach own SimPy processes (a cart, a visitor): they live in the same environment (`run.env`) and
may read the state of the run.  At one instant all due events of the rulebook happen in their order, then
everything that can start does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import simpy
from simpy.events import Event

from cellsim.engine import layout as L
from cellsim.engine.model import fresh, make_room
from cellsim.engine.rules.instant import fire, settle
from cellsim.engine.rules.ledger import note_areas
from cellsim.engine.rules.path import walk_back
from cellsim.engine.rules.run import bring_up_to, count_from_now, open_run, watch_for_standstill
from cellsim.engine.tables import FlatCell

OWN_PROCESSES = 2  # SimPy's own priorities are 0 and 1; the rulebook's events come after them


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
        self.state = fresh(flat, seed, replication, trace=trace, scratch=scratch)
        self.env = simpy.Environment()
        self._happens: list[Any] = [
            self._happen
        ]  # SimPy takes this list from an event and gives it back to none
        self._spare: list[Due] = []  # due events that have happened
        self.exits: list[tuple[int, int, int]] = []  # (time, time of entry, outlet) of each unit that left
        self.notes: list[tuple[int, int, int, int]] = []
        open_run(self.state)
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
        if c.free_parts < c.parts_needed or c.exit_count > c.exits_most or c.note_count > c.notes_most:
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
            watch_for_standstill(c)

    def _make_room(self) -> None:
        """Between two due events: room for new units, full logs emptied."""
        c = self.state
        if c.free_parts < c.parts_needed:
            make_room(c, 2 * len(c.parts) + c.parts_needed)
        if c.exit_count > c.exits_most or c.note_count > c.notes_most:
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
        bring_up_to(c, until)
        self.drain()

    def areas_at(self, borders: Sequence[int]) -> np.ndarray:
        """Run up to the last of these moments, at most MOST_BORDERS; the integrals at each of them.

        Rows of unit-us since the start: of work in progress, then of the level of each store.
        """
        c = self.state
        c.borders[: len(borders)] = borders
        c.border_count, c.border_next = len(borders), 0
        for border in borders:
            self.advance(border)
            note_areas(c)
        return np.array(c.areas, dtype=np.int64).reshape(L.MOST_BORDERS, -1)[: len(borders)]

    def take_exits(self) -> np.ndarray:
        """The exits as rows (time, time of entry, outlet), which are forgotten here."""
        rows = np.array(self.exits, dtype=np.int64).reshape(-1, 3)
        self.exits.clear()
        return rows

    def count_from_now(self) -> None:
        """Counting starts now: what has left and the highest levels so far do not count."""
        self.exits.clear()
        count_from_now(self.state)

    def walk_back(self, *, counted: bool = False) -> tuple[list[int], list[int]]:
        """Time by cause and its planned part along the path, from the start of the run to the last good unit.

        `counted`: only from where counting started.
        """
        c = self.state
        walk_back(c, int(counted))
        return list(c.walked), list(c.walked_plans)

    @property
    def leftover(self) -> L.State:
        """What the next run of the same cell may use as `scratch`, once nobody reads this one any more."""
        return self.state

    @property
    def stalled_at(self) -> int:
        """When nothing could ever start again, or -1."""
        return int(self.state.stalled_at)
