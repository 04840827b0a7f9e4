"""Times that vary: from the ways in which they are written to laws."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim import units
from cellsim.describe import laws, measured
from cellsim.describe.cell import Law, Stop
from cellsim.describe.fields import Item, Record
from cellsim.describe.making import MOST_MEASURED, Making
from cellsim.describe.spec_work import STOP
from cellsim.describe.tree import join
from cellsim.units import UnitError

STAND_IN = Law("fixed", (1_000_000.0,))  # for a law that could not be made; the mistake is noted
COUNTED = ("cycles", "units")  # what is counted instead of time
_FILE_KEYS = ("measured", "listed", "column", "unit", "law", "of")


def to_law(making: Making, given: Any, counts_cycles: bool = False) -> Law:
    """The law of a time that is given plainly or by the keys of a law.

    With `counts_cycles` its values are whole cycles instead of times.
    """
    if isinstance(given, Item):
        return laws.make_law("fixed", {"time": float(given.value)})
    if not isinstance(given, Record):
        return STAND_IN  # could not be read; noted there
    try:
        name, parameters = _parameters(making, given, counts_cycles)
        return laws.make_law(name, parameters)
    except ValueError as error:
        making.wrong(given, given.path, str(error))
        return STAND_IN


def _parameters(
    making: Making, given: Record, counts_cycles: bool
) -> tuple[str, dict[str, float | Sequence[float]]]:
    name = _name_of(making, given)
    if name in ("measured", "listed"):
        if counts_cycles:
            raise UnitError("what is counted between stops is a plain count or a law such as exponential")
        return name, {"times": _times(making, given, name)}
    stray = [key for key in given.values if key in _FILE_KEYS[:4]]
    if stray:
        raise UnitError(f'"{stray[0]}" does not go with the law {name}')
    kinds = {row.name: row.kind for law in laws.LAWS.values() for row in law.parameters}
    parameters: dict[str, float | Sequence[float]] = {}
    for key, item in given.values.items():
        if key in _FILE_KEYS:
            continue
        if kinds[key] == "time":
            try:
                value = units.parse_count(item.value) if counts_cycles else units.parse_time(item.value)
            except UnitError as error:
                making.wrong(item, item.path, str(error))
                return "fixed", {"time": 1.0}
            parameters[key] = float(value)
        else:
            parameters[key] = float(item.value)
    return name, parameters


def _name_of(making: Making, given: Record) -> str:
    """The law that is named, or the one that the keys stand for."""
    if "law" in given:
        return str(given.get("law").value)
    for name in ("measured", "listed"):
        if name in given.places:
            return name
    keys = set(given.values) - {"of"}
    if keys == {"min", "likely", "max"}:
        return "triangular"
    if keys == {"mean", "spread"}:
        making.assume(join(given.path, "law"), "lognormal", "usual for a time given by mean and spread")
        return "lognormal"
    raise UnitError(
        "this does not say how the time varies; write {mean: 24 s, spread: 15 %}, "
        "{min: 20 s, likely: 24 s, max: 35 s}, or name a law"
    )


def _times(making: Making, given: Record, name: str) -> tuple[int, ...]:
    allowed = {name, "law", "of", *(("column", "unit") if name == "measured" else ())}
    stray = [key for key in given.values if key not in allowed]
    if stray:
        raise UnitError(f'"{stray[0]}" does not go with {name} times')
    source = given.get(name)
    if source is None:
        raise UnitError(f"{name} times are missing; write {name}: [20 s, 24 s, 31 s]")
    if isinstance(source, list):
        if "column" in given or "unit" in given:
            raise UnitError("column and unit go with a file, not with a list of times")
        times = tuple(item.value for item in source) or (1,)  # what could not be read is noted
    else:
        column, unit = (given.get(key).value if key in given else "" for key in ("column", "unit"))
        times = measured.read_times(making.folder, source.value, column, unit)
    making.measured += len(times)
    if making.measured > MOST_MEASURED:
        raise UnitError(f"a cell holds at most {MOST_MEASURED} measured times in all; take samples")
    return times


def to_stop(making: Making, name: str, record: Record, repaired_by: Any) -> Stop:
    """A stop from its keys; `repaired_by` is who clears it, already resolved."""
    exact = bool(making.take(STOP, record, "exact"))
    stated = record.single("law", "")
    if exact and stated:
        making.wrong_key(record, "law", "a stop with exact: yes has no law", "take one of the two out")
    every, clock = to_occasion(making, record, exact, stated)
    given = record.get("lasts")
    if not isinstance(given, Item):
        lasts = to_law(making, given)
    elif exact or stated or every.name == "fixed":
        lasts = _named(making, record, "lasts", given.value, "" if exact else stated)
        if not exact and not stated:
            making.assume(
                join(record.path, "lasts.law"), "fixed", "a stop at exact intervals lasts the same each time"
            )
    else:
        making.assume(
            join(record.path, "lasts.law"), "lognormal, spread 100 %", "repairs vary much, short ones prevail"
        )
        lasts = _named(making, record, "lasts", given.value, "lognormal")
    if "cleared_by" not in record.places:
        making.assume(join(record.path, "cleared_by"), "nobody", "the repair begins at once and needs nobody")
    if laws.mean(every) <= 0:
        making.wrong_key(
            record, "every", "stops would follow each other without a pause; it must be above zero"
        )
    return Stop(
        name=name,
        every=every,
        clock=clock,
        lasts=lasts,
        repaired_by=repaired_by,
        part=making.take(STOP, record, "part"),
        priority=making.take(STOP, record, "priority"),
    )


def to_occasion(making: Making, record: Record, exact: bool, stated: str) -> tuple[Law, Any]:
    """What lies between the end of one stop and the next, and the clock that counts it."""
    given = record.get("every")
    if isinstance(given, Record):
        clock = given.single("of", "running")
        return to_law(making, given, counts_cycles=clock in COUNTED), clock
    if given is None:
        return STAND_IN, "running"
    amount, clock = given.value
    if exact:
        law = ""
    elif stated:
        law = stated
    elif clock in COUNTED:
        law = ""
        making.assume(join(record.path, "every.law"), "fixed", f"a count of {clock} is taken as exact")
    else:
        law = "exponential"
        making.assume(join(record.path, "every.law"), "exponential", "usual for running times between stops")
    return _named(making, record, "every", amount, law), clock


def _named(making: Making, record: Record, key: str, amount: int, law: str) -> Law:
    parameters: dict[str, float | Sequence[float]] = (
        {"mean": float(amount)} if law else {"time": float(amount)}
    )
    if law == "lognormal":
        parameters["spread"] = 1.0
    try:
        return laws.make_law(law or "fixed", parameters)
    except ValueError as error:
        making.wrong_key(record, key, str(error))
        return STAND_IN
