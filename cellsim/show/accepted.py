"""What an acceptance run can prove, as text for the terminal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from cellsim.show import Result, count_of, number, percent
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

SHIFT_MIN = 480.0


def print_acceptance(answer: Result, console: Console) -> None:
    """What a run of this length tells, how long it must be, who passes; then what a run has shown."""
    page = Page(console)
    hours = f"{number(answer['length_min'] / 60)} h"
    page.line()
    promise, seen = answer["promise"], answer["seen"]
    if promise is not None:
        page.line(
            f"A run of {hours} measures the availability of {percent(promise['availability'], 1)} to plus or"
            f" minus {100 * promise['half_width']:.1f} points (95 %).",
            style="bold",
        )
        needed = promise["length_for_within_min"]
        shifts = math.ceil(needed / SHIFT_MIN)
        page.line(
            f"Plus or minus {100 * promise['within']:.3g} points take"
            f" {number(needed / 60)} h, which are {count_of(shifts, 'shift')} of 8 h."
        )
        if promise["limit"] is not None:
            limit = percent(promise["limit"], 1)
            page.line(f"The promised machine passes {limit} with a chance of {percent(promise['passes'])}.")
            if "bad_passes" in promise:
                page.line(
                    f"A machine of {percent(promise['bad_availability'], 1)} passes with a chance of"
                    f" {percent(promise['bad_passes'])}."
                )
        page.line("Stops per 1000 parts and the time to repair prove more in a short run than availability.")
    if seen is not None:
        _seen(page, seen, hours)
    page.line()
    page.line("Running times and stops are taken for exponential. Agree the method with the supplier first.")


def _seen(page: Page, seen: Result, hours: str) -> None:
    low, high = seen["between_interval_min"]
    between = "no upper bound" if high is None else f"{number(low)} to {number(high)} min"
    if seen["between_min"] is None:
        page.line(f"No stop in {hours}: the mean time between stops is at least {number(low)} min (95 %).")
        return
    ends = " to ".join(percent(end, 1) for end in seen["availability_interval"])
    share = percent(seen["availability"], 1)
    page.line(
        f"{count_of(seen['stops'], 'stop')} in {hours}: {number(seen['between_min'])} min between stops"
        f" ({between}), {number(seen['repair_min'])} min each; availability {share}"
        f" ({ends}, 95 %).",
        style="bold",
    )
