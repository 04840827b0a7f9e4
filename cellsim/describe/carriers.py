"""Carriers: pallets, fixtures and baskets, and between which stations units ride on them."""

from __future__ import annotations

from cellsim.describe.cell import Carrier, Station
from cellsim.describe.fields import Record
from cellsim.describe.flow import goals_of
from cellsim.describe.laws import make_law
from cellsim.describe.making import Making, natural
from cellsim.describe.spec_flow import CARRIER
from cellsim.describe.times import to_law
from cellsim.units import quoted

MOST_CARRIERS = 10_000  # of one kind


def to_carriers(making: Making, top: Record, stations: tuple[Station, ...]) -> tuple[Carrier, ...]:
    """The carriers by name; notes those that no batch fits on and those that never come to their end."""
    by_name = {station.name: station for station in stations}
    found = []
    entries = top.get("carriers") or {}
    for name in sorted(entries, key=natural):
        given: Record = entries[name].value
        count, per = given.get("count"), making.take(CARRIER, given, "per")
        start, end = given.get("from"), given.get("to")
        for item in (start, end):
            if item.value not in by_name:
                making.unknown(item, "station", by_name)
        if count.value > MOST_CARRIERS:
            making.wrong(count, count.path, f"at most {MOST_CARRIERS} carriers of one kind are possible")
        if "returns" in given:
            returns = to_law(making, given.get("returns"))
        else:
            returns = make_law("fixed", {"time": float(making.take(CARRIER, given, "returns"))})
        found.append(Carrier(name, count.value, start.value, end.value, returns, per == "batch"))
        if start.value in by_name and end.value in by_name:
            _check(making, given, found[-1], by_name)
    return tuple(found)


def _check(making: Making, given: Record, carrier: Carrier, stations: dict[str, Station]) -> None:
    batch = stations[carrier.start].batch
    if carrier.per_batch and batch is None:
        message = f"station {quoted(carrier.start)} works on no batches"
        making.wrong_key(given, "per", message, "write batch: {size: 60} there, or per: unit")
    elif batch is not None and not carrier.per_batch and batch.size > carrier.count:
        message = f"a batch of {batch.size} units needs {batch.size} of them at once; there are"
        making.wrong_key(given, "count", f"{message} {carrier.count}", "write per: batch if all go on one")
    if carrier.end not in reached_from(carrier.start, stations):
        message = f"no unit comes from {quoted(carrier.start)} to {quoted(carrier.end)}"
        making.wrong_key(given, "to", message)


def reached_from(start: str, stations: dict[str, Station]) -> set[str]:
    """The stations that a unit may come to from here on as the unit that goes on, this one included."""
    reached, ahead = {start}, [start]
    while ahead:
        goals = goals_of(stations[ahead.pop()])
        found = {name for name, station in stations.items() if station.takes[0][0] in goals} - reached
        reached |= found
        ahead += sorted(found)
    return reached
