"""What a stop log says as text for the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cellsim.show import Result, count_of, duration, number, percent, plain
from cellsim.show.screen_page import Page
from cellsim.show.stop_lines import ends, example_of, mean_text, pasted, service_of

if TYPE_CHECKING:
    from rich.console import Console

SHOWN = 12  # changes of one kind that are printed; all are in the JSON
WORDS = 38  # letters of the words of one kind that are shown


def print_stop_study(answer: Result, console: Console) -> None:
    """What was watched and changed, a row for each cause, what to look at, the lines for the cell file."""
    page = Page(console)
    page.line()
    page.line(
        f"{count_of(answer['stops'], 'stop')} of {plain(answer['file'])},"
        f" {answer['first']} to {answer['last']}:"
        f" {number(answer['planned_h'])} h of planned time,"
        f" {number(answer['shift_h'])} h of on time (with breaks)",
        style="bold",
    )
    for text in answer["quiet"]:
        page.line(plain(text), style="bold")
    for text in answer["repairs"]:
        page.line(plain(text), indent=1)
    for text in answer["assumed"]:
        page.line(f"assumed: {plain(text)}", indent=1)
    _print_changes(page, answer)
    _print_left(page, answer)
    page.head("Stops")
    page.table(
        ["Station, cause", "stops", "every h", "95 %", "lasts min", "95 %", "lost"],
        [_row(answer, cause) for cause in answer["causes"]],
    )
    page.line(
        f"every: {answer['causes'][0]['clock']} from the end of one to the next; lost: share of planned time."
    )
    for wait in answer["waits"]:
        page.line(
            f"Waiting for {plain(wait['who'])} ({count_of(wait['count'], 'stop')}):"
            f" {mean_text(wait['waits'], 'arrival')}."
            " It holds the time in which he was busy elsewhere in the cell."
        )
    for text in answer["cautions"][len(answer["quiet"]) :]:
        page.line(plain(text), style="bold")
    remarked: dict[str, list[str]] = {}
    for cause in answer["causes"]:
        for text in _remarks(cause):
            remarked.setdefault(text, []).append(_name(cause))
    for text, names in remarked.items():
        page.line(f"{'; '.join(names)}: {plain(text)}", indent=1)
    page.head("For the cell file")
    for line in pasted(answer).splitlines():
        page.console.print(line, markup=False, highlight=False, soft_wrap=True)


def _print_changes(page: Page, answer: Result) -> None:
    """The changes by kind; of each kind the first ones in words."""
    if not answer["changes"]:
        page.line("Nothing was changed in cleaning.", indent=1)
        return
    page.head("Changes")
    for step in dict.fromkeys(change["step"] for change in answer["changes"]):
        found = [change for change in answer["changes"] if change["step"] == step]
        page.line(f"{step}: {count_of(len(found), 'line')}", indent=1)
        for change in found[:SHOWN]:
            page.line(f"line {change['line']}: {plain(change['text'])}", indent=2)
        if len(found) > SHOWN:
            page.line(f"and {len(found) - SHOWN} more (--json lists all)", indent=2)


def _print_left(page: Page, answer: Result) -> None:
    """What was left out and put apart, and by which words."""
    for rows, head in (
        (answer["left"], "Left out, since the simulation finds these waits itself (--keep CAUSE keeps one)"),
        (answer["asked"], "Left out as asked; this time is in nobody's figures now"),
    ):
        if rows:
            page.head(head)
        for cause, count, seconds in rows:
            page.line(f"{plain(cause)}: {count_of(count, 'row')}, {duration(seconds)}", indent=1)
    if answer["planned"]:
        page.head("Planned stops, put apart: they are none of the random stops below")
    for planned in answer["planned"]:
        text, line = _planned(planned)
        page.line(text, indent=1)
        if line:
            page.line(line, indent=2)
    page.line(
        f"Words looked for: {_words(answer['words'])}. Leave a wait by another name out with"
        " --exclude CAUSE.",
        indent=1,
    )
    page.line(
        f"Words of planned work: {_words(answer['planned_words'])}. --planned CAUSE puts another apart,"
        " --keep CAUSE takes one as a random stop.",
        indent=1,
    )


def _words(kinds: Mapping[str, Any]) -> str:
    return "; ".join(
        f"{kind} ({', '.join(word for word in words if word != kind)[:WORDS].rpartition(',')[0]}, ...)"
        for kind, words in kinds.items()
    )


def _planned(planned: Mapping[str, Any]) -> tuple[str, str]:
    """Planned stops of one cause: how many, how long, how often, where they belong; and a line for them."""
    count, took = count_of(planned["count"], "stop"), duration(planned["planned_s"])
    text = f"{_name(planned)}: {count}, {took} of planned time"
    if planned["longest_s"] > 1.2 * planned["shortest_s"]:
        text += f" ({duration(planned['shortest_s'])} to {duration(planned['longest_s'])} each)"
    line = plain(example_of(planned))
    if planned["belongs"] == "break":
        return f"{text}. A break belongs to its shift:", line
    if planned["belongs"] == "changeover":
        text += ". Where the cell makes several variants it is a changeover of the station, and the run finds"
        return f"{text} how often; else it is a service. As a changeover:", line
    if service_of(planned):
        when = ", ".join(planned["at"]) or f"every {number(planned['every_h'])} h of on time"
        return f"{text}, {when}; it is a service in the lines below.", ""
    rhythm = "one shows no rhythm" if planned["count"] == 1 else "no rhythm is plain"
    return f"{text}; {rhythm}. It is a service of the station; if it comes every week:", line


def _row(answer: Result, cause: Mapping[str, Any]) -> list[str]:
    every, lasts = cause["every"], cause["lasts"]
    return [
        _name(cause),
        str(cause["count"]),
        number(every["bounds"]["mean"] / 3600),
        ends(every, 3600) if every["interval"] else "-",
        "-" if lasts is None else number(lasts["bounds"]["mean"] / 60),
        "-" if lasts is None or not lasts["interval"] else ends(lasts, 60),
        percent(cause["lost_share"], 1),
    ]


def _name(cause: Mapping[str, Any]) -> str:
    return plain(f"{cause['station']}, {cause['cause']}")


def _remarks(cause: Mapping[str, Any]) -> list[str]:
    found = []
    open_ = cause["not_ended"] - cause["ended_outside"]
    if cause["ended_outside"]:
        found.append(
            f"{cause['ended_outside']} of {cause['count']} ended in a break or off hours; the part in planned"
            " time counts, as a least length"
        )
    if open_:
        found.append(f"{open_} of {cause['count']} had not ended when watched last")
    if not cause["every"]["interval"]:
        found.append("one stop: no interval, and too few to tell a law: exponential is assumed")
    if cause["unseen_share"]:
        found.append(
            f"{percent(cause['unseen_share'])} of the stops are taken to be too short to be logged; every"
            f" {duration(cause['seen_every_s'])} one is long enough"
        )
    found += cause["remarks"]
    if cause["every"]["fits"]:
        found.append(f"every: {cause['every']['law']}; {cause['every']['why']}")
    if cause["lasts"] is not None and cause["every"]["interval"]:
        law = f"{cause['lasts']['law']}; " if cause["lasts"]["law"] not in cause["lasts"]["why"] else ""
        found.append(f"lasts: {law}{cause['lasts']['why']}")
    return found
