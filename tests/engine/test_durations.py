"""Drawn durations: moments, rounding, order, and compiled = plain."""

from __future__ import annotations

import math
import subprocess
import sys
import types

import numpy as np
import pytest
from draw_rows import (
    EVERY_KIND,
    LAST_UNIFORM,
    RANDOM,
    SECOND,
    TOP,
    PlainLaw,
    compiled_law,
    durations,
    law,
    quantiles,
    scipy_quantiles,
    stream,
)
from scipy import stats

from cellsim.describe.cell import Law
from cellsim.describe.laws import LAWS, describe, make_law, mean, spread
from cellsim.engine import draws


@pytest.mark.parametrize("one", RANDOM, ids=describe)
def test_mean_and_spread_of_draws(one):
    """20 000 draws meet mean and spread of the law within 4 and 5 standard errors; fixed seed.

    False alarm about 1 in 10 000 a law for the mean; the error of the spread is taken from the draws.
    """
    times = durations(one, 20_000, seed=7)
    centre, deviation = mean(one) / SECOND, mean(one) * spread(one) / SECOND
    assert abs(times.mean() - centre) < 4 * deviation / math.sqrt(times.size)
    squares = (times - centre) ** 2
    assert abs(squares.mean() - deviation**2) < 5 * squares.std() / math.sqrt(times.size)


@pytest.mark.parametrize("one", [o for o in RANDOM if o.name != "measured"], ids=describe)
def test_draws_follow_the_law(one):
    """Kolmogorov-Smirnov, 10 000 draws against scipy's law; false alarm 1 in 1000 a law, fixed seed."""
    grid = (np.arange(200_000) + 0.5) / 200_000
    steps = scipy_quantiles(one, grid) / SECOND
    times = durations(one, 10_000, seed=11)
    assert stats.kstest(times, lambda x: np.interp(x, steps, grid)).pvalue > 1e-3


def test_the_test_of_the_law_can_fail():
    """The same test rejects a mean that is 5 % off, and a rate given as a mean."""
    times = durations(law("exponential", mean=12), 10_000, seed=11)
    assert stats.kstest(times, stats.expon(scale=12 * 1.05).cdf).pvalue < 1e-4
    assert stats.kstest(times, stats.expon(scale=1 / 12).cdf).pvalue < 1e-100


def test_exponential_by_its_mean():
    """Mean 12, 100 000 draws: 12 +- 0.12, smallest below 0.01 (a shift of 12 gives 13 and none below)."""
    times = durations(law("exponential", mean=12), 100_000)
    assert times.mean() == pytest.approx(12, abs=0.12)
    assert times.min() < 0.01


def test_lognormal_by_its_own_mean_and_spread():
    """Mean 10, deviation 5: log-mean 2.19101, log-deviation 0.47238, median 8.9443, P90 16.385."""
    one = law("lognormal", mean=10, spread=0.5)
    record, _ = compiled_law(one)
    assert record.a - math.log(SECOND) == pytest.approx(2.19101, abs=5e-6)
    assert record.b == pytest.approx(0.47238, abs=5e-6)
    assert quantiles(one, [0.5, 0.9]) / SECOND == pytest.approx([8.9443, 16.385], abs=5e-4)


def test_limits_of_the_normal_are_times():
    """Normal 10, 4 cut to 5..20: all draws inside, mean 10.7437, deviation 3.2472 within 4 errors."""
    times = durations(law("normal", mean=10, spread=0.4, min=5, max=20), 20_000)
    assert times.min() >= 5 and times.max() <= 20
    assert times.mean() == pytest.approx(10.7437, abs=4 * 3.2472 / math.sqrt(20_000))
    assert times.std() == pytest.approx(3.2472, abs=0.06)


def test_cut_normal_is_never_negative():
    """Normal 2, 2 from 0 s on: never negative, mean 2.5752 (not the 2.1666 of setting negatives to 0)."""
    times = durations(law("normal", mean=2, spread=1, min=0), 20_000)
    assert times.min() >= 0
    assert times.mean() == pytest.approx(2.5752, abs=4 * 1.59 / math.sqrt(20_000))


def test_triangular_median():
    """Min 5, likely 6, max 15: median 8.2918."""
    assert quantiles(law("triangular", min=5, likely=6, max=15), [0.5]) / SECOND == pytest.approx(
        8.2918, abs=5e-5
    )


@pytest.mark.parametrize(
    ("time", "whole"),
    [
        (0.0, 0), (-3.0, 0), (0.49, 0), (0.5, 1), (1.5, 2), (2.5, 3), (2.4999, 2), (24e6, 24_000_000),
        (2.0**60, 2**60), (2.0**60 - 256, 2**60 - 256), (2.0**61, 2**60), (1e300, 2**60), (math.inf, 2**60),
    ],
)  # fmt: skip
def test_rounding(time, whole):
    """Halves go up, nothing is negative, nothing passes the longest time; the result is a whole number."""
    record, table = compiled_law(Law("fixed", (time,)))
    rounded = draws.duration(record, stream(), table)
    assert rounded == whole
    assert type(rounded) is int


def test_fixed_draws_nothing():
    """A constant uses no random number; so do gamma, lognormal and normal with spread 0."""
    constants = [law("fixed", time=24)]
    constants += [law(name, mean=24, spread=0) for name in ("gamma", "lognormal", "normal")]
    for one in constants:
        record, table = compiled_law(one)
        s = stream()
        assert draws.duration(record, s, table) == 24_000_000
        assert s.used == 0


def test_every_random_law_uses_one_uniform_a_draw():
    """Draw number k uses uniform number k, whatever the law: alternatives share their luck."""
    for one in RANDOM:
        record, table = compiled_law(one)
        s = stream()
        times = [draws.duration(record, s, table) for _ in range(100)]
        assert s.used == 100
        t = stream()
        assert times == [
            math.floor(draws.quantile(record, draws.uniform(t), table) + 0.5) for _ in range(100)
        ]


def test_listed_times_come_in_order_over_and_over():
    """Listed times need no random number; the stream only counts, so that a restart begins again."""
    record, table = compiled_law(make_law("listed", {"times": (3e6, 1e6, 2e6)}))
    s = stream()
    assert [draws.duration(record, s, table) for _ in range(7)] == [
        3_000_000, 1_000_000, 2_000_000, 3_000_000, 1_000_000, 2_000_000, 3_000_000,
    ]  # fmt: skip
    assert s.uniforms == [0.0] * 64
    draws.restart(s, 1, 1)
    assert draws.duration(record, s, table) == 3_000_000


def test_measured_times_are_equally_likely_and_in_no_order():
    """Each of 4 times comes 5000 +- 4 x 61 times in 20 000; their order in the file changes nothing."""
    one, other = make_law("measured", {"times": (4, 1, 3, 2)}), make_law("measured", {"times": (1, 2, 3, 4)})
    times = durations(one, 20_000) * SECOND
    assert np.array_equal(times, durations(other, 20_000) * SECOND)
    values, counts = np.unique(times, return_counts=True)
    assert list(values) == [1, 2, 3, 4]
    assert np.all(np.abs(counts - 5000) < 4 * math.sqrt(20_000 * 3 / 16))


def test_last_measured_time_is_reached_and_not_passed():
    """The largest uniform times any count stays below the count."""
    for count in [*range(1, 3000), 2**20 - 1, 2**20, 2**20 + 1, 10**6]:
        assert int(LAST_UNIFORM * count) == count - 1


# --- compiled = plain ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def twin():
    """The same functions compiled, by name, and a driver that makes many durations."""
    numba = pytest.importorskip("numba", reason="numba is not installed")
    scope = dict(vars(draws))
    for function in draws.COMPILABLE:
        name = "refill" if function is draws.refill_compiled_body else function.__name__
        scope[name] = numba.njit(types.FunctionType(function.__code__, scope, function.__name__))
    duration, chance, restart, skip_to = (scope[n] for n in ("duration", "chance", "restart", "skip_to"))

    @numba.njit
    def many(record, s, table, seed, replication, start, out):
        restart(s, seed, replication)
        if start:
            skip_to(s, start)
        for i in range(out.size):
            out[i] = duration(record, s, table)

    @numba.njit
    def hits(s, share, count):
        found = 0
        for _ in range(count):
            found += chance(s, share)
        return found

    return types.SimpleNamespace(many=many, hits=hits)


def numpy_record(fields, values):
    record = np.zeros(1, [(n, code, (length,)) if length else (n, code) for n, code, length in fields])[0]
    for name, value in values.items():
        record[name] = value
    return record


@pytest.mark.parametrize("one", EVERY_KIND, ids=describe)
def test_compiled_durations_equal_plain_ones(one, twin):
    """20 000 durations of a law, plain on slotted objects and compiled on records, are equal to the bit."""
    table = [-1.0]
    row = draws.compile_law(one, table)
    s = stream(seed=TOP, replication=37)
    record = PlainLaw()
    for name, value in row.items():
        setattr(record, name, value)
    plain = [draws.duration(record, s, table) for _ in range(20_000)]
    fast_law = numpy_record(draws.LAW_FIELDS, row)
    fast = numpy_record(draws.STREAM_FIELDS, {"key0": s.key0})
    out = np.zeros(20_000, dtype=np.int64)
    twin.many(fast_law, fast, np.array(table), np.uint64(TOP), 37, 0, out)
    assert out.tolist() == plain
    assert fast["used"] == s.used
    assert fast["uniforms"].tolist() == (s.uniforms if s.used and one.name != "listed" else [0.0] * 64)
    tail = np.zeros(100, dtype=np.int64)
    if one.name != "listed":
        twin.many(fast_law, fast, np.array(table), np.uint64(TOP), 37, 12_345, tail)
        assert tail.tolist() == plain[12_345:12_445]


def test_compiled_quantiles_equal_plain_ones_before_rounding(twin):
    """Rounding hides nothing: times of 1e15 us, where a microsecond is the last bit or so, are equal too."""
    for one in EVERY_KIND:
        scale = 1e15 / mean(one)
        if one.measured:
            continue
        kinds = [p.kind for p in LAWS[one.name].parameters]
        values = [v * scale if k == "time" else v for k, v in zip(kinds, one.values, strict=True)]
        large = Law(one.name, tuple(values))
        table = [-1.0]
        row = draws.compile_law(large, table)
        record = types.SimpleNamespace(**row)
        s = stream()
        plain = [draws.duration(record, s, table) for _ in range(5000)]
        fast = numpy_record(draws.STREAM_FIELDS, {"key0": s.key0})
        out = np.zeros(5000, dtype=np.int64)
        twin.many(numpy_record(draws.LAW_FIELDS, row), fast, np.array(table), np.uint64(1), 0, 0, out)
        assert out.tolist() == plain, one.name


def test_compiled_chance_equals_plain(twin):
    """Both make the same decisions."""
    s = stream()
    plain = sum(draws.chance(s, 0.03) for _ in range(5000))
    fast = numpy_record(draws.STREAM_FIELDS, {"key0": s.key0, "key1": 1})
    assert twin.hits(fast, 0.03, 5000) == plain


def test_no_scipy_for_the_usual_laws():
    """Only gamma, Erlang and beta load scipy, and only when compiled."""
    code = (
        "import sys\n"
        "from cellsim.describe.laws import LAWS, make_law\n"
        "from cellsim.engine.draws import compile_law\n"
        "for row in sorted(LAWS.values(), key=lambda row: row.name in ('gamma', 'erlang', 'beta')):\n"
        "    compile_law(make_law(row.name, row.example), [])\n"
        "    print(row.name, 'scipy' in sys.modules)\n"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = dict(line.split() for line in shown.stdout.splitlines())
    assert [name for name in LAWS if loaded[name] == "True"] == ["gamma", "erlang", "beta"]
