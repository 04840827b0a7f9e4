"""The sheets of a workbook that are tables: one row a thing, one column a figure with its unit in the head.

Every number is copied from the dictionary of `result.json`; nothing is computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from cellsim.show import Result, cause_words, plain
from cellsim.show.workbook_lists import list_sheets, summary_sheet
from cellsim.show.workbook_table import COUNT, SHARE, TEXT, Column, Sheet, Table, with_unit

OF_TIME = "share of the counted time"


def sheets(result: Result) -> list[Sheet]:
    """All sheets of a study; those of things that a cell does not have are left out."""
    tables = [
        summary_sheet(result),
        hourly_sheet(result),
        stations_sheet(result),
        crew_sheet(result),
        named_sheet("stores", "Store", result["stores"], result),
        stops_sheet(result),
        losses_sheet(result),
        levels_sheet(result),
        quality_sheet(result),
        named_sheet("parts", "Part", result.get("parts") or {}, result),
        named_sheet("carriers", "Carrier", result.get("carriers") or {}, result),
        named_sheet("zones", "Zone", result.get("zones") or {}, result),
        named_sheet("shared tools", "Shared tool", result.get("shared") or {}, result),
        energy_sheet(result),
    ]
    kept = ("summary", "hourly", "stations", "people and robots", "stores", "stops", "losses")
    return [s for s in tables if s.rows or s.name in kept] + list_sheets(result)


def hourly_sheet(result: Result) -> Sheet:
    """Each hour of the clock: output beside target and plan, and the work in progress."""
    table = Table(result, [Column("Hour", TEXT)])
    planned = {row["hour"]: row for row in (result.get("attainment") or {}).get("by_clock_hour", ())}
    inside = {row["hour"]: row for row in result["wip"].get("by_hour", ())}
    for row in result["output_per_hour"]["by_clock_hour"]:
        table.row(row["hour"])
        table.put("length, min", row["length_min"])
        table.put("working time, min", row["working_min"])
        table.entry("output", row, "good units")
        for key, label in (("p05", "P5"), ("p50", "P50, median"), ("p95", "P95")):
            table.put(f"output, {label}, good units", row[key], COUNT)
        if "target" in row:
            table.put("target, good units", row["target"])
            table.put("chance to reach the target, share of hours", row["chance_of_target"], SHARE)
        if plan := planned.get(row["hour"]):
            table.put("planned, good units", plan["planned"], COUNT)
            if "mean" in plan:
                table.entry("made of the plan", plan, "share of the plan")
        if row["hour"] in inside:
            table.entry("work in progress", inside[row["hour"]])
    return table.sheet("hourly")


def levels_sheet(result: Result) -> Sheet:
    """The level of each store in each hour of the clock, a row each."""
    table = Table(result, [Column("Store", TEXT), Column("hour", TEXT)])
    for name, row in result["stores"].items():
        for hour in row.get("by_hour", ()):
            table.row(plain(name), hour["hour"])
            table.entry("inside, mean", hour)
    return table.sheet("stores by hour")


def _shares(table: Table, row: Mapping[str, Any], states: Iterable[str]) -> None:
    """The shares of all states beside each other, so that they can be stacked; what did not occur is 0."""
    for state in states:
        share = row["shares"].get(state)
        table.put(with_unit(plain(state), OF_TIME), share["mean"] if share else 0, SHARE)


def _share_ends(table: Table, row: Mapping[str, Any], states: Iterable[str]) -> None:
    for state in states:
        ends = row["shares"][state]["interval"] if state in row["shares"] else (0, 0)
        table.ends_of(with_unit(plain(state), OF_TIME), ends, SHARE)


def _states(tables: Iterable[Mapping[str, Any]]) -> list[str]:
    """Every state that any of these were in."""
    return list(dict.fromkeys(s for rows in tables for row in rows.values() for s in row["shares"]))


def stations_sheet(result: Result) -> Sheet:
    """Each station in the order of the route: its states, then the ends of these, then its other figures."""
    stations = result["stations"]
    states = _states([stations])
    table = Table(result, [Column("Station", TEXT), Column("machines", COUNT)])
    for name, row in stations.items():
        table.row(plain(name), row["machines"])
        _shares(table, row, states)
        _share_ends(table, row, states)
        table.entries(row)
    return table.sheet("stations")


def crew_sheet(result: Result) -> Sheet:
    """Each post and robot: load, states, the ends of these, its other figures, hours by station."""
    crews = (("person", result["people"]), ("robot", result["robots"]))
    states = _states([crew for _, crew in crews])
    table = Table(result, [Column("Name", TEXT), Column("person or robot", TEXT), Column("how many", COUNT)])
    for kind, crew in crews:
        for name, row in crew.items():
            table.row(plain(name), kind, row["count"])
            table.entry("load", row["load"])
            _shares(table, row, states)
            _share_ends(table, row, states)
            table.entries({key: value for key, value in row.items() if key != "load"})
            for place, hours in row.get("hours_at", {}).items():
                table.entry(f"at {plain(place)}", hours)
    return table.sheet("people and robots")


def named_sheet(name: str, one: str, rows: Mapping[str, Any], result: Result) -> Sheet:
    """Things by name, such as stores: each single number, then each figure with its interval."""
    heads = {
        "capacity": "places (empty: not limited)",
        "count": "how many",
        "p95": "inside, P95, units",
        "max": "inside, most, units",
        "speed_inside": "speed of the robot while somebody is inside, share",
    }
    table = Table(result, [Column(one, TEXT)])
    for label, row in rows.items():
        table.row(plain(label))
        for key, head in heads.items():
            if key in row:
                table.put(head, row[key], SHARE if key == "speed_inside" else COUNT)
        if "robots" in row:
            table.put("robots", ", ".join(plain(robot) for robot in row["robots"]), TEXT)
        table.entries(row)
    return table.sheet(name)


def stops_sheet(result: Result) -> Sheet:
    """Each cause of stops of each station or robot, in all the counted time of a run."""
    columns = [Column("Where", TEXT), Column("cause", TEXT), Column("planned", TEXT)]
    table = Table(result, columns)
    for row in result["stops"]:
        table.row(plain(row["who"]), plain(row["cause"]), "yes" if row["planned"] else "no")
        table.entries(row)
    return table.sheet("stops")


def losses_sheet(result: Result) -> Sheet:
    """Each cause on the critical path, the largest first."""
    table = Table(result, [Column("Cause", TEXT), Column("who", TEXT), Column("what", TEXT)])
    unit = "share of the critical path"
    gain = "output gained by 1 % less of it, %"
    for row in result["losses"]["causes"]:
        table.row(cause_words(row["who"], row["what"]), plain(row["who"]), plain(row["what"]))
        table.entry("weight", {"mean": row["share"], "interval": row["interval"]}, unit)
        table.put(gain, row["elasticity"])
        table.ends_of(gain, row.get("elasticity_interval", (None, None)))
        if "elasticity_with_stops" in row:
            table.put(f"{gain}, with the stops by running time", row["elasticity_with_stops"])
        for key, label in (("ideal_share", "as planned"), ("excess_share", "longer than planned")):
            if key in row:
                table.put(f"{label}, {unit}", row[key], SHARE)
    return table.sheet("losses")


def quality_sheet(result: Result) -> Sheet:
    """Each station that tests, makes, mends or scraps faulty units."""
    quality = result["quality"]
    parts = {
        "first_pass_yield": "first-pass yield",
        "scrapped_at": "scrapped",
        "made_faulty": "made faulty",
        "mended": "mended",
    }
    groups = ("inspections", "samples")
    table = Table(result, [Column("Station", TEXT)])
    met = {name for key in (*parts, *groups) for name in quality.get(key, {})}
    for name in sorted(met, key=[*result["stations"], *sorted(met)].index):
        table.row(plain(name))
        for key, label in parts.items():
            if name in quality.get(key, {}):
                table.entry(label, quality[key][name])
        for group in groups:
            for key, entry in quality.get(group, {}).get(name, {}).items():
                words = key.replace("_", " ")
                table.entry(words if group == "inspections" else f"samples, {words}", entry)
    return table.sheet("quality")


def energy_sheet(result: Result) -> Sheet:
    """The energy of each station and robot, in all and by state."""
    energy = result.get("energy") or {}
    table = Table(result, [Column("Name", TEXT)])
    for key in ("stations", "robots"):
        for name, row in energy.get(key, {}).items():
            table.row(plain(name))
            table.entries(row)
            for state, kwh in row.get("kwh_by_state", {}).items():
                table.put(f"{plain(state)}, kWh", kwh)
    return table.sheet("energy")
