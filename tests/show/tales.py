"""Stories and plans for the tests of pages: scenarios, a cell with walks, and names that harm."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from cellsim.describe.resolve import load, load_text
from cellsim.show.floor_plan import floor_plan
from cellsim.study.story import story

ROOT = Path(__file__).parents[2]
HOSTILE = {
    "cut": "</script><b>",
    "bore": "a&b\"'\u2028",
    "A": "<img src=x onerror=alert(1)>",
    "rack": "constructor",
}
WALKS = """
cell: Walks
crew: {A: {walks: 0.5 m/s, starts_at: cut}, B: {}}
layout: {cut: [0 m, 0 m], bore: [6 m, 0 m], pack: [6 m, 8 m]}
route: [cut, rack, bore, tray, pack]
stations:
  cut: {cycle: {mean: 20 s, spread: 30 %}, by: A}
  bore: {cycle: 30 s, by: A, stops: {jam: {every: 10 min of running, lasts: 90 s, cleared_by: A}}}
  pack: {cycle: 25 s, by: B}
stores: {rack: 4, tray: 3}
study: {run: 2 h, settle: 30 min}
"""


@cache
def told(name: str):
    """The story of a scenario or of the cell above, with its plan; `hostile` has names that harm."""
    walks = name in ("walks", "hostile")
    cell = load_text(WALKS) if walks else load(ROOT / "scenarios" / f"{name}.yaml")
    tale, plan = story(cell, 5, 1), floor_plan(cell)
    if name == "hostile":
        tale = renamed(tale)
        for kind in ("stations", "machines", "stores", "actors", "points"):
            setattr(plan, kind, renamed(getattr(plan, kind)))
        plan.arrows = [replace(a, source=renamed(a.source), target=renamed(a.target)) for a in plan.arrows]
    return tale, plan


def renamed(part):
    """A part of a story or plan in which names are hostile; the reader of cell files would refuse them."""
    if isinstance(part, dict):
        return {renamed(key): renamed(value) for key, value in part.items()}
    if isinstance(part, list):
        return [renamed(item) for item in part]
    return HOSTILE.get(part, part) if isinstance(part, str) else part
