"""A balance as a cell: its file, and what it makes when times vary and places are few."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from cellsim.describe.resolve import load_text
from cellsim.describe.work_plan import WorkElement, WorkPlan
from cellsim.describe.writer_crew import shift_value
from cellsim.describe.writer_text import Value, lines_of
from cellsim.errors import UsageError
from cellsim.study.broken import stop_if_broken
from cellsim.study.means import means
from cellsim.study.replicate import DEFAULT_REPLICATIONS
from cellsim.study.runner import Progress, Wanted
from cellsim.study.statistics import t_interval
from cellsim.study.watched import values_of
from cellsim.units import HOUR, format_number, format_ratio, format_time

File = str | os.PathLike[str]
MACHINE_LETTERS = 44  # of the name of a machine that go into that of its station
RATE_UNIT = "good units per working hour"


@dataclass(frozen=True, slots=True)
class Seat:
    """A station of the balance and its person, with the elements in an order in which they can be done."""

    number: int
    person: str
    elements: tuple[WorkElement, ...]

    @property
    def load(self) -> int:
        """Time by hand for a unit, microseconds."""
        return sum(e.time for e in self.elements if not e.runs_alone)

    @property
    def deviation(self) -> float:
        """Standard deviation of that, elements being independent."""
        return math.sqrt(sum((e.time * e.spread) ** 2 for e in self.elements if not e.runs_alone))

    @property
    def longest(self) -> int:
        """What the station takes for a unit at least: the time by hand or that on one of its machines."""
        return max(self.load, *(sum(e.time for e in part) for part in self.parts if part[0].machine), 0)

    @property
    def parts(self) -> list[list[WorkElement]]:
        """The elements by benches and machines, in order; what follows on the same one is one part."""
        found: list[list[WorkElement]] = []
        for element in self.elements:
            if found and found[-1][0].machine == element.machine:
                found[-1].append(element)
            else:
                found.append([element])
        return found


def in_order(elements: Sequence[WorkElement]) -> tuple[WorkElement, ...]:
    """Elements of one station, each behind what it comes after, those of a machine next to each other.

    Work at the bench goes first where it can, else the order is that of the plan.
    """
    inside = {e.name for e in elements}
    group = {e.name: e.machine or e.name for e in elements}
    waits = {
        g: {group[a] for e in elements if group[e.name] == g for a in e.after if a in inside} - {g}
        for g in dict.fromkeys(group.values())
    }
    done: list[str] = []
    while len(done) < len(waits):
        free = [g for g in waits if g not in done and waits[g] <= set(done)]
        done.append(next((g for g in free if g in inside), free[0]))
    return tuple(e for g in done for e in _within([e for e in elements if group[e.name] == g]))


def _within(elements: Sequence[WorkElement]) -> list[WorkElement]:
    """Elements of one machine in their order."""
    left, found = list(elements), []
    while left:
        names = {e.name for e in left}
        following = next(e for e in left if not names & set(e.after))
        found.append(following)
        left.remove(following)
    return found


def cell_text(
    plan: WorkPlan,
    seats: Sequence[Seat],
    shifts: int = 1,
    *,
    constant: bool = False,
    unlimited: bool = False,
) -> str:
    """The balance as a cell file.

    A person's bench and machines are stations of their own with a place between them.  With `constant` times
    do not vary, with `unlimited` there is always a place between two persons.
    """
    route: list[Value] = []
    stations: dict[str, Value] = {}
    stores: dict[str, Value] = {}
    crew: dict[str, Value] = {}
    places = "unlimited" if unlimited or plan.places is None else str(plan.places)
    for seat in seats:
        names = _names(seat)
        crew[seat.person] = _post(seat, names)
        for k, (name, part) in enumerate(zip(names, seat.parts, strict=True)):
            room = places if k == 0 else "1"
            if route and room != "0":
                stores[f"before {name}"] = room
                route.append(f"before {name}")
            route.append(name)
            stations[name] = _station(part, seat.person, constant)
    if plan.scrap:
        last = stations[str(route[-1])]
        assert isinstance(last, dict)
        last["rejects"] = {"share": format_ratio(plan.scrap)}
    whole: dict[str, Value] = {"cell": plan.name}
    if plan.question:
        whole["question"] = plan.question
    whole |= {"target": _target(plan)} if plan.takt is not None else {}
    if plan.shifts:
        whole["shifts"] = {shift.name: shift_value(shift) for shift in plan.shifts}
    whole |= {"crew": crew, "route": route, "stations": stations}
    if stores:
        whole["stores"] = stores
    if plan.shifts:
        whole["study"] = {"shifts": str(shifts), "settle": "1 shift"}
    else:
        whole["study"] = {"run": f"{8 * shifts} h", "settle": "1 h"}
    head = "# A balance of the work plan of the same name, one person to a station.\n"
    return head + "".join(f"{line}\n" for key, value in whole.items() for line in lines_of(key, value, 0))


def _names(seat: Seat) -> list[str]:
    """Names of the benches and machines of a station."""
    parts = seat.parts
    benches = sum(not part[0].machine for part in parts)
    names, bench = [], 0
    for part in parts:
        if part[0].machine:
            machine = part[0].machine[:MACHINE_LETTERS].strip()
            names.append(f"{seat.number} {machine}{' (machine)' if machine == 'bench' else ''}")
        else:
            letter = "abcdefghijklmnopqrstuvwxyz"[bench % 26] if benches > 1 else ""
            names.append(f"{seat.number}{letter} bench")
            bench += 1
    return names


def _post(seat: Seat, names: Sequence[str]) -> Value:
    """What a person attends; whoever has a machine loads it before going on, so that it runs meanwhile.

    The elements on a machine say themselves who does them.
    """
    benches: list[Value] = [name for name, part in zip(names, seat.parts, strict=True) if not part[0].machine]
    if len(names) == 1 and benches:
        return benches
    return {"works_at": benches, "serves": "upstream first"} if benches else {"serves": "upstream first"}


def _station(part: Sequence[WorkElement], person: str, constant: bool) -> dict[str, Value]:
    origin = "balanced: " + ", ".join(f"{e.name} {format_time(e.time)}" for e in part)
    if part[0].machine:
        steps: list[Value] = []
        for e in part:
            step: dict[str, Value] = {"do": e.name, "time": _time(e.time, e.time * e.spread, constant)}
            steps.append(step if e.runs_alone else step | {"by": person})
        return {"work": steps, "origin": origin}
    total = sum(e.time for e in part)
    deviation = math.sqrt(sum((e.time * e.spread) ** 2 for e in part))
    return {"cycle": _time(total, deviation, constant), "origin": origin}


def _time(mean: int, deviation: float, constant: bool) -> Value:
    if constant or not deviation:
        return format_time(mean)
    return {"mean": format_time(mean), "spread": f"{100 * deviation / mean:.4g} %"}


def _target(plan: WorkPlan) -> str:
    assert plan.takt is not None
    if plan.shifts and plan.demand and any(a.path == "available" for a in plan.assumptions):
        return f"{plan.demand} per shift"
    return f"{format_number(HOUR / plan.takt)} per h"


def simulated(
    plan: WorkPlan,
    seats: Sequence[Seat],
    shifts: int,
    paper: float,
    seed: int,
    replications: int | None,
    *,
    clock: str,
    workers: int | None,
    scheduler: str | None,
    kept_in: File | None,
    progress: Progress | None,
    announce: Callable[[str], None] | None,
) -> tuple[dict[str, Any], str]:
    """What the balance makes: as it is, with endless places, with times that never vary; and the clock.

    All in good units per working hour with 95 % intervals; the same luck for all.  `losses` are what too few
    places, times that vary, and everything else cost, each with the interval of the paired difference.
    """
    count = replications or DEFAULT_REPLICATIONS
    if count < 2:
        raise UsageError("an interval takes at least two replications")
    varies = any(e.spread for seat in seats for e in seat.elements)
    texts = {"as_planned": cell_text(plan, seats, shifts)}
    if varies:
        texts["unlimited_places"] = cell_text(plan, seats, shifts, unlimited=True)
        texts["constant_times"] = cell_text(plan, seats, shifts, constant=True)
    cells = {name: load_text(text, f"{name}.yaml") for name, text in texts.items()}
    wanted = [Wanted(cell, seed, tuple(range(count)), slim=True) for cell in cells.values()]
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        runner.settle_means(cells["as_planned"], count * len(cells))
        records = runner.records(wanted, progress)
        used = runner.clock
    told: dict[str, Any] = {"replications": count, "shifts": shifts, "varies": varies, "unit": RATE_UNIT}
    rates: dict[str, list[float]] = {}
    for (name, cell), found in zip(cells.items(), records, strict=True):
        stop_if_broken(found, seed, plan.name)
        rates[name] = values_of("output_per_hour", cell, list(found)) or []
        told[name] = _interval(rates[name])
    if varies:
        least = [paper - rate for rate in rates["constant_times"]]
        told["losses"] = {
            "places": _less(rates["unlimited_places"], rates["as_planned"]),
            "times": _less(rates["constant_times"], rates["unlimited_places"]),
            "rest": _interval(least),
        }
    return told, used


def _less(one: Sequence[float], other: Sequence[float]) -> dict[str, Any]:
    return _interval([a - b for a, b in zip(one, other, strict=True)])


def _interval(values: Sequence[float]) -> dict[str, Any]:
    found = t_interval(values)
    return {"mean": found.mean, "interval": found.as_list()}
