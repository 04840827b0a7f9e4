"""What `check` says about a cell without mistakes: what it is, and what was assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.show.paper import estimate_on_paper, limit_on_paper


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def checked_text(cell: Cell, paper: Mapping[str, Any], file: str, more: Sequence[str] = ()) -> str:
    """A few lines: the size of the cell, what paper says, each assumption with its reason, cautions.

    `more` are cautions about the study beside those about the cell.
    """
    machines = sum(station.machines for station in cell.stations)
    stations = _count(len(cell.stations), "station", "stations")
    if machines != len(cell.stations):
        stations += f" ({machines} machines)"
    stores = [store for store in cell.stores if store.places != 0]
    people = sum(post.people for post in cell.posts)
    out = [
        f"{file}: no mistakes",
        f"{cell.name}: {stations}, {_count(len(stores), 'store', 'stores')}, "
        f"{_count(people, 'person', 'people')}, {_count(len(cell.robots), 'robot', 'robots')}, "
        f"{_count(len(cell.shifts), 'shift', 'shifts')}",
    ]
    if cell.target_per_hour is not None:
        out.append(f"target: {cell.target_per_hour:g} per working hour")
    out.append(f"on paper: {limit_on_paper(paper)}; {estimate_on_paper(paper)}")
    if cell.assumptions:
        out.append(f"assumed, not measured ({len(cell.assumptions)}):")
        out += [f"  {a.path}: {a.value} ({a.why})" for a in cell.assumptions]
    out += [f"caution: {text}" for text in (*cell.cautions, *more)]
    return "\n".join(out)
