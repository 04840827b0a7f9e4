"""Where faults arise, where they are found and put right, and which units are tested as samples."""

from __future__ import annotations

from typing import Any

from cellsim.describe.cell import Faults, Inspection
from cellsim.engine.tables import FlatCell


def add_quality(flat: FlatCell) -> None:
    """Fill in what stations do to the hidden state of units; each that makes faults has a bit of its own."""
    bits: dict[str, int] = {}
    for row, station in zip(flat.state.stations, flat.cell.stations, strict=True):
        if station.faults is not None:
            row.fault_bit = bits[station.name] = 1 << len(bits)
            _add_faults(flat, station.name, station.faults, row)
    flat.state.hidden = int(bool(bits))
    for row, station in zip(flat.state.stations, flat.cell.stations, strict=True):
        if station.mends > 0:
            row.mends, row.mend_stream = station.mends, flat.stream(station.name, "mends")
        if station.inspects is not None:
            _add_inspection(station.inspects, bits, row)
        if station.samples is not None:
            row.sample_every, row.destroys = station.samples.every, int(station.samples.destroys)


def _add_faults(flat: FlatCell, name: str, faults: Faults, row: Any) -> None:
    row.fault_share, row.fault_again = faults.share, faults.after_rework
    row.first_fault, row.listed_faults = len(flat.state.listed_faults), len(faults.listed)
    flat.state.listed_faults.extend(int(faulty) for faulty in faults.listed)
    row.fault_stream = flat.stream(name, "faults")
    row.lot_share = faults.lot_share
    if faults.lot_share > 0:
        row.lot_stream = flat.stream(name, "lot faults")


def _add_inspection(inspects: Inspection, bits: dict[str, int], row: Any) -> None:
    row.judges = row.inspects = 1
    row.finds, row.false_share = inspects.finds, inspects.false_rejects
    row.sees = sum(bits[name] for name in inspects.of if name in bits)
