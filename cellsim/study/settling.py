"""The warm-up period of a cell: how long it takes from its start to its long-run behaviour, found by runs.

MSER-5 drops something of most series that have long settled, since it cannot tell luck from a start.  So of
what it would drop, the part is left out of the count that ends with the last interval which differs from the
rest by more than luck and by what matters.  The run is made longer until the averaged series of output and of
work in progress both show where they settle; a cell of which that cannot be had is refused, with the reason
where it can be known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cellsim.describe import laws
from cellsim.describe.cell import Cell
from cellsim.describe.shifts import working_time
from cellsim.engine.record import Record
from cellsim.errors import LockedCell, NotSettled, UsageError
from cellsim.study.batch_means import from_one_run
from cellsim.study.broken import stop_if_broken
from cellsim.study.loading import loading
from cellsim.study.passages import passages, released
from cellsim.study.plan import Plan, make_plan
from cellsim.study.rounds import (
    FloatArray,
    Round,
    Series,
    hours_that_repeat,
    intervals,
    series,
    shifts_that_repeat,
)
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.settled import FEWEST, LEAST, TIMES, differs
from cellsim.study.statistics import Interval, entry, t_interval
from cellsim.study.warmup import GROUP, Truncation, smoothed, truncate
from cellsim.units import HOUR, SECOND

REPLICATIONS = 20  # enough to see above the noise of single runs what would matter
HOURS, SHIFTS = (
    100,
    60,
)  # intervals of the first run: 20 groups of five; 12 where each is a whole shift or more
DOUBLINGS = 3  # how often the run may be made twice as long
UNITS = 5  # good units in an interval at least, so that counts are not mostly 0 and 1
APART = 0.99  # level at which an interval is said to differ from the rest
MATTERS = {"output": 0.003, "wip": 0.02}  # of the mean: a difference below it changes no decision
UNIT = {"output": "good units per working hour", "wip": "units"}


@dataclass(frozen=True, slots=True)
class Look:
    """What a run of some length showed: series by interval of `together` rounds, and where they settle."""

    rounds: Round
    together: int
    plan: Plan
    groups: list[Sequence[int]]
    series: Series
    found: dict[str, Truncation]
    records: list[Record]

    @property
    def count(self) -> int:
        """Intervals of the run."""
        return len(self.groups)

    @property
    def by_rule(self) -> int:
        """Intervals that MSER-5 would drop: the larger of what output and work in progress say."""
        return max(each.dropped for each in self.found.values())

    @property
    def dropped(self) -> int:
        """Intervals that should not be counted: the larger of what can be told apart in the two."""
        return max(self.told_apart(name) for name in self.found)

    def told_apart(self, name: str) -> int:
        """Intervals, in steps of the rule, up to the last that it would drop and that differs from the rest.

        All that the rule would drop where there are too few replications to say that.
        """
        values: FloatArray = getattr(self.series, name)
        cut = self.found[name].dropped
        if len(values) < FEWEST:
            return cut
        rest = values[:, cut:].mean(axis=1)
        last = 0
        for k in range(cut):
            apart = abs(float((values[:, k] - rest).mean()))
            if apart > MATTERS[name] * abs(float(rest.mean())) and differs(values[:, k], rest, APART):
                last = k + 1
        return -(-last // GROUP) * GROUP

    @property
    def too_short(self) -> bool:
        """Whether one of the two does not show where it settles."""
        return any(each.too_short for each in self.found.values())

    def words(self, count: int) -> str:
        """So many intervals as the cell file says them."""
        return self.rounds.words(self.together * count)


class _Study:
    """One cell, run from its start as long as it takes."""

    def __init__(
        self, cell: Cell, seed: int, replications: int, runner: Runner, progress: Progress | None
    ) -> None:
        self.cell, self.seed, self.numbers = cell, seed, tuple(range(replications))
        self.runner, self.progress = runner, progress
        self.rounds = shifts_that_repeat(cell) if cell.shifts else hours_that_repeat(cell)

    def look(self, together: int, count: int) -> Look:
        """Run `count` intervals of `together` rounds from the start, everything counted."""
        total = self.rounds.count * together * count
        start = "empty" if self.cell.study.start == "as left" else self.cell.study.start
        study = replace(self.cell.study, shifts=0, run=0, settle=0, settle_shifts=0, start=start)
        study = replace(study, shifts=total) if self.rounds.spans else replace(study, run=total * HOUR)
        cell = replace(self.cell, study=study)
        records = []
        for _, record in self.runner.each([Wanted(cell, self.seed, self.numbers)]):
            records.append(record)
            if self.progress is not None:
                self.progress(len(records), len(self.numbers))
        records.sort(key=lambda record: record.replication)
        stop_if_broken(records, self.seed)
        _refuse_locked(records)
        plan = make_plan(cell)
        groups = intervals(self.rounds, plan, together)
        found = series(plan, groups, records)
        cuts = {name: truncate(values.mean(axis=0).tolist()) for name, values in found.each()}
        return Look(self.rounds, together, plan, groups, found, cuts, records)

    def together(self, look: Look) -> int:
        """How many rounds make an interval in which enough good units leave."""
        left = sum(sum(record.hourly) for record in look.records)
        if left == 0:
            raise NotSettled("no steady state found: no good unit leaves the cell")
        rounds = len(look.records) * look.count
        together = 1
        while together * left < UNITS * rounds or not self._divides(together):
            together += 1
        return together

    def _divides(self, together: int) -> bool:
        """Whether hours taken together fit into a day, or days into them; longer rounds always do."""
        return self.rounds != Round(1) or 24 % together == 0 or together % 24 == 0


def _refuse_locked(records: Sequence[Record]) -> None:
    for record in records:
        if record.reason == "locked":
            raise LockedCell(
                f"the cell locks up {record.ended_at / SECOND / 60:.1f} min after the start (replication "
                f"{record.replication}): {'; '.join(record.circle)}"
            )


def study_of_settling(
    cell: Cell,
    seed: int,
    replications: int,
    runner: Runner,
    length: tuple[str, int] | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """How long a cell takes to settle, and its long-run rate, in the keys of `cellsim warmup --json`.

    `length` is that of the first run, as (`shifts` or `time`, count or microseconds).

    Returns:
        `settles`, and where it does not `reason`; `drop`, `line` for the cell file, `series` by interval with
        Welch's moving average and what each alone would drop, `long_run`, `first` (hour, shift), `run`.

    Raises:
        UsageError: the length is too short for the rule, or counts shifts that the cell has not.
        NotSettled: raw units come at stated moments only, or no good unit leaves.
        LockedCell: a replication locks up.
        AuditFailure: a replication broke a law.
    """
    if cell.release.kind == "at":
        raise NotSettled("no steady state found: raw units come at stated moments only, and then no more")
    study = _Study(cell, seed, replications, runner, progress)
    usual = SHIFTS if study.rounds.spans else HOURS
    count = usual if length is None else _given(length, study.rounds, 1)
    look = study.look(1, count)
    together = study.together(look)
    if together > 1:
        count = usual if length is None else _given(length, study.rounds, together)
        look = study.look(together, count)
    overload = _overload(cell)
    for _ in range(DOUBLINGS):
        if not look.too_short or overload:
            break
        look = study.look(together, 2 * look.count)
    answer: dict[str, Any] = {"cell": {"name": cell.name}, "settles": not look.too_short}
    answer |= _what_was_run(look, replications) | {"series": _series(look)}
    if look.too_short:
        return answer | {"reason": overload or _why(look)}
    return answer | _answer(look)


def _given(length: tuple[str, int], rounds: Round, together: int) -> int:
    """How many intervals a length that somebody gave has."""
    kind, amount = length
    if kind == "shifts" and not rounds.spans:
        raise UsageError("--length counts shifts, but the cell has none; say how long, for example 200 h")
    if kind != "shifts" and rounds.spans:
        raise UsageError("--length: this cell works in shifts; say how many, for example 60 shifts")
    count = amount // (rounds.count * together * (1 if rounds.spans else HOUR))
    if count < LEAST:
        least = rounds.words(LEAST * together)
        raise UsageError(
            f"--length is too short: {least} or more are needed, {LEAST} times {rounds.words(together)}"
        )
    return count


def _overload(cell: Cell) -> str:
    """Why more comes than the cell can do, by its static check; empty where that does not say so."""
    if cell.release.kind != "every" or cell.release.every is None:
        return ""
    per_hour = HOUR / laws.mean(cell.release.every)
    shares = {v.name: v.share for v in cell.variants} or {"": 1.0}
    raw = sum(share * released(cell, passages(cell, name, True)) for name, share in shares.items())
    week = sum(working_time(s) * len(s.days) for s in cell.shifts) / HOUR or 7 * 24
    if not raw:
        return ""
    offered = loading(cell, per_hour * (7 * 24 / week) / raw)
    loads = [*offered.stations, *offered.posts, *offered.robots]
    worst = max(loads, key=lambda load: load.share(stops=True), default=None)
    if worst is None or worst.share(stops=True) < 1 - 1e-9:
        return ""
    return (
        f"raw units come faster than the cell can work: {worst.name} would be loaded "
        f"{100 * worst.share(stops=True):.0f} % by {per_hour:.4g} an hour, and what waits grows without end"
    )


def _why(look: Look) -> str:
    """Why a series does not settle, as far as the two halves of the run show it."""
    half = look.count // 2
    for name, what in (("wip", "work in progress"), ("output", "output per hour")):
        values = getattr(look.series, name)
        first, second = values[:, :half].mean(axis=1), values[:, half:].mean(axis=1)
        if differs(first, second):
            way = "growing" if second.mean() > first.mean() else "falling"
            return (
                f"{what} keeps {way}: on average {first.mean():.4g} in the first half of "
                f"{look.words(look.count)} and {second.mean():.4g} in the second"
            )
    return (
        f"output or work in progress still swings as widely after {look.words(look.count)}; rare long stops "
        f"do that, and more replications or a longer run may show it"
    )


def _what_was_run(look: Look, replications: int) -> dict[str, Any]:
    return {
        "run": {
            "length": look.words(look.count),
            "working_h": look.plan.worked / HOUR,
            "intervals": look.count,
            "interval": look.words(1),
            "replications": replications,
        }
    }


def _series(look: Look) -> dict[str, Any]:
    out = {}
    for name, values in look.series.each():
        mean = values.mean(axis=0).tolist()
        out[name] = {
            "mean": mean,
            "moving_average": smoothed(mean, look.count // 10).tolist(),
            "window": look.count // 10,
            "dropped": look.found[name].dropped,
            "told_apart": look.told_apart(name),
            "too_short": look.found[name].too_short,
            "unit": UNIT[name],
        }
    return out


def _mean(values: Sequence[float], series_of_one: Sequence[float]) -> Interval:
    """The interval over replications; of a single one, over batches of its settled series."""
    return t_interval(values) if len(values) > 1 else from_one_run(series_of_one)


def _answer(look: Look) -> dict[str, Any]:
    dropped = look.dropped
    amount = look.words(dropped) if dropped else "0 s"
    kept = {name: values[:, dropped:] for name, values in look.series.each()}
    long_run = {
        name: entry(_mean(values.mean(axis=1).tolist(), values[0].tolist()), UNIT[name])
        for name, values in kept.items()
    }
    first = [_first("hour", look, [0], kept["output"].mean(axis=1))]
    if look.rounds.spans:
        span = [k for k, hour in enumerate(look.plan.hours) if hour.shift == 0]
        first.append(_first("shift", look, span, kept["output"].mean(axis=1)))
    unit = "shifts" if look.rounds.spans else "run"
    count_at_least = look.words(TIMES * dropped) if dropped else ""
    wanted = f", {unit}: {count_at_least.removesuffix(' shifts')}" if dropped else ""
    return {
        "drop": {
            "intervals": dropped,
            "by_rule": look.by_rule,
            "amount": amount,
            "working_h": sum(look.plan.hours[k].worked for g in look.groups[:dropped] for k in g) / HOUR,
        },
        "line": f"settle: {amount}",
        "study": f"study: {{settle: {amount}{wanted}}}",
        "count_at_least": count_at_least,
        "ten_times": look.count >= TIMES * dropped,
        "long_run": long_run,
        "whole_run": {name: float(values.mean()) for name, values in look.series.each()},
        "first": first,
    }


def _first(what: str, look: Look, hours: Sequence[int], long_run: FloatArray) -> dict[str, Any]:
    """Output per working hour in the first hour or shift, and how far it is from the long run."""
    worked = sum(look.plan.hours[k].worked for k in hours) / HOUR
    rates = np.array([sum(r.hourly[k] for k in hours) / worked for r in look.records])
    apart = t_interval((rates - long_run).tolist())
    return {
        "what": what,
        **entry(t_interval(rates.tolist()), UNIT["output"]),
        "difference": {"mean": apart.mean, "interval": apart.as_list(), "unit": UNIT["output"]},
        "difference_share": apart.mean / float(long_run.mean()) if long_run.mean() else None,
    }
