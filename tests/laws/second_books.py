"""A second bookkeeper, who looks at the cell after every instant and keeps no ledger of the program's.

Between two instants nothing changes, so what he saw after one held until the next.  From that and from the
list of units that left he works out the figures of a replication anew.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import pytest

from cellsim.describe.cell import FINISHED
from cellsim.engine import clock_simpy
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.tables import FlatCell
from cellsim.study.audit import units_in_stores, units_inside
from cellsim.study.plan import Plan

AWAY = ("off", "break", "handing over", "absent")
IDLE = ("free", "down", "waiting for repair", "planned service", "waiting for zone")
HOUR = 3_600_000_000


class Books:
    """For how long everybody and everything was at what: (kind, index) -> what it was at -> microseconds."""

    def __init__(self, walk: bool) -> None:
        self.walk = walk  # count the units one by one, instead of asking how many there are
        self.times: dict[tuple[str, int], dict[int, int]] = {}
        self.seen: dict[tuple[str, int], tuple[int, int]] = {}

    def look(self, c: Any) -> None:
        """Write down what has changed since the last look."""
        now = [("machine", m.state) for m in c.machines], [("actor", actor.state) for actor in c.actors]
        found = {(kind, k): what for rows in now for k, (kind, what) in enumerate(rows)}
        if self.walk:
            stores = units_in_stores(c)
            found |= {("store", s): len(units) for s, units in enumerate(stores)}
            found["inside", 0] = len(units_inside(c, stores))
        else:
            found |= {("store", s): store.level for s, store in enumerate(c.stores)}
            found["inside", 0] = c.wip
        for key, what in found.items():
            before = self.seen.get(key)
            if before is None or before[0] != what:
                self._close(key, c.now)
                self.seen[key] = what, c.now

    def _close(self, key: tuple[str, int], at: int) -> None:
        if key in self.seen:
            what, since = self.seen[key]
            row = self.times.setdefault(key, defaultdict(int))
            row[what] += at - since

    def close(self, at: int) -> None:
        """Bring everything up to a moment."""
        for key, (what, _) in list(self.seen.items()):
            self._close(key, at)
            self.seen[key] = what, at

    def begin(self, at: int) -> None:
        """Count from now on."""
        self.close(at)
        self.times = {key: defaultdict(int, {what: 0}) for key, (what, _) in self.seen.items()}


@contextmanager
def looking(books: Books) -> Iterator[None]:
    """Let the bookkeeper look after each instant of the run within."""
    settle = clock_simpy.settle

    def settle_and_look(c: Any) -> None:
        settle(c)
        books.look(c)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock_simpy, "settle", settle_and_look)
        yield


def rank(values: Sequence[float], share: float) -> float:
    """The smallest value that at least this share does not exceed."""
    return sorted(values)[max(0, math.ceil(share * len(values) - 1e-9) - 1)]


def shares(rows: Sequence[dict[int, int]], states: Sequence[str], clock: int) -> dict[str, float]:
    """Share of the time in each state that occurred, over machines or people together."""
    totals: dict[str, int] = defaultdict(int)
    for row in rows:
        for state, time in row.items():
            totals[states[state]] += time
    return {state: total / clock / len(rows) for state, total in totals.items() if total}


def second_figures(flat: FlatCell, plan: Plan, seed: int, replication: int, walk: bool) -> dict[str, Any]:
    """Figures of one replication, worked out without the program's ledgers; None where one is not defined."""
    books = Books(walk)
    names = flat.names
    with looking(books):
        run = SimpyRun(flat, seed, replication)
        books.look(run.state)
        if plan.counted_from:
            run.advance(plan.counted_from)
        before = len(run.exits)
        books.begin(plan.counted_from)
        run.advance(plan.horizon)
        books.close(plan.horizon)
    clock = plan.horizon - plan.counted_from
    found: dict[str, Any] = {}
    for k, name in enumerate(names.stations):
        row = flat.state.stations[k]
        machines = [
            books.times["machine", i] for i in range(row.first_machine, row.first_machine + row.machines)
        ]
        found |= {f"{name} {s}": x for s, x in shares(machines, L.MACHINE_STATES, clock).items()}
    for post in dict.fromkeys(names.posts):
        chosen = [a for a, other in enumerate(names.posts) if other == post]
        if not flat.state.actors[chosen[0]].thing:
            spent = shares([books.times["actor", a] for a in chosen], L.ACTOR_STATES, clock)
            found |= {f"{post} {state}": share for state, share in spent.items()}
            duty = sum(share for state, share in spent.items() if state not in AWAY)
            busy = sum(share for state, share in spent.items() if state not in (*AWAY, *IDLE))
            found[f"load of {post}"] = busy / duty if duty else None
    for s, name in enumerate(names.stores):
        if flat.state.stores[s].kind == L.PLACES:
            levels = books.times["store", s]
            found[f"mean in {name}"] = sum(level * time for level, time in levels.items()) / clock
            below, width = 0, flat.state.stores[s].bin_width
            for level in sorted(levels):
                below += levels[level]
                if below >= 0.95 * clock:  # told to the end of its bin, where levels share one
                    found[f"p95 in {name}"] = min((level // width + 1) * width - 1, max(levels))
                    break
    inside = books.times["inside", 0]
    found["mean inside"] = sum(units * time for units, time in inside.items()) / clock
    found["inside at end"] = books.seen["inside", 0][0]
    finished = names.stores.index(FINISHED)
    counted = [(at, at - entered) for at, entered, s in run.exits[before:] if s == finished]
    counted = [(at, stay) for at, stay in counted if any(hour.start < at <= hour.end for hour in plan.hours)]
    found["output per hour"] = len(counted) * HOUR / plan.worked
    for label in dict.fromkeys(hour.label for hour in plan.hours):
        spans = [hour for hour in plan.hours if hour.label == label]
        made = [sum(hour.start < at <= hour.end for at, _ in counted) for hour in spans]
        found[f"made {label}"] = sum(made) / len(made)
    stays = [stay / 1e6 for _, stay in counted]
    found["lead time"] = sum(stays) / len(stays) if stays else None
    for key in (50, 90, 95):
        found[f"p{key} of lead time"] = rank(stays, key / 100) if stays else None
    for s, name in enumerate(names.stores):
        if flat.state.stores[s].kind == L.OUTLET:
            found[f"left by {name}"] = sum(store == s for _, _, store in run.exits[before:])
    return found


def same_figures(result: dict[str, Any]) -> dict[str, Any]:
    """The same figures as the result says them."""
    found: dict[str, Any] = {}
    for kind in ("stations", "people", "robots"):
        for name, row in result[kind].items():
            found |= {f"{name} {state}": entry["mean"] for state, entry in row["shares"].items()}
            if kind != "stations":
                found[f"load of {name}"] = row["load"]["mean"]
    for name, row in result["stores"].items():
        found |= {f"mean in {name}": row["mean"], f"p95 in {name}": row["p95"]}
    found |= {"mean inside": result["wip"]["mean"], "inside at end": result["wip"]["inside_at_end"]["mean"]}
    found["output per hour"] = result["output_per_hour"]["mean"]
    found |= {f"made {row['hour']}": row["mean"] for row in result["output_per_hour"]["by_clock_hour"]}
    found["lead time"] = result["lead_time"]["mean_s"]
    found |= {f"p{key} of lead time": result["lead_time"][f"p{key}_s"] for key in (50, 90, 95)}
    return found | {f"left by {name}": entry["mean"] for name, entry in result["outlets"].items()}
