"""Run a cell given as text and read off what happened, in whole microseconds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from both_clocks import BothClocks

from cellsim.describe.cell import FINISHED
from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.published.entry import Published
from cellsim.published.table import TABLE
from cellsim.study.audit import audit

SECOND = 1_000_000
MINUTE = 60 * SECOND

States = Mapping[str, Mapping[str, float]]


def exactly(amount: float, unit: int = MINUTE) -> int:
    """A number of minutes (or other units) that must be a whole number of microseconds."""
    value = Fraction(str(amount)) * unit
    assert value.denominator == 1, f"{amount} is no whole number of microseconds"
    return int(value)


def minutes(*amounts: float) -> list[int]:
    """Minutes as microseconds."""
    return [exactly(amount) for amount in amounts]


def in_units(table: States, unit: int = MINUTE) -> dict[str, dict[str, int]]:
    """A table of minutes (or other units) by name and state, in microseconds."""
    return {
        name: {state: exactly(amount, unit) for state, amount in row.items()} for name, row in table.items()
    }


@dataclass
class Traced:
    """A run under both clocks that can be advanced and asked; every advance checks the laws of any run."""

    both: BothClocks

    @property
    def run(self) -> SimpyRun:
        """The run under the readable clock."""
        return self.both.plain

    def advance(self, until: int) -> Traced:
        """Run up to and including `until` microseconds, under both clocks, which must do the same."""
        self.run.advance(until)
        assert audit(self.run) == []
        self.both.compiled.advance(until)
        self.both.compare()
        return self

    def _exits(self, outlet: str) -> Iterable[tuple[int, int]]:
        store = self.run.flat.names.stores.index(outlet)
        return ((at, entered) for at, entered, s in self.run.exits if s == store)

    def left(self, outlet: str = FINISHED) -> list[int]:
        """When units left the cell through an outlet, in order."""
        return [at for at, _ in self._exits(outlet)]

    def stays(self, outlet: str = FINISHED) -> list[int]:
        """How long the units that left through an outlet had been in the cell."""
        return [at - entered for at, entered in self._exits(outlet)]

    def states(self) -> dict[str, dict[str, int]]:
        """Time in each state of every machine; states that did not occur are left out."""
        return _totals(self.run.flat.names.machines, self.run.state.machines, L.MACHINE_STATES)

    def actors(self) -> dict[str, dict[str, int]]:
        """Time in each state of every person and robot; states that did not occur are left out."""
        return _totals(self.run.flat.names.actors, self.run.state.actors, L.ACTOR_STATES)

    def said(self, what: int, machine: str = "") -> list[int]:
        """The instants at which the trace notes `what` (of one machine, if one is named)."""
        names = self.run.flat.names.machines
        return [
            at
            for at, kind, who, _ in self.run.notes
            if kind == what and (not machine or names[who] == machine)
        ]

    def made_on(self) -> list[str]:
        """The machine from which each unit left the cell."""
        names = self.run.flat.names.machines
        return [names[who] for _, what, who, _ in self.run.notes if what == L.N_LEAVES]

    def path(self) -> dict[tuple[str, str], int]:
        """Time on the path to the last good unit by cause, (who, what); causes not on it are left out."""
        totals, _ = self.run.walk_back()
        return {cause: time for cause, time in zip(self.run.flat.names.causes, totals, strict=True) if time}

    def level(self, store: str) -> int:
        """Units in a store now."""
        return int(self.run.state.stores[self.run.flat.names.stores.index(store)].level)

    def cycles(self) -> dict[str, int]:
        """Cycles of every machine that have ended."""
        machines = zip(self.run.flat.names.machines, self.run.state.machines, strict=True)
        return {name: m.cycles for name, m in machines}


def _totals(names: Sequence[str], rows: Sequence[Any], states: Sequence[str]) -> dict[str, dict[str, int]]:
    return {
        name: {state: total for state, total in zip(states, row.totals, strict=True) if total}
        for name, row in zip(names, rows, strict=True)
    }


def run_text(text: str, until: float = 0, unit: int = MINUTE, seed: int = 1, replication: int = 0) -> Traced:
    """Run the cell of a text for `until` minutes (or other units), with the trace on."""
    cell = load_text(text)
    return Traced(BothClocks(compile_cell(cell), seed, replication)).advance(exactly(until, unit))


@dataclass(frozen=True)
class Trace:
    """A cell worked out by hand: what leaves when, and what everybody did up to the horizon."""

    name: str
    text: str
    horizon: float
    left: Sequence[float]  # when the first units leave, perhaps beyond the horizon
    count: int  # how many have left at the horizon, one at the very horizon included
    states: States
    actors: States = field(default_factory=dict)
    made_on: Sequence[str] = ()
    unit: int = MINUTE


PUBLISHED = {entry.id: entry for entry in TABLE}


def listed(entry: Published) -> list[int]:
    """The numbers of an exact trace of the table of known results, in microseconds."""
    assert isinstance(entry.value, tuple)
    return [exactly(at, SECOND if entry.unit == "s" else MINUTE) for at in entry.value]


def known(
    id: str,
    horizon: float,
    count: int,
    states: States,
    actors: States | None = None,
    made_on: Sequence[str] = (),
) -> Trace:
    """A trace of the table of known results (its cell and its times), and what everybody did meanwhile."""
    entry = PUBLISHED[id]
    assert isinstance(entry.value, tuple)
    unit = SECOND if entry.unit == "s" else MINUTE
    return Trace(id, entry.cell, horizon, entry.value, count, states, actors or {}, made_on, unit)


def check(trace: Trace) -> Traced:
    """Run a trace and compare everything it says, to the microsecond; returns the run for more questions."""
    traced = run_text(trace.text, trace.horizon, trace.unit)
    at_horizon = traced.left()
    assert traced.states() == in_units(trace.states, trace.unit)
    assert traced.actors() == in_units(trace.actors, trace.unit)
    assert len(at_horizon) == trace.count
    expected = [exactly(at, trace.unit) for at in trace.left]
    traced.advance(max(expected[-1], exactly(trace.horizon, trace.unit)))
    assert traced.left()[: len(expected)] == expected
    assert traced.left()[: len(at_horizon)] == at_horizon
    assert traced.made_on()[: len(trace.made_on)] == list(trace.made_on)
    return traced
