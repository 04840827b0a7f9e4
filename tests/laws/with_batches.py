"""Batches, variants, changeovers and stores that hold units back, mixed into a small cell."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from small_cells import SECOND, durations

from cellsim.describe.cell import (
    Batch,
    Cell,
    Changeover,
    Law,
    Need,
    Sequence,
    Station,
    Store,
    Variant,
)

NAMES = ("A", "B", "C")


def with_variants(draw: st.DrawFn, cell: Cell) -> Cell:
    """Two or three variants in some order, with their own times and changeovers at some stations."""
    names = NAMES[: draw(st.integers(2, 3))]
    shares = draw(st.lists(st.integers(1, 3), min_size=len(names), max_size=len(names)))
    variants = tuple(Variant(n, share / sum(shares)) for n, share in zip(names, shares, strict=True))
    order = draw(st.sampled_from(("in ratio", "at random", "campaigns")))
    campaigns: tuple[tuple[str, int], ...] = ()
    if order == "campaigns":
        campaigns = tuple((name, draw(st.integers(1, 4))) for name in names)
    as_much = cell.release.kind == "as much as it takes"
    line_empties = order == "campaigns" and as_much and draw(st.integers(0, 3)) == 0
    crew = tuple(post.name for post in cell.posts)
    stations = tuple(_varied(draw, station, names, crew) for station in cell.stations)
    sequence = Sequence(order, campaigns, line_empties)
    return replace(cell, variants=variants, sequence=sequence, stations=stations)


def _varied(draw: st.DrawFn, station: Station, names: tuple[str, ...], crew: tuple[str, ...]) -> Station:
    work = tuple(
        replace(element, by_variant=tuple((name, draw(durations(1, 6))) for name in names))
        if draw(st.integers(0, 2)) == 0
        else element
        for element in station.work
    )
    changeover = None
    if draw(st.integers(0, 2)) == 0:
        pairs = [(a, b) for a in names for b in names if a != b and draw(st.integers(0, 3)) > 0]
        by = (Need(draw(st.sampled_from(crew))),) if crew and draw(st.booleans()) else ()
        times: tuple[tuple[str, str, Law], ...] = tuple((a, b, draw(durations(1, 8))) for a, b in pairs)
        approval = draw(durations(1, 3)) if draw(st.integers(0, 3)) == 0 else None
        changeover = Changeover(times, by, draw(st.booleans()), approval, by if approval else ())
    work = tuple(replace(e, time=e.by_variant[0][1]) if e.by_variant else e for e in work)
    return replace(station, work=work, changeover=changeover)


def with_batches(draw: st.DrawFn, cell: Cell) -> Cell:
    """Batches at some stations that take one unit at a time."""
    rooms = {store.name: store.places for store in cell.stores}
    return replace(cell, stations=tuple(_batched(draw, station, rooms) for station in cell.stations))


def _batched(draw: st.DrawFn, station: Station, rooms: dict[str, int | None]) -> Station:
    store, count = station.takes[0]
    most = min(4, rooms.get(store) or 4, *((rooms.get(o.store) or 4) for o in station.outlets))
    if station.gives > 1 or count > 1 or station.rejects or most < 2 or draw(st.integers(0, 1)) == 0:
        return station
    size = draw(st.integers(1, most))
    waits = draw(st.sampled_from((None, 0, 3 * SECOND, 10 * SECOND)))
    starts_at = tuple(sorted(set(draw(st.lists(st.integers(0, 90), max_size=3)))))
    at_least = draw(st.integers(1, size)) if waits is not None or starts_at else size
    mixed = draw(st.booleans())
    return replace(station, batch=Batch(size, at_least, waits, tuple(t * SECOND for t in starts_at), mixed))


def with_held_units(draw: st.DrawFn, cell: Cell) -> Cell:
    """Stores that give the last unit first, hold units back, lose them, or move them in trays."""
    return replace(cell, stores=tuple(_holding(draw, store) for store in cell.stores))


def _holding(draw: st.DrawFn, store: Store) -> Store:
    kind = draw(st.sampled_from(("", "order", "stays", "transit", "window", "both", "tray")))
    if store.places == 0 or not kind:
        return store
    if kind == "order":
        return replace(store, last_in_first_out=True)
    if kind in ("stays", "transit"):
        return replace(store, **{kind: draw(st.integers(1, 8)) * SECOND})
    if kind == "tray":
        tray = draw(st.integers(1, 3))
        if store.places is not None and store.places % tray:
            return store
        waits = draw(st.sampled_from((None, 0, 4 * SECOND)))
        return replace(store, tray=tray, tray_waits=waits)
    stays = draw(st.integers(1, 5)) * SECOND if kind == "both" else 0
    return replace(store, stays=stays, use_within=stays + draw(st.integers(1, 6)) * SECOND)


def with_everything(draw: st.DrawFn, cell: Cell) -> Cell:
    """All of these at once."""
    return with_held_units(draw, with_batches(draw, with_variants(draw, cell)))
