"""Rework loops that can lock: what `check` says of a cell, held against what its runs do."""

from __future__ import annotations

import pytest

from cellsim.describe.locking import lockable_loops, remedy
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.units import HOUR

BACK = """
cell: back to a station above
route: [press, box, fit, tray, test, pack]
stations:
  press: {cycle: 5 s}
  fit: {cycle: {mean: 10 s, spread: 50 %}}
  test: {cycle: {mean: 12 s, spread: 50 %}, rejects: {share: 30 %, to: fit}}
  pack: {cycle: 5 s}
stores: {box: 3, tray: 2}
"""
REJECTS = "rejects: {share: 30 %, to: fit}"
SHELF = (
    BACK.replace(REJECTS, "rejects: {share: 40 %, to: shelf, returns_to: test}")
    .replace("  pack:", "  rework: {cycle: 30 s, takes: {shelf: 1}}\n  pack:")
    .replace("tray: 2}", "tray: 2, shelf: 1}")
)
FIRST = "rejects: {share: 30 %, to: press, waits: on the station}"
LOCKING = {
    "back to a store of the route": (BACK, ("box", "tray"), 7),
    "attempts end the unit and not the wait": (BACK.replace("fit}", "fit, attempts: 3}"), ("box", "tray"), 7),
    "what follows the last attempt": (
        BACK.replace(REJECTS, "rejects: {share: 60 %, to: beside, attempts: 2, then: fit}").replace(
            "  pack:", "  beside: {cycle: 5 s, goes_to: test}\n  pack:"
        ),
        ("box", "tray"),
        7,
    ),
    "hand over": (BACK.replace("box: 3", "box: 0"), ("box", "tray"), 4),
    "a shelf that fills": (SHELF, ("shelf", "tray"), 5),
    "waits on the station": (BACK.replace(REJECTS, FIRST), ("release", "box", "tray"), 0),
    "as many cards as it takes": (BACK + "release: cards 7\n", ("box", "tray"), 7),
    "only into a free place": (
        BACK.replace("  fit: {", "  fit: {hands_on: only into a free place, "),
        ("box", "tray"),
        6,
    ),
    "two benches": (BACK.replace("fit: {", "fit: {machines: 2, "), ("box", "tray"), 8),
    "tested again at once": (BACK.replace("to: fit", "to: test"), ("tray",), 3),
    "a feeder of parts": (
        BACK.replace("  fit: {", "  fit: {takes: {nuts: 1}, ")
        .replace("stores: {", "  nutter: {cycle: 5 s}\nlines: {nuts: [nutter, nuts]}\nstores: {nuts: 2, "),
        ("box", "tray"),
        7,
    ),
}  # fmt: skip
SAFE = {
    "no limit before the fitter": BACK.replace("box: 3", "box: unlimited"),
    "no limit before the test": BACK.replace("tray: 2", "tray: unlimited"),
    "a shelf with room for all": SHELF.replace("2, shelf: 1}", "2, shelf: unlimited}"),
    "a bench of its own": BACK.replace("to: fit", "to: rework, returns_to: test").replace(
        "  pack:", "  rework: {cycle: 30 s}\n  pack:"
    ),
    "repair in place": BACK.replace("to: fit", "to: here, repair: 20 s"),
    "scrap": BACK.replace("to: fit", "to: scrap"),
    "beside the first station": BACK.replace("to: fit", "to: press"),
    "a card less": BACK + "release: cards 6\n",
    "nothing is ever rejected": BACK.replace("share: 30 %", "share: 0 %, after_rework: 50 %"),
    "another takes from the store": BACK.replace(
        "  pack:", "  saw: {cycle: 60 s, goes_to: finished}\n  pack:"
    ).replace("stores:", "lines: {cut off: [box, saw]}\nstores:"),
    "the first rejection is the last": BACK.replace("to: fit", "to: fit, attempts: 1, then: beside").replace(
        "  pack:", "  beside: {cycle: 5 s, goes_to: test}\n  pack:"
    ),
    "the first free way leads out": BACK.replace("  fit: {", "  fit: {goes_to: [tray, spares], ").replace(
        "stores: {", "  sort: {cycle: 1 s}\nlines: {spare: [spares, sort]}\nstores: {spares: unlimited, "
    ),
    "what waits too long leaves": BACK.replace("box: 3", "box: {places: 3, use_within: 5 min}"),
}


def stands_still(text: str) -> bool:
    """Whether one of five runs of 10 hours comes to a standstill."""
    runs = [SimpyRun(compile_cell(load_text(text)), 1, number) for number in range(5)]
    for run in runs:
        run.advance(10 * HOUR)
    return any(run.stalled_at >= 0 for run in runs)


@pytest.mark.parametrize("name", LOCKING)
def test_a_loop_that_can_lock_is_told_and_locks(name):
    """The caution names the test and the full stores, and the runs do come to a standstill."""
    text, stores, fewest = LOCKING[name]
    cell = load_text(text)
    (loop,) = lockable_loops(cell)
    assert (loop.test, tuple(store for store, _ in loop.stores), loop.fewest) == ("test", stores, fewest)
    (told,) = (caution for caution in cell.cautions if "can lock" in caution)
    assert told.startswith("Rework of station test can lock the cell: when ")
    assert (f"release: cards {fewest - 1}" in told) == bool(fewest)
    assert stands_still(text)


@pytest.mark.parametrize("name", SAFE)
def test_a_loop_that_cannot_lock_is_not_told_and_does_not(name):
    """No caution, and no standstill in 50 hours with a third of the units rejected."""
    cell = load_text(SAFE[name])
    assert not lockable_loops(cell)
    assert not any("can lock" in caution for caution in cell.cautions)
    assert not stands_still(SAFE[name])


@pytest.mark.parametrize("name", [name for name in LOCKING if LOCKING[name][2] and "cards" not in name])
def test_so_many_cards_end_the_lock(name):
    """The number of cards that the caution names is enough: the loop is not told again, and runs on."""
    text, _, fewest = LOCKING[name]
    text += f"release: cards {fewest - 1}\n"
    assert not lockable_loops(load_text(text))
    assert not stands_still(text)


def test_units_that_are_not_released_are_not_limited_by_cards():
    """A store of the loop that starts full: no number of cards is named."""
    stocked = BACK.replace("box: 3", "box: {places: 3, starts_with: 3}")
    (loop,) = lockable_loops(load_text(stocked + "release: cards 2\n"))
    assert loop.fewest == 0
    (told,) = (caution for caution in load_text(stocked).cautions if "can lock" in caution)
    assert told.endswith("or repair at the test (to: here).")


def test_the_whole_caution():
    """Which stores, with their places, and the remedies, those of a shelf of its own among them."""
    lines = [caution for caution in load_text(BACK).cautions if "can lock" in caution]
    assert lines == [
        "Rework of station test can lock the cell: when box (3 places) and tray (2 places) are full, test"
        " holds a rejected unit for box and nothing moves again. Give rework a store of its own with room for"
        " all (to: rework shelf, places unlimited) and a station that takes from it, or repair at the test"
        " (to: here), or limit what is inside (release: cards 6)."
    ]
    (told,) = (caution for caution in load_text(SHELF).cautions if "can lock" in caution)
    assert "when shelf (1 place) and tray (2 places) are full" in told
    assert "Give shelf room for all that can come (places unlimited)" in told
    (told,) = (c for c in load_text(BACK.replace(REJECTS, FIRST)).cautions if "can lock" in c)
    assert "for the first station and nothing" in told
    assert "(waits: beside the station)" in told


def test_the_remedy_of_a_circle_with_rework_in_it():
    """Only a circle in which a test holds a unit for the store that it rejects into has this remedy."""
    cell = load_text(BACK)
    assert remedy(cell, ["fit holds a unit for tray", "test holds a unit for box"]).startswith("Give rework")
    assert remedy(cell, ["fit holds a unit for tray", "press holds a unit for box"]) == ""


def test_a_station_beside_the_lines_takes_from_a_rework_shelf():
    """It needs no line: the resolved file names the line that begins with the shelf."""
    cell = load_text(SHELF)
    (line,) = cell.lines
    assert (line.name, line.places) == ("shelf", ("shelf", "rework"))
    (rework,) = (station for station in cell.stations if station.name == "rework")
    assert rework.takes == (("shelf", 1),)
    assert [outlet.store for outlet in rework.outlets] == ["tray"]
    assert rework.outlets[0].in_front
    assert resolved_text(load_text(resolved_text(cell))) == resolved_text(cell)
