"""Random small cells with every behaviour that has a module of its own mixed in.

A behaviour adds itself with a function `with_topic(draw, cell)` in `with_topic.py`, which gives the cell back
with the behaviour somewhere in it, or unchanged; it is listed here.
"""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st
from small_cells import cells

from cellsim.describe.cell import Cell

EXTRAS: tuple[Callable[[st.DrawFn, Cell], Cell], ...] = ()


@st.composite
def whole_cells(draw: st.DrawFn) -> Cell:
    """A small cell, with each of the other behaviours in one case of three."""
    cell = draw(cells())
    for extra in EXTRAS:
        if draw(st.integers(0, 2)) == 0:
            cell = extra(draw, cell)
    return cell
