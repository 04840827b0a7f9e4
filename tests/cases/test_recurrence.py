"""Random serial lines against the recurrence of departures, exactly, and two laws that follow from it."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st
from tracing import MINUTE, Traced, run_text

from cellsim.engine import layout as L

ROUNDS = 2  # how often the listed times are gone through

plainly = settings(max_examples=60, deadline=None, derandomize=True, database=None)


@dataclass(frozen=True)
class Line:
    """Times in minutes, [station][unit], repeated; places behind each station but the last."""

    times: tuple[tuple[int, ...], ...]
    places: tuple[int, ...]

    @property
    def units(self) -> int:
        """Units after which the times begin again."""
        return len(self.times[0])

    def text(self) -> str:
        """The line as a cell file."""
        stations = "".join(
            f"\n  S{i + 1}: {{cycle: {{listed: [{', '.join(f'{t} min' for t in row)}]}}}}"
            for i, row in enumerate(self.times)
        )
        names = [f"S{i + 1}" for i in range(len(self.times))]
        route, stores = names[:1], []
        for i, places in enumerate(self.places):
            route += [f"tray {i + 1}", names[i + 1]]
            stores.append(f"tray {i + 1}: {places}")
        return (
            f"cell: line\nroute: [{', '.join(route)}]\nstations:{stations}\nstores: {{{', '.join(stores)}}}\n"
        )

    def departures(self, units: int) -> list[list[int]]:
        """When each unit leaves each station, [unit][station], in minutes.

        D[j,i] = max(max(D[j-1,i], D[j,i-1]) + S[j,i], D[j-b-1,i+1]) with b places behind station i
        (Muth 1979, Management Science 25, 152-158, in this form from memory).
        """
        left: list[list[int]] = []
        for j in range(units):
            row: list[int] = []
            for i, times in enumerate(self.times):
                free = left[j - 1][i] if j else 0
                there = row[i - 1] if i else 0
                done = max(free, there) + times[j % len(times)]
                before = j - self.places[i] - 1 if i < len(self.places) else -1
                row.append(max(done, left[before][i + 1] if before >= 0 else 0))
            left.append(row)
        return left

    def reversed(self) -> Line:
        """The same line run backwards: stations, places and the order of units turned round."""
        return Line(tuple(row[::-1] for row in self.times[::-1]), self.places[::-1])


@st.composite
def lines(draw: st.DrawFn) -> Line:
    """2-6 stations, 1-8 units, whole minutes full of ties, 0-3 places."""
    stations, units = draw(st.integers(2, 6)), draw(st.integers(1, 8))
    time = st.integers(0, 6)
    times = [tuple(draw(st.lists(time, min_size=units, max_size=units))) for _ in range(stations)]
    if not any(times[0]):
        times[0] = (1,) * units  # raw units never run out: some time must pass
    places = draw(st.lists(st.integers(0, 3), min_size=stations - 1, max_size=stations - 1))
    return Line(tuple(times), tuple(places))


def simulated(line: Line, units: int) -> Traced:
    """The line run until so many units have left; the trace is on, and the laws of any run are checked."""
    return run_text(line.text(), line.departures(units)[-1][-1])


@plainly
@given(lines())
def test_every_departure_follows_the_recurrence(line: Line) -> None:
    """Every unit leaves every station at the instant that the recurrence says, to the microsecond."""
    units = ROUNDS * line.units
    expected = line.departures(units)
    traced = simulated(line, units)
    for i in range(len(line.times)):
        what = L.N_LEAVES if i == len(line.times) - 1 else L.N_HANDS_OVER
        seen = traced.said(what, f"S{i + 1}")
        assert seen[:units] == [row[i] * MINUTE for row in expected]


@plainly
@given(lines(), st.data())
def test_one_more_place_delays_nobody(line: Line, data: st.DataObject) -> None:
    """With one more place anywhere no unit leaves the line later."""
    units = ROUNDS * line.units
    wider = list(line.places)
    wider[data.draw(st.integers(0, len(wider) - 1))] += 1
    before = simulated(line, units).left()[:units]
    after = simulated(Line(line.times, tuple(wider)), units).left()[:units]
    assert len(before) == len(after) == units
    assert all(late <= early for late, early in zip(after, before, strict=True))


@plainly
@given(lines())
def test_a_line_run_backwards_needs_the_same_time(line: Line) -> None:
    """Stations, places and units in reverse order need exactly the same time for the whole lot.

    Muth 1979, The reversibility property of production lines, Management Science 25, 152-158 (from memory).
    """
    backwards = line.reversed()
    if not any(backwards.times[0]):
        return  # raw units would come without end at one instant
    forth = simulated(line, line.units).left()[line.units - 1]
    back = simulated(backwards, line.units).left()[line.units - 1]
    assert forth == back


def test_the_recurrence_by_hand() -> None:
    """The recurrence itself, worked by hand: five units, three stations, stores of 1 and 0 places."""
    line = Line(((3, 4, 2, 5, 1), (5, 1, 2, 3, 4), (2, 6, 2, 1, 3)), (1, 0))
    assert line.departures(5) == [[3, 8, 10], [7, 10, 16], [9, 16, 18], [14, 19, 20], [16, 23, 26]]
