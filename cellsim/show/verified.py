"""Known results beside what this program finds, as text for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cellsim.show import Result, count_of, percent
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

TRACE_SHOWN = 6  # numbers of a trace that are shown


def figure(value: float | Sequence[float] | None) -> str:
    """A value with six significant digits; the first numbers of a list."""
    if value is None:
        return "-"
    if isinstance(value, Sequence):
        shown = ", ".join(f"{number:.6g}" for number in value[:TRACE_SHOWN])
        return shown + (", ..." if len(value) > TRACE_SHOWN else "")
    return f"{value:.6g}"


def found(check: Result) -> str:
    """What was found: by the simulator with its interval, on paper, or both."""
    ours, low_high = check["ours"], check["interval"]
    if isinstance(ours, Sequence):
        return (
            f"published {figure(check['published'])}; ours the same" if check["agrees"] else _differs(check)
        )
    parts = [f"published {figure(check['published'])}"]
    if check["by"] == "simulation":
        interval = f" ({low_high[0]:.5g} to {low_high[1]:.5g})" if low_high else ""
        parts.append(f"simulated {figure(ours)}{interval}")
    if check["on_paper"] is not None:
        parts.append(f"on paper {figure(check['on_paper'])}")
    return "; ".join(parts)


def _differs(check: Result) -> str:
    return f"published {figure(check['published'])}; ours {figure(check['ours'])}"


def verdict(check: Result) -> str:
    """The verdict in words."""
    if not check["agrees"]:
        return "DIFFERS"
    return "agrees" if check["sharp"] else "agrees, but the interval is wider than asked"


def summary(answer: Result) -> str:
    """The last line: how many agree."""
    simulated = sum(check["by"] == "simulation" for check in answer["checks"])
    widths = [check["half_width"] for check in answer["checks"] if check["half_width"] is not None]
    exact = simulated - len(widths)
    how = [
        f"{len(widths)} simulated, each known to {percent(max(widths), 1)} or better" if widths else "",
        f"{count_of(exact, 'exact run')}" if exact else "",
        f"{answer['of'] - simulated} on paper" if answer["of"] > simulated else "",
    ]
    return (
        f"{answer['agree']} of {count_of(answer['of'], 'comparison')} agree ({', '.join(filter(None, how))})."
    )


def print_answer(answer: Result, console: Console) -> None:
    """Topic by topic each statement with its values and verdict, then the sources by number."""
    page = Page(console)
    sources: dict[str, int] = {}
    topic = ""
    for check in answer["checks"]:
        if check["topic"] != topic:
            topic = check["topic"]
            page.head(topic)
        mark = sources.setdefault(check["source"], len(sources) + 1)
        page.line(f"{check['statement']} [{mark}]", indent=0)
        style = "" if check["agrees"] else "bold"
        unit = f" {check['unit']}" if check["unit"] else ""
        page.line(f"{verdict(check)}: {found(check)}{unit}", style=style or "dim", indent=1)
        if check["tolerance"]:
            page.line(
                f"judged with {percent(check['tolerance'], 1)} to both sides: {check['exactness']}", indent=1
            )
    page.head("Sources")
    for source, mark in sources.items():
        page.line(f"[{mark}] {source}")
    page.line()
    page.line(
        f"Each interval holds with {percent(answer['level'], 3)}: a right program is told that it differs "
        f"anywhere in the table with a chance of at most {percent(answer['false_alarm'])}."
    )
    for check in answer["checks"]:
        if not check["agrees"]:
            page.line(f"DIFFERS: {check['id']}: {check['statement']}: {found(check)}", style="bold")
    page.line(summary(answer), style="bold")
