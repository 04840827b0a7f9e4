"""Sizing the stores of a cell as somebody asks for it: for a rate, for a number of places, or for profit."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.changes import Change
from cellsim.describe.resolve import load_text
from cellsim.describe.tree import Text
from cellsim.describe.writer import resolved_text
from cellsim.errors import DescriptionError, UsageError
from cellsim.study.buffers import CellLab, Profit, for_profit, for_target, for_total
from cellsim.study.places import Bounds, Look, Places, more
from cellsim.study.runner import Progress, Runner
from cellsim.study.seeding import paper_path
from cellsim.study.sizing import answer
from cellsim.study.takt import per_hour

USUAL = 3000  # replications that a search usually takes
MATTERS = 0.003  # of output: a difference below it matters to nobody
ALL = ""  # stands for all stores where values are given by store

PerStore = float | Mapping[str, float]


def size_buffers(
    cell: Cell,
    runner: Runner,
    seed: int,
    *,
    target: float | str | None = None,
    total: int | None = None,
    earns: float | None = None,
    place_costs: PerStore | None = None,
    least: PerStore | None = None,
    most: PerStore | None = None,
    area: PerStore | None = None,
    room: float | None = None,
    stores: Sequence[str] = (),
    matters: float | str | None = None,
    heard: Callable[[int, int], None] | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """The fewest places for a `target`, the best use of a `total`, or the best profit where a unit `earns`.

    Without any of them the target of the cell counts.  Rates are good units per working hour or a text such
    as `115 per h`; what a place costs (per working hour), fewest and most places, and floor space (m2 of a
    place, `room` in all) are one number for all stores or a mapping by store.  `heard(allocations,
    replications)` is called as the search goes on, `progress(done, of)` as its present step goes on.

    Raises:
        UsageError: what is wanted makes no sense, or cannot be reached.
    """
    names = _stores(cell, stores)
    goals = [target is not None, total is not None, earns is not None]
    if sum(goals) > 1:
        raise UsageError("give one of --target, --total and --earns")
    wanted = per_hour(target, "--target") if target is not None else cell.target_per_hour
    if not any(goals) and wanted is None:
        raise UsageError("the file has no target; give one of --target, --total and --earns")
    if (earns is not None) != bool(place_costs or place_costs == 0):
        raise UsageError("--earns and --place-costs belong together")
    if (room is not None) != bool(area):
        raise UsageError("--area and --room belong together")
    for value, option in ((earns, "--earns"), (room, "--room")):
        if value is not None and not 0 < value < math.inf:
            raise UsageError(f"{option} {value}: a number above 0 is wanted")
    start = tuple(next(s.places or 0 for s in cell.stores if s.name == name) for name in names)
    limits = Bounds(
        least=_least(cell, names, start, _by_store(least, names, "--least", whole=True)),
        most=tuple(None if n is None else int(n) for n in _by_store(most, names, "--most", whole=True)),
        area=tuple(a or 0.0 for a in _by_store(area, names, "--area")),
        most_area=room,
    )
    costs = tuple(c or 0.0 for c in _by_store(place_costs, names, "--place-costs"))
    small = None if matters is None else per_hour(matters, "--matters")
    runner.settle_means(cell, USUAL)
    lab = CellLab(cell, names, seed, runner)
    if heard is not None:
        lab.heard = heard
    lab.progress = progress
    lab.run([start], 10)
    difference = small or MATTERS * (wanted or sum(lab.rates(start, 10)) / 10)
    if earns is not None:
        profit = Profit(earns, costs)
        found = for_profit(lab, paper_path(cell, names, limits), limits, profit, Look(earns * difference))
        return answer(lab, found, limits, start, profit=profit, difference=difference)
    if total is not None:
        begin = _for_total(total, limits, paper_path(cell, names, limits))
        found = for_total(lab, begin, limits, Look(difference))
        return answer(lab, found, limits, start, difference=difference)
    assert wanted is not None
    found = for_target(lab, paper_path(cell, names, limits), limits, wanted, Look(difference), start)
    return answer(lab, found, limits, start, target=wanted, difference=difference)


def not_a_number(option: str, text: object, whole: bool) -> UsageError:
    """What is told where values by store are not as they should be."""
    what = "whole number" if whole else "number"
    return UsageError(f"{option}: {text}: a {what}, 0 or more, is wanted, for all stores or as STORE: NUMBER")


def _stores(cell: Cell, only: Sequence[str]) -> list[str]:
    """The stores that are sized: those with a number of places, or those that are named."""
    there = [store.name for store in cell.stores if store.places is not None]
    for name in only:
        if name not in there:
            raise UsageError(
                f"--store: no store with places is called {name}; there is {', '.join(there) or 'none'}"
            )
    if not there:
        raise UsageError("no store of this cell has a number of places")
    return [name for name in there if name in only or not only]


def _by_store(
    given: PerStore | None, stores: Sequence[str], option: str, *, whole: bool = False
) -> list[float | None]:
    """Values given for all stores or for some, by store; None where none is given."""
    values: list[float | None] = [None] * len(stores)
    entries: Mapping[str, float] = (
        {} if given is None else given if isinstance(given, Mapping) else {ALL: given}
    )
    for name, value in entries.items():
        text = f"{name}: {value}" if name != ALL else value
        if not 0 <= value < math.inf or (whole and value != int(value)):
            raise not_a_number(option, text, whole)
        if name != ALL and name not in stores:
            raise UsageError(f"{option}: no store is called {name}; there is {', '.join(stores)}")
        for k, store in enumerate(stores):
            if name in (ALL, store):
                values[k] = value
    return values


def _least(cell: Cell, stores: Sequence[str], start: Places, given: Sequence[float | None]) -> Places:
    """The fewest places of each store: what is given, else the fewest that the description allows.

    A store from which a batch is taken needs as many places as that, for example.
    """
    text = resolved_text(cell)

    def allowed(name: str, count: int) -> bool:
        try:
            load_text(text, changes=[Change(f"stores.{name}.places", Text(str(count), 0, 0))])
        except DescriptionError:
            return False
        return True

    found = []
    for name, now, asked in zip(stores, start, given, strict=True):
        first = int(asked or 0)
        fewest = bisect_left(range(now), 1, lo=min(first, now), key=partial(allowed, name))
        found.append(max(first, fewest))
    return tuple(found)


def _for_total(total: int, limits: Bounds, path: Sequence[Places]) -> Places:
    """Where a search for the best use of a number of places begins: on paper, else evenly spread."""
    on_paper = [places for places in path if sum(places) == total]
    return on_paper[0] if on_paper else _spread(total, limits)


def _spread(total: int, limits: Bounds) -> Places:
    """So many places, as even as the bounds allow, spare ones towards the middle."""
    places = limits.least
    middle = (len(places) - 1) / 2
    while sum(places) < total:
        above = more(places, limits)
        if not above:
            raise UsageError(f"--total {total}: the stores may have at most {sum(places)} places")
        places = min(
            above,
            key=lambda each: next((n, abs(k - middle)) for k, n in enumerate(each) if n > places[k]),
        )
    if sum(places) > total:
        raise UsageError(f"--total {total}: the stores need at least {sum(places)} places")
    return places
