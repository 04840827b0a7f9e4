"""The compiled clock: the rulebook's own code compiled by numba, with a list of due events of its own.

It needs numba, and nothing else imports it: see `clocks`.  The compiled code depends on no cell and is kept
on disk, so that it is made once on a machine for each version of the rules.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import FunctionType
from typing import Any

import numpy as np
from numba.core import types

from cellsim.engine import compiled_code
from cellsim.engine.layout import KIND_STEP, MOST_BORDERS
from cellsim.engine.native_rows import record_at
from cellsim.engine.native_state import NativeState, Template, View
from cellsim.engine.rules.instant import fire, settle
from cellsim.engine.rules.ledger import note_areas
from cellsim.engine.rules.path import walk_back
from cellsim.engine.rules.run import bring_up_to, count_from_now, open_run, watch_for_standstill
from cellsim.engine.tables import FlatCell

# What `drive` is asked for, and what it answers.
OPEN, ADVANCE, COUNT, WALK = 0, 1, 2, 3
DONE, MORE_ROOM = 0, 1

# An event's place among those of its instant: kind and who first, then the order in which they were expected.
SERIAL_BITS = 36
KIND_BITS = KIND_STEP.bit_length() - 1
NOTHING_DUE = 1 << 62


def push(c: Any, at: int, key: int, version: int) -> None:
    """One more due event; the earliest stays in front (a binary heap: Williams 1964, CACM 7, 347-348)."""
    k = c.agenda_count
    c.agenda_count = k + 1
    agenda = c.agenda
    while k > 0:
        above = (k - 1) >> 1
        a = agenda[above]
        if a.at < at or (a.at == at and a.key < key):
            break
        b = agenda[k]
        b.at = a.at
        b.key = a.key
        b.version = a.version
        k = above
    e = agenda[k]
    e.at = at
    e.key = key
    e.version = version


def pop(c: Any) -> None:
    """The earliest due event is taken away."""
    count = c.agenda_count - 1
    c.agenda_count = count
    agenda = c.agenda
    last = agenda[count]
    at = last.at
    key = last.key
    version = last.version
    k = 0
    while True:
        child = 2 * k + 1
        if child >= count:
            break
        e = agenda[child]
        if child + 1 < count:
            other = agenda[child + 1]
            if other.at < e.at or (other.at == e.at and other.key < e.key):
                child += 1
                e = other
        if at < e.at or (at == e.at and key < e.key):
            break
        above = agenda[k]
        above.at = e.at
        above.key = e.key
        above.version = e.version
        k = child
    e = agenda[k]
    e.at = at
    e.key = key
    e.version = version


def take_over(c: Any) -> bool:
    """What the rules expect goes into the list of due events; False where that needs more room first."""
    if c.agenda_count + c.due_count > c.agenda_most:
        return False
    for k in range(c.due_count):
        d = c.due[k]
        push(c, d.at, ((((d.kind << KIND_BITS) + d.who) << SERIAL_BITS) + c.serial), d.version)
        c.serial += 1
    c.due_count = 0
    return True


def needs_room(c: Any) -> bool:
    """Whether the next due event, or what starts after it, might write beyond a list."""
    return bool(c.free_parts < c.parts_needed or c.exit_count > c.exits_most or c.note_count > c.notes_most)


def advance(c: Any, until: int) -> int:
    """Everything up to and including time `until`, or up to where more room is needed."""
    while take_over(c):
        first = c.agenda[0]
        at = first.at if c.agenda_count > 0 else NOTHING_DUE
        if at != c.now and c.settled == 0:
            settle(c)
            watch_for_standstill(c)
            c.settled = 1
        elif at > until:
            return DONE
        elif needs_room(c):
            return MORE_ROOM
        else:
            c.now = at
            c.settled = 0
            c.events += 1
            event = first.key >> SERIAL_BITS
            version = first.version
            pop(c)
            fire(c, event >> KIND_BITS, event & (KIND_STEP - 1), version)
    return MORE_ROOM


def drive(address: int, wanted: int, time: int) -> int:
    """Do what is wanted with the record at a memory address; whether it is done or more room is needed."""
    c: Any = record_at(address)  # type: ignore[call-arg]  # numba gives the first argument
    if wanted == OPEN:
        open_run(c)
        c.settled = 1
    elif wanted == ADVANCE:
        while c.border_next < c.border_count:
            border = c.borders[c.border_next]
            if advance(c, border) == MORE_ROOM:
                return MORE_ROOM
            bring_up_to(c, border)
            note_areas(c)
        if advance(c, time) == MORE_ROOM:
            return MORE_ROOM
        bring_up_to(c, time)
    elif wanted == COUNT:
        count_from_now(c)
    else:
        walk_back(c, time)
    return DONE


CLOCK: list[FunctionType] = [push, pop, take_over, needs_room, advance, drive]  # type: ignore[list-item]
SIGNATURE = (types.int64, types.int64, types.int64)


class CompiledRun:
    """One replication under the compiled clock: `advance` to a time, read `state`, advance further."""

    def __init__(
        self,
        flat: FlatCell,
        seed: int,
        replication: int,
        *,
        trace: bool = False,
        scratch: NativeState | None = None,
    ) -> None:
        self.flat = flat
        self.leftover = scratch or NativeState(Template(flat))
        self.leftover.restart(flat, seed, replication, trace=trace)
        self._exits: list[Any] = []  # pieces of rows (time, time of entry, outlet) of the units that left
        self.notes: list[tuple[int, int, int, int]] = []
        self._drive = self.prepare()
        self._view: View | None = None
        self._call(OPEN)

    @staticmethod
    def prepare(announce: Callable[[str], None] | None = None) -> Any:
        """The compiled code: read from disk, or compiled and written there; `announce` is told of that."""
        return compiled_code.load(drive, CLOCK, SIGNATURE, announce)

    def _call(self, wanted: int, time: int = 0) -> None:
        self._view = None
        while self._drive(self.leftover.address, wanted, time) == MORE_ROOM:
            self._make_room()

    def _make_room(self) -> None:
        """Between two due events: room for new units and due events, full logs emptied."""
        memory, c = self.leftover, self.leftover.record[0]
        if c["free_parts"] < c["parts_needed"]:
            memory.make_room("parts", 2 * len(memory.arrays["parts"]) + int(c["parts_needed"]))
        if c["agenda_count"] + c["due_count"] > c["agenda_most"] // 2:
            memory.make_room("agenda", 2 * int(c["agenda_most"] + c["due_count"]))
        self.drain()

    def drain(self) -> None:
        """Move what the rules logged to `exits` and `notes`."""
        c, arrays = self.leftover.record, self.leftover.arrays
        if c["exit_count"][0]:
            rows = arrays["exits"][: int(c["exit_count"][0])]
            self._exits.append(np.stack([rows[name] for name in ("at", "entered", "store")], axis=1))
            c["exit_count"] = 0
        if c["note_count"][0]:
            self.notes += arrays["notes"][: int(c["note_count"][0])].tolist()
            c["note_count"] = 0

    def advance(self, until: int) -> None:
        """Run up to and including time `until` (microseconds); totals are brought up to that instant."""
        self._call(ADVANCE, until)
        self.drain()

    def areas_at(self, borders: Sequence[int]) -> np.ndarray:
        """Run up to the last of these moments, at most MOST_BORDERS; the integrals at each of them.

        Rows of unit-us since the start: of work in progress, then of the level of each store.
        """
        memory, count = self.leftover, len(borders)
        memory.arrays["borders"][:count] = borders
        memory.record["border_count"], memory.record["border_next"] = count, 0
        self._call(ADVANCE, borders[-1])
        areas: np.ndarray = memory.arrays["areas"].reshape(MOST_BORDERS, -1)[:count]
        return areas

    @property
    def exits(self) -> list[tuple[int, int, int]]:
        """(time, time of entry, outlet) of each unit that left."""
        return [(at, entered, store) for rows in self._exits for at, entered, store in rows.tolist()]

    def take_exits(self) -> np.ndarray:
        """The exits as rows, which are forgotten here."""
        rows = np.concatenate(self._exits) if self._exits else np.empty((0, 3), dtype=np.int64)
        self._exits.clear()
        return rows

    def count_from_now(self) -> None:
        """Counting starts now: what has left and the highest levels so far do not count."""
        self._exits.clear()
        self._call(COUNT)

    def walk_back(self, *, counted: bool = False) -> tuple[list[int], list[int]]:
        """Time by cause and its planned part along the path, from the start of the run to the last good unit.

        `counted`: only from where counting started.
        """
        view = self._view
        self._call(WALK, int(counted))
        self._view = view  # nothing but the sums has changed
        arrays = self.leftover.arrays
        return arrays["walked"].tolist(), arrays["walked_plans"].tolist()

    @property
    def state(self) -> View:
        """The state at this moment; read it anew after each advance."""
        if self._view is None:
            self._view = View(self.leftover)
        return self._view

    @property
    def stalled_at(self) -> int:
        """When nothing could ever start again, or -1."""
        return int(self.leftover.record["stalled_at"][0])
