"""Shows what a study found: pictures and words, drawn from the dictionary of `result.json` and nothing else.

The words and numbers that pictures, screen and reports share are here; nothing here imports more than the
standard library.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from cellsim.units import count_of as count_of  # beside the other words

Result = Mapping[str, Any]


def plain(text: object) -> str:
    """A text of the user without characters that would steer a terminal."""
    return "".join(c if c.isprintable() else "?" for c in str(text))


def number(value: float | None, digits: int | None = None) -> str:
    """A number as people read it: whole from 1000 on, else with `digits` (1 below 1000, 2 below 10)."""
    if value is None:
        return "-"
    if digits is None:
        size = abs(value)
        digits = 0 if size >= 1000 else 1 if size >= 9.995 or size == 0 else 2
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(share: float | None, digits: int = 0) -> str:
    """A share as `56 %`; what rounds to 0 or 100 without being it says so."""
    if share is None:
        return "-"
    text = f"{100 * share:.{digits}f}"
    if share > 0 and float(text) == 0:
        return f"<{10**-digits:g} %"
    if share < 1 and float(text) == 100:
        return f">{100 - 10**-digits:g} %"
    return f"{text} %"


def duration(seconds: float | None) -> str:
    """A duration as `28.7 s`, `2 min 21 s`, `1 h 12 min` or `3 d 4 h`."""
    if seconds is None:
        return "-"
    if seconds < 59.95:
        return f"{number(seconds)} s"
    for large, small, size in (("min", "s", 60), ("h", "min", 3600), ("d", "h", 86400)):
        part = size // (24 if large == "d" else 60)
        count = round(seconds / part)
        whole, rest = divmod(count, size // part)
        if whole < (60 if large == "min" else 24) or large == "d":
            return f"{whole} {large}" + (f" {rest} {small}" if rest else "")
    raise AssertionError("a duration has days at most")


def between(entry: Mapping[str, Any] | None, show: Callable[[float], str] = number) -> str:
    """The two ends of an interval as `117.3 to 121.6`; empty where there is none."""
    low, high = (entry or {}).get("interval", (None, None))
    return "" if low is None or high is None else f"{show(low)} to {show(high)}"


def share_between(entry: Mapping[str, Any], digits: int = 0) -> str:
    """The interval of a share as `59 to 69 %`, cut at 0 and 100 % where a share can lie; empty where none."""
    low, high = entry["interval"]
    if low is None or high is None:
        return ""
    return f"{100 * max(0.0, low):.{digits}f} to {100 * min(1.0, high):.{digits}f} %"


def has_shifts(result: Result) -> bool:
    """Whether hours carry clock times; without shifts they are called `hour 1`, `hour 2`, ..."""
    hours = result["output_per_hour"]["by_clock_hour"]
    return bool(hours) and not hours[0]["hour"].startswith("hour ")


def extent(result: Result) -> str:
    """What the figures rest on, as `40 shifts of 7.75 working hours, seed 1`."""
    study = result["study"]
    runs, shifts = study["replications"], study["shifts"]
    if has_shifts(result):
        text = count_of(runs * shifts, "shift")
        per_shift = result["output_per_hour"]["per_shift"]["working_h"]
        text += f" of {number(per_shift)} working hours"
        if shifts > 1:
            text += f" ({count_of(runs, 'run')} of {shifts} shifts)"
    else:
        text = f"{count_of(runs, 'run')} of {number(study['working_h'])} working hours"
    seed = (result.get("provenance") or {}).get("seed")
    return text if seed is None else f"{text}, seed {seed}"


def answer(result: Result) -> str:
    """The output per hour in one sentence, without the name of the cell."""
    out = result["output_per_hour"]
    if out["mean"] == 0:
        return "no good unit leaves the cell"
    text = f"{number(out['mean'], 1)} good units per working hour"
    if out["p05"] is not None:
        text += f", in 9 of 10 hours {number(out['p05'])} to {number(out['p95'])}"
    return text


def cause_words(who: str, what: str) -> str:
    """A cause of the loss account in words, as `press works` or `press stands still: jam`."""
    verbs = {
        "work": "{} works",
        "handling": "{} is loaded or unloaded",
        "walking": "{} walks",
        "travelling": "{} travels",
        "breaks and off hours": "breaks and off hours",
        "waiting for raw units": "waiting for raw units",
        "waiting in turn": "waiting in turn",
        "delivery": "delivery of {}",
        "trip": "trip for {}",
        "waiting for a trip": "{}: nobody free to bring or collect",
        "collection": "collection of {}",
        "start of the run": "start of the run",
        "repair in place": "{} repairs what it rejects",
        "samples": "{} tests samples",
    }
    if what.startswith("waiting for repair: "):
        return f"{plain(who)} waits for repair: {plain(what[20:])}"
    if what.startswith("stop: "):
        return f"{plain(who)} stands still: {plain(what[6:])}"
    return verbs.get(what, "{}: " + plain(what).replace("{", "{{").replace("}", "}}")).format(plain(who))


def can_shorten(row: Mapping[str, Any]) -> bool:
    """Whether it makes sense to say what 1 % less of a cause gives."""
    return row["elasticity"] is not None and row["what"] not in ("start of the run", "waiting in turn")


def most_per_cent(row: Mapping[str, Any]) -> float:
    """What 1 % less of a cause gives at most, in per cent of the output."""
    value: float = row.get("elasticity_with_stops", row["elasticity"])
    return value


def chance_words(entry: Mapping[str, Any], of: str, count: int) -> str:
    """A chance with its interval; where all or none of the cases met the target, just that."""
    if entry["mean"] in (0, 1):
        return f"{'all' if entry['mean'] else 'none'} of the {count} {of} studied"
    ends = share_between(entry)
    return f"{percent(entry['mean'])} of the {of}" + (f" ({ends})" if ends else "")


def counted_words(result: Result) -> str:
    """Of which time a sum of a run is."""
    return "in a shift" if has_shifts(result) and result["study"]["shifts"] == 1 else "in the counted time"


def target_words(result: Result) -> str:
    """The chance to reach the target in an hour and in a shift, as one sentence; empty without a target."""
    out, shift = result["output_per_hour"], result["output_per_hour"]["per_shift"]
    if out["target"] is None:
        return ""
    text = f"The target of {number(out['target'])} per hour is reached in "
    hourly = out.get("chance_of_target_in_an_hour")
    text += chance_words(hourly, "hours", out["hours_counted"]) if hourly else "no counted hour"
    if shift.get("chance_of_target"):
        kind = "shifts" if has_shifts(result) else "runs"
        study = result["study"]
        text += f", that of {number(shift['target'])} per {kind[:-1]} in "
        text += chance_words(shift["chance_of_target"], kind, study["replications"] * study["shifts"])
    return text + "."


def lock_words(result: Result, lock: Mapping[str, Any]) -> str:
    """One locked run in words: which, when, and the circle of who waits for whom."""
    into = lock["at_s"] - result["study"]["counted_from_s"]
    if into < 0:
        when = f"{duration(-into)} before counting begins"
    elif has_shifts(result):
        start = result["output_per_hour"]["by_clock_hour"][0]["hour"]
        minutes = int(start[:2]) * 60 + int(start[3:5]) + int(into // 60)
        clock = f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
        when = f"at {clock}, {duration(into)} after the start of the first shift"
    else:
        when = f"{duration(into)} after the start"
    waits = ", ".join(lock["circle"])
    return f"run {lock['replication']}, {when}: {waits}, {full_words(lock) or 'and so round in a circle'}"


def full_words(lock: Mapping[str, Any]) -> str:
    """Which full stores hold up a locked run for good; empty where it is a circle."""
    full = [plain(name) for name in lock.get("full") or ()]
    if len(full) > 1:
        return f"{' and '.join(full)} are full and nothing takes from them"
    return f"{full[0]} is full and nothing takes from it" if full else ""


def remedy_words(result: Result) -> str:
    """What ends the locks of a result that have rework in their circle; empty where none has."""
    return " ".join(dict.fromkeys(plain(lock["remedy"]) for lock in result["locked"] if lock.get("remedy")))


MUCH_MORE = 1.2  # so much larger a share of the path than the chief cause is told


def limit_words(losses: Mapping[str, Any]) -> Iterator[str]:
    """What limits output most, whether the runs can tell it from the next cause, and whose hands it is in."""
    causes = [row for row in losses["causes"] if row["elasticity"] is not None] or losses["causes"]
    first = causes[0]
    name = cause_words(first["who"], first["what"])
    text = f"{name} ({percent(first['share'])} of the critical path)"
    if can_shorten(first):
        faster = "faster" if first["what"] == "work" else "shorter"
        text += f": 1 % {faster} there gives at most about {number(most_per_cent(first), 2)} % more"
    yield text + "."
    if len(causes) > 1:
        second = causes[1]
        low, high = first["interval"][0], second["interval"][1]
        if low is None or high is None or low <= high:
            other = cause_words(second["who"], second["what"])
            yield f"Whether this or the next ({other}) weighs more cannot be told from these runs."
    for row in losses.get("hands", ())[:1]:
        if first["who"] in row["stations"] and row["share"] > MUCH_MORE * first["share"]:
            stations = " and ".join(plain(name) for name in row["stations"])
            who, stations = plain(row["who"]), " and ".join(plain(name) for name in row["stations"])
            yield (
                f"{who} alone works at {stations}, together {percent(row['share'])} of the path:"
                f" {who} limits, more than any one of these stations."
            )


def _weight(assumption: Mapping[str, Any]) -> tuple[int, int]:
    """Where an assumption stands in the short list: stations, stores and crew first, general ones last."""
    first = str(assumption["path"]).split(".")[0]
    order = ("stations", "stores", "crew", "robots", "release", "shifts")
    return (order.index(first) if first in order else len(order), "*" in str(assumption["path"]))


def assumption_words(row: Mapping[str, Any]) -> str:
    """One assumption with its value and reason."""
    return f"{plain(row['path'])}: {plain(row['value'])} ({plain(row['why'])})"


def chief_assumptions(result: Result, most: int) -> list[Mapping[str, Any]]:
    """The `most` assumptions that matter first: those about stations, stores and crew."""
    return sorted(result["assumptions"], key=_weight)[:most]


def origin(result: Result) -> str:
    """Which version and which description made the figures; empty without provenance."""
    provenance = result.get("provenance") or {}
    parts = [f"cellsim {provenance['version']}"] if "version" in provenance else []
    if "sha256" in provenance:
        parts.append(f"description {str(provenance['sha256'])[:12]}")
    return ", ".join(parts)
