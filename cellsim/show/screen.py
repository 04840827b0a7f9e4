"""A study as text for the terminal: the answer first, then what limits it, then the tables.

Nothing here computes a statistic: every number stands in the dictionary of `result.json`, or sums shares.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cellsim.show import (
    Result,
    assumption_words,
    between,
    can_shorten,
    cause_words,
    chief_assumptions,
    count_of,
    extent,
    limit_words,
    lock_words,
    most_per_cent,
    number,
    origin,
    percent,
    plain,
    remedy_words,
    share_between,
    target_words,
)
from cellsim.show.paper import paper_words
from cellsim.show.screen_flow import print_board, print_parts, print_stores, print_units
from cellsim.show.screen_page import Page
from cellsim.show.screen_states import print_crew, print_stations, print_stops, print_zones
from cellsim.show.supply import plan_words
from cellsim.study.trust import rounded_up

if TYPE_CHECKING:
    from rich.console import Console

CAUSES, ASSUMPTIONS, LOCKS, FAULTS = 6, 5, 3, 5  # the most rows shown of each
PLANNING = "Planning study. It estimates time and output. It does not show that the cell is safe or lawful."


def print_result(result: Result, console: Console) -> None:
    """Print a study as a shift leader reads it, at most 80 columns on a console of 80.

    `result` is the dictionary of `result.json`, with or without `provenance`.
    """
    page = Page(console)
    page.line(plain(result["cell"]["name"]), style="bold")
    if result["cell"].get("question"):
        page.line(plain(result["cell"]["question"]))
    if result.get("interrupted"):
        page.line(f"Stopped early: {plain(result['interrupted'])} are in these figures.", style="bold")
    _alarms(page, result)
    _answer(page, result)
    _limits(page, result)
    _paper(page, result)
    print_stations(page, result)
    print_stores(page, result)
    print_parts(page, result)
    print_crew(page, result, "people", "People")
    print_crew(page, result, "robots", "Robots")
    if result["people"] or result["robots"]:
        page.line("Load: share of the time on duty spent working, going, fixing or bringing.")
    print_zones(page, result)
    print_stops(page, result)
    print_units(page, result)
    print_board(page, result)
    _remarks(page, result)


def _alarms(page: Page, result: Result) -> None:
    audit, locked = result["audit"], result["locked"]
    if not audit["passed"]:
        page.line()
        page.line("This program broke its own laws: do not use these figures.", style="bold reverse")
        _listed(page, audit["violations"], FAULTS, "violation")
    if locked:
        page.line()
        page.line(
            f"LOCKED: in {len(locked)} of {count_of(result['study']['replications'], 'run')} the cell or a"
            " part of it came to a standstill that nobody can end.",
            style="bold reverse",
        )
        _listed(page, [lock_words(result, lock) for lock in locked], LOCKS, "locked run")
        if remedy := remedy_words(result):
            page.line(remedy)
        page.line("The figures below include the time after a standstill.")


def _listed(page: Page, texts: Sequence[str], most: int, noun: str) -> None:
    for text in texts[:most]:
        page.line(plain(text), indent=2)
    if len(texts) > most:
        page.line(f"and {count_of(len(texts) - most, 'more ' + noun)} in result.json", indent=2)


def _answer(page: Page, result: Result) -> None:
    out = result["output_per_hour"]
    page.line()
    if out["mean"] == 0:
        page.line("No good unit leaves the cell.", style="bold")
    else:
        ends = between(out, lambda value: number(value, 1))
        page.line(
            f"{number(out['mean'], 1)} good units leave per working hour "
            + (f"(95 % interval of the mean {ends})." if ends else "(one run: no interval)."),
            style="bold",
        )
        if out.get("runs_to_trust") is not None:
            page.line(
                "A few runs unlike the rest weigh heavily in it: trust this interval from about"
                f" {rounded_up(out['runs_to_trust'])} runs on."
            )
        if out["p05"] is not None:
            page.line(
                f"In 9 of 10 hours it is between {number(out['p05'])} and {number(out['p95'])}"
                f" (P5 to P95), half of the hours reach {number(out['p50'])}."
            )
    words = target_words(result)
    page.line(words if words else "The file states no target.")
    if made := plan_words(result):
        page.line(made)
    labour = result.get("units_per_labour_hour")
    if labour and labour["mean"]:
        ends = between(labour)
        text = f"Per paid labour hour: {number(labour['mean'])} good units"
        page.line(text + (f" ({ends})." if ends else "."))
    page.line(f"Studied: {extent(result)}.")
    for text in result["study"].get("remarks", ()):
        page.line(plain(text))
    precision = result["study"].get("precision")
    if precision is not None and not precision["reached"]:
        runs = count_of(result["study"]["replications"], "run")
        page.line(f"The precision of {plain(precision['wanted'])} was not reached in {runs}.", style="bold")


def _limits(page: Page, result: Result) -> None:
    losses = result["losses"]
    page.head("What limits output")
    causes = losses["causes"]
    if not causes:
        page.line(plain(losses.get("remark", "nothing was recorded")) + ".")
        return
    for text in limit_words(losses):
        page.line(text)
    rows = [
        (
            cause_words(row["who"], row["what"]),
            percent(row["share"], 1),
            share_between(row, 1),
            f"{most_per_cent(row):.2f} % more" if can_shorten(row) else "",
        )
        for row in causes[:CAUSES]
    ]
    page.table(("Cause", "share of\ncritical path", "95 % interval", "1 % shorter\ngives up to"), rows)
    if len(causes) > CAUSES:
        page.line(f"and {count_of(len(causes) - CAUSES, 'smaller cause')} in result.json")
    page.line(
        "This holds for changes so small that events keep their order.  A larger one often gives far less,"
        " because something else limits at once: `cellsim limits` measures 10 % less of each time, and one"
        " place, person or machine more, of which these shares say nothing."
    )
    if any(row["elasticity"] is None for row in causes):
        page.line("What 1 % gives is counted outside breaks and off hours, which stand where they are.")
    if losses.get("shortened"):
        runs = count_of(losses["shortened"], "long run")
        page.line(f"In {runs} the oldest part of the path is an estimate.")


def _paper(page: Page, result: Result) -> None:
    page.head("Paper check")
    for text in paper_words(result["paper"], result["study"]["counted_from_s"] == 0):
        page.line(text)


def _remarks(page: Page, result: Result) -> None:
    assumptions = result["assumptions"]
    if assumptions:
        shown = chief_assumptions(result, ASSUMPTIONS)
        page.head(f"{count_of(len(assumptions), 'value')} assumed, not measured")
        for row in shown:
            page.line(assumption_words(row), indent=2)
        if len(assumptions) > len(shown):
            page.line("All of them: cellsim check, or `assumptions` in result.json.")
    page.head("Cautions")
    for text in dict.fromkeys((PLANNING, *result["cautions"])):
        page.line(plain(text))
    page.line()
    audit = result["audit"]
    runs = count_of(result["study"]["replications"], "run")
    laws = f"{count_of(len(audit['laws']), 'law')} checked in {runs}"
    if audit["passed"]:
        page.line(f"{laws}: all hold.")
    else:
        page.line(f"{laws}: {count_of(len(audit['violations']), 'violation')}.", style="bold")
    if origin(result):
        page.line(f"Made by {origin(result)}.")
