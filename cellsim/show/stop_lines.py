"""What a stop log says as lines for a cell file, and as ranges for `sensitivity`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cellsim.describe.kinds import parse_name
from cellsim.describe.writer_text import lines_of
from cellsim.show import Result, count_of, duration, number, percent
from cellsim.units import UnitError, format_number

TIMES = ("mean", "time")  # keys of laws that are times
ALL_EQUAL = "all equal"


@dataclass(frozen=True, slots=True)
class Part:
    """Lines for one owner (station, robot or post) of a cell file.

    `table` is where it stands (`stations`, `robots`, `crew`), `values` what is new by key, `there` the names
    that each key of the owner has in the cell file already (empty: the key is not there).
    """

    table: str
    owner: str
    values: dict[str, Any]
    there: Mapping[str, list[str]]

    def whole(self) -> list[str]:
        """The owner with all its keys, as it stands in its table."""
        return lines_of(self.owner, self.values, 1)

    def pasted(self) -> list[str]:
        """The lines below the owner, each with what they stand below or in place of."""
        place = f"# {self.table}: {self.owner}:"
        if self.table == "crew":
            where = "in place of its response" if self.there else "with its other keys"
            return [f"{place} {where}", *self.whole()[1:]]
        found: list[str] = []
        for key, value in self.values.items():
            names = self.there.get(key, [])
            if not names:
                found += [f"{place} below its other keys", *lines_of(key, value, 2)]
                continue
            same = [name for name in value if name in names]
            instead = f", in place of {', '.join(same)}" if same else ""
            found.append(f"{place} into its {key}{instead}")
            found += [line for name, entry in value.items() for line in lines_of(name, entry, 3)]
        return found


def snippet(answer: Result) -> str:
    """Stops and services as YAML of its own, each with its laws and where they come from."""
    lines = [
        f"# Stops from {_period(answer)}. A cell file has crew: and stations: already, once each;",
        "# put what is new under the names that are there.",
        *_unknown(answer),
    ]
    table = ""
    for part in parts(answer):
        lines += [f"{part.table}:"] if part.table != table else []
        lines += part.whole()
        table = part.table
    return "\n".join(lines) + "\n"


def pasted(answer: Result) -> str:
    """The same as pieces to paste into the cell file, each below a comment that says where it goes."""
    lines = [
        f"# Stops from {_period(answer)}.",
        "# Each part goes where the comment above it says, indented as it stands.",
        *_unknown(answer),
    ]
    for part in parts(answer):
        lines += part.pasted()
    return "\n".join(lines) + "\n"


def _period(answer: Result) -> str:
    return f"{answer['file']}, {answer['first']} to {answer['last']}"


def _unknown(answer: Result) -> list[str]:
    """Causes that are not among the lines, as comments."""
    return [
        f"# {cause['station']}, {cause['cause']}: no end of such a stop was seen, so it is not here."
        for cause in answer["causes"]
        if cause["lasts"] is None
    ]


def parts(answer: Result) -> list[Part]:
    """The lines for the cell file by post, station and robot."""
    owners: dict[tuple[str, str], dict[str, Any]] = {}
    for wait in answer["waits"]:
        if wait["post"]:
            owners["crew", wait["post"]] = {
                "response": _value(wait["waits"]["value"]),
                "origin": f"measured, {answer['file']}, {count_of(wait['count'], 'arrival')},"
                f" {mean_text(wait['waits'], 'arrival')}",
            }
    for name, cause in _named(answer):
        values = owners.setdefault((cause["kind"], cause["station"]), {})
        values.setdefault("stops", {})[name] = _stop(answer, cause)
    for planned in answer["planned"]:
        if entry := service_of(planned):
            values = owners.setdefault((planned["kind"], planned["station"]), {})
            name = _key(planned["cause"])
            name = f"planned {name}"[:60] if name in values.get("stops", {}) else name
            origin = f"measured, {answer['file']}, {count_of(planned['count'], 'time')}"
            values.setdefault("service", {})[name] = entry | {"origin": origin}
    order = ("crew", "stations", "robots")
    return [
        Part(table, owner, values, answer["there"].get(table, {}).get(owner, {}))
        for (table, owner), values in sorted(owners.items(), key=lambda item: order.index(item[0][0]))
    ]


def service_of(planned: Mapping[str, Any]) -> dict[str, Any]:
    """Planned stops as a service of a cell file; empty where they are none or their rhythm is not plain."""
    if planned["belongs"] != "service" or planned["lasts_s"] is None:
        return {}
    if not planned["at"] and planned["every_h"] is None:
        return {}
    entry = _when(planned) | {"lasts": _time(_rounded(planned["lasts_s"]))}
    return entry | ({"by": planned["by"]} if planned["by"] else {})


def _when(planned: Mapping[str, Any]) -> dict[str, Any]:
    if planned["at"]:
        return {"at": planned["at"][0] if len(planned["at"]) == 1 else planned["at"]}
    hours = format_number(float(f"{planned['every_h']:.3g}"))
    return {"every": f"{hours} h of on time"}


def example_of(planned: Mapping[str, Any]) -> str:
    """One line for the cell file as planned stops would stand there if they came every week (or so)."""
    lasts = _time(_rounded(planned["lasts_s"])) if planned["lasts_s"] is not None else "20 min"
    by = {"by": planned["by"]} if planned["by"] else {}
    if planned["belongs"] == "changeover":
        return lines_of("changeover", {"time": lasts} | by, 1)[0].strip()
    if planned["belongs"] == "break":
        return lines_of("breaks", [{"at": planned["first"].split()[-1], "for": lasts}], 1)[0].strip()
    entry = {_key(planned["cause"]): {"at": planned["first"], "lasts": lasts} | by}
    return lines_of("service", entry, 1)[0].strip()


def _rounded(seconds: float) -> float:
    """Planned work to half minutes where it takes some minutes."""
    return round(seconds / 30) * 30.0 if seconds >= 300 else seconds


def ranges_text(answer: Result) -> str:
    """Within which limits the stops of the snippet lie at 95 %, as ranges for `sensitivity`."""
    lines = [f"# How sure the stops from {answer['file']} are: 95 % bounds of their means."]
    for name, cause in _named(answer):
        path = f"{cause['kind']}.{cause['station']}.stops.{name}"
        if not cause["every"]["interval"]:
            lines.append(f"# {path}: one stop says nothing of how sure it is")
            continue
        plainly = cause["every"]["law"] == "exponential"
        after = f" of {cause['clock']}" if plainly else ""
        lines.append(f"{path}.every: {_limits(cause['every']['bounds'])}{after}")
        if (
            "mean" in cause["lasts"]["value"] and cause["lasts"]["interval"]
        ):  # measured lengths tell it themselves
            lines.append(f"{path}.lasts: {_limits(cause['lasts']['bounds'])}")
    return "\n".join(lines) + "\n"


def _limits(bounds: Mapping[str, float]) -> str:
    return f"{_time(bounds['low'])} to {_time(bounds['high'])}"


def _named(answer: Result) -> list[tuple[str, Mapping[str, Any]]]:
    """The stops whose ends were seen, each with its name in the cell file, which no other has there."""
    taken: set[tuple[str, str, str]] = set()
    found = []
    for cause in answer["causes"]:
        if cause["lasts"] is None:
            continue
        owner = cause["kind"], cause["station"]
        there = answer["there"][cause["kind"]][cause["station"]]["stops"]
        base = next(
            (name for name in there if name.casefold() == cause["cause"].casefold()), _key(cause["cause"])
        )
        name, k = base, 2
        while (*owner, name) in taken:
            name, k = f"{base[:56]} {k}", k + 1
        taken.add((*owner, name))
        found.append((name, cause))
    return found


def _stop(answer: Result, cause: Mapping[str, Any]) -> dict[str, Any]:
    every, lasts = cause["every"], cause["lasts"]
    plainly = every["law"] == "exponential"
    clock = cause["clock"]
    entry: dict[str, Any] = {
        "every": f"{_time(every['value']['mean'])} of {clock}"
        if plainly
        else {**_value(every["value"]), "of": clock},
        "lasts": _value(lasts["value"]),
    }
    if cause["cleared_by"]:
        entry["cleared_by"] = cause["cleared_by"]
    hands_on = " from arrival to end" if cause["hands_on"] else ""
    thin = "; thin data, the band is wider" if cause["thin"] else ""
    unseen = f"; {percent(cause['unseen_share'])} never logged, added" if cause["unseen_share"] else ""
    sure = "one stop, so no interval"
    if every["interval"]:
        sure = f"at 95 % every {ends(every, 3600)} h, lasts{hands_on} {ends(lasts, 60)}"
        sure += " min" if lasts["interval"] and lasts["law"] != "fixed" else ""
    entry["origin"] = (
        f"measured, {answer['file']},"
        f" {count_of(cause['count'], 'stop')} in {number(cause['watched_s'] / 3600)} h"
        f" {clock}; {sure}{unseen}{thin}"
    )
    return entry


def ends(estimate: Mapping[str, Any], unit: float) -> str:
    """The interval of a mean in units of so many seconds, or why there is none."""
    bounds = estimate["bounds"]
    if not estimate["interval"]:
        return "no interval"
    if estimate["law"] == "fixed":
        return ALL_EQUAL
    return f"{number(bounds['low'] / unit)} to {number(bounds['high'] / unit)}"


def mean_text(estimate: Mapping[str, Any], of_what: str) -> str:
    """A mean with its interval in words; of one value without."""
    bounds = estimate["bounds"]
    if not estimate["interval"]:
        return f"mean {duration(bounds['mean'])} (one {of_what}, so no interval)"
    return f"mean {duration(bounds['mean'])} ({duration(bounds['low'])} to {duration(bounds['high'])})"


def _key(cause: str) -> str:
    """A cause as a name that a cell file may hold."""
    try:
        return parse_name(cause)
    except UnitError:
        kept = "".join(c if c.isalnum() or c in " .'/+&#()-" else " " for c in cause)
        kept = " ".join(kept.split()).lstrip(" .'/+&#()-")[:55].strip()
        return f"{kept} stop" if len(kept) < 3 or kept.casefold() == cause.casefold() else kept


def _value(value: Mapping[str, Any]) -> dict[str, Any]:
    """The keys of a law as texts of a cell file."""
    out: dict[str, Any] = {}
    for key, part in value.items():
        if key == "measured":
            out[key] = [_time(seconds) for seconds in part]
        elif key in TIMES:
            out[key] = _time(part)
        elif key == "spread":
            out[key] = f"{format_number(float(f'{100 * part:.3g}'))} %"
        else:
            out[key] = part if isinstance(part, str) else format_number(float(f"{part:.3g}"))
    return out


def _time(seconds: float) -> str:
    """A time to four digits in the unit that people would use."""
    unit, size = ("h", 3600) if seconds >= 7200 else ("min", 60) if seconds >= 120 else ("s", 1)
    return f"{format_number(float(f'{seconds / size:.4g}'))} {unit}"
