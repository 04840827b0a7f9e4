"""Hidden faults: where they arise, what an inspection finds of them, what rework puts right, and samples."""

from __future__ import annotations

from typing import Any

from cellsim.describe import crew as people
from cellsim.describe import laws
from cellsim.describe.cell import Element, Faults, Inspection, Need, Rejects, Samples
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Record
from cellsim.describe.flow import MAIN, Flow
from cellsim.describe.making import natural
from cellsim.describe.spec_stations import SAMPLES
from cellsim.describe.times import to_law
from cellsim.describe.tree import join
from cellsim.units import format_ratio, quoted

MOST_ORIGINS = 60  # stations that make faults: a unit carries a bit for each

# (finds, false rejects) where the file says no numbers: common practice.  That people find about 80 % is
# ascribed to Juran 1974 (from memory).
BY_HAND, AUTOMATIC = (0.80, 0.02), (0.99, 0.01)


def origins(flow: Flow) -> list[str]:
    """The stations that make faults."""
    named = [
        name for name in flow.stations if {"faults", "lot_faults"} & set(flow.record(name).places.keys())
    ]
    return sorted(named, key=natural)


def check_origins(flow: Flow) -> None:
    """Note a cell with more stations that make faults than a unit can remember."""
    names = origins(flow)
    if len(names) > MOST_ORIGINS:
        message = f"{len(names)} stations make faults; at most {MOST_ORIGINS} are possible"
        flow.making.wrong(flow.stations[names[-1]].name, f"stations.{names[-1]}.faults", message)


def to_faults(flow: Flow, name: str) -> Faults | None:
    """The faults that the work of a station leaves."""
    making, station = flow.making, flow.record(name)
    if name not in origins(flow):
        return None
    lot_share = station.single("lot_faults", 0.0)
    given = station.get("faults")
    if given is None:
        return Faults(lot_share=lot_share)
    if not isinstance(given, Record):
        share = given.value
        _assume_again(flow, f"stations.{name}.faults.after_rework", share)
        return Faults(share, share, (), lot_share)
    listed = tuple(item.value == "faulty" for item in given.get("listed") or [])
    share = given.single("share", 0.0)
    if ("share" in given.places) == ("listed" in given.places):
        both = "share" in given.places
        making.wrong(
            given,
            given.path,
            "only one of share and listed can be given" if both else "share is missing",
            "" if both else "write share: 3 %",
        )
    if "after_rework" in given.places:
        if listed:
            message = "faults are listed in order; after_rework does not go with them"
            making.wrong_key(given, "after_rework", message)
        again = given.single("after_rework", 0.0)
    else:
        again = share
        if not listed:
            _assume_again(flow, join(given.path, "after_rework"), share)
    return Faults(share, again, listed, lot_share)


def _assume_again(flow: Flow, path: str, share: float) -> None:
    if any("to" in (flow.record(name).get("rejects") or ()) for name in flow.stations):
        why = "a unit that comes again is made faulty as often as a new one"
        flow.making.assume(path, format_ratio(share), why)


def to_inspection(crew: Crew, flow: Flow, name: str, work: tuple[Element, ...]) -> Inspection | None:
    """What a station finds of the faults that units hide."""
    making, given = flow.making, flow.record(name).get("inspects")
    if given is None or (not isinstance(given, Record) and not given.value):
        return None
    path = f"stations.{name}.inspects"
    by = {need.skill for element in work if element.phase == "work" for need in element.by}
    by_hand = bool(by - set(crew.robots))
    values = list(BY_HAND if by_hand else AUTOMATIC)
    of: list[str] = []
    for k, key in enumerate(("finds", "false_rejects")):
        if isinstance(given, Record) and key in given.places:
            values[k] = given.get(key).value if key in given else values[k]
        else:
            kind = "by hand" if by_hand else "by a machine"
            making.assume(join(path, key), format_ratio(values[k]), f"common practice for inspection {kind}")
    makers = origins(flow)
    if isinstance(given, Record) and "of" in given:
        for item in given.get("of"):
            if item.value not in flow.stations:
                making.unknown(item, "station", flow.stations)
            elif item.value not in makers:
                message = f"station {quoted(item.value)} makes no faults, so none can be found"
                making.wrong(item, item.path, message, "write faults: 3 % there")
            of.append(item.value)
    elif makers:
        of = makers
        making.assume(join(path, "of"), ", ".join(makers), "it can find every fault that the cell makes")
    return Inspection(values[0], values[1], tuple(sorted(set(of), key=natural)))


def to_mends(flow: Flow, name: str) -> float:
    """The share of faulty units that rework, or repair in place, puts right at a station."""
    making, station = flow.making, flow.record(name)
    path = f"stations.{name}.mends"
    if "mends" in station.places:
        if not origins(flow):
            message = "no station of this cell makes faults, so there is nothing to put right"
            making.wrong_key(station, "mends", message, "write faults: 3 % at a station")
        return float(station.get("mends").value) if "mends" in station else 0.0
    if origins(flow) and (_is_bench(flow, name) or _repairs(station)):
        making.assume(path, format_ratio(1.0), "rework puts every faulty unit right")
        return 1.0
    return 0.0


def _repairs(station: Record) -> bool:
    rejects = station.get("rejects")
    return rejects is not None and "to" in rejects and rejects.get("to").value == "here"


def _is_bench(flow: Flow, name: str) -> bool:
    """Whether a station beside the route gets rejected units and does not merely inspect them again."""
    if flow.line_of[name] == MAIN or "inspects" in flow.record(name):
        return False
    goals = set()
    for other in flow.stations:
        rejects = flow.record(other).get("rejects")
        goals |= {rejects.get(key).value for key in ("to", "then") if rejects is not None and key in rejects}
    return bool(goals & {name, flow.before[name]})


def extra_element(
    crew: Crew, record: Record, key: str, label: str, work: tuple[Element, ...]
) -> Element | None:
    """An element after the cycle: its time under `key`, done by whoever does the last element if not said."""
    if key not in record:
        return None
    if "by" in record.places:
        by = people.to_needs(crew, record.get("by"), record, "by")
    else:
        last = [element for element in work if element.phase == "work" and not element.inside]
        by = last[-1].by if last else ()
        crew.making.assume(join(record.path, "by"), _names(by), "as the last element of the cycle")
    return Element(label, to_law(crew.making, record.get(key)), by)


def _names(by: tuple[Need, ...]) -> str:
    return ", ".join(need.skill for need in by) or "nobody"


def to_samples(crew: Crew, station: Record, work: tuple[Element, ...]) -> Samples | None:
    """Which units of a station are tested as samples, and how."""
    given: Record | None = station.get("samples")
    if given is None:
        return None
    every: int = given.single("every", 2)
    destroys = crew.making.take(SAMPLES, given, "destroys")
    if every == 1 and destroys:
        crew.making.wrong_key(
            given, "every", "every unit would be destroyed, so none goes on", "write every: 50"
        )
    test = extra_element(crew, given, "time", "test of a sample", work)
    return None if test is None else Samples(every, test, destroys)


def check_repair(flow: Flow, name: str, rejects: Rejects, inspects: Inspection | None, mends: float) -> None:
    """Note a repair in place that would go on for ever."""
    if rejects.repair is None or rejects.attempts:
        return
    given: Any = flow.record(name).get("rejects")
    if inspects is not None and inspects.finds >= 1 and mends == 0:
        message = "a faulty unit is found every time and never put right, so it never gets out"
        flow.making.wrong(given, given.path, message, "give attempts: 3, or mends: 90 %")
    elif laws.mean(rejects.repair.time) == 0:
        message = "a unit could be repaired for ever without any time passing"
        flow.making.wrong(given, given.path, message, "give repair a time above 0 s, or limit the attempts")
