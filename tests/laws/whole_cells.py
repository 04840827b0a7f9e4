"""Random small cells with every behaviour that has a module of its own mixed in.

A behaviour adds itself with a function `with_topic(draw, cell)` in `with_topic.py`, which gives the cell back
with the behaviour somewhere in it, or unchanged; it is listed here.
"""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st
from small_cells import cells
from with_batches import with_batches, with_everything, with_held_units, with_variants
from with_flow import with_all_of_it, with_carriers, with_tables, with_ways

from cellsim.describe.cell import Cell

EXTRAS: tuple[Callable[[st.DrawFn, Cell], Cell], ...] = (
    with_variants,
    with_batches,
    with_held_units,
    with_everything,
    with_carriers,
    with_ways,
    with_tables,
    with_all_of_it,
)


@st.composite
def whole_cells(draw: st.DrawFn) -> Cell:
    """A small cell, with one of the other behaviours in every second case."""
    cell = draw(cells())
    chosen = draw(st.integers(0, 2 * len(EXTRAS)))
    if chosen < len(EXTRAS):
        cell = EXTRAS[chosen](draw, cell)
    return cell
