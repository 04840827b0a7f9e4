"""The way of the units: from route, lines and stores to what each station takes and where its units go."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from cellsim.describe.cell import FINISHED, OUT, RAW, RELEASE, Outlet, Station, Store, WayRule
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.kinds import RESERVED
from cellsim.describe.making import Making, natural
from cellsim.describe.spec_stations import OUTLET, STATION
from cellsim.describe.stores import to_store
from cellsim.describe.tree import Text
from cellsim.describe.variants import to_chosen
from cellsim.units import format_number, quoted

MAIN = ""  # the name of the main route among the lines


@dataclass(slots=True)
class Flow:
    """The lines of a cell while they are made; `before` is the store in front of each station."""

    making: Making
    stations: dict[str, Entry]
    stores: dict[str, Store] = field(default_factory=dict)
    lines: dict[str, list[str]] = field(default_factory=dict)
    before: dict[str, str] = field(default_factory=dict)
    line_of: dict[str, str] = field(default_factory=dict)
    returns: dict[str, Outlet] = field(default_factory=dict)  # last station of a rework line -> its outlet

    def record(self, station: str) -> Record:
        """The keys of a station."""
        found: Record = self.stations[station].value
        return found


def to_flow(making: Making, top: Record) -> Flow:
    """The lines with all implicit stores in them; notes names that stand for nothing."""
    flow = Flow(making, top.get("stations") or {})
    for name in sorted(top.get("stores") or {}, key=natural):
        _add_store(flow, top.get("stores")[name])
    given = {MAIN: top.get("route") or []}
    given |= {
        name: entry.value
        for name, entry in sorted((top.get("lines") or {}).items(), key=lambda e: natural(e[0]))
    }
    for line, entries in given.items():
        _add_line(flow, line, entries)
    making.notes.stop_if_any()
    _add_rework_lines(flow)
    _join_neighbours(flow)
    for name in sorted(top.get("stores") or {}, key=natural):
        _send_late(flow, top.get("stores")[name])
    making.notes.stop_if_any()
    return flow


def _add_store(flow: Flow, entry: Entry) -> None:
    name = entry.name.value
    if name in flow.stations:
        flow.making.wrong(
            entry.name, entry.name.path, f"{quoted(name)} is the name of a station too; names differ"
        )
    flow.stores[name] = to_store(flow.making, entry)


def _send_late(flow: Flow, entry: Entry) -> None:
    """Look up where the units go that have waited too long in a store."""
    name, given = entry.name.value, entry.value
    item = given.get("late") if isinstance(given, Record) else None
    if item is None or not flow.stores[name].late:
        return
    goal = store_for(flow, item, set())
    places = flow.stores[goal].places if goal in flow.stores else None
    if goal is None:
        return
    if places is not None:
        message = f"late units go to {quoted(goal)}, which has only {places} places"
        flow.making.wrong(item, item.path, message, "send them where there is always room, or scrap them")
    elif goal == name:
        flow.making.wrong(item, item.path, "late units would go back to where they are late")
    flow.stores[name] = replace(flow.stores[name], late=goal)


def _add_line(flow: Flow, line: str, entries: list[Item]) -> None:
    names: list[str] = []
    wrong = flow.making.wrong
    for item in entries:
        name = item.value
        if name not in flow.stations and name not in flow.stores:
            flow.making.unknown(item, "station or store", [*flow.stations, *flow.stores])
        elif name in flow.line_of and name in flow.stations:
            wrong(
                item,
                item.path,
                f"station {quoted(name)} stands in the route or a line already",
                "once is enough",
            )
        elif name in names:
            wrong(item, item.path, f"store {quoted(name)} stands in this line already")
        elif names and name in flow.stores and names[-1] in flow.stores:
            wrong(
                item,
                item.path,
                f"nothing moves units from store {quoted(names[-1])} to store {quoted(name)}",
                "put a station between them",
            )
        else:
            names.append(name)
            if name in flow.stations:
                flow.line_of[name] = line
    if entries and names and not any(name in flow.stations for name in names):
        wrong(entries[0], entries[0].path, "there is no station in this line")
    elif line == MAIN and names and names[-1] in flow.stores:
        wrong(
            entries[-1],
            entries[-1].path,
            f"the route ends in store {quoted(names[-1])}; its last entry is a"
            " station, whose units are finished",
        )
    flow.lines[line] = names


def _targets(flow: Flow) -> dict[str, str]:
    """Stations and stores to which units are sent on purpose, each with the key; notes unknown names."""
    found: dict[str, str] = {}
    for name in flow.stations:
        record = flow.record(name)
        goes_to, rejects = record.get("goes_to"), record.get("rejects")
        ways = [item for item, *_ in _ways(flow, goes_to)] if goes_to is not None else []
        keys = ("to", "then", "returns_to")
        back = [rejects.get(key) for key in keys if rejects is not None and key in rejects]
        for item in (*ways, *back):
            word = item.value in RESERVED or item.value.startswith((RAW, OUT)) or ">" in item.value
            if not word and item.value not in flow.stations and item.value not in flow.stores:
                flow.making.unknown(item, "station or store", [*flow.stations, *flow.stores])
        why = "first free" if _rule_of(flow, name) == "first free" else "goes_to"
        found.update({item.value: why for item in ways if item.value not in found})
        found.update({item.value: "rejects" for item in back if not item.path.endswith(".returns_to")})
    found.update({store.late: "late" for store in flow.stores.values() if store.late not in found})
    return {name: why for name, why in found.items() if name in flow.stations or name in flow.stores}


def _add_shelf_line(flow: Flow, name: str, targets: dict[str, str]) -> None:
    """Begin a line with the store that a station beside all lines takes from, if units are sent there."""
    beside = set(flow.stores) - {store for names in flow.lines.values() for store in names}
    taken = [entry.name.value for entry in (flow.record(name).get("takes") or {}).values()]
    shelves = [store for store in taken if store in beside and store in targets]
    if len(shelves) == 1 and name not in flow.line_of and name not in targets:
        line = shelves[0]
        flow.lines[line] = [line, name]
        flow.line_of[name] = line


def _add_rework_lines(flow: Flow) -> None:
    """Give stations that units are sent to, but that no store feeds, a store of their own."""
    making, targets = flow.making, _targets(flow)
    for name in sorted(flow.stations, key=natural):
        _add_shelf_line(flow, name, targets)
        line = flow.line_of.get(name)
        first = line and flow.lines[line][0] == name
        if line is None and name not in targets:
            legal = "put it in the route or in a line, or let it take from a store that units are sent to"
            making.wrong(flow.stations[name].name, f"stations.{name}", "nothing leads to this station", legal)
        elif name in targets and (line is None or first):
            store = f"{name}'s rework" if targets[name] == "rejects" else f"before {name}"
            if line is None:
                line = store
                flow.lines[line] = [name]
                flow.line_of[name] = line
            flow.lines[line].insert(0, store)
            if store not in flow.stores and targets[name] == "first free":
                making.assume(f"stores.{store}.places", "0", f"a unit goes to {name} only when it is free")
                flow.stores[store] = Store(store, 0)
            elif store not in flow.stores:
                making.assume(f"stores.{store}.places", "unlimited", f"there is always room before {name}")
                flow.stores[store] = Store(store, None)


def _join_neighbours(flow: Flow) -> None:
    """Put a store of no places between stations that follow each other, and note what stands before each."""
    for line, names in flow.lines.items():
        whole: list[str] = []
        for name in names:
            if name in flow.stations:
                if whole and whole[-1] in flow.stations:
                    store = f"{whole[-1]}>{name}"
                    if store not in flow.stores:
                        why = f"from {whole[-1]} to {name} units are handed over directly"
                        flow.making.assume(f"stores.{store}.places", "0", why)
                        flow.stores[store] = Store(store, 0)
                    whole.append(store)
                flow.before[name] = whole[-1] if whole else (RELEASE if line == MAIN else RAW + line)
            whole.append(name)
        names[:] = whole


def to_takes(flow: Flow, name: str) -> tuple[tuple[str, int], ...]:
    """What a station takes per cycle; the store before it comes first, since its unit goes on."""
    given = flow.record(name).get("takes") or {}
    before = flow.before[name]
    counts = {before: 1}
    for entry in given.values():
        item, count = entry.name, entry.value.value
        store = item.value
        if store in flow.stations:
            hint = "put a store after that station and take from it"
            flow.making.wrong(
                item, item.path, f"{quoted(store)} is a station; units are taken from a store", hint
            )
            continue
        if store not in flow.stores and store != before:
            flow.making.unknown(item, "store", flow.stores)
            continue
        places = flow.stores[store].places if store in flow.stores else None
        if places is not None and count > max(places, 1):
            message = f"{quoted(store)} has {places} places, so {count} units are never there together"
            flow.making.wrong(item, item.path, message)
        counts[store] = count
    return tuple((store, counts[store]) for store in [before, *sorted(set(counts) - {before}, key=natural)])


def to_outlets(flow: Flow, name: str) -> tuple[Outlet, ...]:
    """Where a station's good units go, by name, shares adding up to 1."""
    given = flow.record(name).get("goes_to")
    line = flow.line_of[name]
    names = flow.lines[line]
    following = names[names.index(name) + 1] if names[-1] != name else ""
    if given is None:
        if following:
            return (Outlet(following),)
        if name in flow.returns:
            return (flow.returns[name],)
        if line == MAIN:
            return (Outlet(FINISHED),)
        why = f"the units of line {line} leave the cell beside its output"
        flow.making.assume(f"stations.{name}.goes_to", OUT + line, why)
        return (Outlet(OUT + line),)
    outlets: dict[str, Outlet] = {}
    ways = _ways(flow, given)
    _check_ways(flow, name, given)
    for item, share, in_front, variants in ways:
        store = store_for(flow, item, {FINISHED, OUT + line})
        if store is None:
            continue
        if store in outlets:
            flow.making.wrong(item, item.path, f"the way to {quoted(store)} is given twice")
        outlets[store] = Outlet(store, share, in_front, variants)
    place = flow.record(name).places["goes_to"]
    path = f"stations.{name}.goes_to"
    if outlets and not flow.making.notes.mistakes and not _rule_of(flow, name):
        _check_shares(flow, list(outlets.values()), place, path)
    if following and following not in outlets:
        goal = names[names.index(following) + 1] if names[-1] != following else following
        message = f"{_line_words(line)} goes on to {quoted(following)}, which is not among these"
        hint = f"add {goal} or take {name} out of the middle"
        flow.making.wrong(
            place, path, message, hint if following not in flow.stores or goal != following else ""
        )
    key = _shown if _rule_of(flow, name) else natural
    return tuple(outlets[store] for store in sorted(outlets, key=key))


def _shown(store: str) -> tuple[tuple[tuple[int, int, str], ...], str]:
    """Sorting key of a way: the station behind a store that stands for it, else the store itself."""
    return natural(store.split(">")[-1].removeprefix("before ")), store


def _rule_of(flow: Flow, name: str) -> WayRule:
    """The rule by which a station chooses among its ways; empty where shares or variants decide."""
    record = flow.record(name)
    chosen = record.get("chooses")
    if chosen is not None:
        rule: WayRule = chosen.value
        return rule
    return "first free" if isinstance(record.get("goes_to"), list) else ""


def to_rule(flow: Flow, name: str) -> WayRule:
    """The rule by which a station chooses among its ways; the default for a list is assumed."""
    if isinstance(flow.record(name).get("goes_to"), list):
        flow.making.take(STATION, flow.record(name), "chooses")
    return _rule_of(flow, name)


def _check_ways(flow: Flow, name: str, given: Item | list[Item] | dict[str, Entry]) -> None:
    """A rule needs several ways without shares; ways without a rule need shares or variants."""
    record, wrong = flow.record(name), flow.making.wrong
    chosen = "chooses" in record.places
    place = record.places["chooses" if chosen else "goes_to"]
    path = f"stations.{name}.{'chooses' if chosen else 'goes_to'}"
    if (chosen or isinstance(given, list)) and (isinstance(given, Item) or len(given) < 2):
        wrong(place, path, "there is only one way, so there is nothing to choose", "name at least two")
    for entry in given.values() if isinstance(given, dict) else []:
        inner = entry.value
        if chosen and not (isinstance(inner, Record) and not {"share", "variants"} & inner.places.keys()):
            message = "a share or variants decide already, so there is nothing to choose"
            wrong(entry.name, entry.name.path, message, "take chooses out, or write a list: [one, other]")
        elif not chosen and isinstance(inner, Record) and _both_or_none(inner):
            wrong(inner, inner.path, "an outlet says one of share and variants")
    reserves = record.get("hands_on")
    if _rule_of(flow, name) == "first free" and reserves and reserves.value == "only into a free place":
        message = "which way is free is seen when the unit is finished, so no place can be kept before"
        wrong(reserves, reserves.path, message, "take hands_on out, or write chooses: shortest wait")


def _both_or_none(outlet: Record) -> bool:
    return ("share" in outlet.places) == ("variants" in outlet.places)


def _check_shares(flow: Flow, outlets: list[Outlet], place: Text, path: str) -> None:
    """Every unit has exactly one way: the shares add up to 1, or every variant goes somewhere, once."""
    wrong = flow.making.wrong
    named = [variant for outlet in outlets for variant in outlet.variants]
    if named:
        twice = next((v for v in flow.making.variants if named.count(v) > 1), "")
        missing = next((v for v in flow.making.variants if v not in named), "")
        if any(not outlet.variants for outlet in outlets):
            wrong(place, path, "either all of these have variants or all have shares")
        elif twice or missing:
            what = f"{quoted(twice)} goes to two of these" if twice else f"{quoted(missing)} goes nowhere"
            wrong(place, path, f"variant {what}", "name each variant once")
        return
    total = sum(outlet.share for outlet in outlets)
    if abs(total - 1) > 1e-9:
        wrong(place, path, f"the shares add up to {format_number(round(total, 9))}; they must add up to 1")


def _ways(
    flow: Flow, given: Item | list[Item] | dict[str, Entry]
) -> list[tuple[Item, float, bool, tuple[str, ...]]]:
    """(store or station, share, in front, variants) of each way that a station names."""
    if isinstance(given, Item):
        return [(given, 1.0, False, ())]
    if isinstance(given, list):
        return [(item, 1.0, False, ()) for item in given]
    ways = []
    for entry in given.values():
        if isinstance(entry.value, Record):
            share = entry.value.single("share", 1.0)
            in_front = flow.making.take(OUTLET, entry.value, "enters") == "in front"
            variants = to_chosen(flow.making, entry.value.get("variants"))
            ways.append((entry.name, share, in_front, variants))
        else:
            ways.append((entry.name, entry.value.value, False, ()))
    return ways


def store_for(flow: Flow, item: Item, special: set[str]) -> str | None:
    """The store that a name of a store or station stands for."""
    if item.value in flow.stations:
        return flow.before[item.value]
    if item.value in flow.stores or item.value in special:
        return str(item.value)
    if item.value in set(flow.before.values()):
        return str(item.value)
    flow.making.unknown(item, "station or store", [*flow.stations, *flow.stores])
    return None


def _line_words(line: str) -> str:
    return f"line {quoted(line)}" if line else "the route"


def in_order(flow: Flow, stations: dict[str, Station]) -> tuple[Station, ...]:
    """The stations, upstream first: the route, each feeder line before the station it feeds, each line that
    is fed from elsewhere after the station that feeds it.
    """
    givers: dict[str, list[str]] = {}
    takers: dict[str, list[str]] = {}
    for name, station in stations.items():
        for store in goals_of(station):
            givers.setdefault(store, []).append(name)
        for store, _ in station.takes:
            takers.setdefault(store, []).append(name)
    order = [name for name in flow.lines[MAIN] if name in stations]
    placed = set(order)
    waiting = [line for line in sorted(flow.lines, key=natural) if line != MAIN]
    while waiting:
        for line in waiting:
            own = [name for name in flow.lines[line] if name in stations]
            entry = stations[own[0]].takes[0][0]
            feeding = [order.index(name) for name in givers.get(entry, []) if name in placed]
            goals = goals_of(stations[own[-1]]) if entry.startswith(RAW) else set()
            fed = [order.index(name) for goal in goals for name in takers.get(goal, []) if name in placed]
            if feeding or fed:
                where = max(feeding) + 1 if feeding else min(fed)
                break
        else:
            line, where = waiting[0], len(order)
            own = [name for name in flow.lines[line] if name in stations]
        order[where:where] = own
        placed.update(own)
        waiting.remove(line)
    return tuple(stations[name] for name in order)


def goals_of(station: Station) -> set[str]:
    """The stores that a station puts units into, good or rejected."""
    return {outlet.store for outlet in station.outlets} | reject_goals(station)


def reject_goals(station: Station) -> set[str]:
    """The stores that a station puts rejected units into."""
    rejects = station.rejects
    return {goal for goal in (rejects.to, rejects.then) if goal} if rejects else set()
