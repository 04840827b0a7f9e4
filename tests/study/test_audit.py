"""The audit can fail: each law is broken by hand in a finished run, and that law alone says so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.study.audit import audit, law_names, units_in_stores, units_inside
from cellsim.study.worker import Worker

SECOND = 1_000_000

# Every kind of claim: units in stores, on machines and in the hands of a robot; places that are reserved.
TEXT = """
cell: everything that is booked
crew: {op: {people: 2}, technician: {learning: {rate: 90 %, standard_after: 1}}}
robots: {R1: {travel: {press > tray: 5 s}}, R2: {}}
zones: {front: {robots: R2, people_at: box, inside: slows to 50 %}}
route: [press, tray, fit, rack, box]
stations:
  press:
    machines: 2
    faults: 30 %
    cycle: {mean: 30 s, spread: 20 %}
    visit: {by: R1, load: 3 s, unload: 4 s, deliver: 5 s}
    stops: {jam: {every: 5 min of running, lasts: 30 s, cleared_by: technician}}
  fit: {cycle: {mean: 30 s, spread: 20 %}, by: op, hands_on: only into a free place, scrap: 3 %}
  box: {cycle: {mean: 25 s, spread: 20 %}, by: op}
stores: {tray: 4, rack: {places: 6, tray: 2, use_within: 1 h}}
parts: {screws: {used_at: {fit: 2}, box: 40, bins: 2, delivery: 8 min}}
finished_goods: {places: 60, collected: {every: 10 min, takes: 20}}
carriers: {pallets: {count: 20, from: fit, to: box, returns: 10 s}}
study: {run: 1 h}
"""


def run_until(wanted: Callable[[Any], bool]) -> SimpyRun:
    """A run that stands at the first second after half an hour at which `wanted` holds."""
    made = SimpyRun(compile_cell(load_text(TEXT)), 3, 0)
    at = 30 * 60 * SECOND
    made.advance(at)
    while not wanted(made.state):
        assert at < 3600 * SECOND
        at += SECOND
        made.advance(at)
    assert audit(made) == []
    return made


@pytest.fixture
def run() -> SimpyRun:
    """A run in which somebody works, something is held and something is reserved."""
    return run_until(telling)


def visits(c: Any) -> list[Any]:
    """The jobs of those who load and unload."""
    return list(c.jobs[c.visit_base : c.repair_base])


def telling(c: Any) -> bool:
    """Whether everything that the tests below break is there to be broken."""
    return bool(
        sum(map(len, units_in_stores(c))) > 1
        and sum(m.progress == L.IN_CYCLE for m in c.machines) > 1
        and any(job.held >= 0 for job in visits(c))
        and any(store.reserved for store in c.stores)
        and any(actor.job < 0 for actor in c.actors)
        and any(tally.units > 1 for tally in c.tallies)
        and len({c.parts[u].entered for u in units_inside(c)}) == len(units_inside(c))
    )


def place(run: SimpyRun, name: str) -> Any:
    """A store by name."""
    return run.state.stores[run.flat.names.stores.index(name)]


def machine(run: SimpyRun, name: str) -> Any:
    """A machine by name."""
    return run.state.machines[run.flat.names.machines.index(name)]


def another_unit_came_in(run: SimpyRun) -> str:
    """A unit is booked that is nowhere."""
    c = run.state
    inside = len(units_inside(c))
    out = c.created - inside
    c.created += 1
    return f"{out + inside + 1} units came in, {out} went out and {inside} are inside"


def a_good_unit_was_counted_twice(run: SimpyRun) -> str:
    """One more has gone out than left."""
    c = run.state
    inside = len(units_inside(c))
    c.good += 1
    return f"{c.created} units came in, {c.created - inside + 1} went out and {inside} are inside"


def work_in_progress_is_miscounted(run: SimpyRun) -> str:
    """The count of units inside is not the number of units inside."""
    c = run.state
    c.wip -= 1
    return f"work in progress is booked as {c.wip}, {c.wip + 1} units are inside"


def a_unit_is_on_two_machines(run: SimpyRun) -> str:
    """A machine holds the unit of another; times inside and faults are booked as if it were right."""
    c = run.state
    one, two = [m for m in c.machines if m.progress == L.IN_CYCLE][:2]
    c.wip_stays += c.parts[one.unit].entered - c.parts[two.unit].entered
    c.turned_faulty += (c.parts[one.unit].faults != 0) - (c.parts[two.unit].faults != 0)
    two.unit = one.unit
    return "a unit is in two places"


def a_machine_starves_too_long(run: SimpyRun) -> str:
    """One microsecond is booked twice."""
    machine(run, "box").totals[L.M_STARVED] += 1
    now = run.state.now
    return f"the states of box add up to {now + 1} of {now} us"


def a_person_is_forgotten(run: SimpyRun) -> str:
    """One microsecond of a person is not booked."""
    run.state.actors[run.flat.names.actors.index("op 2")].totals[L.A_FREE] -= 1
    now = run.state.now
    return f"the states of op 2 add up to {now - 1} of {now} us"


def a_state_takes_less_than_no_time(run: SimpyRun) -> str:
    """The sum is right, but one state has a negative time."""
    totals = machine(run, "box").totals
    totals[L.M_OFF] -= 1
    totals[L.M_STARVED] += 1
    now = run.state.now
    return f"the states of box add up to {now} of {now} us"


def a_store_was_too_full(run: SimpyRun) -> str:
    """At some time there was one unit more than there are places."""
    place(run, "tray").highest = 5
    return "store tray held 5 units in 4 places"


def a_place_is_kept_for_nobody(run: SimpyRun) -> str:
    """A place is reserved that nobody will use."""
    store = place(run, "rack")
    store.reserved += 1
    return f"store rack has {store.reserved} places reserved, {store.reserved - 1} are claimed"


def a_reserved_place_is_lost(run: SimpyRun) -> str:
    """Somebody will need a place that is not kept for him."""
    s = next(s for s, store in enumerate(run.state.stores) if store.reserved)
    store, name = run.state.stores[s], run.flat.names.stores[s]
    store.reserved -= 1
    return f"store {name} has {store.reserved} places reserved, {store.reserved + 1} are claimed"


def a_time_at_a_level_is_not_booked(run: SimpyRun) -> str:
    """A store was empty for a microsecond less; that changes nothing but the sum."""
    place(run, "tray").time_at[0] -= 1
    now = run.state.now
    return f"the times at each level of tray add up to {now - 1} of {now} us"


def a_time_at_a_level_is_less_than_none(run: SimpyRun) -> str:
    """The sum and the mean level are right, but one level has a negative time."""
    times, now = place(run, "tray").time_at, run.state.now
    times[8] -= 1
    times[7] += 1
    times[1] += 1
    times[0] -= 1
    return f"the times at each level of tray add up to {now} of {now} us"


def a_time_is_booked_at_a_higher_level(run: SimpyRun) -> str:
    """A microsecond with no unit is booked as one with a unit."""
    store = place(run, "tray")
    store.time_at[0] -= 1
    store.time_at[1] += 1
    area = store.area
    return f"the times at each level of tray say {area + 1} to {area + 1} unit-us, its level {area}"


def a_time_is_booked_at_a_lower_level(run: SimpyRun) -> str:
    """A microsecond with one unit is booked as one with none."""
    store = place(run, "tray")
    store.time_at[1] -= 1
    store.time_at[0] += 1
    area = store.area
    return f"the times at each level of tray say {area - 1} to {area - 1} unit-us, its level {area}"


def a_piece_is_lost(run: SimpyRun) -> str:
    """A piece was used that is not booked."""
    stock = run.state.stocks[0]
    stock.used -= 1
    came = 80 + stock.delivered
    return f"of screws {came} pieces came: {stock.used} used, {stock.level} left"


def a_bin_is_away_for_nothing(run: SimpyRun) -> str:
    """A bin is on its way that was not emptied."""
    c = run.state
    next(supply for supply in c.supplies if supply.out == 0).out = 1
    away = sum(supply.out for supply in c.supplies[:2])
    return f"{away} bins of screws are away, {c.stocks[0].level} pieces are left"


def a_unit_was_collected_twice(run: SimpyRun) -> str:
    """More units were collected than have reached the places behind the cell."""
    store = place(run, "finished")
    store.left += 1
    found = f"{store.left} were collected, {store.level} stand there"
    return f"{store.entered} units reached finished, {found}"


def a_time_inside_is_wrong(run: SimpyRun) -> str:
    """The units that left were inside for a microsecond more than is booked."""
    c = run.state
    c.wip_stays += 1
    return f"times inside add up to {c.wip_area + 1}, work in progress to {c.wip_area} unit-us"


def a_unit_came_in_earlier(run: SimpyRun) -> str:
    """A unit inside says that it came in before it did."""
    c = run.state
    c.parts[units_inside(c)[0]].entered -= 1
    return f"times inside add up to {c.wip_area + 1}, work in progress to {c.wip_area} unit-us"


def a_time_in_a_store_is_wrong(run: SimpyRun) -> str:
    """The level of a store and the times in it do not agree."""
    store = place(run, "tray")
    store.stays -= 1
    return f"times in tray add up to {store.area - 1}, its level to {store.area}"


def a_job_claims_whom_it_does_not_have(run: SimpyRun) -> str:
    """A person is free while a job holds him."""
    c, names = run.state, run.flat.names.actors
    a = next(a for a, actor in enumerate(c.actors) if actor.job >= 0)
    c.actors[a].job = -1
    return f"{names[a]} is claimed by a job and belongs to another"


def a_person_works_for_a_job_without_claim(run: SimpyRun) -> str:
    """A free person says that he works for a job that has not claimed anybody."""
    c, names = run.state, run.flat.names.actors
    a = next(a for a, actor in enumerate(c.actors) if actor.job < 0)
    c.actors[a].job = next(j for j, job in enumerate(c.jobs) if job.crew_size == 0)
    return f"{names[a]} belongs to a job that has not claimed him"


def ready_units(run: SimpyRun, name: str) -> list[int]:
    """The units that can be taken from a store."""
    c, s = run.state, run.flat.names.stores.index(name)
    return [u for u in units_in_stores(c)[s] if c.parts[u].ready]


def a_held_unit_is_ready_too(run: SimpyRun) -> str:
    """One more unit is held back than stands in the store beside those that are ready."""
    rack = place(run, "rack")
    rack.gathering += 1
    ready = len(ready_units(run, "rack"))
    return f"rack holds {rack.gathering} units back and has {ready} ready of {rack.level}"


def a_tray_is_more_than_full(run: SimpyRun) -> str:
    """All units of the store stand in the tray that is being filled, and none can be taken."""
    c, rack = run.state, place(run, "rack")
    for u in ready_units(run, "rack"):
        c.parts[u].ready = 0
    c.tallies[rack.first_tally].units = 0
    rack.gathering = rack.level
    return f"{rack.level} units stand in a tray of 2 in rack"


def a_tray_loses_a_unit(run: SimpyRun) -> str:
    """A tray that has moved counts a unit more than stands in it."""
    rack = place(run, "rack")
    run.state.tray_units[rack.first_tray] += 1
    ready = len(ready_units(run, "rack"))
    return f"the trays that have moved in rack do not hold its {ready} ready units"


def a_ready_unit_is_not_counted(run: SimpyRun) -> str:
    """A unit can be taken that no station would look for."""
    ready = len(ready_units(run, "rack"))
    run.state.tallies[place(run, "rack").first_tally].units -= 1
    return f"[{ready}] units of each variant can be taken from rack, [{ready - 1}] are counted"


def a_unit_waits_longer_than_noted(run: SimpyRun) -> str:
    """A batch would start a microsecond too late."""
    c = run.state
    first = min(c.parts[u].stored for u in ready_units(run, "rack"))
    c.tallies[place(run, "rack").first_tally].oldest = first + 1
    return f"the first unit in rack came at {first} us, {first + 1} us is noted"


def a_variant_is_miscounted(run: SimpyRun) -> str:
    """A unit is counted that is not inside."""
    c = run.state
    c.inside[0] += 1
    return f"[{c.wip}] units of each variant are inside, [{c.wip + 1}] are counted"


def a_person_works_who_is_not_able(run: SimpyRun) -> str:
    """Somebody who works could never have learned it."""
    flat = run.flat
    a = next(a for a, actor in enumerate(run.state.actors) if actor.job >= 0)
    flat.reach[a] = frozenset()
    return f"{flat.names.actors[a]} does what he cannot do"


def a_minute_at_a_station_is_too_much(run: SimpyRun) -> str:
    """A person has worked a microsecond more at a station than he has worked at all."""
    c, names = run.state, run.flat.names
    a = names.actors.index("op 1")
    c.minutes[c.actors[a].first_minute + names.stations.index("fit")] += 1
    booked = c.actors[a].totals[L.A_WORKING]
    return f"op 1 worked {booked + 1} us at stations, {booked} us are booked"


def a_machine_works_longer_than_drawn(run: SimpyRun) -> str:
    """The drawn times do not cover the working time."""
    m = machine(run, "fit")
    m.drawn -= 1
    k, c = run.flat.names.machines.index("fit"), run.state
    left = c.jobs[k].due - c.now if c.jobs[k].state == L.ACTIVE else c.jobs[k].remaining
    return f"fit worked {m.drawn + 1 - left} us, its drawn times say {m.drawn - left}"


def the_path_has_too_much(run: SimpyRun) -> str:
    """A cause has a microsecond that did not pass."""
    c = run.state
    c.path_totals[0] += 1
    elapsed = c.path[c.last_good].end
    return f"the path adds up to {elapsed + 1} of {elapsed} us"


def the_path_ends_elsewhere(run: SimpyRun) -> str:
    """The last good unit left at another instant than its path says."""
    c = run.state
    c.last_good_at -= 1
    elapsed = c.path[c.last_good].end
    return f"the path adds up to {elapsed} of {elapsed} us"


def a_cause_takes_less_than_no_time(run: SimpyRun) -> str:
    """The sum is right, but one cause has a negative time."""
    c = run.state
    c.path_totals[0] -= 10**12
    c.path_totals[1] += 10**12
    elapsed = c.path[c.last_good].end
    return f"the path adds up to {elapsed} of {elapsed} us"


def a_faulty_unit_is_lost(run: SimpyRun) -> str:
    """One unit more turned faulty than can be found anywhere."""
    c = run.state
    inside = sum(c.parts[u].faults != 0 for u in units_inside(c))
    assert c.faulty_gone > 0 and inside > 0
    c.turned_faulty += 1
    out = f"0 were put right, {c.faulty_gone} are gone, {inside} are inside"
    return f"{c.turned_faulty} units turned faulty, {out}"


def a_fault_goes_by_itself(run: SimpyRun) -> str:
    """A unit inside loses its fault without being put right."""
    c = run.state
    faulty = [u for u in units_inside(c) if c.parts[u].faults]
    c.parts[faulty[0]].faults = 0
    out = f"0 were put right, {c.faulty_gone} are gone, {len(faulty) - 1} are inside"
    return f"{c.turned_faulty} units turned faulty, {out}"


def a_machine_is_held_by_nothing(run: SimpyRun) -> str:
    """A machine counts one cause more than strikes it."""
    m = machine(run, "box")
    m.downs += 1
    return f"box is held by {m.downs} and awaited by {m.due_stops} of {m.downs + m.due_stops - 1} causes"


def a_repair_is_forgotten(run: SimpyRun) -> str:
    """A person counts a repair of his own that nobody does."""
    actor = run.state.actors[run.flat.names.actors.index("op 2")]
    actor.repairs += 1
    return "op 2 counts 1 repairs, 0 are under way"


def more_was_spoilt_than_scrapped(run: SimpyRun) -> str:
    """A stop says that it spoilt a million units."""
    c = run.state
    c.stops[0].spoilt += 10**6
    return f"{sum(stop.spoilt for stop in c.stops)} units were spoilt by stops, {c.scrapped} were scrapped"


def a_machine_is_kept_for_no_move(run: SimpyRun) -> str:
    """A machine waits for a unit that no robot brings."""
    machine(run, "box").coming = 1
    return "box is kept for 1 moves, 0 are under way to it"


def a_zone_has_lost_count(run: SimpyRun) -> str:
    """One more person is counted in a zone than works there."""
    zone = run.state.zones[0]
    zone.people += 1
    return f"zone front has counted {zone.people} people"


def somebody_is_inside_unseen(run: SimpyRun) -> str:
    """A technician who does not work in the zone is counted there, and nobody else is missing."""
    a = run.flat.names.actors.index("technician")
    run.state.actors[a].inside = 1
    run.state.zones[0].people += 1
    return "technician is not where the zones have counted him"


def a_robot_stands_for_nobody(run: SimpyRun) -> str:
    """A robot that may move is kept standing."""
    a = run.flat.names.actors.index("R2")
    run.state.actors[a].stopped = 1
    return "R2 stands against its zones"


def a_pallet_is_lost(run: SimpyRun) -> str:
    """A free pallet is not counted."""
    kind, used = run.state.carrier_kinds[0], sum(x.units > 0 for x in run.state.carriers)
    kind.free -= 1
    return f"pallets: {used} in use, {kind.coming} coming back, {kind.free} free of 20"


def a_pallet_carries_nothing(run: SimpyRun) -> str:
    """A unit that is on a pallet is not counted there."""
    counts = [x.units for x in run.state.carriers]
    k = next(k for k, units in enumerate(counts) if units)
    run.state.carriers[k].units = 2
    wrong = [2 if x == k else units for x, units in enumerate(counts)]
    return f"{counts} units are on the carriers, {wrong} are counted"


def none_was_free_too_long(run: SimpyRun) -> str:
    """No pallet was free for longer than the run lasts."""
    kind = run.state.carrier_kinds[0]
    kind.none_free = run.state.now + 1
    return "pallets: the times in use do not fit the clock"


BREACHES: dict[str, tuple[Callable[[SimpyRun], str], ...]] = {
    "material is conserved": (
        another_unit_came_in,
        a_good_unit_was_counted_twice,
        work_in_progress_is_miscounted,
        a_unit_is_on_two_machines,
    ),
    "states fill the clock": (
        a_machine_starves_too_long,
        a_person_is_forgotten,
        a_state_takes_less_than_no_time,
    ),
    "stores keep their places": (a_store_was_too_full, a_place_is_kept_for_nobody, a_reserved_place_is_lost),
    "times at levels fill the clock": (
        a_time_at_a_level_is_not_booked,
        a_time_at_a_level_is_less_than_none,
        a_time_is_booked_at_a_higher_level,
        a_time_is_booked_at_a_lower_level,
    ),
    "parts are conserved": (a_piece_is_lost, a_bin_is_away_for_nothing, a_unit_was_collected_twice),
    "times inside equal work inside": (
        a_time_inside_is_wrong,
        a_unit_came_in_earlier,
        a_time_in_a_store_is_wrong,
    ),
    "held units add up": (
        a_held_unit_is_ready_too,
        a_tray_is_more_than_full,
        a_tray_loses_a_unit,
        a_variant_is_miscounted,
    ),
    "ready units are counted": (a_ready_unit_is_not_counted, a_unit_waits_longer_than_noted),
    "carriers are conserved": (a_pallet_is_lost, a_pallet_carries_nothing, none_was_free_too_long),
    "nobody is in two places": (a_job_claims_whom_it_does_not_have, a_person_works_for_a_job_without_claim),
    "nobody does what he cannot": (a_person_works_who_is_not_able,),
    "minutes at stations are working time": (a_minute_at_a_station_is_too_much,),
    "work equals drawn times": (a_machine_works_longer_than_drawn,),
    "moves keep their targets": (a_machine_is_kept_for_no_move,),
    "zones know who is inside": (
        a_zone_has_lost_count,
        somebody_is_inside_unseen,
        a_robot_stands_for_nobody,
    ),
    "path fills the clock": (the_path_has_too_much, the_path_ends_elsewhere, a_cause_takes_less_than_no_time),
    "faults are accounted for": (a_faulty_unit_is_lost, a_fault_goes_by_itself),
    "stops hold whom they say": (
        a_machine_is_held_by_nothing,
        a_repair_is_forgotten,
        more_was_spoilt_than_scrapped,
    ),
}


@pytest.mark.parametrize(
    ("law", "breach"),
    [(law, breach) for law, breaches in BREACHES.items() for breach in breaches],
    ids=lambda value: value if isinstance(value, str) else value.__name__,
)
def test_a_broken_law_is_found_by_that_law_alone(
    run: SimpyRun, law: str, breach: Callable[[SimpyRun], str]
) -> None:
    """One number of a healthy run is falsified: exactly one finding, with law, name and numbers."""
    words = breach(run)
    assert audit(run) == [f"{law}: {words}"]


def test_every_law_is_broken_above() -> None:
    """No law without a breach; the names that a result lists are those of the audit.

    The last, of the hours of a record, is broken in test_levels.
    """
    assert law_names() == [*BREACHES, "levels add up"]


@pytest.mark.parametrize("hand", ["unit", "held"])
def test_units_are_looked_for_everywhere(hand: str) -> None:
    """In stores, on machines, in hands that bring or take away: a unit not seen there would be missing."""
    c = run_until(lambda c: telling_of(c, hand)).state
    in_hands = [u for job in visits(c) for u in (job.unit, job.held) if u >= 0]
    stored = [u for units in units_in_stores(c) for u in units]
    loaded = [m.unit for m in c.machines if m.progress != L.EMPTY]
    assert in_hands and stored and loaded
    assert sorted(units_inside(c)) == sorted([*in_hands, *stored, *loaded])
    assert len(units_inside(c)) == c.wip


def test_all_units_of_a_cycle_are_seen() -> None:
    """Three a cycle: at 2.5 min 1 is on U, 2 in the tray, and the next 3 wait on S for room: 6 inside."""
    text = """
cell: three at once
route: [S, tray, U]
stations: {S: {cycle: 1 min, gives: 3}, U: {cycle: 1 h}}
stores: {tray: 3}
"""
    made = SimpyRun(compile_cell(load_text(text)), 1, 0)
    made.advance(150 * SECOND)
    assert machine(made, "S").units == 3
    assert len(units_inside(made.state)) == made.state.wip == 6
    assert audit(made) == []


def test_levels_that_share_a_bin_are_known_up_to_its_width() -> None:
    """In 200 places two levels share a bin: on average at most one unit more than the lower one, not two."""
    text = """
cell: a wide store
route: [S, rack, U]
stations: {S: {cycle: 1 min}, U: {cycle: 1 h}}
stores: {rack: 200}
"""
    made = SimpyRun(compile_cell(load_text(text)), 1, 0)
    made.advance(30 * 60 * SECOND)
    rack = place(made, "rack")
    assert rack.bin_width == 2
    assert audit(made) == []
    # U takes the first unit; k units stand from minute k + 1 on: 1 to 28 for a minute each, 29 for no time
    assert rack.area == 28 * 29 // 2 * 60 * SECOND
    least = 2 * 2 * sum(range(1, 14)) * 60 * SECOND + 28 * 60 * SECOND
    assert sum(2 * k * time for k, time in enumerate(rack.time_at)) == least
    most = least + 30 * 60 * SECOND
    for area in (least - 1, most + 1):
        rack.stays += area - rack.area
        rack.area = area
        words = f"the times at each level of rack say {least} to {most} unit-us, its level {area}"
        assert audit(made) == [f"times at levels fill the clock: {words}"]


def test_all_levels_beyond_the_last_bin_are_booked_in_it() -> None:
    """Of 130 units U takes one at 0, 10, 20, 30 min: by 40 min 129, 128 and 127 stood for 30, 126 for 10."""
    text = """
cell: a heap
route: [heap, U]
stations: {U: {cycle: 10 min}}
stores: {heap: {places: unlimited, starts_with: 130}}
"""
    made = SimpyRun(compile_cell(load_text(text)), 1, 0)
    made.advance(40 * 60 * SECOND)
    times = place(made, "heap").time_at
    assert audit(made) == []
    assert {k: time // (60 * SECOND) for k, time in enumerate(times) if time} == {127: 30, 126: 10}


def telling_of(c: Any, hand: str) -> bool:
    """Whether somebody has a unit in this hand while there are units elsewhere too."""
    stored = any(units_in_stores(c))
    loaded = any(m.progress != L.EMPTY for m in c.machines)
    return stored and loaded and any(getattr(job, hand) >= 0 for job in visits(c))


def test_a_place_kept_for_what_is_in_hands_is_counted() -> None:
    """Whoever carries a unit away has a place for it: without it the place is missing."""
    made = run_until(lambda c: any(job.held >= 0 and job.keeps for job in visits(c)))
    c = made.state
    job = next(job for job in visits(c) if job.keeps)
    c.stores[job.outlet].reserved -= job.keeps
    name, kept = made.flat.names.stores[job.outlet], c.stores[job.outlet].reserved
    words = f"store {name} has {kept} places reserved, {kept + job.keeps} are claimed"
    assert audit(made) == [f"stores keep their places: {words}"]


def test_a_broken_run_says_so_in_its_record(monkeypatch: pytest.MonkeyPatch) -> None:
    """A replication that breaks a law carries the finding; the next one in the same memory is clean."""

    class Forgetful(SimpyRun):
        def advance(self, until: int) -> None:
            super().advance(until)
            self.state.created += 1

    worker = Worker(load_text(TEXT))
    with monkeypatch.context() as patch:
        patch.setattr(worker, "clock", Forgetful)
        (finding,) = worker.replicate(1, 0).violations
    assert finding.startswith("material is conserved: ")
    assert worker.replicate(1, 0).violations == []
