"""More room, shorter times and earlier material never delay anybody: where theory proves it, per departure.

In a line of stations with equal machines, where the n-th unit begun at a station has its own time there and
blocked units stay on their machine, every departure is built from sums, maxima and order statistics of times
(`Line.departures`, held against the simulator in `tests/cases/test_recurrence.py`).  All of these only grow
with the times in them, and one more place or machine takes a term away or lowers it.  So no n-th departure
comes later when a time shrinks, a place or machine is added, or material comes earlier (Shanthikumar & Yao
1989, Stochastic monotonicity in general queueing networks, Journal of Applied Probability 26, 413-417; from
memory).

The last tests show what the theory leaves out: people who serve several stations, and stops after running
time.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scaled_cells import scaled_law
from serial_lines import MINUTE, Line, left, lines, listed, no_later

from cellsim.describe.cell import (
    FINISHED,
    RELEASE,
    Cell,
    Element,
    Law,
    Need,
    Outlet,
    Post,
    Release,
    Station,
    Stop,
    Study,
)
from cellsim.describe.laws import LAWS, make_law, mean
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.model import compile_cell

plainly = settings(max_examples=70, deadline=None, derandomize=True, database=None)

single = st.one_of(lines(), lines(arrivals=True))
any_line = st.one_of(lines(most_machines=3), lines(arrivals=True, most_machines=3))
fed = lines(arrivals=True, most_machines=3)


def changed(row: tuple[Any, ...], k: int, value: Any) -> tuple[Any, ...]:
    """The row with another value at place k."""
    return (*row[:k], value, *row[k + 1 :])


@settings(plainly, max_examples=160)
@given(any_line, st.data())
def test_one_more_place_delays_no_departure(line: Line, data: st.DataObject) -> None:
    """With one more place anywhere no unit leaves any station later."""
    limited = [(k, places) for k, places in enumerate(line.places) if places is not None]
    assume(limited)
    k, places = data.draw(st.sampled_from(limited))
    wider = replace(line, places=changed(line.places, k, places + 1))
    assert no_later(left(wider, line.units), left(line, line.units))


def with_shorter_time(line: Line, data: st.DataObject) -> Line:
    """The line with one time less by one to six minutes."""
    longer = [(i, j) for i, row in enumerate(line.times) for j, time in enumerate(row) if time > 0]
    assume(longer)
    i, j = data.draw(st.sampled_from(longer))
    time = data.draw(st.integers(0, line.times[i][j] - 1))
    return replace(line, times=changed(line.times, i, changed(line.times[i], j, time)))


@plainly
@given(any_line, st.data())
def test_a_shorter_time_delays_no_departure(line: Line, data: st.DataObject) -> None:
    """When one unit needs less time at one station, no unit leaves any station later."""
    shorter = with_shorter_time(line, data)
    assume(any(shorter.times[0]) or line.arrivals)  # raw units without end would come at one instant
    assert no_later(left(shorter, line.units), left(line, line.units))


@plainly
@given(fed, st.data())
def test_an_earlier_raw_unit_delays_no_departure(line: Line, data: st.DataObject) -> None:
    """When one raw unit comes earlier, no n-th unit leaves any station later."""
    late = [k for k, at in enumerate(line.arrivals) if at > 0]
    assume(late)
    k = data.draw(st.sampled_from(late))
    coming = changed(line.arrivals, k, data.draw(st.integers(0, line.arrivals[k] - 1)))
    earlier = replace(line, arrivals=tuple(sorted(coming)))
    assert no_later(left(earlier, line.units), left(line, line.units))


@plainly
@given(fed, st.integers(0, 12), st.data())
def test_one_more_raw_unit_delays_no_departure(line: Line, at: int, data: st.DataObject) -> None:
    """When one more raw unit comes at any time, no n-th unit leaves any station later."""
    more = tuple((*row, data.draw(st.integers(0, 6))) for row in line.times)
    fewer = replace(line, times=more)
    richer = replace(fewer, arrivals=tuple(sorted((*line.arrivals, at))))
    assert no_later(left(richer, line.units), left(fewer, line.units))


@plainly
@given(any_line, st.data())
def test_one_more_machine_delays_no_departure(line: Line, data: st.DataObject) -> None:
    """With one more machine at a station no n-th unit leaves any station later."""
    k = data.draw(st.integers(0, len(line.times) - 1))
    richer = replace(line, machines=changed(line.machines, k, line.machines[k] + 1))
    assert no_later(left(richer, line.units), left(line, line.units))


@plainly
@given(single, st.sampled_from(("running", "cycles")), st.integers(1, 9), st.integers(0, 5), st.data())
def test_a_shorter_repair_delays_no_departure(
    line: Line, clock: Any, every: int, repair: int, data: st.DataObject
) -> None:
    """When a station stops after so much running time, or so many cycles, shorter repairs delay no unit."""
    k = data.draw(st.integers(0, len(line.times) - 1))
    due = Law("fixed", (float(every),)) if clock == "cycles" else listed((every,))

    def stopping(minutes: int) -> Line:
        stop = Stop("jam", due, clock, listed((minutes,)))
        return replace(line, stops=tuple((stop,) if i == k else () for i in range(len(line.times))))

    longer = stopping(repair + data.draw(st.integers(1, 5)))
    assert no_later(left(stopping(repair), line.units), left(longer, line.units))


GAPS = {name: Law("exponential", (1.25 * mean(make_law(name, row.example)),)) for name, row in LAWS.items()}


def leaving(law: Law, gaps: Law, machines: int) -> list[int]:
    """When units leave a station with this law of cycle times that come with these gaps, 200 gaps long."""
    station = Station("S", machines, (Element("work", law),), ((RELEASE, 1),), 1, (Outlet(FINISHED),))
    cell = Cell(
        "one station", "", None, (), (), (), (station,), (), Release("every", gaps), Study(run=MINUTE)
    )
    run = CompiledRun(compile_cell(cell), 1, 0)
    run.advance(round(200 * mean(gaps)))
    return [at for at, _, _ in run.exits]


@pytest.mark.parametrize("machines", [1, 2, 3])
@pytest.mark.parametrize("name", LAWS)
def test_longer_service_never_makes_a_departure_earlier(name: str, machines: int) -> None:
    """With every law of times: 1 % or 20 % longer times, drawn with the same luck, and the same arrivals.

    A load of 80 % for one machine, 96 % with 20 % more: the queue, which waits without limit, is long enough
    for one longer time to reach many departures.
    """
    law = make_law(name, LAWS[name].example)
    base = leaving(law, GAPS[name], machines)
    assert len(base) > 120
    for k in (Fraction(101, 100), Fraction(6, 5)):
        longer = leaving(scaled_law(law, k), GAPS[name], machines)
        assert len(longer) <= len(base)
        assert all(late >= early for late, early in zip(longer, base, strict=False))
        assert longer[:100] != base[:100]


def exits(line: Line, attended: tuple[int, ...] = ()) -> list[int]:
    """When units leave the line, in minutes, where one person attends the stations of these numbers."""
    cell = line.cell()
    stations = tuple(
        replace(one, work=(replace(one.work[0], by=(Need("ann"),)),)) if i in attended else one
        for i, one in enumerate(cell.stations)
    )
    posts = (Post("ann", 1, (), ()),) if attended else ()
    run = CompiledRun(compile_cell(replace(cell, stations=stations, posts=posts)), 1, 0)
    run.advance(1000 * MINUTE)
    return [at // MINUTE for at, _, _ in run.exits]


def test_with_a_shared_operator_one_more_place_may_delay_every_unit() -> None:
    """Ann serves S1 (2 min) and S3 (1 min), S2 needs 3 min alone; three units are there at first.

    Without places the second unit blocks S1 from 4 to 5 min, so Ann is free when the first comes to S3: out
    at 6, 9, 12.  With a place behind S1 she begins the third unit at 4, and the first waits for her until 6:
    out at 7, 10, 13.  Such anomalies are known since Graham 1969, Bounds on multiprocessing timing anomalies,
    SIAM Journal on Applied Mathematics 17, 416-429 (from memory).
    """
    line = Line(((2, 2, 2), (3, 3, 3), (1, 1, 1)), (0, 0), (0, 0, 0))
    assert exits(line, (0, 2)) == [6, 9, 12]
    assert exits(replace(line, places=(1, 0)), (0, 2)) == [7, 10, 13]
    assert exits(line) == [6, 9, 12]
    assert exits(replace(line, places=(1, 0))) == [6, 9, 12]


def test_with_a_shared_operator_shorter_times_may_delay_every_unit() -> None:
    """Ann serves S1 and S3 (1 min), S2 needs 5 min alone; a place behind S1 and none behind S2.

    With 5 min at S1 she ends the second unit at 10, just when the first comes from S2: 10 to 11 at S3, S1 11
    to 16, S3 16 to 17 and 21 to 22.  With 4 min she begins the third at 8, and the first waits from 9 on its
    machine S2 until 12: S3 12 to 13, S2 12 to 17, S3 17 to 18, S2 17 to 22, S3 22 to 23.
    """
    line = Line(((5, 5, 5), (5, 5, 5), (1, 1, 1)), (1, 0), (0, 0, 0))
    assert exits(line, (0, 2)) == [11, 17, 22]
    assert exits(replace(line, times=((4, 4, 4), *line.times[1:])), (0, 2)) == [13, 18, 23]


def test_where_stops_count_running_time_a_shorter_time_may_delay_the_next_unit() -> None:
    """A stop of 4 min after 5 min of running; units at 0 and 10 min of 6 and 3 min.

    The first is stopped from 5 to 9 and leaves at 10, the second at 13.  If the first needs 4 min only, it
    leaves at 4, but the stop strikes the second: 10 to 11, repair to 15, out at 17.
    """
    stop = Stop("jam", listed((5,)), "running", listed((4,)))
    line = Line(((6, 3),), (), (0, 10), stops=((stop,),))
    assert exits(line) == [10, 13]
    assert exits(replace(line, times=((4, 3),))) == [4, 17]
