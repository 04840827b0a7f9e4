"""Hidden faults, inspections, repair in place, samples and hold areas, mixed into random small cells."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from small_cells import durations

from cellsim.describe.cell import (
    Cell,
    Element,
    Faults,
    Inspection,
    Need,
    Rejects,
    Samples,
    Station,
    Store,
)

SHARES = st.sampled_from((0.0, 0.3, 1.0))
HOLD = "hold"
Crews = tuple[tuple[Need, ...], ...]


@st.composite
def faults(draw: st.DrawFn) -> Faults:
    """Faults by chance or in order, with or without faults of whole cycles."""
    if draw(st.booleans()):
        return Faults(listed=draw(st.sampled_from(((True, False), (False, True, True)))))
    return Faults(draw(SHARES), draw(SHARES), (), draw(st.sampled_from((0.0, 0.5))))


@st.composite
def rejects_of(draw: st.DrawFn, station: Station, inspects: bool, crews: Crews) -> Rejects:
    """What becomes of rejected units: as it was, repaired here, or held; what follows the last attempt."""
    old = station.rejects or Rejects(0.4, 0.2)
    verdict = Rejects() if inspects else Rejects(old.share, old.after_rework, old.verdicts)
    attempts = draw(st.integers(1, 3))
    kind = draw(st.sampled_from(("scrap", "here", "hold", "old")))
    if kind == "scrap" or (kind == "old" and not old.to):
        return verdict
    then = draw(st.sampled_from(("", "", HOLD, *((old.to,) if old.to else ()))))
    in_front = bool(then) and draw(st.booleans())
    verdict = replace(verdict, attempts=attempts, then=then, then_in_front=in_front)
    if kind == "here":
        return replace(verdict, repair=Element("repair", draw(durations()), draw(st.sampled_from(crews))))
    if kind == "hold":
        return replace(verdict, to=HOLD)
    return replace(verdict, to=old.to, in_front=old.in_front)


def with_quality(draw: st.DrawFn, cell: Cell) -> Cell:
    """The cell with faults at some stations, and with what is done about them at others."""
    crews = ((), *{element.by for station in cell.stations for element in station.work if element.by})
    crews = tuple(sorted(crews, key=str))
    makers = tuple(station.name for station in cell.stations if draw(st.integers(0, 1)) == 0)
    found = []
    for station in cell.stations:
        what = draw(st.sampled_from(("", "", "rejects", "inspects", "inspects")))
        new = station
        if what == "inspects":
            of = tuple(name for name in makers if draw(st.integers(0, 2)) > 0) or makers
            new = replace(new, inspects=Inspection(draw(SHARES), draw(st.sampled_from((0.0, 0.2))), of))
        if what:
            new = replace(new, rejects=draw(rejects_of(station, what == "inspects", crews)))
        if station.name in makers:
            new = replace(new, faults=draw(faults()))
        if makers:
            new = replace(new, mends=draw(st.sampled_from((0.0, 0.0, 0.5, 1.0))))
        if draw(st.integers(0, 3)) == 0:
            test = Element("test of a sample", draw(durations()), draw(st.sampled_from(crews)))
            new = replace(new, samples=Samples(draw(st.integers(2, 4)), test, draw(st.booleans())))
        found.append(new)
    held = any(s.rejects and HOLD in (s.rejects.to, s.rejects.then) for s in found)
    stores = cell.stores
    if held:
        stores = tuple(
            sorted((*stores, Store(HOLD, draw(st.sampled_from((2, 3, None))))), key=lambda s: s.name)
        )
    return replace(cell, stations=tuple(found), stores=stores)
