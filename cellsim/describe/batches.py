"""Batches and changeovers: what a station works on together, and what it needs between two variants."""

from __future__ import annotations

from cellsim.describe import crew as people
from cellsim.describe.cell import Batch, Changeover, Law
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Record
from cellsim.describe.making import Making
from cellsim.describe.spec_stations import BATCH, CHANGEOVER
from cellsim.describe.times import to_law
from cellsim.describe.tree import join
from cellsim.describe.variants import to_counts
from cellsim.units import quoted


def to_batch(making: Making, record: Record) -> Batch | None:
    """What a station works on together, and when that starts."""
    given: Record | None = record.get("batch")
    if given is None:
        return None
    size, by_variant = to_counts(making, given.get("size"))
    waits = given.single("waits", None)
    starts_at = tuple(sorted({item.value for item in given.get("starts_at") or []}))
    mixed = making.take(BATCH, given, "mixed")
    early = waits is not None or bool(starts_at)
    if "at_least" in given:
        at_least = given.get("at_least").value
        smallest = min((units for _, units in by_variant), default=size)
        if at_least > smallest:
            making.wrong_key(given, "at_least", f"at least {at_least} of {smallest} units: it is never full")
        elif at_least < smallest and not early:
            message = f"nothing says when {at_least} units are enough"
            making.wrong_key(given, "at_least", message, "add waits: 30 min, or starts_at: 22:00")
    else:
        at_least = 1 if early else size
        why = "what is there then starts" if early else "only a full batch starts"
        making.assume(join(given.path, "at_least"), str(at_least) if early else "the whole batch", why)
    if making.variants and "mixed" not in given.places:
        making.assume(join(given.path, "mixed"), "no", "only units of one variant go together")
    if mixed and by_variant:
        making.wrong_key(given, "mixed", "a mixed batch has one size, not one by variant")
    return Batch(size, at_least, waits, starts_at, mixed, by_variant)


def to_changeover(crew: Crew, record: Record) -> Changeover | None:
    """What a station needs to go over from one variant to another."""
    making = crew.making
    given: Record | None = record.get("changeover")
    if given is None:
        return None
    if not making.variants:
        hint = "write variants: [A, B] at the top"
        making.wrong_key(record, "changeover", "the cell has no variants to go over to", hint)
        return None
    times: dict[tuple[str, str], Law] = {}
    time = given.get("time")
    if isinstance(time, dict):
        for entry in time.values():
            start, end = entry.name.value
            for name in (start, end):
                if name not in making.variants:
                    message = f"no variant is called {quoted(name)}"
                    making.wrong(
                        entry.name, entry.name.path, message, f"there are {', '.join(making.variants)}"
                    )
            if start == end:
                making.wrong(entry.name, entry.name.path, "from a variant to itself there is no changeover")
            times[start, end] = to_law(making, entry.value)
    else:
        law = to_law(making, time)
        times = {(a, b): law for a in making.variants for b in making.variants if a != b}
    by = people.to_needs(crew, given.get("by"), given, "by")
    if "by" not in given.places:
        making.take(CHANGEOVER, given, "by")
    approval = to_law(making, given.get("approval")) if "approval" in given else None
    if "approved_by" in given.places and approval is None:
        making.wrong_key(given, "approved_by", "there is no approval", "write approval: 6 min")
    return Changeover(
        times=tuple((a, b, times[a, b]) for a in making.variants for b in making.variants if (a, b) in times),
        by=by,
        ahead=making.take(CHANGEOVER, given, "begins") == "after the last unit",
        approval=approval,
        approved_by=people.to_needs(crew, given.get("approved_by"), given, "approved_by"),
    )
