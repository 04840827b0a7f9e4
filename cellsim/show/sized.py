"""The answer of a search for places, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.show import Result, between, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import Console

MOST_ROWS = 12  # of the curve and of what one more place gives


def spelled(places: Mapping[str, int]) -> str:
    """Places by store on one line."""
    return ", ".join(f"{plain(store)} {count}" for store, count in places.items())


def sure(answer: Result) -> str:
    """Whether the target is reached and how sure that is, in words."""
    target, level = number(answer["target"]), percent(answer["level"])
    if answer["enough"]["sure"]:
        return f"The target of {target} per hour is reached ({level} sure)."
    matters = number(answer["difference"])
    return f"The target of {target} per hour is reached on average, to within {matters} per hour."


def print_sized(answer: Result, console: Console) -> None:
    """The places first, then how sure they are, the curve, and what one more gives."""
    page = Page(console)
    rate = answer["rate"]
    page.line()
    page.line(f"{count_of(answer['total'], 'place')}: {spelled(answer['places'])}.", style="bold")
    page.line(
        f"They make {number(rate['mean'])} good units per working hour ({between(rate)}).", style="bold"
    )
    if answer["target"] is not None:
        page.line(sure(answer))
    if answer.get("profit_per_hour") is not None:
        page.line(f"Profit per working hour: {number(answer['profit_per_hour'])}.")
    now = answer["now"]
    page.line(
        f"Now: {count_of(now['total'], 'place')} ({spelled(now['places'])}),"
        f" {number(now['mean'])} per hour ({between(now)})."
    )
    page.line(f"The search stopped because {answer['why']}.")
    less = answer["one_less"]
    if less is not None:
        page.line(
            f"With one fewer: {spelled(less['places'])}: {number(less['mean'])} per hour ({between(less)})."
        )
    page.line(_promise(answer))
    _curve(page, answer)
    _one_more(page, answer)
    page.line()
    page.line(f"{answer['allocations']} allocations were tried in {answer['replications']} runs.")


def _promise(answer: Result) -> str:
    """What is sure of the neighbours of what was found."""
    others, matters = len(answer["open"]), number(answer["difference"])
    level, less = percent(answer["level"]), answer["one_less"]
    if answer["target"] is None and others:
        may = f"{count_of(others, 'neighbour')} may be better by {matters} per hour or more"
        return f"{may}; more runs would tell."
    if answer["target"] is None:
        return f"No single move of a place gives {matters} per hour more ({level} sure)."
    if less is None:
        return "Fewer places were not tried, since no store can have fewer."
    total = count_of(answer["total"] - 1, "place")
    if others:
        ways = count_of(others, "other way", "other ways")
        return f"{ways} to use {total} may make the target; more runs would tell."
    return (
        f"No use of {total} that is one move away from it makes the target, or comes nearer by {matters} per"
        f" hour ({level} sure)."
    )


def _curve(page: Page, answer: Result) -> None:
    rows = answer["curve"]
    if len(rows) > MOST_ROWS:
        here = next(k for k, row in enumerate(rows) if row["total"] == answer["total"])
        first = max(0, min(here - MOST_ROWS // 2, len(rows) - MOST_ROWS))
        rows = rows[first : first + MOST_ROWS]
    page.head("Good units per working hour by number of places")
    cells = [
        [str(row["total"]), number(row["mean"], 1), between(row, _one), spelled(row["places"])]
        for row in rows
    ]
    page.table(["Places", "Mean", "95 % interval", "Best use that was tried"], cells, texts=(3,))


def _one(value: float) -> str:
    return number(value, 1)


def _one_more(page: Page, answer: Result) -> None:
    rows = answer["one_more"][:MOST_ROWS]
    if not rows:
        return
    page.head("What one more place gives")
    page.table(["Store", "Per hour", "95 % interval"], [_gain(row) for row in rows])


def _gain(row: Mapping[str, Any]) -> list[str]:
    return [plain(row["store"]), f"{row['mean']:+.2f}", between(row, lambda value: f"{value:+.2f}")]
