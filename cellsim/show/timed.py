"""A time study as text for the terminal and as lines for a cell file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cellsim.describe.writer_text import lines_of
from cellsim.show import Result, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console


def print_time_study(answer: Result, console: Console) -> None:
    """A row for each element, then what should be looked at, then the lines for the cell file."""
    page = Page(console)
    page.line()
    page.line(f"{count_of(len(answer['elements']), 'work element')} of {plain(answer['file'])}", style="bold")
    for text in answer["repairs"]:
        page.line(plain(text), indent=2)
    page.line()
    page.table(
        ["Element", "cycles", "needed", "mean s", "+- s", "spread", "P5 to P95", "standard s"],
        [_row(element) for element in answer["elements"]],
    )
    page.line("Times at normal pace; +- and needed cycles (for 5 %) are 95 % sure.")
    for element in answer["elements"]:
        for text in remarks(element):
            page.line(f"{_name(element)}: {plain(text)}", indent=1)
    if not answer["by"]:
        for text in operators(answer):
            page.line(plain(text), indent=1)
    page.head("For the cell file")
    for line in snippet(answer).splitlines():
        page.console.print(line, markup=False, highlight=False, soft_wrap=True)


def _row(element: Mapping[str, Any]) -> list[str]:
    low, high = element["interval_s"]
    return [
        _name(element),
        str(len(element["cycles"])),
        str(element["needed"]),
        number(element["basic_s"]),
        "" if low is None else number((high - low) / 2),
        percent(element["spread"]),
        f"{number(element['p05_s'])} to {number(element['p95_s'])}",
        number(element["standard_s"]),
    ]


def _name(element: Mapping[str, Any]) -> str:
    """The name of an element, after its station where the sheet says one."""
    return plain(f"{element['station']}, {element['name']}" if element["station"] else element["name"])


def operators(answer: Result) -> list[str]:
    """Whom the sheet names at each station, as a hint for `by`."""
    found: dict[str, list[str]] = {}
    for element in answer["elements"]:
        found.setdefault(element["station"], []).extend(c["operator"] for c in element["cycles"])
    out = []
    for station, people in found.items():
        names = [name for name in dict.fromkeys(people) if name]
        if names:
            where = f" at {station}" if station else ""
            out.append(f"timed{where}: {', '.join(names)}; say with --by which post of the cell that is")
    return out


def remarks(element: Mapping[str, Any]) -> list[str]:
    """What should be looked at before an element is used, and why it has its law."""
    found = []
    if not element["enough"]:
        more = element["needed"] - len(element["cycles"])
        found.append(f"too few cycles for 5 %; time {count_of(more, 'more cycle')}")
    for cycle in element["outliers"]:
        remark = f" ({cycle['remark']})" if cycle["remark"] else ""
        found.append(
            f"line {cycle['line']}: {number(cycle['seconds'])} s stands out{remark}; it is used. If it was a"
            f" stop, put it among the stops and leave it out with --leave-out {cycle['line']}"
        )
    for cycle in element["left_out"]:
        found.append(f"line {cycle['line']}: {number(cycle['seconds'])} s was left out as asked")
    found += element["remarks"]
    found.append(f"law: {element['why']}")
    return found


def snippet(answer: Result) -> str:
    """Work elements for the cell file, each with its law and where it comes from."""
    lines = [
        f"# Element times from {answer['file']}, at normal pace; put them under a station of the cell file."
    ]
    if answer["allowance"]:
        lines.append(f"allowance: {100 * answer['allowance']:.4g} %")
    stations = dict.fromkeys(element["station"] for element in answer["elements"])
    if any(stations):
        lines[0] = f"# Element times from {answer['file']}, at normal pace; put them into the cell file."
        lines.append("stations:")
    for station in stations:
        pad = "    " if station else ""
        if station:
            lines += [f"  {lines_of(station, {}, 0)[0].removesuffix(' {}')}"]
        own = [element for element in answer["elements"] if element["station"] == station]
        lines += [pad + line for line in ["work:", *_work(own, answer)]]
    return "\n".join(lines) + "\n"


def _work(elements: Sequence[Mapping[str, Any]], answer: Result) -> list[str]:
    """Entries of the list `work` of one station."""
    lines = []
    for element in elements:
        low, high = element["interval_s"]
        sure = "" if low is None else f", mean {number(low)} to {number(high)} s at 95 %"
        origin = f"measured, {answer['file']}, {count_of(len(element['cycles']), 'cycle')}{sure}"
        lines.append(f"  - {lines_of('do', element['name'], 0)[0]}")
        lines.append(f"    time: {element['law']}")
        if answer["by"]:
            lines.append(f"    {lines_of('by', answer['by'], 0)[0]}")
        lines.append(f"    origin: {_quoted(origin)}")
    return lines


def ranges_text(answer: Result, station: str) -> str:
    """Within which limits the mean times lie at 95 %, as ranges for `sensitivity`.

    `station`: the one of these elements where the sheet says none.
    Measured times that are drawn themselves say by themselves how sure they are.
    """
    lines = [f"# How sure the times from {answer['file']} are: 95 % bounds of their means."]
    places: dict[str, int] = {}
    for element in answer["elements"]:
        where = element["station"] or station
        k = places[where] = places.get(where, 0) + 1
        low, high = element["interval_s"]
        if low is not None and low < high and "mean:" in element["law"]:
            path = f"stations.{where}.work[{k}].time"
            lines.append(f"{path}: {number(max(low, 0.0))} s to {number(high)} s")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
