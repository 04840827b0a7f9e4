"""The stops of a log made fit for statistics: only what is a stop of the station itself, in planned time.

Each step takes the stops in order of time and lists what it changes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from cellsim.describe.cell import Cell, Robot, Station
from cellsim.errors import UsageError
from cellsim.evidence.stop_causes import NO_CAUSE
from cellsim.evidence.stop_records import Change, Logged, StopLog
from cellsim.evidence.stop_words import PlannedKind, planned_work, waits_for
from cellsim.evidence.worktime import Axis, WorkTime, length_text, planned_time, shift_time
from cellsim.units import DAY, SECOND, nearest, quoted


@dataclass
class CleanLog:
    """Stops of a log after cleaning, in order of time, and the time in which they were watched.

    `shift` is the time in which the cell is on (what `on time` counts), `planned` by station without breaks.
    `left` says by cause what was left out as no stop of the station, `asked` what was left out as asked: how
    often, how many seconds.  `apart` are the planned stops, each with its kind; `open_` causes that may be
    planned or not, in words.
    """

    file: str
    axis: Axis
    begin: int
    end: int
    stops: list[Logged]
    shift: WorkTime
    planned: dict[str, WorkTime]
    changes: list[Change]
    repairs: list[str]
    assumed: list[str] = field(default_factory=list)
    left: dict[str, tuple[int, float]] = field(default_factory=dict)
    asked: dict[str, tuple[int, float]] = field(default_factory=dict)
    apart: list[tuple[Logged, PlannedKind]] = field(default_factory=list)
    open_: list[str] = field(default_factory=list)

    def length(self, stop: Logged) -> int:
        """Planned time of a stop in microseconds."""
        return self.planned[stop.owner].between(stop.begin, _closed(stop))


def clean(
    log: StopLog,
    cell: Cell,
    *,
    begin: int | None = None,
    end: int | None = None,
    closed: Sequence[tuple[int, int]] = (),
    merge: int = 30 * SECOND,
    exclude: Sequence[str] = (),
    keep: Sequence[str] = (),
    planned: Sequence[str] = (),
) -> CleanLog:
    """Clean a log.

    Args:
        begin, end: the period watched, in microseconds of the axis; without them from the first shift to the
            last on days on which a stop began, which is stated as an assumption.
        closed: when nobody worked though the calendar says so, such as holidays: from and to, on the axis.
        merge: repeats of a cause after at most this planned time are one stop, microseconds.
        exclude, keep, planned: causes to leave out, to keep although they look like waits or planned work,
            and to put apart as planned work.

    Raises:
        UsageError: the period is empty, a cause that is named is not there or named twice, no stop is left.
    """
    last = max((_closed(stop) for stop in log.stops), default=0)
    last = max(last, end or 0) + DAY
    shift, by_owner = shift_time(cell, last).without(closed), {}
    owners: tuple[Station | Robot, ...] = (*cell.stations, *cell.robots)
    for owner in owners:
        through = isinstance(owner, Station) and owner.runs_through_breaks
        by_owner[owner.name] = planned_time(cell, last, through).without(closed)
    whole = CleanLog(log.file, log.axis, 0, 0, log.stops, shift, by_owner, list(log.changes), log.repairs)
    _watch(whole, cell, begin, end)
    _close(whole)
    _sort_out(whole, {"--exclude": exclude, "--keep": keep, "--planned": planned})
    together = {
        station.name for station in cell.stations if station.machines > 1
    }  # machines that may be written by the name of the station
    _overlaps(whole, together)
    _clip(whole)
    _in_period(whole)
    _merge(whole, merge, together)
    if not whole.stops:
        apart = f", {len(whole.apart)} planned stops put apart" if whole.apart else ""
        raise UsageError(f"{log.file}: no stop is left; {len(whole.changes)} changes were made{apart}")
    return whole


def _closed(stop: Logged) -> int:
    return stop.begin if stop.end is None else stop.end


def _watch(log: CleanLog, cell: Cell, begin: int | None, end: int | None) -> None:
    """The period watched: as given, else the shifts on the first to the last day of the log."""
    if begin is None:
        begin = min(start for start, _ in _shifts_of_day(cell, log.stops[0].begin))
        log.assumed.append(
            f"the log is complete from {log.axis.text(begin)}, the first shift of the day of the first stop"
        )
    if end is None:
        end = max(end for _, end in _shifts_of_day(cell, log.stops[-1].begin))
        log.assumed.append(
            f"the log is complete up to {log.axis.text(end)}, the end of work on the day of the last stop"
        )
    if end <= begin or log.shift.between(begin, end) == 0:
        raise UsageError(
            f"no planned time lies between {log.axis.text(begin)} and {log.axis.text(end)};"
            " look at --from and --to"
        )
    log.begin, log.end = begin, end


def _shifts_of_day(cell: Cell, at: int) -> list[tuple[int, int]]:
    """The shifts of the day of a moment (after start up, before clean up); nights are of the first day.

    The whole day where no shift begins on it.
    """
    day = at // DAY
    spans = {
        late: [
            (
                (day - late) * DAY + shift.start + shift.start_up,
                (day - late) * DAY + shift.end - shift.clean_up,
            )
            for shift in cell.shifts
            if (day - late) % 7 in shift.days
        ]
        for late in (0, 1)
    }
    if any(start <= at < end for start, end in spans[1]):
        return spans[1]
    return spans[0] or [(day * DAY, (day + 1) * DAY)]


def _close(log: CleanLog) -> None:
    """A stop without an end: still open in the last shift of the period, else of a length that is not known.

    It lasted at most to the next row of its machine, so taking that for its length would make stops longer
    than they are.  It counts as a stop; its length counts only where it is open to the end, as at least that.
    """
    later: dict[str, int] = {}
    found = []
    for stop in reversed(log.stops):
        following, later[stop.machine] = later.get(stop.machine), stop.begin
        if stop.end is not None:
            found.append(stop)
            continue
        end = max(stop.begin, min(log.shift.end_from(stop.begin), log.end))
        if following is None and log.shift.between(end, log.end) == 0:
            text = f"closed at {log.axis.text(end)}, the end of the shift; it lasted at least as long"
            found.append(replace(stop, end=end, ended=False))
        else:
            text = "it counts as a stop, its length is not known"
            if following is not None and following <= end:
                most = length_text(log.planned[stop.owner].between(stop.begin, following))
                text += f" (at most {most}, when the next stop of that machine began)"
            found.append(replace(stop, end=stop.begin, ended=False, known=False))
        log.changes.append(Change("no end", stop.line, text))
    log.stops = found[::-1]


def _sort_out(log: CleanLog, options: Mapping[str, Sequence[str]]) -> None:
    """Only random stops of the station itself stay; planned ones are put apart, waits are left out.

    What an option says of a cause goes before what its line says, and that before the words of the cause.
    """
    said = _said_of_causes(log, options)
    found = []
    for stop in log.stops:
        option = said.get(stop.cause.casefold(), "")
        kind, sure = planned_work(stop.cause)
        if option == "--exclude":
            log.changes.append(Change("left out as asked", stop.line, quoted(stop.cause)))
            _count(log, log.asked, stop)
        elif option == "--keep":
            found.append(stop)
        elif option == "--planned" or stop.planned or (sure and stop.planned is None):
            why = "as asked" if option else f"by {quoted(stop.marked)}" if stop.planned else "by its words"
            text = f"{quoted(stop.cause)} is planned, {why}; put apart"
            log.changes.append(Change("planned stop", stop.line, text))
            log.apart.append((stop, kind or "service"))
        elif why := waits_for(stop.cause):
            text = f"{quoted(stop.cause)} left out: {why}"
            log.changes.append(Change("no stop of the station itself", stop.line, text))
            _count(log, log.left, stop)
        else:
            found.append(stop)
    log.stops = found
    _ask_what_is_planned(log, said)


def _said_of_causes(log: CleanLog, options: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """The option that names each cause, by the cause in lower case."""
    causes = {stop.cause.casefold(): stop.cause for stop in log.stops}
    said: dict[str, str] = {}
    wrong = []
    for option, names in options.items():
        for name in names:
            folded = " ".join(name.casefold().split())
            if folded not in causes:
                near = nearest(name, causes.values())
                advice = f"; did you mean {quoted(near)}?" if near else ""
                wrong.append(f"{option}: the log has no cause {quoted(name)}{advice}")
            elif said.setdefault(folded, option) != option:
                wrong.append(f"{option}: {quoted(name)} stands in {said[folded]} too")
    if wrong:
        raise UsageError("\n".join(wrong))
    return said


def _count(log: CleanLog, counts: dict[str, tuple[int, float]], stop: Logged) -> None:
    """One more stop of a cause, with its planned time."""
    count, seconds = counts.get(stop.cause, (0, 0.0))
    counts[stop.cause] = (count + 1, seconds + log.length(stop) / SECOND)


def _ask_what_is_planned(log: CleanLog, said: Mapping[str, str]) -> None:
    """Causes that stayed and may be planned: by a word, or since others of the cause are marked so."""
    apart = {stop.cause for stop, _ in log.apart}
    for cause in dict.fromkeys(stop.cause for stop in log.stops):
        rows = [stop for stop in log.stops if stop.cause == cause and stop.planned is None]
        if not rows or cause.casefold() in said:
            continue
        if cause in apart:
            what = f"{quoted(cause)} is marked as planned in some lines and in {len(rows)} not"
        elif planned_work(cause)[0] is not None:
            what = f"{quoted(cause)} ({len(rows)}) may be planned work or a failure"
        else:
            continue
        name = cause.replace('"', "")
        log.open_.append(
            f'{what}: it counts as a random stop. --planned "{name}" puts it apart, --keep "{name}" settles'
            " that it is none."
        )


def _in_period(log: CleanLog) -> None:
    """Stops that began outside the period are not counted; one that goes beyond its end has not ended."""
    found = []
    for stop in log.stops:
        if not log.begin <= stop.begin < log.end:
            log.changes.append(
                Change("outside the period", stop.line, "did not begin in the period; left out")
            )
        elif _closed(stop) > log.end:
            text = "goes beyond the period; it lasted at least to its end"
            log.changes.append(Change("outside the period", stop.line, text))
            found.append(replace(stop, end=log.end, ended=False, outside=False))
        else:
            found.append(stop)
    log.stops = found


def _by_machine(log: CleanLog, together: set[str], step: Callable[[Logged, Logged], list[Logged]]) -> None:
    """Let a step look at each stop and the one before it on the same machine; what it returns stays of both.

    Stops written by the name of a station with several machines are left alone: which machine is not known.
    """
    machines: dict[str, list[Logged]] = {}
    for stop in log.stops:
        row = machines.setdefault(stop.machine, [])
        row += step(row.pop(), stop) if row and stop.machine not in together else [stop]
    log.stops = sorted((stop for row in machines.values() for stop in row), key=lambda s: (s.begin, s.line))


def _overlaps(log: CleanLog, together: set[str]) -> None:
    """Stops of a machine that overlap: of one cause they are one, of two the later is cut or left out.

    Two of which the cause is not known are not of one cause.
    """

    def step(before: Logged, stop: Logged) -> list[Logged]:
        if stop.begin >= _closed(before) or not before.known:
            return [before, stop]
        if stop.cause == before.cause != NO_CAUSE:
            text = f"overlaps line {before.line} of the same cause; both are one stop"
            log.changes.append(Change("overlap", stop.line, text))
            return [_joined(before, stop)]
        if _closed(stop) <= _closed(before):
            text = f"lies within line {before.line} ({before.cause}); left out"
            log.changes.append(Change("overlap", stop.line, text))
            return [before]
        text = f"begins at the end of line {before.line} ({before.cause}), {log.axis.text(_closed(before))}"
        log.changes.append(Change("overlap", stop.line, text))
        return [before, replace(stop, begin=_closed(before), requested=None)]

    _by_machine(log, together, step)


def _joined(before: Logged, stop: Logged) -> Logged:
    """Two stops as one; it has ended if the one that ends last has."""
    later = stop if _closed(stop) >= _closed(before) else before
    return replace(
        before,
        lines=before.lines + stop.lines,
        end=_closed(later),
        ended=later.ended,
        outside=later.outside,
        known=later.known,
        cleared_by=before.cleared_by or stop.cleared_by,
        arrived=before.arrived if before.arrived is not None else stop.arrived,
    )


def _clip(log: CleanLog) -> None:
    """Only planned time counts: nights and breaks are no repair; what lies outside is left out."""
    found = []
    for stop in log.stops:
        planned, written = log.planned[stop.owner], _closed(stop) - stop.begin
        counts = log.length(stop)
        if counts == written and (
            written > 0 or (log.shift if not stop.known else planned).holds(stop.begin)
        ):
            found.append(stop)
            continue
        if counts == 0:
            log.changes.append(Change("planned time", stop.line, "lies outside planned time; left out"))
            continue
        text = f"{length_text(written)} as written, {length_text(counts)} in planned time"
        ended = stop.ended and planned.holds(_closed(stop) - 1)
        if stop.ended and not ended:
            text += ", ended outside: it lasted at least as long"
        log.changes.append(Change("planned time", stop.line, text))
        begin, end = log.shift.next_start(stop.begin), planned.last_end(_closed(stop))
        outside = stop.ended and not ended
        found.append(replace(stop, begin=begin, end=end, ended=ended, outside=outside))
    log.stops = found


def _merge(log: CleanLog, merge: int, together: set[str]) -> None:
    """Repeats of a cause after a short planned time are one stop; so is what a break or night cut in two.

    Two that overlapped and of which the cause is not known stay two.
    """
    cut = {change.line for change in log.changes if change.step == "overlap"}

    def step(before: Logged, stop: Logged) -> list[Logged]:
        planned = log.planned[stop.owner]
        gap = planned.between(_closed(before), stop.begin)
        overlapped = stop.cause == NO_CAUSE and stop.line in cut
        if stop.cause != before.cause or overlapped or gap > merge or merge <= 0 or not before.known:
            return [before, stop]
        text = f"{length_text(gap)} of planned time after line {before.lines[-1]}; both are one stop"
        log.changes.append(Change("repeat", stop.line, text))
        return [_joined(before, stop)]

    _by_machine(log, together, step)
