"""A cell as tables of numbers with the names behind them, and the small tables that all others refer to."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from cellsim.describe.cell import Cell, Law, Need
from cellsim.engine import layout as L
from cellsim.engine.calendars import Pattern, as_the_cell_closes, start_of_run, week_pattern
from cellsim.engine.draws import compile_law, stream_key


def natural(name: str) -> list[tuple[int, int, str]]:
    """Sort key by which `M2` comes before `M10`."""
    return [(0, int(t), "") if t.isdigit() else (1, 0, t) for t in re.split(r"(\d+)", name) if t]


def skill_name(skill: str, level: int) -> str:
    """The name of a skill that asks for a least level."""
    return f"{skill}, level {level} or above" if level else skill


@dataclass
class Names:
    """The names behind the indices of a flat cell, for whoever reads a run."""

    stations: list[str] = field(default_factory=list)
    machines: list[str] = field(default_factory=list)
    stores: list[str] = field(default_factory=list)
    actors: list[str] = field(default_factory=list)
    posts: list[str] = field(default_factory=list)  # post or robot of each actor
    skills: list[str] = field(default_factory=list)
    stops: list[tuple[str, str]] = field(default_factory=list)  # (machine or robot, cause)
    stop_groups: list[tuple[str, str]] = field(default_factory=list)  # (station or robot, cause)
    steps: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)  # purchased parts
    supplies: list[str] = field(default_factory=list)  # what whoever brings or collects does
    calendars: list[str] = field(default_factory=list)
    points: list[str] = field(default_factory=list)
    errands: list[str] = field(default_factory=list)
    zones: list[str] = field(default_factory=list)
    grippers: list[str] = field(default_factory=list)
    causes: list[tuple[str, str]] = field(default_factory=list)  # (who, what) of each cause of the path


class FlatCell:
    """A cell as tables of numbers, with the names behind them."""

    def __init__(self, cell: Cell) -> None:
        self.cell = cell
        self.names = Names()
        self.state = L.State()
        self.streams: list[tuple[str, str]] = []
        self._law_rows: dict[Law, int] = {}
        self._need_rows: dict[tuple[tuple[int, int], ...], int] = {}
        self._table: list[float] = []
        self._travel_rows: dict[tuple[tuple[str, str, int], ...], int] = {}
        self._zero = start_of_run(cell)
        self._calendar_rows: dict[tuple[tuple[str, ...], bool], int] = {}
        self.reach: list[frozenset[int]] = []  # skills of each person and robot, places taken included
        self.elements: dict[tuple[str, int], int] = {}  # (station, place in its work) -> number

    def law(self, law: Law) -> int:
        """Row of a law."""
        if law not in self._law_rows:
            row = L.ROWS["law"]()
            for key, value in compile_law(law, self._table).items():
                setattr(row, key, value)
            self.state.laws.append(row)
            self._law_rows[law] = len(self.state.laws) - 1
        return self._law_rows[law]

    def stream(self, name: str, purpose: str) -> int:
        """Row of a stream of random numbers; equal names and purposes are told apart by a number."""
        if (name, purpose) in self.streams:
            k = 2
            while (name, f"{purpose} {k}") in self.streams:
                k += 1
            purpose = f"{purpose} {k}"
        row = L.ROWS["stream"]()
        row.key0 = stream_key(name, purpose)
        self.state.streams.append(row)
        self.streams.append((name, purpose))
        return len(self.streams) - 1

    def need(self, by: tuple[Need, ...]) -> int:
        """First row of a list of needs; equal lists share their rows."""
        key = tuple((self.names.skills.index(skill_name(n.skill, n.level)), n.people) for n in by)
        if key not in self._need_rows:
            self._need_rows[key] = len(self.state.needs)
            for skill, people in key:
                row = L.ROWS["need"]()
                row.skill, row.people = skill, people
                self.state.needs.append(row)
        return self._need_rows[key]

    def cause(self, who: str, what: str) -> int:
        """Row of a cause of the path."""
        if (who, what) not in self.names.causes:
            self.names.causes.append((who, what))
        return self.names.causes.index((who, what))

    def point(self, name: str) -> int:
        """Index of a point where people or robots stand, -1 where travel is not given for it."""
        return self.names.points.index(name) if name in self.names.points else -1

    def zones_at(self, point: str) -> int:
        """The zones that somebody who works at a point is in, one bit each."""
        return sum(
            1 << self.names.zones.index(zone.name) for zone in self.cell.zones if point in zone.people_at
        )

    def calendar(self, shifts: tuple[str, ...], breaks_count: bool = True) -> int:
        """Row of the calendar of those who follow these shifts."""
        key = (tuple(sorted(shifts)), breaks_count)
        if key not in self._calendar_rows:
            everything = tuple(sorted(self.cell.shifts, key=lambda shift: natural(shift.name)))
            chosen = tuple(shift for shift in everything if shift.name in shifts)
            pattern = week_pattern(chosen, self._zero, breaks_count)
            pattern = as_the_cell_closes(pattern, week_pattern(everything, self._zero))
            self._calendar_rows[key] = len(self.state.calendars)
            self.add_calendar(
                pattern, ", ".join(shifts) if breaks_count else ", ".join(shifts) + " through breaks"
            )
        return self._calendar_rows[key]

    def add_calendar(self, pattern: Pattern, name: str) -> int:
        """Row of a new calendar with this pattern."""
        row = L.ROWS["calendar"]()
        row.state, row.first_edge, row.edges = pattern.state, len(self.state.edges), len(pattern.edges)
        row.period = pattern.period
        for edge in pattern.edges:
            e = L.ROWS["edge"]()
            e.at, e.state, e.rule, e.length = edge.at, edge.state, edge.rule, edge.length
            e.changes, e.fresh, e.turn = int(edge.changes), int(edge.fresh), edge.turn
            self.state.edges.append(e)
        self.state.calendars.append(row)
        self.names.calendars.append(name)
        return len(self.state.calendars) - 1

    # The whole -----------------------------------------------------------------------------------------

    def travel(self, table: tuple[tuple[str, str, int], ...]) -> int:
        """First entry of a from-to matrix of travel times, -1 for nobody who needs time."""
        if not table:
            return -1
        if table not in self._travel_rows:
            count = len(self.names.points)
            first = len(self.state.travel)
            self.state.travel.extend([0] * (count * count))
            for start, end, time in table:
                self.state.travel[first + self.point(start) * count + self.point(end)] = time
            self._travel_rows[table] = first
        return self._travel_rows[table]

    def store(self, name: str) -> int:
        """Index of a store."""
        return self.names.stores.index(name)

    @property
    def start_of_run(self) -> int:
        """Microseconds after Monday 00:00 at which time 0 of a run lies."""
        return self._zero
