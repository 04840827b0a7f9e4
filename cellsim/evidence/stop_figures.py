"""One cause of stops by a log: how often, how long, what it took, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

from cellsim.describe.cell import Cell
from cellsim.errors import UsageError
from cellsim.evidence.fitting import Bounds, Sample, fitted, mean_between, sample
from cellsim.evidence.stop_cleaning import CleanLog
from cellsim.evidence.stop_helpers import cleared_by, has_response
from cellsim.evidence.stop_laws import Estimate, between_estimate, law_bounds, lengths_estimate
from cellsim.evidence.stop_records import Logged
from cellsim.evidence.stop_remarks import remarks_on
from cellsim.units import SECOND

THIN = 20  # stops of a main cause below which a log is called thin (common practice, no source)
Clock = Literal["on time", "running"]


@dataclass
class CauseInput:
    """One cause of a station or robot.

    `count` stops began in the period; `watched_s` is the time on the clock in which they could (that of all
    machines), `lost_s` the planned time they took, `lost_share` of all.  `every` is the time from the end of
    one to the next, `lasts` the length (hands-on time where arrivals are logged), None where no end was seen.
    `not_ended` stops are known to have lasted at least so long, `ended_outside` of them since they ended in a
    break or off hours.  A stop whose length is not known counts in `lost_s` with the mean of the others.
    `seen_every_s` is the mean time between stops that were long enough to be logged, `unseen_share` the share
    of stops that were not.
    """

    station: str
    cause: str
    count: int
    not_ended: int
    ended_outside: int
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


def cause_input(
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
    """The figures of the stops of one cause, `name` being its station or robot and its own.

    Args:
        running: share of its on time that a station works, for the clock `running`.
        unseen_below, split: microseconds; stops below `unseen_below` were never logged, `split` parts minor
            stops from breakdowns.
        resamples: by how many the fit of laws of lengths is judged.

    Raises:
        UsageError: all lengths are 0, nothing is left to be watched, or the share of running is missing.
    """
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
    lost = sum(lengths)
    if len(timed) < count:
        unknown = f"the length of {count - len(timed)} of {count} is not known"
        if lengths:
            lost *= count / len(timed)
            unknown += "; in lost it counts with the mean of the others"
        remarks.append(unknown)
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
        ended_outside=sum(stop.outside for stop in timed),
        lost_s=lost,
        lost_share=lost * SECOND / (machines * log.planned[owner].between(log.begin, log.end)),
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
