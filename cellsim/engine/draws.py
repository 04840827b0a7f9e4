"""Random numbers and drawn durations: a stream per name and purpose, one uniform per draw.

Draw k of a stream is a function of (seed, replication, name, purpose, k) only.  The generator is
Philox4x64-10 (Salmon, Moraes, Dror & Shaw 2011, "Parallel random numbers: as easy as 1, 2, 3", SC11):
key = (hash of name and purpose, seed), counter = (block, replication, 0, 0), four words a block, blocks
counted from 1 as numpy does.  The functions in COMPILABLE run as plain Python on slotted objects and compiled
on numpy records with the fields below, and give the same bits either way.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from hashlib import blake2b
from typing import Any, Protocol

import numpy as np

from cellsim.describe import laws
from cellsim.describe.cell import Law

# (name, numpy dtype code, length; 0 = a single value)
STREAM_FIELDS: list[tuple[str, str, int]] = [
    ("key0", "u8", 0),  # stream_key(name, purpose)
    ("key1", "u8", 0),  # seed
    ("replication", "u8", 0),
    ("used", "i8", 0),  # draws made so far
    ("uniforms", "f8", 64),  # draws used - used % 64 and on
]
LAW_FIELDS: list[tuple[str, str, int]] = [
    ("kind", "i8", 0),
    ("a", "f8", 0),
    ("b", "f8", 0),
    ("c", "f8", 0),
    ("d", "f8", 0),
    ("first", "i8", 0),  # where the law's numbers begin in the shared table
    ("count", "i8", 0),  # how many values or intervals
]

# How the fields a, b, c, d and the table are used is told in `quantile`.
FIXED, EXPONENTIAL, LOGNORMAL, WEIBULL, UNIFORM, TRIANGULAR, NORMAL, GAMMA, BETA, MEASURED, LISTED = range(11)

LONGEST = (
    2**60
)  # microseconds; 36 000 years; longer draws are cut, so that adding to the clock cannot overflow
SCORE_LIMIT = 8.25  # the scores of all uniforms lie within +-8.21
TABLE_ERROR = 1e-7  # of the logarithm (gamma) or log-odds (beta) of a tabled quantile


class Stream(Protocol):
    """State of one stream; see STREAM_FIELDS."""

    key0: int
    key1: int
    replication: int
    used: int
    uniforms: Any


class LawRecord(Protocol):
    """Compiled law; see LAW_FIELDS."""

    kind: int
    a: float
    b: float
    c: float
    d: float
    first: int
    count: int


# --- streams ---------------------------------------------------------------------------------------------


def stream_key(name: str, purpose: str) -> int:
    """First key word of a stream: 64 bits that depend on both texts, with their border.

    Two of n streams share a key with probability n^2 / 2^65 (3e-14 for a thousand).
    """
    text = name.encode()
    head = len(text).to_bytes(8, "little")
    return int.from_bytes(blake2b(head + text + purpose.encode(), digest_size=8).digest(), "little")


def restart(s: Stream, seed: int, replication: int) -> None:
    """Put stream `s` before its first draw in `replication` (0, 1, ...) under `seed` (0 to 2^64 - 1)."""
    s.key1 = seed
    s.replication = replication
    s.used = 0


def skip_to(s: Stream, draw: int) -> None:
    """Make `draw` (0, 1, ...) the next draw of stream `s`."""
    s.used = draw
    refill(s)


class _Bits(threading.local):
    """One numpy generator per thread, set anew at each refill (far cheaper than making one)."""

    def __init__(self) -> None:
        self.philox = np.random.Philox(0)
        self.no_words = np.zeros(4, dtype=np.uint64)

    def words(self, block: int, replication: int, key0: int, key1: int) -> np.ndarray:
        state: Any = {
            "bit_generator": "Philox",
            "state": {"counter": (block, replication, 0, 0), "key": (key0, key1)},
            "buffer": self.no_words,
            "buffer_pos": 4,
            "has_uint32": 0,
            "uinteger": 0,
        }
        self.philox.state = state
        return self.philox.random_raw(64)


_BITS = _Bits()


def refill(s: Stream) -> None:
    """Fill the buffer of `s` with the 64 uniforms around draw `s.used`; the plain clock's body (numpy)."""
    words = _BITS.words(s.used >> 6 << 4, s.replication, s.key0, s.key1)
    s.uniforms[:] = (((words >> _DROP) + 0.5) * UNIT).tolist()


def uniform(s: Stream) -> float:
    """The next draw of stream `s`, in the open interval (0, 1)."""
    k = s.used
    i = k & 63
    if i == 0:
        refill(s)
    s.used = k + 1
    return s.uniforms[i]  # type: ignore[no-any-return]


def chance(s: Stream, share: float) -> bool:
    """True in `share` (0 to 1) of the draws; always uses one draw, so that the next keeps its place."""
    return uniform(s) < share


# --- Philox for the compiled clock: every operand is a typed 64-bit word ---------------------------

_ZERO, _ONE, _DROP, _HALF = np.uint64(0), np.uint64(1), np.uint64(12), np.uint64(32)
_LOW = np.uint64(0xFFFFFFFF)
_MULTIPLIER_0, _MULTIPLIER_1 = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
_WEYL_0, _WEYL_1 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
UNIT = 2.0**-52  # 52 bits and a half step: every uniform is exact, the extremes are 2^-53 and 1 - 2^-53


def high_word(x: Any, y: Any) -> Any:
    """Upper 64 bits of the 128-bit product of two 64-bit words."""
    x_low, x_high = x & _LOW, x >> _HALF
    y_low, y_high = y & _LOW, y >> _HALF
    middle = x_high * y_low + (x_low * y_low >> _HALF)
    other = x_low * y_high + (middle & _LOW)
    return x_high * y_high + (middle >> _HALF) + (other >> _HALF)


def philox_block(c0: Any, c1: Any, c2: Any, c3: Any, k0: Any, k1: Any) -> Any:
    """The four words of Philox4x64-10 for a counter of four words and a key of two."""
    for _ in range(10):
        low0, low1 = _MULTIPLIER_0 * c0, _MULTIPLIER_1 * c2
        high0, high1 = high_word(_MULTIPLIER_0, c0), high_word(_MULTIPLIER_1, c2)
        c0, c1, c2, c3 = high1 ^ c1 ^ k0, low1, high0 ^ c3 ^ k1, low0
        k0, k1 = k0 + _WEYL_0, k1 + _WEYL_1
    return c0, c1, c2, c3


def open_unit(word: Any) -> float:
    """A 64-bit word as a uniform in the open interval (0, 1)."""
    return (float(word >> _DROP) + 0.5) * UNIT


def refill_compiled_body(s: Stream) -> None:
    """`refill` in scalar arithmetic: the compiled clock puts it in the place of `refill`."""
    block = np.uint64(s.used >> 6 << 4)
    replication, key0, key1 = np.uint64(s.replication), np.uint64(s.key0), np.uint64(s.key1)
    for i in range(0, 64, 4):
        block = block + _ONE
        w0, w1, w2, w3 = philox_block(block, replication, _ZERO, _ZERO, key0, key1)
        s.uniforms[i] = open_unit(w0)
        s.uniforms[i + 1] = open_unit(w1)
        s.uniforms[i + 2] = open_unit(w2)
        s.uniforms[i + 3] = open_unit(w3)


# --- durations -------------------------------------------------------------------------------------------


def normal_score(u: float) -> float:
    """Quantile of the standard normal law at `u` in (0, 1), to about 1 part in 1e16.

    Source: Wichura 1988, Algorithm AS 241 (PPND16), Applied Statistics 37, 477-484.
    """
    q = u - 0.5
    if -0.425 <= q <= 0.425:
        r = 0.180625 - q * q
        top = (2.5090809287301226727e3 * r + 3.3430575583588128105e4) * r + 6.7265770927008700853e4
        top = (
            (top * r + 4.5921953931549871457e4) * r + 1.3731693765509461125e4
        ) * r + 1.9715909503065514427e3
        top = (top * r + 1.3314166789178437745e2) * r + 3.3871328727963666080e0
        bottom = (5.2264952788528545610e3 * r + 2.8729085735721942674e4) * r + 3.9307895800092710610e4
        bottom = ((bottom * r + 2.1213794301586595867e4) * r + 5.3941960214247511077e3) * r
        bottom = ((bottom + 6.8718700749205790830e2) * r + 4.2313330701600911252e1) * r + 1.0
        return q * top / bottom
    r = math.sqrt(-math.log(u if q < 0.0 else 1.0 - u))
    if r <= 5.0:
        r -= 1.6
        top = (7.74545014278341407640e-4 * r + 2.27238449892691845833e-2) * r + 2.41780725177450611770e-1
        top = (
            (top * r + 1.27045825245236838258e0) * r + 3.64784832476320460504e0
        ) * r + 5.76949722146069140550e0
        top = (top * r + 4.63033784615654529590e0) * r + 1.42343711074968357734e0
        bottom = (1.05075007164441684324e-9 * r + 5.47593808499534494600e-4) * r + 1.51986665636164571966e-2
        bottom = ((bottom * r + 1.48103976427480074590e-1) * r + 6.89767334985100004550e-1) * r
        bottom = ((bottom + 1.67638483018380384940e0) * r + 2.05319162663775882187e0) * r + 1.0
    else:
        r -= 5.0
        top = (2.01033439929228813265e-7 * r + 2.71155556874348757815e-5) * r + 1.24266094738807843860e-3
        top = ((top * r + 2.65321895265761230930e-2) * r + 2.96560571828504891230e-1) * r
        top = ((top + 1.78482653991729133580e0) * r + 5.46378491116411436990e0) * r + 6.65790464350110377720e0
        bottom = (2.04426310338993978564e-15 * r + 1.42151175831644588870e-7) * r + 1.84631831751005468180e-5
        bottom = ((bottom * r + 7.86869131145613259100e-4) * r + 1.48753612908506148525e-2) * r
        bottom = ((bottom + 1.36929880922735805310e-1) * r + 5.99832206555887937690e-1) * r + 1.0
    return -top / bottom if q < 0.0 else top / bottom


def tabled(law: LawRecord, score: float, table: Any) -> float:
    """Value at a normal score by cubic interpolation between (value, slope times interval) pairs."""
    t = (score + SCORE_LIMIT) * (law.count / (2.0 * SCORE_LIMIT))
    i = int(t)
    t -= i
    i = law.first + 2 * i
    y0, m0, y1, m1 = table[i], table[i + 1], table[i + 2], table[i + 3]
    rise = y1 - y0
    return y0 + t * (m0 + t * (3.0 * rise - 2.0 * m0 - m1 + t * (m0 + m1 - 2.0 * rise)))  # type: ignore[no-any-return]


def quantile(law: LawRecord, u: float, table: Any) -> float:
    """Time in microseconds that a share `u` in (0, 1) of the draws stays below; not for LISTED."""
    kind = law.kind
    if kind == LOGNORMAL:  # a, b = mean and deviation of the logarithm
        return math.exp(law.a + law.b * normal_score(u))
    if kind == EXPONENTIAL:  # a = mean
        return -law.a * math.log1p(-u)
    if kind == GAMMA:  # a = mean; table: log of the unit-mean quantile
        return law.a * math.exp(tabled(law, normal_score(u), table))
    if kind == TRIANGULAR:  # a, b, c = min, max, likely
        width = law.b - law.a
        m = (law.c - law.a) / width
        if u < m:
            return law.a + width * math.sqrt(u * m)
        # width * (1 - sqrt(x)) without losing the digits of a time close to min
        return law.a + width * (u + m - u * m) / (1.0 + math.sqrt((1.0 - u) * (1.0 - m)))
    if kind == UNIFORM:  # a = min, b = max - min
        return law.a + law.b * u
    if kind == BETA:  # a = min, b = max - min; table: log-odds of the quantile on 0..1
        return law.a + law.b / (1.0 + math.exp(-tabled(law, normal_score(u), table)))
    if kind == NORMAL:  # a, b = mean and deviation, c, d = shares below min and kept; table: above, min, max
        if u <= 0.5:
            x = law.a + law.b * normal_score(law.c + law.d * u)
        else:
            x = law.a - law.b * normal_score(table[law.first] + law.d * (1.0 - u))
        return min(max(x, table[law.first + 1]), table[law.first + 2])  # type: ignore[no-any-return]
    if kind == WEIBULL:  # a = scale, b = 1 / shape
        return law.a * math.pow(-math.log1p(-u), law.b)
    if kind == MEASURED:  # table: the times in rising order; u < 1 keeps the index below count
        return table[law.first + int(u * law.count)]  # type: ignore[no-any-return]
    return law.a  # FIXED


def duration(law: LawRecord, s: Stream, table: Any) -> int:
    """The next time of `law` from stream `s` in whole microseconds: halves go up, 0 to LONGEST."""
    kind = law.kind
    if kind == FIXED:
        time = law.a
    elif kind == LISTED:
        k = s.used
        s.used = k + 1
        time = table[law.first + k % law.count]
    else:
        time = quantile(law, uniform(s), table)
    if 0.0 < time < LONGEST:
        return math.floor(time + 0.5)
    return LONGEST if time > 0.0 else 0


# Callees first.  A compiled twin takes `refill_compiled_body` for `refill`.
COMPILABLE: tuple[Callable[..., Any], ...] = (
    high_word, philox_block, open_unit, refill_compiled_body, restart, skip_to, uniform, chance,
    normal_score, tabled, quantile, duration,
)  # fmt: skip


# --- compiling a law -------------------------------------------------------------------------------------


def compile_law(law: Law, table: list[float]) -> dict[str, float]:
    """The LAW_FIELDS values of `law`; the numbers it looks up are appended to `table`."""
    row: dict[str, float] = {name: 0 if code == "i8" else 0.0 for name, code, _ in LAW_FIELDS}
    row["first"] = len(table)
    values = law.values
    if law.measured:
        listed = law.name == "listed"
        table += map(float, law.measured if listed else sorted(law.measured))
        return row | {"kind": LISTED if listed else MEASURED, "count": len(law.measured)}
    if laws.spread(law) == 0.0:
        return row | {"kind": FIXED, "a": values[0]}
    if law.name in ("gamma", "erlang"):
        spread = laws.spread(law)
        if spread == 1.0:
            return row | {"kind": EXPONENTIAL, "a": values[0]}
        intervals = _add_quantiles(_gamma_scores(spread**-2), table)
        return row | {"kind": GAMMA, "a": values[0], "count": intervals}
    if law.name == "beta":
        intervals = _add_quantiles(_beta_scores(*laws.beta_shapes(law)), table)
        return row | {"kind": BETA, "a": values[0], "b": values[2] - values[0], "count": intervals}
    if law.name == "normal":
        below, kept, above = laws.normal_limits(law)
        table += (above, values[2], min(values[3], float(LONGEST)))
        return row | {"kind": NORMAL, "a": values[0], "b": values[0] * values[1], "c": below, "d": kept}
    if law.name == "lognormal":
        variance = math.log1p(values[1] ** 2)
        log_mean = math.log(values[0]) - variance / 2.0
        return row | {"kind": LOGNORMAL, "a": log_mean, "b": math.sqrt(variance)}
    if law.name == "weibull":
        return row | {"kind": WEIBULL, "a": laws.weibull_scale(law), "b": 1.0 / values[1]}
    if law.name == "uniform":
        return row | {"kind": UNIFORM, "a": values[0], "b": values[1] - values[0]}
    if law.name == "triangular":
        return row | {"kind": TRIANGULAR, "a": values[0], "b": values[2], "c": values[1]}
    return row | {"kind": EXPONENTIAL, "a": values[0]}


Scores = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


def _gamma_scores(shape: float) -> Scores:
    """Log of the unit-mean gamma quantile, and its slope, as functions of the normal score."""
    from scipy import special

    def scores(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        # where the quantile x is tiny its share is x^shape / Gamma(shape + 1), which cannot underflow
        log_x = (special.log_ndtr(z) + special.gammaln(shape + 1.0)) / shape
        usual = log_x > -25.0
        low, high = special.ndtr(z), special.ndtr(-z)
        x = np.where(z < 0.0, special.gammaincinv(shape, low), special.gammainccinv(shape, high))
        log_x[usual] = np.log(x[usual])
        log_density = shape * log_x - np.exp(log_x) - special.gammaln(shape)
        return log_x - math.log(shape), np.exp(_log_normal_density(z) - log_density)

    return scores


def _beta_scores(first: float, second: float) -> Scores:
    """Log-odds of the beta quantile on 0..1, and their slope, as functions of the normal score."""
    from scipy import special

    def scores(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        low = special.betaincinv(first, second, special.ndtr(np.minimum(z, 0.0)))
        high = special.betaincinv(second, first, special.ndtr(-np.maximum(z, 0.0)))
        log_x = np.where(z < 0.0, np.log(low), np.log1p(-high))
        log_rest = np.where(z < 0.0, np.log1p(-low), np.log(high))
        log_density = first * log_x + second * log_rest - special.betaln(first, second)
        return log_x - log_rest, np.exp(_log_normal_density(z) - log_density)

    return scores


def _log_normal_density(z: np.ndarray) -> np.ndarray:
    density: np.ndarray = -0.5 * z * z - 0.5 * math.log(2.0 * math.pi)
    return density


def _add_quantiles(scores: Scores, table: list[float]) -> int:
    """Append (value, slope times interval) pairs of a rising function of the score; return the intervals.

    Intervals are halved until cubic interpolation is within TABLE_ERROR midway, where it is worst, and each
    piece rises: end slopes at most 3 times its rise (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17, 238).
    """
    for intervals in (16, 32, 64, 128, 256, 512, 1024):
        z = np.linspace(-SCORE_LIMIT, SCORE_LIMIT, 2 * intervals + 1)
        value, slope = scores(z)
        y, m = value[::2], slope[::2] * (2.0 * SCORE_LIMIT / intervals)
        midway = (y[:-1] + y[1:]) / 2.0 + (m[:-1] - m[1:]) / 8.0
        rise = np.diff(y)
        rising = bool(np.all((m[:-1] <= 3.0 * rise) & (m[1:] <= 3.0 * rise)))
        if rising and np.max(np.abs(midway - value[1::2])) <= TABLE_ERROR:
            table += np.column_stack((y, m)).ravel().tolist()
            return intervals
    raise AssertionError("a law within its allowed range needs no finer table")
