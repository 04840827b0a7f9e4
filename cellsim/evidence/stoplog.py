"""A stop log of the shop floor read for a cell: its stops on one axis of time, each change with its line.

What makes a row useless is a mistake with row and column; what has one sensible reading is taken so, listed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cellsim.describe.cell import Cell, Robot, Station
from cellsim.errors import UsageError
from cellsim.evidence.records import Records, find_table, records_of
from cellsim.evidence.stop_records import COLUMNS, UNUSED, Change, Logged, StopLog, columns_of
from cellsim.evidence.stop_times import LONGEST_STOP, Local, Span, find_far_dates, join_dates, span, within
from cellsim.evidence.values import seconds_in
from cellsim.evidence.worktime import MICROSECOND, axis_before
from cellsim.units import DAY as US_DAY
from cellsim.units import nearest, quoted

NO_CAUSE = "stop"
YES = {"yes", "y", "x", "1", "true", "ja", "j", "planned", "scheduled"}
NO = {"", "no", "n", "0", "false", "nein", "-", "unplanned", "unscheduled"}
DAY, WEEK = timedelta(days=1), timedelta(days=7)
_MACHINE = re.compile(r"(.+?)(?:\s*[.#_-]\s*|\s+)(\d+)")


def read_stop_log(
    path: Path,
    cell: Cell,
    *,
    renamed: Mapping[str, str] | None = None,
    unit: str = "",
    decimal: str = "",
    delimiter: str = "",
    order: str = "",
    zone: ZoneInfo | None = None,
) -> StopLog:
    """Read a log: a row for each stop with start, end or duration, station, and where there are the others.

    Args:
        renamed: names of the log (upper or lower case) to those of the cell; empty = leave these rows out.
        unit: of durations where the heading says none; `decimal`, `delimiter`, `order` (of day and month)
            where the file leaves them open.
        zone: of the shop floor, for moments that are written with a zone.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    table = find_table(path, COLUMNS, delimiter)
    records = records_of(table, columns_of(table))
    if not records.has("end") and not records.has("duration"):
        records.wrong(None, "end", 'there is neither a column "end" nor a column "duration"')
        records.stop_if_wrong()
    changes: list[Change] = []
    _repeats(records, changes)
    unused = [
        *(records.headings[name] for name in UNUSED if records.has(name)),
        *(column.heading for column in records.unused if column.heading),
    ]
    if unused:
        records.repairs.append(f"columns not used: {', '.join(map(quoted, unused))}")
    join_dates(records)
    places = _places(records, cell, renamed or {}, changes)
    planned = _planned(records)
    local = Local(records, order, zone)
    lengths = _durations(records, unit, decimal)
    records.stop_if_wrong()
    spans = [span(records, k, local, lengths[k], changes) for k in range(len(records.rows))]
    find_far_dates(records, spans)
    _find_doubtful_ends(records, spans, places, cell)
    records.stop_if_wrong()
    begun = [found[0] for found in spans if found is not None]
    if not begun:
        raise UsageError(f"{path.name} holds no stop")
    axis = axis_before(min(begun))
    causes = _causes(records, changes)
    stops = []
    for k, (row, found, place) in enumerate(zip(records.rows, spans, places, strict=True)):
        if found is None or place is None:
            continue
        start, end = found
        stops.append(
            Logged(
                (row.line,),
                *place,
                causes[k],
                axis.moment(start),
                None if end is None else axis.moment(end),
                end is not None,
                " ".join(row["cleared_by"].split()),
                within(row, "requested", start, end, local.of(k, "requested"), axis, changes),
                within(row, "arrived", start, end, local.of(k, "arrived"), axis, changes),
                planned=planned[k],
            )
        )
    if not stops:
        raise UsageError(f"{path.name} holds no stop of this cell")
    stops.sort(key=lambda stop: (stop.begin, stop.line))
    asked = [
        f"Line {stop.line} lasts {(stop.end - stop.begin) / US_DAY:.0f} days: is its end right?"
        for stop in stops
        if stop.end is not None and stop.end - stop.begin > WEEK // MICROSECOND
    ]
    marked = records.headings.get("planned", "")
    return StopLog(records.file, axis, stops, changes, records.repairs, asked, marked)


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


def _planned(records: Records) -> list[bool | None]:
    """What the column planned says of each row, None where it says nothing; other words are told once."""
    if not records.has("planned"):
        return [None] * len(records.rows)
    unknown = set()
    for row in records.rows:
        word = row["planned"].casefold()
        if word not in YES | NO and word not in unknown:
            unknown.add(word)
            records.wrong(row, "planned", f"{quoted(row['planned'])} is neither yes nor no")
    words = [row["planned"].casefold() for row in records.rows]
    return [None if not word else word in YES for word in words]


def _causes(records: Records, changes: list[Change]) -> list[str]:
    """The cause of each row; names that differ in case or blanks only are one, which is listed.

    The spelling that is there most often is taken, of several the first.
    """
    spellings: dict[str, dict[str, list[int]]] = {}
    for row in records.rows:
        if not row["cause"] and records.has("cause"):
            text = f"no reason is written; it is counted as {quoted(NO_CAUSE)}"
            changes.append(Change("no reason", row.line, text))
        written = row["cause"] or NO_CAUSE
        spellings.setdefault(_folded(written), {}).setdefault(written, []).append(row.line)
    names = {}
    for folded, found in spellings.items():
        names[folded] = " ".join(max(found, key=lambda written: len(found[written])).split())
        for written, lines in found.items():
            if written != names[folded]:
                more = f" and in {len(lines) - 1} more" if len(lines) > 1 else ""
                text = f'"{written}" here{more} is counted as {quoted(names[folded])}'
                changes.append(Change("same name", lines[0], text))
    return [names[_folded(row["cause"] or NO_CAUSE)] for row in records.rows]


def _folded(cause: str) -> str:
    return " ".join(cause.casefold().split())


def _find_doubtful_ends(
    records: Records, spans: Sequence[Span | None], places: Sequence[tuple[str, str] | None], cell: Cell
) -> None:
    """A stop during which its machine stopped again is a mistake.

    From a day on where it was the same cause, from a week on whatever the cause.  Stations with several
    machines that are written by their own name are left alone.
    """
    together = {station.name for station in cell.stations if station.machines > 1}
    by_machine: dict[str, list[tuple[datetime, int]]] = {}
    for k, (found, place) in enumerate(zip(spans, places, strict=True)):
        if found is not None and place is not None and place[1] not in together:
            by_machine.setdefault(place[1], []).append((found[0], k))
    for rows in by_machine.values():
        rows.sort()
        for j, (start, k) in enumerate(rows):
            end = (spans[k] or (start, None))[1]
            if end is None or not DAY < end - start <= LONGEST_STOP:
                continue
            cause = _folded(records.rows[k]["cause"])
            for at, other in rows[j + 1 :]:
                if not start < at < end:
                    break
                if end - start > WEEK or _folded(records.rows[other]["cause"]) == cause:
                    _tell_doubtful(records, k, other)
                    break


def _tell_doubtful(records: Records, k: int, other: int) -> None:
    row, name = records.rows[k], "end" if records.rows[k]["end"] else "duration"
    message = (
        f"{quoted(row[name])} is after line {records.rows[other].line}, where this machine stopped again"
    )
    records.wrong(row, name, message, "mend the date; an end that is not known stays empty")


def _places(
    records: Records, cell: Cell, renamed: Mapping[str, str], changes: list[Change]
) -> list[tuple[str, str] | None]:
    """Owner and machine of each row; a name that the cell does not have is a mistake, told once."""
    owners: dict[str, Station | Robot] = {station.name: station for station in cell.stations}
    owners |= {robot.name: robot for robot in cell.robots}
    for new in renamed.values():
        if new and new not in owners:
            near = nearest(new, owners)
            advice = f"; did you mean {quoted(near)}?" if near else ""
            raise UsageError(f"--station: the cell has no station or robot {quoted(new)}{advice}")
    new_names = {old.casefold(): new for old, new in renamed.items()}
    found: list[tuple[str, str] | None] = []
    used, unknown = set(), set()
    for row in records.rows:
        written = " ".join(row["station"].split())
        folded = written.casefold()
        if folded in new_names:
            used.add(folded)
            if not new_names[folded]:
                changes.append(Change("left out as asked", row.line, f"{quoted(written)}"))
                found.append(None)
                continue
            written = new_names[folded]
        place = _place(written, owners)
        if place is None and folded not in unknown:
            unknown.add(folded)
            near = nearest(written, owners)
            name = near or "NAME"
            hint = f"did you mean {quoted(near)}? " if near else ""
            message = (
                "this cell is empty; wanted is a station"
                if not written
                else f"{quoted(written)} is no station or robot of the cell"
            )
            hint += (
                f'say --station "{written}={name}", or "{written}=" to leave its rows out' if written else ""
            )
            records.wrong(row, "station", message, hint)
        found.append(place)
    for old in renamed:
        if old.casefold() not in used:
            raise UsageError(f"--station: the log has no station {quoted(old)}")
    return found


def _place(written: str, owners: Mapping[str, Station | Robot]) -> tuple[str, str] | None:
    """(owner, machine) of a name: that of a station or robot, or of one of its machines as `press.2`."""
    folded = {name.casefold(): name for name in owners}
    if written in owners:
        return written, written
    if written.casefold() in folded:
        name = folded[written.casefold()]
        return name, name
    machine = _MACHINE.fullmatch(written)
    if machine and machine[1].casefold() in folded:
        owner = owners[folded[machine[1].casefold()]]
        if isinstance(owner, Station) and 1 <= int(machine[2]) <= owner.machines > 1:
            return owner.name, f"{owner.name}.{int(machine[2])}"
    return None


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
