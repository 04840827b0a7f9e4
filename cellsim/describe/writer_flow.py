"""Stores, variants, parts, carriers and release in a resolved file."""

from __future__ import annotations

from cellsim.describe.cell import Carrier, FinishedGoods, PurchasedPart, Release, Sequence, Store
from cellsim.describe.kinds import AS_MUCH
from cellsim.describe.writer_text import Value
from cellsim.describe.writer_work import law_value, needs_value, yes_no
from cellsim.units import format_clock, format_time


def store_value(store: Store) -> dict[str, Value]:
    """A store by its keys."""
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


def carrier_value(carrier: Carrier) -> dict[str, Value]:
    """A kind of carrier by its keys."""
    return {
        "count": str(carrier.count),
        "from": carrier.start,
        "to": carrier.end,
        "returns": law_value(carrier.returns),
        "per": "batch" if carrier.per_batch else "unit",
    }


def sequence_value(sequence: Sequence) -> dict[str, Value]:
    """The order of the variants by its keys."""
    line: dict[str, Value] = {"line": "empties" if sequence.line_empties else "rolls"}
    if sequence.campaigns:
        return {"campaigns": [{name: str(units)} for name, units in sequence.campaigns]} | line
    return {"order": sequence.order} | line


def part_value(part: PurchasedPart) -> dict[str, Value]:
    """A purchased part by its keys."""
    value: dict[str, Value] = {
        "used_at": {station: str(pieces) for station, pieces in part.used_at},
        "box": str(part.box),
    }
    if part.supply == "regular":
        value["every"] = law_value(part.delivery)
    else:
        key, count = ("bins", part.bins) if part.supply == "bins" else ("orders_at", part.orders_at)
        value |= {key: str(count), "delivery": law_value(part.delivery)}
    value["brought_by"] = needs_value(part.brought_by)
    if part.trip is not None:
        value["trip"] = law_value(part.trip)
    return value | {
        "starts_with": str(part.starts_with),
        "overtaking": yes_no(part.overtaking),
        "priority": str(part.priority),
    }


def finished_goods_value(goods: FinishedGoods | None) -> dict[str, Value]:
    """The places behind the cell by their keys; empty where there is always room."""
    if goods is None:
        return {}
    value: dict[str, Value] = {"places": str(goods.places)}
    if goods.every is not None:
        collected: dict[str, Value] = {
            "every": law_value(goods.every),
            "takes": str(goods.takes or "unlimited"),
            "by": needs_value(goods.by),
        }
        value["collected"] = collected | ({"trip": law_value(goods.trip)} if goods.trip is not None else {})
    return value


def release_value(release: Release) -> Value:
    """How raw units come, as a text or by its keys."""
    if release.every is not None:
        return {"every": law_value(release.every)}
    if release.kind == "plan":
        return {"plan": {format_clock(clock): str(count) for clock, count in release.plan}}
    if release.kind == "at":
        return {"at": [format_time(time) for time in release.at]}
    return f"cards {release.cards}" if release.kind == "cards" else AS_MUCH
