"""Laws of durations: what is accepted, what is refused with which words, and the moments of what is drawn."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from scipy import stats

from cellsim.describe.cell import Law
from cellsim.describe.laws import (
    LAWS,
    beta_shapes,
    caution,
    describe,
    make_law,
    mean,
    normal_limits,
    spread,
    weibull_scale,
)

SECOND = 1e6


def seconds(name: str, **parameters: float) -> Law:
    """A law whose times are given in seconds."""
    kinds = {p.name: p.kind for p in LAWS[name].parameters}
    return make_law(name, {k: v * SECOND if kinds[k] == "time" else v for k, v in parameters.items()})


def scipy_twin(law: Law):
    """The same law as scipy knows it, in seconds."""
    v = [x / SECOND for x in law.values]
    if law.name == "exponential":
        return stats.expon(scale=v[0])
    if law.name in ("gamma", "erlang"):
        shape = law.values[1] if law.name == "erlang" else law.values[1] ** -2
        return stats.gamma(shape, scale=v[0] / shape)
    if law.name == "lognormal":
        sigma = math.sqrt(math.log(1 + law.values[1] ** 2))
        return stats.lognorm(sigma, scale=v[0] * math.exp(-sigma * sigma / 2))
    if law.name == "weibull":
        return stats.weibull_min(law.values[1], scale=weibull_scale(law) / SECOND)
    if law.name == "uniform":
        return stats.uniform(v[0], v[1] - v[0])
    if law.name == "triangular":
        return stats.triang((v[1] - v[0]) / (v[2] - v[0]), v[0], v[2] - v[0])
    if law.name == "beta":
        return stats.beta(*beta_shapes(law), v[0], v[2] - v[0])
    deviation = v[0] * law.values[1]
    return stats.truncnorm((v[2] - v[0]) / deviation, (v[3] - v[0]) / deviation, v[0], deviation)


CONTINUOUS = [
    seconds("exponential", mean=12),
    seconds("gamma", mean=240, spread=0.6),
    seconds("gamma", mean=240, spread=3),
    seconds("erlang", mean=240, phases=3),
    seconds("lognormal", mean=24, spread=0.15),
    seconds("lognormal", mean=24, spread=2),
    seconds("weibull", mean=2400, shape=1.4),
    seconds("weibull", mean=2400, shape=0.5),
    seconds("uniform", min=20, max=30),
    seconds("triangular", min=20, likely=24, max=35),
    seconds("triangular", min=0, likely=0, max=35),
    seconds("beta", min=20, likely=24, max=35),
    seconds("normal", mean=10, spread=0.4, min=5, max=20),
    seconds("normal", mean=24, spread=0.15),
    seconds("normal", mean=10, spread=0.4, min=12),
    seconds("normal", mean=10, spread=0.4, min=0, max=7),
]


@pytest.mark.parametrize("law", CONTINUOUS, ids=describe)
def test_mean_and_spread_are_those_of_the_law(law):
    """Mean and spread agree with an independent library to 1 part in 1e9."""
    twin = scipy_twin(law)
    assert mean(law) / SECOND == pytest.approx(twin.mean(), rel=1e-9)
    assert spread(law) == pytest.approx(twin.std() / twin.mean(), rel=1e-9)


@pytest.mark.parametrize("row", LAWS.values(), ids=lambda row: row.name)
def test_every_row_is_complete(row):
    """Each law has help, a source, a valid example with a positive mean, and a plain description."""
    law = make_law(row.name, row.example)
    assert row.help.endswith(".") and row.source and all(p.help for p in row.parameters)
    assert mean(law) > 0 and spread(law) >= 0
    assert describe(law)


def test_laws_are_complete():
    """The table holds exactly the laws that the language knows."""
    assert list(LAWS) == [
        "fixed", "exponential", "gamma", "erlang", "lognormal", "weibull", "uniform", "triangular", "beta",
        "normal", "measured", "listed",
    ]  # fmt: skip


def test_lognormal_by_its_own_mean():
    """Mean 10 and deviation 5 are those of the time, not of its logarithm (log-mean 2.19101)."""
    law = seconds("lognormal", mean=10, spread=0.5)
    assert mean(law) == 10e6
    assert scipy_twin(law).median() == pytest.approx(8.9443, abs=5e-5)
    assert scipy_twin(law).ppf(0.9) == pytest.approx(16.385, abs=5e-4)


def test_normal_cut_to_limits():
    """Normal 10, 4 cut to 5..20 has mean 10.7437 and deviation 3.2472: limits are times, not scores."""
    law = seconds("normal", mean=10, spread=0.4, min=5, max=20)
    assert mean(law) / SECOND == pytest.approx(10.7437, abs=5e-5)
    assert spread(law) * mean(law) / SECOND == pytest.approx(3.2472, abs=5e-5)
    assert sum(normal_limits(law)) == pytest.approx(1.0, abs=1e-15)


def test_normal_that_would_be_negative_is_refused():
    """Normal 2, 2 is negative in 15.87 % of draws: refused, and the effective mean of cutting is named."""
    with pytest.raises(ValueError) as error:
        seconds("normal", mean=2, spread=1)
    assert str(error.value) == (
        "normal: mean 2 s with spread 100 % gives negative times in 15.87 % of draws; give min, 0 s or more "
        "(min 0 s makes the mean 2.575 s), or use lognormal or gamma, which are never negative"
    )


def test_normal_with_stated_min_names_its_effective_mean():
    """With min given the law is accepted and says that its mean is 2.575 s, not 2 s."""
    law = seconds("normal", mean=2, spread=1, min=0)
    assert mean(law) / SECOND == pytest.approx(2.5752, abs=5e-5)
    assert describe(law) == "normal, mean 2 s, spread 100 %, min 0 s, effective mean 2.575 s"
    assert caution(law) == "a normal law cut to at least 0 s has the mean 2.575 s, not the stated 2 s"


def test_normal_far_from_zero_needs_no_min():
    """A spread of 15 % never comes near zero: default min 0 s, no caution."""
    law = seconds("normal", mean=24, spread=0.15)
    assert law.values == (24e6, 0.15, 0.0, math.inf)
    assert describe(law) == "normal, mean 24 s, spread 15 %, min 0 s"
    assert caution(law) == ""


@pytest.mark.parametrize("spread_given", [0.0, 1e-320, 1e-309])
def test_normal_that_does_not_vary(spread_given):
    """Spread 0, or too small to count, is a constant."""
    law = seconds("normal", mean=24, spread=spread_given)
    assert (mean(law), spread(law)) == (24e6, pytest.approx(0.0, abs=1e-300))


def test_triangular_by_name():
    """Min 5, likely 6, max 15: mean 8.6667, median 8.2918, deviation 2.2485."""
    law = seconds("triangular", max=15, min=5, likely=6)
    assert mean(law) / SECOND == pytest.approx(8.6667, abs=5e-5)
    assert spread(law) * mean(law) / SECOND == pytest.approx(2.2485, abs=5e-5)
    assert scipy_twin(law).median() == pytest.approx(8.2918, abs=5e-5)


def test_exponential_by_its_mean():
    """Mean 12 is the mean: not a rate and not a shift."""
    assert mean(seconds("exponential", mean=12)) == 12e6
    assert spread(seconds("exponential", mean=12)) == 1.0


def test_beta_is_the_min_likely_max_estimate():
    """Mean (min + 4 likely + max) / 6, and the most likely time is the mode: (a - 1) / (a + b - 2)."""
    law = seconds("beta", min=20, likely=24, max=35)
    first, second = beta_shapes(law)
    assert mean(law) == pytest.approx((20e6 + 4 * 24e6 + 35e6) / 6, rel=1e-15)
    assert 20 + 15 * (first - 1) / (first + second - 2) == pytest.approx(24, rel=1e-12)


def test_measured_and_listed_keep_the_times():
    """Times become whole microseconds in the given order; mean and spread are those of the list."""
    for name in ("measured", "listed"):
        law = make_law(name, {"times": (3.5, 1.0, 2.4999)})
        assert law == Law(name, (), (4, 1, 2))
        assert mean(law) == pytest.approx(7 / 3)
        assert spread(law) == pytest.approx(math.sqrt(21 / 3 - 49 / 9) / (7 / 3))
        assert spread(make_law(name, {"times": [0]})) == 0.0


@pytest.mark.parametrize(
    ("law", "text"),
    [
        (seconds("fixed", time=24), "always 24 s"),
        (seconds("exponential", mean=2400), "exponential, mean 40 min"),
        (seconds("lognormal", mean=24, spread=0.15), "lognormal, mean 24 s, spread 15 %"),
        (seconds("erlang", mean=0.35, phases=3), "erlang, mean 350 ms, phases 3"),
        (seconds("weibull", mean=2400, shape=1.4), "weibull, mean 40 min, shape 1.4"),
        (seconds("triangular", min=20, likely=24.5, max=35), "triangular, min 20 s, likely 24.5 s, max 35 s"),
        (
            seconds("normal", mean=10, spread=0.4, min=5, max=20),
            "normal, mean 10 s, spread 40 %, min 5 s, max 20 s, effective mean 10.74 s",
        ),
        (
            make_law("measured", {"times": (21e6, 24e6, 22e6)}),
            "3 measured times, mean 22.33 s, 21 s to 24 s",
        ),
        (make_law("listed", {"times": (21e6,)}), "1 listed time, mean 21 s, 21 s to 21 s"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.name,
)
def test_description(law, text):
    """A law reads as a sentence with units."""
    assert describe(law) == text


REFUSED = [
    (
        "lognorml",
        {"mean": 1e6},
        "there is no law 'lognorml'; did you mean lognormal? the laws are fixed, exponential, gamma, erlang, "
        "lognormal, weibull, uniform, triangular, beta, normal, measured, listed",
    ),
    (
        "gamma",
        {"mean": 1e6, "shape": 2},
        "gamma: there is no parameter 'shape'; the parameters are mean, spread",
    ),
    (
        "normal",
        {"spread": 0.1},
        "normal: mean missing; the parameters are mean, spread, min (optional), max (optional)",
    ),
    ("uniform", {}, "uniform: min and max missing; the parameters are min, max"),
    ("fixed", {"time": -1e6}, "fixed: time must be between 0 s and 100 years, not -1 s"),
    ("fixed", {"time": math.nan}, "fixed: time must be a finite number, not 'nan'"),
    ("fixed", {"time": math.inf}, "fixed: time must be a finite number, not 'inf'"),
    ("fixed", {"time": 10**400}, f"fixed: time must be a finite number, not '1{'0' * 19}'"),
    ("fixed", {"time": True}, "fixed: time must be a finite number, not 'True'"),
    ("fixed", {"time": "24 s"}, "fixed: time must be a finite number, not '24 s'"),
    ("exponential", {"mean": 0}, "exponential: mean must be above 0 s, not 0 s"),
    (
        "lognormal",
        {"mean": 24e6, "spread": 15},
        "lognormal: spread must be between 0 % and 1000 %, not 1500 %",
    ),
    ("gamma", {"mean": 24e6, "spread": 0.0005}, "gamma: spread must be 0 % or at least 0.1 %, not 0.05 %"),
    (
        "erlang",
        {"mean": 1e6, "phases": 2.5},
        "erlang: phases must be a whole number between 1 and 1000000, not 2.5",
    ),
    (
        "erlang",
        {"mean": 1e6, "phases": 0},
        "erlang: phases must be a whole number between 1 and 1000000, not 0",
    ),
    ("weibull", {"mean": 1e6, "shape": 0.1}, "weibull: shape must be between 0.2 and 100, not 0.1"),
    (
        "uniform",
        {"min": 5e6, "max": 5e6},
        "uniform: min must be below max, not min 5 s and max 5 s; a time that never varies is the law fixed",
    ),
    (
        "triangular",
        {"min": 7e6, "likely": 6e6, "max": 15e6},
        "triangular: likely must lie between min and max, not 6 s with min 7 s and max 15 s",
    ),
    (
        "beta",
        {"min": 5e6, "likely": 16e6, "max": 15e6},
        "beta: likely must lie between min and max, not 16 s with min 5 s and max 15 s",
    ),
    (
        "normal",
        {"mean": 10e6, "spread": 0.1, "min": 20e6, "max": 30e6},
        "normal: less than 0.1 % of a normal law with mean 10 s and spread 10 % lies between min and max; "
        "use uniform or triangular",
    ),
    (
        "normal",
        {"mean": 10e6, "spread": 0.1, "min": 9e6, "max": 9e6},
        "normal: min must be below max, not min 9 s and max 9 s",
    ),
    (
        "normal",
        {"mean": 10e6, "spread": 0, "min": 11e6},
        "normal: with spread 0 % the mean 10 s must lie between min and max",
    ),
    (
        "normal",
        {"mean": 10e6, "spread": 0.1, "min": -1e6},
        "normal: min must be between 0 s and 100 years, not -1 s",
    ),
    ("measured", {"times": ()}, "measured: times must be a list of at least one time"),
    ("measured", {"times": 5e6}, "measured: times must be a list of at least one time"),
    ("listed", {"times": "5 s"}, "listed: times must be a list of at least one time"),
    ("listed", {"times": (1e6, -2e6)}, "listed: times must be between 0 s and 100 years, not -2 s"),
]


@pytest.mark.parametrize(("name", "parameters", "message"), REFUSED, ids=lambda value: str(value)[:30])
def test_refusals_say_what_is_allowed(name, parameters, message):
    """Each wrong law is refused with exactly this sentence."""
    with pytest.raises(ValueError) as error:
        make_law(name, parameters)
    assert str(error.value) == message


def test_smallest_share_cut_off_unasked():
    """A third of the mean as deviation cuts 0.135 %: refused; 32 % cuts 0.09 %: accepted with min 0 s."""
    with pytest.raises(ValueError, match=r"gives negative times in 0.135 % of draws"):
        seconds("normal", mean=3, spread=1 / 3)
    assert caution(seconds("normal", mean=3, spread=0.32)) == ""


def test_no_heavy_import():
    """Describing laws needs the standard library only."""
    code = (
        "import sys; from cellsim.describe.laws import LAWS, make_law, mean, spread, describe\n"
        "for row in LAWS.values():\n"
        "    law = make_law(row.name, row.example); mean(law); spread(law); describe(law)\n"
        "print(sorted({'numpy', 'scipy', 'numba', 'simpy', 'yaml'} & set(sys.modules)))"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout == "[]\n"
