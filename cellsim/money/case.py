"""The distribution of an investment's result: what the runs leave open and what the case leaves open, drawn.

The gain of a year is hours times mean gain, so its chance is the standard error of the paired mean (with
Student's law): a run of one shift is no life of the machine.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cellsim.describe.investment import Investment, origin_of
from cellsim.money.break_even import curve, needed_for_value, needed_gain
from cellsim.money.flows import (
    HIGHEST,
    FloatArray,
    beyond_all,
    internal_rates,
    npv,
    payback,
    paybacks,
    sums_by_year,
)
from cellsim.money.measured import BASE, PROPOSAL, Facts, means_of
from cellsim.money.unit_cost import unit_cost
from cellsim.money.year import Drawn, Hours, Years, hours_of
from cellsim.study.statistics import LEVEL, binomial_interval, percentile, t_quantile

DRAWS = 2000
INNER = 0.05  # of the bell-shaped gain beyond the low and the high end of the tornado
NORMAL_95 = 1.959963984540054  # the 97.5 % point of the standard normal
QUANTILES = {"p10": 0.1, "median": 0.5, "p90": 0.9}
GAIN = "gain"
CHANCES = (1, 2, 3, 4, 5)
CURVE_STEP = 0.25  # years between points of the break-even curve
FIRST = 3  # assumptions that are named first
RELEVANT = 0.05  # of the largest swing: what swings less is not named


def drawn_values(case: Investment, facts: Facts, draws: int, seed: int) -> Drawn:
    """Values of all that is not known: stated ranges evenly, the gain by the runs; fixed by the seed."""
    rng = np.random.default_rng(seed)
    runs = facts.good.shape[1]
    luck = rng.standard_normal((draws, runs))
    luck *= np.sqrt((runs - 1) / rng.chisquare(runs - 1, draws))[:, None]  # Student's law, as few runs need
    more = rng.standard_normal(draws)
    values = {
        each.path: each.low + (each.high - each.low) * rng.random(draws)
        for each in sorted(case.stated(), key=lambda one: one.path)
        if each.is_range
    }
    return Drawn(values, means_of(facts, luck, more))


def gain_of(facts: Facts) -> tuple[float, float]:
    """Mean difference of good units per working hour and its standard error, all together."""
    difference = facts.good[PROPOSAL] - facts.good[BASE]
    return float(difference.mean()), math.sqrt(float(difference.var(ddof=1)) / difference.size + facts.more)


def deviation_of_year(deviation: float, counted: float, hours: float) -> float:
    """Standard deviation of the mean of a year of independent runs: that of one run by sqrt(counted / hours).

    Args:
        deviation: of one run that counts so many working hours.
        hours: working hours of the year.
    """
    return deviation * math.sqrt(counted / hours)


def case_answer(case: Investment, facts: Facts, *, draws: int = DRAWS, seed: int = 1) -> dict[str, Any]:
    """Everything that the case and the runs say, in keys; money in the currency of the case.

    `point` has every number at its middle; `drawn` is over the draws.  What is never
    reached is None.

    Raises:
        ValueError: there are fewer than two replications, or draws.
        UsageError: the hours of a shift are not known.
    """
    if facts.good.shape[1] < 2 or draws < 2:
        raise ValueError(f"{facts.good.shape[1]} replications and {draws} draws; at least two are wanted")
    hours = hours_of(case, facts.shifts)
    point = Years(case, hours, Drawn({}, means_of(facts)))
    many = Years(case, hours, drawn_values(case, facts, draws, seed))
    flows = many.flows()
    within = paybacks(flows)
    swings = tornado(case, facts, hours)
    return {
        "case": case.name,
        "currency": case.currency,
        "gain": _gain(facts, point),
        "point": _point(point),
        "drawn": _drawn(flows, within, many.rate, case),
        "verdict": {
            **_steady(_verdict(case, within), case, facts, hours, draws, seed),
            **first(swings, case),
        },
        "tornado": swings,
        "break_even": _break_even(point, facts),
        "unit_cost": unit_cost(point, facts),
        "freed": [case.freed.low, case.freed.high],
        "horizon": case.horizon,
        "payback_limit": case.payback_limit,
        "sure": case.sure,
        "draws": draws,
        "replications": int(facts.good.shape[1]),
        "level": LEVEL,
    }


def _gain(facts: Facts, point: Years) -> dict[str, Any]:
    mean, error = gain_of(facts)
    base, proposal = facts.good
    spread = float(np.std(proposal - base, ddof=1))
    half = t_quantile((1 + LEVEL) / 2, base.size - 1) * error
    varies = base.std() > 0 and proposal.std() > 0
    from_runs = float(np.var(proposal - base, ddof=1)) / base.size
    return {
        "mean": mean,
        "interval": [mean - half, mean + half],
        "unit": "good units per working hour",
        "standard_error": error,
        "deviation_of_one_run": spread,
        "deviation_of_a_year": deviation_of_year(spread, facts.counted, float(point.worked[PROPOSAL][0])),
        "correlation": float(np.corrcoef(base, proposal)[0, 1]) if varies else None,
        "share_of_inputs": facts.more / (facts.more + from_runs) if facts.more + from_runs > 0 else None,
        "base": float(base.mean()),
        "proposal": float(proposal.mean()),
        "sold": [float(point.sold(BASE)[0]), float(point.sold(PROPOSAL)[0])],
        "hours_per_year": float(point.worked[PROPOSAL][0]),
    }


def _point(point: Years) -> dict[str, Any]:
    flows, rate = point.flows()[:, 0], float(point.rate[0])
    gains = {name: float(row[0]) for name, row in point.gains().items()}
    running = float(point.running()[0])
    return {
        "flows": flows.tolist(),
        "capital": float(point.capital()[0]),
        "lost_output": float(point.lost()[0]),
        "gains": gains,
        "running": running,
        "net_per_year": math.fsum(gains.values()) - running,
        "rate": rate,
        "npv": npv(flows, rate),
        "internal_rates": internal_rates(flows) if np.any(flows) else [],
        "internal_rate_above": HIGHEST if np.any(flows) and beyond_all(flows) else None,
        "payback": payback(flows),
        "discounted_payback": payback(flows, rate),
    }


def _drawn(flows: FloatArray, within: FloatArray, rate: FloatArray, case: Investment) -> dict[str, Any]:
    draws = flows.shape[1]
    values = sums_by_year(flows, rate)[-1]
    limits = [*(y for y in CHANCES if y <= case.horizon), case.payback_limit]
    rates = [internal_rates(column) if np.any(column) else [] for column in flows.T]
    pairs = zip(rates, flows.T, strict=True)
    above = sum(not found and bool(np.any(column)) and beyond_all(column) for found, column in pairs)
    single = [found[0] for found in rates if len(found) == 1] + above * [math.inf]
    return {
        "npv": {**_quantiles(values), "chance_above_0": _chance(values > 0)},
        "payback": {**_quantiles(within), "never": float(np.mean(np.isinf(within)))},
        "internal_rate": {
            **(_quantiles(np.array(single)) if single else dict.fromkeys(QUANTILES)),
            "above": HIGHEST if above else None,
            "none_or_several": 1 - len(single) / draws,
        },
        "chances": [{"years": float(y), **_chance(within <= y)} for y in dict.fromkeys(sorted(limits))],
        "histogram": _histogram(within, case.horizon),
    }


def _quantiles(values: FloatArray) -> dict[str, float | None]:
    found = {name: percentile(values.tolist(), share) for name, share in QUANTILES.items()}
    return {name: value if math.isfinite(value) else None for name, value in found.items()}


def _chance(met: NDArray[np.bool_]) -> dict[str, Any]:
    """A chance with the exact interval that so many draws give, and half the width of the normal one."""
    found = binomial_interval(int(met.sum()), met.size)
    half = NORMAL_95 * math.sqrt(found.mean * (1 - found.mean) / met.size)
    return {"mean": found.mean, "interval": found.as_list(), "half_width": half}


def _histogram(within: FloatArray, horizon: int) -> dict[str, Any]:
    """Draws by payback in quarters of a year, and those that are never back."""
    edges = np.arange(0, horizon + CURVE_STEP / 2, CURVE_STEP)
    counts, _ = np.histogram(within[np.isfinite(within)], edges)
    return {"width": CURVE_STEP, "counts": counts.tolist(), "never": int(np.isinf(within).sum())}


def _verdict(case: Investment, within: FloatArray) -> dict[str, Any]:
    """What the chance to be back within the limit says; `within` are the paybacks of the draws in years."""
    chance = binomial_interval(int(np.sum(within <= case.payback_limit)), within.size)
    low, high = chance.low or 0.0, chance.high or 0.0
    said = "cannot tell"
    if low >= case.sure:
        said = "pays"
    elif high <= 1 - case.sure:
        said = "does not pay"
    return {"says": said, "chance": chance.mean, "interval": [low, high], "turned_by_rare_stops": False}


def _steady(
    verdict: dict[str, Any], case: Investment, facts: Facts, hours: Hours, draws: int, seed: int
) -> dict[str, Any]:
    """A verdict that is none where stops too rare for these runs would turn it, at the most they can cost."""
    less, more = facts.unseen
    for shift in (-less, more):
        if shift == 0 or verdict["says"] == "cannot tell":
            continue
        good = facts.good.copy()
        good[PROPOSAL] += shift
        moved = Years(case, hours, drawn_values(case, replace(facts, good=good), draws, seed))
        if _verdict(case, paybacks(moved.flows()))["says"] != verdict["says"]:
            return verdict | {"says": "cannot tell", "turned_by_rare_stops": True}
    return verdict


def tornado(case: Investment, facts: Facts, hours: Hours) -> list[dict[str, Any]]:
    """Result with one number alone at an end, all others at their middle; the largest swing of value first.

    The ends are those of the range; of the gain by the runs the 5 % and 95 % points.
    """
    rows = []
    means = means_of(facts)
    for each in case.stated():
        if each.is_range:
            ends = [_at(case, hours, Drawn({each.path: np.array([x])}, means)) for x in (each.low, each.high)]
            rows.append(_row(each.path, each.low, each.high, each.unit, each.text, ends))
    mean, error = gain_of(facts)
    if error > 0:
        ends = []
        half = t_quantile(1 - INNER, facts.good.shape[1] - 1) * error
        for side in (-half, half):
            moved = means_of(facts)
            moved.good[PROPOSAL] += side
            ends.append(_at(case, hours, Drawn({}, moved)))
        low, high = mean - half, mean + half
        rows.append(_row(GAIN, low, high, "good units per working hour", "", ends))
    return sorted(rows, key=lambda row: -row["swing"])


def _at(case: Investment, hours: Hours, drawn: Drawn) -> dict[str, float | None]:
    years = Years(case, hours, drawn)
    flows = years.flows()[:, 0]
    return {"npv": npv(flows, float(years.rate[0])), "payback": payback(flows)}


def _row(
    name: str, low: float, high: float, unit: str, text: str, ends: Sequence[Mapping[str, float | None]]
) -> dict[str, Any]:
    values = [end["npv"] or 0.0 for end in ends]
    return {
        "what": name,
        "low": low,
        "high": high,
        "unit": unit,
        "text": text,
        "at_low": dict(ends[0]),
        "at_high": dict(ends[1]),
        "swing": abs(values[1] - values[0]),
    }


def first(swings: Sequence[Mapping[str, Any]], case: Investment) -> dict[str, Any]:
    """The two or three that matter most, and those among them that alone can turn the answer."""
    largest = swings[0]["swing"] if swings else 0.0
    named = [row["what"] for row in swings[:FIRST] if row["swing"] > 0 and row["swing"] >= RELEVANT * largest]

    def back(end: Mapping[str, float | None]) -> bool:
        return end["payback"] is not None and end["payback"] <= case.payback_limit

    turning = [row["what"] for row in swings if back(row["at_low"]) != back(row["at_high"])]
    return {"first": named, "turning": turning}


def _break_even(point: Years, facts: Facts) -> dict[str, Any]:
    """Units sold per hour, or people freed, that bring the money back in a time, all else at its middle."""
    case = point.case
    rate = float(point.rate[0])
    times = [CURVE_STEP * k for k in range(1, int(case.horizon / CURVE_STEP) + 1)]
    gains = point.gains()
    shares = np.array([0.0, *(float(point.gain_share(y)[0]) for y in range(1, case.horizon + 1))])
    flows = point.flows()[:, 0]
    found: dict[str, Any] = {}
    for name, part, each in (
        ("units_per_hour", "units", float(point.unit_gain()[0])),
        ("people", "people", float(point.person_gain()[0])),
    ):
        whole = point.people_by_year(gains[part]) if part == "people" else point.by_year(gains[part])
        rest = flows - whole[:, 0]
        if each > 0:
            found[name] = {
                "curve": curve(rest, shares * each, times),
                "at_limit": needed_gain(rest, shares * each, min(case.payback_limit, float(case.horizon))),
                "for_value": needed_for_value(rest, shares * each, rate),
                "now": float(gains[part][0]) / each,
            }
    if "units_per_hour" in found:
        found["units_per_hour"] |= {"now_interval": _sold_interval(point, facts), "most": _most(point)}
    if "people" in found:
        found["people"]["now_interval"] = [case.freed.low, case.freed.high]
    return found


def _sold_interval(point: Years, facts: Facts) -> list[float]:
    """The interval of the gain that is sold, in units per hour of the proposal."""
    _, error = gain_of(facts)
    half = t_quantile((1 + LEVEL) / 2, facts.good.shape[1] - 1) * error
    ends = []
    for side in (-half, half):
        moved = means_of(facts)
        moved.good[PROPOSAL] += side
        years = Years(point.case, point.hours, Drawn({}, moved))
        per = float(years.unit_gain()[0])
        ends.append(float(years.gains()["units"][0]) / per if per else 0.0)
    return ends


def _most(point: Years) -> float | None:
    """How many more units an hour can be sold at all; None where there is no bound."""
    limit = point.case.can_sell
    if limit is None:
        return None
    most = limit.middle / point.hours.worked[PROPOSAL] if limit.unit == "per shift" else limit.middle
    return most - float(point.sold(BASE)[0] * point.worked[BASE][0] / point.worked[PROPOSAL][0])


def stated_rows(case: Investment) -> list[dict[str, Any]]:
    """Every number of the case as it is written, with its ends, and where it comes from (empty: not said)."""
    return [
        {"what": s.path, "text": s.text, "low": s.low, "high": s.high, "unit": s.unit,
         "origin": origin_of(case, s.path)}
        for s in case.stated()
    ]  # fmt: skip
