"""Stops and service: what holds a station or robot, when, whom else, and who comes to it from where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from typing import Any

from cellsim.describe import laws
from cellsim.describe.cell import Cell, Law, Post, Robot, Shift, Station, Stop, StopClock
from cellsim.describe.crew import Crew, to_needs
from cellsim.describe.fields import Item, Record
from cellsim.describe.kinds import DAYS
from cellsim.describe.making import Making, natural
from cellsim.describe.spec_stations import STATION
from cellsim.describe.spec_work import SERVICE, STOP
from cellsim.describe.times import STAND_IN, to_law, to_occasion, to_stop
from cellsim.describe.tree import join
from cellsim.units import DAY, format_clock, format_time, quoted

WEEK = 7 * DAY


def to_stops(
    crew: Crew, record: Record, owner: str, stations: Iterable[str], shifts: tuple[Shift, ...]
) -> tuple[Stop, ...]:
    """The stops and planned services of a station or robot, by name."""
    making = crew.making
    robot = owner in crew.robots
    machines = 1 if robot else making.take(STATION, record, "machines")
    found: dict[str, Stop] = {}
    for name, entry in (record.get("stops") or {}).items():
        given = entry.value
        stop = to_stop(making, name, given, to_needs(crew, given.get("cleared_by"), given, "cleared_by"))
        stop = replace(stop, interrupts=making.take(STOP, given, "interrupts"))
        if stop.interrupts and not stop.repaired_by and "cleared_by" not in given.places:
            making.wrong_key(given, "interrupts", "the repair needs nobody", "say cleared_by")
        found[name] = _more(crew, given, stop, owner, stations, machines, STOP)
    for name, entry in (record.get("service") or {}).items():
        if name in found:
            making.wrong(
                entry.name, entry.name.path, f"{quoted(name)} is the name of a stop too; names differ"
            )
            continue
        service = _to_service(crew, name, entry.value, shifts)
        found[name] = _more(crew, entry.value, service, owner, stations, machines, SERVICE)
    return tuple(found[name] for name in sorted(found, key=natural))


def _more(
    crew: Crew, given: Record, stop: Stop, owner: str, stations: Iterable[str], machines: int, table: Any
) -> Stop:
    """A stop with what stops and services have in common."""
    making = crew.making
    robot = owner in crew.robots
    after_cycle = making.take(table, given, "begins") == "after the cycle"
    scrap = making.take(table, given, "restart_scrap")
    stops_too = _with(crew, given, owner, stations)
    if after_cycle and stop.part != "continues":
        making.wrong_key(given, "part", "after the cycle no unit is in work", "take part or begins out")
    if robot and scrap:
        making.wrong_key(given, "restart_scrap", "a robot finishes no units", "write it at a station")
    if robot and stop.clock == "units" and not stop.at:
        making.wrong_key(given, "every", "a robot makes no units", "count cycles, which are its visits")
    if stops_too and machines > 1 and not stop.at and stop.clock != "on time":
        what = "running time" if stop.clock == "running" else stop.clock
        message = f"one stop for {machines} machines cannot count the {what} of one of them"
        making.wrong_key(given, "every", message, "write: of on time")
    return replace(stop, after_cycle=after_cycle, restart_scrap=scrap, stops_too=stops_too)


def _with(crew: Crew, given: Record, owner: str, stations: Iterable[str]) -> tuple[str, ...]:
    """The other stations and robots that a stop holds."""
    known = {*stations, *crew.robots}
    names: list[str] = []
    for item in given.get("with") or []:
        if item.value == owner:
            crew.making.wrong(item, item.path, f"it is {quoted(owner)} itself that stops; name the others")
        elif item.value in names:
            crew.making.wrong(item, item.path, f"{quoted(item.value)} stands here twice")
        elif item.value not in known:
            crew.making.unknown(item, "station or robot", known)
        else:
            names.append(item.value)
    return tuple(sorted(names, key=natural))


def _to_service(crew: Crew, name: str, given: Record, shifts: tuple[Shift, ...]) -> Stop:
    making = crew.making
    if ("at" in given.places) == ("every" in given.places):
        message = "a service is due either at times of the day or every so often"
        making.wrong(given, given.path, message, "write at: 06:00, or every: 40 h of on time")
    moments = to_moments(making, given, shifts)
    lasts = to_law(making, given.get("lasts"))
    every: Law = STAND_IN
    clock: StopClock = "on time"
    if "every" in given and not moments:
        every, clock = to_occasion(making, given, exact=True, stated="")
        if laws.mean(every) <= 0:
            making.wrong_key(given, "every", "it would be due without a pause; it must be above zero")
    gaps = [after - before for before, after in pairwise((*moments, *(m + WEEK for m in moments[:1])))]
    if gaps and laws.mean(lasts) >= min(gaps):
        message = f"it lasts {format_time(round(laws.mean(lasts)))}, and is due again after"
        making.wrong_key(given, "lasts", f"{message} {format_time(min(gaps))}: no time is left to work")
    if "by" not in given.places:
        making.assume(join(given.path, "by"), "nobody", "the service begins at once and needs nobody")
    return Stop(
        name=name,
        every=every,
        clock=clock,
        lasts=lasts,
        repaired_by=to_needs(crew, given.get("by"), given, "by"),
        priority=making.take(SERVICE, given, "priority"),
        planned=True,
        at=moments,
    )


def to_moments(making: Making, given: Record, shifts: tuple[Shift, ...]) -> tuple[int, ...]:
    """When a service is due, in microseconds after Monday 00:00, in order."""
    found: dict[int, Item] = {}
    for item in given.get("at") or []:
        days, clock = item.value
        if days is None:
            days = _days_at(clock, shifts)
            told = "daily" if len(days) == 7 else ", ".join(DAYS[day] for day in days)
            why = "the days on which a shift is on then, else on which one begins"
            if not shifts:
                why = "without shifts every day is alike, and a run begins at midnight"
            making.assume(item.path, f"{told} {format_clock(clock)}", why)
        for day in days:
            if day * DAY + clock in found:
                moment = f"{DAYS[day]} {format_clock(clock)}"
                making.wrong(item, item.path, f"it is due at {moment} already")
                return ()
            found[day * DAY + clock] = item
    return tuple(sorted(found))


def _days_at(clock: int, shifts: tuple[Shift, ...]) -> tuple[int, ...]:
    """The days on which a shift is on at this time, its ends included; else those on which one begins."""
    on = {
        (day + late) % 7
        for shift in shifts
        for day in shift.days
        for late in (0, 1)
        if shift.start <= clock + late * DAY <= shift.end
    }
    return tuple(sorted(on or {day for shift in shifts for day in shift.days} or range(7)))


def check_helpers(making: Making, cell: Cell, records: dict[str, Record], posts: dict[str, Record]) -> None:
    """Note repairs that interrupt nothing, and posts that come from elsewhere to nothing or not alike.

    `records` are those of stations and robots, `posts` those of posts.
    """
    owners: tuple[Station | Robot, ...] = (*cell.stations, *cell.robots)
    owned = [(owner.name, stop) for owner in owners for stop in owner.stops]
    for owner, stop in owned:
        if stop.interrupts:
            record = records[owner].get("stops")[stop.name].value
            able = _able(cell.posts, stop)
            others = [other for _, other in owned if other.priority > stop.priority]
            if able and not _lesser_work(cell, able, stop.priority, others):
                who = " or ".join(post.name for post in able)
                message = f"{who} does no work with a priority below {stop.priority}"
                hint = f"give the work that may be interrupted a priority such as {stop.priority + 1}"
                making.wrong_key(record, "interrupts", message, hint)
        for key in ("response", "called_out"):
            stated = {
                getattr(post, key): post for post in _able(cell.posts, stop) if getattr(post, key) is not None
            }
            if len(stated) > 1:
                first, other = sorted((post.name for post in stated.values()), key=natural)[:2]
                message = f"{quoted(first)} and {quoted(other)} both repair {owner} ({stop.name}), but their"
                making.wrong_key(posts[other], key, f"{message} {key} differs")
    for post in cell.posts:
        repairs = any(post in _able(cell.posts, stop) for _, stop in owned)
        for key in ("response", "called_out"):
            if getattr(post, key) is not None and not repairs:
                making.wrong_key(posts[post.name], key, f"{quoted(post.name)} repairs nothing")
        if post.called_out is not None and not cell.shifts:
            making.wrong_key(
                posts[post.name], "called_out", f"{quoted(post.name)} is never off duty", "add shifts"
            )


def _able(posts: tuple[Post, ...], stop: Stop) -> list[Post]:
    return [post for post in posts if post.can_help(stop.repaired_by)]


def _lesser_work(cell: Cell, able: list[Post], priority: int, others: list[Stop]) -> bool:
    """Whether any of these posts does work below a priority, or one of the repairs of `others`."""
    needs = [stop.repaired_by for stop in others]
    for station in cell.stations:
        if station.priority > priority:
            needs += [element.by for element in station.work if element.phase == "work"]
    return any(post.can_help(by) for post in able for by in needs)
