"""Run the table of known results: every cell once, as long as its entries need, each entry with a verdict."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import as_completed
from dataclasses import dataclass, replace

from cellsim.describe.resolve import load_text
from cellsim.engine.clocks import COMPILED, SIMPY, prepare
from cellsim.engine.compiled_code import is_available
from cellsim.published.entry import Published, Value
from cellsim.published.measures import REPLICATED, TRACED
from cellsim.published.replication import Replication
from cellsim.published.verdicts import FULL, QUICK, judge, level_of, same
from cellsim.study.broken import stop_if_broken
from cellsim.study.processes import are_copies, worker_processes
from cellsim.study.worker import Worker

RESERVE = 1.05  # replications beyond the forecast, so that the next look is mostly the last
LOOKS = 8  # after so many looks what is not sharp is told

Group = tuple[Published, ...]


@dataclass(frozen=True, slots=True)
class Simulated:
    """What the simulator finds for an entry: the mean of all replications, or a trace.

    A trace has no interval.  `half_width` is relative; `sharp` says whether it is as small as was asked.
    """

    value: Value
    agrees: bool
    interval: tuple[float, float] | None = None
    half_width: float | None = None
    sharp: bool = True
    replications: int = 1


@dataclass(frozen=True, slots=True)
class Check:
    """One entry beside what this program finds, simulated and on paper; None where there is no such way."""

    entry: Published
    simulated: Simulated | None
    paper: Value | None

    @property
    def agrees(self) -> bool:
        """Whether everything that was found is the known value."""
        return (self.simulated is None or self.simulated.agrees) and (
            self.paper is None or same(self.paper, self.entry.value, self.entry.rounding)
        )


def by_cell(entries: Sequence[Published]) -> list[Group]:
    """Entries of the same cell together, since they share its runs; each formula without a cell alone."""
    groups: dict[str, list[Published]] = {}
    for entry in entries:
        groups.setdefault(entry.cell or entry.id, []).append(entry)
    return [tuple(group) for group in groups.values()]


def level_for(table: Sequence[Published]) -> float:
    """Confidence of the intervals of a whole table."""
    return level_of(sum(entry.is_random for entry in table))


def largest_half_width(entry: Published, full: bool) -> float:
    """How sharp the verdict on an entry must be, relative."""
    return FULL if full and not entry.full_only else QUICK


def simulate(group: Group, level: float, full: bool = False) -> list[Simulated | None]:
    """What the simulator finds for the entries of one cell.

    The quick set runs what the cell asks for.  The full set adds replications, as many as the width of the
    intervals so far forecasts, until all are sharp.

    Raises:
        AuditFailure: a run broke one of its own laws.
    """
    if not group[0].cell:
        return [None for _ in group]
    cell = load_text(group[0].cell)
    random = [entry for entry in group if entry.is_random]
    values = _replicate(random, level, full) if random else []
    means = dict(zip((entry.id for entry in random), values, strict=True))
    found: list[Simulated | None] = []
    for entry in group:
        if entry.is_random:
            found.append(means[entry.id])
        else:
            trace = TRACED[entry.quantity](cell, entry.of)
            found.append(Simulated(trace, same(trace, entry.value, entry.rounding)))
    return found


def _replicate(entries: Sequence[Published], level: float, full: bool) -> list[Simulated]:
    """The verdicts on entries of one cell, from its replications."""
    cell = load_text(entries[0].cell)
    worker = Worker(cell, COMPILED if is_available() else SIMPY)
    measured: list[list[float]] = [[] for _ in entries]
    wanted = cell.study.replications or 0
    for look in range(LOOKS):
        for k in range(len(measured[0]), wanted):
            record = worker.replicate(cell.study.seed, k)
            stop_if_broken([record], cell.study.seed, entries[0].id)
            for values, entry in zip(measured, entries, strict=True):
                one = Replication(worker.flat, worker.plan, record, entry.of)
                values.append(REPLICATED[entry.quantity](one))
        verdicts = [judge(entry, values, level) for entry, values in zip(entries, measured, strict=True)]
        wider = max(
            verdict.half_width / largest_half_width(entry, full)
            for verdict, entry in zip(verdicts, entries, strict=True)
        )
        if not full or wider <= 1 or look == LOOKS - 1:
            break
        wanted = math.ceil(RESERVE * wanted * wider**2)
    return [
        Simulated(
            verdict.mean,
            verdict.agrees,
            (verdict.low, verdict.high),
            verdict.half_width,
            verdict.half_width <= largest_half_width(entry, full),
            len(measured[0]),
        )
        for verdict, entry in zip(verdicts, entries, strict=True)
    ]


def checked(entry: Published, simulated: Simulated | None) -> Check:
    """An entry with what the simulator has found and what the formula gives."""
    return Check(entry, simulated, entry.formula() if entry.formula else None)


def run_table(
    table: Sequence[Published],
    chosen: Sequence[Published],
    *,
    full: bool = False,
    workers: int = 1,
    show: Callable[[Check], None] | None = None,
    announce: Callable[[str], None] | None = None,
) -> list[Check]:
    """Check the chosen entries of a table; the false alarms allowed are shared out over the whole table.

    The checks come back in the order of `chosen`.  `show` is called with each of them as soon as it is there,
    `announce(text)` before and after the rules are compiled.

    Raises:
        AuditFailure: a run broke one of its own laws.
        KeyboardInterrupt: somebody stopped it; `show` has been called with what was finished.
    """
    level = level_for(table)
    found: dict[str, Check] = {}

    def take(group: Group, simulated: Sequence[Simulated | None]) -> None:
        for entry, one in zip(group, simulated, strict=True):
            found[entry.id] = checked(entry, one)
            if show is not None:
                show(found[entry.id])

    groups = by_cell(chosen)
    if is_available() and any(entry.is_random for entry in chosen):
        prepare(COMPILED, announce, load=workers <= 1 or are_copies())
    if workers <= 1:
        for group in groups:
            take(group, simulate(group, level, full))
    else:
        with worker_processes(workers) as executor:
            under_way = {}
            for group in groups:  # formulas stay here, since not all of them can travel
                bare = tuple(replace(entry, formula=None) for entry in group)
                under_way[executor.submit(simulate, bare, level, full)] = group
            try:
                for future in as_completed(under_way):
                    take(under_way[future], future.result())
            except BaseException:
                for future in under_way:
                    future.cancel()
                raise
    return [found[entry.id] for entry in chosen]
