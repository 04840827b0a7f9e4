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
from cellsim.evidence.series import cycles_needed, grain, level_shift, memory, outliers, regimes
from cellsim.evidence.sheet import Cycle, listed, place_of, read_sheet
from cellsim.evidence.sheet_columns import Spare
from cellsim.study.statistics import t_interval
from cellsim.units import nearest, quoted

WITHIN = 0.05  # share of the mean to which a time is usually wanted (common practice, no source)
WRONG_LAW = 0.05  # chance below which a law is not used
RESAMPLES = 199  # by which that chance is told
DRAWS = 100  # samples drawn anew, by which it is told how sure mean and spread of the law are
MEMORY = 0.01  # chance below which times are said to depend on those before
STEADY = 0.01  # spread below which a time is fixed
RARE = 0.1  # share of cycles below which they are no way of working but exceptions
APART = 1.1  # medians of two ways of working differ at least by this factor; less matters little (own choice)
NARROW = 0.2  # of the spread of all times: the least of one way (own choice; see `_two_ways`)
NOBODY = frozenset(("nobody", "machine", "none", "-", ""))  # who works where a machine does it alone
COARSE = 0.1  # of the mean: a step of the watch that hides the spread
SUSPICIOUS_RATING = (70.0, 140.0)  # per cent; beyond it a rating is asked about (common practice, no source)
FOR_ALL = ""  # in place of a name, where one post is said for all elements
FAMILIES = ("lognormal", "gamma", "weibull")
SWINGS = {
    1: "a time depends on those before it, long times come together: look for what swings (material,"
    " fatigue); independent draws understate how much an hour's output varies",
    -1: "a time depends on those before it, a long one is followed by a short one: look for what takes turns"
    " (two parts, two people, a watch stopped late); independent draws overstate how much an hour's output"
    " varies",
    0: "a time depends on those before it, up and down again: look for what swings (material, fatigue);"
    " whether independent draws understate or overstate how much an hour's output varies depends on how long"
    " a swing is",
}  # by the sign of what memory does to sums of times


@dataclass
class ElementStudy:
    """What the sheet says of one work element, at a station where the sheet says one.

    `basic_s` and `interval_s` are of times at normal pace, `standard_s` has the allowance, unless a machine
    does it alone.  `needed` is how many cycles would show the mean to 5 % with 95 % confidence, by the spread
    seen.  `law` is a text for the cell file, `fits` how well each law does, `quantiles` each time in order
    beside the one that the best law has at its place (empty where none was fitted); `remarks` are what should
    be looked at before it is used; `by` is who does it, empty where neither the call nor the sheet says one;
    `alone`: they say that nobody does, but a machine.
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
    by: str = ""
    alone: bool = False

    @property
    def enough(self) -> bool:
        """Whether there are as many cycles as are needed."""
        return len(self.cycles) >= self.needed


@dataclass
class TimeStudy:
    """All elements of a sheet in the order of the file, and what was changed in reading it.

    `rated`: whether the sheet has ratings; without them times are as observed and not at normal pace.
    `unused`: the columns that were not read.
    """

    file: str
    elements: list[ElementStudy]
    repairs: list[str]
    rated: bool
    unused: list[Spare]


def time_study(
    path: Path,
    *,
    unit: str = "",
    decimal: str = "",
    delimiter: str = "",
    allowance: float = 0.0,
    of_shift: bool = False,
    leave_out: Sequence[int | str] = (),
    by: Sequence[str] = (),
    station: str = "",
) -> TimeStudy:
    """Study a sheet, read as `read_sheet` does.

    Args:
        unit: of times where headings do not say it; `decimal`, `delimiter` where the file leaves them open.
        allowance: share added to basic times, or with `of_shift` share of the shift that is no work.
        leave_out: lines of the file that are not to be used, or single readings as `2:5`; they are listed.
        by: who does the elements: one post for all, or `NAME=POST` where NAME is an element, a station or a
            person of the sheet; a post `nobody` (or `machine`, `none`, `-`, nothing) is a machine alone.
        station: the station of elements where the sheet says none.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    if not 0 <= allowance < 1:
        raise UsageError(f"an allowance of {allowance:g} is no share between 0 and 1")
    factor = 1 / (1 - allowance) if of_shift else 1 + allowance
    sheet = read_sheet(path, unit, decimal, delimiter, leave_out)
    elements = []
    for (at, name), cycles in sheet.cycles.items():
        elements.append(_element(name, cycles, sheet.left_out.get((at, name), [])))
        elements[-1].station = at or station
    _posts(elements, by)
    for element in elements:
        element.standard_s = element.basic_s * (1 if element.alone else factor)
    return TimeStudy(sheet.file, elements, sheet.repairs, sheet.rated, sheet.spare)


def _posts(elements: Sequence[ElementStudy], by: Sequence[str]) -> None:
    """Fill in who does each element: as said for it, its station, the one who was timed there, or for all."""
    known = {name.casefold(): name for e in elements for name in (e.name, e.station, *_timed(e)) if name}
    posts: dict[str, str] = {}
    for text in by:
        name, mark, post = (part.strip() for part in text.partition("="))
        if not name:
            raise UsageError(f'--by: "{text}" does not look like "A" or "NAME=A"')
        if mark and name.casefold() not in known:
            near = nearest(name, known.values())
            advice = f"; did you mean {quoted(near)}?" if near else ""
            raise UsageError(f"--by: the sheet has no element, station or person {quoted(name)}{advice}")
        key, value = (name.casefold(), _post(post)) if mark else (FOR_ALL, _post(name))
        if posts.setdefault(key, value) != value:
            both = " and ".join(quoted(who or "nobody") for who in (posts[key], value))
            raise UsageError(f"--by: both {both} for {name if mark else 'all'}")
    for element in elements:
        timed = _timed(element)
        person = timed[0] if len(timed) == 1 else ""
        names = [name.casefold() for name in (element.name, element.station, person) if name]
        said = next((posts[name] for name in [*names, FOR_ALL] if name in posts), None)
        element.by = person if said is None else said
        written = [cycle.operator for cycle in element.cycles if cycle.operator]
        element.alone = said == "" or (said is None and bool(written) and not timed)


def _post(text: str) -> str:
    """A post as the cell file calls it; empty for nobody, where a machine works alone."""
    return "" if text.casefold() in NOBODY else text


def _timed(element: ElementStudy) -> list[str]:
    """Who was timed at an element, by the sheet."""
    return list(dict.fromkeys(cycle.operator for cycle in element.cycles if _post(cycle.operator)))


def _element(name: str, cycles: list[Cycle], left_out: list[Cycle]) -> ElementStudy:
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
        standard_s=mean,
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
        told = [f"{place_of(c.line, c.column)} ({100 * c.rating:.4g} %)" for c in beyond]
        found.append(f"ratings beyond 70 to 140 %: {listed(told)}; ask who rated")
    found += [
        f"{place_of(c.line, c.column)}: a time of 0 s is used; if nothing was timed there, leave it out with"
        f" --leave-out {c.leave_out}"
        for c in cycles
        if c.seconds == 0
    ]
    step = grain([cycle.seconds for cycle in cycles])
    if mean > 0 and step > COARSE * mean:
        found.append(f"the watch was read in steps of {step:g} s; the spread is coarse")
    if len(set(times)) > 1 and len(times) >= FEW:
        seen = memory(times)
        if seen.chance < MEMORY:
            found.append(SWINGS[seen.sums_vary])
        shift = level_shift(times)
        if shift.there:
            before, after = (float(np.mean(part)) for part in (times[: shift.after], times[shift.after :]))
            found.append(f"the level changes after {shift.after} cycles, from {_s(before)} to {_s(after)}")
        if min(times) > 0:
            found += _two_ways(cycles, times, step)
    return found


def _two_ways(cycles: Sequence[Cycle], times: Sequence[float], step: float) -> list[str]:
    """Two ways of working where there are surely two, none of them an exception, and it matters.

    One way has a spread of at least a share of that of all times, and that of rounding to `step` seconds.

    Of samples of one lognormal law (15 to 50 times, spread 4 to 20 %, exact or rounded to up to an eighth of
    the mean) about 1 % at most are taken for two.  By BIC alone, to which rounded times that are the same are
    a way of no spread, it was up to 38 %.
    """
    far = outliers(times)
    usual = [time for k, time in enumerate(times) if k not in far]
    rounding = step / math.sqrt(12) / float(np.mean([cycle.seconds for cycle in cycles]))
    two = regimes(usual, narrowest=max(NARROW * float(np.log(usual).std()), rounding))
    apart = two.medians[1] / two.medians[0]
    if not two.two or min(two.weights) < RARE or apart < APART:
        return []
    share = round(100 * two.weights[0])
    text = (
        f"two ways of working, more than luck and {_percent(apart - 1)} apart: about {share} % around"
        f" {_s(two.medians[0])}, the others around {_s(two.medians[1])}; describe them as variants or people,"
        " not as one wide law"
    )
    by_person = {
        name: np.mean([c.normal for c in cycles if c.operator == name])
        for name in dict.fromkeys(c.operator for c in cycles)
        if name
    }
    if len(by_person) > 1:
        text += "; by operator: " + ", ".join(f"{name} {_s(float(mean))}" for name, mean in by_person.items())
    return [text]
