"""The jobs of machines, visits, repairs and trips, and who may serve them."""

from __future__ import annotations

from typing import Any

from cellsim.describe.cell import Post, Robot
from cellsim.engine import layout as L
from cellsim.engine.tables import FlatCell
from cellsim.engine.tables_errands import add_errand_jobs
from cellsim.engine.tables_material import add_supply_jobs
from cellsim.engine.tables_stations import STEP, stops_of


def add_jobs(flat: FlatCell) -> None:
    """The jobs of machines, visits, repairs and trips, and for each person those that he or she may serve."""
    c = flat.state
    c.visit_base, c.repair_base = c.machine_count, 2 * c.machine_count
    c.stop_count = len(c.stops)
    c.robot_stops = int(any(actor.meter >= 0 for actor in c.actors))
    for j in range(2 * c.machine_count):
        i = j % c.machine_count
        m = c.machines[i]
        job = L.ROWS["job"]()
        job.priority, job.rank = c.stations[m.station].priority, m.rank * STEP + (j < c.machine_count)
        job.place = m.station * STEP + m.number
        job.meter = -1
        if j < c.machine_count:
            stops = c.stops[m.first_stop : m.first_stop + m.stops]
            job.meter = max((stop.meter for stop in stops), default=-1)
        job.unit = job.held = -1
        c.jobs.append(job)
    by_name = {
        (station.name, stop.name): stop.priority for station in flat.cell.stations for stop in station.stops
    }
    by_name |= {
        (robot.name, stop.name): stop.priority for robot in flat.cell.robots for stop in stops_of(robot)
    }
    for k, stop in enumerate(c.stops):
        job = L.ROWS["job"]()
        job.meter = -1
        job.priority = by_name[flat.names.stop_groups[k]]
        m_rank = c.machines[stop.target].rank if not stop.of_actor else len(c.stations) * STEP
        job.rank = m_rank * STEP + STEP - 1 - k % (STEP - 3)
        job.place = m_rank
        job.need, job.needs = stop.first_need, stop.needs
        job.unit = job.held = -1
        c.jobs.append(job)
    _add_inside_jobs(flat)
    c.errand_base = len(c.jobs)
    add_errand_jobs(flat)
    c.supply_base = len(c.jobs)
    add_supply_jobs(flat)
    c.job_count = len(c.jobs)
    for a, actor in enumerate(c.actors):
        actor.first_candidate = len(c.candidates)
        c.candidates.extend(j for j in range(c.job_count) if _may_serve(flat, a, j))
        actor.candidates = len(c.candidates) - actor.first_candidate
        if L.LISTED_ORDER in actor.serves or L.FIXED_ROUND in actor.serves:
            _add_listed(flat, a, actor)


def _add_inside_jobs(flat: FlatCell) -> None:
    """Where anything is done inside machine time, a job for it at each machine, after all other calls."""
    c = flat.state
    c.inside_base = len(c.jobs)
    if any(station.insides for station in c.stations):
        least = max(job.priority for job in c.jobs)
        for m in c.machines:
            job = L.ROWS["job"]()
            job.priority, job.rank = least + c.stations[m.station].priority, m.rank * STEP + 2
            job.place = m.station * STEP + m.number
            job.unit = job.held = job.meter = -1
            c.jobs.append(job)


def _may_serve(flat: FlatCell, a: int, j: int) -> bool:
    c = flat.state
    if j >= c.supply_base:
        trip = c.supplies[j - c.supply_base].trip
        spans = [(c.steps[trip].first_need, c.steps[trip].needs)] if trip >= 0 else []
    elif j >= c.errand_base:
        errand = c.errands[j - c.errand_base]
        return bool(errand.robot == a and errand.kind == L.MOVE and not c.actors[a].fixed)
    elif j >= c.inside_base:
        station = c.stations[c.machines[j - c.inside_base].station]
        steps = list(range(station.first_inside, station.first_inside + station.insides))
        spans = [(c.steps[x].first_need, c.steps[x].needs) for x in steps]
    elif j >= c.repair_base:
        spans = [(c.stops[j - c.repair_base].first_need, c.stops[j - c.repair_base].needs)]
    else:
        station = c.stations[c.machines[j % c.machine_count].station]
        if j < c.visit_base:
            extra = (station.repair_step >= 0) + (station.sample_step >= 0)
            changes = range(station.first_change, station.first_change + station.changes)
            steps = [*range(station.first_step, station.first_step + station.steps + extra), *changes]
        else:
            last = max(station.first_start + station.starts, station.first_end + station.ends)
            steps = list(range(station.first_start, last))
        spans = [(c.steps[x].first_need, c.steps[x].needs) for x in steps]
    skills = {c.needs[n].skill for first, count in spans for n in range(first, first + count)}
    return bool(skills & flat.reach[a])


def _add_listed(flat: FlatCell, a: int, actor: Any) -> None:
    c = flat.state
    everyone: tuple[Post | Robot, ...] = (*flat.cell.posts, *flat.cell.robots)
    who = next(one for one in everyone if one.name == flat.names.posts[a])
    order = {name: k for k, name in enumerate(who.listed)}
    actor.first_listed = len(c.listed)
    if actor.serves[0] == L.FIXED_ROUND:
        actor.rounds = len(order)
    for j in range(c.job_count):
        if j >= c.supply_base:
            stock = c.supplies[j - c.supply_base].stock
            taker = c.takers[c.stocks[stock].first_taker] if stock >= 0 else -1
            name = flat.names.stations[c.machines[taker].station]
        elif j >= c.errand_base:
            errand = c.errands[j - c.errand_base]
            name = flat.names.stations[errand.to_station if errand.to_station >= 0 else errand.from_station]
        elif j >= c.inside_base:
            name = flat.names.stations[c.machines[j - c.inside_base].station]
        elif j < c.repair_base:
            name = flat.names.stations[c.machines[j % c.machine_count].station]
        else:
            name = flat.names.stop_groups[j - c.repair_base][0]
        everywhere = actor.rounds > 0 and j >= c.repair_base  # what is no stop of the round
        c.listed.append(len(order) if everywhere else order.get(name, len(order)))
