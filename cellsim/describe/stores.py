"""Stores: places, in which order units are taken, and how long they must or may stay."""

from __future__ import annotations

from cellsim.describe.cell import Store
from cellsim.describe.fields import Entry, Record
from cellsim.describe.making import Making
from cellsim.describe.spec_flow import STORE
from cellsim.units import SECOND, format_time, quoted


def to_store(making: Making, entry: Entry) -> Store:
    """A store from a number of places or from its keys; `late` is looked up once the flow is known."""
    name, given = entry.name.value, entry.value
    if not isinstance(given, Record):
        return Store(name, given.value)
    places = given.single("places", None)
    starts_with = making.take(STORE, given, "starts_with")
    if places is not None and starts_with > places:
        message = f"the store starts with {starts_with} units, but has {places} places"
        making.wrong_key(given, "starts_with", message)
    store = Store(
        name=name,
        places=places,
        starts_with=starts_with,
        last_in_first_out=making.take(STORE, given, "order") == "last in first out",
        transit=_transit(making, given),
        stays=given.single("stays", 0),
        use_within=given.single("use_within", None),
        late=_late(making, given),
        tray=given.single("tray", 0),
        tray_waits=given.single("tray_waits", None),
        overtaking=making.take(STORE, given, "overtaking"),
    )
    _check(making, given, store)
    return store


def _transit(making: Making, given: Record) -> int:
    belt: Record | None = given.get("belt")
    if belt is None or "length" not in belt or "speed" not in belt:
        return int(given.get("transit").value) if "transit" in given else 0
    if "transit" in given.places:
        making.wrong_key(given, "belt", "only one of transit and belt can be given")
    length, speed = belt.get("length").value, belt.get("speed").value
    if length <= 0:
        making.wrong_key(belt, "length", "a belt of no length")
    return int(abs(length) / speed * SECOND + 0.5)


def _late(making: Making, given: Record) -> str:
    if "use_within" not in given.places:
        if "late" in given.places:
            making.wrong_key(given, "late", "nothing says when a unit is late", "write use_within: 4 h")
        return ""
    late = making.take(STORE, given, "late")
    return "" if late == "scrap" else str(late)


def _check(making: Making, given: Record, store: Store) -> None:
    name = quoted(store.name)
    waits: list[str] = [
        key for key in ("transit", "belt", "stays", "use_within", "tray") if key in given.places
    ]
    waits += ["order"] if store.last_in_first_out else []
    if store.places == 0 and waits:
        message = f"{name} has no place in which a unit could wait"
        making.wrong_key(given, waits[0], message, "give it places")
    least = store.transit + store.stays
    if store.use_within is not None and store.use_within < least:
        message = (
            f"a unit can be taken after {format_time(least)} at the earliest and after"
            f" {format_time(store.use_within)} at the latest, so never"
        )
        making.wrong_key(given, "use_within", message)
    if store.tray:
        if store.places is not None and store.places % store.tray:
            message = f"{store.places} places are no whole number of trays of {store.tray}"
            making.wrong_key(given, "tray", message)
        for key in ("order", "stays", "transit", "belt"):
            if key in given.places:
                making.wrong_key(given, key, f"{key} and tray do not go together", "put a store behind")
    elif "tray_waits" in given.places:
        making.wrong_key(given, "tray_waits", "there are no trays", "write tray: 6")
