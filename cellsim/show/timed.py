"""A time study as text for the terminal and as lines for a cell file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

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
            page.line(f"{plain(element['name'])}: {plain(text)}", indent=1)
    page.head("For the cell file")
    for line in snippet(answer).splitlines():
        page.console.print(line, markup=False, highlight=False, soft_wrap=True)


def _row(element: Mapping[str, Any]) -> list[str]:
    low, high = element["interval_s"]
    return [
        plain(element["name"]),
        str(len(element["cycles"])),
        str(element["needed"]),
        number(element["basic_s"]),
        "" if low is None else number((high - low) / 2),
        percent(element["spread"]),
        f"{number(element['p05_s'])} to {number(element['p95_s'])}",
        number(element["standard_s"]),
    ]


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
    lines.append("work:")
    for element in answer["elements"]:
        low, high = element["interval_s"]
        sure = "" if low is None else f", mean {number(low)} to {number(high)} s at 95 %"
        origin = f"measured, {answer['file']}, {count_of(len(element['cycles']), 'cycle')}{sure}"
        lines.append(f"  - do: {element['name']}")
        lines.append(f"    time: {element['law']}")
        if answer["by"]:
            lines.append(f"    by: {answer['by']}")
        lines.append(f"    origin: {_quoted(origin)}")
    return "\n".join(lines) + "\n"


def ranges_text(answer: Result, station: str) -> str:
    """Within which limits the mean times lie at 95 %, as ranges for `sensitivity`, under this station.

    Measured times that are drawn themselves say by themselves how sure they are.
    """
    lines = [f"# How sure the times from {answer['file']} are: 95 % bounds of their means."]
    for k, element in enumerate(answer["elements"], 1):
        low, high = element["interval_s"]
        if low is not None and low < high and "mean:" in element["law"]:
            path = f"stations.{station}.work[{k}].time"
            lines.append(f"{path}: {number(low)} s to {number(high)} s")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
