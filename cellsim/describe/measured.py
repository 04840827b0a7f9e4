"""Measured times from a file that stands beside the cell file."""

from __future__ import annotations

import csv
import io
import re
import stat
from decimal import Decimal
from pathlib import Path, PurePosixPath, PureWindowsPath

from cellsim import units
from cellsim.units import UnitError, nearest, quoted

MOST_BYTES = 5_000_000
MOST_TIMES = 20_000
_WORDS = {
    "seconds": "s",
    "second": "s",
    "sec": "s",
    "minutes": "min",
    "minute": "min",
    "hours": "h",
    "hour": "h",
    "milliseconds": "ms",
    "microseconds": "us",
    "days": "d",
    "tmu": "TMU",
}


def read_times(folder: Path | None, name: str, column: str, unit: str) -> tuple[int, ...]:
    """The times in one column of a CSV file in whole microseconds, in the order of the file.

    `column` is a heading (may be empty when there is one column), `unit` the unit where the heading does not
    say it.  Cells may be separated by commas, semicolons or tabs; with semicolons or tabs a decimal comma is
    read as such.  Raises UnitError for a file outside `folder`, one of over 5 MB, and every value that is no
    time.
    """
    headings, rows, mark = _table(folder, name)
    where = column_of(name, headings, column)
    size = units.UNITS["time"][_unit_of(name, headings[where], unit)]
    times: list[int] = []
    for number, row in enumerate(rows, start=2):
        cell = row[where].strip() if where < len(row) else ""
        if cell:
            times.append(_time(name, number, cell, size, decimal_comma=mark != ","))
        elif any(other.strip() for other in row):
            raise UnitError(
                f"{quoted(name)} line {number}: there is no time in column {quoted(headings[where])}"
            )
    if not times:
        raise UnitError(f"{quoted(name)} holds no times")
    if len(times) > MOST_TIMES:
        raise UnitError(
            f"{quoted(name)} holds {len(times)} times; at most {MOST_TIMES} are used, take a sample"
        )
    return tuple(times)


def read_table(folder: Path | None, name: str) -> tuple[list[str], list[list[str]]]:
    """The headings and the other rows of a CSV file; raises UnitError as `read_times` does."""
    headings, rows, _ = _table(folder, name)
    return headings, rows


def _table(folder: Path | None, name: str) -> tuple[list[str], list[list[str]], str]:
    """Headings, rows, and the mark between cells."""
    text = _read(folder, name)
    first = text.split("\n", 1)[0]
    mark = ";" if ";" in first else "\t" if "\t" in first else ","
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise UnitError(f"{quoted(name)} cannot be read as a table ({error})") from None
    headings = [heading.strip() for heading in rows[0]] if rows else []
    return headings, rows[1:], mark


def _read(folder: Path | None, name: str) -> str:
    if folder is None:
        raise UnitError(f"{quoted(name)} cannot be read: this text has no folder; give the times as a list")
    parts = [*PurePosixPath(name).parts, *PureWindowsPath(name).parts]
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).anchor or ".." in parts or "\0" in name:
        raise UnitError(f"{quoted(name)} lies outside the folder of the cell file; only files in it are read")
    try:
        home = folder.resolve()
        file = (home / name).resolve()
        if not file.is_relative_to(home):
            raise UnitError(
                f"{quoted(name)} leads outside the folder of the cell file; only files in it are read"
            )
        state = file.stat()
        if not stat.S_ISREG(state.st_mode):
            raise UnitError(f"{quoted(name)} is not a file")
        if state.st_size > MOST_BYTES:
            raise UnitError(f"{quoted(name)} has {state.st_size} bytes; at most {MOST_BYTES} are read")
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES)
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError:
        raise UnitError(f"{quoted(name)} is not UTF-8; save it as UTF-8") from None
    except (OSError, RuntimeError) as error:
        raise UnitError(
            f"{quoted(name)} cannot be read ({getattr(error, 'strerror', '') or error})"
        ) from None


def column_of(name: str, headings: list[str], column: str) -> int:
    """Index of the column with a heading; of the only column where none is named."""
    if column:
        if column in headings:
            return headings.index(column)
        near = nearest(column, headings)
        advice = f'did you mean "{near}"?' if near else f"its columns are {', '.join(headings)[:200]}"
        raise UnitError(f"{quoted(name)} has no column {quoted(column)}; {advice}")
    if len(headings) > 1:
        raise UnitError(f"{quoted(name)} has {len(headings)} columns; name one: column: {headings[0][:40]}")
    if not headings:
        raise UnitError(f"{quoted(name)} is empty; its first line is a heading such as seconds")
    return 0


def _unit_of(name: str, heading: str, unit: str) -> str:
    """The unit that the last word of the heading says (`time [s]`, `cycle_min`, `seconds`), or the given."""
    words = re.findall(r"[A-Za-zµ]+", heading)
    last = words[-1] if words else ""
    said = last if last in units.UNITS["time"] else _WORDS.get(last.casefold(), "")
    if said and unit and said != unit:
        raise UnitError(f"the heading {quoted(heading)} of {quoted(name)} says {said}, but unit says {unit}")
    if not said and not unit:
        raise UnitError(f"the heading {quoted(heading)} of {quoted(name)} says no unit; add unit: s")
    return said or unit


def _time(name: str, number: int, cell: str, size: Decimal, decimal_comma: bool) -> int:
    try:
        value = units.parse_number(cell.replace(",", ".") if decimal_comma else cell) * size
    except UnitError:
        raise UnitError(f"{quoted(name)} line {number}: {quoted(cell)} is not a number") from None
    if not 0 <= value <= units.LONGEST:
        raise UnitError(f"{quoted(name)} line {number}: {quoted(cell)} is not between 0 s and 100 years")
    return int(value.to_integral_value())
