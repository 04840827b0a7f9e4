"""Flows of money, one a year, the first now: present value, internal rates, payback, annuity.

The first flow is not discounted.  Spreadsheets discount the first flow that is listed, so there the first is
added by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

FloatArray = NDArray[np.float64]

LOWEST, HIGHEST, STEPS = -0.99, 10.0, 1200  # rates between which internal rates are looked for


def npv(flows: Sequence[float] | FloatArray, rate: float) -> float:
    """Net present value of flows at the ends of years 0, 1, ...: the sum of c_t / (1 + rate)^t.

    Source: any text on investment, such as Brealey and Myers, Principles of Corporate Finance (from memory).

    Raises:
        ValueError: there is no flow, or the rate is -1 or less.
    """
    _check(flows, rate)
    return math.fsum(float(flow) / (1 + rate) ** year for year, flow in enumerate(flows))


def internal_rates(flows: Sequence[float] | FloatArray) -> list[float]:
    """All rates between -0.99 and 10 at which the net present value is 0, by rising rate.

    Signs are looked at on a grid that is even in log(1 + rate), then each root is found between two of them
    (Brent 1973, Algorithms for Minimization without Derivatives).  Several roots mean that no single rate
    describes the flows (Lorie and Savage 1955, Journal of Business 28, 229-239, from memory).

    Raises:
        ValueError: there is no flow, or all are 0.
    """
    values = np.asarray(flows, dtype=float)
    _check(values, 0.0)
    if not values.any():
        raise ValueError("all flows are 0; every rate is an internal rate")
    rates, powers = _grid(len(values))
    signs = np.sign(powers @ values)
    found = [float(rate) for rate in rates[signs == 0]]
    for k in np.nonzero(signs[:-1] * signs[1:] < 0)[0]:
        found.append(
            float(brentq(lambda rate: npv(values, rate), rates[k], rates[k + 1], xtol=1e-14, rtol=1e-14))
        )
    return sorted(found)


def beyond_all(flows: Sequence[float] | FloatArray) -> bool:
    """Whether no rate up to HIGHEST makes the present value 0, since it is above 0 at all of them.

    Money is then back so soon that the internal rate lies above HIGHEST.
    """
    values = np.asarray(flows, dtype=float)
    _check(values, 0.0)
    _, powers = _grid(len(values))
    return bool(values[0] < 0 and np.all(powers @ values > 0))


@lru_cache(maxsize=32)
def _grid(count: int) -> tuple[FloatArray, FloatArray]:
    """Rates, and for each the factors of flows, scaled so that none overflows."""
    rates = np.expm1(np.linspace(math.log1p(LOWEST), math.log1p(HIGHEST), STEPS + 1))
    powers = (1 / (1 + rates))[:, None] ** np.arange(count)
    return rates, powers / powers.max(axis=1, keepdims=True)


def payback(flows: Sequence[float] | FloatArray, rate: float = 0.0) -> float | None:
    """Years until the sum of the flows, discounted at a rate, is first 0 or more; None if it never is.

    Within a year the flow is taken for even, so the moment is linear in it.

    Raises:
        ValueError: there is no flow, or the rate is -1 or less.
    """
    _check(flows, rate)
    before = 0.0
    for year, flow in enumerate(flows):
        now = float(flow) / (1 + rate) ** year
        if before + now >= 0:
            return max(0.0, year - 1 + -before / now) if before < 0 else float(year)
        before += now
    return None


def annuity(rate: float, years: float) -> float:
    """Present value of 1 a year, at the ends of `years` years: (1 - (1 + rate)^-n) / rate.

    Raises:
        ValueError: there are no years, or the rate is -1 or less.
    """
    if years <= 0 or rate <= -1:
        raise ValueError(f"{years} years at a rate of {rate}; wanted are years above 0 and a rate above -1")
    return float(years) if rate == 0 else -math.expm1(-years * math.log1p(rate)) / rate


def _check(flows: Sequence[float] | FloatArray, rate: float) -> None:
    if len(flows) == 0 or rate <= -1:
        raise ValueError(f"{len(flows)} flows at a rate of {rate}; wanted is a flow and a rate above -1")


def sums_by_year(flows: FloatArray, rates: FloatArray | float = 0.0) -> FloatArray:
    """Running sums of flows (years, draws), discounted at the rate of each draw."""
    years = np.arange(len(flows))[:, None]
    return np.cumsum(flows / (1 + np.asarray(rates)) ** years, axis=0)


def paybacks(flows: FloatArray) -> FloatArray:
    """Payback of each draw of flows (years, draws) as by `payback`; infinite where it never is."""
    sums = sums_by_year(flows)
    back = sums >= 0
    year = np.argmax(back, axis=0)
    at = np.arange(flows.shape[1])
    before = np.where(year > 0, sums[year - 1, at], 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        moment = np.where(year > 0, year - 1 - before / flows[year, at], 0.0)
    return np.where(back.any(axis=0), moment, np.inf)
