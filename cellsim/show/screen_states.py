"""What stations, people and robots did, as tables of the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cellsim.show import Result, count_of, has_shifts, number, percent, plain
from cellsim.show.screen_page import Page, fixed

STOPS = 12  # the most causes shown

# Columns of the station table: heading and the states it adds up.
STATION_COLUMNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("working", ("working", "attended", "handled")),
    ("starved", ("starved",)),
    ("no\nmaterial", ("waiting for material",)),
    ("no lot\ndue", ("no lot due",)),
    ("blocked", ("blocked",)),
    ("waits\noperator", ("waiting for operator",)),
    ("waits\nrobot", ("waiting for robot", "waiting for robot, empty")),
    ("waits\ncarrier", ("waiting for carrier",)),
    ("down", ("down", "waiting for repair")),
    ("change\nover", ("changeover",)),
    ("planned\nservice", ("planned service",)),
    ("break,\noff", ("break", "off")),
)
CREW_COLUMNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("working", ("working",)),
    ("going", ("travelling",)),
    ("fixing", ("repairing",)),
    ("bringing", ("bringing",)),
    ("unoccupied", ("free",)),
    ("waits\nzone", ("waiting for zone",)),
    ("down", ("down", "waiting for repair")),
    ("planned\nservice", ("planned service",)),
    ("break,\noff", ("break", "off")),
)


def _sum(shares: Mapping[str, Any], states: Sequence[str]) -> float:
    return float(sum(shares[state]["mean"] for state in states if state in shares))


def _in_shifts(result: Result) -> bool:
    """Whether shares are told of the time in shifts: where several are counted, nights would swamp them."""
    return has_shifts(result) and result["study"]["shifts"] > 1


def _whole(result: Result) -> str:
    return "the time in shifts" if _in_shifts(result) else "the counted time"


def _state_rows(
    table: Mapping[str, Any], columns: Sequence[tuple[str, tuple[str, ...]]], in_shifts: bool
) -> tuple[list[str], dict[str, list[str]]]:
    """The columns that any row needs, and the percentages of each row in them.

    `in_shifts`: of the time outside off hours, which then have no column.
    """
    if in_shifts:
        columns = [
            (head, states) if "off" not in states else ("break", ("break",)) for head, states in columns
        ]
        table = {name: row | {"shares": _without_off(row["shares"])} for name, row in table.items()}
    known = {state for _, states in columns for state in states}
    others = tuple(dict.fromkeys(s for row in table.values() for s in row["shares"] if s not in known))
    occurring = {s for row in table.values() for s in row["shares"]}
    used = [column for column in (*columns, ("other", others)) if occurring.intersection(column[1])]
    cells = {
        name: [fixed(100 * _sum(row["shares"], states)) for _, states in used] for name, row in table.items()
    }
    return [head for head, _ in used], cells


def _without_off(shares: Mapping[str, Any]) -> dict[str, Any]:
    """Shares of the time outside off hours; 0 for who is always off."""
    on = 1 - _sum(shares, ("off",))
    return {
        state: {"mean": share["mean"] / on if on > 0 else 0.0}
        for state, share in shares.items()
        if state != "off"
    }


def print_stations(page: Page, result: Result) -> None:
    """The share of the time that each station spent in each state."""
    stations = result["stations"]
    page.head(f"Stations, % of {_whole(result)}")
    heads, cells = _state_rows(stations, STATION_COLUMNS, _in_shifts(result))
    judging = any("rejected_share" in row for row in stations.values())
    rows = []
    for name, row in stations.items():
        label = plain(name) + (f" ({row['machines']})" if row["machines"] > 1 else "")
        rejected = row.get("rejected_share")
        last = [fixed(100 * rejected["mean"]) if rejected and rejected["mean"] is not None else ""]
        rows.append([label, *cells[name], *(last if judging else [])])
    page.table(("Station", *heads, *(["rejects\n% tests"] if judging else [])), rows)


def print_crew(page: Page, result: Result, key: str, title: str) -> None:
    """The load of posts or robots, and what they did; `key` is `people` or `robots`."""
    crew = result[key]
    if not crew:
        return
    page.head(f"{title}, % of {_whole(result)}")
    heads, cells = _state_rows(crew, CREW_COLUMNS, _in_shifts(result))
    rows = []
    for name, row in crew.items():
        label = plain(name) + (f" ({row['count']})" if row["count"] > 1 else "")
        load = row["load"]
        text = "-" if load["mean"] is None else percent(load["mean"])
        rows.append([label, text, *cells[name], "over 90 %" if (load["mean"] or 0) > 0.9 else ""])
    last = len(heads) + 2
    flagged = any(row[-1] for row in rows)
    rows = rows if flagged else [row[:-1] for row in rows]
    page.table(("Who", "load", *heads, *([""] if flagged else [])), rows, texts=(0, last))


def print_zones(page: Page, result: Result) -> None:
    """Changes of gripper, failed picks, and people in the zones of robots."""
    for name, row in result["robots"].items():
        if "gripper_changes" in row:
            page.line(f"{plain(name)} changes its gripper {number(row['gripper_changes']['mean'])} times.")
        if "picks" in row:
            failed, picks = number(row["mispicks"]["mean"]), number(row["picks"]["mean"])
            page.line(f"{plain(name)}: {failed} of {picks} picks fail.")
    for name, row in result.get("zones", {}).items():
        per = row["entries"]["unit"]
        page.line(
            f"Zone {plain(name)}: {number(row['entries']['mean'])} {per}, somebody inside"
            f" {percent(row['somebody_inside']['mean'], 1)} of the counted time."
        )


def print_stops(page: Page, result: Result) -> None:
    """Stops by cause, the longest first."""
    stops = result["stops"]
    if not stops:
        return
    shifts = result["study"]["shifts"] if has_shifts(result) else 1
    page.head(f"Stops per {'shift' if has_shifts(result) else 'run'}")
    rows = [
        (
            plain(row["who"]),
            plain(row["cause"]) + (" (planned)" if row["planned"] else ""),
            fixed(row["stops"]["mean"] / shifts),
            fixed(row["repair_min"]["mean"] / shifts),
            fixed(row["waiting_min"]["mean"] / shifts),
            fixed(row["scrapped_after"]["mean"] / shifts) if "scrapped_after" in row else "",
        )
        for row in sorted(stops, key=lambda row: -row["repair_min"]["mean"] - row["waiting_min"]["mean"])
    ]
    heads = ("Where", "cause", "stops", "min in\nrepair", "min waiting\nfor it", "scrapped\nafter it")
    count = len(heads) if any(row[-1] for row in rows[:STOPS]) else len(heads) - 1
    page.table(heads[:count], [row[:count] for row in rows[:STOPS]], texts=(0, 1))
    if len(rows) > STOPS:
        page.line(f"and {count_of(len(rows) - STOPS, 'smaller cause')} in result.json")
