"""How often a night of `cellsim nightly` fails by chance alone, and how surely it finds a slowdown of 2 %.

    python tests/benchmarks/nights.py [--nights N] [--slowdowns N] [--cell FILE]...

A night runs all cells as the command does.  Unchanged nights have another seed each and are held against the
night before, so they share no luck; a night fails when any figure of any cell does.  Slower cells, every
work element 2 % longer, are run with the luck of what was accepted, a seed for each.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the package of this folder
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "laws"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "engine"))

from goals import share, show
from scaled_cells import scaled_law

from cellsim.describe.cell import Cell, Element
from cellsim.describe.resolve import load
from cellsim.engine.clocks import COMPILED
from cellsim.evidence.nightly import LOOKS, MARGINS, REPLICATIONS, Baseline, Night, judged, measured
from cellsim.study.runner import Runner

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
CELLS = ("spinning_top", "bicycle_bell", "tape_measure", "kitchen_timer", "bicycle_light")
SLOWER = Fraction(102, 100)
WIDEST_ALARM, FOUND = 1.0, 95.0  # per cent


def slower(cell: Cell, by: Fraction = SLOWER) -> Cell:
    """The cell with the time of every work element so much longer; stops, breaks and travel stay."""
    stations = tuple(
        replace(station, work=tuple(_longer(element, by) for element in station.work))
        for station in cell.stations
    )
    return replace(cell, stations=stations)


def _longer(element: Element, by: Fraction) -> Element:
    by_variant = tuple((variant, scaled_law(law, by)) for variant, law in element.by_variant)
    return replace(element, time=scaled_law(element.time, by), by_variant=by_variant)


def unchanged(
    runner: Runner, cells: Sequence[Cell], nights: int, replications: int = REPLICATIONS
) -> list[list[Night]]:
    """What each unchanged night says of every cell; night k has the seed k and is held against k - 1."""
    found: list[list[Night]] = []
    before = [_taken(runner, cell, 0, LOOKS[-1] * replications) for cell in cells]
    for seed in range(1, nights + 1):
        after = [_taken(runner, cell, seed, LOOKS[-1] * replications) for cell in cells]
        found.append([_last_look(old, new, replications) for old, new in zip(before, after, strict=True)])
        before = after
    return found


def _taken(runner: Runner, cell: Cell, seed: int, replications: int) -> Baseline:
    return measured(cell, cell.name, runner, seed, replications)[0]


def _last_look(old: Baseline, new: Baseline, first: int) -> Night:
    """The verdict of the first look that can tell, or of the last one, as the command has it."""
    for times in LOOKS:
        night = judged(
            old, replace(new, values={key: row[: times * first] for key, row in new.values.items()})
        )
        if not night.open:
            break
    return night


def slowed(runner: Runner, cell: Cell, nights: int, replications: int = REPLICATIONS) -> list[Night]:
    """What nights say of a cell whose work takes longer than that which was accepted."""
    changed = slower(cell)
    found = []
    for seed in range(nights):
        for times in LOOKS:
            night = judged(*(_taken(runner, one, seed, times * replications) for one in (cell, changed)))
            if not night.open:
                break
        found.append(night)
    return found


def main(arguments: list[str] | None = None) -> int:
    """Run the nights and print how many failed."""
    parser = argparse.ArgumentParser(description="Count false alarms of nights, and slowdowns found.")
    parser.add_argument("--nights", type=int, default=1000, metavar="N", help="unchanged nights (1000)")
    parser.add_argument("--slowdowns", type=int, default=100, metavar="N", help="of each cell (100)")
    parser.add_argument("--cell", type=Path, action="append", metavar="FILE", help="cells of the night")
    given = parser.parse_args(arguments)
    paths = given.cell or [SCENARIOS / f"{name}.yaml" for name in CELLS]
    cells = [load(path) for path in paths]
    with Runner(clock=COMPILED) as runner:
        for cell in cells if given.slowdowns else ():
            found = slowed(runner, cell, given.slowdowns)
            hits = sum(night.failed for night in found)
            moves = [night.figures["output_per_hour"] for night in found]
            less = -sum(move.mean / move.margin for move in moves) / len(moves) * MARGINS["output_per_hour"]
            what = f"nights that find {cell.name} 2 % slower, which makes {100 * less:.1f} % less"
            show(share(f"found_{cell.name.replace(' ', '_').lower()}", hits, len(found), what, FOUND, 100.0))
        if given.nights:
            nights = unchanged(runner, cells, given.nights)
            failed = sum(any(one.failed for one in night) for night in nights)
            what = f"unchanged nights of {len(cells)} cells with another seed that fail"
            show(share("false_alarms", failed, len(nights), what, high=WIDEST_ALARM))
    return 0


if __name__ == "__main__":
    sys.exit(main())
