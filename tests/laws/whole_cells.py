"""Random small cells with every behaviour that has a module of its own mixed in.

A behaviour adds itself with a function `with_topic(draw, cell)` in `with_topic.py`, which gives the cell back
with the behaviour somewhere in it, or unchanged; it is listed here.
"""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st
from small_cells import cells
from with_batches import with_batches, with_everything, with_held_units, with_variants
from with_flow import with_carriers, with_flow, with_tables, with_ways
from with_material import with_material
from with_people import with_people
from with_quality import with_quality
from with_robots import with_robots
from with_stops import with_stops

from cellsim.describe.cell import Cell

EXTRAS: tuple[Callable[[st.DrawFn, Cell], Cell], ...] = (
    with_variants,
    with_batches,
    with_held_units,
    with_quality,
    with_everything,
    with_people,
    with_stops,
    with_material,
    with_robots,
    with_carriers,
    with_ways,
    with_tables,
    with_flow,
)


@st.composite
def whole_cells(draw: st.DrawFn) -> Cell:
    """A small cell, with one of the other behaviours in every second case."""
    cell = draw(cells())
    chosen = draw(st.integers(0, 2 * len(EXTRAS)))
    if chosen < len(EXTRAS):
        cell = EXTRAS[chosen](draw, cell)
    return cell
