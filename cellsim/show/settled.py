"""How long a cell takes to settle and what it makes in the long run, as text for the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from cellsim.show import Result, between, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

SMALL = 0.003  # of the long-run rate: what a run that drops nothing is off by and nobody minds
FEW = 5  # runs: with fewer luck hides how a cell starts
NAMES = {"output": "output", "wip": "work in progress"}


def print_settling(answer: Result, console: Console) -> None:
    """What must not be counted, the long-run rate, how far the start is from it, the line for the file."""
    page = Page(console)
    page.line()
    page.line(headline(answer), style="bold")
    if answer["settles"]:
        page.line(rate_words(answer), style="bold")
        page.line()
        for text in (*first_words(answer), *dropped_words(answer), length_words(answer)):
            page.line(text)
    page.line(run_words(answer))
    if answer["settles"]:
        page.head("For the cell file, under study")
        page.line(plain(answer["line"]), indent=2)
        page.line()


def headline(answer: Result) -> str:
    """What must be dropped, in one sentence."""
    name = plain(answer["cell"]["name"])
    if not answer["settles"]:
        return f"{name}: no steady state found."
    if not answer["drop"]["intervals"]:
        return f"{name} need not settle: it can be counted from its start."
    return f"{name} has settled after {plain(answer['drop']['amount'])}; leave them out of the count."


def rate_words(answer: Result) -> str:
    """The long-run rate with its interval."""
    rate = answer["long_run"]["output"]
    ends = between(rate, lambda value: number(value, 1))
    how = (
        f" (95 % interval {ends})" if ends else " (no interval: one run, and its parts depend on each other)"
    )
    return f"In the long run {number(rate['mean'], 1)} good units leave per working hour{how}."


def first_words(answer: Result) -> Iterator[str]:
    """How far the first hour and the first shift are from the long run."""
    for row in answer["first"]:
        difference = row["difference"]
        low, high = difference["interval"]
        text = f"The first {row['what']} makes {number(row['mean'], 1)} an hour"
        if low is None or high is None:
            yield f"{text}, {difference['mean']:+.1f} from the long run (one run: no interval)."
        elif low <= 0 <= high:
            yield f"{text}, which cannot be told from the long run ({low:+.1f} to {high:+.1f} an hour)."
        else:
            way = "less" if high < 0 else "more"
            ends = f"{number(min(abs(low), abs(high)), 1)} to {number(max(abs(low), abs(high)), 1)}"
            apart = f"{number(abs(difference['mean']), 1)} ({percent(abs(row['difference_share']))})"
            yield f"{text}, {apart} {way} than in the long run (interval {ends} {way})."


def dropped_words(answer: Result) -> Iterator[str]:
    """What the rule alone says, and what dropping nothing would do to the rate."""
    series, total, rule = answer["series"], answer["drop"]["intervals"], answer["drop"]["by_rule"]
    if rule:
        parts = [f"{NAMES[name]} {share_of(answer, row['dropped'])}" for name, row in series.items()]
        text = f"The rule MSER-5, in steps of {share_of(answer, 5)}, says: {', '.join(parts)}."
        if total < rule:
            after = f"After {share_of(answer, total)} nothing" if total else "Nothing"
            text += f" {after} of that can be told from the rest, or it is too little to matter."
        yield text
    rest = answer["long_run"]["output"]["mean"]
    off = (answer["whole_run"]["output"] - rest) / rest if rest else 0.0
    if total and abs(off) < SMALL:
        yield f"Counted from its start, this run would be off by {percent(abs(off), 2)}."
    elif total:
        yield f"Counted from its start, this run would be off by {100 * off:+.1f} %."
    if answer["run"]["replications"] < FEW:
        yield f"So few runs hardly show a start; average {FEW} or more."


def share_of(answer: Result, intervals: int) -> str:
    """So many intervals in the words of the cell file."""
    count, _, unit = answer["run"]["interval"].partition(" ")
    total = int(count) * intervals
    if unit == "h":
        return f"{total} h"
    return count_of(total, "shift")


def length_words(answer: Result) -> str:
    """Whether the run was ten times what is dropped, and how long a study should count."""
    wanted = plain(answer["count_at_least"])
    if not wanted:
        return "Nothing is dropped, so a run of any length can be counted."
    if answer["ten_times"]:
        return f"This run was at least ten times as long; a study should count {wanted} or more."
    return (
        f"This run was not ten times as long as what is left out, so take it as a first estimate: look again "
        f"with --length '{wanted}'."
    )


def run_words(answer: Result) -> str:
    """What was run."""
    run = answer["run"]
    seed = (answer.get("provenance") or {}).get("seed")
    text = f"Studied: {count_of(run['replications'], 'run')} of {run['length']} from the start, "
    text += f"looked at in intervals of {run['interval']}"
    return text + (f", seed {seed}." if seed is not None else ".")
