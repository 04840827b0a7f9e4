"""Present value, internal rates, payback and annuity against published values and a second way each."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from cellsim.money.flows import annuity, internal_rates, npv, payback, paybacks, sums_by_year

# Flows, discount rate, and where they and their figures come from.
GITMAN = [
    -100,
    39,
    59,
    55,
    20,
]  # numpy-financial, documentation of irr and npv, after Gitman, Managerial Finance
FRONT = [
    -250_000,
    100_000,
    150_000,
    200_000,
    250_000,
    300_000,
]  # numpy-financial, front page of its documentation
PUMP = [-1600, 10_000, -10_000]  # Lorie and Savage (1955), Journal of Business 28, 229-239 (from memory)
TWO = [-100, 230, -132]  # 10 % and 20 % by hand: (1 + i) of 1.1 and 1.2 solve 100 x^2 - 230 x + 132 = 0
HAND = [-120_000, 38_000, 42_000, 42_000, 42_000, 52_000]


def horner(flows: list[float], rate: float) -> Fraction:
    """Present value without a power, exactly: the last flow discounted, the one before added, and so on."""
    total = Fraction(0)
    for flow in reversed(flows):
        total = total / (1 + Fraction(rate)) + Fraction(flow)
    return total


def by_polynomial(flows: list[float]) -> list[float]:
    """Internal rates as the roots of a polynomial in 1 + rate (eigenvalues of its companion matrix)."""
    roots = np.roots(flows)
    real = roots[np.abs(roots.imag) < 1e-9].real - 1
    return sorted(float(rate) for rate in real if -0.99 < rate < 10)


def by_small_steps(flows: list[float], rate: float = 0.0, steps: int = 100_000) -> float | None:
    """Payback by paying each year's flow in many equal parts."""
    total = flows[0]
    for year, flow in enumerate(flows[1:], start=1):
        part = flow / (1 + rate) ** year / steps
        for k in range(1, steps + 1):
            if total + k * part >= 0:
                return year - 1 + k / steps
        total += steps * part
    return None


@pytest.mark.parametrize(
    ("flows", "rate", "value", "places"),
    [
        (GITMAN, 0.281, -0.00847859163845, 1e-12),
        (
            [0.0, *GITMAN],
            0.281,
            -0.00661872883563,
            1e-12,
        ),  # every flow a year later: a public finance library
        ([-50_000, 25_000, 20_000, 10_000, 3_000], 0.12, -2710.34, 0.01),  # avatto.com, quantitative practice
        (HAND, 0.08, 50_795.949824, 1e-6),
        (TWO, 0.15, 0.189036, 1e-6),
        ([-10_000, *[3000] * 5], 0.10, 1372.36030823, 1e-7),  # by hand
        ([-120_000, *[45_000] * 4], 0.08, 29_045.707802, 1e-6),  # by hand
        ([-85_000, 20_000, 25_000, 30_000, 35_000], 0.12, -3616.47002551, 1e-7),  # by hand
    ],
)
def test_present_value(flows, rate, value, places):
    """Published and hand-made values, and Horner's scheme in exact fractions."""
    assert npv(flows, rate) == pytest.approx(value, abs=places)
    assert npv(flows, rate) == pytest.approx(float(horner(flows, rate)), rel=1e-12)


def test_spreadsheets_discount_the_first_flow():
    """A spreadsheet's NPV of the later flows plus the first is this one; of all flows it is a year late."""
    later = sum(flow / 1.08**k for k, flow in enumerate(HAND[1:], start=1))
    assert npv(HAND, 0.08) == pytest.approx(HAND[0] + later, rel=1e-14)
    all_late = sum(flow / 1.08**k for k, flow in enumerate(HAND, start=1))
    assert npv(HAND, 0.08) == pytest.approx(1.08 * all_late, rel=1e-14)


@pytest.mark.parametrize(
    ("flows", "rates", "places"),
    [
        (GITMAN, [0.28094842116], 1e-11),
        (FRONT, [0.5672303344358536], 1e-12),
        ([-100, 0, 0, 74], [-0.095495830349], 1e-11),  # numpy, documentation of irr: -0.0955
        ([-100, 100, 0, 7], [0.0620584856299], 1e-11),  # the same: 0.06206
        (HAND, [0.222586], 1e-6),
        (TWO, [0.1, 0.2], 1e-12),
        (PUMP, [0.25, 4.0], 1e-11),
        ([-10_000, *[3000] * 5], [0.152382371166], 1e-11),
        ([-120_000, *[45_000] * 4], [0.184504885036], 1e-11),
        ([-85_000, 20_000, 25_000, 30_000, 35_000], [0.101425476193], 1e-11),
        ([100, 10], [], 0.0),  # nothing is ever paid
    ],
)
def test_internal_rates(flows, rates, places):
    """All of them, as published or by hand, and as roots of a polynomial."""
    found = internal_rates(flows)
    assert found == pytest.approx(rates, abs=places)
    assert found == pytest.approx(by_polynomial(flows), abs=1e-9)


def test_a_published_single_rate_has_a_brother():
    """Of -100, 100, 0, -7 numpy's documentation of irr tells -0.0833; there is another root."""
    found = internal_rates([-100, 100, 0, -7])
    assert len(found) == 2
    assert found[1] == pytest.approx(-0.0832996661849, abs=1e-11)
    assert found == pytest.approx(by_polynomial([-100, 100, 0, -7]), abs=1e-9)


@pytest.mark.parametrize(
    ("flows", "rate", "plain", "discounted"),
    [
        (HAND, 0.08, 2.952381, 3.500972),
        ([-10_000, *[3000] * 5], 0.10, 3.33333333333, 4.26326666667),
        ([-120_000, *[45_000] * 4], 0.08, 2.66666666667, 3.12185856),
        ([-85_000, 20_000, 25_000, 30_000, 35_000], 0.12, 3.28571428571, None),
        (
            [-90_000, *[22_400] * 4, 30_400],
            0.10,
            4.01315789474,
            None,
        ),  # half a person, 300 units a month, resale
        ([-100, 10, 10], 0.0, None, None),
        ([0, 5], 0.0, 0.0, 0.0),
    ],
)
def test_payback(flows, rate, plain, discounted):
    """By hand, by paying in very small parts, and by the form for many draws."""
    for given, value in ((0.0, plain), (rate, discounted)):
        found = payback(flows, given)
        assert found == (None if value is None else pytest.approx(value, abs=1e-6))
        assert by_small_steps(flows, given) == (None if value is None else pytest.approx(value, abs=2e-5))
    (many,) = paybacks(np.array(flows, dtype=float)[:, None])
    assert many == (math.inf if plain is None else pytest.approx(plain, abs=1e-6))


def test_a_robot_that_is_just_not_worth_it():
    """90 000, half a person of 42 000, 300 units a month at 1.50, 4000 upkeep, resale 8000: NPV -119."""
    yearly = 0.5 * 42_000 + 12 * 300 * 1.50 - 4000
    flows = [-90_000, *[yearly] * 4, yearly + 8000]
    assert npv(flows, 0.1) == pytest.approx(-119.005780778, abs=1e-8)
    assert internal_rates(flows) == pytest.approx([0.0995036381265], abs=1e-11)


def test_many_draws_are_as_one_by_one():
    """Seeded flows of 200 draws: payback and present value are those of each alone."""
    rng = np.random.default_rng(4)
    flows = np.vstack([-rng.uniform(0, 200, 200), rng.normal(30, 40, (6, 200))])
    rates = rng.uniform(0, 0.2, 200)
    values = sums_by_year(flows, rates)[-1]
    for k, column in enumerate(flows.T):
        alone = payback(column)
        assert paybacks(flows)[k] == (math.inf if alone is None else pytest.approx(alone, rel=1e-12))
        assert values[k] == pytest.approx(npv(column, rates[k]), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("rate", "years"), [(0.08, 5), (0.08, 4), (0.0, 3), (1e-9, 7), (-0.02, 4)])
def test_annuity(rate, years):
    """5 years at 8 %: 3.992710 (any annuity table), and the sum itself."""
    assert annuity(rate, years) == pytest.approx(
        sum((1 + rate) ** -k for k in range(1, years + 1)), rel=1e-12
    )
    assert annuity(0.08, 5) == pytest.approx(3.992710, abs=5e-7)
    assert 45_000 * annuity(0.08, 4) == pytest.approx(149_045.707802, abs=1e-6)


def test_nonsense_is_refused():
    """No flow, a rate of -100 %, no years, nothing but zeros."""
    with pytest.raises(ValueError, match="0 flows"):
        npv([], 0.1)
    with pytest.raises(ValueError, match="rate of -1"):
        payback([1.0], -1)
    with pytest.raises(ValueError, match="0 years"):
        annuity(0.1, 0)
    with pytest.raises(ValueError, match="all flows are 0"):
        internal_rates([0, 0])
