"""Random numbers and drawn durations: the generator, the streams, the quantiles, and plain = compiled."""

from __future__ import annotations

import math
import statistics
import subprocess
import sys
import threading
import types

import numpy as np
import pytest
from scipy import special, stats

from cellsim.describe.cell import Law
from cellsim.describe.laws import LAWS, beta_shapes, describe, make_law, mean, spread, weibull_scale
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


# --- the generator ---------------------------------------------------------------------------------------

KNOWN_ANSWERS = [  # counter, key, four words
    ((0, 0, 0, 0), (0, 0), "16554d9eca36314c db20fe9d672d0fdc d7e772cee186176b 7e68b68aec7ba23b"),
    ((TOP,) * 4, (TOP,) * 2, "87b092c3013fe90b 438c3c67be8d0224 9cc7d7c69cd777b6 a09caebf594f0ba0"),
    (
        (0x243F6A8885A308D3, 0x13198A2E03707344, 0xA4093822299F31D0, 0x082EFA98EC4E6C89),
        (0x452821E638D01377, 0xBE5466CF34E90C6C),
        "a528f45403e61d95 38c72dbd566e9788 a5a1610e72fd18b5 57bd43b5e52b7fe6",
    ),
]


@pytest.mark.parametrize(("counter", "key", "words"), KNOWN_ANSWERS, ids=["zeros", "ones", "pi"])
def test_known_answers(counter, key, words):
    """Philox4x64-10 gives the answers published with it (quoted from memory; numpy is the second witness)."""
    with np.errstate(over="ignore"):
        block = draws.philox_block(*map(np.uint64, counter), *map(np.uint64, key))
    assert " ".join(f"{int(word):016x}" for word in block) == words


@pytest.mark.parametrize("key0", [0, 1, 2**63, TOP])
@pytest.mark.parametrize("seed", [0, 12345, TOP])
@pytest.mark.parametrize("replication", [0, 37, 2**40])
def test_uniforms_are_those_of_numpy(key0, seed, replication):
    """Draw k is word k % 4 of block k // 4 of numpy's Philox: its top 52 bits, half a step up."""
    counter, key = [0, replication, 0, 0], [key0, seed]
    words = np.random.Philox(
        key=np.array(key, dtype=np.uint64), counter=np.array(counter, dtype=np.uint64)
    ).random_raw(200)
    s = stream()
    s.key0 = key0
    draws.restart(s, seed, replication)
    assert [draws.uniform(s) for _ in range(200)] == [((int(w) >> 12) + 0.5) / 2**52 for w in words]
    assert s.used == 200


@pytest.mark.parametrize("used", [0, 64, 6400, 64 * (2**40)])
def test_both_bodies_of_refill_agree(used):
    """The scalar body for the compiled clock fills the same 64 numbers as the numpy body."""
    one, other = stream(seed=TOP, replication=3), stream(seed=TOP, replication=3)
    one.used = other.used = used
    draws.refill(one)
    with np.errstate(over="ignore"):
        draws.refill_compiled_body(other)
    assert one.uniforms == other.uniforms


def test_uniforms_lie_in_the_open_interval():
    """The extreme words give 2^-53 and 1 - 2^-53, never 0 or 1."""
    assert draws.open_unit(np.uint64(0)) == FIRST_UNIFORM > 0
    assert draws.open_unit(np.uint64(TOP)) == LAST_UNIFORM < 1


def test_high_word():
    """Upper half of 64 x 64 bits, against whole-number arithmetic; includes all carries."""
    words = [0, 1, 2**32 - 1, 2**32, 2**63, TOP, 0xD2E7470EE14C6C93, 0x123456789ABCDEF0]
    with np.errstate(over="ignore"):
        for x in words:
            for y in words:
                assert int(draws.high_word(np.uint64(x), np.uint64(y))) == x * y >> 64


# --- streams ---------------------------------------------------------------------------------------------


def test_keys_are_frozen():
    """Keys may never change: results of old seeds depend on them (values made by this program)."""
    assert draws.stream_key("press", "work time") == 9316422172086871406
    assert draws.stream_key("Prüfstand", "stop 'jam'") == 10986677265295622058


def test_keys_know_the_border_of_name_and_purpose():
    """Texts that join to the same letters have other keys."""
    pairs = [("ab", "c"), ("a", "bc"), ("abc", ""), ("", "abc"), ("c", "ab")]
    assert len({draws.stream_key(*pair) for pair in pairs}) == len(pairs)


def test_streams_of_a_study_are_all_distinct():
    """100 replications x 10 stations x 3 purposes x 2 seeds, first 4 draws: all distinct."""
    seen = set(((np.random.Philox(1).random_raw(4) >> np.uint64(12)) + 0.5) * 2.0**-52)
    for seed in (1, 2):
        for station in range(10):
            for purpose in ("work time", "time to stop", "repair time"):
                s = stream(f"station {station}", purpose)
                for replication in range(100):
                    draws.restart(s, seed, replication)
                    seen.update(draws.uniform(s) for _ in range(4))
    assert len(seen) == 4 + 2 * 10 * 3 * 100 * 4


def test_another_stream_changes_no_draw():
    """A stream gives the same numbers alone, among others, and in whatever order they are drawn."""
    alone = stream("press")
    expected = [draws.uniform(alone) for _ in range(300)]
    press, oven, robot = stream("press"), stream("oven"), stream("robot")
    mixed = []
    for i in range(300):
        if i % 2:
            draws.uniform(oven)
        mixed.append(draws.uniform(press))
        for _ in range(i % 5):
            draws.uniform(robot)
    assert mixed == expected


def test_replication_37_alone():
    """Replication 37 is the same after 36 others, alone, and after a later one."""
    s = stream()
    runs = {}
    for replication in [*range(38), 99, 37]:
        draws.restart(s, 5, replication)
        numbers = [draws.uniform(s) for _ in range(70)]
        assert runs.setdefault(replication, numbers) == numbers
    assert [draws.uniform(s37) for s37 in [stream(seed=5, replication=37)] for _ in range(70)] == runs[37]


@pytest.mark.parametrize("k", [0, 1, 63, 64, 65, 127, 500, 999])
def test_random_access(k):
    """Draw k reached at once equals draw k in sequence, and so do those after it."""
    s = stream()
    sequence = [draws.uniform(s) for _ in range(1100)]
    t = stream()
    draws.skip_to(t, k)
    assert [draws.uniform(t) for _ in range(100)] == sequence[k : k + 100]


def test_threads_do_not_disturb_each_other():
    """Four threads that draw at once get what one gets alone."""

    def work(station, out):
        s = stream(station)
        out[station] = [draws.uniform(s) for _ in range(20_000)]

    names = ["a", "b", "c", "d"]
    alone, together = {}, {}
    for name in names:
        work(name, alone)
    threads = [threading.Thread(target=work, args=(name, together)) for name in names]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert together == alone


def test_uniforms_are_uniform():
    """Kolmogorov-Smirnov, 20 000 draws of 5 streams at 1 in 1000 each: false alarm 1 in 200, fixed seed."""
    for station in "abcde":
        s = stream(station, seed=2024)
        assert stats.kstest([draws.uniform(s) for _ in range(20_000)], "uniform").pvalue > 1e-3


def test_neighbouring_streams_are_not_correlated():
    """Correlation of 20 000 pairs stays within 4 / sqrt(n); 4 pairs, false alarm 1 in 4000, seed fixed."""

    def numbers(**address):
        s = stream(**address)
        return np.array([draws.uniform(s) for _ in range(20_000)])

    base = numbers()
    others = [numbers(name="press 2"), numbers(purpose="repair"), numbers(seed=2), numbers(replication=1)]
    for other in others:
        assert abs(np.corrcoef(base, other)[0, 1]) < 4 / math.sqrt(20_000)


def test_chance():
    """A share is met within 4 standard errors, 0 and 1 are certain, and each call uses one draw."""
    s = stream()
    hits = sum(draws.chance(s, 0.03) for _ in range(20_000))
    assert abs(hits - 600) < 4 * math.sqrt(20_000 * 0.03 * 0.97)
    assert not any(draws.chance(s, 0.0) for _ in range(1000))
    assert all(draws.chance(s, 1.0) for _ in range(1000))
    assert s.used == 22_000


# --- quantiles -------------------------------------------------------------------------------------------

TAILS = np.concatenate((10.0 ** np.linspace(-12, -2, 101), 1 - 10.0 ** np.linspace(-12, -2, 101)))
SHARES = np.sort(np.concatenate((TAILS, np.linspace(0.0101, 0.9899, 997))))


def test_normal_score():
    """AS 241 agrees with scipy to 4 parts in 1e15 from the first to the last uniform, and with the standard
    library's inverse of the normal law, and is odd."""
    shares = [FIRST_UNIFORM, 1e-12, 1e-6, *SHARES, LAST_UNIFORM]
    for u in map(float, shares):
        score = draws.normal_score(u)
        assert score == pytest.approx(special.ndtri(u), rel=4e-15, abs=1e-16)
        assert score == pytest.approx(statistics.NormalDist().inv_cdf(u), rel=4e-15, abs=1e-16)
    assert draws.normal_score(0.25) == -draws.normal_score(0.75)
    assert draws.normal_score(0.5) == 0.0
    assert abs(draws.normal_score(FIRST_UNIFORM)) < draws.SCORE_LIMIT


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


CLOSED = [
    law("exponential", mean=12),
    law("gamma", mean=12, spread=1),
    law("erlang", mean=12, phases=1),
    law("lognormal", mean=24, spread=0.15),
    law("lognormal", mean=24, spread=5),
    law("weibull", mean=2400, shape=1.4),
    law("weibull", mean=2400, shape=0.2),
    law("weibull", mean=2400, shape=100),
    law("uniform", min=20, max=30),
    law("triangular", min=20, likely=24, max=35),
    law("triangular", min=5, likely=5, max=35),
    law("triangular", min=5, likely=35, max=35),
]
NORMAL = [
    law("normal", mean=24, spread=0.15),
    law("normal", mean=10, spread=0.4, min=5, max=20),
    law("normal", mean=2, spread=1, min=0),
    law("normal", mean=10, spread=0.4, min=14),
    law("normal", mean=10, spread=0.4, min=0, max=6),
]
TABLED = [
    *(law("gamma", mean=240, spread=x) for x in (0.001, 0.01, 0.05, 0.15, 0.3, 0.6, 0.999, 1.001, 1.5, 3)),
    *(law("erlang", mean=240, phases=x) for x in (2, 3, 10, 1000, 1_000_000)),
    *(law("beta", min=20, likely=x, max=35) for x in (20, 20.001, 24, 27.5, 34.9, 35)),
    *(law("beta", min=0, likely=x, max=35) for x in (0, 1, 17.5, 35)),
]


def largest_error(one):
    expected = scipy_quantiles(one, SHARES)
    return np.max(np.abs(quantiles(one, SHARES) / expected - 1))


@pytest.mark.parametrize("one", CLOSED, ids=describe)
def test_closed_quantiles(one):
    """Closed inverses agree with scipy to 1 part in 1e12 for u from 1e-12 to 1 - 1e-12."""
    assert largest_error(one) <= 1e-12


@pytest.mark.parametrize("one", NORMAL, ids=describe)
def test_cut_normal_quantiles(one):
    """The cut normal agrees with scipy to 1 part in 1e9 or 1e-6 us for u from 1e-12 to 1 - 1e-12.

    Close to a limit of 0 s the time itself is a small difference, hence the absolute bound.
    """
    expected = scipy_quantiles(one, SHARES)
    assert np.all(np.abs(quantiles(one, SHARES) - expected) <= np.maximum(1e-9 * expected, 1e-6))


def test_triangular_that_begins_at_its_mode():
    """Min = likely = 0: the quantile is max (1 - sqrt(1 - u)), accurate even where it is tiny."""
    expected = -35e6 * np.expm1(0.5 * np.log1p(-SHARES))
    assert quantiles(law("triangular", min=0, likely=0, max=35), SHARES) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("one", TABLED, ids=describe)
def test_tabled_quantiles(one):
    """Gamma, Erlang and beta agree with scipy to 1 part in 1e6 for u from 1e-12 to 1 - 1e-12."""
    assert largest_error(one) <= 1e-6


def test_very_wide_gamma():
    """Spread 1000 %: quantiles that scipy cannot represent are 0, the others agree to 1 part in 1e6."""
    one = law("gamma", mean=240, spread=10)
    expected = scipy_quantiles(one, SHARES)
    seen = expected > 1e-290
    assert np.max(np.abs(quantiles(one, SHARES[seen]) / expected[seen] - 1)) <= 1e-6
    assert np.all(quantiles(one, SHARES[~seen]) < 1e-280)


def test_erlang_against_its_closed_distribution_function():
    """Share below the quantile of 3 phases = 1 - exp(-x)(1 + x + x^2/2); needs no other library."""
    shares = np.linspace(0.01, 0.99, 99)
    for u, x in zip(shares, quantiles(law("erlang", mean=3, phases=3), shares) / SECOND, strict=True):
        assert 1 - math.exp(-x) * (1 + x + x * x / 2) == pytest.approx(u, rel=1e-6)


@pytest.mark.parametrize("one", [*CLOSED, *NORMAL, *TABLED, law("gamma", mean=240, spread=10)], ids=describe)
def test_quantiles_rise_and_stay_finite(one):
    """More luck never means less time, from the first to the last uniform there is."""
    shares = [FIRST_UNIFORM, 1e-15, 1e-13, *SHARES, 1 - 1e-13, 1 - 1e-15, LAST_UNIFORM]
    times = quantiles(one, shares)
    assert np.all(np.diff(times) >= -1e-9 * times[1:]) and np.all(np.isfinite(times)) and times[0] >= 0


ROUNDED_OUT = [  # found by search: without the guard the last digit leaves the limits
    Law("normal", (22443340.0, 0.45101074680364144, 782127.0, 7504412.0)),
    Law("normal", (3519140.0, 0.5643418491538218, 3965997.0, 5525271.0)),
]


@pytest.mark.parametrize("one", [*NORMAL, *ROUNDED_OUT], ids=describe)
def test_cut_normal_stays_within_its_limits(one):
    """Not even the extreme uniforms leave min..max."""
    times = quantiles(one, [FIRST_UNIFORM, *SHARES, LAST_UNIFORM])
    assert one.values[2] <= times.min() and times.max() <= one.values[3]


def test_table_is_fine_enough_and_no_finer():
    """Usual laws need few numbers: 2 per interval and 2 more."""
    sizes = {}
    for value in (0.05, 0.15, 0.6, 3):
        table: list[float] = []
        sizes[value] = draws.compile_law(law("gamma", mean=240, spread=value), table)["count"]
        assert len(table) == 2 * sizes[value] + 2
    assert sizes == {0.05: 16, 0.15: 32, 0.6: 128, 3: 512}


# --- durations -------------------------------------------------------------------------------------------

EXAMPLES = [make_law(row.name, row.example) for row in LAWS.values()]
RANDOM = [one for one in EXAMPLES if one.name not in ("fixed", "listed")]
EVERY_KIND = [*EXAMPLES, law("gamma", mean=240, spread=3), law("normal", mean=2, spread=1, min=0)]


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
    assert draws.rounded(time) == whole
    assert type(draws.rounded(time)) is int


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
        assert times == [draws.rounded(draws.quantile(record, draws.uniform(t), table)) for _ in range(100)]


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


def test_a_sample_can_be_scaled_before_it_is_rounded():
    """A time factor applies to the unrounded sample: 1.25 times 3 us is 4 us, not 3 or 3.75."""
    record, table = compiled_law(Law("fixed", (2.6,)))
    assert draws.rounded(1.25 * draws.sample(record, stream(), table)) == 3
    assert draws.duration(record, stream(), table) == 3
    assert draws.rounded(1.4 * draws.sample(record, stream(), table)) == 4


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
