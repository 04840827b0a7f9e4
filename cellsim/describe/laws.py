"""The laws of durations: one table row per law, read by the validator, the reference page and the engine.

Times are float microseconds; a spread is the standard deviation divided by the mean (0.15 = 15 %).
Book chapters named as sources are quoted from memory: Johnson, Kotz & Balakrishnan, Continuous Univariate
Distributions, 2nd edition, volume 1 (1994) and volume 2 (1995), short "JKB".
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from cellsim import units
from cellsim.describe.cell import Law

ParameterKind = Literal["time", "spread", "shape", "count", "times"]
Given = Mapping[str, "float | Sequence[float]"]

LEAST_GAMMA_SPREAD = 0.001  # below it a gamma law is a constant for every practical purpose
LARGEST_SPREAD = 10.0  # a larger figure is a percentage written without its sign
LARGEST_COUNT = 1_000_000
SHAPES = (0.2, 100.0)
TACIT_CUT = 0.001  # share of a normal law below zero that may be cut off unasked
LEAST_KEPT = 0.001  # share of a normal law that must lie between min and max


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of a law; with a `default` it may be left out (infinite = no limit)."""

    name: str
    kind: ParameterKind
    help: str
    default: float | None = None


@dataclass(frozen=True, slots=True)
class LawRow:
    """One law: what it needs, how it is checked, and the mean and spread of what is really drawn.

    `check` gets the parameters as given (defaults not filled in) and raises ValueError; `mean` is in
    microseconds; `example` is a valid set of parameters for the reference page and the tests.
    """

    name: str
    help: str
    source: str
    parameters: tuple[Parameter, ...]
    mean: Callable[[Law], float]
    spread: Callable[[Law], float]
    check: Callable[[dict[str, float]], None]
    example: Given


def _time(microseconds: float) -> str:
    sign = "-" if microseconds < 0.0 else ""
    return sign + units.format_time(round(abs(microseconds)))


def _computed_time(microseconds: float) -> str:
    """A time to four figures."""
    return _time(float(f"{microseconds:.4g}"))


def normal_share_below(score: float) -> float:
    """Share of a standard normal law below `score` (no unit), accurate in both tails."""
    return 0.5 * math.erfc(-score / math.sqrt(2))


def normal_limits(law: Law) -> tuple[float, float, float]:
    """Shares of an uncut normal law below its `min`, between `min` and `max`, and above its `max`."""
    mean, spread, low, high = law.values
    deviation = mean * spread
    below = normal_share_below((low - mean) / deviation)
    above = normal_share_below((mean - high) / deviation)
    return below, 1.0 - below - above, above


def _normal_moments(law: Law) -> tuple[float, float]:
    """Mean and standard deviation in microseconds of a normal law cut to its limits (JKB vol. 1 ch. 13)."""
    mean, spread, low, high = law.values
    deviation = mean * spread
    if deviation == 0.0:
        return mean, 0.0
    kept = normal_limits(law)[1]
    lower, upper = (low - mean) / deviation, (high - mean) / deviation
    density, moment = [], []
    for score in (lower, upper):
        density.append(math.exp(-score * score / 2) / math.sqrt(2 * math.pi))
        moment.append(score * density[-1] if density[-1] else 0.0)  # the score may be infinite
    shift = (density[0] - density[1]) / kept
    variance = 1.0 + (moment[0] - moment[1]) / kept - shift * shift
    return mean + deviation * shift, deviation * math.sqrt(max(variance, 0.0))


def beta_shapes(law: Law) -> tuple[float, float]:
    """The two shapes of the beta law of a min / likely / max estimate; they add up to 6."""
    low, likely, high = law.values
    first = 1.0 + 4.0 * (likely - low) / (high - low)
    return first, 6.0 - first


def _beta_mean(law: Law) -> float:
    low, likely, high = law.values
    return (low + 4.0 * likely + high) / 6.0


def _beta_spread(law: Law) -> float:
    low, _, high = law.values
    mean = _beta_mean(law)
    return math.sqrt((mean - low) * (high - mean) / 7.0) / mean


def _triangular_spread(law: Law) -> float:
    low, likely, high = law.values
    left, right = likely - low, high - likely
    return math.sqrt((left * left + right * right + left * right) / 18.0) / (sum(law.values) / 3.0)


def weibull_scale(law: Law) -> float:
    """Scale (characteristic life) in microseconds of a Weibull law given by its mean and shape."""
    mean, shape = law.values
    return mean / math.gamma(1.0 + 1.0 / shape)


def _weibull_spread(law: Law) -> float:
    shape = law.values[1]
    return math.sqrt(math.expm1(math.lgamma(1.0 + 2.0 / shape) - 2.0 * math.lgamma(1.0 + 1.0 / shape)))


def _measured_spread(law: Law) -> float:
    centre = statistics.fmean(law.measured)
    return statistics.pstdev(law.measured) / centre if centre else 0.0


def _check_mean(given: dict[str, float]) -> None:
    if given["mean"] <= 0.0:
        raise ValueError(f"mean must be above 0 s, not {_time(given['mean'])}")


def _check_gamma(given: dict[str, float]) -> None:
    _check_mean(given)
    if 0.0 < given["spread"] < LEAST_GAMMA_SPREAD:
        raise ValueError(
            f"spread must be 0 % or at least {units.format_ratio(LEAST_GAMMA_SPREAD)}, "
            f"not {units.format_ratio(given['spread'])}"
        )


def _check_order(given: dict[str, float]) -> None:
    low, high = given["min"], given["max"]
    if not low < high:
        raise ValueError(
            f"min must be below max, not min {_time(low)} and max {_time(high)}; "
            "a time that never varies is the law fixed"
        )
    likely = given.get("likely", low)
    if not low <= likely <= high:
        raise ValueError(
            f"likely must lie between min and max, not {_time(likely)} "
            f"with min {_time(low)} and max {_time(high)}"
        )


def _check_normal(given: dict[str, float]) -> None:
    _check_mean(given)
    mean, spread = given["mean"], given["spread"]
    law = Law("normal", (mean, spread, given.get("min", 0.0), given.get("max", math.inf)))
    low, high = law.values[2:]
    if not low < high:
        raise ValueError(f"min must be below max, not min {_time(low)} and max {_time(high)}")
    if mean * spread == 0.0:
        if not low <= mean <= high:
            raise ValueError(f"with spread 0 % the mean {_time(mean)} must lie between min and max")
        return
    if normal_limits(law)[1] < LEAST_KEPT:
        raise ValueError(
            f"less than {units.format_ratio(LEAST_KEPT)} of a normal law with mean {_time(mean)} and spread "
            f"{units.format_ratio(spread)} lies between min and max; use uniform or triangular"
        )
    negative = normal_share_below(-1.0 / spread)
    if "min" not in given and negative > TACIT_CUT:
        raise ValueError(
            f"mean {_time(mean)} with spread {units.format_ratio(spread)} gives negative times in "
            f"{100 * negative:.4g} % of draws; give min, 0 s or more "
            f"(min 0 s makes the mean {_computed_time(_normal_moments(law)[0])}), "
            "or use lognormal or gamma, which are never negative"
        )


_MEAN = Parameter("mean", "time", "mean of the times")
_SPREAD = Parameter("spread", "spread", "standard deviation of the times divided by their mean")
_MIN = Parameter("min", "time", "shortest time")
_LIKELY = Parameter("likely", "time", "most likely time")
_MAX = Parameter("max", "time", "longest time")


def _first_value(law: Law) -> float:
    return law.values[0]


def _second_value(law: Law) -> float:
    return law.values[1]


_ROWS = (
    LawRow(
        "fixed", "Always the same time; draws no random number.", "by definition",
        (Parameter("time", "time", "the time"),),
        mean=_first_value, spread=lambda law: 0.0, check=lambda given: None, example={"time": 24e6},
    ),
    LawRow(
        "exponential", "No memory: as good as new at every instant; usual for running times between stops.",
        "JKB vol. 1 ch. 19", (_MEAN,),
        mean=_first_value, spread=lambda law: 1.0, check=_check_mean, example={"mean": 2400e6},
    ),
    LawRow(
        "gamma", "Skewed to the right, never negative; usual for repairs.", "JKB vol. 1 ch. 17",
        (_MEAN, _SPREAD),
        mean=_first_value, spread=_second_value, check=_check_gamma, example={"mean": 240e6, "spread": 0.6},
    ),
    LawRow(
        "erlang", "Sum of equal exponential phases: a gamma law with a whole-number shape.",
        "JKB vol. 1 ch. 17", (_MEAN, Parameter("phases", "count", "number of phases")),
        mean=_first_value, spread=lambda law: 1.0 / math.sqrt(law.values[1]), check=_check_mean,
        example={"mean": 240e6, "phases": 3},
    ),
    LawRow(
        "lognormal", "Skewed to the right, never negative, by its own mean and spread; for manual work.",
        "JKB vol. 1 ch. 14", (_MEAN, _SPREAD),
        mean=_first_value, spread=_second_value, check=_check_mean, example={"mean": 24e6, "spread": 0.15},
    ),
    LawRow(
        "weibull", "Wear: a shape above 1 means stops come more readily with age, below 1 less readily.",
        "JKB vol. 1 ch. 21", (_MEAN, Parameter("shape", "shape", "Weibull shape; 1 is exponential")),
        mean=_first_value, spread=_weibull_spread, check=_check_mean,
        example={"mean": 2400e6, "shape": 1.4},
    ),
    LawRow(
        "uniform", "Any time from min to max, each equally likely.", "JKB vol. 2 ch. 26", (_MIN, _MAX),
        mean=lambda law: (law.values[0] + law.values[1]) / 2.0,
        spread=lambda law: (law.values[1] - law.values[0]) / (law.values[0] + law.values[1]) / math.sqrt(3.0),
        check=_check_order, example={"min": 20e6, "max": 30e6},
    ),
    LawRow(
        "triangular", "An estimate by shortest, most likely and longest time, straight lines between.",
        "Kotz & van Dorp 2004, Beyond Beta, ch. 1", (_MIN, _LIKELY, _MAX),
        mean=lambda law: sum(law.values) / 3.0, spread=_triangular_spread, check=_check_order,
        example={"min": 20e6, "likely": 24e6, "max": 35e6},
    ),
    LawRow(
        "beta", "An estimate by shortest, most likely and longest time, as a smooth curve: "
        "mean = (min + 4 likely + max) / 6.",
        "Malcolm, Roseboom, Clark & Fazar 1959, Operations Research 7, 646-669 (the mean); JKB vol. 2 ch. 25",
        (_MIN, _LIKELY, _MAX),
        mean=_beta_mean, spread=_beta_spread, check=_check_order,
        example={"min": 20e6, "likely": 24e6, "max": 35e6},
    ),
    LawRow(
        "normal", "Symmetric, cut to min..max; mean and spread hold before cutting.", "JKB vol. 1 ch. 13",
        (
            _MEAN, _SPREAD,
            Parameter("min", "time", "shortest time; shorter ones are never drawn", default=0.0),
            Parameter("max", "time", "longest time; longer ones are never drawn", default=math.inf),
        ),
        mean=lambda law: _normal_moments(law)[0],
        spread=lambda law: _normal_moments(law)[1] / _normal_moments(law)[0],
        check=_check_normal, example={"mean": 10e6, "spread": 0.4, "min": 5e6, "max": 20e6},
    ),
    LawRow(
        "measured", "One of the measured times, each equally likely.", "by definition",
        (Parameter("times", "times", "the measured times"),),
        mean=lambda law: statistics.fmean(law.measured), spread=_measured_spread, check=lambda given: None,
        example={"times": (21e6, 24e6, 22e6, 31e6)},
    ),
    LawRow(
        "listed", "The given times in the given order, over and over; draws no random number.",
        "by definition", (Parameter("times", "times", "the times in order"),),
        mean=lambda law: statistics.fmean(law.measured), spread=_measured_spread, check=lambda given: None,
        example={"times": (21e6, 24e6, 22e6, 31e6)},
    ),
)  # fmt: skip

LAWS: dict[str, LawRow] = {row.name: row for row in _ROWS}


def make_law(name: str, parameters: Given) -> Law:
    """The law `name` with `parameters` by name, defaults filled in.

    Times in microseconds, spreads as shares.  Raises ValueError with a sentence saying what is allowed.
    """
    if name not in LAWS:
        near = units.nearest(name, LAWS)
        hint = f"did you mean {near}? " if near else ""
        raise ValueError(f"there is no law '{name}'; {hint}the laws are {', '.join(LAWS)}")
    row = LAWS[name]
    legal = {parameter.name: parameter for parameter in row.parameters}
    needed = ", ".join(p.name if p.default is None else f"{p.name} (optional)" for p in row.parameters)
    unknown = [key for key in parameters if key not in legal]
    if unknown:
        raise ValueError(f"{name}: there is no parameter '{unknown[0]}'; the parameters are {needed}")
    missing = [key for key, parameter in legal.items() if parameter.default is None and key not in parameters]
    if missing:
        raise ValueError(f"{name}: {' and '.join(missing)} missing; the parameters are {needed}")
    given: dict[str, float] = {}
    measured: tuple[int, ...] = ()
    for key, raw in parameters.items():
        if legal[key].kind == "times":
            measured = _checked_times(name, key, raw)
        else:
            given[key] = _checked_number(name, legal[key], raw)
    try:
        row.check(given)
    except ValueError as error:
        raise ValueError(f"{name}: {error}") from None
    values = tuple(
        given.get(p.name, math.inf if p.default is None else p.default)
        for p in row.parameters
        if p.kind != "times"
    )
    return Law(name, values, measured)


def _checked_times(law: str, name: str, raw: object) -> tuple[int, ...]:
    if isinstance(raw, str) or not isinstance(raw, Sequence) or not raw:
        raise ValueError(f"{law}: {name} must be a list of at least one time")
    parameter = Parameter(name, "time", "")
    return tuple(math.floor(_checked_number(law, parameter, value) + 0.5) for value in raw)


def _checked_number(law: str, parameter: Parameter, raw: object) -> float:
    """The value as a float within the range of its kind."""
    if (
        isinstance(raw, bool)
        or not isinstance(raw, int | float)
        or not math.isfinite(value := _as_float(raw))
    ):
        raise ValueError(f"{law}: {parameter.name} must be a finite number, not {str(raw)[:20]!r}")
    if parameter.kind == "time":
        allowed, shown, fits = "between 0 s and 100 years", _time(value), 0.0 <= value <= units.LONGEST
    elif parameter.kind == "spread":
        allowed, shown = f"between 0 % and {units.format_ratio(LARGEST_SPREAD)}", units.format_ratio(value)
        fits = 0.0 <= value <= LARGEST_SPREAD
    elif parameter.kind == "shape":
        allowed, shown = f"between {SHAPES[0]:g} and {SHAPES[1]:g}", units.format_number(value)
        fits = SHAPES[0] <= value <= SHAPES[1]
    else:
        allowed, shown = f"a whole number between 1 and {LARGEST_COUNT}", units.format_number(value)
        fits = value.is_integer() and 1 <= value <= LARGEST_COUNT
    if not fits:
        raise ValueError(f"{law}: {parameter.name} must be {allowed}, not {shown}")
    return value


def _as_float(number: float) -> float:
    try:
        return float(number)
    except OverflowError:  # an integer of over 300 digits
        return math.inf


def mean(law: Law) -> float:
    """Mean in microseconds of the times really drawn (for a cut normal law the effective mean)."""
    return LAWS[law.name].mean(law)


def spread(law: Law) -> float:
    """Standard deviation of the times really drawn divided by their mean (no unit)."""
    return LAWS[law.name].spread(law)


def describe(law: Law) -> str:
    """The law in plain words with units: `lognormal, mean 24 s, spread 15 %`."""
    if law.name == "fixed":
        return f"always {_time(law.values[0])}"
    if law.measured:
        low, high = min(law.measured), max(law.measured)
        what = f"{law.name} times" if len(law.measured) > 1 else f"{law.name} time"
        return f"{len(law.measured)} {what}, mean {_computed_time(mean(law))}, {_time(low)} to {_time(high)}"
    parts = [law.name]
    for parameter, value in zip(LAWS[law.name].parameters, law.values, strict=True):
        if math.isfinite(value):
            show = {"time": _time, "spread": units.format_ratio}.get(parameter.kind, units.format_number)
            parts.append(f"{parameter.name} {show(value)}")
    if caution(law):
        parts.append(f"effective mean {_computed_time(mean(law))}")
    return ", ".join(parts)


def caution(law: Law) -> str:
    """What the author of the cell should know about this law; empty when there is nothing to say.

    A cut normal law has another mean than the stated one; it is named when it differs by over 0.1 %.
    """
    if law.name != "normal" or abs(mean(law) / law.values[0] - 1.0) <= 0.001:
        return ""
    _, _, low, high = law.values
    limits = f"at least {_time(low)}" + (f" and at most {_time(high)}" if math.isfinite(high) else "")
    return (
        f"a normal law cut to {limits} has the mean {_computed_time(mean(law))}, "
        f"not the stated {_time(law.values[0])}"
    )
