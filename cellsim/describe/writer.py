"""The fully resolved form of a cell: a legal cell file in which every value is spelled out."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable

from cellsim.describe.cell import (
    RELEASE,
    Batch,
    Carrier,
    Cell,
    Changeover,
    Element,
    FinishedGoods,
    Law,
    Mispicks,
    Need,
    Outlet,
    Post,
    Power,
    PurchasedPart,
    Rejects,
    Release,
    Robot,
    Sequence,
    Shift,
    Station,
    Stop,
    Store,
    Study,
    Zone,
)
from cellsim.describe.kinds import ALWAYS_THERE, AS_MUCH, DAYS
from cellsim.describe.laws import LAWS
from cellsim.describe.spec_robots import FIXED_SEQUENCE
from cellsim.describe.times import COUNTED
from cellsim.describe.tree import BLANK
from cellsim.units import (
    DAY,
    format_clock,
    format_energy,
    format_number,
    format_power,
    format_ratio,
    format_time,
)

Value = object  # str, list of Value, or dict from str to Value
WIDTH = 110
_PLAIN = re.compile(r"[\w.(+/][\w .,'()/+&;%-]*(?:[>:][\w.(+/][\w .'()/+&%-]*)*")
_PLAIN_IN_BRACES = re.compile(
    r"[\w.(+/][\w .'()/+&%-]*(?:> ?[\w.(+/][\w .'()/+&%-]*)*|[0-9]{2}:[0-9]{2}(?::[0-9]{2})?"
)


def resolved_text(cell: Cell) -> str:
    """The cell as a legal cell file with nothing left to assume; loading it gives an equal cell again."""
    return "".join(f"{line}\n" for key, value in _cell(cell).items() for line in _lines(key, value, 0))


def resolved_fits(cell: Cell, most_nodes: int, most_bytes: int) -> bool:
    """Whether the resolved text of a cell has no more keys and values, and no more bytes, than a file may."""
    return _nodes(_cell(cell)) <= most_nodes and len(resolved_text(cell).encode()) <= most_bytes


def _nodes(value: Value) -> int:
    if isinstance(value, dict):
        return 1 + sum(1 + _nodes(inner) for inner in value.values())
    return 1 + sum(map(_nodes, value)) if isinstance(value, list) else 1


def _cell(cell: Cell) -> dict[str, Value]:
    """The keys of the file in the order in which they are written; what there is none of is left out."""
    whole: dict[str, Value] = {"cell": cell.name}
    if cell.question:
        whole["question"] = cell.question
    if cell.target_per_hour is not None:
        whole["target"] = f"{format_number(cell.target_per_hour)} per h"
    whole["shifts"] = {shift.name: _shift(shift) for shift in cell.shifts}
    whole["crew"] = {post.name: _post(post, bool(cell.shifts)) for post in cell.posts}
    whole["levels"] = {str(k + 1): format_number(factor) for k, factor in enumerate(cell.levels)}
    if cell.posts:
        whole["allowance"] = "0 %"  # stations spell theirs out
    whole["robots"] = {robot.name: _robot(robot) for robot in cell.robots}
    whole["zones"] = {zone.name: _zone(zone) for zone in cell.zones}
    whole["shared"] = {thing: str(count) for thing, count in cell.shared}
    whole["route"] = list(cell.route)
    whole["lines"] = {line.name: list(line.places) for line in cell.lines}
    hides = any(station.faults is not None for station in cell.stations)
    whole["stations"] = {station.name: _station(station, hides) for station in cell.stations}
    whole["stores"] = {store.name: _store(store) for store in cell.stores}
    whole["variants"] = {variant.name: format_ratio(variant.share) for variant in cell.variants}
    if cell.variants:
        whole["sequence"] = _sequence(cell.sequence)
    whole["varied_lines"] = list(cell.varied_lines)
    whole["parts"] = {part.name: _part(part) for part in cell.parts} or ALWAYS_THERE
    whole["finished_goods"] = _finished_goods(cell.finished_goods)
    whole["release"] = _release(cell.release)
    whole["tables"] = {
        table.name: {"stations": list(table.stations), "index": law_value(table.index)}
        for table in cell.tables
    }
    whole["carriers"] = {carrier.name: _carrier(carrier) for carrier in cell.carriers}
    whole["layout"] = {
        point: [f"{format_number(x)} m", f"{format_number(y)} m"] for point, x, y in cell.layout
    }
    whole["study"] = _study(cell.study)
    whole["assumed"] = [{"path": a.path, "value": a.value, "why": a.why} for a in cell.assumptions]
    whole["origins"] = [{"path": origin.path, "text": origin.text} for origin in cell.origins]
    return {key: value for key, value in whole.items() if value or key == "assumed"}


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"


def _shift(shift: Shift) -> dict[str, Value]:
    return {
        "from": format_clock(shift.start),
        "to": format_clock(shift.end),
        "days": [DAYS[day] for day in shift.days],
        "breaks": [{"at": format_clock(at), "for": format_time(length)} for at, length in shift.breaks],
        "start_up": format_time(shift.start_up),
        "clean_up": format_time(shift.clean_up),
        "at_end": shift.at_end,
        "hand_over": format_time(shift.hand_over),
    }


def _post(post: Post, with_shifts: bool) -> dict[str, Value]:
    value: dict[str, Value] = {"people": str(post.people)}
    levels = dict(post.levels)
    value["skills"] = {
        skill: f"level {levels[skill]}" if skill in levels else format_number(factor)
        for skill, factor in post.skills
    }
    if post.level:
        value["level"] = str(post.level)
    if with_shifts:
        value["shift"] = list(post.shifts)
        value["absent"] = format_ratio(post.absent)
    value |= {"serves": list(post.serves), "overtaking": _yes_no(post.overtaking), "at_break": post.at_break}
    return value | _stands(post) | _team(post)


def _team(post: Post) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if post.breaks is not None:
        value["breaks"] = [{"at": format_clock(at), "for": format_time(n)} for at, n in post.breaks]
    if post.relieves:
        value["relieves"] = list(post.relieves)
    if post.stands_in_for:
        value["stands_in_for"] = list(post.stands_in_for)
    if post.learning is not None:
        value["learning"] = {
            "rate": format_ratio(post.learning.rate),
            "standard_after": str(post.learning.standard_after),
            "has_done": str(post.learning.has_done),
        }
    if post.response is not None:
        value["response"] = law_value(post.response)
    if post.called_out is not None:
        value["called_out"] = format_time(post.called_out)
    if post.rotates is not None:
        value["rotates"] = {
            "every": format_time(post.rotates.every),
            "among": [list(group) for group in post.rotates.among],
        }
    return value


def _robot(robot: Robot) -> dict[str, Value]:
    value: dict[str, Value] = {
        "serves": FIXED_SEQUENCE if robot.fixed_sequence else list(robot.serves),
        "gripper": "double" if robot.double_gripper else "single",
    }
    if robot.moves:
        value["moves"] = [f"{move.start} > {move.end}" for move in robot.moves]
        value["checks_target"] = _yes_no(robot.checks_target)
    if robot.pick is not None and robot.place is not None:
        value |= {"pick": law_value(robot.pick), "place": law_value(robot.place)}
    if robot.grippers:
        value["grippers"] = dict(robot.grippers)
        value["gripper_change"] = format_time(robot.gripper_change)
    if robot.mispicks is not None:
        value["mispicks"] = _mispicks(robot.mispicks)
    if robot.speed != 1:
        value["speed_setting"] = format_ratio(robot.speed)
    if robot.recovery is not None:
        value["recovery"] = {"time": law_value(robot.recovery.time), "by": _needs(robot.recovery.by)}
    if robot.fetches_ahead:
        value["fetches_ahead"] = "yes"
    return value | _stands(robot) | _stops(robot.stops) | _power(robot.power)


def _mispicks(mispicks: Mispicks) -> dict[str, Value]:
    return {
        "share": format_ratio(mispicks.share),
        "retry": format_time(mispicks.retry),
        "works": format_ratio(mispicks.works),
        "retries": str(mispicks.retries),
        "then": {"by": _needs(mispicks.by), "time": law_value(mispicks.time)},
    }


def _zone(zone: Zone) -> dict[str, Value]:
    value: dict[str, Value] = {"robots": list(zone.robots), "people_at": list(zone.people_at)}
    if zone.speed:
        return value | {"inside": f"slows to {format_ratio(zone.speed)}"}
    return value | {"inside": "stops", "restart": format_time(zone.restart)}


def _stands(one: Post | Robot) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if one.listed:
        value["order"] = list(one.listed)
    if one.travel:
        value["travel"] = {f"{start} > {end}": format_time(time) for start, end, time in one.travel}
    if one.starts_at:
        value["starts_at"] = one.starts_at
    return value


def _station(station: Station, hides: bool) -> dict[str, Value]:
    value: dict[str, Value] = {
        "machines": str(station.machines),
        "work": [_element(element) for element in station.work],
        "one_visit": _yes_no(station.one_visit),
        "takes": {store: str(count) for store, count in station.takes},
        "gives": str(station.gives),
        "goes_to": {outlet.store: _outlet(outlet, bool(station.chooses)) for outlet in station.outlets},
        **({"chooses": station.chooses} if station.chooses else {}),
        "hands_on": "only into a free place" if station.reserves_outlet else "holds finished part",
        "runs_through_breaks": _yes_no(station.runs_through_breaks),
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
            "by": _needs(bar.by),
        }
    if station.lots is not None:
        value["lots"] = {"of": str(station.lots.of), "starts_at": str(station.lots.starts_at)}
    return value | _stops(station.stops) | _power(station.power)


def _power(power: Power | None) -> dict[str, Value]:
    if power is None:
        return {}
    value: dict[str, Value] = {
        "working": format_power(power.working),
        "idle": format_power(power.idle),
        "changeover": format_power(power.changeover),
        "down": format_power(power.down),
        "break": format_power(power.in_break),
        "off": format_power(power.off),
    }
    if power.per_cycle:
        value["per_cycle"] = format_energy(power.per_cycle)
    return {"power": value}


def _store(store: Store) -> dict[str, Value]:
    value: dict[str, Value] = {
        "places": "unlimited" if store.places is None else str(store.places),
        "starts_with": str(store.starts_with),
    }
    if store.last_in_first_out:
        value["order"] = "last in first out"
    if store.transit:
        value["transit"] = format_time(store.transit)
    if store.stays:
        value["stays"] = f"at least {format_time(store.stays)}"
    if store.use_within is not None:
        value |= {"use_within": format_time(store.use_within), "late": store.late or "scrap"}
    if store.tray:
        value["tray"] = str(store.tray)
    if store.tray_waits is not None:
        value["tray_waits"] = format_time(store.tray_waits)
    if not store.overtaking:
        value["overtaking"] = "no"
    return value


def _carrier(carrier: Carrier) -> dict[str, Value]:
    return {
        "count": str(carrier.count),
        "from": carrier.start,
        "to": carrier.end,
        "returns": law_value(carrier.returns),
        "per": "batch" if carrier.per_batch else "unit",
    }


def _sequence(sequence: Sequence) -> dict[str, Value]:
    line: dict[str, Value] = {"line": "empties" if sequence.line_empties else "rolls"}
    if sequence.campaigns:
        return {"campaigns": [{name: str(units)} for name, units in sequence.campaigns]} | line
    return {"order": sequence.order} | line


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
    return value | {"mixed": _yes_no(batch.mixed)}


def _changeover(changeover: Changeover) -> dict[str, Value]:
    value: dict[str, Value] = {
        "time": {f"{start} > {end}": law_value(law) for start, end, law in changeover.times},
        "by": _needs(changeover.by),
        "begins": "after the last unit" if changeover.ahead else "with the next unit",
    }
    if changeover.approval is not None:
        value |= {
            "approval": law_value(changeover.approval),
            "approved_by": _needs(changeover.approved_by),
        }
    return value


def _time(element: Element) -> Value:
    return {name: law_value(law) for name, law in element.by_variant} or law_value(element.time)


def _part(part: PurchasedPart) -> dict[str, Value]:
    value: dict[str, Value] = {
        "used_at": {station: str(pieces) for station, pieces in part.used_at},
        "box": str(part.box),
    }
    if part.supply == "regular":
        value["every"] = law_value(part.delivery)
    else:
        key, count = ("bins", part.bins) if part.supply == "bins" else ("orders_at", part.orders_at)
        value |= {key: str(count), "delivery": law_value(part.delivery)}
    value["brought_by"] = _needs(part.brought_by)
    if part.trip is not None:
        value["trip"] = law_value(part.trip)
    return value | {
        "starts_with": str(part.starts_with),
        "overtaking": _yes_no(part.overtaking),
        "priority": str(part.priority),
    }


def _finished_goods(goods: FinishedGoods | None) -> dict[str, Value]:
    if goods is None:
        return {}
    value: dict[str, Value] = {"places": str(goods.places)}
    if goods.every is not None:
        collected: dict[str, Value] = {
            "every": law_value(goods.every),
            "takes": str(goods.takes or "unlimited"),
            "by": _needs(goods.by),
        }
        value["collected"] = collected | ({"trip": law_value(goods.trip)} if goods.trip is not None else {})
    return value


def _element(element: Element) -> dict[str, Value]:
    value: dict[str, Value] = {"do": element.name, "time": _time(element), "by": _needs(element.by)}
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
            "by": _needs(samples.test.by),
            "destroys": _yes_no(samples.destroys),
        }
    return value


def _rejects(rejects: Rejects, inspects: bool) -> dict[str, Value]:
    value: dict[str, Value] = {}
    if rejects.verdicts:
        value["verdicts"] = ["good" if good else "reject" for good in rejects.verdicts]
    elif not inspects:
        value |= {"share": format_ratio(rejects.share), "after_rework": format_ratio(rejects.after_rework)}
    if rejects.repair is not None:
        value |= {"to": "here", "repair": law_value(rejects.repair.time), "by": _needs(rejects.repair.by)}
        return value | _last_attempt(rejects)
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


def _stops(stops: Iterable[Stop]) -> dict[str, Value]:
    found: dict[str, dict[str, Value]] = {"stops": {}, "service": {}}
    for stop in stops:
        value: dict[str, Value] = {}
        if stop.at:
            value["at"] = [f"{DAYS[moment // DAY]} {format_clock(moment % DAY)}" for moment in stop.at]
        else:
            value["every"] = _spelled(stop.every, stop.clock in COUNTED) | {"of": stop.clock}
        value["lasts"] = _spelled(stop.lasts)
        value["by" if stop.planned else "cleared_by"] = _needs(stop.repaired_by)
        value["begins"] = "after the cycle" if stop.after_cycle else "at once"
        if stop.stops_too:
            value["with"] = list(stop.stops_too)
        if stop.restart_scrap:
            value["restart_scrap"] = str(stop.restart_scrap)
        if not stop.planned:
            value |= {"interrupts": _yes_no(stop.interrupts), "part": stop.part}
        found["service" if stop.planned else "stops"][stop.name] = value | {"priority": str(stop.priority)}
    return {key: values for key, values in found.items() if values}


def _needs(needs: tuple[Need, ...]) -> Value:
    return {need.skill: str(need.people) for need in needs} or "nobody"


def law_value(law: Law) -> Value:
    """A law as it is written in a file: a plain time if it is fixed, else by its keys."""
    return format_time(round(law.values[0])) if law.name == "fixed" else _spelled(law)


def _spelled(law: Law, counts_cycles: bool = False) -> dict[str, Value]:
    """A law by all its keys."""
    value: dict[str, Value] = {"law": law.name}
    if law.measured:
        return value | {law.name: [format_time(time) for time in law.measured]}
    for row, number in zip(LAWS[law.name].parameters, law.values, strict=True):
        if not math.isfinite(number):
            continue
        if row.kind == "time" and not counts_cycles:
            value[row.name] = format_time(round(number))
        else:
            value[row.name] = format_ratio(number) if row.kind == "spread" else format_number(number)
    return value


def _release(release: Release) -> Value:
    if release.every is not None:
        return {"every": law_value(release.every)}
    if release.kind == "plan":
        return {"plan": {format_clock(clock): str(count) for clock, count in release.plan}}
    if release.kind == "at":
        return {"at": [format_time(time) for time in release.at]}
    return f"cards {release.cards}" if release.kind == "cards" else AS_MUCH


def _study(study: Study) -> dict[str, Value]:
    value: dict[str, Value] = (
        {"shifts": str(study.shifts)} if study.shifts else {"run": format_time(study.run)}
    )
    return value | {
        "settle": _shifts(study.settle_shifts) if study.settle_shifts else format_time(study.settle),
        "start": study.start,
        "seed": str(study.seed),
        "replications": str(study.replications),
    }


def _shifts(count: int) -> str:
    return f"{count} shift" if count == 1 else f"{count} shifts"


def _lines(key: str, value: Value, depth: int) -> list[str]:
    """One key and its value as lines; short values on one line, longer ones below it."""
    pad = "  " * depth
    flow = _flow(value)
    if isinstance(value, str):
        return [f"{pad}{_scalar(key, True)}: {_scalar(value, False)}"]
    head = f"{pad}{_scalar(key, True)}:"
    if depth > 0 and len(head) + 1 + len(flow) <= WIDTH:
        return [f"{head} {flow}"]
    if isinstance(value, dict) and value:
        return [head, *(line for name, inner in value.items() for line in _lines(name, inner, depth + 1))]
    if isinstance(value, list) and any(isinstance(item, dict) for item in value):
        return [head, *(f"{pad}  - {_flow(item)}" for item in value)]
    if isinstance(value, list) and len(head) + 1 + len(flow) > WIDTH:
        return [f"{head}", *_wrapped([_flow(item) for item in value], pad + "  ")]
    return [f"{head} {flow}"]


def _wrapped(items: list[str], pad: str) -> list[str]:
    lines, line = [], "["
    for i, item in enumerate(items):
        piece = item + ("," if i < len(items) - 1 else "]")
        if len(pad) + len(line) + 1 + len(piece) > WIDTH and line != "[":
            lines.append(pad + line)
            line = ""
        line += (" " if line not in ("[", "") else "") + piece
    return [*lines, pad + line]


def _flow(value: Value) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_scalar(key, True)}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    return _scalar(str(value), True)


def _scalar(text: str, in_braces: bool) -> str:
    """The text as YAML: plain where that is safe, else in double quotes."""
    plain = (_PLAIN_IN_BRACES if in_braces else _PLAIN).fullmatch(text)
    if plain and text not in BLANK and not text.endswith(" ") and not text.startswith(("---", "...")):
        return text
    return json.dumps(text, ensure_ascii=False)
