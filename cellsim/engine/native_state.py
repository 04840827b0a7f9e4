"""The record of a run as memory for the compiled clock, and a view of it as plain Python rows."""

from __future__ import annotations

from typing import Any

import numpy as np

from cellsim.engine import layout as L
from cellsim.engine.model import lengths
from cellsim.engine.native_rows import ARRAYS, RECORD, SCALARS, numpy_type
from cellsim.engine.tables import FlatCell

LISTS = ("due", "path", "parts", "tries", "exits", "notes", "agenda")  # not copied from the cell
COUNTED = {"parts": "parts_made", "path": "path_count", "exits": "exit_count", "notes": "note_count"}
ROW_KINDS = dict(ARRAYS)


def packed(rows: list[Any], kind: str) -> np.ndarray:
    """Python rows as one numpy array of the same fields."""
    dtype = numpy_type(kind)
    if kind in (L.INT, L.REAL):
        return np.array(rows, dtype)
    packed = np.zeros(len(rows), dtype)
    for name, _, _ in L.FIELDS[kind] if rows else ():
        packed[name] = [getattr(row, name) for row in rows]
    return packed


class Template:
    """A flat cell packed once: what every replication begins with."""

    def __init__(self, flat: FlatCell) -> None:
        c = flat.state
        work = {name: [0] * c.cause_count for name in L.BY_CAUSE}
        work["woken"] = [0] * c.machine_count
        arrays = {
            name: packed(work.get(name) or getattr(c, name), kind)
            for name, kind in L.ARRAYS
            if name not in LISTS
        }
        self.scalars = np.zeros(1, numpy_type(RECORD))
        for name in L.SCALARS:
            self.scalars[name] = getattr(c, name)
        self.kinds = {name: array.dtype for name, array in arrays.items()}
        self.counts = {name: len(array) for name, array in arrays.items()}
        self.bytes = np.concatenate([array.view(np.uint8) for array in arrays.values()])


class NativeState:
    """The memory of one run, used again for the next replication of the same cell."""

    def __init__(self, template: Template) -> None:
        self.template = template
        self.record = template.scalars.copy()
        self._bytes = template.bytes.copy()
        self.arrays: dict[str, np.ndarray] = {}
        offset = 0
        for name, dtype in template.kinds.items():
            end = offset + dtype.itemsize * template.counts[name]
            self._point(name, self._bytes[offset:end].view(dtype))
            offset = end

    @property
    def address(self) -> int:
        """Where the record begins."""
        return int(self.record.ctypes.data)

    def _point(self, name: str, array: np.ndarray) -> None:
        self.arrays[name] = array
        self.record[name] = array.ctypes.data

    def restart(self, flat: FlatCell, seed: int, replication: int, *, trace: bool) -> None:
        """Before the first instant of a replication."""
        self._bytes[:] = self.template.bytes
        self.record.view(np.int64)[: len(SCALARS)] = self.template.scalars.view(np.int64)[: len(SCALARS)]
        self.record["tracing"] = int(trace)
        streams = self.arrays["streams"]
        streams["key1"], streams["replication"], streams["used"] = seed, replication, 0
        rows = lengths(flat.state, trace)
        for name in ("due", "path", "parts", "exits", "notes"):
            self.make_room(name, rows[name])
        self.make_room("agenda", 8 * rows["due"])
        path = self.arrays["path"]
        path["before"][0], path["cause"][0], path["end"][0], path["plan"][0] = -1, 0, 0, 0
        self.record["free_parts"] = len(self.arrays["parts"])
        self.record["agenda_most"] = len(self.arrays["agenda"])

    def make_room(self, name: str, rows: int) -> None:
        """At least so many rows in a list that grows while a run goes on."""
        have = self.arrays.get(name)
        if have is None or len(have) < rows:
            longer = np.zeros(rows, numpy_type(ROW_KINDS[name]))
            if have is not None:
                longer[: len(have)] = have
            self._point(name, longer)
            if name == "parts":
                self.record["free_parts"] += rows - (0 if have is None else len(have))
            if name == "agenda":
                self.record["agenda_most"] = rows
        if name == "parts":
            self.make_room("tries", rows * int(self.record["loops"][0]))


class View:
    """What a record says at one moment, as plain Python numbers and rows; read when asked for, and kept."""

    def __init__(self, state: NativeState) -> None:
        self._state = state
        self.__dict__.update(zip(state.record.dtype.names, state.record[0].tolist(), strict=True))
        for name in ROW_KINDS:
            del self.__dict__[name]  # addresses mean nothing here

    def __getattr__(self, name: str) -> Any:
        array = self._state.arrays.get(name)
        if array is None:
            raise AttributeError(name)
        if name in COUNTED:
            array = array[: getattr(self, COUNTED[name])]
        kind = ROW_KINDS[name]
        rows = array.tolist() if array.dtype.names is None else Lines(array, kind)
        self.__dict__[name] = rows
        return rows


class Lines:
    """Rows of one kind, made when somebody looks at them: single ones, or all where many are wanted."""

    def __init__(self, array: np.ndarray, kind: str) -> None:
        self._array, self._kind = array, kind
        self._rows: list[Any] | None = None
        self._single = 0

    def _all(self) -> list[Any]:
        if self._rows is None:
            make = L.ROWS[self._kind].of  # type: ignore[attr-defined]
            self._rows = [make(values) for values in self._array.tolist()]
        return self._rows

    def column(self, name: str) -> list[Any]:
        """One field of all rows."""
        return list(self._array[name].tolist())

    def __len__(self) -> int:
        return len(self._array)

    def __iter__(self) -> Any:
        return iter(self._all())

    def __getitem__(self, k: Any) -> Any:
        if self._rows is None and isinstance(k, int) and 8 * self._single < len(self):
            self._single += 1
            return L.ROWS[self._kind].of(self._array[k].tolist())  # type: ignore[attr-defined]
        return self._all()[k]
