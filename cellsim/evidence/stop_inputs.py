"""From a stop log to the stops of a cell file: how often, how long, by which law, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cellsim.describe.cell import Cell
from cellsim.errors import UsageError
from cellsim.evidence.stop_causes import NO_CAUSE
from cellsim.evidence.stop_cleaning import CleanLog, clean
from cellsim.evidence.stop_figures import THIN, CauseInput, Clock, cause_input
from cellsim.evidence.stop_helpers import WaitInput, named, waits_of
from cellsim.evidence.stop_planned import PlannedInput, planned_inputs, unseen_services
from cellsim.evidence.stop_records import Change, Logged
from cellsim.evidence.stop_remarks import quiet_times
from cellsim.evidence.stop_words import NOT_ITS_OWN, PLANNED, slips
from cellsim.evidence.stoplog import read_stop_log
from cellsim.evidence.worktime import Axis, length_text, shift_length
from cellsim.units import SECOND, nearest, quoted

MINOR, BREAKDOWN = "minor", "breakdown"


@dataclass
class StopStudy:
    """What a log of so many stops says; `left` are waits, no stops of the station: cause, how often, s.

    `asked` are causes left out as asked, in the same form, `planned` the planned stops; `words` those by
    which waits were looked for, `planned_words` those of planned work.  `quiet` says the longest time without
    any stop where it is improbable; it is one of the `cautions`.
    """

    file: str
    first: str
    last: str
    planned_h: float
    shift_h: float
    stops: int
    causes: list[CauseInput]
    waits: list[WaitInput]
    changes: list[Change]
    repairs: list[str]
    assumed: list[str]
    left: list[tuple[str, int, float]]
    asked: list[tuple[str, int, float]]
    planned: list[PlannedInput]
    words: dict[str, tuple[str, ...]]
    planned_words: dict[str, tuple[str, ...]]
    quiet: list[str]
    cautions: list[str]


def stop_study(
    path: Path,
    cell: Cell,
    *,
    begin: str = "",
    end: str = "",
    closed: Sequence[str] = (),
    running: Mapping[str, float] | None = None,
    clock: Clock = "on time",
    merge: int = 30 * SECOND,
    unseen_below: int = 0,
    split: int = 0,
    exclude: Sequence[str] = (),
    keep: Sequence[str] = (),
    planned: Sequence[str] = (),
    renamed: Mapping[str, str] | None = None,
    causes: Mapping[str, str] | None = None,
    leave_out: Sequence[int] = (),
    people: Mapping[str, str] | None = None,
    unit: str = "",
    decimal: str = "",
    delimiter: str = "",
    order: str = "",
    zone: ZoneInfo | None = None,
    resamples: int = 199,
) -> StopStudy:
    """Study a log for a cell; see `read_stop_log` and `clean` for how it is read and cleaned.

    Args:
        begin, end: dates or moments between which the log is complete, in ISO form.
        closed: days or times when nobody worked, as `2026-04-03` or `2026-04-03 to 2026-04-06`.
        running: share of the on time that stations work, for the clock `running`.
        people: names of people in the log to posts or skills of the cell.
        merge, unseen_below, split: microseconds; stops below `unseen_below` were never logged, those of at
            least `split` are breakdowns; 0 = not so.
        resamples: by how many the fit of laws of lengths is judged; 0 = not.

    Raises:
        UsageError, DescriptionError: log or arguments cannot be used.
    """
    log = read_stop_log(path, cell, renamed=renamed, causes=causes, leave_out=leave_out, unit=unit,
                        decimal=decimal, delimiter=delimiter, order=order, zone=zone)  # fmt: skip
    log.stops = named(log.stops, cell, people or {})
    clean_log = clean(
        log,
        cell,
        begin=_moment("--from", begin, log.axis),
        end=_moment("--to", end, log.axis, evening=True),
        closed=[_span(text, log.axis) for text in closed],
        merge=merge,
        exclude=exclude,
        keep=keep,
        planned=planned,
    )
    shares = dict(running or {})
    for name in shares:
        if name not in clean_log.planned:
            near = nearest(name, clean_log.planned)
            advice = f"; did you mean {quoted(near)}?" if near else ""
            raise UsageError(f"--running: the cell has no station or robot {quoted(name)}{advice}")
    if unseen_below:
        _drop_short(clean_log, unseen_below)
    groups = _groups(clean_log, split)
    found = [
        cause_input(clean_log, cell, name, stops, clock, shares, unseen_below, split, resamples)
        for name, stops in groups.items()
    ]
    _mark(found)
    lines = {stop.line: stop for stop in log.stops}
    planned_stops = planned_inputs(clean_log, cell)
    quiet = quiet_times(
        list(lines.values()), clean_log.begin, clean_log.end, clean_log.shift, shift_length(cell), log.axis
    )
    return StopStudy(
        file=log.file,
        first=log.axis.text(clean_log.begin),
        last=log.axis.text(clean_log.end),
        planned_h=_plain_planned(clean_log) / 3600 / SECOND,
        shift_h=clean_log.shift.between(clean_log.begin, clean_log.end) / 3600 / SECOND,
        stops=len(lines),
        causes=found,
        waits=waits_of(clean_log, cell, resamples),
        changes=sorted(dict.fromkeys(clean_log.changes), key=lambda change: change.line),
        repairs=log.repairs,
        assumed=clean_log.assumed,
        left=[(cause, count, seconds) for cause, (count, seconds) in clean_log.left.items()],
        asked=[(cause, count, seconds) for cause, (count, seconds) in clean_log.asked.items()],
        planned=planned_stops,
        words=NOT_ITS_OWN,
        planned_words={str(kind): words for kind, words in PLANNED.items()},
        quiet=quiet,
        cautions=quiet
        + log.asked
        + clean_log.open_
        + _slips(found)
        + _cautions(found)
        + unseen_services(planned_stops, cell),
    )


def _moment(option: str, text: str, axis: Axis, evening: bool = False) -> int | None:
    """A date or moment on the axis; with `evening` a date means the end of its day."""
    if not text:
        return None
    try:
        at = datetime.fromisoformat(text)
        if evening and len(text) <= 10:
            at += timedelta(days=1)
    except (ValueError, OverflowError):  # a calendar ends with the year 9999
        raise UsageError(
            f"{option}: {quoted(text)} is no date such as 2026-03-02 or 2026-03-02T06:00"
        ) from None
    return axis.moment(at.replace(tzinfo=None))


def _span(text: str, axis: Axis) -> tuple[int, int]:
    """From and to of a time when nobody worked; a date without a time of day means the whole day."""
    first, _, last = (part.strip() for part in text.partition(" to "))
    begin, end = _moment("--closed", first, axis), _moment("--closed", last or first, axis, evening=True)
    if begin is None or end is None or end <= begin:
        raise UsageError(
            f"--closed: {quoted(text)} is no time such as 2026-04-03 or 2026-04-03T22:00 to 2026-04-06T22:00"
        )
    return begin, end


def _plain_planned(log: CleanLog) -> int:
    """Planned time of the stations that have the least of it, which do not work through breaks."""
    return min(planned.between(log.begin, log.end) for planned in log.planned.values())


def _drop_short(log: CleanLog, below: int) -> None:
    found = []
    for stop in log.stops:
        if stop.ended and log.length(stop) < below:
            text = f"{length_text(log.length(stop))}; shorter than what is logged always, left out"
            log.changes.append(Change("shorter than logged", stop.line, text))
        else:
            found.append(stop)
    log.stops = found
    if not found:
        raise UsageError(f"--unseen-below {length_text(below)}: no stop of the log is as long")


def _groups(log: CleanLog, split: int) -> dict[tuple[str, str], list[Logged]]:
    """The stops by station and cause; with `split` a cause with short and long ones is two."""
    found: dict[tuple[str, str], list[Logged]] = {}
    for stop in log.stops:
        found.setdefault((stop.owner, stop.cause), []).append(stop)
    if not split:
        return dict(sorted(found.items()))
    parted: dict[tuple[str, str], list[Logged]] = {}
    for (owner, cause), stops in sorted(found.items()):
        short = [stop for stop in stops if log.length(stop) < split]  # one of unknown length is minor
        long = [stop for stop in stops if log.length(stop) >= split]
        single = cause == NO_CAUSE
        for part, name in ((short, MINOR), (long, BREAKDOWN)):
            if part:
                whole = len(part) == len(stops) and not single
                parted[owner, cause if whole else name if single else f"{cause} {name}"] = part
    return parted


def _mark(causes: list[CauseInput]) -> None:
    """Mark the cause that takes most time of each station."""
    for station in {cause.station for cause in causes}:
        own = [cause for cause in causes if cause.station == station]
        max(own, key=lambda cause: cause.lost_s).main = True


def _slips(causes: Sequence[CauseInput]) -> list[str]:
    """Causes of one station whose names may be one, as questions."""
    found = []
    for station in dict.fromkeys(cause.station for cause in causes):
        counts = {cause.cause: cause.count for cause in causes if cause.station == station}
        for one, other in slips(list(counts)):
            rare, often = sorted((one, other), key=lambda cause: counts[cause])
            found.append(
                f"{station}: are {quoted(one)} ({counts[one]}) and {quoted(other)} ({counts[other]})"
                f' the same? They count as two; if they are one, say --cause "{rare}={often}".'
            )
    return found


def _cautions(causes: Sequence[CauseInput]) -> list[str]:
    thin = [cause for cause in causes if cause.main and cause.thin]
    if not thin:
        return []
    names = ", ".join(f"{cause.station} {cause.cause} ({cause.count})" for cause in thin)
    return [
        f"Stop data thin; the band is wider than shown. Fewer than {THIN} stops of a main cause: {names}."
    ]
