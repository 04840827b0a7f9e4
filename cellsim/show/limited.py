"""What limits output and what changes would buy, as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cellsim.show import Result, between, cause_words, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

MOST_CAUSES = 6


def print_limits(answer: Result, console: Console) -> None:
    """The chief cause first, what each change buys, then the arrows and where they disagree."""
    page = Page(console)
    rate, causes = answer["output_per_hour"], answer["losses"]["causes"]
    page.line()
    page.line(f"{number(rate['mean'])} good units per working hour ({between(rate)}).", style="bold")
    told = [row for row in causes if row["elasticity"] is not None]
    if told:
        chief = cause_words(told[0]["who"], told[0]["what"])
        page.line(f"{chief}: {percent(told[0]['share'])} of the critical path.", style="bold")
    page.head("What changes would buy, good units per hour")
    rows = []
    for row in answer["changes"]:
        difference = row["difference"]
        low, high = difference["interval"]
        promised = "" if row["promised"] is None else f"{row['promised']:+.2f}"
        rows.append(
            [plain(row["change"]), f"{difference['mean']:+.2f}", f"{low:+.2f} to {high:+.2f}", promised]
        )
    page.table(["Change", "Measured", "Interval", "By the path"], rows)
    runs, level = count_of(answer["replications"], "run"), percent(answer["level"])
    page.line(
        f"Measured in {runs} of each with the same luck, intervals {level} for all together; by the path: its"
        f" share times {percent(answer['share'])}, for small changes that leave the order of events as it is."
        "  Where far less is measured than the path says, something else limits as soon as this is a little"
        " better."
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
    _arrows(page, answer)


def _arrows(page: Page, answer: Result) -> None:
    """Where blocking and starving point, and whether that is where the path says."""
    arrows = answer["arrows"]
    if arrows is None or arrows["station"] is None:
        return
    page.line()
    page.line(f"By blocking and starving alone the limit would be {plain(arrows['station'])}.")
    working = [row for row in answer["losses"]["causes"] if row["what"] in ("work", "handling")]
    if working and working[0]["who"] != arrows["station"]:
        page.line(
            f"The critical path says {plain(working[0]['who'])} instead.  Where the two disagree the measured"
            " differences above decide."
        )
