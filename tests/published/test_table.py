"""The program against known results: every entry of the quick set, and the ways to its value by hand.

False alarms: a right simulator fails anywhere in the table with a chance of at most 1 % over all choices of
the seeds (`verdicts.FALSE_ALARM`, shared out evenly by Bonferroni).  The seeds are fixed.
"""

from __future__ import annotations

import functools
import importlib
from collections.abc import Callable
from pathlib import Path

import pytest

from cellsim.published.entry import PRACTICE, Published, Value
from cellsim.published.measures import REPLICATED, TRACED
from cellsim.published.suite import Group, Simulated, by_cell, checked, level_for, simulate
from cellsim.published.table import TABLE, choose
from cellsim.published.verdicts import QUICK, same

HERE = Path(__file__).parent
BY_ID = {entry.id: entry for entry in TABLE}
QUICK_SET = choose(TABLE, [], full=False)
GROUPS = by_cell([entry for entry in QUICK_SET if entry.cell])
FORMULAS = [entry for entry in TABLE if entry.formula]


def collected(kind: str, name: str) -> list:
    """What the modules `<kind>_<topic>.py` of this folder hold under a name."""
    modules = sorted(file.stem for file in HERE.glob(f"{kind}_*.py"))
    return [getattr(importlib.import_module(module), name) for module in modules]


SECOND: dict[str, list[Callable[[], float]]] = {
    name: ways for table in collected("second", "SECOND") for name, ways in table.items()
}
WRONG: dict[str, list[tuple[Value, str]]] = {}
for rows in collected("wrong", "WRONG"):
    for name, value, why in rows:
        WRONG.setdefault(name, []).append((value, why))


@functools.cache
def found(group: Group) -> dict[str, Simulated]:
    """What the simulator finds for the entries of one cell."""
    results = simulate(group, level_for(TABLE))
    return {entry.id: one for entry, one in zip(group, results, strict=True) if one is not None}


def accepts(entry: Published, one: Simulated, value: Value) -> bool:
    """Whether what was simulated would agree with another value."""
    if one.interval is None:
        return same(one.value, value, entry.rounding)
    assert not isinstance(value, tuple)
    low, high = one.interval
    band = entry.tolerance * abs(value)
    return low - band <= value <= high + band


@pytest.mark.parametrize("group", [pytest.param(group, id=group[0].id) for group in GROUPS])
def test_the_simulator_gives_the_published_values(group):
    """Each interval holds its value and is sharp; the same interval rejects what a wrong rule would give."""
    for entry in group:
        one = found(group)[entry.id]
        assert checked(entry, one).agrees, f"{entry.id}: {one} for {entry.value} from {entry.source}"
        assert one.sharp, f"{entry.id}: half width {one.half_width}, asked for {QUICK}"
        for value, why in WRONG.get(entry.id, []):
            assert not accepts(entry, one, value), f"{entry.id} accepts {value}: {why}"


@pytest.mark.parametrize("entry", [pytest.param(entry, id=entry.id) for entry in FORMULAS])
def test_the_formula_gives_the_published_value(entry):
    """To its last digit; where there is no run, it is not what a wrong reading would give."""
    ours = entry.formula()
    assert same(ours, entry.value, entry.rounding), f"{ours} for {entry.value}"
    for value, why in WRONG.get(entry.id, []):
        assert entry.cell or not same(ours, value, entry.rounding), f"{entry.id} accepts {value}: {why}"


@pytest.mark.parametrize("name", sorted(SECOND))
def test_a_second_way_gives_the_published_value(name):
    """Chains and recursions, written the slow way, agree with the value to its last digit."""
    entry = BY_ID[name]
    for way in SECOND[name]:
        assert way() == pytest.approx(entry.value, rel=entry.rounding)


def ways(entry: Published) -> int:
    """In how many ways the value of an entry is found."""
    return bool(entry.cell) + (entry.formula is not None) + len(SECOND.get(entry.id, ()))


def test_every_value_is_found_in_two_ways():
    """Simulated, by a formula of the program, or by a second way here; counted by hand is a way too."""
    alone = [e.id for e in TABLE if ways(e) < 2 and not e.is_trace and e.source != PRACTICE]
    assert alone == []


def test_the_table_is_in_order():
    """Ids are unique, nothing is left blank, all names are known, every wrong value belongs to a run."""
    assert len(BY_ID) == len(TABLE)
    for entry in TABLE:
        assert entry.id == entry.id.strip() != ""
        assert entry.topic
        assert entry.statement
        assert entry.source
        assert entry.exactness
        assert entry.cell or entry.formula, entry.id
        if entry.cell:
            assert entry.quantity in (TRACED if entry.is_trace else REPLICATED), entry.id
        else:
            assert entry.quantity == entry.of == "", entry.id
    used = {entry.quantity for entry in TABLE if entry.cell}
    assert used <= {*REPLICATED, *TRACED}
    assert set(SECOND) <= set(BY_ID)
    assert set(WRONG) <= {entry.id for entry in TABLE}


def test_topics_stand_together():
    """A topic is not taken up again further down."""
    topics = [entry.topic for entry in TABLE]
    firsts = list(dict.fromkeys(topics))
    assert topics == sorted(topics, key=firsts.index)
