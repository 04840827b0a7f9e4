"""From a stop log to the stops of a cell file: how often, how long, by which law, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from cellsim.describe.cell import Cell
from cellsim.errors import UsageError
from cellsim.evidence.fitting import Bounds, Sample, fitted, mean_between, sample
from cellsim.evidence.stop_cleaning import NOT_ITS_OWN, CleanLog, clean
from cellsim.evidence.stop_helpers import WaitInput, cleared_by, has_response, named, waits_of
from cellsim.evidence.stop_laws import Estimate, between_estimate, law_bounds, lengths_estimate
from cellsim.evidence.stop_remarks import quiet_times, remarks_on
from cellsim.evidence.stoplog import Change, Logged, read_stop_log
from cellsim.evidence.worktime import Axis, length_text, shift_length
from cellsim.units import SECOND, nearest, quoted

THIN = 20  # stops of a main cause below which a log is called thin (common practice, no source)
MINOR, BREAKDOWN = "minor", "breakdown"
Clock = Literal["on time", "running"]


@dataclass
class CauseInput:
    """One cause of a station or robot.

    `count` stops began in the period; `watched_s` is the time on the clock in which they could (that of all
    machines), `lost_s` the planned time they took, `lost_share` of all.  `every` is the time from the end of
    one to the next, `lasts` the length (hands-on time where arrivals are logged), None where no end was seen.
    `seen_every_s` is the mean time between stops that were long enough to be logged, `unseen_share` the share
    of stops that were not.
    """

    station: str
    cause: str
    count: int
    not_ended: int
    lost_s: float
    lost_share: float
    clock: str
    watched_s: float
    every: Estimate
    lasts: Estimate | None
    hands_on: bool
    seen_every_s: float
    unseen_share: float
    main: bool
    thin: bool
    cleared_by: str
    remarks: list[str] = field(default_factory=list)


@dataclass
class StopStudy:
    """What a log of so many stops says; `left` are waits, no stops of the station: cause, how often, s.

    `quiet` says the longest time without any stop where it is improbable; it is one of the `cautions`.
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
    words: dict[str, tuple[str, ...]]
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
    renamed: Mapping[str, str] | None = None,
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
    log = read_stop_log(path, cell, renamed=renamed, unit=unit, decimal=decimal, delimiter=delimiter,
                        order=order, zone=zone)  # fmt: skip
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
    causes = [
        _cause(clean_log, cell, name, stops, clock, shares, unseen_below, split, resamples)
        for name, stops in groups.items()
    ]
    _mark(causes)
    quiet = quiet_times(
        log.stops, clean_log.begin, clean_log.end, clean_log.shift, shift_length(cell), log.axis
    )
    return StopStudy(
        file=log.file,
        first=log.axis.text(clean_log.begin),
        last=log.axis.text(clean_log.end),
        planned_h=_plain_planned(clean_log) / 3600 / SECOND,
        shift_h=clean_log.shift.between(clean_log.begin, clean_log.end) / 3600 / SECOND,
        stops=len(log.stops),
        causes=causes,
        waits=waits_of(clean_log, cell, resamples),
        changes=sorted(clean_log.changes, key=lambda change: change.line),
        repairs=log.repairs,
        assumed=clean_log.assumed,
        left=[(cause, count, seconds) for cause, (count, seconds) in clean_log.left.items()],
        words=NOT_ITS_OWN,
        quiet=quiet,
        cautions=quiet + _cautions(causes),
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
        single = cause == "stop"
        for part, name in ((short, MINOR), (long, BREAKDOWN)):
            if part:
                whole = len(part) == len(stops) and not single
                parted[owner, cause if whole else name if single else f"{cause} {name}"] = part
    return parted


def _cause(
    log: CleanLog,
    cell: Cell,
    name: tuple[str, str],
    stops: list[Logged],
    clock: Clock,
    running: Mapping[str, float],
    unseen_below: int,
    split: int,
    resamples: int,
) -> CauseInput:
    owner, cause = name
    machines = next((s.machines for s in cell.stations if s.name == owner), 1)
    timed = [stop for stop in stops if stop.known]
    lengths = [log.length(stop) / SECOND for stop in timed]
    arrived = [stop for stop in timed if stop.arrived is not None]
    repairs = [_repair(log, stop) for stop in arrived] if arrived else lengths
    open_ = [not stop.ended for stop in (arrived or timed)]
    part_above = split and min(lengths, default=0.0) >= split / SECOND
    below = 0.0 if part_above or arrived else unseen_below / SECOND
    remarks: list[str] = []
    lasts, unseen, unseen_bounds = _lasts(repairs, open_, below, resamples, f"{owner}, {cause}", remarks)
    count = len(stops)
    down = sum(log.shift.between(stop.begin, min(stop.end or stop.begin, log.end)) for stop in stops) / SECOND
    on = machines * log.shift.between(log.begin, log.end) / SECOND
    if unseen and lasts is not None:
        down = max(down, count / (1 - unseen) * lasts.bounds.mean)
    if clock == "running":
        if owner not in running:
            raise UsageError(
                f"--between running: say which share of its on time {owner} works,"
                f' as in --running "{owner}: 80 %"'
            )
        watched = on * running[owner]
    else:
        watched = on - down
    if watched <= 0:
        raise UsageError(f"{owner}, {cause}: the stops take up all of the time watched")
    factor = running.get(owner, 1.0) if clock == "running" else 1.0
    every = between_estimate(watched, count, _gaps(log, stops, machines, factor) if not unseen else None)
    seen = mean_between(watched, count)
    if unseen:
        low, high = seen.low * (1 - unseen_bounds[1]), seen.high * (1 - unseen_bounds[0])
        mean = seen.mean * (1 - unseen)
        every = replace(
            every, bounds=Bounds(mean, low, high), value=every.value | {"mean": mean},
            why=every.why + f"; {100 * unseen:.0f} % of the stops are shorter than what is logged",
        )  # fmt: skip
    remarks += remarks_on(timed, lengths, split, machines, owner)
    if len(timed) < count:
        remarks.append(f"the length of {count - len(timed)} of {count} is not known")
    if unseen_below and arrived:
        remarks.append("arrivals are logged, so nothing is added for stops too short to be logged")
    who = cleared_by(stops, cell, remarks)
    if who and not arrived and has_response(cell, who):
        remarks.append(
            f"the log has no arrivals, so these lengths hold the wait for {who}, whose response the cell file"
            " counts again: log arrivals, or give no response"
        )
    return CauseInput(
        station=owner,
        cause=cause,
        count=count,
        not_ended=sum(not stop.ended for stop in timed),
        lost_s=sum(lengths),
        lost_share=sum(lengths) * SECOND / (machines * log.planned[owner].between(log.begin, log.end)),
        clock=clock,
        watched_s=watched,
        every=every,
        lasts=lasts,
        hands_on=bool(arrived),
        seen_every_s=seen.mean,
        unseen_share=unseen,
        main=False,
        thin=count < THIN,
        cleared_by=who,
        remarks=remarks,
    )


def _lasts(
    lengths: Sequence[float],
    open_: Sequence[bool],
    below: float,
    resamples: int,
    name: str,
    remarks: list[str],
) -> tuple[Estimate | None, float, tuple[float, float]]:
    """The law of lengths, and the share of stops below what is logged with its bounds."""
    if all(open_):
        remarks.append("no end of such a stop was seen; how long it lasts must be found out")
        return None, 0.0, (0.0, 0.0)
    if max(lengths) == 0:
        raise UsageError(
            f"{name}: all stops have a length of 0; leave them out with --exclude, or log their ends"
        )
    zeros = sum(length == 0 for length in lengths)
    if zeros:
        remarks.append(f"{zeros} of {len(lengths)} have a length of 0; they count as that")
    told = [k for k, length in enumerate(lengths) if length > 0 or not open_[k]]  # at least 0 says nothing
    data = sample([lengths[k] for k in told], [open_[k] for k in told], below)
    estimate = lengths_estimate(data, resamples)
    if not below:
        return estimate, 0.0, (0.0, 0.0)
    if estimate.law == "exponential":
        share = [
            -math.expm1(-below / m) for m in (estimate.bounds.mean, estimate.bounds.low, estimate.bounds.high)
        ]
        return estimate, share[0], (share[2], share[1])
    return _other_unseen(data, estimate, below)


def _other_unseen(
    data: Sample, estimate: Estimate, below: float
) -> tuple[Estimate, float, tuple[float, float]]:
    """The same for a law with a shape: it is moved to the ends of the bounds of its mean."""
    fit = fitted(data, estimate.law)
    bounds = law_bounds(data, fit)
    share = fit.unseen_share(below)
    ends = [fit.unseen_share(below * fit.mean / mean) for mean in (bounds.high, bounds.low)]
    return estimate, share, (ends[0], ends[1])


def _repair(log: CleanLog, stop: Logged) -> float:
    """Hands-on time of a stop in seconds: planned time from the arrival to the end."""
    begin = max(stop.begin, stop.arrived if stop.arrived is not None else stop.begin)
    return log.planned[stop.owner].between(begin, max(begin, stop.end or begin)) / SECOND


def _gaps(log: CleanLog, stops: list[Logged], machines: int, factor: float) -> Sample | None:
    """Times on the clock from the end of each stop to the next on its machine, the last one censored."""
    by_machine: dict[str, list[Logged]] = {}
    for stop in stops:
        by_machine.setdefault(stop.machine, []).append(stop)
    if machines > 1 and any(name == stop.owner for name, row in by_machine.items() for stop in row):
        return None  # which machine stood still is not known
    values, open_ = [], []
    for row in by_machine.values():
        ends = [stop.end or stop.begin for stop in row]
        for (end, _), (_, following) in pairwise(zip(ends, (stop.begin for stop in row), strict=True)):
            values.append(log.shift.between(end, following) * factor / SECOND)
            open_.append(False)
        if (left := log.shift.between(min(ends[-1], log.end), log.end)) > 0:
            values.append(left * factor / SECOND)
            open_.append(True)
    if all(open_) or not any(values):
        return None
    return sample(values, open_)


def _mark(causes: list[CauseInput]) -> None:
    """Mark the cause that takes most time of each station."""
    for station in {cause.station for cause in causes}:
        own = [cause for cause in causes if cause.station == station]
        max(own, key=lambda cause: cause.lost_s).main = True


def _cautions(causes: Sequence[CauseInput]) -> list[str]:
    thin = [cause for cause in causes if cause.main and cause.thin]
    if not thin:
        return []
    names = ", ".join(f"{cause.station} {cause.cause} ({cause.count})" for cause in thin)
    return [
        f"Stop data thin; the band is wider than shown. Fewer than {THIN} stops of a main cause: {names}."
    ]
