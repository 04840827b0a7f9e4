"""Numbers, durations and moments as the shop floor writes them: decimal comma or point, day or month first.

A column is read as a whole: one value that can only be meant one way settles those that could be meant two.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone

from cellsim.evidence.records import SECONDS, Records, Row
from cellsim.units import quoted

_GROUPS = re.compile(r"[+-]?\d{1,3}(?:([.,' \u00a0\u202f])\d{3})(?:\1\d{3})*(?:[.,]\d+)?")
_PLAIN = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_CLOCK = re.compile(r"(\d+):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?")
_DATE_DOT = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_DATE_SLASH = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})")
_DATE_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DATE_SHORT = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{2})(?!\d)")
_ZONE = re.compile(r"(Z|[+-]\d{2}:?\d{2})$")
MINUTE, HOUR = 60.0, 3600.0
DAY_FIRST, MONTH_FIRST = "day first", "month first"


def numbers(records: Records, name: str, decimal: str = "", needed: bool = True) -> list[float]:
    """The numbers of a column, NaN where a cell that is not needed is empty; mistakes are noted in `records`.

    `decimal` is `,` or `.`; without it the column must settle it: `1,5` and `12,25` can only be decimals,
    `1,234` alone could be a thousand or one.  Where commas separate cells a point is the decimal mark, unless
    a value says otherwise.
    """
    mark = decimal or decimal_mark([row[name] for row in records.rows], records.delimiter)
    return [_number(records, row, name, row[name], mark, needed) for row in records.rows]


def decimal_mark(texts: Sequence[str], delimiter: str) -> str:
    """The mark of decimals that numbers settle between them: `,` or `.`, empty where it stays open, `?` where
    they contradict each other."""
    mark = _decimal_of(texts)
    if not mark and delimiter == "," and not any("," in text for text in texts):
        return "."
    return mark


def _decimal_of(texts: Sequence[str]) -> str:
    """`,` or `.` where one value settles it, else empty; `?` where values contradict each other."""
    votes = set()
    for text in texts:
        points, commas = text.count("."), text.count(",")
        if points and commas:
            votes.add("." if text.rfind(".") > text.rfind(",") else ",")
        elif points + commas > 1:
            votes.add("," if points else ".")  # a mark that is there twice groups thousands
        elif points + commas == 1:
            mark = "." if points else ","
            before, after = text.split(mark)
            if len(after) != 3 or len(before.lstrip("+-")) > 3 or before.lstrip("+-") in ("", "0"):
                votes.add(mark)
    return votes.pop() if len(votes) == 1 else "?" if votes else ""


def _number(records: Records, row: Row, name: str, text: str, mark: str, needed: bool) -> float:
    if not text:
        if needed:
            records.wrong(row, name, "this cell is empty; wanted is a number")
        return math.nan
    if not (_PLAIN.fullmatch(text) or _GROUPS.fullmatch(text)):
        records.wrong(row, name, f"{quoted(text)} is not a number")
        return math.nan
    if ("," in text or "." in text) and mark in ("", "?"):
        why = "could be a decimal or a thousand" if not mark else "fits no mark that all of the column use"
        records.wrong(row, name, f"{quoted(text)} {why}", "say which mark decimals have with --decimal")
        return math.nan
    grouped = re.sub(r"[' \u00a0\u202f]", "", text)
    grouped = grouped.replace("." if mark == "," else ",", "").replace(",", ".")
    return float(grouped)


def seconds_in(
    records: Records, name: str, unit: str = "", decimal: str = "", needed: bool = True
) -> list[float]:
    """Durations of a column in seconds.

    Cells are numbers in the unit that the heading says (`time [cmin]`, `seconds`) or `unit`, or clock times:
    `0:01:30`, or `1:30` where the unit is h (hours and minutes) or min (minutes and seconds).  How clock
    times were read is listed as a repair.
    """
    said = _unit_said(records.headings.get(name, ""))
    chosen = unit or said
    clocks = [_CLOCK.fullmatch(row[name]) for row in records.rows]
    if any(clocks):
        lead = SECONDS.get(chosen, 0.0)
        _tell_clocks(records, name, [clock for clock in clocks if clock], lead)
        return [
            _clock_seconds(records, row, name, clock, lead)
            for row, clock in zip(records.rows, clocks, strict=True)
        ]
    if chosen not in SECONDS:
        records.wrong(
            None,
            name,
            "the heading says no unit of time",
            f"add one, as in {name} [s], or --unit s, min or cmin",
        )
        return []
    found = numbers(records, name, decimal, needed)
    for row, value in zip(records.rows, found, strict=True):
        if value < 0:
            records.wrong(row, name, f"{quoted(row[name])} is below 0; wanted is a duration")
    return [value * SECONDS[chosen] for value in found]


def _unit_said(heading: str) -> str:
    inside = re.search(r"[\[(]([^\])]+)[\])]", heading)
    if inside:
        return inside[1].strip().casefold()
    words = re.split(r"[\s_]+", heading.casefold().strip())
    return words[-1] if words[-1] in SECONDS else ""


def _tell_clocks(records: Records, name: str, clocks: Sequence[re.Match[str]], lead: float) -> None:
    """List how the clock times of a column are read, `lead` being the seconds of the unit said."""
    for parts in (2, 3):
        found = [clock[0] for clock in clocks if (clock[3] is None) == (parts == 2)]
        if found and (parts == 3 or lead in (HOUR, MINUTE)):
            form = "h:mm:ss" if parts == 3 else "h:mm" if lead == HOUR else "mm:ss"
            heading = records.headings.get(name, name)
            times = "1 time" if len(found) == 1 else f"{len(found)} times"
            records.repairs.append(f"{heading}: {times} such as {found[0]} read as {form}")


def _clock_seconds(records: Records, row: Row, name: str, clock: re.Match[str] | None, lead: float) -> float:
    if clock is None:
        records.wrong(row, name, f"{quoted(row[name])} is no duration such as 0:01:30, as others here are")
        return math.nan
    first, second, third, part = clock.groups()
    if int(second) > 59 or int(third or 0) > 59:
        records.wrong(row, name, f"{quoted(row[name])} has more than 59 minutes or seconds")
        return math.nan
    if third is None and lead not in (HOUR, MINUTE):
        records.wrong(
            row,
            name,
            f"{quoted(row[name])} could be hours and minutes or minutes and seconds",
            "give --unit h or --unit min, or write h:mm:ss",
        )
        return math.nan
    if third is None:
        return lead * (int(first) + int(second) / 60)
    return 3600.0 * int(first) + 60.0 * int(second) + int(third) + (float(f"0.{part}") if part else 0.0)


def moments(records: Records, name: str, order: str = "", needed: bool = True) -> list[datetime | None]:
    """The moments of a column, local as written; a zone is kept where one is written.

    Dates are `2026-03-01`, `01.03.2026` (day first) or `3/1/2026`, whose order one value with a day above 12
    must settle, or `order`; so it must where a year has two digits, which is listed.  Times are `06:12` or
    `06:12:30`.  A date that does not exist is a mistake.
    """
    texts = [row[name] for row in records.rows]
    chosen = order or date_order(texts)
    short = [row for row in records.rows if _DATE_SHORT.match(row[name])]
    if short:
        example = quoted(short[0][name])
        if not chosen:
            records.wrong(
                short[0],
                name,
                f"{example}: in a year of two digits day, month and year may stand in any order"
                + (f" ({len(short)} rows)" if len(short) > 1 else ""),
                "write 02.11.2026 or 2026-11-02, or say --dates day-first or month-first",
            )
            return [None] * len(texts)
        heading = records.headings.get(name, name)
        records.repairs.append(f"{heading}: years of two digits, such as {example}, read as 20.., {chosen}")
    return [
        _moment(records, row, name, text, chosen, needed)
        for row, text in zip(records.rows, texts, strict=True)
    ]


def date_order(texts: Sequence[str]) -> str:
    """`day first` or `month first` where days above 12 settle it, else empty.

    Years of two digits settle nothing where the last number may be the day: it changes more than the first
    one, or by more than a year.
    """
    pairs = [(int(found[1]), int(found[2])) for text in texts if (found := _DATE_SLASH.match(text))]
    short = [(int(found[1]), int(found[3]), int(found[4])) for text in texts
             if (found := _DATE_SHORT.match(text))]  # fmt: skip
    years = {year for _, _, year in short}
    if short and len(years) <= len({first for first, _, _ in short}) and max(years) - min(years) <= 1:
        pairs += [(first, second) for first, second, _ in short]
    votes = {DAY_FIRST for first, _ in pairs if first > 12}
    votes |= {MONTH_FIRST for _, second in pairs if second > 12}
    return votes.pop() if len(votes) == 1 else ""


def is_date(text: str) -> bool:
    """Whether a text looks like a date, whatever the order of day and month."""
    return any(form.fullmatch(text) for form in (_DATE_ISO, _DATE_DOT, _DATE_SLASH, _DATE_SHORT))


def is_time_of_day(text: str) -> bool:
    """Whether a text looks like a time of day: `6:40`, `06:40:30`."""
    return _CLOCK.fullmatch(text) is not None


def date_and_time(text: str) -> tuple[str, str]:
    """Date and time of day of a moment as written, each empty where there is none; a zone is left out."""
    plain = _ZONE.sub("", text).strip().replace("T", " ")
    if is_time_of_day(plain):
        return "", plain
    date, _, clock = plain.partition(" ")
    return date, clock.strip()


def _moment(records: Records, row: Row, name: str, text: str, order: str, needed: bool) -> datetime | None:
    if not text:
        if needed:
            records.wrong(row, name, "this cell is empty; wanted is a date and time")
        return None
    rest, zone = text, None
    if found := _ZONE.search(text):
        rest, zone = text[: found.start()].strip(), _zone(found[1])
    date, _, clock = rest.replace("T", " ").partition(" ")
    day = _date(records, row, name, date, order)
    hours = _CLOCK.fullmatch(clock.strip()) if clock.strip() else None
    if day is None:
        return None
    if clock.strip() and (
        hours is None or int(hours[1]) > 24 or int(hours[2]) > 59 or int(hours[3] or 0) > 59
    ):
        records.wrong(row, name, f"{quoted(text)} has no time of day such as 06:12 or 06:12:30")
        return None
    year, month, date_day = day
    try:
        at = datetime(year, month, date_day, tzinfo=zone)
    except ValueError:
        records.wrong(row, name, f"{quoted(text)}: there is no such date")
        return None
    if hours is None:
        return at
    part = float(f"0.{hours[4]}") if hours[4] else 0.0
    return at + timedelta(hours=int(hours[1]), minutes=int(hours[2]), seconds=int(hours[3] or 0) + part)


def _date(records: Records, row: Row, name: str, text: str, order: str) -> tuple[int, int, int] | None:
    if iso := _DATE_ISO.fullmatch(text):
        return int(iso[1]), int(iso[2]), int(iso[3])
    if short := _DATE_SHORT.fullmatch(text):
        first, second = int(short[1]), int(short[3])
        month, day = (second, first) if order == DAY_FIRST else (first, second)
        return 2000 + int(short[4]), month, day
    if dot := _DATE_DOT.fullmatch(text):
        return int(dot[3]), int(dot[2]), int(dot[1])
    if slash := _DATE_SLASH.fullmatch(text):
        if not order:
            records.wrong(
                row,
                name,
                f"{quoted(text)} could be day or month first",
                "say which with --dates day-first or month-first",
            )
            return None
        first, second = int(slash[1]), int(slash[2])
        return (int(slash[3]), second, first) if order == DAY_FIRST else (int(slash[3]), first, second)
    if is_time_of_day(text):
        records.wrong(row, name, f"{quoted(text)} is a time of day without a date")
        return None
    records.wrong(row, name, f"{quoted(text)} is no date such as 2026-03-01, 01.03.2026 or 3/1/2026")
    return None


def _zone(text: str) -> timezone:
    if text == "Z":
        return UTC
    sign = -1 if text[0] == "-" else 1
    return timezone(sign * timedelta(hours=int(text[1:3]), minutes=int(text[-2:])))
