"""A stop log of the shop floor read for a cell: its stops on one axis of time, each change with its line.

What makes a row useless is a mistake with row and column; what has one sensible reading is taken so, listed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cellsim.describe.cell import Cell
from cellsim.errors import UsageError
from cellsim.evidence.records import Records, find_table, records_of, tell_leave_out
from cellsim.evidence.stop_causes import causes_of, find_cause_column, folded
from cellsim.evidence.stop_places import Place, places_of
from cellsim.evidence.stop_records import COLUMNS, Change, Logged, StopLog, columns_of
from cellsim.evidence.stop_times import LONGEST_STOP, Local, Span, find_far_dates, join_dates, span, within
from cellsim.evidence.stop_words import says_planned
from cellsim.evidence.values import seconds_in
from cellsim.evidence.worktime import MICROSECOND, axis_before
from cellsim.units import DAY as US_DAY
from cellsim.units import quoted

YES = {"yes", "y", "x", "1", "true", "ja", "j", "planned", "scheduled"}
NO = {"", "no", "n", "0", "false", "nein", "-", "unplanned", "unscheduled"}
DAY, WEEK = timedelta(days=1), timedelta(days=7)


def read_stop_log(
    path: Path,
    cell: Cell,
    *,
    renamed: Mapping[str, str] | None = None,
    causes: Mapping[str, str] | None = None,
    leave_out: Sequence[int] = (),
    unit: str = "",
    decimal: str = "",
    delimiter: str = "",
    order: str = "",
    zone: ZoneInfo | None = None,
) -> StopLog:
    """Read a log: a row for each stop with start, end or duration, station, and where there are the others.

    Args:
        renamed: names of the log (upper or lower case) to those of the cell; empty = leave these rows out.
        causes: causes of the log (upper or lower case) to those they are counted as.
        leave_out: lines of the file that are not read; they are listed.
        unit: of durations where the heading says none; `decimal`, `delimiter`, `order` (of day and month)
            where the file leaves them open.
        zone: of the shop floor, for moments that are written with a zone.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    table = find_table(path, COLUMNS, delimiter, leave_out)
    records = records_of(table, columns_of(table))
    find_cause_column(records)
    changes: list[Change] = []
    _left_out(records, leave_out, changes)
    _repeats(records, changes)
    if records.has("remark"):
        heading = quoted(records.headings["remark"])
        records.repairs.append(f"{heading}: only the words planned and scheduled are read")
    if unused := [column.heading for column in records.unused if column.heading]:
        records.repairs.append(f"columns not used: {', '.join(map(quoted, unused))}")
    join_dates(records)
    places = places_of(records, cell, renamed or {}, changes)
    planned = _planned(records)
    local = Local(records, order, zone)
    lengths = _durations(records, unit, decimal)
    if not local.comparable:
        tell_leave_out(records)
        records.stop_if_wrong()
    spans = [span(records, k, local, lengths[k], changes) for k in range(len(records.rows))]
    find_far_dates(records, spans)
    _find_doubtful_ends(records, spans, places, cell)
    tell_leave_out(records)
    records.stop_if_wrong()
    begun = [found[0] for found in spans if found is not None]
    if not begun:
        raise UsageError(f"{path.name} holds no stop")
    axis = axis_before(min(begun))
    names = causes_of(records, causes or {}, changes)
    stops = []
    for k, (row, found) in enumerate(zip(records.rows, spans, strict=True)):
        if found is None or not places[k]:
            continue
        start, end = found
        first = Logged(
            (row.line,),
            *places[k][0],
            names[k],
            axis.moment(start),
            None if end is None else axis.moment(end),
            end is not None,
            " ".join(row["cleared_by"].split()),
            within(row, "requested", start, end, local.of(k, "requested"), axis, changes),
            within(row, "arrived", start, end, local.of(k, "arrived"), axis, changes),
            planned=planned[k][0],
            marked=planned[k][1],
        )
        others = [  # who came is told once
            replace(first, owner=owner, machine=machine, requested=None, arrived=None)
            for owner, machine in places[k][1:]
        ]
        stops += [first, *others]
    if not stops:
        raise UsageError(f"{path.name} holds no stop of this cell")
    stops.sort(key=lambda stop: (stop.begin, stop.line))
    asked = [
        f"Line {stop.line} lasts {(stop.end - stop.begin) / US_DAY:.0f} days: is its end right?"
        for stop in stops
        if stop.end is not None and stop.end - stop.begin > WEEK // MICROSECOND
    ]
    return StopLog(records.file, axis, stops, changes, records.repairs, list(dict.fromkeys(asked)))


def _left_out(records: Records, asked: Sequence[int], changes: list[Change]) -> None:
    """The lines that are left out as asked, listed with what stands there.

    Raises:
        UsageError: there is no row in such a line.
    """
    for line in sorted(set(asked) - {row.line for row in records.aside}):
        raise UsageError(f"--leave-out: {records.file} has no stop in line {line}; nothing was left out")
    for row in records.aside:
        told = (row[name] for name in ("start", "station", "cause"))
        changes.append(Change("left out as asked", row.line, quoted(", ".join(filter(None, told)))))


def _repeats(records: Records, changes: list[Change]) -> None:
    """The same row once more is left out."""
    seen: dict[tuple[tuple[str, str], ...], int] = {}
    kept = []
    for row in records.rows:
        key = tuple(sorted(row.texts.items()))
        if key in seen:
            changes.append(Change("written twice", row.line, f"the same as line {seen[key]}; left out"))
        else:
            seen[key] = row.line
            kept.append(row)
    records.rows = kept


def _planned(records: Records) -> list[tuple[bool | None, str]]:
    """What each row says of being planned, None where it says nothing, and the heading of what says so.

    The column planned goes before a remark; words of that column which say neither are told once.
    """
    unknown = set()
    found: list[tuple[bool | None, str]] = []
    for row in records.rows:
        word = row["planned"].casefold()
        if word not in YES | NO and word not in unknown:
            unknown.add(word)
            records.wrong(row, "planned", f"{quoted(row['planned'])} is neither yes nor no")
        if word:
            found.append((word in YES, records.headings["planned"]))
        elif says_planned(row["remark"]):
            found.append((True, records.headings["remark"]))
        else:
            found.append((None, ""))
    return found


def _find_doubtful_ends(
    records: Records, spans: Sequence[Span | None], places: Sequence[Sequence[Place]], cell: Cell
) -> None:
    """A stop during which its machine stopped again is a mistake.

    From a day on where it was the same cause, from a week on whatever the cause.  Stations with several
    machines that are written by their own name are left alone.
    """
    together = {station.name for station in cell.stations if station.machines > 1}
    by_machine: dict[str, list[tuple[datetime, int]]] = {}
    for k, (found, stopped) in enumerate(zip(spans, places, strict=True)):
        if found is not None:
            for _, machine in stopped:
                if machine not in together:
                    by_machine.setdefault(machine, []).append((found[0], k))
    for rows in by_machine.values():
        rows.sort()
        for j, (start, k) in enumerate(rows):
            end = (spans[k] or (start, None))[1]
            if end is None or not DAY < end - start <= LONGEST_STOP:
                continue
            cause = folded(records.rows[k]["cause"])
            for at, other in rows[j + 1 :]:
                if not start < at < end:
                    break
                if end - start > WEEK or folded(records.rows[other]["cause"]) == cause:
                    _tell_doubtful(records, k, other)
                    break


def _tell_doubtful(records: Records, k: int, other: int) -> None:
    row, name = records.rows[k], "end" if records.rows[k]["end"] else "duration"
    message = (
        f"{quoted(row[name])} is after line {records.rows[other].line}, where this machine stopped again"
    )
    records.wrong(row, name, message, "mend the date; an end that is not known stays empty")


def _durations(records: Records, unit: str, decimal: str) -> list[float]:
    """Seconds of the column duration by row, NaN where there is none."""
    if not records.has("duration"):
        return [math.nan] * len(records.rows)
    given = records.rows
    records.rows = [row for row in given if row["duration"] and not row["end"]]
    seconds = seconds_in(records, "duration", unit, decimal) if records.rows else []
    by_line = {row.line: value for row, value in zip(records.rows, seconds, strict=False)}
    records.rows = given
    return [by_line.get(row.line, math.nan) for row in given]
