"""Values with units as people write them: closed tables, exact parsing, formatting that reads back.

Times are whole microseconds (int), lengths metres, speeds metres per second, shares 0..1.  Each `parse_...`
raises `UnitError` (a ValueError) with a text that says what was given and what is allowed.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal
from itertools import pairwise

MICROSECOND = 1
MILLISECOND = 1_000
SECOND = 1_000_000
MINUTE = 60 * SECOND
HOUR = 60 * MINUTE
DAY = 24 * HOUR
LONGEST = 36_525 * DAY  # a hundred years

# The only units there are: dimension -> unit -> size in microseconds, metres, metres per second,
# watts, joules.
UNITS: dict[str, dict[str, Decimal]] = {
    "time": {
        "us": Decimal(MICROSECOND),
        "ms": Decimal(MILLISECOND),
        "s": Decimal(SECOND),
        "TMU": Decimal(36_000),  # 1 TMU = 0.00001 h, the unit of methods-time measurement
        "cmin": Decimal(600_000),
        "min": Decimal(MINUTE),
        "h": Decimal(HOUR),
        "d": Decimal(DAY),
    },
    "length": {"mm": Decimal("0.001"), "cm": Decimal("0.01"), "m": Decimal(1), "km": Decimal(1000)},
    "speed": {
        "mm/s": Decimal("0.001"),
        "m/s": Decimal(1),
        "m/min": Decimal(1) / Decimal(60),
        "km/h": Decimal(1) / Decimal("3.6"),
    },
    "power": {"W": Decimal(1), "kW": Decimal(1000), "MW": Decimal(1_000_000)},
    "energy": {"J": Decimal(1), "kJ": Decimal(1000), "Wh": Decimal(3600), "kWh": Decimal(3_600_000)},
}
EXAMPLES = {
    "time": '"7 s" or "0.1 min"',
    "clock": '"06:00" or "22:30"',
    "length": '"3.5 m" or "800 mm"',
    "speed": '"1 m/s" or "250 mm/s"',
    "rate": '"120 per h" or "900 per shift"',
    "power": '"4 kW" or "250 W"',
    "energy": '"0.2 kWh" or "90 kJ"',
    "share": '"3 %", "3 per 1000" or "0.03"',
    "count": '"8" or "1 000"',
    "money": '"84 000 EUR" or "31 EUR per h"',
}
_ARTICLE = {
    "time": "a time", "length": "a length", "speed": "a speed", "power": "a power", "energy": "an energy",
}  # fmt: skip
_MEANT = {  # spellings seen in the field -> the unit meant
    "m": "min", "mins": "min", "minute": "min", "minutes": "min", "sec": "s", "secs": "s", "second": "s",
    "seconds": "s", "msec": "ms", "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "std": "h", "day": "d",
    "days": "d", "hm": "cmin", "μs": "us", "metre": "m", "meter": "m", "metres": "m", "meters": "m",
}  # fmt: skip
_COMPOUND = ("d", "h", "min", "s", "ms", "us")  # units that may follow each other, as in 1 h 30 min
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f"), " ")
_EXACT = Context(prec=120)

_NUMBER = (
    r"[0-9]{1,3}(?:[ _][0-9]{3})+(?:\.[0-9]+)?|(?:[0-9][0-9_]*\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
)
_NUMBER_ALONE = re.compile(_NUMBER)
_QUANTITY = re.compile(rf"\s*([+-]?(?:{_NUMBER}))\s*([^\s0-9.,+-][^\s]*)?")


class UnitError(ValueError):
    """A text is not the kind of value that is wanted; the message says why and what is allowed."""


@dataclass(frozen=True, slots=True)
class Rate:
    """`count` (of `what`, if said) in every `per` microseconds; `per` None = in every shift."""

    count: Decimal
    per: int | None
    what: str = ""


@dataclass(frozen=True, slots=True)
class Money:
    """`amount` in `currency`, in every `per` (h, shift, d, year, unit, kWh) or once if that is empty."""

    amount: Decimal
    currency: str
    per: str = ""


def nearest(word: str, legal: Iterable[str]) -> str:
    """The legal word that `word` most likely stands for, or the empty text; compares 500 at most."""
    choices = list(legal)
    folded = {choice.casefold(): choice for choice in reversed(choices)}
    if word.casefold() in folded:
        return folded[word.casefold()]
    if len(folded) > 500:
        return ""
    found = difflib.get_close_matches(word.casefold()[:200], list(folded), n=1, cutoff=0.6)
    return folded[found[0]] if found else ""


def quoted(text: str, limit: int = 60) -> str:
    """The text as it is shown in a message: in quotes, on one line, cut to `limit` characters."""
    line = " ".join(text.split())
    return f'"{line[: limit - 3]}..."' if len(line) > limit else f'"{line}"'


def parse_number(text: str) -> Decimal:
    """A number: `24`, `1.5`, `1e3`, `1_000` and `84 000`, with a point for decimals; sign allowed.

    Raises UnitError for everything else, and says how to write a decimal comma or a thousands comma.
    """
    plain = text.translate(_SPACES).strip()
    sign = plain[:1] if plain[:1] in ("+", "-") else ""
    digits = plain[len(sign) :]
    if (
        len(digits) <= 60
        and _NUMBER_ALONE.fullmatch(digits)
        and not digits.endswith("_")
        and "__" not in digits
    ):
        return Decimal(sign + digits.replace(" ", "").replace("_", ""))
    raise UnitError(_comma_advice(plain) or f"{quoted(plain)} is not a number")


def refuse_thousands_point(text: str, number: str, padded: bool = False) -> None:
    """Raise UnitError for a number such as `18.000`, which half of the world reads as eighteen thousand.

    With `padded` only where it ends in 0, as no number does that is written without needless zeros.
    """
    digits = number.strip().lstrip("+-")
    last = "0" if padded else "[0-9]"
    if re.fullmatch(rf"[1-9][0-9]{{0,2}}\.[0-9]{{2}}{last}", digits):
        whole, short = digits.replace(".", ""), format_number(Decimal(digits))
        raise UnitError(
            f"{quoted(text)} could be a decimal or a thousand; write {whole} or"
            f" {short if '.' in short else short + '.0'}"
        )


def parse_time(text: str) -> int:
    """A time such as `24 s`, `1.5 min`, `1 h 30 min`, `100 TMU` in whole microseconds.

    Digits below a microsecond are rounded half to even.  Raises UnitError for a missing or wrong unit, a
    negative time, a time above zero that is shorter than a microsecond, and one of more than 100 years.
    """
    parts = _parts(text, "time")
    if len(parts) > 1:
        _check_compound(text, parts)
    total = sum((_EXACT.multiply(number, UNITS["time"][unit]) for number, unit in parts), Decimal(0))
    if total < 0:
        raise UnitError(f"{quoted(text)} is negative; a time cannot be")
    if 0 < total < 1:
        raise UnitError(f"{quoted(text)} is shorter than 1 us, the smallest step of time")
    if total > LONGEST:
        raise UnitError(f"{quoted(text)} is longer than 100 years")
    return int(total.to_integral_value())


def format_time(microseconds: int) -> str:
    """The time in the largest unit that suits it, so that `parse_time` gives back the same integer."""
    if microseconds == 0:
        return "0 s"
    for unit, size in (("h", HOUR), ("min", MINUTE)):
        if microseconds % size == 0:
            return f"{microseconds // size} {unit}"
    for unit, size in (("s", SECOND), ("ms", MILLISECOND)):
        if microseconds >= size:
            return f"{format_number(Decimal(microseconds) / size)} {unit}"
    return f"{microseconds} us"


def parse_clock(text: str) -> int:
    """A time of day, `06:00` or `22:30:15` up to `24:00`, in microseconds after midnight."""
    match = re.fullmatch(r"\s*([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?\s*", text)
    if not match:
        point = re.fullmatch(r"\s*([0-9]{1,2})[.h]([0-9]{2})\s*", text)
        advice = f'; did you mean "{int(point[1]):02d}:{point[2]}"?' if point else ""
        raise UnitError(f"{quoted(text)} is not a time of day, which looks like {EXAMPLES['clock']}{advice}")
    hours, minutes, seconds = (int(part or 0) for part in match.groups())
    moment = hours * HOUR + minutes * MINUTE + seconds * SECOND
    if minutes > 59 or seconds > 59 or moment > DAY:
        raise UnitError(f"{quoted(text)} is no time of day: it must lie between 00:00 and 24:00")
    return moment


def format_clock(microseconds: int) -> str:
    """The time of day of a moment after midnight in whole seconds; later days show as the day they are."""
    moment = microseconds if microseconds == DAY else microseconds % DAY
    hours, rest = divmod(moment // SECOND, 3600)
    minutes, seconds = divmod(rest, 60)
    return f"{hours:02d}:{minutes:02d}" + (f":{seconds:02d}" if seconds else "")


def parse_rate(text: str) -> Rate:
    """A rate such as `120 per h`, `120/h`, `80 strokes per min` or `900 per shift`."""
    plain = text.translate(_SPACES)
    match = re.fullmatch(r"(.*?)(?:\s+per\s+|\s*/\s*)(\S+)\s*", plain)
    if not match:
        raise UnitError(f"{quoted(text)} is not a rate, which looks like {EXAMPLES['rate']}")
    amount = re.fullmatch(rf"\s*([+-]?(?:{_NUMBER}))\s*([A-Za-z]+)?\s*", match[1])
    number = parse_number(amount[1] if amount else match[1])
    refuse_thousands_point(text, amount[1] if amount else match[1], padded=True)
    if number <= 0:
        raise UnitError(f"{quoted(text)}: a rate must be above zero")
    if not Decimal("0.001") <= number <= 1_000_000_000:
        raise UnitError(f"{quoted(text)}: the number of a rate must lie between 0.001 and 1e9")
    what = (amount[2] or "") if amount else ""
    if match[2] == "shift":
        return Rate(number, None, what)
    legal = [unit for unit in _COMPOUND if unit in ("s", "min", "h", "d")]
    if match[2] not in legal:
        meant = _MEANT.get(match[2].casefold()) or nearest(match[2], [*legal, "shift"])
        advice = f'; did you mean "{meant}"?' if meant in (*legal, "shift") else ""
        raise UnitError(f"{quoted(text)}: a rate is per s, min, h, d or shift{advice}")
    return Rate(number, int(UNITS["time"][match[2]]), what)


def parse_ratio(text: str) -> float:
    """A pure number of 0 or more: `15 %`, `3 per 1000` or `0.15`."""
    plain = text.translate(_SPACES).strip()
    per = re.fullmatch(r"(.+?)(?:\s+per\s+|\s*/\s*)(.+)", plain)
    if plain.endswith("%"):
        value = _EXACT.divide(parse_number(plain[:-1]), Decimal(100))
    elif plain.endswith("‰"):
        value = _EXACT.divide(parse_number(plain[:-1]), Decimal(1000))
    elif per:
        below = parse_number(per[2])
        if below <= 0:
            raise UnitError(f"{quoted(text)}: the number after per must be above zero")
        value = _EXACT.divide(parse_number(per[1]), below)
    elif re.search(r"[^0-9eE.,+\-_ ]", plain):
        raise UnitError(f"{quoted(text)} is not a share, which looks like {EXAMPLES['share']}")
    else:
        value = parse_number(plain)
    if value < 0:
        raise UnitError(f"{quoted(text)} is negative; a share cannot be")
    return float(value)


def parse_share(text: str) -> float:
    """A share between 0 and 1: `3 %`, `3 per 1000` or `0.03`."""
    value = parse_ratio(text)
    if value > 1:
        bare = re.fullmatch(r"\s*[0-9.]+\s*", text)
        advice = f'; did you mean "{text.strip()} %"?' if bare and value <= 100 else ""
        raise UnitError(f"{quoted(text)} is more than the whole; a share lies between 0 and 100 %{advice}")
    return value


def format_ratio(value: float) -> str:
    """A share or spread in percent, so that `parse_ratio` gives back the same float."""
    return f"{format_number(_EXACT.multiply(Decimal(repr(float(value))), Decimal(100)))} %"


def parse_count(text: str) -> int:
    """A whole number of 0 or more: `8`, `1 000`, `1_000`, `1e3`."""
    value = parse_number(text)
    refuse_thousands_point(text, text)
    if value != value.to_integral_value():
        raise UnitError(f"{quoted(text)} is not a whole number")
    if value < 0:
        raise UnitError(f"{quoted(text)} is negative; a count cannot be")
    if value > 10**15:
        raise UnitError(f"{quoted(text)} is more than 1e15, the largest count")
    return int(value)


def parse_length(text: str) -> float:
    """A length such as `3.5 m` or `800 mm`, in metres, up to 10 km; may be negative (a position)."""
    value = _single(text, "length")
    if abs(value) > 10_000:
        raise UnitError(f"{quoted(text)} is more than 10 km, the largest length")
    return value


def parse_speed(text: str) -> float:
    """A speed such as `1 m/s` or `250 mm/s`, in metres per second, from 1 mm/s to 1000 m/s."""
    value = _single(text, "speed")
    if not 0.001 <= value <= 1000:
        raise UnitError(f"{quoted(text)}: a speed must lie between 1 mm/s and 1000 m/s")
    return value


def parse_power(text: str) -> int:
    """A power such as `4 kW` or `250 W`, in whole watts, up to 100 MW."""
    return _whole(text, "power", "W", 100_000_000)


def parse_energy(text: str) -> int:
    """An energy such as `0.2 kWh` or `90 kJ`, in whole joules, up to 1 000 000 kWh."""
    return _whole(text, "energy", "J", 3_600_000_000_000)


def format_power(watts: int) -> str:
    """The power, so that `parse_power` gives back the same watts."""
    return f"{format_number(Decimal(watts) / 1000)} kW" if watts >= 1000 else f"{watts} W"


def format_energy(joules: int) -> str:
    """The energy, so that `parse_energy` gives back the same joules."""
    return f"{joules // 3600} Wh" if joules % 3600 == 0 else f"{joules} J"


def _whole(text: str, dimension: str, unit: str, most: int) -> int:
    """A quantity of 0 or more in whole units of its dimension."""
    parts = _parts(text, dimension)
    value = sum((_EXACT.multiply(number, UNITS[dimension][name]) for number, name in parts), Decimal(0))
    what = _ARTICLE[dimension]
    if len(parts) != 1:
        raise UnitError(f"{quoted(text)} is not {what}, which looks like {EXAMPLES[dimension]}")
    if value < 0:
        raise UnitError(f"{quoted(text)} is negative; {what} cannot be")
    if value > most:
        raise UnitError(f"{quoted(text)} is more than {most} {unit}")
    if value != value.to_integral_value():
        raise UnitError(f"{quoted(text)} is no whole number of {unit}")
    return int(value)


def parse_money(text: str, currency: str = "") -> Money:
    """An amount such as `84 000 EUR` or `31 EUR per h`; `currency` is the one that the file already uses.

    Raises UnitError where there is no currency, or another one than the file's.
    """
    plain = text.translate(_SPACES).strip()
    if sign := re.search(r"[€$£¥]", plain):
        raise UnitError(f'{quoted(text)}: write the code of the currency, such as EUR, not "{sign[0]}"')
    match = re.fullmatch(rf"([+-]?(?:{_NUMBER}))\s*([A-Za-z]{{2,4}})(?:(?:\s+per\s+|\s*/\s*)(\S+))?", plain)
    if not match:
        advice = _comma_advice(plain)
        raise UnitError(
            advice or f"{quoted(text)} is not an amount of money, which looks like {EXAMPLES['money']}"
        )
    periods = ("h", "shift", "d", "year", "unit", "kWh")
    if match[3] and match[3] not in periods:
        near = nearest(match[3], periods)
        advice = f'; did you mean "{near}"?' if near else ""
        raise UnitError(f"{quoted(text)}: money is per {', '.join(periods[:-1])} or {periods[-1]}{advice}")
    if currency and match[2] != currency:
        raise UnitError(f"{quoted(text)}: this file counts money in {currency}; one file has one currency")
    refuse_thousands_point(text, match[1])
    return Money(parse_number(match[1]), match[2], match[3] or "")


def format_number(value: float | Decimal) -> str:
    """A number without needless zeros, so that reading it gives back the same value."""
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    text = format(exact, "f")
    if len(text) > 40:
        return format(exact.normalize(_EXACT), "e")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text if text not in ("", "-0") else "0"


def _single(text: str, dimension: str) -> float:
    parts = _parts(text, dimension)
    if len(parts) != 1:
        raise UnitError(
            f"{quoted(text)} is not {_ARTICLE[dimension]}, which looks like {EXAMPLES[dimension]}"
        )
    number, unit = parts[0]
    return float(_EXACT.multiply(number, UNITS[dimension][unit]))


def _parts(text: str, dimension: str) -> list[tuple[Decimal, str]]:
    """The (number, unit) pairs of a text, each unit one of the dimension's."""
    plain = text.translate(_SPACES).replace("µs", "us").replace("μs", "us").strip()
    article, example = _ARTICLE[dimension], EXAMPLES[dimension]
    parts: list[tuple[Decimal, str]] = []
    position = 0
    while position < len(plain):
        match = _QUANTITY.match(plain, position)
        if not match or len(plain) > 200:
            advice = _comma_advice(plain)
            raise UnitError(advice or f"{quoted(text)} is not {article}, which looks like {example}")
        unit = match[2]
        if unit is None:
            rest = plain[match.end() :]
            advice = _comma_advice(plain) if rest.startswith(",") else ""
            legal = ", ".join(UNITS[dimension])
            raise UnitError(
                advice or f"{quoted(text)} has no unit; {article} looks like {example} (units: {legal})"
            )
        if unit not in UNITS[dimension]:
            raise UnitError(_wrong_unit(unit, dimension))
        parts.append((parse_number(match[1]), unit))
        position = match.end()
    if not parts:
        raise UnitError(f"{quoted(text)} is not {article}, which looks like {example}")
    return parts


def _wrong_unit(unit: str, dimension: str) -> str:
    legal = UNITS[dimension]
    other = next((name for name, units in UNITS.items() if unit in units), "")
    what = f"is {_ARTICLE[other]}" if other else f"is not a unit of {dimension}"
    meant = _MEANT.get(unit.casefold(), "")
    if meant not in legal:
        meant = nearest(unit, legal)
    advice = f'; did you mean "{meant}"?' if meant else ""
    look = f"{_ARTICLE[dimension]} looks like {EXAMPLES[dimension]}"
    return f"{quoted(unit, 20)} {what}; {look} (units: {', '.join(legal)}){advice}"


def _check_compound(text: str, parts: list[tuple[Decimal, str]]) -> None:
    order = [_COMPOUND.index(unit) if unit in _COMPOUND else -1 for _, unit in parts]
    falling = all(before < after for before, after in pairwise(order))
    whole = all(number == number.to_integral_value() for number, _ in parts[:-1])
    if -1 in order or not falling or not whole or any(number < 0 for number, _ in parts):
        raise UnitError(
            f'{quoted(text)} is not a time; several units go from large to small, as in "1 h 30 min", and'
            " only the last may have decimals"
        )


def _comma_advice(text: str) -> str:
    """What to say about a number written with a comma; empty if there is none."""
    match = re.search(r"[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?", text)
    if not match:
        return ""
    if re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?", match[0]):
        plain, point = match[0].replace(",", " "), match[0].replace(",", ".", 1)
        return f'{quoted(text)} has a comma: write "{plain}" for thousands or "{point}" for decimals'
    return f"{quoted(text)} has a comma; use a point: {quoted(text.replace(',', '.'))}"


def count_of(count: int, one: str, many: str = "") -> str:
    """`1 station`, `2 stations`."""
    return f"{count} {one if count == 1 else many or one + 's'}"
