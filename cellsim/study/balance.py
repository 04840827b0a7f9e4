"""A work plan shared out among people: who does what, how sure that is the best, and what the line makes.

On paper first: fewest people for the planned cycle, or the smallest cycle for so many people.  Then the
balance becomes a cell and is run, since a balanced line makes less than its longest station promises.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from cellsim.describe.work_plan import WorkPlan
from cellsim.engine.clocks import AUTO
from cellsim.errors import UsageError
from cellsim.study.balance_conditions import (
    Problem,
    machine_times,
    no_balance,
    no_cycle,
    problem,
    stop_at_contradictions,
    stop_at_long,
)
from cellsim.study.balanced_cell import File, Seat, cell_text, in_order, simulated
from cellsim.study.provenance import versions
from cellsim.study.runner import Progress
from cellsim.theory.balancing import balance_efficiency, bounds, merged, people_for, rows_of, smoothness_index
from cellsim.theory.balancing_rules import assigned, rules
from cellsim.theory.exact_balancing import Balance, NoBalance, fewest_stations, smallest_cycle, smooth
from cellsim.units import SECOND, count_of

SEARCH = 20.0  # seconds for each search


def balance(
    plan: WorkPlan,
    *,
    people: int | None = None,
    seconds: float = SEARCH,
    on_paper: bool = False,
    replications: int | None = None,
    shifts: int = 1,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Balance a work plan, make it a cell and run that.

    Args:
        plan: from `load_plan`.
        people: share the work among so many instead of the fewest, or of what the plan says.
        seconds: about how long each search may take; what is not proven then is told.
        on_paper: no runs.
        replications: how many runs; without it 100.
        shifts: how many shifts a run covers (of 8 h where the plan has none).

    The other arguments are those of `run`.

    Returns:
        The answer in the keys of `cellsim balance --json`: `stations`, `cycle_s`, `balance_efficiency`,
        `sure`, `binds`, `simulated`, `cell_file`.

    Raises:
        UsageError: no balance is possible, with the reason, or an argument makes no sense.
        WorkersLost: as for `run`.
    """
    if not (isinstance(seconds, (int, float)) and 0 < seconds < math.inf):
        raise UsageError(f"--seconds {seconds}: a time above 0 is wanted")
    if shifts < 1:
        raise UsageError(f"--shifts {shifts}: at least one is wanted")
    answer, seats = on_paper_only(plan, people, seconds)
    text = cell_text(plan, seats, shifts)
    answer["cell_file"] = text
    answer["simulated"] = None
    number = 1 if seed is None else seed
    used = clock
    if not on_paper:
        answer["simulated"], used = simulated(
            plan, seats, shifts, answer["balanced_per_hour"], number, replications,
            clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, progress=progress,
            announce=announce,
        )  # fmt: skip
    answer["provenance"] = versions() | {"seed": number, "clock": used}
    return answer


def on_paper_only(plan: WorkPlan, people: int | None, seconds: float) -> tuple[dict[str, Any], list[Seat]]:
    """The balance without runs, and its stations."""
    given = problem(plan)
    blocks = stop_at_contradictions(given)
    wanted = people or plan.people
    _check_people(plan, wanted, len(blocks))
    cycle = None if plan.planned_cycle is None else int(plan.planned_cycle + 1e-6) // given.unit
    fewest = None
    if cycle is not None:
        fewest = _fewest(given, blocks, cycle, seconds, must=not wanted)
    if wanted:
        found = _cycle_for(given, wanted, seconds)
        chosen = found
    else:
        assert fewest is not None and fewest.seats is not None
        wanted = max(fewest.seats) + 1
        found = fewest
        chosen = smallest_cycle(given.work(), wanted, start=fewest.seats, seconds=seconds)
    if chosen.seats is None:
        raise UsageError(f"no balance was found within {seconds:g} s; give more --seconds")
    by_stations = people is None and not plan.people
    places = smooth(given.work(), chosen.seats)
    seats = _seats(given, places)
    answer = _figures(given, seats, wanted, by_stations)
    answer["sure"] = _sure(given, found, chosen, wanted, by_stations)
    answer["fewest_people"] = _fewest_told(fewest)
    answer["bounds"] = _bounds(given, cycle)
    answer["rules"] = _rules(given, cycle)
    answer["one_less"] = _one_less(given, wanted, seconds / 2)
    answer["binds"] = _binds(answer)
    return answer, seats


def _check_people(plan: WorkPlan, wanted: int, blocks: int) -> None:
    if wanted < 0 or (plan.crew and wanted > len(plan.crew)):
        raise UsageError(f"--people {wanted}: the crew of the plan has {len(plan.crew)}")
    if wanted > blocks:
        if blocks == 1:
            raise UsageError(f"--people {wanted}: the work is one piece, which is done at one station")
        raise UsageError(
            f"--people {wanted}: there are {count_of(blocks, 'piece')} of work that can be given to different"
            " people"
        )


def _fewest(
    given: Problem, blocks: Sequence[Sequence[str]], cycle: int, seconds: float, must: bool
) -> Balance | None:
    """Fewest stations for the planned cycle; None where there is no way and none is needed."""
    what = f"the planned cycle of {(given.plan.planned_cycle or 0.0) / SECOND:.6g} s"
    try:
        stop_at_long(given, blocks, cycle, what)
    except UsageError:
        if must:
            raise
        return None
    try:
        found = fewest_stations(given.work(), cycle, seconds=seconds)
    except NoBalance:
        if must:
            raise no_balance(given, cycle, what) from None
        return None
    if must and found.seats is None:
        raise UsageError(f"no balance was found within {seconds:g} s; give more --seconds")
    return found


def _cycle_for(given: Problem, people: int, seconds: float) -> Balance:
    try:
        return smallest_cycle(given.work(), people, seconds=seconds)
    except NoBalance:
        raise no_cycle(given, people) from None


def _seats(given: Problem, places: Sequence[int]) -> list[Seat]:
    """Who does what, the elements of each in an order in which they can be done."""
    plan = given.plan
    rows = rows_of(tuple(places))
    persons = people_for(given.work(), rows)
    assert persons is not None
    named_people = [person.name for person in plan.crew] or [f"P{k + 1}" for k in range(len(rows))]
    return [
        Seat(k + 1, named_people[persons[k]], in_order([plan.elements[i] for i in row]))
        for k, row in enumerate(rows)
    ]


def _figures(given: Problem, seats: Sequence[Seat], people: int, by_stations: bool) -> dict[str, Any]:
    """What the balance is: takt, stations, efficiencies."""
    plan = given.plan
    content = sum(seat.load for seat in seats)
    longest = max(seat.longest for seat in seats)
    planned = plan.planned_cycle
    paced = planned if by_stations and planned is not None else longest
    return {
        "plan": plan.name,
        "question": plan.question,
        "seeks": "fewest people" if by_stations else "smallest cycle",
        "takt_s": None if plan.takt is None else plan.takt / SECOND,
        "takt_of_starts_s": None if plan.takt_of_starts is None else plan.takt_of_starts / SECOND,
        "scrap": plan.scrap,
        "planned_efficiency": plan.efficiency,
        "planned_cycle_s": None if planned is None else planned / SECOND,
        "demand": plan.demand or None,
        "available_s": plan.available / SECOND or None,
        "work_content_s": content / SECOND,
        "people": people,
        "stations": [_station(seat, longest) for seat in seats],
        "cycle_s": longest / SECOND,
        "balanced_per_hour": 3600 * SECOND / longest * (1 - plan.scrap),
        "target_per_hour": None if plan.takt is None else 3600 * SECOND / plan.takt,
        "balance_efficiency": balance_efficiency(content, people, paced),
        "balance_delay": 1 - balance_efficiency(content, people, paced),
        "efficiency_cycle_s": paced / SECOND,
        "efficiency_at_longest": balance_efficiency(content, people, longest),
        "efficiency_at_takt": None
        if plan.takt_of_starts is None or people * plan.takt_of_starts < content
        else balance_efficiency(content, people, plan.takt_of_starts),
        "smoothness_index_s": smoothness_index([seat.load / SECOND for seat in seats]),
        "assumptions": [{"path": a.path, "value": a.value, "why": a.why} for a in plan.assumptions],
        "varies": any(e.spread for e in plan.elements),
        "places": plan.places,
    }


def _station(seat: Seat, longest: int) -> dict[str, Any]:
    return {
        "station": seat.number,
        "person": seat.person,
        "load_s": seat.load / SECOND,
        "idle_s": (longest - seat.load) / SECOND,
        "deviation_s": seat.deviation / SECOND,
        "elements": [
            {
                "name": e.name,
                "text": e.text,
                "time_s": e.time / SECOND,
                "machine": e.machine or None,
                "runs_alone": e.runs_alone,
            }
            for e in seat.elements
        ],
        "machines": [
            {"machine": name, "busy_s": time / SECOND} for name, time in machine_times(seat.elements).items()
        ],
    }


def _sure(given: Problem, found: Balance, chosen: Balance, people: int, by_stations: bool) -> dict[str, Any]:
    """What is proven: of the number of people, and of the cycle with so many."""
    assert chosen.seats is not None
    seats = _seats(given, chosen.seats)
    longest, bound = max(seat.longest for seat in seats), chosen.bound * given.unit
    told: dict[str, Any] = {
        "cycle": {"proved": chosen.proved, "bound_s": bound / SECOND, "gap": longest / bound - 1},
        "people": None,
    }
    if by_stations:
        told["people"] = {"proved": found.proved, "bound": found.bound, "gap": people / found.bound - 1}
    return told


def _fewest_told(found: Balance | None) -> dict[str, Any] | None:
    if found is None or found.seats is None:
        return None
    return {"people": max(found.seats) + 1, "proved": found.proved, "bound": found.bound}


def _bounds(given: Problem, cycle: int | None) -> dict[str, Any] | None:
    """The bounds of the number of people, None without a planned cycle or where that is too short."""
    work, _ = merged(given.work())
    if cycle is None or cycle < max(*work.times, work.least_cycle):
        return None
    found = bounds(work, cycle)
    return {"work_content": found.content, "exact_work_content": sum(work.times) / cycle,
            "long_elements": found.large, "order": found.order}  # fmt: skip


def _rules(given: Problem, cycle: int | None) -> dict[str, int | None]:
    """How many people the rules of the textbooks come to by hand; None where a rule leads nowhere."""
    work, _ = merged(given.work())
    if cycle is None or cycle < max(*work.times, work.least_cycle):
        return {}
    found = {name: assigned(work, cycle, weights) for name, weights in rules(work).items()}
    return {name: None if seats is None else max(seats) + 1 for name, seats in found.items()}


def _one_less(given: Problem, people: int, seconds: float) -> dict[str, Any] | None:
    """The smallest cycle with one person less."""
    if people < 2:
        return None
    try:
        found = smallest_cycle(given.work(), people - 1, seconds=seconds)
    except NoBalance:
        return {"people": people - 1, "cycle_s": None, "bound_s": None, "proved": True}
    if found.seats is None:
        return None
    cycle = max(seat.longest for seat in _seats(given, found.seats))
    return {"people": people - 1, "cycle_s": cycle / SECOND, "bound_s": found.bound * given.unit / SECOND,
            "proved": found.proved}  # fmt: skip


def _binds(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """What keeps the cycle from being shorter: people, or machines, who take all of it for a unit."""
    longest = answer["cycle_s"] - 1e-9
    found = []
    for row in answer["stations"]:
        if row["load_s"] >= longest:
            found.append({"station": row["station"], "person": row["person"], "machine": None})
        for machine in row["machines"]:
            if machine["busy_s"] >= longest:
                found.append({"station": row["station"], "person": None, "machine": machine["machine"]})
    return found
