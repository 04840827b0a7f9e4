"""One replication after the other of one cell, in whichever process it lives."""

from __future__ import annotations

from collections import deque
from typing import Any

from cellsim.describe.cell import FINISHED, Cell
from cellsim.engine.clocks import SIMPY, clock_named
from cellsim.engine.layout import MOST_BORDERS
from cellsim.engine.levels import LevelBook
from cellsim.engine.locked_part import locked_part
from cellsim.engine.model import compile_cell
from cellsim.engine.record import (
    ExitCounter,
    Record,
    counted_path,
    dead_ends,
    fill,
    read,
    standstill,
)
from cellsim.engine.tables import FlatCell, natural
from cellsim.study.audit import audit, levels_add_up
from cellsim.study.plan import Plan, make_plan
from cellsim.units import HOUR

CHUNK_TIME = 24 * HOUR  # how far a run goes before what it logged is counted


class Worker:
    """Runs replications of one cell one after the other, in whichever process it lives."""

    def __init__(self, cell: Cell, clock: str = SIMPY) -> None:
        self.clock = clock_named(clock)
        self.flat: FlatCell = compile_cell(cell)
        self.plan: Plan = make_plan(cell)
        self._scratch: Any = None

    def replicate(self, seed: int, replication: int) -> Record:
        """One replication from the start of the run to the end of the counted time."""
        flat, plan = self.flat, self.plan
        run = self.clock(flat, seed, replication, scratch=self._scratch)
        record = Record(replication, hourly=[0] * len(plan.hours), ended_at=plan.horizon)
        outlet = flat.names.stores.index(FINISHED)
        starts, ends = [hour.start for hour in plan.hours], [hour.end for hour in plan.hours]
        levels = LevelBook(flat, len(plan.ends))
        borders = deque(plan.ends)
        if plan.counted_from:  # else what happens at the first instant counts
            self._go(run, plan.counted_from, borders, levels)
        before = read(run.state)
        counter = ExitCounter(record, starts, ends, outlet)
        run.count_from_now()
        at = plan.counted_from
        while at < plan.horizon:
            at = min(plan.horizon, at + CHUNK_TIME)
            self._go(run, at, borders, levels)
            counter.take(run)
            if run.stalled_at >= 0 and record.reason == "horizon":
                record.circle = standstill(run.state, flat.names)
                record.full = sorted({flat.names.stores[s] for _, s in dead_ends(run.state)}, key=natural)
                if record.circle:
                    record.reason, record.ended_at = "locked", run.stalled_at
            if record.reason == "horizon" and (part := locked_part(run.state, flat.names)) is not None:
                record.reason, record.ended_at = "locked", part.since
                record.circle, record.full = part.words, part.full
        c = run.state
        fill(record, before, read(c))
        levels.fill(record)
        record.highest = [store.highest for store in c.stores]
        record.wip_highest, record.inside, record.events = c.wip_highest, c.wip, c.events
        record.path, record.path_plans, record.path_elapsed = counted_path(run)
        record.path_forced = c.path_forced
        record.violations = [*audit(run), *levels_add_up(flat, plan, record)]
        if sum(record.path) != record.path_elapsed:
            record.violations.append(
                f"the counted path adds up to {sum(record.path)} of {record.path_elapsed} us"
            )
        self._scratch = run.leftover
        return record

    @staticmethod
    def _go(run: Any, until: int, borders: deque[int], levels: LevelBook) -> None:
        """Run up to and including `until`; each interval that ends by then is closed at its end."""
        due = 0
        while due < len(borders) and borders[due] <= until:
            due += 1
        for first in range(0, due, MOST_BORDERS):
            levels.close(run, [borders.popleft() for _ in range(min(MOST_BORDERS, due - first))])
        run.advance(until)
