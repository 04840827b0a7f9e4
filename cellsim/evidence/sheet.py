"""Stopwatch sheets as the shop floor writes them: cycles by element, and all that was not taken as it is.

Nothing is dropped silently: empty readings, summary rows, columns not used and lines left out are listed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from cellsim.errors import Mistake, UsageError
from cellsim.evidence.records import (
    SECONDS,
    Records,
    Row,
    Table,
    find_table,
    records_of,
    tell_leave_out,
)
from cellsim.evidence.sheet_columns import (
    COLUMNS,
    Spare,
    columns_of,
    says_unit,
    spare_columns,
    telling_apart,
)
from cellsim.evidence.values import decimal_mark, numbers, seconds_in
from cellsim.units import quoted

EMPTY = frozenset(
    ("", "-", "--", "\N{EN DASH}", "\N{EM DASH}", "/", "?", "n/a", "na", "n.a.", "none", "not read")
    + ("no reading", "not measured", "not timed", "missed", "missing")
)
MOST_EMPTY = 0.5  # share of readings beyond which the sheet is refused
SHOWN = 8  # lines that a remark names
RATINGS = (30.0, 300.0)  # per cent; beyond it a rating is a slip of the pen (common practice, no source)
Key = tuple[str, str]  # station (empty where the sheet says none) and element


@dataclass(frozen=True, slots=True)
class Cycle:
    """One measured time: line of the file, seconds as read, rating (1 = normal), who did it, remark.

    `column` numbers the reading among those of its line, empty where a line has one.
    """

    line: int
    seconds: float
    rating: float = 1.0
    operator: str = ""
    remark: str = ""
    column: str = ""

    @property
    def normal(self) -> float:
        """Seconds at normal pace: observed x rating."""
        return self.seconds * self.rating

    @property
    def leave_out(self) -> str:
        """How `--leave-out` names this reading."""
        return f"{self.line}:{self.column}" if self.column else str(self.line)


@dataclass
class Sheet:
    """A sheet as it was read: cycles and cycles left out as asked by station and element, in the order of the
    file; whether anything was rated; columns not used; what was changed or not taken, in words."""

    file: str
    cycles: dict[Key, list[Cycle]]
    left_out: dict[Key, list[Cycle]]
    rated: bool
    spare: list[Spare]
    repairs: list[str]


@dataclass
class _Reading:
    """One place of a sheet where a time stands: its row, the column's name, the number of the reading."""

    row: Row
    name: str
    column: str
    seconds: float = math.nan


@dataclass(frozen=True, slots=True)
class _How:
    """How times are read: in which columns, whether side by side, their unit and mark of decimals."""

    names: list[str]
    wide: bool
    unit: str
    mark: str


@dataclass
class _Asked:
    """What is to be left out: whole lines, and single readings as line and number."""

    lines: set[int] = field(default_factory=set)
    readings: set[tuple[int, str]] = field(default_factory=set)


def read_sheet(
    path: Path, unit: str = "", decimal: str = "", delimiter: str = "", leave_out: Iterable[int | str] = ()
) -> Sheet:
    """Read a sheet: a row for each cycle, or a row for each element with cycles in columns 1, 2, 3, ...

    Args:
        unit: of times where headings do not say it; `decimal`, `delimiter` where the file leaves them open.
        leave_out: lines not to use, or single readings of a line as `2:5` (line 2, cycle 5).

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    asked = _asked(leave_out)
    table = find_table(path, COLUMNS, delimiter, asked.lines)
    rounds = table.numbered()
    records = records_of(table, columns_of(table))
    _check_asked(records, asked, rounds)
    _without_summaries(records)
    if not rounds:
        _repeats(records)
    if not records.has("element"):
        _check_one_element(table, records, bool(rounds))
        records.repairs.append("no column says the element; each station is one element of its name")
    if rounds and unit not in SECONDS and not any(says_unit(text) for text in rounds.values()):
        records.wrong(
            None, next(iter(rounds)), "the headings say no unit of time", "give it with --unit s, min or cmin"
        )
    records.stop_if_wrong()
    names, wide = list(rounds) or ["time"], bool(rounds)
    readings = _readings(records, names, wide, asked)
    mark = decimal or decimal_mark([r.row[r.name] for r in readings], records.delimiter)
    how = _How(names, wide, unit, mark)
    _read_times(records, readings, how)
    ratings, rated = _ratings(records, decimal, {reading.row.line for reading in readings}, wide)
    cycles: dict[Key, list[Cycle]] = {}
    for reading in readings:
        row = reading.row
        for name in ("element", "station"):
            if records.has(name) and not row[name]:
                article = "the name of a work element" if name == "element" else "a station"
                records.wrong(row, name, f"this cell is empty; wanted is {article}")
        cycles.setdefault(_key(records, row), []).append(_cycle(reading, ratings[row.line]))
    tell_leave_out(records)
    records.stop_if_wrong()
    if not cycles:
        raise UsageError(f"{path.name} holds no cycle")
    left_out = _left_out(records, asked, how, cycles, ratings)
    return Sheet(records.file, cycles, left_out, rated, spare_columns(records), records.repairs)


def listed(places: Sequence[str]) -> str:
    """Places of a sheet in a row, the first ones and how many more."""
    rest = f" and {len(places) - SHOWN} more" if len(places) > SHOWN else ""
    return ", ".join(places[:SHOWN]) + rest


def place_of(line: int, column: str) -> str:
    """Where a reading stands, in words."""
    return f"line {line} cycle {column}" if column else f"line {line}"


def remark_of(remark: str, column: str) -> str:
    """The remark beside a reading, in brackets; where readings stand side by side it is that of the line."""
    if not remark:
        return ""
    return f" (remark of the line: {remark})" if column else f" ({remark})"


def _asked(leave_out: Iterable[int | str]) -> _Asked:
    found = _Asked()
    for text in leave_out:
        line, mark, column = str(text).strip().partition(":")
        if not line.strip().isdigit() or (mark and not column.strip().isdigit()):
            raise UsageError(f'"{text}" is no line such as 7, and no line and cycle such as 2:5')
        if mark:
            found.readings.add((int(line), str(int(column))))
        else:
            found.lines.add(int(line))
    return found


def _check_asked(records: Records, asked: _Asked, rounds: Mapping[str, str]) -> None:
    """Whether there is something in the lines and readings that are to be left out."""
    for line in sorted(asked.lines - {row.line for row in records.aside}):
        raise UsageError(f"{records.file} has no time in line {line}; nothing was left out")
    lines = {row.line for row in records.rows}
    for line, column in sorted(asked.readings):
        if not rounds:
            raise UsageError(
                f"{records.file} has one time in a line; leave out line {line} without :{column}"
            )
        if line not in lines or column not in rounds:
            raise UsageError(f"{records.file} has no time in {place_of(line, column)}; nothing was left out")


def _check_one_element(table: Table, records: Records, wide: bool) -> None:
    """Where no column says the element, whether the rows of a station can be of one element at all.

    They cannot where a column that was not used tells them apart, nor where each row has its cycles side by
    side; the mistake says which column may be the element.
    """
    stations = {row.line: row["station"] for row in records.rows if row["station"]}
    rows = Counter(stations.values())
    many = next((line for line, name in stations.items() if rows[name] > 1), 0)
    if column := telling_apart(table, records, stations):
        name = f'column {column.place} "{column.heading}"' if column.heading else f"column {column.place}"
        message = f"no column says the element; is {name} the element? head it element"
        hint = "" if wide else "if it is not, head it operator or remark, or take it out"
        records.mistakes.append(Mistake(records.file, records.line, column.place, "", message, hint))
    elif wide and many:
        message = f"{quoted(stations[many])} has {rows[stations[many]]} lines, and no column says the element"
        hint = "a line with cycles side by side is an element; give the lines a column headed element"
        records.mistakes.append(Mistake(records.file, many, records.places["station"], "", message, hint))


def _key(records: Records, row: Row) -> Key:
    return row["station"], row["element" if records.has("element") else "station"]


def _without_summaries(records: Records) -> None:
    """Rows of means and sums are left out: such a word is the element, or stands in a row without one."""

    def texts_of(row: Row) -> list[str]:
        named = row["element"] or row["station"]
        whole = named and (row["element"] or not records.has("element"))
        return [named] if whole else list(row.texts.values())

    records.leave_out_summaries(texts_of)


def _repeats(records: Records) -> None:
    """The same row once more: kept where cycles are not numbered, left out where they are."""
    seen: dict[tuple[tuple[str, str], ...], int] = {}
    kept = []
    for row in records.rows:
        key = tuple(sorted(row.texts.items()))
        if row["cycle"] and key in seen:
            records.repaired(row, f"the same as line {seen[key]}; left out")
            continue
        seen.setdefault(key, row.line)
        kept.append(row)
    records.rows = kept


def _readings(records: Records, names: Sequence[str], wide: bool, asked: _Asked) -> list[_Reading]:
    """The readings to use, in the order of the file; empty ones are listed.

    Cells behind the last one filled of a line with cycles side by side may be cycles that were never to be
    timed; they are listed, but do not count as missed.

    Raises:
        UsageError: more than half are missed.
    """
    found, empty, count, missed = [], [], 0, 0
    for row in records.rows:
        last = max((k for k, name in enumerate(names) if row[name] or not wide), default=-1)
        for k, name in enumerate(names):
            column = name if wide else ""
            if (row.line, column) in asked.readings:
                continue
            count += k <= last
            text = " ".join(row[name].casefold().split())
            if text in EMPTY and _key(records, row)[1]:
                missed += k <= last
                why = row["remark"] or ("" if wide else row[name])
                empty.append(place_of(row.line, column) + remark_of(why, column))
            else:
                found.append(_Reading(row, name, column))
    if missed > MOST_EMPTY * count:
        raise UsageError(
            f"{records.file}: {missed} of {count} readings are empty ({listed(empty)}); more than half is"
            " too many. Look whether this is the column of times"
        )
    if empty:
        told = "1 reading is empty" if len(empty) == 1 else f"{len(empty)} readings are empty"
        records.repairs.append(f"{told} and left out: {listed(empty)}")
    there = {_key(records, reading.row) for reading in found}
    for row in records.rows:
        key = _key(records, row)
        if key[1] and key not in there:
            there.add(key)
            records.repaired(row, f"{key[1]} has no reading that is used and is not among the elements")
    return found


def _read_times(records: Records, readings: Sequence[_Reading], how: _How) -> None:
    """Fill in the seconds of readings, column by column; mistakes are noted in the records."""
    given = records.rows
    for name in how.names:
        own = [reading for reading in readings if reading.name == name]
        records.rows = [reading.row for reading in own]
        if own:
            for reading, value in zip(own, seconds_in(records, name, how.unit, how.mark), strict=False):
                reading.seconds = value
    records.rows = given


def _cycle(reading: _Reading, rating: float) -> Cycle:
    row = reading.row
    return Cycle(row.line, reading.seconds, rating, row["operator"], row["remark"], reading.column)


def _left_out(
    records: Records,
    asked: _Asked,
    how: _How,
    cycles: Mapping[Key, Sequence[Cycle]],
    ratings: Mapping[int, float],
) -> dict[Key, list[Cycle]]:
    """What was left out as asked, by element; lines that are no cycle of an element are listed."""
    found: dict[Key, list[Cycle]] = {}
    aside = [(row, name, False) for row in records.aside for name in how.names]
    aside += [
        (row, name, True) for row in records.rows for name in how.names if (row.line, name) in asked.readings
    ]
    told = set()
    for row, name, single in aside:
        column = name if how.wide else ""
        own = replace(records, rows=[row], mistakes=[], repairs=[])
        values = seconds_in(own, name, how.unit, how.mark)
        if values and not own.mistakes and _key(records, row) in cycles:
            reading = _Reading(row, name, column, values[0])
            found.setdefault(_key(records, row), []).append(_cycle(reading, ratings.get(row.line, 1.0)))
        elif single or row.line not in told:
            told.add(row.line)
            where = place_of(row.line, column if single else "")
            records.repairs.append(f"{where} was left out as asked")
    return found


def _ratings(records: Records, decimal: str, used: set[int], wide: bool) -> tuple[dict[int, float], bool]:
    """Ratings as factors by line, and whether there is any; they are in per cent, or factors where none is
    above 3, not both in one sheet.  Lines that are `used` and have none are listed.
    Ratings of lines left out as asked are read as far as they can be."""
    if not records.has("rating"):
        return dict.fromkeys((row.line for row in records.rows), 1.0), False
    values = _percents(records, records.rows, decimal)
    rated = [value for value in values if not math.isnan(value)]
    missing = [f"line {row.line}" for row in records.rows if row.line in used and not row["rating"]]
    if missing and rated:
        what = "line" if wide else "cycle"
        one, more = f"1 {what} has no rating and counts", f"{len(missing)} {what}s have no rating and count"
        told = one if len(missing) == 1 else more
        records.repairs.append(f"{told} as normal pace: {listed(missing)}")
    size = 1.0 if all(value <= 3 for value in rated) else 100.0
    for row, value in zip(records.rows, values, strict=True):
        percent = 100 / size * value
        if value <= 0:
            records.wrong(row, "rating", f"a rating of {value:g} is none; normal pace is 100 %")
        elif size == 100.0 and value <= 3:
            text = f"a rating of {value:g} among ratings in per cent"
            records.wrong(row, "rating", text, f"write {100 * value:g}, or all of them as factors")
        elif not math.isnan(value) and not RATINGS[0] <= percent <= RATINGS[1]:
            text = f"a rating of {percent:g} % is no pace of work"
            records.wrong(row, "rating", text, "correct it, or leave this cell empty for normal pace")
    quiet = replace(records, mistakes=[])
    values += _percents(quiet, records.aside, decimal)
    lines = [row.line for row in (*records.rows, *records.aside)]
    factors = {
        line: 1.0 if math.isnan(value) else value / size for line, value in zip(lines, values, strict=True)
    }
    return factors, bool(rated)


def _percents(records: Records, rows: Sequence[Row], decimal: str) -> list[float]:
    """The ratings of rows as they are written, without their signs, NaN where there is none."""
    given = records.rows
    records.rows = [Row(row.line, {"rating": row["rating"].rstrip("% ")}) for row in rows]
    values = numbers(records, "rating", decimal, needed=False)
    records.rows = given
    return values
