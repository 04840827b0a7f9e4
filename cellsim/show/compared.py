"""Proposals beside the cell as it is, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.show import Result, count_of, duration, number, percent, plain
from cellsim.show.screen_page import Page
from cellsim.study.trust import rounded_up

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import Console

NAMES = {
    "output_per_hour": "Good units per working hour",
    "output": "Good units in the counted time",
    "units_per_labour_hour": "Good units per paid labour hour",
    "wip": "Units inside",
    "lead_time": "Lead time",
}
MANY = 100_000  # replications beyond which nobody would wait


def size(value: float, unit: str) -> str:
    """The size of a figure or difference."""
    return duration(abs(value)) if unit == "s" else number(abs(value))


def signed(value: float, unit: str) -> str:
    """A difference with its sign."""
    return ("+" if value > 0 else "-" if value < 0 else "") + size(value, unit)


def verdict(difference: Mapping[str, Any], runs: int) -> str:
    """What a difference of output says, in words."""
    low, high = difference["interval"]
    unit = difference["unit"]
    if low == high == 0:
        return "exactly the same in every run"
    if low > 0 or high < 0:
        more = "more" if low > 0 else "fewer"
        near, far = sorted((abs(low), abs(high)))
        if size(near, unit) == size(far, unit):
            return f"{size(near, unit)} {more} per hour"
        return f"between {size(near, unit)} and {size(far, unit)} {more} per hour"
    range_ = f"anything from {size(low, unit)} fewer to {size(high, unit)} more is possible"
    needed = difference["replications_to_tell"]
    if needed is None or needed > MANY:
        return f"cannot tell; {range_}, and more runs would hardly help"
    return f"cannot tell; {range_}, about {count_of(max(1, needed - runs), 'more run')} would tell"


def print_comparison(answer: Result, console: Console) -> None:
    """The answer first, then every figure with its difference."""
    page = Page(console)
    runs, chief = answer["replications"], answer["chief"]
    base = answer["base"]
    page.line()
    rate = base["figures"][chief]
    page.line(f"{plain(base['name'])}: {number(rate['mean'])} good units per working hour.", style="bold")
    for proposal in answer["proposals"]:
        said = verdict(proposal["differences"][chief], runs)
        page.line(f"{plain(proposal['name'])}: {said}.", style="bold")
    many = len(answer["proposals"]) > 1
    level = percent(answer["level"])
    together = f"{level} for all proposals together (Holm)" if many else f"{level} intervals"
    page.line(f"Compared over {count_of(runs, 'run')} of each with the same luck; {together}.")
    if not answer["precision_reached"]:
        page.line("The precision that was asked for was not reached.")
    _trust(page, answer)
    _gain(page, answer)
    for name, title in NAMES.items():
        _table(page, answer, name, title)


def _trust(page: Page, answer: Result) -> None:
    """From how many runs on the intervals hold, where rare stops weigh heavily in a difference."""
    needed = [p["differences"][answer["chief"]].get("runs_to_trust") or 0 for p in answer["proposals"]]
    if most := max(needed):
        page.line(
            "A few runs unlike the rest weigh heavily in these differences: trust their intervals from about"
            f" {rounded_up(most)} runs on."
        )


def _gain(page: Page, answer: Result) -> None:
    """How much the same luck has helped."""
    gains = [p["differences"][answer["chief"]]["gain"] for p in answer["proposals"]]
    known = [gain for gain in gains if gain is not None]
    if not known:
        return
    low, high = min(known), max(known)
    times = number(low) if number(low) == number(high) else f"{number(low)} to {number(high)}"
    if high < 1.2:
        page.line("The same luck has not helped here: the two make too different use of it.")
    else:
        page.line(f"Without the same luck the differences would take {times} times as many runs.")


def _table(page: Page, answer: Result, name: str, title: str) -> None:
    """One figure of all alternatives."""
    base = answer["base"]["figures"].get(name)
    if base is None:
        return
    unit = base["unit"]
    page.head(title)
    rows = [[plain(answer["base"]["name"]), size(base["mean"], unit), "", ""]]
    for proposal in answer["proposals"]:
        own, difference = proposal["figures"].get(name), proposal["differences"].get(name)
        if own is None or difference is None:
            rows.append([plain(proposal["name"]), "-", "", ""])
            continue
        low, high = difference["interval"]
        ends = f"{signed(low, unit)} to {signed(high, unit)}"
        rows.append(
            [plain(proposal["name"]), size(own["mean"], unit), signed(difference["mean"], unit), ends]
        )
    page.table(["", "Mean", "Difference", "Interval"], rows)
