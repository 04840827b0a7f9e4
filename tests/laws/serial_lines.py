"""Serial lines whose units have their own times at each station, and when units leave which station."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from hypothesis import strategies as st

from cellsim.describe.cell import (
    FINISHED,
    RELEASE,
    Cell,
    Element,
    Law,
    Outlet,
    Release,
    Station,
    Stop,
    Store,
    Study,
)
from cellsim.engine import layout as L
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.model import compile_cell
from cellsim.study.audit import audit

MINUTE = 60_000_000


def listed(times: Sequence[int]) -> Law:
    """These times, in minutes, in turn."""
    return Law("listed", (), tuple(time * MINUTE for time in times))


@dataclass(frozen=True)
class Line:
    """Times in minutes, [station][unit], in the order in which units are begun there, repeated.

    `places` are those behind each station but the last, None = unlimited.  Raw units come at the `arrivals`;
    without any there is always one.  `machines` at each station, one where nothing is said.
    """

    times: tuple[tuple[int, ...], ...]
    places: tuple[int | None, ...]
    arrivals: tuple[int, ...] = ()
    machines: tuple[int, ...] = ()
    stops: tuple[tuple[Stop, ...], ...] = ()

    @property
    def units(self) -> int:
        """Units after which the times begin again."""
        return len(self.times[0])

    def cell(self) -> Cell:
        """The line as a cell: stations S1, S2, ..., and tray 1, tray 2, ... between them."""
        count = len(self.times)
        names = [RELEASE, *(f"tray {i + 1}" for i in range(count - 1)), FINISHED]
        stations = tuple(
            Station(
                name=f"S{i + 1}",
                machines=self.machines[i] if self.machines else 1,
                work=(Element("work", listed(self.times[i])),),
                takes=((names[i], 1),),
                gives=1,
                outlets=(Outlet(names[i + 1]),),
                stops=self.stops[i] if self.stops else (),
            )
            for i in range(count)
        )
        stores = tuple(Store(name, places) for name, places in zip(names[1:-1], self.places, strict=True))
        release = Release("at", at=tuple(at * MINUTE for at in self.arrivals)) if self.arrivals else Release()
        return Cell("line", "", None, (), (), (), stations, stores, release, Study(run=MINUTE))

    def departures(self, units: int) -> list[list[int]]:
        """When the n-th unit leaves each station, [n][station], in minutes.

        With c machines and b places behind them, D[n,i] = max(C(n,i), D[n-b-c',i+1]), where c' are the
        machines of the next station and C(n,i) is the n-th smallest of the ends max(D[j,i-1], D[j-c,i]) +
        S[j,i].  The unit begun as the (n+c)-th cannot end before, so the first n + c - 1 are enough.  With
        one machine each it is the recurrence of Muth 1979, Management Science 25, 152-158 (in this form from
        memory).
        """
        machines = self.machines or (1,) * len(self.times)

        @cache
        def leaves(n: int, i: int) -> int:
            if n < 0 or i == len(self.times):
                return 0
            if i < 0:
                return self.arrivals[n] if self.arrivals else 0
            begun = n + machines[i] if not self.arrivals else min(n + machines[i], len(self.arrivals))
            ends = sorted(ends_of(j, i) for j in range(begun))
            places = self.places[i] if i < len(self.places) else None
            return max(ends[n], 0 if places is None else leaves(n - places - machines[i + 1], i + 1))

        @cache
        def ends_of(j: int, i: int) -> int:
            begins = max(leaves(j, i - 1), leaves(j - machines[i], i))
            return begins + self.times[i][j % len(self.times[i])]

        return [[leaves(n, i) for i in range(len(self.times))] for n in range(units)]

    def reversed(self) -> Line:
        """The same line run backwards: stations, places and the order of units turned round."""
        return Line(tuple(row[::-1] for row in self.times[::-1]), self.places[::-1], self.arrivals)


def left(line: Line, units: int) -> list[list[int]]:
    """When the first so many units leave each station of the simulated line, [station][unit], microseconds.

    With several machines at a station the units are numbered in the order in which they leave it.
    """
    run = CompiledRun(compile_cell(line.cell()), 1, 0, trace=True)
    last = len(line.times) - 1
    horizon = MINUTE
    seen: list[list[int]] = []
    while not seen or len(seen[last]) < units:
        run.advance(horizon)
        horizon *= 2
        seen = [[] for _ in line.times]
        for at, what, who, _ in run.notes:
            if what in (L.N_HANDS_OVER, L.N_LEAVES):
                seen[run.state.machines[who].station].append(at)
        assert horizon < 10**6 * MINUTE, "the line stands still"
    assert audit(run) == []
    return [row[:units] for row in seen]


def no_later(one: list[list[int]], other: list[list[int]]) -> bool:
    """Whether no unit leaves any station later in the one than in the other."""
    assert [*map(len, one)] == [*map(len, other)]
    return all(a <= b for row, rows in zip(one, other, strict=True) for a, b in zip(row, rows, strict=True))


@st.composite
def lines(draw: st.DrawFn, *, arrivals: bool = False, most_machines: int = 1) -> Line:
    """2-6 stations, 1-9 units, whole minutes full of ties, 0-3 or unlimited places."""
    stations, units = draw(st.integers(2, 6)), draw(st.integers(1, 9))
    time = st.integers(0, 6)
    times = [tuple(draw(st.lists(time, min_size=units, max_size=units))) for _ in range(stations)]
    if not any(times[0]) and not arrivals:
        times[0] = (1,) * units  # raw units never run out: some time must pass
    count = stations - 1
    places = draw(st.lists(st.sampled_from((0, 1, 2, 3, None)), min_size=count, max_size=count))
    coming = sorted(draw(st.lists(st.integers(0, 12), min_size=units, max_size=units))) if arrivals else ()
    machines = draw(st.lists(st.integers(1, most_machines), min_size=stations, max_size=stations))
    return Line(tuple(times), tuple(places), tuple(coming), tuple(machines) if most_machines > 1 else ())
