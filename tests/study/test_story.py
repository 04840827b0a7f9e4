"""The story of a shift against another reading of the same run: stepped to an instant, its record read."""

from __future__ import annotations

import json
import random
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load, load_text
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.study.plan import counted_shifts
from cellsim.study.story import story, story_at, time_in_states, value_at
from cellsim.study.worker import Worker

ROOT = Path(__file__).parents[2]
EXAMPLES = {f"{one.topic}-{one.name}": one.example for one in behaviours()}
SCENARIOS = [file.stem for file in sorted((ROOT / "scenarios").glob("*.yaml"))]
SEED, REPLICATION = 7, 2

WALKS = """
cell: Walks
crew: {A: {walks: 0.5 m/s, starts_at: cut}, B: {}}
layout: {cut: [0 m, 0 m], bore: [6 m, 0 m], pack: [6 m, 8 m]}
route: [cut, rack, bore, tray, pack]
stations:
  cut: {cycle: {mean: 20 s, spread: 30 %}, by: A}
  bore:
    work:
      - {do: load, time: 4 s, by: A, phase: load}
      - {do: bore, time: 30 s}
    stops: {jam: {every: 10 min of running, lasts: 90 s, cleared_by: A}}
  pack: {cycle: 25 s, by: B}
stores: {rack: 4, tray: 3}
study: {run: 2 h, settle: 30 min}
"""


def cell_of(name: str) -> Cell:
    """A scenario, an example of the reference, or the cell above in which somebody walks."""
    if name == "walks":
        return load_text(WALKS)
    return load_text(EXAMPLES[name]) if name in EXAMPLES else load(ROOT / "scenarios" / f"{name}.yaml")


@cache
def story_text(name: str) -> str:
    """The story of a cell as JSON, told once for all tests that read it."""
    return json.dumps(story(cell_of(name), SEED, REPLICATION), separators=(",", ":"))


def units_by_place(c, names) -> dict[str, int]:
    """Where the units of a run are, counted from its record alone."""
    found: dict[str, int] = {}

    def count(place: str, u: int) -> None:
        while u >= 0:
            found[place] = found.get(place, 0) + 1
            u = c.parts[u].next

    for name, store in zip(names.stores, c.stores, strict=True):
        if store.kind in (L.PLACES, L.RAW) and store.level:
            found[f"store {name}"] = store.level
    for name, m in zip(names.machines, c.machines, strict=True):
        count(f"machine {name}", m.unit)
    for i in range(c.machine_count):
        visit = c.jobs[c.visit_base + i]
        people = [a for a in visit.crew[: visit.crew_size] if not c.actors[a].thing]
        holder = f"actor {names.actors[people[0]]}" if people else f"machine {names.machines[i]}"
        count(holder, visit.unit)
        count(holder, visit.held)
    for e, errand in enumerate(c.errands):
        count(f"actor {names.actors[errand.robot]}", c.jobs[c.errand_base + e].unit)
    return found


def check_actor(c, flat, a: int, told: dict) -> None:
    """Place and way of one person or robot against job, point and due end in the record."""
    actor, names = c.actors[a], flat.names
    kind, place = told["place"]
    if kind == "machine":
        station = names.stations[c.machines[names.machines.index(place)].station]
    spot = station if kind == "machine" else place
    if actor.first_travel >= 0 and spot in names.points:
        assert names.points.index(spot) == actor.point
    on_the_way = False
    if actor.job >= 0:
        job = c.jobs[actor.job]
        on_the_way = job.state == L.TRAVELLING and not job.changing
        if on_the_way and job.pace == 0.0 and told["moving"]["from"] != told["place"]:
            first = told["moving"]["first"]
            share = first + (1 - first) * (c.now - job.began) / (job.due - job.began)
            assert told["moving"]["share"] == pytest.approx(share, abs=2e-3)
        machine = actor.job % c.machine_count if actor.job < c.repair_base else -1
        if machine >= 0 and kind == "machine" and actor.first_travel < 0:
            assert names.stations[c.machines[machine].station] == station
        if c.repair_base <= actor.job < c.inside_base and actor.first_travel < 0:
            stop = c.stops[actor.job - c.repair_base]
            if not stop.of_actor:
                assert place == names.machines[stop.target]
    assert (told["moving"] is not None) == (on_the_way or (actor.job >= 0 and paused_way(c.jobs[actor.job])))


def paused_way(job) -> bool:
    """Whether somebody has stopped on the way."""
    return job.state == L.PAUSED and job.was == L.TRAVELLING


def first_shares(told: dict, at: int) -> dict[str, float]:
    """The share of the way at which the leg under way of each began."""
    return {
        row["name"]: next((m[4] for m in row["moves"] if m[0] <= at < m[1]), 0.0) for row in told["actors"]
    }


CHECKED = [
    *SCENARIOS,
    "walks",
    "robots-moves",
    "robots-zone",
    "robots-grippers",
    "robots-fetches_ahead",
    "robots-recovery",
    "people-two_together",
    "people-hand_over",
    "people-absence",
    "people-inside_machine_time",
    "material-brought_by_a_handler",
    "material-finished_goods",
    "material-many_from_a_bar",
    "material-hourly_plan",
    "flow-indexing_table",
    "flow-assembly",
    "quality-samples",
    "quality-repair_in_place",
    "quality-strip_and_start_again",
    "batches-use_within",
    "batches-loaded_by_hand",
]


@pytest.mark.parametrize("name", CHECKED)
def test_the_story_agrees_with_the_run_at_every_instant(name):
    """States, levels, places, ways, counts and stops at 60 instants, both ends among them."""
    cell = cell_of(name)
    told = json.loads(story_text(name))
    start, _ = counted_shifts(cell)[0]
    chance = random.Random(name)
    changes = [sum(row["changes"][: 2 * k + 1 : 2]) for row in told["machines"] for k in (1, 3, 9)]
    moments = {0, told["length"], *(at for at in changes if at <= told["length"])}
    moments |= {chance.randint(0, told["length"]) for _ in range(60 - len(moments))}
    moments |= {round((m[0] + m[1]) / 2) for row in told["actors"] for m in row["moves"][5:25:4] if m[0] > 0}
    flat = compile_cell(cell)
    names = flat.names
    run = SimpyRun(flat, SEED, REPLICATION)
    run.advance(start)
    c = run.state
    good, scrapped = (c.good, c.scrapped) if start else (0, 0)
    for at in sorted(moment for moment in moments if moment <= told["length"]):
        run.advance(start + 1000 * at)
        seen = story_at(told, at)
        assert seen["machines"] == {
            n: L.MACHINE_STATES[m.state] for n, m in zip(names.machines, c.machines, strict=True)
        }
        assert {n: row["state"] for n, row in seen["actors"].items()} == {
            n: L.ACTOR_STATES[a.state] for n, a in zip(names.actors, c.actors, strict=True)
        }
        assert seen["stores"] == {n: s.level for n, s in zip(names.stores, c.stores, strict=True)}
        assert seen["units"] == units_by_place(c, names)
        assert (seen["inside"], seen["good"], seen["scrap"]) == (c.wip, c.good - good, c.scrapped - scrapped)
        assert sorted(map(tuple, seen["stops"])) == sorted(
            pair for pair, stop in zip(names.stops, c.stops, strict=True) if stop.active
        )
        first = first_shares(told, at)
        for a, actor in enumerate(names.actors):
            row = seen["actors"][actor]
            if row["moving"] is not None:
                row["moving"]["first"] = first[actor]
            check_actor(c, flat, a, row)


def test_somebody_walks_in_straight_time():
    """A walk of 6 m at 0.5 m/s takes 12 s; half of it is done after 6 s, and nobody jumps."""
    told = story(cell_of("walks"), 1, 0)
    walks = next(row for row in told["actors"] if row["name"] == "A")["moves"]
    assert len(walks) > 50
    whole = [move for move in walks if move[0] >= 0 and move[4:] == [0.0, 1.0]]
    assert {round(move[1] - move[0]) for move in whole} == {12000}
    start, _, source, _, _, _ = whole[3]
    half = story_at(told, round(start) + 6000)["actors"]["A"]["moving"]
    assert half["from"] == told["places"][source] and half["share"] == pytest.approx(0.5, abs=1e-3)
    for (_, end, _, there, _, _), (begin, _, from_, _, _, _) in pairwise(whole):
        assert begin >= end and from_ == there


@pytest.mark.parametrize("name", SCENARIOS)
def test_counts_are_those_of_the_study(name):
    """Good units by the hour and time in states are what a replication of a study counts."""
    cell = cell_of(name)
    told, worker = json.loads(story_text(name)), Worker(cell)
    record = worker.replicate(SEED, REPLICATION)
    hours = [hour for hour in worker.plan.hours if hour.shift == 0]
    assert [row["good"] for row in told["hours"]] == record.hourly[: len(hours)]
    assert [row["label"] for row in told["hours"]] == [hour.label for hour in hours]
    assert sum(row["good"] for row in told["hours"]) == len(told["good"])
    if worker.plan.shifts == 1:  # else the record sums up more than this shift
        names, times = worker.flat.names, time_in_states(told)
        for kind, found, sums, states in (
            ("machine", names.machines, record.machines, L.MACHINE_STATES),
            ("actor", names.actors, record.actors, L.ACTOR_STATES),
        ):
            for row, who, total in zip(told[f"{kind}s"], found, sums, strict=True):
                for state, us in zip(states, total, strict=True):  # each change is late by less than 1 ms
                    late = 1e-3 * len(row["changes"]) / 2
                    assert times[kind][who].get(state, 0.0) == pytest.approx(us / 1e6, abs=late)
    worst = told["hours"][told["worst_hour"]]
    assert worst["per_hour"] == min(row["per_hour"] for row in told["hours"] if row["per_hour"] is not None)


def test_every_unit_goes_a_way_without_gaps():
    """Ways begin in the shift, times never fall, places follow each other, and all good units are counted."""
    told = json.loads(story_text("tape_measure"))
    ended = [0, 0]
    for way in told["units"]:
        places = way[2::2]
        assert min(way[1::2]) >= 0 and all(a != b for a, b in pairwise(places))
        assert all(place >= 0 for place in places[:-1])
        ended[0] += places[-1] == -1
        ended[1] += places[-1] == -2
    assert ended == [len(told["good"]), len(told["scrap"])]


def test_shifts_are_told_one_by_one():
    """The second counted shift is another one, later; what is not counted is refused with what there is."""
    cell = cell_of("padlock")
    first, second = counted_shifts(cell)
    assert second[0] >= first[1]
    with pytest.raises(ValueError, match="no counted shift 2: the study counts 2, from 0"):
        story(cell, 1, 0, 2)
    assert [len(counted_shifts(cell_of(name))) for name in ("walks", "spinning_top")] == [1, 1]


def test_a_long_run_without_shifts_is_told_in_pieces():
    """20 hours from hour 1 on are pieces of 8, 8 and 4 h; with shifts, the parts of shifts in them."""
    text = WALKS.replace("run: 2 h, settle: 30 min", "run: 20 h, settle: 1 h")
    hour = 3_600_000_000
    assert counted_shifts(load_text(text)) == [
        (hour, 9 * hour),
        (9 * hour, 17 * hour),
        (17 * hour, 21 * hour),
    ]
    shifts = text + "shifts: {day: {from: 06:00, to: 14:00}}\n"
    assert counted_shifts(load_text(shifts)) == [(hour, 8 * hour)]


def test_times_agree_at_every_millisecond():
    """A change between two milliseconds stands at the later one; the value before holds at the earlier."""
    assert [value_at([0, 5, 3, 7, 4, 9], at) for at in (0, 2, 3, 6, 7)] == [5, 5, 7, 7, 9]
    with pytest.raises(ValueError, match="lasts from 0 to 7200000 ms, 7200001 is not in it"):
        story_at(story(cell_of("walks"), 1, 0), 7_200_001)


def test_the_largest_story_is_small():
    """Eight hours of 25 stations are less than 1.5 MB of JSON, and the same story is told twice alike."""
    again = json.dumps(story(cell_of("padlock"), SEED, REPLICATION), separators=(",", ":"))
    assert story_text("padlock") == again and len(again) < 1_500_000
