"""numba types for the record of a run: `c.machines[i].state` becomes one load from memory.

A `Row` is a pointer to one row of a kind, `Rows` a pointer to the first of many.  The fields of each kind
come from the tables of `layout`; every field is one 8-byte word, or that many of them in a row.  The record
itself is a row of kind `RECORD`: its scalars, then one pointer for each of its arrays.  So the compiled code
does not depend on how many stations, steps or people a cell has.

Nothing checks an index here: the rules must keep to the rows there are, as `tests/laws` makes sure.
"""

from __future__ import annotations

import operator
from typing import Any

import numpy as np
from llvmlite import ir
from numba.core import types
from numba.core.extending import intrinsic, models, register_model
from numba.core.imputils import lower_builtin, lower_getattr_generic, lower_setattr_generic
from numba.core.typing.templates import (
    AbstractTemplate,
    AttributeTemplate,
    infer_getattr,
    infer_global,
    signature,
)

from cellsim.engine import layout as L

RECORD = "record"
WORD = 8  # bytes
NUMBERS = {L.INT: types.int64, L.REAL: types.float64, "u8": types.uint64}
POINTER = -1  # in the place of a length: the field is a pointer to rows

# What the compiled clock keeps beside the record of the rules: the due events in order of time.
AGENDA = [("at", L.INT, 0), ("key", L.INT, 0), ("version", L.INT, 0)]
CLOCK_SCALARS = ("agenda_count", "agenda_most", "serial", "settled")
KINDS = {**L.FIELDS, "agenda": AGENDA}
ARRAYS = (*L.ARRAYS, ("agenda", "agenda"))
SCALARS = (*L.SCALARS, *CLOCK_SCALARS)


def _places() -> dict[str, dict[str, tuple[int, str, int]]]:
    """For each kind of row: field -> (offset in bytes, what is there, length)."""
    fields = {
        **KINDS,
        RECORD: [(name, L.INT, 0) for name in SCALARS] + [(name, kind, POINTER) for name, kind in ARRAYS],
    }
    places: dict[str, dict[str, tuple[int, str, int]]] = {}
    for kind, listed in fields.items():
        offset, places[kind] = 0, {}
        for name, code, length in listed:
            places[kind][name] = offset, code, length
            offset += WORD * max(1, length)
    return places


PLACES = _places()


def numpy_type(kind: str) -> np.dtype[Any]:
    """The numpy type of one row of a kind, or of a plain number."""
    if kind in NUMBERS:
        return np.dtype(kind)
    if kind == RECORD:
        return np.dtype([(name, "i8") for name in (*SCALARS, *(name for name, _ in ARRAYS))])
    return np.dtype(
        [(name, code, (length,)) if length else (name, code) for name, code, length in KINDS[kind]]
    )


# Fields that some rule writes, of rows of any kind; all others are what the cell says (filled by `twins`).
WRITTEN: set[str] = set()


class Row(types.Type):
    """A pointer to one row of a kind."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(name=f"cellsim.row({kind})")


class Rows(types.Type):
    """A pointer to the first of many rows of a kind, or of many plain numbers."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(name=f"cellsim.rows({kind})")


register_model(Row)(models.OpaqueModel)
register_model(Rows)(models.OpaqueModel)

_BYTE, _INDEX = ir.IntType(8), ir.IntType(64)


def _element(kind: str) -> types.Type:
    return NUMBERS[kind] if kind in NUMBERS else Row(kind)


@infer_getattr
class RowFields(AttributeTemplate):
    """The type of a field of a row."""

    key = Row

    def generic_resolve(self, row: Row, attr: str) -> types.Type | None:
        if attr not in PLACES[row.kind]:
            return None
        _, code, length = PLACES[row.kind][attr]
        return NUMBERS[code] if length == 0 else Rows(code)


@infer_global(operator.getitem)
class RowsRead(AbstractTemplate):
    """`rows[i]` is a row, or a number."""

    def generic(self, args: Any, kws: Any) -> Any:
        rows, index = args
        if isinstance(rows, Rows) and isinstance(index, types.Integer):
            return signature(_element(rows.kind), rows, types.int64)
        return None


@infer_global(operator.setitem)
class RowsWritten(AbstractTemplate):
    """`rows[i] = x` for plain numbers."""

    def generic(self, args: Any, kws: Any) -> Any:
        rows, index, _ = args
        if isinstance(rows, Rows) and rows.kind in NUMBERS and isinstance(index, types.Integer):
            return signature(types.none, rows, types.int64, NUMBERS[rows.kind])
        return None


def _bytes_on(builder: Any, pointer: Any, offset: Any) -> Any:
    return builder.gep(pointer, [offset], inbounds=True)


def _word(context: Any, builder: Any, pointer: Any, offset: Any, kind: str) -> Any:
    at = _bytes_on(builder, pointer, offset)
    return builder.bitcast(at, context.get_value_type(NUMBERS[kind]).as_pointer())


def _told_apart(builder: Any, access: Any, name: str) -> Any:
    """Tell LLVM that what is read or written here lies apart from every field of another name."""
    module = builder.module
    root = module.add_metadata(["cellsim"])
    field = module.add_metadata([name, root, ir.Constant(_INDEX, 0)])
    access.set_metadata("tbaa", module.add_metadata([field, field, ir.Constant(_INDEX, 0)]))
    return access


def _never_changes(builder: Any, load: Any) -> Any:
    """Tell LLVM that what is read here is the same whenever it is read."""
    load.set_metadata("invariant.load", builder.module.add_metadata([]))
    return load


@lower_getattr_generic(Row)
def read_field(context: Any, builder: Any, row: Row, value: Any, attr: str) -> Any:
    """The value of a field: a number, or where its rows begin."""
    offset, code, length = PLACES[row.kind][attr]
    place = ir.Constant(_INDEX, offset)
    if length == 0:
        number = builder.load(_word(context, builder, value, place, code))
        if attr in WRITTEN:
            return _told_apart(builder, number, f"{row.kind}.{attr}")
        return _never_changes(builder, number)
    if length != POINTER:
        return _bytes_on(builder, value, place)
    at = builder.bitcast(_bytes_on(builder, value, place), _BYTE.as_pointer().as_pointer())
    return _never_changes(builder, builder.load(at))  # rows move only between calls


@lower_setattr_generic(Row)
def write_field(context: Any, builder: Any, sig: Any, args: Any, attr: str) -> None:
    """A field that is a single number gets a new value."""
    row, written = sig.args
    offset, code, _ = PLACES[row.kind][attr]
    value = context.cast(builder, args[1], written, NUMBERS[code])
    stored = builder.store(value, _word(context, builder, args[0], ir.Constant(_INDEX, offset), code))
    _told_apart(builder, stored, f"{row.kind}.{attr}")


def _row_at(builder: Any, rows: Rows, pointer: Any, index: Any) -> Any:
    size = numpy_type(rows.kind).itemsize
    return _bytes_on(builder, pointer, builder.mul(index, ir.Constant(_INDEX, size)))


@lower_builtin(operator.getitem, Rows, types.Integer)
def read_item(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    """Row `i`, or number `i`."""
    rows = sig.args[0]
    at = _row_at(builder, rows, *args)
    if rows.kind in NUMBERS:
        number = builder.bitcast(at, context.get_value_type(NUMBERS[rows.kind]).as_pointer())
        return _told_apart(builder, builder.load(number), f"numbers.{rows.kind}")
    return at


@lower_builtin(operator.setitem, Rows, types.Integer, types.Any)
def write_item(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    """Number `i` gets a new value."""
    rows, _, written = sig.args
    target = NUMBERS[rows.kind]
    at = builder.bitcast(_row_at(builder, rows, *args[:2]), context.get_value_type(target).as_pointer())
    _told_apart(
        builder, builder.store(context.cast(builder, args[2], written, target), at), f"numbers.{rows.kind}"
    )
    return context.get_dummy_value()


@intrinsic
def record_at(typing_context: Any, address: Any) -> Any:
    """The record of a run that begins at a memory address."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.inttoptr(args[0], _BYTE.as_pointer())

    return Row(RECORD)(types.int64), code


@intrinsic
def high_word(typing_context: Any, x: Any, y: Any) -> Any:
    """`draws.high_word` as the processor does it: the upper half of a product of two 64-bit words."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        wide = ir.IntType(128)
        product = builder.mul(*(builder.zext(word, wide) for word in args))
        return builder.trunc(builder.lshr(product, ir.Constant(wide, 64)), _INDEX)

    return types.uint64(types.uint64, types.uint64), code
