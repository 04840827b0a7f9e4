"""What a stop log says as text for the terminal and as lines for a cell file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cellsim.describe.kinds import parse_name
from cellsim.describe.writer_text import lines_of
from cellsim.show import Result, count_of, duration, number, percent, plain
from cellsim.show.screen_page import Page
from cellsim.units import UnitError, format_number

if TYPE_CHECKING:
    from rich.console import Console

SHOWN = 12  # changes of one kind that are printed; all are in the JSON
TIMES = ("mean", "time")  # keys of laws that are times


def print_stop_study(answer: Result, console: Console) -> None:
    """What was watched and changed, a row for each cause, what to look at, the lines for the cell file."""
    page = Page(console)
    page.line()
    page.line(
        f"{count_of(answer['stops'], 'stop')} of {plain(answer['file'])},"
        f" {answer['first']} to {answer['last']}:"
        f" {number(answer['planned_h'])} h of planned time,"
        f" {number(answer['shift_h'])} h of on time (with breaks)",
        style="bold",
    )
    for text in answer["quiet"]:
        page.line(plain(text), style="bold")
    for text in answer["repairs"]:
        page.line(plain(text), indent=1)
    for text in answer["assumed"]:
        page.line(f"assumed: {plain(text)}", indent=1)
    _print_changes(page, answer)
    _print_left(page, answer)
    page.head("Stops")
    page.table(
        ["Station, cause", "stops", "every h", "95 %", "lasts min", "95 %", "lost"],
        [_row(answer, cause) for cause in answer["causes"]],
    )
    page.line(
        f"every: {answer['causes'][0]['clock']} from the end of one to the next; lost: share of planned time."
    )
    for wait in answer["waits"]:
        page.line(
            f"Waiting for {plain(wait['who'])} ({count_of(wait['count'], 'stop')}): {_mean(wait['waits'])}."
            " It holds the time in which he was busy elsewhere in the cell."
        )
    for text in answer["cautions"][len(answer["quiet"]) :]:
        page.line(plain(text), style="bold")
    for cause in answer["causes"]:
        for text in _remarks(cause):
            page.line(f"{_name(cause)}: {plain(text)}", indent=1)
    page.head("For the cell file")
    for line in snippet(answer).splitlines():
        page.console.print(line, markup=False, highlight=False, soft_wrap=True)


def _print_changes(page: Page, answer: Result) -> None:
    """The changes by kind; of each kind the first ones in words."""
    if not answer["changes"]:
        page.line("Nothing was changed in cleaning.", indent=1)
        return
    page.head("Changes")
    for step in dict.fromkeys(change["step"] for change in answer["changes"]):
        found = [change for change in answer["changes"] if change["step"] == step]
        page.line(f"{step}: {count_of(len(found), 'line')}", indent=1)
        for change in found[:SHOWN]:
            page.line(f"line {change['line']}: {plain(change['text'])}", indent=2)
        if len(found) > SHOWN:
            page.line(f"and {len(found) - SHOWN} more (--json lists all)", indent=2)


def _print_left(page: Page, answer: Result) -> None:
    """What was left out as no stop of the station, and by which words."""
    if answer["left"]:
        page.head("Left out, since the simulation finds these waits itself (--keep CAUSE keeps one)")
    for cause, count, seconds in answer["left"]:
        page.line(f"{plain(cause)}: {count_of(count, 'row')}, {duration(seconds)}", indent=1)
    words = "; ".join(
        f"{kind} ({', '.join(phrase for phrase in phrases if phrase != kind)[:38].rpartition(',')[0]}, ...)"
        for kind, phrases in answer["words"].items()
    )
    page.line(f"Words looked for: {words}. Leave a wait by another name out with --exclude CAUSE.", indent=1)


def _row(answer: Result, cause: Mapping[str, Any]) -> list[str]:
    every, lasts = cause["every"]["bounds"], (cause["lasts"] or {}).get("bounds")
    return [
        _name(cause),
        str(cause["count"]),
        number(every["mean"] / 3600),
        _ends(every, 3600),
        "-" if lasts is None else number(lasts["mean"] / 60),
        "-" if lasts is None else _ends(lasts, 60),
        percent(cause["lost_share"], 1),
    ]


def _name(cause: Mapping[str, Any]) -> str:
    return plain(f"{cause['station']}, {cause['cause']}")


def _ends(bounds: Mapping[str, float], unit: float) -> str:
    return f"{number(bounds['low'] / unit)} to {number(bounds['high'] / unit)}"


def _mean(estimate: Mapping[str, Any]) -> str:
    bounds = estimate["bounds"]
    return f"mean {duration(bounds['mean'])} ({duration(bounds['low'])} to {duration(bounds['high'])})"


def _remarks(cause: Mapping[str, Any]) -> list[str]:
    found = []
    if cause["not_ended"]:
        found.append(f"{cause['not_ended']} of {cause['count']} had not ended when watched last")
    if cause["unseen_share"]:
        found.append(
            f"{percent(cause['unseen_share'])} of the stops are taken to be too short to be logged; every"
            f" {duration(cause['seen_every_s'])} one is long enough"
        )
    found += cause["remarks"]
    for key in ("every", "lasts"):
        if cause[key] is not None and cause[key]["fits"]:
            found.append(f"{key}: {cause[key]['law']}; {cause[key]['why']}")
    return found


def snippet(answer: Result) -> str:
    """Stops for the cell file, each with its laws and where they come from."""
    owners: dict[str, dict[str, Any]] = {"stations": {}, "robots": {}}
    unknown = [
        f"# {_name(cause)}: no end of such a stop was seen, so it is not here."
        for cause in answer["causes"]
        if cause["lasts"] is None
    ]
    for name, cause in _named(answer):
        stops = owners[cause["kind"]].setdefault(cause["station"], {"stops": {}})["stops"]
        stops[name] = _stop(answer, cause)
    crew = {
        wait["post"]: {
            "response": _value(wait["waits"]["value"]),
            "origin": f"measured, {answer['file']}, {count_of(wait['count'], 'arrival')},"
            f" {_mean(wait['waits'])}",
        }
        for wait in answer["waits"]
        if wait["post"]
    }
    lines = [
        f"# Stops from {answer['file']}, {answer['first']} to {answer['last']}; put them into the cell file.",
        *unknown,
    ]
    for key, value in (("crew", crew), *owners.items()):
        if value:
            lines += lines_of(key, value, 0)
    return "\n".join(lines) + "\n"


def ranges_text(answer: Result) -> str:
    """Within which limits the stops of the snippet lie at 95 %, as ranges for `sensitivity`."""
    lines = [f"# How sure the stops from {answer['file']} are: 95 % bounds of their means."]
    for name, cause in _named(answer):
        path = f"{cause['kind']}.{cause['station']}.stops.{name}"
        plainly = cause["every"]["law"] == "exponential"
        after = f" of {cause['clock']}" if plainly else ""
        lines.append(f"{path}.every: {_limits(cause['every']['bounds'])}{after}")
        if "mean" in cause["lasts"]["value"]:  # measured lengths tell by themselves how sure they are
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
        name, base, k = _key(cause["cause"]), _key(cause["cause"]), 2
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
    entry["origin"] = (
        f"measured, {answer['file']},"
        f" {count_of(cause['count'], 'stop')} in {number(cause['watched_s'] / 3600)} h"
        f" {clock}; at 95 % every {_ends(every['bounds'], 3600)} h,"
        f" lasts{hands_on} {_ends(lasts['bounds'], 60)} min{unseen}{thin}"
    )
    return entry


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
