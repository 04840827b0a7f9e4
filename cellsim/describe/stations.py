"""Stations: their work elements, and everything else that stands at one."""

from __future__ import annotations

from typing import get_args

from cellsim.describe import crew as people
from cellsim.describe import flow as ways
from cellsim.describe import rework
from cellsim.describe.batches import to_batch, to_changeover
from cellsim.describe.cell import Element, Need, Phase, Station
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import Flow
from cellsim.describe.making import natural
from cellsim.describe.spec import ELEMENT, STATION, VISIT
from cellsim.describe.tree import join
from cellsim.describe.variants import to_chosen, to_times
from cellsim.units import quoted

PHASES = get_args(Phase)


def to_stations(flow: Flow, crew: Crew) -> tuple[Station, ...]:
    """All stations, upstream first."""
    rework.to_returns(flow)
    stations: dict[str, Station] = {}
    for name in sorted(flow.stations, key=natural):
        record = flow.record(name)
        take, given = flow.making.take, record
        work, one_visit = _work(crew, name, record)
        stations[name] = Station(
            name=name,
            machines=take(STATION, given, "machines"),
            work=work,
            takes=ways.to_takes(flow, name),
            gives=take(STATION, given, "gives"),
            outlets=ways.to_outlets(flow, name),
            chooses=ways.to_rule(flow, name),
            reserves_outlet=_reserves(flow, name),
            one_visit=one_visit,
            runs_through_breaks=take(STATION, given, "runs_through_breaks"),
            priority=take(STATION, given, "priority"),
            stops=people.to_stops(crew, record.get("stops")),
            rejects=rework.to_rejects(flow, name),
            batch=to_batch(flow.making, record),
            changeover=to_changeover(crew, record),
            only=to_chosen(flow.making, record.get("only")),
        )
    flow.making.notes.stop_if_any()
    return ways.in_order(flow, stations)


def _reserves(flow: Flow, name: str) -> bool:
    """Whether a place in the outlet is kept before work begins: for batches unless told otherwise."""
    record = flow.record(name)
    if ways.to_rule(flow, name) == "first free":
        return False
    if "batch" in record and "hands_on" not in record.places:
        why = "a batch starts only when there is room for it behind"
        flow.making.assume(join(record.path, "hands_on"), "only into a free place", why)
        return True
    return bool(flow.making.take(STATION, record, "hands_on") == "only into a free place")


def used_points(flow: Flow) -> list[Item]:
    """The points that work elements name with `at`."""
    return [
        element.get("at")
        for name in flow.stations
        for element in flow.record(name).get("work") or []
        if "at" in element
    ]


def _work(crew: Crew, name: str, record: Record) -> tuple[tuple[Element, ...], bool]:
    """The work elements of a station, and whether unload and the next load are one visit."""
    making = crew.making
    given = [key for key in ("cycle", "work") if key in record.places]
    if len(given) != 1:
        if given:
            making.wrong_key(record, "work", "only one of cycle and work can be given")
        else:
            making.wrong(
                record, record.path, "there is no cycle", "write cycle: 24 s, or work: with its elements"
            )
        return (), False
    for key, other in (("by", "work"), ("visit", "work"), ("by", "visit"), ("one_visit", "cycle")):
        if key in record.places and other in record.places:
            hint = {
                "visit": "a visit says by itself",
                "work": f"each element says {key}" if key == "by" else "",
            }
            making.wrong_key(record, key, f"{key} and {other} cannot both be given", hint.get(other, ""))
    if "visit" in record.places:
        work, one_visit = _visited(crew, record)
    elif given == ["cycle"]:
        work, one_visit = (_whole_cycle(crew, name, record),), False
    else:
        work, one_visit = _elements(crew, record), making.take(STATION, record, "one_visit")
        phases = {element.phase for element in work}
        if one_visit and not {"load", "unload"} <= phases:
            making.wrong_key(
                record, "one_visit", "one visit needs an element with phase: load and one with unload"
            )
    _check_works_at(crew, name, record, work)
    return work, one_visit


def _whole_cycle(crew: Crew, name: str, record: Record) -> Element:
    if "by" in record.places:
        by = people.to_needs(crew, record.get("by"), record, "by")
    else:
        by = people.tacit_needs(crew, name)
        if not by:
            crew.making.assume(join(record.path, "by"), "nobody", "the station works alone")
    time, by_variant = to_times(crew.making, record.get("cycle"))
    return Element("work", time, by, by_variant=by_variant)


def _elements(crew: Crew, record: Record) -> tuple[Element, ...]:
    elements = []
    reached = 0
    for given in record.get("work") or []:
        phase = crew.making.take(ELEMENT, given, "phase")
        if PHASES.index(phase) < reached:
            crew.making.wrong_key(
                given, "phase", f"{quoted(phase)} comes too late", f"the order is {', '.join(PHASES)}"
            )
        reached = max(reached, PHASES.index(phase))
        if "by" not in given.places:
            crew.making.assume(join(given.path, "by"), "nobody", "the machine works alone")
        time, by_variant = to_times(crew.making, given.get("time"))
        elements.append(
            Element(
                name=given.get("do").value if "do" in given else "",
                time=time,
                by=people.to_needs(crew, given.get("by"), given, "by"),
                at=given.get("at").value if "at" in given else "",
                phase=phase,
                by_variant=by_variant,
            )
        )
    return tuple(elements)


def _visited(crew: Crew, record: Record) -> tuple[tuple[Element, ...], bool]:
    """The elements of a machine that runs alone and is tended in visits."""
    making = crew.making
    visit: Record | None = record.get("visit")
    if visit is None:
        return (), False
    by = people.to_needs(crew, visit.get("by"), visit, "by")
    if not by and "by" in visit:
        crew.making.wrong_key(visit, "by", "a visit needs somebody who comes")
    elements = []
    for phase in PHASES:
        if phase == "work":
            time, by_variant = to_times(making, record.get("cycle"))
            elements.append(Element("run", time, by_variant=by_variant))
        elif phase in visit:
            time, by_variant = to_times(making, visit.get(phase))
            elements.append(Element(phase, time, by, "", phase, by_variant))
    both = "load" in visit and "unload" in visit
    if not both and "together" in visit.places and visit.get("together").value:
        crew.making.wrong_key(visit, "together", "nothing can be together: load or unload is missing")
    return tuple(elements), both and crew.making.take(VISIT, visit, "together")


def _check_works_at(crew: Crew, name: str, record: Record, work: tuple[Element, ...]) -> None:
    """Note a post that works at a station where somebody else is said to attend."""
    tacit = "by" not in record.places and "cycle" in record.places and "visit" not in record.places
    if tacit:
        return
    attending: set[Need] = {need for element in work for need in element.by}
    for post in people.attending_posts(crew, name):
        if post not in {need.skill for need in attending}:
            item = next(item for item in crew.works_at[post] if item.value == name)
            who = " and ".join(sorted(need.skill for need in attending)) or "nobody"
            crew.making.wrong(
                item,
                item.path,
                f"station {quoted(name)} says itself who attends: {who}",
                f"take {name} out of works_at, or name {post} at the station",
            )
