"""Running a small cell in a test: bounded by counted events, and everything that a run leaves, by name."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from cellsim.describe.cell import Cell
from cellsim.engine import clock_simpy
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.engine.rules import instant
from cellsim.engine.rules.order import wake, wake_actor

EVENTS = 60_000  # far more due events than any small cell has in its run
TRIES = 3_000  # far more tries than any small cell makes at one instant


class Endless(AssertionError):
    """A run goes on and on without getting anywhere."""


@contextmanager
def bounded() -> Iterator[None]:
    """Let no run within fire more than EVENTS due events or try more than TRIES things at one instant."""
    fired = 0
    tries: dict[int, tuple[int, int]] = {}
    fire, try_machine, serve = clock_simpy.fire, instant.try_machine, instant.serve

    def counted_fire(c: Any, kind: int, who: int, version: int) -> None:
        nonlocal fired
        fired += 1
        if fired > EVENTS:
            raise Endless(f"more than {EVENTS} events by {c.now} us")
        fire(c, kind, who, version)

    def count(c: Any) -> None:
        at, number = tries.get(id(c), (-1, 0))
        number = number + 1 if at == c.now else 1
        tries[id(c)] = c.now, number
        if number > TRIES:
            raise Endless(f"more than {TRIES} tries at {c.now} us")

    def counted_try(c: Any, i: int) -> None:
        count(c)
        try_machine(c, i)

    def counted_serve(c: Any) -> bool:
        count(c)
        return serve(c)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock_simpy, "fire", counted_fire)
        patch.setattr(instant, "try_machine", counted_try)
        patch.setattr(instant, "serve", counted_serve)
        yield


def standing(c: Any) -> dict[str, Any]:
    """What machines, jobs, people and stores are at right now."""
    jobs = [
        (job.state, job.since if job.state == L.CALLING else 0, job.crew[: job.crew_size]) for job in c.jobs
    ]
    return {
        "machines": [(m.progress, m.state, m.step, m.unit, m.offering) for m in c.machines],
        "jobs": jobs,
        "actors": [(actor.job, actor.state) for actor in c.actors],
        "stores": [(store.level, store.reserved, store.offers) for store in c.stores],
        "parts": [(stock.level, stock.lacking, stock.node) for stock in c.stocks],
        "turns": [(m.lacks, m.ticket, m.asks_for, m.left_on_bar) for m in c.machines],
        "path": c.path_count,
        "starts": c.starts,
    }


@contextmanager
def asked_again() -> Iterator[None]:
    """After every instant within, try every machine and let everybody look for a call: nothing may change."""
    settle = clock_simpy.settle

    def settle_twice(c: Any) -> None:
        settle(c)
        before = standing(c)
        for i in range(c.machine_count):
            wake(c, i)
        for a in range(c.actor_count):
            wake_actor(c, a)
        settle(c)
        after = standing(c)
        for what, found in before.items():
            assert found == after[what], f"{what} at {c.now} us"

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock_simpy, "settle", settle_twice)
        yield


def run_cell(cell: Cell, until: int, seed: int = 7, replication: int = 0, **options: Any) -> SimpyRun:
    """One bounded replication of a cell up to `until` microseconds."""
    with bounded():
        run = SimpyRun(compile_cell(cell), seed, replication, **options)
        run.advance(until)
    return run


def account(run: SimpyRun) -> dict[tuple[str, str], int]:
    """Time by cause along the path to the last good unit, causes without time left out."""
    totals, _ = run.walk_back()
    return {cause: time for cause, time in zip(run.flat.names.causes, totals, strict=True) if time}


def outcome(run: SimpyRun) -> dict[str, Any]:
    """Everything that a run leaves, by name, so that nothing depends on the order of rows."""
    c, names = run.state, run.flat.names
    stores = ("entered", "left", "area", "stays", "level", "highest", "returned", "reserved")
    stations = (
        "judged", "rejected", "scrapped", "first_pass", "first_tests",
        "faulted", "mended", "false_rejects", "missed", "sampled", "sampled_faulty",
        "bars", "lots", "lot_left",
    )  # fmt: skip
    return {
        "exits": [(at, entered, names.stores[store]) for at, entered, store in run.exits],
        "machines": {
            names.machines[i]: (tuple(m.totals), m.cycles, m.drawn, m.progress, m.downs)
            for i, m in enumerate(c.machines)
        },
        "actors": {
            names.actors[a]: (tuple(actor.totals), actor.visits, actor.present)
            for a, actor in enumerate(c.actors)
        },
        "stores": {
            names.stores[s]: (tuple(getattr(store, name) for name in stores), tuple(store.time_at))
            for s, store in enumerate(c.stores)
            if store.kind != L.OUTLET
        },
        "stations": {
            names.stations[k]: tuple(getattr(row, name) for name in stations)
            for k, row in enumerate(c.stations)
        },
        "stops": {
            names.stops[k]: (stop.count, stop.repair_time, stop.waiting_time)
            for k, stop in enumerate(c.stops)
        },
        "parts": {
            names.parts[k]: (stock.level, stock.used, stock.delivered, stock.area, stock.short_time)
            for k, stock in enumerate(c.stocks)
        },
        "draws": {
            stream: c.streams[k].used for k, stream in enumerate(run.flat.streams) if c.streams[k].used
        },
        "cell": {
            name: getattr(c, name)
            for name in (
                "created",
                "good",
                "scrapped",
                "consumed",
                "left_elsewhere",
                "wip",
                "wip_area",
                "starts",
            )
        },
        "path": account(run),
        "stalled_at": run.stalled_at,
    }
