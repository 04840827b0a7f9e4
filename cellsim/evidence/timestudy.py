"""From a stopwatch sheet to element times: what was measured, how sure it is, what it shows, which law."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from cellsim.errors import UsageError
from cellsim.evidence.fitting import FEW, Fit, chosen, fit_chance, quantile_pairs, ranked, resampled, sample
from cellsim.evidence.records import SECONDS, Column, Records, Row, headings_of, read_records
from cellsim.evidence.series import cycles_needed, grain, level_shift, memory, outliers, regimes
from cellsim.evidence.values import numbers, seconds_in
from cellsim.study.statistics import t_interval

COLUMNS = (
    Column("element", ("task", "step", "operation", "activity", "work element")),
    Column("time", ("seconds", "duration", "observed", "observed time", "cycle time", "reading", *SECONDS)),
    Column("cycle", ("no", "no.", "number", "round", "observation"), needed=False),
    Column("rating", ("performance", "pace", "performance rating"), needed=False),
    Column("station", ("bench", "workplace", "machine"), needed=False),
    Column("operator", ("person", "worker", "who"), needed=False),
    Column("date", ("day",), needed=False),
    Column("remark", ("remarks", "note", "notes", "comment"), needed=False),
)
WITHIN = 0.05  # share of the mean to which a time is usually wanted (common practice, no source)
WRONG_LAW = 0.05  # chance below which a law is not used
RESAMPLES = 199  # by which that chance is told
DRAWS = 100  # samples drawn anew, by which it is told how sure mean and spread of the law are
MEMORY = 0.01  # chance below which times are said to depend on those before
STEADY = 0.01  # spread below which a time is fixed
RARE = 0.1  # share of cycles below which they are no way of working but exceptions
SHOWN = 8  # lines that a remark names
COARSE = 0.1  # of the mean: a step of the watch that hides the spread
RATINGS = (30.0, 300.0)  # per cent; beyond it a rating is a slip of the pen (common practice, no source)
SUSPICIOUS_RATING = (70.0, 140.0)  # per cent; beyond it a rating is asked about (common practice, no source)
Found = dict[tuple[str, str], list["Cycle"]]  # cycles by station and element
FAMILIES = ("lognormal", "gamma", "weibull")


@dataclass(frozen=True, slots=True)
class Cycle:
    """One measured time: line of the file, seconds as read, rating (1 = normal), who did it, remark."""

    line: int
    seconds: float
    rating: float = 1.0
    operator: str = ""
    remark: str = ""

    @property
    def normal(self) -> float:
        """Seconds at normal pace: observed x rating."""
        return self.seconds * self.rating


@dataclass
class ElementStudy:
    """What the sheet says of one work element, at a station where the sheet says one.

    `basic_s` and `interval_s` are of times at normal pace, `standard_s` has the allowance.  `needed` is how
    many cycles would show the mean to 5 % with 95 % confidence, by the spread seen.  `law` is a text for the
    cell file, `fits` how well each law does, `quantiles` each time in order beside the one that the best law
    has at its place (empty where none was fitted); `remarks` are what should be looked at before it is used.
    """

    name: str
    cycles: list[Cycle]
    left_out: list[Cycle]
    basic_s: float
    interval_s: tuple[float | None, float | None]
    spread: float
    p05_s: float
    p95_s: float
    standard_s: float
    needed: int
    outliers: list[Cycle]
    law: str
    why: str
    fits: list[dict[str, Any]]
    quantiles: list[tuple[float, float]]
    remarks: list[str] = field(default_factory=list)
    station: str = ""

    @property
    def enough(self) -> bool:
        """Whether there are as many cycles as are needed."""
        return len(self.cycles) >= self.needed


@dataclass
class TimeStudy:
    """All elements of a sheet in the order of the file, and what was changed in reading it."""

    file: str
    elements: list[ElementStudy]
    repairs: list[str]


def time_study(
    path: Path,
    *,
    unit: str = "",
    decimal: str = "",
    delimiter: str = "",
    allowance: float = 0.0,
    of_shift: bool = False,
    leave_out: Sequence[int] = (),
) -> TimeStudy:
    """Study a sheet: one row a cycle (element, time, and where there are cycle, rating, operator, remark), or
    one row an element with a column for each cycle (1, 2, 3, ...).

    Args:
        unit: of times where headings do not say it; `decimal`, `delimiter` where the file leaves them open.
        allowance: share added to basic times, or with `of_shift` share of the shift that is no work.
        leave_out: lines of the file that are not to be used; they are listed.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    if not 0 <= allowance < 1:
        raise UsageError(f"an allowance of {allowance:g} is no share between 0 and 1")
    factor = 1 / (1 - allowance) if of_shift else 1 + allowance
    records, found = _cycles(path, unit, decimal, delimiter)
    lines = {cycle.line for cycles in found.values() for cycle in cycles}
    for line in leave_out:
        if line not in lines:
            raise UsageError(f"{path.name} has no time in line {line}; nothing was left out")
    elements = []
    for (station, name), cycles in found.items():
        out = [cycle for cycle in cycles if cycle.line in leave_out]
        elements.append(_element(name, [cycle for cycle in cycles if cycle not in out], out, factor))
        elements[-1].station = station
    return TimeStudy(records.file, elements, records.repairs)


def _cycles(path: Path, unit: str, decimal: str, delimiter: str) -> tuple[Records, Found]:
    """The cycles of each station (empty where the sheet says none) and element in the order of the file."""
    rounds = [heading for heading in headings_of(path, delimiter) if heading.isdigit()]
    if len(rounds) >= 2:
        return _grid(path, rounds, unit, decimal, delimiter)
    records = read_records(path, COLUMNS, delimiter)
    _repeats(records)
    seconds = seconds_in(records, "time", unit, decimal)
    ratings = _ratings(records, decimal)
    found: Found = {}
    for row, value, rating in zip(records.rows, seconds, ratings, strict=False):
        if not row["element"]:
            records.wrong(row, "element", "this cell is empty; wanted is the name of a work element")
        cycle = Cycle(row.line, value, rating, row["operator"], row["remark"])
        if records.has("station") and not row["station"]:
            records.wrong(row, "station", "this cell is empty; wanted is a station")
        found.setdefault((row["station"], row["element"]), []).append(cycle)
    records.stop_if_wrong()
    if not found:
        raise UsageError(f"{path.name} holds no cycle")
    return records, found


def _grid(
    path: Path, rounds: Sequence[str], unit: str, decimal: str, delimiter: str
) -> tuple[Records, Found]:
    """A row for each element and a column for each cycle; empty cells were not measured."""
    station = next(column for column in COLUMNS if column.name == "station")
    records = read_records(path, (COLUMNS[0], station, *(Column(heading) for heading in rounds)), delimiter)
    if unit not in SECONDS:
        records.wrong(
            None, "element", "the headings say no unit of time", "give it with --unit s, min or cmin"
        )
    records.stop_if_wrong()
    columns = [numbers(records, heading, decimal, needed=False) for heading in rounds]
    records.stop_if_wrong()
    found: Found = {}
    for k, row in enumerate(records.rows):
        times = [column[k] * SECONDS[unit] for column in columns if not math.isnan(column[k])]
        key = row["station"], row["element"]
        found.setdefault(key, []).extend(Cycle(row.line, value) for value in times)
    return records, found


def _ratings(records: Records, decimal: str) -> list[float]:
    """Ratings as factors; they are in per cent, or factors where none is above 3; not both in one sheet."""
    if not records.has("rating"):
        return [1.0] * len(records.rows)
    cleaned = [Row(row.line, row.texts | {"rating": row["rating"].rstrip("% ")}) for row in records.rows]
    given, records.rows = records.rows, cleaned
    values = numbers(records, "rating", decimal, needed=False)
    records.rows = given
    missing = sum(math.isnan(value) for value in values)
    if missing:
        records.repairs.append(f"{missing} cycles have no rating; they count as normal pace")
    size = 1.0 if all(math.isnan(value) or value <= 3 for value in values) else 100.0
    for row, value in zip(records.rows, values, strict=True):
        percent = 100 / size * value
        if value <= 0:
            records.wrong(row, "rating", f"a rating of {value:g} is none; normal pace is 100 %")
        elif size == 100.0 and value <= 3:
            text = f"a rating of {value:g} among ratings in per cent"
            records.wrong(row, "rating", text, f"write {100 * value:g}, or all of them as factors")
        elif not math.isnan(value) and not RATINGS[0] <= percent <= RATINGS[1]:
            text = f"a rating of {percent:g} % is no pace of work"
            records.wrong(row, "rating", text, "correct it, or leave this cell empty for normal pace")
    return [1.0 if math.isnan(value) else value / size for value in values]


def _repeats(records: Records) -> None:
    """The same row once more: kept where cycles are not numbered, left out where they are."""
    seen: dict[tuple[tuple[str, str], ...], int] = {}
    kept = []
    for row in records.rows:
        key = tuple(sorted(row.texts.items()))
        if row["cycle"] and key in seen:
            records.repaired(row, f"the same as line {seen[key]}; left out")
            continue
        seen.setdefault(key, row.line)
        kept.append(row)
    records.rows = kept


def _element(name: str, cycles: list[Cycle], left_out: list[Cycle], factor: float) -> ElementStudy:
    if not cycles:
        raise UsageError(f"no cycle of {name} is left")
    times = [cycle.normal for cycle in cycles]
    array = np.asarray(times)
    mean, deviation = float(array.mean()), float(array.std(ddof=1)) if len(times) > 1 else 0.0
    spread = deviation / mean if mean > 0 else 0.0
    interval = t_interval(times)
    far = [cycles[k] for k in outliers(times)] if len(times) >= 4 and array.min() > 0 else []
    law, why, fits, best = _law(times, mean, spread)
    return ElementStudy(
        name=name,
        cycles=cycles,
        left_out=left_out,
        basic_s=mean,
        interval_s=(interval.low, interval.high),
        spread=spread,
        p05_s=float(np.quantile(array, 0.05, method="inverted_cdf")),
        p95_s=float(np.quantile(array, 0.95, method="inverted_cdf")),
        standard_s=mean * factor,
        needed=cycles_needed(mean, deviation, WITHIN, len(times)) if mean > 0 and len(times) > 1 else 10,
        outliers=far,
        law=law,
        why=why,
        fits=fits,
        quantiles=quantile_pairs(sample(times), best) if best is not None else [],
        remarks=_remarks(cycles, times, mean),
    )


def _law(
    times: Sequence[float], mean: float, spread: float
) -> tuple[str, str, list[dict[str, Any]], Fit | None]:
    """The law as a text for the cell file, why it was taken, how well each does, and the best one."""
    if mean <= 0:
        return "0 s", "all times are 0", [], None
    if len(times) == 1:
        return _s(mean), "one cycle does not say how much the times vary", [], None
    if spread < STEADY:
        return f"{_s(mean)}", f"the times differ by less than {STEADY:.0%}", [], None
    by_moments = f"{{mean: {_s(mean)}, spread: {_percent(spread)}}}"
    if len(times) < FEW:
        return by_moments, f"too few cycles to tell laws apart (fewer than {FEW})", [], None
    if min(times) <= 0:
        return by_moments, "no law holds a time of 0; mean and spread as measured, the 0 counted", [], None
    data = sample(times)
    fits = ranked(data, FAMILIES)
    best = chosen(fits)
    chance = fit_chance(data, best, RESAMPLES)
    rows = [_row(fit, chance if fit is best else None) for fit in fits]
    again = resampled(data, best.family.name, DRAWS, seed=1)
    rows[fits.index(best)] |= {
        "mean_s_interval": _middle([fit.mean for fit in again]),
        "spread_interval": _middle([fit.spread for fit in again]),
    }
    if chance >= WRONG_LAW:
        return _text(best), "best by AICc, and the times do not speak against it", rows, best
    values = ", ".join(_s(value) for value in times)
    return f"{{measured: [{values}]}}", "no law fits; the measured times themselves are drawn", rows, best


def _middle(values: Sequence[float]) -> list[float]:
    """Between what the middle 95 % of values lie."""
    return [float(end) for end in np.quantile(np.asarray(values), [0.025, 0.975])]


def _row(fit: Fit, chance: float | None) -> dict[str, Any]:
    """How well a law does; of the one that was looked at also the chance of a worse fit, were it right."""
    return {
        "law": fit.family.name,
        "mean_s": fit.mean,
        "spread": fit.spread,
        "aicc": fit.aicc,
        "chance": chance,
    }


def _text(fit: Fit) -> str:
    """A fitted law as the cell file writes it."""
    if fit.family.name == "weibull":
        return f"{{law: weibull, mean: {_s(fit.mean)}, shape: {fit.parameters[0]:.3g}}}"
    return f"{{law: {fit.family.name}, mean: {_s(fit.mean)}, spread: {_percent(fit.spread)}}}"


def _s(seconds: float) -> str:
    return f"{seconds:.4g} s" if seconds >= 0.001 else "0 s"


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"


def _remarks(cycles: Sequence[Cycle], times: Sequence[float], mean: float) -> list[str]:
    """What should be looked at, in plain words."""
    found = []
    beyond = [c for c in cycles if not SUSPICIOUS_RATING[0] <= 100 * c.rating <= SUSPICIOUS_RATING[1]]
    if beyond:
        told = ", ".join(f"line {c.line} ({100 * c.rating:.4g} %)" for c in beyond[:SHOWN])
        rest = f" and {len(beyond) - SHOWN} more" if len(beyond) > SHOWN else ""
        found.append(f"ratings beyond 70 to 140 %: {told}{rest}; ask who rated")
    found += [
        f"line {c.line}: a time of 0 s is used; if nothing was timed there, leave it out with --leave-out"
        f" {c.line}"
        for c in cycles
        if c.seconds == 0
    ]
    step = grain([cycle.seconds for cycle in cycles])
    if mean > 0 and step > COARSE * mean:
        found.append(f"the watch was read in steps of {step:g} s; the spread is coarse")
    if len(set(times)) > 1 and len(times) >= FEW:
        seen = memory(times)
        if seen.chance < MEMORY:
            found.append(
                "a time depends on those before it: look for what swings (material, fatigue); independent"
                " draws understate how much an hour's output varies"
            )
        shift = level_shift(times)
        if shift.there:
            before, after = (float(np.mean(part)) for part in (times[: shift.after], times[shift.after :]))
            found.append(f"the level changes after {shift.after} cycles, from {_s(before)} to {_s(after)}")
        if min(times) > 0:
            found += _two_ways(cycles, times)
    return found


def _two_ways(cycles: Sequence[Cycle], times: Sequence[float]) -> list[str]:
    far = outliers(times)
    usual = [time for k, time in enumerate(times) if k not in far]
    two = regimes(usual)
    if not two.two or min(two.weights) < RARE:
        return []
    share = round(100 * two.weights[0])
    text = (
        f"two ways of working: about {share} % around {_s(two.medians[0])}, the others around"
        f" {_s(two.medians[1])}; describe them as variants or people, not as one wide law"
    )
    by_person = {
        name: np.mean([c.normal for c in cycles if c.operator == name])
        for name in dict.fromkeys(c.operator for c in cycles)
        if name
    }
    if len(by_person) > 1:
        text += "; by operator: " + ", ".join(f"{name} {_s(float(mean))}" for name, mean in by_person.items())
    return [text]
