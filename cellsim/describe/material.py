"""Material from outside and the way out: purchased parts, bars, lots, the hourly plan, finished goods."""

from __future__ import annotations

import math

from cellsim import units
from cellsim.describe import laws
from cellsim.describe.cell import (
    FINISHED,
    Cell,
    Element,
    FinishedGoods,
    Law,
    Lots,
    Need,
    Outlet,
    PurchasedPart,
    Shift,
    Station,
    Supply,
    Yields,
)
from cellsim.describe.crew import Crew, to_needs
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.flow import Flow
from cellsim.describe.making import Making, natural
from cellsim.describe.measured import read_table
from cellsim.describe.spec import CELL
from cellsim.describe.spec_flow import COLLECTION, PART
from cellsim.describe.spec_stations import YIELDS
from cellsim.describe.times import STAND_IN, to_law
from cellsim.describe.tree import join
from cellsim.units import DAY, UnitError, format_clock, quoted

Places = dict[str, object]
WAYS = ("bins", "orders_at", "every")
KIND: dict[str, Supply] = {"bins": "bins", "orders_at": "orders", "every": "regular"}
AT_ONCE = Law("fixed", (0.0,))


def to_yields(crew: Crew, record: Record, gives: int, work: tuple[Element, ...]) -> Yields | None:
    """What a station gives from one bar, coil or sheet."""
    making = crew.making
    given = record.get("yields")
    if given is None:
        return None
    path = join(record.path, "yields")
    if isinstance(given, Record):
        if "units" not in given:
            return None
        count, per = given.get("units").value
        by = to_needs(crew, given.get("by"), given, "by")
    else:
        count, per = given.value
        given, by = Record(path, given.line, given.column), ()
    if "by" not in given.places:
        making.take(YIELDS, given, "by")
    change = to_law(making, given.get("change")) if "change" in given.places else AT_ONCE
    if "change" not in given.places:
        making.take(YIELDS, given, "change")
    if count % gives:
        making.wrong(given, path, f"{count} units are no whole number of cycles that give {gives} each")
    if any(element.phase in ("fetch", "load") for element in work):
        message = f"each unit is loaded by somebody, so nothing comes from a {per}"
        making.wrong(given, path, message, "take yields out, or fetch and load")
    for key in ("batch", "changeover"):
        if key in record.places:
            making.wrong(
                given, path, f"{key} and yields cannot both be given: one {per} is in work after another"
            )
    return Yields(per, count, change, by)


def to_lots(flow: Flow, record: Record, gives: int, outlets: tuple[Outlet, ...]) -> Lots | None:
    """When a station makes a lot, and how many units it has."""
    given: Record | None = record.get("lots")
    if given is None or "of" not in given or "starts_at" not in given:
        return None
    wrong = flow.making.wrong_key
    size, level = given.get("of").value, given.get("starts_at").value
    if size % gives:
        wrong(given, "of", f"a lot of {size} units is no whole number of cycles that give {gives} each")
    if "batch" in record.places:
        wrong(
            record,
            "lots",
            "batch and lots cannot both be given: a lot is counted in units, one after another",
        )
    goal = outlets[0].store if len(outlets) == 1 else ""
    store = flow.stores.get(goal)
    if store is None or store.places == 0:
        where = (
            "goes several ways"
            if not goal
            else "leaves the cell"
            if store is None
            else "is handed on directly"
        )
        message = (
            f"a lot starts when the store behind the station falls to a level, but what it makes {where}"
        )
        flow.making.wrong(given, given.path, message, "give it one store with places behind it")
    elif store.places is not None and level >= store.places:
        message = f"{quoted(goal)} has {store.places} places, so its level is always {level} or less"
        wrong(given, "starts_at", message, f"write less than {store.places}")
    return Lots(size, level)


def to_parts(crew: Crew, top: Record, stations: dict[str, Entry]) -> tuple[PurchasedPart, ...]:
    """The purchased parts that are counted, by name."""
    given = top.get("parts")
    if not isinstance(given, dict):
        crew.making.take(CELL, top, "parts")
        return ()
    found = [_to_part(crew, given[name], stations) for name in sorted(given, key=natural)]
    return tuple(part for part in found if part is not None)


def _to_part(crew: Crew, entry: Entry, stations: dict[str, Entry]) -> PurchasedPart | None:
    making, record = crew.making, entry.value
    used_at = _used_at(making, record, stations)
    ways = [key for key in WAYS if key in record.places]
    if len(ways) != 1:
        known = "bins, orders_at or every"
        message = f"only one of {' and '.join(ways)} can be given" if ways else f"one of {known} is missing"
        hint = "" if ways else "write bins: 2 if each emptied bin is sent for"
        making.wrong(record, record.path, message, hint)
    if not used_at or len(ways) != 1 or any(key not in record for key in (*ways, "box")):
        return None
    by, trip = _trip(crew, record, "brought_by")
    box, way = record.get("box").value, ways[0]
    bins = record.get("bins").value if way == "bins" else 0
    orders_at = record.get("orders_at").value if way == "orders_at" else 0
    part = PurchasedPart(
        name=entry.name.value,
        used_at=used_at,
        box=box,
        supply=KIND[way],
        delivery=_delivery(making, record, way, bool(by)),
        starts_with=_starts_with(making, record, box * bins if bins else box, bool(bins)),
        bins=bins,
        orders_at=orders_at,
        brought_by=by,
        trip=trip,
        overtaking=making.take(PART, record, "overtaking"),
        priority=making.take(PART, record, "priority"),
    )
    _check_never_short_for_ever(making, record, part)
    return part


def _used_at(making: Making, record: Record, stations: dict[str, Entry]) -> tuple[tuple[str, int], ...]:
    given = record.get("used_at")
    counts: dict[str, int] = {}
    if isinstance(given, dict):
        named = [(entry.name, entry.value.value) for entry in given.values()]
        if not named:
            making.wrong_key(record, "used_at", "no station uses this part", "take the part out")
    else:
        named = [(item, 1) for item in ([given] if isinstance(given, Item) else given or [])]
    for item, count in named:
        if item.value not in stations:
            making.unknown(item, "station", stations)
        elif item.value in counts:
            making.wrong(
                item, item.path, f"station {quoted(item.value)} stands here twice", "write {name: 2}"
            )
        counts[item.value] = count
    return tuple((name, counts[name]) for name in sorted(counts, key=natural))


def _trip(crew: Crew, record: Record, key: str) -> tuple[tuple[Need, ...], Law | None]:
    """Who makes a trip and how long it is."""
    by = to_needs(crew, record.get(key), record, key)
    if key not in record.places:
        why = "nobody of this cell is busy with it"
        crew.making.assume(join(record.path, key), "nobody", why)
    if by and "trip" not in record.places:
        crew.making.wrong(record, record.path, "how long the trip takes is missing", "write trip: 4 min")
    if not by and "trip" in record.places and not crew.making.notes.mistakes:
        crew.making.wrong_key(record, "trip", "nobody makes this trip", f"say who: {key}: handler")
    return by, to_law(crew.making, record.get("trip")) if by and "trip" in record else None


def _delivery(making: Making, record: Record, way: str, brought: bool) -> Law:
    """How long a delivery takes, or the time between regular ones."""
    if way == "every":
        if "delivery" in record.places:
            making.wrong_key(record, "delivery", "every says already when the next box comes", "take it out")
        return interval(making, record)
    if "delivery" in record.places:
        return to_law(making, record.get("delivery"))
    if not brought and not making.notes.mistakes:
        message = "how long a delivery takes is missing"
        making.wrong(record, record.path, message, "write delivery: 20 min, or say who brings it")
        return STAND_IN
    making.assume(join(record.path, "delivery"), "0 s", "a full box stands ready for whoever brings it")
    return AT_ONCE


def interval(making: Making, record: Record) -> Law:
    """The law of `every`, which must let time pass."""
    law = to_law(making, record.get("every"))
    if laws.mean(law) <= 0:
        making.wrong_key(record, "every", "it would come without end at one instant; it must be above zero")
    return law


def _starts_with(making: Making, record: Record, full: int, bins: bool) -> int:
    if "starts_with" not in record.places:
        why = "all bins are full at the start" if bins else "one full box is there at the start"
        making.assume(join(record.path, "starts_with"), str(full), why)
        return full
    found = record.get("starts_with")
    value: int = found.value if found is not None else full
    if bins and value > full:
        making.wrong_key(record, "starts_with", f"the bins hold {full} pieces, so {value} cannot be in them")
    return value


def _check_never_short_for_ever(making: Making, record: Record, part: PurchasedPart) -> None:
    """Note a part of which too few pieces may be left to go on, with nothing that sends for more."""
    station, most = max(part.used_at, key=lambda use: use[1])
    if part.supply == "orders" and part.orders_at < most - 1:
        message = f"{quoted(station)} takes {most} pieces at once; with {most - 1} left none would be ordered"
        making.wrong_key(record, "orders_at", message, f"write {most - 1} or more")
    if part.supply == "bins":
        least = math.gcd(part.box, part.starts_with, *(pieces for _, pieces in part.used_at))
        left = (part.bins - 1) * part.box + least
        if left < most:
            message = (
                f"{quoted(station)} takes {most} pieces at once, but {left} may be left in bins of which none"
                " is empty"
            )
            making.wrong_key(record, "bins", message, "use more bins or larger ones")


def to_finished_goods(crew: Crew, top: Record) -> FinishedGoods | None:
    """The places behind the cell and when finished units are collected."""
    record: Record | None = top.get("finished_goods")
    if record is None or "places" not in record:
        return None
    places = record.get("places").value
    given: Record | None = record.get("collected")
    if given is None:
        if "collected" not in record.places:
            why = "nothing says when finished units are taken away"
            crew.making.assume(join(record.path, "collected"), "never", why)
        return FinishedGoods(places)
    by, trip = _trip(crew, given, "by")
    takes = crew.making.take(COLLECTION, given, "takes")
    return FinishedGoods(places, interval(crew.making, given), takes, by, trip)


def to_plan(making: Making, record: Record, shifts: tuple[Shift, ...]) -> tuple[tuple[int, int], ...]:
    """The hourly plan as (time of day, units), from a mapping or a file, in order of time."""
    given = record.get("plan")
    if isinstance(given, Item):
        try:
            entries = read_plan(making, given.value)
        except UnitError as error:
            making.wrong(given, given.path, str(error))
            return ()
    else:
        entries = {entry.name.value: entry.value.value for entry in (given or {}).values()}
    for clock in sorted(entries):
        if clock >= DAY:
            making.wrong_key(record, "plan", "24:00 ends a day; the next one begins with 00:00")
        elif shifts and not any(s.start <= at < s.end for s in shifts for at in (clock, clock + DAY)):
            message = f"no shift works at {format_clock(clock)}, so nothing would be begun then"
            making.wrong_key(record, "plan", message)
    if not any(entries.values()) and not making.notes.mistakes:
        making.wrong_key(record, "plan", "the plan asks for no unit at all")
    return tuple(sorted(entries.items()))


def read_plan(making: Making, name: str) -> dict[int, int]:
    """The entries of a plan from a file with the columns `time` and `units` (commas, semicolons or tabs)."""
    headings, rows = read_table(making.folder, name)
    if sorted(headings) != ["time", "units"]:
        raise UnitError(f"the first line of {quoted(name)} must name its two columns, time and units")
    clock, count = headings.index("time"), headings.index("units")
    entries: dict[int, int] = {}
    for number, row in enumerate(rows, start=2):
        if not any(cell.strip() for cell in row):
            continue
        try:
            moment, amount = units.parse_clock(row[clock].strip()), units.parse_count(row[count].strip())
        except (UnitError, IndexError) as error:
            said = str(error) if isinstance(error, UnitError) else "a time and a count are wanted"
            raise UnitError(f"{quoted(name)} line {number}: {said}") from None
        if moment in entries:
            raise UnitError(f"{quoted(name)} line {number}: {format_clock(moment)} stands there twice")
        entries[moment] = amount
    return entries


def check_material(making: Making, cell: Cell, places: Places) -> None:
    """Note what is wrong with bars and the way out of a cell whose names are all known."""
    returned = {station.rejects.to for station in cell.stations if station.rejects}
    used = {name for part in cell.parts for name, _ in part.used_at}
    for station in cell.stations:
        wrong = making.wrong
        robot = bringer(cell, station)
        if robot and (station.name in used or station.yields or station.lots):
            message = f"robot {robot} brings its units, so parts, bars and lots cannot be counted here"
            hint = "count them at another station, or let a visit load it"
            wrong(places[station.name], f"stations.{station.name}", message, hint)
        place, path = places[station.name], f"stations.{station.name}"
        if station.yields is not None:
            per = station.yields.per
            if len(station.takes) > 1 or station.takes[0][1] > 1:
                message = f"it takes one {per} after another and nothing else"
                wrong(place, path, message, "count what else it needs under parts")
            elif station.takes[0][0] in returned:
                wrong(
                    place,
                    path,
                    f"a rejected unit that comes back would be taken for a {per}",
                    "rework it elsewhere",
                )
        goods = cell.finished_goods
        leaves = any(outlet.store == FINISHED for outlet in station.outlets)
        if goods is not None and leaves and station.gives > goods.places:
            message = f"gives {station.gives} units at once, but finished goods have {goods.places} places"
            wrong(place, path, message, f"give them at least {station.gives} places")


def bringer(cell: Cell, station: Station) -> str:
    """The robot that brings units to a station by moves, or fetches them ahead; empty for none."""
    for robot in cell.robots:
        tends = any(need.skill == robot.name for element in station.work for need in element.by)
        if (robot.fetches_ahead and tends) or any(move.end == station.name for move in robot.moves):
            return robot.name
    return ""


def all_needs(cell: Cell) -> set[str]:
    """Every post, robot or skill that brings parts, changes bars or collects finished goods."""
    needs = [need for part in cell.parts for need in part.brought_by]
    needs += [need for station in cell.stations if station.yields for need in station.yields.by]
    return {need.skill for need in (*needs, *(cell.finished_goods.by if cell.finished_goods else ()))}


def all_laws(cell: Cell) -> list[tuple[str, Law]]:
    """Every law of this topic, and where it stands in words."""
    found: list[tuple[str, Law | None]] = []
    for station in cell.stations:
        if station.yields:
            found.append((f"Station {station.name}, {station.yields.per} change", station.yields.change))
    for part in cell.parts:
        found += [(f"Part {part.name}, delivery", part.delivery), (f"Part {part.name}, trip", part.trip)]
    if cell.finished_goods:
        found += [
            ("Finished goods, collection", cell.finished_goods.every),
            ("Finished goods, trip", cell.finished_goods.trip),
        ]
    return [(where, law) for where, law in found if law is not None]
