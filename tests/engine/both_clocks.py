"""A run under both clocks at once, and everything in which they differ."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from cellsim.engine import layout as L
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.native_state import packed
from cellsim.engine.tables import FlatCell

# Lists that are longer than what a run has written into them: name -> the scalar that says how much it has.
WRITTEN = {
    "parts": "parts_made",
    "path": "path_count",
    "exits": "exit_count",
    "notes": "note_count",
    "due": "due_count",
    "woken": "woken_count",
}
CompiledRun.prepare()  # before a test puts something of its own in the place of a rule

# How much room the lists have is the clock's own affair.
OWN = ("free_parts",)


def differences(plain: SimpyRun, compiled: CompiledRun) -> Iterator[str]:
    """Each field of the state, line of the trace and unit out in which the two runs differ, in words."""
    c, view, arrays = plain.state, compiled.state, compiled.leftover.arrays
    for name in L.SCALARS:
        if name not in OWN and getattr(c, name) != getattr(view, name):
            yield f"{name}: {getattr(c, name)} and {getattr(view, name)}"
    for name, kind in L.ARRAYS:
        rows = getattr(c, name)
        length = getattr(c, WRITTEN[name]) if name in WRITTEN else len(rows)
        if name == "tries":
            length = c.parts_made * c.loops
        expected, found = packed(rows[:length], kind), arrays[name][:length]
        if len(found) < length:
            yield f"{name}: {length} and {len(found)} rows"
        for field in expected.dtype.names or ("",):
            a, b = (expected[field], found[field]) if field else (expected, found)
            if not np.array_equal(a, b):
                k = int(np.argwhere(a != b)[0][0])
                yield f"{name}[{k}].{field}: {a[k]} and {b[k]}"
    for name in ("exits", "notes"):
        told, twin = getattr(plain, name), getattr(compiled, name)
        if told != twin:
            k = next((k for k, pair in enumerate(zip(told, twin, strict=False)) if pair[0] != pair[1]), -1)
            yield f"{name}: {len(told)} and {len(twin)}, first different at {k}"


class BothClocks:
    """One replication under both clocks; each advance compares everything."""

    def __init__(self, flat: FlatCell, seed: int, replication: int, *, trace: bool = True) -> None:
        self.plain = SimpyRun(flat, seed, replication, trace=trace)
        self.compiled = CompiledRun(flat, seed, replication, trace=trace)

    def advance(self, until: int) -> Any:
        """Run both up to a time, the readable one first; AssertionError with all differences."""
        self.plain.advance(until)
        self.compiled.advance(until)
        self.compare()
        return self.plain

    def compare(self) -> None:
        """Everything is equal now."""
        assert self.plain.walk_back() == self.compiled.walk_back()
        assert list(differences(self.plain, self.compiled)) == []
