"""The kinds of single values in a cell file: how each is parsed, and what the schema knows of it."""

from __future__ import annotations

import re

from cellsim import units
from cellsim.describe.cell import OUT, RAW
from cellsim.describe.fields import Scalar
from cellsim.units import UnitError, nearest, quoted

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
AS_MUCH = "as much as it takes"
ALWAYS_THERE = "always there"


def parse_words(text: str) -> str:
    """Free text, on one line."""
    return " ".join(text.split())


_NAME = re.compile(r"[^\W_][\w .'()/+&#-]{0,59}")
RESERVED = ("release", "finished", "scrap", "nobody", "unlimited", "origin", "here")


def parse_name(text: str) -> str:
    """A name: at most 60 letters, digits, blanks and a few signs; no word with a meaning of its own."""
    name = " ".join(text.split())
    if name in RESERVED:
        raise UnitError(f"{quoted(name)} has a meaning of its own and cannot be a name")
    if not _NAME.fullmatch(name):
        raise UnitError(
            f"{quoted(name)} cannot be a name; a name is up to 60 letters, digits, blanks or"
            " _ - . ' / + & # ( )"
            " and begins with a letter or digit"
        )
    return name


def parse_store_name(text: str) -> str:
    """A name, or two with `>` between them: the direct hand-over from one station to the next."""
    return ">".join(parse_name(part) for part in text.split(">", 1))


def parse_reference(text: str) -> str:
    """A name that stands for something else in the file, or a word with a meaning of its own."""
    name = " ".join(text.split())
    if name in RESERVED:
        return name
    for prefix in (RAW, OUT):
        if name.startswith(prefix):
            return prefix + parse_name(name[len(prefix) :])
    return parse_store_name(name)


def parse_yes_no(text: str) -> bool:
    """`yes` or `no`; `true` and `false` mean the same, since editors write them."""
    word = text.casefold()
    if word not in ("yes", "no", "true", "false"):
        raise UnitError(f"{quoted(text)} is neither yes nor no")
    return word in ("yes", "true")


def parse_positive(text: str) -> float:
    """A number above zero."""
    value = float(units.parse_number(text))
    if not 0 < value <= 1e6:
        raise UnitError(f"{quoted(text)}: the number must be above 0 and at most 1e6")
    return value


def parse_factor(text: str) -> float:
    """A time factor from 0.01 to 100."""
    value = float(units.parse_number(text))
    if not 0.01 <= value <= 100:
        raise UnitError(f"{quoted(text)}: a time factor must lie between 0.01 and 100")
    return value


def parse_level(text: str) -> int:
    """A skill level, 1 to 4."""
    if text not in ("1", "2", "3", "4"):
        raise UnitError(f"{quoted(text)} is no skill level; levels go from 1, beginner, to 4, expert")
    return int(text)


def parse_skill(text: str) -> tuple[int, float]:
    """How somebody does something: `level 2` as (2, 0.0), a time factor as (0, factor)."""
    word = " ".join(text.split())
    if word.startswith("level "):
        return parse_level(word.removeprefix("level ")), 0.0
    return 0, parse_factor(text)


def parse_learning(text: str) -> float:
    """A learning rate, 50 % to 100 %."""
    value = units.parse_share(text)
    if not 0.5 <= value <= 1:
        raise UnitError(
            f"{quoted(text)}: a learning rate lies between 50 % and 100 %, in practice above 70 %"
        )
    return value


def parse_positive_count(text: str) -> int:
    """A whole number of at least 1."""
    value = units.parse_count(text)
    if value < 1:
        raise UnitError(f"{quoted(text)}: at least 1 is wanted")
    return value


def parse_people(text: str) -> int:
    """A number of people in one post, 1 to 100."""
    value = parse_positive_count(text)
    if value > 100:
        raise UnitError(f"{quoted(text)} people are too many for one post; at most 100 are possible")
    return value


def parse_places(text: str) -> int | None:
    """A number of places, None for `unlimited`."""
    if text == "unlimited":
        return None
    try:
        value = units.parse_count(text)
    except UnitError as error:
        inf = text.casefold().lstrip("+.") in ("inf", "infinite", "infinity", "endless", "any", "no limit")
        advice = '; did you mean "unlimited"?' if inf or nearest(text, ["unlimited"]) else ""
        raise UnitError(f"{error}; places are a whole number or unlimited{advice}") from None
    if value > 1_000_000:
        raise UnitError(f"{quoted(text)} places are more than a million; write unlimited")
    return value


_WHOLE = r"[0-9][0-9 _]*(\.[0-9]+[eE]\+?[0-9]+|\.0+|[eE]\+?[0-9]+)?"
_NUMBER = r"[0-9.][0-9 _]*\.?[0-9]*([eE][+-]?[0-9]+)?"


def _units_of(dimension: str) -> str:
    return "|".join(
        sorted((*units.UNITS[dimension], *(["µs"] if dimension == "time" else [])), key=len, reverse=True)
    )


_TIME = rf"({_NUMBER}\s*({_units_of('time')})\s*)+"
_SHARE = rf"{_NUMBER}(\s*%|\s*‰|(\s+per\s+|\s*/\s*){_NUMBER})?"


def parse_days(text: str) -> tuple[int, ...]:
    """Days of the week as numbers from 0 = Monday: `Mon`, `Mon-Fri` or `daily`."""
    if text == "daily":
        return tuple(range(7))
    ends = [part.strip() for part in text.split("-")]
    for part in ends:
        if part not in DAYS or len(ends) > 2:
            near = nearest(part[:3], DAYS)
            advice = f'; did you mean "{near}"?' if near else ""
            raise UnitError(f'{quoted(text)} is no day; days look like "Mon", "Mon-Fri" or "daily"{advice}')
    first, last = DAYS.index(ends[0]), DAYS.index(ends[-1])
    return tuple(sorted((first + step) % 7 for step in range((last - first) % 7 + 1)))


def parse_moment(text: str) -> tuple[tuple[int, ...] | None, int]:
    """`06:00` or `Fri 13:00` as (days of the week or None, microseconds after midnight)."""
    days, _, clock = text.rpartition(" ")
    moment = units.parse_clock(clock)
    if moment == units.DAY:
        raise UnitError(f'{quoted(text)} ends a day; the same moment is "00:00" of the next day')
    return (parse_days(days.strip()) if days.strip() else None), moment


def parse_frequency(text: str) -> tuple[int, str]:
    """How often: (microseconds, `running` or `on time`), or (count, `cycles` or `units`)."""
    of = re.fullmatch(r"(.*?)\s+of\s+(.*)", text)
    if of and of[2] in ("running", "on time"):
        amount, clock = units.parse_time(of[1]), of[2]
    elif counted := re.fullmatch(r"(.*?)\s*(cycle|unit)s?", text):
        amount, clock = units.parse_count(counted[1]), f"{counted[2]}s"
    else:
        try:
            amount = units.parse_time(text)
        except UnitError:
            near = nearest(of[2], ["running", "on time"]) if of else ""
            advice = f'; did you mean "of {near}"?' if near else ""
            raise UnitError(
                f'{quoted(text)} does not say how often, which looks like "20 min of running",'
                f' "14 h of on time", "900 cycles" or "900 units"{advice}'
            ) from None
        raise UnitError(f'{quoted(text)} of what? write "{text} of running" or "{text} of on time"')
    if amount < 1:
        raise UnitError(f"{quoted(text)}: it must be above zero")
    return amount, clock


def parse_pair(text: str) -> tuple[str, str]:
    """A way from one point to another: `press > tray`."""
    parts = re.split(r"\s+>\s+", text) if re.search(r"\s>\s", text) else text.split(">")
    if len(parts) != 2 or not all(part.strip() for part in parts):
        raise UnitError(f'{quoted(text)} is not a way, which looks like "press > tray"')
    return parse_reference(parts[0].strip()), parse_reference(parts[1].strip())


def parse_release(text: str) -> tuple[str, int]:
    """`as much as it takes`, `every 36 s` or `cards 12`, as (kind, microseconds or count)."""
    word = " ".join(text.split())
    if word == AS_MUCH:
        return AS_MUCH, 0
    if word.startswith("every "):
        return "every", units.parse_time(word.removeprefix("every "))
    if word.startswith("cards "):
        return "cards", parse_positive_count(word.removeprefix("cards "))
    raise UnitError(f'{quoted(text)} is no way of release; write "{AS_MUCH}", "every 36 s" or "cards 12"')


def parse_stay(text: str) -> int:
    """`at least 25 min`, in microseconds."""
    word = " ".join(text.split())
    if not word.startswith("at least "):
        raise UnitError(f'{quoted(text)} is no stay, which looks like "at least 25 min"')
    return units.parse_time(word.removeprefix("at least "))


def parse_campaigns(text: str) -> int:
    """`1 shift`: in how many shifts each variant has its turn once."""
    match = re.fullmatch(r"(.*?)\s*shifts?", text)
    if not match:
        raise UnitError(
            f'{quoted(text)} is no campaign, which looks like "1 shift" or [{{A: 500}}, {{B: 200}}]'
        )
    return parse_positive_count(match[1])


def parse_settle(text: str) -> tuple[str, int]:
    """`2 shifts` or `1 h`, as (`shifts` or `time`, count or microseconds)."""
    if match := re.fullmatch(r"(.*?)\s*shifts?", text):
        return "shifts", units.parse_count(match[1])
    try:
        return "time", units.parse_time(text)
    except UnitError as error:
        raise UnitError(f'{error}; to settle takes "2 shifts" or "1 h"') from None


def parse_bins(text: str) -> int:
    """A number of bins, 1 to 100."""
    value = parse_positive_count(text)
    if value > 100:
        raise UnitError(f"{quoted(text)} bins are too many for one part; at most 100 are possible")
    return value


def parse_yield(text: str) -> tuple[int, str]:
    """What one bar, coil or sheet gives: `60 per bar` as (60, `bar`)."""
    match = re.fullmatch(r"(.+?)\s+per\s+(\S.*)", " ".join(text.split()))
    if not match:
        raise UnitError(f'{quoted(text)} is no yield, which looks like "60 per bar"')
    return parse_positive_count(match[1]), parse_name(match[2])


def parse_limit(text: str) -> int:
    """A number of attempts of at least 1, 0 for `unlimited`."""
    return 0 if text == "unlimited" else parse_positive_count(text)


def parse_inside(text: str) -> float:
    """`stops` or `slows to 40 %`: the speed that is left to the robots of a zone, 0 = they stand."""
    word = " ".join(text.split())
    if word == "stops":
        return 0.0
    if word.startswith("slows to "):
        share = units.parse_share(word.removeprefix("slows to "))
        if 0 < share < 1:
            return share
        raise UnitError(f"{quoted(text)}: the speed left must lie between 0 and 100 %, or write stops")
    raise UnitError(f'{quoted(text)} does not say what a robot does; write "stops" or "slows to 40 %"')


def parse_setting(text: str) -> float:
    """A speed setting above 0 and at most 100 %."""
    share = units.parse_share(text)
    if share == 0:
        raise UnitError(f"{quoted(text)}: at this speed the robot would never arrive")
    return share


WORDS = Scalar("a text", parse_words, "some words", json=("string", "number", "boolean"))
NAME = Scalar("a name", parse_name, "press")
STORE_NAME = Scalar("a name", parse_store_name, "tray")
REFERENCE = Scalar("a name", parse_reference, "press", json=("string", "integer"))
TIME = Scalar("a time", units.parse_time, "24 s", f"^{_TIME}$")
CLOCK = Scalar("a time of day", units.parse_clock, "06:00", r"^[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$")
RATE = Scalar("a rate", units.parse_rate, "120 per h", r"(/| per )\s*(s|min|h|d|shift)$")
SHARE = Scalar("a share", units.parse_share, "3 %", f"^{_SHARE}$", ("string", "number"))
RATIO = Scalar("a spread", units.parse_ratio, "15 %", f"^{_SHARE}$", ("string", "number"))
COUNT = Scalar("a count", units.parse_count, "8", f"^{_WHOLE}$", ("string", "integer"))
SOME = Scalar("a count of at least 1", parse_positive_count, "1", f"^{_WHOLE}$", ("string", "integer"))
BINS = Scalar("a number of bins", parse_bins, "2", f"^{_WHOLE}$", ("string", "integer"))
YIELD = Scalar("a yield", parse_yield, "60 per bar", r" per ")
PEOPLE = Scalar("a number of people", parse_people, "1", f"^{_WHOLE}$", ("string", "integer"))
FACTOR = Scalar("a time factor", parse_factor, "1.2", f"^{_NUMBER}$", ("string", "number"))
LEVEL = Scalar("a level from 1 to 4", parse_level, "3", "^[1-4]$", ("string", "integer"))
SKILL = Scalar(
    "a time factor or a level", parse_skill, "level 2", rf"^(level\s+[1-4]|{_NUMBER})$", ("string", "number")
)
LEARNING = Scalar("a learning rate", parse_learning, "85 %", f"^{_SHARE}$", ("string", "number"))
NUMBER = Scalar("a number above zero", parse_positive, "1.4", f"^{_NUMBER}$", ("string", "number"))
PLACES = Scalar("a count or unlimited", parse_places, "8", f"^(unlimited|{_WHOLE})$", ("string", "integer"))
LIMIT = Scalar("a count or unlimited", parse_limit, "3", f"^(unlimited|{_WHOLE})$", ("string", "integer"))
YES_NO = Scalar(
    "yes or no",
    parse_yes_no,
    "yes",
    "^(yes|no|[Tt]rue|TRUE|[Ff]alse|FALSE|Yes|No|YES|NO)$",
    ("string", "boolean"),
)
LENGTH = Scalar("a length", units.parse_length, "3.5 m", rf"^-?{_NUMBER}\s*({_units_of('length')})$")
SPEED = Scalar("a speed", units.parse_speed, "1 m/s", rf"^{_NUMBER}\s*({_units_of('speed')})$")
POWER = Scalar("a power", units.parse_power, "4 kW", rf"^{_NUMBER}\s*({_units_of('power')})$")
ENERGY = Scalar("an energy", units.parse_energy, "0.2 kWh", rf"^{_NUMBER}\s*({_units_of('energy')})$")
DAYS_TEXT = Scalar(
    "days of the week", parse_days, "Mon-Fri", "^(daily|[A-Z][a-z]{2}(\\s*-\\s*[A-Z][a-z]{2})?)$"
)
FREQUENCY = Scalar(
    "how often", parse_frequency, "20 min of running",
    rf"^({_TIME}of\s+(running|on time)|{_WHOLE}\s*(cycle|unit)s?)$",
)  # fmt: skip
MOMENT = Scalar(
    "a time of day, after its days where not daily", parse_moment, "Fri 13:00",
    r"^((daily|[A-Z][a-z]{2}(\s*-\s*[A-Z][a-z]{2})?)\s+)?[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$",
)  # fmt: skip
STAY = Scalar("a least stay", parse_stay, "at least 25 min", rf"^at least\s+{_TIME}$")
CAMPAIGN = Scalar("a number of shifts", parse_campaigns, "1 shift", r"shifts?$")
INSIDE = Scalar("what the robots do", parse_inside, "slows to 40 %")
SETTING = Scalar("a share above 0", parse_setting, "50 %", f"^{_SHARE}$", ("string", "number"))
PAIR = Scalar("a way", parse_pair, "press > tray")
PARAMETER = Scalar("a time or count", parse_words, "24 s", f"^({_TIME}|{_NUMBER})$", ("string", "integer"))
FILE = Scalar("the name of a file beside the cell file", parse_words, "rivet_times.csv")
