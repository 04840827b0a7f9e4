"""One shift of one replication as it happened: who did what, who was where, which unit went which way.

A story is a dictionary that can be written as JSON.  Its times are whole milliseconds after the start of the
shift; what changes between two of them stands at the later one, so that a story agrees with the run at every
millisecond.  `[time, value, step, value, step, value ...]` below means: from `time` on the first value, and
from `step` later on the next.

    cell, seed, replication, shift   what was run; `shift` counts from 0
    clock_s        seconds from Monday 00:00 to the start; None where the cell has no shifts
    length         how long the shift is
    states         names of the states of machines (`machine`) and of people and robots (`actor`)
    places         [kind, name] of every place: stores, machines, people and robots, points, in this order; a
                   unit at the place of a person or robot is in its hands
    machines       name, station, `changes` of the state
    actors         name, post, kind (person, robot or thing), `changes` of the state, `where`: changes of the
                   place (on the way it is the place ahead), `moves`: [start, end, from, to, share, reached],
                   from one share of that way to another
    stores         name, places (None = no limit), `changes` of the level
    units          the way of each: [variant, time, place, step, place ...]; a place below 0 is an end:
                   -1 good, -2 scrapped, -3 built into another, -4 left elsewhere
    variants       names of variants; 0 in a way stands for a unit that fits all
    good, scrap    times at which a good unit leaves and one is scrapped, each as a step from the one before
    stops          [start, repair begins, end, who, cause, planned]; None = not yet at the end of the shift
    pauses         [start, end, break or off] of the whole cell
    hours          start, end, label, good, worked (ms in which the cell is on and has no break), per_hour
    worst_hour     the number of the hour with the fewest good units for its working time; None without any
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate, pairwise
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import LEAST_WORKED, Hour, counted_shifts, hours_of
from cellsim.study.story_places import Places
from cellsim.study.story_watch import Changes, Stopped, Watch, Way
from cellsim.units import HOUR

TICK = 1000  # microseconds
LOOK_BACK = HOUR // 6  # how long before the shift the looking begins, for ways under way at its start
PAUSES = {L.BREAK: "break", L.OFF: "off"}

Story = dict[str, Any]


def story(cell: Cell, seed: int, replication: int, shift: int = 0) -> Story:
    """The story of counted shift `shift`, from 0, of one replication, run under the SimPy clock.

    Raises:
        ValueError: the study counts no such shift.
        UsageError: the study counts shifts and the cell has none.
    """
    shifts = counted_shifts(cell)
    if not 0 <= shift < len(shifts):
        raise ValueError(f"there is no counted shift {shift}: the study counts {len(shifts)}, from 0")
    start, end = shifts[shift]
    flat = compile_cell(cell)
    places = Places(flat)
    watch = _watch(flat, places, (seed, replication), start, end)
    ticks = _Ticks(start, end)
    return {
        "cell": cell.name,
        "seed": seed,
        "replication": replication,
        "shift": shift,
        "clock_s": (flat.start_of_run + start) / 1e6 if cell.shifts else None,
        "length": ticks.length,
        "states": {"machine": list(L.MACHINE_STATES), "actor": list(L.ACTOR_STATES)},
        "places": [list(place) for place in places.table],
        "variants": [variant.name for variant in cell.variants],
        **_rows(flat, watch, ticks),
        "units": [way for way in map(ticks.way, watch.ways) if way],
        "good": ticks.steps(watch.good),
        "scrap": ticks.steps(watch.scrap),
        "stops": _stops(flat, watch.stops, ticks),
        "pauses": _pauses(watch.duty[0], ticks),
        **_hours(hours_of(cell, [(start, end)]), watch.good, ticks),
    }


def _watch(flat: FlatCell, places: Places, which: tuple[int, int], start: int, end: int) -> Watch:
    run = SimpyRun(flat, *which, trace=True)
    at = max(0, start - LOOK_BACK)
    run.advance(at)
    if at:
        run.notes.clear()
        run.exits.clear()
    watch = Watch(run, places)
    watch.look(at)
    while run.env.peek() <= end:
        at = int(run.env.peek())
        while run.env.peek() == at:
            run.env.step()
        watch.look(at)
    return watch


class _Ticks:
    """Turns microseconds of a run into ticks after the start of a shift."""

    def __init__(self, start: int, end: int) -> None:
        self.start, self.length = start, -(-(end - start) // TICK)

    def tick(self, at: int) -> int:
        return -(-(at - self.start) // TICK)

    def changes(self, rows: Iterable[tuple[int, int]]) -> list[int]:
        """Changes as `[time, value, step, value ...]`, the last of each tick; all before the start as one."""
        last: dict[int, int] = {}
        for at, value in rows:
            last[max(0, self.tick(at))] = value
        out: list[int] = []
        before = 0
        for at, value in last.items():
            if len(out) < 2 or out[-1] != value:
                out += (at - before, value)
                before = at
        return out

    def steps(self, moments: Iterable[int]) -> list[int]:
        """Moments after the start, and at it if the run begins there, as steps from one to the next."""
        ticks = [self.tick(at) for at in moments if at > self.start or at == self.start == 0]
        return [at - before for before, at in zip([0, *ticks], ticks, strict=False)]

    def way(self, way: Way) -> list[int]:
        """The way of a unit; nothing where it ended before the start."""
        rows = self.changes(way.places)
        return [] if rows[0] == 0 and rows[1] < 0 else [way.variant, *rows]


def _rows(flat: FlatCell, watch: Watch, ticks: _Ticks) -> Story:
    c, names = flat.state, flat.names
    kinds = ["robot" if a.robot else "thing" if a.thing else "person" for a in c.actors]
    return {
        "machines": [
            {"name": name, "station": names.stations[m.station], "changes": ticks.changes(rows)}
            for name, m, rows in zip(names.machines, c.machines, watch.machines, strict=True)
        ],
        "actors": [
            {
                "name": name,
                "post": names.posts[a],
                "kind": kinds[a],
                "changes": ticks.changes(watch.actors[a]),
                "where": ticks.changes(watch.where[a]),
                "moves": _moves(watch, a, ticks),
            }
            for a, name in enumerate(names.actors)
        ],
        "stores": [
            {
                "name": name,
                "places": store.places if store.limited or store.kind == L.HAND_OVER else None,
                "changes": ticks.changes(rows),
            }
            for name, store, rows in zip(names.stores, c.stores, watch.stores, strict=True)
        ],
    }


def _moves(watch: Watch, a: int, ticks: _Ticks) -> list[list[float]]:
    """The moves of one person or robot; one that is not over at the end of the shift ends when it is due."""
    c, moves = watch.run.state, []
    for leg in watch.legs[a]:
        end = leg.end
        if end < 0:
            job = c.jobs[c.actors[a].job]
            end = job.due if job.state == L.TRAVELLING else ticks.start + ticks.length * TICK
        if end > ticks.start:
            moves.append(
                [
                    (leg.start - ticks.start) / TICK,
                    (end - ticks.start) / TICK,
                    leg.source,
                    leg.target,
                    round(leg.share, 6),
                    round(leg.reached, 6),
                ]
            )
    return moves


def _stops(flat: FlatCell, stops: Sequence[Stopped], ticks: _Ticks) -> list[list[Any]]:
    out = []
    for stop in stops:
        who, cause = flat.names.stops[stop.stop]
        begins, ends = (ticks.tick(at) if at >= 0 else None for at in (stop.repaired, stop.end))
        if ends is None or ends > 0:
            planned = bool(flat.state.stops[stop.stop].planned)
            first = max(0, ticks.tick(stop.start))
            out.append([first, begins and max(begins, first), ends, who, cause, planned])
    return out


def _pauses(duty: Changes, ticks: _Ticks) -> list[list[Any]]:
    out = []
    ends = [ticks.tick(at) for at, _ in duty[1:]] + [ticks.length]
    for (at, state), end in zip(duty, ends, strict=False):
        first = max(0, ticks.tick(at))
        if state in PAUSES and end > first:
            out.append([first, min(end, ticks.length), PAUSES[state]])
    return out


def _hours(hours: Sequence[Hour], good: Sequence[int], ticks: _Ticks) -> Story:
    rows = []
    for hour in hours:
        count = sum(hour.start < at <= hour.end or at == hour.start == 0 for at in good)
        rows.append(
            {
                "start": ticks.tick(hour.start),
                "end": ticks.tick(hour.end),
                "label": hour.label,
                "good": count,
                "worked": hour.worked // TICK,
                "per_hour": count * HOUR / hour.worked if hour.worked >= LEAST_WORKED else None,
            }
        )
    told = [(row["per_hour"], k) for k, row in enumerate(rows) if row["per_hour"] is not None]
    return {"hours": rows, "worst_hour": min(told)[1] if told else None}


# Reading a story -----------------------------------------------------------------------------------------


def value_at(changes: Sequence[int], at: int) -> int:
    """The value of `[time, value, step, value ...]` at a time."""
    return changes[2 * (bisect_right(list(accumulate(changes[::2])), at) - 1) + 1]


def story_at(told: Story, at: int) -> dict[str, Any]:
    """What holds `at` milliseconds after the start of the shift, in names.

    `machines`: state of each; `actors`: state, place as [kind, name] and, on the way, from where and which
    share of it is done; `stores`: level; `units`: how many are at each place that has any, as `kind name`;
    `good`, `scrap` so far, `inside` now; `stops` under way as [who, cause].

    Raises:
        ValueError: the time is not within the shift.
    """
    if not 0 <= at <= told["length"]:
        raise ValueError(f"the shift lasts from 0 to {told['length']} ms, {at} is not in it")
    places = told["places"]
    units: dict[str, int] = {}
    inside = 0
    for way in told["units"]:
        if way[1] <= at and (place := value_at(way[1:], at)) >= 0:
            name = " ".join(places[place])
            units[name] = units.get(name, 0) + 1
            inside += 1
    actors = {}
    for row in told["actors"]:
        move = next((m for m in row["moves"] if m[0] <= at < m[1]), None)
        moving = None
        if move is not None:
            start, end, source, _, share, reached = move
            done = share + (reached - share) * (at - start) / (end - start)
            moving = {"from": places[source], "share": round(done, 4)}
        actors[row["name"]] = {
            "state": told["states"]["actor"][value_at(row["changes"], at)],
            "place": places[value_at(row["where"], at)],
            "moving": moving,
        }
    return {
        "machines": {
            row["name"]: told["states"]["machine"][value_at(row["changes"], at)] for row in told["machines"]
        },
        "actors": actors,
        "stores": {row["name"]: value_at(row["changes"], at) for row in told["stores"]},
        "units": units,
        "good": bisect_right(list(accumulate(told["good"])), at),
        "scrap": bisect_right(list(accumulate(told["scrap"])), at),
        "inside": inside,
        "stops": [
            [who, cause]
            for start, _, end, who, cause, _ in told["stops"]
            if start <= at and (end is None or at < end)
        ],
    }


def time_in_states(told: Mapping[str, Any]) -> dict[str, dict[str, dict[str, float]]]:
    """Seconds of the shift in each state that occurs, by `machine` or `actor` and by name."""
    out: dict[str, dict[str, dict[str, float]]] = {"machine": {}, "actor": {}}
    for kind, rows in (("machine", told["machines"]), ("actor", told["actors"])):
        for row in rows:
            times = [*accumulate(row["changes"][::2]), told["length"]]
            sums: dict[str, float] = {}
            for state, (start, end) in zip(row["changes"][1::2], pairwise(times), strict=True):
                name = told["states"][kind][state]
                sums[name] = sums.get(name, 0.0) + (end - start) / 1000
            out[kind][row["name"]] = sums
    return out
