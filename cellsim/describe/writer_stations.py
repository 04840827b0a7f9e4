"""Stations in a resolved file: their work, batches, changeovers, rejects and inspections."""

from __future__ import annotations

from cellsim.describe.cell import RELEASE, Batch, Changeover, Element, Outlet, Rejects, Station
from cellsim.describe.writer_text import Value
from cellsim.describe.writer_work import law_value, needs_value, power_keys, stop_keys, yes_no
from cellsim.units import format_clock, format_ratio, format_time


def station_value(station: Station, hides: bool) -> dict[str, Value]:
    """A station by its keys; `hides`: the cell makes hidden faults."""
    value: dict[str, Value] = {
        "machines": str(station.machines),
        "work": [_element(element) for element in station.work],
        "one_visit": yes_no(station.one_visit),
        "takes": {store: str(count) for store, count in station.takes},
        "gives": str(station.gives),
        "goes_to": {outlet.store: _outlet(outlet, bool(station.chooses)) for outlet in station.outlets},
        **({"chooses": station.chooses} if station.chooses else {}),
        "hands_on": "only into a free place" if station.reserves_outlet else "holds finished part",
        "runs_through_breaks": yes_no(station.runs_through_breaks),
        "priority": str(station.priority),
    }
    if station.allowance:
        value["allowance"] = format_ratio(station.allowance)
    if station.rejects is not None:
        value["rejects"] = _rejects(station.rejects, station.inspects is not None)
    if station.batch is not None:
        value["batch"] = _batch(station.batch)
    if station.changeover is not None:
        value["changeover"] = _changeover(station.changeover)
    if station.only:
        value["only"] = list(station.only)
    value |= _quality(station)
    if hides:
        value["mends"] = format_ratio(station.mends)
    if (bar := station.yields) is not None:
        value["yields"] = {
            "units": f"{bar.units} per {bar.per}",
            "change": law_value(bar.change),
            "by": needs_value(bar.by),
        }
    if station.lots is not None:
        value["lots"] = {"of": str(station.lots.of), "starts_at": str(station.lots.starts_at)}
    return value | stop_keys(station.stops) | power_keys(station.power)


def _batch(batch: Batch) -> dict[str, Value]:
    value: dict[str, Value] = {
        "size": {name: str(units) for name, units in batch.by_variant} or str(batch.size),
    }
    if batch.waits is not None or batch.starts_at:
        value["at_least"] = str(batch.at_least)
    if batch.waits is not None:
        value["waits"] = format_time(batch.waits)
    if batch.starts_at:
        value["starts_at"] = [format_clock(at) for at in batch.starts_at]
    return value | {"mixed": yes_no(batch.mixed)}


def _changeover(changeover: Changeover) -> dict[str, Value]:
    value: dict[str, Value] = {
        "time": {f"{start} > {end}": law_value(law) for start, end, law in changeover.times},
        "by": needs_value(changeover.by),
        "begins": "after the last unit" if changeover.ahead else "with the next unit",
    }
    if changeover.approval is not None:
        value |= {
            "approval": law_value(changeover.approval),
            "approved_by": needs_value(changeover.approved_by),
        }
    return value


def _time(element: Element) -> Value:
    return {name: law_value(law) for name, law in element.by_variant} or law_value(element.time)


def _element(element: Element) -> dict[str, Value]:
    value: dict[str, Value] = {"do": element.name, "time": _time(element), "by": needs_value(element.by)}
    if level := max((need.level for need in element.by), default=0):
        value["level"] = str(level)
    if element.at:
        value["at"] = element.at
    if element.inside:
        value["inside_machine_time"] = "yes"
    value["phase"] = element.phase
    if element.picks:
        value["picks"] = str(element.picks)
    if element.uses:
        value["uses"] = list(element.uses)
    return value


def _outlet(outlet: Outlet, chosen: bool) -> dict[str, Value]:
    way: dict[str, Value] = {} if chosen else {"share": format_ratio(outlet.share)}
    if outlet.variants:
        way = {"variants": list(outlet.variants)}
    return way | {"enters": "in front" if outlet.in_front else "behind"}


def _quality(station: Station) -> dict[str, Value]:
    value: dict[str, Value] = {}
    faults, inspects, samples = station.faults, station.inspects, station.samples
    if faults is not None:
        value["faults"] = (
            {"listed": ["faulty" if faulty else "good" for faulty in faults.listed]}
            if faults.listed
            else {"share": format_ratio(faults.share), "after_rework": format_ratio(faults.after_rework)}
        )
        value["lot_faults"] = format_ratio(faults.lot_share)
    if inspects is not None:
        value["inspects"] = {
            "finds": format_ratio(inspects.finds),
            "false_rejects": format_ratio(inspects.false_rejects),
            **({"of": list(inspects.of)} if inspects.of else {}),
        }
    if samples is not None:
        value["samples"] = {
            "every": str(samples.every),
            "time": law_value(samples.test.time),
            "by": needs_value(samples.test.by),
            "destroys": yes_no(samples.destroys),
        }
    return value


def _rejects(rejects: Rejects, inspects: bool) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if rejects.verdicts:
        value["verdicts"] = ["good" if good else "reject" for good in rejects.verdicts]
    elif not inspects:
        value |= {"share": format_ratio(rejects.share), "after_rework": format_ratio(rejects.after_rework)}
    if rejects.repair is not None:
        repair, by = law_value(rejects.repair.time), needs_value(rejects.repair.by)
        return value | {"to": "here", "repair": repair, "by": by} | _last_attempt(rejects)
    if not rejects.to:
        return value | {"to": "scrap"}
    return value | {
        "to": rejects.to,
        "enters": "in front" if rejects.in_front else "behind",
        **(
            {"waits": "on the station" if rejects.holds else "beside the station"}
            if rejects.to == RELEASE
            else {}
        ),
        **_last_attempt(rejects),
    }


def _last_attempt(rejects: Rejects) -> dict[str, Value]:
    value: dict[str, Value] = {"attempts": str(rejects.attempts or "unlimited")}
    if not rejects.then:
        return value | {"then": "scrap"}
    enters = "in front" if rejects.then_in_front else "behind"
    return value | {"then": rejects.then, "then_enters": enters}
