"""What only robots have: moves, grippers, mis-picks, speed setting, recovery; and what several share."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from cellsim.describe.cell import Element, Mispicks, Need, Recovery, Robot, Station
from cellsim.describe.crew import Crew, to_needs
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.flow import Flow
from cellsim.describe.making import natural
from cellsim.describe.moves import check_feeders, to_moves
from cellsim.describe.spec_robots import FIXED_SEQUENCE, MISPICKS, RECOVERY, ROBOT
from cellsim.describe.times import to_law
from cellsim.describe.tree import join
from cellsim.units import quoted


def to_shared(crew: Crew, top: Record) -> tuple[tuple[str, int], ...]:
    """The things that elements use, and how many there are of each; their names differ from all others."""
    entries: dict[str, Entry] = top.get("shared") or {}
    taken = {"post": set(crew.posts), "robot": set(crew.robots)}
    taken["skill"] = {skill for own in crew.skills.values() for skill in own}
    for name, entry in entries.items():
        for kind, names in taken.items():
            if name in names:
                message = f"{quoted(name)} is the name of a {kind} too; names differ"
                crew.making.wrong(entry.name, entry.name.path, message)
        crew.shared[name] = entry.value.value
    return tuple((name, crew.shared[name]) for name in sorted(crew.shared, key=natural))


def to_uses(crew: Crew, element: Record) -> tuple[str, ...]:
    """The shared things that a work element needs."""
    items: list[Item] = element.get("uses") or []
    found: dict[str, Item] = {}
    for item in items:
        if item.value not in crew.shared:
            crew.making.unknown(item, "shared thing", crew.shared)
        elif item.value in found:
            crew.making.wrong(item, item.path, f"{quoted(item.value)} stands here twice")
        found[item.value] = item
    if items and "phase" in element and element.get("phase").value != "work":
        message = "only an element of phase work can use a shared thing"
        crew.making.wrong_key(element, "uses", message, "make it an element of its own, without a phase")
    return tuple(sorted(found, key=natural))


def misses(crew: Crew, by: tuple[Need, ...]) -> bool:
    """Whether a robot among those who attend may miss a pick."""
    return any(need.skill in crew.robots and "mispicks" in crew.robots[need.skill] for need in by)


def equipped(
    crew: Crew, flow: Flow, stations: tuple[Station, ...], robots: tuple[Robot, ...]
) -> tuple[Robot, ...]:
    """The robots with their moves, grippers and all else that only robots have."""
    found = []
    for robot in robots:
        record = crew.robots[robot.name]
        own = replace(
            robot,
            mispicks=_mispicks(crew, record.get("mispicks")),
            recovery=_recovery(crew, record.get("recovery")),
            speed=crew.making.take(ROBOT, record, "speed_setting"),
            fetches_ahead=crew.making.take(ROBOT, record, "fetches_ahead"),
            **_moves(crew, flow, stations, robot, record),
        )
        own = replace(own, **_grippers(crew, stations, own, record))
        for key, word in (("mispicks", "mis-pick"), ("recovery", "recovery")):
            if key in record and word in (record.get("stops") or {}):
                entry = record.get("stops")[word]
                message = f"{quoted(word)} is what {key} is called among the stops; names differ"
                crew.making.wrong(entry.name, entry.name.path, message)
        if own.fetches_ahead:
            _check_fetching_ahead(crew, stations, own, record)
        found.append(own)
    check_feeders(
        crew.making, flow, stations, {robot.name: crew.robots[robot.name] for robot in found}, found
    )
    return tuple(found)


def _mispicks(crew: Crew, given: Record | None) -> Mispicks | None:
    if given is None:
        return None
    take = crew.making.take
    then: Record = given.get("then") or Record(join(given.path, "then"), given.line, given.column)
    by = to_needs(crew, then.get("by"), then, "by")
    if "by" in then and not by:
        crew.making.wrong_key(then, "by", "somebody must come when all retries fail")
    if take(MISPICKS, given, "share") == 1:
        crew.making.wrong_key(given, "share", "every pick would fail")
    return Mispicks(
        share=take(MISPICKS, given, "share"),
        retry=given.single("retry", 0),
        works=take(MISPICKS, given, "works"),
        retries=take(MISPICKS, given, "retries"),
        by=by,
        time=to_law(crew.making, then.get("time")),
    )


def _recovery(crew: Crew, given: Record | None) -> Recovery | None:
    if given is None:
        return None
    time = given.get("time")
    if time is None:
        time = Item(crew.making.take(RECOVERY, given, "time"), "", 0, 0, given.path)
    return Recovery(to_law(crew.making, time), to_needs(crew, given.get("by"), given, "by"))


def _moves(
    crew: Crew, flow: Flow, stations: tuple[Station, ...], robot: Robot, record: Record
) -> dict[str, Any]:
    making = crew.making
    fixed = FIXED_SEQUENCE in robot.serves
    if fixed and len(robot.serves) > 1:
        making.wrong_key(record, "serves", "a fixed sequence goes with no other rule", "write it alone")
    if "moves" not in record:
        for key in ("pick", "place", "checks_target"):
            if key in record.places:
                making.wrong_key(record, key, f"{key} belongs to moves, and this robot has none", "add moves")
        if fixed:
            making.wrong_key(record, "serves", "a fixed sequence needs moves", "add moves: [in > mill, ...]")
        return {}
    for key in ("pick", "place"):
        if key not in record.places:
            making.wrong_key(record, "moves", f"how long does a {key} take?", f"write {key}: 2 s")
    if fixed:
        for station in stations:
            if any(need.skill == robot.name for element in station.work for need in element.by):
                message = (
                    f"{robot.name} follows a fixed sequence of moves, so nobody can call it to {station.name}"
                )
                making.wrong_key(record, "serves", message, "take it out of by, or choose another rule")
    return {
        "moves": to_moves(making, flow, stations, record.get("moves")),
        "pick": to_law(making, record.get("pick")),
        "place": to_law(making, record.get("place")),
        "fixed_sequence": fixed,
        "serves": () if fixed else robot.serves,
        "checks_target": making.take(ROBOT, record, "checks_target"),
    }


def _tended(robot: Robot, stations: tuple[Station, ...]) -> dict[str, list[Element]]:
    """The elements of each station that the robot attends; moves count as no element."""
    found: dict[str, list[Element]] = {}
    for station in stations:
        own = [element for element in station.work if any(need.skill == robot.name for need in element.by)]
        if own:
            found[station.name] = own
    return found


def _grippers(crew: Crew, stations: tuple[Station, ...], robot: Robot, record: Record) -> dict[str, Any]:
    making = crew.making
    given: dict[str, Entry] = record.get("grippers") or {}
    tended = {*_tended(robot, stations), *(point for move in robot.moves for point in (move.start, move.end))}
    for entry in given.values():
        if entry.name.value not in tended:
            making.unknown(entry.name, f"station of {robot.name}", tended)
    grippers = {name: entry.value.value for name, entry in given.items()}
    kinds = set(grippers.values())
    if "gripper_change" in record and len(kinds) < 2:
        message = "there is nothing to change: " + (
            f"only the gripper {min(kinds)}" if kinds else "no grippers"
        )
        making.wrong_key(record, "gripper_change", message, "add grippers: {wind: jaw, close: cup}")
    elif len(kinds) > 1 and "gripper_change" not in record.places:
        making.wrong_key(record, "grippers", "how long does a change take?", "write gripper_change: 4 s")
    for item, move in zip(record.get("moves") or [], robot.moves, strict=False):
        both = [grippers[point] for point in (move.start, move.end) if point in grippers]
        if len(set(both)) > 1:
            making.wrong(item, item.path, f"one unit would need two grippers, {both[0]} and {both[1]}")
    return {
        "grippers": tuple((name, grippers[name]) for name in sorted(grippers, key=natural)),
        "gripper_change": record.single("gripper_change", 0),
    }


def _check_fetching_ahead(crew: Crew, stations: tuple[Station, ...], robot: Robot, record: Record) -> None:
    tended = _tended(robot, stations)
    elements = [element for own in tended.values() for element in own]
    special = {s.name for s in stations if s.batch is not None or s.changeover is not None}
    problem = ""
    if not robot.double_gripper:
        problem = "the hand that unloads is not free when the other one holds the next unit"
    elif len(tended) != 1 or robot.moves:
        problem = f"it must tend one station only, and it tends {' and '.join(tended) or 'none'}"
    elif special & set(tended):
        problem = f"{min(tended)} works in batches or is changed over"
    elif not {"fetch", "load"} <= {element.phase for element in elements}:
        problem = f"nothing is fetched for {min(tended)}"
    elif any(element.phase == "work" or element.by != (Need(robot.name),) for element in elements):
        problem = f"at {min(tended)} it does more than fetch, load, unload, deliver and return alone"
    if problem:
        hint = "write gripper: double" if not robot.double_gripper else ""
        crew.making.wrong_key(record, "fetches_ahead", f"{robot.name} cannot fetch ahead: {problem}", hint)
