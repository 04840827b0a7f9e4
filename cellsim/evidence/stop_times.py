"""Begin and end of each row of a stop log: dates and times joined, clocks, nights, dates that cannot be."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from cellsim.evidence.records import Records, Row
from cellsim.evidence.stop_records import Change
from cellsim.evidence.values import date_and_time, date_order, is_date, is_time_of_day, moments
from cellsim.evidence.worktime import Axis
from cellsim.units import quoted

TIMES = ("start", "end", "requested", "arrived")
LONGEST_NIGHT = timedelta(hours=12)  # an end before the start is taken for the next day up to this length
LONGEST_STOP = timedelta(days=28)  # a longer one is a slip of the pen in a date
APART = timedelta(days=731)  # a time without a stop after which a date is one too
WANTED = "wanted are a date such as 2026-11-02 or 02.11.2026 and a time such as 06:40"
WANTED_DATE = 'add a column "Date", or "Start date" and "End date"'
WANTED_TIME = 'add columns "Start time" and "End time", or write the time behind the day'

Span = tuple[datetime, datetime | None]


def join_dates(records: Records) -> None:
    """Times of day become moments of their date: their own column of dates, `date`, or that of the start.

    A column of which no cell can be read is one mistake that names the columns; single cells are left to
    whoever reads them.

    Raises:
        DescriptionError: a column of moments cannot be read.
    """
    days = {name: ("start_date", "date") for name in TIMES} | {"end": ("end_date", "start_date", "date")}
    rows: list[Row] = []
    for row in records.rows:
        texts = dict(row.texts)
        for name in TIMES:
            text = texts.get(name, "")
            day = next((texts[column] for column in days[name] if texts.get(column)), texts.get("start", ""))
            date, _ = date_and_time(day)
            if text and date and not is_date(date_and_time(text)[0]):
                texts[name] = f"{date} {text}"
        rows.append(Row(row.line, texts))
    records.rows = rows
    for name in TIMES:
        filled = [row for row in rows if row[name]]
        lacks = {_lacks(row[name]) for row in filled}
        if filled and "" not in lacks:
            _tell_column(records, filled, name, days[name], lacks)
            break  # what follows from it is not told once more
    records.stop_if_wrong()


def _lacks(text: str) -> str:
    """What a text lacks to be a moment: `date`, `time` or, where it cannot be read, `both`; else empty."""
    date, clock = date_and_time(text)
    if not date:
        return "date"
    if not is_date(date):
        return "both"
    return "time" if not clock else "" if is_time_of_day(clock) else "both"


def _tell_column(
    records: Records, filled: Sequence[Row], name: str, days: Sequence[str], lacks: set[str]
) -> None:
    """One mistake for a column none of whose filled cells is a moment."""
    example = quoted(filled[0][name])
    there = [column for column in (*days[:1], "date", name) if records.has(column)]
    if lacks == {"date"}:
        message, hint = f"{example} is a time of day without a date", WANTED_DATE
    elif lacks == {"time"}:
        message, hint = f"{example} is a day without a time of day", WANTED_TIME
    else:
        columns = " and ".join(quoted(records.headings[column]) for column in there)
        source = f"the columns {columns}" if len(there) > 1 else f"the column {columns}"
        message, hint = f"{example} from {source} is no date with a time of day", WANTED
    if len(filled) > 1:
        message += f", as in all {len(filled)} rows of this column"
    records.wrong(filled[0], name, message, hint)


class Local:
    """Moments in local time, all on the clock that was valid at the start of their row.

    They are not `comparable` where only some are written with a zone, which is a mistake.
    """

    def __init__(self, records: Records, order: str, zone: ZoneInfo | None) -> None:
        """Read the columns of moments; `order` of day and month and `zone` where they are known."""
        if not order:
            order = date_order([row[name] for name in TIMES for row in records.rows])
        self._times: Mapping[str, Sequence[datetime | None]] = {
            name: moments(records, name, order, needed=name == "start")
            if records.has(name)
            else [None] * len(records.rows)
            for name in TIMES
        }
        self._zone = zone
        given = [at for column in self._times.values() for at in column if at is not None]
        self.zoned = any(at.tzinfo is not None for at in given)
        self.comparable = not self.zoned or all(at.tzinfo is not None for at in given)
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


def span(records: Records, k: int, local: Local, seconds: float, changes: list[Change]) -> Span | None:
    """Start and end of row `k`, which lasts so many `seconds` (NaN: not said); no end where it is missing.

    A row that ends before it starts or lasts too long is noted as a mistake in `records`.
    """
    row = records.rows[k]
    start, end = local.of(k, "start"), local.of(k, "end")
    if start is None:
        return None
    if end is None:
        length = None if math.isnan(seconds) else timedelta(seconds=seconds)
        if length is not None and length > LONGEST_STOP:
            records.wrong(row, "duration", f"{quoted(row['duration'])} is {_apart(length)}")
        return start, None if length is None else start + length
    if local.clock_changed(k):
        text = "the clock was changed during this stop; its length is by the zones written"
        changes.append(Change("change of the clock", row.line, text))
    if end >= start:
        if end - start > LONGEST_STOP:
            message = f"{quoted(row['end'])} is {_apart(end - start)} after the start {quoted(row['start'])}"
            records.wrong(row, "end", message, "mend the date; an end that is not known stays empty")
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


def find_far_dates(records: Records, spans: Sequence[Span | None]) -> None:
    """Starts more than two years from all others are mistakes: the largest group of starts is the log."""
    begun = sorted((found[0], k) for k, found in enumerate(spans) if found is not None)
    groups: list[list[int]] = [[k for _, k in begun[:1]]]
    for (before, _), (at, k) in pairwise(begun):
        if at - before > APART:
            groups.append([])
        groups[-1].append(k)
    log = max(groups, key=len)
    for k in (k for group in groups if group is not log for k in group):
        start = (spans[k] or begun[0])[0]
        far = min((abs(start - at) for at, other in begun if other in log), default=timedelta())
        message = f"{quoted(records.rows[k]['start'])} is {_apart(far)} away from the other stops"
        records.wrong(records.rows[k], "start", message, "is the year right?")


def _apart(time: timedelta) -> str:
    """A long time in words: `29 days`, `5 months`, `36 years`."""
    if time.days >= 730:
        return f"{time.days / 365.25:.0f} years"
    return f"{time.days / 30.44:.0f} months" if time.days >= 61 else f"{time.days} days"


def _may_be_set_back(start: datetime, end: datetime) -> bool:
    """Whether local clocks may have been set back between: an hour, on a Sunday of autumn before 3:00."""
    autumn = start.weekday() == 6 and start.month in (4, 10, 11) and start.hour < 3
    return autumn and start - end < timedelta(hours=1)


def within(
    row: Row,
    name: str,
    start: datetime,
    end: datetime | None,
    at: datetime | None,
    axis: Axis,
    changes: list[Change],
) -> int | None:
    """A moment between start and end, on the axis; one outside is not used.  A request may come before."""
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
