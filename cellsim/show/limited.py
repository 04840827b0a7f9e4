"""What limits output and what changes would buy, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cellsim.show import Result, between, cause_words, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

MOST_CAUSES = 6
MOST_STATIONS = 5  # that are shown because of their part of the path
HINTS = {
    "path": "the critical path",
    "blocking_and_starving": "blocking and starving",
    "active_periods": "active periods",
    "at_work": "time at work",
}


def print_limits(answer: Result, console: Console) -> None:
    """The chief cause first, what each change buys, then the hints and where they disagree."""
    page = Page(console)
    rate, causes = answer["output_per_hour"], answer["losses"]["causes"]
    page.line()
    page.line(f"{number(rate['mean'])} good units per working hour ({between(rate)}).", style="bold")
    told = [row for row in causes if row["elasticity"] is not None]
    if told:
        chief = cause_words(told[0]["who"], told[0]["what"])
        page.line(f"{chief}: {percent(told[0]['share'])} of the critical path.", style="bold")
        _warn(page, answer, told[0])
    page.head("What changes would buy, good units per hour")
    rows = []
    for row in answer["changes"]:
        difference = row["difference"]
        low, high = difference["interval"]
        promised = "" if row["promised"] is None else f"{row['promised']:+.2f}"
        rows.append(
            [plain(row["change"]), f"{difference['mean']:+.2f}", f"{low:+.2f} to {high:+.2f}", promised]
        )
    page.table(["Change", "Measured", "Interval", "By the path\nup to"], rows)
    runs, level = count_of(answer["replications"], "run"), percent(answer["level"])
    page.line(
        f"Measured in {runs} of each with the same luck, intervals {level} for all together.  By the path:"
        f" what {percent(answer['share'])} less time gives at most while events keep their order.  It says"
        " nothing of places, people and machines that are added.  Where far less is measured, something else"
        " limits as soon as this is a little better; where more is measured, the change also altered who is"
        " served when."
    )
    page.head("Shares of the critical path")
    page.table(
        ["Cause", "Share", "95 % interval"],
        [
            [cause_words(row["who"], row["what"]), percent(row["share"], 1),
             f"{100 * row['interval'][0]:.1f} to {100 * row['interval'][1]:.1f} %"
             if row["interval"][0] is not None else ""]
            for row in causes[:MOST_CAUSES]
        ],
    )  # fmt: skip
    _hints(page, answer)


def _warn(page: Page, answer: Result, chief: Result) -> None:
    """Say it at once where the chief cause gives far less than its share of the path promises."""
    for row in answer["changes"]:
        low, high = row["difference"]["interval"]
        if row["cause"] == [chief["who"], chief["what"]] and high < row["promised"] / 2:
            page.line(
                f"Yet {percent(answer['share'])} less of that gives only {row['difference']['mean']:+.2f} an"
                f" hour ({low:+.2f} to {high:+.2f}): something else limits at once."
            )
            return


def _hints(page: Page, answer: Result) -> None:
    """What the path and other hints rest on, and whether they point at the same station."""
    hints = answer["hints"]
    told = {words: hints[key] for key, words in HINTS.items() if hints[key] is not None}
    if len(hints["stations"]) < 2 or not told:
        return
    page.head("Which station limits, by the path and by other hints")
    ranked = sorted(hints["stations"], key=lambda row: -row["path"])
    shown = [row for k, row in enumerate(ranked) if k < MOST_STATIONS or row["station"] in told.values()]
    page.table(
        ["Station", "path", "at work", "blocked", "starved", "longest\nactive"],
        [
            [
                plain(row["station"]),
                *(percent(row[key]) for key in ("path", "at_work", "blocked", "starved", "active")),
            ]
            for row in shown
        ],
    )
    runs = count_of(answer["active_periods"]["replications"], "run")
    page.line(
        "Path: what 1 % less of all its times on the path gives.  Longest active: share of the time in which"
        f" nobody else has been at work or under repair for longer without waiting ({runs})."
    )
    each = ", ".join(f"{words} to {plain(name)}" for words, name in told.items())
    if len(set(told.values())) == 1:
        page.line(f"All point at {plain(next(iter(told.values())))}.")
    else:
        page.line(
            f"They point to different stations: {each}.  Where hints disagree with the path the measured"
            " differences above decide."
        )
