"""The answer of a search for people, robots and places, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.show import Result, between, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import Console


def spelled(chosen: Mapping[str, str]) -> str:
    """What was chosen, on one line."""
    return "; ".join(f"{plain(choice)}: {plain(option)}" for choice, option in chosen.items())


def print_crewed(answer: Result, console: Console) -> None:
    """The cheapest that makes the target first, then the table by rising cost, then what was left out."""
    page = Page(console)
    rows = answer["rows"]
    page.line()
    for k, text in enumerate(decision_lines(answer)):
        page.line(text, style="bold" if k == 0 and answer["target"] is not None else "")
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
    for pair in answer["open"]:
        page.line(open_words(answer, pair))
    for text in left_out_lines(answer):
        page.line(text)


def decision_lines(answer: Result) -> Iterator[str]:
    """Which row is the cheapest for the target, where there is one, and in which a good unit costs least."""
    rows, target, found = answer["rows"], answer["target"], answer["cheapest_for_target"]
    if target is not None and found is None:
        yield f"No combination makes the target of {number(target)} per hour."
    elif target is not None:
        row = rows[found["row"]]
        how = "" if found["sure"] else " on average, not surely"
        yield (
            f"Row {found['row'] + 1} is the cheapest that makes {number(target)} per hour{how}:"
            f" {spelled(row['chosen'])}."
        )
    cheapest = answer["cheapest_unit"]
    if cheapest is not None:
        cost = number(rows[cheapest]["cost_per_unit"])
        yield f"A good unit costs least in row {cheapest + 1}: {cost}, of what is counted here."


def open_words(answer: Result, pair: Sequence[int]) -> str:
    """That a dearer row cannot be told from a cheaper one; `pair` holds their positions."""
    dearer, cheaper = pair
    lean = " or holds fewer" if answer["wip_matters"] is not None else ""
    runs = count_of(answer["rows"][dearer]["replications"], "run")
    return f"Whether row {dearer + 1} makes more{lean} than row {cheaper + 1} cannot be told from {runs}."


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


def left_out_lines(answer: Result) -> Iterator[str]:
    """What was run, and what was left out for which reason."""
    tried, kept = answer["combinations"], len(answer["rows"])
    matters, level = number(answer["difference"]), percent(answer["level"])
    yield (
        f"{count_of(tried, 'combination')} were run with the same luck, {answer['replications']} runs in all."
        f" {tried - kept} of them cost as much or more and make no more than {matters} per hour more than"
        f" another{_inside(answer)} ({level} sure)."
    )
    if answer["glanced_out"]:
        yield (
            f"{answer['glanced_out']} of these were left out at a first glance: at least 5 % behind another"
            " that costs no more, in each of 4 runs."
        )
    if answer["over_budget"]:
        yield f"{answer['over_budget']} more cost over {number(answer['budget'])} and were not run."
