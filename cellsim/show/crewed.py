"""The answer of a search for people, robots and places, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.show import Result, between, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import Console


def spelled(chosen: Mapping[str, str]) -> str:
    """What was chosen, on one line."""
    return "; ".join(f"{plain(choice)}: {plain(option)}" for choice, option in chosen.items())


def print_crewed(answer: Result, console: Console) -> None:
    """The cheapest that makes the target first, then the table by rising cost, then what was left out."""
    page = Page(console)
    rows = answer["rows"]
    page.line()
    _decision(page, answer)
    lean = answer["wip_matters"] is not None
    page.head(
        "Each row costs more than the one above and makes more"
        + (" or holds fewer units inside" if lean else "")
        + "; money per working hour"
    )
    page.table(
        [
            "",
            "cost",
            "good units\nper hour",
            "95 % interval",
            "more than\nabove",
            "units\ninside",
            "cost of\na unit",
        ],
        [_row(k, row) for k, row in enumerate(rows)],
    )
    for k, row in enumerate(rows):
        page.line(f"{k + 1}  {spelled(row['chosen'])}", indent=1)
    page.line()
    for dearer, cheaper in answer["open"]:
        page.line(
            f"Whether row {dearer + 1} makes more{' or holds fewer' if lean else ''} than row"
            f" {cheaper + 1} cannot be told from"
            f" {count_of(rows[dearer]['replications'], 'run')}."
        )
    _left_out(page, answer)


def _decision(page: Page, answer: Result) -> None:
    rows, target, found = answer["rows"], answer["target"], answer["cheapest_for_target"]
    if target is not None and found is None:
        page.line(f"No combination makes the target of {number(target)} per hour.", style="bold")
    elif target is not None:
        row = rows[found["row"]]
        how = "" if found["sure"] else " on average, not surely"
        page.line(
            f"Row {found['row'] + 1} is the cheapest that makes {number(target)} per hour{how}:"
            f" {spelled(row['chosen'])}.",
            style="bold",
        )
    cheapest = answer["cheapest_unit"]
    if cheapest is not None:
        cost = number(rows[cheapest]["cost_per_unit"])
        page.line(f"A good unit costs least in row {cheapest + 1}: {cost}, of what is counted here.")


def _row(k: int, row: Mapping[str, Any]) -> list[str]:
    out, more = row["output_per_hour"], row["more"]
    return [
        str(k + 1),
        number(row["cost_per_hour"]),
        number(out["mean"], 1),
        between(out, lambda value: number(value, 1)),
        "" if more is None else f"{more['mean']:+.1f}",
        number(row["wip"]["mean"], 1),
        "-" if row["cost_per_unit"] is None else number(row["cost_per_unit"]),
    ]


def _inside(answer: Result) -> str:
    """What was asked of units inside."""
    matters = answer["wip_matters"]
    return "" if matters is None else f", whose units inside are no more than {number(matters)} more"


def _left_out(page: Page, answer: Result) -> None:
    tried, kept = answer["combinations"], len(answer["rows"])
    matters, level = number(answer["difference"]), percent(answer["level"])
    page.line(
        f"{count_of(tried, 'combination')} were run with the same luck, {answer['replications']} runs in all."
        f" {tried - kept} of them cost as much or more and make no more than {matters} per hour more than"
        f" another{_inside(answer)} ({level} sure)."
    )
    if answer["glanced_out"]:
        page.line(
            f"{answer['glanced_out']} of these were left out at a first glance: at least 5 % behind another"
            " that costs no more, in each of 4 runs."
        )
    if answer["over_budget"]:
        page.line(f"{answer['over_budget']} more cost over {number(answer['budget'])} and were not run.")
