"""A stop log of the shop floor read for a cell: its stops on one axis of time, each change with its line.

What makes a row useless is a mistake with row and column; what has one sensible reading is taken so, listed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cellsim.describe.cell import Cell, Robot, Station
from cellsim.errors import UsageError
from cellsim.evidence.records import Column, Records, Row, read_records
from cellsim.evidence.values import moments, seconds_in
from cellsim.evidence.worktime import Axis, axis_before
from cellsim.units import nearest, quoted

COLUMNS = (
    Column("start", ("begin", "from", "started", "start time", "stop", "down at", "beginning")),
    Column("end", ("finish", "finished", "to", "ended", "end time", "restart", "up at"), needed=False),
    Column("duration", ("length", "downtime", "lasts", "lasted", "minutes", "seconds"), needed=False),
    Column("station", ("machine", "equipment", "workplace", "resource", "asset", "where")),
    Column("cause", ("code", "reason", "fault", "failure", "error", "kind", "stop reason"), needed=False),
    Column("cleared_by", ("cleared by", "repaired by", "technician", "by", "who"), needed=False),
    Column("requested", ("called", "request", "call", "reported"), needed=False),
    Column("arrived", ("arrival", "repair start", "repair began", "on site"), needed=False),
    Column("date", ("day",), needed=False),
    Column("remark", ("remarks", "note", "notes", "comment"), needed=False),
)  # fmt: skip
NO_CAUSE = "stop"
LONGEST_NIGHT = timedelta(hours=12)  # an end before the start is taken for the next day up to this length
_TIME_ONLY = re.compile(r"\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?")
_MACHINE = re.compile(r"(.+?)(?:\s*[.#_-]\s*|\s+)(\d+)")


@dataclass(frozen=True, slots=True)
class Change:
    """What was done to a line of the log: which step of the cleaning, the line, in words."""

    step: str
    line: int
    text: str


@dataclass(frozen=True, slots=True)
class Logged:
    """A stop: lines it comes from, station or robot, the machine as written, cause, moments (None = unknown).

    Moments are microseconds of the axis of the log.  `ended`: its end was seen; `known`: at least how long it
    lasted is.
    """

    lines: tuple[int, ...]
    owner: str
    machine: str
    cause: str
    begin: int
    end: int | None
    ended: bool = True
    cleared_by: str = ""
    requested: int | None = None
    arrived: int | None = None
    remark: str = ""
    known: bool = True

    @property
    def line(self) -> int:
        """The first of its lines."""
        return self.lines[0]


@dataclass
class StopLog:
    """A log as it was read: stops in order of time, what was changed, what had to be decided in reading."""

    file: str
    axis: Axis
    stops: list[Logged]
    changes: list[Change]
    repairs: list[str]


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
    records = read_records(path, COLUMNS, delimiter)
    if not records.has("end") and not records.has("duration"):
        records.wrong(None, "end", 'there is neither a column "end" nor a column "duration"')
        records.stop_if_wrong()
    changes: list[Change] = []
    _repeats(records, changes)
    _with_dates(records)
    places = _places(records, cell, renamed or {}, changes)
    times = {
        name: moments(records, name, order, needed=name == "start")
        if records.has(name)
        else [None] * len(records.rows)
        for name in ("start", "end", "requested", "arrived")
    }
    lengths = _durations(records, unit, decimal)
    records.stop_if_wrong()
    local = _Local(records, times, zone)
    spans = [_span(records, k, local, lengths[k], changes) for k in range(len(records.rows))]
    records.stop_if_wrong()
    begun = [span[0] for span in spans if span is not None]
    if not begun:
        raise UsageError(f"{path.name} holds no stop")
    axis = axis_before(min(begun))
    causes: dict[str, str] = {}
    stops = []
    for k, (row, span, place) in enumerate(zip(records.rows, spans, places, strict=True)):
        if span is None or place is None:
            continue
        start, end = span
        cause = " ".join(row["cause"].split()) or NO_CAUSE
        begin = axis.moment(start)
        stops.append(
            Logged(
                (row.line,),
                *place,
                causes.setdefault(cause.casefold(), cause),
                begin,
                None if end is None else axis.moment(end),
                end is not None,
                " ".join(row["cleared_by"].split()),
                _within(row, "requested", start, end, local.of(k, "requested"), axis, changes),
                _within(row, "arrived", start, end, local.of(k, "arrived"), axis, changes),
                row["remark"],
            )
        )
    if not stops:
        raise UsageError(f"{path.name} holds no stop of this cell")
    stops.sort(key=lambda stop: (stop.begin, stop.line))
    return StopLog(records.file, axis, stops, changes, records.repairs)


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


def _with_dates(records: Records) -> None:
    """Times of day become moments of the date of their row: the column date, else that of the start."""
    rows = []
    for row in records.rows:
        texts = dict(row.texts)
        start = texts.get("start", "")
        day = texts.get("date", "") or start.replace("T", " ").partition(" ")[0]
        for name in ("start", "end", "requested", "arrived"):
            if day and not _TIME_ONLY.fullmatch(day) and _TIME_ONLY.fullmatch(texts.get(name, "")):
                texts[name] = f"{day} {texts[name]}"
        rows.append(Row(row.line, texts))
    records.rows = rows


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


class _Local:
    """Moments in local time, all on the clock that was valid at the start of their row."""

    def __init__(
        self, records: Records, times: Mapping[str, Sequence[datetime | None]], zone: ZoneInfo | None
    ) -> None:
        self._times = times
        self._zone = zone
        given = [at for column in times.values() for at in column if at is not None]
        self.zoned = any(at.tzinfo is not None for at in given)
        if self.zoned:
            self._check(records)
            if zone is None and len({at.utcoffset() for at in given}) == 1 and given[0].tzname() == "UTC":
                records.repairs.append(
                    "times are in UTC and are compared with the shifts as they stand;"
                    " --zone says where the shop floor is"
                )

    def _check(self, records: Records) -> None:
        for name, column in self._times.items():
            for row, at in zip(records.rows, column, strict=True):
                if at is not None and at.tzinfo is None:
                    records.wrong(row, name, f"{quoted(row[name])} has no zone, though others have one")

    def of(self, k: int, name: str) -> datetime | None:
        """The moment in column `name` of row `k`, without its zone."""
        at, start = self._times[name][k], self._times["start"][k]
        if at is None or start is None or at.tzinfo is None or start.tzinfo is None:
            return at
        at_start = start.astimezone(self._zone) if self._zone else start
        offset = at_start.utcoffset()
        utc = at - (at.utcoffset() or timedelta())
        return utc.replace(tzinfo=None) + (offset or timedelta())

    def clock_changed(self, k: int) -> bool:
        """Whether start and end of row `k` are written with different zones."""
        start, end = self._times["start"][k], self._times["end"][k]
        return bool(start and end and start.utcoffset() != end.utcoffset())


def _span(
    records: Records, k: int, local: _Local, seconds: float, changes: list[Change]
) -> tuple[datetime, datetime | None] | None:
    """Start and end of a row; the end is None where it is missing."""
    row = records.rows[k]
    start, end = local.of(k, "start"), local.of(k, "end")
    if start is None:
        return None
    if end is None:
        return start, None if math.isnan(seconds) else start + timedelta(seconds=seconds)
    if local.clock_changed(k):
        text = "the clock was changed during this stop; its length is by the zones written"
        changes.append(Change("change of the clock", row.line, text))
    if end >= start:
        return start, end
    night = end + timedelta(days=1) - start
    if not local.zoned and end.date() == start.date():
        if night <= LONGEST_NIGHT:
            changes.append(Change("over midnight", row.line, "its end is taken for the next day"))
            return start, end + timedelta(days=1)
        if _may_be_set_back(start, end):
            text = "ends before it starts, in the night in which clocks are set back; an hour is added"
            changes.append(Change("change of the clock", row.line, text))
            return start, end + timedelta(hours=1)
    records.wrong(row, "end", f"{quoted(row['end'])} is before the start {quoted(row['start'])}")
    return None


def _may_be_set_back(start: datetime, end: datetime) -> bool:
    """Whether local clocks may have been set back between: an hour, on a Sunday of autumn before 3:00."""
    autumn = start.weekday() == 6 and start.month in (4, 10, 11) and start.hour < 3
    return autumn and start - end < timedelta(hours=1)


def _within(
    row: Row,
    name: str,
    start: datetime,
    end: datetime | None,
    at: datetime | None,
    axis: Axis,
    changes: list[Change],
) -> int | None:
    """A moment between start and end; one outside is not used.  A request may come before the start."""
    if at is None:
        return None
    if end is not None and at < start and at.date() == start.date() and end.date() > start.date():
        at += timedelta(days=1)
    early = name == "arrived" and at < start
    if early or (end is not None and at > end):
        text = f"{name} {quoted(row[name])} does not lie within the stop; it is not used"
        changes.append(Change("moments outside the stop", row.line, text))
        return None
    return axis.moment(at)
