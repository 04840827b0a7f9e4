"""The page of figures explains each key of a result, with the unit that stands there, and nothing else."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import cellsim
from cellsim.engine.layout import ACTOR_STATES, MACHINE_STATES
from cellsim.guide.blocks import Table, plain_words, read_blocks
from cellsim.guide.figure_table import FIGURES, NAMED, PARTS
from cellsim.guide.figures import figures_text

ROOT = Path(__file__).parents[2]
BEHAVIOURS = ROOT / "cellsim" / "describe" / "behaviours"
# Cells that together have every figure.
CELLS = (
    "batches-loaded_by_hand", "batches-use_within", "energy-by_state", "flow-carriers",
    "flow-last_in_first_out", "material-finished_goods", "material-hourly_plan", "material-lots",
    "material-many_from_a_bar", "people-absence", "quality-hidden_faults", "quality-samples",
    "quality-rework_bench", "robots-grippers", "robots-picks_that_fail", "robots-shared_feeder",
    "robots-zone", "stops-restart_scrap", "variants-changeover", "material-two_bins",
)  # fmt: skip
ROBOT_WITH_POWER = """\
cell: Robot with a meter
route: [mill, rack, drill]
stations: {mill: {cycle: 20 s}, drill: {cycle: 20 s, visit: {by: R, load: 3 s, unload: 2 s}}}
robots: {R: {power: {working: 2 kW, idle: 1 kW}}}
stores: {rack: 2}
"""
LOCKS_UP = """\
cell: Locks up
target: 30 per h
route: [feed, gate, work, buffer, test]
stations:
  feed: {cycle: 1 s}
  work: {cycle: 1 min}
  test: {cycle: 90 s, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
study: {run: 1 h}
"""
KEYS = {figure.key: figure for rows in FIGURES.values() for figure in rows}


def entries(value: Any, at: tuple[str, ...] = ()) -> list[tuple[str, Any]]:
    """Every value of a result with its place, names as NAME and rows as []."""
    if isinstance(value, dict) and value:
        named = bool(at) and at[-1] in NAMED
        return [
            found for key, other in value.items() for found in entries(other, (*at, "NAME" if named else key))
        ]
    if isinstance(value, list) and value:
        return [found for other in value for found in entries(other, (*at, "[]"))]
    return [] if value in ({}, None) else [(".".join(at), value)]


def key_of(place: str) -> str | None:
    """The row of the table that explains a place: itself, or what it is a part of."""
    parts = place.split(".")
    for k in range(len(parts), 0, -1):
        key, rest = ".".join(parts[:k]), parts[k:]
        if key in KEYS and all(part in PARTS or part in ("[]", "from", "width", "counts") for part in rest):
            return key
    return None


@pytest.fixture(scope="module")
def found():
    """All places of the results of these cells with a value each."""
    texts = [(BEHAVIOURS / f"{name}.yaml").read_text(encoding="utf-8") for name in CELLS]
    places: dict[str, Any] = {}
    for text in [*texts, ROBOT_WITH_POWER, LOCKS_UP]:
        result = cellsim.run(cellsim.load_text(text), replications=2, clock="simpy", workers=1)
        places |= dict(entries(json.loads(json.dumps(dict(result)))))
    return places


def test_every_key_of_a_result_is_explained(found):
    """None is left over; and a key that nobody explains would be seen."""
    assert [place for place, value in found.items() if value != [] and key_of(place) is None] == []
    assert key_of("wip.colour") is None
    assert key_of("wip.interval.[]") == "wip"


def test_no_row_of_the_table_is_stale(found):
    """Each row explains something that a result holds."""
    used = {key_of(place) for place in found}
    assert set(KEYS) - used == set()


def test_units_are_those_of_the_results(found):
    """Where a result says its unit, the table says the same."""
    units = {place.removesuffix(".unit"): value for place, value in found.items() if place.endswith(".unit")}
    told = [place for place in units if place in KEYS]
    assert len(told) > 50
    shift = {"zones.NAME.entries": "entries per 8 h"}  # in a cell without shifts
    assert {place: units[place] for place in told} == {
        place: shift.get(place, KEYS[place].unit) for place in told
    }


def test_every_state_is_on_the_page():
    """The states of stations and of people, from the list by which a run is counted."""
    text = figures_text()
    assert all(f"| `{state}` |" in text for state in (*MACHINE_STATES, *ACTOR_STATES))


def test_the_page_claims_no_standard_without_saying_whence():
    """A row that names ISO 22400-2 and gives a formula of it says where that was seen, or that it was not."""
    rows = [row for table in read_blocks(figures_text()) if isinstance(table, Table) for row in table.rows]
    claims = [plain_words(row[4]) for row in rows if len(row) == 5 and "ISO 22400-2" in plain_words(row[4])]
    assert len(claims) > 5
    assert all(re.search("from memory|as quoted", claim) for claim in claims), claims
