"""A time study as text for the terminal and as lines for a cell file."""

from __future__ import annotations

import string
import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cellsim.describe.writer_text import lines_of
from cellsim.evidence.sheet import place_of, remark_of
from cellsim.show import Result, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

FEW = 20  # cycles below which P5 and P95 are simply the least and the most
_TYPED_BARE = frozenset(string.ascii_letters + string.digits + "._-")  # what every shell takes as it is
TEXT_WIDTH = 78  # of the comments in the lines for the cell file


def print_time_study(answer: Result, console: Console) -> None:
    """A row for each element, then what should be looked at, then the lines for the cell file."""
    page = Page(console)
    page.line()
    page.line(f"{count_of(len(answer['elements']), 'work element')} of {plain(answer['file'])}", style="bold")
    for text in [*answer["repairs"], *unused(answer)]:
        page.line(plain(text), indent=2)
    page.line()
    elements = answer["elements"]
    few = [len(element["cycles"]) < FEW for element in elements]
    span = "least to most" if all(few) else "P5 to P95"
    mark = "*" if any(few) and not all(few) else ""
    page.table(
        ["Element", "cycles", "needed", "mean s", "+- s", "spread", span, "standard s"],
        [_row(element, mark) for element in elements],
    )
    if mark:
        page.line(f"{mark} fewer than {FEW} cycles: least to most.")
    page.line(f"{pace(answer)}; +- and needed cycles (for 5 %) are 95 % sure.")
    if not answer["rated"]:
        page.line("No rating was read: head its column rating [%], 100 for normal pace.")
    for element in elements:
        for text in remarks(element):
            page.line(f"{_name(element)}: {plain(text)}", indent=1)
    if text := who(answer):
        page.line(plain(text), indent=1)
    page.head("For the cell file")
    for line in snippet(answer).splitlines():
        page.console.print(line, markup=False, highlight=False, soft_wrap=True)


def pace(answer: Result) -> str:
    """At which pace the times are, by whether the sheet has ratings."""
    return "Times at normal pace" if answer["rated"] else "Times as observed, unrated"


def unused(answer: Result) -> list[str]:
    """The columns that were not used, each with what it might have been."""
    found = []
    for column in answer["unused"]:
        name = (
            f'column {column["place"]} "{column["heading"]}"'
            if column["heading"]
            else (f"column {column['place']}, which has no heading,")
        )
        guess = {"": "", "summary": "; it looks like a summary"}.get(
            column["maybe"], f"; if it is the {column['maybe']}, head it {column['maybe']}"
        )
        found.append(f"{name} was not used{guess}")
    return found


def _row(element: Mapping[str, Any], mark: str) -> list[str]:
    low, high = element["interval_s"]
    few = len(element["cycles"]) < FEW
    seconds = [cycle["seconds"] * cycle["rating"] for cycle in element["cycles"]]
    span = (min(seconds), max(seconds)) if few else (element["p05_s"], element["p95_s"])
    return [
        _name(element) + (" (machine)" if element["alone"] else ""),
        str(len(element["cycles"])),
        str(element["needed"]),
        number(element["basic_s"]),
        "" if low is None else number((high - low) / 2),
        percent(element["spread"]),
        f"{number(span[0])} to {number(span[1])}{mark if few else ''}",
        number(element["standard_s"]),
    ]


def _name(element: Mapping[str, Any]) -> str:
    """The name of an element, after its station where the sheet says one."""
    return plain(", ".join(dict.fromkeys(name for name in (element["station"], element["name"]) if name)))


def who(answer: Result) -> str:
    """Whom the sheet names, and how to say who of the cell does the elements; empty if it names nobody."""
    taken: dict[str, None] = {}
    shared, without = [], []
    for element in answer["elements"]:
        timed = list(dict.fromkeys(c["operator"] for c in element["cycles"] if c["operator"]))
        if len(timed) == 1 and element["by"] == timed[0]:
            taken.setdefault(timed[0])
        elif len(timed) > 1 and not element["by"]:
            shared.append(f"{_name(element)} ({', '.join(timed)})")
        elif not element["by"] and not element["alone"]:
            without.append(element["name"])
    said = []
    if taken:
        said.append(f"by is who the sheet names: {', '.join(taken)}")
    if shared:
        said.append(f"several people were timed at {', '.join(shared)}, so they have no by")
    if without:
        have = "has" if len(without) == 1 else "have"
        said.append(
            f"{count_of(len(without), 'element')} {have} no by, and the cell file takes that for a machine"
            " alone"
        )
    if not said:
        return ""
    example = _call(next(iter(taken), "NAME"), "POST")
    others = (element["name"] for element in answer["elements"] if not element["alone"])
    machine = _call(next(iter([*without, *others])), "nobody")
    return (
        f"{'; '.join(said)}. For a post of the cell say --by {example}; the name is a person, an element or a"
        f" station. --by POST alone is for all. What a machine does alone: --by {machine}"
    )


def _call(name: str, post: str) -> str:
    """The value of --by as it is typed."""
    return f'"{name}={post}"' if set(name) - _TYPED_BARE else f"{name}={post}"


def remarks(element: Mapping[str, Any]) -> list[str]:
    """What should be looked at before an element is used, and why it has its law."""
    found = []
    if not element["enough"]:
        more = element["needed"] - len(element["cycles"])
        found.append(f"too few cycles for 5 %; time {count_of(more, 'more cycle')}")
    for cycle in element["outliers"]:
        remark = remark_of(cycle["remark"], cycle["column"])
        found.append(
            f"{_place(cycle)}: {number(cycle['seconds'])} s stands out{remark}; it is used. If it was a"
            f" stop, put it among the stops and leave it out with --leave-out {_leave_out(cycle)}"
        )
    for cycle in element["left_out"]:
        found.append(f"{_place(cycle)}: {number(cycle['seconds'])} s was left out as asked")
    found += element["remarks"]
    if element["alone"]:
        found.append("a machine does it alone, so its standard has no allowance")
    found.append(f"law: {element['why']}")
    return found


def _place(cycle: Mapping[str, Any]) -> str:
    return place_of(cycle["line"], cycle["column"])


def _leave_out(cycle: Mapping[str, Any]) -> str:
    return f"{cycle['line']}:{cycle['column']}" if cycle["column"] else str(cycle["line"])


def snippet(answer: Result) -> str:
    """Work elements for the cell file with law and origin; comments say where they go."""
    stations = dict.fromkeys(element["station"] for element in answer["elements"])
    lines = []
    if answer["allowance"]:
        lines += _comment("Paste this line at the top of the file; it counts for all stations:")
        lines.append(f"allowance: {100 * answer['allowance']:.4g} %")
    if any(stations):
        lines += _comment(
            "Paste this under the one key stations of the file; where a station is there already, put its"
            " work in place of its own work or cycle."
        )
    else:
        lines += _comment("Paste each element under its station in the file (stations, NAME, work).")
        lines += _comment(
            "The sheet names no station. Say --station NAME if all are done at one, or give it a column"
            " headed station."
        )
    lines += _comment(f"{pace(answer)}, from {answer['file']}:")
    if any(stations):
        lines.append("stations:")
    for station in stations:
        pad = "    " if station else ""
        if station:
            lines += [f"  {lines_of(station, {}, 0)[0].removesuffix(' {}')}"]
        own = [element for element in answer["elements"] if element["station"] == station]
        lines += [pad + line for line in ["work:", *_work(own, answer)]]
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    """A text as lines of comment."""
    return [f"# {line}" for line in textwrap.wrap(text, TEXT_WIDTH - 2, break_on_hyphens=False)]


def _work(elements: Sequence[Mapping[str, Any]], answer: Result) -> list[str]:
    """Entries of the list `work` of one station."""
    lines = []
    for element in elements:
        low, high = element["interval_s"]
        sure = "" if low is None else f", mean {number(low)} to {number(high)} s at 95 %"
        unrated = "" if answer["rated"] else ", unrated"
        origin = f"measured, {answer['file']}, {count_of(len(element['cycles']), 'cycle')}{unrated}{sure}"
        lines.append(f"  - {lines_of('do', element['name'], 0)[0]}")
        lines.append(f"    time: {element['law']}")
        if element["by"]:
            lines.append(f"    {lines_of('by', element['by'], 0)[0]}")
        lines.append(f"    origin: {_quoted(origin)}")
    return lines


def ranges_text(answer: Result) -> str:
    """Within which limits the mean times lie at 95 %, as ranges for `sensitivity`; each has its station.

    Measured times that are drawn themselves say by themselves how sure they are.
    """
    lines = [f"# How sure the times from {answer['file']} are: 95 % bounds of their means."]
    places: dict[str, int] = {}
    for element in answer["elements"]:
        where = element["station"]
        k = places[where] = places.get(where, 0) + 1
        low, high = element["interval_s"]
        if low is not None and low < high and "mean:" in element["law"]:
            path = f"stations.{where}.work[{k}].time"
            lines.append(f"{path}: {number(max(low, 0.0))} s to {number(high)} s")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
