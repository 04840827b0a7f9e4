"""Random serial lines against the recurrence of departures, exactly."""

from __future__ import annotations

from both_clocks import BothClocks
from hypothesis import given, settings
from hypothesis import strategies as st
from serial_lines import Line, lines
from tracing import MINUTE, Traced

from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell

plainly = settings(max_examples=40, deadline=None, derandomize=True, database=None)


@plainly
@given(st.one_of(lines(most_machines=3), lines(arrivals=True), lines(arrivals=True, most_machines=3)))
def test_every_departure_follows_the_recurrence(line: Line) -> None:
    """Every unit leaves every station at the instant that the recurrence says, to the microsecond.

    Without arrivals the listed times are gone through twice.
    """
    units = line.units if line.arrivals else 2 * line.units
    expected = line.departures(units)
    traced = Traced(BothClocks(compile_cell(line.cell()), 1, 0)).advance(expected[-1][-1] * MINUTE)
    for i in range(len(line.times)):
        what = L.N_LEAVES if i == len(line.times) - 1 else L.N_HANDS_OVER
        machines = traced.run.flat.names.machines
        seen = sorted(
            at for name in machines if name.split(".")[0] == f"S{i + 1}" for at in traced.said(what, name)
        )
        assert seen[:units] == [row[i] * MINUTE for row in expected]


def test_the_recurrence_by_hand() -> None:
    """The recurrence itself, worked by hand: five units, three stations, stores of 1 and 0 places."""
    line = Line(((3, 4, 2, 5, 1), (5, 1, 2, 3, 4), (2, 6, 2, 1, 3)), (1, 0))
    assert line.departures(5) == [[3, 8, 10], [7, 10, 16], [9, 16, 18], [14, 19, 20], [16, 23, 26]]
