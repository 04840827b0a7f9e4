"""The paper work before any run, on the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cellsim.show import Result, duration, number, percent, plain
from cellsim.show.loaded_words import (
    headline,
    limit_words,
    people_words,
    rate_words,
    repair_words,
    takt_words,
    tending_words,
    warning_words,
)
from cellsim.show.screen_page import Page, fixed

if TYPE_CHECKING:
    from rich.console import Console

BUSIEST = " <"  # behind the name of the busiest
WORTH_TELLING_S = 10.0  # mean wait of a stop for another one


def print_workload(answer: Result, console: Console) -> None:
    """Headline, takt, loads, people, tending, stores, batches, the bound, and what to look at."""
    page = Page(console)
    page.line()
    page.line(f"{plain(answer['cell'])}: loads on paper at {rate_words(answer)}", style="bold")
    page.line(headline(answer))
    page.head("Takt")
    for text in takt_words(answer):
        page.line(text)
    _loads(page, answer)
    page.head("Balance")
    for text in people_words(answer):
        page.line(text)
    _tending(page, answer)
    _stores(page, answer["stores"])
    _batches(page, answer["batches"])
    page.head("What to look at")
    for row in answer["warnings"]:
        page.line(f"- {warning_words(row)}", indent=1)
    if not answer["warnings"]:
        page.line("Nothing: all loads lie below 95 %, stores and batches can hold what they must.")
    page.line(limit_words(answer))


def _loads(page: Page, answer: Result) -> None:
    """Stations, then people and robots, in seconds per good unit, in the order of the route."""
    busiest = answer["busiest"] or {"names": [], "kind": ""}

    def named(row: Mapping[str, Any]) -> str:
        marked = row["kind"] == busiest["kind"] and row["name"] in busiest["names"]
        return plain(row["name"]) + (BUSIEST if marked else "")

    if answer["stations"]:
        page.head("Stations: seconds for a good unit against those there are")
        page.table(
            ["Station", "machines", "work", "changes", "stops", "needs", "has", "load", "with\nstops"],
            [
                [
                    named(row),
                    str(row["count"]),
                    *_seconds(
                        row, "work_s", "changeover_s", "stops_s", "required_with_stops_s", "available_s"
                    ),
                    *_shares(row),
                ]
                for row in answer["stations"]
            ],
        )
        if any(row["more_time"] for row in answer["stations"]):
            names = [plain(row["name"]) for row in answer["stations"] if row["more_time"]]
            page.line(
                f"Not only in working hours, so that they have more time than this: {', '.join(names)}."
            )
    rows = [*answer["posts"], *answer["robots"]]
    if rows:
        page.head("People and robots: seconds for a good unit against those there are")
        page.table(
            ["Who", "count", "work", "walking", "changes", "stops", "needs", "has", "load", "with\nstops"],
            [
                [
                    named(row),
                    str(row["count"]),
                    *_seconds(row, "work_s", "walking_s", "changeover_s", "stops_s"),
                    *_seconds(row, "required_with_stops_s", "available_s"),
                    *_shares(row),
                ]
                for row in rows
            ],
        )


def _seconds(row: Mapping[str, Any], *keys: str) -> list[str]:
    """Seconds to a hundredth; empty where there are none."""
    return [f"{row[key]:.2f}" if row[key] else "" for key in keys]


def _shares(row: Mapping[str, Any]) -> list[str]:
    return [percent(row["load"], 1), percent(row["load_with_stops"], 1)]


def _tending(page: Page, answer: Result) -> None:
    """How many machines somebody could tend, and what waits for whom."""
    if answer["tending"]:
        page.head("Who tends several machines: seconds of a visit")
        page.table(
            ["Who", "Station", "machines", "attended", "works\nalone", "walk and\ncarry", "one could\ntend"],
            [
                [
                    plain(" and ".join(team["who"])) if k == 0 else "",
                    plain(row["station"]),
                    str(row["machines"]),
                    fixed(row["attended_s"]),
                    fixed(row["alone_s"]),
                    fixed(row["away_s"]) if row["away_s"] else "",
                    fixed(row["ideal_machines"]),
                ]
                for team in answer["tending"]
                for k, row in enumerate(team["stations"])
            ],
            texts=(0, 1),
        )
        for team in answer["tending"]:
            for text in tending_words(answer, team):
                page.line(text)
    waits = [row for row in answer["repairs"] if row["wait_s"] >= WORTH_TELLING_S]
    if waits:
        page.head("Who clears stops of several machines")
    for row in waits:
        page.line(repair_words(row))


def _stores(page: Page, stores: Sequence[Mapping[str, Any]]) -> None:
    """How long a stop of a neighbour each store covers; those without stops beside them are left out."""
    rows = [row for row in stores if row["mean_stop_s"] is not None]
    if not rows:
        return
    page.head("Stores: how long a stop of a neighbour they cover at this rate")
    page.table(
        ["Store", "places", "covers", "mean stop", "longest mean of a cause"],
        [
            [
                plain(row["store"]),
                str(row["places"]),
                duration(row["cover_s"]),
                duration(row["mean_stop_s"]),
                f"{duration(row['longest_stop_s'])} ({plain(row['longest_stop'])})",
            ]
            for row in rows
        ],
        texts=(0, 4),
    )
    page.line(
        "Between two equal stations that seldom stop, with stops of exponential length, a store that covers"
        " just the mean stop saves about a third of what an endless one would (Buzacott 1967);"
        " elsewhere only runs tell."
    )


def _batches(page: Page, rows: Sequence[Mapping[str, Any]]) -> None:
    """How batches gather, against how long they take and may wait."""
    if not rows:
        return
    alone = ", each variant running alone" if any(row["variant"] for row in rows) else ""
    page.head(f"Batches: how they gather at this rate{alone}")
    first, *heads = (
        "Station",
        "size",
        "gathers\nin",
        "first\nwaits",
        "mean\nwait",
        "starts\nafter",
        "then\nwith",
    )
    page.table([first, *heads, "taken\nfor", "needs", "of"], _alike(rows))


def _alike(rows: Sequence[Mapping[str, Any]]) -> list[list[str]]:
    """A row for each batch step, and for each of its variants where they differ."""
    found: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        cells = (
            str(row["size"]),
            duration(row["gathers_s"]),
            duration(row["first_waits_s"]),
            duration(row["mean_waits_s"]),
            "" if row["longest_wait_s"] is None else duration(row["longest_wait_s"]),
            "" if row["starts_with"] is None else number(row["starts_with"]),
            duration(row["occupied_s"]),
            number(row["machines_needed"], 2),
            str(row["machines"]),
        )
        found.setdefault((plain(row["station"]), *cells), []).append(plain(row["variant"]))
    kinds = [key[0] for key in found]
    return [
        [f"{key[0]} {', '.join(names)}" if kinds.count(key[0]) > 1 else key[0], *key[1:]]
        for key, names in found.items()
    ]
