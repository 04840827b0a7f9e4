"""Random numbers: the generator and the streams."""

from __future__ import annotations

import math
import threading

import numpy as np
import pytest
from draw_rows import (
    FIRST_UNIFORM,
    LAST_UNIFORM,
    TOP,
    stream,
)
from scipy import stats

from cellsim.engine import draws

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
