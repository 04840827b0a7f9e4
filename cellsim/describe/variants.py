"""Variants: the kinds of the product, in which order they are released, and what differs between them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from cellsim.describe import measured
from cellsim.describe.cell import Law, Sequence, Shift, Variant
from cellsim.describe.fields import Entry, Item, Record
from cellsim.describe.making import Making, natural
from cellsim.describe.shifts import mean_working_time
from cellsim.describe.spec_flow import SEQUENCE
from cellsim.describe.spec_work import LAW
from cellsim.describe.times import STAND_IN, to_law
from cellsim.units import HOUR, UnitError, format_number, format_ratio, parse_count, quoted

MOST_VARIANTS = 60

Campaigns = tuple[tuple[str, int], ...]


def name_variants(making: Making, top: Record) -> None:
    """Make the names of the variants known, in natural order; what differs between them refers to them."""
    given = top.get("variants") or []
    items = given if isinstance(given, list) else [entry.name for entry in given.values()]
    names: list[str] = []
    for item in items:
        if item.value in names:
            making.wrong(item, item.path, f"variant {quoted(item.value)} is given twice")
        elif item.value in LAW.key:
            hint = "call it otherwise"
            making.wrong(item, item.path, f"{quoted(item.value)} is a word of a time that varies", hint)
        else:
            names.append(item.value)
    if len(names) == 1:
        making.wrong_key(top, "variants", "one variant alone is no choice", "name two, or take variants out")
    if len(names) > MOST_VARIANTS:
        making.wrong_key(top, "variants", f"{len(names)} variants are more than {MOST_VARIANTS}")
    making.variants = tuple(sorted(names, key=natural))


def to_variants(
    making: Making, top: Record, target: float | None, shifts: tuple[Shift, ...]
) -> tuple[tuple[Variant, ...], Sequence]:
    """The variants with their shares, and the order of their release."""
    given = top.get("sequence")
    names = making.variants
    if not names:
        for key in ("sequence", "varied_lines"):
            if key in top.places:
                making.wrong_key(top, key, "there are no variants", "write variants: {A: 70 %, B: 30 %}")
        return (), Sequence()
    shares = _shares(making, top)
    line_empties = isinstance(given, Record) and making.take(SEQUENCE, given, "line") == "empties"
    campaigns = _campaigns(making, top, given, shares, target, shifts)
    order = _order(making, top, given, bool(campaigns))
    if campaigns:
        total = sum(units for _, units in campaigns)
        made = {name: sum(units for other, units in campaigns if other == name) / total for name in names}
        for name in names:
            if name in shares and abs(shares[name] - made[name]) > 0.002:
                message = (
                    f"the campaigns make {format_ratio(round(made[name], 4))} of {quoted(name)}, variants"
                    f" says {format_ratio(shares[name])}"
                )
                making.wrong_key(top, "variants", message, "give the shares or the campaigns, not both")
        shares = made
    elif not shares:
        shares = {name: 1 / len(names) for name in names}
        making.assume("variants", format_ratio(round(1 / len(names), 4)) + " each", "as many of each variant")
    return tuple(Variant(name, shares[name]) for name in names), Sequence(order, campaigns, line_empties)


def _shares(making: Making, top: Record) -> dict[str, float]:
    given = top.get("variants")
    if not isinstance(given, dict):
        return {}
    shares = {entry.name.value: float(entry.value.value) for entry in given.values()}
    total = sum(shares.values())
    if abs(total - 1) > 1e-6:
        message = f"the shares add up to {format_number(round(total, 9))}; they must add up to 1"
        making.wrong_key(top, "variants", message)
    return {name: share / total for name, share in shares.items()} if total else {}


def _order(making: Making, top: Record, given: Any, campaigns: bool) -> Any:
    if campaigns:
        return "campaigns"
    if isinstance(given, Item):
        return given.value
    if isinstance(given, Record) and "order" in given:
        return given.get("order").value
    making.assume("sequence", "in ratio", "the variants alternate as evenly as their shares allow")
    return "in ratio"


def _campaigns(
    making: Making,
    top: Record,
    given: Any,
    shares: dict[str, float],
    target: float | None,
    shifts: tuple[Shift, ...],
) -> Campaigns:
    if isinstance(given, list):
        return _listed(making, top, given)
    if isinstance(given, Record):
        keys = [key for key in ("order", "campaigns", "plan") if key in given.places]
        if len(keys) != 1 and (keys or "line" not in given.places):
            making.wrong(given, given.path, "a sequence says one of order, campaigns and plan")
        if "plan" in given:
            return _planned(making, given)
        campaigns = given.get("campaigns")
        if isinstance(campaigns, list):
            return _listed(making, top, campaigns)
        if campaigns is not None:
            return _by_shifts(making, given, campaigns.value, shares, target, shifts)
        if keys:
            return ()
    elif given is not None:
        return ()
    if target is None or not shifts:
        return ()
    found = _by_shifts(making, top, 1, shares, target, shifts)
    why = "one campaign of each variant in a shift, by its share of the target"
    making.assume("sequence", ", ".join(f"{name}: {units}" for name, units in found), why)
    return found


def _listed(making: Making, top: Record, given: list[dict[str, Entry]]) -> Campaigns:
    found = [(entry.name, entry.value.value) for one in given for entry in one.values()]
    if any(len(one) > 1 for one in given):
        making.wrong_key(top, "sequence", "each campaign is one variant", "write [{A: 500}, {B: 200}]")
    for item, _ in found:
        if item.value not in making.variants:
            making.unknown(item, "variant", making.variants)
    missing = [name for name in making.variants if name not in {item.value for item, _ in found}]
    if missing and found:
        making.wrong_key(top, "sequence", f"there is no campaign of {quoted(missing[0])}")
    return tuple((item.value, units) for item, units in found)


def _planned(making: Making, given: Record) -> Campaigns:
    """Campaigns from a file with the columns variant and units."""
    item: Item = given.get("plan")
    try:
        headings, rows = measured.read_table(making.folder, item.value)
        columns = [measured.column_of(item.value, headings, name) for name in ("variant", "units")]
        found = []
        for number, row in enumerate(rows, start=2):
            variant, units = (row[k].strip() if k < len(row) else "" for k in columns)
            if variant not in making.variants:
                raise UnitError(f"{quoted(item.value)} line {number}: no variant is called {quoted(variant)}")
            found.append((variant, max(1, parse_count(units))))
        if {variant for variant, _ in found} != set(making.variants):
            raise UnitError(f"{quoted(item.value)} does not name every variant")
        return tuple(found)
    except UnitError as error:
        making.wrong(item, item.path, str(error))
        return ()


def _by_shifts(
    making: Making,
    record: Record,
    count: int,
    shares: dict[str, float],
    target: float | None,
    shifts: tuple[Shift, ...],
) -> Campaigns:
    """One campaign of each variant in `count` shifts: its share of what the target asks for in them."""
    if target is None or not shifts:
        message = "campaigns of so many shifts need a target and shifts"
        making.wrong_key(record, "campaigns", message, "or list them: [{A: 500}, {B: 200}]")
        return ()
    units = target * mean_working_time(shifts) / HOUR * count
    equal = 1 / len(making.variants)
    return tuple((name, max(1, round(shares.get(name, equal) * units))) for name in making.variants)


def to_times(making: Making, given: Any) -> tuple[Law, tuple[tuple[str, Law], ...]]:
    """A time that may differ by variant: the law, and the laws by variant if it does."""
    if not isinstance(given, dict):
        return to_law(making, given), ()
    found: dict[str, Law] = {}
    for entry in given.values():
        if known(making, entry.name):
            found[entry.name.value] = to_law(making, entry.value)
    if not _all_given(making, given, found):
        return STAND_IN, ()
    return found[making.variants[0]], tuple((name, found[name]) for name in making.variants)


def to_counts(making: Making, given: Any) -> tuple[int, tuple[tuple[str, int], ...]]:
    """A count that may differ by variant: the largest, and the counts by variant if it does."""
    if not isinstance(given, dict):
        return (given.value if given is not None else 1), ()
    found: dict[str, int] = {}
    for entry in given.values():
        if known(making, entry.name):
            found[entry.name.value] = entry.value.value
    if not _all_given(making, given, found):
        return 1, ()
    return max(found.values()), tuple((name, found[name]) for name in making.variants)


def _all_given(making: Making, given: dict[str, Entry], found: dict[str, Any]) -> bool:
    missing = [name for name in making.variants if name not in found]
    if missing and len(found) == len(given) and given:
        first = next(iter(given.values())).name
        path = first.path.rsplit(".", 1)[0]
        making.wrong(first, path, f"nothing is said for variant {quoted(missing[0])}", "name every variant")
    return bool(found) and not missing


def known(making: Making, item: Item) -> bool:
    """Whether a name is that of a variant; notes it if not."""
    if item.value not in making.variants:
        making.unknown(item, "variant", making.variants)
        return False
    return True


def to_chosen(making: Making, items: Iterable[Item] | None) -> tuple[str, ...]:
    """The variants that a list names, in their own order."""
    chosen = {item.value for item in items or [] if known(making, item)}
    return tuple(name for name in making.variants if name in chosen)
