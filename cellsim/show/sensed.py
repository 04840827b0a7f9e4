"""Which number to measure better, as text for the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cellsim.show import Result, between, count_of, number, percent, plain, share_between
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

MOST_ROWS, BAR = 14, 10  # inputs in the table, letters of the longest bar
MOST_NEXT = 5  # inputs that are named after the first
TIMES = (("s", 1), ("min", 60), ("h", 3600))  # units of ranges of time below 120 of them; else days
UNSURE = 0.5  # width of the interval of a share from which on more draws are advised
LITTLE = 0.1  # of what is not known: what carries no more need not be measured
BENT = 0.5  # of the effect: a bend from here on is told


def range_words(row: Mapping[str, Any]) -> str:
    """The range of an input with its unit, as `21.6 to 26.4 s` or `3.6 to 4.4 %`."""
    low, high, unit = row["low"], row["high"], row["unit"]
    size = 1.0
    if unit == "s":
        unit, size = next(((name, long) for name, long in TIMES if high < 120 * long), ("d", 86400))
    elif unit == "share":
        size, unit = 0.01, "%"
    return f"{number(low / size)} to {number(high / size)} {unit}".rstrip()


def interval_words(answer: Result) -> str:
    """The whole interval, and what makes it so wide."""
    whole, runs = answer["not_knowing"], count_of(answer["replications"], "run")
    text = f"Not knowing the inputs exactly, the mean is between {between(whole).replace(' to ', ' and ')}"
    share = whole["share_of_inputs"]
    if share is None:
        return f"{text}: nothing varies."
    ends = whole["share_interval"] or (share, share)
    inside = f" ({share_between({'interval': ends})})" if whole["share_interval"] else ""
    text += f" ({percent(answer['level'])}): {percent(share)}{inside} of that uncertainty"
    text += f" is not knowing the inputs, the rest is chance of {runs}."
    if ends[1] - ends[0] > UNSURE:
        text += "  More draws (--draws) would tell these two better apart."
    elif share < 0.5:
        text += "  More runs narrow it more than better numbers."
    return text


def first_words(answer: Result) -> str:
    """What to measure better first, or that it cannot be told."""
    verdict = answer["verdict"]
    if not verdict["tells"]:
        return (
            "Cannot tell: no input changes output by more than chance of the runs may.  More runs (--each) or"
            " ways (--ways) would tell smaller effects."
        )
    matter = verdict["matter"]
    if verdict["first"] is None:
        near = " or ".join(plain(row["input"]) for row in matter[:2])
        shares = " and ".join(percent(row["share"]) for row in matter[:2])
        return (
            f"Measure {near} better first; which of them carries more of what is not known cannot be told yet"
            f" ({shares})."
        )
    first = matter[0]
    return f"Measure {plain(first['input'])} better first: it carries {_shares(first)} of what is not known."


def next_words(answer: Result) -> str:
    """What to measure after that, and that the rest does not matter."""
    verdict = answer["verdict"]
    after = verdict["matter"][1 if verdict["first"] else 2 :]
    text = ""
    if after:
        named = [f"{plain(row['input'])} ({percent(row['share'])})" for row in after[:MOST_NEXT]]
        if after[MOST_NEXT:]:
            named.append(f"then {len(after) - MOST_NEXT} more")
        text = f"Next: {', '.join(named)}."
    if verdict["others"] and verdict["tells"]:
        share = verdict["share_of_others"]
        one = verdict["others"] == 1
        others = "The other input carries" if one else f"The other {verdict['others']} together carry"
        text += f"  {others} {percent(share)}" + (": no need to measure." if share <= LITTLE else ".")
    return text.strip()


def _shares(row: Mapping[str, Any]) -> str:
    ends = share_between(row)
    return percent(row["share"]) + (f" ({ends})" if ends else "")


def print_sensitivity(answer: Result, console: Console) -> None:
    """What to measure first, how wide the answer is and why, then every input with what it does."""
    page = Page(console)
    out = answer["output_per_hour"]
    page.line()
    as_it_is = f"{number(out['mean'])} good units per working hour with the inputs as they stand"
    page.line(as_it_is + (f" ({between(out)})." if between(out) else "."), style="bold")
    page.line(interval_words(answer))
    page.line()
    page.line(first_words(answer), style="bold")
    for words in (next_words(answer), _about(answer)):
        if words:
            page.line(words)
    if answer["locked_runs"]:
        runs = count_of(answer["locked_runs"], "run")
        page.line(f"The cell LOCKED UP in {runs}; cellsim run says where.", style="bold")
    _table(page, answer)
    _closer(page, answer)
    _ranges(page, answer)
    page.line()
    page.line(
        f"{answer['runs']} runs: {answer['ways']} ways through the ranges, {answer['draws']} draws of all"
        f" inputs, {answer['runs_each']} runs at each point."
    )


def _about(answer: Result) -> str:
    """What the shares rest on."""
    straight = answer["not_knowing"]["straight_lines_explain"]
    if answer["shares"] is not None or not answer["verdict"]["tells"] or straight is None:
        return ""
    text = f"These shares take effects for straight lines, which explain {percent(straight)}"
    return f"{text}; --shares finds them without that."


def _table(page: Page, answer: Result) -> None:
    rows = answer["inputs"]
    page.head("Good units per hour from the low to the high end of each input")
    longest = max(abs(row["effect"]["mean"]) for row in rows) or 1.0
    cells = []
    for row in rows[:MOST_ROWS]:
        effect = row["effect"]
        half = (effect["interval"][1] - effect["interval"][0]) / 2
        bar = "█" * round(BAR * abs(effect["mean"]) / longest)
        cells.append([plain(row["input"]), range_words(row), f"{effect['mean']:+.2f}", f"± {half:.2f}", bar])
    page.table(["Input", "Range", "Effect", "95 %", ""], cells, texts=(0, 4))
    if rows[MOST_ROWS:]:
        largest = max(row["effect"]["size"] for row in rows[MOST_ROWS:])
        page.line(f"{len(rows) - MOST_ROWS} others change output by {number(largest)} at most.")
    named = {row["input"] for row in answer["verdict"]["matter"]}
    bent = [
        plain(row["input"])
        for row in rows
        if row["input"] in named and row["effect"]["bend"] > BENT * abs(row["effect"]["mean"])
    ]
    if bent:
        page.line(
            f"Not the same everywhere, since it bends or depends on other inputs: {', '.join(bent)}.  Where"
            " another input limits, these do little."
        )


def _closer(page: Page, answer: Result) -> None:
    """Shares of variance, each alone and with what it does together with others."""
    found = answer["shares"]
    if found is None:
        return
    page.head("Share of what is not known")
    page.table(
        ["Input", "Alone", "95 %", "With others", "95 %"],
        [
            [
                plain(row["input"]),
                percent(max(0.0, row["first"]["mean"])),
                share_between(row["first"]),
                percent(max(0.0, row["total"]["mean"])),
                share_between(row["total"]),
            ]
            for row in found["inputs"]
        ],
    )
    held_out = percent(max(0.0, found["explained_at_points_left_out"]))
    where = f"{held_out} at points to which it was not fitted"
    if found["by"] == "a quadratic":
        text = f"By a quadratic through {found['points']} points, which explains {where}"
    else:
        text = f"By {found['points']} points alone, since a quadratic explains only {where}"
    text += f"; chance of the runs is {percent(found['noise'])} of it."
    if sum(row["total"]["mean"] for row in found["inputs"]) > 1:
        text += "  What inputs do only together counts for each of them."
    page.line(text)


def _ranges(page: Page, answer: Result) -> None:
    """How many ranges are only assumptions."""
    rows = answer["inputs"]
    assumed = [row for row in rows if row["known"] in ("stated", "assumed")]
    if assumed:
        page.line()
        which = "All ranges" if len(assumed) == len(rows) else f"{len(assumed)} of {len(rows)} ranges"
        page.line(
            f"{which} are assumptions, 10 % less or more than stated, 50 % where the tool assumed the value;"
            " give those that you know with --range."
        )
