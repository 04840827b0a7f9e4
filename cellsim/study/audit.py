"""The laws that hold for any run, checked on every run; a violation is a fault of this program."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cached_property
from itertools import chain, compress
from operator import sub
from typing import Any

from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.record import Record, column
from cellsim.engine.rules.zones import allowed_speed, zones_inside
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan

Finding = Iterator[str]


def units_in_stores(c: Any) -> list[list[int]]:
    """For each store the units that stand in it, in their order."""
    found, following = [], column(c.parts, "next")
    for store in c.stores:
        units: list[int] = []
        if store.kind in (L.PLACES, L.RAW) and store.level:
            u = store.head
            for _ in range(store.level):
                units.append(u)
                u = following[u]
        found.append(units)
    return found


def units_inside(c: Any, in_stores: list[list[int]] | None = None) -> list[int]:
    """Every unit inside the cell: in stores (as `in_stores` says), on machines, in the hands of visitors."""
    following = column(c.parts, "next")
    units = list(chain.from_iterable(units_in_stores(c) if in_stores is None else in_stores))
    chains = [m.unit for m in c.machines if m.progress != L.EMPTY]
    carried = [*c.jobs[c.visit_base : c.repair_base], *c.jobs[c.errand_base :]]
    chains += [head for job in carried for head in (job.unit, job.held)]
    for head in chains:
        u = head
        while u >= 0:
            units.append(u)
            u = following[u]
    return units


class Audited:
    """A run to be audited: its state, and where its units are, read once for all laws."""

    def __init__(self, run: SimpyRun) -> None:
        self.run, self.flat, self.state = run, run.flat, run.state

    @cached_property
    def in_stores(self) -> list[list[int]]:
        """For each store the units that stand in it."""
        return units_in_stores(self.state)

    @cached_property
    def inside(self) -> list[int]:
        """Every unit inside the cell."""
        return units_inside(self.state, self.in_stores)


def material_is_conserved(run: Audited) -> Finding:
    """Units in = good + left elsewhere + scrapped + built in + inside, and none is in two places."""
    c = run.state
    units = run.inside
    if len(set(units)) != len(units):
        yield "a unit is in two places"
    out = c.good + c.left_elsewhere + c.scrapped + c.consumed
    if c.created != out + len(units):
        yield f"{c.created} units came in, {out} went out and {len(units)} are inside"
    if c.wip != len(units):
        yield f"work in progress is booked as {c.wip}, {len(units)} units are inside"


def states_fill_the_clock(run: Audited) -> Finding:
    """The times in state of every machine, person and robot add up to the clock, none negative."""
    c, names = run.state, run.flat.names
    for name, row in [
        *zip(names.machines, c.machines, strict=True),
        *zip(names.actors, c.actors, strict=True),
    ]:
        if sum(row.totals) != c.now or min(row.totals) < 0:
            yield f"the states of {name} add up to {sum(row.totals)} of {c.now} us"


def stores_keep_their_places(run: Audited) -> Finding:
    """No store ever held more than it has places; every reserved place has somebody who will use it."""
    c, names = run.state, run.flat.names
    reserved = [0] * len(c.stores)
    for i, m in enumerate(c.machines):
        station = c.stations[m.station]
        visit = c.jobs[c.visit_base + i]
        if station.reserves and (m.progress == L.IN_CYCLE or visit.unit >= 0 or m.coming):
            for k in range(station.first_outlet, station.first_outlet + station.outlets):
                reserved[c.outlets[k].store] += m.kept
        elif m.holds_place:
            reserved[m.outlet] += m.units
        if visit.keeps:
            reserved[visit.outlet] += visit.keeps
    for job in c.jobs[c.errand_base :]:
        if job.keeps:
            reserved[job.outlet] += job.keeps
    for s, store in enumerate(c.stores):
        room = store.kind == L.PLACES or store.limited
        if room and not 0 <= store.level <= store.highest <= store.places:
            yield f"store {names.stores[s]} held {store.highest} units in {store.places} places"
        if room and store.reserved != reserved[s]:
            yield f"store {names.stores[s]} has {store.reserved} places reserved, {reserved[s]} are claimed"


def held_units_add_up(run: Audited) -> Finding:
    """A store that holds units back has every unit either held or ready; each variant inside is counted."""
    c, names = run.state, run.flat.names
    made = slice(c.parts_made)
    counted = Counter(compress(column(c.parts, "variant")[made], column(c.parts, "inside")[made]))
    inside = [counted[k] for k in range(c.variant_count + 1)]
    if inside != c.inside:
        yield f"{inside} units of each variant are inside, {c.inside} are counted"
    is_ready = column(c.parts, "ready")
    ready = [sum(map(is_ready.__getitem__, units)) for units in run.in_stores]
    for s, (name, store) in enumerate(zip(names.stores, c.stores, strict=True)):
        if store.holds and ready[s] + store.gathering != store.level:
            yield f"{name} holds {store.gathering} units back and has {ready[s]} ready of {store.level}"
        elif store.tray and not 0 <= store.gathering < store.tray:
            yield f"{store.gathering} units stand in a tray of {store.tray} in {name}"
        elif store.tray and store.limited:
            last = store.first_tray + store.places // store.tray
            if sum(c.tray_units[store.first_tray : last]) != ready[s]:
                yield f"the trays that have moved in {name} do not hold its {ready[s]} ready units"


def ready_units_are_counted(run: Audited) -> Finding:
    """What can be taken from a store is counted by variant, and the time noted is when the first came."""
    c, names = run.state, run.flat.names
    if not c.tallies:
        return
    is_ready, variant, stored = (column(c.parts, field) for field in ("ready", "variant", "stored"))
    came: list[list[int]] = [[] for _ in c.tallies]
    for store, units in zip(c.stores, run.in_stores, strict=True):
        if store.tallied:
            for u in compress(units, map(is_ready.__getitem__, units)):
                came[store.first_tally + variant[u]].append(stored[u])
    for name, store in zip(names.stores, c.stores, strict=True):
        if store.tallied:
            own = slice(store.first_tally, store.first_tally + c.variant_count + 1)
            there, counted = [len(times) for times in came[own]], [tally.units for tally in c.tallies[own]]
            if there != counted:
                yield f"{there} units of each variant can be taken from {name}, {counted} are counted"
            for times, tally in zip(came[own], c.tallies[own], strict=True):
                if times and tally.oldest not in (-1, min(times)):
                    yield f"the first unit in {name} came at {min(times)} us, {tally.oldest} us is noted"


def carriers_are_conserved(run: Audited) -> Finding:
    """Carriers in use, coming back and free are all there are; each carries the units that are on it."""
    c = run.state
    if not c.carriers:
        return
    riding = [0] * len(c.carriers)
    for part in c.parts[: c.parts_made]:
        for k, x in enumerate(part.on):
            if x and (not part.inside or c.carriers[x - 1].kind != k):
                yield "a unit is on a carrier that cannot be"
            elif x:
                riding[x - 1] += 1
    if riding != [carrier.units for carrier in c.carriers]:
        yield f"{riding} units are on the carriers, {[x.units for x in c.carriers]} are counted"
    for k, kind in enumerate(c.carrier_kinds):
        name = run.flat.cell.carriers[k].name
        used = sum(carrier.kind == k and carrier.units > 0 for carrier in c.carriers)
        listed, x = 0, kind.first_free if kind.free else -1
        while x >= 0 and listed <= kind.count:
            listed, x = listed + 1, c.carriers[x].next
        if listed != kind.free or used + kind.coming + kind.free != kind.count:
            yield f"{name}: {used} in use, {kind.coming} coming back, {kind.free} free of {kind.count}"
        if not 0 <= kind.none_free <= c.now or kind.area_used + kind.area_coming > kind.count * c.now:
            yield f"{name}: the times in use do not fit the clock"


def times_at_levels_fill_the_clock(run: Audited) -> Finding:
    """The times at each level of a store add up to the clock, and times the level to its units times time.

    Where levels share a bin the second sum is known only up to the width of the bin, and not at all once the
    level was in the last bin, which has no upper end.
    """
    c, names = run.state, run.flat.names
    for name, store in zip(names.stores, c.stores, strict=True):
        if sum(store.time_at) != c.now or min(store.time_at) < 0:
            yield f"the times at each level of {name} add up to {sum(store.time_at)} of {c.now} us"
        least = sum(k * store.bin_width * time for k, time in enumerate(store.time_at))
        most = least + (store.bin_width - 1) * c.now
        if store.area < least or (store.area > most and store.time_at[-1] == 0):
            yield f"the times at each level of {name} say {least} to {most} unit-us, its level {store.area}"


def parts_are_conserved(run: Audited) -> Finding:
    """Pieces delivered are used or lie ready; bins full, in use and away are all bins; finished units too."""
    c, flat = run.state, run.flat
    starts = {part.name: part for part in flat.cell.parts}
    for k, stock in enumerate(c.stocks):
        part = starts[flat.names.parts[k]]
        if part.starts_with + stock.delivered != stock.used + stock.level or stock.level < 0:
            found = f"{stock.used} used, {stock.level} left"
            yield f"of {part.name} {part.starts_with + stock.delivered} pieces came: {found}"
        away = sum(s.out for s in c.supplies[stock.first_supply : stock.first_supply + stock.supplies])
        if stock.kind == L.IN_BINS and away != part.bins - -(-stock.level // stock.box):
            yield f"{away} bins of {part.name} are away, {stock.level} pieces are left"
    for s, store in enumerate(c.stores):
        if store.kind == L.OUTLET and store.limited and store.entered - store.left != store.level:
            found = f"{store.left} were collected, {store.level} stand there"
            yield f"{store.entered} units reached {flat.names.stores[s]}, {found}"


def times_inside_equal_work_inside(run: Audited) -> Finding:
    """Little's law as an integer identity: the sum of times inside is the integral of the units inside."""
    c, names = run.state, run.flat.names
    entered, stored = column(c.parts, "entered"), column(c.parts, "stored")
    stays = c.wip_stays + c.now * len(run.inside) - sum(map(entered.__getitem__, run.inside))
    if stays != c.wip_area:
        yield f"times inside add up to {stays}, work in progress to {c.wip_area} unit-us"
    for s, (store, units) in enumerate(zip(c.stores, run.in_stores, strict=True)):
        stayed = store.stays + c.now * len(units) - sum(map(stored.__getitem__, units))
        if store.kind in (L.PLACES, L.RAW) and stayed != store.area:
            yield f"times in {names.stores[s]} add up to {stayed}, its level to {store.area}"


def nobody_is_in_two_places(run: Audited) -> Finding:
    """Whoever works belongs to exactly the job that has claimed him."""
    c, names = run.state, run.flat.names
    for j, job in enumerate(c.jobs):
        for k in range(job.crew_size):
            if c.actors[job.crew[k]].job != j:
                yield f"{names.actors[job.crew[k]]} is claimed by a job and belongs to another"
    for a, actor in enumerate(c.actors):
        if actor.job >= 0:
            crew = c.jobs[actor.job].crew[: c.jobs[actor.job].crew_size]
            if list(crew).count(a) != 1:
                yield f"{names.actors[a]} belongs to a job that has not claimed him"


def nobody_does_what_he_cannot(run: Audited) -> Finding:
    """Whoever has a job can do something of it, or could when he began it in the place of another."""
    c, flat = run.state, run.flat
    for job in c.jobs:
        asked = {c.needs[n].skill for n in range(job.need, job.need + job.needs)}
        for k in range(job.crew_size):
            a = job.crew[k]
            if not asked & flat.reach[a]:
                yield f"{flat.names.actors[a]} does what he cannot do"


def minutes_at_stations_are_working_time(run: Audited) -> Finding:
    """The time of each person or robot at all stations is what is booked as working and helping out.

    So nobody works at two stations at once at any instant of the run.
    """
    c, names = run.state, run.flat.names
    if not c.minutes_kept:
        return
    for a, actor in enumerate(c.actors):
        kept = sum(c.minutes[actor.first_minute : actor.first_minute + c.station_count])
        job = actor.job
        elsewhere = c.repair_base <= job < c.inside_base or job >= c.supply_base
        if job >= 0 and not elsewhere:
            changing = c.jobs[job].changing and c.jobs[job].state == L.TRAVELLING and actor.robot
            if c.jobs[job].state == L.ACTIVE or changing:
                kept += c.now - c.jobs[job].began
        booked = actor.totals[L.A_WORKING] + actor.totals[L.A_HELPING]
        if kept != booked:
            yield f"{names.actors[a]} worked {kept} us at stations, {booked} us are booked"


def work_equals_drawn_times(run: Audited) -> Finding:
    """The working time of a machine is the sum of the drawn times, less what is still to be done."""
    c, names = run.state, run.flat.names
    for i, m in enumerate(c.machines):
        job = c.jobs[i]
        left = job.due - c.now if job.state == L.ACTIVE else job.remaining
        worked = m.totals[L.M_WORKING] + m.totals[L.M_ATTENDED] + m.totals[L.M_CHANGEOVER]
        if worked != m.drawn - left:
            yield f"{names.machines[i]} worked {worked} us, its drawn times say {m.drawn - left}"


def path_fills_the_clock(run: Audited) -> Finding:
    """The path from the last good unit back to the start adds up to the elapsed time."""
    c = run.state
    totals, _ = run.run.walk_back()
    elapsed = c.path[c.last_good].end
    if sum(totals) != elapsed or elapsed != c.last_good_at or min(totals, default=0) < 0:
        yield f"the path adds up to {sum(totals)} of {elapsed} us"


def faults_are_accounted_for(run: Audited) -> Finding:
    """Units that turned faulty = put right + gone with their faults + faulty and inside."""
    c = run.state
    faults = column(c.parts, "faults")
    inside = sum(map(bool, map(faults.__getitem__, run.inside)))
    if c.turned_faulty != c.put_right + c.faulty_gone + inside:
        out = f"{c.put_right} were put right, {c.faulty_gone} are gone, {inside} are inside"
        yield f"{c.turned_faulty} units turned faulty, {out}"


def stops_hold_whom_they_say(run: Audited) -> Finding:
    """A machine or robot is down by exactly the causes that hold it, and mended by the repairs under way."""
    c, names = run.state, run.flat.names
    who = [*zip(names.machines, c.machines, strict=True), *zip(names.actors, c.actors, strict=True)]
    active, mended, serviced = [0] * len(who), [0] * len(who), [0] * len(who)
    for k, stop in enumerate(c.stops):
        job = c.jobs[c.repair_base + k]
        begun = job.state == L.ACTIVE or (job.state == L.PAUSED and job.was == L.ACTIVE)
        members = c.members[stop.first_member : stop.first_member + stop.members]
        for x in (stop.target + stop.of_actor * c.machine_count, *members):
            active[x] += stop.active
            mended[x] += begun
            serviced[x] += begun and stop.planned
    for x, (name, row) in enumerate(who):
        if row.downs + row.due_stops != active[x]:
            yield f"{name} is held by {row.downs} and awaited by {row.due_stops} of {active[x]} causes"
        if (row.repairs, row.services) != (mended[x], serviced[x]):
            yield f"{name} counts {row.repairs} repairs, {mended[x]} are under way"
    spoilt = sum(stop.spoilt for stop in c.stops)
    if spoilt > c.scrapped + len(run.inside):
        yield f"{spoilt} units were spoilt by stops, {c.scrapped} were scrapped"


def moves_keep_their_targets(run: Audited) -> Finding:
    """A machine that is kept for a unit, or whose unit is being taken, is that of exactly one move."""
    c, names = run.state, run.flat.names
    under_way = [e for k, e in enumerate(c.errands) if c.jobs[c.errand_base + k].crew_size and not e.going]
    for i, m in enumerate(c.machines):
        coming = sum(e.target == i for e in under_way if e.kind == L.MOVE)
        leaving = sum(e.source == i for e in under_way if e.kind == L.MOVE)
        if m.coming > coming or m.leaving > leaving or coming > 1:
            yield f"{names.machines[i]} is kept for {m.coming} moves, {coming} are under way to it"


def zones_know_who_is_inside(run: Audited) -> Finding:
    """Everybody who works in a zone is counted there, and its robots stand or move as that says."""
    c, names = run.state, run.flat.names
    for a, actor in enumerate(c.actors):
        if not actor.robot and not actor.thing and actor.inside != zones_inside(c, a):
            yield f"{names.actors[a]} is not where the zones have counted him"
        if actor.zones and actor.stopped != (allowed_speed(c, a) == 0):
            yield f"{names.actors[a]} {'stands' if actor.stopped else 'moves'} against its zones"
    for z, zone in enumerate(c.zones):
        if zone.people != sum(actor.inside >> z & 1 for actor in c.actors) or zone.inside > c.now:
            yield f"zone {names.zones[z]} has counted {zone.people} people"


LAWS: tuple[Callable[[Audited], Finding], ...] = (
    material_is_conserved,
    states_fill_the_clock,
    stores_keep_their_places,
    times_at_levels_fill_the_clock,
    parts_are_conserved,
    times_inside_equal_work_inside,
    held_units_add_up,
    ready_units_are_counted,
    carriers_are_conserved,
    nobody_is_in_two_places,
    nobody_does_what_he_cannot,
    minutes_at_stations_are_working_time,
    work_equals_drawn_times,
    moves_keep_their_targets,
    zones_know_who_is_inside,
    path_fills_the_clock,
    faults_are_accounted_for,
    stops_hold_whom_they_say,
)


def audit(run: SimpyRun) -> list[str]:
    """What a run breaks of its own laws, in words; empty when all hold.  Totals must be up to date."""
    audited = Audited(run)
    return [f"{law.__name__.replace('_', ' ')}: {finding}" for law in LAWS for finding in law(audited)]


def levels_add_up(flat: FlatCell, plan: Plan, record: Record) -> list[str]:
    """What a record breaks of the law of its hours, in words; empty when it holds.

    The units times time of all hours of the counted time, and of what lies between, are those of the counted
    time as a whole; no store held more in an hour than its places allow.
    """
    first = bisect_right(plan.ends, plan.counted_from)
    lengths = [*map(sub, plan.ends, (0, *plan.ends))]
    books = [("work in progress", record.wip_by_hour, record.cell["wip_area"], L.UNLIMITED)]
    for k, store in enumerate(flat.state.stores):
        if store.kind == L.PLACES:
            area = record.stores["area"][k]
            books.append((flat.names.stores[k], record.levels_by_hour[k], area, store.places))
    found = []
    for name, hours, area, places in books:
        total = sum(hours[first:])
        if total != area or len(hours) != len(lengths):
            found.append(f"{name} adds up to {total} by the hour, to {area} unit-us in all")
        elif min(hours) < 0 or any(
            part > places * length for part, length in zip(hours, lengths, strict=True)
        ):
            found.append(f"{name} has an hour with more or fewer units than there can be")
    return [f"levels add up: {each}" for each in found]


def law_names() -> list[str]:
    """The laws that `audit` and `levels_add_up` check."""
    return [law.__name__.replace("_", " ") for law in (*LAWS, levels_add_up)]
