"""Stations: their work elements, and everything else that stands at one."""

from __future__ import annotations

from typing import get_args

from cellsim.describe import crew as people
from cellsim.describe import flow as ways
from cellsim.describe import material, quality, rework
from cellsim.describe.batches import to_batch, to_changeover
from cellsim.describe.cell import Element, Law, Need, Phase, Shift, Station
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Item, Record
from cellsim.describe.flow import Flow
from cellsim.describe.maintenance import to_stops
from cellsim.describe.making import natural
from cellsim.describe.robots import misses, to_uses
from cellsim.describe.spec_stations import ELEMENT, STATION, VISIT
from cellsim.describe.times import STAND_IN
from cellsim.describe.tree import join
from cellsim.describe.variants import to_chosen, to_times
from cellsim.units import quoted

PHASES = get_args(Phase)


def to_stations(flow: Flow, crew: Crew, allowance: float, shifts: tuple[Shift, ...]) -> tuple[Station, ...]:
    """All stations, upstream first; `allowance` is that of the cell, for stations that say none."""
    rework.to_returns(flow)
    quality.check_origins(flow)
    stations: dict[str, Station] = {}
    for name in sorted(flow.stations, key=natural):
        record = flow.record(name)
        take, given = flow.making.take, record
        work, one_visit = _work(crew, name, record)
        inspects, mends = quality.to_inspection(crew, flow, name, work), quality.to_mends(flow, name)
        rejects = rework.to_rejects(crew, flow, name, work, inspects is not None)
        if rejects is not None:
            quality.check_repair(flow, name, rejects, inspects, mends)
        gives, outlets = _gives(flow, record), ways.to_outlets(flow, name)
        stations[name] = Station(
            name=name,
            machines=take(STATION, given, "machines"),
            work=work,
            takes=ways.to_takes(flow, name),
            gives=gives,
            outlets=outlets,
            chooses=ways.to_rule(flow, name),
            reserves_outlet=_reserves(flow, name),
            one_visit=one_visit,
            runs_through_breaks=take(STATION, given, "runs_through_breaks"),
            priority=take(STATION, given, "priority"),
            stops=to_stops(crew, record, name, flow.stations, shifts),
            rejects=rejects,
            faults=quality.to_faults(flow, name),
            inspects=inspects,
            mends=mends,
            samples=quality.to_samples(crew, record, work),
            batch=to_batch(flow.making, record),
            changeover=to_changeover(crew, record),
            only=to_chosen(flow.making, record.get("only")),
            allowance=_allowance(crew, record, work, allowance),
            yields=material.to_yields(crew, record, gives, work),
            lots=material.to_lots(flow, record, gives, outlets),
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


def _allowance(crew: Crew, record: Record, work: tuple[Element, ...], common: float) -> float:
    """What is added to the times of what persons attend at a station."""
    attended = any(need.skill not in crew.robots for element in work for need in element.by)
    if "allowance" not in record:
        return common if attended else 0.0
    if not attended:
        crew.making.wrong_key(record, "allowance", "no person attends, and machines need no allowance")
    share: float = record.get("allowance").value
    return share


def _work(crew: Crew, name: str, record: Record) -> tuple[tuple[Element, ...], bool]:
    """The work elements of a station, and whether unload and the next load are one visit."""
    making = crew.making
    given = [key for key in ("cycle", "strokes", "work") if key in record.places]
    if len(given) != 1:
        if given:
            making.wrong_key(record, given[-1], f"only one of {' and '.join(given)} can be given")
        else:
            making.wrong(
                record, record.path, "there is no cycle", "write cycle: 24 s, or work: with its elements"
            )
        return (), False
    for key, other in (
        ("by", "work"),
        ("visit", "work"),
        ("by", "visit"),
        ("one_visit", "cycle"),
        ("one_visit", "strokes"),
        ("level", "work"),
        ("level", "visit"),
    ):
        if key in record.places and other in record.places:
            hint = {
                "visit": "a visit says by itself",
                "work": f"each element says {key}" if key in ("by", "level") else "",
            }
            making.wrong_key(record, key, f"{key} and {other} cannot both be given", hint.get(other, ""))
    if "visit" in record.places:
        work, one_visit = _visited(crew, name, record)
    elif given != ["work"]:
        work, one_visit = (_whole_cycle(crew, name, record),), False
    else:
        work, one_visit = _elements(crew, name, record), making.take(STATION, record, "one_visit")
        phases = {element.phase for element in work}
        if one_visit and not {"load", "unload"} <= phases:
            making.wrong_key(
                record, "one_visit", "one visit needs an element with phase: load and one with unload"
            )
    _check_works_at(crew, name, record, work)
    return work, one_visit


def _whole_cycle(crew: Crew, name: str, record: Record) -> Element:
    if "by" in record.places:
        by = people.to_needs(crew, record.get("by"), record, "by", name)
    else:
        by = people.at_level(crew, people.tacit_needs(crew, name), record)
        if not by:
            crew.making.assume(join(record.path, "by"), "nobody", "the station works alone")
    time, by_variant = _cycle(crew, record)
    name = "stroke" if "strokes" in record.places else "work"
    return Element(name, time, by, by_variant=by_variant)


def _cycle(crew: Crew, record: Record) -> tuple[Law, tuple[tuple[str, Law], ...]]:
    """The time of a cycle, or of one stroke of a press, and by variant where it differs."""
    if "strokes" not in record.places:
        return to_times(crew.making, record.get("cycle"))
    strokes = record.get("strokes")
    if strokes is None:
        return STAND_IN, ()
    if strokes.value.per is None:
        crew.making.wrong(strokes, strokes.path, "strokes are counted per min, s or h", "write 80 per min")
        return STAND_IN, ()
    return Law("fixed", (float(round(strokes.value.per / strokes.value.count)),)), ()


def _gives(flow: Flow, record: Record) -> int:
    """Units yielded per cycle, or per stroke."""
    if "per_stroke" in record.places:
        if "strokes" not in record.places:
            message = "per_stroke goes with strokes"
            flow.making.wrong_key(record, "per_stroke", message, "write gives with a cycle")
        elif "gives" in record.places:
            flow.making.wrong_key(record, "gives", "per_stroke says already how many units a cycle yields")
        elif "per_stroke" in record:
            count: int = record.get("per_stroke").value
            return count
    given: int = flow.making.take(STATION, record, "gives")
    return given


def _elements(crew: Crew, station: str, record: Record) -> tuple[Element, ...]:
    elements = []
    reached = 0
    for given in record.get("work") or []:
        phase = crew.making.take(ELEMENT, given, "phase")
        inside = crew.making.take(ELEMENT, given, "inside_machine_time")
        if PHASES.index(phase) < reached and not inside:
            crew.making.wrong_key(
                given, "phase", f"{quoted(phase)} comes too late", f"the order is {', '.join(PHASES)}"
            )
        reached = max(reached, 0 if inside else PHASES.index(phase))
        if "by" not in given.places:
            crew.making.assume(join(given.path, "by"), "nobody", "the machine works alone")
        time, by_variant = to_times(crew.making, given.get("time"))
        elements.append(
            Element(
                name=given.single("do", ""),
                time=time,
                by=people.to_needs(crew, given.get("by"), given, "by", station),
                at=given.single("at", ""),
                phase=phase,
                by_variant=by_variant,
                inside=inside,
                picks=_picks(crew, given, phase),
                uses=to_uses(crew, given),
            )
        )
    _check_inside(crew, record, elements)
    return tuple(elements)


def _picks(crew: Crew, given: Record, phase: str) -> int:
    if "picks" in given:
        return int(given.get("picks").value)
    by = people.to_needs(crew, given.get("by"), given, "by") if phase == "fetch" else ()
    return int(misses(crew, by))


def _check_inside(crew: Crew, record: Record, elements: list[Element]) -> None:
    """Note work inside machine time that nobody does, or for which the machine never works alone."""
    inside = [
        (element, given)
        for element, given in zip(elements, record.get("work") or [], strict=True)
        if element.inside
    ]
    alone = any(e.phase == "work" and not e.by and not e.inside for e in elements)
    for element, given in inside:
        message, hint = "", ""
        if element.phase != "work":
            message, hint = f"work inside machine time is no {element.phase}", "take phase out"
        elif not element.by:
            message, hint = "nobody does it", "say by whom, as in by: A"
        elif not alone:
            message, hint = "the machine never works alone here", "add an element without by"
        elif element.by != inside[0][0].by:
            message = "the elements inside machine time of a station are done by different people"
            hint = "name the same people for all of them"
        if message:
            crew.making.wrong_key(given, "inside_machine_time", message, hint)


def _visited(crew: Crew, station: str, record: Record) -> tuple[tuple[Element, ...], bool]:
    """The elements of a machine that runs alone and is tended in visits."""
    making = crew.making
    visit: Record | None = record.get("visit")
    if visit is None:
        return (), False
    by = people.to_needs(crew, visit.get("by"), visit, "by", station)
    if not by and "by" in visit:
        crew.making.wrong_key(visit, "by", "a visit needs somebody who comes")
    elements = []
    for phase in PHASES:
        if phase == "work":
            time, by_variant = _cycle(crew, record)
            elements.append(Element("run", time, by_variant=by_variant))
        elif phase in visit:
            time, by_variant = to_times(making, visit.get(phase))
            picks = int(phase == "fetch" and misses(crew, by))
            elements.append(Element(phase, time, by, "", phase, by_variant, picks=picks))
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
        if not {post, people.shared_skill(name)} & {need.skill for need in attending}:
            item = next(item for item in crew.works_at[post] if item.value == name)
            who = " and ".join(sorted(need.skill for need in attending)) or "nobody"
            crew.making.wrong(
                item,
                item.path,
                f"station {quoted(name)} says itself who attends: {who}",
                f"take {name} out of works_at, or name {post} at the station",
            )
