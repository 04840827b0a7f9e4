"""Streams and laws as the rules see them, for the tests of random numbers."""

from __future__ import annotations

import math

import numpy as np
from scipy import stats

from cellsim.describe.laws import LAWS, beta_shapes, make_law, spread, weibull_scale
from cellsim.engine import draws

SECOND = 1e6
TOP = 2**64 - 1
FIRST_UNIFORM, LAST_UNIFORM = 2.0**-53, 1 - 2.0**-53


class PlainStream:
    __slots__ = [name for name, _, _ in draws.STREAM_FIELDS]


class PlainLaw:
    __slots__ = [name for name, _, _ in draws.LAW_FIELDS]


def stream(name="press", purpose="work time", seed=1, replication=0):
    s = PlainStream()
    s.key0, s.uniforms = draws.stream_key(name, purpose), [0.0] * 64
    draws.restart(s, seed, replication)
    return s


def compiled_law(law):
    """The law as a slotted object, and its table (which does not begin with this law)."""
    table = [-1.0] * 5
    record = PlainLaw()
    for name, value in draws.compile_law(law, table).items():
        setattr(record, name, value)
    return record, table


def law(name, **parameters):
    """A law whose times are given in seconds."""
    kinds = {p.name: p.kind for p in LAWS[name].parameters}
    return make_law(name, {k: v * SECOND if kinds[k] == "time" else v for k, v in parameters.items()})


def quantiles(one, shares):
    record, table = compiled_law(one)
    return np.array([draws.quantile(record, float(u), table) for u in shares])


def durations(one, count, **address):
    record, table = compiled_law(one)
    s = stream(**address)
    return np.array([draws.duration(record, s, table) for _ in range(count)]) / SECOND


EXAMPLES = [make_law(row.name, row.example) for row in LAWS.values()]
RANDOM = [one for one in EXAMPLES if one.name not in ("fixed", "listed")]
EVERY_KIND = [*EXAMPLES, law("gamma", mean=240, spread=3), law("normal", mean=2, spread=1, min=0)]


def scipy_quantiles(one, shares):
    """The quantiles of the law in microseconds as scipy has them."""
    v = one.values
    if one.name == "exponential":
        return stats.expon.ppf(shares, scale=v[0])
    if one.name in ("gamma", "erlang"):
        shape = spread(one) ** -2
        return stats.gamma.ppf(shares, shape, scale=v[0] / shape)
    if one.name == "lognormal":
        sigma = math.sqrt(math.log(1 + v[1] ** 2))
        return stats.lognorm.ppf(shares, sigma, scale=v[0] * math.exp(-sigma * sigma / 2))
    if one.name == "weibull":
        return stats.weibull_min.ppf(shares, v[1], scale=weibull_scale(one))
    if one.name == "uniform":
        return stats.uniform.ppf(shares, v[0], v[1] - v[0])
    if one.name == "triangular":
        return stats.triang.ppf(shares, (v[1] - v[0]) / (v[2] - v[0]), v[0], v[2] - v[0])
    if one.name == "beta":
        return stats.beta.ppf(shares, *beta_shapes(one), v[0], v[2] - v[0])
    deviation = v[0] * v[1]
    twin = stats.truncnorm((v[2] - v[0]) / deviation, (v[3] - v[0]) / deviation, v[0], deviation)
    if v[2] > v[0]:
        return twin.ppf(shares)
    return np.where(shares < 0.5, twin.ppf(shares), twin.isf(1 - shares))  # ppf loses digits near 1 here
