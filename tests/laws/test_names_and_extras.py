"""Names are but names, and who or what nobody needs changes nothing."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scaled_cells import KINDS
from small_cells import HORIZON, SECOND, fixed
from whole_cells import whole_cells
from whole_runs import outcome, run_cell

from cellsim.describe.cell import (
    FINISHED,
    OUT,
    RAW,
    RELEASE,
    Carrier,
    Cell,
    Element,
    Law,
    Need,
    Outlet,
    Post,
    PurchasedPart,
    Robot,
    Station,
    Store,
    Zone,
)
from cellsim.engine import tables
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.draws import stream_key
from cellsim.engine.model import compile_cell
from cellsim.engine.tables import natural
from cellsim.engine.tables_teams import TACIT

quick = settings(
    max_examples=30,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)

# Types of fields whose texts are words with a meaning of their own.
WORDS = re.compile(
    r"Literal|Phase|Criterion|StopClock|PartAtStop|BreakRule|EndOfShift|WayRule|Supply|Assumption|Origin"
)
TELLING = {(Law, "name"), (Cell, "name"), (Cell, "question"), (Cell, "cautions")}
MEANING = {"", RELEASE, FINISHED}
MARKS = (RAW, OUT, TACIT)  # what stands before a name and says something of it


def named(value: Any, new: dict[str, str], seen: set[str]) -> Any:
    """A cell, or any part of it, with every name replaced where there is a new one; the names are noted."""
    if isinstance(value, tuple):
        return tuple(named(one, new, seen) for one in value)
    if isinstance(value, str) and value not in MEANING:
        mark = next((mark for mark in MARKS if value.startswith(mark)), "")
        name = value.removeprefix(mark)
        seen.add(name)
        return mark + new.get(name, name)
    if type(value) not in KINDS:
        return value
    return replace(
        value,
        **{
            field.name: named(getattr(value, field.name), new, seen)
            for field in fields(value)
            if not WORDS.search(str(field.type)) and (type(value), field.name) not in TELLING
        },
    )


def back(value: Any, names: list[str]) -> Any:
    """What a run leaves with the old names."""
    if isinstance(value, dict):
        return {back(key, names): back(one, names) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return type(value)(back(one, names) for one in value)
    if isinstance(value, str):
        return re.sub(r"k(\d{4})z", lambda found: names[int(found[1])], value)
    return value


def quickly(cell: Cell, seed: int) -> dict[str, Any]:
    """What a run under the fast clock leaves."""
    run = CompiledRun(compile_cell(cell), seed, 0)
    run.advance(HORIZON)
    return outcome(run)


@quick
@given(whole_cells(), st.integers(0, 3))
def test_other_names_in_the_same_order_change_nothing(cell: Cell, seed: int) -> None:
    """Everybody and everything is called k0000z, k0001z, ... in the order of the old names.

    Names have two meanings: equals are served in their order, and each name has its own random numbers.  The
    order is kept here, and the new names are given the numbers of the old ones.
    """
    seen: set[str] = set()
    assert named(cell, {}, seen) == cell
    names = sorted(seen, key=natural)
    other = named(cell, {name: f"k{rank:04d}z" for rank, name in enumerate(names)}, set())
    assert other != cell
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tables, "stream_key", lambda who, what: stream_key(back(who, names), back(what, names)))
        renamed = back(quickly(other, seed), names)
    assert renamed == outcome(run_cell(cell, HORIZON, seed))


EXTRA = ("post", "robot", "station", "store", "part", "carrier", "zone", "thing", "skill", "shift")


def with_idle(cell: Cell, what: str, name: str, place: int) -> Cell:
    """The cell with one more of something that nothing in it needs, at some place of its list."""

    def put_in(items: tuple[Any, ...], item: Any) -> tuple[Any, ...]:
        k = place % (len(items) + 1)
        return (*items[:k], item, *items[k:])

    shifts = tuple(shift.name for shift in cell.shifts)
    if what == "post":
        able = (("idle", 1.5), (f"{name} only", 1.0))
        post = Post(name, 2, able, shifts, starts_at="door", travel=(("bench", "door", 3 * SECOND),))
        return replace(cell, posts=put_in(cell.posts, post))
    if what == "robot":
        return replace(cell, robots=put_in(cell.robots, Robot(name, double_gripper=True, starts_at="bench")))
    if what == "store":
        return replace(cell, stores=put_in(cell.stores, Store(name, 3, tray=3, tray_waits=SECOND)))
    if what == "thing":
        return replace(cell, shared=put_in(cell.shared, (name, 1)))
    if what == "skill" and cell.posts:
        k = place % len(cell.posts)
        post = replace(cell.posts[k], skills=put_in(cell.posts[k].skills, (name, 0.5)))
        return replace(cell, posts=(*cell.posts[:k], post, *cell.posts[k + 1 :]))
    if what == "shift" and cell.shifts:
        return replace(cell, shifts=put_in(cell.shifts, replace(cell.shifts[place % len(shifts)], name=name)))
    work = (Element("work", fixed(2)), Element("tend", fixed(1), (Need(f"{name} hand"),)))
    spare = Station(name, 2, work, ((f"{name} never", 1),), 1, (Outlet(f"{OUT}{name}"),))
    cell = replace(
        cell,
        stations=put_in(cell.stations, spare),
        stores=put_in(cell.stores, Store(f"{name} never", 2)),
        posts=put_in(cell.posts, Post(f"{name} hand", 1, (), shifts)),
    )
    if what == "part":
        part = PurchasedPart(f"{name} pin", ((name, 1),), 4, "orders", fixed(3), 6, orders_at=1)
        return replace(cell, parts=put_in(cell.parts, part))
    if what == "carrier" and len(cell.carriers) < 4:
        carrier = Carrier(f"{name} box", 2, name, name, fixed(1))
        return replace(cell, carriers=put_in(cell.carriers, carrier))
    if what == "zone":
        robot = Robot(f"{name} arm")
        zone = Zone(f"{name} zone", (robot.name,), (name,), 0.0, SECOND)
        return replace(cell, robots=put_in(cell.robots, robot), zones=put_in(cell.zones, zone))
    return cell


def without(found: dict[str, Any], name: str) -> dict[str, Any]:
    """What a run leaves but for whatever has the name, or begins with it, in its own."""

    def is_other(key: Any) -> bool:
        texts = (key,) if isinstance(key, str) else key
        return not any(text.removeprefix(OUT).startswith(name) for text in texts)

    return {
        part: {key: one for key, one in value.items() if is_other(key)} if isinstance(value, dict) else value
        for part, value in found.items()
    }


@settings(quick, max_examples=45)
@given(
    whole_cells(),
    st.integers(0, 3),
    st.sampled_from(EXTRA),
    st.sampled_from(("aaa", "mmm", "zzz")),
    st.integers(0, 9),
)
def test_whoever_nobody_needs_changes_nothing(
    cell: Cell, seed: int, what: str, name: str, place: int
) -> None:
    """One more of something, first, last or in between by name and by place: all else is as it was."""
    plain = outcome(run_cell(cell, HORIZON, seed))
    other = quickly(with_idle(cell, what, name, place), seed)
    assert without(other, name) == plain
    spare = other["machines"].get(f"{name}.1")
    assert spare is None or spare[1] == 0
